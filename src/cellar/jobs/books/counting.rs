//! The physical count: what people found in the vessels beside what is expected there.
//!
//! **A count is held against what is expected**, not against the book alone: three deviations of the headspace estimate, or a hundredth of
//! what the vessel can hold, are nothing to ask about. `full` says nothing that could be booked, unless more than a tenth is missing there
//! by the estimate: then it is a finding, and where the book has nothing the wine comes into it by a `wine_received` of its own origin.
//!
//! **As it should be, in a count, is full** (`State::as_it_should_be`), whatever the book says of the barrel: who counts blind cannot mean
//! "as in the book", and a full barrel that the book has empty is what a count is to find. An empty one is said to be so: `0`, of a whole
//! row with one key. A vessel that is not kept full is measured, or the count would copy the book.
//!
//! **A count of bins is blind**: its lines are the bins alone. A number without a lot code is of the code that was counted last, never of
//! the one that lies there on paper. A bin that is found empty holds none of what lies there on paper, and the page does not say which that
//! was.
//!
//! **A count keeps what was expected with what was found**, as of that moment (`Counted` in `State::counts`), so that wine that moved
//! afterwards changes no verdict; what moved since is counted again before it is booked. It begins with its first figure, in the same act,
//! so that one undo leaves nothing of it. Two laptops that begin a count of the same label and scope are in one count.

pub mod booking;
mod found;
pub mod keeping;

use std::collections::HashSet;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, Vessel, VesselId};
use crate::cellar::jobs::topping::gauging::{Expected, Gauged};
use crate::units::{ParseLengthError, ParseVolumeError, Volume, VolumeUnit, names_a_length, parse_millimetres};

/// So many deviations of the headspace estimate are nothing to ask about.
const ORDINARY_DEVIATIONS: u64 = 3;
/// Nor is so much of a hundred of what a vessel can hold: nobody reads a dip or a sight glass better (common practice).
const ORDINARY_PER_CENT: u64 = 1;
/// What is seen to be full holds at least so many hundredths of what it can: where less is expected, that is a finding (our
/// choice; a barrel that lacks a tenth was not topped for months).
const FULL_PER_CENT: u64 = 90;

/// What was found in a vessel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Found {
    /// As full as it is kept: nothing is measured.
    Full,
    /// So much.
    Volume(Volume),
}

/// Why words do not say what was found in a vessel.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum FoundError {
    /// They are no volume.
    #[error(transparent)]
    Volume(#[from] ParseVolumeError),
    /// They are no length.
    #[error(transparent)]
    Length(#[from] ParseLengthError),
    /// It cannot hold that.
    #[error(transparent)]
    Refused(#[from] Refusal),
}

impl Found {
    /// Reads what was found: `full`, `empty`, litres, or with a unit of length a dip.
    pub fn read(words: &str, vessel: &Vessel) -> Result<Found, FoundError> {
        let words = words.trim();
        if words.eq_ignore_ascii_case("full") {
            Ok(Found::Full)
        } else if words.eq_ignore_ascii_case("empty") {
            Ok(Found::Volume(Volume::ZERO))
        } else if names_a_length(words) {
            Found::by_dip(words, vessel)
        } else {
            Ok(Found::Volume(Volume::parse(words, VolumeUnit::customary())?))
        }
    }

    /// Reads the depth of the headspace under the bung, in millimetres unless another unit is said.
    pub fn by_dip(words: &str, vessel: &Vessel) -> Result<Found, FoundError> {
        let dip_mm = Some(parse_millimetres(words)?);
        let gauged = Gauged { vessel: vessel.label.clone(), volume: None, dip_mm, cause: None };
        Ok(Found::Volume(gauged.measured(vessel)?))
    }
}

/// What was found beside what is expected.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Verdict {
    /// Within what is ordinary.
    AsExpected,
    /// Less than expected.
    Short,
    /// More than expected.
    Over,
}

impl Verdict {
    /// The words for it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Verdict::AsExpected => "as expected",
            Verdict::Short => "short",
            Verdict::Over => "over",
        }
    }
}

/// A vessel that was counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Counted {
    /// Which vessel.
    pub vessel: VesselId,
    /// What the book says.
    pub book: Volume,
    /// What is expected there: the book less what is estimated to have evaporated since.
    pub expected: Volume,
    /// The standard deviation of that.
    pub deviation: Volume,
    /// What was found.
    pub found: Volume,
    /// Whether it was measured, or only seen to be full.
    pub measured: bool,
    /// What that means.
    pub verdict: Verdict,
}

impl Counted {
    /// Whether it says what the vessel holds: it was measured, or is full where that was not expected.
    #[must_use]
    pub fn tells(&self) -> bool {
        self.measured || self.verdict != Verdict::AsExpected
    }

    /// What it comes to in words.
    #[must_use]
    pub const fn words(&self) -> &'static str {
        if self.is_new_wine() { "not in the book" } else { self.verdict.words() }
    }

    /// Whether wine was found where the book has none.
    #[must_use]
    pub const fn is_new_wine(&self) -> bool {
        self.book.is_zero() && !self.found.is_zero()
    }
}

impl State {
    /// What is said of a vessel that is seen to be as it should be: full, where it is kept full, whatever the book says of it; a full
    /// barrel that the book has empty is what a count is to find. Any other vessel is to be measured, or the count would copy the book.
    #[must_use]
    pub fn as_it_should_be(&self, id: VesselId) -> Option<Found> {
        self.vessels.get(id).kept_full.then_some(Found::Full)
    }

    /// What was found in vessels beside what is expected there at a moment.
    #[must_use]
    pub fn compare_count(&self, counts: &[(VesselId, Found)], at: Moment) -> Vec<Counted> {
        counts.iter().map(|&(id, found)| self.compare_one(id, found, at)).collect()
    }

    pub(in crate::cellar) fn compare_one(&self, id: VesselId, found: Found, at: Moment) -> Counted {
        let vessel = self.vessels.get(id);
        let book = vessel.volume();
        let Expected { volume: expected, deviation, .. } = self.expected_in(vessel, at);
        let ordinary = Volume::from_ul(
            (deviation.as_ul() * ORDINARY_DEVIATIONS).max(vessel.capacity.as_ul() / 100 * ORDINARY_PER_CENT),
        );
        let (measured, found) = match found {
            Found::Full if expected.as_ul() < vessel.capacity.as_ul() / 100 * FULL_PER_CENT => (false, vessel.capacity),
            Found::Full => (false, expected),
            Found::Volume(volume) => (true, volume),
        };
        let verdict = match found {
            found if found + ordinary < expected => Verdict::Short,
            found if found > expected + ordinary => Verdict::Over,
            _ => Verdict::AsExpected,
        };
        Counted { vessel: id, book, expected, deviation, found, measured, verdict }
    }

    /// The vessels of a scope that hold wine by the book and were not counted, in walking order.
    #[must_use]
    pub fn uncounted(&self, scope: impl Fn(VesselId) -> bool, counts: &[(VesselId, Found)]) -> Vec<VesselId> {
        let counted: HashSet<VesselId> = counts.iter().map(|(id, _)| *id).collect();
        let holds = |id: &VesselId| !self.vessels.get(*id).wine.is_empty();
        self.in_walking_order().filter(holds).filter(|&id| scope(id) && !counted.contains(&id)).collect()
    }
}
