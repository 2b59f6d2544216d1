//! A physical count at the screen: what is there is typed line by line, blind of the book; then it is compared and booked.
//!
//! Every figure is a fact at once, so a count is left, gone on with, undone and merged like all else. Of vessels digits, `mm` and
//! labels are typed; all else is a key, so that a rack, a stack or a row costs one, as in a round.

mod booking;
mod sheet;
mod spot;
mod stretch;

use crate::cellar::bottling::said::Said;
use crate::cellar::counting::Found;
use crate::cellar::counting::booking::Line;
use crate::cellar::counting::keeping::{Count, CountBegun, CountEnded, Scope, ThingCounted};
use crate::cellar::fact::What;
use crate::cellar::label::{Label, Text, is_unsafe};
use crate::cellar::state::{RunId, State};
use crate::tui::command::{Id, Place};
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::update::Wishes;
use crate::tui::work::Then;

pub(super) use self::sheet::{head, line, page};
pub use self::spot::Spot;

/// What is typed at one line is no longer than this.
const LINE_CHARACTERS: usize = 200;
/// Lines that page up and page down go.
const PAGE: isize = 10;

/// What is counted, by its label.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Where {
    /// Every vessel of the cellar.
    Whole,
    /// A room.
    Room(Label),
    /// A store of bottles.
    Store(Label),
}

/// The page of a count.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CountPage {
    /// The count: one that is open, or that begins with the first figure.
    pub count: Label,
    /// What is counted.
    pub what: Where,
    /// The line that is chosen.
    pub chosen: Option<Spot>,
    /// What is typed: what is there, why the book is put right, or which lot it is that was found.
    pub text: String,
    /// Whether the count is compared with the book.
    pub compared: bool,
    /// The line from which on the comparison is shown.
    pub line: usize,
    /// Why the book is put right, where that is said and it is asked which lot it is that was found.
    pub why: Option<Text>,
}

impl Where {
    fn scope(&self, state: &State) -> Option<Scope> {
        match self {
            Where::Whole => Some(Scope::Whole),
            Where::Room(label) => state.rooms.find(label.as_str()).map(Scope::Room),
            Where::Store(label) => state.stores.find(label.as_str()).map(Scope::Store),
        }
    }

    /// What it is called.
    fn name(&self) -> &str {
        match self {
            Where::Whole => "the cellar",
            Where::Room(label) | Where::Store(label) => label.as_str(),
        }
    }
}

impl CountPage {
    /// The lines that are to be counted.
    pub(super) fn lines(&self, state: &State) -> Vec<Line> {
        self.what.scope(state).map_or_else(Vec::new, |scope| state.lines_to_count(scope))
    }

    /// The count, where anything was entered of it.
    pub(super) fn count<'a>(&self, state: &'a State) -> Option<&'a Count> {
        state.counts.by_label(self.count.as_str()).filter(|count| count.ended.is_none())
    }

    /// Whether a line was not counted yet.
    fn is_open(&self, state: &State, line: &Line) -> bool {
        !self.count(state).is_some_and(|count| state.is_counted(count, line))
    }

    /// The lot code that was counted last: bottles of which none is said are of it.
    fn last_code(&self, state: &State) -> Option<(RunId, Option<Label>)> {
        let last = self.count(state)?.bottles.iter().rev().find(|its| its.found > 0)?;
        Some((last.run, last.lot_code.clone()))
    }

    /// The same page in another state of the cellar; none where what is counted is not there.
    pub(super) fn followed(mut self, state: &State) -> Option<CountPage> {
        let scope = self.what.scope(state)?;
        // Another laptop's count of the same scope is gone on with.
        if let Some(open) = state.open_count(scope) {
            self.count = open.label.clone();
        }
        Some(self)
    }

    /// Where the chosen line stands; none where it is not there any more.
    fn at(&self, state: &State, lines: &[Line]) -> Option<usize> {
        self.chosen.as_ref()?.among(state, lines)
    }

    /// Chooses a line by its number; the last where there are not as many.
    fn choose(&mut self, state: &State, lines: &[Line], at: usize) {
        self.chosen = lines.get(at.min(lines.len().saturating_sub(1))).map(|line| Spot::of(state, line));
    }

    /// Where keys are given on it: letters are keys of a count of vessels until a label is typed.
    pub(super) fn place(&self) -> Place {
        let of_vessels = !matches!(self.what, Where::Store(_));
        match self.text.chars().next() {
            _ if self.compared || !of_vessels => Place::Count,
            None => Place::CountStop,
            Some(first) if first.is_ascii_digit() && label_meant(&self.text).is_none() && is_figure(&self.text) => {
                Place::CountFigure
            }
            Some(_) => Place::Count,
        }
    }

    /// Takes characters.
    pub(super) fn type_in(&mut self, text: &str) {
        let room = LINE_CHARACTERS.saturating_sub(self.text.chars().count());
        self.text.extend(text.chars().filter(|c| !is_unsafe(*c)).take(room));
    }
}

