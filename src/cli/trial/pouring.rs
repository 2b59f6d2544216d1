//! `trial pour`: the page for whoever pours. It is the only one that tells what the codes of an open trial are.

use serde::Serialize;

use super::{list, seal_line, trial};
use crate::cellar::label::Label;
use crate::cellar::state::State;
use crate::cellar::trial::code::Code;
use crate::cli::cell::Cell;
use crate::cli::column::Column;
use crate::cli::complaint::{Complaint, Outcome};
use crate::cli::page::Page;
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
    samples: Vec<SampleView>,
}

/// What comes into one glass.
#[derive(Debug, Serialize)]
struct PourView {
    code: Code,
    /// How many tasters are served it.
    times: usize,
    repeat_of: Option<Code>,
    pours: Vec<SampleView>,
}

/// So much of a vessel.
#[derive(Debug, Serialize)]
struct SampleView {
    vessel: Label,
    volume_ul: Volume,
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
fn poured(pours: &[SampleView]) -> Cell {
    let used = pours.iter().filter(|pour| !pour.volume_ul.is_zero());
    let told = |pour: &SampleView| format!("{} {}", pour.vessel, pour.volume_ul.show_number(VolumeUnit::Millilitre, 2));
    Cell::Text(used.map(told).collect::<Vec<_>>().join(" + "))
}

impl SampleView {
    const COLUMNS: [Column<SampleView>; 2] = [
        Column::both("vessel", "vessel", |it: &SampleView| (&it.vessel).into()),
        Column::both("volume_ul", "mL", |it: &SampleView| Cell::Measured(it.volume_ul)),
    ];
}

/// Gives the page out; what is poured is rounded to a step that can be read.
pub fn write(state: &State, label: &str, step: Volume, page: &mut Page<'_>) -> Outcome {
    let trial = state.trials.get(trial(state, label)?);
    let key = trial.pouring();
    let pours = key.pours(step).map_err(|error| Complaint::Refused(error.to_string()))?;
    let of_each = |volumes: &[Volume]| -> Vec<SampleView> {
        let vessels = list::vessels(state, trial).into_iter();
        vessels.zip(volumes).map(|(vessel, &volume_ul)| SampleView { vessel, volume_ul }).collect()
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
        samples: of_each(&key.samples(&pours)),
    };
    page.report(&view, &PourView::columns(), &view.glasses, |page| {
        page.line(&format!("FOR WHOEVER POURS ONLY: this page tells what is in the glasses of {}.", view.trial))?;
        page.line("Keep it from everybody who tastes.")?;
        page.line(&seal_line(&view.digest))?;
        page.section("glasses", &PourView::columns(), &view.glasses)?;
        page.section("to draw from each vessel, at least", &SampleView::COLUMNS, &view.samples)
    })
}
