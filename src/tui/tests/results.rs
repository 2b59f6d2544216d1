//! What a laboratory found, a line a lot or a vessel and a column an analyte: each figure is a fact as soon as it is written.
//!
//! What is found of a wine on a day by one laboratory is one test: a second figure of its line takes the place of the test with both, so that a
//! sheet that is typed is the same as one that is taken in from a file.
//!
//! **A line of results is one test** (`tui/tests/results.rs`): a second figure takes the place of the test of its line, day and laboratory
//! with both (`Act::replaces`), so that what is typed in cells is the same fact as a line of `test` or of a spreadsheet, and a barrel that
//! remembers its last tests forgets none for it. After a change of the wine on that day (`State::is_same_wine_that_day`) a figure is a test
//! of its own. The laboratory stands in the log alone, so the page asks for the facts behind the tests of its day (`Work::Who`). What can
//! be found at all stands in one table (`cellar/jobs/tests/testing/figures.rs`).

mod sheet;
mod things;
mod writing;

use chrono::NaiveDate;
use ratatui::text::Line;

use crate::cellar::core::fact::{FactId, What};
use crate::cellar::core::label::Text;
use crate::cellar::core::state::LotId;
use crate::cellar::views::tests::results::Finding;
use crate::desk::Undone;
use crate::import::tests::Of;
use crate::tui::core::line::Manner;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::core::text::begins_typing;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::who;
use crate::tui::core::work::{Answer, Entered};

use self::things::Thing;

/// No figure with its unit, and no name of a laboratory, is longer.
const LONGEST: usize = 60;
/// So many lines page up and page down go.
const PAGE: usize = 10;

/// The page of the results.
#[derive(Clone, Debug, PartialEq)]
pub struct ResultsPage {
    /// The day that is said for all; else it is the day for which anything is entered.
    day: Option<NaiveDate>,
    /// The laboratory that is said for all.
    lab: Option<Text>,
    /// The columns.
    findings: Vec<Finding>,
    /// The lines.
    things: Vec<Thing>,
    /// Those that were added by their label, or opened from elsewhere.
    added: Vec<Thing>,
    /// Where it is written.
    spot: Spot,
    /// In which column.
    column: usize,
    /// What is written.
    line: String,
    /// What stands in the log of the tests of the day.
    entered: Vec<Entered>,
}

/// Where something is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Spot {
    /// The day.
    Day,
    /// The laboratory.
    Laboratory,
    /// A line of the table, by its place.
    Line(usize),
    /// The line on which another thing is named.
    Another,
}

/// Where a key leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    /// To the next field, and from the last column to the next line.
    On,
    Left,
    Right,
    Along(Go),
}

/// A figure is on disk, and there it goes on.
#[derive(Debug)]
struct Filled {
    spot: Spot,
    column: usize,
}

impl Table for ResultsPage {
    const ABOUT: About = About {
        name: "Laboratory tests",
        purpose: "What a laboratory found, a line a lot or a vessel, a column an analyte, what is tested most first. The day and the laboratory above stand for \
                  all. Digits are a result, with a unit behind them where it is another than in the head: enter stores it and goes right, an arrow \
                  stores it and goes its way. A row that is pasted fills the cells to the right. A label goes to its line, or adds one.\n\
                  What is stored of that day is marked; written over, it is corrected, and delete takes it back. What was found before stands \
                  dim, with its day.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "Laboratory tests",
            help: "Enters what a laboratory found of lots and vessels, as its sheet has it.",
            also: &[
                "results",
                "analyses",
                "enter tests",
                "lab",
                "lab sheet",
                "sample",
                "malolactic",
                "pH",
                "alcohol",
                "acidity",
                "report",
            ],
            why_not: Model::why_opening,
            open: open_here,
        }]),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<ResultsPage>] = &[
        Row::new(Sense::TakeBack, "Take this result back", "Takes back what is stored in this cell.", |page: &mut ResultsPage, model| page.take_back(model)).word(|page, model| page.stored_here(model).map(|_| "take back".to_owned())).unless(ResultsPage::why_nothing_here),
        Row::new(Sense::OtherSide, "The next cell", "Stores what is written and goes on to the next cell, and from the last column to the next line.", |page: &mut ResultsPage, model| page.step(model, Step::On)),
        Row::new(Sense::Before, "To the left", "Stores what is written and goes to the column before.", |page: &mut ResultsPage, model| page.step(model, Step::Left)),
        Row::new(Sense::After, "To the right", "Stores what is written and goes to the next column.", |page: &mut ResultsPage, model| page.step(model, Step::Right)),
        Row::UNDO.word(|page: &ResultsPage, _| page.has_keys().then(|| "undo".to_owned())),
        Row::REDO,
    ];
}

/// Opens it at the lot under the cursor.
fn open_here(model: &mut Model) -> Wishes {
    open_at(model, model.chosen_vessel().and_then(|vessel| vessel.lot))
}

/// Opens it at a lot.
pub(in crate::tui) fn open_at(model: &mut Model, lot: Option<LotId>) -> Wishes {
    let lot = lot.map(|lot| Thing { of: Of::Lot, label: model.state.lots.get(lot).label.clone() });
    let mut page = ResultsPage {
        day: None,
        lab: None,
        findings: model.state.findings_by_use(),
        things: Vec::new(),
        added: lot.clone().into_iter().collect(),
        spot: Spot::Another,
        column: 0,
        line: String::new(),
        entered: Vec::new(),
    };
    page.gather(model);
    let first = lot.and_then(|lot| page.things.iter().position(|thing| *thing == lot)).unwrap_or(0);
    if first < page.things.len() {
        page.spot = Spot::Line(first);
    }
    let wishes = page.wants(model);
    model.open(page);
    wishes
}

