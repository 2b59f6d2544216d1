//! The backtest of the headspace estimate: how near each forecast came to what was poured, beside three naive ones and the best single
//! rate in hindsight.

use serde::Serialize;

use crate::cellar::core::label::Label;
use crate::cellar::views::topping::backtest::Backtest;
use crate::cli::arguments::Format;
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::text_table::wrapped;
use crate::reckon::backtest::{Scores, Trial, score};
use crate::units::Volume;

/// So many levels of a barrel must have been found in a fill before its forecasts are judged by themselves.
const KNOWN_LEVELS: u32 = 4;

/// How wide the explanation is where there is no screen.
const PAGE_COLUMNS: usize = 80;

/// How one set of toppings was forecast, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct BacktestView {
    room: Option<Label>,
    /// At least so many levels of the barrel had been found before in this fill.
    least_found_before: u32,
    toppings: usize,
    mean_poured_ul: Volume,
    mean_error_ul: Volume,
    fixed_rate_error_ul: Volume,
    hindsight_rate_error_ul: Volume,
    hindsight_rate_ul_per_day: Volume,
    last_rate_error_ul: Volume,
    room_rate_error_ul: Volume,
    inside_50: f64,
    inside_80: f64,
    inside_95: f64,
}

/// The rows of the report: all toppings, those of barrels that are known already, and these by room.
fn views(backtest: &Backtest) -> Vec<BacktestView> {
    let all: Vec<Trial> = backtest.trials.iter().map(|(_, trial)| *trial).collect();
    let known = |trial: &Trial| trial.earlier >= KNOWN_LEVELS;
    let known_all: Vec<Trial> = all.iter().copied().filter(known).collect();
    let mut views = vec![BacktestView::of(None, 0, &all), BacktestView::of(None, KNOWN_LEVELS, &known_all)];
    for (id, room) in backtest.state.rooms.iter() {
        let here = backtest.trials.iter().filter(|(room, _)| *room == id).map(|(_, trial)| *trial);
        let here: Vec<Trial> = here.filter(known).collect();
        views.push(BacktestView::of(Some(&room.label), KNOWN_LEVELS, &here));
    }
    views.retain(|view| view.toppings > 0);
    views
}

/// Gives the report out.
pub fn write(backtest: &Backtest, page: &mut Page<'_>) -> Outcome {
    let views = views(backtest);
    page.list(&BacktestView::columns(), &views, "No barrel was topped twice yet, so there is nothing to judge by.")?;
    if page.format != Format::Table || views.is_empty() {
        return Ok(());
    }
    page.line("")?;
    wrapped(EXPLAINED, page.width.unwrap_or(PAGE_COLUMNS)).iter().try_for_each(|line| page.line(line))
}

const EXPLAINED: &str = "Mean errors in millilitres, each topping forecast before it was seen. Model: the estimate. Fixed: \
    20 mL a day for all, the published rate. Last: the barrel's last rate. Room: the mean of its room until then. \
    Hindsight: the one rate for all that would have been best, known only afterwards. Known: four or more levels of the barrel were found before in this fill. In 50, 80, \
    95: how many of a hundred toppings lay inside the bands that should hold so many.";

impl BacktestView {
    fn of(room: Option<&Label>, least: u32, trials: &[Trial]) -> BacktestView {
        let Scores { count, mean_found, model, fixed, hindsight, hindsight_rate, last, room: mean, inside } =
            score(trials);
        let litres = Volume::nearest_to_litres;
        BacktestView {
            room: room.cloned(),
            least_found_before: least,
            toppings: count,
            mean_poured_ul: litres(mean_found),
            mean_error_ul: litres(model),
            fixed_rate_error_ul: litres(fixed),
            hindsight_rate_error_ul: litres(hindsight),
            hindsight_rate_ul_per_day: litres(hindsight_rate),
            last_rate_error_ul: litres(last),
            room_rate_error_ul: litres(mean),
            inside_50: inside[0],
            inside_80: inside[1],
            inside_95: inside[2],
        }
    }

    fn columns() -> Vec<Column<BacktestView>> {
        vec![
            Column::people("toppings of", BacktestView::subject),
            Column::program("room", |it: &BacktestView| it.room.as_ref().into()),
            Column::program("least_found_before", |it| it.least_found_before.into()),
            Column::both("toppings", "count", |it| it.toppings.into()),
            Column::program("mean_poured_ul", |it| it.mean_poured_ul.into()),
            Column::people("poured", |it| millilitres(it.mean_poured_ul)),
            Column::program("mean_error_ul", |it| it.mean_error_ul.into()),
            Column::people("model", |it| millilitres(it.mean_error_ul)),
            Column::program("fixed_rate_error_ul", |it| it.fixed_rate_error_ul.into()),
            Column::people("fixed", |it| millilitres(it.fixed_rate_error_ul)),
            Column::program("last_rate_error_ul", |it| it.last_rate_error_ul.into()),
            Column::people("last", |it| millilitres(it.last_rate_error_ul)),
            Column::program("room_rate_error_ul", |it| it.room_rate_error_ul.into()),
            Column::people("room", |it| millilitres(it.room_rate_error_ul)),
            Column::program("hindsight_rate_error_ul", |it| it.hindsight_rate_error_ul.into()),
            Column::people("hindsight", |it| millilitres(it.hindsight_rate_error_ul)),
            Column::program("hindsight_rate_ul_per_day", |it| it.hindsight_rate_ul_per_day.into()),
            Column::program("inside_50", |it| it.inside_50.into()),
            Column::people("in 50", |it| hundredths(it.inside_50)),
            Column::program("inside_80", |it| it.inside_80.into()),
            Column::people("in 80", |it| hundredths(it.inside_80)),
            Column::program("inside_95", |it| it.inside_95.into()),
            Column::people("in 95", |it| hundredths(it.inside_95)),
        ]
    }

    fn subject(&self) -> Cell {
        Cell::Text(match (&self.room, self.least_found_before) {
            (Some(room), _) => format!("known, {room}"),
            (None, 0) => "all barrels".to_owned(),
            (None, _) => "known barrels".to_owned(),
        })
    }
}

fn millilitres(volume: Volume) -> Cell {
    ((volume.as_ul() + 500) / 1_000).into()
}

/// So many of a hundred, to a tenth.
fn hundredths(part: f64) -> Cell {
    Cell::Decimal((part * 1_000.0).round() / 10.0)
}
