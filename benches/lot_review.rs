//! What the review of a lot costs: 2,000 barrels of one lot with ten years of facts behind them.
//!
//! Every barrel was topped every three weeks, tasted and tested every quarter, by itself and in a composite, and treated.
//!
//! `cargo bench --bench lot_review`

#[path = "support/book.rs"]
mod book;

use std::hint::black_box;
use std::time::Instant;

use barrelwalk::cellar::core::fact::Device;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::cellar::core::state::State;
use serde_json::json;

use crate::book::Book;

const BARRELS: u32 = 2_000;
const ROUNDS: u32 = 174;
/// Every so many rounds the barrels are tasted and tested: about a quarter of a year.
const A_QUARTER: u32 = 4;
/// So many barrels go into one composite sample.
const IN_A_SAMPLE: u32 = 20;
const DAY: i64 = 86_400_000_000;
/// Times that the review is built; the middle one counts.
const TIMES: usize = 101;

fn furnish(book: &mut Book<State>) {
    book.tell("room_laid_out", &json!({"room": "long", "rows": [{"row": "A", "stacks": 999, "tiers": 6, "sides": 2}]}));
    book.tell(
        "origin_declared",
        &json!({"origin": "o", "block": "b", "variety": "v", "vintage": 2024, "appellation": "a", "colour": "red"}),
    );
    book.tell("lot_opened", &json!({"lot": "L", "colour": "red"}));
    let litres = 9_000_000_000_000_u64;
    book.tell("vessel_registered", &json!({"vessel": "T", "type": "tank", "capacity_ul": litres}));
    let parts = json!([{"origin": "o", "volume_ul": litres}]);
    book.tell("wine_received", &json!({"vessel": "T", "lot": "L", "parts": parts}));
    for number in 0..BARRELS {
        let pick = |words: &[&str]| words[number as usize % words.len()].to_owned();
        book.tell(
            "vessel_registered",
            &json!({
                "vessel": label(number), "type": "barrel", "capacity_ul": 225_000_000, "fills": number % 5,
                "forest": pick(&["Tronçais", "Allier", "Vosges", "Missouri", "Jupilles", "Nevers"]),
                "cooper": pick(&["Hollow Oak", "Bent Stave", "Lys", "Besquerin"]), "toast": pick(&["light", "medium", "heavy"]),
                "grain": pick(&["fine", "medium"]), "seasoning_months": 24 + number % 3 * 6, "shape": "bordeaux",
            }),
        );
        let side = if number % 2 == 0 { "a" } else { "b" };
        let place = format!("long/A-{:02}-{}-{side}", number / 12 + 1, number / 2 % 6 + 1);
        book.tell("vessel_placed", &json!({"vessel": label(number), "place": place}));
        let fill = json!({"from": "T", "to": label(number), "volume_ul": 225_000_000, "purpose": "barrel_down"});
        book.tell("wine_moved", &fill);
    }
}

fn round(book: &mut Book<State>, round: u32) {
    book.instant += 21 * DAY;
    for number in 0..BARRELS {
        let volume = 1_500_000 + u64::from(number % 7) * 50_000;
        book.tell("topped", &json!({"vessel": label(number), "from": "T", "volume_ul": volume}));
    }
    if !round.is_multiple_of(A_QUARTER) {
        return;
    }
    for number in 0..BARRELS {
        let (vessel, free) = (label(number), 20.0 + f64::from(number % 11));
        let score = 12.0 + f64::from(number % 9) / 2.0;
        book.tell("tasted", &json!({"vessel": vessel, "score": score, "marks": ["plum", "closed"]}));
        book.tell("tested", &json!({"vessel": vessel, "free_so2_mg_l": free, "total_so2_mg_l": 80.0, "ph": 3.62}));
        let sample = format!("{round}-{}", number / IN_A_SAMPLE);
        book.tell("sampled", &json!({"vessel": vessel, "volume_ul": 100_000, "sample": sample}));
        book.tell("treated", &json!({"vessel": vessel, "material": "SO2", "amount_ug": 2_000_000}));
    }
    for sample in 0..BARRELS / IN_A_SAMPLE {
        book.tell("tested", &json!({"sample": format!("{round}-{sample}"), "va_g_l": 0.5, "alcohol_pct": 13.5}));
    }
}
fn label(number: u32) -> String {
    format!("{number:04}")
}

fn main() {
    let Ok(device) = Device::new("bench") else { return };
    let mut book = Book::new(State::default(), device, 1_460_000_000_000_000, 1);
    furnish(&mut book);
    (1..=ROUNDS).for_each(|number| round(&mut book, number));
    let now = Moment::new(book.instant + 9 * DAY, 0);
    let Some(lot) = book.kept.lots.find("L") else { return };
    let review = book.kept.review(lot, now);
    println!("{} facts, {} discrepancies", book.n, book.kept.discrepancies.len());
    println!("{} barrels, {} analytes, {} tasted", review.barrels, review.readings.len(), review.tastes.tasted);
    let mut milliseconds: Vec<f64> = (0..TIMES)
        .map(|_| {
            let begun = Instant::now();
            black_box(black_box(&book.kept).review(lot, now));
            begun.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    milliseconds.sort_by(f64::total_cmp);
    println!("review: {:.2} ms in the middle, {:.2} ms at most", milliseconds[TIMES / 2], milliseconds[TIMES - 1]);
}
