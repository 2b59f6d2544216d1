//! Walking a work: what is left of it, and what one key says at a barrel.

use std::ops::Range;

use crate::cellar::core::fact::What;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, RoomId, State, Vessel, VesselId, Work, WorkId};
use crate::cellar::jobs::bench::assemblage::Assemblage;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::floor::work::{Stop, Task, Tick};
use crate::cellar::jobs::tests::treating::Treated;
use crate::cellar::jobs::wood::care::BarrelCared;
use crate::cellar::jobs::wood::moving::{Purpose, WineMoved};
use crate::cellar::jobs::wood::racking::racked;
use crate::units::{Mass, Volume};

/// What one key says.
#[derive(Clone, Debug, PartialEq)]
pub struct Deed {
    /// Its facts.
    pub whats: Vec<What>,
    /// What moves, or is added, in all.
    pub volume: Volume,
}

impl Task {
    /// The vessel that the wine of all its barrels comes into, or from.
    #[must_use]
    pub const fn tank(&self) -> Option<VesselId> {
        match self {
            Task::Racking { to, .. } | Task::Blending { into: to, .. } => Some(*to),
            Task::BarrelDown { from, .. } => Some(*from),
            Task::Treating { .. } | Task::Caring { .. } => None,
        }
    }

    /// Its word in the exchange format.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Task::Racking { .. } => "racking",
            Task::BarrelDown { .. } => "barrel_down",
            Task::Treating { .. } => "treating",
            Task::Caring { .. } => "caring",
            Task::Blending { .. } => "blending",
        }
    }

    /// Its name in words.
    #[must_use]
    pub fn words(&self, state: &State) -> String {
        let label = |id: &VesselId| &state.vessels.get(*id).label;
        match self {
            Task::Racking { to, .. } => format!("racking into {}", label(to)),
            Task::BarrelDown { from, .. } => format!("filling from {}", label(from)),
            Task::Treating { material } => format!("adding {material}"),
            Task::Caring { care } => format!("empty wood, {}", care.word()),
            Task::Blending { into, .. } => format!("blending into {}", label(into)),
        }
    }

    /// What was done to a barrel, in a word or two.
    #[must_use]
    pub fn done_words(&self) -> String {
        match self {
            Task::Racking { .. } => "racked".to_owned(),
            Task::BarrelDown { .. } => "filled".to_owned(),
            Task::Treating { material } => format!("treated with {material}"),
            Task::Caring { care } => care.word().to_owned(),
            Task::Blending { .. } => "blended".to_owned(),
        }
    }

    /// The vessel that the work fills, which is gauged when it ends.
    #[must_use]
    pub const fn fills(&self) -> Option<VesselId> {
        match self {
            Task::Racking { to, .. } | Task::Blending { into: to, .. } => Some(*to),
            Task::BarrelDown { .. } | Task::Treating { .. } | Task::Caring { .. } => None,
        }
    }
}

