//! Checking: what people say of the items of a checklist, and what the house adds to it.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::Standing;
use super::item::{Item, TradeItem, same};
use super::lapse::Lapse;
use crate::cellar::core::fact::{FactId, Stamp};
use crate::cellar::core::job::Job;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State};
use crate::cellar::jobs::floor::room::in_range;

/// The fact `check_declared`: an item of this house's checklist, or whether one of the trade's is required here.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CheckDeclared {
    /// What it is called.
    pub item: Label,
    /// Whether a run waits for it.
    pub required: bool,
    /// What is asked.
    #[serde(default)]
    pub text: Option<Text>,
    /// The lot that it is said of; none of all.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<Label>,
}

/// An item that the house declared.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct HouseCheck {
    /// What it is called.
    pub item: Label,
    /// Whether a run waits for it.
    pub required: bool,
    /// What is asked.
    pub text: Option<Text>,
    /// The lot that it is said of; none of all.
    pub lot: Option<LotId>,
}

impl HouseCheck {
    /// Whether it is said of a lot, by itself or as of all.
    #[must_use]
    pub fn is_of(&self, lot: LotId) -> bool {
        self.lot.is_none_or(|of| of == lot)
    }
}

/// The fact `checked`: somebody looked, and an item of a lot is met or not.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Checked {
    /// Which lot.
    pub lot: Label,
    /// Which item.
    pub item: Label,
    /// Whether it is met.
    pub met: bool,
    /// A figure beside it; at the item `alcohol` what stands on the label, % vol.
    #[serde(default)]
    pub value: Option<f64>,
    /// Words beside it.
    #[serde(default)]
    pub text: Option<Text>,
}

/// The fact `check_waived`: a lot may be bottled though an item is open.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CheckWaived {
    /// Which lot.
    pub lot: Label,
    /// Which item.
    pub item: Label,
    /// Why.
    pub why: Text,
}

/// What was last said of an item of a lot.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Said {
    /// Which item.
    pub item: Item,
    /// When.
    pub at: Moment,
    /// By which fact.
    pub id: FactId,
    /// What.
    pub saying: Saying,
    /// Why it counts no longer, if it does not.
    pub lapsed: Option<Lapse>,
}

/// What can be said of an item.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Saying {
    /// Somebody looked.
    Ticked {
        /// Whether it is met.
        met: bool,
        /// A figure beside it.
        value: Option<f64>,
        /// Words beside it.
        text: Option<Text>,
    },
    /// It may stay open.
    Waived {
        /// Why.
        why: Text,
    },
}

impl Said {
    /// The figure that was said beside it.
    #[must_use]
    pub const fn value(&self) -> Option<f64> {
        match self.saying {
            Saying::Ticked { value, .. } => value,
            Saying::Waived { .. } => None,
        }
    }

    /// That it counts no longer, in words: `tick lapsed: filtered 14 Nov 2026`.
    #[must_use]
    pub fn lapse_words(&self) -> Option<String> {
        let lapse = self.lapsed?;
        let what = match self.saying {
            Saying::Ticked { .. } => "tick",
            Saying::Waived { .. } => "waiver",
        };
        Some(format!("{what} lapsed: {} {}", lapse.by.word(), lapse.at.show_date()))
    }
}

impl State {
    /// The item of the checklist that a word means.
    pub fn check_called(&self, word: &Label) -> Result<Item, Refusal> {
        if let Some(item) = TradeItem::called(word.as_str()) {
            return Ok(Item::Trade(item));
        }
        let own = self.house_checks.iter().find(|own| same(own.item.as_str(), word.as_str()));
        own.map(|own| Item::House(own.item.clone())).ok_or_else(|| Refusal::UnknownCheck(word.clone()))
    }

    /// What the house says of an item of a lot: of that lot alone before what it says of all.
    pub(super) fn check_declared(&self, lot: LotId, item: &str) -> Option<&HouseCheck> {
        let said = || self.house_checks.iter().filter(|own| own.is_of(lot) && same(own.item.as_str(), item));
        said().find(|own| own.lot.is_some()).or_else(|| said().next())
    }

