//! What was done, from the facts that stand: tests, tastes, toppings, additions, moves. What was taken back is in no list.

use serde_json::{Map, Value};

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::finish::fining::given::colour_of;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::jobs::tests::treating::Treated;
use crate::cli::arguments::{DoneArguments, DoneKind};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::reading;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::desk::Desk;
use crate::reckon::acid_unit::AcidUnit;
use crate::reckon::material::Held;
use crate::units::{Mass, Volume};

/// Something that was done.
pub struct Done {
    at: Moment,
    by: Label,
    device: String,
    n: u64,
    /// The lot that it was done to, as it was then.
    lot: Option<Label>,
    note: Option<String>,
    /// Of an addition, what it came to.
    came_to: Option<CameTo>,
    /// The fields of its kind.
    fields: Map<String, Value>,
}

/// What an addition came to in the wine that it went into.
struct CameTo {
    /// How much wine that was.
    wine: Volume,
    /// The dose, g/L.
    dose_g_l: f64,
    /// The material in all in that wine, g/L.
    sum_g_l: f64,
    /// The water of all additions, % of the wine.
    water_pct: f64,
    /// How the sum stood to published figures.
    figures: Vec<String>,
}

impl CameTo {
    /// What was just added to a vessel came to.
    fn of(state: &State, treated: &Treated) -> Option<CameTo> {
        let id = state.vessels.find(treated.vessel.as_str())?;
        let vessel = state.vessels.get(id);
        let wine = vessel.volume().saturating_sub(treated.solution);
        let additions = state.additions_to(&[id]);
        let name = state.material(treated.material.as_str()).map_or(treated.material.as_str(), |meant| meant.name);
        let sum = additions.sums.iter().find(|sum| sum.name == name)?;
        let colour = colour_of(state.colour_in(vessel));
        let held = sum.known.map(|known| additions.held_against(known, colour, state.practice.rules));
        let litres = wine.as_litres();
        Some(CameTo {
            wine,
            dose_g_l: if litres > 0.0 { treated.amount.as_grams() / litres } else { 0.0 },
            sum_g_l: additions.g_l(sum.amount),
            water_pct: additions.water_share().unwrap_or_default() * 100.0,
            figures: held.iter().flatten().map(Held::words).collect(),
        })
    }
}

impl Done {
    /// What a field says, by the unit that its name says.
    fn said(&self, name: &str) -> Cell {
        match self.fields.get(name) {
            Some(Value::Number(number)) => match (number.as_u64(), number.as_f64()) {
                (Some(whole), _) if name.ends_with("_ul") => Volume::from_ul(whole).into(),
                (Some(whole), _) if name.ends_with("_ug") => Mass::from_ug(whole).into(),
                (Some(whole), _) => whole.into(),
                (None, number) => number.into(),
            },
            Some(Value::String(text)) => text.into(),
            Some(Value::Bool(flag)) => (*flag).into(),
            Some(Value::Array(values)) => Cell::list(values.iter().filter_map(Value::as_str)),
            _ => Cell::Nothing,
        }
    }

    /// An acidity as a house reads it.
    fn read(&self, analyte: Analyte, acid: AcidUnit) -> Cell {
        let kept = self.fields.get(analyte.field()).and_then(Value::as_f64);
        kept.map(|kept| analyte.read_as(Some(acid)).value(kept)).into()
    }

    fn form(&self, name: &str) -> Cell {
        self.fields.get(name).filter(|value| !value.is_null()).map_or(Cell::Nothing, Cell::form)
    }
}

/// A column of a field that people read too, or only programs.
macro_rules! said {
    ($name:literal) => {
        Column::program($name, |it: &Done| it.said($name))
    };
    ($name:literal, $heading:literal) => {
        Column::both($name, $heading, |it: &Done| it.said($name)).sparse()
    };
}

