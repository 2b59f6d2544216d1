//! Gauging from the desk: what a barrel holds by its sizes, what it lacks at a dip, and a dip table to print.

use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::topping::gauging::gauge;
use crate::cli::arguments::{BarrelArguments, DipArguments, DipSheetArguments, Print, Sizes};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::reading;
use crate::cli::sheets::give;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, WORDS_COLUMNS};
use crate::cli::table::text_table::wrapped;
use crate::reckon::gauging::{Curve, Gauge, LyingBarrel, Shape, Unsound, shapes};
use crate::sheets::core::document::{Block, Document, Kind, Line, Table};
use crate::units::{Volume, litres};

/// Reckons what a barrel holds by its sizes.
pub fn barrel(asked: &BarrelArguments, page: &mut Page<'_>) -> Outcome {
    let barrel = sound(LyingBarrel::curved(asked.curve.into(), asked.bilge, asked.head, asked.length))?;
    page.card(&barrel_columns(), &barrel, |_| Ok(()))
}

/// Reckons what a barrel lacks at a dip, or the dip.
pub fn dip(asked: &DipArguments, page: &mut Page<'_>) -> Outcome {
    let subject = Subject::said(asked.shape.as_deref(), &asked.sizes, asked.capacity)?;
    let row = match (asked.dip, asked.missing) {
        (_, Some(missing)) => subject.at_missing(missing),
        (dip, None) => subject.at_dip(dip.unwrap_or_default()),
    }?;
    page.card(&DIPPED, &Dipped { subject, row }, |_| Ok(()))
}

/// Gives out the dip table of a shape or of sizes.
pub fn sheet(asked: &DipSheetArguments, page: &mut Page<'_>) -> Outcome {
    Subject::said(asked.shape.as_deref(), &asked.sizes, asked.capacity)?.print(&asked.print, page)
}

