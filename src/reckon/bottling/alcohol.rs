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
    /// The limit of a class or tax that lies between the two: no tolerance goes across it.
    pub crosses: Option<&'static Bound>,
    /// The limit beyond which what was found is no wine for these rules.
    pub no_wine: Option<&'static Bound>,
    /// Whether it is written as the rules ask: in whole or half units in the European Union.
    pub is_well_written: bool,
    /// By which rules.
    rules: Rules,
}

impl Alcohol {
    /// Whether the figure is within all figures of its rules.
    #[must_use]
    pub const fn is_within(&self) -> bool {
        self.is_near && self.crosses.is_none() && self.no_wine.is_none() && self.is_well_written
    }

    /// What it comes to, a sentence each.
    #[must_use]
    pub fn words(&self) -> Vec<String> {
        let section = match self.rules {
            Rules::Us => "27 CFR 4.36",
            Rules::Eu => "EU 2019/33 art. 44",
        };
        let mut words = Vec::new();
        if !self.is_near {
            words.push(format!("It is more than {} % vol from what was found ({section}).", self.tolerance_pct));
        }
        words.extend(self.crosses.map(|bound| {
            format!(
                "{} % vol lies between the two, and no tolerance goes across it (27 CFR 4.36): {}.",
                bound.pct, bound.says
            )
        }));
        words.extend(self.no_wine.map(|bound| format!("What was found is no wine for the label: {}.", bound.says)));
        if !self.is_well_written {
            words.push(format!("The European Union asks for whole or half units ({section})."));
        }
        if words.is_empty() {
            words.push(format!("Within the figures of {section}."));
        }
        words
    }
}

/// A figure that no wine has.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[error("{0} % vol of alcohol is none of a wine. Give a number between 0 and 25.")]
pub struct OddAlcohol(f64);

/// A limit of alcohol in the United States, on whose two sides a wine is of another class or tax.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bound {
    /// Where it lies, % vol.
    pub pct: f64,
    /// Whether a wine of just that is on the upper side; else it is on the lower.
    from: bool,
    /// What it parts.
    pub says: &'static str,
}

impl Bound {
    fn is_below(&self, pct: f64) -> bool {
        if self.from { pct < self.pct - SAME_PCT } else { pct <= self.pct + SAME_PCT }
    }
}

/// 27 CFR 4.10: wine from 7 % on; 4.21: table wine up to and with 14 %; 26 USC 5041(b) as it stands since 2018: the tax of
/// wine not over 16 %, over 16 to 21, over 21 to 24, and of spirits above.
const BOUNDS: [Bound; 5] = [
    Bound { pct: 7.0, from: true, says: "from 7 % vol on it is wine (27 CFR 4.10)" },
    Bound { pct: 14.0, from: false, says: "up to and with 14 % vol it is table wine (27 CFR 4.21)" },
    Bound { pct: 16.0, from: false, says: "above 16 % vol another tax class begins (26 USC 5041(b))" },
    Bound { pct: 21.0, from: false, says: "above 21 % vol another tax class begins (26 USC 5041(b))" },
    Bound { pct: 24.0, from: false, says: "above 24 % vol it is taxed as spirits (26 USC 5041(b))" },
];

/// A label rarely shows more than hundredths; what is nearer than this is the same figure.
const SAME_PCT: f64 = 1e-6;

/// The limit of a class or tax of the United States that lies between two wines, % vol; none where both are of one.
#[must_use]
pub fn bound_between(one_pct: f64, other_pct: f64) -> Option<&'static Bound> {
    BOUNDS.iter().find(|bound| bound.is_below(one_pct) != bound.is_below(other_pct))
}

/// The tax class of a wine in the United States by its alcohol, % vol (26 USC 5041(b)): losses are judged by each of them.
#[must_use]
pub fn tax_class(alcohol_pct: f64) -> &'static str {
    let above = BOUNDS.iter().skip(2).filter(|bound| !bound.is_below(alcohol_pct)).count();
    ["up to 16 % vol", "above 16 to 21 % vol", "above 21 to 24 % vol", "above 24 % vol"][above]
}

