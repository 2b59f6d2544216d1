//! The ledger: what there was, what came and went, and what there is, to the microlitre.

use crate::cellar::core::account::Entry;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::views::books::ledger::{AgainstNorm, Division, Losses, Period, Row, Subject};
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::cli::table::seen::{Seen, seen};
use crate::cli::table::text_table;
use crate::told::losses;
use crate::units::Volume;

/// A row of the ledger, and what was lost of it.
struct Balanced {
    from: Moment,
    row: Row,
    losses: Losses,
}

/// A row of the ledger of a period, as it is told at its end.
type RowSeen<'a> = Seen<'a, Balanced>;

/// The ledger of a period.
pub struct Ledger<'a> {
    /// What is known of it.
    pub period: &'a Period,
    /// When it begins.
    pub from: Moment,
    /// When it ends.
    pub to: Moment,
}

impl Ledger<'_> {
    /// The rows of the ledger.
    fn rows(&self, division: Division) -> Vec<RowSeen<'_>> {
        let losses = self.period.losses(division);
        let rows = self.period.rows(division).into_iter().map(|row| {
            let losses = losses.get(&row.subject).copied().unwrap_or_default();
            Balanced { from: self.from, row, losses }
        });
        seen(self.period.closing(), self.to, rows)
    }

    /// Gives the ledger out: one object for the whole cellar, a list where it is divided.
    pub fn write(&self, division: Division, page: &mut Page<'_>) -> Outcome {
        let (rows, columns) = (self.rows(division), columns(division));
        match (division, rows.as_slice()) {
            (Division::Whole, [whole]) => {
                page.report((&columns, whole), (&columns, &rows), |page| page.statement(self.period, whole))
            }
            _ => page.list(&columns, &rows, "Nothing lay here and nothing moved in this time."),
        }
    }
}

