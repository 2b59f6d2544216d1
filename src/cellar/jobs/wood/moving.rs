//! Moving: wine goes from one vessel to one other, barrel-down and racking included.

mod alcohol_class;
pub mod tank_to_tank;

use serde::{Deserialize, Serialize};

use crate::cellar::core::account::Entry;
use crate::cellar::core::book::{self, Arrival};
use crate::cellar::core::doing::{Twice, twice};
use crate::cellar::core::fact::{Stamp, What};
use crate::cellar::core::history::Event;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::plausible;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State, Vessel, VesselId};
use crate::cellar::jobs::finish::checklist::lapse::Change;
use crate::cellar::jobs::finish::filtration::{Filtration, share_of};
use crate::cellar::jobs::floor::work::Task;
use crate::cellar::jobs::topping::is_unsaid;
use crate::units::{Mass, Volume};

/// Why wine is moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Purpose {
    /// Filling barrels from a tank.
    BarrelDown,
    /// Moving wine off its lees.
    Racking,
    /// Mixing wines on purpose.
    Blend,
    /// Through a filter.
    Filtration,
    /// Anything else.
    Other,
}

/// The fact `wine_moved`: wine goes from one vessel to one other.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WineMoved {
    /// The vessel it leaves.
    pub from: Label,
    /// The vessel it comes into.
    pub to: Label,
    /// How much, as it arrives.
    #[serde(rename = "volume_ul")]
    pub volume: Volume,
    /// Why.
    pub purpose: Purpose,
    /// Lees and the wine lost with them.
    #[serde(default, rename = "lees_ul")]
    pub lees: Volume,
    /// What was lost on the way.
    #[serde(default, rename = "loss_ul")]
    pub loss: Volume,
    /// Whether nothing is left behind.
    #[serde(default)]
    pub empties: bool,
    /// What had evaporated from the source before, as it was known when the move was entered; booked as that first.
    #[serde(default, rename = "evaporation_ul")]
    pub evaporation: Option<Volume>,
    /// The lot that the wine is from now on, where it arrives.
    #[serde(default)]
    pub lot: Option<Label>,
    /// What a filtration went through: the medium and its grade.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub filter: Option<Text>,
    /// Whether it was moved on purpose besides what was moved at this step of a work before.
    #[serde(default, skip_serializing_if = "is_unsaid")]
    pub again: bool,
}

/// What a move names, looked up.
pub struct ReadyMove {
    from: VesselId,
    to: VesselId,
    /// The lot of the wine where it arrives.
    lot: Option<LotId>,
}

impl WineMoved {
    /// A move of which nothing more need be said.
    #[must_use]
    pub fn of(from: Label, to: Label, volume: Volume, purpose: Purpose) -> WineMoved {
        WineMoved {
            from,
            to,
            volume,
            purpose,
            lees: Volume::ZERO,
            loss: Volume::ZERO,
            empties: false,
            evaporation: None,
            lot: None,
            filter: None,
            again: false,
        }
    }

    /// What leaves the source in all.
    pub(in crate::cellar) fn leaves(&self) -> Volume {
        self.volume + self.lees + self.loss
    }

    /// What had evaporated from the source before. Not all of it can have: what left must have been there.
    pub(in crate::cellar) fn evaporated(&self, source: &Vessel) -> Volume {
        let there = source.volume();
        match self.evaporation {
            Some(gone) if gone >= there => there.saturating_sub(self.leaves()),
            gone => gone.unwrap_or_default(),
        }
    }

    /// What a source loses: lees, what is lost on the way, and what is left behind where nothing is.
    /// What is asked where much is lost of what leaves.
    fn asks_of_lost(&self, lost: Volume) -> Option<Question> {
        let share = share_of(lost, self.volume).filter(|&share| share > plausible::MUCH_LOST_SHARE)?;
        Some(Question::MuchLost { vessel: self.from.clone(), lost, share })
    }

    fn lost_from(&self, source: &Vessel) -> Volume {
        let there = source.volume().saturating_sub(self.evaporated(source));
        let left = if self.empties { there.saturating_sub(self.leaves()) } else { Volume::ZERO };
        self.lees + self.loss + left
    }

