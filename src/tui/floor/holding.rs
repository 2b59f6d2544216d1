//! A hold that is offered: a barrel was tasted and a fault was named.

use ratatui::text::Line;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::state::State;
use crate::cellar::jobs::floor::holding::Held;
use crate::cellar::jobs::tests::tasting::Tasted;
use crate::tui::core::message::signed_lines;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Opens, Page, Row, Table, Turn};
use crate::tui::core::sense::Sense;
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::units::by_count;

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
        let it = by_count(self.holds.len(), "it", "them");
        format!("A fault: {}. Hold {it}?", named.join("; "))
    }
}

impl Table for Offer {
    const ABOUT: About = About {
        name: "A hold that is offered",
        purpose: "A fault was tasted: enter holds what it was tasted in, with the fault as the reason, so that it stays out of the work \
                  until it is freed. esc leaves it as it is.",
        opens: Opens::From("it is offered where a barrel is said to be suspect"),
    };
    const ROWS: &'static [Row<Offer>] = &[Row::new(
        Sense::Hold,
        "Hold it",
        "Holds what was tasted with a fault, with the fault as the reason.",
        |page, model| hold_offered(model, page).into(),
    )];
}

impl Page for Offer {
    fn title(&self, _model: &Model) -> String {
        self.question()
    }

    fn is_over(&self) -> bool {
        true
    }

    /// It is asked above the keys, and has no box.
    fn asks(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        signed_lines(model, model.looks.marks.warning, &self.question(), Meaning::Warning, width)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("hold".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(hold_offered(model, self).into())
    }
}

/// Holds what was offered.
fn hold_offered(model: &Model, offer: &Offer) -> Wishes {
    let held = |(vessel, why): &(Label, Text)| What::Held(Held { vessel: vessel.clone(), why: why.clone() });
    let named: Vec<String> = offer.holds.iter().map(|(vessel, why)| format!("{vessel} held: {why}.")).collect();
    model.enter(offer.holds.iter().map(held).collect(), named.join(" "), Then::STAY)
}
