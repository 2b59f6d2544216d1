//! What was tested of a lot through time, drawn: a point for a day, lines between, and for the free sulfur dioxide its
//! additions and its forecast.
//!
//! ```text
//!     40 |o
//!        | ....              :::
//!   31 > |     ....*     :---:::
//!        |          .*:--:::::::
//!      0 |
//!        +----------^-----------
//! ```

use ratatui::text::{Line, Span};

use super::sheet::{LotSheet, decimals};
use crate::cellar::core::moment::{DAY_MICROSECONDS, Moment};
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::views::floor::lot_review::LotReview;
use crate::cellar::views::floor::lot_review::readings::{AnalyteReview, TestDay};
use crate::cellar::views::floor::lot_review::sulfur::SulfurReview;
use crate::reckon::sulfur::{Added, Forecast};
use crate::tui::core::marks::Marks;
use crate::tui::core::text::{fit, right};
use crate::tui::core::theme::Meaning;
use crate::tui::floor::pictures;
use crate::units::figure_to;

/// A sheet narrower than this has no room for it: the heights beside the last tests say it in short.
const LEAST_WIDTH: usize = 50;
/// Columns of the numbers at the left, with an arrow and the line beside them.
const AXIS: usize = 9;
/// Rows of one drawing.
const ROWS: usize = 9;
/// So many days beyond now the free sulfur dioxide is forecast.
const FORECAST_DAYS: i64 = 60;
/// The sign of a day on which a composite was tested.
const COMPOSITE: char = 'o';
/// What is drawn: what moves in the barrel and is acted upon.
const DRAWN: [Analyte; 7] = [
    Analyte::FreeSo2,
    Analyte::VolatileAcidity,
    Analyte::Ph,
    Analyte::Malic,
    Analyte::Lactic,
    Analyte::Sugar,
    Analyte::TotalSo2,
];

impl LotSheet<'_> {
    /// The tests through time, of what was tested on two days at least.
    pub(super) fn course(&self, review: &LotReview) -> Vec<Line<'static>> {
        if self.on.width < LEAST_WIDTH {
            return Vec::new();
        }
        let find = |analyte| review.readings.iter().find(|reading| reading.analyte == analyte);
        let drawn = DRAWN.into_iter().filter_map(find).filter(|reading| reading.days.len() > 1);
        let lines: Vec<Line<'static>> = drawn.flat_map(|reading| self.drawing(reading, &review.sulfur)).collect();
        if lines.is_empty() { lines } else { self.on.titled("Tests through time", lines) }
    }

    fn drawing(&self, reading: &AnalyteReview, sulfur: &SulfurReview) -> Vec<Line<'static>> {
        let (marks, read) = (self.on.marks(), self.on.model.state.read_as(reading.analyte));
        let reading = &reading.read(read);
        let sulfur = Some(sulfur).filter(|_| reading.analyte == Analyte::FreeSo2);
        let Some(plot) = Plot::new(self, reading, sulfur) else { return Vec::new() };
        let unit = read.unit();
        let comma = if unit.is_empty() { "" } else { ", " };
        let title = format!("{}{comma}{unit}", reading.analyte.name());
        let mut lines = vec![Line::styled(fit(&title, self.on.width, marks), self.on.style(Meaning::Strong))];
        lines.extend(plot.lines(self, decimals(reading.analyte)));
        lines.extend(self.on.words(&legend(self, reading, sulfur), Meaning::Muted));
        if !reading.outliers.is_empty() {
            lines.extend(self.on.words(&format!("stand out: {}", self.named(&reading.outliers)), Meaning::Warning));
        }
        lines.push(Line::default());
        lines
    }
}

