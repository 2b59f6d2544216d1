//! What is taken for acids that nobody tested.

use super::{Acid, Wine};

/// From so much malic acid on, a wine has not gone through malolactic fermentation, g/L (common practice calls it finished
/// from 0.1 to 0.3 down).
const MALIC_LEFT: f64 = 0.5;

/// What kind of wine it is, as far as its acids go.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Profile {
    /// Malolactic fermentation has ended, as in nearly every red.
    #[default]
    AfterMalolactic,
    /// It never ran, as in many whites.
    NoMalolactic,
}

impl Profile {
    /// The words for it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Profile::AfterMalolactic => "a wine after malolactic fermentation",
            Profile::NoMalolactic => "a wine without malolactic fermentation",
        }
    }

    /// The usual range of an acid, g/L. Without malolactic fermentation: what six whites held (Prenesti, Berto, Toso and
    /// Daniele, Scientific World Journal 2012, 249041, table 1). After it: the usual span of reds in textbooks, from memory.
    #[must_use]
    pub const fn range(self, acid: Acid) -> (f64, f64) {
        match (self, acid) {
            (Profile::AfterMalolactic, Acid::Tartaric) => (1.2, 3.0),
            (Profile::AfterMalolactic, Acid::Malic) => (0.0, 0.3),
            (Profile::AfterMalolactic, Acid::Lactic) => (0.8, 2.6),
            (Profile::AfterMalolactic, Acid::Succinic) => (0.5, 1.5),
            (Profile::AfterMalolactic, Acid::Acetic) => (0.3, 0.7),
            (Profile::NoMalolactic, Acid::Tartaric) => (1.7, 4.2),
            (Profile::NoMalolactic, Acid::Malic) => (0.4, 3.0),
            (Profile::NoMalolactic, Acid::Lactic) => (0.4, 1.1),
            (Profile::NoMalolactic, Acid::Succinic) => (0.2, 0.9),
            (Profile::NoMalolactic, Acid::Acetic) => (0.2, 0.7),
        }
    }
}

impl Wine {
    /// The profile to go by: a test of malic acid knows better than what was said.
    #[must_use]
    pub fn believed_profile(&self) -> Profile {
        match self.acids_g_l[Acid::Malic as usize] {
            Some(malic) if malic >= MALIC_LEFT => Profile::NoMalolactic,
            Some(_) => Profile::AfterMalolactic,
            None => self.profile,
        }
    }
}
