//! A hold that is offered: a barrel was tasted and a fault was named.

use crate::cellar::fact::What;
use crate::cellar::holding::Held;
use crate::cellar::label::{Label, Text};
use crate::cellar::state::State;
use crate::cellar::tasting::Tasted;
use crate::tui::model::Model;
use crate::tui::update::Wishes;
use crate::tui::work::Then;

/// Barrels that should perhaps be held, each with why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Offer {
    /// Barrel and fault.
    pub holds: Vec<(Label, Text)>,
}

impl Offer {
    /// What tastes make worth offering: their faults, of vessels that are not held already.
    #[must_use]
    pub fn after<'a>(tastes: impl Iterator<Item = &'a Tasted>, state: &State) -> Option<Offer> {
        let hold = |taste: &Tasted| {
            let faults = state.faults_among(taste.marks.as_deref()?);
            let names: Vec<&str> = faults.iter().map(|fault| fault.mark.as_str()).collect();
            let held = state.vessels.by_label(taste.vessel.as_str())?.held.is_some();
            let why = Text::new(&names.join(", ")).ok()?;
            (!names.is_empty() && !held).then(|| (taste.vessel.clone(), why))
        };
        let holds: Vec<_> = tastes.filter_map(hold).collect();
        (!holds.is_empty()).then_some(Offer { holds })
    }

    /// What is asked.
    #[must_use]
    pub fn question(&self) -> String {
        let named: Vec<String> = self.holds.iter().map(|(vessel, why)| format!("{vessel} {why}")).collect();
        let it = if self.holds.len() == 1 { "it" } else { "them" };
        format!("A fault: {}. Hold {it}?", named.join("; "))
    }
}

/// Holds what was offered.
pub(super) fn hold_offered(model: &Model, offer: &Offer) -> Wishes {
    let held = |(vessel, why): &(Label, Text)| What::Held(Held { vessel: vessel.clone(), why: why.clone() });
    let named: Vec<String> = offer.holds.iter().map(|(vessel, why)| format!("{vessel} held: {why}.")).collect();
    model.enter(offer.holds.iter().map(held).collect(), named.join(" "), Then::Stay)
}