    /// The house's own items of a lot's list, each once.
    pub(super) fn own_checks(&self, lot: LotId) -> Vec<&HouseCheck> {
        let mut own: Vec<&HouseCheck> = Vec::new();
        for item in self.house_checks.iter().filter(|item| item.is_of(lot)).map(|item| item.item.as_str()) {
            let is_new = TradeItem::called(item).is_none() && own.iter().all(|known| !same(known.item.as_str(), item));
            own.extend(self.check_declared(lot, item).filter(|_| is_new));
        }
        own
    }

    /// Keeps what was said of an item of a lot, in place of what was said before.
    fn say(&mut self, (lot, item): (LotId, Item), stamp: &Stamp, saying: Saying) {
        let checks = Arc::make_mut(&mut self.lots.get_mut(lot).checks);
        checks.retain(|said| said.item != item);
        checks.push(Said { item, at: stamp.at, id: stamp.id.clone(), saying, lapsed: None });
    }
}

impl Job for CheckDeclared {
    type Ready = Option<LotId>;

    fn ready(&self, state: &State) -> Result<Option<LotId>, Refusal> {
        let word = self.item.as_str();
        let is_word = word.contains(char::is_alphabetic) && word.trim() == word && !word.contains([',', ';']);
        if !is_word {
            return Err(Refusal::BadCheck(self.item.clone()));
        }
        self.lot.as_ref().map(|lot| state.lot(lot)).transpose()
    }

    fn apply(&self, state: &mut State, _stamp: &Stamp, lot: Option<LotId>) {
        let house = Arc::make_mut(&mut state.house_checks);
        let is_same = |own: &HouseCheck| same(own.item.as_str(), self.item.as_str());
        let of_all = house.iter().find(|own| own.lot.is_none() && is_same(own)).and_then(|own| own.text.clone());
        if let Some(own) = house.iter_mut().find(|own| own.lot == lot && is_same(own)) {
            own.required = self.required;
            own.text = self.text.clone().or_else(|| own.text.take());
            return;
        }
        let text = self.text.clone().or(of_all);
        house.push(HouseCheck { item: self.item.clone(), required: self.required, text, lot });
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.item)
    }
}

impl Job for Checked {
    type Ready = (LotId, Item);

    fn ready(&self, state: &State) -> Result<(LotId, Item), Refusal> {
        let lot = state.lot(&self.lot)?;
        let item = state.check_called(&self.item)?;
        if item == Item::Trade(TradeItem::Alcohol) {
            in_range("The alcohol on a label in % vol", self.value, 0.0, 25.0)?;
        }
        Ok((lot, item))
    }

    /// What tests answer otherwise is not ticked away.
    fn slip(&self, state: &State, (lot, item): &(LotId, Item)) -> Option<Refusal> {
        let &Item::Trade(trade) = item else { return None };
        if !self.met {
            return None;
        }
        if trade == TradeItem::Alcohol && self.value.is_none() {
            return Some(Refusal::NoAlcoholOfLabel);
        }
        let answer = state.answered(*lot, &state.vessels_of(*lot), trade, self.value);
        (answer.standing == Standing::NotMet && trade != TradeItem::Alcohol)
            .then(|| Refusal::FoundOtherwise { item: self.item.clone(), found: answer.words.unwrap_or_default() })
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, ready: (LotId, Item)) {
        state.say(ready, stamp, Saying::Ticked { met: self.met, value: self.value, text: self.text.clone() });
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.lot)
    }
}

impl Job for CheckWaived {
    type Ready = (LotId, Item);

    fn ready(&self, state: &State) -> Result<(LotId, Item), Refusal> {
        Ok((state.lot(&self.lot)?, state.check_called(&self.item)?))
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, ready: (LotId, Item)) {
        state.say(ready, stamp, Saying::Waived { why: self.why.clone() });
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.lot)
    }
}
