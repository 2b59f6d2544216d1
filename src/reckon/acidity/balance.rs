//! The balance of one wine, and the pH of a blend with what its assumed acids leave open.

use super::{Acid, AcidityError, Acids, COMMON_DOUBT, END_POINT, Medium, TARTARIC_EQUIVALENT, USUAL_ALCOHOL_PCT, Wine};
use crate::reckon::chance::Chance;

/// Assumed acids are scaled to what was titrated, but no further than this part of them and this many times.
const SCALED: (f64, f64) = (0.25, 4.0);
/// So often a blend is reckoned with other acids for those that are assumed.
const DRAWS: usize = 400;
/// The same blend has the same band for ever.
const SEED: u64 = 0x0ac1_d17e;
/// Half the step of pH over which a slope is taken.
const STEP: f64 = 0.01;
/// Nine of ten draws lie in the band.
const OUTSIDE: f64 = 0.05;

/// The charge balance of one wine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance {
    /// Its acids: those tested, and for the others the middle of what is usual, scaled to what was titrated.
    pub acids_g_l: Acids,
    /// Strong cations in excess of strong anions, mol/L.
    pub excess_mol_l: f64,
    /// How much strong base moves it by one pH, mol/L.
    pub buffer_mol_l: f64,
    /// Titratable acidity by these acids, as tartaric acid, g/L.
    pub titratable_g_l: f64,
    /// Whether no usual amount of the acids that were not tested accounts for what was titrated: a test may be wrong.
    pub strained: bool,
}

impl Balance {
    /// The balance of a wine.
    pub fn of(wine: &Wine) -> Result<Balance, AcidityError> {
        let wine = wine.checked()?;
        let medium = Medium { alcohol_pct: wine.alcohol_pct.unwrap_or(USUAL_ALCOHOL_PCT), doubt: 0.0 };
        let (acids, strained) = wine.filled(medium, || 0.5);
        let excess = excess(&acids, wine.ph, medium);
        let by_step = self::excess(&acids, wine.ph + STEP, medium) - self::excess(&acids, wine.ph - STEP, medium);
        Ok(Balance {
            acids_g_l: acids,
            excess_mol_l: excess,
            buffer_mol_l: by_step / (2.0 * STEP),
            titratable_g_l: (charge(&acids, END_POINT, medium) - excess) * TARTARIC_EQUIVALENT,
            strained,
        })
    }
}

/// The pH of a blend.
#[derive(Clone, Debug, PartialEq)]
pub struct Prediction {
    /// By charge balance.
    pub ph: f64,
    /// Nine of ten choices of the acids that are assumed, and of the constants, lead to no less than this.
    pub low: f64,
    /// And to no more than this.
    pub high: f64,
    /// The straight mean by volume, which is no prediction: pH does not mix.
    pub plain_mean: f64,
    /// By wine, the acids that are assumed.
    pub assumed: Vec<Vec<Acid>>,
    /// By wine, whether its tests do not fit together (see [`Balance::strained`]).
    pub strained: Vec<bool>,
    /// Whether the alcohol of some wine is not known, so that all are reckoned at [`USUAL_ALCOHOL_PCT`].
    pub alcohol_assumed: bool,
}

