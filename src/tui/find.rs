//! The find box: barrels, tanks, lots, trials, bottling runs, rooms and commands by a few letters.

use crate::cellar::bottling::bins::StoreMap;
use crate::cellar::bottling::drawing::Whence;
use crate::cellar::bottling::size;
use crate::cellar::label::Label;
use crate::cellar::state::{RoomId, State, Vessel, VesselId};
use crate::cellar::vessel::VesselType;
use crate::tui::bench::{glasses_words, how_far};
use crate::tui::choice::Choice;
use crate::tui::core::page::Offer;
use crate::tui::core::sense::Sense;
use crate::tui::model::{Mode, Model};
use crate::units::{VolumeUnit, counted};

/// How many answers are given at most.
const ANSWERS: usize = 50;

/// What was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Found {
    /// A vessel.
    Vessel(Label),
    /// A lot: its page is opened.
    Lot(Label),
    /// A trial: its page is opened.
    Trial(Label),
    /// A fining trial: its page is opened.
    Fining(Label),
    /// A bottling run: its page is opened.
    Run(Label),
    /// A room.
    Room(Label),
    /// A lot code on bottles, or a run: the map of the bins is opened where they lie.
    Code(Label),
    /// A lot code or a run, to be traced.
    Trace(Label),
    /// A bin.
    Bin(Label),
    /// A page that opens from the floor.
    Way(&'static str),
    /// What can be done on the floor.
    Act(&'static str),
}

/// The find box.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Find {
    /// What is looked for.
    pub query: String,
    /// Which answer is chosen; nothing stands for the closest.
    pub chosen: Choice<Found>,
}

/// An answer as it is shown.
#[derive(Clone, Debug, PartialEq)]
pub struct Hit {
    /// What was found.
    pub found: Found,
    /// Its name.
    pub name: String,
    /// A few words beside it.
    pub beside: String,
}

impl Find {
    /// What fits the query, the closest first.
    #[must_use]
    pub fn hits(&self, model: &Model) -> Vec<Hit> {
        let query = self.query.trim().to_lowercase();
        let state = &model.state;
        let mut found: Vec<(u8, Found)> = Vec::new();
        let mut offer = |name: &str, also: &str, thing: &dyn Fn() -> Found| {
            found.extend(distance(&query, name, also).map(|distance| (distance, thing())));
        };
        for act in floor_acts(model) {
            let also = [act.also, &[act.help]].concat().join(" ");
            offer(act.title, &also, &|| Found::Act(act.title));
        }
        for way in model.house.ways() {
            let also = [way.also, &[way.help]].concat().join(" ");
            offer(way.title, &also, &|| Found::Way(way.title));
        }
        for (_, Vessel { label, .. }) in state.vessels.iter().filter(|(_, vessel)| vessel.retired.is_none()) {
            offer(label.as_str(), "", &|| Found::Vessel(label.clone()));
        }
        for (_, lot) in state.lots.iter() {
            offer(lot.label.as_str(), "", &|| Found::Lot(lot.label.clone()));
        }
        for (_, trial) in state.trials.iter() {
            offer(trial.label.as_str(), "", &|| Found::Trial(trial.label.clone()));
        }
        for (_, trial) in state.finings.iter() {
            offer(trial.label.as_str(), trial.material.as_str(), &|| Found::Fining(trial.label.clone()));
        }
        // Where bottles of a lot code lie, their bins come before the page of the run.
        for (_, run) in state.runs.iter() {
            let lies = |code: &&Label| run.laid().any(|(_, stock)| stock.lot_code.as_ref() == Some(code));
            for code in run.lot_codes().into_iter().filter(lies) {
                offer(code.as_str(), "", &|| Found::Code(code.clone()));
            }
        }
        for (_, run) in state.runs.iter() {
            let names = std::iter::once(&run.label).chain(run.lot_codes());
            let nearest = names.min_by_key(|name| distance(&query, name.as_str(), "").unwrap_or(u8::MAX));
            offer(nearest.unwrap_or(&run.label).as_str(), "", &|| Found::Run(run.label.clone()));
        }
        for (_, room) in state.rooms.iter() {
            offer(room.label.as_str(), "", &|| Found::Room(room.label.clone()));
        }
        for (_, run) in state.runs.iter() {
            for name in std::iter::once(&run.label).chain(run.lot_codes()) {
                offer(&traced(name), "", &|| Found::Trace(name.clone()));
            }
        }
        for bin in state.bin_maps().iter().flat_map(StoreMap::bins) {
            offer(bin.place.as_str(), "", &|| Found::Bin(bin.place.clone()));
        }
        found.sort_by_key(|(distance, _)| *distance);
        found.truncate(ANSWERS);
        // Only what is shown is put into words: there may be ten thousand barrels.
        found.into_iter().filter_map(|(_, thing)| hit(model, thing)).collect()
    }

