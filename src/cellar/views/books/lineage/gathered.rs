//! The past of some bottles gathered for a page: two hundred barrels of one lot are one line, sixty additions of one batch
//! another.

use super::done::{Check, Done, DoneTo};
use super::names::Name;
use super::{Fill, Flow, Hand, Past, Stream, Tracer};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::LotId;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::jobs::wood::care::Care;
use crate::units::{Mass, Volume};

/// When something was done first and last, and how often.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Times {
    /// How often.
    pub times: u32,
    /// When first.
    pub first: Moment,
    /// When last.
    pub last: Moment,
}

/// Vessels of one kind under one lot's name, each in one of its fills.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LaidIn {
    /// What they are.
    pub kind: VesselType,
    /// The lot.
    pub lot: Option<LotId>,
    /// The vessels.
    pub fills: Vec<Fill>,
}

/// What flowed for one reason.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Flowed {
    /// Why.
    pub flow: Flow,
    /// How much in all.
    pub volume: Volume,
    /// When, and how often.
    pub times: Times,
}

/// What was added of one batch of a material.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Added {
    /// The material.
    pub material: Name,
    /// The maker's mark of the batch.
    pub batch: Option<Name>,
    /// How much in all.
    pub amount: Mass,
    /// When, and how often.
    pub times: Times,
    /// Who entered it, each once.
    pub hands: Vec<Hand>,
}

/// What was found last of one thing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Finding<'a> {
    /// Of what.
    pub analyte: Analyte,
    /// What was found.
    pub value: f64,
    /// By which test.
    pub by: &'a Done,
    /// How many tests told of it.
    pub tests: usize,
}

impl Times {
    const fn once(at: Moment) -> Times {
        Times { times: 1, first: at, last: at }
    }

    /// Takes in what was done as often between two moments.
    fn take_in(&mut self, other: Times) {
        self.times += other.times;
        if other.first.instant() < self.first.instant() {
            self.first = other.first;
        }
        if other.last.instant() > self.last.instant() {
            self.last = other.last;
        }
    }
}

impl Past<'_> {
    /// The vessels that the wine lay in, by lot and kind.
    #[must_use]
    pub fn laid_in(&self, tracer: &Tracer) -> Vec<LaidIn> {
        let mut gathered: Vec<LaidIn> = Vec::new();
        for &fill in &self.fills {
            let (kind, lot) = (tracer.state.vessels.get(fill.vessel).vessel_type, tracer.last_name(fill));
            match gathered.iter_mut().find(|its| (its.kind, its.lot) == (kind, lot)) {
                Some(its) => its.fills.push(fill),
                None => gathered.push(LaidIn { kind, lot, fills: vec![fill] }),
            }
        }
        gathered
    }

    /// What flowed, by reason.
    #[must_use]
    pub fn flowed(&self) -> Vec<Flowed> {
        flowed(&self.back.streams)
    }

    /// What was added, by material and batch.
    #[must_use]
    pub fn added(&self) -> Vec<Added> {
        let mut gathered: Vec<Added> = Vec::new();
        for done in &self.done {
            let DoneTo::Treated { material, batch, amount, .. } = done.to else { continue };
            let times = Times::once(done.at);
            match gathered.iter_mut().find(|its| (its.material, its.batch) == (material, batch)) {
                Some(its) => {
                    its.amount += amount;
                    its.times.take_in(times);
                    if !its.hands.contains(&done.hand) {
                        its.hands.push(done.hand);
                    }
                }
                None => gathered.push(Added { material, batch, amount, times, hands: vec![done.hand] }),
            }
        }
        gathered
    }

    /// What was found last of each thing that was tested.
    #[must_use]
    pub fn findings(&self) -> Vec<Finding<'_>> {
        let finding = |analyte: Analyte| {
            let found = self.done.iter().filter_map(|&done| match &done.to {
                DoneTo::Tested(test) => Some((done, test.readings.of(analyte)?)),
                _ => None,
            });
            let found: Vec<(&Done, f64)> = found.collect();
            // A sample that was drawn late may have been tested early.
            let (by, value) = found.iter().copied().max_by_key(|(done, _)| done.at.instant())?;
            Some(Finding { analyte, value, by, tests: found.len() })
        };
        Analyte::ALL.into_iter().filter_map(finding).collect()
    }

    /// How the wood was cared for before the wine came into it.
    #[must_use]
    pub fn cared(&self) -> Vec<(Care, Times)> {
        let mut gathered: Vec<(Care, Times)> = Vec::new();
        for done in &self.done {
            let DoneTo::Cared(care) = done.to else { continue };
            let times = Times::once(done.at);
            match gathered.iter_mut().find(|(its, _)| *its == care) {
                Some((_, its)) => its.take_in(times),
                None => gathered.push((care, times)),
            }
        }
        gathered
    }

    /// The fining trials; of each what was written down last, which stands in the place of what was before.
    #[must_use]
    pub fn fining_trials(&self) -> Vec<&Done> {
        let mut last: Vec<(&Label, &Done)> = Vec::new();
        for &done in &self.done {
            let DoneTo::Tried(tried) = &done.to else { continue };
            last.retain(|(trial, _)| *trial != &tried.trial);
            last.push((&tried.trial, done));
        }
        last.into_iter().map(|(_, done)| done).collect()
    }

    /// What was said last of each item of each lot's checklist.
    #[must_use]
    pub fn checks(&self) -> Vec<&Done> {
        let mut last: Vec<(&Check, &Done)> = Vec::new();
        for &done in &self.done {
            let DoneTo::Checked(check) = &done.to else { continue };
            last.retain(|(its, _)| (&its.lot, &its.item) != (&check.lot, &check.item));
            last.push((check, done));
        }
        last.into_iter().map(|(_, done)| done).collect()
    }
}

/// What flowed, by reason.
#[must_use]
pub fn flowed(streams: &[Stream]) -> Vec<Flowed> {
    let mut gathered: Vec<Flowed> = Vec::new();
    for stream in streams {
        let times = Times { times: stream.times, first: stream.first, last: stream.last };
        match gathered.iter_mut().find(|its| its.flow == stream.flow) {
            Some(its) => {
                its.volume += stream.volume;
                its.times.take_in(times);
            }
            None => gathered.push(Flowed { flow: stream.flow, volume: stream.volume, times }),
        }
    }
    gathered
}
