//! What is said of a barrel's headspace.

use crate::units::Volume;

/// What an estimate rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Basis {
    /// The book: the vessel is not one that is kept full.
    Book,
    /// A usual interval: when it was last topped was not written down.
    Unrecorded,
    /// The published rate: nothing is known of its room.
    Published,
    /// The climate that is stated of its room.
    Climate,
    /// The toppings of its room.
    Room,
    /// Mostly its own toppings.
    Own,
}

impl Basis {
    /// The words for it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Basis::Book => "by the book",
            Basis::Unrecorded => "last topping not known, if topped as usual",
            Basis::Published => "published rate",
            Basis::Climate => "room's climate",
            Basis::Room => "room's rate",
            Basis::Own => "own rate",
        }
    }
}

/// An estimate of what is missing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// What is missing; never more than the barrel holds.
    pub missing: Volume,
    /// Its standard deviation, as a topping will find it.
    pub deviation: Volume,
    /// What it rests on.
    pub basis: Basis,
}
