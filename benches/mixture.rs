//! What the choice of 60 glasses out of eight components within bounds costs, and how good it is beside a reference.
//!
//! The goal: under 3 s on two cores, with a D at least that of a reference library for the same size, model and region. The
//! reference is `optimal_design` of pyDOE3 1.6.2 by `simple_exchange`, over the corners, the middles of edges and the overall
//! middle of this region; it takes no mixture twice. Its model is the full quadratic one in the first seven shares, scaled to
//! ±6, which says the same as Scheffé's in eight; what it chose was then measured by Scheffé's.
//!
//! `cargo bench --bench mixture`

use std::time::Duration;

use barrelwalk::reckon::mixture::{Bound, Criterion, Model, Region, Task, candidates, choose};
use rustix::time::{ClockId, clock_gettime};

/// The bounds.
const RANGES: [(f64, f64); 8] =
    [(0.10, 0.60), (0.0, 0.40), (0.05, 0.30), (0.0, 0.30), (0.0, 0.25), (0.0, 0.20), (0.0, 0.20), (0.0, 0.15)];
/// The glasses.
const GLASSES: usize = 60;
/// The starts that are tried.
const TRIES: usize = 10;
/// The logarithm of the reference's determinant of X'X, in shares.
const REFERENCE: f64 = -153.996_427;

/// The processor's time of this program so far: what else the machine does is not counted.
fn processor_time() -> Duration {
    let time = clock_gettime(ClockId::ProcessCPUTime);
    Duration::new(time.tv_sec.unsigned_abs(), u32::try_from(time.tv_nsec).unwrap_or(0))
}

fn seconds_since(begun: Duration) -> f64 {
    processor_time().saturating_sub(begun).as_secs_f64()
}

fn main() {
    let bounds = RANGES.iter().enumerate().map(|(at, (low, high))| Bound::new(format!("K{at}"), *low, *high));
    let begun = processor_time();
    let region = match Region::new(bounds.collect(), Vec::new()) {
        Ok(region) => region,
        Err(error) => return println!("{error}"),
    };
    let candidates = candidates(&region, 1);
    let corners = region.corners().points().len();
    println!("{corners} corners, {} candidates: {:.1} ms", candidates.len(), seconds_since(begun) * 1e3);
    for criterion in [Criterion::Determinant, Criterion::Average] {
        let begun = processor_time();
        let task = Task {
            region: &region,
            model: Model::Quadratic,
            criterion,
            candidates: &candidates,
            fixed: &[],
            glasses: GLASSES,
            tries: TRIES,
            seed: 1,
        };
        let found = match choose(&task, &|| false, &mut |_| {}) {
            Ok(found) => found.quality,
            Err(error) => return println!("{error}"),
        };
        let terms = Model::Quadratic.size(RANGES.len()) as f64;
        let beside = ((found.log_determinant - REFERENCE) / terms).exp();
        println!(
            "{criterion:?}: {:.2} s for {TRIES} starts (goal 3 s); log det {:.3}, D {:.4} times the reference's; mean \
             variance {:.4}",
            seconds_since(begun),
            found.log_determinant,
            beside,
            found.average_variance,
        );
    }
}
