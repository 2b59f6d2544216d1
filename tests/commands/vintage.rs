//! A vintage from harvest to bottle, entered as a cellar enters it, with every total, dose and loss reckoned by hand beside it.
//! The estate and its figures are invented; the arithmetic is anybody's.

use serde_json::{Value, json};

use crate::desk::Desk;

const LITRE: u64 = 1_000_000;
const BARRELS: [&str; 4] = ["01", "02", "03", "04"];

/// Litres in whole microlitres.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // litres of a cellar
fn ul(litres: f64) -> u64 {
    (litres * 1e6).round() as u64
}

/// Enters facts a minute apart from eight in the morning of a day.
fn on(desk: &Desk, day: &str, facts: &[Value]) {
    let line = |(minute, fact): (usize, &Value)| {
        let mut line = json!({"at": format!("{day}T08:{minute:02}:00+02:00"), "by": "mk"});
        line.as_object_mut().unwrap().extend(fact.as_object().unwrap().clone());
        line.to_string()
    };
    desk.record(&facts.iter().enumerate().map(line).collect::<Vec<_>>());
}

fn moved(from: &str, to: &str, litres: f64, purpose: &str) -> Value {
    json!({"kind": "wine_moved", "from": from, "to": to, "volume_ul": ul(litres), "purpose": purpose})
}

fn with(mut fact: Value, fields: &Value) -> Value {
    fact.as_object_mut().unwrap().extend(fields.as_object().unwrap().clone());
    fact
}

/// A round of the room from the keg, with the litres that each barrel took.
fn round(desk: &Desk, day: &str, litres: [f64; 4]) {
    let label = format!("round of {day}");
    let mut facts = vec![json!({"kind": "round_begun", "round": label, "room": "long", "from": "K1"})];
    facts.extend(
        BARRELS
            .iter()
            .zip(litres)
            .map(|(barrel, litres)| json!({"kind": "topped", "vessel": barrel, "from": "K1", "volume_ul": ul(litres)})),
    );
    facts.push(json!({"kind": "round_ended", "round": label, "room": "long"}));
    on(desk, day, &facts);
}

fn laid_out(desk: &Desk) {
    let mut facts = vec![json!({
        "kind": "room_laid_out", "room": "long", "rows": [{"row": "A", "stacks": 2, "tiers": 1, "sides": 2}],
    })];
    for (tank, litres) in [("T1", 1_000), ("T2", 600), ("T3", 1_000), ("T4", 1_500), ("T5", 1_500)] {
        facts.push(json!({
            "kind": "vessel_registered", "vessel": tank, "type": "tank", "capacity_ul": litres * LITRE,
        }));
    }
    facts.push(json!({"kind": "vessel_registered", "vessel": "K1", "type": "keg", "capacity_ul": 60 * LITRE}));
    for (barrel, place) in BARRELS.iter().zip(["A-01-1-a", "A-01-1-b", "A-02-1-a", "A-02-1-b"]) {
        facts.push(json!({
            "kind": "vessel_registered", "vessel": barrel, "type": "barrel", "capacity_ul": 225 * LITRE, "fills": 1,
        }));
        facts.push(json!({"kind": "vessel_placed", "vessel": barrel, "place": format!("long/{place}")}));
    }
    on(desk, "2025-10-20", &facts);
}

/// 1,000 L of Merlot and 500 L of Cabernet franc come in; the Merlot goes into four barrels and a keg, and 40 L of its gross
/// lees are thrown away.
fn harvest(desk: &Desk) {
    let mut facts = Vec::new();
    for (origin, block, variety, lot, tank, litres) in
        [("m", "Mill", "Merlot", "M", "T1", 1_000), ("c", "Crest", "Cabernet franc", "C", "T2", 500)]
    {
        facts.push(json!({
            "kind": "origin_declared", "origin": origin, "block": block, "variety": variety, "vintage": 2025,
            "appellation": "Hillside", "colour": "red",
        }));
        facts.push(json!({"kind": "lot_opened", "lot": lot, "colour": "red"}));
        let parts = json!([{"origin": origin, "volume_ul": litres * LITRE}]);
        facts.push(json!({"kind": "wine_received", "vessel": tank, "lot": lot, "parts": parts}));
    }
    facts.extend(BARRELS.iter().map(|barrel| moved("T1", barrel, 225.0, "barrel_down")));
    facts.push(moved("T1", "K1", 60.0, "other"));
    facts.push(json!({"kind": "lost", "vessel": "T1", "volume_ul": 40 * LITRE, "cause": "lees"}));
    on(desk, "2025-10-21", &facts);
}

