//! What "organic" asks of a wine beside its grapes: what may have been given to it, and how much sulfur dioxide there may be.
//!
//! For information; rules change, and only the certifier says what a label may claim.
//!
//! United States, 7 CFR 205.301(a), (b), (f)(5) and (f)(7), 2015: no sulfites are added to what is "organic"; with them a wine is at
//! most "made with organic grapes" (205.301(c), 205.605(b)), all of its grapes organic, its total at most 100 parts per million.
//! What else its list holds was not read. European Union, Annex `VIIIa` of Regulation (EC) 889/2008 as of (EU) 203/2012, now
//! 2021/1165 Annex V (unverified since): below 2 g/L of sugar 100 mg/L in red wine and 150 in others; any other 30 mg/L less than
//! the usual figure. No other rule set has figures of organic wine that were read.
//!
//! **Organic** is never said to be held: `reckon::organic::Organic` is a wine of organic grapes with what it was given over its life
//! (`Wine::added`) and its total, and says by rules what is left of the claim (`Left`) and why; `State::organic` makes it of a wine,
//! `asks_of_organic` asks before a material is given, `broken_by` before wine comes to it. The figures of its total stand beside the usual
//! ones (`total_figures`), never in their place.

use super::label_share::Rules;
use super::limits::{Kind, Limit, RuleSet, Subject, limits};
use super::material::{Known, Listed, ORGANIC_EU};
use crate::units::{all_of, figure};

/// Sugar below which the European Union's lower figures hold, g/L.
const LITTLE_SUGAR_G_L: f64 = 2.0;
/// Sugar from which on its usual figure is higher, g/L.
const MUCH_SUGAR_G_L: f64 = 5.0;
/// What all other organic wine has less of than the usual figure, mg/L.
const LESS_MG_L: f64 = 30.0;
/// What a wine has at most that is made with organic grapes in the United States: 100 ppm, and a litre of wine weighs a kilogram
/// to within 1 %.
const US_MOST_MG_L: f64 = 100.0;
/// What only the certifier says.
pub const ASK: &str = "Ask the certifier.";

/// The figure for the total sulfur dioxide of a wine that is to be sold as organic, in the United States as made with organic grapes;
/// none by a rule set of which none was read. Sugar in g/L; where it is not known the wine counts as dry, which is stricter.
#[must_use]
pub fn total_figure(rules: RuleSet, kind: Kind, sugar_g_l: Option<f64>) -> Option<Limit> {
    let sugar = sugar_g_l.unwrap_or_default();
    let (most, section) = match rules {
        RuleSet::Us => (US_MOST_MG_L, "US 7 CFR 205.605(b), made with organic grapes (2015)"),
        RuleSet::Eu if sugar < LITTLE_SUGAR_G_L => {
            let most = if kind == Kind::Red { 100.0 } else { 150.0 };
            (most, "EU 2021/1165 Annex V, organic, below 2 g/L sugar (as in 203/2012)")
        }
        RuleSet::Eu => {
            let section = if sugar < MUCH_SUGAR_G_L {
                "EU 2021/1165 Annex V, organic, from 2 g/L sugar (as in 203/2012)"
            } else {
                "EU 2021/1165 Annex V, organic, from 5 g/L sugar (as in 203/2012)"
            };
            (limits(rules, kind, sugar_g_l).total_sulfur_dioxide.most - LESS_MG_L, section)
        }
        RuleSet::Oiv => return None,
    };
    Some(Limit { subject: Subject::TotalSulfurDioxide, most, section })
}

/// All figures for the total sulfur dioxide of a wine by a rule set: the usual one, and of organic grapes that of organic wine behind it.
pub fn total_figures(
    rules: RuleSet,
    kind: Kind,
    sugar_g_l: Option<f64>,
    is_organic: bool,
) -> impl Iterator<Item = Limit> {
    let organic = if is_organic { total_figure(rules, kind, sugar_g_l) } else { None };
    [limits(rules, kind, sugar_g_l).total_sulfur_dioxide].into_iter().chain(organic)
}

/// What is left of the claim in the United States once sulfur dioxide was given.
fn made_with() -> String {
    format!(
        "in the United States at most \"made with organic grapes\", total SO2 at most {US_MOST_MG_L} ppm (7 CFR 205.301, 205.605)"
    )
}

/// What the list of materials is called, and how far it was read.
const fn list_of(rules: Rules) -> &'static str {
    match rules {
        Rules::Us => "US 7 CFR 205.605 for organic wine",
        Rules::Eu => ORGANIC_EU,
    }
}

