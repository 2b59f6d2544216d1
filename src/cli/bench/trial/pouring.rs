//! `trial pour`: the page for whoever pours. It is the only one that tells what the codes of an open trial are.

use serde::Serialize;

use super::{list, seal_line, trial};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::code::Code;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::reckon::mixture::Draw;
use crate::units::{Volume, VolumeUnit};

/// Whom the page is for.
const ONLY_FOR: &str = "whoever pours";

/// The pouring page, under the names of the exchange format.
#[derive(Debug, Serialize)]
struct PouringView {
    trial: Label,
    only_for: &'static str,
    digest: String,
    glasses: Vec<PourView>,
    samples: Vec<DrawView>,
}

/// What comes into one glass.
#[derive(Debug, Serialize)]
struct PourView {
    code: Code,
    /// How many tasters are served it.
    times: usize,
    repeat_of: Option<Code>,
    pours: Vec<AmountView>,
}

/// So much of a vessel.
#[derive(Debug, Serialize)]
struct AmountView {
    vessel: Label,
    volume_ul: Volume,
}

/// What is drawn from a vessel.
#[derive(Debug, Serialize)]
pub(super) struct DrawView {
    vessel: Label,
    /// What is poured of it.
    volume_ul: Volume,
    /// What to draw, with what is spare.
    draw_ul: Volume,
}

impl PourView {
    fn columns() -> Vec<Column<PourView>> {
        vec![
            Column::both("code", "code", |it: &PourView| it.code.to_string().as_str().into()),
            Column::both("times", "times", |it| it.times.into()),
            Column::both("pours", "pour, mL", |it| poured(&it.pours)),
            Column::both("repeat_of", "the same as", |it: &PourView| {
                it.repeat_of.map(|code| code.to_string()).as_ref().into()
            })
            .sparse(),
        ]
    }
}

/// What comes into a glass, in one cell.
fn poured(pours: &[AmountView]) -> Cell {
    let used = pours.iter().filter(|pour| !pour.volume_ul.is_zero());
    let told = |pour: &AmountView| format!("{} {}", pour.vessel, pour.volume_ul.show_number(VolumeUnit::Millilitre, 2));
    Cell::Text(used.map(told).collect::<Vec<_>>().join(" + "))
}

impl DrawView {
    /// What is drawn from vessels for what is poured of them.
    pub(super) fn all(vessels: &[Label], draws: &[Draw]) -> Vec<DrawView> {
        let of_vessel = |(vessel, draw): (&Label, &Draw)| DrawView {
            vessel: vessel.clone(),
            volume_ul: draw.poured,
            draw_ul: draw.to_draw,
        };
        vessels.iter().zip(draws).map(of_vessel).collect()
    }

    pub(super) const COLUMNS: [Column<DrawView>; 3] = [
        Column::both("vessel", "vessel", |it: &DrawView| (&it.vessel).into()),
        Column::both("volume_ul", "poured mL", |it: &DrawView| Cell::Measured(it.volume_ul)),
        Column::both("draw_ul", "draw mL", |it: &DrawView| Cell::Measured(it.draw_ul)),
    ];
}

/// Gives the page out; what is poured is rounded to a step that can be read.
pub fn write(state: &State, label: &str, step: Volume, page: &mut Page<'_>) -> Outcome {
    let trial = state.trials.get(trial(state, label)?);
    let key = trial.pouring();
    let pours = key.pours(step)?;
    let vessels = list::vessels(state, trial);
    let of_each = |volumes: &[Volume]| -> Vec<AmountView> {
        let amount = |(vessel, &volume_ul): (&Label, &Volume)| AmountView { vessel: vessel.clone(), volume_ul };
        vessels.iter().zip(volumes).map(amount).collect()
    };
    let view = PouringView {
        trial: trial.label.clone(),
        only_for: ONLY_FOR,
        digest: trial.digest().to_owned(),
        glasses: pours
            .iter()
            .map(|pour| PourView {
                code: pour.glass.code,
                times: pour.times,
                repeat_of: pour.glass.repeat_of,
                pours: of_each(&pour.amounts),
            })
            .collect(),
        samples: DrawView::all(&vessels, &key.samples(&pours)?),
    };
    page.report(&view, &PourView::columns(), &view.glasses, |page| {
        page.line(&format!("FOR WHOEVER POURS ONLY: this page tells what is in the glasses of {}.", view.trial))?;
        page.line("Keep it from everybody who tastes.")?;
        page.line(&seal_line(&view.digest))?;
        page.section("glasses", &PourView::columns(), &view.glasses)?;
        page.section("to draw from each vessel", &DrawView::COLUMNS, &view.samples)
    })
}