    /// The move with what went from its source since that was full, which is known by the estimate when it is emptied; none
    /// where that is said already or cannot be told. Without it lees would be said to be what evaporated.
    fn with_evaporation(&self, state: &State, source: &Vessel, at: Moment) -> Option<WineMoved> {
        if self.evaporation.is_some() || !self.empties || !source.kept_full {
            return None;
        }
        // What was measured goes before what is estimated.
        let most = source.volume().saturating_sub(self.leaves());
        Some(WineMoved { evaporation: Some(state.gone(source, at).min(most)), ..self.clone() })
    }

    /// Which works the move is a step of, and at which vessel; none where it can be a step of none.
    fn step(&self, from: VesselId, to: VesselId) -> Option<(impl Fn(&Task) -> bool, VesselId)> {
        let stop = match self.purpose {
            Purpose::Racking | Purpose::Blend => from,
            Purpose::BarrelDown => to,
            Purpose::Filtration | Purpose::Other => return None,
        };
        let purpose = self.purpose;
        let fits = move |task: &Task| match purpose {
            Purpose::Racking => task.racks_into(to),
            Purpose::BarrelDown => task.fills_from(from),
            Purpose::Blend => task.blends_into(to),
            Purpose::Filtration | Purpose::Other => false,
        };
        Some((fits, stop))
    }

    /// The question about a step of a work that is done already. A vessel gives to a blend as often as its ratio asks for.
    fn asks_of_step(&self, state: &State, ready: &ReadyMove) -> Option<Question> {
        if self.again || self.purpose == Purpose::Blend {
            return None;
        }
        let (fits, stop) = self.step(ready.from, ready.to)?;
        let (work, vessel) = (state.done_already(stop, fits)?, state.vessels.get(stop));
        Some(Question::StepDone { vessel: vessel.label.clone(), work: work.label.clone() })
    }

    fn arrival(&self, state: &State, ready: &ReadyMove) -> Arrival {
        let colour = state.colour_in(state.vessels.get(ready.from));
        Arrival { volume: self.volume, lot: ready.lot, colour }
    }

    /// What the move is to the wine of the lot that arrives.
    fn change(&self, state: &State, ready: &ReadyMove) -> Change {
        let (source, target) = (state.vessels.get(ready.from), state.vessels.get(ready.to));
        let other = source.lot != ready.lot || (!target.wine.is_empty() && target.lot != ready.lot);
        match self.purpose {
            _ if other => Change::Blended,
            Purpose::Filtration => Change::Filtered,
            Purpose::BarrelDown | Purpose::Racking | Purpose::Blend | Purpose::Other => Change::Moved,
        }
    }
}

impl Job for WineMoved {
    type Ready = ReadyMove;

    fn ready(&self, state: &State) -> Result<ReadyMove, Refusal> {
        let (from, to) = (state.vessel(&self.from)?, state.vessel(&self.to)?);
        if from == to {
            return Err(Refusal::SameVessel(self.from.clone()));
        }
        for volume in [self.volume, self.lees, self.loss, self.evaporation.unwrap_or_default()] {
            book::sane(volume)?;
        }
        if self.leaves().is_zero() {
            return Err(Refusal::NoVolume);
        }
        let named = self.lot.as_ref().map(|label| state.lot(label)).transpose()?;
        let (source, target) = (state.vessels.get(from), state.vessels.get(to));
        if source.wine.is_empty() {
            return Err(Refusal::SourceEmpty(self.from.clone()));
        }
        let lot = named.or(if target.wine.is_empty() { source.lot } else { target.lot });
        Ok(ReadyMove { from, to, lot })
    }

    fn doubt(&self, state: &State, ready: &ReadyMove) -> Option<Refusal> {
        let source = state.vessels.get(ready.from);
        book::doubt_draw(source, self.leaves() + self.evaporation.unwrap_or_default())
            .or_else(|| book::doubt_arrival(state, ready.to, self.arrival(state, ready)))
    }

    fn slip(&self, _state: &State, _ready: &ReadyMove) -> Option<Refusal> {
        let filters = self.purpose == Purpose::Filtration;
        let filter = (self.filter.is_some() && !filters).then_some(Refusal::FilterWithoutFiltration);
        filter.or_else(|| plausible::doubt_litres(&self.to, self.volume, plausible::MOVED))
    }

