//! A blend under way: what has arrived by measure, and what the next transfer must be so that the ratio comes out.

use super::{Taking, Tank, WHOLE, order};
use crate::units::{Shares, Volume, apportion};

/// A blend under way.
#[derive(Clone, Copy, Debug)]
pub struct Course<'a> {
    /// The ratio.
    pub shares: &'a Shares,
    /// The tanks, with what they hold still.
    pub tanks: &'a [Tank],
    /// What has arrived of each, by measure; of what lies in place, all of it.
    pub arrived: &'a [Volume],
    /// What the whole blend was planned to be.
    pub planned: Volume,
    /// What the receiving tank can hold of the blend in all, where that is known.
    pub room: Option<Volume>,
}

/// What is still to come.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Correction {
    /// What the blend comes to then.
    pub volume: Volume,
    /// What is still to come from each tank.
    pub still: Vec<Volume>,
    /// The transfers that are left, in their order; the first is the next.
    pub transfers: Vec<usize>,
    /// Whether the ratio comes out to the microlitre.
    pub exact: bool,
    /// The largest difference of a share from the ratio then, in millionths.
    pub off: u32,
}

impl Course<'_> {
    /// The shares that have arrived; none while nothing has.
    #[must_use]
    pub fn running(&self) -> Option<Shares> {
        Shares::in_proportion(&self.arrived.iter().map(|volume| volume.as_ul()).collect::<Vec<_>>()).ok()
    }

    /// What must still come: to the planned volume where that is possible, to the nearest at which the ratio comes out where
    /// too much of one has arrived or a tank gave out, and to the nearest ratio where none comes out. `None` where the lists
    /// are not of the same length.
    #[must_use]
    pub fn correction(&self) -> Option<Correction> {
        let count = self.shares.components();
        if count == 0 || self.tanks.len() != count || self.arrived.len() != count {
            return None;
        }
        let (least, most) = (self.least(), self.most());
        let wholes = match least {
            Some(least) if least <= most => self.exact(u128::from(self.planned.as_ul()).clamp(least, most))?,
            _ => self.nearest(),
        };
        let still: Vec<Volume> =
            wholes.iter().zip(self.arrived).map(|(whole, arrived)| whole.saturating_sub(*arrived)).collect();
        let reached = Shares::in_proportion(&wholes.iter().map(|whole| whole.as_ul()).collect::<Vec<_>>()).ok();
        let off = reached.as_ref().map_or(Shares::WHOLE, |reached| {
            let differences = reached.millionths().iter().zip(self.shares.millionths());
            differences.map(|(reached, wanted)| reached.abs_diff(*wanted)).max().unwrap_or(0)
        });
        Some(Correction {
            volume: wholes.iter().copied().sum(),
            transfers: order(self.tanks, &still),
            still,
            exact: least.is_some_and(|least| least <= most),
            off,
        })
    }

    /// The smallest blend in the ratio that holds what has arrived; none where something arrived that is not in it.
    fn least(&self) -> Option<u128> {
        let needs = |(&share, arrived): (&u32, &Volume)| match (share, arrived.as_ul()) {
            (_, 0) => Some(0),
            (0, _) => None,
            (share, arrived) => Some((u128::from(arrived) * WHOLE).div_ceil(u128::from(share))),
        };
        self.shares.millionths().iter().zip(self.arrived).map(needs).try_fold(0, |most, one| Some(one?.max(most)))
    }

    /// The largest blend in the ratio that what has arrived and what is there can make.
    fn most(&self) -> u128 {
        let of = |at: usize| u128::from(self.at_most(at).as_ul()) * WHOLE;
        let shares = (0..).zip(self.shares.millionths()).filter(|(_, share)| **share > 0);
        let by_tanks = shares.map(|(at, &share)| of(at) / u128::from(share)).min().unwrap_or(0);
        self.room.map_or(by_tanks, |room| by_tanks.min(u128::from(room.as_ul())))
    }

    /// The most that can be in the blend of one tank.
    fn at_most(&self, at: usize) -> Volume {
        let more = if self.tanks[at].taking == Taking::InPlace { Volume::ZERO } else { self.tanks[at].available() };
        self.arrived[at] + more
    }

    fn exact(&self, volume: u128) -> Option<Vec<Volume>> {
        let weights: Vec<u64> = self.shares.millionths().iter().map(|&share| u64::from(share)).collect();
        let parts = apportion(u64::try_from(volume).ok()?, &weights)?;
        Some(parts.into_iter().map(Volume::from_ul).collect())
    }

    /// The blend whose shares differ least from the ratio, by the largest difference.
    fn nearest(&self) -> Vec<Volume> {
        // Every tank's part for a blend of such a size, as far as it has arrived or is there.
        let fitted = |size: u64| -> Vec<Volume> {
            let part = |(at, &share): (usize, &u32)| {
                let wanted = u64::try_from(u128::from(size) * u128::from(share) / WHOLE).unwrap_or(u64::MAX);
                Volume::from_ul(wanted).clamp(self.arrived[at], self.at_most(at))
            };
            self.shares.millionths().iter().enumerate().map(part).collect()
        };
        let fits = |size: u64| self.room.is_none_or(|room| fitted(size).into_iter().sum::<Volume>() <= room);
        let off = |size: u64| worst(&fitted(size), self.shares);
        // Between two sizes at which some tank's part begins or ceases to grow, what is off falls first and climbs then.
        let turns: Vec<u64> = self.turns();
        let mut largest = turns.last().copied().unwrap_or(0);
        let mut smallest = 0;
        while smallest < largest {
            let middle = smallest + (largest - smallest).div_ceil(2);
            if fits(middle) { smallest = middle } else { largest = middle - 1 }
        }
        let turns: Vec<u64> = turns.into_iter().map(|turn| turn.min(largest)).collect();
        let lows = turns.windows(2).flat_map(|pair| [pair[0], lowest_between(pair[0], pair[1], off), pair[1]]);
        // Where two sizes are as far off, the smaller moves less wine.
        fitted(lows.min_by(|&a, &b| off(a).total_cmp(&off(b)).then(a.cmp(&b))).unwrap_or(0))
    }

    /// The sizes at which a tank's part begins to grow beyond what has arrived, and at which it has given all, in order.
    fn turns(&self) -> Vec<u64> {
        let size = |part: Volume, share: u32| {
            u64::try_from((u128::from(part.as_ul()) * WHOLE).div_ceil(u128::from(share))).unwrap_or(u64::MAX)
        };
        let mut turns = vec![0];
        for (at, &share) in self.shares.millionths().iter().enumerate().filter(|(_, share)| **share > 0) {
            turns.extend([size(self.arrived[at], share), size(self.at_most(at), share)]);
        }
        turns.sort_unstable();
        turns
    }
}

/// Where between two sizes something that falls first and climbs then is lowest.
fn lowest_between(mut from: u64, mut to: u64, of: impl Fn(u64) -> f64) -> u64 {
    while to - from > 2 {
        let third = (to - from) / 3;
        let (one, other) = (from + third, to - third);
        if of(one) <= of(other) { to = other } else { from = one }
    }
    (from..=to).min_by(|&a, &b| of(a).total_cmp(&of(b))).unwrap_or(from)
}

/// The largest difference of a share from a ratio; all where there is nothing.
fn worst(parts: &[Volume], shares: &Shares) -> f64 {
    let whole = parts.iter().copied().sum::<Volume>().as_litres();
    if whole <= 0.0 {
        return 1.0;
    }
    let differences =
        parts.iter().zip(shares.fractions()).map(|(part, share)| (part.as_litres() / whole - share).abs());
    differences.fold(0.0, f64::max)
}
