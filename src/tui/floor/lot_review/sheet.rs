//! What stands on the page of a lot.
//!
//! Bars and heights are drawn of characters alone, so that they say the same without colour and in ASCII.

use ratatui::text::{Line, Span};

use crate::cellar::core::state::VesselId;
use crate::cellar::jobs::floor::lot::Stage;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::views::floor::lot_review::LotReview;
use crate::cellar::views::floor::lot_review::mix::{MixPart, Quality};
use crate::cellar::views::floor::lot_review::readings::AnalyteReview;
use crate::reckon::spread::Spread;
use crate::told::floor::days_in_wood;
use crate::tui::core::draw::{beside, pair};
use crate::tui::core::model::Model;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::{columns, fit, left, right};
use crate::tui::core::theme::Meaning;
use crate::units::{Volume, counted, figure, figure_to, litres};

/// Between two lots side by side.
const GAP: usize = 3;
/// Of the names of kinds, so many columns at most are shown.
const KIND: usize = 18;
/// A share of the whole: `100.0 %`.
const SHARE: usize = 7;
/// A bar is no longer than this, so that it stays near its number.
const LONGEST_BAR: usize = 50;
/// The columns of a value with its unit.
const VALUE: usize = 15;
/// So many of the last days of testing are drawn.
const DAYS_DRAWN: usize = 12;
/// So many vessels are named at most; of the others the number is told.
const NAMED: usize = 12;

/// The lines of the page for so many columns.
pub(super) fn lines(model: &Model, reviews: &[LotReview], width: usize) -> Vec<Line<'static>> {
    match reviews {
        [] => Vec::new(),
        [only] => sections(model, only, width).into_iter().flatten().collect(),
        [first, second, ..] => side_by_side(model, [first, second], width),
    }
}

/// Two lots in columns, so that what is alike begins on the same line.
fn side_by_side(model: &Model, lots: [&LotReview; 2], width: usize) -> Vec<Line<'static>> {
    let theme = model.looks.theme;
    let column = width.saturating_sub(GAP) / 2;
    let [first, second] = lots.map(|review| {
        let label = model.state.lots.get(review.lot).label.as_str();
        let name = Line::styled(fit(label, column, model.looks.marks), theme.style(Meaning::Title));
        let mut sections = sections(model, review, column);
        sections.insert(0, vec![name]);
        sections
    });
    let rule = Span::styled(model.looks.marks.vertical.to_string(), theme.style(Meaning::Muted));
    let between = [Span::raw(" "), rule, Span::raw(" ")];
    let pairs = first.into_iter().zip(second);
    pairs.flat_map(|(ours, theirs)| beside(ours, theirs, column, &between)).collect()
}

/// The parts of the page, always the same ones in the same order.
fn sections(model: &Model, review: &LotReview, width: usize) -> Vec<Vec<Line<'static>>> {
    let on = LotSheet { on: Sheet { model, width } };
    vec![
        on.head(review),
        on.places(review),
        on.held(review),
        on.suspect(review),
        on.mix_head(review),
        on.by(review, Quality::Forest),
        on.by(review, Quality::Cooper),
        on.by(review, Quality::Toast),
        on.by(review, Quality::Seasoning),
        on.by(review, Quality::Grain),
        on.by(review, Quality::Fill),
        on.by(review, Quality::Shape),
        on.tastes(review),
        on.sulfur(review),
        on.limits(review),
        on.organic(review),
        on.tests(review),
        on.finish(review),
        on.course(review),
    ]
}

/// What the parts of a page are written on: so many columns.
pub(super) struct LotSheet<'a> {
    pub(super) on: Sheet<'a>,
}

