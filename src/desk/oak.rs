//! What the oak did: every fact is folded once more, and what it tells of oak is remembered.

use super::Desk;
use super::error::DeskError;
use super::folding::{TakeIn, look_ahead};
use super::tracing::{Authored, authored};
use crate::cellar::core::moment::Moment;
use crate::cellar::views::wood::oak::{Asked, Oak, Observer};

impl TakeIn<Authored> for Observer {
    fn look_ahead(&self, coming: &Authored) {
        look_ahead(&self.state, &coming.fact);
    }

    fn take_in(&mut self, Authored { fact, by }: &Authored) {
        if let Some(what) = fact.what() {
            self.fold(by, &fact.stamp, what);
        }
    }
}

impl Desk {
    /// What the facts up to a moment tell of oak. Goes through every fact from the beginning: long work.
    pub fn oak(&self, until: Moment, asked: Asked) -> Result<Oak, DeskError> {
        Ok(authored(&self.log, &self.retractions, self.until(until), Observer::new(asked))?.seen())
    }
}
