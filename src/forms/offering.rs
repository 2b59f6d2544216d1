//! What the cellar itself offers for a field, where nothing is written in it.

use super::entry::Body;
use crate::cellar::core::state::{Round, State, Vessel};

/// What the cellar offers for a field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Offering {
    /// The vessel that the round of its room tops from, else the one that topped others last.
    ToppingVessel,
    /// The open round of its room, else the only one that is open.
    OpenRound,
    /// The same, but nothing where a work order is named instead.
    RoundUnlessWork,
    /// The room that a round is of.
    RoomOfRound,
}

impl Offering {
    /// What it is, for the help of a command.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Offering::ToppingVessel => "the vessel of the room's round, else the one that topped last",
            Offering::OpenRound | Offering::RoundUnlessWork => "the round that is open",
            Offering::RoomOfRound => "the room of the round",
        }
    }

    /// Whether it may be left out where the cellar has nothing to offer.
    pub(super) const fn may_be_left(self) -> bool {
        matches!(self, Offering::RoundUnlessWork)
    }

    /// What the cellar offers beside what is written already; nothing where it has nothing to offer.
    pub(super) fn find(self, state: &State, written: &Body) -> Option<String> {
        let vessel = said(written, "vessel").and_then(|label| state.vessels.by_label(label));
        match self {
            Offering::ToppingVessel => {
                let of_round = open_round(state, vessel).and_then(|round| round.source);
                let of_round = of_round.map(|id| state.vessels.get(id));
                of_round.or_else(|| topped_last(state, vessel)).map(|source| source.label.to_string())
            }
            Offering::RoundUnlessWork if said(written, "work").is_some_and(|work| !work.is_empty()) => None,
            Offering::OpenRound | Offering::RoundUnlessWork => {
                open_round(state, vessel).map(|round| round.label.to_string())
            }
            Offering::RoomOfRound => {
                let round = state.rounds.by_label(said(written, "round")?)?;
                Some(state.rooms.get(round.room).label.to_string())
            }
        }
    }
}

fn said<'a>(written: &'a Body, key: &str) -> Option<&'a str> {
    written.get(key).and_then(|value| value.as_str())
}

/// The open round of the room in which a vessel lies; where it lies in none, the only one that is open.
fn open_round<'a>(state: &'a State, vessel: Option<&Vessel>) -> Option<&'a Round> {
    let here = vessel.and_then(|vessel| vessel.slot).map(|slot| slot.room);
    let mut open = state.rooms.iter().filter(|(id, _)| here.is_none_or(|here| here == *id));
    let mut open = open.by_ref().filter_map(|(_, room)| room.open_round);
    let only = open.next().filter(|_| open.next().is_none());
    only.map(|round| state.rounds.get(round))
}

/// The vessel from which another was topped last, where it holds wine still.
fn topped_last<'a>(state: &'a State, but: Option<&Vessel>) -> Option<&'a Vessel> {
    let can = |vessel: &&Vessel| {
        !vessel.wine.is_empty() && vessel.retired.is_none() && but.is_none_or(|but| but.label != vessel.label)
    };
    let vessels = state.vessels.iter().map(|(_, vessel)| vessel).filter(can);
    let dated = vessels.filter_map(|vessel| vessel.topped_others.map(|at| (at.instant(), vessel)));
    dated.max_by_key(|(at, _)| *at).map(|(_, vessel)| vessel)
}