/// Eleven rounds, a spill of half a litre and a composite sample of a tenth of a litre a barrel.
fn aged(desk: &Desk) {
    round(desk, "2025-11-10", [2.0, 2.4, 1.6, 2.0]);
    round(desk, "2025-12-01", [1.0, 1.2, 0.8, 1.0]);
    round(desk, "2026-01-05", [1.5; 4]);
    let mut facts = vec![json!({"kind": "lost", "vessel": "02", "volume_ul": ul(0.5), "cause": "spill"})];
    facts.extend(
        BARRELS.iter().map(|barrel| json!({"kind": "sampled", "vessel": barrel, "volume_ul": ul(0.1), "sample": "S1"})),
    );
    facts.push(json!({
        "kind": "tested", "sample": "S1", "ph": 3.55, "free_so2_mg_l": 12, "total_so2_mg_l": 40, "alcohol_pct": 13.5,
    }));
    on(desk, "2026-01-06", &facts);
    for day in
        ["2026-02-02", "2026-03-02", "2026-03-30", "2026-04-27", "2026-05-25", "2026-06-22", "2026-07-20", "2026-08-17"]
    {
        round(desk, day, [1.0; 4]);
    }
}

/// The barrels are racked: of 225 L each 1.5 L had evaporated, 221 L arrive, 2 L are measured as lees and what is left behind
/// is lees too. The tank is gauged at 880 L. Both wines are tested and given sulfur dioxide.
fn racked(desk: &Desk) {
    let measured = json!({"lees_ul": 2 * LITRE, "evaporation_ul": ul(1.5), "empties": true});
    let mut facts: Vec<Value> =
        BARRELS.iter().map(|barrel| with(moved(barrel, "T3", 221.0, "racking"), &measured)).collect();
    facts.push(json!({"kind": "gauged", "vessel": "T3", "volume_ul": 880 * LITRE}));
    on(desk, "2026-09-07", &facts);
    let test = |vessel: &str, free: u32, total: u32, alcohol: f64| {
        json!({
            "kind": "tested", "vessel": vessel, "ph": 3.55, "free_so2_mg_l": free, "total_so2_mg_l": total,
            "alcohol_pct": alcohol,
        })
    };
    let gave = |vessel: &str, micrograms: u64| json!({"kind": "treated", "vessel": vessel, "material": "so2", "amount_ug": micrograms});
    let facts = [test("T3", 14, 66, 13.5), test("T2", 10, 45, 13.0), gave("T3", 17_600_000), gave("T2", 10_000_000)];
    on(desk, "2026-09-08", &facts);
}

fn ledger(desk: &Desk) -> Value {
    desk.told_json("ledger --from 2025-10-01 --to 2026-11-01")
}

/// Microlitres of a line of the ledger.
fn line(ledger: &Value, field: &str) -> u64 {
    ledger[field].as_u64().unwrap()
}

fn cellar() -> Desk {
    let desk = Desk::new();
    laid_out(&desk);
    harvest(&desk);
    aged(&desk);
    desk
}

#[test]
fn what_evaporates_is_what_was_poured_less_what_was_spilt_and_drawn() {
    let desk = cellar();
    let book = ledger(&desk);
    // The first three rounds poured 8.0, 4.0 and 6.0 L into barrels that were full by the book: 18.0 L evaporated. Before the
    // fourth the spill of 0.5 L and four samples of 0.1 L had left room too: of its 4.0 L only 4.0 - 0.5 - 0.4 = 3.1 L replace
    // what evaporated. Seven more rounds of 4.0 L are 28.0 L.
    assert_eq!(line(&book, "evaporation_ul"), ul(18.0 + 3.1 + 28.0));
    assert_eq!(
        (line(&book, "lees_ul"), line(&book, "spill_ul"), line(&book, "sample_ul")),
        (ul(40.0), ul(0.5), ul(0.4))
    );
    // The keg gave 8 + 4 + 6 + 8 × 4 = 50 of its 60 L; the barrels are full again.
    let keg = desk.told_json("show vessel K1");
    assert_eq!(keg["volume_ul"].as_u64(), Some(10 * LITRE));
    assert_eq!(line(&book, "closing_ul"), ul(4.0 * 225.0 + 10.0 + 500.0));
    assert_eq!(line(&book, "closing_ul"), ul(1_500.0 - 49.1 - 40.0 - 0.5 - 0.4));
}

#[test]
fn a_racking_books_what_evaporated_and_the_gauged_tank_its_lees() {
    let desk = cellar();
    racked(&desk);
    let book = ledger(&desk);
    // Each barrel: 225.0 = 1.5 evaporated + 221.0 moved + 2.0 lees + 0.5 left behind, lees too.
    assert_eq!(line(&book, "evaporation_ul"), ul(49.1 + 4.0 * 1.5));
    // The tank: 4 × 221 = 884 L by the book, 880 L gauged within the hour of the last racking: 4 L more of lees.
    assert_eq!(line(&book, "lees_ul"), ul(40.0 + 4.0 * 2.5 + 4.0));
    assert_eq!(line(&book, "closing_ul"), ul(880.0 + 500.0 + 10.0));
}

