//! The laboratory's sheets, sulfur dioxide added in their wake, and the care of empty wood.
//!
//! A stream of chance of its own, so that the wine goes on as it would without a laboratory.

use anyhow::Result;
use chrono::{NaiveDateTime, TimeDelta, Timelike};
use serde_json::{Value, json};

use super::book::{Cellar, Stage};
use super::clock::moment;
use super::estate::{Colour, LOTS, LotId};
use super::log::{DESK, TROLLEY};
use super::vessel::{Kind, VesselId};

/// What is true of a lot's wine, as the laboratory would find it.
#[derive(Clone, Copy)]
pub struct Chemistry {
    ph: f64,
    alcohol_pct: f64,
    ta_g_l: f64,
    va_g_l: f64,
    free_mg_l: f64,
    total_mg_l: f64,
    malic_g_l: f64,
    /// The moment up to which it was followed.
    followed: NaiveDateTime,
}

/// A sample that is on its way through the laboratory.
pub struct Pending {
    due: NaiveDateTime,
    lot: LotId,
    sample: String,
    purpose: &'static str,
}

/// Nobody sits at the desk before this hour.
const OFFICE_OPENS: u32 = 8;
/// Free sulfur dioxide falls by so much of itself a day in a barrel.
const FREE_LOST_A_DAY: f64 = 0.004;
/// Half of what is lost is bound for good, so that the total falls too.
const TOTAL_LOST: f64 = 0.5;
/// Of an addition so much stays free.
const STAYS_FREE: f64 = 0.65;
/// Metabisulfite is so much sulfur dioxide.
const METABISULFITE: f64 = 0.576;

impl Cellar {
    /// What every lot is like when it comes down.
    pub fn first_chemistry(&mut self) {
        for lot in &LOTS {
            let red = lot.colour == Colour::Red;
            let tested = Chemistry {
                ph: self.laboratory.normal(if red { 3.62 } else { 3.28 }, 0.06),
                alcohol_pct: self.laboratory.normal(if red { 14.0 } else { 12.9 }, 0.35),
                ta_g_l: self.laboratory.normal(if red { 5.4 } else { 6.6 }, 0.3),
                va_g_l: self.laboratory.normal(0.36, 0.04),
                free_mg_l: 26.0,
                total_mg_l: if red { 42.0 } else { 82.0 },
                malic_g_l: if red && lot.vintage == 2025 { 1.6 } else { 0.08 },
                followed: NaiveDateTime::default(),
            };
            self.chemistry.push(tested);
        }
    }

    /// Lets a lot's wine change up to now.
    fn follow_chemistry(&mut self, lot: LotId) -> Result<()> {
        let (now, down) = (self.log.now, moment(LOTS[lot].down)?);
        let malolactic = self.stages[lot] == Stage::Malolactic;
        let wine = &mut self.chemistry[lot];
        let from = wine.followed.max(down);
        wine.followed = now;
        let days = ((now - from).num_seconds() as f64 / 86_400.0).max(0.0);
        // The same on every machine: whole days by multiplication, no power function.
        let mut left = wine.free_mg_l;
        let mut day = 0.0;
        while day < days.floor() {
            left *= 1.0 - FREE_LOST_A_DAY;
            day += 1.0;
        }
        wine.total_mg_l -= (wine.free_mg_l - left) * TOTAL_LOST;
        wine.free_mg_l = left;
        wine.va_g_l += days * 0.000_28;
        if malolactic {
            wine.malic_g_l = (wine.malic_g_l - days * 0.03).max(0.05);
        }
        Ok(())
    }

    /// A sample is handed in; its sheet comes back in a few days.
    pub fn hand_in(&mut self, lot: LotId, sample: &str, purpose: &'static str) {
        let days = self.laboratory.whole(2, 5);
        let due = self.log.now + TimeDelta::days(i64::try_from(days).unwrap_or(0));
        self.handed_in.push(Pending { due, lot, sample: sample.to_owned(), purpose });
    }

