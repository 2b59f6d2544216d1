//! Since when things are written down: what lies before is no evidence of anything.
#![allow(clippy::unwrap_used)] // in what the tests of this module share

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::cellar::core::fact::{Device, FactId, Stamp};
use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::cellar::core::state::RoomId;
use barrelwalk::cellar::views::books::ledger::{Division, Period, Subject};
use barrelwalk::cellar::views::topping::due::DueBecause;
use barrelwalk::cellar::views::topping::evaporation::Observer;
use barrelwalk::reckon::due::Due;
use barrelwalk::reckon::headspace::Basis;
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, Told, moved, topped};

fn kept_since(part: &Value) -> Value {
    let mut fact = json!({"kind": "kept_since", "what": "toppings"});
    fact.as_object_mut().unwrap().extend(part.as_object().unwrap().clone());
    fact
}

/// `B1` and `B2` came into the book full; what was done to them before was not written down.
fn taken_in() -> Cellar {
    Cellar::furnished().given(kept_since(&json!({"lot": "R"})))
}

fn room(cellar: &Cellar) -> RoomId {
    cellar.state.rooms.find("long").unwrap()
}

fn after(cellar: &Cellar, days: i64) -> Moment {
    cellar.now().at_instant(cellar.now().instant() + days * 86_400_000_000)
}

fn missing(cellar: &Cellar, vessel: &str) -> (f64, f64, Basis) {
    let estimate = cellar.state.headspace(cellar.vessel(vessel), cellar.now());
    (estimate.missing.as_litres(), estimate.deviation.as_litres(), estimate.basis)
}

#[test]
fn the_first_topping_teaches_nothing() {
    let cellar = taken_in().days(5);
    let believed = (*cellar.state.rate_of(Some(room(&cellar))), cellar.vessel("B1").thirst.factor());
    let cellar = cellar.given(topped("B1", "T", 6 * LITRE));
    let now = (*cellar.state.rate_of(Some(room(&cellar))), cellar.vessel("B1").thirst.factor());
    assert_eq!(believed, now);
    assert_eq!((cellar.vessel("B1").last_rate, cellar.vessel("B1").thirst.findings()), (None, 0));
    assert_eq!(cellar.state.rooms.get(room(&cellar)).barrel_minutes, 0);
    assert!(cellar.state.leak(cellar.vessel("B1")).is_none());
    // From the first topping on all is known: the second one teaches.
    let cellar = cellar.days(21).given(topped("B1", "T", LITRE));
    assert_ne!(now.0, *cellar.state.rate_of(Some(room(&cellar))));
    assert_eq!(cellar.vessel("B1").thirst.findings(), 1);
    assert!(cellar.vessel("B1").last_rate.is_some());
}

#[test]
fn what_a_filling_teaches_is_taught_where_all_is_written_down() {
    let cellar = Cellar::furnished().days(5).given(topped("B1", "T", 6 * LITRE));
    assert_eq!(cellar.vessel("B1").thirst.findings(), 1);
    assert!(cellar.state.rooms.get(room(&cellar)).barrel_minutes > 0);
}

#[test]
fn what_was_missing_then_is_booked_by_itself() {
    let cellar = taken_in().days(5);
    let cellar = cellar.given(topped("B1", "T", 2 * LITRE)).holds("B1", 225 * LITRE);
    let cellar = cellar.booked("B1", Entry::Unrecorded, 2 * LITRE).booked("B1", Entry::Evaporation, 0);
    let cellar = cellar.days(21).given(topped("B1", "T", LITRE));
    cellar.booked("B1", Entry::Unrecorded, 2 * LITRE).booked("B1", Entry::Evaporation, LITRE);
}

