//! V24 Varrow: the blend of spring, fined and filtered, stands before bottling with some boxes open.

use anyhow::Result;
use serde_json::json;

use super::book::{Agent, Finish};
use super::listed::Tick;
use crate::generator::bench::BLEND_TANK as TANK;
use crate::generator::vessel::LITRE;

const LOT: &str = "V24 Varrow";
const CLARIFIED: &str = "clarify V24 Varrow";

impl Finish {
    pub fn varrow_24(&mut self, volume: u64) -> Result<()> {
        self.register(TANK, 6_500 * LITRE);
        self.pour_in(TANK, volume)?;
        self.at("2026-04-20 09:00", "ta")?;
        self.taste(TANK, 15.5, &["plum", "black pepper"], "as in the glass, a little wilder")?;
        self.test(TANK, "V24 20 Apr 2026", "2026-04-24 11:00", json!({
            "ph": 3.61, "free_so2_mg_l": 21.0, "total_so2_mg_l": 72.0, "ta_g_l": 5.2, "va_g_l": 0.45, "alcohol_pct": 14.58,
            "malic_g_l": 0.06, "sugar_g_l": 0.8,
        }))?;
        self.at("2026-04-27 08:30", "jl")?;
        self.sulfur(TANK, 15.0, "PM 6018")?;
        self.at("2026-07-06 09:00", "ta")?;
        self.test(
            TANK,
            "V24 6 Jul 2026",
            "2026-07-10 11:00",
            json!({
                "ph": 3.61, "free_so2_mg_l": 25.0, "total_so2_mg_l": 83.0, "va_g_l": 0.46,
            }),
        )?;
        self.fine_varrow_24()?;
        self.filter_varrow_24()?;
        self.begin_the_list()
    }

    fn fine_varrow_24(&mut self) -> Result<()> {
        let seen = [
            (0.0, 11.0, 14.5, "coarse at the end"),
            (0.05, 5.2, 15.0, "better"),
            (0.1, 3.6, 15.5, "the Syrah comes through"),
            (0.15, 3.3, 14.5, "thin in the middle"),
        ];
        let albumen = Agent { material: "egg albumen", batch: "EA 2315", stock_pct: 5.0, work: "fine V24 Varrow" };
        self.at("2026-08-24 15:00", "ta")?;
        self.try_fining("V24 albumen", TANK, &albumen, &seen, None)?;
        self.at("2026-08-25 10:00", "ta")?;
        self.try_fining("V24 albumen", TANK, &albumen, &seen, Some(0.1))?;
        self.at("2026-08-26 08:10", "rsb")?;
        self.fine(TANK, &albumen, 0.1)?;
        self.at("2026-09-16 08:00", "rsb")?;
        self.measure(TANK, json!({ "turbidity_ntu": 5.0 }))?;
        self.empty_into(TANK, "B2", "racking", 44 * LITRE, CLARIFIED)?;
        self.log.pass(6_000);
        self.measure("B2", json!({ "turbidity_ntu": 4.1 }))
    }

    fn filter_varrow_24(&mut self) -> Result<()> {
        self.at("2026-11-17 12:40", "rsb")?;
        self.measure("B2", json!({ "turbidity_ntu": 3.2, "oxygen_mg_l": 0.3 }))?;
        self.empty_into("B2", "B1", "filtration", 15 * LITRE, CLARIFIED)?;
        self.log.pass(7_800);
        self.sulfur("B1", 16.0, "PM 6377")?;
        self.measure("B1", json!({ "turbidity_ntu": 0.7 }))?;
        self.at("2026-11-18 09:00", "ta")?;
        self.taste("B1", 15.5, &["plum", "black pepper"], "clear; a little tired from the pump")?;
        self.test("B1", "V24 18 Nov 2026", "2026-11-20 11:10", json!({
            "ph": 3.6, "free_so2_mg_l": 34.0, "total_so2_mg_l": 98.0, "ta_g_l": 5.2, "va_g_l": 0.48, "alcohol_pct": 14.55,
            "malic_g_l": 0.06, "sugar_g_l": 0.8, "turbidity_ntu": 0.7,
        }))
    }

    /// Some of it is seen to, the oxygen is too high, and the labels are not there.
    fn begin_the_list(&mut self) -> Result<()> {
        self.at("2026-11-23 09:10", "ta")?;
        self.measure("B1", json!({ "oxygen_mg_l": 1.3, "temperature_c": 15.5 }))?;
        self.tick(
            LOT,
            &[
                Tick {
                    item: "heat",
                    met: true,
                    value: None,
                    text: "no haze after 6 h at 80 °C and a night in the cold",
                },
                Tick { item: "claims", met: true, value: None, text: "vintage and appellation, no variety" },
                Tick { item: "alcohol", met: true, value: Some(14.5), text: "14.5 % vol on the front label" },
                Tick {
                    item: "dry goods",
                    met: false,
                    value: None,
                    text: "the front labels are still at the printer's",
                },
            ],
        )
    }
}
