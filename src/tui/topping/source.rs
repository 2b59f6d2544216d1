//! Choosing the vessel to top from: when a round is begun, and when one runs out. The plan of the round stands above the vessels, and
//! below them what it does to the lots.

use ratatui::text::Line;

use crate::cellar::core::label::Label;
use crate::cellar::core::state::{LotId, VesselId};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::views::topping::plan::{Plan, Stop};
use crate::cellar::views::topping::walk::Hose;
use crate::told::hazard::Caution;
use crate::told::topping::how_long;
use crate::tui::core::draw::paragraph;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::over_plan::{Listed, OverPlan};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn};
use crate::tui::core::text::left;
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::topping::drift;
use crate::tui::topping::rounds;
use crate::units::{counted, litres};

/// Why a vessel is chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum For {
    /// A round begins.
    Begin,
    /// The round that is under way goes on from another one.
    Change,
}

/// The choice.
#[derive(Clone, Debug, PartialEq)]
pub struct SourceChoice {
    /// What it is for.
    pub purpose: For,
    /// What the round is expected to need.
    pub plan: Plan,
    /// The vessels that are offered: those of the plan, then the barrel under the cursor, which would become a topping
    /// vessel, and last those whose wine is suspect.
    pub sources: Vec<VesselId>,
    /// Which of them is chosen, and from where on the page is shown.
    pub stands: OverPlan,
}

impl SourceChoice {
    /// The choice for a room as it is now.
    #[must_use]
    pub fn new(model: &Model, purpose: For) -> Option<SourceChoice> {
        let plan = plan(model, purpose, None)?;
        let planned = planned(model, &plan);
        let here = declarable(model).filter(|id| !plan.sources.contains(id));
        let own = plan.sources.iter().copied().chain(here);
        let offered = own.chain(plan.suspect_sources.iter().copied());
        let sources: Vec<VesselId> = offered.collect();
        let chosen = planned.and_then(|from| sources.iter().position(|&source| source == from)).unwrap_or(0);
        Some(SourceChoice { purpose, sources, stands: OverPlan::default(), plan }.at(model, chosen))
    }

    /// The same choice with another line chosen: the plan is that of a walk with the vessel there in hand.
    #[must_use]
    pub fn at(mut self, model: &Model, chosen: usize) -> SourceChoice {
        self.stands = OverPlan::at(chosen.min(self.sources.len().saturating_sub(1)));
        if let Some(plan) = plan(model, self.purpose, self.vessel()) {
            self.plan = plan;
        }
        self
    }

    /// Whether what is chosen is a barrel that is topped itself, and becomes a topping vessel by that.
    #[must_use]
    pub fn declares(&self, model: &Model) -> bool {
        self.vessel().is_some_and(|id| is_kept_full(model, id))
    }

    /// The lot of the barrel under the cursor where it is not the chosen vessel's and the plan would still top it from another:
    /// whoever chooses that vessel there says that it tops that lot all the same.
    #[must_use]
    pub fn against_the_plan(&self, model: &Model) -> Option<Label> {
        let (here, source) = (model.round().and(model.chosen())?, self.vessel()?);
        let lot = model.state.vessels.get(here).lot?;
        let stop = self.plan.stops.iter().find(|stop| stop.vessel == here)?;
        let is_other = model.state.vessels.get(source).lot != Some(lot) && stop.from != Some(source);
        let same_colour =
            model.state.colour_in(model.state.vessels.get(source)) == Some(model.state.lots.get(lot).colour);
        (is_other && same_colour).then(|| model.state.lots.get(lot).label.clone())
    }

    /// The same choice with a vessel chosen; with none, or where it is no longer offered, there is no choice to go on with.
    #[must_use]
    pub fn choosing(self, model: &Model, vessel: Option<VesselId>) -> Option<SourceChoice> {
        let chosen = self.sources.iter().position(|&source| Some(source) == vessel)?;
        Some(self.at(model, chosen))
    }

    /// The vessel that is chosen.
    #[must_use]
    pub fn vessel(&self) -> Option<VesselId> {
        self.sources.get(self.stands.chosen).copied()
    }
}

