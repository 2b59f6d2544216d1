//! M23 Upper Terrace: six casks of Merlot, bottled without fining or filtration, resting, to be released this month.

use anyhow::Result;
use serde_json::json;

use super::book::Finish;
use super::casks::{Care, Cask, Racked, UPPER_TERRACE, of_lot};
use super::line::{Line, Stretch};
use super::listed::{ALL_MET, Tick, stated};
use super::store::{Bottles, Dispatch, KEPT, Opened, out};
use crate::generator::vessel::LITRE;

const LOT: &str = "M23 Upper Terrace";
const RUN: &str = "M23 Upper Terrace";
const MERLOT: Bottles = Bottles { run: RUN, code: "LM23A" };
const RACKED: &str = "rack M23 Upper Terrace";

impl Finish {
    pub fn upper_terrace(&mut self, casks: &[Cask]) -> Result<()> {
        let merlot = of_lot(casks, UPPER_TERRACE, false);
        for care in &CARES {
            self.look_after(&merlot, care)?;
        }
        self.at("2025-10-14 07:20", "rsb")?;
        for cask in &merlot {
            self.rack_cask(cask, "B3", &Racked { purpose: "racking", lot: None, job: RACKED })?;
        }
        self.gauge("B3", LITRE)?;
        self.sell(&merlot, "2025-10-14 14:00", "2025-10-20 10:00")?;
        self.at("2025-10-15 08:30", "jl")?;
        self.sulfur("B3", 12.0, "PM 5540")?;
        self.get_merlot_ready()?;
        self.bottle_merlot()?;
        self.store_merlot()
    }

    /// It is racked once more and not filtered; what that leaves open is waived, with a reason.
    fn get_merlot_ready(&mut self) -> Result<()> {
        self.at("2026-02-12 08:00", "rsb")?;
        self.measure("B3", json!({ "turbidity_ntu": 3.6 }))?;
        self.empty_into("B3", "B4", "racking", 11 * LITRE, RACKED)?;
        self.log.pass(3_600);
        self.sulfur("B4", 14.0, "PM 6018")?;
        self.at("2026-02-24 09:00", "ta")?;
        self.taste("B4", 15.5, &["plum", "round"], "ready; no filter will make it better")?;
        self.test("B4", "M23 24 Feb 2026", "2026-02-27 11:30", json!({
            "ph": 3.58, "free_so2_mg_l": 34.0, "total_so2_mg_l": 88.0, "ta_g_l": 5.0, "va_g_l": 0.52, "alcohol_pct": 13.71,
            "malic_g_l": 0.04, "sugar_g_l": 0.5, "turbidity_ntu": 2.6, "oxygen_mg_l": 0.4,
        }))?;
        self.at("2026-02-27 14:30", "ta")?;
        let but_cold: Vec<Tick> = ALL_MET.into_iter().filter(|tick| tick.item != "cold").collect();
        self.tick(LOT, &but_cold)?;
        self.tick(LOT, &[stated(13.5, "13.5 % vol on the front label")])?;
        self.waive(LOT, "cold", "not chilled; the back label says that tartrates may fall out")?;
        self.waive(LOT, "turbidity", "bottled without filtration, as the back label says")
    }

    fn bottle_merlot(&mut self) -> Result<()> {
        let goods = [("cork", "KX 4602"), ("capsule", "TC 0912"), ("front label", "MF 23"), ("back label", "MB 23")];
        let line = Line { run: RUN, vessel: "B4", bottle_ml: 750, glass: "GB 7802", goods: &goods };
        self.fill_bottles(&line, &STRETCHES, 4_500)?;
        self.at("2026-03-03 13:30", "rsb")?;
        self.bottles_out(&out(MERLOT, 3, "broken", None))?;
        self.bottles_out(&out(MERLOT, 8, "sampled", Some(KEPT)))
    }

    fn store_merlot(&mut self) -> Result<()> {
        self.at("2026-03-04 09:00", "mk")?;
        self.lay_away(MERLOT, Some(672), "pallet 1", RELEASE)?;
        self.lay_away(MERLOT, Some(672), "pallet 2", RELEASE)?;
        self.lay_away(MERLOT, None, BIN, "2027-11-01")?;
        self.at("2026-03-10 10:00", "ta")?;
        self.bottles_out(&Dispatch { from: Some(BIN), ..out(MERLOT, 24, "library", Some("for the years to come")) })?;
        self.open_bottles(MERLOT, BIN, &OPENED)
    }
}

#[rustfmt::skip] // a table, a stretch two lines
const STRETCHES: [Stretch; 2] = [
    Stretch { ended: "2026-03-03 10:12", minutes: 96, bottles: Some(1_180), code: "LM23A",
        loss_ml: 3_500, oxygen: 0.6, note: "stop: corks changed to the second bag" },
    Stretch { ended: "2026-03-03 11:20", minutes: 44, bottles: None, code: "LM23A",
        loss_ml: 0, oxygen: 0.7, note: "tank empty" },
];

/// A day of the demo's last month, so that it stays one whenever the demo is opened.
const RELEASE: &str = "2026-11-30";
const BIN: &str = "store/B-01";

/// What was found when a bottle was opened.
const OPENED: [Opened; 2] = [
    ("2026-06-17 15:20", 14.5, &["plum"], "a little dumb"),
    ("2026-11-04 15:00", 15.5, &["plum", "round"], "open; for the end of the month"),
];

#[rustfmt::skip] // a table, a composite two lines
const CARES: [Care; 3] = [
    Care { drawn: "2025-05-28 10:00", sample: "M23 cask 5 to 10, 28 May 2025", back: "2025-06-02 11:10",
        found: [3.59, 18.0, 39.0, 0.48, 13.72], given: "2025-06-03 09:30", rise_mg_l: 20.0, batch: "PM 5102" },
    Care { drawn: "2025-08-12 10:00", sample: "M23 cask 5 to 10, 12 Aug 2025", back: "2025-08-18 11:10",
        found: [3.59, 23.0, 55.0, 0.5, 13.73], given: "2025-08-19 08:00", rise_mg_l: 15.0, batch: "PM 5102" },
    Care { drawn: "2025-10-06 10:00", sample: "M23 cask 5 to 10, 6 Oct 2025", back: "2025-10-09 11:10",
        found: [3.58, 25.0, 67.0, 0.51, 13.71], given: "2025-10-10 08:00", rise_mg_l: 5.0, batch: "PM 5102" },
];
