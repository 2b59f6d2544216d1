//! Opening and what came are closing and what went.

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::cellar::views::books::ledger::{Division, Period, Row, Subject, ends_of_months};
use barrelwalk::units::Volume;
use serde_json::json;

use crate::support::given::{Cellar, LITRE, lost, moved, placed, topped};

#[track_caller]
fn row(rows: &[Row], subject: Subject) -> &Row {
    rows.iter().find(|row| row.subject == subject).unwrap_or_else(|| panic!("no row {subject:?}"))
}

fn litres(row: &Row) -> [u64; 4] {
    [row.opening, row.moved_in, row.moved_out, row.closing].map(|volume| volume.as_ul() / LITRE)
}

/// From full barrels to racked: a topping that found 2 L missing, a spill of 1 L, 225 L racked with 2 L of lees.
#[test]
fn a_month_in_the_cellar() {
    let before = Cellar::furnished();
    let after = before.clone().given(topped("B1", "T", 2 * LITRE)).given(lost("B2", LITRE)).given(json!({
        "kind": "wine_moved", "from": "B2", "to": "U", "volume_ul": 222 * LITRE, "purpose": "racking",
        "empties": true, "lees_ul": LITRE,
    }));
    let whole = &after.ledger_since(&before, Division::Whole)[0];
    assert_eq!(litres(whole), [3_500, 224, 224, 3_495]);
    let sums = [Entry::Evaporation, Entry::Spill, Entry::Lees, Entry::Received].map(|entry| whole.account.sum(entry));
    assert_eq!(sums.map(|sum| sum.as_ul() / LITRE), [2, 1, 2, 0]);
    assert!(whole.balances());
    let vessels = after.ledger_since(&before, Division::Vessel);
    let id = |label: &str| Subject::Vessel(after.state.vessels.find(label).unwrap_or_else(|| panic!("no {label}")));
    assert_eq!(litres(row(&vessels, id("B1"))), [225, 2, 0, 225]);
    assert_eq!(litres(row(&vessels, id("B2"))), [225, 0, 222, 0]);
    assert_eq!(litres(row(&vessels, id("T"))), [1_550, 0, 2, 1_548]);
    assert_eq!(litres(row(&vessels, id("U"))), [1_000, 222, 0, 1_222]);
    assert!(!vessels.iter().any(|row| row.subject == id("E")), "nothing was ever in it");
    assert!(vessels.iter().all(Row::balances));
}

#[test]
fn a_new_name_moves_wine_from_lot_to_lot() {
    let before = Cellar::furnished();
    let mut fact = moved("B1", "U", 225 * LITRE);
    fact["lot"] = "R".into();
    let after = before.clone().given(fact);
    let lots = after.ledger_since(&before, Division::Lot);
    let id = |label: &str| Subject::Lot(after.state.lots.find(label));
    // R: 225 L go from B1 to U, and the 1,000 L in U take its name.
    assert_eq!(litres(row(&lots, id("R"))), [2_000, 1_225, 225, 3_000]);
    assert_eq!(litres(row(&lots, id("S"))), [1_000, 0, 1_000, 0]);
    assert!(lots.iter().all(Row::balances));
    let vessels = after.ledger_since(&before, Division::Vessel);
    assert!(vessels.iter().all(Row::balances));
}

#[test]
fn a_forklift_moves_wine_from_room_to_room() {
    let before = Cellar::furnished().given(json!({
        "kind": "room_laid_out", "room": "cave", "rows": [{"row": "A", "stacks": 1, "tiers": 1, "sides": 2}],
    }));
    let after = before.clone().given(placed("B1", "cave/A-01-1-a"));
    let rooms = after.ledger_since(&before, Division::Room);
    let id = |label: &str| Subject::Room(after.state.rooms.find(label));
    assert_eq!(litres(row(&rooms, id("long"))), [450, 0, 225, 225]);
    assert_eq!(litres(row(&rooms, id("cave"))), [0, 225, 0, 225]);
    assert_eq!(litres(row(&rooms, Subject::Room(None))), [3_050, 0, 0, 3_050]);
    assert!(rooms.iter().all(Row::balances));
}

#[test]
fn a_period_in_which_nothing_was_has_one_row_of_nothing() {
    let empty = Cellar::new();
    let whole = empty.ledger_since(&empty, Division::Whole);
    assert_eq!((whole.len(), whole[0].closing, whole[0].balances()), (1, Volume::ZERO, true));
    assert_eq!(empty.ledger_since(&empty, Division::Lot), []);
}

fn near(value: Option<f64>, expected: f64) -> bool {
    value.is_some_and(|value| (value - expected).abs() < 1e-9)
}