/// The columns of a list.
#[must_use]
pub fn columns(kind: DoneKind, acid: Option<AcidUnit>) -> Vec<Column<Done>> {
    let lot = || Column::both("lot", "lot", |it: &Done| it.lot.as_ref().into());
    let full = || {
        Column::both("full", "full", |it: &Done| {
            it.fields.get("full").is_none_or(|full| *full == Value::Bool(true)).into()
        })
    };
    let mut columns = vec![Column::both("at", "on", |it: &Done| it.at.into())];
    columns.extend(match kind {
        DoneKind::Toppings => {
            vec![said!("vessel", "vessel"), lot(), said!("volume_ul", "litres"), said!("from", "from"), full()]
        }
        DoneKind::Additions => vec![
            said!("vessel", "vessel"),
            lot(),
            said!("material", "material"),
            said!("amount_ug", "grams"),
            said!("solution_ul", "litres of stock"),
            said!("batch", "batch"),
            said!("purpose", "what for"),
            Column::program("wine_ul", |it: &Done| it.came_to.as_ref().map(|to| to.wine).into()),
            Column::both("dose_g_l", "g/L", |it: &Done| it.came_to.as_ref().map(|to| rounded(to.dose_g_l, 5)).into())
                .sparse(),
            Column::both("sum_g_l", "in all g/L", |it: &Done| {
                it.came_to.as_ref().map(|to| rounded(to.sum_g_l, 5)).into()
            })
            .sparse(),
            Column::program("water_pct", |it: &Done| it.came_to.as_ref().map(|to| rounded(to.water_pct, 3)).into()),
            Column::program("figures", |it: &Done| {
                Cell::list(it.came_to.iter().flat_map(|to| to.figures.iter().map(String::as_str)))
            }),
        ],
        DoneKind::Moves => vec![
            said!("from", "from"),
            said!("to", "to"),
            lot(),
            said!("volume_ul", "litres"),
            said!("purpose", "what for"),
            said!("lees_ul", "lees"),
            said!("loss_ul", "lost"),
            said!("empties"),
            said!("evaporation_ul"),
            said!("filter"),
        ],
        DoneKind::Tastes => vec![
            said!("vessel", "vessel"),
            lot(),
            said!("score", "score"),
            said!("marks", "descriptors").whole(|it| it.form("marks")),
            said!("text", "words"),
        ],
        DoneKind::Tests => tested(lot(), acid),
    });
    columns.extend([
        Column::both("by", "by", |it: &Done| (&it.by).into()),
        Column::program("note", |it: &Done| it.note.as_ref().into()),
        Column::program("device", |it: &Done| (&it.device).into()),
        Column::program("n", |it: &Done| it.n.into()),
    ]);
    columns
}

fn tested(lot: Column<Done>, acid: Option<AcidUnit>) -> Vec<Column<Done>> {
    let [titratable, volatile] = acidities(acid);
    vec![
        said!("vessel", "vessel"),
        said!("sample", "sample"),
        lot,
        said!("ph", "pH"),
        said!("free_so2_mg_l", "free"),
        said!("total_so2_mg_l", "total"),
        said!("ta_g_l"),
        titratable.sparse(),
        said!("va_g_l"),
        volatile.sparse(),
        said!("alcohol_pct", "alcohol"),
        said!("malic_g_l", "malic"),
        said!("lactic_g_l", "lactic"),
        said!("tartaric_g_l"),
        said!("potassium_mg_l"),
        said!("sugar_g_l", "sugar"),
        said!("turbidity_ntu", "NTU"),
        said!("oxygen_mg_l"),
        said!("temperature_c"),
        Column::program("values", |it: &Done| it.form("values")),
        said!("lab", "lab"),
    ]
}

