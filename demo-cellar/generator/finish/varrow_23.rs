//! V23 Varrow: blended of twelve casks, fined, filtered, bottled in magnums and bottles, released and partly drunk.

use anyhow::Result;
use serde_json::{Value, json};

use super::book::{Agent, Finish};
use super::casks::{Care, Cask, DOVECOTE, LONG_WALL, Racked, UPPER_TERRACE, of_lot};
use super::line::{Line, Stretch};
use super::listed::{ALL_MET, stated};
use super::store::{Bottles, Dispatch, KEPT, Opened, out};
use crate::generator::vessel::LITRE;

const LOT: &str = "V23 Varrow";
const BLEND: &str = "blend V23 Varrow";
const BOTTLES: &str = "V23 Varrow";
const MAGNUMS: &str = "V23 Varrow magnum";
/// Bottles of the morning, of the afternoon, and magnums.
const MORNING: Bottles = Bottles { run: BOTTLES, code: "LV23A" };
const AFTERNOON: Bottles = Bottles { run: BOTTLES, code: "LV23B" };
const LARGE: Bottles = Bottles { run: MAGNUMS, code: "LV23M" };
const CLARIFIED: &str = "clarify V23 Varrow";

impl Finish {
    pub fn varrow_23(&mut self, casks: &[Cask]) -> Result<()> {
        let wines = [LONG_WALL, UPPER_TERRACE, DOVECOTE].map(|lot| of_lot(casks, lot, true));
        for (wine, care) in wines.iter().zip(&CARES) {
            self.look_after(wine, care)?;
        }
        self.blend_varrow_23(&wines)?;
        self.fine_varrow_23()?;
        self.filter_varrow_23()?;
        self.bottle_varrow_23()?;
        self.store_varrow_23()
    }

    fn blend_varrow_23(&mut self, wines: &[Vec<&Cask>; 3]) -> Result<()> {
        self.at("2025-07-07 14:00", "ta")?;
        self.log.write("lot_opened", json!({ "lot": LOT, "colour": "red" }))?;
        let stops = self.stops_of(wines)?;
        let set = json!({
            "work": BLEND, "task": "blending", "into": "B1", "lot": LOT, "shares_ppm": [500_000, 333_333, 166_667],
            "tolerance_ppm": 10_000, "stops": stops,
        });
        self.log.write("work_set", set)?;
        self.at("2025-07-08 07:00", "rsb")?;
        for cask in wines.iter().flatten() {
            self.rack_cask(cask, "B1", &Racked { purpose: "blend", lot: Some(LOT), job: BLEND })?;
        }
        self.log.write("work_ended", json!({ "work": BLEND }))?;
        self.log.pass(900);
        self.gauge("B1", 3 * LITRE / 2)?;
        let casks: Vec<&Cask> = wines.iter().flatten().copied().collect();
        self.sell(&casks, "2025-07-08 14:00", "2025-07-21 10:00")?;
        self.look_at_the_blend()
    }

    /// The casks of a blend, wine by wine.
    fn stops_of(&self, wines: &[Vec<&Cask>; 3]) -> Result<Vec<Value>> {
        let mut stops = Vec::new();
        for (component, casks) in wines.iter().enumerate() {
            for cask in casks {
                let volume = self.volume(&cask.label)? - 4 * LITRE;
                stops.push(json!({
                    "vessel": cask.label, "volume_ul": volume, "lees_ul": 2 * LITRE, "component": component,
                    "empties": true,
                }));
            }
        }
        Ok(stops)
    }

    fn look_at_the_blend(&mut self) -> Result<()> {
        self.at("2025-07-09 09:00", "ta")?;
        self.taste("B1", 15.5, &["plum", "cedar"], "the Franc lifts the nose; tannin still in front")?;
        self.test("B1", "V23 9 Jul 2025", "2025-07-14 14:20", json!({
            "ph": 3.55, "free_so2_mg_l": 21.0, "total_so2_mg_l": 55.0, "ta_g_l": 5.3, "va_g_l": 0.48, "alcohol_pct": 13.92,
            "malic_g_l": 0.05, "sugar_g_l": 0.6,
        }))?;
        self.at("2025-07-15 08:40", "jl")?;
        self.sulfur("B1", 15.0, "PM 5102")
    }

