//! The last few facts of a vessel, for its card.

use serde::{Deserialize, Serialize};
use smallvec::SmallVec;

use super::fact::{FactId, Stamp};
use super::moment::Moment;
use crate::cellar::jobs::books::loss::LossCause;
use crate::cellar::jobs::wood::care::Care;
use crate::units::{Mass, Volume};

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
    /// It was tested.
    Tested,
    /// Something was added.
    Treated(Mass),
    /// Its lees were stirred.
    Stirred,
    /// Gas was laid over its wine.
    Blanketed,
    /// Its empty wood was cared for.
    Cared(Care),
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
    /// Wine went into bottles.
    Bottled(Volume),
    /// Wine left the house in bulk.
    WineOut(Volume),
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

/// The last facts of a vessel. They lie within the vessel itself, and a new one takes the place of the oldest: a million
/// toppings are a million facts remembered.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct History {
    lines: SmallVec<[HistoryLine; REMEMBERED]>,
    /// Where the oldest stands, once there are as many as are remembered.
    oldest: u8,
}

impl History {
    /// Remembers a fact; the oldest is forgotten when there are too many.
    pub fn remember(&mut self, stamp: &Stamp, event: Event) {
        let line = HistoryLine { id: stamp.id.clone(), at: stamp.at, event };
        if self.lines.len() < REMEMBERED {
            self.lines.push(line);
            return;
        }
        let oldest = usize::from(self.oldest);
        self.lines[oldest] = line;
        self.oldest = u8::try_from((oldest + 1) % REMEMBERED).unwrap_or(0);
    }

    /// The last facts, oldest first.
    #[must_use]
    pub fn lines(&self) -> impl DoubleEndedIterator<Item = &HistoryLine> {
        let (newer, older) = self.lines.split_at(usize::from(self.oldest).min(self.lines.len()));
        older.iter().chain(newer)
    }

    /// Whether nothing is remembered.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cellar::core::fact::Device;

    #[test]
    fn the_last_six_are_remembered_in_their_order() {
        let device = Device::new("a").unwrap();
        let mut history = History::default();
        for n in 1..=20 {
            let stamp = Stamp::new(FactId { device: device.clone(), n }, Moment::new(0, 0));
            history.remember(&stamp, Event::Held);
            let numbers: Vec<u64> = history.lines().map(|line| line.id.n).collect();
            assert_eq!(numbers, (n.saturating_sub(5).max(1)..=n).collect::<Vec<u64>>());
        }
    }
}