/// Judges a figure of alcohol on a label.
///
/// United States, 27 CFR 4.36(b): 1.0 above 14 %, 1.5 up to it, and never across a class or tax. European Union, Regulation
/// 2019/33 art. 44 (as second sources give it): whole or half units, 0.5, and 0.8 where `wider`.
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
    let crosses = bound_between(label_pct, found_pct).filter(|_| rules == Rules::Us);
    let [least, .., most] = &BOUNDS;
    let beyond = if least.is_below(found_pct) {
        Some(least)
    } else if most.is_below(found_pct) {
        None
    } else {
        Some(most)
    };
    let halves = label_pct * 2.0;
    Ok(Alcohol {
        tolerance_pct,
        off_pct,
        is_near: off_pct.abs() <= tolerance_pct + SAME_PCT,
        crosses,
        no_wine: beyond.filter(|_| rules == Rules::Us),
        is_well_written: rules == Rules::Us || (halves - halves.round()).abs() < SAME_PCT,
        rules,
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
        assert!(judged(12.5, 14.0, Rules::Us).is_within());
        assert!(!judged(12.4, 14.0, Rules::Us).is_near);
        assert!(judged(14.5, 15.5, Rules::Us).is_within());
        assert!(!judged(14.4, 15.5, Rules::Us).is_near);
        let crossing = judged(13.9, 14.1, Rules::Us);
        assert_eq!(
            (crossing.is_near, crossing.crosses.map(|it| it.pct), crossing.is_within()),
            (true, Some(14.0), false)
        );
    }

    /// Regulation 2019/33 art. 44: units or half units, 0.5 % vol.
    #[test]
    fn the_european_union_asks_for_half_units() {
        assert!(judged(13.5, 13.9, Rules::Eu).is_within());
        assert!(judged(14.0, 14.5, Rules::Eu).is_within());
        assert!(!judged(13.5, 14.1, Rules::Eu).is_near);
        assert!(!judged(13.4, 13.4, Rules::Eu).is_well_written);
        let aged = StatedAlcohol { label_pct: 13.5, found_pct: 14.3, rules: Rules::Eu, wider: true };
        assert!(label_alcohol(aged).unwrap().is_within());
    }

    /// 27 CFR 4.10 (7.0 is wine, 6.9 is not), 4.21 (14.0 is table wine, 14.1 is not); 26 USC 5041(b): not over 16, over 16 to 21,
    /// over 21 to 24.
    #[test]
    fn each_limit_belongs_to_the_side_that_the_law_says() {
        let between = |one, other| bound_between(one, other).map(|bound| bound.pct);
        assert_eq!(between(6.9, 7.0), Some(7.0));
        assert_eq!(between(7.0, 7.1), None);
        assert_eq!(between(13.9, 14.0), None);
        assert_eq!(between(14.0, 14.1), Some(14.0));
        assert_eq!(between(15.9, 16.0), None);
        assert_eq!(between(16.0, 16.1), Some(16.0));
        assert_eq!(between(21.0, 21.1), Some(21.0));
        assert_eq!(between(20.9, 21.0), None);
        assert_eq!(between(24.0, 24.1), Some(24.0));
        assert_eq!(between(23.9, 24.0), None);
        let classes = [6.9, 14.1, 16.0, 16.1, 21.0, 21.1, 24.0, 24.1].map(tax_class);
        let of = ["up to 16 % vol", "above 16 to 21 % vol", "above 21 to 24 % vol", "above 24 % vol"];
        assert_eq!(classes, [of[0], of[0], of[0], of[1], of[1], of[2], of[2], of[3]]);
    }

    /// The same on a label: 6.9 and 24.1 are no wine there, 7.0 and 24.0 are.
    #[test]
    fn a_label_at_the_limits() {
        let within = |label, found| judged(label, found, Rules::Us).is_within();
        assert_eq!(
            [(6.9, 6.9), (7.0, 7.0), (24.0, 24.0), (24.1, 24.1)].map(|(label, found)| within(label, found)),
            [false, true, true, false]
        );
        assert_eq!(
            [(14.0, 13.9), (14.0, 14.1), (16.0, 16.5), (21.0, 20.5)].map(|(label, found)| within(label, found)),
            [true, false, false, true]
        );
        assert_eq!(
            judged(6.9, 6.9, Rules::Us).words(),
            ["What was found is no wine for the label: from 7 % vol on it is wine (27 CFR 4.10)."]
        );
        assert_eq!(judged(14.0, 13.9, Rules::Us).words(), ["Within the figures of 27 CFR 4.36."]);
        assert_eq!(judged(14.0, 14.5, Rules::Eu).words(), ["Within the figures of EU 2019/33 art. 44."]);
    }

    #[test]
    fn what_no_wine_has_is_said() {
        let odd = StatedAlcohol { label_pct: 135.0, found_pct: 13.5, rules: Rules::Eu, wider: false };
        assert_eq!(label_alcohol(odd), Err(OddAlcohol(135.0)));
    }
}