/// Gives out the dip table of a barrel of the cellar.
pub fn sheet_of(state: &State, label: &str, print: &Print, page: &mut Page<'_>) -> Outcome {
    Subject::vessel(state, label)?.print(print, page)
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
        let missing = Volume::nearest_to_litres(self.gauge.missing_litres(dip_mm)?);
        Some(Row { dip_mm, missing, holds: self.capacity().saturating_sub(missing) })
    }

    fn at_dip(&self, dip_mm: f64) -> Outcome<Row> {
        self.row(dip_mm).ok_or_else(|| {
            let bilge = self.gauge.barrel().bilge_mm();
            let sentence = format!(
                "A dip of {dip_mm} mm does not fit a barrel whose bilge is {bilge} mm inside. Measure again, from 0 to {bilge} mm."
            );
            Complaint::Refused(sentence)
        })
    }

    fn at_missing(&self, missing: Volume) -> Outcome<Row> {
        let capacity = self.capacity();
        // The whole of it is the whole depth, whatever the last digit says.
        let litres = if missing == capacity { self.gauge.capacity_litres() } else { missing.as_litres() };
        let dip_mm = self.gauge.dip_mm(litres).ok_or_else(|| {
            let sentence =
                format!("{missing} cannot be missing from a barrel that holds {capacity}. Check the litres.");
            Complaint::Refused(sentence)
        })?;
        // No stick is read to more than a hundredth of a millimetre.
        Ok(Row { dip_mm: (dip_mm * 100.0).round() / 100.0, missing, holds: capacity.saturating_sub(missing) })
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

/// The sizes of a barrel, by which it is reckoned.
const SIZES: [Column<LyingBarrel>; 4] = [
    Column::both("bilge_mm", "bilge mm", |it: &LyingBarrel| it.bilge_mm().into()),
    Column::both("head_mm", "head mm", |it| it.head_mm().into()),
    Column::both("length_mm", "length mm", |it| it.length_mm().into()),
    Column::both("curve", "curve", |it| Cell::word(&it.curve())),
];

/// What a barrel holds by its sizes.
fn barrel_columns() -> Vec<Column<LyingBarrel>> {
    let litres = |it: &LyingBarrel| Cell::Fine(Volume::nearest_to_litres(it.litres()));
    SIZES.into_iter().chain([Column::both("volume_ul", "litres", litres)]).collect()
}

/// What a barrel lacks at a dip.
struct Dipped {
    subject: Subject,
    row: Row,
}

const DIPPED: [Column<Dipped>; 5] = [
    Column::both("shape", "shape", |it: &Dipped| it.subject.shape.as_ref().into()),
    Column::both("capacity_ul", "capacity", |it| Cell::Fine(it.subject.capacity())),
    Column::both("dip_mm", "mm", |it| it.row.dip_mm.into()),
    Column::both("missing_ul", "missing", |it| Cell::Fine(it.row.missing)),
    Column::both("volume_ul", "holds", |it| Cell::Fine(it.row.holds)),
];

/// A line of a dip table.
#[derive(Clone, Copy)]
struct Row {
    dip_mm: f64,
    missing: Volume,
    holds: Volume,
}

const ROW: [Column<Row>; 3] = [
    Column::both("dip_mm", "mm", |it: &Row| it.dip_mm.into()),
    Column::both("missing_ul", "missing", |it| Cell::Fine(it.missing)),
    Column::both("volume_ul", "holds", |it| Cell::Fine(it.holds)),
];

/// A dip table.
const TABLE: [Column<Subject>; 6] = [
    Column::program("vessel", |it: &Subject| it.vessel.as_ref().into()),
    Column::program("shape", |it| it.shape.as_ref().into()),
    Column::program("source", |it| it.source.into()),
    Column::program("capacity_ul", |it| it.capacity().into()),
    Column::spread(|it| Cell::thing(&SIZES, it.gauge.barrel())),
    Column::within("dips", |it| Cell::things(&ROW, it.rows())),
];

impl Subject {
    fn rows(&self) -> Vec<Row> {
        self.gauge.table_dips_mm().into_iter().filter_map(|dip| self.row(dip)).collect()
    }

    /// Gives its dip table out as it is to be printed: in the form that is asked for, as HTML or into a file.
    fn print(&self, how: &Print, page: &mut Page<'_>) -> Outcome {
        if how.html || how.out.is_some() { give(&self.document(), how, page.width, page.out) } else { self.table(page) }
    }

    /// The dip table as a sheet.
    fn document(&self) -> Document {
        let (title, how) = self.title_and_how();
        let mut table = Table::with(&[("mm", Kind::Numbers), ("missing", Kind::Numbers), ("holds", Kind::Numbers)]);
        let cells = |row: &Row| ROW.iter().map(|column| (column.cell)(row).in_table()).collect();
        table.lines = self.rows().iter().map(|row| Line::Cells(cells(row))).collect();
        let lead = [Some(how), self.source.map(sizes_by)].into_iter().flatten().collect();
        let blocks = vec![Block::Heading(UNITS.to_owned()), Block::Table(table)];
        Document { title, lead, cautions: Vec::new(), blocks }
    }

    /// Gives its dip table out; people get it in two halves side by side, so that it fits a page.
    fn table(&self, page: &mut Page<'_>) -> Outcome {
        let dips = self.rows();
        page.report((&TABLE, self), (&ROW, &dips), |page| {
            for line in self.head() {
                page.line(&line)?;
            }
            let (left, right) = dips.split_at(dips.len().div_ceil(2));
            let pairs: Vec<Pair> =
                left.iter().enumerate().map(|(at, row)| Pair(*row, right.get(at).copied())).collect();
            page.section(UNITS, &Pair::COLUMNS, &pairs)?;
            let Some(source) = self.source else { return Ok(()) };
            page.line("")?;
            wrapped(&sizes_by(source), WORDS_COLUMNS).iter().try_for_each(|line| page.line(line))
        })
    }

    /// What the table is of, and how it is read, in lines.
    fn head(&self) -> Vec<String> {
        let (title, how) = self.title_and_how();
        [title, how].iter().flat_map(|words| wrapped(words, WORDS_COLUMNS)).collect()
    }

    fn title_and_how(&self) -> (String, String) {
        let vessel = self.vessel.as_ref().map(|vessel| format!("barrel {vessel}"));
        let capacity = litres(self.capacity());
        let parts: Vec<String> = [vessel, self.shape.clone(), Some(capacity)].into_iter().flatten().collect();
        let barrel = self.gauge.barrel();
        let [bilge, head, length] = [barrel.bilge_mm(), barrel.head_mm(), barrel.length_mm()];
        let curve = Cell::word(&barrel.curve()).in_table();
        let how = format!(
            "Inside {bilge} mm at the bilge, {head} mm at the heads, {length} mm long, stave curve {curve}; \
             litres are scaled to the capacity. Dip a level barrel with its bung up: from the inside of the stave under \
             the bung down to the wine."
        );
        (format!("Dip table: {}", harmless(&parts.join(", "))), how)
    }
}

/// What stands over the numbers of a dip table.
const UNITS: &str = "mm under the bung, litres missing and held";

/// Whose sizes they are.
fn sizes_by(source: &str) -> String {
    format!("Sizes: {}.", harmless(source))
}

/// Two lines of a dip table side by side.
struct Pair(Row, Option<Row>);

impl Pair {
    const COLUMNS: [Column<Pair>; 7] = [
        Column::people("mm", |it: &Pair| it.0.dip_mm.into()),
        Column::people("missing", |it| Cell::Fine(it.0.missing)),
        Column::people("holds", |it| Cell::Fine(it.0.holds)),
        Column::people("  |  ", |_| Cell::Word("  |  ".to_owned())),
        Column::people("mm", |it| it.1.map(|row| row.dip_mm).into()),
        Column::people("missing", |it| it.1.map_or(Cell::Nothing, |row| Cell::Fine(row.missing))),
        Column::people("holds", |it| it.1.map_or(Cell::Nothing, |row| Cell::Fine(row.holds))),
    ];
}
