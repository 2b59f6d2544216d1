//! Bottling runs as they are listed and shown: every bottle and every litre of them.

use super::bottling::{FillsSeen, fills_columns};
use crate::cellar::core::day::Day;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RunId, State};
use crate::cellar::core::wine::{Part, Wine};
use crate::cellar::jobs::bottles::bottling::bottle_tasting::BottleTaste;
use crate::cellar::jobs::bottles::bottling::recalled::assumed_in_words;
use crate::cellar::jobs::bottles::bottling::run::{Material, OfCode, OutForCause, Run, Stock, Stretch};
use crate::cli::core::complaint::Outcome;
use crate::cli::floor::composition;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::{Seen, seen};
use crate::reckon::bottling::{FOR_INFORMATION, check_fills};
use crate::reckon::label_share::Rules;
use crate::units::Volume;

/// A run and what is in its bottles.
pub struct Bottled<'a> {
    run: &'a Run,
    wine: Wine,
}

/// A run as it is told.
pub type RunSeen<'a> = Seen<'a, Bottled<'a>>;

/// A run as it is told at a moment.
#[must_use]
pub fn told(state: &State, run: RunId, on: Moment) -> RunSeen<'_> {
    let run = state.runs.get(run);
    Seen { state, on, thing: Bottled { run, wine: run.wine() } }
}

/// Every run of the cellar.
#[must_use]
pub fn all(state: &State, on: Moment) -> Vec<RunSeen<'_>> {
    seen(state, on, state.runs.iter().map(|(_, run)| Bottled { run, wine: run.wine() }))
}

