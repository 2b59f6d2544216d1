//! The page of a trace: what is printed as the sheet of it, on the screen; asked for from a vessel, a lot, a bin or a lot code.

use ratatui::text::Line;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::views::books::lineage::{Starting, Tracer};
use crate::sheets::books::additions::{self, AddedTo};
use crate::sheets::books::trace::{back, forward};
use crate::sheets::core::document::{self, Block, Document};
use crate::tui::core::apart::Search;
use crate::tui::core::finding::{self, Finding};
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::printed;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Answer;

/// Whose trace it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Traced {
    /// The bottles of a lot code or a run: back to all that their wine met.
    Bottles(Label),
    /// The wine of a vessel: forward to every bottle.
    Vessel(Label),
    /// The wine of a lot: forward to every bottle.
    Lot(Label),
    /// What was added to the wine of a vessel.
    Additions(Label),
}

impl Traced {
    const fn label(&self) -> &Label {
        match self {
            Traced::Bottles(label) | Traced::Vessel(label) | Traced::Lot(label) | Traced::Additions(label) => label,
        }
    }

    /// How it is found.
    fn search(&self) -> Search {
        let of = self.clone();
        Search::of(move |apart| {
            let found = apart.desk().and_then(|desk| Ok(of.page(&desk.trace(apart.now())?, apart.now())));
            let gone = || format!("Nothing is called '{}' any more.", of.label());
            found.map_err(|error| error.to_string())?.ok_or_else(gone)
        })
    }

    /// Its page; none where nothing is called so.
    fn page(&self, tracer: &Tracer, on: Moment) -> Option<Document> {
        let state = &tracer.state;
        Some(match self {
            Traced::Bottles(label) => match state.runs_of_code(label.as_str()).first() {
                Some(&run) => back(tracer, run, Some(label.as_str()), on),
                None => back(tracer, state.runs.find(label.as_str())?, None, on),
            },
            Traced::Vessel(label) => {
                forward(tracer, Starting::Vessel(tracer.fill_of(state.vessels.find(label.as_str())?)), on)
            }
            Traced::Additions(label) => {
                additions::sheet(tracer, AddedTo::Vessel(state.vessels.find(label.as_str())?), on)
            }
            Traced::Lot(label) => forward(tracer, Starting::Lot(state.lots.find(label.as_str())?), on),
        })
    }
}

/// A trace on the screen.
#[derive(Clone, Debug)]
pub struct TracePage {
    /// Whose trace it is.
    of: Traced,
    /// What the facts tell.
    finding: Finding<Document>,
    /// From which line on it is shown.
    line: usize,
    /// Whether lines of several vessels name them.
    open: bool,
}

impl Table for TracePage {
    const ABOUT: About = About {
        name: "A trace",
        purpose: "Follows a wine to every bottle: in which bin it lies, and who got it; or leads from bottles back to all that their wine \
                  met: blocks, barrels, moves, additions, blends, checks, tests and people.\n\
                  It is what `sheet trace` prints. A lot code in the find box leads back from its bottles.",
        opens: Opens::ByWays(&[
            Way {
                sense: None,
                title: "What was added to this wine",
                help: "Lists what was added to this vessel's wine over its life, each material in all beside the published figures, and \
                       what was added by day and material, which enter opens into its vessels. `sheet additions` prints it.",
                also: &["additions", "inspector", "materials", "label", "limits"],
                why_not: |model| {
                    let none = model.chosen_vessel().is_none();
                    none.then(|| "There is no wine here. Choose a vessel.".to_owned())
                },
                open: |model| {
                    let vessel = model.chosen_vessel().map(|vessel| Traced::Additions(vessel.label.clone()));
                    vessel.map_or_else(Vec::new, |of| open(model, of))
                },
            },
            Way {
                sense: None,
                title: "Trace to the bottles",
                help: "Follows this vessel's wine to every bottle: where it lies, and who got it. A lot code in the find box leads back \
                   from them.",
                also: &["recall"],
                why_not: |model| {
                    let none = model.chosen_vessel().is_none();
                    none.then(|| "There is nothing here to trace. Choose a vessel.".to_owned())
                },
                open: |model| {
                    let vessel = model.chosen_vessel().map(|vessel| Traced::Vessel(vessel.label.clone()));
                    vessel.map_or_else(Vec::new, |of| open(model, of))
                },
            },
        ]),
    };
    const ROWS: &'static [Row<TracePage>] = &[];
}

/// Opens the page of a trace and wishes for what it shows.
pub(in crate::tui) fn open(model: &mut Model, of: Traced) -> Wishes {
    let mut page = TracePage { of, finding: Finding::default(), line: 0, open: false };
    let wishes = page.ask(model);
    model.open(page);
    wishes
}

impl TracePage {
    fn ask(&mut self, model: &mut Model) -> Wishes {
        self.finding.ask(model, self.of.search())
    }
}

impl Page for TracePage {
    fn title(&self, _model: &Model) -> String {
        let traced = || format!("Trace of {}", self.of.label());
        self.finding.told().map_or_else(traced, |document| document.title.clone())
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        lines(model, self, width)
    }

    fn is_wide(&self) -> bool {
        true
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.line)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        let is_meant = matches!(self.of, Traced::Additions(_));
        let opens = is_meant && self.finding.told().is_some_and(|document| document != &without_bands(document));
        opens.then(|| if self.open { "close the vessels" } else { "open the vessels" }.to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        self.enter_word(model)?;
        self.open = !self.open;
        Some(Turn::stay())
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        self.finding.take(model, answer)
    }

    /// What is shown stays until the other is there.
    fn ask_again(&mut self, model: &mut Model) -> Wishes {
        self.ask(model)
    }
}

/// The lines of a trace for a page of so many columns.
fn lines(model: &Model, page: &TracePage, width: usize) -> Vec<Line<'static>> {
    let Some(document) = page.finding.told() else { return finding::working(model, width) };
    let closed = (matches!(page.of, Traced::Additions(_)) && !page.open).then(|| without_bands(document));
    printed::lines(model, closed.as_ref().unwrap_or(document), width)
}

/// The same without the lines that name the vessels of the line above.
fn without_bands(document: &Document) -> Document {
    let mut closed = document.clone();
    for block in &mut closed.blocks {
        if let Block::Table(table) = block {
            table.lines.retain(|line| !matches!(line, document::Line::Band(_)));
        }
    }
    closed
}
