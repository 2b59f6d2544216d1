//! From the tank into bottles, from the line into bins, and out.

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::cellar::core::day::Day;
use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::jobs::bottles::bottling::bins::Holding;
use barrelwalk::cellar::jobs::bottles::bottling::plan::BottlingAsked;
use barrelwalk::cellar::jobs::bottles::bottling::release::Readiness;
use barrelwalk::cellar::jobs::bottles::bottling::run::Run;
use barrelwalk::cellar::views::books::ledger::Division;
use barrelwalk::cellar::views::books::lineage::{Since, Tracer};
use barrelwalk::units::Volume;
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::property::history;
use crate::support::given::{Cellar, LITRE, Told, moved};

/// So many bottles of 750 mL from a vessel.
fn bottled(vessel: &str, run: &str, bottles: u32, code: &str) -> Value {
    json!({"kind": "bottled", "vessel": vessel, "run": run, "bottles": bottles, "bottle_ul": 750_000, "lot_code": code})
}

fn with(mut fact: Value, field: &str, value: impl Into<Value>) -> Value {
    fact[field] = value.into();
    fact
}

fn laid(run: &str, bottles: u32, place: &str, release: Option<&str>) -> Value {
    json!({"kind": "laid_away", "run": run, "bottles": bottles, "place": place, "release": release})
}

fn out(run: &str, bottles: u32, why: &str) -> Value {
    json!({"kind": "bottles_out", "run": run, "bottles": bottles, "why": why})
}

#[track_caller]
fn run<'a>(cellar: &'a Cellar, label: &str) -> &'a Run {
    cellar.state.runs.by_label(label).unwrap_or_else(|| panic!("no run {label}"))
}

/// Bottles that rest are asked about, with the latest release of those that would go, and taken all the same.
#[test]
fn bottles_before_their_release_are_asked_about() {
    let cellar = filled().given(laid("G1", 300, "vault/A-01", Some("2026-09-10"))).given(laid(
        "G1",
        200,
        "vault/A-02",
        Some("2026-12-01"),
    ));
    let asked = |cellar: &Cellar, bottles: u32, from: Option<&str>| {
        let fact = with(out("G1", bottles, "sold"), "from", from);
        let what = Told::what(fact);
        let asked = cellar.state.questions(std::slice::from_ref(&what), cellar.now());
        asked.iter().map(ToString::to_string).collect::<Vec<_>>()
    };
    assert_eq!(asked(&cellar, 20, Some("vault/A-02")), ["20 bottles of G1 rest until 1 Dec 2026."]);
    assert_eq!(asked(&cellar, 20, Some("vault/A-01")), [""; 0]);
    assert_eq!(asked(&cellar, 20, None), [""; 0], "those not laid away go first");
    assert_eq!(asked(&cellar, 801, None), ["1 bottle of G1 rests until 1 Dec 2026."]);
    let later = cellar.at("2026-12-01T08:00:00+01:00");
    assert_eq!(asked(&later, 20, Some("vault/A-02")), [""; 0]);
}

/// 1,000 bottles of lot R from tank T, which held 1,550 L.
fn filled() -> Cellar {
    Cellar::furnished_to_bottle().at("2026-09-10T16:00:00+02:00").given(bottled("T", "G1", 1_000, "L2601"))
}

#[test]
fn bottles_take_their_litres_from_the_tank() {
    let before = Cellar::furnished_to_bottle();
    let fact = with(bottled("T", "G1", 1_000, "L2601"), "loss_ul", 6 * LITRE);
    let after = before.clone().when(fact).then_taken().holds("T", (1_550 - 750 - 6) * LITRE);
    let after = after.booked("T", Entry::Bottled, 750 * LITRE).booked("T", Entry::BottlingLoss, 6 * LITRE);
    let whole = &after.ledger_since(&before, Division::Whole)[0];
    assert!(whole.balances());
    let run = run(&after, "G1");
    assert_eq!((run.bottles(), run.loose(), run.lying(), run.gone()), (1_000, 1_000, 0, 0));
    assert_eq!((run.wine().volume(), run.loss()), (Volume::from_litres(750), Volume::from_litres(6)));
}

