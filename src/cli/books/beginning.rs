//! `new`: a cellar is made, and at a terminal it is asked first who enters, whose rules it keeps to, and how amounts and dates are told.

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
use crate::cli::core::edge::Edge;
use crate::cli::core::looks::{self, DATES, Looks, Places, VOLUMES};
use crate::cli::core::who::who;
use crate::desk::{Access, Act, Desk};
use crate::log::Trouble;
use crate::reckon::label_share::Rules;
use crate::units::{DateForm, VolumeUnit};

/// No answer is longer.
const LONGEST_ANSWER: u64 = 200;

/// What is known of a cellar before it is made.
#[derive(Debug, PartialEq)]
struct Known {
    by: Label,
    /// None where it keeps to the rules of both sides, as a cellar does that says nothing.
    rules: Option<Rules>,
    /// How amounts and dates are told to whoever makes it, where that is to be kept.
    told: Option<(VolumeUnit, DateForm)>,
}

/// What is said of a cellar before anything is asked.
#[derive(Clone, Default)]
struct Said<'a> {
    by: Option<&'a str>,
    rules: Option<RulesWord>,
    volume: Option<VolumeUnit>,
    dates: Option<DateForm>,
    /// The person's own looks, which answer what is not said here.
    looks: Looks,
}

impl<'a> Said<'a> {
    fn of(asked: &'a NewArguments, looks: Looks) -> Said<'a> {
        Said {
            by: asked.by.as_deref(),
            rules: asked.rules,
            volume: asked.volume.as_deref().and_then(|word| looks::named(&looks::VOLUMES, word)),
            dates: asked.dates.as_deref().and_then(|word| looks::named(&looks::DATES, word)),
            looks,
        }
    }

    /// What is known where nothing is asked.
    fn known(&self) -> Outcome<Known> {
        let told = (self.volume.is_some() || self.dates.is_some()).then(|| self.told());
        Ok(Known { by: who(self.by)?, rules: self.rules.and_then(RulesWord::rules), told })
    }

    fn told(&self) -> (VolumeUnit, DateForm) {
        let volume = self.volume.or(self.looks.volume).unwrap_or_default();
        (volume, self.dates.or(self.looks.dates).unwrap_or_default())
    }
}

impl Counter<'_, '_> {
    /// Makes an empty cellar, with the folders above it.
    pub(in crate::cli) fn new_cellar(&mut self, asked: &NewArguments, file: &Path) -> Outcome {
        let looks_file = Places::of_this_process().file();
        let looks = looks_file.as_deref().map_or(Ok(Looks::default()), looks::read)?;
        let said = Said::of(asked, looks);
        let asks = !asked.no_questions && io::stdin().is_terminal() && io::stderr().is_terminal();
        let known = if asks && !file.exists() {
            ask(&mut io::stdin().lock(), &mut Edge::new(io::stderr()), &said)?
        } else {
            said.known()?
        };
        make_folder(file)?;
        Desk::create(file, self.now)?;
        if let Some(rules) = known.rules {
            keep(file, &known.by, rules, self.now)?;
        }
        writeln!(self.out, "{} is a new, empty cellar", harmless(&file.to_string_lossy()))?;
        self.out.flush()?;
        // Who was asked and said another name than would be taken without a word is that name from now on.
        let by = (asks && asked.by.is_none() && who(None)? != known.by).then_some(&known.by);
        let kept = looks_file.as_deref().filter(|_| known.told.is_some() || by.is_some());
        if let Some(looks_file) = kept {
            looks::keep(looks_file, known.told, by)?;
            let shown = harmless(&looks_file.to_string_lossy());
            let what = if by.is_some() { "Who you are and how" } else { "How" };
            let is = if by.is_some() { "are" } else { "is" };
            self.saying
                .message(&format!("{what} volumes and dates are told to you {is} kept in {shown}; change it there."));
        }
        if asks && by.is_none() {
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
        let trouble = Trouble::of(&error);
        Complaint::Refused(format!("The folder {folder} could not be made: {trouble}. {}", trouble.next()))
    })
}

/// Whose rules it keeps to is a fact of the cellar.
fn keep(file: &Path, by: &Label, rules: Rules, now: Moment) -> Outcome {
    let practice = PracticeSet { rules: Some(rules), ..PracticeSet::default() };
    let mut desk = Desk::open(file, Access::ReadWrite)?;
    desk.enter(&Act::of(vec![What::PracticeSet(Box::new(practice))], by.clone()), now)?;
    Ok(())
}

/// Asks what is not said, until it is understood. Enter alone takes what stands in brackets; the end of the input makes nothing.
fn ask(input: &mut dyn BufRead, to: &mut dyn Write, said: &Said<'_>) -> Outcome<Known> {
    let by = if said.by.is_some() {
        who(said.by)?
    } else {
        let usual = who(None)?;
        answer(input, to, &format!("Who enters? [{usual}] "), |text| match text {
            "" => Ok(usual.clone()),
            name => Label::new(name).map_err(|error| error.to_string()),
        })?
    };
    let rules = match said.rules {
        Some(said) => said,
        None => answer(input, to, "Whose rules of labels and limits: us, eu or both? [both] ", |text| match text {
            "" | "both" => Ok(RulesWord::Both),
            "us" | "US" => Ok(RulesWord::Us),
            "eu" | "EU" => Ok(RulesWord::Eu),
            _ => Err("Say us, eu or both.".to_owned()),
        })?,
    };
    let volume = match said.volume.or(said.looks.volume) {
        Some(volume) => volume,
        None => one_of(input, to, "Volumes in litres, hectolitres or gallons", &VOLUMES)?,
    };
    let dates = match said.dates.or(said.looks.dates) {
        Some(dates) => dates,
        None => one_of(input, to, "Dates day-first (27 Nov), month-first (Nov 27) or year-first", &DATES)?,
    };
    let told = (Some(volume) != said.looks.volume || Some(dates) != said.looks.dates).then_some((volume, dates));
    Ok(Known { by, rules: rules.rules(), told })
}

/// One of a list, by its word or as much of it as tells it from the others; enter alone takes the first.
fn one_of<T: Copy>(input: &mut dyn BufRead, to: &mut dyn Write, question: &str, list: &[(&str, T)]) -> Outcome<T> {
    let words: Vec<&str> = list.iter().map(|(word, _)| *word).collect();
    answer(input, to, &format!("{question}? [{}] ", words[0]), |text| {
        let text = text.to_lowercase().replace(' ', "-");
        let meant = list.iter().find(|(word, _)| word.starts_with(&text));
        meant.map(|(_, it)| *it).ok_or_else(|| format!("Say {}.", words.join(", ")))
    })
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
        let known = ask(&mut text.as_bytes(), &mut told, &Said { by, rules, ..Said::default() }).map_err(drop);
        (known, String::from_utf8(told).unwrap())
    }

