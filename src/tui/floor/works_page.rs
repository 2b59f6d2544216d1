//! The page of works: those that are open, and what can be begun where one stands.

use ratatui::text::Line;

use crate::cellar::core::label::Label;
use crate::cellar::core::state::VesselId;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::tui::core::choice::{self, Choice};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn};
use crate::tui::core::text::left;
use crate::tui::finish::{bottling, checklist, fining, moving};
use crate::tui::floor::works::{put_down, take_up};
use crate::tui::tests::dosing::{self, DosingPage};
use crate::tui::tests::drawing;
use crate::tui::wood::fill;
use crate::tui::wood::racking::TankChoice;
use crate::tui::wood::returning;
use crate::units::poured;

/// A line of the page of works, by the label of what it is about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Entry {
    /// An open work.
    Open(Label),
    /// The chosen barrel's lot is to be racked.
    Rack(Label),
    /// Barrels are to be filled from a tank.
    Fill(Label),
    /// What was racked into a tank is to go back into the same barrels.
    Return(Label),
    /// The chosen tank is to be racked or filtered into another.
    Move(Label),
    /// An agent is to be tried in the wine of the chosen tank.
    TryAgent(Label),
    /// The chosen barrel's lot is to be given sulfur dioxide.
    Sulfur(Label),
    /// A sample of the lot of the chosen vessel is to be drawn.
    Sample(Label),
    /// The checklist of the lot of the chosen tank.
    Check(Label),
    /// The chosen tank is to be bottled.
    Bottle(Label),
}

impl Entry {
    /// What it is about.
    fn label(&self) -> &Label {
        match self {
            Entry::Open(label)
            | Entry::Rack(label)
            | Entry::Fill(label)
            | Entry::Return(label)
            | Entry::Move(label)
            | Entry::TryAgent(label)
            | Entry::Sulfur(label)
            | Entry::Sample(label)
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
        let sample = lot.clone().map(Entry::Sample);
        let (rack, sulfur) = (lot.clone().filter(|_| is_barrel).map(Entry::Rack), lot.clone().map(Entry::Sulfur));
        let tanks = fill::tanks(model);
        let back = tanks.iter().copied().filter(|&id| state.can_return(id)).map(|id| Entry::Return(vessel(id)));
        let fill = tanks.iter().map(|&id| Entry::Fill(vessel(id))).chain(back);
        // What is done to the chosen vessel most comes first: a barrel is racked, barrels are filled from a tank.
        if is_barrel {
            open.chain(rack).chain(sulfur).chain(fill).chain(sample).collect()
        } else {
            let tank = model.chosen().filter(|&id| !state.vessels.get(id).wine.is_empty()).map(vessel);
            let (moves, tries) = (tank.clone().map(Entry::Move), tank.clone().map(Entry::TryAgent));
            let (check, bottle) = (lot.map(Entry::Check), tank.map(Entry::Bottle));
            open.chain(fill).chain(moves).chain(sulfur).chain(tries).chain(check).chain(bottle).chain(sample).collect()
        }
    }
}

/// The key of the works: shows them, or puts down the one that is walked. No other key does that.
pub(in crate::tui) fn page(model: &mut Model) {
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
    model.open(WorksPage { chosen: Choice::first(&entries) });
}

impl Table for WorksPage {
    const ABOUT: About = About {
        name: "Works",
        purpose: "Lists the works that are open, the one that was touched last first, and what can be begun with the vessel that is looked \
                  at: racking its lot, sulfuring it, filling barrels from a tank, the same again that were racked into it, a move, a fining trial, bottling, a sample.\n\
                  Enter takes an open work up, so that the keys of the floor are for it, or opens the plan of a new one.",
        opens: Opens::From("d on the floor opens it"),
    };
    const ROWS: &'static [Row<WorksPage>] = &[];
}

impl Page for WorksPage {
    fn title(&self, _model: &Model) -> String {
        "Works".to_owned()
    }