#[test]
fn doses_and_the_blend_start_from_the_tests_and_what_was_given_since() {
    let desk = cellar();
    racked(&desk);
    // 20 mg/L into 880 L are 17.6 g of sulfur dioxide. Potassium metabisulfite, K2S2O5, yields 2 × 64.064 / 222.32 = 57.63 % of
    // it (molar masses): 30.54 g, which in a solution of 10 g in 100 mL are 305 mL.
    let plan = desk.told_json("plan sulfur --vessel T3 --add 20 --as solution:10%");
    let grams = plan["barrels"][0]["amount_ug"].as_f64().unwrap() / 1e6;
    assert!((30.4..=30.7).contains(&grams), "{plan}");
    // T3: 66 tested + 17.6 g in 880 L = 86 mg/L in all; T2: 45 + 10 g in 500 L = 65. Of 70 and 30 parts: 79.7 mg/L, and
    // 0.7 × 13.5 + 0.3 × 13.0 = 13.35 % vol.
    let blend = desk.told("plan blend --share T3=70% --share T2=30% --into T4 --litres 1000");
    let row = |name: &str| blend.lines().find(|line| line.starts_with(name)).unwrap_or_default().to_owned();
    assert!(row("total SO2").contains(" 80 "), "{blend}");
    assert!(row("alcohol").contains(" 13.35 "), "{blend}");
}

#[test]
fn every_litre_and_every_bottle_is_found_again() {
    let desk = cellar();
    racked(&desk);
    // Blended 700 + 300 L; filtered, 990 L arrive and 10 L are lost; 1,300 bottles of 0.75 L are 975 L, 5 L are drawn off
    // before the line runs clear, and the 10 L left in the tank are lost with it.
    let blend = |from: &str, litres: f64| with(moved(from, "T4", litres, "blend"), &json!({"lot": "Hill"}));
    let opened = json!({"kind": "lot_opened", "lot": "Hill", "colour": "red"});
    on(&desk, "2026-09-20", &[opened, blend("T3", 700.0), blend("T2", 300.0)]);
    let filtered = json!({"loss_ul": 10 * LITRE, "empties": true, "filter": "medium pads"});
    on(&desk, "2026-10-05", &[with(moved("T4", "T5", 990.0, "filtration"), &filtered)]);
    on(
        &desk,
        "2026-10-12",
        &[
            json!({
                "kind": "bottled", "vessel": "T5", "run": "H1", "bottles": 1_300, "bottle_ul": ul(0.75), "loss_ul": 5 * LITRE,
                "empties": true, "lot_code": "L26285", "despite": "tested at the laboratory in town",
            }),
            json!({"kind": "laid_away", "run": "H1", "bottles": 1_200, "place": "store 2"}),
            json!({"kind": "bottles_out", "run": "H1", "bottles": 60, "why": "sold", "to": "The shop"}),
            json!({"kind": "bottles_out", "run": "H1", "bottles": 4, "why": "broken"}),
        ],
    );
    let book = ledger(&desk);
    assert_eq!(line(&book, "handling_ul"), ul(10.0));
    assert_eq!((line(&book, "bottled_ul"), line(&book, "bottling_loss_ul")), (ul(975.0), ul(5.0 + 10.0)));
    // 880 - 700, 500 - 300 and the keg.
    assert_eq!(line(&book, "closing_ul"), ul(180.0 + 200.0 + 10.0));
    // In: 1,500. Out: 55.1 evaporated, 54 lees, 10 handling, 0.5 spilt, 0.4 sampled, 975 bottled, 15 lost at it.
    assert_eq!(line(&book, "closing_ul"), ul(1_500.0 - 55.1 - 54.0 - 10.0 - 0.5 - 0.4 - 975.0 - 15.0));
    assert_eq!((line(&book, "gain_ul"), &book["balances"]), (0, &json!(true)));
    // 1,300 filled: 64 out, 1,200 laid away, 36 not laid away yet.
    let run = desk.told_json("show run H1");
    assert_eq!(
        (run["bottles"].as_u64(), run["out"].as_u64(), run["not_laid_away"].as_u64()),
        (Some(1_300), Some(64), Some(36))
    );
    // 70 of 100 parts are Merlot: short of the 75 % of 27 CFR 4.23(b).
    let claims = desk.told_json("claims run H1 --rules us");
    let variety = claims["claims"].as_array().unwrap().iter().find(|claim| claim["claim"] == "variety").unwrap();
    assert_eq!((variety["share"].as_f64(), &variety["held"]), (Some(0.7), &json!(false)));
    desk.done("verify");
    assert_eq!(desk.told_json("list discrepancies"), json!([]));
}
