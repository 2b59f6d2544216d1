//! Odd barrels are looked at before they are topped like the rest.

#![allow(clippy::unwrap_used)] // in what the tests of this module share

use barrelwalk::cellar::core::fact::What;
use barrelwalk::cellar::core::state::{RoundId, VesselId};
use barrelwalk::cellar::jobs::topping::round::RoundBegun;
use barrelwalk::cellar::views::floor::stretch::LeftOut;
use barrelwalk::cellar::views::topping::odd::Odd;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, barrel_of, moved, placed, topped};

fn begun(odd: bool) -> Value {
    json!({"kind": "round_begun", "round": "r", "room": "long", "from": "T", "odd": odd})
}

/// Six barrels of one lot, filled on one day; all but C4 were topped 128 days later, and three weeks have gone since.
fn overlooked() -> Cellar {
    let cellar = ('a'..='d').zip(1..).fold(Cellar::furnished(), |cellar, (side, number)| {
        let label = format!("C{number}");
        let place = format!("long/B-01-1-{side}");
        cellar.given(barrel_of(&label, 225)).given(placed(&label, &place)).given(moved("T", &label, 225 * LITRE))
    });
    let cellar = cellar.days(128);
    let cellar = ["B1", "B2", "C1", "C2", "C3"]
        .iter()
        .fold(cellar, |cellar, barrel| cellar.given(topped(barrel, "T", 5 * LITRE)));
    cellar.days(21)
}

/// A barrel is lifted out of its rack.
fn nowhere(label: &str) -> Value {
    json!({"kind": "vessel_placed", "vessel": label, "place": null})
}

fn round(cellar: &Cellar) -> RoundId {
    cellar.state.rounds.find("r").unwrap()
}

fn id(cellar: &Cellar, label: &str) -> VesselId {
    cellar.state.vessels.find(label).unwrap()
}

fn is_overlooked(cellar: &Cellar) -> bool {
    let odd = cellar.state.odd(round(cellar), id(cellar, "C4"), cellar.now());
    matches!(odd, Some(Odd::Overlooked { days: 149, usual }) if (usual - 21.0).abs() < 1e-9)
}

#[test]
fn an_overlooked_barrel_is_left_out_and_named() {
    let cellar = overlooked().given(begun(false));
    let slots = cellar.state.rooms.by_label("long").unwrap().slots.len();
    let stretch = cellar.state.stretch(round(&cellar), 0..slots, cellar.now());
    assert_eq!(stretch.topped.len(), 5);
    assert!(matches!(stretch.left_out.as_slice(), [(_, LeftOut::Odd(_))]));
    let words = "Left out: 1 to look at first (C4: not topped for 149 days, its lot for 21).";
    assert_eq!(cellar.state.left_out_words(&stretch).as_deref(), Some(words));
    // What the round has done already makes it no less odd, nor the rest odd beside it.
    let done = ["B1", "B2", "C1"].iter().fold(cellar, |cellar, barrel| cellar.given(topped(barrel, "T", LITRE)));
    assert!(is_overlooked(&done));
    assert_eq!(done.state.odd(round(&done), id(&done, "C2"), done.now()), None);
    let done = ["C2", "C3"].iter().fold(done, |cellar, barrel| cellar.given(topped(barrel, "T", LITRE)));
    assert!(is_overlooked(&done));
}

/// New wood is topped weekly in the first weeks of its first fill. The old wood of its lot has three weeks: it is not looked at
/// because the new was topped since, but when one of its own kind was forgotten, or two of its intervals are over.
#[test]
fn old_wood_beside_new_is_overlooked_by_its_own_interval() {
    let olds = [("old", "long/B-01-1-a"), ("older", "long/B-01-1-b"), ("oldest", "long/B-01-1-c")];
    let more = json!({"kind": "wine_received", "vessel": "T", "lot": "R",
        "parts": [{"origin": "block-1", "volume_ul": 500 * LITRE}]});
    let cellar = olds.iter().fold(
        Cellar::furnished().given(more).given(nowhere("B1")).given(nowhere("B2")),
        |cellar, (label, place)| {
            let kind = "vessel_registered";
            let capacity = 225 * LITRE;
            cellar
                .given(json!({"kind": kind, "vessel": label, "type": "barrel", "capacity_ul": capacity, "fills": 2}))
                .given(placed(label, place))
                .given(moved("T", label, 225 * LITRE))
        },
    );
    let new = [("E", "long/A-01-2-a"), ("N1", "long/A-02-1-a"), ("N2", "long/A-02-1-b"), ("N3", "long/A-02-2-a")];
    let cellar = new[1..]
        .iter()
        .fold(cellar.days(7), |cellar, (label, place)| cellar.given(barrel_of(label, 225)).given(placed(label, place)));
    let cellar = new.iter().fold(cellar, |cellar, (label, _)| cellar.given(moved("T", label, 225 * LITRE)));
    let new = new.map(|(label, _)| label);
    let top = |cellar: Cellar, barrels: &[&str]| {
        barrels.iter().fold(cellar, |cellar, barrel| cellar.given(topped(barrel, "T", LITRE)))
    };
    let odd = |cellar: &Cellar| {
        let cellar = cellar.clone().given(begun(false));
        match cellar.state.odd(round(&cellar), id(&cellar, "old"), cellar.now()) {
            Some(Odd::Overlooked { days, usual }) => Some((days, usual)),
            _ => None,
        }
    };
    let cellar = (0..2).fold(cellar, |cellar, _| top(cellar.days(7), &new));
    assert_eq!(odd(&cellar.clone().days(2)), None);
    let some_forgotten = top(cellar.clone().days(4), &["E", "N1", "N2", "N3", "older", "oldest"]);
    assert_eq!(odd(&some_forgotten.days(1)), Some((26, 1.0)));
    let alone = cellar.given(nowhere("older")).given(nowhere("oldest")).days(2);
    assert_eq!(odd(&alone), None);
    let of_eleven_days = json!({"kind": "room_laid_out", "room": "long", "round_days": 11, "rows": [
        {"row": "A", "stacks": 2, "tiers": 2, "sides": 2},
        {"row": "B", "stacks": 1, "tiers": 1, "sides": 4},
    ]});
    assert_eq!(odd(&alone.given(of_eleven_days)), Some((23, 2.0)));
}