impl Table for SourceChoice {
    const ABOUT: About = About {
        name: "The vessel to top from",
        purpose: "Plans a round of this room, or what is left of the one under way, from the vessel that is chosen: how many barrels, how \
                  much to carry, whether the vessel covers it, and how its wine differs from theirs.\n\
                  Up and down choose; page down shows below what the round does to the lots. Vessels whose wine is suspect stand \
                  last. A barrel of a row that is chosen becomes a topping vessel.",
        opens: Opens::From("it opens where a round is begun, or its topping vessel changed"),
    };
    const ROWS: &'static [Row<SourceChoice>] = &[];
}

/// Opens the choice, or says why there is none.
pub(in crate::tui) fn open(model: &mut Model, purpose: For) {
    match SourceChoice::new(model, purpose) {
        Some(choice) if !choice.sources.is_empty() => model.open(choice),
        _ => model.say("No keg or tank holds wine to top from. Fill one first.", Tone::Refused),
    }
}

impl Page for SourceChoice {
    fn title(&self, _model: &Model) -> String {
        match self.purpose {
            For::Begin => "A round of this room: top from which vessel?",
            For::Change => "Go on topping from which vessel?",
        }
        .to_owned()
    }

    fn caution(&self, _model: &Model) -> Caution {
        Caution::of_kind("round_begun")
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        lines(model, self, width, height)
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.stands.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.stands.line)
    }

    /// Up and down go through the vessels; by half a screen one goes down to the lots.
    fn go(&mut self, model: &mut Model, go: Go, last: usize) -> Turn {
        if let Some(to) = self.stands.go(model, go, self.sources.len(), last) {
            *self = self.clone().at(model, to);
        }
        Turn::stay()
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some(if self.purpose == For::Begin { "begin" } else { "take" }.to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(rounds::choose_source(model, self).into())
    }

    fn stored(&mut self, _model: &mut Model, then: Then) -> Turn {
        Turn::back_and_stored(then)
    }

    fn follow(&mut self, model: &mut Model, before: &Before<'_>) -> Followed {
        let label = self.vessel().map(|id| before.state.vessels.get(id).label.clone());
        let vessel = label.as_ref().and_then(|label| model.state.vessels.find(label.as_str()));
        match SourceChoice::new(model, self.purpose).and_then(|new| new.choosing(model, vessel)) {
            Some(followed) => {
                *self = followed;
                Followed::There
            }
            None => Followed::Gone(label.map_or_else(|| "The topping vessel".to_owned(), |label| label.to_string())),
        }
    }
}

/// Whether a vessel is a barrel that is topped itself.
fn is_kept_full(model: &Model, id: VesselId) -> bool {
    let vessel = model.state.vessels.get(id);
    vessel.vessel_type == VesselType::Barrel && vessel.kept_full
}

/// The barrel under the cursor, where it holds wine and is topped: broken for topping it can be declared a
/// topping vessel.
fn declarable(model: &Model) -> Option<VesselId> {
    let id = model.chosen()?;
    let vessel = model.state.vessels.get(id);
    (is_kept_full(model, id) && model.state.is_to_be_topped(vessel) && vessel.held.is_none()).then_some(id)
}

/// What the round is expected to need: of the one under way what is left of it, from a vessel in hand or the one that it is
/// topped from now.
fn plan(model: &Model, purpose: For, in_hand: Option<VesselId>) -> Option<Plan> {
    Some(match (purpose, model.round()) {
        (For::Change, Some(round)) => {
            let in_hand = in_hand.or(model.state.rounds.get(round).source);
            model.state.plan_rest_from(round, in_hand, model.now)
        }
        _ => model.state.plan_round_from(model.room()?, in_hand, model.now),
    })
}

/// The vessel that a plan would take: for the barrel under the cursor while a round is under way, else for its first.
fn planned(model: &Model, plan: &Plan) -> Option<VesselId> {
    let here =
        model.round().zip(model.chosen()).and_then(|(round, here)| match model.state.hose(round, here, model.now) {
            Hose::Other(from) => Some(from),
            Hose::InHand => model.source(),
            Hose::None => None,
        });
    here.or_else(|| plan.draws.first().map(|draw| draw.source))
}

