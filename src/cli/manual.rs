//! The manual page and what a shell completes, both from the one table of what can be said.

use std::io::Write;

use clap::Command;
use clap_complete::Shell;
use clap_mangen::Man;

use super::arguments::Arguments;
use crate::cellar::core::label::harmless;
use crate::cli::core::complaint::{Complaint, Outcome};

/// Writes the manual page of a command; without one, of the whole program.
pub fn man(path: &[String], out: &mut dyn Write) -> Outcome {
    let mut whole = Arguments::all();
    whole.build();
    let mut command = &whole;
    for word in path {
        let found = command.find_subcommand(word);
        command = found.ok_or_else(|| {
            Complaint::Refused(format!("No command is called '{}'. `barrelwalk help` lists them.", harmless(word)))
        })?;
    }
    if !path.is_empty() {
        return Ok(Man::new(named(command)).render(out)?);
    }
    Man::new(whole.clone()).render(out)?;
    further(&whole, out)
}

/// A section for each command below another, and for those below it.
fn further(above: &Command, out: &mut dyn Write) -> Outcome {
    for command in above.get_subcommands().filter(|command| command.get_name() != "help") {
        let page = Man::new(named(command));
        let mut section = Vec::new();
        page.render_synopsis_section(&mut section)?;
        page.render_description_section(&mut section)?;
        page.render_options_section(&mut section)?;
        let name = command.get_bin_name().unwrap_or(command.get_name()).to_uppercase();
        writeln!(out, ".SH \"{name}\"")?;
        for line in String::from_utf8_lossy(&section).lines() {
            writeln!(out, "{}", line.replacen(".SH ", ".SS ", 1))?;
        }
        further(command, out)?;
    }
    Ok(())
}

/// A command under its whole name.
fn named(command: &Command) -> Command {
    let name = command.get_bin_name().unwrap_or(command.get_name()).replace(' ', "-");
    command.clone().display_name(name)
}

/// Writes what a shell is told so that it completes what is typed.
pub fn completions(shell: Shell, out: &mut dyn Write) -> Outcome {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Arguments::all(), "barrelwalk", &mut text);
    Ok(out.write_all(&text)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::ValueEnum;

    fn page(path: &[&str]) -> String {
        let mut out = Vec::new();
        man(&path.iter().map(|word| (*word).to_owned()).collect::<Vec<_>>(), &mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn the_manual_has_every_command_and_one_title() {
        let whole = page(&[]);
        assert_eq!(whole.matches(".TH ").count(), 1);
        for command in ["BARRELWALK LIST TOPPINGS", "BARRELWALK EXPORT", "BARRELWALK BACKUP"] {
            assert!(whole.contains(&format!(".SH \"{command}\"")), "{command}");
        }
        assert!(page(&["list", "toppings"]).contains("barrelwalk\\-list\\-toppings"));
        let refused = man(&["cask\u{1b}".to_owned()], &mut Vec::new()).unwrap_err().sentence().unwrap();
        assert_eq!(refused, "No command is called 'cask·'. `barrelwalk help` lists them.");
    }

    #[test]
    fn every_shell_is_told_the_commands() {
        for shell in Shell::value_variants() {
            let mut out = Vec::new();
            completions(*shell, &mut out).unwrap();
            assert!(String::from_utf8(out).unwrap().contains("toppings"), "{shell}");
        }
    }
}
