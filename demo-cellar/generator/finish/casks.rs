//! The casks of 2023: they come over from the old cellar, lie in the vat hall, and are kept full until they are racked.

use anyhow::{Context, Result, ensure};
use chrono::{NaiveDateTime, TimeDelta};
use serde_json::{Value, json};

use super::book::Finish;
use crate::generator::clock::moment;
use crate::generator::cooperage::barrel;
use crate::generator::season::{VAULT, rate_ml_per_day};
use crate::generator::vessel::{LITRE, ML, in_steps, to_ml};
use crate::generator::words::{RED_NOSE, RED_PALATE};

/// Tanks beside the bottling line, and the keg that keeps the casks full: label, kind and litres.
const VESSELS: [(&str, &str, u64); 5] =
    [("B1", "tank", 3_000), ("B2", "tank", 3_000), ("B3", "tank", 1_400), ("B4", "tank", 1_400), ("K7", "keg", 100)];
pub const KEG: &str = "K7";
/// The first cask's number: they are older than the barrels of the new cellar.
const FIRST_NUMBER: usize = 61;

/// A lot of 2023.
pub struct Lot {
    pub label: &'static str,
    block: &'static str,
    variety: &'static str,
    casks: usize,
    /// How many of its casks the blend of 2023 takes; the others go their own way.
    pub blended: usize,
    /// The day its own casks are racked.
    until: &'static str,
    class: f64,
}

pub const LONG_WALL: usize = 0;
pub const UPPER_TERRACE: usize = 1;
pub const DOVECOTE: usize = 2;
pub const STONY_ACRE: usize = 3;

#[rustfmt::skip] // a table, one lot a line or two
pub const LOTS: [Lot; 4] = [
    Lot { label: "C23 Long Wall", block: "Long Wall", variety: "Cabernet Sauvignon", casks: 6, blended: 6,
        until: BLENDED, class: 15.6 },
    Lot { label: "M23 Upper Terrace", block: "Upper Terrace", variety: "Merlot", casks: 10, blended: 4,
        until: "2025-10-14 06:00", class: 15.2 },
    Lot { label: "F23 Dovecote", block: "Dovecote", variety: "Cabernet Franc", casks: 2, blended: 2,
        until: BLENDED, class: 14.8 },
    Lot { label: "P23 Stony Acre", block: "Stony Acre", variety: "Petit Verdot", casks: 4, blended: 0,
        until: "2026-09-08 06:00", class: 14.9 },
];
const BLENDED: &str = "2025-07-08 06:00";

/// A barrel that lies in no room.
pub struct Cask {
    pub label: String,
    pub lot: usize,
    /// Whether it goes into the blend of 2023.
    pub blended: bool,
    thirst: f64,
    topped: NaiveDateTime,
}

impl Cask {
    /// When it is racked.
    fn until(&self) -> Result<NaiveDateTime> {
        moment(if self.blended { BLENDED } else { LOTS[self.lot].until })
    }
}

impl Finish {
    /// The tanks by the line, the blocks and lots of 2023, and what the house asks of a wine before it is bottled.
    pub fn set_up(&mut self) -> Result<()> {
        self.at("2025-05-20 13:20", "ta")?;
        for (vessel, kind, litres) in VESSELS {
            self.register(vessel, litres * LITRE);
            let fields = json!({ "vessel": vessel, "type": kind, "capacity_ul": litres * LITRE });
            self.log.write("vessel_registered", fields)?;
            self.log.pass(15);
        }
        for lot in &LOTS {
            let origin = json!({
                "origin": origin(lot), "block": lot.block, "variety": lot.variety, "vintage": 2023,
                "appellation": "Varrow Valley", "colour": "red", "estate": true, "organic": true,
            });
            self.log.write("origin_declared", origin)?;
            self.log.write("lot_opened", json!({ "lot": lot.label, "colour": "red" }))?;
            self.log.pass(40);
        }
        Ok(())
    }

