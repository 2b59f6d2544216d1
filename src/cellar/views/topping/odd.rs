//! Odd barrels of a round: those that somebody should look at before they are topped like the rest.
//!
//! **Odd barrels** (`cellar/views/topping/odd.rs`) are compared with the barrels of their lot in the room as they were when the round came
//! to them: of those that are done the card's memory says when they were full before, and their mark what they took. So the median stands
//! still while a round is walked. Nobody overlooks a barrel before its own interval is over, nor within a week; where some of its lot are
//! topped oftener, as new wood is, those of its own interval must say so too.

use std::fmt;

use rustc_hash::FxHashMap;

use super::plan::Stop;
use crate::cellar::core::history::Event;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::{LotId, RoomId, Round, RoundId, State, Vessel, VesselId};
use crate::cellar::jobs::topping::round::Mark;
use crate::reckon::due::SOAKING_ROUND_DAYS;
use crate::units::{Volume, by_count, counted, figure_to, litres};

/// What is odd is more than so many times what is usual among the neighbours …
const TIMES: f64 = 2.0;
/// … and at least so much more of wine: below a litre it is the hand's …
const MORE: Volume = Volume::from_litres(1);
/// … or longer than the barrel's own interval, and than the shortest one: sooner than that nobody has overlooked a barrel.
const LEAST_DAYS: i64 = SOAKING_ROUND_DAYS as i64;
/// Where more than one barrel in so many is odd, it is the round that is, and they are topped like the rest once that was said.
const FEW: usize = 10;
/// What is usual is told by at least half as many barrels of a lot as this, and by at most so many.
const LOOKED_AT: usize = 50;
/// So many barrels are named.
const NAMED: usize = 3;

/// Why a barrel is odd.
#[derive(Clone, Debug, PartialEq)]
pub enum Odd {
    /// It takes so many times what it should.
    Weeps(f64),
    /// Its wine is suspect, with why.
    Suspect(String),
    /// It was not topped for so many days, twice as many as the barrels of its lot in the median.
    Overlooked {
        /// Days since it was full.
        days: i64,
        /// The median of its lot in the room.
        usual: f64,
    },
    /// It is expected to take twice what its neighbours do.
    Thirsty {
        /// What it is expected to take.
        expected: Volume,
        /// The median of its neighbours: of its lot in the room, first fills among themselves.
        usual: Volume,
    },
}

impl fmt::Display for Odd {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Odd::Weeps(times) => write!(f, "takes {} times what it should", figure_to(1, *times)),
            Odd::Suspect(why) => write!(f, "suspect: {why}"),
            Odd::Overlooked { days, usual } => {
                write!(f, "not topped for {}, its lot for {usual:.0}", counted(*days, "day"))
            }
            Odd::Thirsty { expected, usual } => {
                write!(f, "down {} by the estimate, its neighbours {}", litres(*expected), litres(*usual))
            }
        }
    }
}

/// Odd barrels that are many in a round.
#[derive(Clone, Debug, PartialEq)]
pub struct ManyOdd {
    /// The first of them, with why.
    pub named: Vec<(Label, Odd)>,
    /// How many there are.
    pub count: usize,
    /// Of how many barrels.
    pub of: usize,
}

impl fmt::Display for ManyOdd {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let named: Vec<String> = self.named.iter().map(|(label, odd)| format!("{label} ({odd})")).collect();
        let more = match self.count - self.named.len() {
            0 => String::new(),
            more => format!(" and {more} more"),
        };
        write!(
            f,
            "{} of {} {} out: {}{more}. A whole rack, stack or row then tops them like the rest.",
            self.count,
            counted(self.of, "barrel"),
            by_count(self.count, "stands", "stand"),
            named.join(", ")
        )
    }
}

/// What is usual among the barrels of a room.
pub(in crate::cellar) struct Neighbours<'a> {
    state: &'a State,
    room: RoomId,
    round: Option<&'a Round>,
    at: Moment,
    days: FxHashMap<(Option<LotId>, Option<u32>), Option<f64>>,
    takes: FxHashMap<(Option<LotId>, bool), Option<f64>>,
}

