//! What a label may say of alcohol: how far the figure may be from what was found.

use thiserror::Error;

use crate::reckon::label_share::Rules;

/// A figure of alcohol on a label beside what was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StatedAlcohol {
    /// What stands on the label, % vol.
    pub label_pct: f64,
    /// What was found, % vol.
    pub found_pct: f64,
    /// By which rules.
    pub rules: Rules,
    /// European Union only: a wine of a protected origin that lay in bottles for more than three years, a sparkling or a
    /// liqueur wine, for which the margin is wider.
    pub wider: bool,
}

/// How a figure on a label stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Alcohol {
    /// How far it may be from what was found, % vol.
    pub tolerance_pct: f64,
    /// How far it is: label less found.
    pub off_pct: f64,
    /// Whether it is within that.
    pub is_near: bool,
    /// The limit of a class or tax that lies between the two, % vol: no tolerance goes across it.
    pub crosses_pct: Option<f64>,
    /// Whether it is written as the rules ask: in whole or half units in the European Union.
    pub is_well_written: bool,
}

impl Alcohol {
    /// Whether the figure may stand.
    #[must_use]
    pub const fn holds(&self) -> bool {
        self.is_near && self.crosses_pct.is_none() && self.is_well_written
    }
}

/// A figure that no wine has.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[error("{0} % vol of alcohol is none of a wine. Give a number between 0 and 25.")]
pub struct OddAlcohol(f64);

/// Limits up to and with which a wine is of one class or tax in the United States: 7 and 14 (27 CFR 4.21, 4.36), 16 and
/// 21 (26 USC 5041 as it stands since 2018, from memory).
const CLASSES_PCT: [f64; 4] = [7.0, 14.0, 16.0, 21.0];

/// A label rarely shows more than hundredths; what is nearer than this is the same figure.
const SAME_PCT: f64 = 1e-6;

/// Judges a figure of alcohol on a label.
///
/// United States, 27 CFR 4.36: 1.0 above 14 %, 1.5 up to it, and never across a class or tax. European Union, Regulation
/// 2019/33 art. 44: whole or half units, 0.5, and 0.8 where `wider` (from memory).
pub fn label_alcohol(stated: StatedAlcohol) -> Result<Alcohol, OddAlcohol> {
    let StatedAlcohol { label_pct, found_pct, rules, wider } = stated;
    if let Some(odd) = [label_pct, found_pct].into_iter().find(|pct| !(0.0..=25.0).contains(pct)) {
        return Err(OddAlcohol(odd));
    }
    let tolerance_pct = match rules {
        Rules::Us if label_pct > 14.0 => 1.0,
        Rules::Us => 1.5,
        Rules::Eu if wider => 0.8,
        Rules::Eu => 0.5,
    };
    let off_pct = label_pct - found_pct;
    let between = |limit: &&f64| (label_pct <= **limit) != (found_pct <= **limit);
    let crosses_pct = CLASSES_PCT.iter().find(between).copied().filter(|_| rules == Rules::Us);
    let halves = label_pct * 2.0;
    Ok(Alcohol {
        tolerance_pct,
        off_pct,
        is_near: off_pct.abs() <= tolerance_pct + SAME_PCT,
        crosses_pct,
        is_well_written: rules == Rules::Us || (halves - halves.round()).abs() < SAME_PCT,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn judged(label_pct: f64, found_pct: f64, rules: Rules) -> Alcohol {
        label_alcohol(StatedAlcohol { label_pct, found_pct, rules, wider: false }).unwrap()
    }

    /// 27 CFR 4.36: above 14 % ±1.0, 14 % or less ±1.5, never across a class.
    #[test]
    fn the_united_states_allow_more_but_no_crossing() {
        assert!(judged(12.5, 14.0, Rules::Us).holds());
        assert!(!judged(12.4, 14.0, Rules::Us).is_near);
        assert!(judged(14.5, 15.5, Rules::Us).holds());
        assert!(!judged(14.4, 15.5, Rules::Us).is_near);
        let crossing = judged(13.9, 14.1, Rules::Us);
        assert_eq!((crossing.is_near, crossing.crosses_pct, crossing.holds()), (true, Some(14.0), false));
    }

    /// Regulation 2019/33 art. 44: units or half units, 0.5 % vol.
    #[test]
    fn the_european_union_asks_for_half_units() {
        assert!(judged(13.5, 13.9, Rules::Eu).holds());
        assert!(judged(14.0, 14.5, Rules::Eu).holds());
        assert!(!judged(13.5, 14.1, Rules::Eu).is_near);
        assert!(!judged(13.4, 13.4, Rules::Eu).is_well_written);
        let aged = StatedAlcohol { label_pct: 13.5, found_pct: 14.3, rules: Rules::Eu, wider: true };
        assert!(label_alcohol(aged).unwrap().holds());
    }

    #[test]
    fn what_no_wine_has_is_said() {
        let odd = StatedAlcohol { label_pct: 135.0, found_pct: 13.5, rules: Rules::Eu, wider: false };
        assert_eq!(label_alcohol(odd), Err(OddAlcohol(135.0)));
    }
}
