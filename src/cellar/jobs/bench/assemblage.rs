//! The assemblage: a blend that is made vessel by vessel, held against its ratio while it is made.
//!
//! The work of a blend carries its [`Aim`]. What has come in by measure is ticked at its stops; [`State::assemblage`] tells
//! the ratio that it makes so far and what is still to come from each vessel so that the ratio comes out.
//!
//! **The blend sets its work itself**: `blend_chosen` adds the work that its moves tick off. Unlike a barrel a vessel may give several
//! times, so that a transfer can be corrected; what it gave adds up. Of a closed blend all stops are kept.
//!
//! **A blend's aim is in its work** (`cellar/jobs/bench/assemblage.rs`): the shares of its wines, the tolerance, and which stop gives of
//! which wine. What is still asked of each is reckoned from the ticks at every look (`reckon::scale_up::Course`), so that undo, a gauging
//! and another laptop's moves need no rule of their own. What lies in the receiving vessel is a stop that is ticked from the beginning.
//!
//! **Who follows the corrections** closes within the tolerance, and is not sent back to a tank for less than the tolerance; until every
//! wine is in, the walk keeps to the order that was set.
//!
//! **A barrel that is taken whole** is empty when at least nine tenths of what was asked of it came (our choice); less is a first part of
//! it.

use serde::{Deserialize, Serialize};

use crate::cellar::core::book;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State, VesselId, Work, WorkId};
use crate::cellar::jobs::bench::trial::refusal::TrialRefusal;
use crate::cellar::jobs::floor::work::{Stop, StopSet, Task, Tick};
use crate::reckon::scale_up::{Closing, Correction, Course, Taking, Tank, Tolerance};
use crate::units::{Shares, Volume};

/// Two volumes that lie closer read alike to the tenth of a litre: they are the same to whoever pumps.
const ALIKE: Volume = Volume::from_ml(50);

/// What a blend is to come to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Aim {
    /// The ratio, a share a wine.
    pub shares: Shares,
    /// By how much a share may differ at the end.
    pub tolerance: Tolerance,
    /// What the vessels give to it, in the order of the work's stops.
    pub parts: Vec<Part>,
}

/// What a vessel gives to a blend.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    /// Which of the wines it holds, counted from 0.
    pub component: u32,
    /// What must stay in it.
    pub keep: Volume,
    /// Whether nothing is left behind where it gives all that it can: a barrel that is taken whole.
    pub empties: bool,
}

/// How a blend stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Assemblage {
    /// The wines, in the order of the shares.
    pub wines: Vec<Component>,
    /// What has come in so far, or lay in place.
    pub arrived: Volume,
    /// What it was planned to be.
    pub planned: Volume,
    /// What is still to come, so that the ratio comes out.
    pub correction: Correction,
    /// What is still to come from each vessel, in the order of the work's stops.
    pub still: Vec<Volume>,
    /// The shares so far against those that were chosen; none while nothing has come in.
    pub closing: Option<Closing>,
    /// By how much a share may differ at the end.
    pub tolerance: Tolerance,
}

/// A wine of a blend that is under way.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Component {
    /// The vessel that it comes from; of several the first, and how many more.
    pub name: String,
    /// Its share in the ratio, in millionths.
    pub share: u32,
    /// Its share so far; none while nothing has come in.
    pub running: Option<u32>,
    /// What has come in of it.
    pub arrived: Volume,
    /// What is still to come of it.
    pub still: Volume,
}

/// How what a vessel is still to give stands to what was planned of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Against {
    /// It is the same to whoever pumps.
    AsPlanned,
    /// So much more than was planned.
    More(Volume),
    /// So much less.
    Less(Volume),
}

impl Against {
    /// How a volume stands to the one that was planned.
    #[must_use]
    pub fn of(still: Volume, planned: Volume) -> Against {
        let (more, less) = (still.saturating_sub(planned), planned.saturating_sub(still));
        if more >= ALIKE {
            Against::More(more)
        } else if less >= ALIKE {
            Against::Less(less)
        } else {
            Against::AsPlanned
        }
    }
}

