//! Sulfur dioxide: how much of it protects, how much to add, and how long it lasts.
//!
//! A file each: [`wine`] is what the balance hangs on and what can be believed, [`oiv`] the table of constants of the
//! OIV method, [`molecular`] the share that is molecular by either of two models, [`material`] what sulfur dioxide is
//! added as, [`label`] what is sold by its label, [`dose`] how much of it, [`decline`] the forecast between tests. What the law allows is in
//! [`super::limits`].
//!
//! The two models differ by a third for a usual wine: a figure without its model's name says nothing. [`Model::word`]
//! stands beside every one.
//!
//! **Molecular sulfur dioxide** has two models that differ by a third; the plain table is the default, being what most cellars use and the
//! safer one for the wine. Below 20 °C the OIV table is read at 20 °C, which shows more molecular than there is: it is said.
//!
//! **A rise asked for is of the free**: a third of an addition is taken to be bound at once, so half as much again is added.

pub mod decline;
pub mod dose;
pub mod label;
pub mod material;
pub mod molecular;
pub mod oiv;
pub mod wine;

pub use decline::{Added, Forecast, Level, Tested};
pub use dose::{Addition, Dose, USUAL_BOUND_SHARE, bound_words};
pub use label::{Labelled, Tablets};
pub use material::{Form, Material, Solution};
pub use molecular::{Balance, Model};
pub use oiv::Beyond;
pub use wine::{SulfurError, Wine, checked_pair};
