//! The line: wine of a tank goes into bottles, stretch by stretch.

use anyhow::Result;
use serde_json::json;

use super::book::Finish;
use super::store::Bottles;
use crate::generator::vessel::{ML, in_steps};

/// How many bottles are measured in each stretch of a run.
const MEASURED: usize = 5;
/// What closes every bottle of the estate.
const CLOSURE: &str = "cork, 49 x 24 mm";
/// A line is set a little above what the bottle says, and single bottles differ by so much, mL.
const ABOVE_ML: f64 = 1.0;
const DEVIATION_ML: f64 = 1.2;

/// A run, and what is used for it.
pub struct Line<'a> {
    pub run: &'static str,
    pub vessel: &'a str,
    pub bottle_ml: u64,
    /// The batch of the bottles.
    pub glass: &'static str,
    /// Everything else with its batch.
    pub goods: &'a [(&'static str, &'static str)],
}

/// What the line filled without a stop.
pub struct Stretch {
    pub ended: &'static str,
    pub minutes: u64,
    /// All that is left, where it is not said.
    pub bottles: Option<u64>,
    pub code: &'static str,
    pub loss_ml: u64,
    pub oxygen: f64,
    pub note: &'static str,
}

impl Finish {
    /// Runs the line, stretch by stretch. What the last one leaves of `kept_ml` and more is what hoses and filler keep.
    pub fn fill_bottles(&mut self, line: &Line<'_>, stretches: &[Stretch], kept_ml: u64) -> Result<()> {
        let bottle = line.bottle_ml * ML;
        for stretch in stretches {
            self.at(stretch.ended, "rsb")?;
            let left = self.volume(line.vessel)?;
            let last = stretch.bottles.is_none();
            let bottles = stretch.bottles.unwrap_or((left - kept_ml * ML) / bottle);
            self.draw(line.vessel, bottles * bottle + stretch.loss_ml * ML)?;
            let loss = if last { self.volume(line.vessel)? } else { stretch.loss_ml * ML };
            if last {
                self.draw(line.vessel, loss)?;
            }
            let filled = Bottles { run: line.run, code: stretch.code };
            *self.stock.entry((filled, None)).or_default() += bottles;
            let mut fields = json!({
                "vessel": line.vessel, "run": line.run, "bottles": bottles, "bottle_ul": bottle, "loss_ul": loss,
            });
            if last {
                fields["empties"] = true.into();
            }
            let fills: Vec<u64> = (0..MEASURED).map(|_| self.fill_of(line.bottle_ml)).collect();
            fields["lot_code"] = stretch.code.into();
            fields["closure"] = CLOSURE.into();
            fields["minutes"] = stretch.minutes.into();
            fields["fills_ul"] = fills.into();
            fields["oxygen_mg_l"] = stretch.oxygen.into();
            let goods = std::iter::once(("glass", line.glass)).chain(line.goods.iter().copied());
            fields["materials"] =
                goods.map(|(material, batch)| json!({ "material": material, "batch": batch })).collect();
            fields["note"] = stretch.note.into();
            self.log.write("bottled", fields)?;
        }
        Ok(())
    }

    /// What a bottle holds, weighed to half a millilitre.
    fn fill_of(&mut self, bottle_ml: u64) -> u64 {
        in_steps(self.chance.normal(bottle_ml as f64 + ABOVE_ML, DEVIATION_ML), ML / 2)
    }
}
