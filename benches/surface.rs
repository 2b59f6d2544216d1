//! What reading a tasting costs: 20 tasters, 60 glasses, all components' surface of the second degree.
//!
//! `cargo bench --bench surface`

use std::hint::black_box;
use std::time::Instant;

use barrelwalk::reckon::chance::Chance;
use barrelwalk::reckon::surface::{PANELS, Question, Rating, Region, Scale, read};

const TASTERS: usize = 20;
const GLASSES: usize = 60;
/// Times that it is read; the quickest counts, since another program can only make it slower.
const TIMES: usize = 31;

/// A tasting of blends that are drawn, with a best ratio at one part of the first, two of the second, and so on.
fn tasting(components: usize) -> Question {
    let mut chance = Chance::from_seed(7);
    let best: Vec<f64> =
        (1..=components).map(|part| 2.0 * part as f64 / (components * (components + 1)) as f64).collect();
    let mut glass = || {
        let parts: Vec<f64> = (0..components).map(|_| -(1.0 - chance.fraction()).ln()).collect();
        let sum: f64 = parts.iter().sum();
        parts.iter().map(|part| part / sum).collect::<Vec<f64>>()
    };
    let glasses: Vec<Vec<f64>> = (0..GLASSES).map(|_| glass()).collect();
    let mut ratings = Vec::new();
    for taster in 0..TASTERS {
        for (number, glass) in glasses.iter().enumerate() {
            let off: f64 = glass.iter().zip(&best).map(|(share, best)| (share - best).powi(2)).sum();
            let noise = (0..12).map(|_| chance.fraction()).sum::<f64>() - 6.0;
            ratings.push(Rating {
                taster,
                flight: 0,
                glass: number,
                score: 14.0 - 12.0 * off + noise + taster as f64 / 10.0,
            });
        }
    }
    let names = |count: usize| (1..=count).map(|it| it.to_string()).collect();
    Question {
        components: names(components),
        tasters: names(TASTERS),
        region: Region::within_glasses(&glasses),
        glasses,
        ratings,
        scale: Scale::Scores,
        panels: PANELS,
        seed: 1,
    }
}

/// The least time of reading a question, in milliseconds.
fn milliseconds(question: &Question) -> f64 {
    let times = (0..TIMES).map(|_| {
        let begun = Instant::now();
        let _ = black_box(read(black_box(question)));
        begun.elapsed().as_secs_f64() * 1e3
    });
    times.fold(f64::INFINITY, f64::min)
}

fn main() {
    for components in 2..=6 {
        let whole = tasting(components);
        let without = Question { panels: 0, ..whole.clone() };
        let (whole, without) = (milliseconds(&whole), milliseconds(&without));
        println!("{components} components: {whole:.1} ms, of which {:.1} for {PANELS} drawn panels", whole - without);
    }
}