/// A wine all of whose grapes are organic, as far as a cellar knows it.
#[derive(Clone, Debug, PartialEq)]
pub struct Organic {
    /// Its kind; the figures hang on it.
    pub kind: Kind,
    /// Its sugar, g/L.
    pub sugar_g_l: Option<f64>,
    /// Its total sulfur dioxide, mg/L: as tested, with what was given since.
    pub total_mg_l: Option<f64>,
    /// What was given to it over its life.
    pub given: Vec<GivenMaterial>,
}

/// A material that was given to a wine over its life.
#[derive(Clone, Debug, PartialEq)]
pub struct GivenMaterial {
    /// What it is called.
    pub name: String,
    /// Whether it gives sulfur dioxide.
    pub is_sulfur: bool,
    /// What is known of it.
    pub known: Option<&'static Known>,
}

impl GivenMaterial {
    /// How a list has it: of what the trade's table does not know that is not known either; what gives sulfur dioxide ends the claim in
    /// the United States, whatever it is called.
    fn listed(&self, rules: Rules) -> Listed {
        match rules {
            Rules::Us if self.is_sulfur => Listed::EndsOrganic,
            Rules::Us => self.known.map_or(Listed::Unverified, Known::organic_us),
            Rules::Eu => self.known.map_or(Listed::Unverified, Known::organic_eu),
        }
    }

    /// Whether it ends the claim.
    #[must_use]
    pub fn ends(&self, rules: Rules) -> bool {
        matches!(self.listed(rules), Listed::EndsOrganic | Listed::NotListed)
    }

    /// What giving it does to the claim by some rules, in a clause without a full stop; nothing where its list holds it, or was not
    /// read.
    #[must_use]
    pub fn ends_words(&self, rules: Rules) -> Option<String> {
        let name = &self.name;
        match self.listed(rules) {
            Listed::EndsOrganic => Some(format!("{name}: {}", made_with())),
            Listed::NotListed => Some(format!("{name} is not on the list of {}", list_of(rules))),
            Listed::Listed | Listed::Unverified => None,
        }
    }
}

/// What is left of the claim to be organic.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Left {
    /// Nothing.
    Nothing,
    /// In the United States, that it is made with organic grapes.
    MadeWith,
    /// That it is organic.
    Organic,
}

impl Organic {
    /// Whether something was given that ends the claim by some rules.
    #[must_use]
    pub fn is_ended(&self, rules: Rules) -> bool {
        self.given.iter().any(|given| given.ends(rules))
    }

    /// Whether its total is above the figure of organic wine.
    fn is_above(&self, rules: Rules) -> bool {
        self.figure(rules).zip(self.total_mg_l).is_some_and(|(figure, total)| total > figure.most)
    }

    /// What is left of the claim, as far as anything that is known of it speaks against it; never that it may be made, which the
    /// certifier says.
    #[must_use]
    pub fn left(&self, rules: Rules) -> Left {
        match (rules, self.is_ended(rules), self.is_above(rules)) {
            (_, false, false) => Left::Organic,
            (Rules::Us, true, false) => Left::MadeWith,
            _ => Left::Nothing,
        }
    }

    /// The figure for its total.
    fn figure(&self, rules: Rules) -> Option<Limit> {
        total_figure(rules.into(), self.kind, self.sugar_g_l)
    }

    /// Why a claim that was left before is left no more, in a few words.
    #[must_use]
    pub fn lost_by(&self, rules: Rules, before: Left) -> Option<String> {
        let ending = self.names(|given| before == Left::Organic && given.ends(rules));
        if !ending.is_empty() {
            return Some(format!("{} was added", all_of(&ending)));
        }
        let (figure, total) = self.figure(rules).zip(self.total_mg_l)?;
        (total > figure.most).then(|| format!("total SO2 {} mg/L, above {}", in_milligrams(total), figure.most))
    }

    /// The same with by whose rules: `organic by the EU rules: all grapes are; …`.
    #[must_use]
    pub fn sentence(&self, rules: Rules) -> String {
        format!("organic by the {} rules: {}", rules.word().to_uppercase(), self.words(rules))
    }

