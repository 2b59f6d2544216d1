//! A physical count at the screen: what is there is typed line by line, blind of the book; then it is compared and booked.
//!
//! Every figure is a fact at once, so a count is left, gone on with, undone and merged like all else. Of vessels digits, `mm` and
//! labels are typed; all else is a key, so that a rack, a stack or a row costs one, as in a round.
//!
//! **While one counts nothing else is drawn**: a card beside the page would tell the book.

mod booking;
mod closing;
mod sheet;
mod spot;
mod stretch;

use ratatui::text::Line as TextLine;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::state::{RunId, State};
use crate::cellar::jobs::books::counting::Found;
use crate::cellar::jobs::books::counting::booking::Line;
use crate::cellar::jobs::books::counting::keeping::{Count, CountBegun, Scope, ThingCounted};
use crate::cellar::jobs::bottles::bottling::said::Said;
use crate::desk::Undone;
use crate::told::hazard::Caution;
use crate::told::meant::{labels, meant};
use crate::tui::core::line::Manner;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::core::text::begins_typing;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::topping::rounds;

pub use self::closing::Closing;
pub use self::spot::Spot;

/// What is typed at one line is no longer than this.
const LINE_CHARACTERS: usize = 200;
/// Lines that page up and page down go.
const PAGE: usize = 10;

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

/// A word of the bottom line where letters are keys, or a figure is typed.
macro_rules! word {
    ($word:literal) => {
        |page: &CountPage, _| (page.taking() != Taking::Words).then(|| $word.to_owned())
    };
}

