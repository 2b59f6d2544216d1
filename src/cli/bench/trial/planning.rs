//! `trial plan`: what a trial would tell, before anything is poured, and what has to be drawn for it.

use super::pouring::{DrawOf, draw_columns, draws};
use super::setting::{after, read_glasses};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::views::bench::laying_out::{LaidOut, TrialAsked};
use crate::cellar::views::bench::repeat_error::{RepeatError, Source};
use crate::cellar::views::books::lineage::NewWood;
use crate::cli::arguments::TrialPlanArguments;
use crate::cli::bench::design::{LONGEST, search};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::progress::Progress;
use crate::cli::core::saying::Saying;
use crate::cli::core::stop::Stop;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::desk::Desk;
use crate::reckon::mixture::Draw;
use crate::reckon::telling::{Tally, Telling, Tried, told_from};
use crate::told::bench::{FIELDS, HEADING, rule, simulated, table};
use crate::units::counted;

/// A trial that is planned.
struct Planned<'a> {
    laid: &'a LaidOut,
    error: RepeatError,
    vessels: &'a [Label],
    drawn: &'a [Draw],
    /// What the blend that is wanted would take, and of which wine there is too little.
    supply: Vec<String>,
    telling: Option<&'a Telling>,
}

type Told<'a> = (&'a Planned<'a>, &'a (Tried, Tally));

fn columns<'a>() -> [Column<Planned<'a>>; 8] {
    [
        Column::program("glasses", |it: &Planned<'_>| it.laid.sizes().0.into()),
        Column::program("tasters", |it| it.laid.sizes().1.into()),
        Column::program("ratings", |it| it.laid.ratings().into()),
        Column::program("repeat_error", |it| rounded(it.error.deviation, 3).into()),
        Column::program("repeats", |it| match it.error.from {
            Source::Learned { repeats, .. } => repeats.into(),
            Source::Said | Source::Taken => Cell::from(0_usize),
        }),
        // The difference of the best and the worst ratio that is told eight times in ten, points of 20.
        Column::program("told_from", |it| rounded(told_from(it.laid.ratings()) * it.error.deviation, 3).into()),
        Column::within("draws", |it| Cell::things(&draw_columns(), it.draws())),
        Column::within("table", |it| Cell::things(&told_columns(), it.told())),
    ]
}

fn told_columns<'a>() -> [Column<Told<'a>>; 8] {
    [
        Column::program("glasses", |(_, row): &Told<'_>| row.0.glasses.into()),
        Column::program("tasters", |(_, row)| row.0.tasters.into()),
        Column::program("difference", |(it, row)| rounded(row.0.difference * it.error.deviation, 3).into()),
        Column::program("difference_sd", |(_, row)| row.0.difference.into()),
        Column::program("panels", |(_, row)| row.1.panels().into()),
        Column::program("tells", |(_, row)| rounded(row.1.tells(), 3).into()),
        Column::program("loses", |(_, row)| rounded(row.1.loss(), 3).into()),
        Column::program("shares_off", |(_, row)| rounded(row.1.off(), 3).into()),
    ]
}

impl<'a> Planned<'a> {
    fn draws(&self) -> Vec<DrawOf<'a>> {
        draws(self.vessels, self.drawn)
    }

    fn told(&'a self) -> Vec<Told<'a>> {
        self.telling.iter().flat_map(|telling| telling.rows()).map(|row| (self, row)).collect()
    }

    fn write(&'a self, page: &mut Page<'_>) -> Outcome {
        let rule = rule(self.laid.sizes(), self.laid.ratings(), &self.error);
        page.sentences(&[self.laid.judged(), rule, self.error.words()])?;
        page.sentences(&self.supply)?;
        if let Some(telling) = self.telling {
            page.line(&format!("\n{HEADING}"))?;
            table(telling, self.laid.sizes(), &self.error).iter().try_for_each(|line| page.line(line))?;
            let panels = counted(simulated(telling), "simulated panel");
            page.sentences(&[format!("{FIELDS} From {panels} each, known to a few in a hundred.")])?;
        }
        page.section("to draw from each vessel", &draw_columns(), &self.draws())
    }
}

/// What is asked for, of a panel without names.
pub(super) fn read(asked: &TrialPlanArguments, saying: &mut Saying<'_>) -> Outcome<TrialAsked> {
    let panel = (1..=asked.tasters).map(|taster| label(&format!("taster {taster}"))).collect::<Outcome<_>>()?;
    read_glasses(&asked.glasses, (label("plan")?, panel, asked.seed), saying)
}

fn label(text: &str) -> Outcome<Label> {
    Label::new(text).map_err(|error| Complaint::Refused(error.to_string()))
}

/// Plans a trial.
pub(super) fn plan(
    asked: &TrialPlanArguments,
    glasses: TrialAsked,
    (desk, on): (&Desk, Moment),
    page: &mut Page<'_>,
) -> Outcome {
    let state = desk.state();
    let wood = if glasses.limits.is_empty() { NewWood::default() } else { desk.trace(on)?.new_wood() };
    let laid = state.lay_out_trial(after(state, &asked.glasses, glasses)?, &wood, search)?;
    let drawn = laid.draws(&laid.sealed(state, label("none")?)?)?;
    let error = match asked.error {
        Some(error) if error > 0.0 && error <= 10.0 => RepeatError::said(error),
        Some(_) => {
            return Err(Complaint::Refused("A rating strays by more than nothing and at most 10 points.".to_owned()));
        }
        None => state.repeat_error(),
    };
    let telling = laid.telling().map(|telling| simulate(telling, asked.panels));
    let vessels = laid.wines();
    let supply = laid.supply(state, &drawn);
    let planned = Planned { laid: &laid, error, vessels, drawn: &drawn, supply, telling: telling.as_ref() };
    page.report((&columns(), &planned), (&told_columns(), &planned.told()), |page| planned.write(page))
}

/// Simulates so many panels of each size; a terminal shows how it goes, and Ctrl-C takes those there are.
fn simulate(mut telling: Telling, panels: usize) -> Telling {
    let (stop, mut progress) = (Stop::within(LONGEST), Progress::on_terminal());
    for round in 1..=panels {
        progress.tell(&format!("panel {round} of {panels}; Ctrl-C takes those there are"));
        telling.round(&|| stop.is_due());
        if stop.is_due() {
            break;
        }
    }
    progress.end();
    telling
}
