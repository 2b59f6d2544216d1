//! What was tested of a lot: the last result of each thing, how it went, and which barrels stand out.

use std::sync::Arc;

use crate::cellar::moment::Moment;
use crate::cellar::state::{Vessel, VesselId};
use crate::cellar::testing::{Analyte, Test};
use crate::reckon::spread::Spread;

const ANALYTES: usize = Analyte::ALL.len();

/// What was found of one thing in a lot.
#[derive(Clone, Debug, PartialEq)]
pub struct AnalyteReview {
    /// Which thing.
    pub analyte: Analyte,
    /// The last result.
    pub last: LastResult,
    /// The days on which it was tested, oldest first.
    pub days: Vec<TestDay>,
    /// The last result of each vessel of its own, as one walks.
    pub own: Vec<(VesselId, f64)>,
    /// How many vessels have only been part of a composite sample, which hides how they differ.
    pub in_composite: usize,
    /// How the vessels' own results lie together.
    pub spread: Option<Spread>,
    /// The vessels whose own results stand out from the others (see [`Spread::stands_out`]).
    pub outliers: Vec<(VesselId, f64)>,
}

/// A result.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LastResult {
    /// What was found, in the unit of the analyte.
    pub value: f64,
    /// When.
    pub at: Moment,
    /// In how many vessels together: several make a composite.
    pub vessels: usize,
}

/// What was found on one day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TestDay {
    /// The first test of the day.
    pub at: Moment,
    /// The mean of its results.
    pub mean: f64,
    /// How many there were.
    pub results: usize,
    /// Whether one of them is of a composite sample.
    pub composite: bool,
}

impl AnalyteReview {
    /// The last two days on which it was tested, where there are two: how it went.
    #[must_use]
    pub fn trend(&self) -> Option<(TestDay, TestDay)> {
        match self.days.as_slice() {
            [.., before, last] => Some((*before, *last)),
            _ => None,
        }
    }
}

/// So much a barrel must differ from the others to be worth a word, whatever they are: about what two tests of the same
/// wine differ by (our choice).
const fn grain(analyte: Analyte) -> f64 {
    match analyte {
        Analyte::Ph | Analyte::VolatileAcidity => 0.05,
        Analyte::FreeSo2 => 4.0,
        Analyte::TotalSo2 => 10.0,
        Analyte::TitratableAcidity | Analyte::Alcohol | Analyte::Oxygen => 0.2,
        Analyte::Malic | Analyte::Lactic | Analyte::Tartaric => 0.15,
        Analyte::Potassium => 50.0,
        Analyte::Sugar => 0.5,
        Analyte::Turbidity => 5.0,
        Analyte::Temperature => 1.0,
    }
}

/// The tests of a lot while they are gathered.
pub(super) struct Gathering {
    of: [Option<Gathered>; ANALYTES],
}

struct Gathered {
    last: LastResult,
    days: Vec<TestDay>,
    own: Vec<(VesselId, f64)>,
    in_composite: usize,
}

impl Gathering {
    /// The tests that the lot itself remembers, in their order.
    pub(super) fn of(tests: &[Arc<Test>]) -> Gathering {
        let mut gathering = Gathering { of: std::array::from_fn(|_| None) };
        for test in tests {
            for (value, gathered) in gathering.read(test) {
                gathered.on_day(test, value);
            }
        }
        gathering
    }

    /// What a vessel remembers, the last first. Its wine may have been tested before it was of this lot.
    pub(super) fn add(&mut self, id: VesselId, vessel: &Vessel) {
        let mut known = [false; ANALYTES];
        let mut in_composite = [false; ANALYTES];
        for test in vessel.tests.iter().rev() {
            let composite = test.is_composite();
            for (index, &analyte) in Analyte::ALL.iter().enumerate() {
                let Some(value) = test.readings.of(analyte).filter(|_| !known[index]) else { continue };
                let gathered = self.of[index].get_or_insert_with(|| Gathered::new(test, value));
                gathered.take_last(test, value);
                if composite {
                    in_composite[index] = true;
                } else {
                    known[index] = true;
                    gathered.own.push((id, value));
                }
            }
        }
        for (index, gathered) in self.of.iter_mut().enumerate() {
            if let Some(gathered) = gathered {
                gathered.in_composite += usize::from(in_composite[index] && !known[index]);
            }
        }
    }

    /// What a test found, each with where it is gathered.
    fn read<'a>(&'a mut self, test: &'a Test) -> impl Iterator<Item = (f64, &'a mut Gathered)> {
        self.of.iter_mut().zip(Analyte::ALL).filter_map(|(slot, analyte)| {
            let value = test.readings.of(analyte)?;
            let gathered = slot.get_or_insert_with(|| Gathered::new(test, value));
            gathered.take_last(test, value);
            Some((value, gathered))
        })
    }

    pub(super) fn finish(self) -> Vec<AnalyteReview> {
        let told = self.of.into_iter().zip(Analyte::ALL);
        told.filter_map(|(gathered, analyte)| Some(gathered?.finish(analyte))).collect()
    }
}

impl Gathered {
    fn new(test: &Test, value: f64) -> Gathered {
        let last = LastResult { value, at: test.at, vessels: test.vessels.len() };
        Gathered { last, days: Vec::new(), own: Vec::new(), in_composite: 0 }
    }

    fn take_last(&mut self, test: &Test, value: f64) {
        if test.at.instant() > self.last.at.instant() {
            self.last = LastResult { value, at: test.at, vessels: test.vessels.len() };
        }
    }

    fn on_day(&mut self, test: &Test, value: f64) {
        let composite = test.is_composite();
        match self.days.last_mut().filter(|day| test.at.days_since(day.at) == 0) {
            Some(day) => {
                day.results += 1;
                day.mean += (value - day.mean) / day.results as f64;
                day.composite |= composite;
            }
            None => self.days.push(TestDay { at: test.at, mean: value, results: 1, composite }),
        }
    }

    fn finish(self, analyte: Analyte) -> AnalyteReview {
        let values: Vec<f64> = self.own.iter().map(|&(_, value)| value).collect();
        let spread = Spread::of(&values);
        let stands_out = |value| spread.is_some_and(|spread: Spread| spread.stands_out(value, grain(analyte)));
        let outliers = self.own.iter().copied().filter(|&(_, value)| stands_out(value)).collect();
        AnalyteReview {
            analyte,
            last: self.last,
            days: self.days,
            own: self.own,
            in_composite: self.in_composite,
            spread,
            outliers,
        }
    }
}
