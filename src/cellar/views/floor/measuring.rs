//! What is typed at a step of a work: litres, millilitres of a solution, or grams of what is weighed.

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::{State, VesselId, WorkId};
use crate::cellar::jobs::floor::work::Task;
use crate::cellar::views::topping::correcting::Measured;
use crate::units::{Mass, Volume, VolumeUnit, customary_words, poured, weighed};

/// Measured litres are asked about once more when they are further than this from what is expected …
const ASK_BEYOND: Volume = Volume::from_litres(25);
/// … and an addition when it is more than so many times what is planned, or less than that part of it (our choice).
const ASK_TIMES: u64 = 2;

/// How much moved, or was added, as it is measured at a barrel of a work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Measure {
    /// Litres that moved.
    Litres(Volume),
    /// Millilitres of a solution.
    Millilitres(Volume),
    /// Grams of what is weighed.
    Grams(Mass),
}

impl Measure {
    /// What is planned, which also says what a bare number means: millilitres of a solution, grams of what is weighed, else
    /// litres.
    #[must_use]
    pub fn planned(state: &State, work: WorkId, barrel: VesselId, at: Moment) -> Measure {
        let task = &state.works.get(work).task;
        let expected = state.expected_at(work, barrel, at).unwrap_or_default();
        match state.works.get(work).stop(barrel) {
            Some(stop) if matches!(task, Task::Treating { .. }) && stop.volume.is_zero() => Measure::Grams(stop.amount),
            _ if matches!(task, Task::Treating { .. }) => Measure::Millilitres(expected),
            _ => Measure::Litres(expected),
        }
    }

    /// What was typed, in the same unit unless another is said.
    pub fn read(self, typed: &str) -> Result<Measure, String> {
        match self {
            Measure::Litres(_) => {
                Volume::parse(typed, VolumeUnit::customary()).map(Measure::Litres).map_err(|e| e.to_string())
            }
            Measure::Millilitres(_) => {
                Volume::parse(typed, VolumeUnit::Millilitre).map(Measure::Millilitres).map_err(|e| e.to_string())
            }
            Measure::Grams(_) => Mass::parse(typed).map(Measure::Grams).map_err(|e| e.to_string()),
        }
    }

    /// What is asked where it is so far from what is planned that it is likely a slip.
    #[must_use]
    pub fn asks(self, planned: Measure, at: &Label) -> Option<Question> {
        let (measured, expected) = (self.show(), planned.show());
        self.is_improbable(planned).then(|| Question::ImprobableMeasure { vessel: at.clone(), measured, expected })
    }

    fn is_improbable(self, planned: Measure) -> bool {
        let far = |measured: u64, planned: u64| {
            measured > planned.saturating_mul(ASK_TIMES) || measured.saturating_mul(ASK_TIMES) < planned
        };
        match (self, planned) {
            (Measure::Litres(volume), Measure::Litres(planned)) => {
                volume.saturating_sub(planned).max(planned.saturating_sub(volume)) > ASK_BEYOND
            }
            (Measure::Millilitres(volume), Measure::Millilitres(planned)) => far(volume.as_ul(), planned.as_ul()),
            (Measure::Grams(mass), Measure::Grams(planned)) => far(mass.as_ug(), planned.as_ug()),
            _ => true,
        }
    }

    /// The same, as what takes the place of what was measured wrongly.
    #[must_use]
    pub const fn corrected(self) -> Measured {
        match self {
            Measure::Litres(volume) | Measure::Millilitres(volume) => Measured::Volume(volume),
            Measure::Grams(mass) => Measured::Amount(mass),
        }
    }

    /// How much it is, as it is measured.
    #[must_use]
    pub fn show(self) -> String {
        match self {
            Measure::Litres(volume) | Measure::Millilitres(volume) => poured(volume),
            Measure::Grams(mass) => weighed(mass),
        }
    }

    /// Its unit, as it is said and as it is written.
    #[must_use]
    pub fn unit(self) -> (&'static str, &'static str) {
        match self {
            Measure::Litres(_) => customary_words(),
            Measure::Millilitres(_) => ("millilitres", "mL"),
            Measure::Grams(_) => ("grams", "g"),
        }
    }
}
