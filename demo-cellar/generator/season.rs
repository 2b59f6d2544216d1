//! How fast a barrel loses wine: the room, the season, the wood.

use chrono::{Datelike, NaiveDate};

/// The rooms of the estate, as indices into [`super::estate::ROOMS`].
pub const LONG: usize = 0;
pub const CAVE: usize = 1;
pub const VAULT: usize = 2;

/// The time constant of new wood soaking itself full, days.
const SOAK_DAYS: f64 = 10.0;

/// Millilitres a day that a sound barrel of 225 L loses. The long room stands above ground: dry, and warm in summer.
/// The cave is cool and humid all year; the vault lies between.
pub fn rate_ml_per_day(room: usize, date: NaiveDate) -> f64 {
    // Hottest in the last days of July.
    let season = libm::cos((f64::from(date.ordinal()) - 208.0) / 365.25 * core::f64::consts::TAU);
    match room {
        LONG => 57.0 + 24.0 * season,
        CAVE => 20.0 + 3.0 * season,
        _ => 31.0 + 8.0 * season,
    }
}

/// The share of what the wood can still soak up that it takes within so many days.
pub fn soaked_share(days: f64) -> f64 {
    1.0 - libm::exp(-days / SOAK_DAYS)
}

/// A large barrel shows less wood to a litre, and its staves are thicker.
pub fn size_factor(capacity_l: f64) -> f64 {
    let surface = libm::pow(capacity_l / 225.0, 2.0 / 3.0);
    if capacity_l > 400.0 { surface * 0.85 } else { surface }
}
