//! Marks: the words in which a taste is written down, so that one word means one thing to all who taste.
//!
//! The trade's descriptors and faults stand in `assets/marks.json`, each with a short key to type. A house adds its own, or
//! says of one of the trade's that it is a fault here, or is none, by `mark_declared`.
//!
//! **Words become marks only where a phrase begins with them** (behind the score or a comma), so that "not reduced" names no fault. The
//! line below shows what enter will take.

use std::sync::{Arc, LazyLock};

use serde::{Deserialize, Serialize};

use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;

/// The most letters that a key may have.
const KEY_LETTERS: usize = 4;

/// What a mark of the trade speaks of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Group {
    /// Fruit.
    Fruit,
    /// Flowers.
    Flower,
    /// Green plants, dried leaves.
    Herb,
    /// Spices.
    Spice,
    /// Oak and its toast.
    Wood,
    /// Earth, stone, leather.
    Earth,
    /// Lees and malolactic fermentation.
    Yeast,
    /// How it feels in the mouth and looks in the glass.
    Structure,
    /// What should not be.
    Fault,
}

/// A mark of the trade.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TradeMark {
    /// The word.
    pub mark: Label,
    /// What is typed for it.
    pub key: Label,
    /// What it speaks of.
    pub group: Group,
    /// Other words for the same, as cellars write them.
    pub also: Vec<Label>,
    /// Of a fault, from when on it is noticed, where that is published.
    #[serde(default)]
    pub warns: Option<String>,
}

static TRADE: LazyLock<Vec<TradeMark>> =
    // That the file reads is held by a test; without it a house would have its own marks only.
    LazyLock::new(|| serde_json::from_str(include_str!("../../../../assets/marks.json")).unwrap_or_default());

/// The marks of the trade: fruit first, faults last.
#[must_use]
pub fn trade_marks() -> &'static [TradeMark] {
    &TRADE
}

/// The fact `mark_declared`: a mark of this house. What is not said stays as it was.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct MarkDeclared {
    /// The word.
    pub mark: Label,
    /// Whether it names a fault.
    #[serde(default)]
    pub fault: Option<bool>,
    /// What is typed for it.
    #[serde(default)]
    pub key: Option<Label>,
    /// From when on it is noticed, in this house's words.
    #[serde(default)]
    pub warns: Option<Text>,
}

/// A mark that the house declared.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HouseMark {
    /// The word.
    pub mark: Label,
    /// Whether it names a fault.
    pub fault: bool,
    /// What is typed for it.
    pub key: Option<Label>,
    /// From when on it is noticed, in this house's words; else as the trade says.
    pub warns: Option<Text>,
}

/// A mark as it counts in a cellar.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark<'a> {
    /// The word.
    pub mark: &'a Label,
    /// What is typed for it.
    pub key: Option<&'a Label>,
    /// What it speaks of; none of a word that only this house knows.
    pub group: Option<Group>,
    /// Whether it names a fault.
    pub fault: bool,
    /// Other words for the same.
    pub also: &'a [Label],
    /// Of a fault, from when on it is noticed.
    pub warns: Option<&'a str>,
}

impl<'a> Mark<'a> {
    fn of_trade(mark: &'a TradeMark) -> Mark<'a> {
        Mark {
            mark: &mark.mark,
            key: Some(&mark.key),
            group: Some(mark.group),
            fault: mark.group == Group::Fault,
            also: &mark.also,
            warns: mark.warns.as_deref(),
        }
    }

    /// What the house says of it, with what the trade says besides.
    fn of_house(mark: &'a HouseMark) -> Mark<'a> {
        let trade = trade_mark(&mark.mark);
        Mark {
            mark: &mark.mark,
            key: mark.key.as_ref(),
            group: trade.map(|trade| trade.group),
            fault: mark.fault,
            also: trade.map_or(&[], |trade| &trade.also),
            warns: mark.warns.as_ref().map(Text::as_str).or(trade.and_then(|trade| trade.warns.as_deref())),
        }
    }

    fn is_called(&self, word: &str) -> bool {
        same(self.mark, word)
            || self.key.is_some_and(|key| same(key, word))
            || self.also.iter().any(|it| same(it, word))
    }

    /// How near a beginning comes to it: nought is nearest.
    fn distance(&self, beginning: &str) -> Option<u8> {
        let name = plain(self.mark.as_str());
        let key = self.key.map_or("", Label::as_str);
        match () {
            () if key == beginning => Some(0),
            () if key.starts_with(beginning) => Some(1),
            () if name.starts_with(beginning) => Some(2),
            () if self.also.iter().any(|also| plain(also.as_str()).starts_with(beginning)) => Some(3),
            () if name.contains(beginning) => Some(4),
            () => None,
        }
    }
}

/// A word without regard to case, with spaces for underscores.
fn plain(word: &str) -> String {
    word.to_lowercase().replace('_', " ")
}

fn same(mark: &Label, word: &str) -> bool {
    plain(mark.as_str()) == plain(word)
}

fn trade_mark(word: &Label) -> Option<&'static TradeMark> {
    trade_marks().iter().find(|trade| same(&trade.mark, word.as_str()))
}

impl State {
    /// All marks: the house's first, then the trade's of which the house says nothing.
    pub fn marks(&self) -> impl Iterator<Item = Mark<'_>> {
        let house = self.house_marks.iter().map(Mark::of_house);
        let untouched = |trade: &&TradeMark| !self.house_marks.iter().any(|own| same(&own.mark, trade.mark.as_str()));
        let trade: &[TradeMark] = trade_marks();
        house.chain(trade.iter().filter(untouched).map(Mark::of_trade))
    }

