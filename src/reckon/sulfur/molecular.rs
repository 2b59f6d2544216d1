//! Molecular sulfur dioxide: the part of the free that protects against microbes, by one of two models.

use serde::{Deserialize, Serialize};

use super::oiv::{self, Beyond};
use super::wine::{MOLECULAR_MG_L, SULFUR_DIOXIDE_MG_L, SulfurError, Wine, within};

/// The constant of the plain table at every alcohol and temperature (University of California Cooperative Extension,
/// Enology Briefs, 1982).
const PLAIN_PK: f64 = 1.81;

/// How the molecular share is reckoned. The two differ by about a third at 13 % vol; mix none with the other.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Model {
    /// OIV-MA-AS323-04C: the constant hangs on alcohol and temperature.
    Oiv,
    /// The plain table, pK 1.81 by pH alone: what most cellars and laboratories use, hence our default (common
    /// practice). It asks for more sulfur dioxide than the OIV method, and so errs to the protected side.
    #[default]
    Plain,
}

impl Model {
    /// Both.
    pub const ALL: [Model; 2] = [Model::Oiv, Model::Plain];

    /// The short name, which stands beside every figure.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Model::Oiv => "oiv",
            Model::Plain => "plain",
        }
    }

    /// The model of a name.
    #[must_use]
    pub fn named(word: &str) -> Option<Model> {
        Model::ALL.into_iter().find(|model| model.word() == word)
    }
}

/// The balance of molecular and other free sulfur dioxide in one wine by one model.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance {
    model: Model,
    ph: f64,
    constant: f64,
    beyond: Option<Beyond>,
}

impl Balance {
    /// The balance in a wine. By the plain table alcohol and temperature need not be known; the OIV method needs both.
    pub fn new(model: Model, wine: Wine) -> Result<Balance, SulfurError> {
        let wine = wine.checked()?;
        let (constant, beyond) = match model {
            Model::Plain => (PLAIN_PK, None),
            Model::Oiv => {
                let alcohol = wine.alcohol_pct.ok_or(SulfurError::NoAlcohol)?;
                oiv::constant(alcohol, wine.temperature_c.ok_or(SulfurError::NoTemperature)?)?
            }
        };
        Ok(Balance { model, ph: wine.ph, constant, beyond })
    }

    /// By which model.
    #[must_use]
    pub const fn model(&self) -> Model {
        self.model
    }

    /// The constant, a pK: at a pH equal to it half of the free is molecular.
    #[must_use]
    pub const fn constant(&self) -> f64 {
        self.constant
    }

    /// Whether the model's table ended before this wine; it displays as what to say.
    #[must_use]
    pub const fn beyond(&self) -> Option<Beyond> {
        self.beyond
    }

    /// The molecular share of the free, 0 to 1: 1 / (1 + 10^(pH − pK)).
    #[must_use]
    pub fn share(&self) -> f64 {
        1.0 / (1.0 + libm::exp10(self.ph - self.constant))
    }

    /// Molecular sulfur dioxide at a free, mg/L.
    pub fn molecular_mg_l(&self, free_mg_l: f64) -> Result<f64, SulfurError> {
        within(free_mg_l, SULFUR_DIOXIDE_MG_L, SulfurError::Free).map(|free| free * self.share())
    }