    /// Glasses overnight, the dose that was chosen, three weeks of rest, and off what fell out.
    fn fine_varrow_23(&mut self) -> Result<()> {
        let seen = [
            (0.0, 9.2, 15.0, "grips at the end"),
            (0.04, 5.1, 15.5, "a little rounder"),
            (0.08, 3.4, 16.0, "round, the fruit is all there"),
            (0.12, 3.0, 15.5, "soft, some fruit gone"),
            (0.16, 2.9, 14.5, "hollow"),
        ];
        let albumen = Agent { material: "egg albumen", batch: "EA 2207", stock_pct: 5.0, work: "fine V23 Varrow" };
        self.at("2025-08-18 15:00", "ta")?;
        self.try_fining("V23 albumen", "B1", &albumen, &seen, None)?;
        self.at("2025-08-19 10:30", "ta")?;
        self.try_fining("V23 albumen", "B1", &albumen, &seen, Some(0.08))?;
        self.at("2025-08-20 08:20", "rsb")?;
        self.fine("B1", &albumen, 0.08)?;
        self.at("2025-09-11 08:00", "rsb")?;
        self.measure("B1", json!({ "turbidity_ntu": 4.6 }))?;
        self.empty_into("B1", "B2", "racking", 37 * LITRE, CLARIFIED)?;
        self.log.pass(5_400);
        self.measure("B2", json!({ "turbidity_ntu": 3.7 }))?;
        let found = json!({ "ph": 3.55, "free_so2_mg_l": 24.0, "total_so2_mg_l": 66.0, "va_g_l": 0.49 });
        self.test("B2", "V23 11 Sep 2025", "2025-09-16 09:10", found)
    }

    fn filter_varrow_23(&mut self) -> Result<()> {
        self.at("2025-11-17 08:00", "rsb")?;
        self.measure("B2", json!({ "turbidity_ntu": 2.8, "oxygen_mg_l": 0.2 }))?;
        self.empty_into("B2", "B1", "filtration", 14 * LITRE, CLARIFIED)?;
        self.log.pass(7_200);
        self.measure("B1", json!({ "turbidity_ntu": 0.5, "oxygen_mg_l": 0.6 }))?;
        self.at("2025-11-18 08:30", "jl")?;
        self.sulfur("B1", 14.0, "PM 5540")?;
        self.at("2025-11-19 09:00", "ta")?;
        self.taste("B1", 16.0, &["blackcurrant", "cedar"], "clear and whole after the filter")?;
        self.test("B1", "V23 19 Nov 2025", "2025-11-21 11:40", json!({
            "ph": 3.55, "free_so2_mg_l": 33.0, "total_so2_mg_l": 77.0, "ta_g_l": 5.2, "va_g_l": 0.5, "alcohol_pct": 13.91,
            "malic_g_l": 0.05, "sugar_g_l": 0.6, "turbidity_ntu": 0.5, "oxygen_mg_l": 0.4,
        }))?;
        self.at("2025-11-21 14:00", "ta")?;
        self.tick(LOT, &ALL_MET)?;
        self.tick(LOT, &[stated(14.0, "14 % vol on the front label")])
    }

    fn bottle_varrow_23(&mut self) -> Result<()> {
        let goods = [("cork", "KX 4471"), ("capsule", "TC 0912"), ("front label", "VF 23"), ("back label", "VB 23")];
        let line = Line { run: MAGNUMS, vessel: "B1", bottle_ml: 1_500, glass: "GM 1180", goods: &goods };
        self.fill_bottles(&line, &OF_MAGNUMS, 0)?;
        let line = Line { run: BOTTLES, vessel: "B1", bottle_ml: 750, glass: "GB 7734", goods: &goods };
        self.fill_bottles(&line, &OF_BOTTLES, 5_500)?;
        self.at("2025-11-25 14:10", "rsb")?;
        self.bottles_out(&out(MORNING, 6, "broken", None))?;
        self.bottles_out(&out(MORNING, 12, "sampled", Some(KEPT)))?;
        self.bottles_out(&out(AFTERNOON, 2, "sampled", Some(KEPT)))
    }

    fn store_varrow_23(&mut self) -> Result<()> {
        self.at("2025-11-26 09:00", "mk")?;
        self.lay_away(LARGE, None, "store/M-01", LATER)?;
        for (place, release) in BINS {
            self.lay_away(MORNING, Some(540), place, release)?;
        }
        self.lay_away(MORNING, None, LIBRARY, LATER)?;
        self.lay_away(AFTERNOON, None, LIBRARY, LATER)?;
        self.at("2025-12-02 10:00", "ta")?;
        self.bottles_out(&Dispatch {
            from: Some(LIBRARY),
            ..out(MORNING, 48, "library", Some("for the years to come"))
        })?;
        self.open_bottles(MORNING, LIBRARY, &OPENED)?;
        self.at("2026-09-29 09:20", "mk")?;
        self.carry(MORNING, 240, "store/A-01", "dispatch")?;
        for (time, bottles, why, to, from, note) in SOLD {
            self.at(time, "mk")?;
            self.bottles_out(&Dispatch { to, from: Some(from), ..out(MORNING, bottles, why, note) })?;
        }
        Ok(())
    }
}

