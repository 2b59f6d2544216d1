//! Suspicion: what was tasted or tested in a wine that makes one keep it away from other wine.
//!
//! Nothing is kept of it but what was tasted and tested: a limit that the house sets later makes old results suspect too.
//!
//! **Volatile acidity rises** where it rose by 0.15 g/L since the vessel's lowest own result of the last 120 days: three times what two
//! tests of one wine differ by, so that a laboratory's scatter trips nothing (a test feeds it a year of it). Below 0.60 g/L, where it is
//! first noticed, nothing rises: a young wine's does, while it ferments its malic acid. The alarm's default is 0.90 g/L, from where on a
//! wine tastes sour of it.
//!
//! **A suspect vessel is asked about where it is chosen**: at the beginning of a round or the change of its vessel, not at every barrel;
//! before its wine comes into other wine, unless an open work, whose plan named it, takes it there.

mod carried;

use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

pub use self::carried::Carried;
use super::testing::{Analyte, KeptTests, ReadAs, Test};
use crate::cellar::core::book;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::{State, Vessel, VesselId, Work};
use crate::cellar::jobs::floor::practice::Practice;

/// Volatile acidity is called rising where it rose by as much as the house says since the lowest of the vessel's own results in so many days
/// before.
const RISE_DAYS: f64 = 120.0;

/// From such a part on all of a wine is said to have come from somewhere.
const WHOLE: f64 = 0.995;

/// A result.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Found {
    /// What was found, in the unit of the analyte.
    pub value: f64,
    /// When the wine was drawn.
    pub drawn: Moment,
}

/// The last results of one thing. What was found of a vessel by itself stands until it is tested by itself again: a
/// composite hides how its barrels differ, so it can make one suspect and clear none.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct LastFound {
    /// The vessel's own.
    pub own: Option<Found>,
    /// That of a composite drawn after it.
    pub composite: Option<Found>,
}

impl LastFound {
    fn take(&mut self, found: Found, is_composite: bool) {
        let later = |than: Option<Found>| than.is_none_or(|than| found.drawn.instant() >= than.drawn.instant());
        if !later(self.own) {
            return;
        }
        if !is_composite {
            self.own = Some(found);
            self.composite = self.composite.filter(|composite| composite.drawn.instant() > found.drawn.instant());
        } else if later(self.composite) {
            self.composite = Some(found);
        }
    }

    /// The result that lies above a limit.
    fn above(&self, limit: f64) -> Option<Found> {
        [self.own, self.composite].into_iter().flatten().find(|found| found.value > limit)
    }
}

/// What a vessel's wine was last tested for that can make it suspect, kept with the vessel so that a walk need open no test.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Watched {
    /// Volatile acidity, g/L as acetic acid.
    pub acid: LastFound,
    /// The lowest of the vessel's own results of it in the weeks before the last.
    pub acid_before: Option<Found>,
    /// What the house declares.
    pub declared: Vec<(Label, LastFound)>,
}

impl Watched {
    /// Takes in a test, the last of those that are kept.
    fn take(&mut self, test: &Test, kept: &KeptTests) {
        let is_composite = test.is_composite();
        let found = |value| Found { value, drawn: test.drawn };
        if let Some(value) = test.readings.of(Analyte::VolatileAcidity) {
            self.acid.take(found(value), is_composite);
            self.acid_before = self.acid.own.and_then(|last| lowest_before(kept, last.drawn));
        }
        for (analyte, value) in &test.values {
            let position = self.declared.iter().position(|(known, _)| known == analyte).unwrap_or_else(|| {
                self.declared.push((analyte.clone(), LastFound::default()));
                self.declared.len() - 1
            });
            self.declared[position].1.take(found(*value), is_composite);
        }
    }
}

/// The lowest volatile acidity that a vessel itself showed in the weeks before a moment.
fn lowest_before(kept: &KeptTests, last: Moment) -> Option<Found> {
    let own = kept.of(Analyte::VolatileAcidity).filter(|(_, test)| !test.is_composite());
    let in_time = own.filter(|(_, test)| {
        let days = last.elapsed_days(test.drawn);
        days > 0.0 && days <= RISE_DAYS
    });
    in_time
        .map(|(value, test)| Found { value, drawn: test.drawn })
        .min_by(|one, other| one.value.total_cmp(&other.value))
}

