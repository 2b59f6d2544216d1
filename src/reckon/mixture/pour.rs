//! Millilitres: what of each component is poured into each glass, and how much to draw from each tank.

use thiserror::Error;

use super::region::Region;
use crate::units::{Parts, Shares, SharesError, Volume, apportion, exact_millilitres};

/// What is drawn beyond what is poured, for rinsing, spilling and tasting: a tenth (common practice).
pub const USUAL_SPARE: f64 = 0.1;
/// What a glass holds unless it is said: what is poured into a tasting glass (ISO 3591).
pub const USUAL_GLASS: Volume = Volume::from_ml(50);
/// What a cylinder reads unless it is said (common practice).
pub const USUAL_READING: Volume = Volume::from_ul(500);
/// A sample is drawn in whole steps of this, since nobody draws finer from a tank.
const DRAWN_IN: Volume = Volume::from_ml(10);
/// A poured mixture may miss a bound by so much without a word: shares are kept to the millionth.
pub const UNSEEN: f64 = 2e-6;
/// No glass is larger; a jug is no glass, and what is to be made by litres is a blend.
const LARGEST_GLASS: Volume = Volume::from_litres(10);

/// What is poured for some mixtures.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pouring {
    /// For each glass, the volume of each component; they sum to the glass exactly.
    pub volumes: Vec<Vec<Volume>>,
    /// For each glass, what the shares really are, after rounding to what can be read.
    pub shares: Vec<Shares>,
}

/// What is drawn from one tank.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Draw {
    /// What is poured of it, into all glasses.
    pub poured: Volume,
    /// What to draw, with what is spare.
    pub to_draw: Volume,
}

/// Why nothing can be poured.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum PourError {
    /// The glass is empty or no glass.
    #[error("A glass of {} cannot be poured. Give it more than nothing and at most 10 L.", exact_millilitres(*.0))]
    Glass(Volume),
    /// Nothing can be read.
    #[error("The cylinder must read steps of more than nothing. Give it like 0.5 mL.")]
    NoStep,
    /// The glass is no whole number of steps.
    #[error("A glass of {} is no whole number of steps of {}. Take {}{}.", exact_millilitres(*.glass), exact_millilitres(*.step), smaller(*.glass, *.step), exact_millilitres(rounded_up(*.glass, *.step)))]
    #[allow(missing_docs)] // the sentence says what they are
    Uneven { glass: Volume, step: Volume },
    /// The spare part is none.
    #[error("A spare of {0} is out of range. Give a part from 0 to 10; a tenth is usual.")]
    Spare(f64),
    /// The mixture is none.
    #[error(transparent)]
    Mixture(#[from] SharesError),
}

/// Splits each glass among its components in whole steps of what the cylinder or pipette reads, by largest remainder. Where
/// that takes a mixture out of its region, and one step of one component for another's brings it back, that is poured; where
/// it does not, the mixture is left just outside.
pub fn pour(region: &Region, mixtures: &[Vec<f64>], glass: Volume, step: Volume) -> Result<Pouring, PourError> {
    let steps = steps(glass, step)?;
    let mut pouring = Pouring { volumes: Vec::new(), shares: Vec::new() };
    for mixture in mixtures {
        let parts = brought_back(region, mixture, nearest(steps, &Shares::from_reals(mixture)?)?);
        pouring.shares.push(Shares::in_proportion(&parts)?);
        pouring.volumes.push(volumes(parts, step));
    }
    Ok(pouring)
}

/// What of each component comes into one glass, in whole steps that sum to the glass exactly. Shares that were poured in such
/// steps once are poured the same again.
pub fn amounts(glass: Volume, shares: &Shares, step: Volume) -> Result<Vec<Volume>, PourError> {
    Ok(volumes(nearest(steps(glass, step)?, shares)?, step))
}

/// A mixture as it comes out where a glass is poured in so many steps; none where that lies outside of the region.
#[must_use]
pub fn as_poured(region: &Region, mixture: &[f64], steps: u64) -> Option<Vec<f64>> {
    let parts = brought_back(region, mixture, nearest(steps, &Shares::from_reals(mixture).ok()?).ok()?);
    let poured: Vec<f64> = parts.iter().map(|&part| part as f64 / steps as f64).collect();
    region.broken_by(&poured, UNSEEN).is_none().then_some(poured)
}

