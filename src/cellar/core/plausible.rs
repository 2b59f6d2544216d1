//! What figures can be meant: a fact counts microlitres, and whoever leaves the unit out is off by a million; milligrams for
//! grams, litres for millilitres are off by a thousand.
//!
//! What lies outside is a slip of the hand: an act is refused with the sentence that asks for the unit, a fact of the log counts.
//! What could be so where it is rare is asked about.
//!
//! **What can be meant** of sizes, litres, doses and tests stands in `cellar/core/plausible.rs`: bounds so wide that only a lost unit lies
//! outside. `tests/cellar/core/plausible.rs` puts every measured field of every kind off by a thousand; what nothing is said against stands
//! there with its reason.

use std::ops::RangeInclusive;

use super::label::Label;
use super::question::Question;
use super::refusal::Refusal;
use super::state::Vessel;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::units::Volume;

/// The least that is received: less than a bench sample is no wine that comes into a book (our choice).
pub(in crate::cellar) const RECEIVED: Volume = Volume::from_ml(100);
/// The least that is moved from one vessel to another (our choice).
pub(in crate::cellar) const MOVED: Volume = Volume::from_ml(10);
/// The least that a vessel is gauged at, unless it is empty (our choice).
pub(in crate::cellar) const GAUGED: Volume = Volume::from_ml(100);
/// The least that is poured at a topping (our choice).
pub(in crate::cellar) const TOPPED: Volume = Volume::from_ml(1);
/// The least that is sampled or lost: a drop from a pipette (our choice).
pub(in crate::cellar) const DRAWN: Volume = Volume::from_ul(500);

/// A glass of a bench trial, from a sip to a carafe (our choice).
pub(in crate::cellar) const GLASS: RangeInclusive<Volume> = Volume::from_ml(1)..=Volume::from_litres(1);
/// The headspace that is tolerated in a room, from small casks to the largest (our choice).
pub(in crate::cellar) const TOLERATED: RangeInclusive<Volume> = Volume::from_ml(50)..=Volume::from_litres(100);
/// No room is as dry, %: a share was written for a percentage (our choice).
pub(in crate::cellar) const DRIEST_PCT: f64 = 5.0;
/// No stock for fining is as thin, % (our choice; 1 to 10 % are usual).
pub(in crate::cellar) const THINNEST_STOCK_PCT: f64 = 0.05;
/// Nothing holds more grams in a litre: the heaviest salts of a cellar are lighter (our choice).
pub(in crate::cellar) const STRONGEST_G_L: u64 = 5_000;
/// What comes into an empty vessel and fills less than this part of it is asked about (our choice).
const LITTLE_PART: u64 = 200;
/// More than this part of what a vessel holds is not lost or added without a question (our choice).
pub(in crate::cellar) const MUCH_PART: u64 = 10;
/// A loss above this share of what arrives is asked about (our choice).
pub(in crate::cellar) const MUCH_LOST_SHARE: f64 = 0.1;
/// A larger sample is asked about (our choice; a bench trial takes a few litres).
pub(in crate::cellar) const LARGE_SAMPLE: Volume = Volume::from_litres(10);
/// So many micrograms of anything in a litre of wine do nothing to it (our choice; the least doses are a few tenths of a milligram).
pub(in crate::cellar) const LITTLE_UG_L: u64 = 100;

/// What vessels of a kind hold, with much room: from a small barrel of a hobby to the largest cask, from a demijohn to the
/// largest tank (our choice).
const fn capacities(vessel_type: VesselType) -> RangeInclusive<Volume> {
    match vessel_type {
        VesselType::Barrel => Volume::from_litres(5)..=Volume::from_litres(50_000),
        VesselType::Tank => Volume::from_litres(5)..=Volume::MOST,
        VesselType::Keg => Volume::from_litres(1)..=Volume::from_litres(5_000),
    }
}

/// Why a vessel can hardly hold so much, if so.
pub(in crate::cellar) fn doubt_capacity(vessel: &Label, vessel_type: VesselType, capacity: Volume) -> Option<Refusal> {
    let what = match vessel_type {
        VesselType::Barrel => "a barrel",
        VesselType::Tank => "a tank",
        VesselType::Keg => "a keg",
    };
    let is_odd = !capacities(vessel_type).contains(&capacity);
    is_odd.then(|| Refusal::ImplausibleCapacity { vessel: vessel.clone(), what, capacity })
}

/// Why so little of a wine can hardly be meant, if so. Nothing at all is no slip.
pub(in crate::cellar) fn doubt_litres(vessel: &Label, volume: Volume, least: Volume) -> Option<Refusal> {
    let is_odd = !volume.is_zero() && volume < least;
    is_odd.then(|| Refusal::HardlyAnyWine { vessel: vessel.clone(), volume })
}

/// Why a volume can hardly be meant where it is usual to lie in a range.
pub(in crate::cellar) fn doubt_volume(
    what: &'static str,
    volume: Volume,
    range: &RangeInclusive<Volume>,
    usual: &'static str,
) -> Option<Refusal> {
    (!range.contains(&volume)).then(|| Refusal::UnitLost { what, value: format!("{volume:#}"), usual })
}

/// Why a figure above nothing can hardly be meant that is less than anybody measures.
pub(in crate::cellar) fn doubt_little(
    what: &'static str,
    value: Option<f64>,
    least: f64,
    usual: &'static str,
) -> Option<Refusal> {
    let odd = value.filter(|&value| value > 0.0 && value < least)?;
    Some(Refusal::UnitLost { what, value: odd.to_string(), usual })
}

/// What is asked where next to nothing comes into an empty vessel.
pub(in crate::cellar) fn asks_of_little(vessel: &Vessel, volume: Volume) -> Option<Question> {
    let is_little = vessel.wine.is_empty()
        && !volume.is_zero()
        && volume.as_ul().saturating_mul(LITTLE_PART) < vessel.capacity.as_ul();
    let (label, capacity) = (vessel.label.clone(), vessel.capacity);
    is_little.then(|| Question::LittleWine { vessel: label, volume, capacity })
}
