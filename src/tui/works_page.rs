//! The page of works: those that are open, and what can be begun where one stands.

use crate::cellar::label::Label;
use crate::cellar::state::VesselId;
use crate::cellar::vessel::VesselType;
use crate::tui::choice::{self, Choice};
use crate::tui::dosing::DosingPage;
use crate::tui::fill;
use crate::tui::finish::fining;
use crate::tui::finish::moving;
use crate::tui::finish::{bottling, checklist};
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::update::Wishes;
use crate::tui::works::{TankChoice, put_down, take_up};

/// A line of the page of works, by the label of what it is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Entry {
    /// An open work.
    Open(Label),
    /// The chosen barrel's lot is to be racked.
    Rack(Label),
    /// Barrels are to be filled from a tank.
    Fill(Label),
    /// The chosen tank is to be racked or filtered into another.
    Move(Label),
    /// An agent is to be tried in the wine of the chosen tank.
    TryAgent(Label),
    /// The chosen barrel's lot is to be given sulfur dioxide.
    Sulfur(Label),
    /// The checklist of the lot of the chosen tank.
    Check(Label),
    /// The chosen tank is to be bottled.
    Bottle(Label),
}

impl Entry {
    /// What it is about.
    pub(super) fn label(&self) -> &Label {
        match self {
            Entry::Open(label)
            | Entry::Rack(label)
            | Entry::Fill(label)
            | Entry::Move(label)
            | Entry::TryAgent(label)
            | Entry::Sulfur(label)
            | Entry::Check(label)
            | Entry::Bottle(label) => label,
        }
    }
}

/// The page of works.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct WorksPage {
    /// Which entry is chosen.
    pub chosen: Choice<Entry>,
}

impl WorksPage {
    /// The open works, and what can be begun.
    #[must_use]
    pub fn entries(model: &Model) -> Vec<Entry> {
        let state = &model.state;
        let vessel = |id: VesselId| state.vessels.get(id).label.clone();
        let open = state.open_works_by_touch().into_iter().map(|id| Entry::Open(state.works.get(id).label.clone()));
        let lot = model.chosen_vessel().and_then(|vessel| vessel.lot).map(|lot| state.lots.get(lot).label.clone());
        let is_barrel = model.chosen_vessel().is_some_and(|vessel| vessel.vessel_type == VesselType::Barrel);
        let (rack, sulfur) = (lot.clone().filter(|_| is_barrel).map(Entry::Rack), lot.clone().map(Entry::Sulfur));
        let fill = fill::tanks(model).into_iter().map(|id| Entry::Fill(vessel(id)));
        // What is done to the chosen vessel most comes first: a barrel is racked, barrels are filled from a tank.
        if is_barrel {
            open.chain(rack).chain(sulfur).chain(fill).collect()
        } else {
            let tank = model.chosen().filter(|&id| !state.vessels.get(id).wine.is_empty()).map(vessel);
            let (moves, tries) = (tank.clone().map(Entry::Move), tank.clone().map(Entry::TryAgent));
            let (check, bottle) = (lot.map(Entry::Check), tank.map(Entry::Bottle));
            open.chain(fill).chain(moves).chain(sulfur).chain(tries).chain(check).chain(bottle).collect()
        }
    }
}

/// The key of the works: shows them, or puts down the one that is walked. No other key does that.
pub(super) fn page(model: &mut Model) {
    if model.working.is_some() {
        return put_down(model);
    }
    let entries = WorksPage::entries(model);
    if entries.is_empty() {
        let text = "No work is open, and no tank holds wine to fill barrels from. Go to a barrel of a lot and press d to rack or to \
                    sulfur it.";
        model.say(text, Tone::Notice);
        return;
    }
    model.mode = Mode::Works(WorksPage { chosen: Choice::first(&entries) });
}

/// Escape on a plan that was opened from the page of works: back to that page, with the same line chosen.
pub(super) fn back_to_page(model: &mut Model, entry: &Entry) {
    let entries = WorksPage::entries(model);
    let at = entries.iter().position(|one| one == entry);
    model.mode = at.map_or(Mode::Floor, |at| Mode::Works(WorksPage { chosen: Choice::at(&entries, at) }));
}

/// Takes what is chosen on the page of works.
pub(super) fn choose(model: &mut Model, page: &WorksPage) -> Wishes {
    let entries = WorksPage::entries(model);
    let Some(entry) = page.chosen.there(&entries) else {
        let gone = page.chosen.thing().map(|entry| choice::gone(entry.label().as_str()));
        if let Some(text) = gone {
            model.say(text, Tone::Refused);
        }
        return Vec::new();
    };
    model.mode = Mode::Floor;
    let state = &model.state;
    let lot = state.lots.find(entry.label().as_str());
    let tank = state.vessels.find(entry.label().as_str());
    match (entry, lot, tank) {
        (Entry::Open(work), ..) => match state.works.find(work.as_str()) {
            Some(work) => take_up(model, work),
            None => model.say(choice::gone(work.as_str()), Tone::Refused),
        },
        (Entry::Rack(_), Some(lot), _) => match TankChoice::new(model, lot) {
            Some(choice) => model.mode = Mode::Tank(choice),
            None => model.say("There is no tank to rack into. Register one with `barrelwalk record`.", Tone::Refused),
        },
        (Entry::Fill(_), _, Some(tank)) => return fill::open(model, tank),
        (Entry::Move(_), _, Some(tank)) => moving::open(model, tank),
        (Entry::TryAgent(_), _, Some(tank)) => fining::choose_agent(model, tank),
        (Entry::Check(_), Some(lot), _) => return checklist::show(model, lot),
        (Entry::Bottle(_), _, Some(tank)) => bottling::open_of(model, tank),
        (Entry::Sulfur(_), Some(lot), _) => model.mode = Mode::Dosing(DosingPage::here(model, lot)),
        _ => {}
    }
    Vec::new()
}
