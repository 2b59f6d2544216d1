//! Evaporation by month, and a barrel's saw-tooth.
#![allow(clippy::unwrap_used)] // in what the test reads

use barrelwalk::cellar::core::fact::{Device, FactId, Stamp};
use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::cellar::views::topping::evaporation::{Evaporated, Observer};
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, Told, barrel_of, moment, moved, placed, topped, topped_in_part};

/// The furnished cellar at a moment with a barrel `N` that was filled then, and a second room `dry`, after some dated facts.
fn seen(filled: &str, facts: &[(&str, Value)], until: &str) -> Evaporated {
    let device = Device::new("observer").unwrap();
    let mut observer = Observer::new(Some(Label::new("N").unwrap()));
    observer.state = Cellar::furnished().state;
    let dry =
        json!({"kind": "room_laid_out", "room": "dry", "rows": [{"row": "D", "stacks": 1, "tiers": 1, "sides": 2}]});
    let first = [dry, barrel_of("N", 225), placed("N", "long/B-01-1-a"), moved("T", "N", 225 * LITRE)];
    let all = first.into_iter().map(|fact| (filled, fact)).chain(facts.iter().cloned());
    for (n, (at, fact)) in (1_u64..).zip(all) {
        let stamp = Stamp::new(FactId { device: device.clone(), n }, moment(at));
        observer.fold(&stamp, &fact.what());
    }
    assert_eq!(observer.state.discrepancies.len(), 0, "{:?}", observer.state.discrepancies);
    observer.seen(moment(until))
}

/// Month, millilitres and barrel-days, to a whole.
fn months(evaporated: &Evaporated, room: &str) -> Vec<(String, i64, i64)> {
    let whole = |value: f64| format!("{value:.0}").parse::<i64>().unwrap();
    let months = evaporated.of_room(&Label::new(room).unwrap()).iter();
    months.map(|(month, f)| (month.to_string(), whole(f.litres * 1_000.0), whole(f.barrel_days))).collect()
}

fn levels(evaporated: &Evaporated) -> Vec<(String, u64, bool)> {
    let day = |at: Moment| at.show_date();
    evaporated.levels.iter().map(|level| (day(level.at), level.missing.as_ul() / 1_000, level.begins)).collect()
}

fn gauged(vessel: &str, litres: u64) -> Value {
    json!({"kind": "gauged", "vessel": vessel, "volume_ul": litres * LITRE})
}

/// 3 L in 60 days are 50 mL a day: October has 20 of the days and 1 L, November 30 and 1.5 L, December 10 and 0.5 L.
#[test]
fn a_topping_is_spread_over_the_days_since_the_one_before() {
    let evaporated = seen(
        "2026-10-12T00:00:00+01:00",
        &[("2026-12-11T00:00:00+01:00", topped("N", "T", 3 * LITRE))],
        "2026-12-12T00:00:00+01:00",
    );
    let expected = [("2026-10", 1_000, 20), ("2026-11", 1_500, 30), ("2026-12", 500, 10)];
    assert_eq!(months(&evaporated, "long"), expected.map(|(month, litres, days)| (month.to_owned(), litres, days)));
    let daily: Vec<f64> = evaporated.rooms[0].months.iter().filter_map(|(_, found)| found.daily()).collect();
    assert!(daily.len() == 3 && daily.iter().all(|daily| (daily - 0.05).abs() < 1e-9), "{daily:?}");
}

/// Months are those of the wall: at one in the morning of the first of November, ahead of UTC, October is over.
#[test]
fn a_month_ends_at_midnight_on_the_wall() {
    let evaporated = seen(
        "2026-10-22T00:00:00+02:00",
        &[("2026-11-01T00:00:00+02:00", topped("N", "T", LITRE))],
        "2026-12-12T00:00:00+01:00",
    );
    assert_eq!(months(&evaporated, "long"), [("2026-10".to_owned(), 1_000, 10)]);
}

/// What two toppings on two days took is one finding; nothing is lost and no rate of hours is made of it.
#[test]
fn findings_that_lie_close_together_are_one() {
    let evaporated = seen(
        "2026-10-01T00:00:00+01:00",
        &[
            ("2026-10-01T00:00:01+01:00", topped("N", "T", LITRE / 2)),
            ("2026-10-11T00:00:00+01:00", topped("N", "T", LITRE / 2)),
        ],
        "2026-12-12T00:00:00+01:00",
    );
    assert_eq!(months(&evaporated, "long"), [("2026-10".to_owned(), 1_000, 10)]);
}