impl Vessel {
    /// Keeps what a test, the last of those that it keeps, found of what can make its wine suspect.
    pub(in crate::cellar) fn watch(&mut self, test: &Test) {
        if test.readings.of(Analyte::VolatileAcidity).is_none() && test.values.is_empty() {
            return;
        }
        let mut watched = self.watched.as_deref().cloned().unwrap_or_default();
        watched.take(test, &self.tests);
        self.watched = Some(Arc::new(watched));
        if !test.is_composite() {
            self.test_carried(test);
        }
    }
}

/// Why a wine is suspect.
#[derive(Clone, Debug, PartialEq)]
pub enum Suspicion {
    /// Its last taste names a fault.
    Tasted {
        /// The fault.
        fault: Label,
        /// When.
        at: Moment,
    },
    /// Its volatile acidity is above the house's alarm.
    Acid {
        /// What was found, g/L as acetic acid.
        found: Found,
        /// The alarm.
        alarm: f64,
        /// How the house reads it.
        read: ReadAs,
    },
    /// Its volatile acidity rises.
    AcidRises {
        /// The lowest of the weeks before.
        from: Found,
        /// The last.
        to: Found,
        /// How the house reads it.
        read: ReadAs,
    },
    /// Something that the house declares is above what it puts up with.
    Declared {
        /// What.
        analyte: Label,
        /// Its unit.
        unit: Label,
        /// What was found.
        found: Found,
        /// What the house puts up with.
        limit: f64,
    },
    /// It came in with other wine.
    CameIn {
        /// What makes that suspect; of a figure, as it is reckoned in this wine.
        what: Box<Suspicion>,
        /// Where it was found.
        vessel: Label,
        /// How much of this wine came from there, a part of one; none where that is reckoned into the figure.
        part: Option<f64>,
    },
}

impl Suspicion {
    /// Whether another suspicion is of the same thing.
    fn is_of_same(&self, other: &Suspicion) -> bool {
        use Suspicion::{Acid, AcidRises, Declared, Tasted};
        match (self, other) {
            (Acid { .. } | AcidRises { .. }, Acid { .. } | AcidRises { .. }) => true,
            (Tasted { fault: one, .. }, Tasted { fault: two, .. })
            | (Declared { analyte: one, .. }, Declared { analyte: two, .. }) => one == two,
            _ => false,
        }
    }
}

impl fmt::Display for Suspicion {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Suspicion::Tasted { fault, at } => write!(f, "{fault} tasted on {}", at.show_day()),
            Suspicion::Acid { found, alarm, read } => {
                let (day, value) = (found.drawn.show_day(), read.with_unit(read.fixed(found.value)));
                write!(f, "volatile acidity {value} on {day}, above the alarm at {}", read.fixed(*alarm))
            }
            Suspicion::AcidRises { from, to, read } => {
                let (before, day) = (from.drawn.show_day(), to.drawn.show_day());
                let (low, high) = (read.with_unit(read.fixed(from.value)), read.fixed(to.value));
                write!(f, "volatile acidity rising, {low} on {before}, {high} on {day}")
            }
            Suspicion::Declared { analyte, unit, found, limit } => {
                let day = found.drawn.show_day();
                write!(f, "{analyte} {} {unit} on {day}, above {limit}", (found.value * 100.0).round() / 100.0)
            }
            Suspicion::CameIn { what, vessel, part: Some(part) } if *part < WHOLE => {
                write!(f, "{what}, in {vessel}, from which {:.0} % of it came", part * 100.0)
            }
            Suspicion::CameIn { what, vessel, part: Some(_) } => write!(f, "{what}, in {vessel}, from which it came"),
            Suspicion::CameIn { what, vessel, part: None } => write!(f, "{what}, with the wine from {vessel}"),
        }
    }
}

impl State {
    /// All that makes a vessel's wine suspect; nothing where it holds none.
    #[must_use]
    pub fn suspicions(&self, vessel: &Vessel) -> Vec<Suspicion> {
        if vessel.wine.is_empty() {
            return Vec::new();
        }
        let mut suspicions = self.own_suspicions(vessel);
        if let Some(carried) = vessel.carried.as_deref() {
            let came_in = self.came_in_suspect(carried, &suspicions);
            suspicions.extend(came_in);
        }
        suspicions
    }

    /// What was tasted and tested of the vessel itself.
    fn own_suspicions(&self, vessel: &Vessel) -> Vec<Suspicion> {
        let mut suspicions = self.tasted_faults(vessel);
        if let Some(watched) = vessel.watched.as_deref() {
            suspicions.extend(acid(watched, &self.practice, self.read_as(Analyte::VolatileAcidity)));
            suspicions.extend(self.above_the_houses(watched));
        }
        suspicions
    }

