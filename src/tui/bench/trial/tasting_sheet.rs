//! The glasses of a flight on the screen, with what was said of each and what is being written.

use std::fmt;

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use super::rating::{RatingPage, Written};
use super::spot::{Spot, missing, spots};
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::rating::Rating;
use crate::cellar::jobs::bench::trial::said::Scale;
use crate::tui::core::draw::write_lines;
use crate::tui::core::list::window;
use crate::tui::core::model::Model;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::{fit, left, right};
use crate::tui::core::theme::Meaning;

/// From this width on the whole panel stands beside the flight.
const PANEL_FROM: u16 = 120;
/// The width of that.
const PANEL_WIDTH: u16 = 40;
/// The lines of help.
const HELP_LINES: usize = 3;
/// The lines that are no glasses: two of head, two empty, the heading of the columns, the help.
const OTHER_LINES: usize = 5 + HELP_LINES;
/// The width of the columns before the words.
const BEFORE_WORDS: usize = 30;

/// Draws the page over everything: who tastes next may stand before it.
pub(super) fn draw(model: &Model, page: &RatingPage, frame: &mut Frame<'_>, area: Rect) {
    let Some(trial) = model.state.trials.by_label(page.trial.as_str()) else { return };
    let side = if area.width >= PANEL_FROM { PANEL_WIDTH } else { 0 };
    let flight = Rect { x: area.x + 1, width: area.width.saturating_sub(2 + side), ..area };
    let panel = Rect { x: flight.right(), width: side, ..area };
    let on = Sheet { model, width: usize::from(flight.width) };
    let sheet = FlightSheet { on, trial, page, missing: missing(trial) };
    write_lines(frame, flight, sheet.flight(usize::from(area.height)));
    write_lines(frame, panel, sheet.panel(usize::from(side)));
}

/// So many of so many.
struct HowMany {
    rated: usize,
    of: usize,
}

impl fmt::Display for HowMany {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} of {}", self.rated, self.of)
    }
}

/// What a flight is told on.
struct FlightSheet<'a> {
    on: Sheet<'a>,
    trial: &'a Trial,
    page: &'a RatingPage,
    missing: Vec<Spot>,
}

