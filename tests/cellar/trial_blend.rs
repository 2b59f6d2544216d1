//! The blend after a trial: its lot, its work, and the wine that comes of it.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::core::state::Work;
use barrelwalk::cellar::jobs::bench::trial::blending::Blend;
use barrelwalk::cellar::jobs::floor::work::Tick;
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use super::trial::{of, revealed, trial};
use crate::support::given::{Cellar, LITRE, moved, tank_of};

/// An empty tank X of 3,000 L and a trial that is revealed.
fn opened() -> Cellar {
    Cellar::furnished().given(tank_of("X", 3_000)).given(trial()).given(revealed())
}

fn chosen(code: &str, into: &str, litres: u64) -> Value {
    json!({"kind": "blend_chosen", "trial": "Q", "code": code, "into": into, "volume_ul": litres * LITRE, "lot": "N"})
}

fn blended(from: &str, litres: u64) -> Value {
    json!({
        "kind": "wine_moved", "from": from, "to": "X", "volume_ul": litres * LITRE, "purpose": "blend", "lot": "N",
    })
}

#[track_caller]
fn work(cellar: &Cellar) -> &Work {
    cellar.state.works.by_label("blend N").unwrap()
}

fn gave(cellar: &Cellar) -> Vec<(&str, Volume, Option<Tick>)> {
    let label = |id| cellar.state.vessels.get(id).label.as_str();
    work(cellar).stops.iter().map(|stop| (label(stop.vessel), stop.volume, stop.tick)).collect()
}

#[test]
fn a_glass_is_blended_vessel_by_vessel() {
    let litres = Volume::from_litres;
    let begun = opened().given(chosen("417", "X", 1_000));
    assert_eq!(gave(&begun), [("T", litres(750), None), ("U", litres(250), None)]);
    let half = begun.given(blended("T", 748));
    assert_eq!(work(&half).progress().done, 1);
    let done = half.given(blended("U", 250)).given(blended("T", 2)).holds("X", 1_000 * LITRE).has_lot("X", "N");
    assert_eq!(done.parts("X"), [("block-1", 750 * LITRE), ("block-2", 250 * LITRE)]);
    let ticked = [("T", litres(750), Some(Tick::Done(litres(750)))), ("U", litres(250), Some(Tick::Done(litres(250))))];
    assert_eq!(gave(&done), ticked);
    // What was measured is kept when the work is closed.
    let closed = done.given(json!({"kind": "work_ended", "work": "blend N"}));
    assert_eq!(gave(&closed), ticked);
    assert_eq!((work(&closed).done, closed.state.open_works.len()), (2, 0));
    let Blend { lot, shares, volume, .. } = &of(&closed).blends[0];
    assert_eq!(closed.state.lots.get(*lot).label.as_str(), "N");
    assert_eq!((shares.millionths(), *volume), (&[750_000, 250_000][..], litres(1_000)));
}

#[test]
fn the_walk_of_the_work_says_the_moves() {
    let begun = opened().given(chosen("417", "X", 1_000));
    let (work, t) = (begun.state.works.find("blend N").unwrap(), begun.state.vessels.find("T").unwrap());
    let deed = begun.state.done_measured(work, t, Volume::from_litres(751), begun.now()).unwrap();
    let after = deed.whats.into_iter().fold(begun, Cellar::given);
    assert_eq!(gave(&after)[0].2, Some(Tick::Done(Volume::from_litres(751))));
    assert_eq!(after.lot("X"), Some("N"));
}

#[test]
fn shares_that_were_no_glass_can_be_blended_into_a_lot_that_is_open_already() {
    let fact = json!({
        "kind": "blend_chosen", "trial": "Q", "shares_ppm": [1_000_000, 0], "into": "X", "volume_ul": 10 * LITRE,
        "lot": "R", "work": "the first ten",
    });
    let cellar = opened().given(fact);
    let work = cellar.state.works.by_label("the first ten").unwrap();
    assert_eq!(work.stops.len(), 1, "what gives nothing is no stop");
}

#[test]
fn other_moves_are_no_part_of_the_blend() {
    let cellar = opened().given(chosen("417", "X", 1_000)).given(moved("U", "X", 10 * LITRE));
    assert!(gave(&cellar).iter().all(|(_, _, tick)| tick.is_none()));
}

