//! Which agent is tried in a vessel's wine.

use ratatui::text::Line;

use super::{FiningPage, sheet};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::VesselId;
use crate::cellar::jobs::finish::fining::FiningTried;
use crate::told::usual;
use crate::tui::core::choice::{self, Choice};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn};

/// The choice of an agent to try in a vessel's wine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AgentChoice {
    /// The vessel.
    pub vessel: Label,
    /// Which agent is chosen.
    pub chosen: Choice<Label>,
}

impl Table for AgentChoice {
    const ABOUT: About = About {
        name: "An agent to try",
        purpose: "The agents that can be tried in a wine, with their usual doses where such are published. Enter opens a trial of the chosen \
                  one; nothing is written down before its first line.",
        opens: Opens::From("at a tank, d on the floor lists it"),
    };
    const ROWS: &'static [Row<AgentChoice>] = &[];
}

impl AgentChoice {
    /// The page of a trial of the chosen agent.
    fn trial(&self, model: &mut Model) -> Option<FiningPage> {
        let agents = model.state.fining_agents();
        let Some(material) = self.chosen.there(&agents).cloned() else {
            let gone = self.chosen.thing().map_or("What was chosen", Label::as_str);
            model.say(choice::gone(gone), Tone::Refused);
            return None;
        };
        let is_taken = |label: &str| model.state.finings.find(label).is_some();
        let Some(trial) = Label::dated(&format!("{material} {}", self.vessel), model.now, is_taken) else {
            model.say("Too many trials of this agent were begun today to name another one.", Tone::Refused);
            return None;
        };
        // A house that has tried the agent makes its stock the same way again.
        let before = model.state.finings.iter().rfind(|(_, known)| known.material == material);
        let stock_pct = before.map_or(usual::FINING_STOCK_PCT, |(_, known)| known.stock_pct);
        let vessel = self.vessel.clone();
        Some(FiningPage::of(FiningTried { trial, vessel, material, stock_pct, glasses: Vec::new(), chosen_g_l: None }))
    }
}

impl Page for AgentChoice {
    fn title(&self, _model: &Model) -> String {
        format!("Try which agent in the wine of {}?", self.vessel)
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        sheet::agents(model, self, width, height)
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        self.chosen.go(model, &model.state.fining_agents(), go);
        Turn::stay()
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("try it".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        let Some(page) = self.trial(model) else { return Some(Turn::stay()) };
        model.open(page);
        Some(Turn::back())
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        if model.state.vessels.find(self.vessel.as_str()).is_none() {
            return Followed::Gone(self.vessel.to_string());
        }
        self.chosen.follow(&model.state.fining_agents(), ToString::to_string)
    }
}

/// Asks which agent is tried in a vessel's wine.
pub(in crate::tui) fn choose_agent(model: &mut Model, vessel: VesselId) {
    let vessel = model.state.vessels.get(vessel).label.clone();
    let chosen = Choice::first(&model.state.fining_agents());
    model.open(AgentChoice { vessel, chosen });
}
