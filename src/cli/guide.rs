//! `help`: a chapter of the guide, how a command is used, or a list that is made of the program itself.

use std::io::Write;

use clap::Command;

use super::arguments::Arguments;
use super::core::complaint::{Complaint, Outcome};
use crate::cellar::core::label::{Label, harmless};
use crate::forms::PRACTICE_SET;
use crate::sheets::core::wrap::wrapped;
use crate::told::guide::{CHAPTERS, Line, Manner, chapter};
use crate::told::meant::meant;
use crate::tui::core::sense::SENSES;

/// The width of a page where nothing says how wide the reader's is.
const PAGE: usize = 100;

/// The columns of a name in a list.
const NAME: usize = 16;

/// Lists that are made of the program itself.
const LISTS: [(&str, &str); 3] = [
    ("commands", "every command, in a line each"),
    ("keys", "what each key means, on every page"),
    ("settings", "what a house may set"),
];

/// Gives out what is known of some words: nothing said, the commands and the chapters.
pub fn help(words: &[String], terminal: Option<usize>, out: &mut dyn Write) -> Outcome {
    let (width, is_styled) = (terminal.unwrap_or(PAGE), terminal.is_some());
    let mut whole = Arguments::all();
    whole.build();
    let said: Vec<&str> = words.iter().map(String::as_str).collect();
    match said.as_slice() {
        [] => {
            write!(out, "{}", whole.render_help())?;
            writeln!(out, "\nThe guide, by `barrelwalk help CHAPTER`:")?;
            for chapter in &CHAPTERS {
                named(chapter.topic, chapter.about, width, out)?;
            }
            LISTS.iter().try_for_each(|(name, about)| named(name, about, width, out))
        }
        ["commands"] => commands(&whole, width, out),
        ["keys"] => SENSES.iter().try_for_each(|(sense, _, means)| named(&sense.key_name(), means, width, out)),
        path => {
            if let [word] = path
                && let Some(chapter) = chapter(word)
            {
                let mut lines = chapter.lines(width).into_iter();
                return lines.try_for_each(|line| Ok(writeln!(out, "{}", shown(&line, is_styled))?));
            }
            let mut command = &mut whole;
            for word in path {
                command = command.find_subcommand_mut(word).ok_or_else(|| unknown(word))?;
            }
            write!(out, "{}", command.render_long_help())?;
            if path == ["settings"] {
                writeln!(out, "\nSettings:")?;
                for (_, field) in PRACTICE_SET.filled_in() {
                    named(field.name, field.hint, width, out)?;
                }
            }
            Ok(())
        }
    }
}

fn unknown(word: &str) -> Complaint {
    let whole = Arguments::all();
    let names = CHAPTERS
        .iter()
        .map(|chapter| chapter.topic)
        .chain(LISTS.iter().map(|(name, _)| *name))
        .chain(whole.get_subcommands().map(Command::get_name));
    let names: Vec<Label> = names.filter_map(|name| Label::new(name).ok()).collect();
    let meant = meant(word, names.iter()).unwrap_or_default();
    Complaint::Refused(format!(
        "The guide has no chapter '{}', and no command is called so.{meant} `barrelwalk help` lists both.",
        harmless(word)
    ))
}

/// A name, and beside it what it is.
fn named(name: &str, about: &str, width: usize, out: &mut dyn Write) -> Outcome {
    let mut lines = wrapped(about, width.saturating_sub(NAME + 2)).into_iter();
    writeln!(out, "  {name:<NAME$}{}", lines.next().unwrap_or_default())?;
    lines.try_for_each(|line| Ok(writeln!(out, "  {:NAME$}{line}", "")?))
}

/// Every command that does something, with its usage.
fn commands(above: &Command, width: usize, out: &mut dyn Write) -> Outcome {
    for command in above.get_subcommands().filter(|command| command.get_name() != "help") {
        if command.has_subcommands() {
            commands(command, width, out)?;
            continue;
        }
        let usage = command.clone().render_usage().to_string();
        writeln!(out, "{}", usage.trim_start_matches("Usage: "))?;
        let about = command.get_about().map(ToString::to_string).unwrap_or_default();
        for line in wrapped(&about, width.saturating_sub(4)) {
            writeln!(out, "    {line}")?;
        }
    }
    Ok(())
}

/// A line as a terminal shows it: what matters is bold there.
fn shown(line: &Line, is_styled: bool) -> String {
    let words = line.iter().map(|words| match words.manner {
        Manner::Heading | Manner::Strong if is_styled => format!("\u{1b}[1m{}\u{1b}[0m", words.text),
        _ => words.text.clone(),
    });
    words.collect()
}
