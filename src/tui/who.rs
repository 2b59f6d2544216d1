//! Who entered what stands on a page, and with which note: the log knows it, the state does not.

use crate::cellar::fact::FactId;
use crate::tui::core::page::Turn;
use crate::tui::discrepancies;
use crate::tui::model::{Mode, Model};
use crate::tui::screen::Effect;
use crate::tui::update::Wishes;
use crate::tui::work::{Answer, Entered, Work};

/// Wishes to know who entered what stands on the page, where that was not looked up yet.
pub(super) fn ask(model: &Model) -> Wishes {
    let (facts, known) = match &model.mode {
        Mode::Discrepancies(page) => (discrepancies::facts(&model.state), &page.who),
        _ => return Vec::new(),
    };
    wish(facts, known)
}

/// Wishes to know who entered some facts, as far as that is not known.
pub(super) fn wish(facts: Vec<FactId>, known: &[Entered]) -> Wishes {
    let unknown: Vec<FactId> = facts.into_iter().filter(|fact| !known.iter().any(|it| it.fact == *fact)).collect();
    if unknown.is_empty() { Vec::new() } else { vec![Effect::Work(Work::Who(unknown))] }
}

/// Takes in who entered some facts, if an answer tells that.
pub(super) fn take(known: &mut Vec<Entered>, facts: &[FactId], answer: &Answer) -> Option<Turn> {
    let Answer::Who(entered) = answer else { return None };
    let told: Vec<Entered> = entered.iter().filter(|it| facts.contains(&it.fact)).cloned().collect();
    let is_asked = !told.is_empty();
    known.extend(told);
    is_asked.then(Turn::stay)
}

/// Takes in who entered what.
pub(super) fn told(model: &mut Model, entered: Vec<Entered>) {
    match &mut model.mode {
        Mode::Discrepancies(page) => page.who.extend(entered),
        _ => {}
    }
}
