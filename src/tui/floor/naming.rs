//! What an unknown material is, asked before it is given on the screen: a letter answers, and it is declared in the same act.

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::tests::material::MaterialDeclared;
use crate::desk::Act;
use crate::reckon::material::Class;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::Turn;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::floor::despite::{self, Barred};
use crate::tui::floor::words::Words;
use crate::units::parse_decimal;

/// What answers.
const LETTERS: &str = "Say it with a letter: s and its % of sulfur dioxide (s 57.6), f a fining agent, a an acid, \
                       d deacidifying, n a nutrient, t a tannin, o something else.";

/// Wishes that an act be stored; where nobody said what it adds, that is asked first.
pub(in crate::tui) fn enter(model: &mut Model, act: Act, say: String, then: Then) -> Wishes {
    let Some(material) = unnamed(&model.state, &act.whats) else { return despite::enter(model, act, say, then) };
    model.say(format!("Nobody said yet what '{material}' is. {LETTERS}"), Tone::Notice);
    model.open(Words::naming(&material, Barred { act, say, then }));
    Vec::new()
}

/// The material of some additions of which nobody said what it is.
fn unnamed(state: &State, whats: &[What]) -> Option<Label> {
    let material = |what: &What| match what {
        What::Treated(treated) => Some(treated.material.clone()).filter(|material| state.is_unnamed(material)),
        _ => None,
    };
    whats.iter().find_map(material)
}

/// It is said what the material is: it is declared, and the act stored with that.
pub(super) fn give(model: &mut Model, words: &Words, waits: &Barred) -> Turn {
    let declared = match answer(&model.state, &words.vessel, words.text.trim()) {
        Ok(declared) => declared,
        Err(why) => {
            return model.refuse(why).into();
        }
    };
    let Barred { mut act, say, then } = waits.clone();
    if let Some(declared) = declared {
        act.whats.insert(0, What::MaterialDeclared(Box::new(declared)));
    }
    Turn::back().wishing(despite::enter(model, act, say, then))
}

/// What a letter, or a class, says of a material; behind sulfur dioxide how much of it the material gives, in %.
fn answer(state: &State, material: &Label, text: &str) -> Result<Option<MaterialDeclared>, String> {
    let (word, number) = text.split_once(' ').unwrap_or((text, ""));
    let is_it = |class: &Class| !word.is_empty() && class.word().starts_with(&word.to_lowercase());
    let class = Class::ALL.into_iter().find(is_it);
    let class = class.ok_or_else(|| format!("{LETTERS} esc leaves it."))?;
    let number = number.trim().trim_end_matches('%').trim_end();
    let so2_pct =
        if number.is_empty() { None } else { Some(parse_decimal(number).map_err(|error| error.to_string())?) };
    if class == Class::SulfurDioxide && so2_pct.is_none() {
        return Err("Say how much sulfur dioxide it gives, in % of its mass, as its label says: s 57.6".to_owned());
    }
    state.material_answer(material, class, so2_pct).map_err(|refusal| refusal.to_string())
}
