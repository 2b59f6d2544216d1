//! What the law allows of volatile acidity and of total sulfur dioxide: the published limits, for information. Laws
//! change, and sparkling, sweet, fortified and organic wines have others; ask who answers for the label.
//!
//! **Limits**: amber from 80 % of a limit on, the limit itself is still allowed; a wine of unknown sugar counts as dry.

use serde::Deserialize;
use thiserror::Error;

use super::label_share::Rules;

/// From this share of a limit on a wine is amber: time to act while acting helps (common practice).
pub const AMBER_SHARE: f64 = 0.8;

/// Grams of acetic acid in a milliequivalent, as the rules turn 20 meq/L into 1.20 g/L.
const ACETIC_GRAMS: f64 = 0.06;

/// Whose rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RuleSet {
    /// The European Union.
    Eu,
    /// The United States (TTB).
    Us,
    /// The International Organisation of Vine and Wine: a recommendation that many laws follow.
    Oiv,
}

impl RuleSet {
    /// All.
    pub const ALL: [RuleSet; 3] = [RuleSet::Eu, RuleSet::Us, RuleSet::Oiv];

    /// The short name.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            RuleSet::Eu => "eu",
            RuleSet::Us => "us",
            RuleSet::Oiv => "oiv",
        }
    }
}

impl From<Rules> for RuleSet {
    fn from(rules: Rules) -> RuleSet {
        match rules {
            Rules::Us => RuleSet::Us,
            Rules::Eu => RuleSet::Eu,
        }
    }
}

/// The only distinction of colour that the limits make.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Red wine.
    Red,
    /// White or rosé wine.
    WhiteOrRose,
}

/// What is limited.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Subject {
    /// Volatile acidity, g/L as acetic acid.
    VolatileAcidity,
    /// Total sulfur dioxide, mg/L.
    TotalSulfurDioxide,
}

impl Subject {
    /// The words for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Subject::VolatileAcidity => "volatile acidity",
            Subject::TotalSulfurDioxide => "total SO2",
        }
    }

    /// The unit of its values.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Subject::VolatileAcidity => "g/L as acetic",
            Subject::TotalSulfurDioxide => "mg/L",
        }
    }
}

/// One limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit {
    /// Of what, which also says the unit.
    pub subject: Subject,
    /// The most that is allowed.
    pub most: f64,
    /// Where it stands.
    pub section: &'static str,
}

/// How a wine stands to a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Judgement {
    /// Well below.
    Fine,
    /// Near it: from [`AMBER_SHARE`] of it on.
    Amber,
    /// Above it.
    Red,
}

impl Judgement {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Judgement::Fine => "fine",
            Judgement::Amber => "amber",
            Judgement::Red => "red",
        }
    }
}

/// A value that no test gives.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
#[error("A {} of {value} cannot be. Give {} from 0.", subject.word(), subject.unit())]
pub struct NoValue {
    /// Of what.
    pub subject: Subject,
    /// What was said.
    pub value: f64,
}

impl Limit {
    /// From which value on a wine is amber.
    #[must_use]
    pub fn amber_from(&self) -> f64 {
        self.most * AMBER_SHARE
    }

    /// Judges a value. The limit itself is still allowed, and amber.
    pub fn judge(&self, value: f64) -> Result<Judgement, NoValue> {
        if !value.is_finite() || value < 0.0 {
            return Err(NoValue { subject: self.subject, value });
        }
        Ok(if value > self.most {
            Judgement::Red
        } else if value >= self.amber_from() {
            Judgement::Amber
        } else {
            Judgement::Fine
        })
    }
}

/// The limits of one kind of wine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Of volatile acidity.
    pub volatile_acidity: Limit,
    /// Of total sulfur dioxide.
    pub total_sulfur_dioxide: Limit,
}

/// The limits of still wine by a rule set. Sugar in g/L; where it is not known the wine counts as dry, which is stricter.
#[must_use]
pub fn limits(rules: RuleSet, kind: Kind, sugar_g_l: Option<f64>) -> Limits {
    Limits { volatile_acidity: volatile_acidity(rules, kind), total_sulfur_dioxide: total(rules, kind, sugar_g_l) }
}

fn volatile_acidity(rules: RuleSet, kind: Kind) -> Limit {
    let (most, section) = match (rules, kind) {
        (RuleSet::Eu, Kind::Red) => (20.0 * ACETIC_GRAMS, "EU 2019/934 Annex I C, 20 meq/L"),
        (RuleSet::Eu, Kind::WhiteOrRose) => (18.0 * ACETIC_GRAMS, "EU 2019/934 Annex I C, 18 meq/L"),
        (RuleSet::Us, Kind::Red) => (1.4, "US 27 CFR 4.21"),
        (RuleSet::Us, Kind::WhiteOrRose) => (1.2, "US 27 CFR 4.21"),
        (RuleSet::Oiv, _) => (20.0 * ACETIC_GRAMS, "OIV-MA-C1-01, 20 meq/L"),
    };
    Limit { subject: Subject::VolatileAcidity, most, section }
}