impl Neighbours<'_> {
    /// Why a barrel is odd; none where it is like the rest.
    pub(in crate::cellar) fn odd(&mut self, id: VesselId) -> Option<Odd> {
        let state = self.state;
        let vessel = state.vessels.get(id);
        if let Some(leak) = state.leak(vessel) {
            return Some(Odd::Weeps(leak.times));
        }
        if let Some(why) = state.suspect_words(vessel) {
            return Some(Odd::Suspect(why));
        }
        if let Some(overlooked) = self.overlooked(vessel) {
            return Some(overlooked);
        }
        // Of what was not written down nothing can be odd.
        if vessel.kept_since.is_some() {
            return None;
        }
        let expected = state.expected_topping(vessel, self.at);
        // What lacks no more than that cannot lack so much more than its neighbours, which then need no estimate.
        if expected < MORE {
            return None;
        }
        let usual = Volume::nearest_to_litres(self.usual_litres(vessel.lot, vessel.is_first_fill())?);
        let is_thirsty = expected.as_litres() > TIMES * usual.as_litres() && expected >= usual + MORE;
        is_thirsty.then_some(Odd::Thirsty { expected, usual })
    }

    /// Whether a barrel has not been topped for twice as long as its lot, its own interval being over. Where some of the lot are
    /// topped oftener, as new wood is, those with its own interval must say so too, or two of its intervals be over.
    fn overlooked(&mut self, vessel: &Vessel) -> Option<Odd> {
        let interval = self.state.interval_days(vessel);
        let days = self.state.days_since_full(vessel, self.at)?;
        if days <= LEAST_DAYS.max(i64::from(interval)) {
            return None;
        }
        let usual = self.usual_days(vessel.lot, None)?;
        let is_long = |usual: f64| days as f64 > TIMES * usual;
        let overlooked = is_long(usual)
            && (is_long(f64::from(interval)) || self.usual_days(vessel.lot, Some(interval)).is_some_and(is_long));
        overlooked.then_some(Odd::Overlooked { days, usual })
    }

    /// The barrels of a lot in the room that are alike. Of a very large lot some from everywhere say what is usual: each of them
    /// costs more than a look, and a key waits for it.
    fn of_lot(&self, lot: Option<LotId>, is_alike: impl Fn(&Vessel) -> bool) -> Vec<VesselId> {
        let state = self.state;
        let lying = state.rooms.get(self.room).slots.iter().flatten().copied();
        let alike = lying.filter(|&id| {
            let vessel = state.vessels.get(id);
            vessel.lot == lot && state.is_to_be_topped(vessel) && is_alike(vessel)
        });
        let alike: Vec<VesselId> = alike.collect();
        let every = alike.len() / LOOKED_AT + 1;
        alike.into_iter().step_by(every).collect()
    }

    /// For how many days the barrels of a lot have not been topped, those of one interval or all.
    fn usual_days(&mut self, lot: Option<LotId>, interval: Option<u32>) -> Option<f64> {
        if let Some(known) = self.days.get(&(lot, interval)) {
            return *known;
        }
        let alike = self.of_lot(lot, |it| interval.is_none_or(|interval| self.state.interval_days(it) == interval));
        let days = alike.into_iter().filter_map(|id| self.days_before(id)).map(|days| days as f64).collect();
        *self.days.entry((lot, interval)).or_insert(median(days))
    }

    fn usual_litres(&mut self, lot: Option<LotId>, first_fill: bool) -> Option<f64> {
        if let Some(known) = self.takes.get(&(lot, first_fill)) {
            return *known;
        }
        let alike = self.of_lot(lot, |it| it.is_first_fill() == first_fill);
        let takes = alike.into_iter().map(|id| self.takes(id).as_litres()).collect();
        *self.takes.entry((lot, first_fill)).or_insert(median(takes))
    }

    fn mark(&self, id: VesselId) -> Option<Mark> {
        self.round?.marks.get(&id).copied()
    }

    /// What a barrel takes in this round: what it took, else what is expected.
    fn takes(&self, id: VesselId) -> Volume {
        match self.mark(id) {
            Some(Mark::Topped(volume) | Mark::Thirsty(volume)) => volume,
            _ => self.state.expected_topping(self.state.vessels.get(id), self.at),
        }
    }

    /// For how many days a barrel had not been topped when this round came to it: what is done already would else make the rest
    /// look overlooked. None where its card no longer remembers.
    fn days_before(&self, id: VesselId) -> Option<i64> {
        if self.round.is_some_and(|round| round.unrecorded.contains(&id)) {
            return None;
        }
        let vessel = self.state.vessels.get(id);
        let Some(round) = self.round.filter(|_| matches!(self.mark(id), Some(Mark::Topped(_)))) else {
            return self.state.days_since_full(vessel, self.at);
        };
        let full = vessel.history.lines().rev().find(|line| {
            let fills = matches!(line.event, Event::Topped(_) | Event::MovedIn(_) | Event::Received(_));
            fills && line.at.instant() < round.begun.instant()
        })?;
        Some(self.at.days_since(full.at))
    }
}

