//! Bottling runs as they are listed and shown: every bottle and every litre of them.

use serde::Serialize;

use super::bottling::FillsView;
use crate::cellar::core::day::Day;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bottles::bottling::bottle_tasting::BottleTaste;
use crate::cellar::jobs::bottles::bottling::recalled::assumed_in_words;
use crate::cellar::jobs::bottles::bottling::run::{Material, OfCode, OutForCause, Run, Stock, Stretch};
use crate::cli::core::complaint::Outcome;
use crate::cli::floor::composition::{OriginShare, composition, in_one_cell};
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::reckon::bottling::{NO_ADVICE, check_fills};
use crate::reckon::label_share::Rules;
use crate::units::Volume;

/// A run, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct RunView {
    run: Label,
    lots: Vec<Label>,
    vessels: Vec<Label>,
    lot_codes: Vec<Label>,
    bottled: Option<When>,
    ended: Option<When>,
    bottle_ul: Volume,
    bottles: u64,
    volume_ul: Volume,
    loss_ul: Volume,
    not_laid_away: u64,
    laid_away: u64,
    out: u64,
    found_at_counts: u64,
    beyond_the_book: u64,
    ready_this_month: u64,
    composition: Vec<OriginShare>,
}

impl RunView {
    /// A run as it is told at a moment.
    #[must_use]
    pub fn of(state: &State, run: &Run, on: Moment) -> RunView {
        let wine = run.wine();
        RunView {
            run: run.label.clone(),
            lots: run.lots().into_iter().map(|lot| state.lots.get(lot).label.clone()).collect(),
            vessels: run.vessels().into_iter().map(|id| state.vessels.get(id).label.clone()).collect(),
            lot_codes: run.lot_codes().into_iter().cloned().collect(),
            bottled: run.ended().map(|(first, _)| When(first)),
            ended: run.ended().map(|(_, last)| When(last)),
            bottle_ul: run.bottle,
            bottles: run.bottles(),
            volume_ul: wine.volume(),
            loss_ul: run.loss(),
            not_laid_away: run.loose(),
            laid_away: run.lying(),
            out: run.gone(),
            found_at_counts: run.found,
            beyond_the_book: run.beyond,
            ready_this_month: run.ready_in_month_of(Day::of(on.date())),
            composition: composition(state, &wine),
        }
    }

    /// Every run of the cellar.
    #[must_use]
    pub fn all(state: &State, on: Moment) -> Vec<RunView> {
        state.runs.iter().map(|(_, run)| RunView::of(state, run, on)).collect()
    }

    /// The columns of a list of runs.
    #[must_use]
    pub fn columns() -> Vec<Column<RunView>> {
        vec![
            Column::both("run", "run", |it: &RunView| (&it.run).into()),
            Column::both("lots", "lot", |it| joined(&it.lots)),
            Column::program("vessels", |it| joined(&it.vessels)),
            Column::both("lot_codes", "code", |it| joined(&it.lot_codes)),
            Column::both("bottled", "bottled", |it| it.bottled.into()),
            Column::program("ended", |it| it.ended.into()),
            Column::both("bottle_ul", "mL", |it| Cell::Measured(it.bottle_ul)),
            Column::both("bottles", "bottles", |it: &RunView| it.bottles.into()).summed(),
            Column::program("volume_ul", |it| it.volume_ul.into()),
            Column::program("loss_ul", |it| it.loss_ul.into()),
            Column::both("not_laid_away", "not laid away", |it: &RunView| it.not_laid_away.into()).summed(),
            Column::both("laid_away", "laid away", |it: &RunView| it.laid_away.into()).summed(),
            Column::both("out", "out", |it: &RunView| it.out.into()).summed(),
            Column::program("found_at_counts", |it| it.found_at_counts.into()),
            Column::program("beyond_the_book", |it| it.beyond_the_book.into()),
            Column::both("ready_this_month", "ready this month", |it: &RunView| it.ready_this_month.into()).summed(),
            Column::program("composition", |it: &RunView| in_one_cell(&it.composition)).nested(),
        ]
    }

    fn parts(&self) -> Vec<PartView> {
        let each = |volume: Volume| Volume::from_ul(volume.as_ul() / self.bottles.max(1));
        self.composition.iter().map(|whole| PartView { whole: whole.clone(), each: each(whole.volume()) }).collect()
    }
}

/// So much of an origin in all bottles, and in each.
struct PartView {
    whole: OriginShare,
    each: Volume,
}

impl PartView {
    const COLUMNS: [Column<PartView>; 3] = [
        Column::people("origin", |it: &PartView| it.whole.name().into()),
        Column::people("litres", |it: &PartView| it.whole.volume().into()).summed(),
        Column::people("mL a bottle", |it| Cell::Measured(it.each)),
    ];
}

