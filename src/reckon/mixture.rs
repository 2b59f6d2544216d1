//! Designs of glasses: which mixtures of some wines to taste, inside what the tanks and the person's bounds allow, and how
//! many millilitres to pour for them.
//!
//! A mixture is a list of shares that sum to one, in the order of the components. In computing it is a list of real
//! numbers; what is kept is [`Shares`](crate::units::Shares), made once from the millilitres that are really poured.
//!
//! **A region of mixtures** is homogeneous half spaces, since shares sum to one; its corners come from the double description method in
//! real numbers, with a tolerance a thousandth of a millionth (`tests/always.rs` beside it holds them to an exact search in fractions).
//! Which bounds clash is found by leaving out one after the other over linear programmes of `microlp`.

mod basis;
mod centroid;
mod clash;
mod corners;
pub mod design;
mod exchange;
mod interior;
mod judged;
mod lattice;
mod matrix;
mod optimal;
mod pour;
mod region;
mod scheffe;
mod spreading;
mod wording;
mod written;

pub use self::centroid::{axial_points, simplex_centroid};
pub use self::corners::Corners;
pub use self::interior::interior_points;
pub use self::judged::{Judged, broken_by_rounding, significant};
pub use self::lattice::{lattice_size, simplex_lattice};
pub use self::optimal::{Criterion, NoOptimum, Optimum, Quality, Task, candidates, choose, quality};
pub use self::pour::{
    Draw, PourError, Pouring, UNSEEN, USUAL_GLASS, USUAL_READING, USUAL_SPARE, amounts, as_poured, draws, pour, steps,
};
pub use self::region::{Bound, Limit, MOST_LIMITS, Region, RegionError};
pub use self::scheffe::Model;
pub use self::spreading::{REFERENCE, allowed, reference, spread, spread_among};
pub use self::wording::{
    Comparison, NoRegion, Tanks, WordingError, bounds_of_words, compare, number, parse_bound, parse_limit,
    parse_mixture, region_of_words,
};

/// The fewest components of a mixture.
pub const FEWEST_COMPONENTS: usize = 2;
/// The most components of a mixture: more than anybody blends from at one bench.
pub const MOST_COMPONENTS: usize = 10;

/// A share as people read it, to a hundredth of a percent: `33.33 %`.
fn percent(share: f64) -> String {
    let hundredths = (share * 10_000.0).round() / 100.0;
    format!("{} %", crate::units::figure(hundredths))
}

#[cfg(test)]
mod tests;
