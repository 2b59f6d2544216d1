//! What a blend will be: what mixes by volume, and the pH, which does not.
//!
//! Alcohol, titratable acidity to a fixed end point, each acid, sugar, potassium and total sulfur dioxide are amounts in a
//! litre: they mix by volume. Contraction between table wines is negligible. Free sulfur dioxide mixes so at the most: what
//! one wine still binds of the other's is not known beforehand. The pH is had by charge balance (see
//! [`acidity`](super::acidity)).
//!
//! **The pH of a blend** is sampled 400 times from one seed over the acids that nobody tested and over the common doubt of the constants;
//! scaled to the titratable acidity where that is known. Succinic acid is in no fact: it is always assumed, and stands for the rest.

mod square;

use thiserror::Error;

pub use square::{SquareError, litres_to_reach, pearson_square};

use super::acidity::{self, AcidityError, Prediction, Profile};

/// Something that mixes by volume.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Quantity {
    /// Alcohol, % vol.
    Alcohol,
    /// Titratable acidity, as tartaric acid.
    TitratableAcidity,
    /// Volatile acidity, as acetic acid.
    VolatileAcidity,
    /// Sugar.
    Sugar,
    /// Total sulfur dioxide.
    TotalSo2,
    /// Free sulfur dioxide.
    FreeSo2,
    /// Malic acid.
    Malic,
    /// Lactic acid.
    Lactic,
    /// Tartaric acid.
    Tartaric,
    /// Potassium.
    Potassium,
}

impl Quantity {
    /// All of them, in the order in which they are shown.
    pub const ALL: [Quantity; 10] = [
        Quantity::Alcohol,
        Quantity::TitratableAcidity,
        Quantity::VolatileAcidity,
        Quantity::Sugar,
        Quantity::FreeSo2,
        Quantity::TotalSo2,
        Quantity::Malic,
        Quantity::Lactic,
        Quantity::Tartaric,
        Quantity::Potassium,
    ];

    /// Its name in a sentence.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Quantity::Alcohol => "alcohol",
            Quantity::TitratableAcidity => "titratable acidity",
            Quantity::VolatileAcidity => "volatile acidity",
            Quantity::Sugar => "sugar",
            Quantity::TotalSo2 => "total SO2",
            Quantity::FreeSo2 => "free SO2",
            Quantity::Malic => "malic acid",
            Quantity::Lactic => "lactic acid",
            Quantity::Tartaric => "tartaric acid",
            Quantity::Potassium => "potassium",
        }
    }

    /// Its name in the exchange format, which says the unit.
    #[must_use]
    pub const fn field(self) -> &'static str {
        match self {
            Quantity::Alcohol => "alcohol_pct",
            Quantity::TitratableAcidity => "ta_g_l",
            Quantity::VolatileAcidity => "va_g_l",
            Quantity::Sugar => "sugar_g_l",
            Quantity::TotalSo2 => "total_so2_mg_l",
            Quantity::FreeSo2 => "free_so2_mg_l",
            Quantity::Malic => "malic_g_l",
            Quantity::Lactic => "lactic_g_l",
            Quantity::Tartaric => "tartaric_g_l",
            Quantity::Potassium => "potassium_mg_l",
        }
    }

    /// The unit of its values.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Quantity::Alcohol => "% vol",
            Quantity::TotalSo2 | Quantity::FreeSo2 | Quantity::Potassium => "mg/L",
            _ => "g/L",
        }
    }

    /// Whether the mean by volume is only the most that there can be.
    #[must_use]
    pub const fn is_upper_bound(self) -> bool {
        matches!(self, Quantity::FreeSo2)
    }

    /// Beyond this it is a slip of the hand or of the unit (our choice, wide).
    const fn most(self) -> f64 {
        match self {
            Quantity::Alcohol => 25.0,
            Quantity::TitratableAcidity => 30.0,
            Quantity::VolatileAcidity => 10.0,
            Quantity::Sugar => 600.0,
            Quantity::TotalSo2 | Quantity::FreeSo2 => 1_000.0,
            Quantity::Malic | Quantity::Lactic | Quantity::Tartaric => 20.0,
            Quantity::Potassium => 5_000.0,
        }
    }
}

