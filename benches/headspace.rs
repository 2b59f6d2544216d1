//! What the headspace estimate costs: 10,000 barrels topped 200 times, folded, and the estimate's part of that in the same
//! run.
//!
//! `cargo bench --bench headspace`

use std::hint::black_box;
use std::time::{Duration, Instant};

use barrelwalk::cellar::evolve::evolve;
use barrelwalk::cellar::fact::{Device, FactId, Stamp, What};
use barrelwalk::cellar::moment::Moment;
use barrelwalk::cellar::state::State;
use barrelwalk::reckon::headspace::{RoomRate, Thirst, Wall};
use serde_json::{Value, json};

const BARRELS: u32 = 10_000;
const ROUNDS: u32 = 200;
/// Microseconds from one topping to the next: a round of 21 days.
const STEP: i64 = 21 * 86_400_000_000 / 10_000;

/// A log that is told to a state.
struct Book {
    state: State,
    device: Device,
    n: u64,
    instant: i64,
}

impl Book {
    fn new() -> Option<Book> {
        let device = Device::new("bench").ok()?;
        Some(Book { state: State::default(), device, n: 0, instant: 1_700_000_000_000_000 })
    }

    fn tell(&mut self, what: &What, step: i64) {
        self.n += 1;
        self.instant += step;
        let stamp = Stamp { id: FactId { device: self.device.clone(), n: self.n }, at: Moment::new(self.instant, 0) };
        evolve(&mut self.state, &stamp, what);
    }

    fn furnish(&mut self) {
        let tank = json!({"vessel": "T", "type": "tank", "capacity_ul": 9_000_000_000_000_u64});
        let origin =
            json!({"origin": "o", "block": "b", "variety": "v", "vintage": 2024, "appellation": "a", "colour": "red"});
        let wine = json!({"vessel": "T", "lot": "L", "parts": [{"origin": "o", "volume_ul": 9_000_000_000_000_u64}]});
        for (kind, fields) in [
            ("room_laid_out", json!({"room": "long", "rows": [{"row": "A", "stacks": 999, "tiers": 6, "sides": 2}]})),
            ("origin_declared", origin),
            ("lot_opened", json!({"lot": "L", "colour": "red"})),
            ("vessel_registered", tank),
            ("wine_received", wine),
        ] {
            self.tell(&what(kind, &fields), 1);
        }
        for number in 0..BARRELS {
            let side = if number % 2 == 0 { "a" } else { "b" };
            let place = format!("long/A-{:02}-{}-{side}", number / 12 + 1, number / 2 % 6 + 1);
            let barrel = json!({"vessel": label(number), "type": "barrel", "capacity_ul": 225_000_000, "fills": 2});
            let fill = json!({"from": "T", "to": label(number), "volume_ul": 225_000_000, "purpose": "barrel_down"});
            self.tell(&what("vessel_registered", &barrel), 1);
            self.tell(&what("vessel_placed", &json!({"vessel": label(number), "place": place})), 1);
            self.tell(&what("wine_moved", &fill), 1);
        }
    }
}

fn label(number: u32) -> String {
    format!("{number:05}")
}

fn litres(number: u32) -> u32 {
    400_000 + number % 9 * 50_000
}

#[allow(clippy::expect_used)] // the bench writes the facts itself
fn what(kind: &str, fields: &Value) -> What {
    What::from_body(kind, fields.to_string().as_bytes()).expect("a fact of the bench")
}

fn each(time: Duration) -> u128 {
    time.as_nanos() / u128::from(BARRELS * ROUNDS)
}

/// The fold of all toppings.
fn folded() -> Option<Duration> {
    let mut book = Book::new()?;
    book.furnish();
    let fact = |number| what("topped", &json!({"vessel": label(number), "from": "T", "volume_ul": litres(number)}));
    let toppings: Vec<What> = (0..BARRELS).map(fact).collect();
    let start = Instant::now();
    for _ in 0..ROUNDS {
        for topping in &toppings {
            book.tell(topping, STEP);
        }
    }
    black_box(&book.state);
    Some(start.elapsed())
}

/// The estimate's part of it.
fn learned() -> Duration {
    let mut barrels: Vec<Thirst> = vec![Thirst::new(225.0); BARRELS as usize];
    for barrel in &mut barrels {
        barrel.fill(Wall::WetWood, 20_000.0);
    }
    let mut room = RoomRate::default();
    let mut day = 20_000.0;
    let start = Instant::now();
    for _ in 0..ROUNDS {
        for (barrel, number) in barrels.iter_mut().zip(0..) {
            day += 21.0 / f64::from(BARRELS);
            barrel.find(&mut room, f64::from(litres(number)) / 1e6, day, true);
        }
    }
    black_box((&room, &barrels));
    start.elapsed()
}

fn main() {
    let Some(whole) = folded() else { return };
    let part = learned().min(whole);
    let without = whole.saturating_sub(part).max(Duration::from_nanos(1));
    println!("a topping folded: {} ns, of them the estimate: {} ns", each(whole), each(part));
    println!("the fold is {:.2} times what it would be without it", whole.as_secs_f64() / without.as_secs_f64());
}