/// Predicts the pH of a blend of wines in some amounts (litres, or shares): the excess of strong cations and every acid mix
/// by volume, and the pH is that at which they balance. Nothing is taken to fall out as tartrate, and the tests are taken as
/// they stand: a pH meter is off by about 0.02 besides.
pub fn predict(parts: &[(f64, Wine)]) -> Result<Prediction, AcidityError> {
    let whole: f64 = parts.iter().map(|(amount, _)| amount).sum();
    if !(whole.is_finite() && whole > 0.0 && parts.iter().all(|(amount, _)| *amount >= 0.0)) {
        return Err(AcidityError::Nothing);
    }
    for (_, wine) in parts {
        wine.checked()?;
    }
    let shares: Vec<(f64, Wine)> = parts.iter().map(|(amount, wine)| (amount / whole, *wine)).collect();
    let alcohol_assumed = parts.iter().any(|(_, wine)| wine.alcohol_pct.is_none());
    let ph = blended(&shares, alcohol_assumed, 0.0, &mut || 0.5);
    let mut chance = Chance::from_seed(SEED);
    let mut drawn: Vec<f64> = (0..DRAWS)
        .map(|_| {
            let doubt = (chance.fraction() * 2.0 - 1.0) * COMMON_DOUBT;
            blended(&shares, alcohol_assumed, doubt, &mut || chance.fraction())
        })
        .collect();
    drawn.sort_by(f64::total_cmp);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a small part of a few hundred
    let outside = (DRAWS as f64 * OUTSIDE) as usize;
    Ok(Prediction {
        ph,
        low: drawn[outside].min(ph),
        high: drawn[DRAWS - 1 - outside].max(ph),
        plain_mean: shares.iter().map(|(share, wine)| share * wine.ph).sum(),
        assumed: parts.iter().map(|(_, wine)| wine.assumed()).collect(),
        strained: parts.iter().map(|(_, wine)| Balance::of(wine).map(|it| it.strained)).collect::<Result<_, _>>()?,
        alcohol_assumed,
    })
}

/// The pH of a blend with some choice of what is assumed: `part` says where in its range an acid lies.
fn blended(shares: &[(f64, Wine)], usual_alcohol: bool, doubt: f64, part: &mut impl FnMut() -> f64) -> f64 {
    let alcohol = |wine: &Wine| match wine.alcohol_pct {
        Some(alcohol) if !usual_alcohol => alcohol,
        _ => USUAL_ALCOHOL_PCT,
    };
    let (mut acids, mut cations, mut alcohol_pct) = ([0.0; Acid::ALL.len()], 0.0, 0.0);
    for (share, wine) in shares {
        let medium = Medium { alcohol_pct: alcohol(wine), doubt };
        let (its, _) = wine.filled(medium, &mut *part);
        cations += share * excess(&its, wine.ph, medium);
        alcohol_pct += share * medium.alcohol_pct;
        for (sum, grams) in acids.iter_mut().zip(its) {
            *sum += share * grams;
        }
    }
    balanced(&acids, cations, Medium { alcohol_pct, doubt })
}

impl Wine {
    /// Its acids with a choice of those that were not tested, scaled to what was titrated; and whether that went too far.
    fn filled(&self, medium: Medium, mut part: impl FnMut() -> f64) -> (Acids, bool) {
        let profile = self.believed_profile();
        let mut acids = [0.0; Acid::ALL.len()];
        // What a litre takes up on the way to the end point: of acids tested, and of those assumed.
        let (mut tested, mut assumed) = (0.0, 0.0);
        for ((acid, known), grams) in Acid::ALL.into_iter().zip(self.acids_g_l).zip(&mut acids) {
            let (least, most) = profile.range(acid);
            *grams = known.unwrap_or_else(|| least + (most - least) * part());
            let taken = acid.charge(END_POINT, medium) - acid.charge(self.ph, medium);
            *(if known.is_some() { &mut tested } else { &mut assumed }) += *grams / acid.grams_in_a_mole() * taken;
        }
        let Some(titrated) = self.ta_g_l.map(|grams| grams / TARTARIC_EQUIVALENT) else { return (acids, false) };
        if assumed <= 0.0 {
            return (acids, false);
        }
        let wanted = (titrated - libm::exp10(-self.ph) - tested) / assumed;
        let factor = wanted.clamp(SCALED.0, SCALED.1);
        for (_, grams) in self.acids_g_l.iter().zip(&mut acids).filter(|(known, _)| known.is_none()) {
            *grams *= factor;
        }
        (acids, !(SCALED.0..=SCALED.1).contains(&wanted))
    }
}

