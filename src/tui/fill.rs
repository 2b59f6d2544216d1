//! The page of a barrel-down: wishes are written a line each, the barrels are searched for apart, and the work is begun.

mod asked;
mod search;
mod sheet;

use std::sync::Arc;

use crate::cellar::fact::What;
use crate::cellar::fill::{FillPlan, PreparedFill};
use crate::cellar::label::{LABEL_CHARACTERS, Label, is_unsafe};
use crate::cellar::state::{State, VesselId};
use crate::cellar::vessel::VesselType;
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::screen::Effect;
use crate::tui::update::Wishes;
use crate::tui::work::{Then, Work};

use self::asked::{Asked, AskedError};
pub(super) use self::search::Searching;
pub(super) use self::sheet::{name_line, page};

/// The most characters of a line.
const LINE_CHARACTERS: usize = 80;
/// The most lines: more wishes than a plan takes.
const MOST_LINES: usize = 40;

/// Filling barrels from a tank, on the screen.
#[derive(Clone, Debug, PartialEq)]
pub struct FillPage {
    /// Which search was asked for last: what comes of an earlier one is not shown.
    pub number: u32,
    /// The vessel that is emptied.
    pub tank: Label,
    /// What is asked, a line each. One is never missing.
    pub lines: Vec<String>,
    /// The line that is written on.
    pub chosen: usize,
    /// What the search was asked, as it was written.
    pub asked: Vec<String>,
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
            number: 0,
            tank,
            lines: vec![String::new()],
            chosen: 0,
            asked: Vec::new(),
            found: Found::Stale,
            name: None,
            anew: false,
            line: 0,
        }
    }

    /// The same page in another state of the cellar; none where the tank is not there. What is written stays.
    pub(super) fn followed(mut self, state: &State) -> Option<FillPage> {
        self.found = Found::Stale;
        self.anew = self.name.is_some();
        state.vessels.find(self.tank.as_str()).map(|_| self)
    }

    /// What is written, without empty lines.
    fn written(&self) -> Vec<String> {
        self.lines.iter().map(|line| line.trim().to_owned()).filter(|line| !line.is_empty()).collect()
    }

    /// Whether something is written that was not asked yet.
    fn is_changed(&self) -> bool {
        self.written() != self.asked
    }

    /// What enter does, in a word for the bottom line.
    pub(super) fn enter_word(&self) -> &'static str {
        match self.found {
            _ if self.name.is_some() => "begin",
            Found::Plan(..) if !self.is_changed() => "begin",
            _ => "search",
        }
    }

    /// What escape does, in a word for the bottom line.
    pub(super) fn escape_word(&self) -> &'static str {
        if matches!(self.found, Found::Working(..)) { "stop" } else { "back" }
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
    pub(super) fn type_in(&mut self, text: &str) {
        self.line = 0;
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

    /// Takes back a character; an empty line goes away.
    pub(super) fn erase(&mut self) {
        if let Some(name) = &mut self.name {
            name.pop();
            return;
        }
        self.line = 0;
        if self.lines[self.chosen].pop().is_none() && self.lines.len() > 1 {
            self.lines.remove(self.chosen);
            self.chosen = self.chosen.saturating_sub(1);
        }
    }

    /// Goes to another line.
    pub(super) fn step(&mut self, by: isize) {
        self.line = 0;
        self.chosen = self.chosen.saturating_add_signed(by).min(self.lines.len() - 1);
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

impl Model {
    /// Why no lot can be taken as a pattern, if none can.
    #[must_use]
    pub fn why_no_pattern(&self) -> Option<String> {
        let none = patterns(&self.state).is_empty();
        none.then(|| "No lot lies in barrels whose mix could be taken.".to_owned())
    }
}

/// The vessels that barrels can be filled from: the chosen one where it is no barrel, else every tank that holds wine.
pub(super) fn tanks(model: &Model) -> Vec<VesselId> {
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
pub(super) fn open(model: &mut Model, tank: VesselId) -> Wishes {
    let page = FillPage::new(model.state.vessels.get(tank).label.clone());
    ask(model, page)
}

/// Puts what is written to a search of its own.
fn ask(model: &mut Model, mut page: FillPage) -> Wishes {
    page.name = None;
    page.asked = page.written();
    // What an earlier search finds is not wanted any more, whatever becomes of this one.
    model.pictures = model.pictures.wrapping_add(1);
    page.number = model.pictures;
    let prepared = Asked::read(&model.state, &page.lines).and_then(|(asked, lines)| {
        page.lines = lines;
        page.asked = page.written();
        Ok(Arc::new(model.state.prepare_fill(asked.of(&model.state, &page.tank)?)?))
    });
    let work = match prepared {
        Ok(prepared) => {
            page.new_line();
            page.found = Found::Working(Arc::clone(&prepared), None);
            Work::Fill { number: page.number, prepared }
        }
        Err(error) => {
            if let AskedError::Line(at, _) = error {
                page.chosen = at;
            }
            page.found = Found::Refused(error.to_string());
            Work::StopFill
        }
    };
    model.mode = Mode::Fill(page);
    vec![Effect::Work(work)]
}

/// Asks once more what was asked, where the cellar has become another one. What is being written stays as it stands.
pub(super) fn ask_if_stale(model: &mut Model) -> Wishes {
    match &model.mode {
        Mode::Fill(page) if page.found == Found::Stale => {
            let FillPage { lines, chosen, name, line, .. } = page.clone();
            let asked = FillPage { lines: page.asked.clone(), ..page.clone() };
            let wishes = ask(model, asked);
            if let Mode::Fill(page) = &mut model.mode {
                (page.lines, page.chosen, page.name, page.line) = (lines, chosen, name, line);
            }
            wishes
        }
        _ => Vec::new(),
    }
}

/// Enter: searches for what is newly written, then asks for the work's label, then begins it.
pub(super) fn enter(model: &mut Model, page: FillPage) -> Wishes {
    if page.name.is_some() {
        return begin(model, &page);
    }
    if page.is_changed() {
        return ask(model, page);
    }
    match &page.found {
        Found::Plan(..) => name(model, page),
        Found::Working(..) => {
            model.say("The search goes on. esc stops it with the best so far.", Tone::Notice);
            Vec::new()
        }
        Found::Refused(why) => {
            model.say(why.clone(), Tone::Refused);
            Vec::new()
        }
        Found::Stale => Vec::new(),
    }
}

/// Escape: puts the label away, stops the search, or goes back to the floor.
pub(super) fn leave(model: &mut Model) -> Wishes {
    let Mode::Fill(page) = &mut model.mode else { return Vec::new() };
    if page.name.take().is_some() {
        return Vec::new();
    }
    if matches!(page.found, Found::Working(..)) {
        return vec![Effect::Work(Work::StopFill)];
    }
    model.mode = Mode::Floor;
    Vec::new()
}

/// Proposes a label for the work.
fn name(model: &mut Model, mut page: FillPage) -> Wishes {
    if let Some(why) = model.why_read_only() {
        model.say(why, Tone::Refused);
        return Vec::new();
    }
    let lot = page.prepared().and_then(|plan| plan.into.or(model.state.vessels.get(plan.tank).lot));
    let what = lot.map_or(&page.tank, |lot| &model.state.lots.get(lot).label);
    let label = model.state.new_work_label(&format!("fill {what}"), model.now);
    page.name = Some(label.map_or_else(String::new, |label| label.to_string()));
    model.mode = Mode::Fill(page);
    model.mark_line();
    Vec::new()
}

/// Begins the work under the label that is written.
fn begin(model: &mut Model, page: &FillPage) -> Wishes {
    let (Found::Plan(prepared, plan), Some(name)) = (&page.found, &page.name) else {
        let why = match &page.found {
            Found::Refused(why) => why.clone(),
            _ => "The cellar has changed, and the barrels are chosen anew. One moment.".to_owned(),
        };
        model.say(why, Tone::Refused);
        return Vec::new();
    };
    if page.anew {
        let text = "Another program entered facts, so the barrels were chosen anew. Look at them; enter again begins.";
        model.say(text, Tone::Notice);
        if let Mode::Fill(page) = &mut model.mode {
            page.anew = false;
        }
        return Vec::new();
    }
    match Label::new(name.trim()) {
        Ok(label) => {
            let set = plan.begin(prepared, &model.state, label.clone());
            let say = format!("The work {label} has begun.");
            model.enter(vec![What::WorkSet(Box::new(set))], say, Then::TakeUp(label))
        }
        Err(error) => {
            model.say(error.to_string(), Tone::Refused);
            Vec::new()
        }
    }
}

/// Writes the next lot that lies in barrels as the pattern, on the line that is written or on a new one.
pub(super) fn next_pattern(model: &mut Model) {
    let Mode::Fill(page) = &mut model.mode else { return };
    let lots = patterns(&model.state);
    let before = asked::pattern(&page.lines[page.chosen]);
    let at = before.and_then(|before| lots.iter().position(|lot| lot.as_str() == before));
    let next = at.map_or(0, |at| (at + 1) % lots.len());
    if before.is_none() && !page.lines[page.chosen].trim().is_empty() {
        page.new_line();
    }
    if let Some(lot) = lots.get(next) {
        page.line = 0;
        page.lines[page.chosen] = asked::as_in(lot);
    }
}

/// Shows the best so far. Where its page is not open any more it comes too late and is dropped.
pub(super) fn show_best(model: &mut Model, number: u32, plan: FillPlan) {
    let Mode::Fill(page) = &mut model.mode else { return };
    if let Found::Working(_, best) = &mut page.found
        && page.number == number
    {
        *best = Some(Box::new(plan));
    }
}

/// Shows what the search came to. Where its page is not open any more it comes too late and is dropped.
pub(super) fn show(model: &mut Model, number: u32, told: Result<FillPlan, String>) {
    let Mode::Fill(page) = &mut model.mode else { return };
    if let Found::Working(prepared, _) = &page.found
        && page.number == number
    {
        page.found = match told {
            Ok(plan) => Found::Plan(Arc::clone(prepared), Box::new(plan)),
            Err(why) => Found::Refused(why),
        };
    }
}
