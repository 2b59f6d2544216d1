//! The liking of blends: an average over many smooth surfaces, each counted by how well it foretells the ratings, and from it the
//! best ratio that is allowed.
//!
//! Nobody need choose how bent the surface is: stiff and supple ones are averaged (Gaussian processes in closed form; Rasmussen &
//! Williams 2006, "Gaussian Processes for Machine Learning", chapters 2 and 5). Whether the panel tells anything at all is tried by dealing
//! its scores anew among the glasses of each sitting (Fisher 1935, "The Design of Experiments").
//!
//! [`read`] reads a tasting. What chooses no surface needs no test of which to choose; polynomials stand beside it as details.
//!
//! **The liking of blends** (`reckon::liking`) averages smooth surfaces of four lengths and nine variations in closed form, each weighted
//! by its likelihood; no model is chosen, since choosing one was what sent blends into corners. It is what every face tells of a ratio
//! (`liking::read`); `reckon::surface` is the polynomials beside it. Its values are held to published data. Whether the panel tells is one
//! test: scores dealt anew within taster and flight. Where so few ratings could have told nothing whatever they were, there is no lean
//! either. `cargo run --release --example simulated-panels` prints what it is worth on panels of which the truth is known. Of 320 panels of seed
//! 2026 (seed 7) the advice lost .281 (.228) points of liking against the best ratio, the best glass .457 (.432), polynomials .440 (.373), the
//! best or the lean always .227 (.208); 19.6 (18.2) % that were not flat could not tell, 39 (36) % by polynomials and 7 % by one who knows the
//! truth's shape; 7.5 (5.0) % of the flat ones told; where told, the band held in 92.5 (96.5) and "as good" in 94.7 (95.2) of a hundred. Linear
//! kernels, other lengths, skewed ones and other priors were tried and gave nothing. No kind of surface came out worse than its best glass.

mod averaged;
mod gate;
mod kernel;
mod liked;
mod normal;
mod ratings;
mod reading;
mod region;
mod space;
#[cfg(test)]
mod tests;
mod words;

pub use self::averaged::{Averaged, Place};
pub use self::gate::{DEALS, Gate};
pub use self::kernel::Kernel;
pub use self::liked::{Asked, Liked};
pub use self::normal::normal_scores;
pub use self::ratings::{Rated, Ratings};
pub use self::reading::{Best, Poured, Reading, read};
pub use self::space::{Space, apart};
pub use self::words::ratio;

/// The lengths over which likings go together, in standard deviations of the blends that are allowed.
pub const LENGTHS: [f64; 4] = [1.0, 1.5, 2.2, 3.5];

/// How much the liking varies over the blends that are allowed, in standard deviations of one rating.
pub const VARIATIONS: [f64; 9] = [0.1, 0.17, 0.28, 0.47, 0.8, 1.3, 2.2, 3.7, 6.3];
