//! Who entered what stands on a page, and with which note: the log knows it, the state does not.

use crate::cellar::fact::FactId;
use crate::tui::model::{Mode, Model};
use crate::tui::screen::Effect;
use crate::tui::update::Wishes;
use crate::tui::work::{Entered, Work};
use crate::tui::{bottling, checklist, discrepancies};

/// Wishes to know who entered what stands on the page, where that was not looked up yet.
pub(super) fn ask(model: &Model) -> Wishes {
    let (facts, known) = match &model.mode {
        Mode::Checklist(page) => (checklist::facts(model, page), &page.who),
        Mode::Run(page) => (bottling::run_facts(model, page), &page.who),
        Mode::Discrepancies(page) => (discrepancies::facts(&model.state), &page.who),
        _ => return Vec::new(),
    };
    let unknown: Vec<FactId> = facts.into_iter().filter(|fact| !known.iter().any(|it| it.fact == *fact)).collect();
    if unknown.is_empty() { Vec::new() } else { vec![Effect::Work(Work::Who(unknown))] }
}

/// Takes in who entered what.
pub(super) fn told(model: &mut Model, entered: Vec<Entered>) {
    match &mut model.mode {
        Mode::Checklist(page) => page.who.extend(entered),
        Mode::Run(page) => page.who.extend(entered),
        Mode::Discrepancies(page) => page.who.extend(entered),
        _ => {}
    }
}