/// A blend of two parts of block-2 to one of block-1: so is what is in each bottle.
#[test]
fn a_bottle_holds_what_the_tank_held() {
    let cellar = Cellar::furnished_to_bottle().given(moved("T", "U", 500 * LITRE)).given(bottled("U", "G1", 300, "x"));
    let wine = run(&cellar, "G1").wine();
    let parts: Vec<u64> = wine.parts().iter().map(|part| part.volume.as_ul() / 300).collect();
    assert_eq!(parts, [250_000, 500_000]);
}

#[test]
fn a_run_goes_on_after_a_stop_and_from_another_tank() {
    let cellar = filled()
        .when(bottled("T", "G1", 500, "L2601"))
        .then_taken()
        .when(bottled("B1", "G1", 100, "L2602"))
        .then_taken();
    let run = run(&cellar, "G1");
    assert_eq!((run.bottles(), run.stretches.len(), run.vessels().len(), run.lots().len()), (1_600, 3, 2, 1));
    assert_eq!(run.lot_codes().iter().map(|code| code.as_str()).collect::<Vec<_>>(), ["L2601", "L2602"]);
}

#[test]
fn an_emptied_tank_books_what_is_left_as_bottling_loss() {
    let fact = with(with(bottled("B1", "G1", 290, "x"), "empties", true), "loss_ul", LITRE);
    let cellar = Cellar::furnished_to_bottle().when(fact).then_taken().holds("B1", 0).has_lot("B1", None);
    let cellar = cellar.booked("B1", Entry::BottlingLoss, 7_500_000);
    assert_eq!(run(&cellar, "G1").loss(), Volume::from_ul(7_500_000));
}

/// 302 bottles are 226.5 L out of a book of 225 L: a barrel that held a little more. 400 bottles are none of it.
#[test]
fn an_emptied_tank_that_held_a_little_more_gains() {
    let emptied = |bottles| with(bottled("B1", "G1", bottles, "x"), "empties", true);
    let cellar = Cellar::furnished_to_bottle().when(emptied(302)).then_taken().holds("B1", 0);
    cellar.booked("B1", Entry::Gain, 1_500_000).booked("B1", Entry::BottlingLoss, 0);
    let cellar =
        Cellar::furnished_to_bottle().when(emptied(400)).then_counted_in_doubt("take 300.0 L, but B1 holds 225.0 L");
    cellar.holds("B1", 0).booked("B1", Entry::Gain, 75 * LITRE);
}

#[test]
fn more_bottles_than_wine_are_refused() {
    let told = "301 bottles of 750 mL with the loss take 225.8 L, but B1 holds 225.0 L by the book";
    let cellar = Cellar::furnished_to_bottle().when(bottled("B1", "G1", 301, "x")).then_counted_in_doubt(told);
    assert_eq!(run(&cellar, "G1").bottles(), 301);
    let lossy = with(bottled("B1", "G1", 300, "x"), "loss_ul", 1);
    Cellar::furnished_to_bottle().when(lossy).then_counted_in_doubt("take 225.1 L, but B1 holds 225.0 L");
    Cellar::furnished_to_bottle().when(bottled("B1", "G1", 300, "x")).then_taken().holds("B1", 0);
}

#[test]
fn what_cannot_be_bottled_has_no_effect() {
    let none = |fact| Cellar::furnished_to_bottle().when(fact);
    none(bottled("E", "G1", 10, "x")).then_has_no_effect("E holds nothing by the book");
    none(bottled("T9", "G1", 10, "x")).then_has_no_effect("No vessel is called 'T9'");
    none(bottled("T", "G1", 0, "x")).then_has_no_effect("No bottles are said");
    none(with(bottled("T", "G1", 10, "x"), "bottle_ul", 0)).then_has_no_effect("is none of the trade");
    none(with(bottled("T", "G1", u32::MAX, "x"), "bottle_ul", u64::MAX)).then_has_no_effect("more wine than any");
}