    /// Types in the sheets that came back, and says what is to be added.
    pub fn type_in_sheets(&mut self) -> Result<()> {
        let now = self.log.now;
        if now.hour() < OFFICE_OPENS {
            return Ok(());
        }
        let (back, waiting): (Vec<_>, Vec<_>) =
            std::mem::take(&mut self.handed_in).into_iter().partition(|pending| pending.due <= now);
        self.handed_in = waiting;
        for pending in back {
            self.follow_chemistry(pending.lot)?;
            let mut fields = self.readings(&pending);
            fields["sample"] = pending.sample.as_str().into();
            fields["lab"] = "Varrow valley laboratory".into();
            self.log.take_up(DESK, "ta");
            self.log.write("tested", fields)?;
            self.log.pass(25);
            let asked = pending.purpose.contains("free SO2") || pending.purpose == "full analysis";
            let rests = matches!(self.stages[pending.lot], Stage::BungUp | Stage::Rolled);
            if asked && rests && self.chemistry[pending.lot].free_mg_l < 20.0 {
                self.add_sulfur_dioxide(pending.lot)?;
            }
        }
        Ok(())
    }

    fn readings(&mut self, pending: &Pending) -> Value {
        let wine = self.chemistry[pending.lot];
        let mut noisy = |value: f64, deviation: f64, decimals: f64| {
            (self.laboratory.normal(value, deviation).max(0.0) * decimals).round() / decimals
        };
        let free = noisy(wine.free_mg_l, 1.2, 1.0);
        let ph = noisy(wine.ph, 0.012, 100.0);
        let va = noisy(wine.va_g_l, 0.012, 100.0);
        match pending.purpose {
            "malic, lactic" => {
                json!({ "malic_g_l": noisy(wine.malic_g_l, 0.03, 100.0), "lactic_g_l": noisy(1.4 - wine.malic_g_l * 0.67, 0.03, 100.0) })
            }
            "full analysis" => json!({
                "ph": ph, "free_so2_mg_l": free, "total_so2_mg_l": noisy(wine.total_mg_l, 2.0, 1.0).max(free),
                "ta_g_l": noisy(wine.ta_g_l, 0.05, 10.0), "va_g_l": va, "alcohol_pct": noisy(wine.alcohol_pct, 0.05, 100.0),
            }),
            "VA, 4-ethylphenol" => json!({ "va_g_l": va }),
            "free SO2, pH, VA" => json!({ "free_so2_mg_l": free, "ph": ph, "va_g_l": va }),
            _ => json!({ "free_so2_mg_l": free, "ph": ph }),
        }
    }

    /// Twenty-five milligrams a litre into every barrel of a lot that is not held, as powder.
    fn add_sulfur_dioxide(&mut self, lot: LotId) -> Result<()> {
        let barrels = self.barrels_of(lot);
        self.log.take_up(TROLLEY, "jl");
        for barrel in barrels {
            let litres = self.vessels[barrel].book as f64 / 1e6;
            let grams = (litres * 0.025 / METABISULFITE * 10.0).round() / 10.0;
            self.treat(barrel, grams)?;
        }
        self.chemistry[lot].free_mg_l += 25.0 * STAYS_FREE;
        self.chemistry[lot].total_mg_l += 25.0;
        Ok(())
    }

    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // some grams
    fn treat(&mut self, barrel: VesselId, grams: f64) -> Result<()> {
        let amount = (grams * 10.0).round() as u64 * 100_000;
        let fields = json!({
            "vessel": self.label(barrel), "material": "potassium metabisulfite", "amount_ug": amount, "purpose": "free SO2",
        });
        self.log.write("treated", fields)?;
        self.log.pass(20);
        Ok(())
    }

    /// Empty red wood is rinsed once and sulfured every five weeks.
    pub fn care_for_empties(&mut self) -> Result<()> {
        self.log.take_up(TROLLEY, "rsb");
        let used = |id: &VesselId| {
            let vessel = &self.vessels[*id];
            vessel.kind == Kind::Barrel
                && vessel.is_empty()
                && vessel.fills > 0
                && vessel.spot.is_some()
                && !vessel.retired
        };
        let mut empties: Vec<VesselId> = (0..self.vessels.len()).filter(used).collect();
        empties.sort_by_key(|&barrel| self.vessels[barrel].spot);
        for barrel in empties {
            if !self.rinsed.contains(&(barrel, self.vessels[barrel].fills)) {
                self.rinsed.insert((barrel, self.vessels[barrel].fills));
                self.care(barrel, "rinsed")?;
            }
            self.care(barrel, "sulfured")?;
        }
        Ok(())
    }

    fn care(&mut self, barrel: VesselId, care: &str) -> Result<()> {
        let fields = json!({ "vessel": self.label(barrel), "care": care });
        self.log.write("barrel_cared", fields)?;
        self.log.pass(30);
        Ok(())
    }
}
