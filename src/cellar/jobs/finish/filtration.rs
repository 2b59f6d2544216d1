//! Filtration: wine that went through a filter, what that cost, and how turbid it was before and after.
//!
//! It is a move of wine ([`crate::cellar::jobs::wood::moving`]); what is kept here is what a person asks of it later.
//!
//! **A filtration's turbidity** (`cellar/jobs/finish/filtration.rs`) is the last test of the source's fill before, and the first of the
//! target's fill after. The second is put in when that test is folded, since an emptied vessel forgets its tests.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::cellar::core::label::Text;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::jobs::tests::testing::{Analyte, Readings};
use crate::units::Volume;

/// A filtration, as the cellar remembers it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Filtration {
    /// When.
    pub at: Moment,
    /// The vessel that the wine left.
    pub from: VesselId,
    /// The vessel that it came into.
    pub to: VesselId,
    /// The lot that it is there.
    pub lot: Option<LotId>,
    /// What arrived.
    pub moved: Volume,
    /// What was lost: lees, what stayed in filter and hoses, and what was left behind where nothing was.
    pub lost: Volume,
    /// The medium and its grade.
    pub filter: Option<Text>,
    /// How turbid the wine was when it was last tested before.
    pub before: Option<Turbidity>,
    /// How turbid it was at its first test afterwards, while it still lay where it came to.
    pub after: Option<Turbidity>,
}

/// A test of turbidity.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Turbidity {
    /// What was found, NTU.
    pub ntu: f64,
    /// When.
    pub at: Moment,
}

impl Filtration {
    /// What was lost as a share of what left the source; none where nothing did.
    #[must_use]
    pub fn lost_share(&self) -> Option<f64> {
        share_of(self.lost, self.moved)
    }
}

/// What was lost as a share of that and what arrived.
pub(in crate::cellar) fn share_of(lost: Volume, moved: Volume) -> Option<f64> {
    let left = moved + lost;
    (!left.is_zero()).then(|| lost.as_litres() / left.as_litres())
}

impl State {
    /// How turbid a vessel's present wine was when it was last tested.
    #[must_use]
    pub fn turbidity_of(&self, vessel: VesselId) -> Option<Turbidity> {
        self.last_reading(vessel, Analyte::Turbidity).map(|(ntu, test)| Turbidity { ntu, at: test.at })
    }

    /// The filtrations whose wine became a lot, in their order.
    pub fn filtrations_of(&self, lot: LotId) -> impl Iterator<Item = &Filtration> {
        self.filtrations.iter().filter(move |filtration| filtration.lot == Some(lot))
    }

    /// Remembers a filtration.
    pub(in crate::cellar) fn remember_filtration(&mut self, filtration: Filtration) {
        Arc::make_mut(&mut self.filtrations).push(filtration);
    }

    /// A test of a vessel is the first of what was filtered into its present wine, where that was not tested yet.
    pub(in crate::cellar) fn tested_after_filtration(&mut self, vessel: VesselId, readings: &Readings, at: Moment) {
        let Some(ntu) = readings.of(Analyte::Turbidity) else { return };
        let Some(filled) = self.vessels.get(vessel).filled else { return };
        let since = |filtration: &Filtration| filtration.at.instant() >= filled.instant();
        let waits = |filtration: &Filtration| filtration.to == vessel && filtration.after.is_none();
        let of_this_fill = self.filtrations.len() - self.filtrations.iter().rev().take_while(|it| since(it)).count();
        if !self.filtrations[of_this_fill..].iter().any(waits) {
            return;
        }
        for filtration in Arc::make_mut(&mut self.filtrations)[of_this_fill..].iter_mut().filter(|it| waits(it)) {
            filtration.after = Some(Turbidity { ntu, at });
        }
    }
}