#[test]
fn it_is_no_loss_of_the_period_against_what_rules_leave() {
    let opening = taken_in();
    let closing = opening.clone().days(21).given(topped("B1", "T", 4 * LITRE));
    let (from, to) = (opening.now(), closing.now());
    let period = Period::new((from, opening.state), Vec::new(), (to, closing.state), to);
    let losses = period.losses(Division::Whole)[&Subject::Whole];
    assert_eq!((losses.lost, losses.evaporated, losses.wood.gone), (Volume::ZERO, Volume::ZERO, Volume::ZERO));
    assert_eq!(losses.unrecorded, Volume::from_litres(4));
    assert!(losses.unrecorded_words().unwrap().starts_with("Besides, 4.0 L were missing at the first topping"));
    assert!(period.rows(Division::Whole)[0].balances());
}

#[test]
fn the_months_do_not_have_it() {
    let cellar = taken_in();
    let mut observer = Observer::new(Some(Label::new("B1").unwrap()));
    observer.state = cellar.state.clone();
    let device = Device::new("observer").unwrap();
    for (n, days, litres) in [(1, 10, 4), (2, 30, 1)] {
        let stamp = Stamp::new(FactId { device: device.clone(), n }, after(&cellar, days));
        observer.fold(&stamp, &topped("B1", "T", litres * LITRE).what());
    }
    let evaporated = observer.seen(after(&cellar, 40));
    let months = evaporated.of_room(&Label::new("long").unwrap());
    let (litres, days) = months.iter().fold((0.0, 0.0), |sum, (_, it)| (sum.0 + it.litres, sum.1 + it.barrel_days));
    assert!((litres - 1.0_f64).abs() < 1e-6 && (days - 20.0_f64).abs() < 1e-6, "{months:?}");
    // No line leads from a filling that was none to what was found.
    assert!(evaporated.levels[0].begins, "{:?}", evaporated.levels);
}

#[test]
fn nobody_knows_for_how_many_days_it_was_not_topped() {
    let cellar = taken_in();
    let barrel = cellar.vessel("B1");
    assert_eq!(cellar.state.days_since_full(barrel, after(&cellar, 9)), None);
    assert_eq!(cellar.state.due_because(barrel), DueBecause::Unrecorded);
    assert_eq!(cellar.state.due_on(barrel), Some(cellar.now().date()));
    let due = |days| cellar.state.due(barrel, after(&cellar, days));
    // It is to be looked at; after an interval and its grace it is surely over.
    assert_eq!([0, 9, 23, 24].map(due), [Some(Due::Due), Some(Due::Due), Some(Due::Due), Some(Due::Over)]);
    let topped = cellar.clone().given(topped("B1", "T", LITRE));
    assert_eq!(topped.state.days_since_full(topped.vessel("B1"), topped.now()), Some(0));
    assert_eq!(topped.state.due(topped.vessel("B1"), topped.now()), Some(Due::Fine));
    // New wood was not filled on the day on which it came into the book.
    assert_eq!(topped.state.interval_days(topped.vessel("B1")), 21);
}

#[test]
fn the_first_round_asks_for_what_is_right_within_its_band() {
    let cellar = taken_in();
    let (litres, deviation, basis) = missing(&cellar, "B1");
    assert_eq!(basis, Basis::Unrecorded);
    assert!(litres > 0.2 && deviation >= 0.5, "{litres} ± {deviation}");
    // Topped just now, or twice an interval ago in a room that draws as the published rates have it: both lie within.
    assert!(litres - 1.645 * deviation <= 0.0 && litres + 1.645 * deviation >= 2.0 * litres, "{litres} ± {deviation}");
    // Where one lacks more than is expected they all do: what to carry is not spared by their number.
    let plan = cellar.state.plan_round(room(&cellar), cellar.now());
    let deviations: Volume = plan.stops.iter().map(|stop| stop.deviation).sum();
    assert!(plan.stops.len() == 2 && plan.stops.iter().all(|stop| stop.unrecorded));
    assert!(plan.carry.as_litres() >= plan.expected.as_litres() + 1.6 * deviations.as_litres(), "{plan:?}");
    assert!(plan.odd.is_empty());
    assert!(plan.unrecorded_words().unwrap().starts_with("It is not known when they were last topped"));
}