#[test]
fn each_room_gets_the_days_that_the_barrel_lay_there() {
    let evaporated = seen(
        "2026-10-01T00:00:00+01:00",
        &[
            ("2026-10-07T00:00:00+01:00", placed("N", "dry/D-01-1-a")),
            ("2026-10-11T00:00:00+01:00", topped("N", "T", LITRE)),
        ],
        "2026-12-12T00:00:00+01:00",
    );
    assert_eq!(months(&evaporated, "long"), [("2026-10".to_owned(), 600, 6)]);
    assert_eq!(months(&evaporated, "dry"), [("2026-10".to_owned(), 400, 4)]);
}

#[test]
fn what_was_gauged_too_low_comes_back() {
    let evaporated = seen(
        "2026-10-01T00:00:00+01:00",
        &[("2026-10-11T00:00:00+01:00", gauged("N", 220)), ("2026-10-21T00:00:00+01:00", topped("N", "T", LITRE))],
        "2026-12-12T00:00:00+01:00",
    );
    assert_eq!(months(&evaporated, "long"), [("2026-10".to_owned(), 1_000, 20)]);
}

#[test]
fn ten_years_in_one_interval_are_a_hundred_and_twenty_months() {
    let evaporated = seen(
        "2026-10-01T00:00:00+00:00",
        &[("2036-10-01T00:00:00+00:00", topped("N", "T", 40 * LITRE))],
        "2036-12-12T00:00:00+01:00",
    );
    let months = months(&evaporated, "long");
    assert_eq!(months.len(), 120);
    assert!(months.iter().all(|(_, litres, _)| (300..=350).contains(litres)), "{months:?}");
}

/// Filled, topped in part, topped, gauged, emptied, and filled again half.
#[test]
fn a_barrel_has_a_saw_tooth() {
    let evaporated = seen(
        "2026-10-01T00:00:00+01:00",
        &[
            ("2026-10-11T00:00:00+01:00", topped_in_part("N", "T", LITRE)),
            ("2026-10-21T00:00:00+01:00", topped("N", "T", 2 * LITRE)),
            ("2026-11-01T00:00:00+01:00", gauged("N", 224)),
            ("2026-11-02T00:00:00+01:00", moved("N", "T", 224 * LITRE)),
            ("2026-11-03T00:00:00+01:00", moved("T", "N", 200 * LITRE)),
        ],
        "2026-12-12T00:00:00+01:00",
    );
    let expected = [
        ("1 Oct 2026", 0, true),
        ("11 Oct 2026", 1_000, false),
        ("11 Oct 2026", 0, false),
        ("21 Oct 2026", 2_000, false),
        ("21 Oct 2026", 0, false),
        ("1 Nov 2026", 1_000, false),
        ("3 Nov 2026", 25_000, true),
    ];
    assert_eq!(levels(&evaporated), expected.map(|(day, missing, begins)| (day.to_owned(), missing, begins)));
}

#[test]
fn a_saw_tooth_goes_back_two_years_and_to_the_level_before() {
    let evaporated = seen(
        "2026-10-01T00:00:00+00:00",
        &[
            ("2026-11-01T00:00:00+00:00", topped("N", "T", LITRE)),
            ("2029-10-01T00:00:00+00:00", topped("N", "T", 30 * LITRE)),
        ],
        "2029-12-01T00:00:00+00:00",
    );
    assert_eq!(levels(&evaporated).first(), Some(&("1 Nov 2026".to_owned(), 0, false)));
}

/// A year in a room of stated air that draws three times what that explains, and one that draws what it explains.
#[test]
fn only_a_room_that_draws_far_more_than_its_climate_explains_is_said() {
    for (litres_a_month, said) in [(2.4, true), (0.6, false)] {
        let mut cellar = Cellar::furnished().given(json!({
            "kind": "room_laid_out", "room": "long", "temperature_c": 15.0, "humidity_pct": 75.0, "rows": [
                {"row": "A", "stacks": 2, "tiers": 2, "sides": 2}, {"row": "B", "stacks": 1, "tiers": 1, "sides": 4},
            ],
        }));
        let room = cellar.state.rooms.find("long").unwrap();
        assert_eq!(cellar.state.room_level(room, cellar.now()), None);
        for _ in 0..12 {
            cellar = cellar.days(30);
            for barrel in ["B1", "B2"] {
                let volume = barrelwalk::units::Volume::nearest_to_litres(litres_a_month).as_ul();
                cellar = cellar.given(topped(barrel, "T", volume));
            }
        }
        let level = cellar.state.room_level(room, cellar.now()).unwrap();
        assert_eq!(level.beyond.is_some(), said, "{level:?}");
    }
}
