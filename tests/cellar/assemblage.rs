//! The assemblage: the ratio while a blend is made, what corrects it, and what it comes to.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::state::{VesselId, WorkId};
use barrelwalk::cellar::jobs::bench::assemblage::Assemblage;
use barrelwalk::cellar::jobs::floor::work::Tick;
use barrelwalk::cellar::views::bench::blend::{BlendRequest, Component, Source};
use barrelwalk::cellar::views::books::lineage::NewWood;
use barrelwalk::units::{Shares, Volume};
use proptest::prelude::*;
use serde_json::{Value, json};

use super::trial::{revealed, trial};
use crate::support::given::{Cellar, LITRE, tank_of};

/// T gives 600 L and U 400 L to X of 4,000 L.
fn set() -> Value {
    json!({
        "kind": "work_set", "work": "n", "task": "blending", "into": "X", "lot": "R",
        "stops": [{"vessel": "T", "volume_ul": 600 * LITRE}, {"vessel": "U", "volume_ul": 400 * LITRE}],
    })
}

fn begun() -> Cellar {
    Cellar::furnished().given(tank_of("X", 4_000)).given(set())
}

fn work(cellar: &Cellar) -> WorkId {
    cellar.state.works.find("n").unwrap()
}

fn vessel(cellar: &Cellar, label: &str) -> VesselId {
    cellar.state.vessels.find(label).unwrap()
}

fn stands(cellar: &Cellar) -> Assemblage {
    cellar.state.assemblage(work(cellar), cellar.now()).unwrap()
}

fn next(cellar: &Cellar, after: Option<&str>) -> Option<String> {
    let after = after.map(|label| vessel(cellar, label));
    let next = cellar.state.next_of_blend(work(cellar), after, cellar.now());
    next.map(|id| cellar.state.vessels.get(id).label.to_string())
}

/// Space at a vessel.
#[track_caller]
fn taken(cellar: Cellar, label: &str) -> Cellar {
    let id = vessel(&cellar, label);
    let deed = cellar.state.done_as_expected(work(&cellar), &[id], cellar.now()).unwrap();
    deed.whats.into_iter().fold(cellar, Cellar::given)
}

/// Litres typed at a vessel.
#[track_caller]
fn measured(cellar: Cellar, label: &str, volume: Volume) -> Cellar {
    let id = vessel(&cellar, label);
    let deed = cellar.state.done_measured(work(&cellar), id, volume, cellar.now()).unwrap();
    deed.whats.into_iter().fold(cellar, Cellar::given)
}

fn still(cellar: &Cellar) -> Vec<Volume> {
    stands(cellar).still
}

const fn litres(litres: u64) -> Volume {
    Volume::from_litres(litres)
}

#[test]
fn too_much_of_one_is_made_good_by_the_next() {
    let cellar = begun();
    assert_eq!((still(&cellar), next(&cellar, None)), (vec![litres(600), litres(400)], Some("T".to_owned())));
    // 3 % too much: 618 L, and 618 / 0.6 = 1,030 L in all.
    let cellar = measured(cellar, "T", litres(618));
    let now = stands(&cellar);
    assert_eq!(
        (now.still, now.arrived, now.correction.volume),
        (vec![litres(0), litres(412)], litres(618), litres(1_030))
    );
    assert_eq!(next(&cellar, Some("T")).as_deref(), Some("U"));
    let cellar = taken(cellar, "U").holds("X", 1_030 * LITRE).has_lot("X", "R");
    let closing = stands(&cellar);
    assert!(closing.holds());
    assert_eq!(closing.closing.unwrap().words(&["T", "U"]), ["T: 60%, as chosen.", "U: 40%, as chosen."]);
    assert_eq!(next(&cellar, Some("U")), None);
}