    /// The casks come over with their wine, are kept full, tasted, tested and given sulfur dioxide.
    pub fn bring_in_casks(&mut self) -> Result<Vec<Cask>> {
        self.at("2025-05-22 08:10", "rsb")?;
        let mut casks = Vec::new();
        for (lot, its) in LOTS.iter().enumerate() {
            for number in 0..its.casks {
                let cask = self.bring_in(lot, number, FIRST_NUMBER + casks.len())?;
                casks.push(cask);
            }
            self.log.write("stage_set", json!({ "lot": its.label, "stage": "bung_up", "round_days": 21 }))?;
        }
        self.receive(KEG, LOTS[UPPER_TERRACE].label, &origin(&LOTS[UPPER_TERRACE]), 97 * LITRE)?;
        self.keep_full(&mut casks)?;
        self.taste_casks(&casks)?;
        Ok(casks)
    }

    fn bring_in(&mut self, lot: usize, number: usize, of_all: usize) -> Result<Cask> {
        let its = &LOTS[lot];
        let fills = if number.is_multiple_of(2) { 0 } else { self.chance.whole(1, 3) };
        let vessel = barrel(&mut self.chance, format!("{of_all:04}"), "bordeaux", fills, 2023);
        let mut fields = json!({ "vessel": vessel.label, "type": "barrel", "capacity_ul": vessel.capacity });
        if let Value::Object(wood) = &vessel.wood {
            for (name, value) in wood {
                fields[name.as_str()] = value.clone();
            }
        }
        fields["fills"] = fills.into();
        fields["stained"] = "red".into();
        self.log.write("vessel_registered", fields)?;
        self.log.pass(30);
        self.register(&vessel.label, vessel.capacity);
        let short = self.chance.whole(1, 3) * LITRE / 2;
        self.receive(&vessel.label, its.label, &origin(its), vessel.capacity - short)?;
        let topped = self.log.now;
        self.log.pass(90);
        Ok(Cask { label: vessel.label, lot, blended: number < its.blended, thirst: vessel.thirst, topped })
    }

    /// Every three weeks, until the casks are racked. On the day of its racking a cask of Merlot fills the keg.
    fn keep_full(&mut self, casks: &mut [Cask]) -> Result<()> {
        let refilled = moment(LOTS[UPPER_TERRACE].until)? + TimeDelta::minutes(30);
        let mut day = moment("2025-05-26 06:20")?;
        while day < moment("2026-09-01 00:00")? {
            if (day - TimeDelta::days(21)..day).contains(&refilled) {
                self.begin(refilled, "jl");
                self.refill_the_keg(casks)?;
            }
            self.begin(day, "jl");
            for cask in casks.iter_mut() {
                if day < cask.until()? {
                    self.top(cask)?;
                }
            }
            day += TimeDelta::days(21);
        }
        Ok(())
    }

    fn refill_the_keg(&mut self, casks: &[Cask]) -> Result<()> {
        let merlot = of_lot(casks, UPPER_TERRACE, false);
        let from = &merlot.last().context("no cask of Merlot")?.label;
        let volume = 45 * LITRE;
        self.draw(from, volume)?;
        self.pour_in(KEG, volume)?;
        let fields = json!({ "from": from, "to": KEG, "volume_ul": volume, "purpose": "other" });
        self.log.write("wine_moved", fields)?;
        Ok(())
    }

    fn top(&mut self, cask: &mut Cask) -> Result<()> {
        let now = self.log.now;
        let days = (now - cask.topped).num_seconds() as f64 / 86_400.0;
        let holding = self.vessels.get_mut(&cask.label).context("an unknown cask")?;
        let short_ml = to_ml(holding.capacity - holding.volume);
        let gone_ml = rate_ml_per_day(VAULT, now.date()) * cask.thirst * days;
        let pour = in_steps(short_ml + gone_ml * self.chance.normal(1.0, 0.1), 100 * ML).max(100 * ML);
        holding.volume = holding.capacity;
        cask.topped = now;
        self.draw(KEG, pour)?;
        self.log.write("topped", json!({ "vessel": cask.label, "from": KEG, "volume_ul": pour }))?;
        self.log.pass(75);
        Ok(())
    }