impl FlightSheet<'_> {
    fn flight(&self, height: usize) -> Vec<Line<'static>> {
        let Spot { taster, flight, glass } = self.page.spot;
        let name = self.page.spot.name(self.trial).map_or("", |name| name.as_str());
        let flights = self.trial.tasters().get(taster).map_or(0, |taster| taster.flights.len());
        let title = format!("{}: {name}, flight {} of {flights}", self.trial.label, flight + 1);
        let mut lines = vec![self.on.line(&title, Meaning::Title), self.on.line(&self.how_far(), Meaning::Muted)];
        lines.push(Line::default());
        lines.push(self.on.line("    glass  code  score   rank  said", Meaning::Muted));
        let inside = height.saturating_sub(OTHER_LINES).max(1);
        let spots: Vec<Spot> = self.page.spot.flight_spots(self.trial).collect();
        let shown = &spots[window(spots.len(), glass, inside)];
        lines.extend(shown.iter().map(|spot| self.glass(*spot)));
        lines.push(Line::default());
        lines.extend(self.help());
        lines
    }

    /// How much is rated of this flight, of this taster and of all.
    fn how_far(&self) -> String {
        let here = self.page.spot;
        let flight = self.rated(|spot| (spot.taster, spot.flight) == (here.taster, here.flight));
        let (taster, panel) = (self.rated(|spot| spot.taster == here.taster), self.rated(|_| true));
        format!("rated {flight} in the flight, {taster} by the taster, {panel} by the panel")
    }

    /// How many of some glasses are rated.
    fn rated(&self, is_of: impl Fn(&Spot) -> bool) -> HowMany {
        let of = spots(self.trial).filter(&is_of).count();
        HowMany { rated: of - self.missing.iter().filter(|spot| is_of(spot)).count(), of }
    }

    fn glass(&self, spot: Spot) -> Line<'static> {
        let marks = self.on.marks();
        let here = spot == self.page.spot;
        let pointer = if here { marks.chosen_left } else { ' ' };
        let code = spot.code(self.trial).map_or_else(String::new, |code| code.to_string());
        let rating = spot.rating(self.trial);
        let numbers = rating.map_or_else(
            || "      -      -".to_owned(),
            |rating| format!("  {:>5}  {:>5}", shown_score(rating), self.shown_rank(spot, rating)),
        );
        let room = self.on.width.saturating_sub(BEFORE_WORDS);
        let (words, meaning) = if here && !self.page.line.is_empty() {
            (self.on.model.written(&self.page.line, room.saturating_sub(1)), Meaning::Strong)
        } else {
            let text = rating.and_then(|rating| rating.text.as_ref()).map_or_else(String::new, ToString::to_string);
            let cursor = if here { "_" } else { "" };
            (fit(&format!("{text}{cursor}"), room, marks), Meaning::Base)
        };
        let lead = format!("{pointer} {:>6}  {code:<4}{numbers}  ", spot.glass + 1);
        let lead_meaning = match (here, rating) {
            (true, _) => Meaning::Strong,
            (false, Some(_)) => Meaning::Base,
            (false, None) => Meaning::Due,
        };
        Line::from(vec![
            Span::styled(left(&lead, BEFORE_WORDS, marks), self.on.style(lead_meaning)),
            Span::styled(words, self.on.style(meaning)),
        ])
    }

    /// A rank, with `=` where another glass of the flight shares it.
    fn shown_rank(&self, spot: Spot, rating: &Rating) -> String {
        let Some(rank) = rating.rank else { return String::new() };
        let is_same = |other: Spot| other.rating(self.trial).and_then(|rating| rating.rank) == Some(rank);
        let shared = spot.flight_spots(self.trial).any(|other| other != spot && is_same(other));
        format!("{rank}{}", if shared { "=" } else { "" })
    }

    /// What enter would take, or how to write.
    fn help(&self) -> Vec<Line<'static>> {
        let mut lines = self.on.below_written(&self.page.line, &self.how_to(), || self.meant());
        lines.truncate(HELP_LINES);
        lines
    }

    fn how_to(&self) -> String {
        let how = match self.page.scale {
            Scale::Score => "A score of 20, then words: 14.5 plum, a little closed.",
            Scale::Rank => {
                "A rank in this flight, 1 the best, then words: 2 plum; the same number or 2= where glasses share it."
            }
        };
        let code = self.page.spot.code(self.trial).map_or_else(String::new, |code| code.to_string());
        let (example, other) = (self.page.scale.example(), self.page.scale.other().word());
        let example = example.split(' ').next().unwrap_or_default();
        format!(
            "{how} Or by code: {code} {example}. Again corrects it, delete takes it back. tab: {other}s. left, right: \
             tasters. page up, page down: flights."
        )
    }

    fn meant(&self) -> Result<String, String> {
        let Written { spot, said, .. } = Written::read(self.trial, self.page)?;
        let code = spot.code(self.trial).map_or_else(String::new, |code| code.to_string());
        let number = said.number.map(|number| format!("{} {number}", self.page.scale.word()));
        let text = said.text.map(|text| format!("\"{text}\""));
        let said: Vec<String> = number.into_iter().chain(text).collect();
        let said = if said.is_empty() { "go to it".to_owned() } else { said.join(", ") };
        Ok(format!("{code}: {said}"))
    }

    /// How far each taster has come.
    fn panel(&self, width: usize) -> Vec<Line<'static>> {
        let marks = self.on.marks();
        let taster = |index: usize| {
            let name = self.trial.tasters()[index].name.as_str();
            let rated = self.rated(|spot| spot.taster == index);
            let here = index == self.page.spot.taster;
            let pointer = if here { marks.chosen_left } else { ' ' };
            let done = if rated.rated == rated.of { marks.yes } else { ' ' };
            let count = right(&rated.to_string(), 10, marks);
            let text = format!("{pointer} {} {count} {done}", left(name, 20, marks));
            Line::styled(fit(&text, width, marks), self.on.style(if here { Meaning::Strong } else { Meaning::Base }))
        };
        let heading = Line::styled(fit("  The panel", width, marks), self.on.style(Meaning::Title));
        let lines = [heading, Line::default(), Line::default(), Line::default()];
        lines.into_iter().chain((0..self.trial.tasters().len()).map(taster)).collect()
    }
}

/// A score as it is written.
fn shown_score(rating: &Rating) -> String {
    rating.score.map_or_else(String::new, |score| score.to_string())
}