    /// Where the chosen answer stands among those that are given; none where it is not among them any more.
    #[must_use]
    pub fn chosen_among(&self, hits: &[Hit]) -> Option<usize> {
        match self.chosen.thing() {
            None => (!hits.is_empty()).then_some(0),
            Some(_) => hits.iter().position(|hit| self.chosen.is(&hit.found)),
        }
    }

    /// Goes up or down the answers.
    pub(super) fn step(&mut self, model: &Model, by: isize) {
        let found: Vec<Found> = self.hits(model).into_iter().map(|hit| hit.found).collect();
        if self.chosen.thing().is_none() {
            self.chosen = Choice::first(&found);
        }
        self.chosen.step(&found, by);
    }

    /// The same box with the answer that stands first chosen for good: another state may have a closer one.
    pub(super) fn pinned(mut self, model: &Model) -> Find {
        if self.chosen.thing().is_none() {
            let found: Vec<Found> = self.hits(model).into_iter().take(1).map(|hit| hit.found).collect();
            self.chosen = Choice::first(&found);
        }
        self
    }
}

impl Found {
    /// What it is called.
    pub(super) fn name(&self) -> &str {
        match self {
            Found::Vessel(label)
            | Found::Lot(label)
            | Found::Trial(label)
            | Found::Fining(label)
            | Found::Run(label)
            | Found::Room(label)
            | Found::Code(label)
            | Found::Trace(label)
            | Found::Bin(label) => label.as_str(),
            Found::Way(title) | Found::Act(title) => title,
        }
    }
}

/// An answer in words; none where it is not there.
fn hit(model: &Model, found: Found) -> Option<Hit> {
    let state = &model.state;
    let name = match &found {
        Found::Trace(name) => traced(name),
        found => found.name().to_owned(),
    };
    let beside = match &found {
        Found::Vessel(label) => beside_vessel(state, state.vessels.by_label(label.as_str())?),
        Found::Lot(label) => format!("{} lot", state.lots.by_label(label.as_str())?.colour),
        Found::Trial(label) => format!("trial, {}", how_far(state.trials.by_label(label.as_str())?)),
        Found::Fining(label) => {
            format!("fining trial, {}", glasses_words(state.finings.by_label(label.as_str())?))
        }
        Found::Code(name) => beside_code(state, name),
        Found::Trace(_) => "back to all that its wine met".to_owned(),
        Found::Bin(place) => format!("bin, {}", counted(state.bin(place).bottles(), "bottle")),
        Found::Run(label) => {
            let run = state.runs.by_label(label.as_str())?;
            format!("bottling run, {} of {}", run.bottles(), size(run.bottle))
        }
        Found::Room(label) => format!("room of {} places", state.rooms.by_label(label.as_str())?.slots.len()),
        Found::Way(title) => {
            let way = model.house.ways().find(|way| way.title == *title)?;
            beside_command(way.sense, (way.why_not)(model))
        }
        Found::Act(title) => {
            let act = floor_acts(model).into_iter().find(|act| act.title == *title)?;
            beside_command(act.sense, act.why_not)
        }
    };
    Some(Hit { found, name, beside })
}

/// How the trace of a lot code is found.
fn traced(name: &Label) -> String {
    format!("trace {name}")
}

/// How far a name is from what is looked for: the same, beginning so, holding it, described by it.
fn distance(query: &str, name: &str, also: &str) -> Option<u8> {
    if query.is_empty() {
        return Some(4);
    }
    match position(query, name) {
        Some(0) if query.len() == name.len() => Some(0),
        Some(0) => Some(1),
        Some(_) => Some(2),
        None => position(query, also).map(|_| 3),
    }
}

