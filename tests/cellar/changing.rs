//! What is known of a vessel is put right.

use barrelwalk::cellar::core::state::VesselId;
use barrelwalk::units::Volume;
use serde_json::{Map, Value, json};

use crate::support::given::{Cellar, LITRE, Told};

fn changed(vessel: &str, fields: &Value) -> Value {
    let mut body: Map<String, Value> = fields.as_object().cloned().unwrap_or_default();
    body.insert("kind".to_owned(), "vessel_changed".into());
    body.insert("vessel".to_owned(), vessel.into());
    Value::Object(body)
}

fn labels(cellar: &Cellar, ids: Vec<VesselId>) -> Vec<String> {
    ids.into_iter().map(|id| cellar.state.vessels.get(id).label.to_string()).collect()
}

/// A barrel that was broken for topping stands partly empty: declared, it tops the others and is never due.
#[test]
fn a_barrel_is_declared_a_topping_vessel() {
    let cellar = Cellar::furnished().days(60);
    let room = cellar.state.rooms.find("long").expect("a room");
    let asked = cellar.state.questions(&[changed("B1", &json!({"topped": false})).what()], cellar.now());
    assert_eq!(asked.len(), 1);
    assert!(cellar.state.due(cellar.vessel("B1"), cellar.now()).is_some());
    let cellar = cellar.given(changed("B1", &json!({"topped": false})));
    assert_eq!(cellar.state.due(cellar.vessel("B1"), cellar.now()), None);
    assert_eq!(labels(&cellar, cellar.state.sources()), ["T", "U", "V", "B1"]);
    let plan = cellar.state.plan_round(room, cellar.now());
    assert_eq!(labels(&cellar, plan.stops.iter().map(|stop| stop.vessel).collect()), ["B2"]);
    // Taken back to the rule of its type, it is topped again.
    let cellar = cellar.given(changed("B1", &json!({"topped": null})));
    assert_eq!(labels(&cellar, cellar.state.sources()), ["T", "U", "V"]);
}

#[test]
fn what_is_said_is_so_what_is_null_is_not_known_and_the_rest_stays() {
    let known = json!({"kind": "vessel_registered", "vessel": "N", "type": "barrel", "capacity_ul": 225 * LITRE,
        "forest": "Vosges", "cooper": "Pale Hoop", "toast": "light", "fills": 2});
    let cellar = Cellar::furnished().given(known);
    let fields =
        json!({"forest": null, "toast": "medium", "heads_toasted": true, "fills": 3, "capacity_ul": 228 * LITRE});
    let cellar = cellar.given(changed("N", &fields));
    let vessel = cellar.vessel("N");
    let text = |label: &Option<barrelwalk::cellar::core::label::Label>| label.as_ref().map(ToString::to_string);
    assert_eq!(text(&vessel.wood.forest), None);
    assert_eq!(text(&vessel.wood.cooper).as_deref(), Some("Pale Hoop"));
    assert_eq!(text(&vessel.wood.toast).as_deref(), Some("medium"));
    assert_eq!((vessel.wood.heads_toasted, vessel.fills), (Some(true), 3));
    assert_eq!(vessel.capacity, Volume::from_litres(228));
    // What is written out keeps what is not known.
    let body = changed("N", &json!({"forest": null})).what().body().expect("a body");
    assert_eq!(Value::Object(body), json!({"vessel": "N", "forest": null}));
}

/// The fills here count on: a barrel filled once here that had been filled three times elsewhere is in its fourth.
#[test]
fn the_fills_before_are_corrected_and_those_here_count_on() {
    let cellar = Cellar::furnished();
    assert_eq!(cellar.vessel("B1").fills, 1);
    let cellar = cellar.given(changed("B1", &json!({"fills": 3})));
    assert_eq!(cellar.vessel("B1").fills, 4);
    let cellar = cellar.given(changed("B1", &json!({"fills": null})));
    assert_eq!(cellar.vessel("B1").fills, 1);
}

#[test]
fn what_cannot_be_is_refused() {
    let cellar = Cellar::furnished().when(changed("none", &json!({}))).then_has_no_effect("No vessel is called 'none'");
    let cellar = cellar.when(changed("B1", &json!({"capacity_ul": null}))).then_has_no_effect("cannot be unknown");
    let cellar = cellar.when(changed("B1", &json!({"capacity_ul": 0}))).then_has_no_effect("");
    cellar.when(changed("B1", &json!({"capacity_ul": 200 * LITRE}))).then_counted_in_doubt("would hold 225");
}
