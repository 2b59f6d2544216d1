//! What a person says of bottles in one line: how many, of which run or lot code, from when on they may go, and other words.
//!
//! **What is written of bottles** is read by one reader for every act (`cellar/jobs/bottles/bottling/said.rs`): a code, digits and a day at
//! the ends of a phrase, all else words. A place that nobody used yet is asked about once, since any words are a place.

use std::fmt::Write as _;

use chrono::NaiveDate;
use thiserror::Error;

use super::bins::{Bin, Lying};
use super::bottle_tasting::{BottleTasted, TASTING};
use super::bottles_out::BottlesOut;
use super::laying_away::LaidAway;
use super::run::Stock;
use crate::cellar::core::day::{Day, DayError};
use crate::cellar::core::label::{Label, Text, TextError, harmless};
use crate::cellar::core::question::Question;
use crate::cellar::core::state::{RunId, State};
use crate::cellar::core::when::{self, WhenError};
use crate::cellar::jobs::tests::tasting::Impression;

/// Causes that a letter stands for.
pub const CAUSES: [(&str, &str); 4] = [("s", "sold"), ("b", "broken"), ("t", TASTING), ("l", "library")];

/// A run, or its bottles of one lot code.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Of {
    /// The run.
    pub run: RunId,
    /// What stands on the bottles, where that was said.
    pub lot_code: Option<Label>,
}

/// What was said.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// Of which bottles.
    pub of: Option<Of>,
    /// How many.
    pub bottles: Option<u32>,
    /// From when on they may go.
    pub release: Option<Day>,
    /// The other words, part by part.
    pub words: Vec<String>,
}