#[test]
fn a_bottle_of_a_slipped_unit_is_none() {
    let fact = with(bottled("T", "G1", 10, "x"), "bottle_ul", 750);
    Cellar::furnished_to_bottle().when(fact).then_counted_in_doubt("A bottle of 0.750 mL is none of the trade");
}

#[test]
fn another_bottle_is_another_run() {
    let magnums = with(bottled("T", "G1", 10, "L2601"), "bottle_ul", 1_500_000);
    filled().when(magnums).then_counted_in_doubt("has bottles of 750 mL, and these hold 1.5 L");
}

#[test]
fn a_lot_code_stands_on_bottles_of_one_run() {
    filled().when(bottled("T", "G2", 10, "L2601")).then_counted_in_doubt("'L2601' stands on bottles of the run 'G1'");
    let cellar = filled().given(bottled("T", "G2", 10, "L2602"));
    cellar.when(bottled("T", "G2", 10, "L2601")).then_counted_in_doubt("already. Give these another code");
}

#[test]
fn another_lot_in_a_run_is_most_likely_a_slip() {
    filled().when(bottled("U", "G1", 10, "L2601")).then_a_slip("is of the lot 'R', and U holds 'S'");
}

#[test]
fn fills_and_oxygen_that_cannot_be_are_slips() {
    let slip = |field: &str, value: Value, part| {
        Cellar::furnished_to_bottle().when(with(bottled("T", "G1", 10, "x"), field, value)).then_a_slip(part);
    };
    slip("fills_ul", json!([748_000, 748]), "A fill of 0.748 mL is none of a bottle of 750 mL");
    slip("oxygen_mg_l", json!(400.0), "An oxygen content in mg/L of 400 is out of range");
}

#[test]
fn bottles_are_laid_away_and_go_out() {
    let cellar = filled()
        .when(laid("G1", 600, "bin 4", Some("2028-09-01")))
        .then_taken()
        .when(laid("G1", 300, "bin 5", Some("2027-03-15")))
        .then_taken()
        .when(out("G1", 4, "broken"))
        .then_taken()
        .when(with(out("G1", 60, "sold"), "from", "bin 4"))
        .then_taken();
    let run = run(&cellar, "G1");
    assert_eq!((run.loose(), run.lying(), run.gone()), (96, 840, 64));
    let day = |text: &str| Day::parse(text).unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(run.ready_in_month_of(day("2027-02-28")), 0);
    assert_eq!(run.ready_in_month_of(day("2027-03-01")), 300, "ready within this month");
    assert_eq!(run.ready_in_month_of(day("2028-10-01")), 840, "ready since");
}

#[test]
fn bottles_from_anywhere_are_first_those_not_laid_away_then_the_first_to_be_released() {
    let cellar = filled()
        .given(laid("G1", 500, "late", Some("2028-09-01")))
        .given(laid("G1", 300, "never", None))
        .given(laid("G1", 100, "early", Some("2027-09-01")))
        .when(out("G1", 150, "sold"))
        .then_taken();
    let there: Vec<(&str, u64)> =
        run(&cellar, "G1").laid().map(|(place, stock)| (place.as_str(), stock.there)).collect();
    assert_eq!(there, [("late", 500), ("never", 300), ("early", 50)]);
    assert_eq!(run(&cellar, "G1").loose(), 0);
}

#[test]
fn bottles_are_carried_from_bin_to_bin() {
    let cellar = filled().given(laid("G1", 600, "bin 4", None));
    let carried = |bottles| with(laid("G1", bottles, "bin 7", Some("2027-01-01")), "from", "bin 4");
    let cellar = cellar.when(carried(600)).then_taken();
    assert_eq!((run(&cellar, "G1").loose(), run(&cellar, "G1").lying()), (400, 600));
    cellar.when(carried(1)).then_counted_in_doubt("1 bottle of 'G1' is to leave bin 4, where 0 lie");
}

