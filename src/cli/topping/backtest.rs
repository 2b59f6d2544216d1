//! The backtest of the headspace estimate: how near each forecast came to what was poured, beside three naive ones and the best single
//! rate in hindsight.

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

/// How one set of toppings was forecast.
struct Judged<'a> {
    room: Option<&'a Label>,
    /// At least so many levels of the barrel had been found before in this fill.
    least: u32,
    scores: Scores,
}

/// The rows of the report: all toppings, those of barrels that are known already, and these by room.
fn rows(backtest: &Backtest) -> Vec<Judged<'_>> {
    let all: Vec<Trial> = backtest.trials.iter().map(|(_, trial)| *trial).collect();
    let known = |trial: &Trial| trial.earlier >= KNOWN_LEVELS;
    let known_all: Vec<Trial> = all.iter().copied().filter(known).collect();
    let of = |room, least, trials: &[Trial]| Judged { room, least, scores: score(trials) };
    let mut rows = vec![of(None, 0, &all), of(None, KNOWN_LEVELS, &known_all)];
    for (id, room) in backtest.state.rooms.iter() {
        let here = backtest.trials.iter().filter(|(room, _)| *room == id).map(|(_, trial)| *trial);
        let here: Vec<Trial> = here.filter(known).collect();
        rows.push(of(Some(&room.label), KNOWN_LEVELS, &here));
    }
    rows.retain(|row| row.scores.count > 0);
    rows
}

/// Gives the report out.
pub fn write(backtest: &Backtest, page: &mut Page<'_>) -> Outcome {
    let rows = rows(backtest);
    page.list(&columns(), &rows, "No barrel was topped twice yet, so there is nothing to judge by.")?;
    if page.format != Format::Table || rows.is_empty() {
        return Ok(());
    }
    page.line("")?;
    wrapped(EXPLAINED, page.width.unwrap_or(PAGE_COLUMNS)).iter().try_for_each(|line| page.line(line))
}

const EXPLAINED: &str = "Mean errors in millilitres, each topping forecast before it was seen. Model: the estimate. Fixed: \
    20 mL a day for all, the published rate. Last: the barrel's last rate. Room: the mean of its room until then. \
    Hindsight: the one rate for all that would have been best, known only afterwards. Known: four or more levels of the barrel were found before in this fill. In 50, 80, \
    95: how many of a hundred toppings lay inside the bands that should hold so many.";

fn columns<'a>() -> Vec<Column<Judged<'a>>> {
    vec![
        Column::people("toppings of", |it: &Judged<'_>| {
            Cell::Text(match (it.room, it.least) {
                (Some(room), _) => format!("known, {room}"),
                (None, 0) => "all barrels".to_owned(),
                (None, _) => "known barrels".to_owned(),
            })
        }),
        Column::program("room", |it| it.room.into()),
        Column::program("least_found_before", |it| it.least.into()),
        Column::both("toppings", "count", |it| it.scores.count.into()),
        Column::program("mean_poured_ul", |it| microlitres(it.scores.mean_found)),
        Column::people("poured", |it| millilitres(it.scores.mean_found)),
        Column::program("mean_error_ul", |it| microlitres(it.scores.model)),
        Column::people("model", |it| millilitres(it.scores.model)),
        Column::program("fixed_rate_error_ul", |it| microlitres(it.scores.fixed)),
        Column::people("fixed", |it| millilitres(it.scores.fixed)),
        Column::program("last_rate_error_ul", |it: &Judged<'_>| microlitres(it.scores.last)).elsewhere(),
        Column::people("last", |it| millilitres(it.scores.last)),
        Column::program("room_rate_error_ul", |it: &Judged<'_>| microlitres(it.scores.room)).elsewhere(),
        Column::people("room", |it| millilitres(it.scores.room)),
        Column::program("hindsight_rate_error_ul", |it| microlitres(it.scores.hindsight)),
        Column::people("hindsight", |it| millilitres(it.scores.hindsight)),
        Column::program("hindsight_rate_ul_per_day", |it| microlitres(it.scores.hindsight_rate)),
        Column::within("last_rate_error_ul", |it| microlitres(it.scores.last)),
        Column::within("room_rate_error_ul", |it| microlitres(it.scores.room)),
        Column::program("inside_50", |it| it.scores.inside[0].into()),
        Column::people("in 50", |it| hundredths(it.scores.inside[0])),
        Column::program("inside_80", |it| it.scores.inside[1].into()),
        Column::people("in 80", |it| hundredths(it.scores.inside[1])),
        Column::program("inside_95", |it| it.scores.inside[2].into()),
        Column::people("in 95", |it| hundredths(it.scores.inside[2])),
    ]
}

fn microlitres(litres: f64) -> Cell {
    Volume::nearest_to_litres(litres).into()
}

fn millilitres(litres: f64) -> Cell {
    ((Volume::nearest_to_litres(litres).as_ul() + 500) / 1_000).into()
}

/// So many of a hundred, to a tenth.
fn hundredths(part: f64) -> Cell {
    Cell::Decimal((part * 1_000.0).round() / 10.0)
}