/// Why a line makes no fact.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation, the fields are the things it names
pub enum SaidError {
    #[error(transparent)]
    Text(#[from] TextError),
    #[error(transparent)]
    Day(#[from] DayError),
    #[error(transparent)]
    When(#[from] WhenError),
    #[error("{0} are more bottles than there can be. Check the count.")]
    TooMany(String),
    #[error("Several lot codes lie in {place}: {codes}. Say which, for example {example}.")]
    Which { place: String, codes: String, example: Label },
    #[error("None of {what} lies in {place}. Check the lot code.")]
    NotThere { what: String, place: String },
    #[error("Nothing lies in {0}. Go to a bin that holds bottles.")]
    Nothing(String),
    #[error("Every bottle that was filled is laid away or out. Enter the bottling first.")]
    NoneLoose,
    #[error("Say where to, for example A-03 or pallet 12.")]
    NoPlace,
    #[error("Say how many and why, for example 60 sold, The shop.")]
    NoCause,
    #[error("Say from when on they may go, for example 1 May 2029.")]
    NoRelease,
}

/// Where bottles are that are not laid away, as it is said.
const LINE: &str = "what is not laid away";

impl Said {
    /// Reads a line like `L2601, 600, 2029-05-01`, `60 sold, The shop` or `A-03 300`: a lot code or the label of a run, digits
    /// for how many, a day for the release, at the ends of a phrase. All else stays words. Where there is a comma, what
    /// ends in digits may be a name, as in `pallet 12, 300`.
    pub fn read(line: &str, state: &State) -> Result<Said, SaidError> {
        let mut said = Said::default();
        let mut others: Vec<&str> = Vec::new();
        for phrase in line.split([',', ';']).map(str::trim).filter(|phrase| !phrase.is_empty()) {
            if !said.take(phrase, state)? {
                others.push(phrase);
            }
        }
        let names_end_in_digits = line.contains([',', ';']);
        for phrase in others {
            let words: Vec<&str> = phrase.split_whitespace().collect();
            let mut words = words.as_slice();
            while let [first, rest @ ..] = words
                && said.take(first, state)?
            {
                words = rest;
            }
            while let [rest @ .., last] = words
                && !names_end_in_digits
                && said.take(last, state)?
            {
                words = rest;
            }
            let words = words.join(" ");
            if !words.is_empty() && !said.take_day(&words)? {
                said.words.push(words);
            }
        }
        Ok(said)
    }

    /// Takes a part, if it is no other word.
    fn take(&mut self, part: &str, state: &State) -> Result<bool, SaidError> {
        let is_number = part.bytes().all(|byte| byte.is_ascii_digit());
        if self.of.is_none()
            && let Some(of) = state.bottles_called(part)
        {
            self.of = Some(of);
        } else if is_number && self.bottles.is_none() {
            self.bottles = Some(part.parse().map_err(|_| SaidError::TooMany(part.chars().take(20).collect()))?);
        } else {
            return self.take_day(part);
        }
        Ok(true)
    }

    /// Takes a day whose year is said, in any form that people write: `2029-05-01`, `1 May 2029`, `1/5/2029`.
    fn take_day(&mut self, part: &str) -> Result<bool, SaidError> {
        if self.release.is_some() {
            return Ok(false);
        }
        if looks_like_a_day(part) {
            self.release = Some(Day::parse(part)?);
            return Ok(true);
        }
        let is_year = |digits: &str| digits.len() == 4;
        let says_year = !is_year(part) && part.split(|sign: char| !sign.is_ascii_digit()).any(is_year);
        // Beside a year it does not matter which day it is today.
        let Some(read) = says_year.then(|| when::day(part, NaiveDate::default())).flatten() else { return Ok(false) };
        self.release = Some(Day::of(read?));
        Ok(true)
    }

    /// Lays bottles away that are not laid away yet: in a place that is named, else in the bin that is chosen; all of them
    /// where no number is said.
    pub fn lay(self, state: &State, chosen: Option<&Label>) -> Result<LaidAway, SaidError> {
        let loose = state.not_laid_away();
        if loose.is_empty() {
            return Err(SaidError::NoneLoose);
        }
        let one = self.meant(state, &loose, LINE)?;
        let place = self.place(state, chosen)?.or_else(|| chosen.cloned()).ok_or(SaidError::NoPlace)?;
        Ok(self.laid(state, &one, place, None))
    }

    /// Carries bottles from a bin to another place.
    pub fn carry(self, state: &State, bin: &Bin) -> Result<LaidAway, SaidError> {
        let one = self.meant(state, &bin.lying, bin.place.as_str())?;
        let place = self.place(state, Some(&bin.place))?.ok_or(SaidError::NoPlace)?;
        Ok(self.laid(state, &one, place, Some(bin.place.clone())))
    }

    /// Sets the release of all bottles in a bin, or of those that are named.
    pub fn release(self, state: &State, bin: &Bin) -> Result<Vec<LaidAway>, SaidError> {
        self.release.ok_or(SaidError::NoRelease)?;
        let ones = match self.bottles {
            Some(_) => vec![self.meant(state, &bin.lying, bin.place.as_str())?],
            None => self.all_meant(state, &bin.lying, bin.place.as_str())?,
        };
        let laid = |one| self.laid(state, one, bin.place.clone(), Some(bin.place.clone()));
        Ok(ones.iter().map(laid).collect())
    }

    /// Lets bottles of a bin go out: how many, why, and to whom.
    pub fn out(self, state: &State, bin: &Bin) -> Result<BottlesOut, SaidError> {
        let one = self.meant(state, &bin.lying, bin.place.as_str())?;
        let (Some(bottles), Some((why, to))) = (self.bottles, self.words.split_first()) else {
            return Err(SaidError::NoCause);
        };
        let (why, behind) = cause_first(why);
        let to = behind.into_iter().chain(to.iter().map(String::as_str)).collect::<Vec<_>>().join(", ");
        let to = (!to.is_empty()).then(|| Text::new(&to)).transpose()?;
        let run = state.runs.get(one.run).label.clone();
        let (why, from) = (Text::new(why)?, Some(bin.place.clone()));
        Ok(BottlesOut { run, bottles, why, to, from, lot_code: one.lot_code })
    }

    fn laid(&self, state: &State, one: &One, place: Label, from: Option<Label>) -> LaidAway {
        LaidAway {
            run: state.runs.get(one.run).label.clone(),
            bottles: self.bottles.unwrap_or(u32::try_from(one.there).unwrap_or(u32::MAX)),
            place,
            release: self.release,
            from,
            lot_code: one.lot_code.clone(),
        }
    }

    /// The place that the other words name: of any store, of the same store as a bin, else a new one.
    fn place(&self, state: &State, beside: Option<&Label>) -> Result<Option<Label>, SaidError> {
        if self.words.is_empty() {
            return Ok(None);
        }
        let named = Label::new(&self.words.join(", "))?;
        let store = beside.and_then(|bin| bin.as_str().split_once('/')).map(|(store, _)| store);
        let in_store = store.and_then(|store| Label::read(&format!("{store}/{named}")).ok());
        Ok(Some(in_store.filter(|place| !state.is_place(&named) && state.is_place(place)).unwrap_or(named)))
    }

    /// The bottles of one lot code that are meant.
    fn meant(&self, state: &State, lying: &[Lying], place: &str) -> Result<One, SaidError> {
        let mut meant = self.all_meant(state, lying, place)?;
        match (meant.len(), meant.pop()) {
            (1, Some(one)) => Ok(one),
            (_, last) => Err(which(place, meant.into_iter().chain(last).filter_map(|one| one.lot_code))),
        }
    }

    /// The bottles that are meant, by lot code.
    fn all_meant(&self, state: &State, lying: &[Lying], place: &str) -> Result<Vec<One>, SaidError> {
        let place = harmless(place);
        if lying.is_empty() {
            return Err(SaidError::Nothing(place));
        }
        let mut all: Vec<One> = Vec::new();
        for Lying { run, stock } in lying.iter().filter(|lying| self.of.as_ref().is_none_or(|of| of.is_of(lying))) {
            match all.iter_mut().find(|one| (one.run, &one.lot_code) == (*run, &stock.lot_code)) {
                Some(one) => one.there += stock.there,
                None => all.push(One { run: *run, lot_code: stock.lot_code.clone(), there: stock.there }),
            }
        }
        match &self.of {
            Some(of) if all.is_empty() => Err(SaidError::NotThere { what: of.show(state), place }),
            _ => Ok(all),
        }
    }
}

/// Bottles of one lot code.
struct One {
    run: RunId,
    lot_code: Option<Label>,
    there: u64,
}

/// A cause, written out where a letter stands for it, and what stands behind one of the usual causes.
fn cause_first(phrase: &str) -> (&str, Option<&str>) {
    let (first, behind) = phrase.split_once(' ').map_or((phrase, None), |(first, behind)| (first, Some(behind)));
    let usual = CAUSES.iter().find(|(key, cause)| *key == first || *cause == first);
    usual.map_or((phrase, None), |(_, cause)| (cause, behind))
}

fn which(place: &str, codes: impl Iterator<Item = Label>) -> SaidError {
    let codes: Vec<Label> = codes.collect();
    let mut named = String::new();
    for code in &codes {
        let between = if named.is_empty() { "" } else { ", " };
        // Writing into a text cannot fail.
        let _ = write!(named, "{between}{code}");
    }
    match codes.into_iter().next() {
        Some(example) => SaidError::Which { place: harmless(place), codes: named, example },
        None => SaidError::Nothing(harmless(place)),
    }
}

/// Figures with two hyphens between: a release, even if there is no such day.
fn looks_like_a_day(part: &str) -> bool {
    part.len() > 5
        && part.bytes().filter(|byte| *byte == b'-').count() == 2
        && part.bytes().all(|byte| byte.is_ascii_digit() || byte == b'-')
}

impl Of {
    /// Whether bottles of the run are meant.
    #[must_use]
    pub fn means(&self, stock: &Stock) -> bool {
        self.lot_code.is_none() || stock.lot_code == self.lot_code
    }

    /// Whether such bottles lie in a bin.
    #[must_use]
    pub fn lies_in(&self, bin: &Bin) -> bool {
        bin.lying.iter().any(|lying| self.is_of(lying))
    }

    fn is_of(&self, lying: &Lying) -> bool {
        lying.run == self.run && self.means(&lying.stock)
    }

    fn show(&self, state: &State) -> String {
        self.lot_code.as_ref().unwrap_or(&state.runs.get(self.run).label).to_string()
    }
}

impl State {
    /// The bottles that a lot code or the label of a run names.
    #[must_use]
    pub fn bottles_called(&self, name: &str) -> Option<Of> {
        let of_code = self.runs_of_code(name).first().copied();
        let coded = of_code.zip(Label::read(name).ok()).map(|(run, code)| Of { run, lot_code: Some(code) });
        coded.or_else(|| self.runs.find(name).map(|run| Of { run, lot_code: None }))
    }

    /// Whether bottles lie at a place, or a store has it.
    #[must_use]
    pub fn is_place(&self, place: &Label) -> bool {
        let in_store = self.stores.iter().any(|(_, store)| store.has(place));
        in_store || self.runs.iter().any(|(_, run)| run.laid().any(|(its, _)| its == place))
    }

    /// What is asked of a place that bottles come to; nothing where it is one already.
    #[must_use]
    pub fn new_place(&self, place: &Label) -> Option<Question> {
        (!self.is_place(place)).then(|| Question::NewPlace { place: place.clone() })
    }

    /// Reads the taste of a bottle that is taken from a bin: a lot code first where several lie there, then a taste as of a
    /// barrel.
    pub fn bottle_taste(&self, line: &str, bin: &Bin) -> Result<BottleTasted, SaidError> {
        let line = line.trim();
        let named = [line.split_once([',', ';']), line.split_once(char::is_whitespace)].into_iter().flatten();
        let mut named = named.filter_map(|(name, rest)| Some((self.bottles_called(name.trim())?, rest)));
        let (of, words) = named.next().map_or((None, line), |(of, rest)| (Some(of), rest));
        let one = Said { of, ..Said::default() }.meant(self, &bin.lying, bin.place.as_str())?;
        let Impression { score, marks, text } = Impression::read(words, self)?;
        Ok(BottleTasted {
            run: self.runs.get(one.run).label.clone(),
            lot_code: one.lot_code,
            from: Some(bin.place.clone()),
            bottles: 1,
            score,
            marks: (!marks.is_empty()).then_some(marks),
            text,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(line: &str) -> (Option<u32>, String, String) {
        let said = Said::read(line, &State::default()).unwrap();
        (said.bottles, said.release.map(|day| day.to_string()).unwrap_or_default(), said.words.join("/"))
    }

    fn told(bottles: u32, release: &str, words: &str) -> (Option<u32>, String, String) {
        (Some(bottles), release.to_owned(), words.to_owned())
    }

    #[test]
    fn numbers_and_days_stand_at_the_ends_of_a_phrase() {
        assert_eq!(read("600 2029-05-01"), told(600, "2029-05-01", ""));
        assert_eq!(read("A-03 300"), told(300, "", "A-03"));
        assert_eq!(read("60 sold, The shop"), told(60, "", "sold/The shop"));
        assert_eq!(read("pallet 12, 300"), told(300, "", "pallet 12"));
        assert_eq!(read("pallet 12 300"), told(300, "", "pallet 12"));
        assert_eq!(read("2029-05-01, pallet 12, 300"), told(300, "2029-05-01", "pallet 12"));
        assert_eq!(read("600, 1 May 2029"), told(600, "2029-05-01", ""));
        assert_eq!(read("600 1 May 2029"), told(600, "2029-05-01", ""));
        assert_eq!(read("A-03, 300, 25/5/2029"), told(300, "2029-05-25", "A-03"));
        assert_eq!(read("vintage 2029, 12"), told(12, "", "vintage 2029"));
        assert_eq!(read("  "), (None, String::new(), String::new()));
    }

    #[test]
    fn a_cause_is_written_out() {
        assert_eq!(cause_first("s"), ("sold", None));
        assert_eq!(cause_first("sold The shop"), ("sold", Some("The shop")));
        assert_eq!(cause_first("given to the press"), ("given to the press", None));
    }

    #[test]
    fn what_is_no_day_and_no_count_is_said() {
        let problem = |line: &str| Said::read(line, &State::default()).unwrap_err().to_string();
        assert!(problem("600 2029-02-31").contains("'2029-02-31' is not a day"));
        assert!(problem("600, 4/5/2029").contains("could be"), "{}", problem("600, 4/5/2029"));
        assert!(problem("99999999999").contains("are more bottles than there can be"));
    }
}
