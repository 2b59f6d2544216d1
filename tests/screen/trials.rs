//! The page of a revealed trial: found by its label, its surface drawn over other wines, and nothing of it before the reveal.

use std::sync::Arc;

use barrelwalk::tui::bench::trial::TrialPage;
use barrelwalk::tui::bench::trial::reveal::RevealPage;
use barrelwalk::tui::core::marks::ASCII;
use barrelwalk::tui::core::theme::Palette;
use barrelwalk::tui::edge::screen::Message;

use crate::cellar;
use crate::pictures::{keep, keep_at, keep_both};
use crate::walk::{Walk, looks, nothing, resized};

/// Tanks of red wine, with their litres.
const TANKS: [(&str, u64); 4] = [("T11", 2_000), ("T12", 1_500), ("T13", 900), ("T14", 400)];
const TASTERS: [&str; 6] = ["anna", "ben", "carla", "dorian", "elif", "felix"];
/// Shares in hundredths of three wines; the last repeats the one before.
const THREE: [[u32; 3]; 12] = [
    [100, 0, 0],
    [0, 100, 0],
    [0, 0, 100],
    [50, 50, 0],
    [50, 0, 50],
    [0, 50, 50],
    [67, 17, 16],
    [16, 67, 17],
    [17, 16, 67],
    [50, 30, 20],
    [34, 33, 33],
    [34, 33, 33],
];

/// The small cellar with a trial of so many of its tanks, which six tasters have scored: the best for them lies at 50, 30 and
/// 20 % of the first three.
fn tasted(glasses: &[Vec<u32>], revealed: bool) -> Walk {
    tasted_with(glasses, revealed, Vec::new())
}

