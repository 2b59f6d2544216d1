//! Oak judged, as it is listed: a line a cooper, a forest, a toast, a seasoning, a fill.

use crate::cellar::core::moment::Moment;
use crate::cellar::views::wood::oak::{Asked, OakLine, OakOf, Standing};
use crate::cli::arguments::OakArguments;
use crate::cli::core::complaint::Outcome;
use crate::cli::reading;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::desk::Desk;
use crate::reckon::oak::{Difference, Factor, Level, Pair};
use crate::told::oak;

/// Points, rates and litres are given out to so many decimals.
const DECIMALS: i32 = 4;

/// A kind of oak, among those of its quality.
type OakRow<'a> = (&'a OakOf, &'a OakLine);

/// A kind that another is held against.
struct Against<'a> {
    of: &'a OakOf,
    pair: &'a Pair,
    /// Whether the pair is the other way round.
    turned: bool,
}

/// Judges what is asked for.
pub fn judged(desk: &Desk, asked: &OakArguments, on: Moment) -> Outcome<Vec<OakOf>> {
    let state = desk.state();
    let lot = |label: &String| Ok(state.lots.get(reading::lot(state, label)?).label.clone());
    let lots = asked.lots.iter().map(lot).collect::<Outcome<_>>()?;
    let oak = desk.oak(on, Asked { since: asked.since, lots })?;
    let by = asked.by.map_or_else(|| Factor::ALL.to_vec(), |factor| vec![factor.into()]);
    Ok(by.into_iter().map(|factor| oak.judged(factor)).collect())
}

/// Lists it: people read the words of each quality beside its lines.
pub fn list(desk: &Desk, asked: &OakArguments, on: Moment, page: &mut Page<'_>) -> Outcome {
    let judged = judged(desk, asked, on)?;
    if !page.is_for_people() {
        let rows: Vec<OakRow<'_>> = judged.iter().flat_map(|of| of.lines.iter().map(move |line| (of, line))).collect();
        return page.list(&columns(), &rows, "");
    }
    for (place, of) in judged.iter().enumerate() {
        if place > 0 {
            page.line("")?;
        }
        page.line(oak::heading(of.factor))?;
        page.sentences(&oak::told(of))?;
        let rows: Vec<OakRow<'_>> = of.lines.iter().map(|line| (of, line)).collect();
        if !rows.is_empty() {
            page.table(&columns(), &rows)?;
        }
        page.sentences(&oak::cannot_be_told(of))?;
        page.sentences(&oak::takes(of).into_iter().collect::<Vec<_>>())?;
    }
    below(page, &oak::how().join(" "))
}