/// 450 L in barrels, 3,050 L in tanks; in 73.05 days, a fifth of a year, 2 L evaporate from a barrel and 30 L are lost
/// with lees. 27 CFR 24.266 leaves a fifth of 3 % of stock and receipts, the French order of 9 August 2017 a fifth of 4.5 %
/// of the mean stock in wood.
#[test]
fn a_part_of_a_year_has_its_part_of_the_figures() {
    let before = Cellar::furnished();
    let after =
        before.clone().given(json!({"kind": "gauged", "vessel": "B1", "volume_ul": 223 * LITRE})).given(json!({
            "kind": "lost", "vessel": "U", "volume_ul": 30 * LITRE, "cause": "lees",
        }));
    let end = before.now().at_instant(before.now().instant() + 6_311_520_000_000);
    let stands = || ((before.now(), before.state.clone()), Vec::new(), (end, after.state.clone()));
    let (opening, between, closing) = stands();
    let period = Period::new(opening, between, closing, end);
    let whole = period.losses(Division::Whole)[&Subject::Whole];
    assert_eq!((whole.lost, whole.evaporated), (Volume::from_litres(32), Volume::from_litres(2)));
    assert!(near(whole.share(), 32.0 / 3_500.0));
    assert_eq!(whole.yearly(whole.evaporated), None, "73 days are no year");
    let against: Vec<_> = whole.against_norms().collect();
    assert_eq!(against.len(), 4);
    assert!(near(Some(against[0].most), 0.006) && near(Some(against[0].share), 32.0 / 3_500.0));
    assert!(near(Some(against[1].most), 0.009) && near(Some(against[1].share), 2.0 / 449.0));
    assert!(near(Some(against[2].share), 0.0));
    // For all stages, where that is declared beforehand: 6 % of the mean stock in wood and 3.5 % in tanks.
    let mean = (0.06 * 449.0 + 0.035 * 3_035.0) / 3_484.0;
    assert!(near(Some(against[3].most), mean / 5.0), "{:?}", against[3]);
    assert!(against.iter().all(|against| against.is_above().is_none()), "only a year is above a figure or within it");
    let lots = period.losses(Division::Lot);
    let of = |label: &str| lots[&Subject::Lot(after.state.lots.find(label))];
    assert!(near(of("S").share(), 0.03) && near(of("R").share(), 2.0 / 2_000.0) && near(of("W").share(), 0.0));
    // Half of it is still to come: what is left for that time is half.
    let (opening, between, closing) = stands();
    let half = before.now().at_instant(before.now().instant() + 3_155_760_000_000);
    let whole = Period::new(opening, between, closing, half).losses(Division::Whole)[&Subject::Whole];
    assert!(whole.against_norms().next().is_some_and(|against| near(Some(against.most), 0.003)));
}

/// 27 CFR 24.266: a year, each tax class by itself, by both measures. R is 13 % vol and holds 2,000 L of the 3,500, of which a barrel
/// loses 80 L (4 %); nobody tested the others.
#[test]
fn a_year_is_judged_by_tax_class() {
    let before = Cellar::furnished().given(json!({"kind": "tested", "lot": "R", "alcohol_pct": 13.0}));
    let after = before
        .clone()
        .given(json!({"kind": "lost", "vessel": "B1", "volume_ul": 80 * LITRE, "cause": "spill"}))
        .given(json!({"kind": "lost", "vessel": "U", "volume_ul": 3 * LITRE, "cause": "lees"}));
    let end = before.now().at_instant(before.now().instant() + 365 * 86_400_000_000);
    let period = Period::new((before.now(), before.state.clone()), Vec::new(), (end, after.state.clone()), end);
    let classes = period.losses_by_tax_class();
    assert_eq!(classes.iter().map(|(class, _)| *class).collect::<Vec<_>>(), [Some("up to 16 % vol"), None]);
    let above = |at: usize| classes[at].1.against_united_states().map(|it| it.is_above()).collect::<Vec<_>>();
    assert_eq!((above(0), above(1)), (vec![Some(true)], vec![Some(false)]));
    let whole = period.losses(Division::Whole)[&Subject::Whole];
    assert!(whole.yearly(whole.lost).is_some());
    let told: Vec<String> =
        barrelwalk::told::losses::of_period(&period, &whole).into_iter().map(|it| it.words).collect();
    let told = told.join("\n");
    assert!(
        told.contains(
            "tax class up to 16 % vol, all losses: 4 % of stock and receipts, above the figure of 3 % a year"
        ),
        "{told}"
    );
    assert!(
        told.contains("wine whose alcohol nobody tested, all losses: 0.2 % of stock and receipts, within"),
        "{told}"
    );
}

/// A tank that is full for the first of two months alone holds half of it in the mean.
#[test]
fn a_mean_stock_is_taken_at_the_ends_of_months() {
    let full = Cellar::furnished();
    let gone = full.clone().given(json!({
        "kind": "wine_moved", "from": "V", "to": "E", "volume_ul": 200 * LITRE, "loss_ul": 300 * LITRE, "purpose": "other",
        "empties": true,
    }));
    let moment = |text: &str| crate::support::given::moment(text);
    let (from, to) = (moment("2026-11-01T00:00:00+01:00"), moment("2026-12-30T23:59:59+01:00"));
    let ends = ends_of_months(from, to);
    assert_eq!(ends, [moment("2026-12-01T00:00:00+01:00")]);
    let stands = [moment("2026-11-30T23:59:59+01:00"), ends[0]].map(|at| {
        let state = if at == ends[0] { gone.state.clone() } else { full.state.clone() };
        (at, state)
    });
    let period = Period::new((from, full.state.clone()), stands.to_vec(), (to, gone.state.clone()), to);
    let vessels = period.losses(Division::Vessel);
    let mean = vessels[&Subject::Vessel(full.state.vessels.find("V").unwrap_or_else(|| panic!("no V")))].mean_litres();
    assert!((mean - 250.0).abs() < 0.1, "{mean}");
    assert_eq!(ends_of_months(to, from), []);
    assert!(ends_of_months(from, moment("2926-11-01T00:00:00+01:00")).len() <= 241);
}
