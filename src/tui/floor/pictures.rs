//! Pictures of what evaporated: a barrel's saw-tooth of headspace, and a room month by month.
//!
//! They are drawn of characters alone, so that they say the same without colour and in ASCII.

use ratatui::text::{Line, Span};

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::{DAY_MICROSECONDS, Moment};
use crate::cellar::core::state::{State, Vessel};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::views::topping::evaporation::{Evaporated, Found, Level, Month};
use crate::tui::core::apart::Search;
use crate::tui::core::draw::paragraph;
use crate::tui::core::finding::{self, Finding};
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::core::text::{columns, fit, left, right};
use crate::tui::core::theme::Meaning;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Answer;
use crate::units::{self, VolumeUnit, figure_to};

/// Columns of the numbers at the left of the saw-tooth, with the line beside them.
const AXIS: usize = 7;
/// So many rows the saw-tooth has at least, and at most.
const ROWS: (usize, usize) = (4, 24);
/// The page of a barrel has so many lines besides the rows of its saw-tooth, wrapped ones not counted.
const LINES_BESIDES: usize = 7;
/// A saw-tooth of less than this is stretched over it, days.
const LEAST_DAYS: i64 = 14;

/// What a picture is of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Subject {
    /// A barrel's headspace through time.
    Barrel(Label),
    /// A room's evaporation by month.
    Room(Label),
}

impl Subject {
    /// The barrel, if it is one.
    #[must_use]
    pub fn barrel(&self) -> Option<&Label> {
        match self {
            Subject::Barrel(label) => Some(label),
            Subject::Room(_) => None,
        }
    }
}

/// A picture on the screen.
#[derive(Clone, Debug)]
pub struct Picture {
    /// What it is of.
    pub subject: Subject,
    /// What the facts tell.
    pub finding: Finding<Evaporated>,
    /// From which line on it is shown.
    line: usize,
}

impl Table for Picture {
    const ABOUT: About = About {
        name: "A picture",
        purpose: "Of a barrel: what it lacked through the last two years, a saw-tooth that falls where it was topped, and the estimate up \
                  to now.\n\
                  Of a room: what evaporated by month, in mL per barrel and day, and whether its climate explains it.",
        opens: Opens::ByWays(&[
            Way {
                sense: Some(Sense::Picture),
                title: "Picture of this barrel",
                help: "Draws what this barrel lacked through the last two years, and the estimate up to now.",
                also: &["headspace", "ullage", "leak", "chart", "thirsty", "takes more"],
                why_not: why_no_barrel,
                open: |model| {
                    let barrel = model.chosen_vessel().map(|vessel| Subject::Barrel(vessel.label.clone()));
                    open(model, barrel)
                },
            },
            Way {
                sense: None,
                title: "Picture of the room",
                help: "Draws what evaporated in this room by month, and says whether its climate explains it.",
                also: &["evaporation", "angels' share"],
                why_not: why_no_room,
                open: |model| {
                    let room = model.room().map(|room| Subject::Room(model.state.rooms.get(room).label.clone()));
                    open(model, room)
                },
            },
        ]),
    };
    const ROWS: &'static [Row<Picture>] = &[];
}

/// Opens the page of a picture and wishes for what it shows.
fn open(model: &mut Model, subject: Option<Subject>) -> Wishes {
    let Some(subject) = subject else { return Vec::new() };
    let mut page = Picture { subject, finding: Finding::default(), line: 0 };
    let wishes = page.ask(model);
    model.open(page);
    wishes
}

impl Picture {
    fn ask(&mut self, model: &mut Model) -> Wishes {
        let barrel = self.subject.barrel().cloned();
        self.finding.ask(model, Search::in_facts(move |desk, now| desk.evaporation(now, barrel.clone())))
    }
}

/// Why no picture of the room can be drawn, if none can.
fn why_no_room(model: &Model) -> Option<String> {
    model.why_opening().or_else(|| model.why_no_room())
}

/// Why no picture of the chosen vessel can be drawn, if none can.
fn why_no_barrel(model: &Model) -> Option<String> {
    let other = || {
        let vessel = model.chosen_vessel().filter(|vessel| vessel.vessel_type != VesselType::Barrel)?;
        Some(format!("{} is no barrel. Go to one, or press / to find it.", vessel.label))
    };
    model.why_opening().or_else(|| model.why_nothing_here()).or_else(other)
}

impl Page for Picture {
    fn title(&self, _model: &Model) -> String {
        match &self.subject {
            Subject::Barrel(label) => format!("Headspace of {label}"),
            Subject::Room(label) => format!("Evaporation in {label}"),
        }
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        let Some(told) = self.finding.told() else { return finding::working(model, width) };
        match &self.subject {
            Subject::Barrel(label) => barrel(model, label, &told.levels, width, height),
            Subject::Room(label) => room(model, label, told, width),
        }
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

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        self.finding.take(model, answer)
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let (label, is_there) = match &self.subject {
            Subject::Barrel(label) => (label, model.state.vessels.find(label.as_str()).is_some()),
            Subject::Room(label) => (label, model.state.rooms.find(label.as_str()).is_some()),
        };
        if is_there { Followed::There } else { Followed::Gone(label.to_string()) }
    }