/// What the signs of a drawing stand for, of those that are in it.
fn legend(sheet: &LotSheet<'_>, reading: &AnalyteReview, sulfur: Option<&SulfurReview>) -> String {
    let marks = sheet.on.model.looks.marks;
    let has = |composite| reading.days.iter().any(|day| day.composite == composite);
    let mut told = Vec::new();
    if has(false) {
        told.push(format!("{} mean of a day", marks.bullet));
    }
    if has(true) {
        told.push(format!("{COMPOSITE} with a composite"));
    }
    if let Some(sulfur) = sulfur {
        told.push(format!("{} forecast", marks.horizontal));
        told.push(format!("{} nine in ten", marks.band));
        if !sulfur.additions.is_empty() {
            told.push(format!("{} added", marks.up));
        }
        if sulfur.outlook.is_some_and(|outlook| outlook.floor_mg_l.is_some()) {
            told.push(format!("{} wanted", marks.right));
        }
    }
    told.join("   ")
}

/// A drawing: characters in rows, the highest first, over a stretch of time.
struct Plot {
    cells: Vec<Vec<(char, Meaning)>>,
    below: Vec<char>,
    /// What the lowest and the highest row stand for.
    bounds: (f64, f64),
    first: Moment,
    last: Moment,
    wanted: Option<f64>,
}

impl Plot {
    /// None without a test.
    fn new(sheet: &LotSheet<'_>, reading: &AnalyteReview, sulfur: Option<&SulfurReview>) -> Option<Plot> {
        let (marks, now) = (sheet.on.model.looks.marks, sheet.on.model.now);
        let days = &reading.days;
        let (first, last_test) = (days.first()?.at, days.last()?.at);
        let forecast = sulfur.and_then(|sulfur| sulfur.forecast.as_ref().ok());
        let later = if last_test.instant() > now.instant() { last_test } else { now };
        let ahead = if forecast.is_some() { FORECAST_DAYS * DAY_MICROSECONDS } else { 0 };
        let last = later.at_instant(later.instant() + ahead);
        let wanted = sulfur.and_then(|sulfur| sulfur.outlook).and_then(|outlook| outlook.floor_mg_l);
        let ends = forecast.map(|forecast| [later, last].map(|at| forecast.at(at.days_of_epoch())));
        let bands = ends.into_iter().flatten().flat_map(|level| [level.low_mg_l, level.high_mg_l]);
        let values: Vec<f64> = days.iter().map(|day| day.mean).chain(bands).chain(wanted).collect();
        let bounds = bounds(&values, 10.0_f64.powi(-i32::try_from(decimals(reading.analyte)).unwrap_or(0)));
        let width = sheet.on.width.saturating_sub(AXIS).max(2);
        let mut plot = Plot {
            cells: vec![vec![(' ', Meaning::Base); width]; ROWS],
            below: vec![marks.horizontal; width],
            bounds,
            first,
            last,
            wanted,
        };
        if let Some(forecast) = forecast {
            plot.put_forecast(forecast, last_test, marks);
        }
        plot.put_days(days, marks);
        plot.put_additions(sulfur.map_or(&[][..], |sulfur| &sulfur.additions), marks);
        Some(plot)
    }

    /// The forecast since the last test, in its band.
    fn put_forecast(&mut self, forecast: &Forecast, since: Moment, marks: &Marks) {
        for column in self.column(since)..self.width() {
            let level = forecast.at(self.day(column));
            for row in self.row(level.high_mg_l)..=self.row(level.low_mg_l) {
                self.cells[row][column] = (marks.band, Meaning::Muted);
            }
            self.put(column, level.free_mg_l, marks.horizontal, Meaning::Base);
        }
    }

    /// The days of additions, on the line below.
    fn put_additions(&mut self, additions: &[Added], marks: &Marks) {
        for added in additions {
            let at = self.first.at_days_of_epoch(added.day);
            if (self.first.instant()..=self.last.instant()).contains(&at.instant()) {
                let column = self.column(at);
                self.below[column] = marks.up;
            }
        }
    }

