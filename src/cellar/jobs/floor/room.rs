//! A room laid out: its rows, stacks, tiers and sides, its climate, and how often it is walked.

use serde::{Deserialize, Serialize};

use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::place::{Place, RackPlace};
use crate::cellar::core::plausible;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{Room, Slot, State};
use crate::reckon::headspace::{Climate, RoomRate};
use crate::units::Volume;

/// The fact `room_laid_out`: a room and its places.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoomLaidOut {
    /// The room's label.
    pub room: Label,
    /// Its rows, in the order in which they stand.
    pub rows: Vec<RowLaidOut>,
    /// Mean temperature, °C.
    #[serde(default)]
    pub temperature_c: Option<f64>,
    /// Mean relative humidity, %.
    #[serde(default)]
    pub humidity_pct: Option<f64>,
    /// Days between two rounds of this room; the house's where it is not said.
    #[serde(default)]
    pub round_days: Option<u32>,
    /// The headspace that makes a barrel due at once.
    #[serde(default, rename = "tolerated_ul")]
    pub tolerated: Option<Volume>,
}

/// A row of a room: a run of stacks.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RowLaidOut {
    /// The row's label.
    pub row: Label,
    /// How many stacks stand in it.
    pub stacks: u16,
    /// How many tiers a stack has.
    pub tiers: u16,
    /// How many barrels a rack cradles: 2 or 4.
    pub sides: u8,
}

impl RowLaidOut {
    /// How many barrels the row has places for.
    #[must_use]
    pub fn places(&self) -> usize {
        usize::from(self.stacks) * usize::from(self.tiers) * usize::from(self.sides)
    }

    fn is_sound(&self) -> bool {
        (1..=999).contains(&self.stacks)
            && (1..=9).contains(&self.tiers)
            && matches!(self.sides, 2 | 4)
            && !self.row.as_str().contains('/')
    }
}

/// The most places a room may have.
const MOST_PLACES: usize = 100_000;
/// The most rows a room may have: a place is looked for row by row.
const MOST_ROWS: usize = 1_000;

impl Job for RoomLaidOut {
    type Ready = ();

    fn ready(&self, _state: &State) -> Result<(), Refusal> {
        if self.rows.len() > MOST_ROWS {
            return Err(Refusal::RoomTooLarge(self.room.clone()));
        }
        let names_differ =
            self.rows.iter().enumerate().all(|(at, row)| self.rows[..at].iter().all(|earlier| earlier.row != row.row));
        if self.rows.is_empty() || !names_differ || !self.rows.iter().all(RowLaidOut::is_sound) {
            return Err(Refusal::BadLayout(self.room.clone()));
        }
        if self.rows.iter().map(RowLaidOut::places).sum::<usize>() > MOST_PLACES {
            return Err(Refusal::RoomTooLarge(self.room.clone()));
        }
        in_range("A temperature", self.temperature_c, -30.0, 60.0)?;
        in_range("A humidity", self.humidity_pct, 0.0, 100.0)?;
        in_range("An interval in days", self.round_days.map(f64::from), 1.0, 3650.0)
    }

    /// A room may be laid out anew (rows added, another climate) as long as every barrel in it keeps its place.
    fn doubt(&self, state: &State, (): &()) -> Option<Refusal> {
        let room = state.rooms.by_label(self.room.as_str())?;
        let planned = self.room_on(room);
        (0..room.slots.len()).find_map(|slot| {
            let vessel = room.slots[slot]?;
            let place = room.place(slot)?;
            planned
                .slot(&place)
                .is_none()
                .then(|| Refusal::PlaceLost { vessel: state.vessels.get(vessel).label.clone(), place })
        })
    }

    fn slip(&self, _state: &State, (): &()) -> Option<Refusal> {
        let tolerated = self.tolerated.and_then(|tolerated| {
            plausible::doubt_volume("A tolerated headspace", tolerated, &plausible::TOLERATED, "1 to 5 L")
        });
        let driest = plausible::DRIEST_PCT;
        tolerated.or_else(|| plausible::doubt_little("A humidity", self.humidity_pct, driest, "60 to 90 %"))
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, (): ()) {
        let Some(id) = state.rooms.find(self.room.as_str()) else {
            state.rooms.add(self.new_room());
            return;
        };
        let old = state.rooms.get(id).clone();
        // It may be laid out anew by a name that it had before.
        let mut room = Room { label: old.label.clone(), ..self.room_on(&old) };
        for (slot, vessel) in old.slots.iter().enumerate().filter_map(|(slot, vessel)| Some((slot, (*vessel)?))) {
            let kept = old.place(slot).and_then(|place| room.slot(&place));
            if let Some(index) = kept {
                room.slots[index] = Some(vessel);
            }
            let slot = kept.map(|index| Slot { room: id, index: u32::try_from(index).unwrap_or(u32::MAX) });
            state.change_rooms(vessel, slot.map(|slot| slot.room), stamp.at);
            state.vessels.get_mut(vessel).carry(slot);
            state.keep_unplaced(vessel);
        }
        *state.rooms.get_mut(id) = room;
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.room)
    }
}

