//! Which vessels are to be topped.

use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::reckon::due::Due;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, lost, moment, tank_of, topped};

fn due(cellar: &Cellar, vessel: &str, at: Moment) -> Option<Due> {
    cellar.state.due(cellar.vessel(vessel), at)
}

fn after(cellar: &Cellar, days: i64) -> Moment {
    cellar.now().at_instant(cellar.now().instant() + days * 86_400_000_000)
}

fn judged(cellar: &Cellar, days: [i64; 4]) -> [Option<Due>; 4] {
    days.map(|days| due(cellar, "B1", after(cellar, days)))
}

const FINE_TO_OVER: [Option<Due>; 4] = [Some(Due::Fine), Some(Due::Due), Some(Due::Due), Some(Due::Over)];

#[test]
fn the_house_walks_every_three_weeks() {
    let cellar = Cellar::furnished().days(21).given(topped("B1", "T", LITRE));
    assert_eq!(judged(&cellar, [20, 21, 23, 24]), FINE_TO_OVER);
}

#[test]
fn the_lots_interval_goes_before_the_stages_before_the_rooms_before_the_houses() {
    let room = json!({
        "kind": "room_laid_out", "room": "long", "round_days": 14, "rows": [
            {"row": "A", "stacks": 2, "tiers": 2, "sides": 2}, {"row": "B", "stacks": 1, "tiers": 1, "sides": 4}],
    });
    let stage = |stage: &str| json!({"kind": "stage_set", "lot": "R", "stage": stage});
    let mut own: Value = stage("soaking");
    own["round_days"] = 10.into();
    let interval = |cellar: &Cellar| cellar.state.round_days(cellar.vessel("B1"));
    let cellar = Cellar::furnished();
    assert_eq!(interval(&cellar), 21);
    let cellar = cellar.given(room);
    assert_eq!(interval(&cellar), 14);
    assert_eq!(interval(&cellar.clone().given(stage("bung_up"))), 14);
    assert_eq!(interval(&cellar.clone().given(stage("soaking"))), 7);
    assert_eq!(interval(&cellar.clone().given(stage("rolled"))), 100);
    let cellar = cellar.given(own);
    assert_eq!(interval(&cellar), 10);
    assert_eq!(interval(&cellar.given(stage("malolactic"))), 14, "a stage without an interval takes the lot's away");
}

#[test]
fn too_much_headspace_makes_it_due_at_once() {
    let room = json!({
        "kind": "room_laid_out", "room": "long", "tolerated_ul": 3 * LITRE, "rows": [
            {"row": "A", "stacks": 2, "tiers": 2, "sides": 2}, {"row": "B", "stacks": 1, "tiers": 1, "sides": 4}],
    });
    let cellar = Cellar::furnished().given(room).given(topped("B1", "T", LITRE)).given(lost("B1", 2_900_000));
    assert_eq!(due(&cellar, "B1", cellar.now()), Some(Due::Fine));
    let cellar = cellar.given(lost("B1", 100_000));
    assert_eq!(due(&cellar, "B1", cellar.now()), Some(Due::Due));
}

#[test]
fn what_is_empty_or_not_kept_full_is_never_due() {
    let cellar = Cellar::furnished();
    let late = after(&cellar, 1_000);
    assert_eq!((due(&cellar, "E", late), due(&cellar, "T", late)), (None, None));
    let mut kept = tank_of("X", 100);
    kept["topped"] = true.into();
    let cellar = cellar.given(kept).given(crate::support::given::moved("T", "X", 100 * LITRE));
    assert_eq!(due(&cellar, "X", late), Some(Due::Over));
}

#[test]
fn a_barrel_never_topped_counts_from_its_filling() {
    let cellar = Cellar::furnished();
    assert_eq!(cellar.vessel("B1").last_topped, None);
    assert_eq!(cellar.state.days_since_full(cellar.vessel("B1"), after(&cellar, 5)), Some(5));
    assert_eq!(cellar.state.days_since_full(cellar.vessel("E"), after(&cellar, 5)), None);
}

/// A day is the date on the wall where and when the barrel was topped, and where and when one looks.
#[test]
fn days_are_counted_on_the_wall_across_offsets() {
    let days = |topped_at: &str, now: &str| {
        let cellar = Cellar::furnished().at(topped_at).given(topped("B1", "T", LITRE));
        cellar.state.days_since_full(cellar.vessel("B1"), moment(now))
    };
    // Half past eleven at night and half past midnight are two days, an hour apart.
    assert_eq!(days("2026-11-01T23:30:00+01:00", "2026-11-02T00:30:00+01:00"), Some(1));
    assert_eq!(days("2026-11-01T00:10:00+01:00", "2026-11-01T23:50:00+01:00"), Some(0));
    // The clock was put back an hour between: still ten days by the calendar.
    assert_eq!(days("2026-10-20T23:30:00+02:00", "2026-10-30T23:00:00+01:00"), Some(10));
    assert_eq!(days("2026-10-20T00:05:00+02:00", "2026-10-30T23:55:00+01:00"), Some(10));
    // Topped in the east at noon, looked at from the far west three hours later, where it is still yesterday.
    assert_eq!(days("2026-11-02T12:00:00+13:00", "2026-11-01T17:00:00-09:00"), Some(0));
    assert_eq!(days("2026-11-01T17:00:00-09:00", "2026-11-23T16:00:00+13:00"), Some(22));
}

