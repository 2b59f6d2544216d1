//! Gauging from the desk: what a barrel holds by its sizes, what it lacks at a dip, and a dip table to print.

use serde::Serialize;

use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::topping::gauging::gauge;
use crate::cli::arguments::{BarrelArguments, DipArguments, DipSheetArguments, Sizes};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::reading;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::text_table::wrapped;
use crate::reckon::gauging::{Curve, Gauge, LyingBarrel, Shape, Unsound, shapes};
use crate::units::{Volume, VolumeUnit};

/// How wide a printed page is, in characters: A4 and Letter hold 80 at ten to the inch.
const PAGE_COLUMNS: usize = 78;

/// Reckons what a barrel holds by its sizes.
pub fn barrel(asked: &BarrelArguments, page: &mut Page<'_>) -> Outcome {
    let barrel = sound(LyingBarrel::curved(asked.curve.into(), asked.bilge, asked.head, asked.length))?;
    page.card(&BarrelView::COLUMNS, &BarrelView::of(&barrel), |_| Ok(()))
}

/// Reckons what a barrel lacks at a dip, or the dip.
pub fn dip(asked: &DipArguments, page: &mut Page<'_>) -> Outcome {
    let subject = Subject::said(asked.shape.as_deref(), &asked.sizes, asked.capacity)?;
    let view = match (asked.dip, asked.missing) {
        (_, Some(missing)) => subject.at_missing(missing),
        (dip, None) => subject.at_dip(dip.unwrap_or_default()),
    }?;
    page.card(&DipView::COLUMNS, &view, |_| Ok(()))
}

/// Gives out the dip table of a shape or of sizes.
pub fn sheet(asked: &DipSheetArguments, page: &mut Page<'_>) -> Outcome {
    SheetView::of(Subject::said(asked.shape.as_deref(), &asked.sizes, asked.capacity)?).write(page)
}

/// Gives out the dip table of a barrel of the cellar.
pub fn sheet_of(state: &State, label: &str, page: &mut Page<'_>) -> Outcome {
    SheetView::of(Subject::vessel(state, label)?).write(page)
}

fn sound(barrel: Result<LyingBarrel, Unsound>) -> Outcome<LyingBarrel> {
    barrel.map_err(|unsound| Complaint::Refused(unsound.to_string()))
}

/// A barrel that is gauged, and what is known of it.
struct Subject {
    vessel: Option<Label>,
    shape: Option<String>,
    source: Option<&'static str>,
    gauge: Gauge,
}

impl Subject {
    /// A barrel as it is said: its own sizes go before its shape's.
    fn said(shape: Option<&str>, sizes: &Sizes, capacity: Option<Volume>) -> Outcome<Subject> {
        let (barrel, source, litres) =
            if let (Some(bilge), Some(head), Some(length)) = (sizes.bilge, sizes.head, sizes.length) {
                let curve = sizes.curve.map_or_else(Curve::default, Curve::from);
                let barrel = sound(LyingBarrel::curved(curve, bilge, head, length))?;
                (barrel, None, barrel.litres())
            } else {
                let name = shape.unwrap_or_default();
                let shape = Shape::named(name).ok_or_else(|| no_sizes(name))?;
                (shape.barrel().ok_or_else(|| no_sizes(name))?, Some(shape.source.as_str()), shape.litres)
            };
        let gauge = Gauge::new(barrel, capacity.map_or(litres, Volume::as_litres));
        let gauge =
            gauge.ok_or_else(|| Complaint::Refused("A barrel cannot hold nothing. Check --capacity.".to_owned()))?;
        Ok(Subject { vessel: None, shape: shape.map(harmless), source, gauge })
    }

    /// A barrel of the cellar.
    fn vessel(state: &State, label: &str) -> Outcome<Subject> {
        let vessel = state.vessels.get(reading::vessel(state, label)?);
        if vessel.vessel_type != VesselType::Barrel {
            return Err(Refusal::NotABarrel(vessel.label.clone()).into());
        }
        let gauge = gauge(vessel).ok_or_else(|| Refusal::NoCapacity(vessel.label.clone()))?;
        let shape = vessel.wood.shape.as_ref();
        let known = shape.and_then(|shape| Shape::named(shape.as_str()));
        let source = match (vessel.wood.bilge_mm, known) {
            (Some(_), _) => "the barrel's own sizes",
            (None, Some(shape)) => &shape.source,
            (None, None) => "its shape is not known; the reference barrel serves",
        };
        let shape = shape.map(ToString::to_string);
        Ok(Subject { vessel: Some(vessel.label.clone()), shape, source: Some(source), gauge })
    }

