//! Things that are called otherwise from some moment on.

use serde_json::{Value, json};

use crate::support::given::Cellar;

fn renamed(what: &str, from: &str, to: &str) -> Value {
    json!({"kind": "renamed", "what": what, "from": from, "to": to})
}

fn noted(vessel: &str, score: f64) -> Value {
    json!({"kind": "tasted", "vessel": vessel, "score": score})
}

#[test]
fn every_label_that_a_vessel_had_finds_it() {
    let cellar = Cellar::furnished().given(renamed("vessel", "B1", "0901")).given(renamed("vessel", "B1", "0902"));
    for label in ["B1", "0901", "0902"] {
        assert_eq!(cellar.vessel(label).label.as_str(), "0902", "{label}");
    }
    let cellar = cellar.given(noted("0901", 14.0)).given(json!({"kind": "held", "vessel": "B1", "why": "ropy"}));
    let vessel = cellar.vessel("0902");
    assert!(vessel.held.is_some() && vessel.taste.is_some());
    assert_eq!(cellar.discrepancies(), []);
}

#[test]
fn a_label_that_a_thing_had_is_no_other_things() {
    let cellar = Cellar::furnished().given(renamed("vessel", "B1", "0901"));
    let barrel = json!({"kind": "vessel_registered", "vessel": "B1", "type": "barrel", "capacity_ul": 225_000_000});
    cellar.clone().when(barrel).then_has_no_effect("A vessel is already called 'B1'");
    cellar.clone().when(renamed("vessel", "B2", "B1")).then_has_no_effect("A vessel is already called 'B1'");
    cellar.clone().when(renamed("vessel", "B2", "0901")).then_has_no_effect("A vessel is already called '0901'");
    cellar.clone().when(renamed("vessel", "none", "x")).then_has_no_effect("No vessel is called 'none'");
    // Its own label it may have again.
    let back = cellar.given(renamed("vessel", "0901", "B1"));
    assert_eq!(back.vessel("0901").label.as_str(), "B1");
}

#[test]
fn lots_origins_and_rooms_go_by_both_labels() {
    let cellar = Cellar::furnished();
    let room = cellar.state.rooms.iter().next().map(|(_, room)| room.label.to_string()).unwrap();
    let cellar = cellar
        .given(renamed("lot", "R", "Upper"))
        .given(renamed("origin", "block-1", "block one"))
        .given(renamed("room", &room, "vault"));
    assert_eq!(cellar.state.lots.by_label("R").map(|lot| lot.label.as_str()), Some("Upper"));
    assert_eq!(cellar.state.origins.by_label("block-1").map(|origin| origin.0.origin.as_str()), Some("block one"));
    assert_eq!(cellar.state.rooms.by_label(&room).map(|it| it.label.as_str()), Some("vault"));
    let staged = json!({"kind": "stage_set", "lot": "R", "stage": "rolled"});
    assert!(cellar.given(staged).state.lots.by_label("Upper").unwrap().stage.is_some());
}

#[test]
fn what_lies_in_a_room_that_is_renamed_lies_there() {
    let cellar = Cellar::furnished();
    let (vessel, place) = cellar
        .state
        .vessels
        .iter()
        .find_map(|(_, vessel)| Some((vessel.label.to_string(), cellar.state.place_of(vessel)?)))
        .unwrap();
    let room = place.rack.room.to_string();
    let cellar = cellar.given(renamed("room", &room, "vault"));
    assert_eq!(cellar.place(&vessel), Some(format!("vault/{}", place.within_room())));
    // By its old name it is laid out anew, and keeps its new one.
    let rows: Vec<Value> = cellar.state.rooms.by_label("vault").unwrap().rows.iter().map(|row| json!(row)).collect();
    let cellar = cellar.given(json!({"kind": "room_laid_out", "room": room, "rows": rows}));
    assert_eq!(cellar.place(&vessel), Some(format!("vault/{}", place.within_room())));
}

#[test]
fn bottles_lie_in_the_bins_of_a_store_by_either_name() {
    let store = json!({"kind": "store_laid_out", "store": "cave", "rows": [{"row": "A", "bins": 9}]});
    let laid =
        |place: &str, bottles: u32| json!({"kind": "laid_away", "run": "r1", "bottles": bottles, "place": place});
    let bottled =
        json!({"kind": "bottled", "vessel": "T", "run": "r1", "bottles": 90, "bottle_ul": 750_000, "lot_code": "L1"});
    let cellar = Cellar::furnished_to_bottle()
        .given(store)
        .given(bottled)
        .given(laid("cave/A-01", 30))
        .given(renamed("store", "cave", "old cave"))
        .given(laid("cave/A-02", 20))
        .given(laid("old cave/A-02", 10))
        .given(json!({"kind": "bottles_out", "run": "r1", "bottles": 6, "why": "sold", "from": "cave/A-01"}));
    let run = cellar.state.runs.by_label("r1").unwrap();
    let mut lie: Vec<(String, u64)> = run.laid().map(|(place, stock)| (place.to_string(), stock.there)).collect();
    lie.sort();
    assert_eq!(lie, [("old cave/A-01".to_owned(), 24), ("old cave/A-02".to_owned(), 30)]);
    cellar.when(laid("cave/A-10", 1)).then_a_slip("cave/A-10");
}

#[test]
fn what_is_called_so_already_is_not_renamed() {
    Cellar::furnished().when(renamed("vessel", "B1", "B1")).then_a_slip("is how it is called already");
    Cellar::furnished().when(renamed("store", "x", "y")).then_has_no_effect("No store");
}