/// A wine, as far as it was tested.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Wine {
    /// Its pH.
    pub ph: Option<f64>,
    /// By quantity, in its unit; see [`Wine::of`].
    values: [Option<f64>; Quantity::ALL.len()],
    /// What is taken for acids that were not tested.
    pub profile: Profile,
}

impl Wine {
    /// A wine of which no more than its pH, if that, and its kind are known.
    #[must_use]
    pub const fn of_ph(ph: Option<f64>, profile: Profile) -> Wine {
        Wine { ph, values: [None; Quantity::ALL.len()], profile }
    }

    /// What was found of one thing.
    #[must_use]
    pub const fn of(&self, quantity: Quantity) -> Option<f64> {
        self.values[quantity as usize]
    }

    /// The wine with what was found of one thing.
    #[must_use]
    pub const fn with(mut self, quantity: Quantity, value: Option<f64>) -> Wine {
        self.values[quantity as usize] = value;
        self
    }

    /// The wine as the balance of acids sees it; none where its pH is not known.
    #[must_use]
    pub fn acidity(&self) -> Option<acidity::Wine> {
        Some(acidity::Wine {
            ph: self.ph?,
            ta_g_l: self.of(Quantity::TitratableAcidity),
            alcohol_pct: self.of(Quantity::Alcohol),
            acids_g_l: [
                self.of(Quantity::Tartaric),
                self.of(Quantity::Malic),
                self.of(Quantity::Lactic),
                None,
                self.of(Quantity::VolatileAcidity),
            ],
            profile: self.profile,
        })
    }

    /// Whether what was found can be believed; `at` is which wine of the blend it is.
    fn check(&self, at: usize) -> Result<(), BlendError> {
        for quantity in Quantity::ALL {
            let most = quantity.most();
            if let Some(value) = self.of(quantity).filter(|value| !(0.0..=most).contains(value)) {
                return Err(BlendError::OutOfRange { wine: at, quantity, value });
            }
        }
        if let Some(ph) = self.ph.filter(|ph| !(acidity::PH.0..=acidity::PH.1).contains(ph)) {
            return Err(BlendError::Ph { wine: at, ph });
        }
        match (self.of(Quantity::FreeSo2), self.of(Quantity::TotalSo2)) {
            (Some(free), Some(total)) if free > total => Err(BlendError::FreeAboveTotal { wine: at, free, total }),
            _ => Ok(()),
        }
    }
}

/// Why no blend can be reckoned. Wines are counted from 0 here, and from 1 in the sentence.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum BlendError {
    /// More wines than are reckoned.
    #[error("A blend of {0} wines is not reckoned. Give at most 10000, and put alike wines together.")]
    TooMany(usize),
    /// There is nothing to blend.
    #[error("There is no wine to blend. Give at least one with a share above nothing.")]
    Nothing,
    /// An amount that is none.
    #[error("The amount of wine {} is {amount}. Give litres or a share from 0.", wine + 1)]
    Amount {
        /// Of which wine.
        wine: usize,
        /// What was said.
        amount: f64,
    },
    /// A value that no wine has.
    #[error("{value} {} of {} in wine {} is out of range. Give {} from 0 to {}.", quantity.unit(), quantity.name(), wine + 1, quantity.unit(), quantity.most())]
    OutOfRange {
        /// Which wine.
        wine: usize,
        /// Of what.
        quantity: Quantity,
        /// What was said.
        value: f64,
    },
    /// A pH that no wine has.
    #[error("A pH of {ph} in wine {} is out of range. Give it like 3.6, from 2.5 to 5.", wine + 1)]
    Ph {
        /// Which wine.
        wine: usize,
        /// What was said.
        ph: f64,
    },
    /// More is free than there is.
    #[error("In wine {} a free SO2 of {free} mg/L is above the total of {total} mg/L. Check both, and their order.", wine + 1)]
    FreeAboveTotal {
        /// Which wine.
        wine: usize,
        /// Free, mg/L.
        free: f64,
        /// Total, mg/L.
        total: f64,
    },
}

/// What a blend has of one thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Blended {
    /// Of what.
    pub quantity: Quantity,
    /// The mean by volume; none where a wine that takes part was not tested for it.
    pub value: Option<f64>,
    /// The wines that were not.
    pub lacking: Vec<usize>,
}

/// What can be said of a blend's pH.
#[derive(Clone, Debug, PartialEq)]
pub enum BlendedPh {
    /// By charge balance.
    Predicted(Prediction),
    /// These wines have no tested pH.
    Lacking(Vec<usize>),
    /// This wine's acids are beyond what the balance stands for.
    Beyond(usize, AcidityError),
}