impl State {
    /// All barrels of the cellar in walking order: room by room, then those that lie in no room.
    pub fn barrels_walked(&self) -> impl Iterator<Item = VesselId> + '_ {
        let lying = self.rooms.iter().flat_map(|(_, room)| room.slots.iter().flatten().copied());
        let elsewhere = self.vessels.iter().filter(|(_, vessel)| vessel.slot.is_none()).map(|(id, _)| id);
        let is_barrel = |vessel: &Vessel| vessel.vessel_type == VesselType::Barrel && vessel.retired.is_none();
        lying.chain(elsewhere).filter(move |&id| is_barrel(self.vessels.get(id)))
    }

    /// The barrels of a work in some slots of a room that are still to be done, in its order. Held ones are left out.
    #[must_use]
    pub fn stops_left(&self, work: WorkId, room: RoomId, slots: &Range<usize>) -> Vec<VesselId> {
        let here = |id: VesselId| {
            let vessel = self.vessels.get(id);
            let lies = vessel.slot.is_some_and(|slot| slot.room == room && slots.contains(&(slot.index as usize)));
            lies && vessel.held.is_none()
        };
        let left = self.works.get(work).stops.iter().filter(|stop| stop.tick.is_none());
        left.map(|stop| stop.vessel).filter(|&id| here(id)).collect()
    }

    /// Refuses barrels that are still to be done in an open work of a kind: what is done at them would count there.
    pub(in crate::cellar) fn in_no_other_work(
        &self,
        barrels: &[VesselId],
        is_of_kind: impl Fn(&Task) -> bool,
    ) -> Result<(), Refusal> {
        let open = self.open_works.iter().map(|&id| self.works.get(id)).filter(|work| is_of_kind(&work.task));
        for work in open {
            let to_do = |id: VesselId| work.stop(id).is_some_and(|stop| stop.tick.is_none());
            if let Some(&id) = barrels.iter().find(|&&id| to_do(id)) {
                let vessel = self.vessels.get(id).label.clone();
                return Err(Refusal::InAnotherWork { vessel, work: work.label.clone() });
            }
        }
        Ok(())
    }

    /// The facts that some barrels of a work are done as expected.
    pub fn done_as_expected(&self, id: WorkId, barrels: &[VesselId], at: Moment) -> Result<Deed, Refusal> {
        let work = self.works.get(id);
        let mut left = work.task.tank().map_or(Volume::ZERO, |tank| self.vessels.get(tank).volume());
        let mut deed = Deed { whats: Vec::with_capacity(barrels.len()), volume: Volume::ZERO };
        let stands = self.assemblage(id, at);
        for &barrel in barrels {
            let stop = self.stop_of(work, barrel)?;
            let volume = match &work.task {
                Task::BarrelDown { from, .. } => self.fill(barrel, *from, left)?,
                Task::Blending { .. } => self.still_from(work, stands.as_ref(), barrel)?,
                Task::Racking { .. } | Task::Treating { .. } | Task::Caring { .. } => stop.volume,
            };
            left = left.saturating_sub(volume);
            deed.volume += volume;
            deed.whats.push(self.deed(id, stop, volume, stop.amount, at));
        }
        Ok(deed)
    }

    /// The facts that a barrel of a work is done with the litres that were measured.
    pub fn done_measured(&self, id: WorkId, barrel: VesselId, volume: Volume, at: Moment) -> Result<Deed, Refusal> {
        let work = self.works.get(id);
        let stop = self.stop_of(work, barrel)?;
        let amount = match work.task {
            Task::Racking { .. } | Task::BarrelDown { .. } | Task::Blending { .. } => Mass::ZERO,
            // As much of the material as so much of the same solution holds.
            Task::Treating { .. } if !stop.volume.is_zero() => stop.amount.part(volume.as_ul(), stop.volume.as_ul()),
            Task::Treating { .. } | Task::Caring { .. } => return Err(Refusal::NoLitres(work.label.clone())),
        };
        Ok(Deed { whats: vec![self.deed(id, stop, volume, amount, at)], volume })
    }

    /// The facts that a barrel of a work was given an amount that was weighed.
    pub fn done_weighed(&self, id: WorkId, barrel: VesselId, amount: Mass, at: Moment) -> Result<Deed, Refusal> {
        let work = self.works.get(id);
        let stop = self.stop_of(work, barrel)?;
        match work.task {
            Task::Treating { .. } if stop.volume.is_zero() => {
                Ok(Deed { whats: vec![self.deed(id, stop, Volume::ZERO, amount, at)], volume: Volume::ZERO })
            }
            _ => Err(Refusal::NothingWeighed(work.label.clone())),
        }
    }

    /// What one expects to move, or to add, at a barrel of a work; none where it is no barrel of it.
    #[must_use]
    pub fn expected_at(&self, id: WorkId, barrel: VesselId, at: Moment) -> Option<Volume> {
        let work = self.works.get(id);
        let stop = work.stop(barrel)?;
        Some(match &work.task {
            Task::Blending { .. } => {
                let index = work.stops.iter().position(|stop| stop.vessel == barrel)?;
                self.assemblage(id, at)?.still.get(index).copied()?
            }
            Task::BarrelDown { from, .. } => {
                self.vessels.get(barrel).book_headspace().min(self.vessels.get(*from).volume())
            }
            Task::Racking { .. } | Task::Treating { .. } | Task::Caring { .. } => stop.volume,
        })
    }

    fn stop_of<'a>(&self, work: &'a Work, barrel: VesselId) -> Result<&'a Stop, Refusal> {
        work.stop(barrel).ok_or_else(|| Refusal::NotInWork {
            work: work.label.clone(),
            vessel: self.vessels.get(barrel).label.clone(),
        })
    }

    /// What fills a barrel: what it lacks, at most what is left in the vessel that it is filled from.
    fn fill(&self, barrel: VesselId, from: VesselId, left: Volume) -> Result<Volume, Refusal> {
        let lacks = self.vessels.get(barrel).book_headspace();
        if lacks.is_zero() {
            return Err(Refusal::FullAlready(self.vessels.get(barrel).label.clone()));
        }
        if left.is_zero() {
            return Err(Refusal::SourceEmpty(self.vessels.get(from).label.clone()));
        }
        Ok(lacks.min(left))
    }

    /// What a blend still asks of a vessel, so that its ratio comes out.
    fn still_from(&self, work: &Work, stands: Option<&Assemblage>, vessel: VesselId) -> Result<Volume, Refusal> {
        let still = stands.and_then(|stands| {
            let index = work.stops.iter().position(|stop| stop.vessel == vessel)?;
            stands.still.get(index).copied().filter(|still| !still.is_zero())
        });
        still.ok_or_else(|| Refusal::GivesNoMore(self.vessels.get(vessel).label.clone()))
    }

    fn deed(&self, id: WorkId, stop: &Stop, volume: Volume, amount: Mass, at: Moment) -> What {
        let vessel = self.vessels.get(stop.vessel).label.clone();
        // Whoever does a step that is done does it on purpose: to put it right would take the first back.
        let again = matches!(stop.tick, Some(Tick::Done(_)));
        let label = |id: VesselId| self.vessels.get(id).label.clone();
        let lot = |lot: &Option<LotId>| lot.map(|lot| self.lots.get(lot).label.clone());
        match &self.works.get(id).task {
            Task::Racking { to, lot: named } => racked(self, stop.vessel, *to, (volume, stop.lees), *named),
            Task::BarrelDown { from, lot: named } => What::WineMoved(Box::new(WineMoved {
                lot: lot(named),
                again,
                ..WineMoved::of(label(*from), vessel, volume, Purpose::BarrelDown)
            })),
            Task::Treating { material } => What::Treated(Box::new(Treated {
                vessel,
                material: material.clone(),
                amount,
                solution: volume,
                purpose: None,
                batch: None,
                again,
            })),
            Task::Caring { care } => What::BarrelCared(BarrelCared { vessel, care: *care, again: false }),
            Task::Blending { into, lot, .. } => {
                let empties = self.is_emptied(id, stop.vessel, volume, at);
                What::WineMoved(Box::new(WineMoved {
                    lees: if empties { stop.lees } else { Volume::ZERO },
                    empties,
                    again,
                    lot: Some(self.lots.get(*lot).label.clone()),
                    ..WineMoved::of(vessel, label(*into), volume, Purpose::Blend)
                }))
            }
        }
    }
}
