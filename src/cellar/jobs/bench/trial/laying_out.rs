//! Laying a trial out: codes and each taster's orders by chance from a seed, and the seal.

use std::collections::{BTreeMap, BTreeSet};

use super::code::Code;
use super::setting::{ComponentSet, GlassSet, TrialSet};
use crate::cellar::core::label::{Label, Text};
use crate::reckon::chance::Chance;
use crate::reckon::serving::{self, Question, ServingError, codes};
use crate::units::{Shares, Volume};

/// A trial before its codes and orders are drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Its label.
    pub trial: Label,
    /// The vessels whose wines are mixed.
    pub components: Vec<ComponentSet>,
    /// What is in a glass.
    pub glass: Volume,
    /// What is in each glass, as it is poured. A glass of the same shares as an earlier one is its hidden repeat.
    pub glasses: Vec<Shares>,
    /// The trial of which it is the second sitting.
    pub after: Option<Label>,
    /// The least and most of each component, in words.
    pub bounds: Option<Text>,
    /// What else the glasses keep to, in words.
    pub limits: Option<Text>,
    /// Who tastes.
    pub panel: Vec<Label>,
    /// The most glasses of a flight.
    pub flight: usize,
    /// The most glasses that one taster tastes.
    pub most: usize,
    /// What codes and orders are drawn from.
    pub seed: u64,
    /// What is sealed with the key, so that nobody finds the key by trying.
    pub salt: Label,
}

impl Plan {
    /// The trial, with codes that no other trial had. The same seed draws the same.
    pub fn lay_out(self, taken: &BTreeSet<u16>) -> Result<TrialSet, ServingError> {
        let mut chance = Chance::from_seed(self.seed);
        let codes = codes(self.glasses.len(), taken, &mut chance)?;
        let codes: Vec<Code> = codes.into_iter().filter_map(Code::from_number).collect();
        let servings = self.servings(&codes, &mut chance)?;
        let first = |at: usize| self.first_like(at).map(|first| codes[first]);
        let glasses = (0..).zip(&self.glasses).zip(&codes);
        let glasses = glasses
            .map(|((at, shares), &code)| GlassSet { code, shares: shares.clone(), repeat_of: first(at) })
            .collect();
        let fact = TrialSet {
            trial: self.trial,
            components: self.components,
            glass: self.glass,
            glasses,
            after: self.after,
            panel: self.panel,
            servings,
            bounds: self.bounds,
            limits: self.limits,
            seed: Some(self.seed),
            salt: Some(self.salt),
            digest: None,
        };
        // A digest has 64 letters and digits: a text.
        Ok(TrialSet { digest: Text::new(&fact.digest()).ok(), ..fact })
    }

    /// The first glass with the same in it, if there is one before.
    fn first_like(&self, at: usize) -> Option<usize> {
        self.glasses[..at].iter().position(|shares| *shares == self.glasses[at])
    }

    /// Draws each taster's order.
    fn servings(&self, codes: &[Code], chance: &mut Chance) -> Result<BTreeMap<Label, Vec<Vec<Code>>>, ServingError> {
        let question = Question {
            glasses: codes.len(),
            repeats: (0..codes.len()).filter_map(|at| Some((at, self.first_like(at)?))).collect(),
            tasters: self.panel.len(),
            flight: self.flight,
            most: self.most,
        };
        let in_codes = |order: Vec<Vec<usize>>| {
            order.into_iter().map(|flight| flight.into_iter().map(|glass| codes[glass]).collect()).collect()
        };
        let orders = serving::lay_out(&question, chance)?.orders;
        Ok(self.panel.iter().cloned().zip(orders.into_iter().map(in_codes)).collect())
    }
}

impl TrialSet {
    /// How many tasters are served each glass, in the order of the glasses.
    #[must_use]
    pub fn times_served(&self) -> Vec<u64> {
        let served = |code: Code| self.servings.values().flatten().flatten().filter(|&&it| it == code).count() as u64;
        self.glasses.iter().map(|glass| served(glass.code)).collect()
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // in what the tests share

    use std::collections::HashSet;

    use super::*;

    /// A trial of ten glasses and one more that repeats the third.
    fn plan(seed: u64, salt: &str) -> Plan {
        let label = |text: &str| Label::new(text).unwrap();
        let component = |vessel| ComponentSet { vessel: label(vessel), available: None, reserve: None };
        let part = |part: u32| Shares::from_millionths(vec![part, 1_000_000 - part]).unwrap();
        Plan {
            trial: label("Q"),
            components: vec![component("T"), component("U")],
            glass: Volume::from_ml(50),
            glasses: (0..10).chain([2]).map(part).collect(),
            after: None,
            bounds: None,
            limits: None,
            panel: vec![label("anna"), label("ben")],
            flight: 5,
            most: 45,
            seed,
            salt: label(salt),
        }
    }

    #[test]
    fn the_same_seed_lays_out_the_same_and_every_taster_gets_every_glass_once() {
        let lay_out = |seed| plan(seed, "00").lay_out(&BTreeSet::new()).unwrap();
        let fact = lay_out(7);
        assert_eq!(lay_out(7), fact);
        assert_ne!(lay_out(8).servings, fact.servings);
        let codes: HashSet<Code> = fact.glasses.iter().map(|glass| glass.code).collect();
        assert_eq!(codes.len(), 11);
        let repeats: Vec<_> = fact.glasses.iter().map(|glass| glass.repeat_of).collect();
        assert_eq!((repeats[10], repeats[..10].iter().flatten().count()), (Some(fact.glasses[2].code), 0));
        for flights in fact.servings.values() {
            assert!(flights.iter().all(|flight| flight.len() <= 5));
            assert_eq!(flights.iter().flatten().copied().collect::<HashSet<_>>(), codes);
        }
        assert_eq!(fact.times_served(), [2; 11]);
    }

    #[test]
    fn another_salt_has_another_digest_and_codes_of_other_trials_are_left_out() {
        let one = plan(7, "00").lay_out(&BTreeSet::new()).unwrap();
        let other = plan(7, "01").lay_out(&BTreeSet::new()).unwrap();
        assert_eq!(one.glasses, other.glasses);
        assert_ne!(one.digest, other.digest);
        assert_eq!(one.digest.as_ref().map(|digest| digest.as_str().to_owned()), Some(one.digest()));
        let taken: BTreeSet<u16> = one.glasses.iter().map(|glass| glass.code.number()).collect();
        let again = plan(7, "00").lay_out(&taken).unwrap();
        assert!(again.glasses.iter().all(|glass| !taken.contains(&glass.code.number())));
    }
}
