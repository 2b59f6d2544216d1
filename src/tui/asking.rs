//! What is asked once before it is entered: the same key again says that it is so.

use crate::cellar::claims::Broken;
use crate::cellar::fact::What;
use crate::cellar::label::Label;
use crate::cellar::moving::Purpose;
use crate::cellar::question::Question;
use crate::tui::model::{Model, Tone};

/// Whether what a key would do may be done: nothing is to be asked, or it was asked before and the same key came again. Else
/// it is asked now.
pub(super) fn may_go_on(model: &mut Model, question: Option<String>) -> bool {
    let Some(question) = question.filter(|question| !model.asked.contains(question)) else { return true };
    model.say(question.clone(), Tone::Notice);
    model.asked.push(question);
    false
}

/// A question as it is asked.
pub(super) fn once_more(question: &Question) -> String {
    format!("{question} Press the same key again to confirm.")
}

/// Whether facts may be entered: nothing about them is to be asked, or all of it was asked before and the same key came again.
/// Else all of it is asked now: the first in words, of more the count, so that it is read whole.
pub(super) fn may_enter(model: &mut Model, whats: &[What]) -> bool {
    let questions = model.state.questions(whats, model.now);
    may_after(model, whats, &questions)
}

/// The same but for the claims that facts cost, which are asked about in another way.
pub(super) fn may_enter_whatever_it_costs(model: &mut Model, whats: &[What]) -> bool {
    let mut questions = model.state.questions(whats, model.now);
    questions.retain(|question| !matches!(question, Question::ClaimLost { .. }));
    may_after(model, whats, &questions)
}

fn may_after(model: &mut Model, whats: &[What], questions: &[Question]) -> bool {
    let deed = deed(whats);
    // What was done is part of what was asked: the same question about other barrels is another one.
    let key = |question: &Question| format!("{deed}: {question}");
    let new: Vec<&Question> = questions.iter().filter(|question| !model.asked.contains(&key(question))).collect();
    let Some(first) = new.first() else { return true };
    let said = if matches!(first, Question::ClaimLost { .. }) { key(first) } else { first.to_string() };
    let more = if new.len() == 1 { String::new() } else { format!(" And {} more.", new.len() - 1) };
    let keys: Vec<String> = new.iter().map(|question| key(question)).collect();
    model.say(format!("{said}{more} Press the same key again to confirm."), Tone::Notice);
    model.asked.extend(keys);
    false
}

/// Asks what came up where an act was to be stored: the first in words, of more the count. The same key again says that it is
/// so.
pub(super) fn ask(model: &mut Model, questions: Vec<String>) {
    let new: Vec<String> = questions.into_iter().filter(|question| !model.asked.contains(question)).collect();
    let Some(first) = new.first() else { return };
    let more = if new.len() == 1 { String::new() } else { format!(" And {} more.", new.len() - 1) };
    model.say(format!("{first}{more} Press the same key again to confirm."), Tone::Notice);
    model.asked.extend(new);
}

/// The question before an improbable measure is taken.
pub(super) fn improbable(measured: &str, at: &Label, expected: &str) -> String {
    format!("{measured} at {at}, where {expected} is expected? Enter again if it is so, esc clears it.")
}

/// The question before some facts cost a lot a claim that it holds; none where they cost none. It names the vessels, so that
/// the same question is about the same facts.
pub(super) fn claims_lost(model: &Model, whats: &[What]) -> Option<String> {
    let broken = model.state.broken_by(whats, model.now, model.state.practice.rules);
    let first = broken.first()?;
    let others = match broken.len() - 1 {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    Some(format!("{} would cost {}. The same key again if it is so.", deed(whats), lost(first) + &others))
}

/// A claim that is lost, in words.
pub(super) fn lost(broken: &Broken) -> String {
    format!("{} the claim to {}", broken.lot, broken.words())
}

/// What is done to which vessels: `Topping 0418`, `Racking these 4`, `Blending into T4`.
fn deed(whats: &[What]) -> String {
    let (doing, vessel) = match whats.first() {
        Some(What::WineMoved(moved)) if moved.purpose == Purpose::Blend => {
            return format!("Blending into {}", moved.to);
        }
        Some(What::SourceChanged(changed)) => return format!("Topping from {}", changed.from),
        Some(What::RoundBegun(_)) => return "The round".to_owned(),
        Some(What::Treated(treated)) => ("Adding to", &treated.vessel),
        Some(What::Topped(topped)) => ("Topping", &topped.vessel),
        Some(What::WineMoved(moved)) if moved.empties => ("Racking", &moved.from),
        Some(What::WineMoved(moved)) => ("Filling", &moved.to),
        _ => return "This".to_owned(),
    };
    if whats.len() == 1 { format!("{doing} {vessel}") } else { format!("{doing} these {}", whats.len()) }
}
