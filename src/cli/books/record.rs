//! `record`: facts come in, one JSON object a line, and every bad line is named.

use std::fs::File;
use std::io::{self, BufRead, BufReader, Write};
use std::path::{Path, PathBuf};

use crate::cellar::core::fact::{IncomingFact, LINE_BYTES, What};
use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::core::saying::Saying;
use crate::cli::table::lines::{LineRead, Lines};
use crate::desk::{Access, Admitted, Desk, DeskError, IncomingLine, NotTaken, Surprises};
use crate::intake::unread as unread_file;
use crate::told::meant::with_hint;
use crate::told::{Face, floor as told};
use crate::units::counted;

/// How many bad lines are named; of more only the count is told.
const MOST_NAMED: usize = 100;

/// Why a line cannot be taken, by its number.
type Refused = (u64, NotTaken);

/// What came in: the lines that are facts, and those that are none.
#[derive(Debug, Default)]
struct Incoming {
    lines: Vec<IncomingLine>,
    unreadable: Vec<Refused>,
}

impl Counter<'_, '_> {
    /// Takes in the facts of a file, or of standard input.
    pub(in crate::cli) fn record(&mut self, cellar: &Path, file: Option<&Path>, taking: (bool, Surprises)) -> Outcome {
        self.at_desk(
            cellar,
            Access::ReadWrite,
            |desk, now| record(desk, file, taking, now),
            |counter, desk, (admitted, lines)| {
                tell(&admitted, desk.state(), (lines, taking.0), counter.out, counter.saying)
            },
        )
    }
}

/// What was taken of how many lines, and what was not.
fn record(desk: &mut Desk, file: Option<&Path>, taking: (bool, Surprises), now: Moment) -> Outcome<(Admitted, usize)> {
    let incoming = match file.filter(|file| *file != Path::new("-")) {
        None => read(io::stdin().lock(), &PathBuf::from("standard input"))?,
        Some(file) => read(BufReader::new(File::open(file).map_err(|error| unread(file, &error))?), file)?,
    };
    let lines = incoming.lines.len() + incoming.unreadable.len();
    let before = desk.state().clone();
    let registered = incoming.lines.iter().filter_map(|line| match &line.fact.what {
        What::VesselRegistered(it) => Some(&it.vessel),
        _ => None,
    });
    let like_litres = before.like_litres(registered);
    let mut admitted = take(desk, incoming.lines, !incoming.unreadable.is_empty(), taking, now)?;
    // What a lot held before and holds no longer is said, not refused: the wine is in the barrel already.
    let lost = before.lost_until(desk.state(), desk.state().practice.rules);
    admitted.flagged.extend(lost.iter().map(|lost| format!("{} may no longer claim {}.", lost.lot, lost.words())));
    if !admitted.taken.is_empty() && !desk.state().practice.labels_are_numbers {
        admitted.flagged.extend(like_litres.map(|labels| told::like_litres(&labels, Face::Desk)));
    }
    admitted.refused.extend(incoming.unreadable);
    admitted.refused.sort_by_key(|(number, _)| *number);
    Ok((admitted, lines))
}

/// Where a line could not be read and all or nothing is to be taken, the others are only looked at: the person is told
/// of every bad line at once.
fn take(
    desk: &mut Desk,
    lines: Vec<IncomingLine>,
    some_are_bad: bool,
    (keep_good, surprises): (bool, Surprises),
    now: Moment,
) -> Result<Admitted, DeskError> {
    if some_are_bad && !keep_good {
        return Ok(Admitted { refused: desk.rehearse(&lines, now)?, ..Admitted::default() });
    }
    desk.record_told(lines, now, keep_good, surprises)
}

fn unread(file: &Path, error: &io::Error) -> Complaint {
    Complaint::Refused(unread_file(&harmless(&file.to_string_lossy()), error))
}

fn read(source: impl BufRead, file: &Path) -> Outcome<Incoming> {
    let mut incoming = Incoming::default();
    let mut lines = Lines::new(source, LINE_BYTES);
    let mut number = 0;
    while let Some(line) = lines.read().map_err(|error| unread(file, &error))? {
        number += 1;
        match fact_of(&line) {
            Ok(Some((fact, body))) => incoming.lines.push(IncomingLine { number, fact, body }),
            Ok(None) => {}
            Err(sentence) => incoming.unreadable.push((number, NotTaken::Unreadable(sentence))),
        }
    }
    Ok(incoming)
}

/// The fact of a line; none where the line is blank.
fn fact_of(line: &LineRead) -> Result<Option<(IncomingFact, String)>, String> {
    let LineRead::Whole(bytes) = line else {
        return Err(format!("The line is longer than {LINE_BYTES} bytes, which no fact is. Break it up."));
    };
    let text = std::str::from_utf8(bytes).map_err(|error| {
        format!("The line is not UTF-8 from its byte {}. Save the file as UTF-8.", error.valid_up_to() + 1)
    })?;
    if text.trim().is_empty() {
        return Ok(None);
    }
    IncomingFact::from_json(text).map(Some).map_err(|error| error.to_string())
}

