//! The choice of a tank to rack a lot into, with the plan of the racking into it.

use ratatui::text::Line;

use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::wood::racking::{Racking, RackingAsked};
use crate::cellar::views::wood::in_the_tank::InTheTank;
use crate::told::hazard::Caution;
use crate::tui::core::draw::paragraph;
use crate::tui::core::model::Model;
use crate::tui::core::over_plan::{Listed, OverPlan};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn};
use crate::tui::core::text::left;
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::floor::work_pages::names;
use crate::tui::floor::works;
use crate::units::{counted, poured, short_litres};

/// How many claims that would be lost are named before they are only counted.
const CLAIMS_NAMED: usize = 2;
/// So many tanks are in sight at least.
const TANKS_SHOWN: usize = 3;

/// A tank to rack into, and what lot all of it is then.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TankLine {
    /// The tank.
    pub tank: VesselId,
    /// The lot that all of it is then, where the tank holds another lot than comes in.
    pub all_is: Option<LotId>,
}

impl TankLine {
    /// The lines of a tank: one, or where it holds another lot of the same colour one for each of the two names.
    fn of(state: &State, tank: VesselId, lot: LotId) -> Vec<TankLine> {
        let colour = |lot: LotId| state.lots.get(lot).colour;
        match state.vessels.get(tank).lot {
            Some(other) if other != lot && colour(other) == colour(lot) => {
                [other, lot].map(|all_is| TankLine { tank, all_is: Some(all_is) }).to_vec()
            }
            _ => vec![TankLine { tank, all_is: None }],
        }
    }

    /// The same line in another state, as far as its tank and lot are still there.
    #[must_use]
    pub fn followed(self, before: &State, after: &State) -> Option<TankLine> {
        let tank = after.vessels.find(before.vessels.get(self.tank).label.as_str())?;
        let all_is = self.all_is.and_then(|lot| after.lots.find(before.lots.get(lot).label.as_str()));
        Some(TankLine { tank, all_is })
    }
}

/// The choice of a tank to rack a lot into.
#[derive(Clone, Debug, PartialEq)]
pub struct TankChoice {
    /// The lot that is racked.
    pub lot: LotId,
    /// The tanks, those that can take it first.
    pub tanks: Vec<TankLine>,
    /// Which is chosen, and from where on the page is shown.
    pub stands: OverPlan,
    /// The racking into the chosen one with what its wine is then, or why there is none.
    pub plan: Result<(Racking, InTheTank), Refusal>,
}

impl TankChoice {
    /// The choice for a lot; none where the cellar has no tank.
    #[must_use]
    pub fn new(model: &Model, lot: LotId) -> Option<TankChoice> {
        let state = &model.state;
        let is_tank = |id: &VesselId| {
            let vessel = state.vessels.get(*id);
            vessel.vessel_type == VesselType::Tank && vessel.retired.is_none()
        };
        let tanks = state.vessels.iter().map(|(id, _)| id).filter(is_tank);
        let mut lines: Vec<TankLine> = tanks.flat_map(|tank| TankLine::of(state, tank, lot)).collect();
        // What can take it stands first, and of that what needs no other name.
        lines.sort_by_cached_key(|&line| {
            (!plan(model, lot, line).is_ok_and(|plan| plan.short().is_zero()), line.all_is.is_some())
        });
        let plan = plan_whole(model, lot, *lines.first()?);
        Some(TankChoice { lot, tanks: lines, stands: OverPlan::default(), plan })
    }

    /// The same choice with another tank chosen.
    #[must_use]
    pub fn choosing(mut self, model: &Model, chosen: usize) -> TankChoice {
        if let Some(&tank) = self.tanks.get(chosen) {
            self.stands = OverPlan::at(chosen);
            self.plan = plan_whole(model, self.lot, tank);
        }
        self
    }

    /// The same choice in another state, as far as its lot and tank are still there.
    #[must_use]
    pub fn followed(&self, model: &Model, lot: Option<LotId>, line: Option<TankLine>) -> Option<TankChoice> {
        let new = TankChoice::new(model, lot?)?;
        let chosen = new.tanks.iter().position(|&one| Some(one) == line)?;
        Some(new.choosing(model, chosen))
    }

    /// The tank that is chosen, and what lot all of it is then.
    #[must_use]
    pub fn into(&self) -> Option<TankLine> {
        self.tanks.get(self.stands.chosen).copied()
    }
}

fn plan(model: &Model, lot: LotId, TankLine { tank, all_is }: TankLine) -> Result<Racking, Refusal> {
    model.state.plan_racking(RackingAsked { lot, racks: Vec::new(), to: tank, into: all_is }, model.now)
}

fn plan_whole(model: &Model, lot: LotId, line: TankLine) -> Result<(Racking, InTheTank), Refusal> {
    let plan = plan(model, lot, line)?;
    let then = model.state.in_the_tank(&plan, model.now);
    Ok((plan, then))
}

impl Table for TankChoice {
    const ABOUT: About = About {
        name: "The tank of a racking",
        purpose: "Plans the racking of a lot into the tank that is chosen: how many barrels, whether the tank has room for them, what its \
                  wine is then, what its label could say, and the sulfur dioxide of it. Those that can take it stand first.\n\
                  Enter begins the work, which is then walked barrel by barrel; esc goes back to the works.",
        opens: Opens::From("at a barrel of the lot, d on the floor lists it"),
    };
    const ROWS: &'static [Row<TankChoice>] = &[];
}