#[test]
fn what_cannot_be_blended_is_refused() {
    let both = json!({
        "kind": "blend_chosen", "trial": "Q", "code": "417", "shares_ppm": [500_000, 500_000], "into": "X",
        "volume_ul": LITRE, "lot": "N",
    });
    let three = json!({
        "kind": "blend_chosen", "trial": "Q", "shares_ppm": [500_000, 500_000, 0], "into": "X", "volume_ul": LITRE,
        "lot": "N",
    });
    for (fact, part) in [
        (chosen("418", "X", 1_000), "No glass of 'Q' has the code 418"),
        (chosen("417", "Z", 1_000), "No vessel is called 'Z'"),
        (chosen("417", "X", 0), "No volume is said"),
        (both, "one of the two"),
        (three, "There are 3 shares for the 2 components"),
    ] {
        opened().when(fact).then_has_no_effect(part);
    }
    for (fact, part) in [
        (chosen("417", "T", 1_000), "T gives to this blend itself"),
        (chosen("417", "X", 3_100), "X would hold"),
        (chosen("417", "X", 2_500), "cannot be made in this ratio: T gives out"),
    ] {
        opened().when(fact).then_counted_in_doubt(part);
    }
    Cellar::furnished()
        .given(tank_of("X", 3_000))
        .given(trial())
        .when(chosen("417", "X", 1_000))
        .then_counted_in_doubt("'Q' is not revealed yet");
}

#[test]
fn a_tank_that_was_emptied_since_the_samples_is_found_out() {
    let emptied = opened().given(json!({
        "kind": "wine_moved", "from": "U", "to": "X", "volume_ul": 1_000 * LITRE, "purpose": "other", "empties": true,
    }));
    let filled = emptied
        .clone()
        .given(json!({"kind": "wine_moved", "from": "T", "to": "U", "volume_ul": 400 * LITRE, "purpose": "other"}));
    let fact = |into: &str| chosen("417", into, 400);
    let emptied = emptied.given(tank_of("Y", 3_000));
    emptied.when(fact("Y")).then_counted_in_doubt("U holds nothing by the book, but the ratio asks for it");
    let filled = filled.given(tank_of("Y", 3_000));
    filled.clone().when(fact("Y")).then_a_slip("U was emptied since the samples were drawn");
    filled.when(fact("X")).then_a_slip("of another wine, which would be in the blend");
}

#[test]
fn what_must_be_kept_back_is_kept_back() {
    let mut set = trial();
    set["components"][1]["reserve_ul"] = (900 * LITRE).into();
    let cellar = Cellar::furnished().given(tank_of("X", 3_000)).given(set).given(revealed());
    cellar.clone().given(chosen("417", "X", 400));
    cellar.when(chosen("417", "X", 404)).then_counted_in_doubt("The largest batch is 400");
}

/// All of T but what the ratio leaves is promised to a blend that is under way elsewhere.
#[test]
fn what_an_open_work_still_takes_is_not_blended() {
    let other = json!({
        "kind": "work_set", "work": "other", "task": "blending", "into": "Y", "lot": "S",
        "stops": [{"vessel": "U", "volume_ul": 600 * LITRE}, {"vessel": "T", "volume_ul": 600 * LITRE}],
    });
    let cellar = opened().given(tank_of("Y", 3_000)).given(other.clone());
    cellar.clone().given(chosen("417", "X", 1_200));
    let sentence = "T holds 1550 L by the book, of which open works are still to take 600 L, and this blend takes 975 L. \
                    Blend fewer litres, or do or end those works first.";
    cellar.when(chosen("417", "X", 1_300)).then_a_slip(sentence);
    // What was set aside for other use when the trial was set may be just that.
    let mut set = trial();
    set["components"][1]["available_ul"] = (400 * LITRE).into();
    let aside = Cellar::furnished().given(tank_of("X", 3_000)).given(tank_of("Y", 3_000)).given(set).given(revealed());
    aside.given(other).given(chosen("417", "X", 1_200));
}

/// A hold bars the blend as it bars the moves, and a suspect wine is named before.
#[test]
fn a_held_vessel_gives_nothing_to_a_blend_and_a_suspect_one_is_named() {
    let held = |vessel: &str| json!({"kind": "held", "vessel": vessel, "why": "film"});
    for vessel in ["U", "X"] {
        let cellar = opened().given(held(vessel));
        cellar.clone().when(chosen("417", "X", 1_000)).then_counted_in_doubt(&format!("{vessel} is held: film."));
        cellar.when(chosen("417", "X", 1_000)).then_taken_despite();
    }
    let suspect = opened().given(json!({"kind": "tested", "vessel": "U", "va_g_l": 1.1}));
    let asked = suspect.when(chosen("417", "X", 1_000)).asked();
    assert!(asked[0].starts_with("U is suspect: volatile acidity 1.10 g/L as acetic") && asked.len() == 1, "{asked:?}");
}
