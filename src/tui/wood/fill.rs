//! The page of a barrel-down: wishes are written a line each, the barrels are searched for apart, and the work is begun.

mod asked;
mod search;
mod sheet;

use std::sync::Arc;

use ratatui::text::Line;

use crate::cellar::core::label::{LABEL_CHARACTERS, Label, TEXT_CHARACTERS, is_unsafe};
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::views::wood::fill::{FillPlan, PreparedFill};
use crate::told::hazard::Caution;
use crate::tui::core::finding::{Finding, Told};
use crate::tui::core::frame;
use crate::tui::core::line::Manner;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn};
use crate::tui::core::sense::Sense;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Answer;
use crate::tui::floor::works;

use self::asked::{Asked, AskedError};

/// The most characters of a line.
const LINE_CHARACTERS: usize = 80;
/// So many lines of the screen are none of the page's own, and so many stand above what is written at most.
const AROUND: usize = 4;
/// The most lines: more wishes than a plan takes.
const MOST_LINES: usize = 40;

/// Filling barrels from a tank, on the screen.
#[derive(Clone, Debug)]
pub struct FillPage {
    /// The vessel that is emptied.
    pub tank: Label,
    /// What is asked, a line each. One is never missing.
    pub lines: Vec<String>,
    /// The line that is written on.
    pub chosen: usize,
    /// What the search was asked, as it was written.
    pub asked: Vec<String>,
    /// The search that was asked for last.
    finding: Finding<FillPlan>,
    /// How far it has come.
    pub found: Found,
    /// The label of the work, while it is asked.
    pub name: Option<String>,
    /// Whether the barrels were chosen anew while that label was asked: then they are to be looked at first.
    pub anew: bool,
    /// From which line on the page is shown.
    pub line: usize,
}

/// How far a search has come.
#[derive(Clone, Debug, PartialEq)]
pub enum Found {
    /// It is to be asked again: the cellar is another one than when it was asked.
    Stale,
    /// Nothing is searched, for this reason.
    Refused(String),
    /// The search goes on, with the best so far.
    Working(Arc<PreparedFill>, Option<Box<FillPlan>>),
    /// The search has ended.
    Plan(Arc<PreparedFill>, Box<FillPlan>),
}

impl FillPage {
    fn new(tank: Label) -> FillPage {
        FillPage {
            tank,
            lines: vec![String::new()],
            chosen: 0,
            asked: Vec::new(),
            finding: Finding::default(),
            found: Found::Stale,
            name: None,
            anew: false,
            line: 0,
        }
    }

    /// What is written, without empty lines.
    fn wishes(&self) -> Vec<String> {
        self.lines.iter().map(|line| line.trim().to_owned()).filter(|line| !line.is_empty()).collect()
    }

    /// Whether something is written that was not asked yet.
    fn is_changed(&self) -> bool {
        self.wishes() != self.asked
    }

    /// The plan that is shown: what was found, or the best so far.
    fn plan(&self) -> Option<&FillPlan> {
        match &self.found {
            Found::Plan(_, plan) => Some(plan),
            Found::Working(_, best) => best.as_deref(),
            Found::Stale | Found::Refused(_) => None,
        }
    }

    fn prepared(&self) -> Option<&PreparedFill> {
        match &self.found {
            Found::Plan(prepared, _) | Found::Working(prepared, _) => Some(prepared),
            Found::Stale | Found::Refused(_) => None,
        }
    }

    /// Takes characters, or a paste whose line breaks begin new lines.
    fn write(&mut self, text: &str) {
        for character in text.chars() {
            match &mut self.name {
                Some(name) if !is_unsafe(character) && name.chars().count() < LABEL_CHARACTERS => name.push(character),
                Some(_) => {}
                None if character == '\n' => self.new_line(),
                None => {
                    let line = &mut self.lines[self.chosen];
                    if !is_unsafe(character) && line.chars().count() < LINE_CHARACTERS {
                        line.push(character);
                    }
                }
            }
        }
    }

    /// What is written must be seen.
    fn keep_in_sight(&mut self, model: &Model) {
        let taken = AROUND + frame::caution_height(model, self);
        let height = usize::from(model.size.height).saturating_sub(taken);
        self.line = (self.chosen + AROUND).saturating_sub(height);
    }

    /// Goes to an empty line at the end.
    fn new_line(&mut self) {
        let last_is_empty = self.lines.last().is_some_and(|line| line.trim().is_empty());
        if !last_is_empty && self.lines.len() < MOST_LINES {
            self.lines.push(String::new());
        }
        self.chosen = self.lines.len() - 1;
    }
}

/// The vessels that barrels can be filled from: the chosen one where it is no barrel, else every tank that holds wine.
pub(in crate::tui) fn tanks(model: &Model) -> Vec<VesselId> {
    let state = &model.state;
    let holds = |id: VesselId| !state.vessels.get(id).wine.is_empty() && state.vessels.get(id).retired.is_none();
    let chosen = model.chosen().filter(|&id| state.vessels.get(id).vessel_type != VesselType::Barrel);
    if let Some(tank) = chosen.filter(|&id| holds(id)) {
        return vec![tank];
    }
    let tanks = state.vessels.iter().filter(|(_, vessel)| vessel.vessel_type == VesselType::Tank);
    tanks.map(|(id, _)| id).filter(|&id| holds(id)).collect()
}