    /// What is to be said of it by some rules: what was given, and how its total stands to the figure of organic wine.
    fn words(&self, rules: Rules) -> String {
        let is_sulfured = self.given.iter().any(|given| given.is_sulfur);
        let not_listed = self.names(|given| given.listed(rules) == Listed::NotListed);
        let mut said: Vec<String> = Vec::new();
        if !not_listed.is_empty() {
            said.push(format!("{} was added, not on the list of {}", all_of(&not_listed), list_of(rules)));
        }
        match rules {
            Rules::Us if is_sulfured => said.push(format!("SO2 was added: {}", made_with())),
            Rules::Us => said.push("no sulfites were added by the book (7 CFR 205.301)".to_owned()),
            Rules::Eu => {}
        }
        said.extend(self.total_words(rules, is_sulfured));
        let unread = self.names(|given| !given.is_sulfur && given.listed(rules) == Listed::Unverified);
        if !unread.is_empty() {
            let list = if rules == Rules::Us { "7 CFR 205.605" } else { "2021/1165 Annex V" };
            said.push(format!("unverified whether {list} has {}", all_of(&unread)));
        }
        format!("all grapes are; {}. {ASK}", said.join("; "))
    }

    /// The names of what was given to it that is so.
    fn names(&self, is_so: impl Fn(&GivenMaterial) -> bool) -> Vec<String> {
        self.given.iter().filter(|given| is_so(given)).map(|given| given.name.clone()).collect()
    }

    /// How its total stands to the figure of organic wine; in the United States only where sulfur dioxide was given.
    fn total_words(&self, rules: Rules, is_sulfured: bool) -> Option<String> {
        if rules == Rules::Us && !is_sulfured {
            return None;
        }
        let figure = self.figure(rules)?;
        let of = format!("the {} mg/L of {}", figure.most, figure.section);
        Some(match self.total_mg_l {
            None => format!("total SO2 not tested, to be held against {of}"),
            Some(total) => {
                let side = if total > figure.most { "above" } else { "within" };
                format!("total SO2 {} mg/L, {side} {of}", in_milligrams(total))
            }
        })
    }
}

