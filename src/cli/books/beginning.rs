//! `new`: a cellar is made, and at a terminal it is asked first who enters and whose rules it keeps to.

use std::fs;
use std::io::{self, BufRead, IsTerminal, Read, Write};
use std::path::{Path, PathBuf};

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::jobs::floor::practice::PracticeSet;
use crate::cli::arguments::{NewArguments, RulesWord};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::full_screen::who;
use crate::desk::{Access, Act, Desk};
use crate::reckon::label_share::Rules;

/// No answer is longer.
const LONGEST_ANSWER: u64 = 200;

/// What is known of a cellar before it is made.
#[derive(Debug, PartialEq)]
struct Known {
    by: Label,
    /// None where it keeps to the rules of both sides, as a cellar does that says nothing.
    rules: Option<Rules>,
}

impl Counter<'_, '_> {
    /// Makes an empty cellar, with the folders above it.
    pub(in crate::cli) fn new_cellar(&mut self, asked: &NewArguments, file: &Path) -> Outcome {
        let (said, rules) = (asked.by.as_deref(), asked.rules);
        let asks = !asked.no_questions && io::stdin().is_terminal() && io::stderr().is_terminal();
        let known = if asks && !file.exists() {
            ask(&mut io::stdin().lock(), &mut io::stderr(), said, rules)?
        } else {
            Known { by: who(said)?, rules: rules.and_then(RulesWord::rules) }
        };
        make_folder(file)?;
        Desk::create(file, self.now)?;
        if let Some(rules) = known.rules {
            keep(file, &known.by, rules, self.now)?;
        }
        writeln!(self.out, "{} is a new, empty cellar", harmless(&file.to_string_lossy()))?;
        if asks {
            let by = &known.by;
            self.saying
                .message(&format!("Its first page opens with `open --by {by}`; BARRELWALK_BY={by} says it for good."));
        }
        Ok(())
    }
}

/// The file of a new cellar: as said, else where a cellar is looked for.
pub fn file_of(asked: &NewArguments, cellar: &dyn Fn() -> Outcome<PathBuf>) -> Outcome<PathBuf> {
    asked.file.clone().map_or_else(cellar, Ok)
}

fn make_folder(file: &Path) -> Outcome {
    let Some(folder) = file.parent().filter(|folder| !folder.as_os_str().is_empty()) else { return Ok(()) };
    fs::create_dir_all(folder).map_err(|error| {
        let folder = harmless(&folder.to_string_lossy());
        Complaint::Refused(format!("The folder {folder} could not be made: {error}."))
    })
}

/// Whose rules it keeps to is a fact of the cellar.
fn keep(file: &Path, by: &Label, rules: Rules, now: Moment) -> Outcome {
    let practice = PracticeSet { rules: Some(rules), ..PracticeSet::default() };
    let mut desk = Desk::open(file, Access::ReadWrite)?;
    desk.enter(&Act::of(vec![What::PracticeSet(practice)], by.clone()), now)?;
    Ok(())
}

/// Asks what is not said, until it is understood. Enter alone takes what stands in brackets; the end of the input makes nothing.
fn ask(input: &mut dyn BufRead, to: &mut dyn Write, by: Option<&str>, rules: Option<RulesWord>) -> Outcome<Known> {
    let by = if by.is_some() {
        who(by)?
    } else {
        let usual = who(None)?;
        answer(input, to, &format!("Who enters? [{usual}] "), |text| match text {
            "" => Ok(usual.clone()),
            name => Label::new(name).map_err(|error| error.to_string()),
        })?
    };
    let rules = match rules {
        Some(said) => said,
        None => answer(input, to, "Whose rules of labels and limits: us, eu or both? [both] ", |text| match text {
            "" | "both" => Ok(RulesWord::Both),
            "us" | "US" => Ok(RulesWord::Us),
            "eu" | "EU" => Ok(RulesWord::Eu),
            _ => Err("Say us, eu or both.".to_owned()),
        })?,
    };
    Ok(Known { by, rules: rules.rules() })
}

fn answer<T>(
    input: &mut dyn BufRead,
    to: &mut dyn Write,
    question: &str,
    read: impl Fn(&str) -> Result<T, String>,
) -> Outcome<T> {
    loop {
        write!(to, "{question}")?;
        to.flush()?;
        let mut line = Vec::new();
        let told = Read::take(&mut *input, LONGEST_ANSWER).read_until(b'\n', &mut line);
        if !matches!(told, Ok(1..)) {
            return Err(Complaint::Refused("Nothing was made: the question was not answered.".to_owned()));
        }
        match read(String::from_utf8_lossy(&line).trim()) {
            Ok(answer) => return Ok(answer),
            Err(why) => writeln!(to, "{why}")?,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answered(text: &str, by: Option<&str>, rules: Option<RulesWord>) -> (Result<Known, ()>, String) {
        let mut told = Vec::new();
        let known = ask(&mut text.as_bytes(), &mut told, by, rules).map_err(drop);
        (known, String::from_utf8(told).unwrap())
    }

    #[test]
    fn who_and_whose_rules_are_asked_until_they_are_understood() {
        let (known, told) = answered("mk\nfrench\neu\n", None, None);
        assert_eq!(known, Ok(Known { by: Label::new("mk").unwrap(), rules: Some(Rules::Eu) }));
        assert!(told.starts_with("Who enters? [") && told.contains("Say us, eu or both."), "{told}");
    }

    #[test]
    fn what_is_said_is_not_asked_and_enter_takes_what_is_usual() {
        let (known, told) = answered("\n", Some("mk"), None);
        assert_eq!(known, Ok(Known { by: Label::new("mk").unwrap(), rules: None }));
        assert!(!told.contains("Who enters?"), "{told}");
        assert_eq!(answered("", Some("mk"), Some(RulesWord::Both)).1, "");
    }

    #[test]
    fn without_an_answer_nothing_is_made() {
        assert_eq!(answered("", None, None).0, Err(()));
        assert_eq!(answered("mk\n", None, None).0, Err(()));
    }
}
