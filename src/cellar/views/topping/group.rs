//! The groups of a round: which barrels are walked before which, so that nothing is carried from one into another that
//! it could harm.

use rustc_hash::FxHashMap;

use crate::cellar::core::state::{LotId, State, Vessel, VesselId};

/// Which part of a round a barrel belongs to, in the order in which they are walked: organic before the rest, and of
/// each clean before suspect (common practice).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    /// Certified organic and clean.
    Organic,
    /// Certified organic, but suspect by its last taste or its tests.
    OrganicSuspect,
    /// Not certified, clean.
    Clean,
    /// Not certified, and suspect by its last taste or its tests.
    Suspect,
}

impl Group {
    fn of(organic: bool, suspect: bool) -> Group {
        match (organic, suspect) {
            (true, false) => Group::Organic,
            (true, true) => Group::OrganicSuspect,
            (false, false) => Group::Clean,
            (false, true) => Group::Suspect,
        }
    }

    /// The words for it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Group::Organic => "organic",
            Group::OrganicSuspect => "organic suspect",
            Group::Clean => "clean",
            Group::Suspect => "suspect",
        }
    }
}

/// Which lots of some barrels are organic: those all of whose wine in these barrels is.
pub(in crate::cellar) struct Grouping<'a> {
    state: &'a State,
    organic: FxHashMap<Option<LotId>, bool>,
}

impl Grouping<'_> {
    /// The group of a barrel; one of a lot that is not among the barrels goes by its own wine.
    pub(in crate::cellar) fn of(&self, vessel: &Vessel) -> Group {
        let organic = self.organic.get(&vessel.lot).copied();
        Group::of(organic.unwrap_or_else(|| self.state.is_organic(&vessel.wine)), self.state.is_suspect(vessel))
    }
}

impl State {
    /// Looks at some barrels, so that each can be given its group.
    pub(in crate::cellar) fn grouping(&self, barrels: impl Iterator<Item = VesselId>) -> Grouping<'_> {
        let mut organic = FxHashMap::default();
        for vessel in barrels.map(|id| self.vessels.get(id)) {
            let so_far = organic.entry(vessel.lot).or_insert(true);
            *so_far = *so_far && self.is_organic(&vessel.wine);
        }
        Grouping { state: self, organic }
    }
}
