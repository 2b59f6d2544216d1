//! Lapsing: what people said of a wine counts for the wine as it was then, and no longer once it is another one.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::checking::Said;
use super::item::{Item, TradeItem};
use crate::cellar::fact::Stamp;
use crate::cellar::moment::Moment;
use crate::cellar::state::{LotId, State};

/// What happens to the wine of a lot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Change {
    /// It went into another vessel: the same wine, but with other air.
    Moved,
    /// It went through a filter.
    Filtered,
    /// Something was added to it.
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
            Change::Treated => "treated",
            Change::Blended => "blended",
        }
    }
}

/// Why what was said of an item counts no longer.
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

impl State {
    /// Lets lapse what was said of the wine of a lot, to which something happened.
    pub(in crate::cellar) fn wine_changed(&mut self, lot: Option<LotId>, stamp: &Stamp, by: Change) {
        let Some(lot) = lot else { return };
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
