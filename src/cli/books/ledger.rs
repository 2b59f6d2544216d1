//! The ledger: what there was, what came and went, and what there is, to the microlitre.

use serde::Serialize;

use crate::cellar::core::account::Entry;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::views::books::ledger::{AgainstNorm, Division, Losses, Period, Row, Subject};
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::text_table;
use crate::cli::tests::sulfur::{below, rounded};
use crate::units::{Volume, VolumeUnit};

/// A row of the ledger, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct LedgerView {
    #[serde(flatten)]
    subject: SubjectView,
    from: When,
    to: When,
    opening_ul: Volume,
    received_ul: Volume,
    gain_ul: Volume,
    treatment_ul: Volume,
    moved_in_ul: Volume,
    evaporation_ul: Volume,
    lees_ul: Volume,
    handling_ul: Volume,
    spill_ul: Volume,
    leak_ul: Volume,
    other_ul: Volume,
    sample_ul: Volume,
    bottled_ul: Volume,
    bottling_loss_ul: Volume,
    moved_out_ul: Volume,
    closing_ul: Volume,
    balances: bool,
    /// All losses: evaporation, lees, handling, spilt, leaked, other, at bottling.
    losses_ul: Volume,
    losses_of_stock_and_receipts_pct: Option<f64>,
    mean_stock_ul: Volume,
    /// Of the mean stock, for a year.
    losses_a_year_pct: Option<f64>,
    evaporation_a_year_pct: Option<f64>,
    norms: Vec<NormView>,
}

/// Losses against what a rule leaves.
#[derive(Debug, Serialize)]
struct NormView {
    of: &'static str,
    section: &'static str,
    pct: f64,
    /// What the rule leaves for so long a period.
    most_pct: f64,
    most_a_year_pct: f64,
    above: bool,
}

/// What a row is about; the field is called after it.
#[derive(Debug, Serialize)]
#[serde(untagged)]
enum SubjectView {
    Whole {},
    Vessel { vessel: Label },
    Lot { lot: Option<Label> },
    Room { room: Option<Label> },
}

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
    #[must_use]
    pub fn rows(&self, division: Division) -> Vec<LedgerView> {
        let losses = self.period.losses(division);
        let rows = self.period.rows(division);
        rows.into_iter().map(|row| self.view(&row, losses.get(&row.subject).copied().unwrap_or_default())).collect()
    }

    fn view(&self, row: &Row, losses: Losses) -> LedgerView {
        let percent = |share: f64| rounded(share * 100.0, 3);
        let sum = |entry| row.account.sum(entry);
        LedgerView {
            subject: subject(self.period.closing(), row.subject),
            from: When(self.from),
            to: When(self.to),
            opening_ul: row.opening,
            received_ul: sum(Entry::Received),
            gain_ul: sum(Entry::Gain),
            treatment_ul: sum(Entry::Treatment),
            moved_in_ul: row.moved_in,
            evaporation_ul: sum(Entry::Evaporation),
            lees_ul: sum(Entry::Lees),
            handling_ul: sum(Entry::Handling),
            spill_ul: sum(Entry::Spill),
            leak_ul: sum(Entry::Leak),
            other_ul: sum(Entry::Other),
            sample_ul: sum(Entry::Sample),
            bottled_ul: sum(Entry::Bottled),
            bottling_loss_ul: sum(Entry::BottlingLoss),
            moved_out_ul: row.moved_out,
            closing_ul: row.closing,
            balances: row.balances(),
            losses_ul: losses.lost,
            losses_of_stock_and_receipts_pct: losses.share().map(percent),
            mean_stock_ul: Volume::nearest_to_litres(losses.mean_litres()),
            losses_a_year_pct: losses.yearly(losses.lost).map(percent),
            evaporation_a_year_pct: losses.yearly(losses.evaporated).map(percent),
            norms: losses.against_norms().map(NormView::of).collect(),
        }
    }

    /// Gives the ledger out: one object for the whole cellar, a list where it is divided.
    pub fn write(&self, division: Division, page: &mut Page<'_>) -> Outcome {
        let rows = self.rows(division);
        match (division, rows.as_slice()) {
            (Division::Whole, [whole]) => {
                page.report(whole, &LedgerView::columns(division), &rows, |page| page.statement(whole))
            }
            _ => page.list(&LedgerView::columns(division), &rows, "Nothing lay here and nothing moved in this time."),
        }
    }
}

fn subject(state: &State, subject: Subject) -> SubjectView {
    match subject {
        Subject::Whole => SubjectView::Whole {},
        Subject::Vessel(id) => SubjectView::Vessel { vessel: state.vessels.get(id).label.clone() },
        Subject::Lot(id) => SubjectView::Lot { lot: id.map(|id| state.lots.get(id).label.clone()) },
        Subject::Room(id) => SubjectView::Room { room: id.map(|id| state.rooms.get(id).label.clone()) },
    }
}

impl SubjectView {
    fn label(&self) -> Option<&Label> {
        match self {
            SubjectView::Whole {} => None,
            SubjectView::Vessel { vessel } => Some(vessel),
            SubjectView::Lot { lot } => lot.as_ref(),
            SubjectView::Room { room } => room.as_ref(),
        }
    }
}

