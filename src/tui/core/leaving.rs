//! Leaving the program: what would be lost by it is asked about once.

use crate::cellar::core::question::Question;
use crate::tui::core::asking;
use crate::tui::core::model::Model;

/// Leaves the program, once the person has said so again where something would be lost.
pub(in crate::tui) fn quit(model: &mut Model) {
    let lost: Vec<String> = model.house.unentered.iter().filter_map(|of| of(model)).collect();
    let question = (!lost.is_empty()).then(|| Question::Leaving { unentered: lost.join(" ") });
    model.finished = asking::may_go_on(model, question);
}
