//! What is said of things, each once, for the screen, the commands and paper alike: verdicts that more than one of them gives, what
//! stands below them, what may be meant by a label that nothing is called by, and the values that are taken where nobody says another.
//!
//! How an amount is written and what a thing is called of which there are several lies in `units`, since the cellar's own
//! sentences need it; what an act is refused or asked for lies with the cellar.

/// Where something is told: a sentence is the same at both, what helps is named as it is found there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// By a command.
    Desk,
    /// On the screen.
    Screen,
}

pub mod bench;
pub mod finish;
pub mod floor;
pub mod guide;
pub mod hazard;
pub mod losses;
pub mod meant;
pub mod oak;
pub mod tests;
pub mod topping;
pub mod usual;