#[test]
fn what_the_last_gave_too_much_the_first_makes_good() {
    // 450 / 0.4 = 1,125 L in all, of which 675 L of T.
    let cellar = measured(taken(begun(), "T"), "U", litres(450));
    assert!(!stands(&cellar).holds());
    assert_eq!((next(&cellar, Some("U")).as_deref(), still(&cellar)[0]), (Some("T"), litres(75)));
    let cellar = taken(cellar, "T");
    let ticks: Vec<_> = cellar.state.works.get(work(&cellar)).stops.iter().map(|stop| stop.tick).collect();
    assert_eq!(ticks, [675, 450].map(|volume| Some(Tick::Done(litres(volume)))));
    assert!(stands(&cellar).holds() && next(&cellar, None).is_none());
    let id = vessel(&cellar, "T");
    let sentence = cellar.state.done_as_expected(work(&cellar), &[id], cellar.now()).unwrap_err().to_string();
    assert!(sentence.starts_with("The ratio asks for no more from T."), "{sentence}");
    // By hand it gives all the same.
    assert!(cellar.state.done_measured(work(&cellar), id, litres(1), cellar.now()).is_ok());
}

#[test]
fn where_a_tank_gives_out_the_others_give_less() {
    // U holds 1,000 L, of which all but 300 are found gone.
    let cellar = begun().given(json!({"kind": "gauged", "vessel": "U", "volume_ul": 300 * LITRE}));
    assert_eq!(still(&cellar), [litres(450), litres(300)]);
    let cellar = taken(taken(cellar, "T"), "U").holds("X", 750 * LITRE);
    assert!(stands(&cellar).holds());
}

#[test]
fn what_no_vessel_can_bring_right_is_told() {
    // 1,000 L of T want 666.7 L of U, which has 300.
    let cellar = begun().given(json!({"kind": "gauged", "vessel": "U", "volume_ul": 300 * LITRE}));
    let cellar = taken(measured(cellar, "T", litres(1_000)), "U");
    let now = stands(&cellar);
    assert!(!now.holds() && !now.correction.exact && next(&cellar, None).is_none());
    assert_eq!(now.correction.off, 169_231);
}

#[test]
fn what_lies_in_the_vessel_already_counts() {
    let set = json!({
        "kind": "work_set", "work": "n", "task": "blending", "into": "T", "lot": "R",
        "shares_ppm": [775_000, 225_000], "tolerance_ppm": 5_000,
        "stops": [{"vessel": "T", "volume_ul": 1_550 * LITRE}, {"vessel": "U", "volume_ul": 450 * LITRE}],
    });
    let cellar = Cellar::furnished().given(set);
    let now = stands(&cellar);
    assert_eq!((now.arrived, &now.still[..]), (litres(1_550), &[litres(0), litres(450)][..]));
    assert_eq!(next(&cellar, None).as_deref(), Some("U"));
    assert!(stands(&taken(cellar, "U").holds("T", 2_000 * LITRE)).holds());
}

#[test]
fn barrels_of_one_wine_count_together_and_are_emptied() {
    let moved = |from: &str, to: &str| json!({"kind": "wine_moved", "from": from, "to": to, "volume_ul": 225 * LITRE, "purpose": "other", "lot": "B"});
    let before = Cellar::furnished()
        .given(tank_of("X", 4_000))
        .given(json!({"kind": "lot_opened", "lot": "B", "colour": "red"}))
        .given(moved("B1", "E"))
        .given(moved("B2", "B1"));
    let component = |source| Component { source, keep: Volume::ZERO, whole: false };
    let barrels = Source::Lot(before.state.lots.find("B").unwrap());
    let request = BlendRequest {
        components: vec![component(barrels), component(Source::Vessel(vessel(&before, "U")))],
        shares: Shares::from_millionths(vec![400_000, 600_000]).unwrap(),
        into: Some(vessel(&before, "X")),
        tolerance: None,
        litres: None,
        barrels_first: false,
        despite: false,
    };
    let plan = before.state.plan_blend(request, &NewWood::default(), before.now()).unwrap();
    let label = |text| Label::new(text).unwrap();
    let whats = plan.begin(&before.state, label("n"), label("N")).unwrap();
    assert_eq!(whats.len(), 2, "the lot is opened and the work set");
    let cellar = whats.into_iter().fold(before.clone(), Cellar::given);
    let wines: Vec<String> = stands(&cellar).wines.into_iter().map(|wine| wine.name).collect();
    assert_eq!(wines, ["B1 and 1 more", "U"]);
    let cellar = taken(taken(cellar, "B1"), "E").holds("B1", 0).holds("E", 0);
    let cellar = taken(cellar, "U").has_lot("X", "N");
    assert!(stands(&cellar).holds());
    // A first part of a barrel leaves the rest where it is.
    let again =
        plan.begin(&before.state, label("n"), label("N")).unwrap().into_iter().fold(before.clone(), Cellar::given);
    measured(again, "B1", litres(100)).holds("B1", 125 * LITRE);
}

