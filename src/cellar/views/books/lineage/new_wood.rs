//! How much of a wine has lain in new wood, as far as the book knows: what a barrel's first fill gave, wherever it went from
//! there.
//!
//! A tank has no wood of its own; its wine keeps that of the barrels it was racked from. Wine that came into the book in a
//! tank counts as never having lain in wood. Evaporation between two fillings-up is left out: it hardly moves a share.

use rustc_hash::FxHashMap;

use super::{Fill, Happened, Tracer};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::units::Volume;

/// What part of every fill's wine has lain in new wood.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NewWood {
    fills: FxHashMap<Fill, Wood>,
}

/// A fill's wine: litres by what flowed, and the part of them that has lain in new wood.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Wood {
    litres: f64,
    part: f64,
}

impl NewWood {
    /// The part, from 0 to 1, of a fill's wine that has lain in new wood; none where nothing is known to have come into it.
    #[must_use]
    pub fn part(&self, fill: Fill) -> Option<f64> {
        self.fills.get(&fill).map(|wood| wood.part)
    }

    fn pour(&mut self, into: Fill, is_new: bool, volume: Volume, part: f64) {
        let wood = self.fills.entry(into).or_default();
        let litres = wood.litres + volume.as_litres();
        if litres > 0.0 {
            wood.part = (wood.litres * wood.part + volume.as_litres() * part) / litres;
        }
        if is_new {
            wood.part = 1.0;
        }
        wood.litres = litres;
    }

    /// Draws wine, and says what part of it has lain in new wood.
    fn draw(&mut self, from: Fill, volume: Volume) -> f64 {
        let wood = self.fills.entry(from).or_default();
        wood.litres = (wood.litres - volume.as_litres()).max(0.0);
        wood.part
    }
}

impl Tracer {
    /// What part of every fill's wine has lain in new wood.
    #[must_use]
    pub fn new_wood(&self) -> NewWood {
        let is_new =
            |fill: Fill| fill.number == 1 && self.state.vessels.get(fill.vessel).vessel_type == VesselType::Barrel;
        let mut wood = NewWood::default();
        for happened in &self.happened {
            match happened {
                Happened::Flowed(step) => {
                    let part = wood.draw(step.from, step.volume);
                    wood.pour(step.to, is_new(step.to), step.volume, part);
                }
                Happened::Received(receipt) => wood.pour(receipt.into, is_new(receipt.into), receipt.volume, 0.0),
                Happened::Bottled(filled) => {
                    let stretch = &self.state.runs.get(filled.run).stretches[filled.stretch];
                    wood.draw(filled.from, stretch.wine.volume());
                }
                Happened::Left(which) => {
                    let left = &self.bulk_out[*which];
                    wood.draw(left.from, left.volume);
                }
            }
        }
        wood
    }
}
