//! The bottle store: every bottle is counted until it is out of the house.

use anyhow::{Context, Result};
use serde_json::{Value, json};

use super::book::Finish;

/// Its rows and how many bins stand in each: six hundred bottles a bin, magnums in M.
const ROWS: [(&str, u64); 3] = [("A", 8), ("B", 6), ("M", 2)];
const STORE: &str = "store";

/// What is kept of a run beside the line.
pub const KEPT: &str = "one a quarter of an hour, and the laboratory";

/// Bottles of one run that bear one lot code.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Bottles {
    pub run: &'static str,
    pub code: &'static str,
}

/// Bottles that go out.
pub struct Dispatch {
    pub of: Bottles,
    pub bottles: u64,
    pub why: &'static str,
    pub to: Option<&'static str>,
    pub from: Option<&'static str>,
    pub note: Option<&'static str>,
}

/// Bottles that nobody is sent.
pub const fn out(of: Bottles, bottles: u64, why: &'static str, note: Option<&'static str>) -> Dispatch {
    Dispatch { of, bottles, why, to: None, from: None, note }
}

/// A bottle that was opened: when, its score, and what was found.
pub type Opened = (&'static str, f64, &'static [&'static str], &'static str);

impl Finish {
    pub fn lay_out_store(&mut self) -> Result<()> {
        self.at("2025-11-20 16:00", "ta")?;
        let rows: Vec<Value> = ROWS.iter().map(|(row, bins)| json!({ "row": row, "bins": bins })).collect();
        self.log.write("store_laid_out", json!({ "store": STORE, "rows": rows }))?;
        Ok(())
    }

    /// Lays bottles from the line away; all that are left where their number is not said.
    pub fn lay_away(&mut self, of: Bottles, bottles: Option<u64>, place: &'static str, release: &str) -> Result<()> {
        let bottles = bottles.unwrap_or(self.there(of, None));
        self.take(of, bottles, None)?;
        *self.stock.entry((of, Some(place))).or_default() += bottles;
        self.log.write(
            "laid_away",
            json!({
                "run": of.run, "lot_code": of.code, "bottles": bottles, "place": place, "release": release,
            }),
        )?;
        self.log.pass(1_500);
        Ok(())
    }

    /// Carries bottles from one place to another; they keep their release.
    pub fn carry(&mut self, of: Bottles, bottles: u64, from: &'static str, place: &'static str) -> Result<()> {
        self.take(of, bottles, Some(from))?;
        *self.stock.entry((of, Some(place))).or_default() += bottles;
        self.log.write(
            "laid_away",
            json!({
                "run": of.run, "lot_code": of.code, "bottles": bottles, "place": place, "from": from,
            }),
        )?;
        Ok(())
    }

    pub fn bottles_out(&mut self, out: &Dispatch) -> Result<()> {
        self.take(out.of, out.bottles, out.from)?;
        let mut fields = json!({ "run": out.of.run, "lot_code": out.of.code, "bottles": out.bottles, "why": out.why });
        for (name, said) in [("to", out.to), ("from", out.from), ("note", out.note)] {
            if let Some(said) = said {
                fields[name] = said.into();
            }
        }
        self.log.write("bottles_out", fields)?;
        self.log.pass(120);
        Ok(())
    }

    /// Now and then a bottle is opened to see how the wine ages.
    pub fn open_bottles(&mut self, of: Bottles, from: &'static str, opened: &[Opened]) -> Result<()> {
        for (time, score, marks, text) in opened {
            self.at(time, "ta")?;
            self.take(of, 1, Some(from))?;
            self.log.write(
                "bottle_tasted",
                json!({
                    "run": of.run, "lot_code": of.code, "from": from, "score": score, "marks": marks, "text": text,
                }),
            )?;
        }
        Ok(())
    }

    /// The store is counted on the last afternoon, after all that came and went; one bin has a bottle too few.
    pub fn count_the_store(&mut self) -> Result<()> {
        let count = "the store in autumn";
        self.at("2026-11-24 13:30", "jl")?;
        self.log.write("count_begun", json!({ "count": count, "store": STORE }))?;
        let lying: Vec<_> = self.stock.iter().map(|(&(of, place), &bottles)| (of, place, bottles)).collect();
        for (of, place, bottles) in lying {
            let Some(place) = place.filter(|place| place.starts_with(STORE) && bottles > 0) else { continue };
            let found = bottles - u64::from(place == SHORT);
            self.log.pass(240);
            self.log.write(
                "counted",
                json!({
                    "count": count, "run": of.run, "lot_code": of.code, "place": place, "bottles": found,
                }),
            )?;
            if found < bottles {
                self.take(of, bottles - found, Some(place))?;
            }
        }
        self.log.pass(300);
        self.book_the_count(count)
    }

    fn book_the_count(&mut self, count: &str) -> Result<()> {
        let why = "one too few, a neck under the rack";
        let short = self.stock.iter().find(|((_, place), _)| *place == Some(SHORT));
        let (&(of, place), &bottles) = short.context("an empty bin")?;
        self.log.write(
            "bottles_counted",
            json!({
                "run": of.run, "lot_code": of.code, "place": place, "bottles": bottles, "why": why,
            }),
        )?;
        self.log.write("count_ended", json!({ "count": count, "why": why }))?;
        Ok(())
    }

    fn there(&self, of: Bottles, place: Option<&'static str>) -> u64 {
        self.stock.get(&(of, place)).copied().unwrap_or_default()
    }

    fn take(&mut self, of: Bottles, bottles: u64, from: Option<&'static str>) -> Result<()> {
        let there = self.there(of, from);
        let left = there.checked_sub(bottles);
        let left = left.with_context(|| format!("{bottles} bottles of {}, but there are {there}", of.code))?;
        self.stock.insert((of, from), left);
        Ok(())
    }
}

/// The bin with a bottle too few.
const SHORT: &str = "store/A-03";
