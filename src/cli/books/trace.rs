//! Lineage as it is shown: where the wine of a vessel or lot came from, or where it went.

use serde::Serialize;

use super::recall::ReachedView;
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::state::{LotId, State};
use crate::cellar::core::wine::Wine;
use crate::cellar::views::books::lineage::{Fill, Receipt, Since, Stream, Tracer};
use crate::cli::core::complaint::Outcome;
use crate::cli::floor::composition::{OriginShare, composition};
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::sheets::core::document::Document;
use crate::units::{Volume, VolumeUnit};

/// Which way wine is traced.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Direction {
    /// To where it came from.
    Back,
    /// To where it went.
    Forward,
}

/// Whose wine is traced; the field is called after it.
#[derive(Debug, Serialize)]
#[serde(rename_all = "snake_case")]
enum Traced {
    Vessel(Label),
    Lot(Label),
}

/// A lineage, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct TraceView {
    #[serde(flatten)]
    of: Traced,
    direction: Direction,
    volume_ul: Volume,
    composition: Vec<OriginShare>,
    received: Vec<ReceiptView>,
    flows: Vec<FlowView>,
    /// The bottles that it went into, traced forward.
    bottled: Vec<ReachedView>,
}

/// Wine that came into the book: where a lineage ends.
#[derive(Debug, Serialize)]
pub(in crate::cli) struct ReceiptView {
    origin: Label,
    vessel: Label,
    fill: u32,
    lot: Label,
    volume_ul: Volume,
    first: When,
}

/// All that flowed between two fills of vessels for one reason.
#[derive(Debug, Serialize)]
pub(in crate::cli) struct FlowView {
    from: Label,
    from_fill: u32,
    to: Label,
    to_fill: u32,
    lot: Option<Label>,
    why: &'static str,
    volume_ul: Volume,
    times: u32,
    first: When,
    last: When,
}

impl TraceView {
    /// The lineage of the wine of a vessel in one of its fills.
    #[must_use]
    pub fn of_fill(tracer: &Tracer, fill: Fill, direction: Direction) -> TraceView {
        let vessel = tracer.state.vessels.get(fill.vessel);
        let of = Traced::Vessel(vessel.label.clone());
        // Of an earlier fill nothing is there any more.
        let wine = if fill.number == vessel.fills { vessel.wine.clone() } else { Wine::default() };
        TraceView::new(tracer, of, &wine, &[fill.into()], direction)
    }

    /// The lineage of a lot: back from the vessels that hold it, and, forward or where none does, of all that ever held it.
    #[must_use]
    pub fn of_lot(tracer: &Tracer, id: LotId, direction: Direction) -> TraceView {
        let state = &tracer.state;
        let mut fills: Vec<Since> = tracer.fills_now(id).into_iter().map(Since::from).collect();
        if direction == Direction::Forward || fills.is_empty() {
            fills = tracer.fills_ever(id);
        }
        let of = Traced::Lot(state.lots.get(id).label.clone());
        TraceView::new(tracer, of, &state.wine_of_lot(id), &fills, direction)
    }

    fn new(tracer: &Tracer, of: Traced, wine: &Wine, fills: &[Since], direction: Direction) -> TraceView {
        let (streams, receipts, reached) = match direction {
            Direction::Back => {
                let fills: Vec<Fill> = fills.iter().map(|since| since.fill).collect();
                let back = tracer.back(&fills);
                (back.streams, back.receipts, Vec::new())
            }
            Direction::Forward => (tracer.forward(fills), Vec::new(), tracer.bottled_of(fills)),
        };
        TraceView {
            of,
            direction,
            volume_ul: wine.volume(),
            composition: composition(&tracer.state, wine),
            received: receipts.iter().map(|receipt| ReceiptView::of(&tracer.state, receipt)).collect(),
            flows: streams.iter().map(|stream| FlowView::of(&tracer.state, stream)).collect(),
            bottled: ReachedView::all(tracer, &reached),
        }
    }

    /// Gives the lineage out; as a spreadsheet, the flows. Forward people read a page that leads to the bottles.
    pub fn write(&self, page: &mut Page<'_>, forward: impl FnOnce() -> Document) -> Outcome {
        page.report(self, &FlowView::columns(), &self.flows, |page| {
            if self.direction == Direction::Forward {
                return page.document(&forward());
            }
            let (what, label) = match &self.of {
                Traced::Vessel(label) => ("Vessel", label),
                Traced::Lot(label) => ("Lot", label),
            };
            let litres = self.volume_ul.show(VolumeUnit::Litre, 1);
            page.line(&format!("{what} {} holds {litres}", harmless(label.as_str())))?;
            page.section("composition", &OriginShare::COLUMNS, &self.composition)?;
            match self.flows.as_slice() {
                [] => page.line("No other vessel gave to it."),
                flows => page.section("came from", &FlowView::columns(), flows),
            }?;
            page.section("came into the book", &ReceiptView::COLUMNS, &self.received)
        })
    }
}

impl ReceiptView {
    /// A receipt as it is told.
    pub(in crate::cli) fn of(state: &State, receipt: &Receipt) -> ReceiptView {
        ReceiptView {
            origin: state.origins.get(receipt.origin).0.origin.clone(),
            vessel: state.vessels.get(receipt.into.vessel).label.clone(),
            fill: receipt.into.number,
            lot: state.lots.get(receipt.lot).label.clone(),
            volume_ul: receipt.volume,
            first: When(receipt.at),
        }
    }

    const COLUMNS: [Column<ReceiptView>; 5] = [
        Column::people("origin", |it: &ReceiptView| (&it.origin).into()),
        Column::people("into", |it| (&it.vessel).into()),
        Column::people("lot", |it| (&it.lot).into()),
        Column::people("litres", |it| it.volume_ul.into()),
        Column::people("first", |it| it.first.into()),
    ];
}

impl FlowView {
    /// A stream as it is told.
    pub(in crate::cli) fn of(state: &State, stream: &Stream) -> FlowView {
        let label = |fill: Fill| state.vessels.get(fill.vessel).label.clone();
        FlowView {
            from: label(stream.from),
            from_fill: stream.from.number,
            to: label(stream.to),
            to_fill: stream.to.number,
            lot: stream.lot.map(|lot| state.lots.get(lot).label.clone()),
            why: stream.flow.word(),
            volume_ul: stream.volume,
            times: stream.times,
            first: When(stream.first),
            last: When(stream.last),
        }
    }

    /// The columns of a table of flows.
    pub(in crate::cli) fn columns() -> Vec<Column<FlowView>> {
        vec![
            Column::both("from", "from", |it: &FlowView| (&it.from).into()),
            Column::program("from_fill", |it| it.from_fill.into()),
            Column::both("to", "to", |it| (&it.to).into()),
            Column::program("to_fill", |it| it.to_fill.into()),
            Column::both("lot", "lot", |it| it.lot.as_ref().into()),
            Column::both("why", "why", |it| Cell::Word(it.why.to_owned())),
            Column::both("volume_ul", "litres", |it| it.volume_ul.into()),
            Column::both("times", "times", |it| it.times.into()),
            Column::both("first", "first", |it| it.first.into()),
            Column::both("last", "last", |it| it.last.into()),
        ]
    }
}