impl Model {
    /// What would be counted here: the room, or the whole cellar where a vessel is looked at that lies in no room.
    fn to_count(&self) -> Where {
        let room = self.room().filter(|_| self.aside.is_none());
        room.map_or(Where::Whole, |room| Where::Room(self.state.rooms.get(room).label.clone()))
    }

    /// Why nothing can be counted here, if nothing can.
    #[must_use]
    pub fn why_no_count(&self) -> Option<String> {
        self.why_no_count_of(Some(self.to_count()))
    }

    /// Why something cannot be counted, if it cannot; a store that is not laid out is nothing to count.
    #[must_use]
    pub fn why_no_count_of(&self, what: Option<Where>) -> Option<String> {
        self.why_read_only().or_else(|| {
            let Some(what) = what else {
                let why = "Only a store that is laid out is counted here. Lay one out with a store_laid_out fact.";
                return Some(why.to_owned());
            };
            let none = what.scope(&self.state).is_none_or(|scope| self.state.lines_to_count(scope).is_empty());
            none.then(|| format!("There is nothing to count in {}.", what.name()))
        })
    }

    /// Why there is nothing to compare or to close, if there is nothing.
    #[must_use]
    pub fn why_nothing_counted(&self) -> Option<String> {
        let Mode::Counting(page) = &self.mode else { return None };
        page.count(&self.state).is_none().then(|| "Nothing is counted yet. Type what is there.".to_owned())
    }
}

/// Whether a text is a figure so far: litres, or a dip in millimetres.
fn is_figure(text: &str) -> bool {
    text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | ' ' | 'm' | 'c' | 'L' | 'l'))
}

/// Opens the count of what is here.
pub(super) fn open_here(model: &mut Model) {
    let what = model.to_count();
    open(model, Some(what));
}

/// Opens the count of something: the one that is open, else a new one.
pub(super) fn open(model: &mut Model, what: Option<Where>) {
    let Some((what, scope)) = what.and_then(|what| Some((what.clone(), what.scope(&model.state)?))) else {
        return;
    };
    let is_taken = |label: &str| model.state.counts.find(label).is_some();
    let begun = model.state.open_count(scope).map(|count| count.label.clone());
    let label = begun.clone().or_else(|| Label::dated(&format!("count {}", what.name()), model.now, is_taken));
    let Some(count) = label else {
        return model.say("Too many counts were begun today to name another one.", Tone::Refused);
    };
    let mut page = CountPage { count, what, chosen: None, text: String::new(), compared: false, line: 0, why: None };
    let lines = page.lines(&model.state);
    let first = lines.iter().position(|line| page.is_open(&model.state, line));
    page.choose(&model.state, &lines, first.unwrap_or(0));
    let text = match page.what {
        _ if begun.is_some() => "This count is under way: go on where it stopped.",
        Where::Store(_) => "Type a lot code and how many bottles lie there, or empty. The book is not shown.",
        _ => {
            "Space: full, as it should be. Type what else is there: litres, 0, or a dip like 30 mm. The book is not shown."
        }
    };
    model.mode = Mode::Counting(page);
    model.say(text, Tone::Notice);
}

