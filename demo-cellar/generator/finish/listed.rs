//! The checklist before bottling, and the trials of fining.

use anyhow::Result;
use serde_json::{Value, json};

use super::book::{Agent, Finish};

/// What somebody says of an item.
#[derive(Clone, Copy)]
pub struct Tick {
    pub item: &'static str,
    pub met: bool,
    pub value: Option<f64>,
    pub text: &'static str,
}

const fn met(item: &'static str, text: &'static str) -> Tick {
    Tick { item, met: true, value: None, text }
}

/// What tests don't answer, all of it in order; the alcohol of the label is said by itself.
pub const ALL_MET: [Tick; 6] = [
    met("heat", "no haze after 6 h at 80 °C and a night in the cold"),
    met("cold", "no crystals after 6 days at -4 °C"),
    met("claims", "vintage, appellation, estate"),
    met("label", "front and back read by two"),
    met("dry goods", "counted against the order"),
    met("microbiology", "plates empty after 10 days"),
];

impl Finish {
    /// What this house asks beside what every cellar asks.
    pub fn declare_checks(&mut self) -> Result<()> {
        self.at("2025-11-10 10:00", "ta")?;
        let text = "no yeast, Brettanomyces or lactic bacteria on the plates";
        self.log.write("check_declared", json!({ "item": "microbiology", "required": true, "text": text }))?;
        self.log.pass(60);
        let text = "the last bottle of the run before stands on the bench";
        self.log.write("check_declared", json!({ "item": "bottle to compare", "required": false, "text": text }))?;
        Ok(())
    }

    pub fn tick(&mut self, lot: &str, ticks: &[Tick]) -> Result<()> {
        for tick in ticks {
            let mut fields = json!({ "lot": lot, "item": tick.item, "met": tick.met });
            if let Some(value) = tick.value {
                fields["value"] = value.into();
            }
            fields["text"] = tick.text.into();
            self.log.write("checked", fields)?;
            self.log.pass(40);
        }
        Ok(())
    }

    pub fn waive(&mut self, lot: &str, item: &str, why: &str) -> Result<()> {
        self.log.write("check_waived", json!({ "lot": lot, "item": item, "why": why }))?;
        self.log.pass(40);
        Ok(())
    }

    /// A trial of fining: first its glasses alone, and after a night what was seen of them and which dose it is.
    pub fn try_fining(
        &mut self,
        trial: &str,
        vessel: &str,
        agent: &Agent,
        seen: &[(f64, f64, f64, &str)],
        chosen: Option<f64>,
    ) -> Result<()> {
        let glass = |&(dose, turbidity, score, text): &(f64, f64, f64, &str)| match chosen {
            None => json!({ "dose_g_l": dose }),
            Some(_) => json!({ "dose_g_l": dose, "text": text, "turbidity_ntu": turbidity, "score": score }),
        };
        let glasses: Vec<Value> = seen.iter().map(glass).collect();
        let mut fields = json!({
            "trial": trial, "vessel": vessel, "material": agent.material, "stock_pct": agent.stock_pct, "glasses": glasses,
        });
        if let Some(dose) = chosen {
            fields["chosen_g_l"] = dose.into();
        }
        self.log.write("fining_trial", fields)?;
        Ok(())
    }
}