#[test]
fn what_is_kept_back_is_not_asked_for() {
    let mut fact = set();
    fact["stops"][1]["keep_ul"] = (595 * LITRE).into();
    let cellar = Cellar::furnished().given(tank_of("X", 4_000)).given(fact.clone());
    // 405 L of U are there for it: 618 L of T want 412.
    let cellar = measured(cellar, "T", litres(618));
    let now = stands(&cellar);
    assert_eq!((now.still[1], now.correction.exact), (litres(405), false));
    fact["stops"][1]["keep_ul"] = (601 * LITRE).into();
    Cellar::furnished().given(tank_of("X", 4_000)).when(fact).then_counted_in_doubt("beside 601 L that are kept back");
}

#[test]
fn a_trials_blend_is_walked_by_the_glass_with_the_scarce_first() {
    let chosen = json!({
        "kind": "blend_chosen", "trial": "Q", "code": "031", "into": "X", "volume_ul": 1_000 * LITRE, "lot": "N",
        "work": "n", "keep_ul": [0, 550 * LITRE], "tolerance_ppm": 20_000,
    });
    let cellar = Cellar::furnished().given(tank_of("X", 4_000)).given(trial()).given(revealed()).given(chosen);
    // U has 450 L to give, T the 1,000 L that were said to be there: U has less to spare.
    assert_eq!(next(&cellar, None).as_deref(), Some("U"));
    assert_eq!(stands(&cellar).tolerance.millionths(), 20_000);
    let cellar = taken(taken(cellar, "U"), "T").has_lot("X", "N");
    assert!(stands(&cellar).holds());
    assert_eq!(cellar.parts("X"), [("block-1", 600 * LITRE), ("block-2", 400 * LITRE)]);
}

#[test]
fn blends_that_cannot_be_are_refused() {
    let with = |changes: &[(&str, Value)]| {
        let mut fact = set();
        for (path, value) in changes {
            match fact.pointer_mut(path) {
                Some(field) => *field = value.clone(),
                None => fact[path.trim_start_matches('/')] = value.clone(),
            }
        }
        fact
    };
    let cellar = || Cellar::furnished().given(tank_of("X", 4_000)).given(tank_of("small", 900));
    for (fact, part) in [
        (with(&[("/lot", "nobody".into())]), "No lot is called 'nobody'"),
        (with(&[("/shares_ppm", json!([500_000, 250_000, 250_000]))]), "The ratio has 3 shares for 2 wines"),
        (with(&[("/stops/0/volume_ul", 0.into()), ("/stops/1/volume_ul", 0.into())]), "Nothing is blended"),
        (
            with(&[("/stops", json!([{"vessel": "T", "volume_ul": 1, "component": 7}]))]),
            "The wines of a blend are counted from 0",
        ),
    ] {
        cellar().when(fact).then_has_no_effect(part);
    }
    for (fact, part) in [
        (with(&[("/into", "small".into())]), "small would hold 1000 L"),
        (
            with(&[("/stops/1/volume_ul", (1_200 * LITRE).into())]),
            "U holds 1000 L by the book, and this blend takes 1200 L",
        ),
        (with(&[("/stops/1/vessel", "T".into())]), "T stands twice"),
    ] {
        cellar().when(fact).then_counted_in_doubt(part);
    }
    for (cellar, part) in [
        (
            cellar()
                .given(json!({"kind": "wine_moved", "from": "U", "to": "X", "volume_ul": LITRE, "purpose": "other"})),
            "X holds 1 L of another wine",
        ),
        (cellar().given(with(&[("/work", "first".into())])), "A blend is being made in X already, by the work 'first'"),
    ] {
        cellar.when(set()).then_a_slip(part);
    }
}

