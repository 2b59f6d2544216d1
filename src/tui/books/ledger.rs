//! The ledger on the screen: a month or a year, the whole cellar or its lots, rooms and vessels, and what was lost against
//! what rules leave.

use ratatui::text::Line;

use crate::cellar::core::account::Entry;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::views::books::ledger::{Division, LOSSES, Losses, Period, Row, Subject};
use crate::cellar::views::topping::evaporation::Month;
use crate::told::losses;
use crate::tui::core::apart::Search;
use crate::tui::core::finding::{self, Finding};
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Opens, Page, Row as Command, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::{left, right};
use crate::tui::core::theme::Meaning;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Answer;
use crate::units::{Volume, VolumeUnit, figure_to};

/// The months of a year.
const YEAR_MONTHS: u32 = 12;
/// The columns of a number.
const NUMBER: usize = 9;
/// The columns of the numbers of a row: opening, in, out, lost, on hand, and the share lost.
const NUMBERS: usize = 5 * (NUMBER + 1) + 7;
/// The columns of a line's name.
const NAME: usize = 16;
/// A row must show so much of its name, else what came and went gives way.
const LEAST_NAME: usize = 14;

/// What came.
const INCOMING: [Entry; 3] = [Entry::Received, Entry::Gain, Entry::Treatment];

/// What went and is no loss.
const OUTGOING: [Entry; 4] = [Entry::Bottled, Entry::Removed, Entry::Sample, Entry::Unrecorded];

/// The divisions, as tab turns through them.
const DIVISIONS: [(Division, &str); 4] = [
    (Division::Whole, "whole cellar"),
    (Division::Lot, "by lot"),
    (Division::Room, "by room"),
    (Division::Vessel, "by vessel"),
];

/// The page of the ledger.
#[derive(Debug)]
pub struct Ledger {
    /// The month that it ends with.
    month: Month,
    /// Whether it is of the twelve months to that one.
    of_year: bool,
    /// Which of the divisions.
    division: usize,
    /// What the facts tell.
    finding: Finding<Period>,
    /// From which line on it is shown.
    line: usize,
}

impl Table for Ledger {
    const ABOUT: About = About {
        name: "The ledger",
        purpose: "What came, went and was lost in a month or a year, and what is on hand: every litre has its line, and opening + in - \
                  out is what is there, to the microlitre.\n\
                  Tab shows it by lot, by room and by vessel. Losses stand beside what published rules leave for them.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "The ledger",
            help: "Shows what came, went and was lost in a month or a year, of the whole cellar or by lot, room or vessel, against \
                   what rules leave.",
            also: &["losses", "evaporation", "stock", "balance", "books", "month", "on hand"],
            why_not: Model::why_opening,
            open,
        }]),
    };
    const ROWS: &'static [Command<Ledger>] = &[
        Command::new(Sense::Before, "The month before", "Shows the month before.", |page: &mut Ledger, model| {
            page.show_month(model, page.month.before())
        })
        .word(|_, _| Some("earlier".to_owned())),
        Command::new(Sense::After, "The next month", "Shows the next month.", |page: &mut Ledger, model| {
            page.show_month(model, page.month.next())
        })
        .word(|_, _| Some("later".to_owned()))
        .unless(Ledger::why_no_later_month),
        Command::new(
            Sense::View,
            "A month or a year",
            "Turns from a month to the twelve months that end with it, and back.",
            Ledger::turn_length,
        )
        .word(|page, _| Some(if page.of_year { "month" } else { "year" }.to_owned())),
        Command::new(
            Sense::OtherSide,
            "Another division",
            "Shows the whole cellar, a row a lot, a row a room, a row a vessel in turn.",
            Ledger::divide,
        )
        .word(|_, _| Some("divide".to_owned())),
    ];
}

/// Opens the ledger of the month under way.
fn open(model: &mut Model) -> Wishes {
    let month = Month::of(model.now);
    let mut page = Ledger { month, of_year: false, division: 0, finding: Finding::default(), line: 0 };
    let wishes = page.ask(model);
    model.open(page);
    wishes
}