fn tasted_with(glasses: &[Vec<u32>], revealed: bool, mut facts: Vec<String>) -> Walk {
    let wines = glasses[0].len();
    let mut say = |day: &str, rest: &str| facts.push(cellar::fact(day, rest));
    for (tank, litres) in &TANKS[..wines] {
        say(
            "09-03",
            &format!(r#""kind":"vessel_registered","vessel":"{tank}","type":"tank","capacity_ul":3000000000"#),
        );
        say(
            "09-04",
            &format!(
                r#""kind":"wine_received","vessel":"{tank}","lot":"M26 Upper Terrace","parts":[{{"origin":"M26 Upper Terrace","volume_ul":{litres}000000}}]"#
            ),
        );
    }
    let code = |at: usize| 110 + at * 41;
    let mut key = Vec::new();
    for (at, shares) in glasses.iter().enumerate() {
        let first = glasses[..at].iter().position(|other| other == shares);
        let repeat = first.map_or_else(String::new, |first| format!(r#","repeat_of":"{}""#, code(first)));
        let parts: Vec<String> = shares.iter().map(|share| (share * 10_000).to_string()).collect();
        key.push(format!(r#"{{"code":"{}","shares_ppm":[{}]{repeat}}}"#, code(at), parts.join(",")));
    }
    let codes: Vec<String> = (0..glasses.len()).map(|at| format!(r#""{}""#, code(at))).collect();
    let half = codes.len() / 2;
    let served = format!("[[{}],[{}]]", codes[..half].join(","), codes[half..].join(","));
    let servings: Vec<String> = TASTERS.iter().map(|taster| format!(r#""{taster}":{served}"#)).collect();
    let components: Vec<String> = TANKS[..wines].iter().map(|(tank, _)| format!(r#"{{"vessel":"{tank}"}}"#)).collect();
    say(
        "10-05",
        &format!(
            r#""kind":"trial_set","trial":"First blend","components":[{}],"glass_ul":50000,"glasses":[{}],"panel":["{}"],"servings":{{{}}},"salt":"5a1ad""#,
            components.join(","),
            key.join(","),
            TASTERS.join("\",\""),
            servings.join(",")
        ),
    );
    for (taster, name) in TASTERS.iter().enumerate() {
        for (at, shares) in glasses.iter().enumerate() {
            let best = [50.0, 30.0, 20.0, 0.0];
            let off: f64 =
                shares.iter().zip(best).map(|(&share, best)| ((f64::from(share) - best) / 100.0).powi(2)).sum();
            let noise = [0.0, 0.5, -0.5, 0.5, 0.0, -0.5, 0.5, -0.5, 0.0][(taster * 4 + at * 7) % 9];
            let score = ((15.5 + taster as f64 * 0.3 - 6.0 * off) * 2.0).round() / 2.0 + noise;
            let words = ["", r#","text":"plum, long""#, "", r#","text":"a little hard""#, ""][(taster + at * 3) % 5];
            say(
                "10-06",
                &format!(
                    r#""kind":"glass_rated","trial":"First blend","taster":"{name}","code":"{}","score":{score}{words}"#,
                    code(at)
                ),
            );
        }
    }
    if revealed {
        say("10-06", r#""kind":"trial_revealed","trial":"First blend""#);
    }
    let before = Walk::small();
    cellar::record(before.path(), &facts);
    let mut walk = before.reopened();
    walk.keep_cellar_of(before);
    walk
}

/// The revealed trial of three wines, with one fact more.
pub fn revealed_with(fact: &str) -> Walk {
    tasted_with(&THREE.map(Vec::from), true, vec![cellar::fact("09-02", fact)])
}

fn three(revealed: bool) -> Walk {
    tasted(&THREE.map(Vec::from), revealed)
}

fn opened(mut walk: Walk) -> Walk {
    walk.press("/ `First blend` enter").comes();
    assert!(walk.model.page::<RevealPage>().is_some(), "{}", walk.said());
    walk
}

#[test]
fn a_trial_stays_closed_while_it_is_not_revealed() {
    let mut walk = three(false);
    walk.press("/ `First blend`");
    walk.press("enter");
    assert!(walk.model.page::<TrialPage>().is_some());
    let screen = walk.text(160, 48);
    assert!(!screen.contains("50/30/20") && screen.contains("The key is sealed"), "{screen}");
}

#[test]
fn the_page_of_an_opened_trial() {
    let mut walk = opened(three(true));
    keep_both(&walk, "trial-opened");
    walk.press("page-down page-down");
    keep_at(&walk, "trial-opened-below", (80, 24));
    // Where glasses and surface stand one below the other, another drawing comes in sight.
    walk.press("c left");
    keep_at(&walk, "trial-triangle", (80, 24));
    walk.press("c");
    keep_at(&walk, "trial-line", (80, 24));
    walk.model.looks = looks(Palette::Mono, &ASCII);
    walk.press("left");
    keep_at(&walk, "trial-triangle-ascii", (80, 24));
    walk.press("page-up page-up page-up page-up");
    assert!(walk.text(160, 48).is_ascii(), "{}", walk.text(160, 48));
}

#[test]
fn of_four_wines_three_are_drawn_and_the_others_held() {
    let mut glasses: Vec<Vec<u32>> = THREE.iter().map(|three| [three.as_slice(), &[0]].concat()).collect();
    glasses.extend([
        vec![0, 0, 0, 100],
        vec![50, 0, 0, 50],
        vec![0, 50, 0, 50],
        vec![0, 0, 50, 50],
        vec![25, 25, 25, 25],
    ]);
    let mut walk = opened(tasted(&glasses, true));
    walk.take(resized(160, 60));
    let page = walk.text(160, 60);
    assert!(page.contains("T11 at the top, T12 below left") && page.contains("as in the best ratio: T14"), "{page}");
    walk.press("c");
    assert!(walk.text(160, 60).contains("as in the best ratio: T13"), "{}", walk.text(160, 60));
    // Four triangles, four lines, and from the first back to the last.
    walk.press("left left");
    assert!(walk.text(160, 60).contains("expected score by the share of"), "{}", walk.text(160, 60));
    walk.press("c");
    assert!(walk.text(160, 60).contains("as in the best ratio: T14"));
}

#[test]
fn two_wines_are_a_line() {
    let glasses: Vec<Vec<u32>> = (0..=10).map(|tenths| vec![tenths * 10, 100 - tenths * 10]).collect();
    let mut walk = opened(tasted(&glasses, true));
    keep(&walk, "trial-two-wines");
    walk.press("c");
    assert_eq!(walk.said(), "Of two wines one line says all: there is no other drawing.");
}

/// Nothing is drawn where the panel can't tell.
#[test]
fn no_surface_is_drawn_of_glasses_that_are_all_alike() {
    let glasses: Vec<Vec<u32>> = (0..6).map(|_| vec![50, 30, 20]).collect();
    let mut walk = opened(tasted(&glasses, true));
    let page = walk.text(160, 48);
    assert!(page.contains("All glasses held the same blend") && !page.contains("at the top"), "{page}");
    walk.press("c");
    assert!(walk.said().contains("there is no surface to draw"));
}

/// Whatever the terminal's size and the drawing, the page keeps to it.
#[test]
fn the_page_is_drawn_at_every_size() {
    let mut walk = opened(three(true));
    for (width, height) in [(60, 16), (61, 60), (80, 24), (133, 17), (134, 40), (200, 70)] {
        walk.take(resized(width, height));
        for _ in 0..5 {
            walk.press("c");
            assert!(walk.text(width, height).contains("The trial First blend"));
        }
    }
}

/// A trial whose blend was made says what the panel said and how the blend came out before anything else; of a wine that is
/// gone it tells where ratios are offered.
#[test]
fn a_trial_that_was_blended_says_so_first() {
    let mut walk = Walk::demo();
    walk.press("/ `Varrow 24` enter").comes();
    keep_both(&walk, "trial-blended");
    walk.press("end page-up");
    keep_at(&walk, "trial-blended-below", (80, 24));
}

/// What the panel said is read once, whatever else happens in the cellar while the page is open.
#[test]
fn the_panel_is_read_anew_only_where_its_trial_changed() {
    let read = |walk: &Walk| Arc::clone(walk.model.page::<RevealPage>().unwrap().reading().unwrap());
    let mut walk = opened(three(true));
    let before = read(&walk);
    let tell = |walk: &mut Walk, fact: &str| {
        cellar::record(walk.path(), &[cellar::fact("11-24", fact)]);
        walk.take(Message::Changed);
    };
    tell(&mut walk, r#""kind":"gauged","vessel":"T13","volume_ul":300000000"#);
    assert!(Arc::ptr_eq(&before, &read(&walk)));
    assert!(walk.text(160, 48).contains("then T13 gives out"), "{}", walk.text(160, 48));
    let vessel = r#""kind":"vessel_registered","vessel":"T19","type":"tank","capacity_ul":3000000000"#;
    tell(&mut walk, vessel);
    let blend =
        r#""kind":"blend_chosen","trial":"First blend","code":"110","into":"T19","volume_ul":500000000,"lot":"First""#;
    tell(&mut walk, blend);
    assert!(Arc::ptr_eq(&before, &read(&walk)));
    let page = walk.text(160, 48);
    assert!(page.contains("Glass 110 is to be blended in T19 as First: 500.0 L"), "{page}");
    // What it was called stands until it is read anew.
    let asked = walk.asked();
    tell(&mut walk, r#""kind":"renamed","what":"vessel","from":"T13","to":"T30""#);
    assert!(walk.asked() > asked && Arc::ptr_eq(&before, &read(&walk)), "{}", walk.said());
    walk.comes();
    assert!(!Arc::ptr_eq(&before, &read(&walk)));
    assert!(walk.text(160, 48).contains("(T11 / T12 / T30)"), "{}", walk.text(160, 48));
}

/// The page opens at once, says how far it is, and is left while it is read; keys that need what is read say so.
#[test]
fn what_the_panel_says_is_read_apart() {
    let mut walk = three(true);
    walk.press("/ `First blend` enter");
    let waiting = walk.text(80, 24);
    assert!(waiting.contains("reading what the panel says … 0 %; esc goes back"), "{waiting}");
    walk.press("b");
    assert_eq!(walk.said(), "What the panel says is still being read. One moment.");
    walk.press("c tab end left");
    assert!(walk.text(80, 24).contains("reading what the panel says"), "{}", walk.text(80, 24));
    walk.take(nothing(walk.asked() + 1, "another question"));
    assert!(!walk.text(80, 24).contains("another question"));
    walk.press("tab").comes();
    assert!(walk.text(80, 24).contains("Best: 51 / 30 / 19"), "{}", walk.text(80, 24));
    // Left and opened once more it is asked anew; what comes of the one that was left is nobody's.
    let first = walk.asked();
    walk.press("esc / `First blend` enter");
    assert!(walk.asked() > first);
    walk.take(nothing(first, "The reading was stopped."));
    assert!(walk.text(80, 24).contains("reading what the panel says"), "{}", walk.text(80, 24));
    walk.take(nothing(walk.asked(), "Nothing can be worked out."));
    assert!(walk.text(80, 24).contains("Nothing can be worked out."), "{}", walk.text(80, 24));
    walk.press("esc");
    assert!(walk.is_on_floor());
}

/// What one taster says alone stands upon what the panel says, which is still there when one goes back.
#[test]
fn one_taster_is_read_alone() {
    let mut walk = opened(three(true));
    walk.press("enter `one taster` enter");
    assert!(walk.text(80, 24).contains("ben: 12 ratings"), "{}", walk.text(80, 24));
    walk.press("down enter").comes();
    keep_at(&walk, "trial-one-taster", (80, 24));
    let alone = walk.model.page::<RevealPage>().unwrap().reading().unwrap();
    assert!(alone.glasses.iter().all(|glass| glass.ratings.iter().all(|rating| rating.taster.as_str() == "ben")));
    walk.press("enter `one taster` enter");
    assert_eq!(walk.said(), "This is what ben says alone. Esc goes back to the panel.");
    // What is written in the list, the list, the page.
    walk.press("esc esc esc");
    assert!(walk.text(80, 24).contains("Best: 51 / 30 / 19"), "{}", walk.text(80, 24));
}

/// What comes from another program is shown, and the page stays where it was.
#[test]
fn the_page_stays_when_the_cellar_changes() {
    let mut walk = opened(three(true));
    walk.press("c");
    let before = walk.text(160, 48);
    walk.model.take_state(walk.model.state.clone());
    assert_eq!(walk.text(160, 48), before);
    walk.model.take_state(barrelwalk::cellar::core::state::State::default());
    assert!(walk.is_on_floor());
}
