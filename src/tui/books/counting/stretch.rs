//! A count by rack, stack and row: one key says that all that is left there is as it should be, or holds what is typed.

use std::ops::Range;

use super::{CountPage, Spot, begun};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::books::counting::Found;
use crate::cellar::jobs::books::counting::booking::Line;
use crate::cellar::jobs::books::counting::keeping::ThingCounted;
use crate::tui::core::cursor::Cursor;
use crate::tui::core::model::Model;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::units::by_count;

/// So many vessels that are left to be measured are named.
const NAMED: usize = 4;

/// Which slots a key counts, and what they are called.
pub(super) type Slots = (fn(&State, Cursor) -> Option<Range<usize>>, &'static str);

/// Counts what is left of the rack, the stack or the row of the chosen vessel: as it should be, or as it is typed.
pub(super) fn count_stretch(page: &CountPage, model: &mut Model, (slots, what): Slots) -> Wishes {
    let Some((vessel, lying)) = lying_with(&model.state, page, slots) else {
        let why = "What is chosen lies in no rack: count it by itself, or choose a barrel that lies in one.";
        return model.refuse(why);
    };
    let left: Vec<VesselId> = lying.into_iter().filter(|id| page.is_open(&model.state, &Line::Vessel(*id))).collect();
    if left.is_empty() {
        return model.refuse(format!("All of this {what} is counted. n goes on to what is not."));
    }
    let (counted, to_measure) = match told(&model.state, page, &left) {
        Ok(told) => told,
        Err(why) => return model.refuse(&why),
    };
    if counted.is_empty() {
        return model.refuse(measure_words(&to_measure));
    }
    let as_what = if page.text.trim().is_empty() { " full, as it should be" } else { " as typed" };
    let mut say = format!("The {what} of {vessel}: {} counted{as_what}.", counted.len());
    if !to_measure.is_empty() {
        say = format!("{say} {}", measure_words(&to_measure));
    }
    enter(model, page, counted, say)
}

/// Counts the chosen vessel as it should be.
pub(super) fn count_full(page: &CountPage, model: &mut Model) -> Wishes {
    let lines = page.lines(&model.state);
    let Some(Line::Vessel(id)) = page.at(&model.state, &lines).and_then(|at| lines.get(at)) else {
        page.say_gone(model);
        return Vec::new();
    };
    let label = model.state.vessels.get(*id).label.clone();
    match model.state.as_it_should_be(*id) {
        Some(found) => {
            let say = format!("{label} is counted, as it should be.");
            let counted = ThingCounted::of_vessel(page.count.clone(), label, found);
            enter(model, page, vec![counted], say)
        }
        None => model.refuse(measure_words(&[label])),
    }
}

/// The chosen vessel, and the vessels that lie in the slots with it, in walking order.
fn lying_with(
    state: &State,
    page: &CountPage,
    slots: fn(&State, Cursor) -> Option<Range<usize>>,
) -> Option<(Label, Vec<VesselId>)> {
    let Some(Spot::Vessel(label)) = &page.chosen else { return None };
    let slot = state.vessels.by_label(label.as_str())?.slot?;
    let cursor = Cursor::on_slot(state, slot.room, slot.index as usize)?;
    let lying = state.lying_in(slot.room, slots(state, cursor)?).map(|(_, id)| id).collect();
    Some((label.clone(), lying))
}

/// What is counted of some vessels, and which of them are to be measured.
fn told(state: &State, page: &CountPage, left: &[VesselId]) -> Result<(Vec<ThingCounted>, Vec<Label>), String> {
    let text = page.text.trim();
    let (mut counted, mut to_measure) = (Vec::new(), Vec::new());
    for &id in left {
        let vessel = state.vessels.get(id);
        let found = if text.is_empty() {
            state.as_it_should_be(id)
        } else {
            Some(Found::read(text, vessel).map_err(|error| error.to_string())?)
        };
        match found {
            Some(found) => {
                counted.push(ThingCounted::of_vessel(page.count.clone(), vessel.label.clone(), found));
            }
            None => to_measure.push(vessel.label.clone()),
        }
    }
    Ok((counted, to_measure))
}

fn measure_words(labels: &[Label]) -> String {
    let named: Vec<&str> = labels.iter().take(NAMED).map(Label::as_str).collect();
    let more = match labels.len().saturating_sub(NAMED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let be = by_count(labels.len(), "is", "are");
    format!("{}{more} {be} not kept full and {be} dipped, not ticked: type what is there, in litres.", named.join(", "))
}

fn enter(model: &Model, page: &CountPage, counted: Vec<ThingCounted>, say: String) -> Wishes {
    let begun = page.count(&model.state).is_none().then(|| What::CountBegun(Box::new(begun(page))));
    let counted = counted.into_iter().map(|counted| What::ThingCounted(Box::new(counted)));
    model.enter(begun.into_iter().chain(counted).collect(), say, Then::of(super::Counted))
}