    fn capacity(&self) -> Volume {
        Volume::nearest_to_litres(self.gauge.capacity_litres())
    }

    fn row(&self, dip_mm: f64) -> Option<Row> {
        let missing_ul = Volume::nearest_to_litres(self.gauge.missing_litres(dip_mm)?);
        Some(Row { dip_mm, missing_ul, volume_ul: self.capacity().saturating_sub(missing_ul) })
    }

    fn at_dip(self, dip_mm: f64) -> Outcome<DipView> {
        let row = self.row(dip_mm).ok_or_else(|| {
            let bilge = self.gauge.barrel().bilge_mm();
            let sentence = format!(
                "A dip of {dip_mm} mm does not fit a barrel whose bilge is {bilge} mm inside. Measure again, from 0 to {bilge} mm."
            );
            Complaint::Refused(sentence)
        })?;
        Ok(DipView { capacity_ul: self.capacity(), shape: self.shape, row })
    }

    fn at_missing(self, missing: Volume) -> Outcome<DipView> {
        let capacity = self.capacity();
        // The whole of it is the whole depth, whatever the last digit says.
        let litres = if missing == capacity { self.gauge.capacity_litres() } else { missing.as_litres() };
        let dip_mm = self.gauge.dip_mm(litres).ok_or_else(|| {
            let sentence =
                format!("{missing} cannot be missing from a barrel that holds {capacity}. Check the litres.");
            Complaint::Refused(sentence)
        })?;
        // No stick is read to more than a hundredth of a millimetre.
        let row = Row {
            dip_mm: (dip_mm * 100.0).round() / 100.0,
            missing_ul: missing,
            volume_ul: capacity.saturating_sub(missing),
        };
        Ok(DipView { capacity_ul: capacity, shape: self.shape, row })
    }
}

fn no_sizes(shape: &str) -> Complaint {
    let shape = harmless(&shape.chars().take(60).collect::<String>());
    let names: Vec<&str> = shapes().iter().map(|shape| shape.name.as_str()).collect();
    Complaint::Refused(format!(
        "No sizes are known of the shape '{shape}'. Take one of {}, or give --bilge, --head and --length.",
        names.join(", ")
    ))
}

/// What a barrel holds by its sizes.
#[derive(Debug, Serialize)]
struct BarrelView {
    bilge_mm: f64,
    head_mm: f64,
    length_mm: f64,
    curve: Curve,
    volume_ul: Volume,
}

impl BarrelView {
    fn of(barrel: &LyingBarrel) -> BarrelView {
        BarrelView {
            bilge_mm: barrel.bilge_mm(),
            head_mm: barrel.head_mm(),
            length_mm: barrel.length_mm(),
            curve: barrel.curve(),
            volume_ul: Volume::nearest_to_litres(barrel.litres()),
        }
    }

    const COLUMNS: [Column<BarrelView>; 5] = [
        Column::both("bilge_mm", "bilge mm", |it: &BarrelView| it.bilge_mm.into()),
        Column::both("head_mm", "head mm", |it| it.head_mm.into()),
        Column::both("length_mm", "length mm", |it| it.length_mm.into()),
        Column::both("curve", "curve", |it| Cell::word(&it.curve)),
        Column::both("volume_ul", "litres", |it| Cell::Fine(it.volume_ul)),
    ];
}

/// What a barrel lacks at a dip.
#[derive(Debug, Serialize)]
struct DipView {
    shape: Option<String>,
    capacity_ul: Volume,
    #[serde(flatten)]
    row: Row,
}

impl DipView {
    const COLUMNS: [Column<DipView>; 5] = [
        Column::both("shape", "shape", |it: &DipView| it.shape.as_ref().into()),
        Column::both("capacity_ul", "capacity", |it| Cell::Fine(it.capacity_ul)),
        Column::both("dip_mm", "mm", |it| it.row.dip_mm.into()),
        Column::both("missing_ul", "missing", |it| Cell::Fine(it.row.missing_ul)),
        Column::both("volume_ul", "holds", |it| Cell::Fine(it.row.volume_ul)),
    ];
}

