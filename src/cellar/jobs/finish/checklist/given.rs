//! What the list says of what was really given to a wine over its life: whether that speaks against the claim to be organic, which
//! allergens its label may have to name, and what its list of ingredients is by the book.

use super::Standing;
use super::answer::Answer;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::tests::added::Additions;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::reckon::label_share::Rules;
use crate::reckon::material::about::Allergen;
use crate::reckon::material::{Class, Known};
use crate::reckon::organic::{Left, Organic};
use crate::units::all_of;

/// From this total on a label names sulfites, mg/L: 27 CFR 4.32(e) from 10 ppm on, EU 1169/2011 Annex II above 10 mg/L.
const SULFITES_NAMED_MG_L: f64 = 10.0;

impl State {
    /// The wine of some vessels as far as it is of organic grapes, with the highest of their totals.
    fn organic_to_bottle(&self, vessels: &[VesselId]) -> Option<Organic> {
        let organic = self.organic_in(vessels, self.least_sugar(vessels))?;
        Some(Organic { total_mg_l: self.highest_total(vessels), ..organic })
    }

    /// The sentences of it in place of a rule.
    pub(super) fn organic_rule(&self, vessels: &[VesselId]) -> String {
        let organic = self.organic_to_bottle(vessels);
        organic.iter().flat_map(|it| self.organic_sentences(it)).collect::<Vec<_>>().join(" ")
    }

    /// Whether anything that is known of an organic wine speaks against the claim by the rules of the house.
    pub(super) fn organic_answer(&self, vessels: &[VesselId]) -> Answer {
        let Some(organic) = self.organic_to_bottle(vessels) else { return Answer::default() };
        let sides = self.practice.sides();
        let lost = |&rules: &Rules| {
            let why = organic.lost_by(rules, Left::Organic)?;
            Some(format!("{}: {why}", rules.word().to_uppercase()))
        };
        let lost: Vec<String> = sides.iter().filter_map(lost).collect();
        if !lost.is_empty() {
            return Answer { standing: Standing::NotMet, words: Some(lost.join("; ")), ..Answer::default() };
        }
        match organic.total_mg_l {
            // No figure is asked of a wine that was given none, by the rules of the United States.
            None if sides.contains(&Rules::Eu) => {
                Answer { words: Some("total SO2 not tested".to_owned()), ..Answer::default() }
            }
            _ => Answer {
                standing: Standing::Met,
                words: Some("by its grapes, nothing known against it".to_owned()),
                ..Answer::default()
            },
        }
    }

    /// What the label may have to name; that it does is ticked. Where the book has nothing to name the item is met.
    pub(super) fn allergens(&self, vessels: &[VesselId]) -> Answer {
        if vessels.is_empty() {
            return Answer::default();
        }
        let given = self.additions_to(vessels);
        // What was last tested counts whatever was done since: nothing that is given takes sulfites out of a wine.
        let total = |&id: &VesselId| Some(self.total_at_most(id, self.last_found(id, Analyte::TotalSo2)?).value);
        let totals: Option<Vec<f64>> = vessels.iter().map(total).collect();
        let total = totals.and_then(|totals| totals.into_iter().reduce(f64::max));
        let is_sulfured = given.sums.iter().any(|sum| sum.class == Class::SulfurDioxide);
        let mut named: Vec<String> = Vec::new();
        match total {
            Some(total) if total >= SULFITES_NAMED_MG_L => named.push(format!("sulfites ({total:.0} mg/L)")),
            None if is_sulfured => named.push("sulfites (given, total not tested)".to_owned()),
            _ => {}
        }
        for allergen in [Allergen::Egg, Allergen::Milk, Allergen::Wheat] {
            let of = names(&given, |known| known.allergen() == Some(allergen));
            if !of.is_empty() {
                named.push(format!("{} ({})", allergen.word(), all_of(&of)));
            }
        }
        // Left out by EU 1169/2011 Annex II where it only fines; 27 CFR 4.32a counts fining agents.
        let fish = names(&given, |known| known.name == ISINGLASS);
        if !fish.is_empty() && self.practice.sides().contains(&Rules::Us) {
            named.push(format!("fish ({}), if any is named by 27 CFR 4.32a", all_of(&fish)));
        }
        match (named.is_empty(), total) {
            (false, _) => Answer { words: Some(format!("may have to name {}", named.join(", "))), ..Answer::default() },
            (true, None) => Answer { words: Some("sulfites: total SO2 not tested".to_owned()), ..Answer::default() },
            (true, Some(_)) => {
                Answer { standing: Standing::Met, words: Some("none by the book".to_owned()), ..Answer::default() }
            }
        }
    }

    /// What its list of ingredients is by the book; that it is right is ticked.
    pub(super) fn ingredients(&self, vessels: &[VesselId]) -> Answer {
        if vessels.is_empty() {
            return Answer::default();
        }
        let given = self.additions_to(vessels);
        let of = |is_fining: bool| {
            let those = given.sums.iter().filter(move |sum| (sum.class == Class::Fining) == is_fining);
            those.map(|sum| sum.name.clone())
        };
        let list: Vec<String> = std::iter::once("grapes".to_owned()).chain(of(false)).collect();
        let fined: Vec<String> = of(true).collect();
        let fined = if fined.is_empty() { String::new() } else { format!("; fined with {}", all_of(&fined)) };
        Answer { words: Some(format!("{}{fined}", list.join(", "))), ..Answer::default() }
    }
}

/// Fish glue, as the trade's table calls it.
const ISINGLASS: &str = "isinglass";

/// What was given of what the trade's table says so.
fn names(given: &Additions, is_so: impl Fn(&Known) -> bool) -> Vec<String> {
    given.sums.iter().filter(|sum| sum.known.is_some_and(&is_so)).map(|sum| sum.name.clone()).collect()
}