/// The lots that lie in barrels, by label.
fn patterns(state: &State) -> Vec<&Label> {
    let barrels = state.vessels.iter().map(|(_, vessel)| vessel).filter(|it| it.vessel_type == VesselType::Barrel);
    let mut lots: Vec<&Label> = barrels.filter_map(|it| it.lot).map(|lot| &state.lots.get(lot).label).collect();
    lots.sort_unstable();
    lots.dedup();
    lots
}

/// Opens the page for a tank, and asks for barrels without any wish.
pub(in crate::tui) fn open(model: &mut Model, tank: VesselId) -> Wishes {
    let mut page = FillPage::new(model.state.vessels.get(tank).label.clone());
    let wishes = page.ask(model);
    model.open(page);
    wishes
}

impl Table for FillPage {
    const ABOUT: About = About {
        name: "Filling barrels from a tank",
        purpose: "Chooses empty barrels for the wine of a tank by what is wished of their wood, a wish a line: new>=30%, \
                  forest:Allier=50%, cooper:NAME<=900L, seasoning:24+>=40%; or 12 barrels, 2500 L, in ROOM, into LOT, as in LOT.\n\
                  Enter searches for what is newly written, then asks what the work is to be called, then begins it. esc stops a \
                  search with the best so far, then goes back. An empty line is taken away by backspace.",
        opens: Opens::From("at a tank, d on the floor lists it"),
    };
    const ROWS: &'static [Row<FillPage>] = &[Row::new(
        Sense::OtherSide,
        "As in another lot",
        "Writes the next lot that lies in barrels as the pattern; enter writes its mix out as wishes.",
        |page: &mut FillPage, model| {
            page.next_pattern(model);
            Turn::stay()
        },
    )
    .word(|_, _| Some("as in".to_owned()))
    .unless(|_, model| {
        let none = patterns(&model.state).is_empty();
        none.then(|| "No lot lies in barrels whose mix could be taken.".to_owned())
    })];
}

impl FillPage {
    /// Puts what is written to a search of its own.
    fn ask(&mut self, model: &mut Model) -> Wishes {
        self.name = None;
        self.asked = self.wishes();
        let prepared = Asked::read(&model.state, &self.lines).and_then(|(asked, lines)| {
            self.lines = lines;
            self.asked = self.wishes();
            Ok(Arc::new(model.state.prepare_fill(asked.of(&model.state, &self.tank)?)?))
        });
        let wishes = match prepared {
            Ok(prepared) => {
                self.new_line();
                self.found = Found::Working(Arc::clone(&prepared), None);
                self.finding.ask(model, search::of(prepared))
            }
            Err(error) => {
                if let AskedError::Line(at, _) = error {
                    self.chosen = at;
                }
                self.found = Found::Refused(error.told(&model.state));
                // What an earlier search finds is not wanted any more.
                std::mem::take(&mut self.finding).stop()
            }
        };
        self.keep_in_sight(model);
        wishes
    }

    /// Proposes a label for the work.
    fn propose_name(&mut self, model: &mut Model) -> Wishes {
        if let Some(why) = model.why_read_only() {
            return model.refuse(why);
        }
        let lot = self.prepared().and_then(|plan| plan.into.or(model.state.vessels.get(plan.tank).lot));
        let what = lot.map_or(&self.tank, |lot| &model.state.lots.get(lot).label);
        let label = model.state.new_work_label(&format!("fill {what}"), model.now);
        self.name = Some(label.map_or_else(String::new, |label| label.to_string()));
        // What is only proposed is marked.
        model.marked.on = true;
        Vec::new()
    }

    /// Begins the work under the label that is written.
    fn begin(&mut self, model: &mut Model) -> Wishes {
        let (Found::Plan(prepared, plan), Some(name)) = (&self.found, &self.name) else {
            let why = match &self.found {
                Found::Refused(why) => why.clone(),
                _ => "The cellar has changed, and the barrels are chosen anew. One moment.".to_owned(),
            };
            return model.refuse(why);
        };
        if self.anew {
            let text =
                "Another program entered facts, so the barrels were chosen anew. Look at them; enter again begins.";
            model.say(text, Tone::Notice);
            self.anew = false;
            return Vec::new();
        }
        match Label::new(name.trim()) {
            Ok(label) => works::begin(model, Ok(plan.begin(prepared, &model.state, label))),
            Err(error) => model.refuse(error.to_string()),
        }
    }

    /// Writes the next lot that lies in barrels as the pattern, on the line that is written or on a new one.
    fn next_pattern(&mut self, model: &Model) {
        let lots = patterns(&model.state);
        let before = asked::pattern(&self.lines[self.chosen]);
        let at = before.and_then(|before| lots.iter().position(|lot| lot.as_str() == before));
        let next = at.map_or(0, |at| (at + 1) % lots.len());
        if before.is_none() && !self.lines[self.chosen].trim().is_empty() {
            self.new_line();
        }
        if let Some(lot) = lots.get(next) {
            self.lines[self.chosen] = asked::as_in(lot);
        }
        self.keep_in_sight(model);
    }
}

