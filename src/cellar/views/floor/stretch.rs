//! A stretch of the floor: a rack, a stack or a row that one key tops, and what of it is left out, with why.

use std::ops::Range;

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RoundId, State, VesselId};
use crate::cellar::views::topping::odd::Odd;
use crate::cellar::views::topping::walk::Hose;

/// So many barrels are named for each reason; of more only the count.
const NAMED: usize = 3;

/// Why a barrel that is still to be done is not topped by one key with others.
#[derive(Clone, Debug, PartialEq)]
pub enum LeftOut {
    /// The plan tops it from another vessel.
    From(VesselId),
    /// No vessel of its colour holds enough for it.
    NoVessel,
    /// Somebody should look at it first.
    Odd(Odd),
}

/// What one key tops of a stretch of the floor, and what of it is left for later.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stretch {
    /// The barrels that the plan tops from the vessel in hand, in walking order.
    pub topped: Vec<VesselId>,
    /// The others that are still to be done, in walking order, with why they are left out.
    pub left_out: Vec<(VesselId, LeftOut)>,
}

/// Some names, the first few of them.
pub(in crate::cellar) fn few(names: &[String]) -> String {
    let more = names.len().saturating_sub(NAMED);
    let first = names.iter().take(NAMED).cloned();
    first.chain((more > 0).then(|| format!("{more} more"))).collect::<Vec<_>>().join(", ")
}

impl State {
    /// What of some slots one key tops: what is left there and is topped from the vessel in hand, as far as that goes.
    #[must_use]
    pub fn stretch(&self, round: RoundId, slots: Range<usize>, at: Moment) -> Stretch {
        let left = self.left_of(round, at);
        let mut supply = self.supply_of(round, &left, at);
        let mut neighbours =
            (!self.rounds.get(round).odd_too).then(|| self.neighbours(self.rounds.get(round).room, at));
        let mut stretch = Stretch::default();
        for id in self.left_in(round, slots, at) {
            match supply.hose(id) {
                Hose::InHand => {
                    if let Some(odd) = neighbours.as_mut().and_then(|neighbours| neighbours.odd(id)) {
                        stretch.left_out.push((id, LeftOut::Odd(odd)));
                        continue;
                    }
                    supply.draw_from_hand(self.expected_topping(self.vessels.get(id), at));
                    stretch.topped.push(id);
                }
                Hose::Other(from) => stretch.left_out.push((id, LeftOut::From(from))),
                Hose::None => stretch.left_out.push((id, LeftOut::NoVessel)),
            }
        }
        stretch
    }

    /// What a stretch leaves out, in words: how many for which reason, and the first of them by name; none where nothing is.
    #[must_use]
    pub fn left_out_words(&self, stretch: &Stretch) -> Option<String> {
        let mut reasons: Vec<(String, Vec<String>)> = Vec::new();
        for (id, why) in &stretch.left_out {
            let label = self.vessels.get(*id).label.to_string();
            let (words, name) = match why {
                LeftOut::From(from) => (format!("to top from {}", self.vessels.get(*from).label), label),
                LeftOut::NoVessel => ("for which no vessel of their colour holds enough".to_owned(), label),
                LeftOut::Odd(odd) => ("to look at first".to_owned(), format!("{label}: {odd}")),
            };
            match reasons.iter_mut().find(|(known, _)| *known == words) {
                Some((_, names)) => names.push(name),
                None => reasons.push((words, vec![name])),
            }
        }
        let told: Vec<String> =
            reasons.iter().map(|(why, names)| format!("{} {why} ({})", names.len(), few(names))).collect();
        (!told.is_empty()).then(|| format!("Left out: {}.", told.join("; ")))
    }

    /// From which vessel a barrel is topped that the one in hand does not top, in a sentence; none where that one does.
    #[must_use]
    pub fn hose_words(&self, barrel: VesselId, hose: Hose) -> Option<String> {
        let label = &self.vessels.get(barrel).label;
        match hose {
            Hose::InHand => None,
            Hose::Other(from) => Some(format!("{label} is topped from {}.", self.vessels.get(from).label)),
            Hose::None => Some(format!("No topping vessel of its colour holds enough for {label}.")),
        }
    }
}
