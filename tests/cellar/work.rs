//! Works: laid out, ticked by the facts that do them, closed.

use barrelwalk::cellar::core::state::Work;
use barrelwalk::cellar::jobs::floor::work::{Tick, WorkProgress};
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved};

fn racking() -> Value {
    json!({
        "kind": "work_set", "work": "rack R", "task": "racking", "to": "U", "lot": "R",
        "stops": [{"vessel": "B1", "volume_ul": 220 * LITRE}, {"vessel": "B2", "volume_ul": 221 * LITRE}],
    })
}

fn racked(barrel: &str, litres: u64) -> Value {
    json!({
        "kind": "wine_moved", "from": barrel, "to": "U", "volume_ul": litres * LITRE, "purpose": "racking",
        "empties": true,
    })
}

fn progress(cellar: &Cellar, work: &str) -> WorkProgress {
    cellar.state.works.by_label(work).map(Work::progress).unwrap_or_default()
}

#[test]
fn a_move_that_fits_ticks_its_barrel_off() {
    let begun = Cellar::furnished().given(racking());
    let litres = Volume::from_litres;
    assert_eq!(progress(&begun, "rack R"), WorkProgress { of: 2, to_come: litres(441), ..WorkProgress::default() });
    let half = begun.given(racked("B2", 219));
    let expected = WorkProgress { done: 1, of: 2, skipped: 0, moved: litres(219), to_come: litres(220) };
    assert_eq!(progress(&half, "rack R"), expected);
    let work = half.state.works.by_label("rack R").unwrap();
    let b1 = half.state.vessels.find("B1");
    assert_eq!(work.next_after(half.state.vessels.find("B2")), b1);
    assert_eq!(work.next_after(None), b1);
}

#[test]
fn other_moves_tick_nothing() {
    let cellar = Cellar::furnished().given(racking()).given(moved("B1", "T", 100 * LITRE)).given(json!({
        "kind": "wine_moved", "from": "B1", "to": "T", "volume_ul": LITRE, "purpose": "racking",
    }));
    assert_eq!(progress(&cellar, "rack R").done, 0);
}

#[test]
fn a_barrel_that_was_skipped_comes_last_and_can_still_be_done() {
    let cellar =
        Cellar::furnished().given(racking()).given(json!({"kind": "skipped", "vessel": "B1", "work": "rack R"}));
    let (b1, b2) = (cellar.state.vessels.find("B1"), cellar.state.vessels.find("B2"));
    let work = cellar.state.works.by_label("rack R").unwrap();
    assert_eq!((work.progress().skipped, work.next_after(None)), (1, b2));
    let later = cellar.given(racked("B2", 221));
    assert_eq!(later.state.works.by_label("rack R").unwrap().next_after(b2), b1);
    let done = later.given(racked("B1", 220));
    assert_eq!(done.state.works.by_label("rack R").unwrap().stops[0].tick, Some(Tick::Done(Volume::from_litres(220))));
}

#[test]
fn additions_cares_and_fills_tick_too() {
    let stops = |vessels: &[&str]| -> Value { vessels.iter().map(|vessel| json!({"vessel": vessel})).collect() };
    let cellar = Cellar::furnished()
        .given(json!({"kind": "work_set", "work": "s", "task": "treating", "material": "so2", "stops": stops(&["B1"])}))
        .given(json!({"kind": "work_set", "work": "c", "task": "caring", "care": "rinsed", "stops": stops(&["E"])}))
        .given(json!({"kind": "work_set", "work": "f", "task": "barrel_down", "from": "U", "stops": stops(&["E"])}))
        .given(json!({"kind": "treated", "vessel": "B1", "material": "bentonite", "amount_ug": 1_000}))
        .given(json!({"kind": "barrel_cared", "vessel": "E", "care": "soaked"}));
    assert_eq!(["s", "c", "f"].map(|work| progress(&cellar, work).done), [0, 0, 0]);
    let done = cellar
        .given(json!({"kind": "treated", "vessel": "B1", "material": "so2", "amount_ug": 1_000}))
        .given(json!({"kind": "barrel_cared", "vessel": "E", "care": "rinsed"}))
        .given(moved("U", "E", 225 * LITRE));
    assert_eq!(["s", "c"].map(|work| progress(&done, work).done), [1, 1]);
}

#[test]
fn a_closed_work_keeps_what_was_not_done() {
    let cellar = Cellar::furnished()
        .given(racking())
        .given(racked("B1", 220))
        .given(json!({"kind": "work_ended", "work": "rack R", "why": "the pump broke"}));
    let work = cellar.state.works.by_label("rack R").unwrap();
    assert_eq!((work.done, work.stops.len(), cellar.state.open_works.len()), (1, 1, 0));
    let fact = json!({"kind": "skipped", "vessel": "B2", "work": "rack R"});
    cellar.when(fact).then_has_no_effect("The work 'rack R' has ended");
}

#[test]
fn what_cannot_be_walked_is_refused() {
    let set =
        |stops: Value| json!({"kind": "work_set", "work": "w", "task": "caring", "care": "rinsed", "stops": stops});
    for (fact, part) in [
        (set(json!([])), "has no barrels"),
        (set(json!([{"vessel": "nobody"}])), "No vessel is called 'nobody'"),
        (json!({"kind": "work_ended", "work": "w"}), "No work is called 'w'"),
        (json!({"kind": "skipped", "vessel": "B1"}), "Name one of the two"),
    ] {
        Cellar::furnished().when(fact).then_has_no_effect(part);
    }
    Cellar::furnished().when(set(json!([{"vessel": "E"}, {"vessel": "E"}]))).then_counted_in_doubt("stands twice");
    Cellar::furnished().given(racking()).when(racking()).then_has_no_effect("already called 'rack R'");
    Cellar::furnished()
        .given(racking())
        .when(json!({"kind": "skipped", "vessel": "E", "work": "rack R"}))
        .then_has_no_effect("E is no barrel of the work");
}
