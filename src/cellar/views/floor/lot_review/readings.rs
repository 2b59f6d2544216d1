//! What was tested of a lot: the last result of each thing, how it went, and which barrels stand out.

use chrono::NaiveDate;

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{Vessel, VesselId};
use crate::cellar::jobs::tests::testing::{Analyte, Analytes, KeptTests, ReadAs, Test};
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
    /// The same in figures as a house reads them.
    #[must_use]
    pub fn read(&self, read: ReadAs) -> AnalyteReview {
        if !read.is_turned() {
            return self.clone();
        }
        let of_vessels = |all: &[(VesselId, f64)]| all.iter().map(|&(id, value)| (id, read.value(value))).collect();
        let days = self.days.iter().map(|day| TestDay { mean: read.turned(day.mean), ..*day });
        let (own, outliers): (Vec<_>, Vec<_>) = (of_vessels(&self.own), of_vessels(&self.outliers));
        AnalyteReview {
            last: LastResult { value: read.value(self.last.value), ..self.last },
            days: days.collect(),
            spread: Spread::of(&own.iter().map(|&(_, value)| value).collect::<Vec<f64>>()),
            own,
            outliers,
            ..*self
        }
    }

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
pub(super) struct Gathering<'a> {
    of: [Option<Gathered<'a>>; ANALYTES],
}

struct Gathered<'a> {
    last: (f64, &'a Test),
    days: Vec<TestDay>,
    /// The date of the last of these days.
    date: Option<NaiveDate>,
    own: Vec<(VesselId, f64)>,
    in_composite: usize,
}

impl<'a> Gathering<'a> {
    /// The tests that the lot itself remembers, in their order.
    pub(super) fn of(tests: &'a KeptTests) -> Gathering<'a> {
        let mut gathering = Gathering { of: std::array::from_fn(|_| None) };
        for (told, test) in tests.iter() {
            let date = test.at.date();
            for analyte in told.analytes.iter() {
                if let Some((value, gathered)) = gathering.take(analyte, test) {
                    gathered.on_day(date, test, value);
                }
            }
        }
        gathering
    }

    /// What a vessel remembers, the last first. Its wine may have been tested before it was of this lot.
    pub(super) fn add(&mut self, id: VesselId, vessel: &'a Vessel) {
        let (mut own, mut any) = (Analytes::default(), Analytes::default());
        for (told, test) in vessel.tests.iter().rev() {
            let new = told.analytes.without(if told.composite { any } else { own });
            if new.is_empty() {
                continue;
            }
            any = any.and(new);
            for analyte in new.iter() {
                if let Some((value, gathered)) = self.take(analyte, test).filter(|_| !told.composite) {
                    gathered.own.push((id, value));
                }
            }
            if !told.composite {
                own = own.and(new);
            }
        }
        for analyte in any.without(own).iter() {
            if let Some(gathered) = &mut self.of[analyte as usize] {
                gathered.in_composite += 1;
            }
        }
    }

    /// What a test found of an analyte, and where that is gathered.
    fn take(&mut self, analyte: Analyte, test: &'a Test) -> Option<(f64, &mut Gathered<'a>)> {
        let value = test.readings.of(analyte)?;
        let gathered = self.of[analyte as usize].get_or_insert_with(|| Gathered::new(value, test));
        gathered.take_last(value, test);
        Some((value, gathered))
    }

    pub(super) fn finish(self) -> Vec<AnalyteReview> {
        let told = self.of.into_iter().zip(Analyte::ALL);
        told.filter_map(|(gathered, analyte)| Some(gathered?.finish(analyte))).collect()
    }
}

impl<'a> Gathered<'a> {
    fn new(value: f64, test: &'a Test) -> Gathered<'a> {
        Gathered { last: (value, test), days: Vec::new(), date: None, own: Vec::new(), in_composite: 0 }
    }

    /// Of two tests of one moment the last is the later fact.
    fn take_last(&mut self, value: f64, test: &'a Test) {
        let place = |test: &'a Test| (test.at.instant(), &test.id);
        if place(test) > place(self.last.1) {
            self.last = (value, test);
        }
    }

    fn on_day(&mut self, date: NaiveDate, test: &Test, value: f64) {
        let composite = test.is_composite();
        match self.days.last_mut().filter(|_| self.date == Some(date)) {
            Some(day) => {
                day.results += 1;
                day.mean += (value - day.mean) / day.results as f64;
                day.composite |= composite;
            }
            None => self.days.push(TestDay { at: test.at, mean: value, results: 1, composite }),
        }
        self.date = Some(date);
    }

    fn finish(self, analyte: Analyte) -> AnalyteReview {
        let values: Vec<f64> = self.own.iter().map(|&(_, value)| value).collect();
        let spread = Spread::of(&values);
        let stands_out = |value| spread.is_some_and(|spread: Spread| spread.stands_out(value, grain(analyte)));
        let outliers = self.own.iter().copied().filter(|&(_, value)| stands_out(value)).collect();
        let (value, test) = self.last;
        AnalyteReview {
            analyte,
            last: LastResult { value, at: test.at, vessels: test.vessels.len() },
            days: self.days,
            own: self.own,
            in_composite: self.in_composite,
            spread,
            outliers,
        }
    }
}
