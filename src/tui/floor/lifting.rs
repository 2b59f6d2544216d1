//! A rack that a forklift lifts, on the map: it is chosen where it stands and set down where it goes. Nothing is entered in between.
//!
//! **A rack on the forks** (`tui/floor/lifting.rs`) is in no fact until it is set down. It is known by what lies in it, so that another
//! program's move takes it off the forks.

use ratatui::text::Line;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::place::RackPlace;
use crate::cellar::core::state::State;
use crate::cellar::jobs::floor::placing::RackMoved;
use crate::told::hazard::Caution;
use crate::tui::core::asking;
use crate::tui::core::cursor::Cursor;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::text::fit;
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;

/// The name of what sets a rack down.
pub(super) const SET_DOWN: &str = "Set the lifted rack down here";

/// The rack that is on the forks.
#[derive(Debug)]
struct Lifted {
    /// Where it stands on paper until it is set down.
    from: RackPlace,
    /// What lies in it: another rack that stands there by now was not lifted.
    barrels: Vec<Label>,
}

impl Lifted {
    fn still_there(&self, state: &State) -> bool {
        state.lying_in_rack(&self.from).eq(self.barrels.iter().cloned())
    }
}

/// The rack that is lifted, as long as it stands where it was lifted.
fn lifted(model: &Model) -> Option<&Lifted> {
    model.kept.get::<Lifted>().filter(|lifted| lifted.still_there(&model.state))
}

/// The rack of a place on the map.
fn rack_at(state: &State, cursor: Cursor) -> Option<RackPlace> {
    cursor.slot(state)?;
    let room = state.rooms.get(cursor.room);
    let row = room.rows.get(cursor.row)?.row.clone();
    Some(RackPlace { room: room.label.clone(), row, stack: cursor.stack, tier: cursor.tier })
}

/// The rack under the cursor; none while something at no place is looked at.
fn rack_here(model: &Model) -> Option<RackPlace> {
    rack_at(&model.state, model.cursor.filter(|_| model.aside.is_none())?)
}

/// Whether the rack of a place is the one that is lifted.
pub(super) fn is_lifted(model: &Model, cursor: Cursor) -> bool {
    lifted(model).is_some_and(|lifted| rack_at(&model.state, cursor).as_ref() == Some(&lifted.from))
}

/// Whether a rack is lifted.
pub(super) fn is_one_lifted(model: &Model) -> bool {
    lifted(model).is_some()
}

/// What stands above the keys while a rack is lifted.
pub(super) fn line(model: &Model, width: usize) -> Option<Line<'static>> {
    let from = &lifted(model)?.from;
    let text = format!(" lifted: the rack of {from}. Where it goes press enter and set it down.");
    let style = model.looks.theme.style(Meaning::Strong);
    Some(Line::styled(fit(&text, width, model.looks.marks), style))
}

/// Why the rack here cannot be lifted, if it cannot.
pub(super) fn why_not(model: &Model) -> Option<String> {
    let Some(rack) = rack_here(model) else { return Some("There is no rack here.".to_owned()) };
    model.why_read_only().or_else(|| model.state.why_not_lifted(&rack).map(|refusal| refusal.to_string()))
}

/// Why the lifted rack cannot be set down here, if it cannot.
pub(super) fn why_not_here(model: &Model) -> Option<String> {
    let Some(Lifted { from, .. }) = lifted(model) else {
        return Some("No rack is lifted. Go to one and lift it first.".to_owned());
    };
    let Some(to) = rack_here(model) else { return Some("There is no place for a rack here.".to_owned()) };
    if *from == to {
        return Some(format!("The rack stands at {to} already: esc leaves it there."));
    }
    let moved = What::RackMoved(RackMoved { from: from.clone(), to });
    moved.deed().permitted(&model.state, false).err().map(|refusal| refusal.to_string())
}

/// Takes the rack under the cursor on the forks.
pub(super) fn lift(model: &mut Model) {
    let Some(from) = rack_here(model) else { return };
    let barrels = model.state.lying_in_rack(&from).collect();
    model.say(format!("The rack at {from} is on the forks."), Tone::Notice);
    model.heed(Caution::of_kind("rack_moved"));
    model.kept.put(Lifted { from, barrels });
}

/// Leaves the lifted rack where it stood.
pub(super) fn leave(model: &mut Model) {
    if let Some(Lifted { from, .. }) = model.kept.take() {
        model.say(format!("The rack stays at {from}."), Tone::Notice);
    }
}

/// Sets the lifted rack down under the cursor.
pub(super) fn set_down(model: &mut Model) -> Wishes {
    let Some((to, Lifted { from, .. })) = rack_here(model).zip(lifted(model)) else { return Vec::new() };
    let say = format!("The rack of {from} stands at {to} now.");
    let whats = vec![What::RackMoved(RackMoved { from: from.clone(), to })];
    if !asking::may_enter(model, &whats) {
        return Vec::new();
    }
    model.enter(whats, say, Then::STAY)
}

/// The cellar is another one: says so where the rack that was lifted does not stand there any more.
pub(super) fn followed(model: &mut Model) -> Option<String> {
    if is_one_lifted(model) {
        return None;
    }
    let Lifted { from, barrels } = model.kept.take()?;
    // Where it was set down that was said already.
    let here = rack_here(model).is_some_and(|to| model.state.lying_in_rack(&to).eq(barrels));
    (!here).then(|| format!("What was lifted does not stand at {from} any more."))
}