impl BlendedPh {
    /// The predicted pH; none where it is not known.
    #[must_use]
    pub const fn value(&self) -> Option<f64> {
        match self {
            BlendedPh::Predicted(prediction) => Some(prediction.ph),
            BlendedPh::Lacking(_) | BlendedPh::Beyond(..) => None,
        }
    }
}

/// The pH is reckoned some hundred times, each time of every wine: of more wines it would take seconds.
const MOST_WINES: usize = 10_000;

/// What a blend will be.
#[derive(Clone, Debug, PartialEq)]
pub struct Blend {
    /// What mixes by volume, in the order of [`Quantity::ALL`].
    pub values: Vec<Blended>,
    /// Its pH.
    pub ph: BlendedPh,
}

impl Blend {
    /// Reckons a blend of wines in some amounts: litres, or shares. A wine of which there is nothing lacks nothing.
    pub fn of(parts: &[(f64, Wine)]) -> Result<Blend, BlendError> {
        if parts.len() > MOST_WINES {
            return Err(BlendError::TooMany(parts.len()));
        }
        for (at, (amount, wine)) in parts.iter().enumerate() {
            if !amount.is_finite() || *amount < 0.0 {
                return Err(BlendError::Amount { wine: at, amount: *amount });
            }
            wine.check(at)?;
        }
        let taking_part: Vec<(usize, f64, Wine)> = (0..)
            .zip(parts)
            .filter(|(_, (amount, _))| *amount > 0.0)
            .map(|(at, (amount, wine))| (at, *amount, *wine))
            .collect();
        let whole: f64 = taking_part.iter().map(|(_, amount, _)| amount).sum();
        if !(whole.is_finite() && whole > 0.0) {
            return Err(BlendError::Nothing);
        }
        let values = Quantity::ALL.into_iter().map(|quantity| mixed(&taking_part, whole, quantity)).collect();
        Ok(Blend { values, ph: ph(&taking_part) })
    }

    /// What it has of one thing; none where that is not known.
    #[must_use]
    pub fn value(&self, quantity: Quantity) -> Option<f64> {
        self.values.iter().find(|it| it.quantity == quantity).and_then(|it| it.value)
    }
}

fn mixed(parts: &[(usize, f64, Wine)], whole: f64, quantity: Quantity) -> Blended {
    let lacking: Vec<usize> =
        parts.iter().filter(|(_, _, wine)| wine.of(quantity).is_none()).map(|(at, ..)| *at).collect();
    let sum: f64 = parts.iter().filter_map(|(_, amount, wine)| Some(amount / whole * wine.of(quantity)?)).sum();
    Blended { quantity, value: lacking.is_empty().then_some(sum), lacking }
}

