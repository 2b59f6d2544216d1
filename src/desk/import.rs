//! Taking in what a spreadsheet came to: one act, each fact known by the line that it stands on.

use std::collections::{BTreeMap, VecDeque};
use std::ops::ControlFlow;

use chrono::NaiveDate;
use rustc_hash::{FxHashMap, FxHashSet};

use super::Desk;
use super::admit::{Admitted, Deciding, IncomingLine, Surprises, Together};
use super::error::DeskError;
use crate::cellar::core::fact::{FactError, IncomingFact, What, body_text};
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::{Moment, MomentError, WallTime};
use crate::cellar::jobs::tests::testing::declared::AnalyteDeclared;
use crate::log::{RawFact, ScanStart};

/// A fact of a spreadsheet.
#[derive(Clone, Debug, PartialEq)]
pub struct Imported {
    /// The number of the line that it stands on.
    pub line: u64,
    /// When it happened, where the line says it.
    pub at: Option<WallTime>,
    /// Who did it, where the line says it.
    pub by: Option<Label>,
    /// What.
    pub what: What,
    /// Words beside it.
    pub note: Option<Text>,
}

/// Who takes a spreadsheet in, and when.
#[derive(Clone, Copy, Debug)]
pub struct Importing<'a> {
    /// Who enters what names nobody.
    pub by: &'a Label,
    /// Since when it is so, where a line says no day.
    pub since: Moment,
    /// The clock of this laptop.
    pub now: Moment,
}

/// What is done with what a spreadsheet came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Taking {
    /// It is compared with what is known already, and no more: something is asked first.
    Compared,
    /// It is tried, and nothing is stored.
    Tried,
    /// It is entered.
    Entered {
        /// Whether the lines of which nothing is refused are taken where others are.
        keep_good: bool,
        /// What becomes of what surprises.
        surprises: Surprises,
    },
}

/// What became of a spreadsheet.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TakenIn {
    /// The facts that are new, with what goes before them.
    pub facts: Vec<Imported>,
    /// How many lines say what stands in the log.
    pub known: usize,
    /// What became of the facts.
    pub admitted: Admitted,
}

impl Desk {
    /// Takes in what a spreadsheet came to: without what is known already, and as one act.
    pub fn take_in_spreadsheet(
        &mut self,
        proposed: Vec<Imported>,
        importing: Importing<'_>,
        taking: Taking,
    ) -> Result<TakenIn, DeskError> {
        let all = proposed.len();
        let facts = self.not_known(proposed, importing.now)?;
        let known = all - facts.len();
        let facts = self.with_declarations(facts, importing)?;
        let admitted = match taking {
            Taking::Compared => Admitted::default(),
            Taking::Tried => self.rehearse_import(&facts, importing)?,
            Taking::Entered { keep_good, surprises } => self.import(&facts, importing, (keep_good, surprises))?,
        };
        Ok(TakenIn { facts, known, admitted })
    }

    /// Takes in facts of a spreadsheet as one act: all of them, or none where one is refused or asked about; with `keep_good` all of the
    /// lines of which nothing is refused.
    pub fn import(
        &mut self,
        facts: &[Imported],
        importing: Importing<'_>,
        (keep_good, surprises): (bool, Surprises),
    ) -> Result<Admitted, DeskError> {
        let now = self.never_back(importing.now);
        let lines = incoming(facts, Importing { now, ..importing })?;
        self.take_good(lines, Deciding { now, surprises }, Together::Yes, keep_good)
    }

    /// What [`Desk::import`] would refuse and ask; nothing is stored.
    pub fn rehearse_import(&mut self, facts: &[Imported], importing: Importing<'_>) -> Result<Admitted, DeskError> {
        let now = self.never_back(importing.now);
        let lines = incoming(facts, Importing { now, ..importing })?;
        self.rehearse_told(&lines, Deciding { now, surprises: Surprises::Asked })
    }

