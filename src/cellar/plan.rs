//! The plan for a round: where to walk and what to carry.

use super::moment::Moment;
use super::state::{RoomId, State, VesselId};
use super::vessel::VesselType;
use crate::units::Volume;

/// What to carry so that it is enough nineteen times in twenty: so many deviations above the sum (normal quantile).
const ENOUGH_DEVIATIONS: f64 = 1.645;

/// A barrel of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    /// Which barrel.
    pub vessel: VesselId,
    /// What it is expected to take.
    pub expected: Volume,
    /// The standard deviation of that.
    pub deviation: Volume,
}

/// A round before it is walked.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The barrels to top, in walking order.
    pub stops: Vec<Stop>,
    /// Barrels that hold wine but are held back, in walking order.
    pub held: Vec<VesselId>,
    /// What they are expected to take in all.
    pub expected: Volume,
    /// What to carry so that it is most likely enough.
    pub carry: Volume,
    /// Vessels that could be topped from, the fullest first.
    pub sources: Vec<VesselId>,
}

impl State {
    /// Plans a round of a room at a moment.
    #[must_use]
    pub fn plan_round(&self, room: RoomId, at: Moment) -> Plan {
        let (mut stops, mut held) = (Vec::new(), Vec::new());
        let mut variance = 0.0;
        for &id in self.rooms.get(room).slots.iter().flatten() {
            let vessel = self.vessels.get(id);
            if !self.belongs_to_a_round(vessel, at) {
                continue;
            }
            if vessel.held.is_some() {
                held.push(id);
                continue;
            }
            let deviation = self.headspace(vessel, at).deviation;
            variance += deviation.as_litres() * deviation.as_litres();
            stops.push(Stop { vessel: id, expected: self.expected_topping(vessel, at), deviation });
        }
        let expected: Volume = stops.iter().map(|stop| stop.expected).sum();
        // Wine of another colour than the barrels' comes last: it is hardly meant.
        let colour = stops.first().and_then(|stop| self.colour_in(self.vessels.get(stop.vessel)));
        let mut sources = self.sources();
        sources.sort_by_key(|&id| self.colour_in(self.vessels.get(id)) != colour);
        let carry = expected + Volume::nearest_to_litres(ENOUGH_DEVIATIONS * variance.sqrt());
        Plan { stops, held, expected, carry, sources }
    }

    /// Vessels that wine for topping could come from: kegs first, then tanks, then barrels that lie in no row; the
    /// fullest first.
    #[must_use]
    pub fn sources(&self) -> Vec<VesselId> {
        let mut sources: Vec<(u8, Volume, VesselId)> = self
            .vessels
            .iter()
            .filter(|(_, vessel)| !vessel.wine.is_empty() && vessel.retired.is_none() && vessel.held.is_none())
            .filter_map(|(id, vessel)| {
                let rank = match (vessel.vessel_type, vessel.slot) {
                    (VesselType::Keg, _) => 0,
                    (VesselType::Tank, _) => 1,
                    (VesselType::Barrel, None) => 2,
                    (VesselType::Barrel, Some(_)) => return None,
                };
                Some((rank, vessel.volume(), id))
            })
            .collect();
        sources.sort_by(|a, b| a.0.cmp(&b.0).then(b.1.cmp(&a.1)).then(a.2.cmp(&b.2)));
        sources.into_iter().map(|(_, _, id)| id).collect()
    }
}