impl Assemblage {
    /// Whether every share is within the tolerance.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.closing.as_ref().is_some_and(Closing::holds)
    }

    /// The wines' names.
    #[must_use]
    pub fn names(&self) -> Vec<&str> {
        self.wines.iter().map(|wine| wine.name.as_str()).collect()
    }
}

/// What a fact says of a blend that is set.
pub(in crate::cellar) struct AimSet<'a> {
    pub into: &'a Label,
    pub lot: &'a Label,
    pub shares: Option<&'a Shares>,
    pub tolerance: Option<Tolerance>,
}

impl AimSet<'_> {
    /// The task that it is, with the vessels that give. Where no ratio is said, it is that of the litres.
    pub(in crate::cellar) fn task(&self, state: &State, stops: &[StopSet]) -> Result<Task, Refusal> {
        let component = |(at, stop): (usize, &StopSet)| stop.component.map_or(at, |it| it as usize);
        let components: Vec<usize> = stops.iter().enumerate().map(component).collect();
        let wines = components.iter().max().map_or(0, |last| last + 1);
        // A number beyond the stops leaves some wine without a vessel, and might ask for more memory than there is.
        if wines > stops.len() || (0..wines).any(|wine| !components.contains(&wine)) {
            return Err(Refusal::BlendComponents);
        }
        let shares = match self.shares {
            Some(shares) if shares.components() != wines => {
                return Err(Refusal::BlendShares { shares: shares.components(), wines });
            }
            Some(shares) => shares.clone(),
            None => {
                let of = |wine: usize| {
                    let its = components.iter().zip(stops).filter(|(of, _)| **of == wine);
                    its.fold(0_u64, |sum, (_, stop)| sum.saturating_add(stop.volume.as_ul()))
                };
                Shares::in_proportion(&(0..wines).map(of).collect::<Vec<_>>()).map_err(|_| Refusal::BlendOfNothing)?
            }
        };
        let part = |(&component, stop): (&usize, &StopSet)| Part {
            component: u32::try_from(component).unwrap_or(u32::MAX),
            keep: stop.keep,
            empties: stop.empties,
        };
        let aim = Aim {
            shares,
            tolerance: self.tolerance.unwrap_or(Tolerance::USUAL),
            parts: components.iter().zip(stops).map(part).collect(),
        };
        Ok(Task::Blending { into: state.vessel(self.into)?, lot: state.lot(self.lot)?, aim: aim.into() })
    }
}

/// Why a blend that is set cannot be made: a vessel holds too little, or the receiving one has no room for it.
pub(in crate::cellar) fn doubt(state: &State, task: &Task, stops: &[Stop]) -> Option<Refusal> {
    let Task::Blending { into, aim, .. } = task else { return None };
    let others = || stops.iter().zip(&aim.parts).filter(|(stop, _)| stop.vessel != *into);
    let comes = others().fold(0_u64, |sum, (stop, _)| sum.saturating_add(stop.volume.as_ul()));
    if let Err(refusal) = book::sane(Volume::from_ul(comes)) {
        return Some(refusal);
    }
    let too_low = others().find_map(|(stop, part)| {
        let vessel = state.vessels.get(stop.vessel);
        let short = stop.volume > vessel.volume().saturating_sub(part.keep);
        short.then(|| {
            let (holds, wanted, reserve) = (vessel.volume(), stop.volume, part.keep);
            TrialRefusal::ComponentTooLow { vessel: vessel.label.clone(), holds, wanted, reserve }.into()
        })
    });
    let vessel = state.vessels.get(*into);
    too_low.or_else(|| book::doubt_volume(vessel, vessel.volume() + Volume::from_ul(comes)))
}

