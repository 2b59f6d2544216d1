//! What is asked once before it is entered: the same key again says that it is so.
//!
//! **What is asked once** (`tui/core/asking.rs`) stands in `Model::asked` until another key comes: the same words are never asked twice in
//! between.

use std::fmt;

use crate::cellar::core::fact::What;
use crate::cellar::core::question::Question;
use crate::cellar::jobs::wood::moving::Purpose;
use crate::tui::core::model::{Model, Tone};

/// Whether what a key would do may be done: nothing is to be asked, or all of it was asked before and the same key came again.
/// Else it is asked now.
pub(in crate::tui) fn may_go_on(model: &mut Model, questions: impl IntoIterator<Item = Question>) -> bool {
    ask(model, questions.into_iter().collect())
}

/// Whether facts may be entered: nothing about them is to be asked, or all of it was asked before.
pub(in crate::tui) fn may_enter(model: &mut Model, whats: &[What]) -> bool {
    let questions = model.state.questions(whats, model.now);
    may_do(model, whats, questions)
}

/// Whether facts may be entered that some questions are about. What is done is part of what is asked: the same question about
/// other barrels is another one. Of a claim it is said.
pub(in crate::tui) fn may_do(model: &mut Model, whats: &[What], questions: Vec<Question>) -> bool {
    let deed = deed(whats);
    let asked = questions.into_iter().map(|question| Asked { deed: Some(deed.clone()), question });
    all_answered(model, asked.collect())
}

/// The same of questions that are asked whatever is done, as the desk gives them.
pub(in crate::tui) fn ask(model: &mut Model, questions: Vec<Question>) -> bool {
    all_answered(model, questions.into_iter().map(Asked::from).collect())
}

/// Whether each question was asked before. Else those that were not are asked now: the first in words, of more the count, so that
/// it is read whole.
fn all_answered(model: &mut Model, questions: Vec<Asked>) -> bool {
    let new: Vec<Asked> = questions.into_iter().filter(|asked| !model.asked.contains(asked)).collect();
    let Some(first) = new.first() else { return true };
    let more = match new.len() {
        1 => String::new(),
        all => format!(" And {} more.", all - 1),
    };
    model.say(once_more(&format!("{first}{more}")), Tone::Notice);
    model.asked.extend(new);
    false
}

/// What was asked, and of which deed where that is part of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Asked {
    deed: Option<String>,
    /// The question.
    pub question: Question,
}

impl From<Question> for Asked {
    fn from(question: Question) -> Asked {
        Asked { deed: None, question }
    }
}

impl fmt::Display for Asked {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (&self.deed, &self.question) {
            (Some(deed), Question::ClaimLost { .. }) => write!(f, "{deed}: {}", self.question),
            (_, question) => write!(f, "{question}"),
        }
    }
}

impl Model {
    /// The questions that the same key answers, whatever they were asked about.
    pub(in crate::tui) fn answered(&self) -> Vec<Question> {
        self.asked.iter().map(|asked| asked.question.clone()).collect()
    }
}

/// What is asked, with what answers it.
pub(in crate::tui) fn once_more(question: &str) -> String {
    format!("{question} Press the same key again to confirm.")
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