    /// The days with their means, and straight lines between them.
    fn put_days(&mut self, days: &[TestDay], marks: &Marks) {
        for pair in days.windows(2) {
            let (from, to) = (self.column(pair[0].at), self.column(pair[1].at));
            for column in from..to {
                let part = (column - from) as f64 / (to - from) as f64;
                self.put(column, pair[0].mean + (pair[1].mean - pair[0].mean) * part, marks.empty, Meaning::Muted);
            }
        }
        for day in days {
            let point = if day.composite { COMPOSITE } else { marks.bullet };
            self.put(self.column(day.at), day.mean, point, Meaning::Strong);
        }
    }

    fn put(&mut self, column: usize, value: f64, sign: char, meaning: Meaning) {
        let row = self.row(value);
        self.cells[row][column] = (sign, meaning);
    }

    fn width(&self) -> usize {
        self.below.len()
    }

    fn span_days(&self) -> f64 {
        self.last.elapsed_days(self.first).max(1.0)
    }

    /// The column of a moment; beyond the ends the nearest.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // between 0 and the last column by the clamp
    fn column(&self, at: Moment) -> usize {
        let most = self.width() - 1;
        let part = at.elapsed_days(self.first) / self.span_days();
        (part.clamp(0.0, 1.0) * most as f64).round() as usize
    }

    /// The day that a column stands for, days of the epoch.
    fn day(&self, column: usize) -> f64 {
        self.first.days_of_epoch() + column as f64 / (self.width() - 1) as f64 * self.span_days()
    }

    /// The row of a value from above; beyond the ends the nearest.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // between 0 and the last row by the clamp
    fn row(&self, value: f64) -> usize {
        let (low, high) = self.bounds;
        let part = ((high - value) / (high - low)).clamp(0.0, 1.0);
        (part * (ROWS - 1) as f64).round() as usize
    }

    fn lines(&self, sheet: &LotSheet<'_>, decimals: usize) -> Vec<Line<'static>> {
        let marks = sheet.on.model.looks.marks;
        let muted = sheet.on.style(Meaning::Muted);
        let wanted = self.wanted.map(|wanted| (self.row(wanted), wanted));
        let mut lines = Vec::new();
        for (at, row) in self.cells.iter().enumerate() {
            let number = |value: f64| right(&figure_to(decimals, value), AXIS - 3, marks);
            let axis = match wanted.filter(|&(row, _)| row == at) {
                Some((_, wanted)) => format!("{}{}{}", number(wanted), marks.right, marks.vertical),
                None if at == 0 => format!("{} {}", number(self.bounds.1), marks.vertical),
                None if at == ROWS - 1 => format!("{} {}", number(self.bounds.0), marks.vertical),
                None => format!("{} {}", " ".repeat(AXIS - 3), marks.vertical),
            };
            let mut spans = vec![Span::styled(axis, muted), Span::raw(" ")];
            for stretch in row.chunk_by(|one, next| one.1 == next.1) {
                let signs: String = stretch.iter().map(|(sign, _)| *sign).collect();
                spans.push(Span::styled(signs, sheet.on.style(stretch[0].1)));
            }
            lines.push(Line::from(spans));
        }
        let below: String = self.below.iter().collect();
        let corner = format!("{}+{}", " ".repeat(AXIS - 2), marks.horizontal);
        lines.push(Line::styled(format!("{corner}{below}"), muted));
        let dates = format!("{}{}", " ".repeat(AXIS), pictures::dates(self.first, self.last, self.width()));
        lines.push(Line::styled(fit(&dates, sheet.on.width, marks), muted));
        lines
    }
}

/// From what to what a drawing goes: from nought where the values come near it, else around them.
fn bounds(values: &[f64], grain: f64) -> (f64, f64) {
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let down = |value: f64| (value / grain).floor() * grain;
    let up = |value: f64| (value / grain).ceil() * grain;
    let low = if least > most / 2.0 { down(least) } else { 0.0 };
    let high = up(most);
    if high > low { (low, high) } else { (low, low + grain) }
}