/// The stops of a blend as it begins: what lies in the receiving vessel already has come in.
pub(in crate::cellar) fn in_place(state: &State, into: VesselId, stops: &mut [Stop]) {
    for stop in stops.iter_mut().filter(|stop| stop.vessel == into) {
        stop.tick = Some(Tick::Done(state.vessels.get(into).volume()));
    }
}

impl State {
    /// Why a blend cannot be made in a vessel, if it cannot: another is being made there, or other wine is in it.
    pub(in crate::cellar) fn why_not_blend_into(
        &self,
        into: VesselId,
        lot: Option<LotId>,
        is_part: bool,
    ) -> Option<Refusal> {
        let vessel = self.vessels.get(into);
        let open = self.open_works.iter().map(|&id| self.works.get(id)).find(|work| work.task.blends_into(into));
        if let Some(work) = open {
            return Some(Refusal::BlendUnderWay { vessel: vessel.label.clone(), work: work.label.clone() });
        }
        let is_other = !vessel.wine.is_empty() && !is_part && vessel.lot != lot;
        is_other.then(|| Refusal::BlendOnOther { vessel: vessel.label.clone(), holds: vessel.volume() })
    }

    /// How the blend of a work stands at a moment; none where the work is no blend.
    #[must_use]
    pub fn assemblage(&self, id: WorkId, at: Moment) -> Option<Assemblage> {
        let work = self.works.get(id);
        let Task::Blending { into, aim, .. } = &work.task else { return None };
        let there = |(stop, part): (&Stop, &Part)| {
            if stop.vessel == *into { Volume::ZERO } else { self.there(id, stop.vessel, part.keep, at) }
        };
        let there: Vec<Volume> = work.stops.iter().zip(&aim.parts).map(there).collect();
        let by_wine = |volumes: &mut dyn Iterator<Item = Volume>| {
            let mut sums = vec![Volume::ZERO; aim.shares.components()];
            volumes.zip(&aim.parts).for_each(|(volume, part)| sums[part.component as usize] += volume);
            sums
        };
        let arrived = by_wine(&mut work.stops.iter().map(gave));
        let holds = by_wine(&mut there.iter().copied());
        let names = self.wine_names(work, aim);
        let tank = |(name, holds): (&String, &Volume)| Tank {
            name: name.clone(),
            holds: *holds,
            keep: Volume::ZERO,
            taking: Taking::AsAsked,
        };
        let tanks: Vec<Tank> = names.iter().zip(&holds).map(tank).collect();
        let vessel = self.vessels.get(*into);
        let in_all: Volume = arrived.iter().copied().sum();
        let planned = work.stops.iter().map(|stop| stop.volume).sum();
        let room = Some(in_all + vessel.book_headspace());
        let course = Course { shares: &aim.shares, tanks: &tanks, arrived: &arrived, planned, room };
        let correction = course.correction()?;
        let running = course.running();
        let component = |(at, name): (usize, String)| Component {
            name,
            share: aim.shares.millionths()[at],
            running: running.as_ref().map(|shares| shares.millionths()[at]),
            arrived: arrived[at],
            still: correction.still[at],
        };
        Some(Assemblage {
            wines: names.into_iter().enumerate().map(component).collect(),
            arrived: in_all,
            planned,
            still: by_stop(work, aim, &there, &correction.still),
            closing: Closing::of(&arrived, &aim.shares, aim.tolerance),
            tolerance: aim.tolerance,
            correction,
        })
    }