/// The acidities as people read them, in the unit of the house, which the heading says.
fn acidities(acid: Option<AcidUnit>) -> [Column<Done>; 2] {
    const TA: Analyte = Analyte::TitratableAcidity;
    const VA: Analyte = Analyte::VolatileAcidity;
    match acid {
        Some(AcidUnit::Sulfuric) => [
            Column::both("ta_h2so4_g_l", "TA H2SO4", |it: &Done| it.read(TA, AcidUnit::Sulfuric)),
            Column::both("va_h2so4_g_l", "VA H2SO4", |it: &Done| it.read(VA, AcidUnit::Sulfuric)),
        ],
        Some(AcidUnit::Meq) => [
            Column::both("ta_meq_l", "TA meq/L", |it: &Done| it.read(TA, AcidUnit::Meq)),
            Column::both("va_meq_l", "VA meq/L", |it: &Done| it.read(VA, AcidUnit::Meq)),
        ],
        _ => [
            Column::people("TA tart.", |it: &Done| it.read(TA, AcidUnit::Tartaric)),
            Column::people("VA acetic", |it: &Done| it.read(VA, AcidUnit::Acetic)),
        ],
    }
}

/// The vessel that a fact of a kind is about, if it is of that kind.
fn vessel_of(kind: DoneKind, what: &What) -> Option<(Option<&Label>, Option<&Label>, Option<&Label>)> {
    match (kind, what) {
        (DoneKind::Toppings, What::Topped(it)) => Some((Some(&it.vessel), Some(&it.from), None)),
        (DoneKind::Additions, What::Treated(it)) => Some((Some(&it.vessel), None, None)),
        (DoneKind::Moves, What::WineMoved(it)) => Some((Some(&it.to), Some(&it.from), None)),
        (DoneKind::Tastes, What::Tasted(it)) => Some((Some(&it.vessel), None, None)),
        (DoneKind::Tests, What::Tested(it)) => Some((it.vessel.as_ref(), None, it.lot.as_ref())),
        _ => None,
    }
}

/// What was done of a kind, as it is asked for, up to a moment: in the order in which it happened.
pub fn all(desk: &Desk, kind: DoneKind, asked: &DoneArguments, on: Moment) -> Outcome<Vec<Done>> {
    let newest = desk.state();
    let vessel = asked.vessel.as_deref().map(|label| reading::vessel(newest, label)).transpose()?;
    let lot = asked.lot.as_deref().map(|label| reading::lot(newest, label)).transpose()?;
    let (vessel, lot) = (vessel.map(|id| &newest.vessels.get(id).label), lot.map(|id| &newest.lots.get(id).label));
    let until = asked.to.filter(|to| to.instant() < on.instant()).unwrap_or(on);
    if let Some(from) = asked.from {
        reading::in_order(from, asked.to.unwrap_or(from))?;
    }
    let mut found = Vec::new();
    desk.each_done(until, &mut |state, stamp, what| {
        let Some((of, other, named)) = vessel_of(kind, what) else { return };
        if asked.from.is_some_and(|from| stamp.at.instant() < from.instant()) {
            return;
        }
        let its_lot = named.cloned().or_else(|| lot_in(state, of?));
        let is_of = |wanted: &Label| of == Some(wanted) || other == Some(wanted);
        if vessel.is_none_or(is_of) && lot.is_none_or(|wanted| its_lot.as_ref() == Some(wanted)) {
            let came_to = match what {
                What::Treated(treated) => CameTo::of(state, treated),
                _ => None,
            };
            found.push((stamp.id.clone(), its_lot, came_to));
        }
    })?;
    let mut done = Vec::with_capacity(found.len());
    for (id, lot, came_to) in found {
        let Some(line) = desk.line(&id)? else { continue };
        let whole: Value =
            serde_json::from_str(&line.to_json()).map_err(|error| Complaint::Refused(error.to_string()))?;
        let Value::Object(fields) = whole else { continue };
        let note = fields.get("note").and_then(Value::as_str).map(str::to_owned);
        done.push(Done {
            at: line.at,
            by: line.by,
            device: id.device.to_string(),
            n: id.n,
            lot,
            note,
            came_to,
            fields,
        });
    }
    Ok(done)
}

fn lot_in(state: &State, vessel: &Label) -> Option<Label> {
    let lot = state.vessels.get(state.vessels.find(vessel.as_str())?).lot?;
    Some(state.lots.get(lot).label.clone())
}