impl Table for CountPage {
    const ABOUT: About = About {
        name: "A count of what is here",
        purpose: "A physical count, blind of the book: a line a vessel or a bin. Of vessels digits, mm and labels are typed, all else is a \
                  key, so that a rack, a stack or a row costs one; space says as it should be. Of bottles words are typed: L2601 399, or empty.\n\
                  Every figure is stored at once: the count is left and gone on with, on another laptop too. Tab compares it with the book; \
                  there a reason is written, and enter books what differs and closes the count.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "Count what is here",
            help: "Begins the physical count of this room or goes on with it; for a vessel at no place, of the whole cellar.",
            also: &["inventory", "stocktake"],
            why_not: Model::why_no_count,
            open: open_here,
        }]),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<CountPage>] = &[
        Row::new(Sense::Done, "As it should be", "Counts this vessel as full, as it should be.", |page: &mut CountPage, model| stretch::count_full(page, model).into()).word(|page: &CountPage, _| page.has_keys().then(|| "as it should be".to_owned())).unless(CountPage::why_no_vessel),
        Row::new(Sense::Rack, "The rest of this rack", "Counts what is left of this rack as full, or as holding what is typed: 0 where all are empty.", |page: &mut CountPage, model| page.stretch(model, (rounds::rack, "rack"))).word(word!("rack")).unless(CountPage::why_no_vessel),
        Row::new(Sense::Stack, "The rest of this stack", "Counts what is left of this stack as full, or as holding what is typed.", |page: &mut CountPage, model| page.stretch(model, (rounds::stack, "stack"))).word(word!("stack")).unless(CountPage::why_no_vessel),
        Row::new(Sense::Row, "The rest of this row", "Counts what is left of this row as full, or as holding what is typed; then only those that differ are typed again.", |page: &mut CountPage, model| page.stretch(model, (rounds::row, "row"))).word(word!("row")).unless(CountPage::why_no_vessel),
        Row::new(Sense::Next, "The next that is not counted", "Goes on to the next line that is not counted; where all are, to the comparison.", |page: &mut CountPage, model| page.go_on(model)).unless(|page, _| page.compared.then(|| "The count is compared here: tab goes back to it.".to_owned())),
        Row::new(Sense::OtherSide, "Compare the count", "Shows what was counted beside what is expected, and goes back.", |page: &mut CountPage, _| page.turn()).word(|page, _| Some(if page.compared { "the count" } else { "compare" }.to_owned())).unless(CountPage::why_nothing_counted),
        Row::listed("Close without booking", "Closes the count and books nothing; asks why.", |page: &mut CountPage, model| closing::ask(page, model)).also(&["end", "leave out"]).unless(|page, model| model.why_read_only().or_else(|| page.why_nothing_counted(model))),
        Row::UNDO.word(|page: &CountPage, _| page.has_keys().then(|| "undo".to_owned())),
        Row::new(Sense::TakeBack, "Take back", "Takes back what was entered last, where letters are words.", |_: &mut CountPage, model| model.undo().into()).word(|page: &CountPage, _| (!page.has_keys()).then(|| "undo".to_owned())).unless(|_, model| model.why_read_only()),
        Row::REDO,
    ];
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
    fn lines(&self, state: &State) -> Vec<Line> {
        self.what.scope(state).map_or_else(Vec::new, |scope| state.lines_to_count(scope))
    }

    /// The count, where anything was entered of it.
    fn count<'a>(&self, state: &'a State) -> Option<&'a Count> {
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

    /// Where the chosen line stands; none where it is not there any more.
    fn at(&self, state: &State, lines: &[Line]) -> Option<usize> {
        self.chosen.as_ref()?.among(state, lines)
    }

    /// Chooses a line by its number; the last where there are not as many.
    fn choose(&mut self, state: &State, lines: &[Line], at: usize) {
        self.chosen = lines.get(at.min(lines.len().saturating_sub(1))).map(|line| Spot::of(state, line));
    }

    /// What characters are on it now.
    fn taking(&self) -> Taking {
        let of_vessels = !matches!(self.what, Where::Store(_));
        match self.text.chars().next() {
            _ if self.compared || !of_vessels => Taking::Words,
            None => Taking::Nothing,
            Some(first) if first.is_ascii_digit() && label_meant(&self.text).is_none() && is_figure(&self.text) => {
                Taking::Figure
            }
            Some(_) => Taking::Words,
        }
    }

    /// Whether letters are keys now.
    fn has_keys(&self) -> bool {
        self.taking() == Taking::Nothing
    }

    /// Why there is nothing to compare or to close, if there is nothing.
    fn why_nothing_counted(&self, model: &Model) -> Option<String> {
        self.count(&model.state).is_none().then(|| "Nothing is counted yet. Type what is there.".to_owned())
    }

    /// Why no vessel is counted by a key, if none is.
    fn why_no_vessel(&self, model: &Model) -> Option<String> {
        let why = match self.what {
            _ if self.compared => "The count is compared here: tab goes back to it.",
            Where::Store(_) => "Of bottles it is typed how many lie there.",
            Where::Whole | Where::Room(_) => return model.why_read_only(),
        };
        Some(why.to_owned())
    }

    fn stretch(&mut self, model: &mut Model, slots: stretch::Slots) -> Turn {
        stretch::count_stretch(self, model, slots).into()
    }

    /// Shows what was counted beside what is expected, or goes back to the count.
    fn turn(&mut self) -> Turn {
        self.compared = !self.compared;
        (self.why, self.line) = (None, 0);
        self.text.clear();
        Turn::stay()
    }

    fn step(&mut self, model: &Model, by: isize) {
        let lines = self.lines(&model.state);
        let to = self.at(&model.state, &lines).map_or(0, |at| at.saturating_add_signed(by));
        self.choose(&model.state, &lines, to);
    }

    /// Goes on to the next line that is not counted, from the last to the first; where all are, to the comparison.
    fn go_on(&mut self, model: &mut Model) -> Turn {
        let lines = self.lines(&model.state);
        let open = |at: &usize| self.is_open(&model.state, &lines[*at]);
        let after = self.at(&model.state, &lines).map_or(0, |at| at + 1);
        let next = (after..lines.len()).chain(0..after.min(lines.len())).find(open);
        if let Some(next) = next {
            self.choose(&model.state, &lines, next);
        } else {
            (self.compared, self.line) = (true, 0);
            model.say_also("Everything here is counted.", Tone::Done);
        }
        Turn::stay()
    }

    /// Says that what was chosen is not there any more. Nothing else is taken for it.
    fn say_gone(&self, model: &mut Model) {
        let gone = self.chosen.as_ref().map_or("What was chosen", |spot| spot.name().as_str());
        let text = format!("{gone} is not to be counted here any more. Choose another line.");
        model.say(text, Tone::Refused);
    }

    /// Takes what is typed; where the count is compared it is booked.
    fn take(&mut self, model: &mut Model) -> Wishes {
        if self.compared {
            return booking::book(model, self);
        }
        let text = self.text.trim().to_owned();
        let lines = self.lines(&model.state);
        if let Some(vessel) = label_meant(&text) {
            self.go_to(model, &lines, vessel);
            return Vec::new();
        }
        let Some(line) = self.at(&model.state, &lines).and_then(|at| lines.get(at)) else {
            self.say_gone(model);
            return Vec::new();
        };
        match counted(&model.state, self, line) {
            Ok(counted) => {
                let say = said(&counted);
                let begun = self.count(&model.state).is_none().then(|| What::CountBegun(Box::new(begun(self))));
                let whats = begun.into_iter().chain([What::ThingCounted(Box::new(counted))]).collect();
                model.enter(whats, say, Then::of(Counted))
            }
            Err(why) => model.refuse(why),
        }
    }

    /// Goes to a vessel or a bin of the count.
    fn go_to(&mut self, model: &mut Model, lines: &[Line], label: &str) {
        let within = |place: &Label| {
            place.as_str() == label || place.as_str().split_once('/').is_some_and(|(_, bin)| bin == label)
        };
        let found = lines.iter().position(|line| match line {
            Line::Vessel(id) => model.state.vessels.get(*id).label.as_str() == label,
            Line::Bottles { place, .. } | Line::Bin(place) => within(place),
        });
        let known = model.state.vessels.find(label).is_some();
        match found {
            Some(found) => {
                self.choose(&model.state, lines, found);
                self.text.clear();
            }
            None if known => {
                let text = format!("{label} does not lie in {}. Count it where it lies.", self.what.name());
                model.say(text, Tone::Refused);
            }
            None => {
                let hint = meant(label, labels(&model.state.vessels)).unwrap_or_default();
                let text = format!("Nothing is called '{label}' here. Check the label, or register the vessel.{hint}");
                model.say(text, Tone::Refused);
            }
        }
    }
}

