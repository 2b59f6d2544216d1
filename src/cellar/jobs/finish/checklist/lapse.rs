//! Lapsing: what people said and what tests found of a wine counts for the wine as it was then, and no longer once it is
//! another one.
//!
//! **A tick and a waiver lapse with the wine** (`checklist/lapse.rs`): they say something of the wine as it was. An addition, a filtration
//! or other wine that comes to the lot (a topping from another lot too) ends them, small or large: nobody knows what size makes no
//! difference. A racking within the lot ends only what air changes (turbidity, oxygen, molecular SO2). What is said of the label, of dry
//! goods and of holds stands; an item of the house may be of the wine, and lapses. The alcohol on the label is kept, since the label did
//! not change: tests answer to it anew. The lapse is marked in the fold, so that undo and late facts need no rule.
//!
//! **A test answers for the wine as it was** by the same changes, kept with the vessel and carried along by a move: whatever is done to the
//! wine outdates oxygen and free SO2, all but an addition of SO2 its turbidity; all else that is dissolved in it is outdated only by other
//! wine and by additions that are neither SO2 nor a fining agent, or that bring more than a hundredth of water. SO2 added since counts to
//! the total instead. A sample is of the moment when it was drawn. Ticks know no such shades; tastes stand for the fill.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::checking::Said;
use super::item::{Item, TradeItem};
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, Vessel, VesselId};
use crate::cellar::jobs::tests::testing::Analyte;

/// What happens to a wine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Change {
    /// It went into another vessel: the same wine, but with other air.
    Moved,
    /// It went through a filter.
    Filtered,
    /// Sulfur dioxide was added to it.
    Sulfured,
    /// A fining agent was added to it.
    Fined,
    /// Something else was added to it, or more water with it than a hundredth.
    Treated,
    /// Other wine came to it.
    Blended,
}

impl Change {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Change::Moved => "moved",
            Change::Filtered => "filtered",
            Change::Sulfured => "sulfured",
            Change::Fined => "fined",
            Change::Treated => "treated",
            Change::Blended => "blended",
        }
    }

    /// Whether a test made before tells no longer of the wine. Any handling changes its air and with it the free sulfur
    /// dioxide; what is dissolved in it else is changed by other wine and by what is added, but by a fining agent and by
    /// sulfur dioxide so little that nobody tests again for it (common practice). The sulfur dioxide added since counts to
    /// the total.
    const fn outdates(self, analyte: Analyte) -> bool {
        match analyte {
            Analyte::Oxygen | Analyte::FreeSo2 => true,
            Analyte::Turbidity => !matches!(self, Change::Sulfured),
            _ => matches!(self, Change::Treated | Change::Blended),
        }
    }
}

/// Why what was said or found counts no longer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lapse {
    /// What happened to the wine.
    pub by: Change,
    /// When.
    pub at: Moment,
}

impl Item {
    /// Whether what was said of it counts no longer once this happened to the wine. A word on paper and dry goods, or on a
    /// hold, stands whatever becomes of the wine; what a move changes falls with every move. An item of the house may be of
    /// the wine, so it is asked again.
    fn lapses_by(&self, change: Change) -> bool {
        match self {
            Item::Trade(TradeItem::Holds | TradeItem::Label | TradeItem::DryGoods) => false,
            Item::Trade(TradeItem::Turbidity | TradeItem::Oxygen | TradeItem::MolecularSulfur) => true,
            Item::Trade(_) | Item::House(_) => change != Change::Moved,
        }
    }
}

impl Vessel {
    /// Remembers what happened to its wine, the last of each kind.
    fn remember_change(&mut self, change: Lapse) {
        match self.changes.iter_mut().find(|known| known.by == change.by) {
            Some(known) if known.at.instant() < change.at.instant() => *known = change,
            Some(_) => {}
            None => self.changes.push(change),
        }
    }

    /// Remembers what happened to a wine before it was poured in.
    pub(in crate::cellar) fn inherit_changes(&mut self, changes: &[Lapse]) {
        for &change in changes {
            self.remember_change(change);
        }
    }

    /// The last thing that happened to its wine after which a kind of test is to be made again.
    pub(super) fn last_outdating(&self, analyte: Analyte) -> Option<Lapse> {
        let outdating = self.changes.iter().filter(|change| change.by.outdates(analyte));
        outdating.max_by_key(|change| change.at.instant()).copied()
    }
}

impl State {
    /// Something happened to the wine of a vessel: what was said of its lot lapses, tests of it before are outdated.
    pub(in crate::cellar) fn wine_changed(&mut self, id: VesselId, stamp: &Stamp, by: Change) {
        let vessel = self.vessels.get_mut(id);
        vessel.remember_change(Lapse { by, at: stamp.at });
        let Some(lot) = vessel.lot else { return };
        let lapses = |said: &Said| said.lapsed.is_none() && said.item.lapses_by(by);
        // Of most lots nothing was said: they are not copied for it.
        if !self.lots.get(lot).checks.iter().any(lapses) {
            return;
        }
        let checks = Arc::make_mut(&mut self.lots.get_mut(lot).checks);
        for said in checks.iter_mut().filter(|said| lapses(said)) {
            said.lapsed = Some(Lapse { by, at: stamp.at });
        }
    }
}