    fn taste_casks(&mut self, casks: &[Cask]) -> Result<()> {
        for (time, by) in [("2025-06-17 15:10", "ta"), ("2025-09-30 15:20", "mk"), ("2026-04-28 15:00", "ta")] {
            self.at(time, by)?;
            for cask in casks {
                if self.log.now < cask.until()? {
                    let points = self.chance.normal(LOTS[cask.lot].class, 0.6);
                    let score = (points * 2.0).round() / 2.0;
                    let words = [*self.chance.pick(&RED_NOSE), *self.chance.pick(&RED_PALATE)].join("; ");
                    self.taste(&cask.label, score, &[], &words)?;
                }
            }
        }
        Ok(())
    }

    /// A composite of some casks goes to the laboratory; its sheet comes back, and each gets sulfur dioxide.
    pub fn look_after(&mut self, casks: &[&Cask], care: &Care) -> Result<()> {
        self.at(care.drawn, "jl")?;
        for cask in casks {
            self.draw(&cask.label, 75 * ML)?;
            let fields = json!({
                "vessel": cask.label, "volume_ul": 75 * ML, "sample": care.sample, "purpose": "full analysis",
            });
            self.log.write("sampled", fields)?;
            self.log.pass(45);
        }
        self.at(care.back, "ta")?;
        let [ph, free, total, va, alcohol] = care.found;
        let readings = json!({
            "ph": ph, "free_so2_mg_l": free, "total_so2_mg_l": total, "ta_g_l": 5.3, "va_g_l": va, "alcohol_pct": alcohol,
            "malic_g_l": 0.06,
        });
        self.sheet(care.sample, readings)?;
        self.at(care.given, "jl")?;
        for cask in casks {
            self.sulfur(&cask.label, care.rise_mg_l, care.batch)?;
            self.log.pass(40);
        }
        Ok(())
    }

    /// A cask is racked into a tank, but for its lees.
    pub fn rack_cask(&mut self, cask: &Cask, to: &str, rack: &Racked) -> Result<()> {
        let lees = self.chance.whole(3, 5) * LITRE / 2;
        let there = self.volume(&cask.label)?;
        let evaporated = in_steps(self.chance.real(200.0, 600.0), 100 * ML);
        ensure!(there > lees + evaporated, "{} is nearly empty", cask.label);
        let volume = (there - lees - evaporated) / (500 * ML) * (500 * ML);
        self.transfer(&super::book::Move {
            from: &cask.label,
            to,
            volume,
            purpose: rack.purpose,
            lees,
            loss: 0,
            empties: true,
            lot: rack.lot,
            job: rack.job,
        })?;
        self.log.pass(320);
        Ok(())
    }

    /// Empty casks are rinsed, and sold; they were the old cellar's.
    pub fn sell(&mut self, casks: &[&Cask], rinsed: &str, sold: &str) -> Result<()> {
        self.at(rinsed, "rsb")?;
        for cask in casks {
            self.log.write("barrel_cared", json!({ "vessel": cask.label, "care": "rinsed" }))?;
            self.log.pass(150);
        }
        self.at(sold, "ta")?;
        for cask in casks {
            let why = "the old cellar's last casks, sold to the growers";
            self.log.write("vessel_retired", json!({ "vessel": cask.label, "why": why }))?;
            self.log.pass(20);
        }
        Ok(())
    }
}

/// How casks are racked.
pub struct Racked {
    pub purpose: &'static str,
    pub lot: Option<&'static str>,
    pub job: &'static str,
}

/// A composite, what was found in it (pH, free and total sulfur dioxide in mg/L, volatile acidity in g/L, alcohol in % vol),
/// and what was given on it.
pub struct Care {
    pub drawn: &'static str,
    pub sample: &'static str,
    pub back: &'static str,
    pub found: [f64; 5],
    pub given: &'static str,
    pub rise_mg_l: f64,
    pub batch: &'static str,
}

fn origin(lot: &Lot) -> String {
    format!("{} 2023", lot.block)
}

/// The casks of a lot: those for the blend of 2023, or the others.
pub fn of_lot(casks: &[Cask], lot: usize, blended: bool) -> Vec<&Cask> {
    casks.iter().filter(|cask| cask.lot == lot && cask.blended == blended).collect()
}
