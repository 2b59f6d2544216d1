//! The batch of an agent is asked, then its chosen dose is given.

use ratatui::text::Line;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{LABEL_CHARACTERS, Label};
use crate::tui::core::asking::may_enter;
use crate::tui::core::line::Manner;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn};
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::units::weighed;

/// The line in which the batch is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Batch {
    trial: Label,
    text: String,
}

impl Table for Batch {
    const ABOUT: About = About {
        name: "Give the dose",
        purpose: "Takes the batch of the agent, if it has one; enter gives the chosen dose to the vessel.",
        opens: Opens::From("enter at the chosen glass of a fining trial opens it"),
    };
    const ROWS: &'static [Row<Batch>] = &[];
}

impl Batch {
    pub(super) fn new(trial: Label) -> Batch {
        Batch { trial, text: String::new() }
    }

    fn give(&self, model: &mut Model) -> Wishes {
        let batch = self.text.trim();
        let batch = if batch.is_empty() { Ok(None) } else { Label::new(batch).map(Some) };
        let Some(id) = model.state.finings.find(self.trial.as_str()) else { return Vec::new() };
        let vessel = model.state.finings.get(id).vessel;
        let planned = model.state.plan_fining(id, vessel).map_err(|refusal| refusal.to_string());
        match planned.and_then(|plan| Ok((plan, batch.map_err(|error| error.to_string())?))) {
            Ok((plan, batch)) => {
                let treated = plan.treated(&model.state, None, batch);
                let (amount, material) = (weighed(treated.amount), treated.material.clone());
                let say = format!(
                    "{} was given {amount} of {material}. u on the floor, or delete here, takes it back.",
                    treated.vessel
                );
                let whats = vec![What::Treated(Box::new(treated))];
                if may_enter(model, &whats) { model.enter(whats, say, Then::STAY) } else { Vec::new() }
            }
            Err(why) => model.refuse(why),
        }
    }
}

impl Page for Batch {
    fn title(&self, _model: &Model) -> String {
        Batch::ABOUT.name.to_owned()
    }

    fn is_over(&self) -> bool {
        true
    }

    /// It says where the dose was given already.
    fn asks(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        let trial = model.state.finings.by_label(self.trial.as_str());
        let given = trial.and_then(|trial| trial.followed_by(&model.state).last());
        let given = given.map_or_else(String::new, |done| format!("Given already {}! ", done.at.show_day()));
        vec![model.question_line(&format!(" {given}Batch of it, if it has one: "), &self.text, width)]
    }

    fn written(&self) -> Option<&str> {
        Some(&self.text)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.text)
    }

    fn manner(&self) -> Manner {
        Manner::ALONE.of(LABEL_CHARACTERS)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("give it".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(self.give(model).into())
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let is_there = model.state.finings.find(self.trial.as_str()).is_some();
        if is_there { Followed::There } else { Followed::Gone(format!("The trial {}", self.trial)) }
    }
}
