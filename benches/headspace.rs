//! What the headspace estimate costs: 10,000 barrels topped 200 times, folded with it and without it in one run, and one
//! more topping after that.
//!
//! The two folds take turns, a round each, so that what else the machine does hits both; it is the processor's time that
//! is counted. The goals: at most 1.6 times the fold without it, and a topping under 50 µs.
//!
//! `cargo bench --bench headspace`

use std::hint::black_box;
use std::time::Duration;

use barrelwalk::cellar::core::evolve::evolve;
use barrelwalk::cellar::core::fact::{Device, FactId, Stamp, What};
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::cellar::core::state::State;
use rustix::time::{ClockId, clock_gettime};
use serde_json::{Value, json};

const BARRELS: u32 = 10_000;
const ROUNDS: u32 = 200;
/// How often all of it is measured.
const TIMES: u32 = 5;
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
    fn new(state: State) -> Option<Book> {
        let device = Device::new("bench").ok()?;
        Some(Book { state, device, n: 0, instant: 1_700_000_000_000_000 })
    }

    fn tell(&mut self, what: &What, step: i64) {
        self.n += 1;
        self.instant += step;
        let stamp = Stamp::new(FactId { device: self.device.clone(), n: self.n }, Moment::new(self.instant, 0));
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

/// The processor's time of this program so far.
fn processor_time() -> Duration {
    let time = clock_gettime(ClockId::ProcessCPUTime);
    Duration::new(time.tv_sec.unsigned_abs(), u32::try_from(time.tv_nsec).unwrap_or(0))
}

/// How long something takes the processor.
fn timed(work: impl FnOnce()) -> Duration {
    let start = processor_time();
    work();
    processor_time().saturating_sub(start)
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times.get(times.len() / 2).copied().unwrap_or_default()
}

/// A round folded into a book.
fn round(book: &mut Book, toppings: &[What]) -> Duration {
    let time = timed(|| toppings.iter().for_each(|topping| book.tell(topping, STEP)));
    black_box(&book.state);
    time
}

/// All rounds folded with the estimate and without it, in turns: what each took in all.
fn folded(with: &mut Book, without: &mut Book, toppings: &[What]) -> (Duration, Duration) {
    let mut whole = (Duration::ZERO, Duration::ZERO);
    for number in 0..ROUNDS {
        if number % 2 == 0 {
            whole.0 += round(with, toppings);
            whole.1 += round(without, toppings);
        } else {
            whole.1 += round(without, toppings);
            whole.0 += round(with, toppings);
        }
    }
    whole
}

fn main() {
    let fact = |number| what("topped", &json!({"vessel": label(number), "from": "T", "volume_ul": litres(number)}));
    let toppings: Vec<What> = (0..BARRELS).map(fact).collect();
    let (mut times, mut one_more) = (Vec::new(), Vec::new());
    for _ in 0..TIMES {
        let (Some(mut with), Some(mut without)) = (Book::new(State::default()), Book::new(State::unlearning())) else {
            return;
        };
        with.furnish();
        without.furnish();
        times.push(folded(&mut with, &mut without, &toppings));
        one_more.extend(toppings.iter().take(1_000).map(|topping| timed(|| with.tell(topping, STEP))));
    }
    let each = |time: Duration| time.as_nanos() / u128::from(BARRELS * ROUNDS);
    for (with, without) in &times {
        let ratio = with.as_secs_f64() / without.as_secs_f64();
        println!(
            "a topping folded: {} ns with the estimate, {} ns without it: {ratio:.2} times",
            each(*with),
            each(*without)
        );
    }
    let (with, without): (Vec<Duration>, Vec<Duration>) = times.into_iter().unzip();
    let (with, without) = (median(with), median(without));
    println!(
        "in the median {} ns and {} ns: {:.2} times",
        each(with),
        each(without),
        with.as_secs_f64() / without.as_secs_f64()
    );
    println!("one new topping: {:.2} µs in the median", median(one_more).as_secs_f64() * 1e6);
}