impl LedgerView {
    /// The columns of the ledger; the first is called after what it is divided by.
    #[must_use]
    pub fn columns(division: Division) -> Vec<Column<LedgerView>> {
        let name = match division {
            Division::Whole => None,
            Division::Vessel => Some("vessel"),
            Division::Lot => Some("lot"),
            Division::Room => Some("room"),
        };
        let mut columns: Vec<Column<LedgerView>> = name
            .into_iter()
            .flat_map(|name| {
                let program = Column::program(name, |it: &LedgerView| it.subject.label().into());
                [program, Column::people(name, |it: &LedgerView| it.name().into())]
            })
            .collect();
        columns.push(Column::program("from", |it| it.from.into()));
        columns.push(Column::program("to", |it| it.to.into()));
        columns.push(Column::both("opening_ul", "opening", |it: &LedgerView| it.opening_ul.into()).summed());
        columns.extend(Self::INCOMING.into_iter().chain(Self::OUTGOING).map(Column::summed).map(Column::sparse));
        columns.push(Column::both("closing_ul", "closing", |it: &LedgerView| it.closing_ul.into()).summed());
        columns.push(Column::program("balances", |it| it.balances.into()));
        columns.extend(Self::LOSSES);
        columns
    }

    const INCOMING: [Column<LedgerView>; 4] = [
        Column::both("received_ul", "received", |it| it.received_ul.into()),
        Column::both("gain_ul", "gain", |it| it.gain_ul.into()),
        Column::both("treatment_ul", "added", |it| it.treatment_ul.into()),
        Column::both("moved_in_ul", "in", |it| it.moved_in_ul.into()),
    ];

    const OUTGOING: [Column<LedgerView>; 10] = [
        Column::both("evaporation_ul", "evaporated", |it| it.evaporation_ul.into()),
        Column::both("lees_ul", "lees", |it| it.lees_ul.into()),
        Column::both("handling_ul", "handling", |it| it.handling_ul.into()),
        Column::both("spill_ul", "spilt", |it| it.spill_ul.into()),
        Column::both("leak_ul", "leaked", |it| it.leak_ul.into()),
        Column::both("other_ul", "other", |it| it.other_ul.into()),
        Column::both("sample_ul", "sampled", |it| it.sample_ul.into()),
        Column::both("bottled_ul", "bottled", |it| it.bottled_ul.into()),
        Column::both("bottling_loss_ul", "at bottling", |it| it.bottling_loss_ul.into()),
        Column::both("moved_out_ul", "out", |it| it.moved_out_ul.into()),
    ];

    const LOSSES: [Column<LedgerView>; 6] = [
        Column::program("losses_ul", |it| it.losses_ul.into()),
        Column::both("losses_of_stock_and_receipts_pct", "lost %", |it: &LedgerView| {
            it.losses_of_stock_and_receipts_pct.into()
        })
        .sparse(),
        Column::program("mean_stock_ul", |it| it.mean_stock_ul.into()),
        Column::program("losses_a_year_pct", |it| it.losses_a_year_pct.into()),
        Column::program("evaporation_a_year_pct", |it| it.evaporation_a_year_pct.into()),
        Column::program("norms", |it: &LedgerView| NormView::in_one_cell(&it.norms)).nested(),
    ];

    fn name(&self) -> &str {
        self.subject.label().map_or("(none)", Label::as_str)
    }
}

impl NormView {
    fn of(against: AgainstNorm) -> NormView {
        let percent = |share: f64| rounded(share * 100.0, 3);
        NormView {
            of: against.norm.of,
            section: against.norm.section,
            pct: percent(against.share),
            most_pct: percent(against.most),
            most_a_year_pct: percent(against.norm.yearly),
            above: against.is_above(),
        }
    }

    fn in_one_cell(norms: &[NormView]) -> Cell {
        let told = |norm: &NormView| format!("{} {}/{}", norm.of, norm.pct, norm.most_pct);
        Cell::Text(norms.iter().map(told).collect::<Vec<_>>().join("; "))
    }
}

impl LedgerView {
    /// The losses in sentences, with what rules leave.
    fn loss_words(&self) -> Vec<String> {
        let Some(share) = self.losses_of_stock_and_receipts_pct else { return Vec::new() };
        let yearly = self.losses_a_year_pct.zip(self.evaporation_a_year_pct).map_or_else(String::new, |(all, gone)| {
            let mean = self.mean_stock_ul.show(VolumeUnit::Litre, 0);
            format!("; {all} % a year of the mean stock of {mean}, {gone} % by evaporation")
        });
        let lost = self.losses_ul.show(VolumeUnit::Litre, 1);
        let lost = format!("Lost {lost}, {share} % of stock and receipts{yearly}.");
        let norm = |norm: &NormView| {
            let side = if norm.above { "above" } else { "within" };
            let NormView { of, section, pct, most_pct, most_a_year_pct, .. } = norm;
            format!(
                "{of}: {pct} %, {side} the {most_pct} % that {section} leaves for this time ({most_a_year_pct} % a year)."
            )
        };
        std::iter::once(lost).chain(self.norms.iter().map(norm)).collect()
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
    fn statement(&mut self, whole: &LedgerView) -> Outcome {
        const COLUMNS: [Column<Line>; 3] = [
            Column::people("", |line| line.sign.into()),
            Column::people("", |line| line.name.into()),
            Column::people("litres", |line| line.litres.clone()),
        ];
        let mut lines = vec![Line { sign: " ", name: "opening", litres: whole.opening_ul.into() }];
        for (sign, columns) in [("+", &LedgerView::INCOMING[..]), ("-", &LedgerView::OUTGOING[..])] {
            lines.extend(columns.iter().filter_map(|column| {
                let litres = (column.cell)(whole);
                (!litres.is_nothing()).then_some(Line { sign, name: column.heading?, litres })
            }));
        }
        lines.push(Line { sign: "=", name: "closing", litres: whole.closing_ul.into() });
        self.line(&format!("{} to {}", whole.from.0.show_date(), whole.to.0.show_date()))?;
        let text = text_table::table(&COLUMNS, &lines, self.width);
        self.line(text.trim_end())?;
        whole.loss_words().iter().try_for_each(|words| below(self, words))
    }
}