/// Where a text in small letters begins in another, whatever the case there.
fn position(query: &str, text: &str) -> Option<usize> {
    // Most labels are plain, and there may be ten thousand of them to look through between two keys.
    if query.is_ascii() && text.is_ascii() {
        return text.as_bytes().windows(query.len()).position(|part| part.eq_ignore_ascii_case(query.as_bytes()));
    }
    text.to_lowercase().find(query)
}

/// What can be done on the floor.
fn floor_acts(model: &Model) -> Vec<Offer> {
    model.pages.lowest().map_or_else(Vec::new, |floor| floor.offers(model))
}

/// Opens the find box.
pub(super) fn open(model: &mut Model) {
    model.close_pages();
    model.mode = Mode::Find(Find::default());
}

/// The key of a command, and why it cannot be given now.
fn beside_command(sense: Option<Sense>, why_not: Option<String>) -> String {
    let key = sense.map_or_else(String::new, Sense::key_name);
    let why_not = why_not.map(|why| format!("not now: {why}"));
    let parts: Vec<String> = [Some(key).filter(|key| !key.is_empty()), why_not].into_iter().flatten().collect();
    parts.join(", ")
}

/// What is left of a lot code, or of a run.
fn beside_code(state: &State, name: &Label) -> String {
    let Some(of) = state.bottles_called(name.as_str()) else { return String::new() };
    let run = state.runs.get(of.run);
    let left = run.there(Whence::Anywhere, of.lot_code.as_ref());
    let what = if of.lot_code.is_some() { format!("lot code of run {}", run.label) } else { "run".to_owned() };
    format!("{what}, {} left", counted(left, "bottle"))
}

fn beside_vessel(state: &State, vessel: &Vessel) -> String {
    let lot: &str = vessel.lot.map_or("empty", |lot| state.lots.get(lot).label.as_str());
    match (state.place_of(vessel), vessel.vessel_type) {
        (Some(place), _) => format!("{place}, {lot}"),
        (None, VesselType::Barrel) => format!("barrel at no place, {lot}"),
        (None, VesselType::Tank) => format!("tank, {}, {lot}", vessel.volume().show(VolumeUnit::Litre, 0)),
        (None, VesselType::Keg) => format!("keg, {}, {lot}", vessel.volume().show(VolumeUnit::Litre, 1)),
    }
}

/// What a label or a place that was typed or scanned means, if it means anything: a vessel of that label, else a place
/// of this room like `A-03-2-b`.
#[must_use]
pub fn by_label(model: &Model, typed: &str) -> Option<Jump> {
    let state = &model.state;
    if let Some(id) = state.vessels.find(typed) {
        return Some(Jump::Vessel(id));
    }
    let room = state.rooms.get(model.room()?);
    let place = typed.parse().ok().or_else(|| format!("{}/{typed}", room.label).parse().ok());
    let place: crate::cellar::place::Place = place?;
    let room = state.rooms.find(place.rack.room.as_str())?;
    state.rooms.get(room).slot(&place).map(|slot| Jump::Slot(room, slot))
}

/// Where a label leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Jump {
    /// To a vessel.
    Vessel(VesselId),
    /// To a place.
    Slot(RoomId, usize),
}

/// Labels near a label that is not there: those that begin or end like it.
#[must_use]
pub fn near(state: &State, typed: &str) -> Vec<Label> {
    let typed = typed.to_lowercase();
    let close = |label: &Label| {
        let label = label.as_str().to_lowercase();
        label.contains(&typed) || typed.contains(&label)
    };
    state.vessels.iter().map(|(_, vessel)| &vessel.label).filter(|label| close(label)).take(3).cloned().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_closest_name_comes_first() {
        let far = |name| distance("côte", name, "");
        assert_eq!(["Côte", "Côte Haute", "La Côte", "Cote"].map(far), [Some(0), Some(1), Some(2), None]);
        let far = |name| distance("k2", name, "the keg K2");
        assert_eq!(["K2", "K20", "AK2", "", "K"].map(far), [Some(0), Some(1), Some(2), Some(3), Some(3)]);
        assert_eq!(distance("", "K2", ""), Some(4));
    }
}