#[test]
fn more_than_there_is_can_neither_be_laid_away_nor_go_out() {
    let told = "1001 bottles of 'G1' are to be laid away, but only 1000 are not laid away yet";
    let cellar = filled().when(laid("G1", 1_001, "bin 4", None)).then_counted_in_doubt(told);
    assert_eq!((run(&cellar, "G1").beyond, run(&cellar, "G1").lying()), (1, 1_001));
    filled().when(out("G1", 1_001, "sold")).then_counted_in_doubt("but only 1000 are left of it");
    filled().when(with(out("G1", 1, "sold"), "from", "bin 9")).then_counted_in_doubt("where 0 lie");
    filled().when(out("G9", 1, "sold")).then_has_no_effect("No bottling run is called 'G9'");
    filled().when(laid("G9", 1, "bin 4", None)).then_has_no_effect("No bottling run is called 'G9'");
    filled().when(laid("G1", 0, "bin 4", None)).then_has_no_effect("No bottles are said");
}

/// 600 bottles of code L1 and 400 of L2.
fn of_two_codes() -> Cellar {
    let cellar = Cellar::furnished_to_bottle().at("2026-09-10T16:00:00+02:00");
    cellar.given(bottled("T", "G1", 600, "L1")).given(bottled("T", "G1", 400, "L2"))
}

/// Of each lot code: not laid away, laid away, out.
fn by_code(cellar: &Cellar) -> Vec<(String, u64, u64, u64)> {
    let of = run(cellar, "G1").by_code();
    of.into_iter()
        .map(|of| (of.lot_code.map_or_else(String::new, |it| it.to_string()), of.loose, of.lying, of.out))
        .collect()
}

#[test]
fn every_bottle_is_counted_under_its_lot_code() {
    let cellar = of_two_codes()
        .given(with(laid("G1", 300, "bin 4", None), "lot_code", "L2"))
        .given(with(laid("G1", 500, "bin 5", None), "lot_code", "L1"))
        .given(with(with(out("G1", 10, "sold"), "from", "bin 4"), "to", "The shop"));
    assert_eq!(by_code(&cellar), [("L1".to_owned(), 100, 500, 0), ("L2".to_owned(), 100, 290, 10)]);
    assert_eq!(run(&cellar, "G1").assumed, 0, "in bin 4 lies one code only");
    let label = |text| Label::new(text).unwrap_or_else(|error| panic!("{error}"));
    let recalled = run(&cellar, "G1").recalled(&[label("L2")]);
    assert_eq!((recalled.left, recalled.places, recalled.to.len()), (390, vec![label("bin 4")], 1));
    let recalled = run(&cellar, "G1").recalled(&[label("L1")]);
    assert_eq!((recalled.left, recalled.to.len()), (600, 0), "the shop got none of it");
}

#[test]
fn where_no_code_is_said_what_was_filled_first_is_meant_and_that_is_kept() {
    let cellar =
        of_two_codes().given(laid("G1", 700, "bin 4", None)).given(with(out("G1", 50, "sold"), "to", "The shop"));
    assert_eq!(by_code(&cellar), [("L1".to_owned(), 0, 600, 0), ("L2".to_owned(), 250, 100, 50)]);
    assert_eq!(run(&cellar, "G1").assumed, 750, "nor did anybody say where the 50 came from");
    let first = Label::new("L1").unwrap_or_else(|error| panic!("{error}"));
    assert_eq!(run(&cellar, "G1").recalled(&[first]).to.len(), 1, "the shop may have got some all the same");
    let all = of_two_codes().given(laid("G1", 1_000, "bin 4", None));
    assert_eq!(run(&all, "G1").assumed, 0, "all of them leave no doubt");
}

#[test]
fn more_of_a_lot_code_than_there_is_is_refused() {
    let coded = |fact, code: &str| with(fact, "lot_code", code);
    let told = "401 bottles of 'G1' with the lot code 'L2' are to be laid away, but only 400";
    let cellar = of_two_codes().when(coded(laid("G1", 401, "bin 4", None), "L2")).then_counted_in_doubt(told);
    assert_eq!(by_code(&cellar), [("L1".to_owned(), 600, 0, 0), ("L2".to_owned(), 0, 401, 0)]);
    of_two_codes().when(coded(out("G1", 601, "sold"), "L1")).then_counted_in_doubt("but only 600 are left of it");
    of_two_codes().when(coded(out("G1", 1, "sold"), "L9")).then_counted_in_doubt("was filled with the lot code 'L9'");
}

