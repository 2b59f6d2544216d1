//! A trial at the screen: from the bench to its page, the glasses of several tasters, bad input, the reveal. And that no page
//! of an open trial tells what a code is.

use barrelwalk::cellar::jobs::bench::trial::Trial;
use barrelwalk::cellar::jobs::bench::trial::said::Scale;
use barrelwalk::tui::bench::glasses::Glasses;
use barrelwalk::tui::bench::trial::reveal::RevealPage;
use barrelwalk::tui::bench::trial::{RatingPage, RevealQuestion, Spot, TrialPage};
use barrelwalk::tui::core::model::Tone;
use barrelwalk::tui::edge::screen::{Message, Screen};
use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use proptest::prelude::*;

use crate::cellar;
use crate::pictures::{keep, keep_both};
use crate::support::sizes::every_size;
use crate::walk::Walk;

/// The codes of the glasses, in no order that means anything.
const CODES: [&str; 12] = ["417", "233", "051", "862", "690", "305", "948", "129", "774", "536", "087", "611"];

/// What the glasses are: shares of three wines, and which glass is the same as which.
struct Key {
    wines: [&'static str; 3],
    shares: [[u32; 3]; 12],
    repeats: [(usize, usize); 2],
}

const KEY: Key = Key {
    wines: ["T1", "K2", "0405"],
    shares: [
        [60, 25, 15],
        [50, 50, 0],
        [100, 0, 0],
        [0, 100, 0],
        [0, 0, 100],
        [34, 33, 33],
        [70, 15, 15],
        [15, 70, 15],
        [15, 15, 70],
        [0, 50, 50],
        [60, 25, 15],
        [100, 0, 0],
    ],
    repeats: [(10, 0), (11, 2)],
};

/// Another key to the same codes: other wines, other ratios, other glasses that are the same.
const OTHER_KEY: Key = Key {
    wines: ["0401", "T1", "KW"],
    shares: [
        [5, 5, 90],
        [10, 0, 90],
        [15, 5, 80],
        [20, 10, 70],
        [25, 15, 60],
        [30, 20, 50],
        [35, 25, 40],
        [40, 30, 30],
        [5, 5, 90],
        [45, 35, 20],
        [50, 40, 10],
        [35, 25, 40],
    ],
    repeats: [(8, 0), (11, 6)],
};

/// The fact that sets the trial: three tasters, two flights of six glasses each, every taster's in an order of its own.
fn set(key: &Key) -> String {
    let glass = |(index, shares): (usize, &[u32; 3])| {
        let ppm: Vec<String> = shares.iter().map(|share| (share * 10_000).to_string()).collect();
        let repeat = key.repeats.iter().find(|(repeat, _)| *repeat == index);
        let repeat = repeat.map_or_else(String::new, |(_, of)| format!(r#","repeat_of":"{}""#, CODES[*of]));
        format!(r#"{{"code":"{}","shares_ppm":[{}]{repeat}}}"#, CODES[index], ppm.join(","))
    };
    let glasses: Vec<String> = key.shares.iter().enumerate().map(glass).collect();
    let flights = |turned: usize| {
        let codes: Vec<String> = (0..12).map(|index| format!(r#""{}""#, CODES[(index * 5 + turned) % 12])).collect();
        format!("[[{}],[{}]]", codes[..6].join(","), codes[6..].join(","))
    };
    let wines = key.wines.map(|wine| format!(r#"{{"vessel":"{wine}"}}"#));
    cellar::fact(
        "11-24",
        &format!(
            r#""kind":"trial_set","trial":"Cuvée 26","components":[{}],"glass_ul":50000,"glasses":[{}],"panel":["anna","ben","carla"],"servings":{{"anna":{},"ben":{},"carla":{}}},"bounds":"{} at least 5 %","seed":{}"#,
            wines.join(","),
            glasses.join(","),
            flights(0),
            flights(4),
            flights(7),
            key.wines[0],
            key.shares[0][0],
        ),
    )
}

fn set_with(key: &Key) -> Walk {
    let before = Walk::small();
    cellar::record(before.path(), &[set(key)]);
    let mut walk = before.reopened();
    walk.keep_cellar_of(before);
    walk
}

/// At the glasses of the first taster.
pub fn tasting() -> Walk {
    let mut walk = set_with(&KEY);
    walk.press(":bench enter enter");
    walk
}

fn trial(walk: &Walk) -> &Trial {
    walk.model.state.trials.by_label("Cuvée 26").unwrap()
}

fn page(walk: &Walk) -> &RatingPage {
    walk.model.page().unwrap()
}

fn spot(walk: &Walk) -> (usize, usize, usize) {
    let Spot { taster, flight, glass } = page(walk).spot;
    (taster, flight, glass)
}

/// What is known of a taster's glass: score, rank, words.
fn known(walk: &Walk, taster: &str, code: &str) -> Option<(Option<f64>, Option<f64>, String)> {
    let rating = trial(walk).ratings().find(|it| it.taster.as_str() == taster && it.code.to_string() == code)?;
    let text = rating.text.as_ref().map_or_else(String::new, |text| text.as_str().to_owned());
    Some((rating.score, rating.rank, text))
}

/// The keys that score what is left of a taster's flight.
fn scores(count: usize) -> String {
    (0..count).map(|index| format!("`{}.5` enter", 10 + index)).collect::<Vec<_>>().join(" ")
}

#[test]
fn the_bench_lists_trials_before_the_barrels() {
    let mut walk = set_with(&KEY);
    walk.press(":bench");
    keep(&walk, "trial-bench");
    walk.press("down enter");
    assert!(walk.model.page::<Glasses>().is_some());
    walk.press("esc :bench");
    assert!(walk.text(80, 24).contains("▸ Barrels blind: go on with the glasses that stand, 10 to taste"));
    walk.press("enter esc :bench up enter");
    assert!(walk.model.page::<TrialPage>().is_some());
}

#[test]
fn a_trial_is_found_by_its_name() {
    let mut walk = set_with(&KEY);
    walk.press("/ `cuv`");
    assert!(walk.text(80, 24).contains("trial, 36 of 36 missing "), "{}", walk.text(80, 24));
    walk.press("enter");
    keep_both(&walk, "trial-page");
}

#[test]
fn a_cellar_that_is_only_read_shows_its_trials_and_takes_nothing() {
    let mut walk = set_with(&KEY);
    walk.model.read_only = Some("This cellar is open for reading only. Open it where it may be written.".to_owned());
    walk.press(":bench");
    assert!(!walk.text(80, 24).contains("Barrels blind"));
    walk.press("enter enter");
    assert!(walk.said().starts_with("This cellar is open for reading only."), "{}", walk.said());
    walk.press("v");
    assert!(walk.said().starts_with("This cellar is open for reading only."), "{}", walk.said());
}

#[test]
fn a_flight_is_entered_corrected_and_left_for_the_next() {
    let mut walk = tasting();
    keep(&walk, "trial-flight-empty");
    walk.press("`14.5 plum, a little closed` enter");
    assert_eq!((walk.said(), spot(&walk)), ("anna: 417 is rated.", (0, 0, 1)));
    assert_eq!(walk.facts().len(), 1);
    let fact = walk.facts().remove(0);
    assert!(fact.starts_with("glass_rated ") && fact.contains(r#""code":"417","flight":1,"score":14.5"#), "{fact}");
    walk.press("`12` enter `9 hard, green` enter up up `15`");
    keep(&walk, "trial-flight-under-way");
    // A number alone corrects the number and keeps the words; words alone keep the number.
    walk.press("enter enter up up up `16` enter enter");
    assert_eq!(known(&walk, "anna", "417"), Some((Some(16.0), None, "plum, a little closed".to_owned())));
    walk.press("up `round` enter enter");
    assert_eq!(known(&walk, "anna", "087"), Some((Some(9.0), None, "round".to_owned())));
    walk.press(&scores(3));
    assert!(walk.said().ends_with("Flight 1 is done; enter goes on to flight 2."), "{}", walk.said());
    walk.press("enter");
    assert_eq!(spot(&walk), (0, 1, 0));
    walk.press(&scores(6));
    assert!(walk.said().ends_with("Flight 2 is done; enter goes on to flight 1 of ben."), "{}", walk.said());
    walk.press("enter");
    assert_eq!((spot(&walk), walk.said()), ((1, 0, 0), "Now ben."));
}

#[test]
fn several_tasters_are_entered_in_turn_and_the_missing_are_come_back_to() {
    let mut walk = tasting();
    walk.press(&scores(2)).press("right").press(&scores(3)).press("right page-down").press(&scores(6));
    assert_eq!(spot(&walk), (2, 1, 5));
    keep(&walk, "trial-flight-done");
    walk.press("enter");
    assert_eq!(spot(&walk), (0, 0, 2));
    walk.press("left");
    assert!(walk.said().starts_with("There is no further taster there."), "{}", walk.said());
    walk.press("page-up");
    assert!(walk.said().starts_with("This taster has no further flight there."), "{}", walk.said());
    walk.press("esc");
    keep(&walk, "trial-page-under-way");
}

#[test]
fn ranks_are_given_with_ties_and_keep_the_scores() {
    let mut walk = tasting();
    walk.press("`14 plum` enter up tab `2=` enter `2` enter `1 the best` enter `4.5` enter `4.5` enter `6` enter");
    assert_eq!(known(&walk, "anna", "417"), Some((Some(14.0), Some(2.0), "plum".to_owned())));
    assert!(walk.said().contains("Flight 1 is done"), "{}", walk.said());
    keep(&walk, "trial-flight-ranks");
    // The next flight and the next program go on with ranks.
    walk.press("enter");
    assert_eq!(page(&walk).scale, Scale::Rank);
    walk.press("`1` enter");
    let mut again = walk.reopened();
    again.press(":bench enter enter");
    assert_eq!((spot(&again), page(&again).scale), ((0, 1, 1), Scale::Rank));
    // Ranks of one flight and scores of the next are kept apart.
    again.press("page-up");
    assert_eq!(page(&again).scale, Scale::Score);
}

#[test]
fn a_glass_goes_by_its_code_and_is_corrected_when_asked_twice() {
    let mut walk = tasting();
    walk.press("`862 11 green` enter");
    assert_eq!((known(&walk, "anna", "862").unwrap().0, spot(&walk)), (Some(11.0), (0, 0, 0)));
    walk.press("`862 13` enter");
    assert_eq!(
        walk.said(),
        "The glass 862 is rated, 11, already: what is written takes its place. Press the same key again to confirm."
    );
    assert_eq!((known(&walk, "anna", "862").unwrap().0, page(&walk).line.as_str()), (Some(11.0), "862 13"));
    walk.press("enter");
    assert_eq!(known(&walk, "anna", "862"), Some((Some(13.0), None, "green".to_owned())));
    walk.press("`051` enter");
    assert_eq!(trial(&walk).tasters()[0].flights[page(&walk).spot.flight][page(&walk).spot.glass].to_string(), "051");
}

/// The cursor stays at the last glass of a flight; a number that comes then is no silent correction of it.
#[test]
fn after_the_last_glass_a_further_number_asks_before_it_writes_over() {
    let mut walk = tasting();
    for score in ["11", "12", "13", "14", "15", "16"] {
        walk.press(&format!("`{score}` enter"));
    }
    assert!(walk.said().contains("Flight 1 is done"), "{}", walk.said());
    let entered = walk.facts().len();
    walk.press("`12.5` enter");
    assert!(walk.said().contains(" is rated, 16, already: what is written takes its place."), "{}", walk.said());
    assert_eq!(walk.facts().len(), entered);
    walk.press("enter");
    assert_eq!(walk.facts().len(), entered + 1);
    // Words where none stood are no writing over.
    walk.press("`12.5 green` enter enter `green, hard` enter");
    assert!(walk.said().contains("what is written takes its place"), "{}", walk.said());
}

#[test]
fn what_cannot_be_taken_is_a_sentence_and_stays_written() {
    for (turned, line, sentence) in [
        ("", "21 points", "A score lies between 0 and 20; 21 does not. Check the score."),
        ("", "-1", "A score lies between 0 and 20; -1 does not."),
        ("", "1x4 plum", "'1x4' is no score. Write the score first, like 14.5 plum, a little closed."),
        ("", "2=", "'2=' is a rank that glasses share, and scores are written here."),
        ("", "plum", "No score stands before the words, as in 14.5 plum, a little closed: the words would"),
        ("", "418 14", "anna has no glass 418. Check the code, and the taster. This flight has 417, 305, 087, 862"),
        ("", "418", "anna has no glass 418."),
        ("tab", "0", "A rank of 0 is out of range. It lies between 1 and 6, the glasses that are ranked."),
        ("tab", "7", "A rank of 7 is out of range."),
        ("tab", "2==", "'2==' is no rank. Write the rank first, like 2 plum, a little closed."),
    ] {
        let mut walk = tasting();
        walk.press(turned).press(&format!("`{line}` enter"));
        assert!(walk.said().starts_with(sentence), "{line}: {}", walk.said());
        assert_eq!((page(&walk).line.as_str(), walk.facts().len()), (line, 0), "{line}");
        // Up takes back what was refused, to be written on; it is no glass that is left then.
        walk.press("up up");
        assert_eq!(walk.said(), "What is written is not taken yet: enter takes it, esc clears it.");
        assert_eq!(page(&walk).line, line);
    }
    let mut walk = tasting();
    walk.press("`418 14` enter");
    keep(&walk, "trial-flight-wrong-code");
    walk.press("esc `plum` enter enter");
    assert_eq!(known(&walk, "anna", "417"), Some((None, None, "plum".to_owned())));
}

#[test]
fn nothing_is_lost_when_the_program_is_killed() {
    let mut walk = tasting();
    walk.press(&scores(6)).press("enter").press(&scores(2)).press("`13 half a li`");
    // Nothing is said to the program: another one opens the same file.
    let mut again = walk.reopened();
    again.press(":bench enter enter");
    assert_eq!((spot(&again), trial(&again).ratings().len()), ((0, 1, 2), 8));
}

#[test]
fn ratings_are_taken_back_and_given_back() {
    let mut walk = tasting();
    walk.press("delete");
    assert!(walk.said().starts_with("Nothing was entered since this page was opened."), "{}", walk.said());
    walk.press(&scores(2)).press("`9`").press("delete");
    assert_eq!((walk.said(), spot(&walk)), ("Undone: Cuvée 26: glass 305 rated by anna, 11.5.", (0, 0, 1)));
    assert_eq!((known(&walk, "anna", "305"), page(&walk).line.as_str()), (None, "9"));
    walk.take(Message::Paste("\nplum\tlong".to_owned()));
    assert_eq!(page(&walk).line, "9 plum long");
    walk.press("esc delete delete");
    assert_eq!((spot(&walk), trial(&walk).ratings().len()), ((0, 0, 0), 0));
    assert!(walk.said().starts_with("Nothing was entered"), "{}", walk.said());
    walk.press("`14` enter up `15` enter enter esc esc u");
    assert_eq!(
        (walk.said(), known(&walk, "anna", "417").unwrap().0),
        ("Undone: Cuvée 26: glass 417 rated by anna, 15.", Some(14.0))
    );
    walk.press("y");
    assert_eq!((walk.is_on_floor(), known(&walk, "anna", "417").unwrap().0), (true, Some(15.0)));
}

#[test]
fn what_another_program_enters_is_seen_and_what_is_written_stays() {
    let mut walk = tasting();
    walk.press("`14 pl`");
    let rated = r#""kind":"glass_rated","trial":"Cuvée 26","taster":"anna","code":"305","score":11"#;
    cellar::record(walk.path(), &[cellar::fact("11-25", rated).replace("T07", "T06")]);
    walk.take(Message::Changed);
    assert_eq!((page(&walk).line.as_str(), known(&walk, "anna", "305").unwrap().0), ("14 pl", Some(11.0)));
    let revealed = cellar::fact("11-25", r#""kind":"trial_revealed","trial":"Cuvée 26""#).replace("T07:00", "T06:30");
    cellar::record(walk.path(), &[revealed]);
    walk.take(Message::Changed);
    walk.press("enter");
    assert!(walk.said().starts_with("'Cuvée 26' is revealed, and nothing is rated after it."), "{}", walk.said());
    assert_eq!(page(&walk).line, "14 pl");
}

#[test]
fn it_is_revealed_when_asked_and_for_good() {
    let mut walk = tasting();
    walk.press(&scores(6)).press("esc v");
    keep(&walk, "trial-reveal");
    walk.press("v enter");
    assert!(trial(&walk).revealed().is_none());
    walk.press("v y v down esc v down up enter");
    assert!(trial(&walk).revealed().is_none());
    walk.press("v down enter");
    assert!(trial(&walk).revealed().is_some());
    assert_eq!((walk.said(), walk.model.said.last().unwrap().tone), ("The trial Cuvée 26 is revealed.", Tone::Done));
    walk.comes();
    keep_both(&walk, "trial-revealed");
    assert!(walk.model.page::<RevealPage>().is_some());
    walk.press("esc u");
    assert!(walk.said().contains("what was seen cannot be unseen"), "{}", walk.said());
    walk.press(":bench");
    assert!(walk.text(80, 24).contains("revealed 25 Nov 2026"), "{}", walk.text(80, 24));
}

/// The answer was meant for what was missing when it was asked; and what another program reveals is shown.
#[test]
fn another_programs_ratings_close_the_question_and_its_reveal_is_shown() {
    let mut walk = set_with(&KEY);
    walk.press(":bench enter v down");
    let tell = |walk: &mut Walk, rest: &str| {
        cellar::record(walk.path(), &[cellar::fact("11-25", rest).replace("T07", "T06")]);
        walk.take(Message::Changed);
    };
    tell(&mut walk, r#""kind":"glass_rated","trial":"Cuvée 26","taster":"anna","code":"305","score":11"#);
    assert!(walk.said().contains("What was asked of Cuvée 26 is not here any more"), "{}", walk.said());
    walk.press("enter");
    assert!(walk.model.page::<RatingPage>().is_some() && trial(&walk).revealed().is_none());
    walk.press("esc");
    tell(&mut walk, r#""kind":"trial_revealed","trial":"Cuvée 26""#);
    assert!(walk.model.page::<RevealPage>().is_some(), "{:?}", walk.model.pages);
    walk.press("esc");
    assert!(walk.text(80, 24).contains("It is revealed, and nothing is rated after it"), "{}", walk.text(80, 24));
    walk.press("v");
    assert!(walk.said().contains("revealed"), "{}", walk.said());
    walk.press("enter");
    assert!(walk.model.page::<RevealPage>().is_some());
    walk.press("esc");
    assert!(walk.is_on_floor());
}

#[test]
fn a_trial_that_is_taken_back_leaves_the_floor() {
    let mut walk = set_with(&KEY);
    walk.press("u");
    assert!(walk.said().starts_with("Undone: trial Cuvée 26 is set"), "{}", walk.said());
    walk.press(":bench");
    assert!(!walk.text(80, 24).contains("Cuvée"));
}

#[test]
fn at_every_size() {
    for keys in [
        ":bench",
        ":bench enter",
        ":bench enter v",
        ":bench enter enter",
        ":bench enter enter `14 plum`",
        ":bench enter v down enter",
    ] {
        let mut walk = set_with(&KEY);
        walk.press(keys);
        every_size(|frame| walk.model.draw(frame));
    }
}

/// What is drawn, without the digest: that alone may differ between two keys.
fn drawn_without_digest(walk: &Walk) -> [String; 2] {
    // Keys may also take the whole trial back; then there is no digest to be seen.
    let digest = walk.model.state.trials.by_label("Cuvée 26").map(|trial| trial.digest().to_owned());
    let blank = |text: String| digest.iter().fold(text, |text, digest| text.replace(digest, "(digest)"));
    [(80, 24), (160, 48)].map(|(width, height)| blank(walk.text(width, height)))
}

/// Two cellars that differ in the key alone.
fn both() -> [Walk; 2] {
    [set_with(&KEY), set_with(&OTHER_KEY)]
}

#[track_caller]
fn assert_blind(walks: &[Walk; 2], after: &str) {
    let [one, other] = walks.each_ref().map(drawn_without_digest);
    assert_eq!(one, other, "after {after} the screen tells of the key");
}

#[test]
fn no_page_of_an_open_trial_tells_what_a_code_is() {
    let mut walks = both();
    let pages = [
        ":bench",
        "enter",
        "down",
        "page-down",
        "v",
        "esc",
        "enter",
        "`14.5 plum` enter",
        "`305 12` enter",
        "`305 12` enter",
        "enter",
        "tab `2=` enter",
        "delete",
        "page-down",
        "right",
        "`21` enter",
        "esc",
        "`417` enter",
        "esc",
        "v",
        "esc",
        "esc",
        "/ `cuv`",
        "enter",
        "esc",
        "/ `trial`",
        "esc",
        ":messages",
        "esc",
        "?",
        "esc",
        "u",
        "y",
        "i",
        "esc",
        "`T1` enter",
        "`0401` enter",
        "d",
        "esc",
        ":bench down",
        "esc",
        ":messages",
        "esc",
    ];
    for keys in pages {
        for walk in &mut walks {
            walk.press(keys);
        }
        assert_blind(&walks, keys);
    }
    // It can fail: once it is revealed the pages differ.
    for walk in &mut walks {
        walk.press(":bench enter v down enter").comes();
    }
    let [one, other] = walks.each_ref().map(drawn_without_digest);
    assert!(one[0] != other[0] && one[1] != other[1]);
}

fn any_key() -> impl Strategy<Value = KeyEvent> {
    let code = prop_oneof![
        6 => prop::sample::select(vec![
            KeyCode::Enter, KeyCode::Up, KeyCode::Down, KeyCode::Left, KeyCode::Right, KeyCode::PageUp, KeyCode::PageDown,
            KeyCode::Tab, KeyCode::Backspace, KeyCode::Delete, KeyCode::Esc,
        ]),
        6 => prop::sample::select("0123456789.= ".chars().map(KeyCode::Char).collect::<Vec<_>>()),
        3 => prop::sample::select("=/v?liudaz".chars().map(KeyCode::Char).collect::<Vec<_>>()),
    ];
    code.prop_map(|code| KeyEvent::new(code, KeyModifiers::NONE))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8, max_shrink_iters: 100, ..ProptestConfig::default() })]

    /// Whatever is pressed, short of revealing it, the screens of two keys stay the same; and what is shown is on disk.
    #[test]
    fn no_keys_in_any_order_tell_of_the_key(keys in prop::collection::vec(any_key(), 1..80)) {
        let mut walks = both();
        for walk in &mut walks {
            walk.press(":bench enter enter");
        }
        for key in keys {
            // Short of that: nobody says yes.
            if key.code == KeyCode::Enter && walks[0].model.page::<RevealQuestion>().is_some() {
                continue;
            }
            for walk in &mut walks {
                walk.take(Message::Key(key));
            }
            let [one, other] = walks.each_ref().map(drawn_without_digest);
            prop_assert_eq!(one, other);
        }
        for walk in &walks {
            prop_assert!(walk.reopened().model.state == walk.model.state);
        }
    }
}
