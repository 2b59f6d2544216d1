//! `trial pour`: the page for whoever pours. It is the only one that tells what the codes of an open trial are.

use super::{list, seal_line, trial};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::pouring::Pour;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::reckon::mixture::Draw;
use crate::units::{Volume, VolumeUnit};

/// Whom the page is for.
const ONLY_FOR: &str = "whoever pours";

/// The pouring page.
struct Pouring<'a> {
    trial: &'a Trial,
    vessels: &'a [Label],
    pours: &'a [Pour<'a>],
    samples: &'a [Draw],
}

fn columns<'a>() -> [Column<Pouring<'a>>; 5] {
    [
        Column::program("trial", |it: &Pouring<'_>| (&it.trial.label).into()),
        Column::program("only_for", |_| ONLY_FOR.into()),
        Column::program("digest", |it| it.trial.digest().into()),
        Column::within("glasses", |it| Cell::things(&pour_columns(), it.glasses())),
        Column::within("samples", |it| Cell::things(&draw_columns(), draws(it.vessels, it.samples))),
    ]
}

impl<'a> Pouring<'a> {
    fn glasses(&self) -> Vec<PourOf<'a>> {
        self.pours.iter().map(|pour| (pour, self.vessels)).collect()
    }
}

/// What comes into one glass, and the vessels that it is of.
type PourOf<'a> = (&'a Pour<'a>, &'a [Label]);

fn pour_columns<'a>() -> Vec<Column<PourOf<'a>>> {
    vec![
        Column::both("code", "code", |it: &PourOf<'_>| it.0.glass.code.to_string().into()),
        // How many tasters are served it.
        Column::both("times", "times", |it| it.0.times.into()),
        Column::within("repeat_of", repeat_of),
        Column::both("pours", "pour, mL", |it: &PourOf<'_>| poured(it))
            .whole(|it| Cell::things(&amount_columns(), it.1.iter().zip(it.0.amounts.iter().copied()))),
        Column::both("repeat_of", "the same as", repeat_of).sparse().elsewhere(),
    ]
}

fn repeat_of(pour: &PourOf<'_>) -> Cell {
    pour.0.glass.repeat_of.map(|code| code.to_string()).into()
}

/// So much of a vessel.
fn amount_columns<'a>() -> [Column<(&'a Label, Volume)>; 2] {
    [
        Column::program("vessel", |it: &(&Label, Volume)| it.0.into()),
        Column::program("volume_ul", |it: &(&Label, Volume)| it.1.into()),
    ]
}

/// What comes into a glass, in one cell.
fn poured((pour, vessels): &PourOf<'_>) -> Cell {
    let used = vessels.iter().zip(&pour.amounts).filter(|(_, volume)| !volume.is_zero());
    let told =
        |(vessel, volume): (&Label, &Volume)| format!("{vessel} {}", volume.in_column_of(VolumeUnit::Millilitre, 2));
    Cell::Text(used.map(told).collect::<Vec<_>>().join(" + "))
}

/// What is drawn from a vessel.
pub(super) type DrawOf<'a> = (&'a Label, Draw);

/// What is drawn from vessels for what is poured of them.
pub(super) fn draws<'a>(vessels: &'a [Label], draws: &[Draw]) -> Vec<DrawOf<'a>> {
    vessels.iter().zip(draws.iter().copied()).collect()
}

/// The columns of what is drawn.
pub(super) fn draw_columns<'a>() -> [Column<DrawOf<'a>>; 3] {
    [
        Column::both("vessel", "vessel", |it: &DrawOf<'_>| it.0.into()),
        // What is poured of it, and what to draw, with what is spare.
        Column::both("volume_ul", "poured mL", |it| Cell::Measured(it.1.poured)),
        Column::both("draw_ul", "draw mL", |it| Cell::Measured(it.1.to_draw)),
    ]
}

/// Gives the page out; what is poured is rounded to a step that can be read.
pub fn write(state: &State, label: &str, step: Volume, page: &mut Page<'_>) -> Outcome {
    let trial = state.trials.get(trial(state, label)?);
    let key = trial.pouring();
    let pours = key.pours(step)?;
    let samples = key.samples(&pours)?;
    let vessels = list::vessels(state, trial);
    let told = Pouring { trial, vessels: &vessels, pours: &pours, samples: &samples };
    let glasses = told.glasses();
    page.report((&columns(), &told), (&pour_columns(), &glasses), |page| {
        page.line(&format!("FOR WHOEVER POURS ONLY: this page tells what is in the glasses of {}.", trial.label))?;
        page.line("Keep it from everybody who tastes.")?;
        page.line(&seal_line(trial.digest()))?;
        page.section("glasses", &pour_columns(), &glasses)?;
        page.section("to draw from each vessel", &draw_columns(), &draws(&vessels, &samples))
    })
}