/// One of six is more than a tenth: that is asked once, and then the key tops it like the rest.
#[test]
fn many_odd_ones_are_asked_about_when_the_round_begins() {
    let cellar = overlooked();
    let plan = cellar.state.plan_round(cellar.state.rooms.find("long").unwrap(), cellar.now());
    assert_eq!(plan.odd.iter().map(|(barrel, _)| *barrel).collect::<Vec<_>>(), [id(&cellar, "C4")]);
    assert!(barrelwalk::cellar::views::topping::odd::are_many(plan.odd.len(), plan.stops.len()));
    assert!(!barrelwalk::cellar::views::topping::odd::are_many(1, 10));
    let begin: RoundBegun =
        serde_json::from_value(json!({"round": "r", "room": "long", "from": "T", "odd": true})).unwrap();
    let asked = cellar.state.questions(&[What::RoundBegun(Box::new(begin))], cellar.now());
    let asked: Vec<String> = asked.iter().map(ToString::to_string).collect();
    let sentence = "1 of 6 barrels stands out: C4 (not topped for 149 days, its lot for 21). A whole rack, stack or row then \
                    tops them like the rest.";
    assert_eq!(asked, [sentence]);
    let cellar = cellar.given(begun(true));
    let slots = cellar.state.rooms.by_label("long").unwrap().slots.len();
    assert_eq!(cellar.state.stretch(round(&cellar), 0..slots, cellar.now()).topped.len(), 6);
}

#[test]
fn a_suspect_barrel_is_left_out() {
    let tasted = json!({"kind": "tasted", "vessel": "B1", "marks": ["Brett"]});
    let cellar = Cellar::furnished().given(tasted).days(21).given(begun(false));
    let odd = cellar.state.odd(round(&cellar), id(&cellar, "B1"), cellar.now());
    assert!(matches!(odd, Some(Odd::Suspect(_))), "{odd:?}");
    assert_eq!(cellar.state.odd(round(&cellar), id(&cellar, "B2"), cellar.now()), None);
}

/// What came in used and was never filled here was wet once: it is due for sulfur at once, new wood is not.
#[test]
fn used_empties_that_came_in_are_due_for_sulfur() {
    let used =
        json!({"kind": "vessel_registered", "vessel": "old", "type": "barrel", "capacity_ul": 225 * LITRE, "fills": 2});
    let cellar = Cellar::furnished().given(used).given(placed("old", "long/B-01-1-a"));
    let due = |cellar: &Cellar| {
        let due = cellar.state.due_for(barrelwalk::cellar::jobs::wood::care::Care::Sulfured, None, cellar.now());
        due.iter().map(|&id| cellar.state.vessels.get(id).label.to_string()).collect::<Vec<_>>()
    };
    assert_eq!(due(&cellar), ["old"]);
    let cellar = cellar.given(json!({"kind": "barrel_cared", "vessel": "old", "care": "sulfured"}));
    assert!(due(&cellar).is_empty());
}

/// Why a barrel is due when it is, and that it is none of the round meanwhile.
#[test]
fn a_barrel_that_rests_is_none_of_the_round_and_says_why() {
    let cellar = overlooked().given(json!({"kind": "stage_set", "lot": "R", "stage": "rolled"})).given(begun(false));
    let c1 = id(&cellar, "C1");
    assert!(!cellar.state.is_of_round(round(&cellar), c1, cellar.now()));
    assert_eq!(cellar.state.due_because(cellar.vessel("C1")).words(), "rolled");
    assert!(cellar.state.is_of_round(round(&cellar), id(&cellar, "C4"), cellar.now()));
    let slots = cellar.state.rooms.by_label("long").unwrap().slots.len();
    let (count, first) = cellar.state.resting(round(&cellar), 0..slots, cellar.now()).unwrap();
    assert_eq!((count, Some(first)), (5, cellar.state.due_on(cellar.vessel("C1"))));
}
