//! A ratio made real: the largest batch that the tanks can give, the litres from each, and what stays behind.
//!
//! Everything is exact in microlitres. A batch of `V` fits where every share of it can be had: `least · V ≤ there`, and
//! `V ≤ Σ min(most · V, there)`, where `least` and `most` are the shares less and plus a tolerance. This is the linear
//! programme "most litres within bounds on the shares"; since only `V` decides, and whatever fits still fits when it is
//! smaller, halving finds its optimum without a solver and without rounding. The litres from each tank are then those
//! nearest to the ratio (least squares), rounded by largest remainder.
//!
//! **The largest batch** is found by halving in whole microlitres, not by a solver: within bounds on the shares only its size decides, and
//! what fits still fits when it is smaller. The tests put the same question to `microlp`. A part is off its exact share by less than a
//! microlitre.
//!
//! **The order of transfers** is the least to spare first: a tank that gives less than the book says is found out while the others can
//! still be fitted to it. `reckon::scale_up::Course` is that fitting: to the planned litres where it can, else to the nearest litres at
//! which the ratio comes out, else to the nearest ratio.

mod closing;
mod course;
mod whole_barrels;

use thiserror::Error;

pub use closing::{Closing, Tolerance, ToleranceError};
pub use course::{Correction, Course};
pub use whole_barrels::{WholeFirst, whole_first};

use crate::units::{Shares, Volume, litres_at_most};

/// What one is that is divided into shares.
const WHOLE: u128 = Shares::WHOLE as u128;
/// What is tried to tell what more of a tank would bring.
const ONE_LITRE: Volume = Volume::from_litres(1);

/// How much of a tank's wine a blend is to take.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Taking {
    /// As much as the ratio asks for.
    #[default]
    AsAsked,
    /// All of it, so that no part-full tank is left.
    Whole,
    /// All of it, and it is there already: the others come to it.
    InPlace,
}

/// A tank, or whatever else a component of the blend lies in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tank {
    /// What it is called.
    pub name: String,
    /// What it holds.
    pub holds: Volume,
    /// What is kept back of it, for topping.
    pub keep: Volume,
    /// How much is to be taken.
    pub taking: Taking,
}

impl Tank {
    /// What can be had of it.
    #[must_use]
    pub const fn available(&self) -> Volume {
        self.holds.saturating_sub(self.keep)
    }
}

/// What is asked of a batch.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// The ratio, in the order of the tanks.
    pub shares: &'a Shares,
    /// The tanks.
    pub tanks: &'a [Tank],
    /// By how much a share may differ where that makes a larger batch; none for the ratio as it stands.
    pub tolerance: Option<Tolerance>,
    /// What the receiving tank can hold of it, where one is named.
    pub room: Option<Volume>,
    /// So much and no more; none for as much as there is.
    pub litres: Option<Volume>,
}

/// What keeps a batch from being larger.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Limit {
    /// These tanks give all that they can.
    Tanks(Vec<usize>),
    /// The receiving tank is full.
    Room,
    /// No more was asked for.
    Asked,
}

/// A batch of a ratio.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Batch {
    /// What it comes to.
    pub volume: Volume,
    /// What comes from each tank; they sum to the volume.
    pub parts: Vec<Volume>,
    /// What stays in each tank, with what is kept back.
    pub left: Vec<Volume>,
    /// Why it is not larger.
    pub limit: Limit,
    /// What one more litre in a tank would add to it, for the tanks where it would.
    pub one_more_litre: Vec<(usize, Volume)>,
    /// The transfers, in their order; what lies in place is none.
    pub transfers: Vec<usize>,
}

/// Why there is no batch.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation, the fields are the things it names
pub enum ScaleError {
    #[error("The ratio has {shares} shares for {tanks} wines. Give every wine one share.")]
    Count { shares: usize, tanks: usize },
    #[error(
        "{0} holds nothing by the book, but the ratio asks for it. If it was emptied since it was sampled, choose a ratio without it."
    )]
    Empty(String),
    #[error("{name} holds {holds:#}, and {keep:#} is to be kept back. Keep less, or choose a ratio without it.")]
    AllKept { name: String, holds: Volume, keep: Volume },
    #[error("The receiving tank has no room. Choose another.")]
    NoRoom,
    #[error("{} does not fit the receiving tank, which has room for {}. The largest batch that fits is {}.", litres_at_most(*.asked), litres_at_most(*.room), litres_at_most(*.largest))]
    BeyondRoom { asked: Volume, room: Volume, largest: Volume },
    #[error("{} cannot be made in this ratio: {} gives out. The largest batch is {}.", litres_at_most(*.asked), .binding, litres_at_most(*.largest))]
    BeyondTanks { asked: Volume, binding: String, largest: Volume },
    #[error("Nothing is asked for. Give litres above nothing.")]
    NothingAsked,
    #[error("There is too little wine for even a microlitre of this ratio. Check the litres.")]
    TooLittle,
    #[error("{name} cannot be taken whole: {} of it would stay. Change the ratio, allow a tolerance, or leave the rest.", litres_at_most(*.left))]
    NotWhole { name: String, left: Volume },
}

