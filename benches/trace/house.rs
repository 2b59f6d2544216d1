//! A house of ten years on disk: 2,000 barrels in ten lots, every year a vintage that is barrelled down, topped every three
//! weeks, tasted, tested and treated every quarter, racked, fined, filtered and bottled.

use std::path::{Path, PathBuf};

use barrelwalk::cellar::core::fact::{FactId, Line};
use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::moment::Moment;
use serde_json::{Value, json};

use crate::book::{Book, Keep};
use crate::written::{Written, once};

/// The years of the house.
pub const YEARS: u64 = 10;
const LOTS: u64 = 10;
/// Barrels of a lot.
const BARRELS: u64 = 200;
const ROUNDS: u64 = 18;
/// So many barrels go into one composite sample.
const IN_A_SAMPLE: u64 = 20;
/// Lot codes of a run.
const CODES: u64 = 12;
const PEOPLE: [&str; 5] = ["ann", "jo", "mk", "lab", "rui"];
/// 1 November 2015.
const BEGIN: i64 = 1_446_336_000_000_000;
const SECOND: i64 = 1_000_000;
const DAY: i64 = 86_400 * SECOND;
const LITRE: u64 = 1_000_000;

/// The house, built once.
pub fn house() -> PathBuf {
    once("trace-house-1", write)
}

/// The lot code of a part of a run.
pub fn lot_code(year: u64, lot: u64, part: u64) -> String {
    format!("L{}-{lot}-{part}", 16 + year)
}

/// The label of a barrel.
pub fn barrel(lot: u64, number: u64) -> String {
    format!("{:04}", lot * BARRELS + number)
}

impl Keep for Written {
    fn keep(&mut self, id: FactId, at: Moment, kind: &str, fields: &Value) {
        let by = Label::new(PEOPLE[usize::try_from(id.n % PEOPLE.len() as u64).unwrap()]).unwrap();
        let body = fields.to_string();
        self.write(Line { id, at, written: at, by, version: 1, kind: kind.into(), body, job: None, note: None });
    }
}

fn write(path: &Path) {
    let written = Written::create(path, Moment::new(BEGIN, 60));
    let device = written.device();
    let mut house = House(Book::new(written, device, BEGIN, SECOND));
    house.furnish();
    (0..YEARS).for_each(|year| house.year(year));
    house.0.kept.flush();
}

struct House(Book<Written>);

impl House {
    fn tell(&mut self, kind: &str, fields: &Value) {
        self.0.tell(kind, fields);
    }

    fn each_barrel(&mut self, mut tell: impl FnMut(&mut House, u64, u64)) {
        for lot in 0..LOTS {
            (0..BARRELS).for_each(|number| tell(self, lot, number));
        }
    }

    fn furnish(&mut self) {
        self.tell(
            "room_laid_out",
            &json!({"room": "long", "rows": [{"row": "A", "stacks": 167, "tiers": 6, "sides": 2}], "round_days": 21}),
        );
        for lot in 0..LOTS {
            for (tank, litres) in [("T", 60_000), ("B", 60_000), ("U", 9_000)] {
                let fields = json!({"vessel": format!("{tank}{lot}"), "type": "tank", "capacity_ul": litres * LITRE});
                self.tell("vessel_registered", &fields);
            }
        }
        self.each_barrel(|house, lot, number| {
            let (label, place) = (barrel(lot, number), lot * BARRELS + number);
            let side = if place.is_multiple_of(2) { "a" } else { "b" };
            house.tell(
                "vessel_registered",
                &json!({"vessel": label, "type": "barrel", "capacity_ul": 225 * LITRE, "cooper": "Hollow Oak", "forest": "Allier"}),
            );
            let place = format!("long/A-{:03}-{}-{side}", place / 12 + 1, place / 2 % 6 + 1);
            house.tell("vessel_placed", &json!({"vessel": label, "place": place}));
        });
    }

    fn year(&mut self, year: u64) {
        // The first day is for furnishing.
        self.0.instant = BEGIN + DAY + i64::try_from(year).unwrap() * 365 * DAY;
        (0..LOTS).for_each(|lot| self.receive(year, lot));
        self.each_barrel(|house, lot, number| {
            house.moved(&format!("T{lot}"), &barrel(lot, number), 225, "barrel_down");
        });
        (0..LOTS).for_each(|lot| self.moved(&format!("T{lot}"), &format!("U{lot}"), 8_000, "other"));
        for round in 0..ROUNDS {
            self.0.instant += 18 * DAY;
            self.top();
            if round % 4 == 3 {
                self.look_after(year * ROUNDS + round);
            }
            if round == ROUNDS / 2 {
                self.rack();
            }
        }
        (0..LOTS).for_each(|lot| self.finish(year, lot));
    }