/// The columns of a list of runs.
#[must_use]
pub fn columns<'a>() -> Vec<Column<RunSeen<'a>>> {
    vec![
        Column::both("run", "run", |it| (&it.run.label).into()),
        Column::both("lots", "lot", |it| Cell::list(it.run.lots().into_iter().map(|lot| it.lot_label(lot)))),
        Column::program("vessels", |it| Cell::list(it.run.vessels().into_iter().map(|id| it.vessel_label(id)))),
        Column::both("lot_codes", "code", |it| Cell::list(it.run.lot_codes())),
        Column::both("bottled", "bottled", |it| it.run.ended().map(|(first, _)| first).into()),
        Column::program("ended", |it| it.run.ended().map(|(_, last)| last).into()),
        Column::both("bottle_ul", "mL", |it| Cell::Measured(it.run.bottle)),
        Column::both("bottles", "bottles", |it: &RunSeen<'_>| it.run.bottles().into()).summed(),
        Column::program("volume_ul", |it| it.wine.volume().into()),
        Column::program("loss_ul", |it| it.run.loss().into()),
        Column::both("not_laid_away", "not laid away", |it: &RunSeen<'_>| it.run.loose().into()).summed(),
        Column::both("laid_away", "laid away", |it: &RunSeen<'_>| it.run.lying().into()).summed(),
        Column::both("out", "out", |it: &RunSeen<'_>| it.run.gone().into()).summed(),
        Column::program("found_at_counts", |it| it.run.found.into()),
        Column::program("beyond_the_book", |it| it.run.beyond.into()),
        Column::both("ready_this_month", "ready this month", |it: &RunSeen<'_>| {
            it.run.ready_in_month_of(Day::of(it.on.date())).into()
        })
        .summed(),
        Column::program("composition", |it: &RunSeen<'_>| it.wine_in_one_cell(&it.thing.wine))
            .nested()
            .whole(|it| it.wine(&it.thing.wine)),
    ]
}

/// A run with its stretches, its bottles by place and release, and what went out.
fn card_columns<'a>() -> Vec<Column<RunSeen<'a>>> {
    let mut columns = columns();
    columns.extend([
        Column::within("bottles_by_code", |it: &RunSeen<'_>| Cell::things(&CODES, it.run.by_code())),
        Column::within("code_assumed", |it| it.run.assumed.into()),
        Column::within("bottles_by_place", |it| it.within(&laid_columns(), it.thing.run.laid())),
        Column::within("out_by_cause", |it| Cell::things(&out_columns(), it.run.out_by_cause())),
        Column::within("tastings", |it| Cell::things(&taste_columns(), it.run.tastes.iter())),
        Column::within("stretches", |it| it.within(&stretch_columns(), it.thing.run.stretches.iter())),
        Column::within("fill_checks", |it| Cell::things(&fills_columns(), it.fill_checks())),
    ]);
    columns
}

impl RunSeen<'_> {
    /// How the bottles that were measured stand to both rules; a run in which none was has no check.
    fn fill_checks(&self) -> Vec<FillsSeen> {
        let (fills, nominal) = (self.run.fills(), self.run.bottle);
        let checks = [Rules::Eu, Rules::Us].map(|rules| check_fills(&fills, nominal, rules));
        checks.into_iter().flatten().map(|check| FillsSeen { check, batch: None }).collect()
    }

    /// Gives the card out; as a spreadsheet, the run.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        let run = self.run;
        page.card(&card_columns(), self, |page| {
            page.line("")?;
            [run.bottles_words(), run.litres_words()].iter().try_for_each(|line| page.line(line))?;
            let parts: Vec<InBottles<'_>> =
                self.parts(&self.wine).into_iter().map(|part| self.other((*part, run.bottles()))).collect();
            page.section("in all bottles, and in each", &part_columns(), &parts)?;
            let codes = run.by_code();
            if codes.len() > 1 {
                page.section("by lot code", &CODES, &codes)?;
                page.line(&assumed_in_words(run.assumed))?;
            }
            page.section("laid away", &laid_columns(), &seen(self.state, self.on, run.laid()))?;
            page.section("out", &out_columns(), &run.out_by_cause())?;
            page.section("tasted through bottle age", &taste_columns(), &run.tastes.iter().collect::<Vec<_>>())?;
            page.section("filled", &stretch_columns(), &seen(self.state, self.on, run.stretches.iter()))?;
            let checks = self.fill_checks();
            if checks.is_empty() {
                return Ok(());
            }
            page.line("")?;
            checks.iter().try_for_each(|check| page.line(&check.check.words()))?;
            page.line(FOR_INFORMATION)
        })
    }
}

/// So much of an origin in so many bottles.
type InBottles<'a> = Seen<'a, (Part, u64)>;

fn part_columns<'a>() -> [Column<InBottles<'a>>; 3] {
    [
        Column::people("origin", |it: &InBottles<'_>| composition::name(it.state, it.0).into()),
        Column::people("litres", |it: &InBottles<'_>| it.0.volume.into()).summed(),
        Column::people("mL a bottle", |it| Cell::Measured(Volume::from_ul(it.0.volume.as_ul() / it.1.max(1)))),
    ]
}

/// Where the bottles of a lot code are.
const CODES: [Column<OfCode>; 6] = [
    Column::both("lot_code", "code", |it: &OfCode| it.lot_code.as_ref().into()),
    Column::both("filled", "filled", |it: &OfCode| it.filled.into()).summed(),
    Column::both("not_laid_away", "not laid away", |it: &OfCode| it.loose.into()).summed(),
    Column::both("laid_away", "laid away", |it: &OfCode| it.lying.into()).summed(),
    Column::both("out", "out", |it: &OfCode| it.out.into()).summed(),
    Column::both("left", "left", |it: &OfCode| it.left().into()).summed(),
];

/// Bottles of a run that lie at one place for one release.
type Laid<'a> = Seen<'a, (&'a Label, &'a Stock)>;

fn laid_columns<'a>() -> [Column<Laid<'a>>; 6] {
    [
        Column::both("place", "place", |it: &Laid<'_>| it.0.into()),
        Column::both("lot_code", "code", |it| it.1.lot_code.as_ref().into()),
        Column::both("release", "release", |it| it.1.release.into()),
        Column::both("state", "state", |it| it.1.readiness(Day::of(it.on.date())).words().into()),
        Column::both("bottles", "bottles", |it: &Laid<'_>| it.1.there.into()).summed(),
        Column::both("since", "since", |it| it.1.since.into()),
    ]
}

/// Bottles that went out for one cause to one place.
fn out_columns<'a>() -> [Column<OutForCause<'a>>; 5] {
    [
        Column::both("why", "why", |it: &OutForCause<'_>| it.why.into()),
        Column::both("to", "to", |it: &OutForCause<'_>| it.to.into()).sparse(),
        Column::both("bottles", "bottles", |it: &OutForCause<'_>| it.bottles.into()).summed(),
        Column::both("first", "first", |it| it.first.into()),
        Column::both("last", "last", |it| it.last.into()),
    ]
}

/// Tastes of bottles.
fn taste_columns<'a>() -> [Column<&'a BottleTaste>; 6] {
    [
        Column::both("at", "on", |it: &&BottleTaste| it.taste.at.into()),
        Column::both("months_in_bottle", "months in bottle", |it| it.months().into()),
        Column::both("lot_code", "code", |it| it.lot_code.as_ref().into()),
        Column::both("score", "score", |it| it.taste.score.into()),
        Column::both("marks", "marks", |it| Cell::list(&it.taste.marks)),
        Column::both("text", "words", |it: &&BottleTaste| it.taste.text.as_ref().into()).sparse(),
    ]
}

/// A stretch of a run.
type StretchSeen<'a> = Seen<'a, &'a Stretch>;

fn stretch_columns<'a>() -> Vec<Column<StretchSeen<'a>>> {
    vec![
        Column::people("until", |it| Cell::Text(format!("{} {}", it.at.show_date(), it.at.show_time()))),
        Column::program("ended", |it| it.at.into()),
        Column::both("minutes", "minutes", |it: &StretchSeen<'_>| it.minutes.into()).sparse(),
        Column::both("bottles_an_hour", "an hour", |it: &StretchSeen<'_>| it.bottles_an_hour().into()).sparse(),
        Column::both("vessel", "from", |it| it.vessel(it.thing.vessel)),
        Column::program("fill", |it| it.fill.into()),
        Column::program("lot", |it| it.lot(it.thing.lot)),
        Column::both("lot_code", "code", |it| (&it.lot_code).into()),
        Column::both("bottles", "bottles", |it: &StretchSeen<'_>| it.bottles.into()).summed(),
        Column::program("bottle_ul", |it| it.bottle.into()),
        Column::both("loss_ul", "lost", |it: &StretchSeen<'_>| it.loss.into()).summed().sparse(),
        Column::both("closure", "closure", |it: &StretchSeen<'_>| it.closure.as_ref().into()).sparse(),
        Column::both("oxygen_mg_l", "oxygen mg/L", |it: &StretchSeen<'_>| it.oxygen_mg_l.into()).sparse(),
        Column::both("materials", "used", |it: &StretchSeen<'_>| Cell::list(it.materials.iter().map(Material::words)))
            .sparse()
            .whole(|it| Cell::form(&it.materials)),
        Column::within("composition", |it| it.wine(&it.thing.wine)),
    ]
}