/// The question in microlitres, each share with what it may be.
struct Bounds {
    /// Least and most share in millionths, and what is there.
    tanks: Vec<(u128, u128, u128)>,
}

impl Bounds {
    fn of(asked: &Asked<'_>) -> Bounds {
        let tolerance = asked.tolerance.map_or(0, Tolerance::millionths);
        let bounds = asked.shares.millionths().iter().zip(asked.tanks).map(|(&share, tank)| {
            // What is not in the ratio does not come in by tolerance.
            let tolerance = if share == 0 { 0 } else { tolerance };
            let (least, most) = (share.saturating_sub(tolerance), (share + tolerance).min(Shares::WHOLE));
            (u128::from(least), u128::from(most), u128::from(tank.available().as_ul()))
        });
        Bounds { tanks: bounds.collect() }
    }

    /// Whether a batch can be made.
    fn fit(&self, volume: u64) -> bool {
        let volume = u128::from(volume);
        let supply: u128 = self.tanks.iter().map(|&(_, most, there)| (most * volume).min(there * WHOLE)).sum();
        supply >= volume * WHOLE && self.tanks.iter().all(|&(least, _, there)| least * volume <= there * WHOLE)
    }

    /// The largest batch.
    fn largest(&self) -> Volume {
        let all: u128 = self.tanks.iter().map(|&(_, _, there)| there).sum();
        let (mut fits, mut beyond) = (0, u64::try_from(all).unwrap_or(u64::MAX - 1) + 1);
        while beyond - fits > 1 {
            let middle = fits + (beyond - fits) / 2;
            if self.fit(middle) { fits = middle } else { beyond = middle }
        }
        Volume::from_ul(fits)
    }

    /// What one more litre in a tank would add to the largest batch.
    fn one_more_litre(&self, tank: usize, largest: Volume) -> Volume {
        let mut more = Bounds { tanks: self.tanks.clone() };
        more.tanks[tank].2 += u128::from(ONE_LITRE.as_ul());
        more.largest().saturating_sub(largest)
    }
}

/// Works out a batch.
pub fn scale_up(asked: &Asked<'_>) -> Result<Batch, ScaleError> {
    check(asked)?;
    let bounds = Bounds::of(asked);
    let from_tanks = bounds.largest();
    let fitting = asked.room.map_or(from_tanks, |room| room.min(from_tanks));
    let volume = match asked.litres {
        None => fitting,
        Some(wanted) if wanted <= fitting => wanted,
        Some(wanted) => return Err(beyond(asked, &bounds, wanted, from_tanks)),
    };
    if volume.is_zero() {
        return Err(ScaleError::TooLittle);
    }
    let parts = nearest_parts(asked, &bounds, volume)?;
    let limit = if asked.litres.is_some_and(|wanted| wanted < fitting) {
        Limit::Asked
    } else if fitting < from_tanks {
        Limit::Room
    } else {
        Limit::Tanks(exhausted(asked.tanks, &parts))
    };
    let one_more_litre = match &limit {
        Limit::Tanks(binding) => binding.iter().map(|&tank| (tank, bounds.one_more_litre(tank, volume))).collect(),
        Limit::Room | Limit::Asked => Vec::new(),
    };
    Ok(Batch {
        volume,
        left: asked.tanks.iter().zip(&parts).map(|(tank, part)| tank.holds.saturating_sub(*part)).collect(),
        limit,
        one_more_litre: one_more_litre.into_iter().filter(|(_, gain)| !gain.is_zero()).collect(),
        transfers: order(asked.tanks, &parts),
        parts,
    })
}

fn check(asked: &Asked<'_>) -> Result<(), ScaleError> {
    let (shares, tanks) = (asked.shares.components(), asked.tanks.len());
    if shares != tanks {
        return Err(ScaleError::Count { shares, tanks });
    }
    for (tank, _) in asked.tanks.iter().zip(asked.shares.millionths()).filter(|(_, share)| **share > 0) {
        if tank.holds.is_zero() {
            return Err(ScaleError::Empty(tank.name.clone()));
        }
        if tank.available().is_zero() {
            return Err(ScaleError::AllKept { name: tank.name.clone(), holds: tank.holds, keep: tank.keep });
        }
    }
    match (asked.room, asked.litres) {
        (Some(room), _) if room.is_zero() => Err(ScaleError::NoRoom),
        (_, Some(litres)) if litres.is_zero() => Err(ScaleError::NothingAsked),
        _ => Ok(()),
    }
}

