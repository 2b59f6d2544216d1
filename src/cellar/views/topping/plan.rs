//! The plan for a round: where to walk and what to carry.
//!
//! **Foreign wine** in a plan is what is of another vintage, variety or vineyard than most of the lot: the book does not know what a lot
//! was meant to be, so the lesser part of a blend counts as foreign. The margins follow one claim each and do not suffer from it.

use super::drift::Drift;
use super::group::Group;
use super::odd::Odd;
use super::supply::Supply;
use super::walk::Hose;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RoomId, Round, RoundId, State, Vessel, VesselId};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::topping::round::Crossing;
use crate::units::Volume;

/// What to carry so that it is enough nineteen times in twenty: so many deviations above the sum (normal quantile).
const ENOUGH_DEVIATIONS: f64 = 1.645;

/// A round shorter than this, or with fewer barrels, says nothing of a pace: it was entered at the desk, or broken off.
const LEAST_ROUND_MINUTES: f64 = 5.0;
const LEAST_ROUND_BARRELS: u32 = 3;
/// Nor does one that was left open overnight …
const MOST_ROUND_MINUTES: f64 = 14.0 * 60.0;
/// … or whose pace is no person's: between five seconds and half an hour a barrel (our assumption).
const MINUTES_A_BARREL: std::ops::RangeInclusive<f64> = 0.08..=30.0;
/// The pace is that of the last rounds: hands change.
const ROUNDS_FOR_A_PACE: usize = 9;

/// A barrel of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    /// Which barrel.
    pub vessel: VesselId,
    /// What it is expected to take.
    pub expected: Volume,
    /// The standard deviation of that.
    pub deviation: Volume,
    /// Whether it was not written down when it was last topped. It was with the others of which that is so: where one lacks more
    /// than is expected, they all do.
    pub unrecorded: bool,
    /// Which part of the round it belongs to.
    pub group: Group,
    /// The vessel that it is topped from; none where no vessel of its colour holds enough.
    pub from: Option<VesselId>,
}

/// What a round draws from one topping vessel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Draw {
    /// Which vessel.
    pub source: VesselId,
    /// How many barrels it tops.
    pub barrels: usize,
    /// What they are expected to take.
    pub expected: Volume,
    /// What is most likely enough for them.
    pub carry: Volume,
    /// What it holds.
    pub holds: Volume,
}

/// A round before it is walked.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The barrels to top: group by group, in each one topping vessel after the other, for each in walking order.
    pub stops: Vec<Stop>,
    /// Those of them that somebody should look at before they are topped, with why.
    pub odd: Vec<(VesselId, Odd)>,
    /// Barrels that hold wine but are held back, in walking order.
    pub held: Vec<VesselId>,
    /// What they are expected to take in all.
    pub expected: Volume,
    /// What to carry so that it is most likely enough.
    pub carry: Volume,
    /// Vessels that could be topped from, the fullest first; suspect ones last.
    pub sources: Vec<VesselId>,
    /// Those of them whose wine is suspect: nothing is planned from them.
    pub suspect_sources: Vec<VesselId>,
    /// What is drawn from each of them, in the order in which they are used.
    pub draws: Vec<Draw>,
    /// What the barrels that no source has enough for are expected to take.
    pub uncovered: Volume,
    /// How long the last rounds of this room took for a barrel, minutes; none where no plausible one has ended.
    pub minutes_a_barrel: Option<f64>,
    /// What it does to the composition of its lots.
    pub drifts: Vec<Drift>,
}

impl Plan {
    /// About how long it will take, whole minutes.
    #[must_use]
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // above nothing, and a room of barrels is few
    pub fn minutes(&self) -> Option<u64> {
        self.minutes_a_barrel.map(|each| (each * self.stops.len() as f64).ceil() as u64)
    }

    /// What is said where it was not written down when some of its barrels were last topped; none where it was of all.
    #[must_use]
    pub fn unrecorded_words(&self) -> Option<String> {
        let count = self.stops.iter().filter(|stop| stop.unrecorded).count();
        let subject = if count == self.stops.len() { "It".to_owned() } else { format!("Of {count} of them it") };
        (count > 0).then(|| {
            format!("{subject} is not known when they were last topped: what they take is told as if topped as usual.")
        })
    }
}

/// What to carry for some stops: what is expected, and what chance may ask beyond it.
pub(in crate::cellar) fn carry<'a>(expected: Volume, stops: impl Iterator<Item = &'a Stop>) -> Volume {
    let (mut variance, mut together) = (0.0, 0.0);
    for stop in stops {
        let deviation = stop.deviation.as_litres();
        if stop.unrecorded {
            together += deviation;
        } else {
            variance += deviation * deviation;
        }
    }
    let deviation = libm::sqrt(variance + together * together);
    expected + Volume::nearest_to_litres(ENOUGH_DEVIATIONS * deviation)
}

