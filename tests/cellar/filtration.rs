//! Filtration: what it costs, and how turbid the wine was before and after.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::cellar::jobs::finish::filtration::Filtration;
use barrelwalk::cellar::jobs::wood::moving::Purpose;
use barrelwalk::cellar::jobs::wood::moving::tank_to_tank::MoveAsked;
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved, tank_of};

fn turbidity(vessel: &str, ntu: f64) -> Value {
    json!({"kind": "tested", "vessel": vessel, "turbidity_ntu": ntu})
}

fn filtered(from: &str, to: &str, litres: u64, loss: u64) -> Value {
    json!({
        "kind": "wine_moved", "from": from, "to": to, "volume_ul": litres * LITRE, "loss_ul": loss * LITRE,
        "purpose": "filtration", "empties": true, "filter": "pads, 1 µm",
    })
}

fn last(cellar: &Cellar) -> &Filtration {
    cellar.state.filtrations.last().unwrap()
}

fn ntu(filtration: &Filtration) -> (Option<f64>, Option<f64>) {
    (filtration.before.map(|before| before.ntu), filtration.after.map(|after| after.ntu))
}

fn cellar() -> Cellar {
    Cellar::furnished().given(tank_of("X", 1_000)).given(tank_of("Y", 1_000))
}

/// 500 L: 488 L arrive, 8 L stay in the filter, 4 L are left behind: 12 of 500 L.
#[test]
fn a_filtration_is_remembered_with_turbidity_before_and_after() {
    let before = cellar().given(turbidity("V", 45.0)).given(turbidity("V", 30.0));
    let after = before.days(1).given(filtered("V", "X", 488, 8)).booked("V", Entry::Handling, 12 * LITRE);
    let filtration = last(&after);
    assert_eq!((filtration.moved, filtration.lost), (Volume::from_litres(488), Volume::from_litres(12)));
    assert!((filtration.lost_share().unwrap() - 0.024).abs() < 1e-12);
    assert_eq!(filtration.filter.as_ref().unwrap().as_str(), "pads, 1 µm");
    assert_eq!(ntu(filtration), (Some(30.0), None));
    let tested = after.days(1).given(turbidity("X", 0.6)).given(turbidity("X", 0.9));
    assert_eq!(ntu(last(&tested)), (Some(30.0), Some(0.6)), "the first test afterwards");
    let lot = tested.state.lots.find("W").unwrap();
    assert_eq!(tested.state.filtrations_of(lot).count(), 1);
}

#[test]
fn a_test_of_another_wine_says_nothing_of_a_filtration() {
    let filtered = cellar().given(filtered("V", "X", 488, 12));
    let elsewhere = filtered.clone().given(turbidity("T", 3.0));
    assert_eq!(ntu(last(&elsewhere)), (None, None));
    let mut emptied = moved("X", "Y", 488 * LITRE);
    emptied["empties"] = true.into();
    let refilled =
        filtered.days(1).given(emptied).days(1).given(moved("Y", "X", 100 * LITRE)).given(turbidity("X", 2.0));
    assert_eq!(ntu(last(&refilled)), (None, None), "it lies there by another move");
}

#[test]
fn a_filter_without_a_filtration_is_a_slip() {
    let mut fact = moved("V", "X", 100 * LITRE);
    fact["filter"] = "pads".into();
    cellar().when(fact).then_a_slip("not that it was filtered");
}

#[test]
fn a_move_is_told_before_it_is_entered() {
    let cellar = cellar().given(turbidity("V", 30.0));
    let id = |label: &str| cellar.state.vessels.find(label).unwrap();
    let asked = MoveAsked::all(id("V"), id("X"), Purpose::Filtration);
    let plan = |asked: &MoveAsked| cellar.state.plan_move(asked, cellar.now());
    let whole = plan(&MoveAsked { loss: Volume::from_litres(10), ..asked.clone() }).unwrap();
    assert_eq!(
        (whole.moved.volume, whole.lost, whole.stays),
        (Volume::from_litres(490), Volume::from_litres(10), Volume::ZERO)
    );
    assert!(whole.moved.empties && whole.before.is_some_and(|before| (before.ntu - 30.0).abs() < 1e-12));
    let part = MoveAsked { volume: Some(Volume::from_litres(100)), ..asked.clone() };
    let kept = plan(&part).unwrap();
    assert_eq!((kept.lost, kept.stays), (Volume::ZERO, Volume::from_litres(400)));
    let emptied = plan(&MoveAsked { empties: true, ..part }).unwrap();
    assert_eq!((emptied.lost, emptied.stays), (Volume::from_litres(400), Volume::ZERO));
    let more = plan(&MoveAsked { volume: Some(Volume::from_litres(505)), ..asked.clone() }).unwrap();
    assert_eq!(more.stays, Volume::ZERO);
    assert!(more.questions[0].to_string().contains("5.0 L more than the book has in V"));
    for (to, part) in [("V", "cannot be filled from itself"), ("E", "would hold")] {
        let refused = plan(&MoveAsked { to: id(to), ..asked.clone() }).unwrap_err().to_string();
        assert!(refused.contains(part), "{refused}");
    }
}
