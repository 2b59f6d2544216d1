//! What volumes can be meant: a fact counts microlitres, and whoever leaves the unit out is off by a million.
//!
//! What lies outside is a slip of the hand: an act is refused with the sentence that asks for the unit, a fact of the log counts.

use std::ops::RangeInclusive;

use super::label::Label;
use super::refusal::Refusal;
use super::vessel::VesselType;
use crate::units::Volume;

/// The least that is received: less than a bench sample is no wine that comes into a book (our choice).
pub(super) const RECEIVED: Volume = Volume::from_ml(100);
/// The least that is moved from one vessel to another (our choice).
pub(super) const MOVED: Volume = Volume::from_ml(10);
/// The least that a vessel is gauged at, unless it is empty (our choice).
pub(super) const GAUGED: Volume = Volume::from_ml(100);
/// The least that is poured at a topping (our choice).
pub(super) const TOPPED: Volume = Volume::from_ml(1);
/// The least that is sampled or lost: a drop from a pipette (our choice).
pub(super) const DRAWN: Volume = Volume::from_ul(500);

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
pub(super) fn doubt_capacity(vessel: &Label, vessel_type: VesselType, capacity: Volume) -> Option<Refusal> {
    let what = match vessel_type {
        VesselType::Barrel => "a barrel",
        VesselType::Tank => "a tank",
        VesselType::Keg => "a keg",
    };
    let is_odd = !capacities(vessel_type).contains(&capacity);
    is_odd.then(|| Refusal::ImplausibleCapacity { vessel: vessel.clone(), what, capacity })
}

/// Why so little of a wine can hardly be meant, if so. Nothing at all is no slip.
pub(super) fn doubt_litres(vessel: &Label, volume: Volume, least: Volume) -> Option<Refusal> {
    let is_odd = !volume.is_zero() && volume < least;
    is_odd.then(|| Refusal::HardlyAnyWine { vessel: vessel.clone(), volume })
}
