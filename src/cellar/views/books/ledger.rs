//! The ledger: opening + what came = closing + what went, for any period, by vessel, lot, room or in all.

mod losses;

use rustc_hash::FxHashMap;

use crate::cellar::core::account::{Account, Entry};
use crate::cellar::core::state::{LotId, RoomId, State, Vessel, VesselId};
use crate::units::Volume;

pub use self::losses::{AgainstNorm, LOSSES, Losses, Period, Stored, ends_of_months};

/// What a ledger is divided by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Division {
    /// Not at all: the whole cellar.
    Whole,
    /// A row a vessel.
    Vessel,
    /// A row a lot.
    Lot,
    /// A row a room; what lies in none is one row.
    Room,
}

/// What a row is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Subject {
    /// The whole cellar.
    Whole,
    /// A vessel.
    Vessel(VesselId),
    /// A lot.
    Lot(Option<LotId>),
    /// A room.
    Room(Option<RoomId>),
}

/// A row of the ledger.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// What it is about.
    pub subject: Subject,
    /// What was there at the beginning.
    pub opening: Volume,
    /// What came and went.
    pub account: Account,
    /// What came from other vessels, with what took this lot's name or was carried into this room.
    pub moved_in: Volume,
    /// What went to other vessels, with what lost this lot's name or was carried out of this room.
    pub moved_out: Volume,
    /// What was there at the end.
    pub closing: Volume,
}

/// The lines of an account beside moves, with whether they add: what balances a row.
const PLAIN: [(Entry, bool); 14] = [
    (Entry::Received, true),
    (Entry::Gain, true),
    (Entry::Treatment, true),
    (Entry::Evaporation, false),
    (Entry::Unrecorded, false),
    (Entry::Lees, false),
    (Entry::Handling, false),
    (Entry::Spill, false),
    (Entry::Leak, false),
    (Entry::Other, false),
    (Entry::Sample, false),
    (Entry::Bottled, false),
    (Entry::BottlingLoss, false),
    (Entry::Removed, false),
];

impl Row {
    /// Whether opening + what came = closing + what went, to the microlitre.
    #[must_use]
    pub fn balances(&self) -> bool {
        let signed = |volume: Volume| i128::from(volume.as_ul());
        let plain: i128 = PLAIN
            .iter()
            .map(|&(entry, adds)| if adds { signed(self.account.sum(entry)) } else { -signed(self.account.sum(entry)) })
            .sum();
        signed(self.opening) + plain + signed(self.moved_in) - signed(self.moved_out) == signed(self.closing)
    }
}

/// The ledger from one state to a later one of the same fold. Rows of nothing but zeros are left out, but for the whole.
#[must_use]
pub fn ledger(opening: &State, closing: &State, division: Division) -> Vec<Row> {
    let mut rows: FxHashMap<Subject, Row> = FxHashMap::default();
    if division == Division::Whole {
        row(&mut rows, Subject::Whole);
    }
    for (id, lot, room, account) in accounts(opening, closing) {
        row(&mut rows, subject(division, id, lot, room)).account.merge(&account);
    }
    for (id, vessel) in closing.vessels.iter() {
        let before = earlier(opening, id);
        let room = |slot: Option<crate::cellar::core::state::Slot>| slot.map(|slot| slot.room);
        row(&mut rows, subject(division, id, vessel.lot, room(vessel.slot))).closing += vessel.volume();
        if let Some(before) = before {
            row(&mut rows, subject(division, id, before.lot, room(before.slot))).opening += before.volume();
        }
    }
    let mut rows: Vec<Row> = rows.into_values().map(|row| with_moves(row, division)).collect();
    rows.retain(|row| division == Division::Whole || *row != empty(row.subject));
    rows.sort_by_key(|row| row.subject);
    rows
}

/// What was booked between two states, by vessel and the lot and room that it was booked under.
fn accounts<'a>(
    opening: &'a State,
    closing: &'a State,
) -> impl Iterator<Item = (VesselId, Option<LotId>, Option<RoomId>, Account)> + 'a {
    closing.vessels.iter().flat_map(move |(id, vessel)| {
        let before = earlier(opening, id);
        vessel.postings.iter().map(move |posting| {
            let known = before.and_then(|vessel| vessel.postings.find(posting.lot, posting.room));
            let account = match known {
                Some(known) => posting.account.since(&known.account),
                None => posting.account.clone(),
            };
            (id, posting.lot, posting.room, account)
        })
    })
}

/// A vessel in an earlier state. Ids are given in the order of the fold, so that it is known there by the same id or not at
/// all.
fn earlier(opening: &State, id: VesselId) -> Option<&Vessel> {
    (crate::cellar::core::table::Id::index(id) < opening.vessels.len()).then(|| opening.vessels.get(id))
}

fn subject(division: Division, vessel: VesselId, lot: Option<LotId>, room: Option<RoomId>) -> Subject {
    match division {
        Division::Whole => Subject::Whole,
        Division::Vessel => Subject::Vessel(vessel),
        Division::Lot => Subject::Lot(lot),
        Division::Room => Subject::Room(room),
    }
}

fn empty(subject: Subject) -> Row {
    Row {
        subject,
        opening: Volume::ZERO,
        account: Account::default(),
        moved_in: Volume::ZERO,
        moved_out: Volume::ZERO,
        closing: Volume::ZERO,
    }
}

fn row(rows: &mut FxHashMap<Subject, Row>, subject: Subject) -> &mut Row {
    rows.entry(subject).or_insert_with(|| empty(subject))
}

/// A new name moves wine from lot to lot, a forklift from room to room; neither moves it from vessel to vessel.
fn with_moves(mut row: Row, division: Division) -> Row {
    let sum = |entry| row.account.sum(entry);
    let (also_in, also_out) = match division {
        Division::Lot => (sum(Entry::RenamedIn), sum(Entry::RenamedOut)),
        Division::Room => (sum(Entry::CarriedIn), sum(Entry::CarriedOut)),
        Division::Whole | Division::Vessel => (Volume::ZERO, Volume::ZERO),
    };
    row.moved_in = sum(Entry::MovedIn) + also_in;
    row.moved_out = sum(Entry::MovedOut) + also_out;
    row
}