/// Carries out a command that means something else in a count than elsewhere, or is given there alone; none where it is
/// no such one.
pub(super) fn carry_out(model: &mut Model, id: Id) -> Option<Wishes> {
    let Mode::Counting(page) = &mut model.mode else { return None };
    match id {
        Id::GlassBefore | Id::GlassAfter | Id::PlanUp | Id::PlanDown if page.compared => scroll(model, id),
        Id::GlassBefore => step(model, -1),
        Id::GlassAfter => step(model, 1),
        Id::PlanUp => step(model, -PAGE),
        Id::PlanDown => step(model, PAGE),
        Id::EraseWord => drop(page.text.pop()),
        Id::CompareCount => {
            page.compared = !page.compared;
            (page.why, page.line) = (None, 0);
            page.text.clear();
        }
        Id::CloseCount => return Some(close(model)),
        Id::Choose => return Some(take(model)),
        Id::CountFull => return Some(stretch::count_full(model)),
        Id::CountRack | Id::CountStack | Id::CountRow => return Some(stretch::count_stretch(model, id)),
        Id::Back if !page.text.is_empty() => page.text.clear(),
        Id::Back if page.why.is_some() => page.text = page.why.take().map_or_else(String::new, |why| why.to_string()),
        Id::Back if page.compared => page.compared = false,
        Id::Back => {
            let text = format!("'{}' stays open: the same key goes on with it.", page.count);
            let begun = model.why_nothing_counted().is_none();
            model.mode = Mode::Floor;
            if begun {
                model.say(text, Tone::Notice);
            }
        }
        _ => return None,
    }
    Some(Vec::new())
}

fn scroll(model: &mut Model, id: Id) {
    match id {
        Id::GlassBefore => model.scroll(|line| line.saturating_sub(1)),
        Id::GlassAfter => model.scroll(|line| line.saturating_add(1)),
        Id::PlanUp => model.scroll_half_a_page(usize::saturating_sub),
        _ => model.scroll_half_a_page(usize::saturating_add),
    }
}

fn step(model: &mut Model, by: isize) {
    let Mode::Counting(page) = &mut model.mode else { return };
    let lines = page.lines(&model.state);
    let to = page.at(&model.state, &lines).map_or(0, |at| at.saturating_add_signed(by));
    page.choose(&model.state, &lines, to);
}

/// Says that what was chosen is not there any more. Nothing else is taken for it.
fn say_gone(model: &mut Model, page: &CountPage) -> Wishes {
    let gone = page.chosen.as_ref().map_or("What was chosen", |spot| spot.name().as_str());
    let text = format!("{gone} is not to be counted here any more. Choose another line.");
    model.say(text, Tone::Refused);
    Vec::new()
}

/// Enter: takes what is typed; with nothing typed it goes on to what is not counted; where the count is compared it books.
fn take(model: &mut Model) -> Wishes {
    let Mode::Counting(page) = model.mode.clone() else { return Vec::new() };
    if page.compared {
        return booking::book(model, page);
    }
    let text = page.text.trim();
    let lines = page.lines(&model.state);
    if let Some(vessel) = label_meant(text) {
        return go_to(model, &lines, vessel);
    }
    let Some(line) = page.at(&model.state, &lines).and_then(|at| lines.get(at)) else {
        return say_gone(model, &page);
    };
    if text.is_empty() {
        go_on(model);
        return Vec::new();
    }
    match counted(&model.state, &page, line) {
        Ok(counted) => {
            let say = said(&counted);
            let begun = page.count(&model.state).is_none().then(|| What::CountBegun(Box::new(begun(&page))));
            let whats = begun.into_iter().chain([What::ThingCounted(Box::new(counted))]).collect();
            model.enter(whats, say, Then::GoOn)
        }
        Err(why) => {
            model.say(why, Tone::Refused);
            Vec::new()
        }
    }
}

fn begun(page: &CountPage) -> CountBegun {
    let (room, store) = match &page.what {
        Where::Whole => (None, None),
        Where::Room(label) => (Some(label.clone()), None),
        Where::Store(label) => (None, Some(label.clone())),
    };
    CountBegun { count: page.count.clone(), room, store }
}

/// What was counted, as it is told.
fn said(counted: &ThingCounted) -> String {
    let of = counted.lot_code.as_ref().or(counted.run.as_ref());
    match (of, counted.bottles, counted.vessel.as_ref().or(counted.place.as_ref())) {
        (Some(code), Some(bottles), Some(place)) => format!("{place} is counted: {bottles} of {code}."),
        (None, Some(_), Some(place)) => format!("{place} is counted: empty."),
        (_, _, Some(thing)) => format!("{thing} is counted."),
        (_, _, None) => format!("{} is counted.", counted.count),
    }
}