/// What characters are in a count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Taking {
    /// Nothing is typed at a vessel: figures and labels begin, all else is a key.
    Nothing,
    /// A figure is typed, which may be said of a rack, a stack or a row too.
    Figure,
    /// Words are typed: of bottles, at a label, where the count is compared.
    Words,
}

/// What was counted is on disk: the next line comes.
#[derive(Debug)]
struct Counted;

impl Page for CountPage {
    fn title(&self, model: &Model) -> String {
        sheet::title(model, self)
    }

    /// Who counts does not see the book, of which the round that is under way would tell.
    fn below_title(&self, _model: &Model) -> Option<String> {
        (!self.compared).then(|| "what the book says is not shown".to_owned())
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<TextLine<'static>> {
        sheet::lines(model, self, width, height)
    }

    fn line_shown(&self) -> Option<usize> {
        self.compared.then_some(self.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        self.compared.then_some(&mut self.line)
    }

    fn go(&mut self, model: &mut Model, go: Go, last: usize) -> Turn {
        if self.compared {
            let half = model.half_screen();
            self.line = go.line(self.line, last, half);
        } else {
            self.step(model, go.by(PAGE));
        }
        Turn::stay()
    }

    fn takes(&self, _model: &Model, character: char) -> bool {
        match self.taking() {
            Taking::Nothing => begins_typing(character),
            Taking::Figure => !matches!(character, 'r' | 'k' | 'e'),
            Taking::Words => true,
        }
    }

    fn written(&self) -> Option<&str> {
        Some(&self.text)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.text)
    }

    fn manner(&self) -> Manner {
        Manner { is_of_chosen: !self.compared, ..Manner::OF_CHOSEN.of(LINE_CHARACTERS) }
    }

    fn asks(&self, model: &Model, width: usize) -> Vec<TextLine<'static>> {
        vec![sheet::line(model, self, width)]
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        let word = if self.compared { "book and close" } else { "take" };
        (self.compared || !self.text.is_empty()).then(|| word.to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if self.text.trim().is_empty() && !self.compared {
            return None;
        }
        Some(self.take(model).into())
    }

    fn esc(&mut self, model: &mut Model) -> Turn {
        if !self.text.is_empty() {
            self.text.clear();
        } else if let Some(why) = self.why.take() {
            self.text = why.to_string();
        } else if self.compared {
            self.compared = false;
        } else {
            if self.why_nothing_counted(model).is_none() {
                model.say(format!("'{}' stays open: the same key goes on with it.", self.count), Tone::Notice);
            }
            return Turn::back();
        }
        Turn::stay()
    }

    /// Goes on to the next line, or to what was taken back; a count that is closed goes away.
    fn stored(&mut self, model: &mut Model, then: Then) -> Turn {
        if then.word::<Counted>().is_some() {
            self.text.clear();
            return self.go_on(model);
        }
        let vessel = then.word().and_then(Undone::vessel);
        if self.count(&model.state).is_none() && vessel.is_none() {
            return Turn::back();
        }
        self.text.clear();
        if let Some(label) = vessel {
            let spot = Spot::Vessel(label.clone());
            if spot.among(&model.state, &self.lines(&model.state)).is_some() {
                self.chosen = Some(spot);
            }
            self.compared = false;
        }
        Turn::stay()
    }

    fn follow(&mut self, model: &mut Model, before: &Before<'_>) -> Followed {
        let Some(scope) = self.what.scope(&model.state) else { return Followed::Gone(self.count.to_string()) };
        // Another laptop's count of the same scope is gone on with.
        if let Some(open) = model.state.open_count(scope) {
            self.count = open.label.clone();
        }
        let is_there = |state: &State| self.at(state, &self.lines(state)).is_some();
        match &self.chosen {
            Some(spot) if is_there(before.state) && !is_there(&model.state) => {
                Followed::WithoutChoice(spot.name().to_string())
            }
            _ => Followed::There,
        }
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
}

/// Whether a text is a figure so far: litres, or a dip in millimetres.
fn is_figure(text: &str) -> bool {
    text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | ' ' | 'm' | 'c' | 'L' | 'l'))
}

/// Opens the count of what is here.
fn open_here(model: &mut Model) -> Wishes {
    let what = model.to_count();
    open(model, Some(what));
    Vec::new()
}

/// Opens the count of something: the one that is open, else a new one.
pub(in crate::tui) fn open(model: &mut Model, what: Option<Where>) {
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
    let kind = if let Where::Store(_) = page.what { "laid_away" } else { "count_begun" };
    model.open(page);
    model.say(text, Tone::Notice);
    model.heed(Caution::of_kind(kind));
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