/// The rooms of these tests with an interval and a tolerated headspace of their own.
fn room(round_days: u32, tolerated_ul: Option<u64>) -> Value {
    json!({"kind": "room_laid_out", "room": "long", "round_days": round_days, "tolerated_ul": tolerated_ul, "rows": [
        {"row": "A", "stacks": 2, "tiers": 2, "sides": 2}, {"row": "B", "stacks": 1, "tiers": 1, "sides": 4}]})
}

fn due_on(cellar: &Cellar, vessel: &str) -> Option<String> {
    cellar.state.due_on(cellar.vessel(vessel)).map(|date| date.to_string())
}

/// Filled on the first of September: new wood is topped on the 8th, the 15th, the 22nd, and from then on as the house
/// walks; wood that has held wine only as the house walks.
#[test]
fn new_wood_is_topped_weekly_for_three_weeks() {
    let mut used = crate::support::given::barrel_of("old", 225);
    used["fills"] = 2.into();
    let mut cellar = Cellar::furnished().given(used).given(crate::support::given::moved("T", "old", 225 * LITRE));
    assert_eq!(due_on(&cellar, "old").as_deref(), Some("2026-09-22"));
    for (done, next) in [("2026-09-08", "2026-09-15"), ("2026-09-15", "2026-09-22"), ("2026-09-22", "2026-10-13")] {
        assert_eq!(due_on(&cellar, "B1").as_deref(), Some(done));
        cellar = cellar.at(&format!("{done}T09:00:00+02:00")).given(topped("B1", "T", LITRE));
        assert_eq!(due_on(&cellar, "B1").as_deref(), Some(next));
    }
    // What is due stays due, though the first weeks pass meanwhile.
    let cellar = Cellar::furnished();
    assert_eq!(judged(&cellar, [6, 7, 8, 30]), [Some(Due::Fine), Some(Due::Due), Some(Due::Over), Some(Due::Over)]);
}

#[test]
fn what_the_lot_asks_for_goes_before_the_first_weeks() {
    let interval = |cellar: &Cellar| cellar.state.interval_days(cellar.vessel("B1"));
    let cellar = Cellar::furnished();
    assert_eq!(interval(&cellar), 7);
    let rolled = json!({"kind": "stage_set", "lot": "R", "stage": "rolled"});
    assert_eq!(interval(&cellar.clone().given(rolled)), 100);
    let own = json!({"kind": "stage_set", "lot": "R", "stage": "bung_up", "round_days": 12});
    assert_eq!(interval(&cellar.clone().given(own)), 12);
    assert_eq!(interval(&cellar.given(room(5, None))), 5, "a room that is walked more often stays so");
}

/// Wood of three fills at the published 20 mL a day: what a day brings is what the estimate says of its last moment.
#[test]
fn a_barrel_that_will_lack_too_much_is_due_on_the_day_it_does() {
    let mut used = crate::support::given::barrel_of("old", 225);
    used["fills"] = 3.into();
    let cellar = Cellar::furnished()
        .given(room(90, Some(LITRE)))
        .given(used)
        .given(crate::support::given::placed("old", "long/A-02-1-a"))
        .given(crate::support::given::moved("T", "old", 225 * LITRE));
    let lacks = |text: &str| cellar.state.headspace(cellar.vessel("old"), moment(text)).missing;
    let date = due_on(&cellar, "old").unwrap_or_default();
    // 0.4 L soak in and 20 mL a day: a litre is missing after some thirty days, long before ninety.
    assert!(("2026-09-28".."2026-10-06").contains(&date.as_str()), "{date}");
    let day = moment(&format!("{date}T23:59:59+02:00"));
    let evening_before = day.at_instant(day.instant() - 86_400_000_000);
    assert!(lacks(&day.to_string()) >= barrelwalk::units::Volume::from_litres(1));
    assert!(lacks(&evening_before.to_string()) < barrelwalk::units::Volume::from_litres(1));
    assert_eq!(due(&cellar, "old", day), Some(Due::Due));
    assert_eq!(due(&cellar, "old", evening_before), Some(Due::Fine));
    // With more tolerated the interval comes first; what is empty is never due.
    let patient = cellar.clone().given(room(90, Some(20 * LITRE)));
    assert_eq!(due_on(&patient, "old").as_deref(), Some("2026-11-30"));
    assert_eq!((due_on(&cellar, "E"), due_on(&cellar, "T")), (None, None));
}

/// Three litres were spilt where three are tolerated: due on the day of its last topping already.
#[test]
fn what_lacks_too_much_already_is_due_already() {
    let cellar = Cellar::furnished().given(room(21, Some(3 * LITRE))).given(lost("B1", 3 * LITRE));
    assert_eq!(due_on(&cellar, "B1").as_deref(), Some("2026-09-01"));
}