    /// The mark that a word or a key means.
    #[must_use]
    pub fn mark_called(&self, word: &str) -> Option<Mark<'_>> {
        self.marks().find(|mark| mark.is_called(word))
    }

    /// The marks that a beginning of a word may become, the nearest first.
    #[must_use]
    pub fn marks_near(&self, beginning: &str) -> Vec<Mark<'_>> {
        let beginning = plain(beginning);
        let mut near: Vec<_> = self.marks().filter_map(|mark| Some((mark.distance(&beginning)?, mark))).collect();
        // Sorting keeps the order of the list among what is equally near.
        if !beginning.is_empty() {
            near.sort_by_key(|&(distance, _)| distance);
        }
        near.into_iter().map(|(_, mark)| mark).collect()
    }

    /// Those of some marks that name a fault.
    #[must_use]
    pub fn faults_among(&self, marks: &[Label]) -> Vec<Mark<'_>> {
        marks.iter().filter_map(|mark| self.mark_called(mark.as_str())).filter(|mark| mark.fault).collect()
    }
}

impl Job for MarkDeclared {
    type Ready = ();

    fn ready(&self, _state: &State) -> Result<(), Refusal> {
        let word = self.mark.as_str();
        if word.contains([',', ';']) || !word.contains(char::is_alphabetic) || word.trim() != word {
            return Err(Refusal::BadMark(self.mark.clone()));
        }
        let is_key = |key: &Label| {
            let letters = key.as_str();
            letters.len() <= KEY_LETTERS && letters.bytes().all(|letter| letter.is_ascii_lowercase())
        };
        match self.key.as_ref().filter(|key| !is_key(key)) {
            Some(key) => Err(Refusal::BadMarkKey(key.clone())),
            None => Ok(()),
        }
    }

    /// Two laptops may have given one key to two words: then it means the first.
    fn doubt(&self, state: &State, (): &()) -> Option<Refusal> {
        let key = self.key.as_ref()?;
        let other = state.mark_called(key.as_str()).filter(|other| !same(other.mark, self.mark.as_str()))?;
        Some(Refusal::MarkKeyTaken { key: key.clone(), by: other.mark.clone() })
    }

    fn apply(&self, state: &mut State, _stamp: &Stamp, (): ()) {
        let word = self.mark.as_str();
        let before = state.mark_called(word);
        let fault = self.fault.unwrap_or(before.is_some_and(|before| before.fault));
        // A word that meant the same as another until now does not take its key along.
        let own = before.filter(|before| same(before.mark, word));
        let key = self.key.clone().or_else(|| own.and_then(|own| own.key.cloned()));
        let said_before = state.house_marks.iter().find(|own| same(&own.mark, word)).and_then(|own| own.warns.clone());
        let warns = self.warns.clone().or(said_before);
        let declared = HouseMark { mark: self.mark.clone(), fault, key, warns };
        let house = Arc::make_mut(&mut state.house_marks);
        match house.iter_mut().find(|own| same(&own.mark, word)) {
            Some(own) => *own = declared,
            None => house.push(declared),
        }
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.mark)
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn every_mark_of_the_trade_can_be_declared_and_means_one_thing() {
        assert!(trade_marks().len() > 60);
        let mut seen = HashSet::new();
        for trade in trade_marks() {
            let declared =
                MarkDeclared { mark: trade.mark.clone(), fault: None, key: Some(trade.key.clone()), warns: None };
            assert_eq!((declared.ready(&State::default()), trade.key.as_str().len()), (Ok(()), 2), "{}", trade.mark);
            for word in trade.also.iter().chain([&trade.mark, &trade.key]) {
                assert!(seen.insert(plain(word.as_str())), "{word} twice");
            }
        }
    }

    /// Keys stand among words of one's own, so none may be a short word of English.
    #[test]
    fn no_key_is_a_word() {
        let words = "a am an as at be by do go he hi if in is it me my no of oh on or so to up us we";
        for trade in trade_marks() {
            assert!(!words.split(' ').any(|word| word == trade.key.as_str()), "{}", trade.key);
        }
    }

    /// The words that older programs took for faults.
    #[test]
    fn what_was_a_fault_is_one_still() {
        let state = State::default();
        let words = "brett/brettanomyces/4-ep/va/volatile/volatile acidity/Volatile_Acidity/acetic/ethyl acetate/reduction/\
                     reduced/reductive/h2s/sulfide/mousy/mousiness/mouse/tca/cork/corked/cork taint/musty/mould/mouldy/\
                     oxidised/oxidized/oxidation/fault";
        for word in words.split('/') {
            assert_eq!(state.faults_among(&[Label::new(word).unwrap()]).len(), 1, "{word}");
        }
        assert!(state.faults_among(&[Label::new("plum").unwrap(), Label::new("closed").unwrap()]).is_empty());
    }

    #[test]
    fn what_is_typed_finds_the_nearest_mark_first() {
        let state = State::default();
        let near =
            |beginning: &str| state.marks_near(beginning).iter().map(|mark| mark.mark.as_str()).collect::<Vec<_>>();
        assert_eq!(near("pl")[0], "plum");
        assert_eq!(near("br")[..2], ["Brettanomyces", "bread"]);
        assert_eq!(near("pepper"), ["black pepper", "bell pepper"]);
        assert_eq!(near("xyz"), Vec::<&str>::new());
        assert_eq!(near("").len(), trade_marks().len());
    }
}