/// The charge of the anions, mol/L.
fn charge(acids: &Acids, ph: f64, medium: Medium) -> f64 {
    let of = |(acid, grams): (Acid, &f64)| grams / acid.grams_in_a_mole() * acid.charge(ph, medium);
    Acid::ALL.into_iter().zip(acids).map(of).sum()
}

/// The excess of strong cations that a pH speaks of, mol/L.
fn excess(acids: &Acids, ph: f64, medium: Medium) -> f64 {
    charge(acids, ph, medium) - libm::exp10(-ph)
}

/// The pH at which acids balance an excess of strong cations. It lies between those of the wines, whose excess climbs with
/// the pH.
fn balanced(acids: &Acids, cations: f64, medium: Medium) -> f64 {
    let (mut low, mut high) = (0.0_f64, 14.0_f64);
    // Fifty halvings of fourteen are finer than a real number there.
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if excess(acids, middle, medium) < cations { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::Profile;
    use super::*;

    fn tested(ph: f64, [tartaric, lactic, succinic, acetic]: [f64; 4]) -> Wine {
        Wine {
            ph,
            ta_g_l: None,
            alcohol_pct: Some(12.0),
            acids_g_l: [tartaric, 0.0, lactic, succinic, acetic].map(Some),
            profile: Profile::AfterMalolactic,
        }
    }

    fn a_and_b() -> [Wine; 2] {
        [tested(3.45, [2.6, 1.2, 0.9, 0.35]), tested(3.95, [1.4, 2.6, 0.8, 0.60])]
    }

    /// A wine of which only pH and titratable acidity are known.
    fn plain(of: &Wine) -> Wine {
        Wine { ta_g_l: Some(Balance::of(of).unwrap().titratable_g_l), acids_g_l: [None; 5], ..*of }
    }

    /// Computed from the published constants alone, with strong cations conserved.
    #[test]
    fn a_blend_of_two_reds_to_the_printed_digits() {
        let [a, b] = a_and_b();
        for (share, ph, straight) in [(0.25, 3.842, 3.825), (0.5, 3.724, 3.700), (0.75, 3.594, 3.575)] {
            let found = predict(&[(share, a), (1.0 - share, b)]).unwrap();
            assert!((found.ph - ph).abs() <= 0.0005, "{found:?}");
            assert!((found.plain_mean - straight).abs() < 1e-12, "{found:?}");
            assert!(found.low <= found.ph && found.ph <= found.high && found.high - found.low < 0.02, "{found:?}");
        }
    }

    /// Titrated to pH 7, wine A takes up 3.7177 g/L and B 2.9766 (computed apart from this program).
    #[test]
    fn titratable_acidity_of_known_acids() {
        for (wine, grams) in a_and_b().iter().zip([3.7177, 2.9766]) {
            assert!((Balance::of(wine).unwrap().titratable_g_l - grams).abs() < 0.0005);
        }
    }

    #[test]
    fn assumed_acids_take_up_what_was_titrated() {
        for wine in a_and_b() {
            let plain = plain(&wine);
            let balance = Balance::of(&plain).unwrap();
            assert!((balance.titratable_g_l - plain.ta_g_l.unwrap()).abs() < 1e-9 && !balance.strained);
            assert!(balance.buffer_mol_l > 0.01 && balance.buffer_mol_l < 0.08, "{balance:?}");
        }
    }

    #[test]
    fn with_ph_and_titratable_acidity_alone_the_band_holds_what_all_acids_say() {
        let [a, b] = a_and_b();
        let (known, guessed) =
            (predict(&[(1.0, a), (1.0, b)]).unwrap(), predict(&[(1.0, plain(&a)), (1.0, plain(&b))]).unwrap());
        assert!((guessed.low..=guessed.high).contains(&known.ph), "{known:?} {guessed:?}");
        assert!(guessed.high - guessed.low > known.high - known.low, "{known:?} {guessed:?}");
        assert_eq!(guessed.assumed, [Acid::ALL.to_vec(), Acid::ALL.to_vec()]);
        assert!(known.assumed.iter().all(Vec::is_empty));
        assert_eq!(predict(&[(1.0, plain(&a)), (1.0, plain(&b))]).unwrap(), guessed);
    }

    #[test]
    fn tests_that_do_not_fit_together_are_said() {
        let [a, _] = a_and_b();
        let succinic_only =
            Wine { ta_g_l: Some(9.0), acids_g_l: [Some(1.0), Some(0.0), Some(1.0), None, Some(0.3)], ..a };
        assert!(Balance::of(&succinic_only).unwrap().strained);
    }

    #[test]
    fn a_test_of_malic_acid_knows_better_than_the_colour() {
        let [a, _] = a_and_b();
        let green = Wine { acids_g_l: [None, Some(2.0), None, None, None], ..a };
        assert_eq!(green.believed_profile(), Profile::NoMalolactic);
        let ripe = Wine { acids_g_l: [None, Some(0.1), None, None, None], profile: Profile::NoMalolactic, ..a };
        assert_eq!(ripe.believed_profile(), Profile::AfterMalolactic);
    }

    #[test]
    fn what_no_wine_has_is_refused() {
        let [a, _] = a_and_b();
        assert_eq!(predict(&[]), Err(AcidityError::Nothing));
        assert_eq!(predict(&[(0.0, a)]), Err(AcidityError::Nothing));
        assert_eq!(predict(&[(f64::NAN, a)]), Err(AcidityError::Nothing));
        assert_eq!(predict(&[(1.0, Wine { ph: 36.0, ..a })]), Err(AcidityError::Ph(36.0)));
        assert_eq!(predict(&[(1.0, Wine { alcohol_pct: Some(19.0), ..a })]), Err(AcidityError::Alcohol(19.0)));
        assert_eq!(predict(&[(1.0, Wine { ta_g_l: Some(0.5), ..a })]), Err(AcidityError::Titratable(0.5)));
        let odd = Wine { acids_g_l: [Some(-1.0), None, None, None, None], ..a };
        let told = Balance::of(&odd).unwrap_err().to_string();
        assert_eq!(told, "-1 g/L of tartaric acid is out of range. Give g/L from 0 to 20.");
    }

    fn any_wine() -> impl Strategy<Value = Wine> {
        let acid = || prop::option::of(0.0_f64..6.0);
        let acids = [acid(), acid(), acid(), acid(), acid()];
        (2.8_f64..4.3, prop::option::of(2.0_f64..12.0), prop::option::of(8.0_f64..16.0), acids, any::<bool>()).prop_map(
            |(ph, ta_g_l, alcohol_pct, acids_g_l, after)| Wine {
                ph,
                ta_g_l,
                alcohol_pct,
                acids_g_l,
                profile: if after { Profile::AfterMalolactic } else { Profile::NoMalolactic },
            },
        )
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn a_wine_blended_with_itself_keeps_its_ph(wine in any_wine(), amount in 0.1_f64..10.0) {
            let wine = Wine { acids_g_l: wine.acids_g_l.map(|acid| acid.or(Some(1.0))), ..wine };
            let found = predict(&[(amount, wine), (1.0, wine)]).unwrap();
            for ph in [found.ph, found.low, found.high] {
                prop_assert!((ph - wine.ph).abs() < 1e-9, "{:?}", found);
            }
        }

        #[test]
        fn a_blend_is_a_number_in_its_band_and_in_no_wine_beyond_by_much(
            a in any_wine(), b in any_wine(), share in 0.0_f64..=1.0,
        ) {
            let found = predict(&[(share, a), (1.0 - share, b)]).unwrap();
            prop_assert!(found.low.is_finite() && found.high.is_finite() && found.low <= found.ph && found.ph <= found.high);
            // Between the wines, but for the constants that move with the alcohol.
            prop_assert!(found.ph > a.ph.min(b.ph) - 0.12 && found.ph < a.ph.max(b.ph) + 0.12, "{:?}", found);
        }
    }
}
