//! Which vessels are dosed alike: what nobody measured makes no difference between them.
//!
//! One composite says one thing of all its barrels, so that they get one dose: that their forecasts part by a tenth of a
//! milligram, or their litres by a bottle, is no reason to measure out another cylinder for each.

use rustc_hash::FxHashMap;

use super::{Candidate, Goal, Per};
use crate::cellar::core::state::{RoomId, State, VesselId};
use crate::cellar::jobs::tests::sulfuring::TestOf;
use crate::units::Volume;

/// Barrels of one composite whose rise lies closer to the next one's than this, mg/L of free, are dosed alike: a test is no
/// surer (`reckon::sulfur` takes the same). Where one of them was given more since, it stands apart.
const ALIKE_MG_L: f64 = 2.0;
/// Vessels whose capacities lie within so many hundredths of the smallest are measured out for alike (our choice) …
const ALIKE_CAPACITY: u64 = 2;
/// … unless one holds so many hundredths more or less than they do in the mean.
const ALIKE_LITRES: u64 = 3;

/// Which test, or which place, vessels have in common.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Common {
    Nothing(VesselId),
    /// A test of several vessels: when it was, when it was drawn, and the bits of what was found.
    Test(i64, i64, u64),
    Stack(RoomId, usize),
    Everything,
}

/// What a vessel is given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Aim {
    /// By how much its free is to rise, mg/L.
    pub rise: f64,
    /// The wine that the dose is reckoned for.
    pub wine: Volume,
}

impl State {
    /// What each candidate is given: what is its own, or the mean by litres of those that are dosed alike.
    pub(super) fn aims(&self, candidates: &[Candidate], goal: Goal, per: Per) -> Vec<Aim> {
        let mut aims: Vec<Aim> = candidates.iter().map(|its| Aim { rise: its.rise, wine: its.holds }).collect();
        let mut groups: FxHashMap<Common, Vec<usize>> = FxHashMap::default();
        for (at, candidate) in candidates.iter().enumerate() {
            groups.entry(self.common(candidate, goal, per)).or_default().push(at);
        }
        for (common, group) in groups {
            let alike = match common {
                Common::Test(..) => by_rise(candidates, group),
                _ => vec![group],
            };
            for members in alike {
                let rise = mean_rise(candidates, &members);
                for &at in &members {
                    aims[at].rise = rise;
                }
                self.measured_out_alike(candidates, members, &mut aims);
            }
        }
        aims
    }

    fn common(&self, candidate: &Candidate, goal: Goal, per: Per) -> Common {
        let id = candidate.vessel;
        match (per, candidate.known.free) {
            (Per::Lot, _) => Common::Everything,
            (Per::Stack, _) => self.stack_of(id).unwrap_or(Common::Nothing(id)),
            (Per::Barrel, _) if matches!(goal, Goal::Add(_)) => Common::Everything,
            (Per::Barrel, Some(free)) if free.of != TestOf::Own => {
                Common::Test(free.at.instant(), free.drawn.instant(), free.value.to_bits())
            }
            (Per::Barrel, _) => Common::Nothing(id),
        }
    }

    /// The stack that a vessel lies in.
    fn stack_of(&self, id: VesselId) -> Option<Common> {
        let vessel = self.vessels.get(id);
        let (slot, place) = (vessel.slot?, self.place_of(vessel)?);
        let room = self.rooms.get(slot.room);
        let row = room.rows.iter().position(|row| row.row == place.rack.row)?;
        Some(Common::Stack(slot.room, room.rack_slots_at(row, place.rack.stack, 1)?.start))
    }

    /// Vessels of about one capacity that are about as full are measured out for by their mean.
    fn measured_out_alike(&self, candidates: &[Candidate], mut members: Vec<usize>, aims: &mut [Aim]) {
        let capacity = |at: usize| self.vessels.get(candidates[at].vessel).capacity.as_ul();
        let holds = |at: usize| candidates[at].holds;
        members.sort_by_key(|&at| capacity(at));
        let mut rest = members.as_slice();
        while let Some(&smallest) = rest.first() {
            let most = capacity(smallest) + capacity(smallest) / 100 * ALIKE_CAPACITY;
            let (of_a_size, larger) = rest.split_at(rest.partition_point(|&at| capacity(at) <= most));
            rest = larger;
            let mut litres: Vec<Volume> = of_a_size.iter().map(|&at| holds(at)).collect();
            litres.sort_unstable();
            let middle = litres[litres.len() / 2].as_ul();
            let is_as_full = |at: &usize| holds(*at).as_ul().abs_diff(middle) <= middle / 100 * ALIKE_LITRES;
            let as_full: Vec<usize> = of_a_size.iter().copied().filter(is_as_full).collect();
            let together: Volume = as_full.iter().map(|&at| holds(at)).sum();
            let mean = Volume::from_ul(together.as_ul() / (as_full.len() as u64).max(1));
            for at in as_full {
                aims[at].wine = mean;
            }
        }
    }
}

/// The members of a group whose rises lie close to each other, each stretch by itself.
fn by_rise(candidates: &[Candidate], mut members: Vec<usize>) -> Vec<Vec<usize>> {
    members.sort_by(|&one, &other| candidates[one].rise.total_cmp(&candidates[other].rise));
    let is_close = |&one: &usize, &next: &usize| candidates[next].rise - candidates[one].rise < ALIKE_MG_L;
    members.chunk_by(is_close).map(<[usize]>::to_vec).collect()
}

/// The mean rise by litres.
fn mean_rise(candidates: &[Candidate], members: &[usize]) -> f64 {
    if let &[only] = members {
        return candidates[only].rise;
    }
    let litres = |at: usize| candidates[at].holds.as_litres();
    let sum: f64 = members.iter().map(|&at| candidates[at].rise * litres(at)).sum();
    sum / members.iter().map(|&at| litres(at)).sum::<f64>()
}