fn columns<'a>() -> Vec<Column<OakRow<'a>>> {
    let mut columns = vec![
        Column::program("quality", |it: &OakRow<'_>| Cell::Word(it.0.factor.word().to_owned())),
        Column::both("kind", "kind", |it: &OakRow<'_>| it.1.level.clone().into()),
        Column::both("barrels", "barrels", |it: &OakRow<'_>| scored(it, |level| level.barrels.into())),
        Column::both("tastes", "tastes", |it: &OakRow<'_>| scored(it, |level| level.times.into())),
        Column::program("lots", |it: &OakRow<'_>| scored(it, |level| level.lots.into())),
        Column::people("all else equal", |it: &OakRow<'_>| told(2, equal(it))),
        Column::people("as it came", |it: &OakRow<'_>| told(2, came(it))).sparse(),
        Column::people("", |it: &OakRow<'_>| Cell::Text(oak::standing(it.1.standing).to_owned())),
        Column::program("standing", |it: &OakRow<'_>| Cell::Word(standing_word(it.1.standing).to_owned())),
    ];
    columns.extend(points());
    columns.extend([
        Column::program("pulled_points", |it: &OakRow<'_>| scored(it, |level| number(level.pulled))),
        Column::program("va_rise_g_l_month", |it: &OakRow<'_>| number(it.1.acid_rise.map(|it| it.value))),
        Column::program("va_rise_error_g_l_month", |it: &OakRow<'_>| number(it.1.acid_rise.map(|it| it.error))),
        Column::people("VA mg/L a month", |it: &OakRow<'_>| told(0, it.1.acid_rise.map(oak::milligrams))).sparse(),
        Column::program("free_so2_fall_mg_l_month", |it: &OakRow<'_>| number(it.1.sulfur_fall.map(|it| it.value))),
        Column::program("free_so2_fall_error_mg_l_month", |it: &OakRow<'_>| {
            number(it.1.sulfur_fall.map(|it| it.error))
        }),
        Column::people("free SO2 fall", |it: &OakRow<'_>| told(1, it.1.sulfur_fall)).sparse(),
        Column::program("evaporation_l_year", |it: &OakRow<'_>| number(it.1.evaporation.map(|it| it.0))),
        Column::program("evaporation_error_l_year", |it: &OakRow<'_>| number(it.1.evaporation.and_then(|it| it.1))),
        Column::people("L a year", |it: &OakRow<'_>| text(oak::evaporation(it.1))).sparse(),
        Column::program("leaks", |it: &OakRow<'_>| it.1.leaks.leaks.into()),
        Column::program("barrel_years", |it: &OakRow<'_>| number(Some(it.1.leaks.barrel_years))),
        Column::program("leaks_per_100_barrel_years", |it: &OakRow<'_>| number(it.1.leaks.per_hundred())),
        Column::program("leaks_low", |it: &OakRow<'_>| number(it.1.leaks.band().map(|it| it.0))),
        Column::program("leaks_high", |it: &OakRow<'_>| number(it.1.leaks.band().map(|it| it.1))),
        Column::people("leaks of 100 a year", |it: &OakRow<'_>| text(oak::leaks(&it.1.leaks))).sparse(),
        Column::both("price", "price", |it: &OakRow<'_>| it.1.price.map(|price| rounded(price, 2)).into()).sparse(),
        Column::within("against", |it: &OakRow<'_>| Cell::things(&against_columns(), against(it))),
    ]);
    columns
}

/// The points of a kind against the mean, for programs.
fn points<'a>() -> [Column<OakRow<'a>>; 6] {
    [
        Column::program("points", |it: &OakRow<'_>| number(equal(it).map(|it| it.value))),
        Column::program("points_error", |it: &OakRow<'_>| number(equal(it).map(|it| it.error))),
        Column::program("points_low", |it: &OakRow<'_>| number(equal(it).map(|it| it.value - it.reach))),
        Column::program("points_high", |it: &OakRow<'_>| number(equal(it).map(|it| it.value + it.reach))),
        Column::program("as_it_came_points", |it: &OakRow<'_>| number(came(it).map(|it| it.value))),
        Column::program("as_it_came_error", |it: &OakRow<'_>| number(came(it).map(|it| it.error))),
    ]
}

/// What a kind is held against.
fn against<'a>((of, line): &OakRow<'a>) -> Vec<Against<'a>> {
    let (of, number) = (*of, line.number);
    let pairs = of.scores.as_ref().map_or(&[][..], |judged| &judged.pairs);
    let of_line = pairs.iter().filter(|pair| pair.one == number || pair.other == number);
    of_line.map(|pair| Against { of, pair, turned: pair.other == number }).collect()
}

fn against_columns<'a>() -> Vec<Column<Against<'a>>> {
    vec![
        Column::program("kind", |it: &Against<'_>| {
            let other = if it.turned { it.pair.one } else { it.pair.other };
            it.of.names[other].clone().into()
        }),
        Column::program("lots", |it| it.pair.lots.into()),
        Column::program("points", |it| number(it.equal().map(|it| it.value))),
        Column::program("error", |it| number(it.equal().map(|it| it.error))),
        Column::program("low", |it| number(it.equal().map(|it| it.value - it.reach))),
        Column::program("high", |it| number(it.equal().map(|it| it.value + it.reach))),
        Column::program("p", |it| number(it.equal().map(|it| it.probability))),
        Column::program("p_held_back", |it| number(it.equal().map(|it| it.held_back))),
        Column::program("told", |it| it.equal().is_some_and(|it| it.is_told()).into()),
        Column::program("tied_to", |it| Cell::list(it.pair.tied_to.iter().map(|factor| factor.word()))),
    ]
}

impl Against<'_> {
    fn equal(&self) -> Option<Difference> {
        let it = self.pair.all_else_equal?;
        Some(if self.turned { Difference { value: -it.value, ..it } } else { it })
    }
}

fn scored(it: &OakRow<'_>, of: impl Fn(&Level) -> Cell) -> Cell {
    it.1.scored.as_ref().map_or(Cell::Nothing, of)
}

fn equal(it: &OakRow<'_>) -> Option<Difference> {
    it.1.scored.as_ref()?.all_else_equal
}

fn came(it: &OakRow<'_>) -> Option<Difference> {
    it.1.scored.as_ref()?.as_it_came
}

fn number(value: Option<f64>) -> Cell {
    value.map(|value| rounded(value, DECIMALS)).into()
}

fn text(told: String) -> Cell {
    if told.is_empty() { Cell::Nothing } else { Cell::Text(told) }
}

fn told(decimals: usize, difference: Option<Difference>) -> Cell {
    text(oak::by(decimals, difference.as_ref()))
}

/// The word of a standing for programs.
const fn standing_word(standing: Standing) -> &'static str {
    match standing {
        Standing::Best => "best",
        Standing::AsGood => "as_good",
        Standing::Below => "below",
        Standing::NoneTold => "none_told",
        Standing::CannotBeTold => "cannot_be_told",
        Standing::NotScored => "not_scored",
    }
}