    /// Whether a vessel's wine is suspect.
    #[must_use]
    pub fn is_suspect(&self, vessel: &Vessel) -> bool {
        if vessel.wine.is_empty() || !vessel.has_what_makes_suspect() {
            return false;
        }
        !self.suspicions(vessel).is_empty()
    }

    /// Why a vessel's wine is suspect, in words; none where it is not.
    #[must_use]
    pub fn suspect_words(&self, vessel: &Vessel) -> Option<String> {
        let words: Vec<String> = self.suspicions(vessel).iter().map(ToString::to_string).collect();
        (!words.is_empty()).then(|| words.join("; "))
    }

    /// What is asked before other wine is topped from a vessel: whether it is, though its wine is suspect.
    pub(in crate::cellar) fn asks_of_suspect_source(&self, from: VesselId) -> Option<Question> {
        let vessel = self.vessels.get(from);
        let why = self.suspect_words(vessel)?;
        Some(Question::SuspectSource { vessel: vessel.label.clone(), why })
    }

    /// What is asked before a vessel's wine comes into another: whether it does, though it is suspect.
    pub(in crate::cellar) fn asks_of_suspect(&self, from: VesselId, into: VesselId) -> Option<Question> {
        let vessel = self.vessels.get(from);
        let why = self.suspect_words(vessel)?;
        Some(Question::SuspectWine { vessel: vessel.label.clone(), why, into: self.vessels.get(into).label.clone() })
    }

    /// Those of some vessels whose wine is suspect.
    #[must_use]
    pub fn suspects_among(&self, vessels: impl IntoIterator<Item = VesselId>) -> Vec<VesselId> {
        vessels.into_iter().filter(|&id| self.is_suspect(self.vessels.get(id))).collect()
    }

    /// Some suspect vessels in words, each with why: `0402 (Brettanomyces tasted on 3 Nov)`.
    #[must_use]
    pub fn suspects_in_words(&self, suspects: &[VesselId]) -> String {
        let words = |&id: &VesselId| {
            let vessel = self.vessels.get(id);
            format!("{} ({})", vessel.label, self.suspect_words(vessel).unwrap_or_default())
        };
        suspects.iter().map(words).collect::<Vec<_>>().join(", ")
    }

    /// The suspect vessels whose wine is still to come together with other wine in a work, in a sentence; none where there are
    /// none.
    #[must_use]
    pub fn suspects_of_work(&self, work: &Work) -> Option<String> {
        let into = work.task.fills()?;
        let left = work.stops.iter().filter(|stop| stop.tick.is_none() && stop.vessel != into);
        let suspects = self.suspects_among(left.map(|stop| stop.vessel));
        (!suspects.is_empty()).then(|| format!("Suspect: {}.", self.suspects_in_words(&suspects)))
    }

    /// The faults of the last taste. What was tasted of an earlier fill still says something of wood, and nothing of steel.
    fn tasted_faults(&self, vessel: &Vessel) -> Vec<Suspicion> {
        let Some(taste) = vessel.taste.as_deref() else { return Vec::new() };
        let is_of_this_fill = vessel.filled.is_none_or(|filled| filled.instant() <= taste.at.instant());
        if !is_of_this_fill && !book::is_wood(vessel) {
            return Vec::new();
        }
        let faults = self.faults_among(&taste.marks);
        faults.into_iter().map(|fault| Suspicion::Tasted { fault: fault.mark.clone(), at: taste.at }).collect()
    }

    fn above_the_houses(&self, watched: &Watched) -> Vec<Suspicion> {
        let above = |(analyte, last): &(Label, LastFound)| {
            let house = self.house_analyte(analyte)?;
            let limit = house.limit()?;
            let found = last.above(limit)?;
            Some(Suspicion::Declared { analyte: analyte.clone(), unit: house.unit.clone(), found, limit })
        };
        watched.declared.iter().filter_map(above).collect()
    }
}

/// What volatile acidity says: that it is above the alarm, or else that it rises.
fn acid(watched: &Watched, practice: &Practice, read: ReadAs) -> Option<Suspicion> {
    let alarm = practice.va_alarm_g_l;
    if let Some(found) = watched.acid.above(alarm) {
        return Some(Suspicion::Acid { found, alarm, read });
    }
    let (from, to) = (watched.acid_before?, watched.acid.own?);
    // Laboratories give hundredths, and their difference is no exact one.
    let rose = ((to.value - from.value) * 1_000.0).round() >= (practice.va_rise_g_l * 1_000.0).round();
    (rose && to.value >= practice.va_risen_g_l).then_some(Suspicion::AcidRises { from, to, read })
}
