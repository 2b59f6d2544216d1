//! Accounts: what came and went, by cause, so that every litre is explained.

use serde::{Deserialize, Serialize};

use super::state::{LotId, RoomId};
use crate::units::Volume;

/// A line of an account: why a volume came or went.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Entry {
    /// Came into the book.
    Received,
    /// Was there though the book did not know it.
    Gain,
    /// Came from another vessel.
    MovedIn,
    /// Was added by a treatment.
    Treatment,
    /// Wine that already lay in a vessel took this lot's name.
    RenamedIn,
    /// A vessel with its wine came into this room.
    CarriedIn,
    /// Went to another vessel.
    MovedOut,
    /// Was missing at topping or gauging.
    Evaporation,
    /// The same, where nothing was written down when the vessel was last brimful: when it went is not known.
    Unrecorded,
    /// Left with the lees.
    Lees,
    /// Lost in pumps and hoses.
    Handling,
    /// Spilt.
    Spill,
    /// Seeped through the wood.
    Leak,
    /// Lost for another cause.
    Other,
    /// Drawn as a sample.
    Sample,
    /// Filled into bottles.
    Bottled,
    /// Lost at bottling.
    BottlingLoss,
    /// Left the house in bulk.
    Removed,
    /// Wine that lies in a vessel took another lot's name.
    RenamedOut,
    /// A vessel with its wine left this room.
    CarriedOut,
}

impl Entry {
    /// Every line, in the order of the fields of an account.
    pub const ALL: [Entry; ENTRIES] = [
        Entry::Received,
        Entry::Gain,
        Entry::MovedIn,
        Entry::Treatment,
        Entry::RenamedIn,
        Entry::CarriedIn,
        Entry::MovedOut,
        Entry::Evaporation,
        Entry::Unrecorded,
        Entry::Lees,
        Entry::Handling,
        Entry::Spill,
        Entry::Leak,
        Entry::Other,
        Entry::Sample,
        Entry::Bottled,
        Entry::BottlingLoss,
        Entry::Removed,
        Entry::RenamedOut,
        Entry::CarriedOut,
    ];

    /// The line in a word, as a ledger has it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Entry::Received => "received",
            Entry::Gain => "gain",
            Entry::MovedIn => "moved in",
            Entry::Treatment => "added",
            Entry::RenamedIn => "renamed into it",
            Entry::CarriedIn => "carried in",
            Entry::MovedOut => "moved out",
            Entry::Evaporation => "evaporated",
            Entry::Unrecorded => "unrecorded",
            Entry::Lees => "lees",
            Entry::Handling => "movement loss",
            Entry::Spill => "spilt",
            Entry::Leak => "leaked",
            Entry::Other => "other",
            Entry::Sample => "sampled",
            Entry::Bottled => "bottled",
            Entry::BottlingLoss => "at bottling",
            Entry::Removed => "bulk out",
            Entry::RenamedOut => "renamed away",
            Entry::CarriedOut => "carried out",
        }
    }

    /// Whether the line adds to what there is.
    #[must_use]
    pub const fn is_incoming(self) -> bool {
        matches!(
            self,
            Entry::Received | Entry::Gain | Entry::MovedIn | Entry::Treatment | Entry::RenamedIn | Entry::CarriedIn
        )
    }
}

const ENTRIES: usize = 20;

/// Sums by line since the beginning. The difference of an account at two moments is what happened between them.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Account {
    sums: [Volume; ENTRIES],
}

impl Account {
    /// Adds a volume to a line.
    pub fn add(&mut self, entry: Entry, volume: Volume) {
        self.sums[entry as usize] += volume;
    }

    /// The sum of a line.
    #[must_use]
    pub fn sum(&self, entry: Entry) -> Volume {
        self.sums[entry as usize]
    }

    /// Adds every line of another account.
    pub fn merge(&mut self, other: &Account) {
        for entry in Entry::ALL {
            self.add(entry, other.sum(entry));
        }
    }

    /// What happened since an earlier state of this account.
    #[must_use]
    pub fn since(&self, earlier: &Account) -> Account {
        let mut difference = Account::default();
        for entry in Entry::ALL {
            difference.sums[entry as usize] = self.sum(entry).saturating_sub(earlier.sum(entry));
        }
        difference
    }

    /// All that came less all that went, in microlitres: what there must be if there was nothing at first.
    #[must_use]
    pub fn balance(&self) -> i128 {
        Entry::ALL
            .iter()
            .map(|&entry| {
                let volume = i128::from(self.sum(entry).as_ul());
                if entry.is_incoming() { volume } else { -volume }
            })
            .sum()
    }
}

/// The part of a vessel's account that was booked while it held one lot and lay in one room.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Posting {
    /// The lot that was in the vessel.
    pub lot: Option<LotId>,
    /// The room that the vessel lay in.
    pub room: Option<RoomId>,
    /// What was booked.
    pub account: Account,
}

impl Posting {
    fn is_of(&self, lot: Option<LotId>, room: Option<RoomId>) -> bool {
        self.lot == lot && self.room == room
    }
}

/// A vessel's account, by the lot it held and the room it lay in. The posting that is booked now lies within the vessel
/// itself: nearly every fact books there.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Postings {
    now: Posting,
    others: Vec<Posting>,
}

impl Postings {
    /// The account under a lot and a room, to be booked in.
    pub fn under(&mut self, lot: Option<LotId>, room: Option<RoomId>) -> &mut Account {
        if !self.now.is_of(lot, room) {
            let known = self.others.iter().position(|posting| posting.is_of(lot, room));
            let next = match known {
                Some(index) => self.others.remove(index),
                None => Posting { lot, room, account: Account::default() },
            };
            let before = std::mem::replace(&mut self.now, next);
            if before.account != Account::default() {
                self.others.push(before);
            }
        }
        &mut self.now.account
    }

    /// Every posting in which something was booked.
    pub fn iter(&self) -> impl Iterator<Item = &Posting> {
        let now = Some(&self.now).filter(|posting| posting.account != Account::default());
        self.others.iter().chain(now)
    }

    /// What was booked under a lot and a room, if anything was.
    #[must_use]
    pub fn find(&self, lot: Option<LotId>, room: Option<RoomId>) -> Option<&Posting> {
        self.iter().find(|posting| posting.is_of(lot, room))
    }

    /// The sum of a line in the posting that was booked last.
    #[must_use]
    pub fn latest(&self, entry: Entry) -> Volume {
        self.now.account.sum(entry)
    }
}
