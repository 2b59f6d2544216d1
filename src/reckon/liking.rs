//! The liking of blends: an average over many smooth surfaces, each counted by how well it foretells the ratings, and from it the
//! best ratio that is allowed.
//!
//! Nobody need choose how bent the surface is: stiff and supple ones are averaged (Gaussian processes in closed form; Rasmussen &
//! Williams 2006, "Gaussian Processes for Machine Learning", chapters 2 and 5). Whether the panel tells anything at all is tried by dealing
//! its scores anew among the glasses of each sitting (Fisher 1935, "The Design of Experiments").
//!
//! [`read`] reads a tasting. What chooses no surface needs no test of which to choose; polynomials stand beside it as details.

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
