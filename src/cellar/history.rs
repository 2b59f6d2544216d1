//! The last few facts of a vessel, for its card.

use serde::{Deserialize, Serialize};

use super::fact::{FactId, Stamp};
use super::loss::LossCause;
use super::moment::Moment;
use crate::units::Volume;

/// How many facts a vessel's card remembers.
pub const REMEMBERED: usize = 6;

/// What happened to a vessel, in short.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Event {
    /// Filled to the brim.
    Topped(Volume),
    /// Some poured in, not to the brim.
    ToppedInPart(Volume),
    /// Wine came into the book.
    Received(Volume),
    /// Wine came from another vessel.
    MovedIn(Volume),
    /// Wine went to another vessel.
    MovedOut(Volume),
    /// What it holds was measured.
    Gauged(Volume),
    /// Wine was lost.
    Lost(Volume, LossCause),
    /// A sample was drawn.
    Sampled(Volume),
    /// It was tasted.
    Tasted(Option<f64>),
    /// It was held.
    Held,
    /// It was freed.
    Freed,
    /// It lies somewhere else.
    Placed,
    /// A round passed it by.
    Skipped,
    /// Words were written about it.
    Noted,
}

/// A fact of a vessel.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HistoryLine {
    /// Which fact.
    pub id: FactId,
    /// When.
    pub at: Moment,
    /// What.
    pub event: Event,
}

/// The last facts of a vessel, oldest first.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct History(Vec<HistoryLine>);

impl History {
    /// Remembers a fact; the oldest is forgotten when there are too many.
    pub fn remember(&mut self, stamp: &Stamp, event: Event) {
        if self.0.len() == REMEMBERED {
            self.0.remove(0);
        }
        self.0.push(HistoryLine { id: stamp.id.clone(), at: stamp.at, event });
    }

    /// The last facts, oldest first.
    #[must_use]
    pub fn lines(&self) -> &[HistoryLine] {
        &self.0
    }
}