impl RoomLaidOut {
    fn new_room(&self) -> Room {
        Room {
            label: self.room.clone(),
            rows: self.rows.clone(),
            temperature_c: self.temperature_c,
            humidity_pct: self.humidity_pct,
            round_days: self.round_days,
            tolerated: self.tolerated,
            slots: vec![None; self.rows.iter().map(RowLaidOut::places).sum()],
            open_round: None,
            evaporation_found: Volume::ZERO,
            barrel_minutes: 0,
            rate: RoomRate::new(&Climate { temperature_c: self.temperature_c, humidity_pct: self.humidity_pct }),
        }
    }

    /// The room as it is laid out now, still empty, with what is known of it from before.
    fn room_on(&self, old: &Room) -> Room {
        let (temperature_c, humidity_pct) =
            (self.temperature_c.or(old.temperature_c), self.humidity_pct.or(old.humidity_pct));
        // What its toppings have said goes before what is stated of its air.
        let learned = old.rate.seen() > 0;
        Room {
            temperature_c,
            humidity_pct,
            rate: if learned { old.rate } else { RoomRate::new(&Climate { temperature_c, humidity_pct }) },
            round_days: self.round_days.or(old.round_days),
            tolerated: self.tolerated.or(old.tolerated),
            open_round: old.open_round,
            evaporation_found: old.evaporation_found,
            barrel_minutes: old.barrel_minutes,
            ..self.new_room()
        }
    }
}

/// Refuses a number outside its range, not-a-number too.
pub(in crate::cellar) fn in_range(
    what: &'static str,
    value: Option<f64>,
    least: f64,
    most: f64,
) -> Result<(), Refusal> {
    match value {
        Some(value) if !(least..=most).contains(&value) => {
            Err(Refusal::OutOfRange { what, value: value.to_string(), least, most })
        }
        _ => Ok(()),
    }
}

impl Room {
    /// How many places the rows before a row have.
    fn slots_before(&self, row: usize) -> usize {
        self.rows[..row].iter().map(RowLaidOut::places).sum()
    }

    /// The index of the first slot of a rack, and how many sides it has.
    #[must_use]
    pub fn rack_slots(&self, rack: &RackPlace) -> Option<std::ops::Range<usize>> {
        let row = self.rows.iter().position(|row| row.row == rack.row)?;
        self.rack_slots_at(row, rack.stack, rack.tier)
    }

    /// The slots of a rack, by the row's position, the stack and the tier (both from 1).
    #[must_use]
    pub fn rack_slots_at(&self, row: usize, stack: u16, tier: u16) -> Option<std::ops::Range<usize>> {
        let laid = self.rows.get(row)?;
        if !(1..=laid.stacks).contains(&stack) || !(1..=laid.tiers).contains(&tier) {
            return None;
        }
        let rack = usize::from(stack - 1) * usize::from(laid.tiers) + usize::from(tier - 1);
        let start = self.slots_before(row) + rack * usize::from(laid.sides);
        Some(start..start + usize::from(laid.sides))
    }

    /// The slot of a place.
    #[must_use]
    pub fn slot(&self, place: &Place) -> Option<usize> {
        let rack = self.rack_slots(&place.rack)?;
        (usize::from(place.side) < rack.len()).then(|| rack.start + usize::from(place.side))
    }

    /// The place that a slot is.
    #[must_use]
    pub fn place(&self, slot: usize) -> Option<Place> {
        let mut rest = slot;
        for laid in &self.rows {
            if rest < laid.places() {
                let sides = usize::from(laid.sides);
                let (rack, side) = (rest / sides, rest % sides);
                let tiers = usize::from(laid.tiers);
                let number = |index: usize| u16::try_from(index + 1).unwrap_or(u16::MAX);
                return Some(Place {
                    rack: RackPlace {
                        room: self.label.clone(),
                        row: laid.row.clone(),
                        stack: number(rack / tiers),
                        tier: number(rack % tiers),
                    },
                    side: u8::try_from(side).unwrap_or(u8::MAX),
                });
            }
            rest -= laid.places();
        }
        None
    }
}
