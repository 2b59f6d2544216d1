//! Organic wine: all of its grapes are, as their origins say; what was given to it over its life, and what another gift would do to
//! the claim.

use crate::cellar::core::label::Label;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::{State, Vessel, VesselId};
use crate::cellar::core::wine::Wine;
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::reckon::label_share::Rules;
use crate::reckon::limits::Kind;
use crate::reckon::material::Class;
use crate::reckon::organic::{GivenMaterial, Organic};

impl State {
    /// Whether all of a wine is certified organic by its origins; what has no stated origin does not count.
    #[must_use]
    pub fn is_organic(&self, wine: &Wine) -> bool {
        let mut origins = wine.parts().iter().filter_map(|part| part.origin).peekable();
        origins.peek().is_some() && origins.all(|id| self.origins.get(id).0.organic == Some(true))
    }

    /// Whether all of some vessels' wine is.
    #[must_use]
    pub fn are_organic(&self, vessels: &[VesselId]) -> bool {
        !vessels.is_empty() && vessels.iter().all(|&id| self.is_organic(&self.vessels.get(id).wine))
    }

    /// A wine of organic grapes with what was given to it and its total by what it carries; none of other wine. Sugar in g/L, where it
    /// is known.
    #[must_use]
    pub fn organic(&self, wine: &Wine, sugar_g_l: Option<f64>) -> Option<Organic> {
        self.is_organic(wine).then(|| {
            let sums = self.additions_in([wine].into_iter()).sums.into_iter();
            let is_sulfur = |class| class == Class::SulfurDioxide;
            let given =
                sums.map(|sum| GivenMaterial { is_sulfur: is_sulfur(sum.class), name: sum.name, known: sum.known });
            Organic {
                kind: self.kind_of_wine(wine),
                sugar_g_l,
                total_mg_l: self.total_in(wine),
                given: given.collect(),
            }
        })
    }

    /// The wine of some vessels together, as far as it is of organic grapes: of a lot, which is bottled as one.
    #[must_use]
    pub fn organic_in(&self, vessels: &[VesselId], sugar_g_l: Option<f64>) -> Option<Organic> {
        if !self.are_organic(vessels) {
            return None;
        }
        let mut wine = Wine::default();
        for &id in vessels {
            wine.mix(&self.vessels.get(id).wine);
        }
        self.organic(&wine, sugar_g_l)
    }

    /// What is said of such a wine by the rules of the house, a sentence for each.
    pub fn organic_sentences(&self, organic: &Organic) -> impl Iterator<Item = String> {
        self.practice.sides().iter().map(|&rules| organic.sentence(rules))
    }

    /// Red where any of it is: those figures are the lower ones.
    fn kind_of_wine(&self, wine: &Wine) -> Kind {
        let mut origins = wine.parts().iter().filter_map(|part| part.origin);
        let any_red = origins.any(|id| self.origins.get(id).0.colour == Colour::Red);
        if any_red { Kind::Red } else { Kind::WhiteOrRose }
    }

    /// The total sulfur dioxide of a wine by what it carries, mg/L: as tested, and all that was given since; none where too little of it
    /// was ever tested.
    fn total_in(&self, wine: &Wine) -> Option<f64> {
        let sulfur = wine.sulfur()?;
        let tested = sulfur.level(Analyte::TotalSo2)?;
        let since = sulfur.gifts().filter(|gift| !gift.is_in(Analyte::TotalSo2)).map(|gift| gift.milligrams(self));
        Some(tested.mg_l + since.sum::<f64>() / wine.volume().as_litres().max(f64::MIN_POSITIVE))
    }

    /// What is asked before a material is given to vessels whose grapes are all organic: what that would do to the claim by the rules of
    /// the house, `0167 and 11 more are of organic grapes. …`. None where its lists hold it, or where the claim was ended before.
    #[must_use]
    pub fn asks_of_organic(&self, vessels: &[VesselId], material: &Label) -> Option<Question> {
        let given = self.material_given(material);
        let sides = self.practice.sides().iter();
        let ends: Vec<(Rules, String)> = sides.filter_map(|&rules| Some((rules, given.ends_words(rules)?))).collect();
        let mut of: Vec<&Label> = Vec::new();
        let mut words: Vec<&str> = Vec::new();
        for vessel in vessels.iter().filter(|_| !ends.is_empty()).map(|&id| self.vessels.get(id)) {
            let Some(organic) = self.organic(&vessel.wine, None) else { continue };
            let is_open = |rules: Rules| !organic.is_ended(rules) && !self.is_ended_in_lot(vessel, rules);
            let open: Vec<&str> = ends.iter().filter(|it| is_open(it.0)).map(|it| it.1.as_str()).collect();
            if !open.is_empty() {
                of.push(&vessel.label);
            }
            for it in open {
                if !words.contains(&it) {
                    words.push(it);
                }
            }
        }
        let vessels = match (of.first()?, of.len() - 1) {
            (only, 0) => format!("{only} is"),
            (first, more) => format!("{first} and {more} more are"),
        };
        Some(Question::OrganicEnds { vessels, words: words.join("; ") })
    }

    /// Whether the claim of a vessel's lot was ended by what was given to another vessel of it: it is bottled as one.
    fn is_ended_in_lot(&self, vessel: &Vessel, rules: Rules) -> bool {
        let Some(lot) = vessel.lot else { return false };
        self.lots.get(lot).additions.iter().any(|added| self.material_given(&added.material).ends(rules))
    }

    fn material_given(&self, word: &Label) -> GivenMaterial {
        let known = self.known_material(word.as_str());
        let meant = self.material(word.as_str());
        let name = meant.map_or(word.as_str(), |meant| meant.name).to_owned();
        GivenMaterial { name, is_sulfur: meant.is_some_and(|meant| meant.is_sulfur()), known }
    }
}
