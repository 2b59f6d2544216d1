//! Bottles that are called back: what is left of some lot codes, where it lies, and who may have got the rest.

use super::run::Run;
use crate::cellar::core::label::{Label, Text};
use crate::units::{by_count, counted};

/// Bottles of some lot codes. Bottles of which no code is known may be of them, and are counted in.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Recalled {
    /// How many are still in the house.
    pub left: u64,
    /// Where they lie, as far as they were laid away.
    pub places: Vec<Label>,
    /// Who got some of the others. Where the code of bottles that were taken was not always said, all who got any.
    pub to: Vec<Text>,
}

impl Run {
    /// Its bottles of some lot codes.
    #[must_use]
    pub fn recalled(&self, codes: &[Label]) -> Recalled {
        let is_meant = |code: Option<&Label>| code.is_none_or(|code| codes.contains(code));
        let mut recalled = Recalled::default();
        for stock in self.stock.iter().filter(|stock| is_meant(stock.lot_code.as_ref())) {
            recalled.left += stock.there;
            if let Some(place) = stock.place.as_ref().filter(|place| !recalled.places.contains(place)) {
                recalled.places.push(place.clone());
            }
        }
        for out in self.out.iter() {
            let had_some = self.assumed > 0 || out.by_code.iter().any(|(code, _)| is_meant(code.as_ref()));
            if let Some(to) = out.to.as_ref().filter(|to| had_some && !recalled.to.contains(to)) {
                recalled.to.push(to.clone());
            }
        }
        recalled
    }
}

/// How far the counts by lot code can be trusted, in one line.
#[must_use]
pub fn assumed_in_words(assumed: u64) -> String {
    match assumed {
        0 => "Of every bottle that was taken, the lot code is known.".to_owned(),
        many => format!(
            "Of {} that {} taken nobody said the lot code: the code filled first is taken to be meant.",
            counted(many, "bottle"),
            by_count(many, "was", "were")
        ),
    }
}
