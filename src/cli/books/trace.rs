//! Lineage as it is shown: where the wine of a vessel or lot came from, or where it went.

use super::recall::{Reaching, reached_columns};
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::LotId;
use crate::cellar::core::wine::Wine;
use crate::cellar::views::books::lineage::{BulkOut, Fill, Receipt, Starting, Stream, Tracer};
use crate::cli::core::complaint::Outcome;
use crate::cli::floor::composition::part_columns;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::{Seen, seen};
use crate::sheets::books::trace;
use crate::units::litres;

/// A lineage.
struct Lineage<'a> {
    /// What it is of: the name of its field, and its label.
    of: (&'static str, &'a Label),
    direction: &'static str,
    wine: Wine,
    received: Vec<Receipt>,
    flows: Vec<Stream>,
    /// What of it left the house in bulk, traced forward.
    bulk_out: Vec<&'a BulkOut>,
    /// The bottles that it went into, traced forward.
    reached: Vec<Reaching<'a>>,
}

type LineageSeen<'a> = Seen<'a, Lineage<'a>>;

fn columns<'a>() -> Vec<Column<LineageSeen<'a>>> {
    vec![
        Column::spread(|it: &LineageSeen<'_>| Cell::Thing(vec![(it.of.0.into(), it.of.1.into())])),
        Column::program("direction", |it| it.direction.into()),
        Column::program("volume_ul", |it| it.wine.volume().into()),
        Column::within("composition", |it| it.wine(&it.thing.wine)),
        Column::within("received", |it| it.within(&receipt_columns(), &it.received)),
        Column::within("flows", |it| it.within(&flow_columns(), &it.flows)),
        Column::within("bulk_out", |it| it.within(&bulk_columns(), it.bulk_out.iter().copied())),
        Column::within("bottled", |it| Cell::things(&reached_columns(), it.reached.iter())),
    ]
}

impl<'a> Lineage<'a> {
    /// What is traced, and all wine that it holds now: of an earlier fill nothing is there any more.
    fn of(tracer: &'a Tracer, from: Starting<'_>) -> Option<((&'static str, &'a Label), Wine)> {
        match from {
            Starting::Vessel(fill) => {
                let vessel = tracer.state.vessels.get(fill.vessel);
                let wine = if fill.number == vessel.fills { vessel.wine.clone() } else { Wine::default() };
                Some((("vessel", &vessel.label), wine))
            }
            Starting::Lot(id) => Some((("lot", &tracer.state.lots.get(id).label), tracer.state.wine_of_lot(id))),
            Starting::Material(_) | Starting::Block(_) => None,
        }
    }

    fn back(tracer: &'a Tracer, from: Starting<'_>) -> Option<Lineage<'a>> {
        let fills = match from {
            Starting::Vessel(fill) => vec![fill],
            Starting::Lot(id) => fills_of_lot(tracer, id),
            Starting::Material(_) | Starting::Block(_) => return None,
        };
        let (of, wine) = Lineage::of(tracer, from)?;
        let back = tracer.back(&fills);
        let (received, flows) = (back.receipts, back.streams);
        Some(Lineage { of, direction: "back", wine, received, flows, bulk_out: Vec::new(), reached: Vec::new() })
    }

    fn forward(tracer: &'a Tracer, from: Starting<'_>) -> Option<Lineage<'a>> {
        let (of, wine) = Lineage::of(tracer, from)?;
        let onward = tracer.onward(from);
        let reached = onward.reached.iter().map(|reached| Reaching::of(tracer, reached)).collect();
        let (flows, bulk_out) = (onward.streams, onward.bulk_out);
        Some(Lineage { of, direction: "forward", wine, received: Vec::new(), flows, bulk_out, reached })
    }
}

/// The fills that hold a lot; where none does, all that ever held it.
fn fills_of_lot(tracer: &Tracer, id: LotId) -> Vec<Fill> {
    let now = tracer.fills_now(id);
    if now.is_empty() { tracer.fills_ever(id).into_iter().map(|since| since.fill).collect() } else { now }
}