/// A line of a dip table.
#[derive(Clone, Copy, Debug, Serialize)]
struct Row {
    dip_mm: f64,
    missing_ul: Volume,
    volume_ul: Volume,
}

impl Row {
    const COLUMNS: [Column<Row>; 3] = [
        Column::both("dip_mm", "mm", |it: &Row| it.dip_mm.into()),
        Column::both("missing_ul", "missing", |it| Cell::Fine(it.missing_ul)),
        Column::both("volume_ul", "holds", |it| Cell::Fine(it.volume_ul)),
    ];
}

/// A dip table, under the names of the exchange format.
#[derive(Debug, Serialize)]
struct SheetView {
    vessel: Option<Label>,
    shape: Option<String>,
    source: Option<&'static str>,
    capacity_ul: Volume,
    #[serde(flatten)]
    sizes: SizesView,
    dips: Vec<Row>,
}

/// The sizes that a dip table was reckoned with.
#[derive(Debug, Serialize)]
struct SizesView {
    bilge_mm: f64,
    head_mm: f64,
    length_mm: f64,
    curve: Curve,
}

impl SheetView {
    fn of(subject: Subject) -> SheetView {
        let barrel = subject.gauge.barrel();
        SheetView {
            capacity_ul: subject.capacity(),
            sizes: SizesView {
                bilge_mm: barrel.bilge_mm(),
                head_mm: barrel.head_mm(),
                length_mm: barrel.length_mm(),
                curve: barrel.curve(),
            },
            dips: subject.gauge.table_dips_mm().into_iter().filter_map(|dip| subject.row(dip)).collect(),
            vessel: subject.vessel,
            shape: subject.shape,
            source: subject.source,
        }
    }

    /// Gives the table out; people get it in two halves side by side, so that it fits a page.
    fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &Row::COLUMNS, &self.dips, |page| {
            for line in self.head() {
                page.line(&line)?;
            }
            let (left, right) = self.dips.split_at(self.dips.len().div_ceil(2));
            let pairs: Vec<Pair> =
                left.iter().enumerate().map(|(at, row)| Pair(*row, right.get(at).copied())).collect();
            page.section("mm under the bung, litres missing and held", &Pair::COLUMNS, &pairs)?;
            let Some(source) = self.source else { return Ok(()) };
            page.line("")?;
            wrapped(&format!("Sizes: {}.", harmless(source)), PAGE_COLUMNS).iter().try_for_each(|line| page.line(line))
        })
    }

    /// What the table is of, and how it is read.
    fn head(&self) -> Vec<String> {
        let vessel = self.vessel.as_ref().map(|vessel| format!("barrel {vessel}"));
        let parts: Vec<String> = [vessel, self.shape.clone(), Some(self.capacity_ul.show(VolumeUnit::Litre, 1))]
            .into_iter()
            .flatten()
            .collect();
        let SizesView { bilge_mm, head_mm, length_mm, curve } = self.sizes;
        let curve = Cell::word(&curve).in_table();
        let how = format!(
            "Inside {bilge_mm} mm at the bilge, {head_mm} mm at the heads, {length_mm} mm long, stave curve {curve}; \
             litres are scaled to the capacity. Dip a level barrel with its bung up: from the inside of the stave under \
             the bung down to the wine."
        );
        let title = wrapped(&format!("Dip table: {}", harmless(&parts.join(", "))), PAGE_COLUMNS);
        title.into_iter().chain(wrapped(&how, PAGE_COLUMNS)).collect()
    }
}

/// Two lines of a dip table side by side.
struct Pair(Row, Option<Row>);

impl Pair {
    const COLUMNS: [Column<Pair>; 7] = [
        Column::people("mm", |it: &Pair| it.0.dip_mm.into()),
        Column::people("missing", |it| Cell::Fine(it.0.missing_ul)),
        Column::people("holds", |it| Cell::Fine(it.0.volume_ul)),
        Column::people("  |  ", |_| Cell::Word("  |  ".to_owned())),
        Column::people("mm", |it| it.1.map(|row| row.dip_mm).into()),
        Column::people("missing", |it| it.1.map_or(Cell::Nothing, |row| Cell::Fine(row.missing_ul))),
        Column::people("holds", |it| it.1.map_or(Cell::Nothing, |row| Cell::Fine(row.volume_ul))),
    ];
}