impl Page for TankChoice {
    fn title(&self, model: &Model) -> String {
        format!("Rack {} into which tank?", model.state.lots.get(self.lot).label)
    }

    fn caution(&self, _model: &Model) -> Caution {
        Caution::of_racking()
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        tanks(model, self, width, height)
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.stands.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.stands.line)
    }

    /// Up and down go through the tanks; by half a screen one goes down the plan.
    fn go(&mut self, model: &mut Model, go: Go, last: usize) -> Turn {
        if let Some(to) = self.stands.go(model, go, self.tanks.len(), last) {
            *self = self.clone().choosing(model, to);
        }
        Turn::stay()
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("begin".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(begin(model, self).into())
    }

    fn stored(&mut self, _model: &mut Model, then: Then) -> Turn {
        Turn::to_floor_and_stored(then)
    }

    fn follow(&mut self, model: &mut Model, before: &Before<'_>) -> Followed {
        let lot = model.state.lots.find(before.state.lots.get(self.lot).label.as_str());
        let into = TankChoice::into(self).and_then(|into| into.followed(before.state, &model.state));
        if let Some(followed) = TankChoice::followed(self, model, lot, into) {
            *self = followed;
            return Followed::There;
        }
        let tank = TankChoice::into(self).map(|into| before.state.vessels.get(into.tank).label.to_string());
        Followed::Gone(tank.unwrap_or_else(|| "The tank".to_owned()))
    }
}

/// Begins the racking into the chosen tank.
fn begin(model: &mut Model, choice: &TankChoice) -> Wishes {
    let lot = &model.state.lots.get(choice.lot).label;
    let Some(work) = model.state.new_work_label(&format!("rack {lot}"), model.now) else {
        return model.refuse("This lot was racked too often today to name another racking.");
    };
    let set = choice.plan.clone().and_then(|(plan, _)| plan.begin(&model.state, work));
    works::begin(model, set)
}

/// The tanks, and the plan of the racking into the chosen one. Of the tanks as many stand above as leave room for the plan,
/// but some always; what does not fit is scrolled to.
fn tanks(model: &Model, choice: &TankChoice, width: usize, height: usize) -> Vec<Line<'static>> {
    let said = match &choice.plan {
        Ok((plan, then)) => planned(model, plan, then, width),
        Err(refusal) => paragraph(model, &refusal.to_string(), width, Meaning::Due),
    };
    let words = |at: usize| tank_line(model, choice.tanks[at]);
    let list = Listed { above: Vec::new(), lines: choice.tanks.len(), least: TANKS_SHOWN, words };
    choice.stands.lines(model, (width, height), list, said)
}

fn tank_line(model: &Model, line: TankLine) -> String {
    let vessel = model.state.vessels.get(line.tank);
    let lot = |lot: LotId| &model.state.lots.get(lot).label;
    let label = left(vessel.label.as_str(), 12, model.looks.marks);
    let room = short_litres(vessel.book_headspace());
    match (vessel.lot, line.all_is) {
        (None, _) => format!("{label} room {room:>7}, empty"),
        (Some(holds), None) => format!("{label} room {room:>7}, {} of {}", short_litres(vessel.volume()), lot(holds)),
        (Some(holds), Some(all_is)) => {
            let turns = if holds == all_is { "all stays" } else { "all becomes" };
            format!("{label} room {room:>7}, {} there; {turns} {}", short_litres(vessel.volume()), lot(all_is))
        }
    }
}

fn planned(model: &Model, plan: &Racking, then: &InTheTank, width: usize) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    let mut say = |text: &str, meaning| lines.extend(paragraph(model, text, width, meaning));
    let (barrels, expected) = (counted(plan.stops.len(), "barrel"), poured(plan.expected));
    say(&format!("{barrels}, about {expected}; the tank has room for {}", poured(plan.room)), Meaning::Strong);
    match plan.room.checked_sub(plan.expected) {
        Some(after) => say(&format!("room left then {}", poured(after)), Meaning::Base),
        None => say(&format!("the tank is short by {}", poured(plan.short())), Meaning::Over),
    }
    say(&plan.lees_words(), Meaning::Muted);
    if let (Some(first), Some(last)) = (plan.stops.first(), plan.stops.last()) {
        let stop = |id: VesselId| where_it_lies(&model.state, id);
        say(&format!("from {} to {}", stop(first.vessel), stop(last.vessel)), Meaning::Muted);
    }
    if !plan.held.is_empty() {
        say(&format!("held and left out: {}", names(&model.state, &plan.held)), Meaning::Held);
    }
    if !plan.suspect.is_empty() {
        say(&format!("suspect: {}", model.state.suspects_in_words(&plan.suspect)), Meaning::Warning);
    }
    for broken in then.broken.iter().take(CLAIMS_NAMED) {
        say(&Question::from(broken.clone()).to_string(), Meaning::Over);
    }
    if then.broken.len() > CLAIMS_NAMED {
        say(&format!("and {} more claims", then.broken.len() - CLAIMS_NAMED), Meaning::Over);
    }
    say(&then.label_words(), Meaning::Base);
    say(&then.sulfur_words(&model.state, model.now), Meaning::Base);
    lines
}

fn where_it_lies(state: &State, id: VesselId) -> String {
    let vessel = state.vessels.get(id);
    state.place_of(vessel).map_or_else(|| vessel.label.to_string(), |place| format!("{} at {place}", vessel.label))
}