/// The vessels to top from with what the round takes, for so many columns and rows.
fn lines(model: &Model, choice: &SourceChoice, width: usize, height: usize) -> Vec<Line<'static>> {
    let plan = &choice.plan;
    let barrels = counted(plan.stops.len(), "barrel");
    let (expected, carry) = (litres(plan.expected), litres(plan.carry.max(plan.expected)));
    let wine = format!("{barrels} to top, about {expected}, carry {carry}");
    let minutes = how_long(plan.minutes(), plan.minutes_a_barrel);
    let rest = format!("{} held and left out. {minutes}", plan.held.len());
    let mut lines = paragraph(model, &wine, width, Meaning::Strong);
    lines.extend(paragraph(model, &rest, width, Meaning::Muted));
    let unplaced = model.state.unplaced_words(plan).into_iter().chain(plan.unrecorded_words());
    lines.extend(unplaced.flat_map(|words| paragraph(model, &words, width, Meaning::Base)));
    let odd = model.state.odd_words(&plan.odd);
    lines.extend(odd.into_iter().flat_map(|words| paragraph(model, &words, width, Meaning::Warning)));
    lines.push(Line::default());
    let words = |at: usize| source_line(model, choice.sources[at]);
    let list = Listed { above: lines, lines: choice.sources.len(), least: 1, words };
    let mut lines = choice.stands.lines(model, (width, height), list, said_of_chosen(model, choice, width));
    // What the round does to the lots is scrolled to.
    lines.extend(drift::lines(model, plan, width));
    lines
}

/// Whether the chosen vessel holds enough, and how its wine differs from that of the barrels.
fn said_of_chosen(model: &Model, choice: &SourceChoice, width: usize) -> Vec<Line<'static>> {
    let Some(id) = choice.vessel().filter(|_| !choice.plan.stops.is_empty()) else { return Vec::new() };
    let plan = &choice.plan;
    let label = &model.state.vessels.get(id).label;
    let draw = plan.draws.iter().find(|draw| draw.source == id);
    let alone = draw.filter(|draw| draw.barrels == plan.stops.len());
    let (cover, meaning) = match (alone, draw) {
        (Some(draw), _) if draw.holds >= draw.carry => (format!("{label} covers it all"), Meaning::Muted),
        (Some(draw), _) => {
            let carry = litres(draw.carry);
            (format!("{label} covers what is expected, but not the {carry} to carry"), Meaning::Muted)
        }
        (None, Some(_)) => (drift::topped_from(model, plan).unwrap_or_default(), Meaning::Due),
        _ if choice.declares(model) => {
            (format!("{label} lies in a row: it becomes a topping vessel and is topped no more"), Meaning::Warning)
        }
        (None, None) => (format!("{label} tops none of these barrels by the plan"), Meaning::Due),
    };
    let mut lines = Vec::new();
    lines.extend(paragraph(model, &cover, width, meaning));
    let without = plan.stops.iter().filter(|stop| stop.from.is_none()).count();
    if without > 0 {
        let text = format!("No vessel of their colour holds enough for {without} of them, {}", litres(plan.uncovered));
        lines.extend(paragraph(model, &text, width, Meaning::Over));
    }
    if let Some(why) = model.state.suspect_words(model.state.vessels.get(id)) {
        lines.extend(paragraph(model, &format!("{label} is suspect: {why}"), width, Meaning::Warning));
    }
    // How its wine differs is said of the barrels that it tops; of one that tops none, of all.
    let its: Vec<Stop> = plan.stops.iter().filter(|stop| stop.from == Some(id)).cloned().collect();
    if let Some(difference) = model.state.difference(id, if its.is_empty() { &plan.stops } else { &its }) {
        let words = difference.words.join(", ");
        let name = |lot: &LotId| model.state.lots.get(*lot).label.to_string();
        let lots = match difference.lots.as_slice() {
            [only] => name(only),
            [first, rest @ ..] => format!("{} and {} more", name(first), rest.len()),
            [] => String::new(),
        };
        lines.extend(paragraph(model, &format!("Not the same {words} as {lots}"), width, Meaning::Over));
    }
    lines
}

fn source_line(model: &Model, id: VesselId) -> String {
    let vessel = model.state.vessels.get(id);
    let (lot, colour) = vessel.lot.map_or_else(Default::default, |lot| {
        let lot = model.state.lots.get(lot);
        (lot.label.to_string(), lot.colour.to_string())
    });
    let now = if model.source() == Some(id) { ", in use now" } else { "" };
    let suspect = if model.state.is_suspect(vessel) { ", suspect" } else { "" };
    let label = left(vessel.label.as_str(), 12, model.looks.marks);
    format!("{label} {:>9}  {colour:<5} {lot}{now}{suspect}", litres(vessel.volume()))
}