/// Some stops, which stand group by group in walking order, as they are walked: in each group what the vessel in hand tops, then
/// what the next one tops, and at the end what none does.
fn walked(mut left: Vec<Stop>, supply: &mut Supply<'_>) -> Vec<Stop> {
    let mut walked: Vec<Stop> = Vec::with_capacity(left.len());
    while let Some(group) = left.first().map(|stop| stop.group) {
        let ends = left.partition_point(|stop| stop.group == group);
        let after = left.split_off(ends);
        let mut here = std::mem::replace(&mut left, after);
        loop {
            let mut others = Vec::new();
            let mut next = Hose::None;
            for mut stop in here {
                let hose = supply.hose(stop.vessel);
                if hose == Hose::InHand {
                    stop.from = supply.in_hand();
                    supply.draw_from_hand(stop.expected);
                    walked.push(stop);
                    continue;
                }
                if supply.turn(hose) < supply.turn(next) {
                    next = hose;
                }
                others.push(stop);
            }
            here = others;
            match next {
                Hose::Other(next) => supply.take_in_hand(next),
                _ => break,
            }
        }
        walked.append(&mut here);
    }
    walked
}

impl State {
    /// Plans a round of a room at a moment: what is left of the one that is open there, else a new one.
    #[must_use]
    pub fn plan_round(&self, room: RoomId, at: Moment) -> Plan {
        match self.rooms.get(room).open_round {
            Some(round) => self.plan_rest(round, at),
            None => self.plan_round_from(room, None, at),
        }
    }

    /// Plans a new round of a room that begins with a vessel in hand; without one, with the one that its first barrel wants.
    #[must_use]
    pub fn plan_round_from(&self, room: RoomId, in_hand: Option<VesselId>, at: Moment) -> Plan {
        self.plan_of(room, in_hand, &[], at, |_| true)
    }

    /// Plans what is left of a round, from the vessel that it is topped from now.
    #[must_use]
    pub fn plan_rest(&self, round: RoundId, at: Moment) -> Plan {
        self.plan_rest_from(round, self.rounds.get(round).source, at)
    }

    /// Plans what is left of a round as it would be with another vessel in hand.
    #[must_use]
    pub fn plan_rest_from(&self, round: RoundId, in_hand: Option<VesselId>, at: Moment) -> Plan {
        let round = self.rounds.get(round);
        self.plan_of(round.room, in_hand, &round.crossings, at, |id| !round.marks.contains_key(&id))
    }

    fn plan_of(
        &self,
        room: RoomId,
        in_hand: Option<VesselId>,
        crossings: &[Crossing],
        at: Moment,
        is_wanted: impl Fn(VesselId) -> bool,
    ) -> Plan {
        let (mut stops, mut held) = (Vec::new(), Vec::new());
        // Nothing tops itself.
        for id in self.walk_of(room).map(|(_, id)| id).filter(|&id| Some(id) != in_hand && is_wanted(id)) {
            let vessel = self.vessels.get(id);
            if !self.belongs_to_a_round(vessel, at) {
                continue;
            }
            if vessel.held.is_some() {
                held.push(id);
                continue;
            }
            let deviation = self.headspace(vessel, at).deviation;
            let expected = self.expected_topping(vessel, at);
            let unrecorded = vessel.kept_since.is_some();
            stops.push(Stop { vessel: id, expected, deviation, unrecorded, group: Group::Clean, from: None });
        }
        let barrels: Vec<VesselId> = stops.iter().map(|stop| stop.vessel).collect();
        let grouping = self.grouping(barrels.iter().copied());
        for stop in &mut stops {
            stop.group = grouping.of(self.vessels.get(stop.vessel));
        }
        // Sorting keeps the walking order of what is equal.
        stops.sort_by_key(|stop| stop.group);
        // Wine of another colour than the barrels' comes last: it is hardly meant.
        let colour = stops.first().and_then(|stop| self.colour_in(self.vessels.get(stop.vessel)));
        let (mut sources, suspect_sources) = self.clean_sources(in_hand);
        sources.sort_by_key(|&id| self.colour_in(self.vessels.get(id)) != colour);
        let stops = walked(stops, &mut Supply::new(self, &sources, in_hand, crossings, &barrels, at));
        // What is offered keeps its order, whichever is in hand.
        let mut offered = self.sources();
        let suspect = |id: VesselId| self.is_suspect(self.vessels.get(id));
        offered.sort_by_key(|&id| (suspect(id), self.colour_in(self.vessels.get(id)) != colour));
        let expected: Volume = stops.iter().map(|stop| stop.expected).sum();
        Plan {
            held,
            expected,
            carry: carry(expected, stops.iter()),
            sources: offered,
            suspect_sources,
            uncovered: stops.iter().filter(|stop| stop.from.is_none()).map(|stop| stop.expected).sum(),
            minutes_a_barrel: self.minutes_a_barrel(room),
            drifts: self.drifts(&stops),
            draws: self.draws(&stops),
            odd: self.odd_among(room, &stops, at),
            stops,
        }
    }

