//! Who tastes which glass when: codes that tell nothing, flights of a size that people can taste, and for each taster an
//! order of their own, so that no glass gains or loses by where it stands or by what was tasted before it.
//!
//! Where everybody tastes all in one flight the orders are the rows of a Williams square. Where glasses are more than a
//! flight or than one person can taste, flights are balanced by exchange: every glass as often as any other, at every
//! place in a flight, in every flight of the day, behind and beside every other glass, as evenly as can be.

mod balance;
mod codes;
mod counts;
mod layout;
mod williams;

pub use balance::{Balance, Range};
pub use codes::{CODES, codes};
pub use layout::{Question, Serving, lay_out};
pub use williams::williams;

use thiserror::Error;

/// The most glasses of a flight and of a day: about 45 wines in three sittings of about 15 (OIV competition standard
/// 332A/2009, since replaced).
pub const FLIGHT: usize = 15;

/// The most glasses that a taster is given in a day, from the same standard.
pub const DAY: usize = 45;

/// Why glasses cannot be served.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ServingError {
    /// More codes than there are.
    #[error("there are {left} codes of three digits left that tell nothing, and {wanted} are wanted")]
    Codes {
        /// How many are wanted.
        wanted: usize,
        /// How many there are.
        left: usize,
    },
    /// Nobody or nothing.
    #[error("a panel needs at least one taster and one glass")]
    Nothing,
    /// A flight or a day of too few.
    #[error("a flight is of one glass at least, and so is a taster's day")]
    Flight,
    /// A repeat of something that is not there, of itself, or of two glasses.
    #[error(
        "glass {0} cannot repeat glass {1}: a repeat is another glass than the one that it repeats, and repeats one only"
    )]
    Repeat(usize, usize),
    /// A taster's day is shorter than a glass with its repeats.
    #[error(
        "a glass and its repeats are tasted by the same person, and {0} of them are more than the {1} that one may taste"
    )]
    RepeatsPerDay(usize, usize),
    /// Some glasses would be tasted by nobody.
    #[error(
        "{tasters} tasters of {most} glasses at the most cannot taste {glasses} glasses; ask for more tasters, more glasses each, or fewer glasses"
    )]
    Uncovered {
        /// How many glasses.
        glasses: usize,
        /// How many tasters.
        tasters: usize,
        /// How many glasses a taster tastes at the most.
        most: usize,
    },
}