/// Why so much cannot be had: the nearer of the two limits.
fn beyond(asked: &Asked<'_>, bounds: &Bounds, wanted: Volume, from_tanks: Volume) -> ScaleError {
    if let Some(room) = asked.room.filter(|&room| room < from_tanks) {
        return ScaleError::BeyondRoom { asked: wanted, room, largest: room };
    }
    // What gives out does so whether or not another tank is to be taken whole.
    let tanks: Vec<Tank> = asked.tanks.iter().map(|it| Tank { taking: Taking::AsAsked, ..it.clone() }).collect();
    let parts = nearest_parts(&Asked { tanks: &tanks, ..*asked }, bounds, from_tanks).unwrap_or_default();
    let names: Vec<&str> =
        exhausted(asked.tanks, &parts).into_iter().map(|tank| asked.tanks[tank].name.as_str()).collect();
    ScaleError::BeyondTanks { asked: wanted, binding: names.join(" and "), largest: from_tanks }
}

/// The tanks that give all that they can, to the microlitre that rounding may leave.
fn exhausted(tanks: &[Tank], parts: &[Volume]) -> Vec<usize> {
    let gives_all = |(tank, part): (&Tank, &Volume)| {
        !part.is_zero() && tank.available().saturating_sub(*part) <= Volume::from_ul(1)
    };
    (0..).zip(tanks.iter().zip(parts)).filter(|(_, it)| gives_all(*it)).map(|(at, _)| at).collect()
}

/// The litres from each tank for a batch that fits: within the bounds, nearest to the ratio.
fn nearest_parts(asked: &Asked<'_>, bounds: &Bounds, volume: Volume) -> Result<Vec<Volume>, ScaleError> {
    let batch = u128::from(volume.as_ul());
    let mut spans: Vec<(u128, u128)> =
        bounds.tanks.iter().map(|&(least, most, there)| (least * batch, (most * batch).min(there * WHOLE))).collect();
    if asked.tolerance.is_some() {
        for (span, tank) in spans.iter_mut().zip(asked.tanks).filter(|(_, tank)| tank.taking != Taking::AsAsked) {
            span.0 = span.1.min(u128::from(tank.available().as_ul()) * WHOLE);
        }
    }
    let targets: Vec<u128> = asked.shares.millionths().iter().map(|&share| u128::from(share) * batch).collect();
    let parts = rounded(&moved_into(&spans, &targets, batch * WHOLE), volume);
    let not_whole = asked.tanks.iter().zip(&parts).find_map(|(tank, part)| {
        let left = tank.available().saturating_sub(*part);
        (tank.taking != Taking::AsAsked && left > Volume::from_ul(1)).then_some((tank, left))
    });
    match not_whole {
        Some((tank, left)) => Err(ScaleError::NotWhole { name: tank.name.clone(), left }),
        None => Ok(parts),
    }
}

/// All targets moved by the same amount, each no further than its span, so that they sum to a whole: the nearest point of
/// the spans by least squares.
fn moved_into(spans: &[(u128, u128)], targets: &[u128], whole: u128) -> Vec<u128> {
    let moved = |by: i128| -> Vec<u128> {
        let one = |(&(least, most), &target): (&(u128, u128), &u128)| {
            target.saturating_add_signed(by).clamp(least.min(most), most)
        };
        spans.iter().zip(targets).map(one).collect()
    };
    let reach = i128::try_from(whole).unwrap_or(i128::MAX / 2);
    let (mut low, mut high) = (-reach, reach);
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if moved(middle).iter().sum::<u128>() <= whole { low = middle } else { high = middle }
    }
    // What sums up with no step at all is not moved.
    if moved(0).iter().sum::<u128>() == whole { moved(0) } else { moved(low) }
}

/// Millionths of microlitres as whole microlitres that sum to a volume: down, and up again where most was cut off.
fn rounded(exact: &[u128], volume: Volume) -> Vec<Volume> {
    let mut parts: Vec<u64> = exact.iter().map(|part| u64::try_from(part / WHOLE).unwrap_or(u64::MAX)).collect();
    let mut by_remainder: Vec<usize> = (0..exact.len()).collect();
    by_remainder.sort_by_key(|&at| std::cmp::Reverse(exact[at] % WHOLE));
    let missing = volume.as_ul().saturating_sub(parts.iter().sum());
    for (_, at) in (0..missing).zip(by_remainder) {
        parts[at] += 1;
    }
    parts.into_iter().map(Volume::from_ul).collect()
}

/// The order of the transfers: the tank with the least to spare first, against what is asked of it; of equals the larger
/// transfer. What a tank gives is known only when it was pumped, and where it gives less than the book says, the ones with
/// something to spare can still be fitted to it.
fn order(tanks: &[Tank], parts: &[Volume]) -> Vec<usize> {
    let mut order: Vec<usize> =
        (0..tanks.len()).filter(|&at| tanks[at].taking != Taking::InPlace && !parts[at].is_zero()).collect();
    let part = |at: usize| u128::from(parts[at].as_ul());
    let spare = |at: usize| u128::from(tanks[at].available().saturating_sub(parts[at]).as_ul());
    order.sort_by(|&a, &b| {
        let tightness = (spare(a) * part(b)).cmp(&(spare(b) * part(a)));
        tightness.then_with(|| parts[b].cmp(&parts[a])).then(a.cmp(&b))
    });
    order
}

#[cfg(test)]
mod tests;