fn ph(parts: &[(usize, f64, Wine)]) -> BlendedPh {
    let known: Vec<(f64, acidity::Wine)> =
        parts.iter().filter_map(|(_, amount, wine)| Some((*amount, wine.acidity()?))).collect();
    if known.len() < parts.len() {
        let lacking = parts.iter().filter(|(_, _, wine)| wine.ph.is_none()).map(|(at, ..)| *at).collect();
        return BlendedPh::Lacking(lacking);
    }
    let beyond = parts.iter().zip(&known).find_map(|((at, ..), (_, wine))| Some((*at, wine.checked().err()?)));
    match (beyond, acidity::predict(&known)) {
        (Some((at, error)), _) => BlendedPh::Beyond(at, error),
        (None, Ok(prediction)) => BlendedPh::Predicted(prediction),
        (None, Err(error)) => BlendedPh::Beyond(parts[0].0, error),
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn wine(ph: f64, alcohol: f64, titratable: f64) -> Wine {
        Wine { ph: Some(ph), ..Wine::default() }
            .with(Quantity::Alcohol, Some(alcohol))
            .with(Quantity::TitratableAcidity, Some(titratable))
    }

    #[test]
    fn what_mixes_by_volume_is_the_mean_by_volume() {
        let blend = Blend::of(&[(300.0, wine(3.5, 13.0, 6.0)), (100.0, wine(3.7, 14.0, 5.2))]).unwrap();
        assert!((blend.value(Quantity::Alcohol).unwrap() - 13.25).abs() < 1e-12);
        assert!((blend.value(Quantity::TitratableAcidity).unwrap() - 5.8).abs() < 1e-12);
        assert!(blend.ph.value().is_some_and(|ph| ph > 3.5 && ph < 3.7), "{blend:?}");
    }

    #[test]
    fn what_one_wine_lacks_is_not_known_of_the_blend() {
        let untested = Wine::default().with(Quantity::Alcohol, Some(12.0));
        let blend = Blend::of(&[(1.0, wine(3.5, 13.0, 6.0)), (1.0, untested)]).unwrap();
        assert_eq!(blend.value(Quantity::Alcohol), Some(12.5));
        let titratable = blend.values.iter().find(|it| it.quantity == Quantity::TitratableAcidity).unwrap();
        assert_eq!((titratable.value, titratable.lacking.as_slice()), (None, &[1][..]));
        assert_eq!(blend.ph, BlendedPh::Lacking(vec![1]));
        // A wine of which nothing comes in is not asked.
        let alone = Blend::of(&[(1.0, wine(3.5, 13.0, 6.0)), (0.0, untested)]).unwrap();
        assert_eq!(alone.value(Quantity::TitratableAcidity), Some(6.0));
    }

    #[test]
    fn fortified_wine_mixes_but_has_no_predicted_ph() {
        let blend = Blend::of(&[(1.0, wine(3.5, 13.0, 6.0)), (1.0, wine(3.6, 19.0, 5.0))]).unwrap();
        assert_eq!(blend.value(Quantity::Alcohol), Some(16.0));
        assert_eq!(blend.ph, BlendedPh::Beyond(1, AcidityError::Alcohol(19.0)));
    }

    #[test]
    fn what_cannot_be_is_said_with_its_wine() {
        let good = wine(3.5, 13.0, 6.0);
        assert_eq!(Blend::of(&[]), Err(BlendError::Nothing));
        assert_eq!(Blend::of(&vec![(1.0, good); MOST_WINES + 1]), Err(BlendError::TooMany(MOST_WINES + 1)));
        assert_eq!(Blend::of(&[(0.0, good)]), Err(BlendError::Nothing));
        assert!(matches!(Blend::of(&[(f64::NAN, good)]), Err(BlendError::Amount { wine: 0, .. })));
        let told = Blend::of(&[(1.0, good), (1.0, wine(3.5, 130.0, 6.0))]).unwrap_err().to_string();
        assert_eq!(told, "130 % vol of alcohol in wine 2 is out of range. Give % vol from 0 to 25.");
        assert!(matches!(Blend::of(&[(1.0, wine(35.0, 13.0, 6.0))]), Err(BlendError::Ph { wine: 0, .. })));
        let mixed_up = good.with(Quantity::FreeSo2, Some(80.0)).with(Quantity::TotalSo2, Some(30.0));
        assert!(Blend::of(&[(1.0, mixed_up)]).unwrap_err().to_string().contains("above the total"));
        assert!(Blend::of(&[(1.0, good.with(Quantity::Sugar, Some(f64::NAN)))]).is_err());
    }

    #[test]
    fn only_free_sulfur_dioxide_is_an_upper_bound() {
        assert_eq!(Quantity::ALL.into_iter().filter(|it| it.is_upper_bound()).collect::<Vec<_>>(), [Quantity::FreeSo2]);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn no_blend_is_beyond_its_wines(
            amounts in prop::collection::vec(0.0_f64..1e6, 1..8),
            alcohols in prop::collection::vec(0.0_f64..25.0, 8),
        ) {
            prop_assume!(amounts.iter().sum::<f64>() > 0.0);
            let parts: Vec<(f64, Wine)> = amounts
                .iter()
                .zip(&alcohols)
                .map(|(amount, alcohol)| (*amount, Wine::default().with(Quantity::Alcohol, Some(*alcohol))))
                .collect();
            let value = Blend::of(&parts).unwrap().value(Quantity::Alcohol).unwrap();
            let its = || parts.iter().filter(|(amount, _)| *amount > 0.0).map(|(_, wine)| wine.of(Quantity::Alcohol).unwrap());
            prop_assert!(value >= its().fold(f64::MAX, f64::min) - 1e-9 && value <= its().fold(0.0, f64::max) + 1e-9);
        }
    }
}
