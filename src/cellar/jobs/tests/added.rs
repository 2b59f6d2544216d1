//! What was added to a wine over its life: each material goes along through moves, toppings and blends, and is summed under whatever
//! name it was written.
//!
//! What is carried is whole micrograms by the word that was written; a part of a wine takes its part of each. What the word means is
//! looked up when it is asked, so that a material that is declared later counts from its first addition on. Evaporation takes
//! nothing, and what settles out still counts: published figures are of what was added. Water goes along as wine without an origin.
//!
//! **What was added to a wine** is carried by it as micrograms by the word that was written (`jobs/tests/added.rs`), split as the wine is;
//! the word is looked up when it is asked, so that a later declaration counts from the first addition on. Water is the wine without origin.
//! `jobs/tests/figures.rs` asks of it before an addition, but not at a step that a work planned: that was asked.

use std::sync::Arc;

use serde::{Deserialize, Serialize};
use smallvec::SmallVec;

use crate::cellar::core::label::Label;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::core::wine::Wine;
use crate::reckon::label_share::Rules;
use crate::reckon::material::{self, Class, Held, Known, WineColour};
use crate::units::{Mass, Volume};

/// What was added to a wine, as much of it as is in this one.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct CarriedAdditions {
    /// Ordered by material, each once, none of zero.
    given: SmallVec<[Given; 2]>,
}

/// So much of a material.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Given {
    /// Its place among the words that were ever written for an addition.
    pub material: u16,
    /// How much.
    pub amount: Mass,
}

impl CarriedAdditions {
    /// So much of a material was added.
    pub fn give(&mut self, material: u16, amount: Mass) {
        if amount.is_zero() {
            return;
        }
        match self.given.binary_search_by_key(&material, |given| given.material) {
            Ok(index) => self.given[index].amount += amount,
            Err(index) => self.given.insert(index, Given { material, amount }),
        }
    }

    /// Takes out what goes with a part of the wine.
    #[must_use]
    pub fn take(&mut self, part: Volume, of: Volume) -> CarriedAdditions {
        let mut taken = self.clone();
        for (left, gone) in self.given.iter_mut().zip(&mut taken.given) {
            gone.amount = left.amount.part(part.as_ul(), of.as_ul()).min(left.amount);
            left.amount = Mass::from_ug(left.amount.as_ug().saturating_sub(gone.amount.as_ug()));
        }
        for carried in [&mut *self, &mut taken] {
            carried.given.retain(|given| !given.amount.is_zero());
        }
        taken
    }

    /// Another wine comes to this one.
    pub fn join(&mut self, other: &CarriedAdditions) {
        for given in &other.given {
            self.give(given.material, given.amount);
        }
    }

    /// What was added, by material.
    pub fn given(&self) -> impl Iterator<Item = &Given> {
        self.given.iter()
    }
}

/// A material as it was added to some wine over its life, under all its names.
#[derive(Clone, Debug, PartialEq)]
pub struct AddedSum {
    /// What it is called.
    pub name: String,
    /// What it is added for.
    pub class: Class,
    /// What is published of it; none of a material of the house's own.
    pub known: Option<&'static Known>,
    /// How much in all.
    pub amount: Mass,
}

/// All that was added to some wine over its life.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Additions {
    /// How much wine it is, without the water of additions.
    pub wine: Volume,
    /// The water of all additions; every solution and slurry counts whole, which errs to the safe side.
    pub water: Volume,
    /// Each material, by class and name.
    pub sums: Vec<AddedSum>,
    /// The sulfur dioxide that all of them gave, as far as their strength is known.
    pub sulfur_dioxide: Mass,
}

impl Additions {
    /// The water as a share of the wine; none of no wine.
    #[must_use]
    pub fn water_share(&self) -> Option<f64> {
        let litres = self.wine.as_litres();
        (litres > 0.0).then(|| self.water.as_litres() / litres)
    }

    /// An amount in grams a litre of the wine; nothing of no wine.
    #[must_use]
    pub fn g_l(&self, amount: Mass) -> f64 {
        let litres = self.wine.as_litres();
        if litres > 0.0 { amount.as_grams() / litres } else { 0.0 }
    }

    /// How much of what a material counts as was added, with all others that count as that, grams a litre.
    #[must_use]
    pub fn counted_g_l(&self, known: &Known) -> f64 {
        let same = self.sums.iter().filter_map(|sum| Some((sum.known?, sum.amount)));
        let same = same.filter(|(other, _)| other.counts_as() == known.counts_as());
        same.map(|(other, amount)| self.g_l(amount) * other.counted_share()).sum()
    }

