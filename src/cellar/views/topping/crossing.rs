//! Crossing: wine of one lot tops barrels of another in a round. It is asked once for each lot of a round, before the first
//! litre, with what it does to the label.

use std::fmt;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::{LotId, RoundId, State, VesselId};
use crate::cellar::jobs::topping::round::Crossing;
use crate::cellar::views::topping::walk::topped;
use crate::units::{Volume, counted, litres, percent};

/// Wine of one lot that would top another.
#[derive(Clone, Debug, PartialEq)]
pub struct OtherWine {
    /// The vessel that it would come from.
    pub from: Label,
    /// Its lot.
    pub its: Label,
    /// The lot that it would come into.
    pub lot: Label,
    /// How many barrels of that lot are left in the round.
    pub barrels: usize,
    /// What they are expected to take.
    pub volume: Volume,
    /// What they hold, once they are full.
    pub of: Volume,
    /// What the lot could then no longer say, like `vintage 2024`.
    pub lost: Vec<String>,
}

impl fmt::Display for OtherWine {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let OtherWine { from, its, lot, barrels, .. } = self;
        let litres = litres(self.volume);
        let share = percent(1, self.volume.as_litres() / self.of.as_litres().max(f64::MIN_POSITIVE));
        let barrels = counted(*barrels, "barrel");
        write!(f, "{from} holds {its}, not {lot}: {litres} for {barrels} of {lot}, {share} of their wine; ")?;
        match self.lost.as_slice() {
            [] => write!(f, "no claim is lost."),
            lost => write!(f, "{lot} would lose: {}.", lost.join(", ")),
        }
    }
}

impl State {
    /// What is asked before wine of a vessel is poured into a barrel: whether its lot may top the barrel's in the round that is
    /// open there. None where it is the same lot, or where it was said or done before in that round.
    pub(in crate::cellar) fn asks_before_pouring(
        &self,
        id: VesselId,
        from: VesselId,
        poured: Volume,
        at: Moment,
    ) -> Option<Question> {
        let vessel = self.vessels.get(id);
        let round = self.open_round_of(vessel).filter(|_| !poured.is_zero())?;
        self.asks_of_lots(round, from, vessel.lot?, (Some((id, poured)), at))
    }

    /// What is asked before a lot is topped from a vessel in a round.
    pub(in crate::cellar) fn asks_of_crossing(
        &self,
        round: RoundId,
        from: VesselId,
        lot: LotId,
        at: Moment,
    ) -> Option<Question> {
        self.asks_of_lots(round, from, lot, (None, at))
    }

    fn asks_of_lots(
        &self,
        round: RoundId,
        from: VesselId,
        lot: LotId,
        pouring: (Option<(VesselId, Volume)>, Moment),
    ) -> Option<Question> {
        let its = self.vessels.get(from).lot?;
        let was_said = its == lot || self.rounds.get(round).crossings.contains(&(its, lot));
        (!was_said).then(|| Question::OtherWine(Box::new(self.other_wine(round, from, (its, lot), pouring))))
    }

    /// What wine of a vessel would do to a lot: poured now into one barrel, and into those that are left in the round.
    fn other_wine(
        &self,
        round: RoundId,
        from: VesselId,
        (its, into): Crossing,
        (poured, at): (Option<(VesselId, Volume)>, Moment),
    ) -> OtherWine {
        let source = &self.vessels.get(from).label;
        let mut other = OtherWine {
            from: source.clone(),
            its: self.lots.get(its).label.clone(),
            lot: self.lots.get(into).label.clone(),
            barrels: 0,
            volume: Volume::ZERO,
            of: Volume::ZERO,
            lost: Vec::new(),
        };
        let mut toppings: Vec<What> = Vec::new();
        let now = poured.map(|(id, _)| id);
        let left = self.left_of(round, at).into_iter().filter(|&id| Some(id) != now);
        let left = left.map(|id| (id, self.expected_topping(self.vessels.get(id), at)));
        for (id, volume) in poured.into_iter().chain(left) {
            let vessel = self.vessels.get(id);
            if vessel.lot == Some(into) {
                other.barrels += 1;
                other.volume += volume;
                other.of += vessel.capacity;
                toppings.push(topped(&vessel.label, source, volume, true));
            }
        }
        let broken = self.broken_by(&toppings, at, self.practice.rules);
        for what in broken.iter().filter(|its| its.lot == other.lot).map(|its| its.before.what()) {
            if !other.lost.contains(&what) {
                other.lost.push(what);
            }
        }
        other
    }
}