/// The median; none of nothing.
fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let middle = values.len() / 2;
    let upper = *values.get(middle)?;
    Some(if values.len() % 2 == 1 { upper } else { f64::midpoint(*values.get(middle.checked_sub(1)?)?, upper) })
}

impl State {
    /// Looks at a room, and at the round that is under way there, so that each barrel can be told odd or not.
    pub(in crate::cellar) fn neighbours(&self, room: RoomId, at: Moment) -> Neighbours<'_> {
        let round = self.rooms.get(room).open_round.map(|round| self.rounds.get(round));
        Neighbours { state: self, room, round, at, days: FxHashMap::default(), takes: FxHashMap::default() }
    }

    /// Why a barrel of a round is to be looked at before it is topped; none where it is like the rest, and where it was said
    /// of the round that so many are odd that they are topped like the rest.
    #[must_use]
    pub fn odd(&self, round: RoundId, barrel: VesselId, at: Moment) -> Option<Odd> {
        let round = self.rounds.get(round);
        if round.odd_too { None } else { self.neighbours(round.room, at).odd(barrel) }
    }

    /// The odd ones among the stops of a plan.
    pub(in crate::cellar) fn odd_among(&self, room: RoomId, stops: &[Stop], at: Moment) -> Vec<(VesselId, Odd)> {
        let mut neighbours = self.neighbours(room, at);
        stops.iter().filter_map(|stop| neighbours.odd(stop.vessel).map(|odd| (stop.vessel, odd))).collect()
    }

    /// The odd ones of a plan in words, the first few by name; none where none is.
    #[must_use]
    pub fn odd_words(&self, odd: &[(VesselId, Odd)]) -> Option<String> {
        let first = odd.iter().take(NAMED).map(|(id, why)| format!("{} ({why})", self.vessels.get(*id).label));
        let more = odd.len().saturating_sub(NAMED);
        let names: Vec<String> = first.chain((more > 0).then(|| format!("{more} more"))).collect();
        (!names.is_empty()).then(|| format!("Look at these first: {}.", names.join(", ")))
    }

    /// What is asked before a round tops odd barrels like the rest; none where none is odd.
    pub(in crate::cellar) fn asks_of_many_odd(
        &self,
        room: RoomId,
        source: Option<VesselId>,
        at: Moment,
    ) -> Option<Question> {
        let plan = self.plan_round_from(room, source, at);
        let named = |(id, why): &(VesselId, Odd)| (self.vessels.get(*id).label.clone(), why.clone());
        let named = plan.odd.iter().take(NAMED).map(named).collect();
        let many = ManyOdd { named, count: plan.odd.len(), of: plan.stops.len() };
        (many.count > 0).then(|| Question::ManyOdd(Box::new(many)))
    }
}

/// Whether so many odd barrels are many among all of a round.
#[must_use]
pub const fn are_many(odd: usize, of: usize) -> bool {
    odd * FEW > of
}
