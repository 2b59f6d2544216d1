//! Headspace: what a barrel lacks now, before its bung is pulled.
//!
//! What the book says was missing when the level was last known, plus a daily rate times the days since. The rate is the
//! barrel's own last one, else the mean of its room, else the published prior.

use crate::units::Volume;

/// 20 mL a day from a 225 L barrel once its wood is wet through (Roussey et al. 2021, J. Food Eng. 291).
pub const PRIOR_LITRES_A_DAY: f64 = 0.020;
/// The barrel that the prior speaks of, litres.
const PRIOR_CAPACITY_LITRES: f64 = 225.0;

/// How far a single topping strays whatever the rate: under-pressure lets the level jump when the bung opens, and five
/// degrees are half a litre (Moutounet 1998; our assumption for its size), litres.
const LUMP_DEVIATION_LITRES: f64 = 0.25;

/// What is known of a barrel's level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// What it holds when brimful.
    pub capacity: Volume,
    /// What it lacks by the book.
    pub book_headspace: Volume,
    /// Days since the book was last right; negative counts as none.
    pub days: f64,
    /// What it lost itself, litres a day, between the last two times that its level was known.
    pub own_rate: Option<f64>,
    /// What barrels of its room lose, litres a day.
    pub room_rate: Option<f64>,
}

/// Where an estimate's rate comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// The barrel's own last rate.
    Own,
    /// The mean of its room.
    Room,
    /// The published prior.
    Prior,
}

/// An estimate of what is missing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// What is missing; never more than the barrel holds.
    pub missing: Volume,
    /// Its standard deviation.
    pub deviation: Volume,
    /// Where its rate comes from.
    pub basis: Basis,
}

/// Estimates what a barrel lacks now.
///
/// The deviation grows with the loss expected (by 30 % of it on the barrel's own rate, 40 % on its room's, 60 % on the
/// prior: our assumption) beside the lumpiness of a single topping.
#[must_use]
pub fn estimate(level: &Level) -> Estimate {
    let (rate, basis, spread) = match (level.own_rate, level.room_rate) {
        (Some(own), _) => (own, Basis::Own, 0.3),
        (None, Some(room)) => (room, Basis::Room, 0.4),
        (None, None) => (prior_rate(level.capacity), Basis::Prior, 0.6),
    };
    let lost = rate.max(0.0) * level.days.max(0.0);
    let missing = Volume::nearest_to_litres(level.book_headspace.as_litres() + lost).min(level.capacity);
    let deviation = libm::hypot(LUMP_DEVIATION_LITRES, spread * lost);
    Estimate { missing, deviation: Volume::nearest_to_litres(deviation).min(level.capacity), basis }
}

/// The published prior for a barrel of a capacity, litres a day: wine leaves through the surface, which grows with the
/// power two thirds of the volume.
#[must_use]
pub fn prior_rate(capacity: Volume) -> f64 {
    let size = libm::cbrt(capacity.as_litres() / PRIOR_CAPACITY_LITRES);
    PRIOR_LITRES_A_DAY * size * size
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const BARREL: Level = Level {
        capacity: Volume::from_litres(225),
        book_headspace: Volume::ZERO,
        days: 21.0,
        own_rate: None,
        room_rate: None,
    };

    /// Roussey et al. 2021: 20 mL a day, so 0.42 L in three weeks, 7.3 L a year, inside the 7 to 11 L a year read for a
    /// 225 L barrel.
    #[test]
    fn the_prior_is_the_published_rate() {
        let three_weeks = estimate(&BARREL);
        assert_eq!((three_weeks.missing, three_weeks.basis), (Volume::from_ml(420), Basis::Prior));
        let year = estimate(&Level { days: 365.0, ..BARREL });
        assert!((7.0..=11.0).contains(&year.missing.as_litres()));
    }

    #[test]
    fn the_barrel_itself_is_believed_before_its_room() {
        let own = estimate(&Level { own_rate: Some(0.08), room_rate: Some(0.05), ..BARREL });
        assert_eq!((own.missing, own.basis), (Volume::from_ml(1_680), Basis::Own));
        let room = estimate(&Level { room_rate: Some(0.05), ..BARREL });
        assert_eq!((room.missing, room.basis), (Volume::from_ml(1_050), Basis::Room));
    }

    proptest! {
        #[test]
        fn it_stays_within_the_barrel_and_never_falls_with_time(
            book in 0_u64..300, days in -10.0_f64..5_000.0, more in 0.0_f64..100.0, rate in prop::option::of(0.0_f64..2.0),
        ) {
            let level = Level { book_headspace: Volume::from_litres(book), days, own_rate: rate, ..BARREL };
            let now = estimate(&level);
            let later = estimate(&Level { days: days + more, ..level });
            prop_assert!(now.missing <= BARREL.capacity && now.deviation <= BARREL.capacity);
            prop_assert!(later.missing >= now.missing && later.deviation >= now.deviation);
        }
    }
}
