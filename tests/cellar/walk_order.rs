//! The order of a walk: that of the plan of what is left, from the cursor round again.

#![allow(clippy::unwrap_used)] // in what the tests of this module share

use barrelwalk::cellar::core::state::{RoomId, RoundId};
use barrelwalk::cellar::views::topping::group::Group;
use barrelwalk::cellar::views::topping::plan::Stop;
use barrelwalk::cellar::views::topping::walk::{Hose, Next};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, barrel_of, moved, placed, tank_of, topped};

/// What lies at a place: wine of a tank, with or without a fault at its last taste.
type Lying = (&'static str, bool);

/// All places of the room in walking order.
const PLACES: [&str; 12] = [
    "A-01-1-a", "A-01-1-b", "A-01-2-a", "A-01-2-b", "A-02-1-a", "A-02-1-b", "A-02-2-a", "A-02-2-b", "B-01-1-a",
    "B-01-1-b", "B-01-1-c", "B-01-1-d",
];

/// A room of barrels `0`, `1` … in walking order, filled from the tanks `T` (red), `V` (white) and `O` (red, organic), and
/// a round under way that is topped from one of these.
fn room(lying: &[Lying], from: &str) -> Cellar {
    let elsewhere = json!({"kind": "room_laid_out", "room": "elsewhere", "rows": [
        {"row": "Z", "stacks": 1, "tiers": 1, "sides": 4},
    ]});
    let away = [("B1", 'a'), ("B2", 'b'), ("E", 'c')];
    let cellar = away.iter().fold(Cellar::furnished().given(elsewhere), |cellar, (label, side)| {
        cellar.given(placed(label, &format!("elsewhere/Z-01-1-{side}")))
    });
    let organic = json!({"kind": "origin_declared", "origin": "block-o", "block": "Terrace", "variety": "Syrah",
        "vintage": 2026, "appellation": "Hillside", "colour": "red", "organic": true});
    let cellar = cellar
        .given(json!({"kind": "gauged", "vessel": "V", "volume_ul": 500 * LITRE}))
        .given(organic)
        .given(json!({"kind": "lot_opened", "lot": "O", "colour": "red"}))
        .given(tank_of("O", 5_000))
        .given(json!({"kind": "wine_received", "vessel": "O", "lot": "O",
            "parts": [{"origin": "block-o", "volume_ul": 4_000 * LITRE}]}));
    let lay = |cellar: Cellar, (index, &(tank, fault)): (usize, &Lying)| {
        let label = index.to_string();
        let cellar = cellar
            .given(barrel_of(&label, 20))
            .given(placed(&label, &format!("long/{}", PLACES[index])))
            .given(moved(tank, &label, 20 * LITRE));
        if fault { cellar.given(tasted(&label, "Brett")) } else { cellar }
    };
    let cellar = lying.iter().enumerate().fold(cellar, lay).days(20);
    cellar.given(json!({"kind": "round_begun", "round": "r", "room": "long", "from": from}))
}

fn tasted(vessel: &str, mark: &str) -> Value {
    json!({"kind": "tasted", "vessel": vessel, "marks": [mark]})
}

fn ids(cellar: &Cellar) -> (RoomId, RoundId) {
    (cellar.state.rooms.find("long").unwrap(), cellar.state.rounds.find("r").unwrap())
}

/// What comes next after the barrel of a number, or at the beginning.
fn next(cellar: &Cellar, after: Option<usize>) -> Option<Next> {
    cellar.state.next_stop(ids(cellar).1, after.unwrap_or(usize::MAX), cellar.now())
}

/// The numbers of the barrels in the order in which they are walked and topped, each from the tank it was filled from.
fn walked(cellar: Cellar, lying: &[Lying]) -> Vec<usize> {
    let (mut cellar, mut at, mut walked) = (cellar, None, Vec::new());
    while let Some(stop) = next(&cellar, at) {
        assert!(walked.len() < lying.len(), "it comes back to what is done: {walked:?}");
        cellar = cellar.given(topped(&stop.slot.to_string(), lying[stop.slot].0, LITRE / 10));
        walked.push(stop.slot);
        at = Some(stop.slot);
    }
    walked
}

#[test]
fn organic_goes_before_the_rest_and_clean_before_suspect() {
    let lying = [("T", true), ("T", false), ("O", true), ("O", false), ("T", false), ("O", false)];
    // Having come to the third, the fifth lies ahead and the second behind.
    assert_eq!(walked(room(&lying, "O"), &lying), [3, 5, 2, 4, 1, 0]);
}

#[test]
fn within_a_group_what_the_topping_vessel_serves_goes_first() {
    let lying = [("T", false), ("V", false), ("T", false), ("V", false), ("V", true)];
    assert_eq!(walked(room(&lying, "T"), &lying), [0, 2, 3, 1, 4]);
    assert_eq!(walked(room(&lying, "V"), &lying), [1, 3, 0, 2, 4]);
    let cellar = room(&lying, "T");
    assert_eq!(next(&cellar, Some(1)).unwrap().slot, 2);
    // Another vessel, another order from the same place on.
    let cellar = cellar.given(json!({"kind": "source_changed", "round": "r", "from": "V"}));
    assert_eq!(next(&cellar, Some(1)).unwrap().slot, 3);
}

#[test]
fn it_goes_round_again_from_where_one_stands() {
    let lying = [("T", false); 6];
    let cellar = room(&lying, "T");
    assert_eq!(next(&cellar, None).unwrap().slot, 0);
    assert_eq!(next(&cellar, Some(3)).unwrap().slot, 4);
    assert_eq!(next(&cellar, Some(5)).unwrap().slot, 0);
}

/// One that is suspect and was stopped at out of turn does not draw the walk after it.
#[test]
fn what_was_done_out_of_turn_changes_no_order_and_the_change_is_told() {
    let lying = [("O", false), ("T", true), ("T", true), ("O", false)];
    let cellar = room(&lying, "O").given(topped("1", "T", LITRE / 10));
    let back = next(&cellar, Some(1)).unwrap();
    let groups = |next: Next| (next.before, next.group);
    assert_eq!((back.slot, groups(back)), (3, (Some(Group::Suspect), Some(Group::Organic))));
    let within = next(&cellar, Some(3)).unwrap();
    assert_eq!((within.slot, groups(within)), (0, (Some(Group::Organic), Some(Group::Organic))));
    let cellar = cellar.given(topped("0", "O", LITRE / 10)).given(topped("3", "O", LITRE / 10));
    let on = next(&cellar, Some(3)).unwrap();
    assert_eq!((on.slot, groups(on)), (2, (Some(Group::Organic), Some(Group::Suspect))));
}

/// A barrel that was topped from the wrong tank spoils its own wine, not what is left of its lot.
#[test]
fn a_slip_of_the_tank_leaves_the_rest_of_the_lot_organic() {
    let lying = [("O", false), ("T", false), ("O", false)];
    let cellar = room(&lying, "O").given(topped("0", "T", LITRE / 10));
    let on = next(&cellar, Some(0)).unwrap();
    assert_eq!((on.slot, on.group, on.before), (2, Some(Group::Organic), Some(Group::Organic)));
}

fn lying() -> impl Strategy<Value = Vec<Lying>> {
    prop::collection::vec((prop::sample::select(vec!["T", "V", "O"]), prop::bool::weighted(0.3)), 1..=PLACES.len())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// From wherever one stands the walk goes to the first group of the plan of what is left, and there to the nearest
    /// ahead that the vessel serves.
    #[test]
    fn the_next_stop_is_of_the_first_group_of_the_plan(
        lying in lying(),
        from in prop::sample::select(vec!["T", "V", "O"]),
        done in prop::collection::vec(0_u8..4, PLACES.len()),
        after in 0..PLACES.len(),
    ) {
        let mark = |cellar: Cellar, (index, &(tank, _)): (usize, &Lying)| match done[index] {
            0 => cellar.given(topped(&index.to_string(), tank, LITRE / 10)),
            1 => cellar.given(json!({"kind": "held", "vessel": index.to_string(), "why": "mould"})),
            _ => cellar,
        };
        let cellar = lying.iter().enumerate().fold(room(&lying, from), mark);
        let state = &cellar.state;
        let stops = state.plan_rest(ids(&cellar).1, cellar.now()).stops;
        let slot = |id| state.vessels.get(id).slot.map(|slot| slot.index as usize).unwrap();
        let Some(first) = stops.first() else {
            prop_assert_eq!(next(&cellar, Some(after)), None);
            return Ok(());
        };
        let group: Vec<_> = stops.iter().filter(|stop| stop.group == first.group).collect();
        let in_hand = state.vessels.find(from);
        let colour = |from: Option<_>| from.and_then(|id| state.colour_in(state.vessels.get(id)));
        let turn = |stop: &Stop| match stop.from {
            from if from == in_hand => 0,
            from if colour(from) == colour(in_hand) => 1,
            Some(_) => 2,
            None => 3,
        };
        let first_turn = group.iter().map(|stop| turn(stop)).min();
        let candidates: Vec<usize> =
            group.iter().filter(|stop| Some(turn(stop)) == first_turn).map(|stop| slot(stop.vessel)).collect();
        let nearest = candidates.iter().min_by_key(|&&slot| (slot + PLACES.len() - after - 1) % PLACES.len());
        let told = next(&cellar, Some(after)).unwrap();
        prop_assert_eq!(Some(&told.slot), nearest);
        prop_assert_eq!((told.group, told.hose == Hose::InHand), (Some(first.group), first_turn == Some(0)));
    }

    /// Whatever the first vessel is, every barrel is walked to once, and no group is begun before the one ahead of it ends.
    #[test]
    fn every_barrel_is_walked_to_once_and_group_after_group(lying in lying()) {
        let cellar = room(&lying, "T");
        let group = |&slot: &usize| (lying[slot].0 != "O", lying[slot].1);
        let walked = walked(cellar, &lying);
        prop_assert!(walked.is_sorted_by_key(group), "{walked:?}");
        let mut each = walked;
        each.sort_unstable();
        prop_assert_eq!(each, (0..lying.len()).collect::<Vec<_>>());
    }
}