/// A run with its stretches, its bottles by place and release, and what went out.
#[derive(Debug, Serialize)]
pub struct RunCard {
    #[serde(flatten)]
    run: RunView,
    bottles_by_code: Vec<CodeView>,
    code_assumed: u64,
    bottles_by_place: Vec<LaidView>,
    out_by_cause: Vec<OutView>,
    tastings: Vec<BottleTasteView>,
    stretches: Vec<StretchView>,
    fill_checks: Vec<FillsView>,
    /// Where every bottle is and every litre.
    #[serde(skip)]
    reconciled: [String; 2],
}

/// Bottles of a run that lie at one place for one release.
#[derive(Debug, Serialize)]
struct LaidView {
    place: Label,
    lot_code: Option<Label>,
    release: Option<Day>,
    state: &'static str,
    bottles: u64,
    since: When,
}

/// Bottles that went out for one cause to one place.
#[derive(Debug, Serialize)]
struct OutView {
    why: Text,
    to: Option<Text>,
    bottles: u64,
    first: When,
    last: When,
}

/// A stretch of a run.
#[derive(Debug, Serialize)]
struct StretchView {
    ended: When,
    minutes: Option<u32>,
    bottles_an_hour: Option<u64>,
    vessel: Label,
    fill: u32,
    lot: Option<Label>,
    lot_code: Label,
    bottles: u32,
    bottle_ul: Volume,
    loss_ul: Volume,
    closure: Option<Label>,
    oxygen_mg_l: Option<f64>,
    materials: Vec<Material>,
    composition: Vec<OriginShare>,
}

impl RunCard {
    /// The card of a run at a moment.
    #[must_use]
    pub fn of(state: &State, run: &Run, on: Moment) -> RunCard {
        let today = Day::of(on.date());
        let fills = run.fills();
        let checks = [Rules::Eu, Rules::Us].map(|rules| check_fills(&fills, run.bottle, rules));
        RunCard {
            run: RunView::of(state, run, on),
            bottles_by_code: run.by_code().iter().map(CodeView::of).collect(),
            code_assumed: run.assumed,
            bottles_by_place: run.laid().map(|(place, stock)| LaidView::of(place, stock, today)).collect(),
            out_by_cause: run.out_by_cause().iter().map(OutView::of).collect(),
            tastings: run.tastes.iter().map(BottleTasteView::of).collect(),
            stretches: run.stretches.iter().map(|stretch| StretchView::of(state, stretch)).collect(),
            // A run in which no bottle was measured has no check.
            fill_checks: checks.iter().flatten().map(|check| FillsView::of(check, run.bottle)).collect(),
            reconciled: [run.bottles_words(), run.litres_words()],
        }
    }

    /// Gives the card out; as a spreadsheet, the run.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &RunView::columns(), std::slice::from_ref(&self.run), |page| {
            page.pairs_of(&RunView::columns(), &self.run)?;
            page.line("")?;
            self.reconciled.iter().try_for_each(|line| page.line(line))?;
            page.section("in all bottles, and in each", &PartView::COLUMNS, &self.run.parts())?;
            if self.bottles_by_code.len() > 1 {
                page.section("by lot code", &CodeView::COLUMNS, &self.bottles_by_code)?;
                page.line(&assumed_in_words(self.code_assumed))?;
            }
            page.section("laid away", &LaidView::COLUMNS, &self.bottles_by_place)?;
            page.section("out", &OutView::COLUMNS, &self.out_by_cause)?;
            page.section("tasted through bottle age", &BottleTasteView::columns(), &self.tastings)?;
            page.section("filled", &StretchView::columns(), &self.stretches)?;
            if self.fill_checks.is_empty() {
                return Ok(());
            }
            page.line("")?;
            self.fill_checks.iter().try_for_each(|check| page.line(check.says()))?;
            page.line(NO_ADVICE)
        })
    }
}

/// Where the bottles of a lot code are.
#[derive(Debug, Serialize)]
struct CodeView {
    lot_code: Option<Label>,
    filled: u64,
    not_laid_away: u64,
    laid_away: u64,
    out: u64,
    left: u64,
}

impl CodeView {
    fn of(code: &OfCode) -> CodeView {
        CodeView {
            lot_code: code.lot_code.clone(),
            filled: code.filled,
            not_laid_away: code.loose,
            laid_away: code.lying,
            out: code.out,
            left: code.left(),
        }
    }

    const COLUMNS: [Column<CodeView>; 6] = [
        Column::both("lot_code", "code", |it: &CodeView| it.lot_code.as_ref().into()),
        Column::both("filled", "filled", |it: &CodeView| it.filled.into()).summed(),
        Column::both("not_laid_away", "not laid away", |it: &CodeView| it.not_laid_away.into()).summed(),
        Column::both("laid_away", "laid away", |it: &CodeView| it.laid_away.into()).summed(),
        Column::both("out", "out", |it: &CodeView| it.out.into()).summed(),
        Column::both("left", "left", |it: &CodeView| it.left.into()).summed(),
    ];
}