    /// The vessel of a blend to go to after one: first those that have not given, then those that were skipped, then, where
    /// the ratio is still off, those that can bring it right.
    #[must_use]
    pub fn next_of_blend(&self, work: WorkId, after: Option<VesselId>, at: Moment) -> Option<VesselId> {
        let stands = self.assemblage(work, at)?;
        let work = self.works.get(work);
        let start = work.stops.iter().position(|stop| Some(stop.vessel) == after).map_or(0, |at| at + 1);
        let ahead = || (start..work.stops.len()).chain(0..start).filter(|&at| !stands.still[at].is_zero());
        let vessel = |at: usize| work.stops[at].vessel;
        let left = ahead().find(|&at| work.stops[at].tick.is_none());
        let skipped = || ahead().find(|&at| work.stops[at].tick == Some(Tick::Skipped) && Some(vessel(at)) != after);
        let again = || {
            let wines = stands.correction.transfers.iter().filter(|_| !stands.holds());
            wines.flat_map(|&wine| stops_of(work, wine)).find(|&at| !stands.still[at].is_zero())
        };
        left.or_else(skipped).or_else(again).map(vessel)
    }

    /// What a vessel can still give to a blend: what is kept back, and what other open works are still to take, stays.
    fn there(&self, blend: WorkId, vessel: VesselId, keep: Volume, at: Moment) -> Volume {
        let promised = self.promised_beside(vessel, Some(blend));
        self.can_give(vessel, at).saturating_sub(promised).saturating_sub(keep)
    }

    /// Whether nothing is left in a vessel of a blend that gives so much: a barrel that is taken whole, when all that it can
    /// give was asked of it and nearly all of it came. A first part of it leaves the rest where it is.
    pub(in crate::cellar) fn is_emptied(&self, work: WorkId, vessel: VesselId, gives: Volume, at: Moment) -> bool {
        let Work { task: Task::Blending { aim, .. }, stops, .. } = self.works.get(work) else { return false };
        let part = stops.iter().zip(&aim.parts).find(|(stop, _)| stop.vessel == vessel).map(|(_, part)| part);
        let asked = self.expected_at(work, vessel, at).unwrap_or_default();
        part.is_some_and(|part| part.empties)
            && asked >= self.can_give(vessel, at)
            && gives >= asked.saturating_sub(Volume::from_ul(asked.as_ul() / 10))
    }

    fn wine_names(&self, work: &Work, aim: &Aim) -> Vec<String> {
        let name = |wine: usize| {
            let labels: Vec<&Label> =
                stops_of_aim(aim, wine).map(|at| &self.vessels.get(work.stops[at].vessel).label).collect();
            match labels.as_slice() {
                [] => String::new(),
                [one] => one.to_string(),
                [first, more @ ..] => format!("{first} and {} more", more.len()),
            }
        };
        (0..aim.shares.components()).map(name).collect()
    }
}

/// What has come in of a stop.
fn gave(stop: &Stop) -> Volume {
    if let Some(Tick::Done(volume)) = stop.tick { volume } else { Volume::ZERO }
}

fn stops_of_aim(aim: &Aim, wine: usize) -> impl Iterator<Item = usize> + '_ {
    (0..).zip(&aim.parts).filter(move |(_, part)| part.component as usize == wine).map(|(at, _)| at)
}

/// The stops of a wine; none where the work is no blend.
fn stops_of(work: &Work, wine: usize) -> impl Iterator<Item = usize> + '_ {
    let aim = if let Task::Blending { aim, .. } = &work.task { Some(&**aim) } else { None };
    aim.into_iter().flat_map(move |aim| stops_of_aim(aim, wine))
}

/// What each stop is still to give of its wine: those that gave nothing yet first, in the order of the walk.
fn by_stop(work: &Work, aim: &Aim, there: &[Volume], still: &[Volume]) -> Vec<Volume> {
    let mut by_stop = vec![Volume::ZERO; work.stops.len()];
    for (wine, &still) in still.iter().enumerate() {
        let mut left = still;
        let has_given = |at: &usize| matches!(work.stops[*at].tick, Some(Tick::Done(_)));
        let fresh = stops_of_aim(aim, wine).filter(|at| !has_given(at));
        for at in fresh.chain(stops_of_aim(aim, wine).filter(has_given)) {
            by_stop[at] = left.min(there[at]);
            left = left.saturating_sub(by_stop[at]);
        }
    }
    by_stop
}