fn total(rules: RuleSet, kind: Kind, sugar_g_l: Option<f64>) -> Limit {
    let sugar = sugar_g_l.unwrap_or(0.0);
    let (most, section) = match (rules, kind) {
        (RuleSet::Eu, Kind::Red) if sugar >= 5.0 => (200.0, "EU 2019/934 Annex I B, from 5 g/L sugar"),
        (RuleSet::Eu, Kind::Red) => (150.0, "EU 2019/934 Annex I B"),
        (RuleSet::Eu, Kind::WhiteOrRose) if sugar >= 5.0 => (250.0, "EU 2019/934 Annex I B, from 5 g/L sugar"),
        (RuleSet::Eu, Kind::WhiteOrRose) => (200.0, "EU 2019/934 Annex I B"),
        // Parts per million there; a litre of wine weighs a kilogram to within 1 %.
        (RuleSet::Us, _) => (350.0, "US 27 CFR 4.22"),
        (RuleSet::Oiv, _) if sugar > 4.0 => (300.0, "OIV-MA-C1-01 (OENO 9/98), above 4 g/L sugar"),
        (RuleSet::Oiv, Kind::Red) => (150.0, "OIV-MA-C1-01 (OENO 9/98)"),
        (RuleSet::Oiv, Kind::WhiteOrRose) => (200.0, "OIV-MA-C1-01 (OENO 9/98)"),
    };
    Limit { subject: Subject::TotalSulfurDioxide, most, section }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// EU 2019/934 Annex I B: 150 red, 200 white and rosé; 200 and 250 from 5 g/L sugar. US 27 CFR 4.22: 350 ppm. OIV
    /// resolution OENO 9/98: 150, 200, and 300 above 4 g/L of reducing substances.
    #[test]
    fn total_sulfur_dioxide() {
        use Kind::{Red, WhiteOrRose};
        use RuleSet::{Eu, Oiv, Us};
        for (rules, kind, sugar, most) in [
            (Eu, Red, None, 150.0),
            (Eu, Red, Some(4.9), 150.0),
            (Eu, Red, Some(5.0), 200.0),
            (Eu, WhiteOrRose, Some(2.0), 200.0),
            (Eu, WhiteOrRose, Some(5.0), 250.0),
            (Us, Red, Some(2.0), 350.0),
            (Us, WhiteOrRose, Some(80.0), 350.0),
            (Oiv, Red, Some(4.0), 150.0),
            (Oiv, WhiteOrRose, Some(4.0), 200.0),
            (Oiv, Red, Some(4.1), 300.0),
            (Oiv, WhiteOrRose, Some(4.1), 300.0),
        ] {
            let limit = limits(rules, kind, sugar).total_sulfur_dioxide;
            assert_eq!(
                (limit.subject, limit.most.to_bits()),
                (Subject::TotalSulfurDioxide, f64::to_bits(most)),
                "{limit:?}"
            );
        }
    }

    /// US 27 CFR 4.21: 1.4 red, 1.2 other. EU: 20 meq/L red (1.20 g/L), 18 others. OIV-MA-C1-01: 20 meq/L.
    #[test]
    fn volatile_acidity_as_acetic() {
        for (rules, red, other) in [(RuleSet::Us, 1.4, 1.2), (RuleSet::Eu, 1.2, 1.08), (RuleSet::Oiv, 1.2, 1.2)] {
            for (kind, most) in [(Kind::Red, red), (Kind::WhiteOrRose, other)] {
                let limit = limits(rules, kind, None).volatile_acidity;
                assert!((limit.most - most).abs() < 1e-12, "{limit:?}");
            }
        }
    }

    #[test]
    fn every_limit_says_where_it_stands() {
        for rules in RuleSet::ALL {
            for kind in [Kind::Red, Kind::WhiteOrRose] {
                let found = limits(rules, kind, Some(10.0));
                for limit in [found.volatile_acidity, found.total_sulfur_dioxide] {
                    assert!(limit.section.to_lowercase().starts_with(rules.word()), "{limit:?}");
                }
            }
        }
    }

    #[test]
    fn amber_comes_before_red() {
        let limit = limits(RuleSet::Eu, Kind::Red, None).total_sulfur_dioxide;
        for (value, judgement) in [
            (0.0, Judgement::Fine),
            (119.9, Judgement::Fine),
            (120.0, Judgement::Amber),
            (150.0, Judgement::Amber),
            (150.1, Judgement::Red),
        ] {
            assert_eq!(limit.judge(value), Ok(judgement), "{value}");
        }
        let told = limit.judge(-1.0).unwrap_err().to_string();
        assert_eq!(told, "A total SO2 of -1 cannot be. Give mg/L from 0.");
        assert!(limit.judge(f64::NAN).is_err() && limit.judge(f64::INFINITY).is_err());
    }

    proptest! {
        #[test]
        fn more_is_never_judged_milder(a in 0.0_f64..1_000.0, b in 0.0_f64..1_000.0) {
            for rules in RuleSet::ALL {
                let limit = limits(rules, Kind::Red, None).total_sulfur_dioxide;
                prop_assert!(limit.judge(a.min(b)).unwrap() <= limit.judge(a.max(b)).unwrap());
            }
        }

        #[test]
        fn sugar_never_makes_a_limit_stricter(sugar in 0.0_f64..200.0) {
            for rules in RuleSet::ALL {
                for kind in [Kind::Red, Kind::WhiteOrRose] {
                    let most = |sugar| limits(rules, kind, sugar).total_sulfur_dioxide.most;
                    prop_assert!(most(Some(sugar)) >= most(None));
                }
            }
        }
    }
}