    /// Free sulfur dioxide needed for a molecular, mg/L. At a high pH it may be more than any wine may hold: the limits
    /// are elsewhere.
    pub fn free_mg_l(&self, molecular_mg_l: f64) -> Result<f64, SulfurError> {
        within(molecular_mg_l, MOLECULAR_MG_L, SulfurError::Molecular).map(|molecular| molecular / self.share())
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn plain(ph: f64) -> Balance {
        Balance::new(Model::Plain, Wine { ph, alcohol_pct: None, temperature_c: None }).unwrap()
    }

    fn oiv(ph: f64, alcohol: f64, temperature: f64) -> Balance {
        Balance::new(Model::Oiv, Wine { ph, alcohol_pct: Some(alcohol), temperature_c: Some(temperature) }).unwrap()
    }

    /// Computed from the constants of OIV-MA-AS323-04C at 20 °C and 10 % vol.
    #[test]
    fn shares_by_the_oiv_method() {
        for (ph, percent) in [(3.0, 7.61), (3.5, 2.54), (3.8, 1.29)] {
            let share = oiv(ph, 10.0, 20.0).share() * 100.0;
            assert!((share - percent).abs() < 0.005, "pH {ph}: {share}");
        }
    }

    /// Table 3 of OIV-MA-AS323-04C at 20 °C, percent at 0, 5, 10, 15, 20 % vol, to the printed digit (from memory).
    #[test]
    fn the_first_lines_of_the_oiv_table_of_shares() {
        for (ph, line) in [
            (2.8, [7.73, 9.46, 11.55, 14.07, 17.09]),
            (2.9, [6.24, 7.66, 9.40, 11.51, 14.07]),
            (3.0, [5.02, 6.18, 7.61, 9.36, 11.51]),
        ] {
            for (alcohol, percent) in [0.0, 5.0, 10.0, 15.0, 20.0].into_iter().zip(line) {
                let share = oiv(ph, alcohol, 20.0).share() * 100.0;
                assert!((share - percent).abs() <= 0.0051, "pH {ph}, {alcohol} % vol: {share}, not {percent}");
            }
        }
    }

    /// University of California Cooperative Extension, Enology Briefs, 1982: free for a molecular, whole mg/L. At pH 3.2
    /// the source prints 21 for 0.8, where its own constant gives 20.4.
    #[test]
    fn the_plain_table_to_the_printed_digit() {
        let strong = [13.0, 16.0, 21.0, 26.0, 32.0, 40.0, 50.0, 63.0, 79.0, 99.0, 125.0];
        let mild = [8.0, 10.0, 13.0, 16.0, 20.0, 25.0, 31.0, 39.0, 49.0, 62.0, 78.0];
        for (at, (strong, mild)) in strong.into_iter().zip(mild).enumerate() {
            let balance = plain(3.0 + f64::from(u8::try_from(at).unwrap()) / 10.0);
            let found = (balance.free_mg_l(0.8).unwrap(), balance.free_mg_l(0.5).unwrap());
            let printed_strong = if at == 2 { 20.4 } else { strong };
            assert!((found.0 - printed_strong).abs() <= 0.5, "{found:?}, not {strong}");
            assert!((found.1 - mild).abs() <= 0.5, "{found:?}, not {mild}");
        }
    }

    /// Computed from both sources: 13 % vol, pH 3.6, 0.5 mg/L.
    #[test]
    fn the_models_differ_by_a_third() {
        let by = [oiv(3.6, 13.0, 20.0), plain(3.6)].map(|balance| balance.free_mg_l(0.5).unwrap());
        assert!((by[0] - 21.6).abs() < 0.05 && (by[1] - 31.3).abs() < 0.05, "{by:?}");
    }

    #[test]
    fn a_model_has_a_name_and_the_oiv_method_asks_for_more() {
        assert_eq!(Model::ALL.map(|model| Model::named(model.word())), Model::ALL.map(Some));
        assert_eq!(Model::named("other"), None);
        assert_eq!(Model::default(), Model::Plain);
        let wine = Wine { ph: 3.6, alcohol_pct: None, temperature_c: Some(20.0) };
        assert_eq!(Balance::new(Model::Oiv, wine), Err(SulfurError::NoAlcohol));
        let wine = Wine { ph: 3.6, alcohol_pct: Some(13.0), temperature_c: None };
        assert_eq!(Balance::new(Model::Oiv, wine), Err(SulfurError::NoTemperature));
        let wine = Wine { ph: 35.0, alcohol_pct: Some(140.0), temperature_c: None };
        assert_eq!(Balance::new(Model::Plain, wine), Err(SulfurError::Ph(35.0)));
        assert_eq!(oiv(3.6, 13.0, 12.0).beyond(), Some(Beyond::Colder));
        assert_eq!(oiv(3.6, 13.0, 12.0).share().to_bits(), oiv(3.6, 13.0, 20.0).share().to_bits());
    }

    #[test]
    fn what_cannot_be_in_wine_is_refused() {
        assert_eq!(plain(3.6).molecular_mg_l(-1.0), Err(SulfurError::Free(-1.0)));
        assert!(plain(3.6).molecular_mg_l(f64::NAN).is_err());
        assert_eq!(plain(3.6).free_mg_l(80.0), Err(SulfurError::Molecular(80.0)));
    }

    fn any_balance() -> impl Strategy<Value = (f64, f64, f64, Model)> {
        (2.5_f64..=5.0, 0.0_f64..=20.0, -5.0_f64..=40.0, prop_oneof![Just(Model::Oiv), Just(Model::Plain)])
    }

    fn balance((ph, alcohol, temperature, model): (f64, f64, f64, Model)) -> Balance {
        Balance::new(model, Wine { ph, alcohol_pct: Some(alcohol), temperature_c: Some(temperature) }).unwrap()
    }

    proptest! {
        #[test]
        fn molecular_is_part_of_the_free_and_back_again(it in any_balance(), free in 0.0_f64..=400.0) {
            let balance = balance(it);
            let molecular = balance.molecular_mg_l(free).unwrap();
            prop_assert!((0.0..=free).contains(&molecular));
            if molecular <= 10.0 {
                prop_assert!((balance.free_mg_l(molecular).unwrap() - free).abs() < 1e-9 * (1.0 + free));
            }
        }

        #[test]
        fn it_falls_with_ph_and_climbs_with_alcohol_and_warmth(it in any_balance(), more in 0.001_f64..1.0) {
            let share = balance(it).share();
            let (ph, alcohol, temperature, model) = it;
            prop_assert!(balance(((ph + more).min(5.0), alcohol, temperature, model)).share() <= share);
            prop_assert!(balance((ph, (alcohol + more).min(20.0), temperature, model)).share() >= share);
            prop_assert!(balance((ph, alcohol, (temperature + more).min(40.0), model)).share() >= share);
        }

        #[test]
        fn no_number_gives_what_is_none(ph in any::<f64>(), a in any::<Option<f64>>(), t in any::<Option<f64>>(), free in any::<f64>()) {
            for model in Model::ALL {
                if let Ok(balance) = Balance::new(model, Wine { ph, alcohol_pct: a, temperature_c: t }) {
                    prop_assert!((0.0..=1.0).contains(&balance.share()));
                    prop_assert!(balance.molecular_mg_l(free).is_ok_and(|it| it <= free) || balance.molecular_mg_l(free).is_err());
                }
            }
        }
    }
}
