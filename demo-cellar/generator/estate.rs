//! The estate: its rooms, blocks and lots. All of it is invented.

use super::season::{CAVE, LONG, VAULT};

#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Colour {
    Red,
    White,
    Rose,
}

impl Colour {
    pub fn name(self) -> &'static str {
        match self {
            Colour::Red => "red",
            Colour::White => "white",
            Colour::Rose => "rose",
        }
    }

    /// What the wine leaves in the wood. Rosé is kept in wood like white and leaves no more than that.
    pub fn stain(self) -> &'static str {
        if self == Colour::Red { "red" } else { "white" }
    }
}

/// A row of a room: stacks of racks, a few of them kept one tier lower than they could be.
pub struct Row {
    pub name: char,
    pub stacks: u8,
    pub tiers: u8,
    pub sides: u8,
}

pub struct Room {
    pub name: &'static str,
    pub rows: &'static [Row],
    pub temperature_c: f64,
    pub humidity_pct: f64,
}

const fn row(name: char, stacks: u8, tiers: u8, sides: u8) -> Row {
    Row { name, stacks, tiers, sides }
}

pub const ROOMS: [Room; 3] = [
    Room {
        name: "long",
        rows: &[row('A', 9, 4, 2), row('B', 9, 4, 2), row('C', 9, 4, 2), row('D', 8, 3, 2)],
        temperature_c: 16.5,
        humidity_pct: 64.0,
    },
    Room { name: "cave", rows: &[row('E', 6, 3, 2), row('F', 6, 3, 2)], temperature_c: 12.5, humidity_pct: 88.0 },
    Room { name: "vault", rows: &[row('G', 3, 2, 4), row('H', 3, 2, 4)], temperature_c: 14.0, humidity_pct: 78.0 },
];

/// How many barrels of which shape a lot is kept in.
pub type Shapes = &'static [(&'static str, usize)];

/// An index into [`LOTS`].
pub type LotId = usize;

/// A lot, the block it comes from and how it is kept.
pub struct Lot {
    pub label: &'static str,
    pub block: &'static str,
    pub variety: &'static str,
    pub vintage: u16,
    pub colour: Colour,
    pub organic: bool,
    pub owner: Option<&'static str>,
    pub room: usize,
    pub shapes: Shapes,
    /// How many of its barrels are new.
    pub new: usize,
    /// Litres that stay in the tank for topping.
    pub reserve_l: u64,
    /// The day it comes into the tank, and the day it goes down into barrels.
    pub received: &'static str,
    pub down: &'static str,
    /// What it tastes like on the house's scale of twenty.
    pub class: f64,
}

impl Lot {
    pub fn barrels(&self) -> usize {
        self.shapes.iter().map(|(_, count)| count).sum()
    }

    /// The source of its wine, by block and year.
    pub fn origin(&self) -> String {
        format!("{} {}", self.block, self.vintage)
    }
}

/// A red lot of the estate's own land, to be varied.
const PLAIN: Lot = Lot {
    label: "",
    block: "",
    variety: "",
    vintage: 2024,
    colour: Colour::Red,
    organic: true,
    owner: None,
    room: LONG,
    shapes: &[],
    new: 0,
    reserve_l: 0,
    received: "",
    down: "",
    class: 14.0,
};

macro_rules! lot {
    ($label:literal, $block:literal, $variety:literal, $($field:ident: $value:expr),+) => {
        Lot { label: $label, block: $block, variety: $variety, $($field: $value,)+ ..PLAIN }
    };
}

/// The lot whose reserve fills the kegs in the first year.
pub const RIVER_FLAT: LotId = 6;
/// Racked in March 2026 and kept in the tank: it fills the kegs from then on.
pub const HARE_PATH: LotId = 3;
pub const LONG_WALL: LotId = 0;
pub const UPPER_TERRACE_24: LotId = 1;
pub const DOVECOTE: LotId = 2;
pub const MILL_FIELD: LotId = 4;
pub const STONY_ACRE: LotId = 5;
pub const CHAPEL_RISE: LotId = 7;
pub const QUARRY_EDGE: LotId = 8;
pub const UPPER_TERRACE: LotId = 9;
pub const LOW_MEADOW: LotId = 13;
pub const SPRING_GARDEN: LotId = 14;
pub const HOLLOW_LANE: LotId = 15;