    /// What is drawn from each vessel, in the order in which they are used.
    fn draws(&self, stops: &[Stop]) -> Vec<Draw> {
        let mut used: Vec<VesselId> = Vec::new();
        for source in stops.iter().filter_map(|stop| stop.from) {
            if !used.contains(&source) {
                used.push(source);
            }
        }
        let draw = |source: VesselId| {
            let from_it = || stops.iter().filter(|stop| stop.from == Some(source));
            let expected = from_it().map(|stop| stop.expected).sum();
            Draw {
                source,
                barrels: from_it().count(),
                expected,
                carry: carry(expected, from_it()),
                holds: self.vessels.get(source).volume(),
            }
        };
        used.into_iter().map(draw).collect()
    }

    /// How long the last plausible rounds of a room took for a barrel, minutes: their median.
    fn minutes_a_barrel(&self, room: RoomId) -> Option<f64> {
        let pace = |round: &Round| {
            let ended = round.ended.filter(|_| round.room == room && round.topped >= LEAST_ROUND_BARRELS)?;
            let minutes = ended.elapsed_days(round.begun) * 24.0 * 60.0;
            let each = minutes / f64::from(round.topped);
            ((LEAST_ROUND_MINUTES..=MOST_ROUND_MINUTES).contains(&minutes) && MINUTES_A_BARREL.contains(&each))
                .then_some(each)
        };
        let mut paces: Vec<f64> =
            self.rounds.iter().rev().filter_map(|(_, round)| pace(round)).take(ROUNDS_FOR_A_PACE).collect();
        paces.sort_by(f64::total_cmp);
        let middle = paces.len() / 2;
        if paces.len() % 2 == 1 {
            paces.get(middle).copied()
        } else {
            Some(f64::midpoint(*paces.get(middle.checked_sub(1)?)?, *paces.get(middle)?))
        }
    }

    /// Vessels that wine for topping comes from, and those whose wine is suspect: these top nothing, but for the one in hand, since
    /// whoever chose it was asked. A barrel at no place that is topped itself is broken only where it is chosen.
    pub(in crate::cellar) fn clean_sources(&self, in_hand: Option<VesselId>) -> (Vec<VesselId>, Vec<VesselId>) {
        let is_clean = |&id: &VesselId| in_hand == Some(id) || !self.is_suspect(self.vessels.get(id));
        let is_topped = |id: VesselId| self.vessels.get(id).is_topped_at_no_place();
        self.sources().into_iter().filter(|&id| in_hand == Some(id) || !is_topped(id)).partition(is_clean)
    }

    /// Vessels that wine for topping could come from: kegs first, then tanks, then barrels that were declared topping vessels,
    /// then barrels that lie in no row; the fullest first. What is held, and what an open work fills, racks or blends, is none.
    #[must_use]
    pub fn sources(&self) -> Vec<VesselId> {
        let in_work = self.in_transfer();
        let mut sources: Vec<(u8, Volume, VesselId)> = self
            .vessels
            .iter()
            .filter_map(|(id, vessel)| {
                // What lies in a row to be kept full is passed by first: of most vessels no more is looked at.
                let rank = match (vessel.vessel_type, vessel.slot) {
                    (VesselType::Keg, _) => 0,
                    (VesselType::Tank, _) => 1,
                    (VesselType::Barrel, _) if !vessel.kept_full => 2,
                    (VesselType::Barrel, None) => 3,
                    (VesselType::Barrel, Some(_)) => return None,
                };
                let can_be = Self::could_be_topped_from(vessel) && !in_work.contains(&id);
                can_be.then(|| (rank, vessel.volume(), id))
            })
            .collect();
        sources.sort_by(|a, b| a.0.cmp(&b.0).then(b.1.cmp(&a.1)).then(a.2.cmp(&b.2)));
        sources.into_iter().map(|(_, _, id)| id).collect()
    }

    /// Whether a vessel holds wine that may be drawn for topping.
    fn could_be_topped_from(vessel: &Vessel) -> bool {
        !vessel.wine.is_empty() && vessel.retired.is_none() && vessel.held.is_none()
    }
}
