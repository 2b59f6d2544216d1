//! What reading an opened trial costs: 20 tasters who scored 60 glasses each, of two to six wines.
//!
//! `cargo bench --bench trial`

#[path = "support/book.rs"]
mod book;

use std::hint::black_box;
use std::time::Instant;

use barrelwalk::cellar::core::fact::Device;
use barrelwalk::cellar::core::state::State;
use barrelwalk::reckon::chance::Chance;
use serde_json::{Map, Value, json};

use crate::book::Book;

const TASTERS: u32 = 20;
const GLASSES: usize = 60;
/// Times that it is read; the quickest counts, since another program can only make it slower.
const TIMES: usize = 21;
const MINUTE: i64 = 60_000_000;

/// A trial of so many tanks, scored by all, with a best ratio at equal shares.
fn tasted(device: Device, wines: usize) -> State {
    let mut book = Book::new(State::default(), device, 1_790_000_000_000_000, MINUTE);
    let origin =
        json!({"origin": "o", "block": "b", "variety": "v", "vintage": 2026, "appellation": "a", "colour": "red"});
    book.tell("origin_declared", &origin);
    book.tell("lot_opened", &json!({"lot": "L", "colour": "red"}));
    for tank in 0..wines {
        let (label, litres) = (format!("T{tank}"), 2_000_000_000_u64);
        book.tell("vessel_registered", &json!({"vessel": label, "type": "tank", "capacity_ul": litres}));
        let parts = json!([{"origin": "o", "volume_ul": litres}]);
        book.tell("wine_received", &json!({"vessel": label, "lot": "L", "parts": parts}));
    }
    let mut chance = Chance::from_seed(7);
    let glasses: Vec<Vec<f64>> = (0..GLASSES).map(|_| blend(&mut chance, wines)).collect();
    let codes: Vec<String> = (0..GLASSES).map(|glass| (100 + glass).to_string()).collect();
    let key: Vec<Value> = codes
        .iter()
        .zip(&glasses)
        .filter_map(|(code, parts)| {
            let shares = barrelwalk::units::Shares::from_reals(parts).ok()?;
            Some(json!({"code": code, "shares_ppm": shares}))
        })
        .collect();
    let panel: Vec<String> = (0..TASTERS).map(|taster| format!("taster {taster}")).collect();
    let servings: Map<String, Value> = panel.iter().map(|taster| (taster.clone(), json!([codes]))).collect();
    let components: Vec<Value> = (0..wines).map(|tank| json!({"vessel": format!("T{tank}")})).collect();
    book.tell(
        "trial_set",
        &json!({"trial": "Q", "components": components, "glass_ul": 50_000, "glasses": key, "panel": panel, "servings": servings}),
    );
    for (taster, level) in panel.iter().zip(0..) {
        for (code, glass) in codes.iter().zip(&glasses) {
            let off: f64 = glass.iter().map(|share| (share - 1.0 / wines as f64).powi(2)).sum();
            let noise = (0..12).map(|_| chance.fraction()).sum::<f64>() - 6.0;
            let score = (2.0 * (14.0 - 12.0 * off + noise) + f64::from(level) / 5.0).round().clamp(0.0, 40.0) / 2.0;
            book.tell("glass_rated", &json!({"trial": "Q", "taster": taster, "code": code, "score": score}));
        }
    }
    book.tell("trial_revealed", &json!({"trial": "Q"}));
    book.kept
}

fn blend(chance: &mut Chance, wines: usize) -> Vec<f64> {
    let parts: Vec<f64> = (0..wines).map(|_| -(1.0 - chance.fraction()).ln()).collect();
    let sum: f64 = parts.iter().sum();
    parts.iter().map(|part| part / sum).collect()
}

fn main() {
    let Ok(device) = Device::new("bench") else { return };
    for wines in 2..=6 {
        let state = tasted(device.clone(), wines);
        let Some(trial) = state.trials.by_label("Q") else { return };
        let Some(key) = trial.opened() else { return };
        let reading = key.reading(&state);
        let rated: usize = reading.glasses.iter().map(|glass| glass.ratings.len()).sum();
        let times = (0..TIMES).map(|_| {
            let begun = Instant::now();
            black_box(key.reading(black_box(&state)));
            begun.elapsed().as_secs_f64() * 1e3
        });
        let least = times.fold(f64::INFINITY, f64::min);
        println!(
            "{wines} wines: {least:.1} ms, {rated} ratings, {} ratios",
            key.outlook(&state, &reading).ratios.len()
        );
    }
}