    /// What is shown stays until the other is there.
    fn ask_again(&mut self, model: &mut Model) -> Wishes {
        self.ask(model)
    }
}

/// A room: what it draws beside what its climate explains, then a bar for each month, the last first.
fn room(model: &Model, label: &Label, told: &Evaporated, width: usize) -> Vec<Line<'static>> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let mut lines = climate(model, label, width);
    let months: Vec<(Month, Found, f64)> =
        told.of_room(label).iter().filter_map(|(month, found)| Some((*month, *found, found.daily()?))).collect();
    if months.is_empty() {
        let none = "No barrel of this room was topped to the brim or gauged twice yet, so nothing is known by month.";
        lines.extend(paragraph(model, none, width, Meaning::Base));
        return lines;
    }
    lines.push(Line::default());
    let most = months.iter().map(|(.., daily)| millilitres(*daily)).fold(0.0, f64::max);
    let top = round_up(most);
    let beside = 9 + 9;
    let counted = " 1234 barrels";
    let with_count = width >= 60;
    let bar_width = width.saturating_sub(beside + if with_count { columns(counted) } else { 0 });
    let heading = format!("{}mL per barrel and day", " ".repeat(beside));
    lines.push(Line::styled(fit(&heading, width, marks), theme.style(Meaning::Muted)));
    lines.push(Line::styled(format!("{}{}", " ".repeat(beside), scale(top, bar_width)), theme.style(Meaning::Muted)));
    for (month, found, daily) in months.iter().rev() {
        let value = millilitres(*daily);
        let filled = cells(value / top, bar_width);
        let bar: String = std::iter::repeat_n(marks.levels[8], filled).collect();
        let mut spans = vec![
            Span::styled(left(&month.show(), 9, marks), theme.style(Meaning::Muted)),
            Span::styled(format!("{} ", right(&figure_to(1, value), 8, marks)), theme.style(Meaning::Strong)),
            Span::styled(left(&bar, bar_width, marks), theme.style(Meaning::Base)),
        ];
        if with_count {
            let barrels = (found.barrel_days / month.days()).round().max(1.0);
            spans.push(Span::styled(
                right(&units::counted(barrels, "barrel"), columns(counted), marks),
                theme.style(Meaning::Muted),
            ));
        }
        lines.push(Line::from(spans));
    }
    lines.push(Line::default());
    let how = "What was found at a topping or gauging is spread over the days since the level before. The last month is \
               known only as far as its barrels were opened. Soak-in of new wood and leaks are in it.";
    lines.extend(paragraph(model, how, width, Meaning::Muted));
    lines
}

/// What a room has been learned to draw, beside what its climate explains.
fn climate(model: &Model, label: &Label, width: usize) -> Vec<Line<'static>> {
    let plus_minus = model.looks.marks.plus_minus;
    let Some(id) = model.state.rooms.find(label.as_str()) else { return Vec::new() };
    let Some(level) = model.state.room_level(id, model.now) else {
        return paragraph(model, "No level was found in this room yet.", width, Meaning::Base);
    };
    let deviation = millilitres(level.learned) * level.deviation;
    let learned = format!(
        "The room draws {:.0} {plus_minus}{deviation:.0} mL a day from a 225 L barrel, in the mean of the year.",
        millilitres(level.learned),
    );
    let room = model.state.rooms.get(id);
    let explained = match (level.climate, room.temperature_c, room.humidity_pct) {
        (Some(climate), Some(temperature), Some(humidity)) => {
            format!("Its {temperature} °C and {humidity} % explain {:.0} mL.", millilitres(climate))
        }
        _ => "Its temperature and humidity are not stated, so that nothing can be said of its climate.".to_owned(),
    };
    let mut lines = paragraph(model, &format!("{learned} {explained}"), width, Meaning::Base);
    if let (Some(times), Some(climate)) = (level.beyond, level.climate) {
        let text = format!(
            "{} It drinks {} times what its climate explains, {:.0} mL a day more from each barrel: look for \
             a draught, dry air or loose bungs.",
            model.looks.marks.warning,
            figure_to(1, times),
            millilitres(level.learned - climate),
        );
        lines.extend(paragraph(model, &text, width, Meaning::Warning));
    }
    lines
}

