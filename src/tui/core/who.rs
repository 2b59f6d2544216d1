//! Who entered what stands on a page, and with which note: the log knows it, the state does not.
//!
//! **Who ticked** is in no state: the page asks the desk for the facts behind its items (`Work::Who`).

use crate::cellar::core::fact::FactId;
use crate::tui::core::page::Turn;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::{Answer, Entered, Work};
use crate::tui::edge::screen::Effect;

/// Wishes to know who entered some facts, as far as that is not known.
pub(in crate::tui) fn wish(facts: Vec<FactId>, known: &[Entered]) -> Wishes {
    let unknown: Vec<FactId> = facts.into_iter().filter(|fact| !known.iter().any(|it| it.fact == *fact)).collect();
    if unknown.is_empty() { Vec::new() } else { vec![Effect::Work(Work::Who(unknown))] }
}

/// Takes in who entered some facts, if an answer tells that.
pub(in crate::tui) fn take(known: &mut Vec<Entered>, facts: &[FactId], answer: &Answer) -> Option<Turn> {
    let Answer::Who(entered) = answer else { return None };
    let told: Vec<Entered> = entered.iter().filter(|it| facts.contains(&it.fact)).cloned().collect();
    let is_asked = !told.is_empty();
    known.extend(told);
    is_asked.then(Turn::stay)
}