impl LaidView {
    fn of(place: &Label, stock: &Stock, today: Day) -> LaidView {
        let state = stock.readiness(today).words();
        let Stock { lot_code, release, since, there, .. } = stock.clone();
        LaidView { place: place.clone(), lot_code, release, state, bottles: there, since: When(since) }
    }

    const COLUMNS: [Column<LaidView>; 6] = [
        Column::both("place", "place", |it: &LaidView| (&it.place).into()),
        Column::both("lot_code", "code", |it: &LaidView| it.lot_code.as_ref().into()),
        Column::both("release", "release", |it| it.release.map_or(Cell::Nothing, |day| Cell::Text(day.show()))),
        Column::both("state", "state", |it| it.state.into()),
        Column::both("bottles", "bottles", |it: &LaidView| it.bottles.into()).summed(),
        Column::both("since", "since", |it| it.since.into()),
    ];
}

impl OutView {
    fn of(out: &OutForCause<'_>) -> OutView {
        let &OutForCause { why, to, bottles, first, last } = out;
        OutView { why: why.clone(), to: to.cloned(), bottles, first: When(first), last: When(last) }
    }

    const COLUMNS: [Column<OutView>; 5] = [
        Column::both("why", "why", |it: &OutView| (&it.why).into()),
        Column::both("to", "to", |it: &OutView| it.to.as_ref().into()).sparse(),
        Column::both("bottles", "bottles", |it: &OutView| it.bottles.into()).summed(),
        Column::both("first", "first", |it| it.first.into()),
        Column::both("last", "last", |it| it.last.into()),
    ];
}

/// A taste of a bottle.
#[derive(Debug, Serialize)]
struct BottleTasteView {
    at: When,
    months_in_bottle: u32,
    lot_code: Option<Label>,
    score: Option<f64>,
    marks: Vec<Label>,
    text: Option<Text>,
}

impl BottleTasteView {
    fn of(tasted: &BottleTaste) -> BottleTasteView {
        let taste = &tasted.taste;
        BottleTasteView {
            at: When(taste.at),
            months_in_bottle: tasted.months(),
            lot_code: tasted.lot_code.clone(),
            score: taste.score,
            marks: taste.marks.clone(),
            text: taste.text.clone(),
        }
    }

    fn columns() -> Vec<Column<BottleTasteView>> {
        vec![
            Column::people("on", |it: &BottleTasteView| it.at.into()),
            Column::people("months in bottle", |it| it.months_in_bottle.into()),
            Column::people("code", |it: &BottleTasteView| it.lot_code.as_ref().into()),
            Column::people("score", |it| it.score.into()),
            Column::people("marks", |it| joined(&it.marks)),
            Column::people("words", |it: &BottleTasteView| it.text.as_ref().into()).sparse(),
        ]
    }
}

impl StretchView {
    fn of(state: &State, stretch: &Stretch) -> StretchView {
        StretchView {
            ended: When(stretch.at),
            minutes: stretch.minutes,
            bottles_an_hour: stretch.bottles_an_hour(),
            vessel: state.vessels.get(stretch.vessel).label.clone(),
            fill: stretch.fill,
            lot: stretch.lot.map(|lot| state.lots.get(lot).label.clone()),
            lot_code: stretch.lot_code.clone(),
            bottles: stretch.bottles,
            bottle_ul: stretch.bottle,
            loss_ul: stretch.loss,
            closure: stretch.closure.clone(),
            oxygen_mg_l: stretch.oxygen_mg_l,
            materials: stretch.materials.clone(),
            composition: composition(state, &stretch.wine),
        }
    }

    fn columns() -> Vec<Column<StretchView>> {
        vec![
            Column::people("until", |it: &StretchView| {
                Cell::Text(format!("{} {}", it.ended.0.show_date(), it.ended.0.show_time()))
            }),
            Column::people("minutes", |it: &StretchView| it.minutes.into()).sparse(),
            Column::people("an hour", |it: &StretchView| it.bottles_an_hour.into()).sparse(),
            Column::people("from", |it| (&it.vessel).into()),
            Column::people("code", |it| (&it.lot_code).into()),
            Column::people("bottles", |it: &StretchView| it.bottles.into()).summed(),
            Column::people("lost", |it: &StretchView| it.loss_ul.into()).summed().sparse(),
            Column::people("closure", |it: &StretchView| it.closure.as_ref().into()).sparse(),
            Column::people("oxygen mg/L", |it: &StretchView| it.oxygen_mg_l.into()).sparse(),
            Column::people("used", |it: &StretchView| materials(&it.materials)).sparse(),
        ]
    }
}

fn materials(used: &[Material]) -> Cell {
    match used {
        [] => Cell::Nothing,
        used => Cell::Text(used.iter().map(Material::words).collect::<Vec<_>>().join(", ")),
    }
}

/// Labels in one cell.
pub(in crate::cli) fn joined(labels: &[Label]) -> Cell {
    match labels {
        [] => Cell::Nothing,
        labels => Cell::Text(labels.iter().map(Label::as_str).collect::<Vec<_>>().join(", ")),
    }
}