#[test]
fn bottles_that_are_carried_keep_their_release() {
    let cellar = filled().given(laid("G1", 600, "bin 4", Some("2028-09-01")));
    let cellar = cellar.given(with(laid("G1", 600, "bin 7", None), "from", "bin 4"));
    let release = |cellar: &Cellar| {
        run(cellar, "G1").laid().map(|(_, stock)| stock.release.map(|day| day.to_string())).collect::<Vec<_>>()
    };
    assert_eq!(release(&cellar), [Some("2028-09-01".to_owned())]);
    let since = run(&cellar, "G1").stock[1].since;
    let cellar = cellar.days(30).given(with(laid("G1", 600, "bin 7", Some("2027-05-01")), "from", "bin 7"));
    assert_eq!(release(&cellar), [Some("2027-05-01".to_owned())]);
    assert_eq!(run(&cellar, "G1").stock[1].since, since, "only the release was set");
}

#[test]
fn a_bottle_is_tasted_and_out_by_one_fact() {
    let tasted = json!({"kind": "bottle_tasted", "run": "G1", "lot_code": "L2", "from": "bin 4", "score": 15.5, "marks": ["plum"]});
    let laid_away = of_two_codes().given(with(laid("G1", 100, "bin 4", None), "lot_code", "L2"));
    let cellar = laid_away.clone().days(400).given(tasted.clone());
    assert_eq!(by_code(&cellar), [("L1".to_owned(), 600, 0, 0), ("L2".to_owned(), 300, 99, 1)]);
    let run_now = run(&cellar, "G1");
    assert_eq!((run_now.tastes.len(), run_now.tastes[0].months(), run_now.out[0].why.as_str()), (1, 13, "tasting"));
    let cellar = cellar.given(with(tasted.clone(), "bottles", 0));
    assert_eq!((run(&cellar, "G1").tastes.len(), run(&cellar, "G1").gone()), (2, 1), "from a bottle that had gone out");
    laid_away
        .clone()
        .when(with(tasted.clone(), "bottles", 101))
        .then_counted_in_doubt("are to leave bin 4, where 100 lie");
    laid_away.clone().when(with(tasted.clone(), "score", 21.0)).then_has_no_effect("A score lies between 0 and 20");
    let nothing = json!({"kind": "bottle_tasted", "run": "G1"});
    laid_away.when(nothing).then_has_no_effect("Nothing is said about the taste of G1");
    filled().when(with(tasted, "run", "G9")).then_has_no_effect("No bottling run is called 'G9'");
}

fn store(bins: u16) -> Value {
    json!({"kind": "store_laid_out", "store": "vault", "rows": [{"row": "A", "bins": bins}, {"row": "B", "bins": 2}]})
}

#[test]
fn a_store_shows_its_bins_and_what_lies_elsewhere() {
    let cellar = filled()
        .given(store(3))
        .given(laid("G1", 100, "vault/A-02", None))
        .given(laid("G1", 10, "pallet 10", None))
        .given(laid("G1", 9, "pallet 9", None))
        .given(laid("G1", 1, "shop/shelf", None));
    let told: Vec<String> = cellar
        .state
        .bin_maps()
        .iter()
        .map(|map| {
            let bins: Vec<String> = map.bins().map(|bin| format!("{} {}", bin.place, bin.bottles())).collect();
            bins.join(", ")
        })
        .collect();
    assert_eq!(
        told,
        [
            "vault/A-01 0, vault/A-02 100, vault/A-03 0, vault/B-01 0, vault/B-02 0",
            "shop/shelf 1",
            "pallet 9 9, pallet 10 10",
        ]
    );
}