#[rustfmt::skip] // a table, one lot a line or two
pub const LOTS: [Lot; 16] = [
    lot!("C24 Long Wall", "Long Wall", "Cabernet Sauvignon", shapes: &[("bordeaux", 26)], new: 12,
        received: "2025-05-21 08:10", down: "2025-05-22 07:30", class: 15.2),
    lot!("M24 Upper Terrace", "Upper Terrace", "Merlot", shapes: &[("bordeaux", 26)], new: 10,
        received: "2025-05-21 10:40", down: "2025-05-23 07:30", class: 15.0),
    lot!("F24 Dovecote", "Dovecote", "Cabernet Franc", shapes: &[("bordeaux", 12), ("burgundy", 8)], new: 5,
        received: "2025-05-21 14:00", down: "2025-05-26 07:30", class: 14.3),
    lot!("S24 Hare Path", "Hare Path", "Syrah", shapes: &[("hogshead", 8), ("bordeaux", 14)], new: 4,
        organic: false, owner: Some("Hare Path growers"),
        received: "2025-05-22 14:20", down: "2025-05-27 07:30", class: 13.4),
    lot!("M24 Mill Field", "Mill Field", "Merlot", room: CAVE, shapes: &[("bordeaux", 20)], new: 4,
        received: "2025-05-22 15:30", down: "2025-05-28 07:30", class: 13.6),
    lot!("P24 Stony Acre", "Stony Acre", "Petit Verdot", room: CAVE, shapes: &[("burgundy", 12)], new: 4,
        received: "2025-05-22 16:40", down: "2025-05-29 07:30", class: 14.4),
    lot!("C24 River Flat", "River Flat", "Cabernet Sauvignon", room: CAVE, shapes: &[("bordeaux", 8)], organic: false,
        reserve_l: 4_600, received: "2025-05-21 16:00", down: "2025-05-30 07:30", class: 12.6),
    lot!("C25 Chapel Rise", "Chapel Rise", "Cabernet Sauvignon", vintage: 2025, shapes: &[("bordeaux", 26)], new: 14,
        received: "2025-11-03 09:00", down: "2025-11-07 07:30", class: 15.6),
    lot!("C25 Quarry Edge", "Quarry Edge", "Cabernet Sauvignon", vintage: 2025, shapes: &[("bordeaux", 20)], new: 8,
        received: "2025-11-05 09:30", down: "2025-11-11 07:30", class: 14.6),
    lot!("M25 Upper Terrace", "Upper Terrace", "Merlot", vintage: 2025, shapes: &[("bordeaux", 28)], new: 12,
        reserve_l: 420, received: "2025-10-20 10:00", down: "2025-10-23 07:30", class: 15.1),
    lot!("F25 Orchard Side", "Orchard Side", "Cabernet Franc", vintage: 2025,
        shapes: &[("bordeaux", 12), ("burgundy", 8)], new: 6, owner: Some("Orchard Side tenants"),
        received: "2025-10-27 09:00", down: "2025-10-30 07:30", class: 14.2),
    lot!("S25 Ochre Bank", "Ochre Bank", "Syrah", vintage: 2025, shapes: &[("puncheon", 4), ("hogshead", 16)], new: 5,
        organic: false, received: "2025-11-10 09:00", down: "2025-11-14 07:30", class: 13.9),
    lot!("P25 Old Kiln", "Old Kiln", "Petit Verdot", vintage: 2025, room: VAULT, shapes: &[("bordeaux", 10)], new: 5,
        received: "2025-11-24 09:00", down: "2025-11-27 07:30", class: 14.5),
    lot!("D25 Low Meadow", "Low Meadow", "Malbec", vintage: 2025, room: VAULT, shapes: &[("bordeaux", 18)], new: 5,
        received: "2025-11-27 09:00", down: "2025-12-02 07:30", class: 13.8),
    lot!("W25 Spring Garden", "Spring Garden", "Chardonnay", vintage: 2025, colour: Colour::White, room: CAVE,
        shapes: &[("puncheon", 2), ("burgundy", 10)], new: 4, reserve_l: 360,
        received: "2025-10-14 09:00", down: "2025-10-16 07:30", class: 14.7),
    lot!("R25 Hollow Lane", "Hollow Lane", "Grenache", vintage: 2025, colour: Colour::Rose, room: VAULT,
        shapes: &[("hogshead", 6)], new: 2, reserve_l: 190,
        received: "2025-10-15 09:00", down: "2025-10-17 07:30", class: 13.7),
];

/// Tanks and kegs: label and litres.
pub const TANKS: [(&str, u64); 10] = [
    ("T1", 6_500),
    ("T2", 6_500),
    ("T3", 6_500),
    ("T4", 6_500),
    ("T5", 7_500),
    ("T6", 5_000),
    ("T7", 7_000),
    ("T8", 7_000),
    ("T9", 4_200),
    ("T10", 2_300),
];
pub const KEGS: [(&str, u64); 6] = [("K1", 80), ("K2", 100), ("K3", 100), ("K4", 50), ("K5", 50), ("K6", 60)];
pub const RED_KEGS: [&str; 4] = ["K2", "K1", "K6", "K3"];
/// Stand in the long room without wine: kept swelled for whatever comes.
pub const SPARE_BARRELS: usize = 14;
