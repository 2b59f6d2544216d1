//! The round: one walk through a room, topping as one goes.
//!
//! **Minutes** are the median of the last nine plausible rounds of the same room; none is better than a figure from elsewhere.

use serde::{Deserialize, Serialize};

use crate::cellar::core::fact::Stamp;
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, RoomId, Round, RoundId, State, Vessel, VesselId, WorkId};
use crate::units::Volume;
use std::collections::BTreeSet;

use rustc_hash::{FxBuildHasher, FxHashMap};

/// Which wine tops which lot in a round though it is of another: where it came from, and where it goes.
pub type Crossing = (LotId, LotId);

/// The fact `round_begun`: a walk through a room began.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoundBegun {
    /// The round's label.
    pub round: Label,
    /// The room that is walked.
    pub room: Label,
    /// The vessel that is topped from.
    #[serde(default)]
    pub from: Option<Label>,
    /// Whether odd barrels are topped like the rest, because they are many.
    #[serde(default)]
    pub odd: Option<bool>,
}

/// The fact `round_ended`: a walk through a room ended.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoundEnded {
    /// The round's label.
    pub round: Label,
    /// The room that was walked.
    pub room: Label,
    /// The vessel that was topped from.
    #[serde(default)]
    pub from: Option<Label>,
}

/// The fact `skipped`: a barrel was left out of a round on purpose, to be come back to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Skipped {
    /// Which vessel.
    pub vessel: Label,
    /// Of which round.
    #[serde(default)]
    pub round: Option<Label>,
    /// Of which work, if of none.
    #[serde(default)]
    pub work: Option<Label>,
    /// Why.
    #[serde(default)]
    pub why: Option<Text>,
}

/// The fact `source_changed`: a round tops from another vessel from here on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SourceChanged {
    /// Which round.
    pub round: Label,
    /// The vessel that is topped from now.
    pub from: Label,
    /// The lot that is topped from it though its wine is another's.
    #[serde(default)]
    pub lot: Option<Label>,
}

/// What was done at a barrel in a round.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Mark {
    /// So much was poured, in all.
    Topped(Volume),
    /// So much was poured, in all, but it is not brimful yet.
    InPart(Volume),
    /// It was left out on purpose.
    Skipped,
    /// It took far more than its neighbours.
    Thirsty(Volume),
}

impl Mark {
    /// What was poured.
    #[must_use]
    pub const fn poured(self) -> Volume {
        match self {
            Mark::Topped(volume) | Mark::InPart(volume) | Mark::Thirsty(volume) => volume,
            Mark::Skipped => Volume::ZERO,
        }
    }

    /// Whether somebody has to come back to the barrel.
    #[must_use]
    pub const fn is_open(self) -> bool {
        matches!(self, Mark::Skipped | Mark::InPart(_))
    }
}

/// A barrel drank too much when it took so many times the round's median …
const THIRSTY_TIMES: u64 = 2;
/// … and at least so much more than it: below a litre it is the hand's.
const THIRSTY_MORE: Volume = Volume::from_litres(1);

impl Round {
    /// Barrels that took far more than the median of their round, with what they took, the thirstiest first. What was last topped
    /// before that was written down took what it took for nobody knows how long.
    #[must_use]
    pub fn thirsty(&self) -> Vec<(VesselId, Volume)> {
        let topped = |mark: &Mark| matches!(mark, Mark::Topped(_));
        let recorded = || self.marks.iter().filter(|(id, _)| !self.unrecorded.contains(id));
        let mut poured: Vec<Volume> =
            recorded().filter(|(_, mark)| topped(mark)).map(|(_, mark)| mark.poured()).collect();
        let middle = poured.len() / 2;
        let median = if poured.is_empty() { Volume::ZERO } else { *poured.select_nth_unstable(middle).1 };
        let is_thirsty = |mark: &Mark| match *mark {
            Mark::Thirsty(_) => true,
            Mark::Topped(volume) => {
                volume.as_ul() >= median.as_ul().saturating_mul(THIRSTY_TIMES) && volume >= median + THIRSTY_MORE
            }
            Mark::InPart(_) | Mark::Skipped => false,
        };
        let mut thirsty: Vec<(VesselId, Volume)> =
            recorded().filter(|(_, mark)| is_thirsty(mark)).map(|(&id, mark)| (id, mark.poured())).collect();
        thirsty.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(&b.0)));
        thirsty
    }

    /// Barrels that were left out and not topped afterwards.
    #[must_use]
    pub fn skipped(&self) -> Vec<VesselId> {
        self.marked(|mark| mark == Mark::Skipped)
    }

    /// Barrels that got some wine but are not brimful yet.
    #[must_use]
    pub fn in_part(&self) -> Vec<VesselId> {
        self.marked(|mark| matches!(mark, Mark::InPart(_)))
    }

    /// Wine of another lot tops a lot from here on.
    pub(in crate::cellar) fn cross(&mut self, crossing: Crossing) {
        if crossing.0 != crossing.1 && !self.crossings.contains(&crossing) {
            self.crossings.push(crossing);
        }
    }

    fn marked(&self, so: impl Fn(Mark) -> bool) -> Vec<VesselId> {
        let mut marked: Vec<VesselId> = self.marks.iter().filter(|(_, mark)| so(**mark)).map(|(&id, _)| id).collect();
        marked.sort_unstable();
        marked
    }

    /// Ends the round: of its marks only what its summary needs is kept, or ten years of rounds would outweigh the
    /// cellar.
    fn end(&mut self, at: Moment) {
        let thirsty = self.thirsty();
        self.marks.retain(|_, mark| mark.is_open());
        self.marks.extend(thirsty.into_iter().map(|(id, volume)| (id, Mark::Thirsty(volume))));
        self.marks.shrink_to_fit();
        self.crossings = Vec::new();
        self.unrecorded = BTreeSet::new();
        self.ended = Some(at);
    }
}