/// Gives out the lineage of a vessel's or a lot's wine; as a spreadsheet, the flows. Forward people read a page that leads
/// to the bottles.
pub fn write(tracer: &Tracer, from: Starting<'_>, forward: bool, on: Moment, page: &mut Page<'_>) -> Outcome {
    let lineage = if forward { Lineage::forward(tracer, from) } else { Lineage::back(tracer, from) };
    let Some(thing) = lineage else { return Ok(()) };
    let told = Seen { state: &tracer.state, on, thing };
    let flows = seen(&tracer.state, on, &told.flows);
    page.report((&columns(), &told), (&flow_columns(), &flows), |page| {
        if forward {
            return page.document(&trace::forward(tracer, from, on));
        }
        let what = if told.of.0 == "lot" { "Lot" } else { "Vessel" };
        let litres = litres(told.wine.volume());
        page.line(&format!("{what} {} holds {litres}", harmless(told.of.1.as_str())))?;
        page.section("composition", &part_columns(), &told.parts(&told.thing.wine))?;
        match flows.as_slice() {
            [] => page.line("No other vessel gave to it."),
            flows => page.section("came from", &flow_columns(), flows),
        }?;
        page.section("came into the book", &receipt_columns(), &seen(&tracer.state, on, &told.received))
    })
}

/// Wine that came into the book: where a lineage ends.
type ReceiptSeen<'a> = Seen<'a, &'a Receipt>;

/// The columns of what came into the book.
pub fn receipt_columns<'a>() -> Vec<Column<ReceiptSeen<'a>>> {
    vec![
        Column::both("origin", "origin", |it: &ReceiptSeen<'_>| (&it.state.origins.get(it.origin).0.origin).into()),
        Column::both("vessel", "into", |it| it.vessel(it.into.vessel)),
        Column::program("fill", |it| it.into.number.into()),
        Column::both("lot", "lot", |it| it.lot(it.thing.lot)),
        Column::both("volume_ul", "litres", |it| it.volume.into()),
        Column::both("first", "first", |it| it.at.into()),
    ]
}

/// Wine that left the house in bulk.
type BulkSeen<'a> = Seen<'a, &'a BulkOut>;

/// The columns of what left in bulk.
pub fn bulk_columns<'a>() -> Vec<Column<BulkSeen<'a>>> {
    vec![
        Column::both("vessel", "from", |it: &BulkSeen<'_>| it.vessel(it.from.vessel)),
        Column::program("fill", |it| it.from.number.into()),
        Column::both("lot", "lot", |it| it.lot(it.thing.lot)),
        Column::both("volume_ul", "litres", |it| it.volume.into()),
        Column::both("to", "to", |it| it.to.to_string().into()),
        Column::both("why", "why", |it| it.why.as_ref().map(ToString::to_string).into()),
        Column::both("at", "on", |it| it.at.into()),
    ]
}

/// All that flowed between two fills of vessels for one reason.
type FlowSeen<'a> = Seen<'a, &'a Stream>;

/// The columns of what flowed.
pub fn flow_columns<'a>() -> Vec<Column<FlowSeen<'a>>> {
    vec![
        Column::both("from", "from", |it: &FlowSeen<'_>| it.vessel(it.from.vessel)),
        Column::program("from_fill", |it| it.from.number.into()),
        Column::both("to", "to", |it| it.vessel(it.to.vessel)),
        Column::program("to_fill", |it| it.to.number.into()),
        Column::both("lot", "lot", |it| it.lot(it.thing.lot)),
        Column::both("why", "why", |it| Cell::Word(it.flow.word().to_owned())),
        Column::both("volume_ul", "litres", |it| it.volume.into()),
        Column::both("times", "times", |it| it.times.into()),
        Column::both("first", "first", |it| it.first.into()),
        Column::both("last", "last", |it| it.last.into()),
    ]
}