impl LotSheet<'_> {
    pub(super) fn pair(&self, name: &str, what: &str, meaning: Meaning) -> Line<'static> {
        pair(self.on.model, &left(name, 10, self.on.marks()), what, self.on.width, self.on.style(meaning))
    }

    pub(super) fn label(&self, id: VesselId) -> &str {
        self.on.model.state.vessels.get(id).label.as_str()
    }

    /// Vessels with their values, as many as are named, and how many more there are.
    pub(super) fn named(&self, values: &[(VesselId, f64)]) -> String {
        let mut names: Vec<String> =
            values.iter().take(NAMED).map(|&(id, value)| format!("{} {value}", self.label(id))).collect();
        if values.len() > NAMED {
            names.push(format!("{} more", values.len() - NAMED));
        }
        names.join(", ")
    }

    fn head(&self, review: &LotReview) -> Vec<Line<'static>> {
        let lot = self.on.model.state.lots.get(review.lot);
        let mut lines = vec![self.pair("colour", &lot.colour.to_string(), Meaning::Base)];
        if let Some((stage, since)) = lot.stage {
            lines.push(self.pair("stage", &format!("{}, {}", words_for(stage), since.show_date()), Meaning::Base));
        }
        if review.vessels.is_empty() {
            lines.extend(self.on.words("No vessel holds it now.", Meaning::Warning));
        } else {
            let (book, estimated) = (review.book, review.estimated);
            let show = |volume: Volume| litres(volume);
            let (barrels, others) = (counted(review.barrels, "barrel"), review.other_vessels());
            let others = if others == 0 { String::new() } else { format!(", {others} other") };
            lines.push(self.pair("lies in", &format!("{barrels}{others}"), Meaning::Base));
            lines.push(self.pair("by book", &show(book), Meaning::Strong));
            let less = show(book.saturating_sub(estimated));
            lines.push(self.pair("estimate", &format!("{}, {less} less", show(estimated)), Meaning::Base));
        }
        let evaporated = format!("{} so far", litres(review.evaporated));
        lines.push(self.pair("evaporated", &evaporated, Meaning::Base));
        if let Some(days) = review.in_wood {
            lines.push(self.pair("in wood", &days_in_wood(days), Meaning::Base));
        }
        let meaning = match (review.due, review.over) {
            (0, 0) => Meaning::Fine,
            (_, 0) => Meaning::Due,
            _ => Meaning::Over,
        };
        lines.push(self.pair("to top", &format!("{} due, {} over", review.due, review.over), meaning));
        lines
    }

    fn places(&self, review: &LotReview) -> Vec<Line<'static>> {
        let mut lines = Vec::new();
        let mut room = None;
        for stretch in &review.places.rows {
            let name = if room == Some(&stretch.room) { "" } else { stretch.room.as_str() };
            room = Some(&stretch.room);
            lines.push(self.pair(name, &stretch.show(), Meaning::Base));
        }
        if review.places.nowhere > 0 {
            lines.push(self.pair("", &format!("{} at no place", review.places.nowhere), Meaning::Base));
        }
        if lines.is_empty() { lines } else { self.on.titled("Where it lies", lines) }
    }

    fn held(&self, review: &LotReview) -> Vec<Line<'static>> {
        if review.held.is_empty() {
            return Vec::new();
        }
        let held = review.held.iter().map(|&id| {
            let why = self.on.model.state.vessels.get(id).held.as_ref().map_or("", |hold| hold.why.as_str());
            self.on.words(&format!("{}: {why}", self.label(id)), Meaning::Held)
        });
        self.on.titled(&format!("Held, {}", counted(review.held.len(), "vessel")), held.flatten().collect())
    }

    fn suspect(&self, review: &LotReview) -> Vec<Line<'static>> {
        if review.suspect.is_empty() {
            return Vec::new();
        }
        let suspect = review.suspect.iter().map(|&id| {
            let why = self.on.model.state.suspect_words(self.on.model.state.vessels.get(id)).unwrap_or_default();
            self.on.words(&format!("{}: {why}", self.label(id)), Meaning::Warning)
        });
        self.on.titled(&format!("Suspect, {}", counted(review.suspect.len(), "vessel")), suspect.flatten().collect())
    }

    fn mix_head(&self, review: &LotReview) -> Vec<Line<'static>> {
        let Some(new) = review.mix.new_wood_thousandths() else { return Vec::new() };
        let lines = vec![self.bar("new wood", "", new)];
        self.on.titled("Barrels, by the litres in them", lines)
    }

    fn by(&self, review: &LotReview, quality: Quality) -> Vec<Line<'static>> {
        if !review.mix.knows(quality) {
            return Vec::new();
        }
        let kind = |part: &MixPart| part.kind.as_ref().map_or_else(|| "(not known)".to_owned(), ToString::to_string);
        let parts = review.mix.by(quality).iter().zip(review.mix.thousandths(quality)).enumerate();
        parts
            .map(|(at, (part, share))| self.bar(if at == 0 { quality.name() } else { "" }, &kind(part), share))
            .collect()
    }

    /// A line with a bar and its number, in tenths of a percent.
    fn bar(&self, by: &str, kind: &str, share: u64) -> Line<'static> {
        let marks = self.on.marks();
        let kind_width = KIND.min(self.on.width / 3);
        let room = self.on.width.saturating_sub(11 + kind_width + 1 + SHARE).min(LONGEST_BAR);
        // To the nearest column.
        let filled = (usize::try_from(share).unwrap_or(0) * room + 500) / 1_000;
        let bar: String = std::iter::repeat_n(marks.levels[8], filled).collect();
        let number = right(&format!("{}.{} %", share / 10, share % 10), SHARE, marks);
        Line::from(vec![
            Span::styled(left(by, 11, marks), self.on.style(Meaning::Muted)),
            Span::styled(left(kind, kind_width, marks) + " ", self.on.style(Meaning::Base)),
            Span::styled(left(&bar, room, marks), self.on.style(Meaning::Base)),
            Span::styled(number, self.on.style(Meaning::Strong)),
        ])
    }

    fn tastes(&self, review: &LotReview) -> Vec<Line<'static>> {
        let tastes = &review.tastes;
        let Some((_, last)) = tastes.between else { return Vec::new() };
        let mut lines = Vec::new();
        let of = format!("{} of {} by {}", tastes.tasted, review.vessels.len(), last.show_date());
        lines.push(self.pair("tasted", &of, Meaning::Base));
        if let Some(spread) = tastes.spread {
            let text = format!("{} to {}, median {}", spread.least, spread.most, spread.median);
            lines.push(self.pair("score", &text, Meaning::Strong));
            lines.push(self.pair("", &self.scores(&tastes.scores, spread), Meaning::Base));
        }
        if !tastes.outliers.is_empty() {
            lines.extend(self.on.words(&format!("stand out: {}", self.named(&tastes.outliers)), Meaning::Warning));
        }
        if !tastes.faults.is_empty() {
            let faults: Vec<&str> = tastes.faults.iter().map(|&id| self.label(id)).collect();
            lines.extend(self.on.words(&format!("with a fault: {}", faults.join(", ")), Meaning::Over));
        }
        if !tastes.marks.is_empty() {
            let marks: Vec<String> = tastes.marks.iter().map(|(mark, count)| format!("{mark} {count}")).collect();
            lines.extend(self.on.words(&format!("marks: {}", marks.join(", ")), Meaning::Base));
        }
        self.on.titled("Tastes", lines)
    }

    /// How many scores there are of each whole point, drawn between the least and the most.
    fn scores(&self, scores: &[(VesselId, f64)], spread: Spread) -> String {
        let (least, most) = (spread.least.floor(), spread.most.floor());
        // Scores lie between 0 and 20, so that there are at most 21 points.
        let points = (0..=20_u8).map(f64::from).filter(|point| (least..=most).contains(point));
        let counts: Vec<usize> = points
            .map(|point| scores.iter().filter(|(_, score)| (point..point + 1.0).contains(score)).count())
            .collect();
        let highest = counts.iter().copied().max().unwrap_or(1).max(1);
        let marks = self.on.marks();
        let drawn: String = counts.iter().map(|&count| marks.level(count as f64 / highest as f64)).collect();
        format!("{least} {drawn} {most}")
    }

    fn tests(&self, review: &LotReview) -> Vec<Line<'static>> {
        if review.readings.is_empty() {
            return self.on.titled("Tests", self.on.words("Nothing was tested yet.", Meaning::Muted));
        }
        let read = |reading: &AnalyteReview| self.test(&reading.read(self.on.model.state.read_as(reading.analyte)));
        let mut lines: Vec<Line<'static>> = review.readings.iter().flat_map(read).collect();
        if review.readings.iter().any(|reading| reading.last.vessels > 1) {
            let hidden = "A composite sample hides how its barrels differ.";
            lines.extend(self.on.words(hidden, Meaning::Muted));
        }
        self.on.titled("Tests, the last of each", lines)
    }

    /// A thing that was tested: its last result, how it went, and who stands out. What one line does not take stands below.
    fn test(&self, reading: &AnalyteReview) -> Vec<Line<'static>> {
        let marks = self.on.marks();
        let of = if reading.last.vessels > 1 { format!(", of {}", reading.last.vessels) } else { String::new() };
        let when = format!("{}{of}", reading.last.at.show_date());
        let trend = reading.trend().map_or_else(String::new, |(before, _)| {
            let decimals = decimals(reading.analyte);
            let mean = figure_to(decimals, before.mean);
            format!("was {mean} on {} {}", before.at.show_day(), self.days(reading))
        });
        let mut spans = vec![
            Span::styled(left(reading.analyte.name(), 19, marks), self.on.style(Meaning::Muted)),
            Span::styled(left(&self.value(reading), VALUE, marks) + " ", self.on.style(Meaning::Strong)),
        ];
        let mut below = Vec::new();
        let base = self.on.style(Meaning::Base);
        if self.on.width >= 19 + VALUE + 20 + columns(&trend) {
            spans.push(Span::styled(format!("{}{trend}", left(&when, 19, marks)), base));
        } else {
            let parts = [when, trend].into_iter().filter(|part| !part.is_empty());
            below.extend(parts.map(|part| Line::styled(fit(&format!("  {part}"), self.on.width, marks), base)));
        }
        if !reading.outliers.is_empty() {
            below.extend(self.on.words(&format!("stand out: {}", self.named(&reading.outliers)), Meaning::Warning));
        }
        std::iter::once(Line::from(spans)).chain(below).collect()
    }

    /// The last result with its unit: `24 mg/L`, `0.45 g/L acetic`.
    pub(super) fn value(&self, reading: &AnalyteReview) -> String {
        let unit = self.on.model.state.read_as(reading.analyte).short_unit();
        let space = if unit.is_empty() { "" } else { " " };
        format!("{}{space}{unit}", figure(reading.last.value))
    }

    /// The last days of testing as heights between their least and most.
    fn days(&self, reading: &AnalyteReview) -> String {
        let days = &reading.days[reading.days.len().saturating_sub(DAYS_DRAWN)..];
        let least = days.iter().map(|day| day.mean).fold(f64::INFINITY, f64::min);
        let most = days.iter().map(|day| day.mean).fold(f64::NEG_INFINITY, f64::max);
        // The least still shows: its height is an eighth.
        let height = |mean: f64| if most > least { 0.125 + 0.875 * (mean - least) / (most - least) } else { 0.5 };
        days.iter().map(|day| self.on.marks().level(height(day.mean))).collect()
    }
}

/// How a lot's barrels are kept, in words.
const fn words_for(stage: Stage) -> &'static str {
    match stage {
        Stage::Soaking => "soaking",
        Stage::Malolactic => "malolactic",
        Stage::BungUp => "bung up",
        Stage::Rolled => "bung rolled",
    }
}

/// To how many decimals a mean of results is shown: as laboratories report them (common practice).
pub(super) const fn decimals(analyte: Analyte) -> usize {
    match analyte {
        Analyte::Ph | Analyte::VolatileAcidity | Analyte::Malic | Analyte::Lactic => 2,
        Analyte::FreeSo2 | Analyte::TotalSo2 | Analyte::Potassium | Analyte::Turbidity => 0,
        _ => 1,
    }
}
