//! The acids of wine and its pH, by charge balance: what the strong cations (potassium before all) hold in excess of strong
//! anions is balanced by the anions of the weak acids and by hydrogen ions, `excess = Σ c·z(pH) − 10^−pH`.
//!
//! The excess is had from a wine's own pH and acids, mixes by volume, and gives back the pH of a blend ([`predict`]).
//!
//! Constants: lactic 3.87 and succinic 4.19 and 5.49 at 25 °C, 12 % vol and ionic strength 0.05 (Prenesti, Berto, Toso and
//! Daniele, Scientific World Journal 2012, 249041, table 4); tartaric 3.08 and 4.25, malic 3.46 and 5.05, acetic 4.72 at
//! 12 % vol (from memory). The same table has lactic 3.70 and succinic 4.03 and 5.32 in water: 0.014 a % vol for each of the
//! three, which is taken for every acid. From ionic strength 0.05 to 0.1 it has changes of −0.04, +0.01 and −0.10, and
//! −log of an activity coefficient is about 0.08 there: the constants of all acids together are taken to be known to
//! [`COMMON_DOUBT`]. Most of that falls out, because the same constants lead to the excess and back.

mod balance;
mod profile;

use thiserror::Error;

pub use balance::{Balance, Prediction, predict};
pub use profile::Profile;

/// A pH of wine, with room on both sides of what is met.
pub const PH: (f64, f64) = (2.5, 5.0);
/// Titratable acidity of wine as tartaric acid, g/L.
pub const TITRATABLE_G_L: (f64, f64) = (1.0, 20.0);
/// Alcohol for which the constants can stand, % vol: measured at 0 and 12, and carried on as far as dry table wine goes.
pub const ALCOHOL_PCT: (f64, f64) = (0.0, 16.0);
/// A single acid in wine, g/L.
pub const ACID_G_L: (f64, f64) = (0.0, 20.0);
/// The alcohol of the constants, which is also taken where it is not known, % vol.
pub const USUAL_ALCOHOL_PCT: f64 = 12.0;
/// By how much the logarithms of all constants together may be off.
pub const COMMON_DOUBT: f64 = 0.1;

/// The rise of a constant's logarithm by % vol of alcohol.
const BY_ALCOHOL: f64 = 0.014;
/// The pH to which titratable acidity is titrated (OIV-MA-AS313-01, from memory). To 8.2, as in the United States, it finds
/// 0.02 g/L more of these acids.
const END_POINT: f64 = 7.0;
/// Grams of tartaric acid that give a mole of hydrogen ions.
const TARTARIC_EQUIVALENT: f64 = 150.087 / 2.0;

/// An acid of the balance.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Acid {
    /// Tartaric.
    Tartaric,
    /// Malic.
    Malic,
    /// Lactic.
    Lactic,
    /// Succinic, which nobody tests; it stands for the rest too.
    Succinic,
    /// Acetic, which is the volatile acidity.
    Acetic,
}

impl Acid {
    /// All of them; a list by acid is in this order.
    pub const ALL: [Acid; 5] = [Acid::Tartaric, Acid::Malic, Acid::Lactic, Acid::Succinic, Acid::Acetic];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Acid::Tartaric => "tartaric",
            Acid::Malic => "malic",
            Acid::Lactic => "lactic",
            Acid::Succinic => "succinic",
            Acid::Acetic => "acetic",
        }
    }

    const fn grams_in_a_mole(self) -> f64 {
        match self {
            Acid::Tartaric => 150.087,
            Acid::Malic => 134.087,
            Acid::Lactic => 90.078,
            Acid::Succinic => 118.088,
            Acid::Acetic => 60.052,
        }
    }

    /// The logarithms of its constants at 12 % vol: of the first hydrogen, and of the second where it has one.
    const fn constants(self) -> (f64, Option<f64>) {
        match self {
            Acid::Tartaric => (3.08, Some(4.25)),
            Acid::Malic => (3.46, Some(5.05)),
            Acid::Lactic => (3.87, None),
            Acid::Succinic => (4.19, Some(5.49)),
            Acid::Acetic => (4.72, None),
        }
    }

    /// The negative charge that a mole of it carries at a pH.
    fn charge(self, ph: f64, medium: Medium) -> f64 {
        let moved = (medium.alcohol_pct - USUAL_ALCOHOL_PCT) * BY_ALCOHOL + medium.doubt;
        let lost = |constant: f64| libm::exp10(ph - constant - moved);
        let (first, second) = self.constants();
        let once = lost(first);
        let twice = second.map_or(0.0, |second| once * lost(second));
        (once + 2.0 * twice) / (1.0 + once + twice)
    }
}

/// What the constants hang on.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Medium {
    alcohol_pct: f64,
    /// By how much the logarithms of all constants are off.
    doubt: f64,
}

/// Acids in g/L, in the order of [`Acid::ALL`].
pub type Acids = [f64; Acid::ALL.len()];

/// A wine as far as its acids are known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wine {
    /// Its pH.
    pub ph: f64,
    /// Titratable acidity as tartaric acid, g/L.
    pub ta_g_l: Option<f64>,
    /// Alcohol, % vol.
    pub alcohol_pct: Option<f64>,
    /// The acids that were tested, g/L, in the order of [`Acid::ALL`].
    pub acids_g_l: [Option<f64>; Acid::ALL.len()],
    /// What is taken for those that were not.
    pub profile: Profile,
}

/// What no balance can be made of.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum AcidityError {
    /// No pH of wine.
    #[error("A pH of {0} is out of range for wine. Give it like 3.6, from 2.5 to 5.")]
    Ph(f64),
    /// No titratable acidity of wine.
    #[error("A titratable acidity of {0} g/L is out of range. Give it as tartaric acid, from 1 to 20 g/L.")]
    Titratable(f64),
    /// Alcohol for which the constants do not stand.
    #[error("Alcohol of {0} % vol is out of range for a balance of acids, whose constants stand from 0 to 16 % vol.")]
    Alcohol(f64),
    /// No amount of an acid in wine.
    #[error("{value} g/L of {} acid is out of range. Give g/L from 0 to 20.", acid.name())]
    Amount {
        /// Which acid.
        acid: Acid,
        /// What was said, g/L.
        value: f64,
    },
    /// A mixture of nothing.
    #[error("There is no wine to blend. Give at least one with a share above nothing.")]
    Nothing,
}

fn within(value: f64, (least, most): (f64, f64), error: impl FnOnce(f64) -> AcidityError) -> Result<(), AcidityError> {
    if (least..=most).contains(&value) { Ok(()) } else { Err(error(value)) }
}

impl Wine {
    /// The wine, if all that is known of it can be believed.
    pub fn checked(self) -> Result<Wine, AcidityError> {
        within(self.ph, PH, AcidityError::Ph)?;
        self.ta_g_l.map_or(Ok(()), |it| within(it, TITRATABLE_G_L, AcidityError::Titratable))?;
        self.alcohol_pct.map_or(Ok(()), |it| within(it, ALCOHOL_PCT, AcidityError::Alcohol))?;
        for (acid, tested) in Acid::ALL.into_iter().zip(self.acids_g_l) {
            tested.map_or(Ok(()), |it| within(it, ACID_G_L, |value| AcidityError::Amount { acid, value }))?;
        }
        Ok(self)
    }

    /// The acids that were not tested.
    #[must_use]
    pub fn assumed(&self) -> Vec<Acid> {
        Acid::ALL.into_iter().zip(self.acids_g_l).filter(|(_, tested)| tested.is_none()).map(|(acid, _)| acid).collect()
    }
}