impl ResultsPage {
    /// The day of all that is entered.
    fn day(&self, model: &Model) -> NaiveDate {
        self.day.unwrap_or_else(|| model.now.date())
    }

    /// Whether letters are keys now.
    fn has_keys(&self) -> bool {
        matches!(self.spot, Spot::Line(_)) && self.line.is_empty()
    }

    /// The line of the table that is chosen.
    fn thing(&self) -> Option<&Thing> {
        match self.spot {
            Spot::Line(at) => self.things.get(at),
            Spot::Day | Spot::Laboratory | Spot::Another => None,
        }
    }

    /// The column that is chosen.
    fn finding(&self) -> Option<&Finding> {
        self.findings.get(self.column)
    }

    /// Where a step leads.
    fn led(&self, step: Step) -> (Spot, usize) {
        let last = self.findings.len().saturating_sub(1);
        let first = self.line_at(0);
        match (step, self.spot) {
            (Step::On | Step::Right, Spot::Day) => (Spot::Laboratory, self.column),
            (Step::On, Spot::Laboratory) => (first, 0),
            (Step::Left, Spot::Laboratory) => (Spot::Day, self.column),
            (Step::On, Spot::Line(at)) if self.column >= last => (self.line_at(at + 1), 0),
            (Step::On | Step::Right, Spot::Line(_)) => (self.spot, (self.column + 1).min(last)),
            (Step::Left, Spot::Line(_)) => (self.spot, self.column.saturating_sub(1)),
            (Step::Along(go), Spot::Line(at)) if go.by(PAGE) >= 0 || at > 0 => {
                (self.line_at(go.line(at, self.things.len(), PAGE)), self.column)
            }
            (Step::Along(go), Spot::Another) if go.by(PAGE) < 0 && !self.things.is_empty() => {
                (self.line_at(go.line(self.things.len(), self.things.len(), PAGE)), self.column)
            }
            (Step::Along(go), Spot::Line(_) | Spot::Another) if go.by(PAGE) < 0 => (Spot::Day, self.column),
            (Step::Along(Go::End), _) => (Spot::Another, self.column),
            (Step::Along(Go::Down | Go::PageDown), Spot::Day | Spot::Laboratory) => (first, self.column),
            _ => (self.spot, self.column),
        }
    }

    /// The line at a place; behind the last one that on which another is named.
    fn line_at(&self, at: usize) -> Spot {
        if at < self.things.len() { Spot::Line(at) } else { Spot::Another }
    }

    /// Goes where a key leads; what is written is taken first.
    fn step(&mut self, model: &mut Model, step: Step) -> Turn {
        let to = self.led(step);
        if self.line.trim().is_empty() {
            self.line.clear();
            (self.spot, self.column) = to;
            return Turn::stay();
        }
        self.take(model, to)
    }
}

impl Page for ResultsPage {
    fn title(&self, _model: &Model) -> String {
        ResultsPage::ABOUT.name.to_owned()
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        sheet::lines(model, self, width, height)
    }

    fn is_wide(&self) -> bool {
        true
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        self.step(model, Step::Along(go))
    }

    /// In a cell a figure or a label begins; behind that all is text.
    fn takes(&self, _model: &Model, character: char) -> bool {
        if self.has_keys() {
            begins_typing(character) || matches!(character, '<' | '>' | '≤' | '≥')
        } else {
            !character.is_control()
        }
    }

    fn takes_figures(&self, _model: &Model) -> bool {
        true
    }

    /// A row of another table fills the cells to the right.
    fn take_pasted(&mut self, model: &mut Model, text: &str) -> Option<Turn> {
        let cells = writing::row(text).filter(|_| self.has_keys())?;
        Some(self.take_row(model, &cells))
    }

    fn written(&self) -> Option<&str> {
        Some(&self.line)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.line)
    }

    fn manner(&self) -> Manner {
        Manner::along(LONGEST)
    }

    fn typing_hint(&self, _model: &Model) -> Option<(String, String)> {
        self.has_keys().then(|| ("digits".to_owned(), "a result".to_owned()))
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some(if self.line.trim().is_empty() { "next" } else { "store" }.to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(self.step(model, Step::On))
    }

    fn stored(&mut self, model: &mut Model, then: Then) -> Turn {
        if let Some(filled) = then.word::<Filled>() {
            self.line.clear();
            (self.spot, self.column) = (filled.spot, filled.column);
        } else if let Some(undone) = then.word::<Undone>() {
            self.go_to_undone(undone);
        }
        self.gather(model);
        Turn::stay()
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        let facts = self.facts(model);
        let turn = who::take(&mut self.entered, &facts, answer);
        if turn.is_some() {
            self.gather(model);
        }
        turn
    }

    fn wants(&mut self, model: &mut Model) -> Wishes {
        who::wish(self.facts(model), &self.entered)
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        self.gather(model);
        Followed::There
    }
}

impl ResultsPage {
    /// Goes to the line of a test that was taken back, or given back.
    fn go_to_undone(&mut self, undone: &Undone) {
        let thing = undone.done().find_map(|what| match what {
            What::Tested(tested) => Thing::of_test(tested),
            _ => None,
        });
        if let Some(at) = thing.and_then(|thing| self.things.iter().position(|it| *it == thing)) {
            self.spot = Spot::Line(at);
        }
    }

    /// The facts behind the tests of the day.
    fn facts(&self, model: &Model) -> Vec<FactId> {
        things::tests_of_day(&model.state, self.day(model)).map(|test| test.id.clone()).collect()
    }
}