/// What a person does at a vessel: so many thousandths more or less than the screen says.
fn hands() -> impl Strategy<Value = Vec<i64>> {
    prop::collection::vec(prop_oneof![2 => Just(0), 1 => -60_i64..60], 1..5)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// Whatever the first transfers came to, who follows what is proposed from there on closes within the tolerance,
    /// wherever the vessels and the room allow the ratio at all.
    #[test]
    fn who_follows_the_corrections_closes_within_the_tolerance(
        tanks in prop::collection::vec((60_u64..3_000, 5_u64..100), 2..5),
        hands in hands(),
        part in 10_u64..=100,
        spare in 0_u64..400,
    ) {
        let weights: Vec<u64> = tanks.iter().map(|(_, weight)| *weight).collect();
        let shares = Shares::in_proportion(&weights).unwrap();
        let mut cellar = Cellar::furnished();
        for (number, (holds, _)) in tanks.iter().enumerate() {
            let tank = format!("t{number}");
            cellar = cellar.given(tank_of(&tank, 5_000)).given(json!({
                "kind": "wine_received", "vessel": tank, "lot": "R",
                "parts": [{"origin": "block-1", "volume_ul": holds * LITRE}],
            }));
        }
        let sizes = tanks.iter().zip(shares.millionths());
        let most = sizes.map(|((holds, _), share)| holds * LITRE * 1_000_000 / u64::from(*share)).min().unwrap();
        let planned = most / 1_000 * 999 / 100 * part;
        cellar = cellar.given(tank_of("into", planned / LITRE + 1 + spare));
        let stops: Vec<Value> = (0..tanks.len())
            .map(|at| {
                let ul = u128::from(planned) * u128::from(shares.millionths()[at]) / 1_000_000;
                json!({"vessel": format!("t{at}"), "volume_ul": u64::try_from(ul).unwrap()})
            })
            .collect();
        cellar = cellar.given(json!({
            "kind": "work_set", "work": "n", "task": "blending", "into": "into", "lot": "R", "shares_ppm": shares,
            "stops": stops,
        }));
        let (mut after, mut steps, mut hands) = (None, 0, hands.into_iter());
        let mut exact = stands(&cellar).correction.exact;
        while let Some(next) = cellar.state.next_of_blend(work(&cellar), after, cellar.now()) {
            let asked = cellar.state.expected_at(work(&cellar), next, cellar.now()).unwrap();
            let there = cellar.state.vessels.get(next).volume().min(cellar.vessel("into").book_headspace());
            let thousandths = 1_000 + hands.next().unwrap_or(0);
            let came = asked.as_ul() * u64::try_from(thousandths).unwrap() / 1_000;
            let came = Volume::from_ul(came.clamp(1, there.as_ul().max(1)));
            let deed = cellar.state.done_measured(work(&cellar), next, came, cellar.now()).unwrap();
            cellar = deed.whats.into_iter().fold(cellar, Cellar::given);
            if thousandths != 1_000 {
                exact = stands(&cellar).correction.exact;
            }
            (after, steps) = (Some(next), steps + 1);
            prop_assert!(steps < 30, "it never ends: {:?}", stands(&cellar));
        }
        let end = stands(&cellar);
        prop_assert!(end.holds() || !exact, "{end:?}");
        let sum: Volume = end.wines.iter().map(|wine| wine.arrived).sum();
        prop_assert_eq!((sum, cellar.vessel("into").volume()), (end.arrived, end.arrived));
    }
}