    /// A material held against its published figures, by the rules that a house goes by.
    #[must_use]
    pub fn held_against(&self, known: &'static Known, colour: WineColour, rules: Option<Rules>) -> Vec<Held<'static>> {
        let of_itself = self.sums.iter().filter(|sum| sum.known == Some(known)).map(|sum| self.g_l(sum.amount)).sum();
        known.held_against(of_itself, self.counted_g_l(known), colour, rules)
    }

    /// So much of a material, by a word for it.
    fn add(&mut self, state: &State, label: &Label, amount: Mass) {
        let word = label.as_str();
        self.sulfur_dioxide += state.sulfur_dioxide_in(label, amount, Volume::ZERO).unwrap_or_default();
        let (name, class) = state.material(word).map_or((word, Class::Other), |meant| (meant.name, meant.class));
        if let Some(sum) = self.sums.iter_mut().find(|sum| sum.name == name) {
            sum.amount += amount;
            return;
        }
        let (name, known) = (name.to_owned(), state.known_material(word));
        self.sums.push(AddedSum { name, class, known, amount });
    }

    /// What is to be added besides, in a solution of which the water stays.
    pub(in crate::cellar) fn besides(
        mut self,
        state: &State,
        word: &Label,
        amount: Mass,
        solution: Volume,
    ) -> Additions {
        self.add(state, word, amount);
        self.water += solution;
        self
    }
}

impl State {
    /// What the trade's table says of what a word means in this house; none where the house says that it is something else.
    #[must_use]
    pub fn known_material(&self, word: &str) -> Option<&'static Known> {
        let meant = self.material(word)?;
        let known = material::named(meant.name)?.known;
        (known.class == meant.class && known.name == meant.name).then_some(known)
    }

    /// All that was added to the wine of some vessels over its life.
    #[must_use]
    pub fn additions_to(&self, vessels: &[VesselId]) -> Additions {
        self.additions_in(vessels.iter().map(|&id| &self.vessels.get(id).wine))
    }

    /// All that was added to some wines over their lives.
    #[must_use]
    pub fn additions_in<'a>(&self, wines: impl Iterator<Item = &'a Wine>) -> Additions {
        let mut additions = Additions::default();
        for wine in wines {
            let water = wine.without_origin();
            additions.water += water;
            additions.wine += wine.volume().saturating_sub(water);
            for given in wine.added().into_iter().flat_map(CarriedAdditions::given) {
                if let Some(word) = self.added_words.get(usize::from(given.material)) {
                    additions.add(self, word, given.amount);
                }
            }
        }
        let place = |class: Class| Class::ALL.iter().position(|it| *it == class);
        additions.sums.sort_by(|one, other| (place(one.class), &one.name).cmp(&(place(other.class), &other.name)));
        additions
    }

    /// The place of a word among those that were ever written for an addition; a new one is put behind them.
    pub(in crate::cellar) fn added_word(&mut self, word: &Label) -> Option<u16> {
        let place = self.added_words.iter().position(|known| known == word).unwrap_or_else(|| {
            Arc::make_mut(&mut self.added_words).push(word.clone());
            self.added_words.len() - 1
        });
        u16::try_from(place).ok()
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn sum(carried: &CarriedAdditions, material: u16) -> u64 {
        carried.given().filter(|given| given.material == material).map(|given| given.amount.as_ug()).sum()
    }

    proptest! {
        #[test]
        fn nothing_that_was_added_is_lost_or_made(
            gifts in prop::collection::vec((0_u16..6, 0_u64..10_000_000_000), 0..20),
            part in 0_u64..=225_000_000,
        ) {
            let mut wine = CarriedAdditions::default();
            for &(material, ug) in &gifts {
                wine.give(material, Mass::from_ug(ug));
            }
            let whole = wine.clone();
            let taken = wine.take(Volume::from_ul(part), Volume::from_ul(225_000_000));
            for material in 0..6 {
                let all = gifts.iter().filter(|(it, _)| *it == material).map(|(_, ug)| ug).sum::<u64>();
                prop_assert_eq!(sum(&whole, material), all);
                prop_assert_eq!(sum(&wine, material) + sum(&taken, material), all);
                let exact = u128::from(all) * u128::from(part) / 225_000_000;
                prop_assert!(u128::from(sum(&taken, material)).abs_diff(exact) <= 1);
            }
            wine.join(&taken);
            prop_assert_eq!(wine, whole);
        }
    }
}
