//! The line and the bottle store: every bottle of a run is counted until it is out of the house.

use anyhow::{Context, Result, ensure};
use serde_json::json;

use super::book::Finish;
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

/// Bottles that are laid away; all that are not yet, where their number is not said.
pub struct Layer {
    pub run: &'static str,
    pub bottles: Option<u64>,
    pub place: &'static str,
    pub release: Option<&'static str>,
    pub from: Option<&'static str>,
}

/// Bottles that go out.
pub struct Dispatch {
    pub run: &'static str,
    pub bottles: u64,
    pub why: &'static str,
    pub to: Option<&'static str>,
    pub from: Option<&'static str>,
    pub note: Option<&'static str>,
}

/// Bottles that nobody is sent.
pub const fn out(run: &'static str, bottles: u64, why: &'static str, note: Option<&'static str>) -> Dispatch {
    Dispatch { run, bottles, why, to: None, from: None, note }
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
            *self.loose.entry(line.run).or_default() += bottles;
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

    pub fn lay_away(&mut self, layer: &Layer) -> Result<()> {
        let bottles = match layer.bottles {
            Some(bottles) => bottles,
            None => *self.loose.get(layer.run).context("a run of no bottles")?,
        };
        self.take(layer.run, bottles, layer.from)?;
        *self.lying.entry((layer.run, layer.place)).or_default() += bottles;
        let mut fields = json!({ "run": layer.run, "bottles": bottles, "place": layer.place });
        if let Some(release) = layer.release {
            fields["release"] = release.into();
        }
        if let Some(from) = layer.from {
            fields["from"] = from.into();
        }
        self.log.write("laid_away", fields)?;
        self.log.pass(1_500);
        Ok(())
    }

    pub fn bottles_out(&mut self, out: &Dispatch) -> Result<()> {
        self.take(out.run, out.bottles, out.from)?;
        let mut fields = json!({ "run": out.run, "bottles": out.bottles, "why": out.why });
        if let Some(to) = out.to {
            fields["to"] = to.into();
        }
        if let Some(from) = out.from {
            fields["from"] = from.into();
        }
        if let Some(note) = out.note {
            fields["note"] = note.into();
        }
        self.log.write("bottles_out", fields)?;
        self.log.pass(120);
        Ok(())
    }

    /// Two bottles are opened to see how the wine ages; what was found stands beside them.
    pub fn open_bottles(&mut self, run: &'static str, from: &'static str, found: &[(&str, &str)]) -> Result<()> {
        for (time, words) in found {
            self.at(time, "ta")?;
            self.take(run, 2, Some(from))?;
            let fields = json!({ "run": run, "bottles": 2, "why": "tasted", "from": from, "note": words });
            self.log.write("bottles_out", fields)?;
        }
        Ok(())
    }

    fn take(&mut self, run: &'static str, bottles: u64, from: Option<&'static str>) -> Result<()> {
        let there = match from {
            Some(place) => self.lying.entry((run, place)).or_default(),
            None => self.loose.entry(run).or_default(),
        };
        let left = there.checked_sub(bottles);
        ensure!(left.is_some(), "{bottles} bottles of {run}, but there are {there}");
        *there = left.unwrap_or_default();
        Ok(())
    }
}
