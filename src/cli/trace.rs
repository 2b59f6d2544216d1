//! Lineage as it is shown: where the wine of a vessel or lot came from, or where it went.

use serde::Serialize;

use super::cell::{Cell, When};
use super::column::Column;
use super::complaint::Outcome;
use super::composition::{OriginShare, composition};
use super::lot::wine_of;
use super::page::Page;
use crate::cellar::label::{Label, harmless};
use crate::cellar::lineage::{Fill, Flow, Stream, Tracer};
use crate::cellar::moving::Purpose;
use crate::cellar::state::{LotId, State, VesselId};
use crate::cellar::wine::Wine;
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
    flows: Vec<FlowView>,
}

/// All that flowed between two fills of vessels for one reason.
#[derive(Debug, Serialize)]
struct FlowView {
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
    /// The lineage of the wine in a vessel, or of its last wine where it is empty.
    #[must_use]
    pub fn of_vessel(tracer: &Tracer, id: VesselId, direction: Direction) -> TraceView {
        let vessel = tracer.state.vessels.get(id);
        let of = Traced::Vessel(vessel.label.clone());
        TraceView::new(tracer, of, &vessel.wine, &[tracer.fill_of(id)], direction)
    }

    /// The lineage of a lot: of the vessels that hold it, and, forward or where none does, of those that held it.
    #[must_use]
    pub fn of_lot(tracer: &Tracer, id: LotId, direction: Direction) -> TraceView {
        let state = &tracer.state;
        let vessels = state.vessels_of(id);
        let mut fills: Vec<Fill> = vessels.iter().map(|&vessel| tracer.fill_of(vessel)).collect();
        if direction == Direction::Forward || fills.is_empty() {
            fills.extend(fills_left_by(tracer, id));
        }
        let of = Traced::Lot(state.lots.get(id).label.clone());
        TraceView::new(tracer, of, &wine_of(state, &vessels), &fills, direction)
    }

    fn new(tracer: &Tracer, of: Traced, wine: &Wine, fills: &[Fill], direction: Direction) -> TraceView {
        let streams = match direction {
            Direction::Back => tracer.back(fills),
            Direction::Forward => tracer.forward(fills),
        };
        TraceView {
            of,
            direction,
            volume_ul: wine.volume(),
            composition: composition(&tracer.state, wine),
            flows: streams.iter().map(|stream| FlowView::of(&tracer.state, stream)).collect(),
        }
    }

    /// Gives the lineage out; as a spreadsheet, the flows.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &FlowView::columns(), &self.flows, |page| {
            let (what, label) = match &self.of {
                Traced::Vessel(label) => ("Vessel", label),
                Traced::Lot(label) => ("Lot", label),
            };
            let litres = self.volume_ul.show(VolumeUnit::Litre, 1);
            page.line(&format!("{what} {} holds {litres}", harmless(label.as_str())))?;
            page.section("composition", &OriginShare::COLUMNS, &self.composition)?;
            let (title, nothing) = match self.direction {
                Direction::Back => ("came from", "No other vessel gave to it."),
                Direction::Forward => ("went to", "Nothing went on to another vessel."),
            };
            match self.flows.as_slice() {
                [] => page.line(nothing),
                flows => page.section(title, &FlowView::columns(), flows),
            }
        })
    }
}

/// The fills that wine left under a lot's name: those that held the lot and gave of it.
fn fills_left_by(tracer: &Tracer, lot: LotId) -> Vec<Fill> {
    let held_it = tracer
        .state
        .vessels
        .iter()
        .filter(|(_, vessel)| vessel.postings.iter().any(|posting| posting.lot == Some(lot)));
    let fills: Vec<Fill> =
        held_it.flat_map(|(vessel, now)| (0..=now.fills).map(move |number| Fill { vessel, number })).collect();
    let gave = tracer.forward(&fills).into_iter().filter(|stream| stream.lot == Some(lot));
    gave.map(|stream| stream.from).collect()
}

impl FlowView {
    fn of(state: &State, stream: &Stream) -> FlowView {
        let label = |fill: Fill| state.vessels.get(fill.vessel).label.clone();
        FlowView {
            from: label(stream.from),
            from_fill: stream.from.number,
            to: label(stream.to),
            to_fill: stream.to.number,
            lot: stream.lot.map(|lot| state.lots.get(lot).label.clone()),
            why: why(stream.flow),
            volume_ul: stream.volume,
            times: stream.times,
            first: When(stream.first),
            last: When(stream.last),
        }
    }

    fn columns() -> Vec<Column<FlowView>> {
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

fn why(flow: Flow) -> &'static str {
    match flow {
        Flow::Topping => "topping",
        Flow::Moved(Purpose::BarrelDown) => "barrel_down",
        Flow::Moved(Purpose::Racking) => "racking",
        Flow::Moved(Purpose::Blend) => "blend",
        Flow::Moved(Purpose::Filtration) => "filtration",
        Flow::Moved(Purpose::Other) => "other",
    }
}