impl Ledger {
    /// From when to when it is, both included.
    #[must_use]
    pub fn bounds(&self, wall: Moment) -> (Moment, Moment) {
        let months = if self.of_year { YEAR_MONTHS } else { 1 };
        let first = (1..months).fold(self.month, |month, _| month.before());
        let end = self.month.next().begins(wall);
        (first.begins(wall), wall.at_instant(end.instant() - 1))
    }

    /// Wishes for what it shows.
    fn ask(&mut self, model: &mut Model) -> Wishes {
        self.line = 0;
        self.finding = Finding::default();
        let (from, to) = self.bounds(model.now);
        self.finding.ask(model, Search::in_facts(move |desk, now| desk.period(from, to, now)))
    }

    fn show_month(&mut self, model: &mut Model, month: Month) -> Turn {
        self.month = month;
        self.ask(model).into()
    }

    fn why_no_later_month(&self, model: &Model) -> Option<String> {
        let is_last = self.month >= Month::of(model.now);
        is_last.then(|| "That is the month under way; the next one is to come.".to_owned())
    }

    fn turn_length(&mut self, model: &mut Model) -> Turn {
        self.of_year = !self.of_year;
        self.ask(model).into()
    }

    fn divide(&mut self, _model: &mut Model) -> Turn {
        (self.division, self.line) = ((self.division + 1) % DIVISIONS.len(), 0);
        Turn::stay()
    }

    /// Whether the facts are being gone through still.
    #[must_use]
    pub fn is_working(&self) -> bool {
        self.finding.told().is_none()
    }
}

impl Page for Ledger {
    fn title(&self, _model: &Model) -> String {
        let of = if self.of_year { "Ledger of the year to" } else { "Ledger of" };
        format!("{of} {}, {}", self.month.show(), DIVISIONS[self.division].1)
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        lines(model, self, width)
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

    fn ask_again(&mut self, model: &mut Model) -> Wishes {
        self.ask(model)
    }
}

/// The lines of the page.
fn lines(model: &Model, page: &Ledger, width: usize) -> Vec<Line<'static>> {
    let statement = Statement { on: Sheet { model, width } };
    let Some(period) = page.finding.told() else { return finding::working(model, width) };
    let division = DIVISIONS[page.division].0;
    let losses = period.losses(division);
    let rows = period.rows(division);
    let of = |row: &Row| losses.get(&row.subject).copied().unwrap_or_default();
    match (division, rows.as_slice()) {
        (Division::Whole, [whole]) => statement.whole(period, whole, &of(whole)),
        _ => statement.divided(period, &rows, of),
    }
}

/// What a period is told on.
struct Statement<'a> {
    on: Sheet<'a>,
}