#[test]
fn a_bin_that_a_store_has_not_is_most_likely_a_slip() {
    let cellar = filled().given(store(3)).given(laid("G1", 1, "vault/A-03", None));
    cellar.clone().when(laid("G1", 1, "vault/A-04", None)).then_a_slip("vault/A-04 is no bin of 'vault'");
    cellar.clone().when(store(2)).then_a_slip("Bottles lie in vault/A-03, which the new plan of 'vault' has not");
    cellar.given(store(4)).given(laid("G1", 1, "vault/A-04", None));
    let bad = |rows: Value| Cellar::new().when(json!({"kind": "store_laid_out", "store": "vault", "rows": rows}));
    bad(json!([])).then_has_no_effect("A store needs rows");
    bad(json!([{"row": "A", "bins": 0}])).then_has_no_effect("A store needs rows");
    bad(json!([{"row": "A", "bins": 1}, {"row": "A", "bins": 1}])).then_has_no_effect("A store needs rows");
}

#[test]
fn a_bin_is_ready_resting_mixed_or_empty() {
    let cellar = of_two_codes()
        .given(with(laid("G1", 10, "a", Some("2026-12-24")), "lot_code", "L1"))
        .given(with(laid("G1", 10, "b", Some("2026-10-01")), "lot_code", "L1"))
        .given(with(laid("G1", 10, "c", None), "lot_code", "L1"))
        .given(with(laid("G1", 10, "d", None), "lot_code", "L1"))
        .given(with(laid("G1", 10, "d", None), "lot_code", "L2"));
    let held = |place: &str, today: &str| {
        let place = Label::new(place).unwrap_or_else(|error| panic!("{error}"));
        cellar.state.bin(&place).holding(Day::parse(today).unwrap_or_else(|error| panic!("{error}")))
    };
    let on = |today| ["a", "b", "c", "d", "e"].map(|place| held(place, today));
    let (one, late) = (Holding::One, Readiness::NoRelease);
    let others = [one(late), Holding::Mixed, Holding::Empty];
    assert_eq!(on("2026-09-30")[..], [[one(Readiness::Resting); 2].to_vec(), others.to_vec()].concat());
    assert_eq!(
        on("2026-12-01")[..],
        [vec![one(Readiness::ThisMonth), one(Readiness::Released)], others.to_vec()].concat()
    );
}

#[test]
fn no_bottle_is_released_before_it_was_filled() {
    let told = "A release on 9 Sep 2026 lies before the bottling of 'G1' on 10 Sep 2026";
    filled().when(laid("G1", 10, "bin 4", Some("2026-09-09"))).then_counted_in_doubt(told);
    filled().when(laid("G1", 10, "bin 4", Some("2026-09-10"))).then_taken();
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_bottle_leads_back_to_its_origins_and_all_on_the_way_lead_forward_to_it(history in history(200)) {
        let mut tracer = Tracer::default();
        for (stamp, what) in &history {
            tracer.fold_by(Some("mk"), stamp, what);
        }
        for (id, run) in tracer.state.runs.iter() {
            let past = tracer.past_of_run(id, None);
            let origins: Vec<_> = past.back.receipts.iter().map(|receipt| receipt.origin).collect();
            for origin in run.wine().parts().iter().filter_map(|part| part.origin) {
                prop_assert!(origins.contains(&origin), "{:?} of {:?}", origin, run);
            }
            for &fill in &past.fills {
                let reached = tracer.bottled_of(&[Since::from(fill)]);
                prop_assert!(reached.iter().any(|reached| reached.run == id), "{:?} of {:?}", fill, run);
            }
            prop_assert_eq!(past.people.len(), 1);
        }
    }
}

#[test]
fn a_plan_says_one_case_and_one_pallet_as_they_are_spoken() {
    let cellar = Cellar::furnished_to_bottle();
    let vessel = cellar.state.vessels.find("V").unwrap();
    let planned = |ml: u64| {
        let asked = BottlingAsked { litres: Some(Volume::from_ml(ml)), loss: 0, ..BottlingAsked::USUAL };
        cellar.state.plan_bottling(vessel, asked).unwrap().bottles_words()
    };
    assert_eq!(planned(22 * 750), "22 bottles of 750 mL: 1 case of 12 and 10 bottles, 1 pallet");
    assert_eq!(planned(25 * 750), "25 bottles of 750 mL: 2 cases of 12 and 1 bottle, 1 pallet");
}
