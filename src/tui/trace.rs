//! The page of a trace: what is printed as the sheet of it, on the screen; asked for from a vessel, a lot, a bin or a lot code.

use ratatui::text::Line;

use crate::cellar::label::Label;
use crate::cellar::lineage::Tracer;
use crate::cellar::moment::Moment;
use crate::sheets::document::Document;
use crate::sheets::trace::{From, back, forward};
use crate::sheets::{plain, wrap};
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::screen::Effect;
use crate::tui::text::fit;
use crate::tui::theme::Meaning;
use crate::tui::update::Wishes;
use crate::tui::work::Work;

/// A line of a table that is wider than the page goes on in the next line, so far to the right.
const GOES_ON: &str = "    ";

/// Whose trace it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Traced {
    /// The bottles of a lot code or a run: back to all that their wine met.
    Bottles(Label),
    /// The wine of a vessel: forward to every bottle.
    Vessel(Label),
    /// The wine of a lot: forward to every bottle.
    Lot(Label),
}

impl Traced {
    const fn label(&self) -> &Label {
        match self {
            Traced::Bottles(label) | Traced::Vessel(label) | Traced::Lot(label) => label,
        }
    }

    /// Its page; none where nothing is called so.
    #[must_use]
    pub fn page(&self, tracer: &Tracer, on: Moment) -> Option<Document> {
        let state = &tracer.state;
        Some(match self {
            Traced::Bottles(label) => match state.runs_of_code(label.as_str()).first() {
                Some(&run) => back(tracer, run, Some(label.as_str()), on),
                None => back(tracer, state.runs.find(label.as_str())?, None, on),
            },
            Traced::Vessel(label) => {
                forward(tracer, From::Vessel(tracer.fill_of(state.vessels.find(label.as_str())?)), on)
            }
            Traced::Lot(label) => forward(tracer, From::Lot(state.lots.find(label.as_str())?), on),
        })
    }
}

/// A trace on the screen.
#[derive(Clone, Debug, PartialEq)]
pub struct TracePage {
    /// Which of the pages that were asked for: what was found for an earlier one is not shown.
    pub number: u32,
    /// Whose trace it is.
    pub of: Traced,
    /// What the facts tell; none while they are gone through.
    pub told: Option<Document>,
    /// From which line on it is shown.
    pub line: usize,
}

/// The title of a trace, and its lines for a page of so many columns.
pub(super) fn page(model: &Model, page: &TracePage, width: usize) -> (String, Vec<Line<'static>>) {
    let marks = model.looks.marks;
    let theme = model.looks.theme;
    let Some(document) = &page.told else {
        let text = format!("working{} the facts are gone through once more; esc goes back at once", marks.ellipsis);
        let lines = wrap::wrapped(&text, width).into_iter().map(|line| Line::styled(line, theme.style(Meaning::Muted)));
        return (fit(&format!("Trace of {}", page.of.label()), width, marks), lines.collect());
    };
    let text = plain::text(document, width);
    // The title stands in the frame, with the line under it.
    let mut told = text.lines().skip(2).peekable();
    let mut lines = Vec::new();
    while let Some(line) = told.next() {
        if told.next_if(|below| is_rule(below)).is_some() {
            told.next_if(|below| below.is_empty());
            lines.push(Line::styled(line.to_owned(), theme.style(Meaning::Title)));
            continue;
        }
        lines.extend(broken(line, width).into_iter().map(|line| Line::styled(line, theme.style(Meaning::Base))));
    }
    (fit(&document.title, width, marks), lines)
}

/// The line under a heading.
fn is_rule(line: &str) -> bool {
    !line.is_empty() && line.chars().all(|character| character == '-')
}

/// A line in as many as the page needs.
fn broken(line: &str, width: usize) -> Vec<String> {
    let mut lines = wrap::wrapped(line, width);
    if lines.len() > 1 {
        let first = lines.remove(0);
        let rest = wrap::wrapped(&lines.join(" "), width.saturating_sub(GOES_ON.len()));
        lines = vec![first];
        lines.extend(rest.iter().map(|line| format!("{GOES_ON}{}", line.trim_start())));
    }
    lines
}

impl Model {
    /// What is traced on the floor: the chosen vessel.
    fn to_trace(&self) -> Option<Traced> {
        self.chosen_vessel().map(|vessel| Traced::Vessel(vessel.label.clone()))
    }

    /// Why nothing can be traced here, if nothing can.
    #[must_use]
    pub fn why_no_trace(&self) -> Option<String> {
        self.to_trace().is_none().then(|| "There is nothing here to trace. Choose a vessel.".to_owned())
    }

    /// Opens the page of a trace of what is chosen.
    pub(super) fn trace_chosen(&mut self) -> Wishes {
        self.to_trace().map_or_else(Vec::new, |of| self.ask_trace(of))
    }

    /// Opens the page of a trace and wishes for what it shows.
    pub(super) fn ask_trace(&mut self, of: Traced) -> Wishes {
        self.pictures = self.pictures.wrapping_add(1);
        let number = self.pictures;
        self.mode = Mode::Trace(TracePage { number, of: of.clone(), told: None, line: 0 });
        vec![Effect::Work(Work::Trace { number, of })]
    }

    /// Shows a trace. Where its page is not open any more it comes too late and is dropped.
    pub(super) fn show_trace(&mut self, number: u32, told: Result<Option<Document>, String>) {
        let Mode::Trace(page) = &mut self.mode else { return };
        if page.number != number {
            return;
        }
        let gone = format!("Nothing is called '{}' any more.", page.of.label());
        match told.and_then(|found| found.ok_or(gone)) {
            Ok(document) => page.told = Some(document),
            Err(why) => {
                self.mode = Mode::Floor;
                self.say(why, Tone::Refused);
            }
        }
    }
}