    #[test]
    fn who_and_whose_rules_are_asked_until_they_are_understood() {
        let (known, told) = answered("mk\nfrench\neu\nfirkins\ngal\nmonth first\n", None, None);
        let told_in = Some((VolumeUnit::UsGallon, DateForm::MonthFirst));
        assert_eq!(known, Ok(Known { by: Label::new("mk").unwrap(), rules: Some(Rules::Eu), told: told_in }));
        assert!(told.contains("Say litres, hectolitres, gallons."), "{told}");
        assert!(told.starts_with("Who enters? [") && told.contains("Say us, eu or both."), "{told}");
    }

    #[test]
    fn what_is_said_is_not_asked_and_enter_takes_what_is_usual() {
        let (known, told) = answered("\n\n\n", Some("mk"), None);
        let usual = Some((VolumeUnit::Litre, DateForm::DayFirst));
        assert_eq!(known, Ok(Known { by: Label::new("mk").unwrap(), rules: None, told: usual }));
        assert!(!told.contains("Who enters?"), "{told}");
        let looks = Looks { volume: usual.map(|it| it.0), dates: usual.map(|it| it.1), ..Looks::default() };
        let all = Said { by: Some("mk"), rules: Some(RulesWord::Both), looks, ..Said::default() };
        let mut told = Vec::new();
        assert_eq!(
            ask(&mut "".as_bytes(), &mut told, &all).unwrap().told,
            None,
            "what the looks say already is not kept anew"
        );
        assert_eq!(told, b"");
    }

    #[test]
    fn without_an_answer_nothing_is_made() {
        assert_eq!(answered("", None, None).0, Err(()));
        assert_eq!(answered("mk\n", None, None).0, Err(()));
    }
}