impl Job for RoundBegun {
    type Ready = (RoomId, Option<VesselId>);

    fn ready(&self, state: &State) -> Result<Self::Ready, Refusal> {
        let room = state.room(&self.room)?;
        let from = self.from.as_ref().map(|label| state.vessel(label)).transpose()?;
        if state.rounds.find(self.round.as_str()).is_some() {
            return Err(Refusal::LabelTaken { what: "A round", label: self.round.clone() });
        }
        Ok((room, from))
    }

    fn doubt(&self, state: &State, &(room, _): &Self::Ready) -> Option<Refusal> {
        let room = state.rooms.get(room);
        let open = state.rounds.get(room.open_round?);
        Some(Refusal::RoundOpen { round: open.label.clone(), room: room.label.clone() })
    }

    fn questions(&self, state: &State, &(room, source): &Self::Ready, at: Moment) -> Vec<Question> {
        let suspect = source.and_then(|source| state.asks_of_suspect_source(source));
        let many_odd = (self.odd == Some(true)).then(|| state.asks_of_many_odd(room, source, at)).flatten();
        suspect.into_iter().chain(many_odd).collect()
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, (room, source): Self::Ready) {
        if let Some(open) = state.rooms.get(room).open_round {
            state.rounds.get_mut(open).end(stamp.at);
        }
        let lying = state.rooms.get(room).slots.iter().flatten().count();
        let id = state.rounds.add(Round {
            label: self.round.clone(),
            room,
            source,
            begun: stamp.at,
            ended: None,
            marks: FxHashMap::with_capacity_and_hasher(lying, FxBuildHasher),
            topped: 0,
            poured: Volume::ZERO,
            crossings: Vec::new(),
            unrecorded: BTreeSet::new(),
            odd_too: self.odd == Some(true),
        });
        state.rooms.get_mut(room).open_round = Some(id);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.room)
    }
}

impl Job for RoundEnded {
    type Ready = RoundId;

    fn ready(&self, state: &State) -> Result<RoundId, Refusal> {
        state.room(&self.room)?;
        open_round(state, &self.round)
    }

    fn doubt(&self, state: &State, &id: &RoundId) -> Option<Refusal> {
        let room = &state.rooms.get(state.rounds.get(id).room).label;
        (*room != self.room).then(|| Refusal::RoundElsewhere { round: self.round.clone(), room: room.clone() })
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, id: RoundId) {
        let round = state.rounds.get_mut(id);
        round.end(stamp.at);
        let room = round.room;
        state.rooms.get_mut(room).open_round = None;
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.room)
    }
}

impl Job for Skipped {
    /// The vessel, and the work where it is none of a round.
    type Ready = (VesselId, Option<WorkId>);

    fn ready(&self, state: &State) -> Result<Self::Ready, Refusal> {
        let vessel = state.vessel(&self.vessel)?;
        match (&self.round, &self.work) {
            (Some(round), None) => {
                let round = open_round(state, round)?;
                let room = state.rounds.get(round).room;
                if state.open_round_of(state.vessels.get(vessel)) != Some(round) {
                    let room = state.rooms.get(room).label.clone();
                    return Err(Refusal::NotInRoom { vessel: self.vessel.clone(), room });
                }
                Ok((vessel, None))
            }
            (None, Some(label)) => {
                let work = state.running_work(label)?;
                let stop = state.works.get(work).stop(vessel);
                let not_there = || Refusal::NotInWork { work: label.clone(), vessel: self.vessel.clone() };
                stop.map(|_| (vessel, Some(work))).ok_or_else(not_there)
            }
            _ => Err(Refusal::RoundOrWork),
        }
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, (vessel, work): Self::Ready) {
        match work {
            Some(work) => state.skip_in_work(work, vessel),
            None => drop(state.mark_round(vessel, Mark::Skipped)),
        }
        state.vessels.get_mut(vessel).history.remember(stamp, Event::Skipped);
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.vessel)
    }
}

