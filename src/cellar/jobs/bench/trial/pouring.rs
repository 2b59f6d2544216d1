//! Pouring: how much of which wine comes into which glass, in steps that a cylinder or a pipette can read, and how much is
//! drawn for it.

use super::{Glass, Key};
use crate::reckon::mixture::{Draw, PourError, USUAL_SPARE, amounts, draws};
use crate::units::Volume;

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

impl<'a> Key<'a> {
    /// What is poured into every glass, by rising code.
    pub fn pours(&self, step: Volume) -> Result<Vec<Pour<'a>>, PourError> {
        let pour = |glass: &'a Glass| {
            let amounts = amounts(self.trial.glass_volume(), &glass.shares, step)?;
            let served = self.trial.tasters().iter().flat_map(super::Taster::served);
            let times = served.filter(|(_, code)| *code == glass.code).count();
            Ok(Pour { glass, amounts, times })
        };
        self.glasses().iter().map(pour).collect()
    }

    /// What is drawn from each component for all glasses, with what is spare.
    pub fn samples(&self, pours: &[Pour<'_>]) -> Result<Vec<Draw>, PourError> {
        draws(pours.iter().map(|pour| (pour.amounts.as_slice(), pour.times as u64)), USUAL_SPARE)
    }
}