    fn receive(&mut self, year: u64, lot: u64) {
        let vintage = 2015 + year;
        let origins: Vec<String> = (0..3).map(|block| format!("block {lot}-{block} {vintage}")).collect();
        for (origin, variety) in origins.iter().zip(["Merlot", "Cabernet Franc", "Syrah"]) {
            self.tell(
                "origin_declared",
                &json!({"origin": origin, "block": origin, "variety": variety, "vintage": vintage, "appellation": "Varrow Valley", "colour": "red"}),
            );
        }
        let label = format!("{vintage} {lot}");
        self.tell("lot_opened", &json!({"lot": label, "colour": "red"}));
        let parts = [30_000, 15_000, 8_000].iter().zip(&origins);
        let parts: Vec<Value> =
            parts.map(|(litres, origin)| json!({"origin": origin, "volume_ul": litres * LITRE})).collect();
        self.tell("wine_received", &json!({"vessel": format!("T{lot}"), "lot": label, "parts": parts}));
    }

    fn moved(&mut self, from: &str, to: &str, litres: u64, purpose: &str) {
        self.tell("wine_moved", &json!({"from": from, "to": to, "volume_ul": litres * LITRE, "purpose": purpose}));
    }

    /// Moves all that is there; what the book has beyond it is lost.
    fn emptied(&mut self, from: &str, to: &str, litres: u64, purpose: &str) {
        self.tell(
            "wine_moved",
            &json!({"from": from, "to": to, "volume_ul": litres * LITRE, "purpose": purpose, "empties": true}),
        );
    }

    fn top(&mut self) {
        self.each_barrel(|house, lot, number| {
            let volume = LITRE + number % 7 * (LITRE / 20);
            house.tell(
                "topped",
                &json!({"vessel": barrel(lot, number), "from": format!("U{lot}"), "volume_ul": volume}),
            );
        });
    }

    /// Tastes, tests and treats every barrel.
    fn look_after(&mut self, quarter: u64) {
        self.each_barrel(|house, lot, number| {
            let vessel = barrel(lot, number);
            let score = 12.0 + (number % 9) as f64 / 2.0;
            house.tell("tasted", &json!({"vessel": vessel, "score": score, "marks": ["plum", "closed"]}));
            let free = 20 + number % 11;
            house.tell("tested", &json!({"vessel": vessel, "free_so2_mg_l": free, "total_so2_mg_l": 80, "ph": 3.62}));
            let sample = format!("{quarter}-{lot}-{}", number / IN_A_SAMPLE);
            house.tell("sampled", &json!({"vessel": vessel, "volume_ul": LITRE / 10, "sample": sample}));
            house.tell("treated", &json!({"vessel": vessel, "material": "SO2", "amount_ug": 2_000_000}));
        });
        for lot in 0..LOTS {
            for sample in 0..BARRELS / IN_A_SAMPLE {
                self.tell(
                    "tested",
                    &json!({"sample": format!("{quarter}-{lot}-{sample}"), "va_g_l": 0.5, "alcohol_pct": 13.5}),
                );
            }
        }
    }

    /// Racks every lot into its tank and back into its barrels.
    fn rack(&mut self) {
        self.each_barrel(|house, lot, number| house.emptied(&barrel(lot, number), &format!("B{lot}"), 224, "racking"));
        self.each_barrel(|house, lot, number| {
            house.tell("barrel_cared", &json!({"vessel": barrel(lot, number), "care": "rinsed"}));
            house.moved(&format!("B{lot}"), &barrel(lot, number), 224, "barrel_down");
        });
    }

    /// Assembles a lot, fines, filters and bottles it, and lays its bottles away.
    fn finish(&mut self, year: u64, lot: u64) {
        let [tank, other, topping] = ["B", "T", "U"].map(|kind| format!("{kind}{lot}"));
        (0..BARRELS).for_each(|number| self.emptied(&barrel(lot, number), &tank, 224, "racking"));
        self.emptied(&topping, &tank, 2_000, "blend");
        self.tell("treated", &json!({"vessel": tank, "material": "egg white", "amount_ug": 2_000_000_000}));
        self.emptied(&tank, &other, 46_500, "racking");
        self.tell("tested", &json!({"vessel": other, "free_so2_mg_l": 31, "turbidity_ntu": 4.5, "alcohol_pct": 13.6}));
        self.emptied(&other, &tank, 46_200, "filtration");
        let run = format!("R{} {lot}", 15 + year);
        for part in 0..CODES {
            self.tell(
                "bottled",
                &json!({"vessel": tank, "run": run, "bottles": 5_000, "bottle_ul": 750_000, "loss_ul": 10 * LITRE, "empties": part + 1 == CODES, "lot_code": lot_code(year, lot, part), "closure": "natural 45", "materials": [{"material": "glass", "batch": format!("G{year}-{part}")}]}),
            );
            self.tell("laid_away", &json!({"run": run, "bottles": 5_000, "place": format!("bin {}", part + 1)}));
        }
        self.tell("bottles_out", &json!({"run": run, "bottles": 600, "why": "sold", "to": "Quay Street Cellars"}));
    }
}