/// As laboratories report it, a tenth only where it stands beside a figure.
fn in_milligrams(total: f64) -> String {
    figure((total * 10.0).round() / 10.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::material::{Class, named};

    /// 203/2012: below 2 g/L red 100, others 150; any other usual less 30: 120 and 170, from 5 g/L on 170 and 220. 7 CFR 205.605(b): 100.
    /// Usual: EU 2019/934 Annex I B, 27 CFR 4.22, OENO 9/98.
    #[test]
    fn a_matrix_of_rules_colours_and_sugars() {
        use Kind::{Red, WhiteOrRose};
        use RuleSet::{Eu, Oiv, Us};
        let annex_i_b = "EU 2019/934 Annex I B";
        for (rules, kind, sugar, usual, section, organic) in [
            (Eu, Red, None, 150.0, annex_i_b, Some((100.0, "below 2 g/L"))),
            (Eu, Red, Some(1.9), 150.0, annex_i_b, Some((100.0, "below 2 g/L"))),
            (Eu, Red, Some(2.0), 150.0, annex_i_b, Some((120.0, "from 2 g/L"))),
            (Eu, Red, Some(4.9), 150.0, annex_i_b, Some((120.0, "from 2 g/L"))),
            (Eu, Red, Some(5.0), 200.0, annex_i_b, Some((170.0, "from 5 g/L"))),
            (Eu, WhiteOrRose, Some(1.9), 200.0, annex_i_b, Some((150.0, "below 2 g/L"))),
            (Eu, WhiteOrRose, Some(2.0), 200.0, annex_i_b, Some((170.0, "from 2 g/L"))),
            (Eu, WhiteOrRose, Some(5.0), 250.0, annex_i_b, Some((220.0, "from 5 g/L"))),
            (Us, Red, Some(1.0), 350.0, "27 CFR 4.22", Some((100.0, "7 CFR 205.605(b)"))),
            (Us, WhiteOrRose, Some(40.0), 350.0, "27 CFR 4.22", Some((100.0, "7 CFR 205.605(b)"))),
            (Oiv, Red, None, 150.0, "OENO 9/98", None),
            (Oiv, WhiteOrRose, Some(4.1), 300.0, "OENO 9/98", None),
        ] {
            let of = format!("{rules:?} {kind:?} {sugar:?}");
            for is_organic in [false, true] {
                let told: Vec<Limit> = total_figures(rules, kind, sugar, is_organic).collect();
                assert_eq!(told[0].most.to_bits(), f64::to_bits(usual), "{of}");
                assert!(told[0].section.contains(section), "{of}: {}", told[0].section);
                let expected = organic.filter(|_| is_organic);
                assert_eq!(
                    told.get(1).map(|it| it.most.to_bits()),
                    expected.map(|(most, _)| f64::to_bits(most)),
                    "{of}"
                );
                assert!(expected.is_none_or(|(_, section)| told[1].section.contains(section)), "{of}: {told:?}");
            }
        }
    }

    fn material(name: &str) -> GivenMaterial {
        let known = named(name).map(|named| named.known);
        let is_sulfur = known.is_some_and(|known| known.class == Class::SulfurDioxide);
        GivenMaterial { name: known.map_or(name, |known| &known.name).to_owned(), is_sulfur, known }
    }

    #[test]
    fn what_a_material_does_to_the_claim() {
        let told = |name: &str, rules| material(name).ends_words(rules);
        for sulfite in ["KMBS", "SO2 5 %", "E223", "burnt sulfur"] {
            let words = told(sulfite, Rules::Us).unwrap();
            assert!(words.contains("at most \"made with organic grapes\", total SO2 at most 100 ppm"), "{words}");
        }
        assert_eq!(told("KMBS", Rules::Eu), None);
        for agent in ["PVPP", "CMC", "lysozyme", "sorbic acid", "DMDC", "copper sulphate", "E223"] {
            let words = told(agent, Rules::Eu).unwrap();
            assert!(words.contains("is not on the list of EU 2021/1165 Annex V"), "{words}");
        }
        assert_eq!(
            [told("bentonite", Rules::Eu), told("bentonite", Rules::Us), told("xyzzy", Rules::Eu)],
            [None, None, None]
        );
    }

    fn red(total_mg_l: Option<f64>, given: &[&str]) -> Organic {
        let given = given.iter().map(|name| material(name)).collect();
        Organic { kind: Kind::Red, sugar_g_l: None, total_mg_l, given }
    }

    /// 203/2012: a dry red at 100 mg/L is within it, above that it is not; 7 CFR 205.301(f)(5): sulfites end it, 205.605(b) leaves 100 ppm.
    #[test]
    fn a_wine_is_told_by_what_was_given_and_by_its_total() {
        let bare = red(Some(12.0), &[]);
        assert!([Rules::Us, Rules::Eu].map(|rules| bare.left(rules)) == [Left::Organic; 2]);
        assert_eq!(
            bare.words(Rules::Us),
            "all grapes are; no sulfites were added by the book (7 CFR 205.301). Ask the certifier."
        );
        let sulfured = red(Some(100.0), &["KMBS"]);
        assert_eq!([Rules::Us, Rules::Eu].map(|rules| sulfured.left(rules)), [Left::MadeWith, Left::Organic]);
        assert!(sulfured.words(Rules::Us).contains("at most \"made with organic grapes\""));
        assert!(sulfured.words(Rules::Us).contains("total SO2 100 mg/L, within the 100 mg/L of US 7 CFR 205.605(b)"));
        assert!(sulfured.words(Rules::Eu).contains("total SO2 100 mg/L, within the 100 mg/L of EU 2021/1165 Annex V"));
        let much = red(Some(100.1), &["KMBS", "PVPP", "xyzzy"]);
        assert_eq!([Rules::Us, Rules::Eu].map(|rules| much.left(rules)), [Left::Nothing; 2]);
        let words = much.words(Rules::Eu);
        assert!(words.contains("PVPP was added, not on the list of EU 2021/1165 Annex V"), "{words}");
        assert!(words.contains("total SO2 100.1 mg/L, above the 100 mg/L"), "{words}");
        assert!(words.contains("unverified whether 2021/1165 Annex V has xyzzy"), "{words}");
        assert_eq!(much.lost_by(Rules::Eu, Left::Organic).as_deref(), Some("PVPP was added"));
        assert_eq!(
            red(Some(109.0), &["KMBS"]).lost_by(Rules::Us, Left::MadeWith).as_deref(),
            Some("total SO2 109 mg/L, above 100")
        );
        let untested = red(None, &["KMBS"]).words(Rules::Eu);
        assert!(untested.contains("total SO2 not tested, to be held against the 100 mg/L"), "{untested}");
        for wine in [&bare, &sulfured, &much] {
            for rules in [Rules::Us, Rules::Eu] {
                let words = wine.words(rules);
                assert!(!["held", "allowed", "legal"].iter().any(|word| words.contains(word)), "{words}");
            }
        }
    }
}
