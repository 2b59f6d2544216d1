//! What to draw for a sample of a lot: of each vessel in proportion to what it holds, so that the composite is what the lot would be if it were
//! mixed.

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::jobs::tests::sampling::Sampled;
use crate::units::{Volume, apportion, counted, exact_millilitres};

/// A plan of what to draw.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SamplePlan {
    /// The lot.
    pub lot: LotId,
    /// What is drawn of each vessel, in walking order; to the millilitre, and in all as much as was wanted.
    pub draws: Vec<(VesselId, Volume)>,
    /// The vessels of the lot that are held and left out.
    pub held: Vec<VesselId>,
}

impl State {
    /// Plans what to draw of a lot for so much sample; none where nothing of it lies in a vessel that is not held.
    #[must_use]
    pub fn plan_sample(&self, lot: LotId, of: Volume) -> Option<SamplePlan> {
        let is_held = |id: &VesselId| self.vessels.get(*id).held.is_some();
        let (held, vessels): (Vec<VesselId>, Vec<VesselId>) = self.vessels_of(lot).into_iter().partition(is_held);
        let weights: Vec<u64> = vessels.iter().map(|&id| self.vessels.get(id).volume().as_ul()).collect();
        let parts = apportion(of.as_ul() / 1_000, &weights)?;
        let draws = vessels.into_iter().zip(parts).map(|(id, part)| (id, Volume::from_ml(part)));
        let draws: Vec<(VesselId, Volume)> = draws.filter(|(_, volume)| !volume.is_zero()).collect();
        (!draws.is_empty()).then_some(SamplePlan { lot, draws, held })
    }
}

impl SamplePlan {
    /// How much is drawn in all, of how many vessels.
    #[must_use]
    pub fn words(&self) -> String {
        let all: Volume = self.draws.iter().map(|(_, volume)| *volume).sum();
        let vessels = counted(self.draws.len(), "vessel");
        format!("{} of {vessels}, in proportion to what each holds.", exact_millilitres(all))
    }

    /// Which vessels are held and left out, where any are.
    #[must_use]
    pub fn held_words(&self, state: &State) -> Option<String> {
        let held: Vec<&str> = self.held.iter().map(|&id| state.vessels.get(id).label.as_str()).collect();
        (!held.is_empty()).then(|| format!("Held, left out: {}.", held.join(", ")))
    }

    /// The facts that it was drawn as planned, under the label of a sample.
    #[must_use]
    pub fn drawn(&self, state: &State, sample: &Label) -> Vec<What> {
        let drawn = |&(id, volume): &(VesselId, Volume)| {
            let vessel = state.vessels.get(id).label.clone();
            What::Sampled(Box::new(Sampled { vessel, volume, sample: Some(sample.clone()), purpose: None }))
        };
        self.draws.iter().map(drawn).collect()
    }
}