/// Tells what was taken, and every line that was not.
fn tell(
    admitted: &Admitted,
    state: &State,
    (lines, keep_good): (usize, bool),
    out: &mut dyn Write,
    saying: &mut Saying<'_>,
) -> Outcome {
    let known = match admitted.known {
        0 => String::new(),
        known => format!(", {known} known already, passed over"),
    };
    writeln!(out, "{} taken{known}", counted(admitted.taken.len(), "fact"))?;
    for sentence in &admitted.flagged {
        saying.message(sentence);
    }
    for (number, why) in admitted.refused.iter().take(MOST_NAMED) {
        let sentence = match why {
            NotTaken::Refused(refusal) => with_hint(refusal, state),
            other => other.to_string(),
        };
        saying.plain(&format!("line {number}: {sentence}"));
    }
    let refused = admitted.refused.len();
    if refused > MOST_NAMED {
        saying.plain(&format!("… and {} more", refused - MOST_NAMED));
    }
    match (refused, keep_good) {
        (0, _) => Ok(()),
        (_, false) if lines == 1 => Err(Complaint::Refused("The line cannot be taken. Mend it.".to_owned())),
        (_, true) => Err(Complaint::Refused(format!("Of {lines} lines {refused} cannot be taken; the others were."))),
        (_, false) => Err(Complaint::Refused(format!(
            "Of {lines} lines {refused} cannot be taken, so nothing was. Mend them, or take the others with --keep-good."
        ))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cellar::core::fact::{Device, FactId};

    const GOOD: &str = r#"{"at":"2027-03-02T08:15:00+01:00","by":"mk","kind":"noted","about":"0417","text":"cold"}"#;

    fn incoming(bytes: &[u8]) -> Incoming {
        read(bytes, Path::new("test")).unwrap()
    }

    #[test]
    fn facts_keep_the_numbers_of_their_lines() {
        let incoming = incoming(format!("\u{feff}{GOOD}\r\n\r\n  \n{GOOD}").as_bytes());
        assert_eq!(incoming.lines.iter().map(|line| line.number).collect::<Vec<_>>(), [1, 4]);
        assert_eq!(incoming.lines[0].body, r#"{"about":"0417","text":"cold"}"#);
        assert!(incoming.unreadable.is_empty());
        let old = self::incoming(format!("{GOOD}\r\r{{\r{GOOD}\r").as_bytes());
        assert_eq!(old.lines.iter().map(|line| line.number).collect::<Vec<_>>(), [1, 4]);
        assert_eq!(old.unreadable.iter().map(|(number, _)| *number).collect::<Vec<_>>(), [3]);
    }

    #[test]
    fn every_bad_line_is_named() {
        let mut bytes = format!("{GOOD}\n{{\n").into_bytes();
        bytes.extend(vec![b' '; LINE_BYTES + 1]);
        bytes.extend(b"\n\"caf\xe9\"\n[]\n");
        let incoming = incoming(&bytes);
        let told: Vec<String> = incoming.unreadable.iter().map(|(n, why)| format!("{n}: {why}")).collect();
        assert_eq!(incoming.lines.len(), 1);
        insta::assert_snapshot!(told.join("\n"));
    }

    fn told(admitted: &Admitted, keep_good: bool) -> (String, String, Outcome) {
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let outcome = tell(admitted, &State::default(), (400, keep_good), &mut out, &mut Saying::new(&mut err));
        (String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap(), outcome)
    }

    #[test]
    fn it_says_how_many_were_taken() {
        let id = FactId { device: Device::new("a").unwrap(), n: 1 };
        let admitted = Admitted { taken: vec![id], known: 2, ..Admitted::default() };
        let (out, err, outcome) = told(&admitted, false);
        assert_eq!((out.as_str(), err.as_str()), ("1 fact taken, 2 known already, passed over\n", ""));
        assert!(outcome.is_ok());
    }

    #[test]
    fn of_many_bad_lines_the_first_are_named() {
        let refused = (1..=350).map(|number| (number, NotTaken::Unreadable("No.".to_owned()))).collect();
        let (out, err, outcome) = told(&Admitted { refused, ..Admitted::default() }, false);
        assert_eq!(out, "0 facts taken\n");
        assert_eq!(err.lines().count(), 101);
        assert!(err.starts_with("line 1: No.\n") && err.ends_with("line 100: No.\n… and 250 more\n"));
        insta::assert_snapshot!(outcome.unwrap_err().sentence().unwrap());
    }
}