/// A barrel: its saw-tooth with the estimate up to now, and what the signs mean.
fn barrel(model: &Model, label: &Label, levels: &[Level], width: usize, height: usize) -> Vec<Line<'static>> {
    let theme = model.looks.theme;
    let marks = model.looks.marks;
    let vessel = model.state.vessels.by_label(label.as_str());
    let Some((vessel, last)) = vessel.zip(levels.last()) else {
        let none = "Its level was never known: it was neither filled, topped nor gauged yet.";
        return paragraph(model, none, width, Meaning::Base);
    };
    let head = now_line(model, vessel);
    let mut lines = paragraph(model, &head, width, Meaning::Strong);
    let drawn = width.saturating_sub(AXIS);
    let rows = height.saturating_sub(lines.len() + LINES_BESIDES).clamp(ROWS.0, ROWS.1) / 2 * 2;
    let saw = Saw::new(&model.state, vessel, levels, last, model.now, drawn);
    lines.push(Line::styled("litres missing", theme.style(Meaning::Muted)));
    for row in (0..rows).rev() {
        let edge = saw.top * (row + 1) as f64 / rows as f64;
        // The whole and the half are enough to read by, and are numbers one can read.
        let number = if row + 1 == rows || row + 1 == rows / 2 { plain(edge) } else { String::new() };
        let axis = format!("{} {}", right(&number, AXIS - 2, marks), marks.vertical);
        let mut spans = vec![Span::styled(axis, theme.style(Meaning::Muted))];
        let cell = |column: &Column| {
            let part = column.litres / saw.top * rows as f64 - row as f64;
            match column.known {
                true => marks.level(part),
                false if part >= 0.5 => marks.between,
                false => ' ',
            }
        };
        let known: String = saw.columns.iter().filter(|column| column.known).map(cell).collect();
        let guessed: String = saw.columns.iter().filter(|column| !column.known).map(cell).collect();
        spans.push(Span::styled(known, theme.style(Meaning::Base)));
        spans.push(Span::styled(guessed, theme.style(Meaning::Strong)));
        lines.push(Line::from(spans));
    }
    let axis: String = std::iter::repeat_n(marks.horizontal, drawn).collect();
    lines.push(Line::styled(format!("{}0 +{axis}", " ".repeat(AXIS - 3)), theme.style(Meaning::Muted)));
    let dates = format!("{}{}", " ".repeat(AXIS), dates(saw.first, saw.last, drawn));
    lines.push(Line::styled(fit(&dates, width, marks), theme.style(Meaning::Muted)));
    let legend = format!(
        "{} between levels that were known   {} estimate since the last of them",
        marks.levels[8], marks.between
    );
    lines.extend(paragraph(model, &legend, width, Meaning::Muted));
    let how = "Each tooth grows from a known level to what was missing at the next topping or gauging.";
    lines.extend(paragraph(model, how, width, Meaning::Muted));
    lines
}

/// What a barrel lacks now.
fn now_line(model: &Model, vessel: &Vessel) -> String {
    if vessel.wine.is_empty() {
        return "It is empty now.".to_owned();
    }
    let estimate = model.state.headspace(vessel, model.now);
    let litres = |volume: crate::units::Volume| volume.in_column(1);
    let (missing, deviation) = (litres(estimate.missing), litres(estimate.deviation));
    let (or, unit) = (model.looks.marks.plus_minus, VolumeUnit::customary().symbol());
    format!("It lacks {missing} {or}{deviation} {unit} now, {}.", estimate.basis.words())
}

/// A column of the saw-tooth.
struct Column {
    litres: f64,
    /// Whether a level was known before it and behind it.
    known: bool,
}

/// A saw-tooth in columns.
struct Saw {
    first: Moment,
    last: Moment,
    top: f64,
    columns: Vec<Column>,
}

impl Saw {
    fn new(state: &State, vessel: &Vessel, levels: &[Level], last: &Level, now: Moment, width: usize) -> Saw {
        let first = levels.first().map_or(last.at, |level| level.at);
        let stretched = first.instant().saturating_add(LEAST_DAYS * DAY_MICROSECONDS);
        let end = now.at_instant(now.instant().max(last.at.instant()).max(stretched));
        let start = first.instant();
        let span = (end.instant() - start) as f64;
        let at = |column: usize| {
            let part = column as f64 / width.max(1) as f64;
            now.at_days_of_epoch(first.days_of_epoch() + part * span / DAY_MICROSECONDS as f64)
        };
        let goes_on = !vessel.wine.is_empty() && vessel.level_known.is_some();
        let columns: Vec<Column> = (0..width)
            .map(|column| {
                let (from, to) = (at(column), at(column + 1));
                if from.instant() > last.at.instant() {
                    let shown = goes_on && from.instant() <= now.instant();
                    let moment = now.at_instant(to.instant().min(now.instant()));
                    let litres = if shown { state.headspace(vessel, moment).missing.as_litres() } else { 0.0 };
                    return Column { litres, known: false };
                }
                Column { litres: highest(levels, from.instant(), to.instant()), known: true }
            })
            .collect();
        let most = columns.iter().map(|column| column.litres).fold(0.0, f64::max);
        Saw { first, last: end, top: round_up(most.max(0.5)), columns }
    }
}

