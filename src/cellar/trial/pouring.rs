//! Pouring: how much of which wine comes into which glass, in steps that a cylinder or a pipette can read.

use thiserror::Error;

use super::{Glass, Key};
use crate::units::{Shares, Volume, VolumeUnit, apportion};

/// What is poured into one glass, and how often.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pour<'a> {
    /// Which glass.
    pub glass: &'a Glass,
    /// How much of each component, in their order; in sum the glass.
    pub amounts: Vec<Volume>,
    /// How many tasters are served it, all flights counted.
    pub times: usize,
}

/// Why a glass cannot be poured in steps.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error(
    "A glass of {} is no whole number of {}. Choose a step that divides it.",
    .glass.show(VolumeUnit::Millilitre, 2),
    .step.show(VolumeUnit::Millilitre, 2)
)]
pub struct StepError {
    glass: Volume,
    step: Volume,
}

/// How much of each component comes into a glass, in whole steps that sum to the glass exactly.
pub fn amounts(glass: Volume, shares: &Shares, step: Volume) -> Result<Vec<Volume>, StepError> {
    let wrong = StepError { glass, step };
    let steps = glass.as_ul().checked_div(step.as_ul()).filter(|steps| steps * step.as_ul() == glass.as_ul());
    let weights: Vec<u64> = shares.millionths().iter().map(|&part| u64::from(part)).collect();
    let parts = apportion(steps.ok_or_else(|| wrong.clone())?, &weights).ok_or(wrong)?;
    Ok(parts.into_iter().map(|steps| Volume::from_ul(steps * step.as_ul())).collect())
}

impl<'a> Key<'a> {
    /// What is poured into every glass, by rising code.
    pub fn pours(&self, step: Volume) -> Result<Vec<Pour<'a>>, StepError> {
        let pour = |glass: &'a Glass| {
            let amounts = amounts(self.trial.glass_volume(), &glass.shares, step)?;
            let served = self.trial.tasters().iter().flat_map(super::Taster::served);
            let times = served.filter(|(_, code)| *code == glass.code).count();
            Ok(Pour { glass, amounts, times })
        };
        self.glasses().iter().map(pour).collect()
    }

    /// What is drawn from each component for all glasses.
    #[must_use]
    pub fn samples(&self, pours: &[Pour<'_>]) -> Vec<Volume> {
        let drawn = |component: usize| -> Volume {
            let of_glass = |pour: &Pour<'_>| pour.amounts[component].as_ul() * pour.times as u64;
            Volume::from_ul(pours.iter().map(of_glass).sum())
        };
        (0..self.trial.components().len()).map(drawn).collect()
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn a_glass_is_poured_in_what_can_be_read() {
        let thirds = Shares::from_reals(&[1.0, 1.0, 1.0]).unwrap();
        let ml = |volumes: &[u64]| volumes.iter().map(|&ml| Volume::from_ml(ml)).collect::<Vec<_>>();
        assert_eq!(amounts(Volume::from_ml(50), &thirds, Volume::from_ml(1)), Ok(ml(&[17, 17, 16])));
        let error = amounts(Volume::from_ml(50), &thirds, Volume::from_ml(3)).unwrap_err().to_string();
        assert!(error.contains("no whole number of"), "{error}");
        assert!(amounts(Volume::from_ml(50), &thirds, Volume::ZERO).is_err());
    }

    proptest! {
        #[test]
        fn what_is_poured_sums_to_the_glass(parts in prop::collection::vec(1..1_000_000_u64, 1..11), steps in 1..500_u64) {
            let shares = Shares::in_proportion(&parts).unwrap();
            let step = Volume::from_ul(250);
            let glass = Volume::from_ul(250 * steps);
            let poured = amounts(glass, &shares, step).unwrap();
            prop_assert_eq!(poured.iter().copied().sum::<Volume>(), glass);
            for (amount, share) in poured.iter().zip(shares.fractions()) {
                prop_assert!((amount.as_ul() as f64 - share * glass.as_ul() as f64).abs() <= step.as_ul() as f64);
            }
        }
    }
}
