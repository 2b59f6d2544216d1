//! Whether bottles may go: by the release that was set for them when they were laid away.

use super::run::Stock;
use crate::cellar::core::day::Day;

/// Whether bottles may go.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Readiness {
    /// They may.
    Released,
    /// They may later this month.
    ThisMonth,
    /// They rest for longer.
    Resting,
    /// Nobody set a release.
    NoRelease,
}

impl Readiness {
    /// What a release means on a day.
    #[must_use]
    pub fn of(release: Option<Day>, today: Day) -> Readiness {
        match release {
            None => Readiness::NoRelease,
            Some(release) if release <= today => Readiness::Released,
            Some(release) if release.is_in_month_of(today) => Readiness::ThisMonth,
            Some(_) => Readiness::Resting,
        }
    }

    /// Whether they may go before the month is over.
    #[must_use]
    pub const fn is_ready_this_month(self) -> bool {
        matches!(self, Readiness::Released | Readiness::ThisMonth)
    }

    /// The words for it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Readiness::Released => "released",
            Readiness::ThisMonth => "ready this month",
            Readiness::Resting => "resting",
            Readiness::NoRelease => "no release set",
        }
    }
}

impl Stock {
    /// Whether these bottles may go on a day.
    #[must_use]
    pub fn readiness(&self, today: Day) -> Readiness {
        Readiness::of(self.release, today)
    }
}