/// The dates below a drawing: its first and its last, and between them as far as there is room.
pub(super) fn dates(first: Moment, last: Moment, width: usize) -> String {
    let middle = first.at_instant(first.instant().midpoint(last.instant())).show_date();
    let (first, last) = (first.show_date(), last.show_date());
    let free = width.saturating_sub(columns(&first) + columns(&last) + columns(&middle));
    if free < 4 {
        let free = width.saturating_sub(columns(&first) + columns(&last));
        return format!("{first}{}{last}", " ".repeat(free));
    }
    format!("{first}{}{middle}{}{last}", " ".repeat(free / 2), " ".repeat(free - free / 2))
}

/// The most that was missing between two instants, on straight lines between the levels that were known.
fn highest(levels: &[Level], from: i64, to: i64) -> f64 {
    let on_line = |before: &Level, after: &Level, instant: i64| {
        let (start, end) = (before.at.instant(), after.at.instant());
        let part = if end > start { (instant - start) as f64 / (end - start) as f64 } else { 1.0 };
        let (low, high) = (before.missing.as_litres(), after.missing.as_litres());
        low + (high - low) * part.clamp(0.0, 1.0)
    };
    let inside = levels.iter().filter(|level| (from..to).contains(&level.at.instant()));
    let mut most = inside.map(|level| level.missing.as_litres()).fold(0.0, f64::max);
    // The two ends of the stretch lie on lines.
    for instant in [from, to] {
        let after = levels.partition_point(|level| level.at.instant() <= instant);
        let pair = after.checked_sub(1).and_then(|before| Some((levels.get(before)?, levels.get(after)?)));
        if let Some((before, after)) = pair.filter(|(_, after)| !after.begins) {
            most = most.max(on_line(before, after, instant));
        }
    }
    most
}

fn millilitres(litres: f64) -> f64 {
    litres * 1_000.0
}

/// The next of 1, 1.5, 2, 3, 4, 5, 7.5, 10, 15 … that is not below a value, so that an axis ends on a number one can read.
fn round_up(value: f64) -> f64 {
    let mut step = 0.01;
    while step < 1e9 {
        for times in [1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.5] {
            if step * times >= value {
                return step * times;
            }
        }
        step *= 10.0;
    }
    step
}

/// A number of an axis, without noughts at its end.
fn plain(value: f64) -> String {
    units::figure((value * 1000.0).round() / 1000.0)
}

/// How many cells of a bar are filled.
fn cells(share: f64, width: usize) -> usize {
    (1..=width).take_while(|&cell| share * width as f64 + 0.5 >= cell as f64).count()
}

/// The scale over bars: nothing, half and the whole.
fn scale(top: f64, width: usize) -> String {
    let (half, whole) = (plain(top / 2.0), plain(top));
    let before = (width / 2).saturating_sub(1);
    let behind = width.saturating_sub(before + half.len() + whole.len());
    if before < 1 || behind < 1 {
        return "0".to_owned();
    }
    format!("0{}{half}{}{whole}", " ".repeat(before - 1), " ".repeat(behind))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Volume;

    fn level(day: i64, millilitres: u64, begins: bool) -> Level {
        let at = Moment::new(day * DAY_MICROSECONDS, 0);
        Level { at, missing: Volume::from_ul(millilitres * 1_000), begins }
    }

    #[test]
    fn a_tooth_grows_and_falls() {
        let levels = [level(0, 0, true), level(20, 1_000, false), level(20, 0, false), level(40, 2_000, false)];
        let at = |from: i64, to: i64| highest(&levels, from * DAY_MICROSECONDS, to * DAY_MICROSECONDS);
        assert!((at(9, 10) - 0.5).abs() < 1e-9);
        assert!((at(19, 21) - 1.0).abs() < 1e-9);
        assert!((at(29, 30) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn no_line_leads_from_one_fill_to_the_next() {
        let levels = [level(0, 0, true), level(10, 5_000, false), level(50, 1_000, true)];
        assert!(highest(&levels, 20 * DAY_MICROSECONDS, 30 * DAY_MICROSECONDS).abs() < 1e-9);
    }

    #[test]
    fn an_axis_ends_on_a_number_that_can_be_read() {
        assert_eq!(
            [0.5, 0.51, 1.2, 29.0, 31.0].map(|value| format!("{:.2}", round_up(value))),
            ["0.50", "0.75", "1.50", "30.00", "40.00"]
        );
        assert!(round_up(f64::NAN).is_finite() && round_up(f64::INFINITY).is_finite());
    }
}