/// How many steps a glass is.
pub fn steps(glass: Volume, step: Volume) -> Result<u64, PourError> {
    if glass.is_zero() || glass > LARGEST_GLASS {
        return Err(PourError::Glass(glass));
    }
    if step.is_zero() {
        return Err(PourError::NoStep);
    }
    if !glass.as_ul().is_multiple_of(step.as_ul()) {
        return Err(PourError::Uneven { glass, step });
    }
    Ok(glass.as_ul() / step.as_ul())
}

/// The whole steps nearest to some shares.
fn nearest(steps: u64, shares: &Shares) -> Result<Parts, PourError> {
    let meant: Vec<u64> = shares.millionths().iter().map(|part| u64::from(*part)).collect();
    Ok(apportion(steps, &meant).ok_or(SharesError::Empty)?)
}

fn volumes(parts: Parts, step: Volume) -> Vec<Volume> {
    parts.into_iter().map(|part| Volume::from_ul(part * step.as_ul())).collect()
}

impl Pouring {
    /// What to draw from each tank when each glass is poured so many times, once for each taster say, and a part is spare.
    pub fn draws(&self, times: u32, spare: f64) -> Result<Vec<Draw>, PourError> {
        draws(self.volumes.iter().map(|glass| (glass.as_slice(), u64::from(times))), spare)
    }
}

/// What to draw from each tank for glasses of so much of each component, each poured so many times, where a part is spare
/// (see [`USUAL_SPARE`]); rounded up to 10 mL.
pub fn draws<'a>(glasses: impl IntoIterator<Item = (&'a [Volume], u64)>, spare: f64) -> Result<Vec<Draw>, PourError> {
    if !(0.0..=10.0).contains(&spare) {
        return Err(PourError::Spare(spare));
    }
    let mut poured: Vec<u64> = Vec::new();
    for (glass, times) in glasses {
        poured.resize(poured.len().max(glass.len()), 0);
        for (sum, volume) in poured.iter_mut().zip(glass) {
            *sum = sum.saturating_add(volume.as_ul().saturating_mul(times));
        }
    }
    let draw = |poured: Volume| {
        let with_spare = Volume::nearest_to_litres(poured.as_litres() * (1.0 + spare));
        Draw { poured, to_draw: rounded_up(with_spare, DRAWN_IN) }
    };
    Ok(poured.into_iter().map(|poured| draw(Volume::from_ul(poured))).collect())
}

/// The parts, or those a step away that lie inside where these do not; of several, those nearest to what is meant.
fn brought_back(region: &Region, meant: &[f64], parts: Parts) -> Parts {
    let share = |parts: &Parts| {
        let whole: u64 = parts.iter().sum();
        parts.iter().map(|part| *part as f64 / whole as f64).collect::<Vec<f64>>()
    };
    let is_inside = |parts: &Parts| region.broken_by(&share(parts), UNSEEN).is_none();
    if is_inside(&parts) {
        return parts;
    }
    let missed = |parts: &Parts| {
        share(parts).iter().zip(meant).map(|(share, meant)| (share - meant) * (share - meant)).sum::<f64>()
    };
    let pairs = (0..parts.len()).flat_map(|less| (0..parts.len()).map(move |more| (less, more)));
    let moved = pairs.filter(|&(less, more)| less != more && parts[less] > 0).map(|(less, more)| {
        let mut moved = parts.clone();
        moved[less] -= 1;
        moved[more] += 1;
        moved
    });
    let nearest = moved.filter(is_inside).min_by(|one, other| missed(one).total_cmp(&missed(other)));
    nearest.unwrap_or(parts)
}

/// The next whole number of steps.
fn rounded_up(volume: Volume, step: Volume) -> Volume {
    Volume::from_ul(volume.as_ul().div_ceil(step.as_ul()).saturating_mul(step.as_ul()))
}

/// The whole number of steps below a glass, as the beginning of an advice; nothing where that would be an empty glass.
fn smaller(glass: Volume, step: Volume) -> String {
    match glass.as_ul() / step.as_ul() {
        0 => String::new(),
        steps => format!("{} or ", exact_millilitres(Volume::from_ul(steps * step.as_ul()))),
    }
}
