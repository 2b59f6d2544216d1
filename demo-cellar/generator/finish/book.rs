//! The book of tanks and casks that wine is finished in: whoever writes a fact that does not fit is told so at once.

use std::collections::BTreeMap;

use anyhow::{Context, Result, ensure};
use chrono::NaiveDateTime;
use serde_json::{Value, json};

use crate::generator::chance::Chance;
use crate::generator::clock::moment;
use crate::generator::log::{Log, VAT_HALL};
use crate::generator::vessel::{LITRE, ML, in_steps, to_ml};

/// Metabisulfite is so much sulfur dioxide.
const METABISULFITE: f64 = 0.576;
/// A bottle of half a litre and more is filled for the laboratory.
const LABORATORY_SAMPLE: u64 = 3 * LITRE / 4;
/// The laboratory that the estate's other samples go to as well.
const LABORATORY: &str = "Varrow valley laboratory";

/// What a vessel holds by the book.
pub struct Holding {
    pub capacity: u64,
    pub volume: u64,
}

pub struct Finish {
    pub log: Log,
    pub chance: Chance,
    pub vessels: BTreeMap<String, Holding>,
    /// Bottles of each run that are not laid away yet, and those that lie at a place.
    pub loose: BTreeMap<&'static str, u64>,
    pub lying: BTreeMap<(&'static str, &'static str), u64>,
}

/// Wine going from one vessel to another.
pub struct Move<'a> {
    pub from: &'a str,
    pub to: &'a str,
    /// As it arrives.
    pub volume: u64,
    pub purpose: &'static str,
    pub lees: u64,
    pub loss: u64,
    pub empties: bool,
    pub lot: Option<&'static str>,
    pub job: &'static str,
}

impl Finish {
    pub fn new(seed: u64) -> Finish {
        Finish {
            log: Log::new(),
            chance: Chance::seeded(seed),
            vessels: BTreeMap::new(),
            loose: BTreeMap::new(),
            lying: BTreeMap::new(),
        }
    }

    /// Who writes from now on, and what time it is. Each wine is told from its beginning, so that the clock may go back.
    pub fn at(&mut self, time: &str, by: &'static str) -> Result<()> {
        self.begin(moment(time)?, by);
        Ok(())
    }

    pub fn begin(&mut self, now: NaiveDateTime, by: &'static str) {
        self.log.take_up(VAT_HALL, by);
        self.log.now = now;
    }

    pub fn register(&mut self, vessel: &str, capacity: u64) {
        self.vessels.insert(vessel.to_owned(), Holding { capacity, volume: 0 });
    }

    pub fn volume(&self, vessel: &str) -> Result<u64> {
        Ok(self.vessels.get(vessel).with_context(|| format!("no vessel {vessel}"))?.volume)
    }

    pub fn pour_in(&mut self, vessel: &str, volume: u64) -> Result<()> {
        let holding = self.vessels.get_mut(vessel).with_context(|| format!("no vessel {vessel}"))?;
        holding.volume += volume;
        ensure!(holding.volume <= holding.capacity / 100 * 102, "{vessel} runs over");
        Ok(())
    }

    pub fn draw(&mut self, vessel: &str, volume: u64) -> Result<()> {
        let holding = self.vessels.get_mut(vessel).with_context(|| format!("no vessel {vessel}"))?;
        let left = holding.volume.checked_sub(volume);
        holding.volume = left.with_context(|| format!("{vessel} holds {} and shall give {volume}", holding.volume))?;
        Ok(())
    }

    pub fn receive(&mut self, vessel: &str, lot: &str, origin: &str, volume: u64) -> Result<()> {
        self.pour_in(vessel, volume)?;
        let parts = json!([{ "origin": origin, "volume_ul": volume }]);
        self.log.write("wine_received", json!({ "vessel": vessel, "lot": lot, "parts": parts }))?;
        Ok(())
    }

    pub fn transfer(&mut self, wine: &Move<'_>) -> Result<()> {
        self.draw(wine.from, wine.volume + wine.lees + wine.loss)?;
        if wine.empties {
            let left = self.volume(wine.from)?;
            self.draw(wine.from, left)?;
        }
        self.pour_in(wine.to, wine.volume)?;
        let mut fields = json!({
            "from": wine.from, "to": wine.to, "volume_ul": wine.volume, "purpose": wine.purpose, "job": wine.job,
        });
        if wine.lees > 0 {
            fields["lees_ul"] = wine.lees.into();
        }
        if wine.loss > 0 {
            fields["loss_ul"] = wine.loss.into();
        }
        if wine.empties {
            fields["empties"] = true.into();
        }
        if let Some(lot) = wine.lot {
            fields["lot"] = lot.into();
        }
        self.log.write("wine_moved", fields)?;
        Ok(())
    }