    /// Suspect wine into other wine is asked about, unless it goes there in a work, whose plan has named it; and so is wine that
    /// makes another class or tax of what is there.
    fn questions(&self, state: &State, ready: &ReadyMove, _at: Moment) -> Vec<Question> {
        let other = !self.volume.is_zero() && !state.vessels.get(ready.to).wine.is_empty();
        let planned = !other || state.is_planned_move(ready.from, ready.to);
        let suspect = if planned { None } else { state.asks_of_suspect(ready.from, ready.to) };
        let little = plausible::asks_of_little(state.vessels.get(ready.to), self.volume);
        let told = self.lees + self.loss;
        let lost = self.asks_of_lost(if self.volume.is_zero() { Volume::ZERO } else { told });
        let class = state.asks_of_class(ready.from, ready.to, self.volume);
        suspect.into_iter().chain(self.asks_of_step(state, ready)).chain(little).chain(lost).chain(class).collect()
    }

    fn bar(&self, state: &State, ready: &Self::Ready) -> Option<Refusal> {
        state.barred(&[ready.from, ready.to])
    }

    fn completed(&self, state: &State, ready: &ReadyMove, at: Moment) -> Option<What> {
        self.with_evaporation(state, state.vessels.get(ready.from), at).map(|moved| What::WineMoved(Box::new(moved)))
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, ready: ReadyMove) {
        let arrival = self.arrival(state, &ready);
        let turbidity = state.turbidity_of(ready.from);
        let lost = self.lost_from(state.vessels.get(ready.from));
        if matches!(self.purpose, Purpose::Racking | Purpose::Filtration) {
            state.rack_off_fining(ready.from, self.volume, lost, stamp.at);
        }
        let change = self.change(state, &ready);
        let before = state.vessels.get(ready.from).changes.clone();
        let is_racking = self.purpose == Purpose::Racking;
        state.remember_racked_from(self.purpose, ready.from, ready.to);
        if is_racking && self.empties {
            state.remember_racked(self, (ready.from, ready.to), stamp.at);
        }
        state.carry_suspicion(Some(ready.from), ready.to, self.volume, stamp.at);
        let source = state.vessels.get_mut(ready.from);
        source.evaporate(self.evaporated(source));
        // What the book has too little is booked before anything is drawn, so that every draw finds its wine.
        source.gain(self.leaves().saturating_sub(source.volume()));
        let wine = source.draw(self.volume, Entry::MovedOut, stamp.at);
        source.draw(self.lees, Entry::Lees, stamp.at);
        source.draw(self.loss, Entry::Handling, stamp.at);
        if self.empties && !source.wine.is_empty() {
            let left = source.volume();
            let cause = if is_racking { Entry::Lees } else { Entry::Handling };
            source.draw(left, cause, stamp.at);
        }
        source.history.remember(stamp, Event::MovedOut(self.volume));
        let target = state.vessels.get_mut(ready.to);
        target.pour(&wine, Entry::MovedIn, arrival, stamp.at);
        target.history.remember(stamp, Event::MovedIn(self.volume));
        if !self.volume.is_zero() {
            target.came_in.come(stamp.at, is_racking);
            target.inherit_changes(&before);
            state.wine_changed(ready.to, stamp, change);
        }
        let (from, to) = (ready.from, ready.to);
        if let Some((fits, stop)) = self.step(from, to) {
            let work = state.tick(stop, fits, self.volume);
            state.did_step(work, stop, stamp, (self.volume, Mass::ZERO));
        } else if self.purpose == Purpose::Filtration {
            state.remember_filtration(Filtration {
                at: stamp.at,
                from,
                to,
                lot: state.vessels.get(to).lot,
                moved: self.volume,
                lost,
                filter: self.filter.clone(),
                before: turbidity,
                after: None,
            });
        }
    }

    fn twice(&self, state: &State, ready: Option<&ReadyMove>, stamp: &Stamp) -> Option<Box<Twice>> {
        if self.again {
            return None;
        }
        let (from, to) = match ready {
            Some(ready) => (ready.from, ready.to),
            None => (state.vessel(&self.from).ok()?, state.vessel(&self.to).ok()?),
        };
        let (fits, stop) = self.step(from, to)?;
        let did = match self.purpose {
            Purpose::Racking => "racked",
            Purpose::BarrelDown => "filled",
            Purpose::Blend | Purpose::Filtration | Purpose::Other => "drawn from",
        };
        let label = &state.vessels.get(stop).label;
        twice(label, did, &state.stepped_elsewhere(stop, stamp, fits), (stamp, self.volume, Mass::ZERO))
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.to)
    }
}
