//! How long the analysis of a panel takes: twenty tasters of sixty glasses, scores of half points, three tables: chance
//! alone, glasses that differ much, and a fifth of the cells missing. Smaller panels, whose probabilities are counted or
//! drawn, are timed beside them. The goal: under 50 ms each.
//!
//! `cargo bench --bench panel`

use std::hint::black_box;
use std::time::Instant;

use barrelwalk::reckon::chance::Chance;
use barrelwalk::reckon::panel::table::{Given, Table, TableError};
use barrelwalk::reckon::panel::{analyse, words::words};

const TIMES: usize = 15;

/// A table of chance, in which glasses rise by so many points from one to the next.
fn table(tasters: usize, glasses: usize, rise: f64, missing: f64) -> Result<Table, TableError> {
    let mut chance = Chance::from_seed(60);
    let mut cell = |glass: usize| {
        let score = (chance.fraction() * 16.0).round() / 2.0 + glass as f64 * rise;
        (chance.fraction() >= missing).then_some(score.min(20.0))
    };
    let rows = (0..tasters).map(|_| (0..glasses).map(&mut cell).collect()).collect();
    let names = |what: &str, number: usize| (0..number).map(|it| format!("{what}{it}")).collect();
    Table::new(Given::Scores, names("taster ", tasters), names("", glasses), rows)
}

fn main() -> Result<(), TableError> {
    for (tasters, glasses, rise, missing) in [
        (20, 60, 0.0, 0.0),
        (20, 60, 0.2, 0.0),
        (20, 60, 0.05, 0.2),
        (10, 20, 0.1, 0.0),
        (8, 8, 0.1, 0.0),
        (8, 5, 0.1, 0.0),
        (12, 10, 0.1, 0.2),
    ] {
        let table = table(tasters, glasses, rise, missing)?;
        let mut milliseconds: Vec<f64> = (0..TIMES)
            .map(|_| {
                let begun = Instant::now();
                black_box(words(&analyse(black_box(&table), &[vec![0, 1]])));
                begun.elapsed().as_secs_f64() * 1e3
            })
            .collect();
        milliseconds.sort_by(f64::total_cmp);
        println!(
            "{tasters} tasters, {glasses} glasses, {rise} points a glass, {missing} missing: {:.1} ms in the middle, {:.1} at most",
            milliseconds[TIMES / 2],
            milliseconds[TIMES - 1]
        );
    }
    Ok(())
}