/// The columns of the ledger; the first is called after what it is divided by.
fn columns<'a>(division: Division) -> Vec<Column<RowSeen<'a>>> {
    let name = match division {
        Division::Whole => None,
        Division::Vessel => Some("vessel"),
        Division::Lot => Some("lot"),
        Division::Room => Some("room"),
    };
    let mut columns: Vec<Column<RowSeen<'a>>> = name
        .into_iter()
        .flat_map(|name| {
            let program = Column::program(name, |it: &RowSeen<'_>| it.label().into());
            let people = |it: &RowSeen<'_>| it.label().map_or_else(|| "(none)".into(), Into::into);
            [program, Column::people(name, people)]
        })
        .collect();
    columns.push(Column::program("from", |it| it.from.into()));
    columns.push(Column::program("to", |it| it.on.into()));
    columns.push(Column::both("opening_ul", "opening", |it: &RowSeen<'_>| it.row.opening.into()).summed());
    columns.extend(incoming().into_iter().chain(outgoing()).map(Column::summed).map(Column::sparse));
    columns.push(Column::both("closing_ul", "closing", |it: &RowSeen<'_>| it.row.closing.into()).summed());
    columns.push(Column::program("balances", |it| it.row.balances().into()));
    columns.extend(loss_columns());
    columns
}

fn incoming<'a>() -> [Column<RowSeen<'a>>; 4] {
    [
        Column::both("received_ul", Entry::Received.word(), |it: &RowSeen<'_>| it.sum(Entry::Received)),
        Column::both("gain_ul", Entry::Gain.word(), |it| it.sum(Entry::Gain)),
        Column::both("treatment_ul", Entry::Treatment.word(), |it| it.sum(Entry::Treatment)),
        Column::both("moved_in_ul", "in", |it| it.row.moved_in.into()),
    ]
}

fn outgoing<'a>() -> [Column<RowSeen<'a>>; 12] {
    [
        Column::both("evaporation_ul", Entry::Evaporation.word(), |it: &RowSeen<'_>| it.sum(Entry::Evaporation)),
        Column::both("unrecorded_ul", Entry::Unrecorded.word(), |it| it.sum(Entry::Unrecorded)),
        Column::both("lees_ul", Entry::Lees.word(), |it| it.sum(Entry::Lees)),
        Column::both("handling_ul", Entry::Handling.word(), |it| it.sum(Entry::Handling)),
        Column::both("spill_ul", Entry::Spill.word(), |it| it.sum(Entry::Spill)),
        Column::both("leak_ul", Entry::Leak.word(), |it| it.sum(Entry::Leak)),
        Column::both("other_ul", Entry::Other.word(), |it| it.sum(Entry::Other)),
        Column::both("sample_ul", Entry::Sample.word(), |it| it.sum(Entry::Sample)),
        Column::both("bottled_ul", Entry::Bottled.word(), |it| it.sum(Entry::Bottled)),
        Column::both("bottling_loss_ul", Entry::BottlingLoss.word(), |it| it.sum(Entry::BottlingLoss)),
        Column::both("removed_ul", Entry::Removed.word(), |it: &RowSeen<'_>| it.sum(Entry::Removed)).sparse(),
        Column::both("moved_out_ul", "out", |it| it.row.moved_out.into()),
    ]
}

/// All losses: evaporation, lees, handling, spilt, leaked, other, at bottling; of the mean stock for a year, where the period is one.
fn loss_columns<'a>() -> [Column<RowSeen<'a>>; 6] {
    [
        Column::program("losses_ul", |it: &RowSeen<'_>| it.losses.lost.into()),
        Column::both("losses_of_stock_and_receipts_pct", "lost %", |it: &RowSeen<'_>| {
            it.losses.share().map(percent).into()
        })
        .sparse(),
        Column::program("mean_stock_ul", |it| it.mean_stock().into()),
        Column::program("losses_a_year_pct", |it| it.losses.yearly(it.losses.lost).map(percent).into()),
        Column::program("evaporation_a_year_pct", |it| it.losses.yearly(it.losses.evaporated).map(percent).into()),
        Column::program("norms", |it: &RowSeen<'_>| norms_in_one_cell(&it.losses))
            .nested()
            .whole(|it| Cell::things(&NORM, it.losses.against_norms())),
    ]
}

/// Losses against the figure of a rule, in proportion to the time where that is no year; only a year is above it or not.
const NORM: [Column<AgainstNorm>; 6] = [
    Column::program("of", |it: &AgainstNorm| it.norm.of.into()),
    Column::program("section", |it| it.norm.section.into()),
    Column::program("pct", |it| percent(it.share).into()),
    Column::program("most_pct", |it| percent(it.most).into()),
    Column::program("most_a_year_pct", |it| percent(it.norm.yearly).into()),
    Column::program("above", |it| it.is_above().into()),
];

fn percent(share: f64) -> f64 {
    rounded(share * 100.0, 3)
}

fn norms_in_one_cell(losses: &Losses) -> Cell {
    let told = |norm: AgainstNorm| format!("{} {}/{}", norm.norm.of, percent(norm.share), percent(norm.most));
    Cell::Text(losses.against_norms().map(told).collect::<Vec<_>>().join("; "))
}

impl RowSeen<'_> {
    fn sum(&self, entry: Entry) -> Cell {
        self.row.account.sum(entry).into()
    }

    fn mean_stock(&self) -> Volume {
        Volume::nearest_to_litres(self.losses.mean_litres())
    }

    /// What the row is about; none of the whole cellar, and of what belongs to no lot or room.
    fn label(&self) -> Option<&Label> {
        match self.row.subject {
            Subject::Whole => None,
            Subject::Vessel(id) => Some(&self.state.vessels.get(id).label),
            Subject::Lot(id) => id.map(|id| &self.state.lots.get(id).label),
            Subject::Room(id) => id.map(|id| &self.state.rooms.get(id).label),
        }
    }
}

/// A line of the statement of the whole cellar.
struct Line {
    sign: &'static str,
    name: &'static str,
    litres: Cell,
}

impl Page<'_> {
    /// The whole cellar, a line a cause.
    fn statement(&mut self, period: &Period, whole: &RowSeen<'_>) -> Outcome {
        const COLUMNS: [Column<Line>; 3] = [
            Column::people("", |line| line.sign.into()),
            Column::people("", |line| line.name.into()),
            Column::people("litres", |line| line.litres.clone()),
        ];
        let mut lines = vec![Line { sign: " ", name: "opening", litres: whole.row.opening.into() }];
        for (sign, columns) in [("+", &incoming()[..]), ("-", &outgoing()[..])] {
            lines.extend(columns.iter().filter_map(|column| {
                let litres = (column.cell)(whole);
                (!litres.is_nothing()).then_some(Line { sign, name: column.heading?, litres })
            }));
        }
        lines.push(Line { sign: "=", name: "closing", litres: whole.row.closing.into() });
        self.line(&format!("{} to {}", whole.from.show_date(), whole.on.show_date()))?;
        let text = text_table::table(&COLUMNS, &lines, self.width);
        self.line(text.trim_end())?;
        losses::of_period(period, &whole.losses).iter().try_for_each(|told| below(self, &told.words))
    }
}
