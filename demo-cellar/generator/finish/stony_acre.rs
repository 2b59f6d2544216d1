//! P23 Stony Acre: four casks of Petit Verdot, bottled yesterday and the day before; its bottles stand by the line.

use anyhow::Result;
use serde_json::json;

use super::book::{Agent, Finish, Move};
use super::casks::{Care, Cask, KEG, Racked, STONY_ACRE, of_lot};
use super::line::{Line, Stretch};
use super::listed::{ALL_MET, stated};
use super::store::{Bottles, KEPT, out};
use crate::generator::vessel::LITRE;

const LOT: &str = "P23 Stony Acre";
const RUN: &str = "P23 Stony Acre";
const CLARIFIED: &str = "clarify P23 Stony Acre";

impl Finish {
    pub fn stony_acre(&mut self, casks: &[Cask]) -> Result<()> {
        let verdot = of_lot(casks, STONY_ACRE, false);
        for care in &CARES {
            self.look_after(&verdot, care)?;
        }
        self.at("2026-09-08 07:10", "rsb")?;
        for cask in &verdot {
            self.rack_cask(cask, "B3", &Racked { purpose: "racking", lot: None, job: CLARIFIED })?;
        }
        let left = self.volume(KEG)?;
        self.transfer(&Move {
            from: KEG,
            to: "B3",
            volume: left - LITRE,
            purpose: "other",
            lees: LITRE,
            loss: 0,
            empties: true,
            lot: None,
            job: CLARIFIED,
        })?;
        self.log.pass(600);
        self.gauge("B3", LITRE / 2)?;
        self.sell(&verdot, "2026-09-08 11:00", "2026-09-14 10:00")?;
        self.fine_verdot()?;
        self.get_verdot_ready()?;
        self.bottle_verdot()
    }

    fn fine_verdot(&mut self) -> Result<()> {
        let seen = [
            (0.0, 8.4, 14.0, "dry, the gums know it"),
            (0.1, 4.0, 15.0, "the edge is off"),
            (0.2, 3.1, 14.5, "tame, and shorter"),
        ];
        let pea = Agent { material: "pea protein", batch: "PP 0931", stock_pct: 10.0, work: "fine P23 Stony Acre" };
        self.at("2026-09-21 15:00", "ta")?;
        self.try_fining("P23 pea protein", "B3", &pea, &seen, None)?;
        self.at("2026-09-22 10:00", "ta")?;
        self.try_fining("P23 pea protein", "B3", &pea, &seen, Some(0.1))?;
        self.at("2026-09-23 08:10", "rsb")?;
        self.fine("B3", &pea, 0.1)?;
        self.at("2026-10-13 08:00", "rsb")?;
        self.measure("B3", json!({ "turbidity_ntu": 4.4 }))?;
        self.empty_into("B3", "B4", "racking", 15 * LITRE, CLARIFIED)?;
        self.log.pass(3_000);
        self.measure("B4", json!({ "turbidity_ntu": 3.9 }))
    }

    fn get_verdot_ready(&mut self) -> Result<()> {
        self.at("2026-11-16 08:20", "rsb")?;
        self.measure("B4", json!({ "turbidity_ntu": 3.0, "oxygen_mg_l": 0.3 }))?;
        self.empty_into("B4", "B3", "filtration", 7 * LITRE, CLARIFIED)?;
        self.log.pass(4_500);
        self.measure("B3", json!({ "turbidity_ntu": 0.6, "oxygen_mg_l": 0.6 }))?;
        self.sulfur("B3", 16.0, "PM 6377")?;
        self.at("2026-11-17 09:00", "ta")?;
        self.taste("B3", 15.5, &["violet", "blackberry"], "dark and straight; wants three years in glass")?;
        self.test("B3", "P23 17 Nov 2026", "2026-11-19 11:10", json!({
            "ph": 3.52, "free_so2_mg_l": 32.0, "total_so2_mg_l": 109.0, "ta_g_l": 5.7, "va_g_l": 0.58, "alcohol_pct": 14.17,
            "malic_g_l": 0.05, "sugar_g_l": 0.7, "turbidity_ntu": 0.6, "oxygen_mg_l": 0.5,
        }))?;
        self.at("2026-11-20 09:00", "ta")?;
        self.tick(LOT, &ALL_MET)?;
        self.tick(LOT, &[stated(14.0, "14 % vol on the front label")])
    }

    fn bottle_verdot(&mut self) -> Result<()> {
        let goods = [("cork", "KX 5120"), ("capsule", "TC 1017"), ("front label", "PF 23"), ("back label", "PB 23")];
        let line = Line { run: RUN, vessel: "B3", bottle_ml: 750, glass: "GB 8015", goods: &goods };
        self.fill_bottles(&line, &STRETCHES, 3_500)?;
        self.at("2026-11-24 10:20", "rsb")?;
        self.bottles_out(&out(Bottles { run: RUN, code: "LP23A" }, 2, "broken", None))?;
        self.bottles_out(&out(Bottles { run: RUN, code: "LP23B" }, 6, "sampled", Some(KEPT)))
    }
}

#[rustfmt::skip] // a table, a stretch two lines
const STRETCHES: [Stretch; 2] = [
    Stretch { ended: "2026-11-23 15:20", minutes: 48, bottles: Some(624), code: "LP23A",
        loss_ml: 3_000, oxygen: 0.6, note: "stop: the back labels run out for today" },
    Stretch { ended: "2026-11-24 09:50", minutes: 38, bottles: None, code: "LP23B",
        loss_ml: 0, oxygen: 0.7, note: "tank empty" },
];

#[rustfmt::skip] // a table, a composite two lines
const CARES: [Care; 5] = [
    Care { drawn: "2025-05-28 10:20", sample: "P23 Stony Acre 28 May 2025", back: "2025-06-02 11:20",
        found: [3.5, 18.0, 38.0, 0.47, 14.21], given: "2025-06-03 10:10", rise_mg_l: 20.0, batch: "PM 5102" },
    Care { drawn: "2025-08-12 10:20", sample: "P23 Stony Acre 12 Aug 2025", back: "2025-08-18 11:20",
        found: [3.51, 24.0, 54.0, 0.49, 14.2], given: "2025-08-19 08:30", rise_mg_l: 15.0, batch: "PM 5102" },
    Care { drawn: "2025-12-09 10:20", sample: "P23 Stony Acre 9 Dec 2025", back: "2025-12-15 11:20",
        found: [3.51, 22.0, 64.0, 0.52, 14.19], given: "2025-12-16 08:30", rise_mg_l: 15.0, batch: "PM 5540" },
    Care { drawn: "2026-03-10 10:20", sample: "P23 Stony Acre 10 Mar 2026", back: "2026-03-16 11:20",
        found: [3.52, 22.0, 74.0, 0.54, 14.2], given: "2026-03-17 08:30", rise_mg_l: 15.0, batch: "PM 6018" },
    Care { drawn: "2026-06-09 10:20", sample: "P23 Stony Acre 9 Jun 2026", back: "2026-06-15 11:20",
        found: [3.52, 22.0, 84.0, 0.56, 14.19], given: "2026-06-16 08:30", rise_mg_l: 15.0, batch: "PM 6018" },
];
