//! The mix that the barrels of a plan make, quality by quality.

use super::{FillPlan, Quality};
use crate::cellar::core::state::{State, Vessel};
use crate::units::Volume;

/// The barrels of a plan that are alike in a quality.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KindOfWood {
    /// What they are; none where it is not known.
    pub word: Option<String>,
    /// How many.
    pub barrels: usize,
    /// What they hold.
    pub volume: Volume,
}

impl FillPlan {
    /// Its barrels by fill, forest, toast and cooper, of each the most litres first.
    #[must_use]
    pub fn mix(&self, state: &State) -> Vec<(&'static str, Vec<KindOfWood>)> {
        let fill = |vessel: &Vessel| {
            Some(if vessel.fills == 0 { "new".to_owned() } else { format!("fill {}", vessel.fills + 1) })
        };
        let word = |quality: Quality| move |vessel: &Vessel| quality.of(&vessel.wood).map(ToString::to_string);
        let told = [Quality::Forest, Quality::Toast, Quality::Cooper].into_iter();
        let told = told.map(|quality| (quality.word(), self.kinds(state, word(quality))));
        std::iter::once(("fill", self.kinds(state, fill))).chain(told).collect()
    }

    fn kinds(&self, state: &State, word: impl Fn(&Vessel) -> Option<String>) -> Vec<KindOfWood> {
        let mut kinds: Vec<KindOfWood> = Vec::new();
        for vessel in self.barrels.iter().map(|&id| state.vessels.get(id)) {
            let word = word(vessel);
            let at = kinds.iter().position(|kind| kind.word == word).unwrap_or(kinds.len());
            if at == kinds.len() {
                kinds.push(KindOfWood { word, barrels: 0, volume: Volume::ZERO });
            }
            kinds[at].barrels += 1;
            kinds[at].volume += vessel.capacity;
        }
        kinds.sort_by_key(|kind| std::cmp::Reverse(kind.volume));
        kinds
    }
}