    fn is_over(&self) -> bool {
        true
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        let entries = WorksPage::entries(model);
        choice::lines(model, &entries, &self.chosen, height.max(1), width, |entry| entry_line(model, entry))
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        self.chosen.go(model, &WorksPage::entries(model), go);
        Turn::stay()
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("take".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(choose(model, self))
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        self.chosen.follow(&WorksPage::entries(model), |entry| entry.label().to_string())
    }
}

/// Takes what is chosen. A plan stands upon the works, so that esc goes back to them.
fn choose(model: &mut Model, page: &WorksPage) -> Turn {
    let entries = WorksPage::entries(model);
    let Some(entry) = page.chosen.there(&entries) else {
        let gone = page.chosen.thing().map(|entry| choice::gone(entry.label().as_str()));
        if let Some(text) = gone {
            model.say(text, Tone::Refused);
        }
        return Turn::stay();
    };
    let state = &model.state;
    let lot = state.lots.find(entry.label().as_str());
    let tank = state.vessels.find(entry.label().as_str());
    match (entry, lot, tank) {
        (Entry::Open(work), ..) => match state.works.find(work.as_str()) {
            Some(work) => {
                take_up(model, work);
                return Turn::to_floor();
            }
            None => model.say(choice::gone(work.as_str()), Tone::Refused),
        },
        (Entry::Rack(_), Some(lot), _) => match TankChoice::new(model, lot) {
            Some(choice) => model.open(choice),
            None => {
                model.say("There is no tank to rack into. Register one with `barrelwalk record`.", Tone::Refused);
            }
        },
        (Entry::Sulfur(_), Some(lot), _) => {
            let doses = DosingPage::here(model, lot);
            model.open(doses);
        }
        (Entry::Sample(_), Some(lot), _) => drawing::open(model, lot),
        (Entry::Fill(_), _, Some(tank)) => return fill::open(model, tank).into(),
        (Entry::Return(_), _, Some(tank)) => returning::open(model, tank),
        (Entry::Move(_), _, Some(tank)) => moving::open(model, tank),
        (Entry::TryAgent(_), _, Some(tank)) => fining::choose_agent(model, tank),
        (Entry::Check(_), Some(lot), _) => return checklist::show(model, lot).into(),
        (Entry::Bottle(_), _, Some(tank)) => bottling::open_of(model, tank),
        _ => {}
    }
    Turn::stay()
}

fn entry_line(model: &Model, entry: &Entry) -> String {
    match entry {
        Entry::Open(work) => {
            let Some(work) = model.state.works.by_label(work.as_str()) else { return String::new() };
            let progress = work.progress();
            let name = left(work.label.as_str(), 34, model.looks.marks);
            format!("{name} {}, {} of {} done", work.task.words(&model.state), progress.done, progress.of)
        }
        Entry::Sulfur(lot) => {
            let Some(lot) = model.state.lots.find(lot.as_str()) else { return String::new() };
            format!("{}: plan it", dosing::called(model, lot, dosing::held_here(model).as_ref()))
        }
        Entry::Return(tank) => format!("Rack and return, from {tank} back into the same barrels: plan it"),
        Entry::Move(tank) => format!("Rack or filter {tank} into another tank: plan it"),
        Entry::TryAgent(tank) => format!("Fining for {tank}: try an agent in glasses"),
        Entry::Check(lot) => format!("Before bottling {lot}: its checklist"),
        Entry::Bottle(tank) => format!("Bottle {tank}: plan it"),
        Entry::Sample(lot) => format!("A sample of {lot}: plan what to draw"),
        Entry::Rack(lot) => format!("Rack {lot} into a tank: plan it"),
        Entry::Fill(tank) => {
            let Some(tank) = model.state.vessels.by_label(tank.as_str()) else { return String::new() };
            let of = tank.lot.map_or_else(String::new, |lot| format!(" of {}", model.state.lots.get(lot).label));
            format!("Fill barrels from {}: plan it ({}{of})", tank.label, poured(tank.volume()))
        }
    }
}
