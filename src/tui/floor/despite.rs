//! What a hold bars can still be done on the screen, for a reason: a line asks for it, and it is kept with what was done.

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;
use crate::desk::Act;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::Turn;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Work;
use crate::tui::edge::screen::Effect;
use crate::tui::floor::words::Words;

/// An act that waits for the reason for which it is done despite a hold.
#[derive(Clone, Debug, PartialEq)]
pub struct Barred {
    pub(super) act: Act,
    pub(super) say: String,
    pub(super) then: Then,
}

/// Wishes that an act be stored; where a hold bars it, the reason is asked for first.
pub(in crate::tui) fn enter(model: &mut Model, act: Act, say: String, then: Then) -> Wishes {
    let barred = if act.despite.is_some() { None } else { barred(&model.state, &act.whats) };
    let Some((vessel, refusal)) = barred else {
        return vec![Effect::Work(Work::Enter { act, say, then })];
    };
    model.say(refusal.to_string(), Tone::Notice);
    model.open(Words::despite(&vessel, Barred { act, say, then }));
    Vec::new()
}

/// What bars some facts, if something does, and the vessel that it is about.
fn barred(state: &State, whats: &[What]) -> Option<(Label, Refusal)> {
    let barred = |what: &What| {
        let refusal = what.deed().barred(state)?;
        let held = if let Refusal::HeldBack { vessel, .. } = &refusal { Some(vessel) } else { what.deed().subject() };
        Some((held?.clone(), refusal))
    };
    whats.iter().find_map(barred)
}

/// The reason is given, and the act is stored with it.
pub(super) fn give(model: &mut Model, words: &Words, barred: &Barred) -> Turn {
    let reason = words.text.trim();
    if reason.is_empty() {
        return model.refuse("Say in a few words why it is done all the same, or press esc to leave it.").into();
    }
    match Text::new(reason) {
        Ok(reason) => {
            let Barred { act, say, then } = barred.clone();
            let act = Act { despite: Some(reason), ..act };
            Turn::back().wishing(vec![Effect::Work(Work::Enter { act, say, then })])
        }
        Err(error) => model.refuse(error.to_string()).into(),
    }
}