    /// The same facts without those that stand in the log already; what says no day is new. Of several that are alike so many are
    /// known as the log holds: a second pour of half a litre on one day is no copy of the first.
    pub fn not_known(&self, facts: Vec<Imported>, now: Moment) -> Result<Vec<Imported>, DeskError> {
        let mut alike: FxHashMap<(Says, When), VecDeque<usize>> = FxHashMap::default();
        for (place, fact) in facts.iter().enumerate() {
            let Some(at) = fact.at else { continue };
            let when = if at.time.is_none() { When::On(at.day) } else { When::At(Moment::on_wall(at, now)?.instant()) };
            alike.entry((says(&fact.what)?, when)).or_default().push_back(place);
        }
        let kinds: FxHashSet<&'static str> = alike.keys().map(|((kind, _), _)| *kind).collect();
        let mut known: FxHashSet<usize> = FxHashSet::default();
        let mut see = |raw: &RawFact<'_>, author: &str| {
            if !kinds.contains(raw.kind) || self.retractions.contains(&raw.id()) {
                return;
            }
            // What cannot be read is told where the log is folded.
            let what = What::of_version(raw.kind, raw.version, raw.body);
            let Ok(mut said) = what.and_then(|what| says(&what)) else { return };
            let by_the_same = |place: &usize| facts[*place].by.as_ref().is_none_or(|by| by.as_str() == author);
            // What says the hour goes first: what says the day only finds another of that day.
            for when in [When::At(raw.at.instant()), When::On(raw.at.date())] {
                let key = (said, when);
                if let Some(waiting) = alike.get_mut(&key)
                    && let Some(found) = waiting.iter().position(by_the_same)
                {
                    known.extend(waiting.remove(found));
                    return;
                }
                said = key.0;
            }
        };
        if !kinds.is_empty() {
            self.log.scan_authored(&mut |raw, author| {
                see(raw, author);
                ControlFlow::Continue(())
            })?;
        }
        let new = facts.into_iter().enumerate().filter(|(place, _)| !known.contains(place));
        Ok(new.map(|(_, fact)| fact).collect())
    }
}

impl Desk {
    /// The same facts, before them what this house says of things that it had tested before it said so: what an old test found
    /// is no less known.
    pub fn with_declarations(
        &self,
        facts: Vec<Imported>,
        importing: Importing<'_>,
    ) -> Result<Vec<Imported>, DeskError> {
        let mut first: BTreeMap<&Label, (i64, &Imported)> = BTreeMap::new();
        for fact in &facts {
            let What::Tested(tested) = &fact.what else { continue };
            let instant = importing.moment_of(fact)?.instant();
            for analyte in tested.values.iter().flatten().map(|(analyte, _)| analyte) {
                let earliest = first.entry(analyte).or_insert((instant, fact));
                if instant < earliest.0 {
                    *earliest = (instant, fact);
                }
            }
        }
        let later = self.declared_later(first.iter().map(|(analyte, (instant, _))| (*analyte, *instant)).collect())?;
        let said = |declared: AnalyteDeclared| {
            let (_, fact) = first.get(&declared.analyte)?;
            Some(Imported { what: What::AnalyteDeclared(declared), by: None, note: None, line: fact.line, at: fact.at })
        };
        let declared: Vec<Imported> = later.into_iter().filter_map(said).collect();
        Ok(declared.into_iter().chain(facts).collect())
    }

    /// What this house says of things that it had tested before it said so, of which it is told when they were tested first.
    pub(super) fn declared_later(&self, mut tested: BTreeMap<&Label, i64>) -> Result<Vec<AnalyteDeclared>, DeskError> {
        if tested.is_empty() {
            return Ok(Vec::new());
        }
        self.log.scan(&ScanStart::Beginning, &mut |raw| {
            if raw.kind == "analyte_declared"
                && !self.retractions.contains(&raw.id())
                && let Ok(What::AnalyteDeclared(declared)) = What::of_version(raw.kind, raw.version, raw.body)
            {
                tested.retain(|analyte, instant| **analyte != declared.analyte || *instant < raw.at.instant());
            }
            ControlFlow::Continue(())
        })?;
        Ok(tested.keys().filter_map(|analyte| self.state().house_analyte(analyte).cloned()).collect())
    }
}

impl Importing<'_> {
    /// When a fact happened.
    fn moment_of(&self, fact: &Imported) -> Result<Moment, MomentError> {
        fact.at.map_or(Ok(self.since), |at| Moment::on_wall(at, self.now))
    }
}

/// The kind and the fields of a fact.
type Says = (&'static str, String);

/// When a fact happened, as far as it is said.
#[derive(PartialEq, Eq, Hash)]
enum When {
    /// At this instant.
    At(i64),
    /// On this day.
    On(NaiveDate),
}

/// All that a fact says, to be compared.
fn says(what: &What) -> Result<Says, FactError> {
    Ok((what.kind(), body_text(what.body()?, None)))
}

fn incoming(facts: &[Imported], importing: Importing<'_>) -> Result<Vec<IncomingLine>, DeskError> {
    let Importing { by, now, .. } = importing;
    facts
        .iter()
        .map(|fact| {
            let what = fact.what.clone();
            Ok(IncomingLine {
                number: fact.line,
                body: body_text(what.body()?, None),
                fact: IncomingFact {
                    id: None,
                    at: importing.moment_of(fact)?,
                    written: Some(now),
                    by: fact.by.as_ref().unwrap_or(by).clone(),
                    version: what.version(),
                    what,
                    job: None,
                    note: fact.note.clone(),
                    despite: None,
                },
            })
        })
        .collect()
}