impl Statement<'_> {
    /// A line of the statement: its sign, its name, its litres.
    fn entry(&self, sign: &str, name: &str, volume: Volume, meaning: Meaning) -> Line<'static> {
        let unit = VolumeUnit::customary().symbol();
        let number = right(&volume.in_column(1), 12, self.on.marks());
        self.on.line(&format!("{sign} {} {number} {unit}", left(name, NAME, self.on.marks())), meaning)
    }

    /// The whole cellar: what was there, a line a cause, what is there.
    fn whole(&self, period: &Period, row: &Row, losses: &Losses) -> Vec<Line<'static>> {
        let sums = |sign: &'static str, entries: &'static [Entry]| {
            let sums = entries.iter().map(move |&entry| (sign, entry.word(), row.account.sum(entry)));
            sums.filter(|(.., volume)| !volume.is_zero())
        };
        let mut lines = vec![self.entry(" ", "opening", row.opening, Meaning::Strong)];
        let causes = sums("+", &INCOMING).chain(sums("-", &OUTGOING)).chain(sums("-", &LOSSES));
        lines.extend(causes.map(|(sign, name, volume)| self.entry(sign, name, volume, Meaning::Base)));
        lines.push(self.entry("=", "on hand", row.closing, Meaning::Strong));
        lines.push(self.balance(std::slice::from_ref(row)));
        lines.push(Line::default());
        lines.extend(self.lost(period, losses));
        lines
    }

    /// Whether the books balance.
    fn balance(&self, rows: &[Row]) -> Line<'static> {
        let marks = self.on.marks();
        if rows.iter().all(Row::balances) {
            self.on.line(&format!("{} opening + in - out = on hand, to the microlitre", marks.yes), Meaning::Fine)
        } else {
            self.on.line("The books do not balance: `barrelwalk verify` says more.", Meaning::Over)
        }
    }

    /// The losses in words, with what rules leave.
    fn lost(&self, period: &Period, losses: &Losses) -> Vec<Line<'static>> {
        let lines = losses::of_period(period, losses).into_iter().flat_map(|told| {
            let (mark, meaning) = match told.above {
                Some(true) => ("! ", Meaning::Due),
                Some(false) => ("  ", Meaning::Fine),
                None => ("", Meaning::Base),
            };
            self.on.words(&format!("{mark}{}", told.words), meaning)
        });
        lines.collect()
    }

    /// A row a lot, a room or a vessel.
    fn divided(&self, period: &Period, rows: &[Row], losses: impl Fn(&Row) -> Losses) -> Vec<Line<'static>> {
        let marks = self.on.marks();
        let shown: &[usize] = if self.on.width >= NUMBERS + LEAST_NAME { &[0, 1, 2, 3, 4] } else { &[0, 3, 4] };
        let name_width = self.on.width.saturating_sub(NUMBERS) + (5 - shown.len()) * (NUMBER + 1);
        let row = |name: &str, numbers: [&str; 5], share: &str| {
            let numbers: Vec<String> = shown.iter().map(|&at| right(numbers[at], NUMBER, marks)).collect();
            format!("{} {} {}", left(name, name_width, marks), numbers.join(" "), right(share, 6, marks))
        };
        let heading = row("", ["opening", "in", "out", "lost", "on hand"], "lost %");
        let mut lines = vec![self.on.line(&heading, Meaning::Title)];
        let mut total = Sums::default();
        for one in rows {
            let its = losses(one);
            let sums = Sums::of(one, &its);
            total = total.and(&sums);
            let name = name(period, one.subject).map_or_else(|| "(none)".to_owned(), ToString::to_string);
            let share = its.share().map_or_else(String::new, |share| figure_to(2, share * 100.0));
            let numbers = sums.shown();
            let numbers = [0, 1, 2, 3, 4].map(|at| numbers[at].as_str());
            lines.push(self.on.line(&row(&name, numbers, &share), Meaning::Base));
        }
        if rows.is_empty() {
            return vec![self.on.line("Nothing lay here and nothing moved in this time.", Meaning::Muted)];
        }
        let numbers = total.shown();
        let numbers = [0, 1, 2, 3, 4].map(|at| numbers[at].as_str());
        lines.push(self.on.line(&row("total", numbers, ""), Meaning::Strong));
        lines.push(self.balance(rows));
        lines
    }
}

/// The sums of a row: opening, what came, what went and was no loss, what was lost, what is there.
#[derive(Default)]
struct Sums([Volume; 5]);

impl Sums {
    fn of(row: &Row, losses: &Losses) -> Sums {
        let sum = |entries: &[Entry]| entries.iter().map(|&entry| row.account.sum(entry)).sum::<Volume>();
        let (came, went) = (sum(&INCOMING) + row.moved_in, sum(&OUTGOING) + row.moved_out);
        Sums([row.opening, came, went, losses.lost, row.closing])
    }

    fn and(&self, other: &Sums) -> Sums {
        Sums([0, 1, 2, 3, 4].map(|at| self.0[at] + other.0[at]))
    }

    fn shown(&self) -> [String; 5] {
        self.0.map(|volume| volume.in_column(1))
    }
}

fn name(period: &Period, subject: Subject) -> Option<&Label> {
    let state = period.closing();
    match subject {
        Subject::Whole => None,
        Subject::Vessel(id) => Some(&state.vessels.get(id).label),
        Subject::Lot(id) => id.map(|id| &state.lots.get(id).label),
        Subject::Room(id) => id.map(|id| &state.rooms.get(id).label),
    }
}