#[test]
fn in_its_round_it_takes_not_more_than_the_others() {
    let begun = json!({"kind": "round_begun", "round": "r", "room": "long", "from": "T"});
    let cellar = Cellar::furnished().days(1).given(kept_since(&json!({"vessel": "B1"}))).given(begun);
    let cellar = cellar.given(topped("B2", "T", LITRE)).given(topped("B1", "T", 5 * LITRE));
    assert_eq!(cellar.thirsty("r"), []);
    let ended = cellar.given(json!({"kind": "round_ended", "round": "r", "room": "long"}));
    assert_eq!(ended.thirsty("r"), []);
}

#[test]
fn a_part_of_the_cellar_is_meant() {
    let kept = |cellar: &Cellar| ["B1", "B2"].map(|barrel| cellar.vessel(barrel).kept_since.is_some());
    assert_eq!(kept(&taken_in()), [true, true]);
    assert_eq!(kept(&Cellar::furnished().given(kept_since(&json!({"vessel": "B2"})))), [false, true]);
    assert_eq!(kept(&Cellar::furnished().given(kept_since(&json!({"room": "long"})))), [true, true]);
    assert_eq!(kept(&Cellar::furnished().given(kept_since(&json!({})))), [true, true]);
    assert_eq!(kept(&Cellar::furnished().given(kept_since(&json!({"room": "long", "lot": "S"})))), [false, false]);
    Cellar::furnished().when(kept_since(&json!({"lot": "Z"}))).then_refused("Z");
}

#[test]
fn what_was_topped_then_or_filled_afterwards_is_known() {
    let cellar = Cellar::furnished().days(30).given(topped("B1", "T", LITRE));
    // A fact is a minute after the one before: this one is of the moment of the topping.
    let cellar = cellar.seconds(-60).given(kept_since(&json!({}))).days(1).given(moved("T", "E", 225 * LITRE));
    let kept = ["B1", "B2", "E"].map(|barrel| cellar.vessel(barrel).kept_since.is_some());
    assert_eq!(kept, [false, true, false]);
    assert_eq!(["B1", "B2"].map(|barrel| cellar.vessel(barrel).filled_before), [false, false]);
    assert_eq!(cellar.state.days_since_full(cellar.vessel("E"), after(&cellar, 3)), Some(3));
}

#[test]
fn a_gauging_on_the_day_of_the_taking_in_finds_no_loss_of_handling() {
    let cellar = taken_in().given(json!({"kind": "gauged", "vessel": "B1", "volume_ul": 223 * LITRE}));
    let cellar = cellar.booked("B1", Entry::Unrecorded, 2 * LITRE).booked("B1", Entry::Handling, 0);
    assert_eq!(cellar.vessel("B1").kept_since, None);
    let (litres, ..) = missing(&cellar, "B1");
    assert!((litres - 2.0).abs() < 0.1, "{litres}");
}

/// Where the day of the last topping is known, the barrel is as if that topping were written down: its first topping here teaches.
#[test]
fn a_day_of_the_last_topping_that_is_known_counts() {
    let cellar = taken_in();
    let day = after(&cellar, -5).date().to_string();
    let cellar = cellar.given(kept_since(&json!({"vessel": "B1", "topped_on": day})));
    assert!(cellar.vessel("B1").kept_since.is_none() && cellar.vessel("B2").kept_since.is_some());
    assert_eq!(cellar.state.days_since_full(cellar.vessel("B1"), cellar.now()), Some(5));
    let (lacks, deviation, basis) = missing(&cellar, "B1");
    let (_, wide, unknown) = missing(&cellar, "B2");
    assert!(lacks > 0.05 && deviation < wide, "{lacks} ±{deviation}, {wide}");
    assert_eq!((basis == Basis::Unrecorded, unknown), (false, Basis::Unrecorded));
    let cellar = cellar.days(2).given(topped("B1", "T", LITRE));
    assert_eq!(cellar.vessel("B1").thirst.findings(), 1);
    // A day that has not come is no evidence.
    let ahead = after(&cellar, 3).date().to_string();
    let cellar = cellar.days(1).given(kept_since(&json!({"vessel": "B1", "topped_on": ahead})));
    assert!(cellar.vessel("B1").kept_since.is_some());
}