    /// Wine of a tank goes into another one, but for what is left behind: lees by racking, what filter and hoses keep by
    /// filtration.
    pub fn empty_into(
        &mut self,
        from: &str,
        to: &str,
        purpose: &'static str,
        left: u64,
        job: &'static str,
    ) -> Result<()> {
        let volume = self.volume(from)? - left;
        let (lees, loss) = if purpose == "racking" { (left, 0) } else { (0, left) };
        self.transfer(&Move { from, to, volume, purpose, lees, loss, empties: true, lot: None, job })
    }

    /// A tank is dipped and the book set right.
    pub fn gauge(&mut self, vessel: &str, missing: u64) -> Result<()> {
        self.draw(vessel, missing)?;
        self.log.write("gauged", json!({ "vessel": vessel, "volume_ul": self.volume(vessel)? }))?;
        Ok(())
    }

    /// Metabisulfite for a rise of the total by so many mg/L, weighed to the tenth of a gram.
    pub fn sulfur(&mut self, vessel: &str, rise_mg_l: f64, batch: &str) -> Result<()> {
        let litres = to_ml(self.volume(vessel)?) / 1_000.0;
        let amount = in_tenths_of_a_gram(litres * rise_mg_l / METABISULFITE / 1_000.0);
        let fields = json!({
            "vessel": vessel, "material": "potassium metabisulfite", "amount_ug": amount, "purpose": "free SO2",
            "batch": batch,
        });
        self.log.write("treated", fields)?;
        Ok(())
    }

    /// The chosen dose of a fining agent, as a solution of so many grams in 100 mL. Gives what was added of it.
    pub fn fine(&mut self, vessel: &str, agent: &Agent, dose_g_l: f64) -> Result<()> {
        let litres = to_ml(self.volume(vessel)?) / 1_000.0;
        let amount = in_tenths_of_a_gram(litres * dose_g_l);
        let work = agent.work;
        // So many grams are in 100 mL; read to 10 mL.
        let solution = in_steps(amount as f64 / 1e6 / agent.stock_pct * 100.0, 10 * ML);
        let stop = json!({ "vessel": vessel, "volume_ul": solution, "amount_ug": amount });
        let set = json!({ "work": work, "task": "treating", "material": agent.material, "stops": [stop] });
        self.log.write("work_set", set)?;
        self.log.pass(1_500);
        self.pour_in(vessel, solution)?;
        let fields = json!({
            "vessel": vessel, "material": agent.material, "amount_ug": amount, "solution_ul": solution,
            "purpose": "fining", "batch": agent.batch, "job": work,
        });
        self.log.write("treated", fields)?;
        self.log.pass(60);
        self.log.write("work_ended", json!({ "work": work }))?;
        Ok(())
    }

    /// A sample goes to the laboratory, and its sheet is typed in when it comes back.
    pub fn test(&mut self, vessel: &str, sample: &str, back: &str, readings: Value) -> Result<()> {
        self.draw(vessel, LABORATORY_SAMPLE)?;
        let fields =
            json!({ "vessel": vessel, "volume_ul": LABORATORY_SAMPLE, "sample": sample, "purpose": "full analysis" });
        self.log.write("sampled", fields)?;
        self.at(back, "ta")?;
        self.sheet(sample, readings)
    }

    /// A sheet of the laboratory.
    pub fn sheet(&mut self, sample: &str, mut readings: Value) -> Result<()> {
        readings["sample"] = sample.into();
        readings["lab"] = LABORATORY.into();
        self.log.write("tested", readings)?;
        Ok(())
    }

    /// What the house's own meter shows at a tank.
    pub fn measure(&mut self, vessel: &str, mut readings: Value) -> Result<()> {
        readings["vessel"] = vessel.into();
        self.log.write("tested", readings)?;
        self.log.pass(90);
        Ok(())
    }

    pub fn taste(&mut self, vessel: &str, score: f64, marks: &[&str], text: &str) -> Result<()> {
        let fields = json!({ "vessel": vessel, "score": score, "marks": marks, "text": text });
        self.log.write("tasted", fields)?;
        self.log.pass(120);
        Ok(())
    }
}

/// A fining agent as it is given.
pub struct Agent {
    pub material: &'static str,
    pub batch: &'static str,
    pub stock_pct: f64,
    pub work: &'static str,
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // some grams
fn in_tenths_of_a_gram(grams: f64) -> u64 {
    (grams * 10.0).round() as u64 * 100_000
}