impl Page for FillPage {
    fn title(&self, _model: &Model) -> String {
        format!("Fill barrels from {}", self.tank)
    }

    fn caution(&self, model: &Model) -> Caution {
        Caution::of_filling(&model.state, self.plan().map_or(&[], |plan| &plan.barrels))
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        sheet::lines(model, self, width)
    }

    fn asks(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        self.name.iter().map(|name| sheet::name_line(model, name, width)).collect()
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.line)
    }

    /// Up and down go from line to line of what is asked; else the page is scrolled.
    fn go(&mut self, model: &mut Model, go: Go, last: usize) -> Turn {
        let half = model.half_screen();
        if matches!(go, Go::Up | Go::Down) {
            self.chosen = go.line(self.chosen, self.lines.len() - 1, half);
            self.keep_in_sight(model);
        } else {
            self.line = go.line(self.line, last, half);
        }
        Turn::stay()
    }

    fn takes_lines(&self) -> bool {
        self.name.is_none()
    }

    fn type_in(&mut self, model: &mut Model, text: &str) -> Turn {
        self.write(text);
        self.keep_in_sight(model);
        Turn::stay()
    }

    fn rewritten(&mut self, model: &mut Model) {
        self.keep_in_sight(model);
    }

    fn erase_line(&mut self) -> bool {
        let is_more = self.name.is_none() && self.lines.len() > 1;
        if is_more {
            self.lines.remove(self.chosen);
            self.chosen = self.chosen.saturating_sub(1);
        }
        is_more
    }

    fn written(&self) -> Option<&str> {
        self.name.as_deref().or_else(|| self.lines.get(self.chosen).map(String::as_str))
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        self.name.as_mut().or_else(|| self.lines.get_mut(self.chosen))
    }

    /// On the lines up goes to the one before.
    fn manner(&self) -> Manner {
        if self.name.is_some() { Manner::ALONE } else { Manner::over_list(TEXT_CHARACTERS) }
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        let begins = self.name.is_some() || (matches!(self.found, Found::Plan(..)) && !self.is_changed());
        Some(if begins { "begin" } else { "search" }.to_owned())
    }

    /// Searches for what is newly written, then asks for the work's label, then begins it.
    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if self.name.is_some() {
            return Some(self.begin(model).into());
        }
        if self.is_changed() {
            return Some(self.ask(model).into());
        }
        match &self.found {
            Found::Plan(..) => return Some(self.propose_name(model).into()),
            Found::Working(..) => model.say("The search goes on. esc stops it with the best so far.", Tone::Notice),
            Found::Refused(why) => model.say(why.clone(), Tone::Refused),
            Found::Stale => {}
        }
        Some(Turn::stay())
    }

    fn esc_word(&self, _model: &Model) -> Option<String> {
        Some(if matches!(self.found, Found::Working(..)) { "stop" } else { "back" }.to_owned())
    }

    /// Puts the label away, stops the search, or goes back.
    fn esc(&mut self, _model: &mut Model) -> Turn {
        if self.name.take().is_some() {
            return Turn::stay();
        }
        if matches!(self.found, Found::Working(..)) {
            return self.finding.stop().into();
        }
        Turn::back()
    }

    fn stored(&mut self, _model: &mut Model, then: Then) -> Turn {
        Turn::to_floor_and_stored(then)
    }

    /// Shows the best so far, and what the search came to in the end.
    fn answered(&mut self, _model: &mut Model, answer: &Answer) -> Option<Turn> {
        let told = self.finding.answer(answer)?;
        let Found::Working(prepared, best) = &mut self.found else { return None };
        match told {
            Told::SoFar(plan) => *best = Some(Box::new(plan.clone())),
            Told::Found(plan) => self.found = Found::Plan(Arc::clone(prepared), Box::new(plan.clone())),
            Told::Nothing(why) => self.found = Found::Refused(why.to_owned()),
        }
        Some(Turn::stay())
    }

    /// What is written stays as it stands; the barrels are chosen anew.
    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        if model.state.vessels.find(self.tank.as_str()).is_none() {
            return Followed::Gone(self.tank.to_string());
        }
        (self.found, self.anew) = (Found::Stale, self.name.is_some());
        Followed::There
    }

    /// Asks once more what was asked, where the cellar has become another one. What is being written stays as it stands.
    fn wants(&mut self, model: &mut Model) -> Wishes {
        if self.found != Found::Stale {
            return Vec::new();
        }
        let (lines, chosen, name, line) = (self.lines.clone(), self.chosen, self.name.clone(), self.line);
        self.lines.clone_from(&self.asked);
        let wishes = self.ask(model);
        (self.lines, self.chosen, self.name, self.line) = (lines, chosen, name, line);
        wishes
    }
}