impl Job for SourceChanged {
    /// The round, the vessel, and the lot that is topped from it though its wine is another's.
    type Ready = (RoundId, VesselId, Option<LotId>);

    fn ready(&self, state: &State) -> Result<Self::Ready, Refusal> {
        let lot = self.lot.as_ref().map(|lot| state.lot(lot)).transpose()?;
        Ok((open_round(state, &self.round)?, state.vessel(&self.from)?, lot))
    }

    fn questions(&self, state: &State, &(round, source, lot): &Self::Ready, at: Moment) -> Vec<Question> {
        let crossing = lot.and_then(|lot| state.asks_of_crossing(round, source, lot, at));
        crossing.into_iter().chain(state.asks_of_suspect_source(source)).collect()
    }

    fn apply(&self, state: &mut State, _stamp: &Stamp, (round, source, lot): Self::Ready) {
        let its = state.vessels.get(source).lot;
        let round = state.rounds.get_mut(round);
        round.source = Some(source);
        if let Some(crossing) = its.zip(lot) {
            round.cross(crossing);
        }
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.from)
    }
}

fn open_round(state: &State, label: &Label) -> Result<RoundId, Refusal> {
    let id = state.round(label)?;
    match state.rounds.get(id).ended {
        Some(_) => Err(Refusal::RoundEnded(label.clone())),
        None => Ok(id),
    }
}

impl State {
    /// The round that is open in a vessel's room, if there is one. One that is topped at no place is of the round of the room that
    /// it belongs to, else of the only one that is open: whoever walks that found it there.
    #[must_use]
    pub fn open_round_of(&self, vessel: &Vessel) -> Option<RoundId> {
        if let Some(slot) = vessel.slot {
            return self.rooms.get(slot.room).open_round;
        }
        let mut open = self.rooms.iter().filter_map(|(_, room)| room.open_round);
        let first = open.next().filter(|_| vessel.kept_full && !vessel.tops_others())?;
        let own = self.rooms.get(self.round_room(vessel)?).open_round;
        own.or_else(|| open.next().is_none().then_some(first))
    }

    /// Wine of a lot was poured into a vessel of another one in the round that is open in its room.
    pub(in crate::cellar) fn crossed(&mut self, vessel: VesselId, from: Option<LotId>) {
        let vessel = self.vessels.get(vessel);
        if let (Some(round), Some(crossing)) = (self.open_round_of(vessel), from.zip(vessel.lot)) {
            self.rounds.get_mut(round).cross(crossing);
        }
    }

    /// Whether a vessel is what the open round of a barrel's room is topped from: whoever chose it was asked.
    pub(in crate::cellar) fn is_chosen_source(&self, barrel: VesselId, from: VesselId) -> bool {
        let round = self.open_round_of(self.vessels.get(barrel));
        round.is_some_and(|round| self.rounds.get(round).source == Some(from))
    }

    /// Marks a barrel in the round that is open in its room, if there is one, and says which it is.
    pub(in crate::cellar) fn mark_round(&mut self, vessel: VesselId, mark: Mark) -> Option<RoundId> {
        let id = self.open_round_of(self.vessels.get(vessel))?;
        let round = self.rounds.get_mut(id);
        if self.vessels.get(vessel).home.is_none() {
            self.vessels.get_mut(vessel).home = Some(round.room);
        }
        let kept = round.marks.entry(vessel).or_insert(Mark::Skipped);
        let before = kept.poured();
        round.poured += mark.poured();
        // A barrel that was topped stays topped, whatever is said of it later in the round.
        *kept = match (*kept, mark) {
            (Mark::Topped(_), _) => Mark::Topped(before + mark.poured()),
            (_, Mark::Topped(volume)) => {
                round.topped += 1;
                Mark::Topped(before + volume)
            }
            (_, Mark::InPart(volume)) => Mark::InPart(before + volume),
            (kept, _) => kept,
        };
        Some(id)
    }

    /// What was done at a vessel in the round that is open in its room.
    pub(in crate::cellar) fn round_mark(&self, vessel: VesselId) -> Option<Mark> {
        self.rounds.get(self.open_round_of(self.vessels.get(vessel))?).marks.get(&vessel).copied()
    }
}