#[rustfmt::skip] // a table, a stretch two lines
const OF_MAGNUMS: [Stretch; 1] = [
    Stretch { ended: "2025-11-24 15:40", minutes: 40, bottles: Some(144), code: "LV23M",
        loss_ml: 4_000, oxygen: 0.7, note: "line primed with its own wine" },
];
#[rustfmt::skip] // a table, a stretch two lines
const OF_BOTTLES: [Stretch; 3] = [
    Stretch { ended: "2025-11-25 09:58", minutes: 92, bottles: Some(1_372), code: "LV23A",
        loss_ml: 2_500, oxygen: 0.6, note: "stop: a capsule jammed in the chute" },
    Stretch { ended: "2025-11-25 12:02", minutes: 98, bottles: Some(1_458), code: "LV23A",
        loss_ml: 0, oxygen: 0.5, note: "stop: noon" },
    Stretch { ended: "2025-11-25 13:31", minutes: 24, bottles: None, code: "LV23B",
        loss_ml: 0, oxygen: 0.6, note: "tank empty" },
];

const RELEASE: &str = "2026-10-01";
const LATER: &str = "2027-10-01";
/// The bins that are filled with 45 cases each; what is left goes to the last, of both lot codes.
const BINS: [(&str, &str); 5] = [
    ("store/A-01", RELEASE),
    ("store/A-02", RELEASE),
    ("store/A-03", RELEASE),
    ("store/A-04", LATER),
    ("store/A-05", LATER),
];
/// Where bottles are taken from to be kept for years, or opened.
const LIBRARY: &str = "store/A-06";

/// What was found when a bottle was opened.
const OPENED: [Opened; 3] = [
    ("2026-03-04 15:00", 14.5, &["cedar"], "shut down since the bottling, all there"),
    ("2026-06-17 15:00", 15.5, &["cedar", "blackcurrant"], "opening, the wood first"),
    ("2026-09-16 15:00", 16.5, &["blackcurrant", "round"], "clear and long; let it go in October"),
];

/// What was found in the casks, and given: Long Wall, Upper Terrace, Dovecote.
const CARES: [Care; 3] = [
    Care { sample: "C23 Long Wall 28 May 2025", found: [3.53, 19.0, 40.0, 0.46, 14.08], ..SPRING },
    Care {
        sample: "M23 Upper Terrace 28 May 2025",
        found: [3.58, 18.0, 39.0, 0.49, 13.74],
        drawn: "2025-05-28 09:20",
        ..SPRING
    },
    Care {
        sample: "F23 Dovecote 28 May 2025",
        found: [3.55, 17.0, 38.0, 0.47, 13.85],
        drawn: "2025-05-28 09:40",
        ..SPRING
    },
];
const SPRING: Care = Care {
    drawn: "2025-05-28 09:00",
    sample: "",
    back: "2025-06-02 11:00",
    found: [0.0; 5],
    given: "2025-06-03 08:00",
    rise_mg_l: 20.0,
    batch: "PM 5102",
};

type Sale = (&'static str, u64, &'static str, Option<&'static str>, &'static str, Option<&'static str>);

const fn sold(time: &'static str, bottles: u64, to: &'static str, from: &'static str) -> Sale {
    (time, bottles, "sold", Some(to), from, None)
}

/// When, how many, why, to whom, from where, and what else there is to say.
const SOLD: [Sale; 10] = [
    sold("2026-10-02 10:10", 60, "Tollgate Wines, Sallow Quay", "dispatch"),
    sold("2026-10-07 11:00", 120, "Ostler & Wray, merchants", "dispatch"),
    ("2026-10-09 16:30", 2, "broken", None, "dispatch", Some("fell from the trolley")),
    sold("2026-10-15 09:40", 36, "The Lantern, Varrowbridge", "dispatch"),
    sold("2026-10-22 10:20", 240, "Tollgate Wines, Sallow Quay", "store/A-02"),
    sold("2026-10-30 17:00", 54, "cellar door", "store/A-01"),
    sold("2026-11-05 09:30", 90, "Marram House, Far Strand", "store/A-01"),
    ("2026-11-12 14:00", 6, "given", Some("harvest supper of the growers"), "store/A-01", None),
    sold("2026-11-19 10:50", 120, "Ostler & Wray, merchants", "store/A-02"),
    sold("2026-11-23 11:30", 24, "The Lantern, Varrowbridge", "store/A-01"),
];