/// What a line of a count says. Bottles of no lot code that is said are of the one that was counted last, never of one that
/// lies there on paper.
fn counted(state: &State, page: &CountPage, line: &Line) -> Result<ThingCounted, String> {
    let text = page.text.trim();
    let place = match line {
        Line::Vessel(id) => {
            let vessel = state.vessels.get(*id);
            let found = Found::read(text, vessel).map_err(|error| error.to_string())?;
            return Ok(ThingCounted::of_vessel(page.count.clone(), vessel.label.clone(), found));
        }
        Line::Bottles { place, .. } | Line::Bin(place) => place,
    };
    if text.eq_ignore_ascii_case("empty") {
        return Ok(ThingCounted::of_empty_bin(page.count.clone(), place.clone()));
    }
    let said = Said::read(text, state).map_err(|error| error.to_string())?;
    if !said.words.is_empty() {
        return Err(format!(
            "No lot code is called '{}'. Write it as it stands on the bottles, then how many.",
            said.words.join(" ")
        ));
    }
    let bottles = said.bottles;
    let bottles = bottles.ok_or_else(|| format!("Say how many bottles lie in {place}: a number, or empty."))?;
    match said.of.map(|of| (of.run, of.lot_code)) {
        None if bottles == 0 => Ok(ThingCounted::of_empty_bin(page.count.clone(), place.clone())),
        of => match of.or_else(|| page.last_code(state)) {
            Some((run, lot_code)) => {
                let run = state.runs.get(run).label.clone();
                Ok(ThingCounted::of_bottles(page.count.clone(), run, lot_code, place.clone(), bottles))
            }
            None => Err(format!("Say which lot code lies in {place} as well, for example L2601 {bottles}.")),
        },
    }
}

/// A label: what begins with a nought and another figure, or with a capital. Else figures are what is there.
fn label_meant(text: &str) -> Option<&str> {
    let nought = text.strip_prefix('0').is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
    let one_word = !text.contains(char::is_whitespace);
    (one_word && (nought || text.starts_with(char::is_uppercase))).then_some(text)
}

/// Goes to a vessel or a bin of the count.
fn go_to(model: &mut Model, lines: &[Line], label: &str) -> Wishes {
    let within =
        |place: &Label| place.as_str() == label || place.as_str().split_once('/').is_some_and(|(_, bin)| bin == label);
    let found = lines.iter().position(|line| match line {
        Line::Vessel(id) => model.state.vessels.get(*id).label.as_str() == label,
        Line::Bottles { place, .. } | Line::Bin(place) => within(place),
    });
    let known = model.state.vessels.find(label).is_some();
    let Mode::Counting(page) = &mut model.mode else { return Vec::new() };
    match found {
        Some(found) => {
            page.choose(&model.state, lines, found);
            page.text.clear();
        }
        None if known => {
            let text = format!("{label} does not lie in {}. Count it where it lies.", page.what.name());
            model.say(text, Tone::Refused);
        }
        None => {
            let text = format!("Nothing is called '{label}' here. Check the label, or register the vessel.");
            model.say(text, Tone::Refused);
        }
    }
    Vec::new()
}

/// Goes on to the next line that is not counted, from the last to the first; where all are, to the comparison.
fn go_on(model: &mut Model) {
    let Mode::Counting(page) = &mut model.mode else { return };
    let lines = page.lines(&model.state);
    let open = |at: &usize| page.is_open(&model.state, &lines[*at]);
    let after = page.at(&model.state, &lines).map_or(0, |at| at + 1);
    let next = (after..lines.len()).chain(0..after.min(lines.len())).find(open);
    if let Some(next) = next {
        page.choose(&model.state, &lines, next);
    } else {
        (page.compared, page.line) = (true, 0);
        model.say_also("Everything here is counted.", Tone::Done);
    }
}

/// Closes the count and books nothing.
fn close(model: &mut Model) -> Wishes {
    let Mode::Counting(page) = &model.mode else { return Vec::new() };
    let why = Text::new(page.text.trim()).ok().filter(|why| page.compared && !why.as_str().is_empty());
    let ended = CountEnded { count: page.count.clone(), why };
    let say = format!("'{}' is closed; nothing was booked.", page.count);
    model.enter(vec![What::CountEnded(ended)], say, Then::Stay)
}

/// Goes on once something is stored: to the next line, or to what was taken back.
pub(super) fn stored(model: &mut Model, page: CountPage, then: &Then) {
    let was_open = page.count(&model.state).is_some();
    if !was_open && *then == Then::Stay {
        return;
    }
    let Some(mut page) = page.followed(&model.state) else { return };
    page.text.clear();
    if let Then::To(label) = then {
        let spot = Spot::Vessel(label.clone());
        if spot.among(&model.state, &page.lines(&model.state)).is_some() {
            page.chosen = Some(spot);
        }
        page.compared = false;
    }
    model.mode = Mode::Counting(page);
    if *then == Then::GoOn {
        go_on(model);
    }
}
