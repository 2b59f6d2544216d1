//! When a barrel is due to be topped.

use crate::units::Volume;

/// Days between two rounds where neither lot nor room says otherwise: about every three weeks (common practice).
pub const HOUSE_ROUND_DAYS: u32 = 21;
/// Days between two toppings just after filling, while the wood still drinks: weekly (common practice).
pub const SOAKING_ROUND_DAYS: u32 = 7;
/// So many days after its first fill new wood is topped as if it soaked: once a week, and again after three weeks (common
/// practice).
pub const FIRST_WEEKS_DAYS: i64 = 21;
/// Days between two toppings with the bung rolled to the side: opened every three to four months (common practice).
pub const ROLLED_ROUND_DAYS: u32 = 100;

/// A barrel is over when a seventh of its interval has passed beyond its day: three days on three weeks (our choice).
const GRACE_PART: i64 = 7;

/// Whether a barrel is to be topped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Due {
    /// Not yet.
    Fine,
    /// Now.
    Due,
    /// It should have been.
    Over,
}

impl Due {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Due::Fine => "fine",
            Due::Due => "due",
            Due::Over => "over",
        }
    }
}

/// Judges a barrel by whole days since it was last full, its interval, and its headspace against what is tolerated.
#[must_use]
pub fn judge(days: i64, interval: u32, headspace: Volume, tolerated: Option<Volume>) -> Due {
    let interval = i64::from(interval);
    if days >= interval + (interval / GRACE_PART).max(1) {
        Due::Over
    } else if days >= interval || tolerated.is_some_and(|tolerated| headspace >= tolerated) {
        Due::Due
    } else {
        Due::Fine
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_weeks_and_three_days_of_grace() {
        let judged = |days| judge(days, HOUSE_ROUND_DAYS, Volume::ZERO, None);
        assert_eq!(
            [judged(3), judged(20), judged(21), judged(23), judged(24)].map(Due::word),
            ["fine", "fine", "due", "due", "over"]
        );
    }

    #[test]
    fn too_much_air_makes_it_due_at_once() {
        let air = |litres| judge(2, 21, Volume::from_litres(litres), Some(Volume::from_litres(3)));
        assert_eq!((air(2), air(3)), (Due::Fine, Due::Due));
    }

    #[test]
    fn a_short_interval_has_a_day_of_grace() {
        let judged = |days| judge(days, 1, Volume::ZERO, None);
        assert_eq!((judged(0), judged(1), judged(2)), (Due::Fine, Due::Due, Due::Over));
    }
}
