//! The bins on the screen: their map, and bottles laid away, carried, let out and tasted by keys.

use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::jobs::bottles::bottling::run::Run;
use barrelwalk::tui::bottles::bins::{BinLine, Bins};
use barrelwalk::tui::bottles::run::RunPage;
use barrelwalk::tui::core::marks::ASCII;
use barrelwalk::tui::core::model::Tone;
use barrelwalk::tui::core::theme::Palette;
use barrelwalk::tui::edge::screen::Screen;

use crate::pictures::{keep, keep_at, keep_both};
use crate::support::sizes::every_size;
use crate::walk::{Walk, looks};

/// The map, with some keys pressed on it.
fn on_the_map(keys: &str) -> Walk {
    let mut walk = Walk::bottled();
    walk.press(":bins").press(keys);
    walk
}

/// How many bottles lie in a bin.
fn there(walk: &Walk, place: &str) -> u64 {
    walk.model.state.bin(&Label::new(place).unwrap()).bottles()
}

/// Not laid away, laid away, out, of all runs.
fn counts(walk: &Walk) -> (u64, u64, u64) {
    let runs = || walk.model.state.runs.iter().map(|(_, run)| run);
    (runs().map(Run::loose).sum(), runs().map(Run::lying).sum(), runs().map(Run::gone).sum())
}

#[test]
fn the_map_of_a_store() {
    let mut walk = on_the_map("");
    keep_both(&walk, "bins");
    walk.press("right right");
    keep(&walk, "bins-released");
    walk.press("down left");
    keep(&walk, "bins-mixed");
    walk.press("end up");
    keep(&walk, "bins-end-of-row");
    walk.press("tab");
    keep(&walk, "bins-elsewhere");
    walk.model.looks = looks(Palette::Mono, &ASCII);
    walk.press("tab right");
    keep(&walk, "bins-ascii");
    keep_at(&walk, "bins-narrow", (60, 16));
}

#[test]
fn what_lies_on_the_map() {
    keep(&on_the_map("c"), "bins-ready");
    keep(&on_the_map("i"), "bins-run");
    keep(&on_the_map("enter"), "bins-acts");
    keep(&on_the_map("l `L262, 100, 2027-05-01`"), "bins-line");
    keep(Walk::bottled().press("/ `L26`"), "bins-find");
}

#[test]
fn bottles_are_laid_away_carried_and_let_out_and_each_is_undone() {
    let mut walk = on_the_map("");
    let before = counts(&walk);
    assert_eq!(before, (174, 775, 11));
    walk.press("end l `L262, 100, 2027-05-01` enter");
    assert_eq!((there(&walk, "cave/A-12"), counts(&walk)), (100, (74, 875, 11)), "{}", walk.said());
    walk.press("enter enter `B-04, 60` enter");
    assert_eq!((there(&walk, "cave/A-12"), there(&walk, "cave/B-04")), (40, 60), "{}", walk.said());
    walk.press("o `12 s, The shop` enter");
    assert!(walk.said().contains("12 bottles of Terrace 26 rest until 1 May 2027."), "{}", walk.said());
    walk.press("enter");
    assert_eq!((there(&walk, "cave/A-12"), counts(&walk)), (28, (74, 863, 23)), "{}", walk.said());
    let facts = walk.facts();
    let last = facts.last().unwrap();
    assert!(last.contains(r#""why":"sold","to":"The shop","from":"cave/A-12","lot_code":"L262""#), "{last}");
    walk.press("enter 2 enter `2028-01-15` enter");
    let stock = walk.model.state.bin(&Label::new("cave/A-12").unwrap()).lying[0].stock.clone();
    assert_eq!((stock.there, stock.release.unwrap().to_string()), (28, "2028-01-15".to_owned()));
    walk.press("u u u u");
    assert_eq!(
        (counts(&walk), walk.said()),
        (before, "Undone: 100 bottles of Terrace 26 (L262) laid down in cave/A-12, may go from 2027-05-01 on.")
    );
    assert!(walk.model.page::<Bins>().is_some(), "one stays on the map");
}

#[test]
fn a_tasted_bottle_is_out_by_the_same_act() {
    let mut walk = on_the_map("");
    let (_, lying, out) = counts(&walk);
    walk.press("t `16 pl, opening up` enter");
    assert_eq!((counts(&walk).1, counts(&walk).2), (lying - 1, out + 1), "{}", walk.said());
    let run = walk.model.state.runs.by_label("Terrace 26").unwrap();
    let tasted: Vec<(Option<f64>, u32)> = run.tastes.iter().map(|taste| (taste.taste.score, taste.months())).collect();
    assert_eq!(tasted, [(Some(15.5), 1), (Some(16.0), 1)]);
    walk.press("u");
    assert_eq!((counts(&walk).1, counts(&walk).2), (lying, out));
    walk.press("down right t `15 pl` enter");
    assert!(walk.said().contains("Several lot codes lie in cave/B-02: L262, W261. Say which"), "{}", walk.said());
    walk.press("esc esc t `W261, 15 pl` enter");
    assert_eq!(there(&walk, "cave/B-02"), 73, "{}", walk.said());
}

#[test]
fn what_cannot_be_done_with_bottles_is_said_and_nothing_is_stored() {
    let mut walk = on_the_map("");
    let stored = walk.facts().len();
    for (keys, part) in [
        ("o `500 sold`", "500 bottles of 'Terrace 26' with the lot code 'L261' are to leave cave/A-01, where 399 lie"),
        ("o `sold`", "Say how many and why"),
        ("o `W261 5 sold`", "None of W261 lies in cave/A-01"),
        ("enter enter ` 20`", "Say where to"),
        ("enter enter `A-99, 20`", "Nothing lies at 'A-99' yet"),
        ("enter enter `cave/A-99, 20`", "Nothing lies at 'cave/A-99' yet"),
        ("enter 2 enter `20`", "Say from when on"),
        ("enter 2 enter `2026-02-31`", "is not a day"),
        ("enter 2 enter `2026-09-01`", "lies before the bottling of 'Terrace 26' on 2 Oct 2026"),
        ("t `21 pl`", "A score lies between 0 and 20"),
        ("t", "Nothing is written yet"),
        ("l `L262 175`", "only 150 are not laid away yet"),
        ("l `L999 10`", "Several lot codes lie in what is not laid away: L262, W261"),
    ] {
        walk.press(keys).press("enter");
        assert!(walk.said().contains(part), "{keys}: {}", walk.said());
        assert!(walk.model.page::<BinLine>().is_some(), "{keys}: the line stays");
        while walk.model.page::<Bins>().is_none() {
            walk.press("esc");
        }
    }
    walk.press("enter enter `cave/A-99, 20` enter enter");
    assert!(walk.said().contains("cave/A-99 is no bin of 'cave'"), "{}", walk.said());
    walk.press("esc esc end o");
    assert_eq!(walk.model.said.last().unwrap().tone, Tone::Refused);
    assert!(walk.said().contains("Nothing lies in cave/A-12"), "{}", walk.said());
    assert_eq!(walk.facts().len(), stored);
}

#[test]
fn a_new_place_is_asked_about_once() {
    let mut walk = on_the_map("enter enter `pallet 7, 10` enter");
    assert!(
        walk.said().contains("Nothing lies at 'pallet 7' yet: it would be a new place. Press the same key"),
        "{}",
        walk.said()
    );
    walk.press("enter");
    assert_eq!(there(&walk, "pallet 7"), 10, "{}", walk.said());
}

#[test]
fn a_bin_leads_to_the_page_of_its_run_and_that_back_to_the_bin() {
    let mut walk = on_the_map("");
    let at = walk.model.page::<Bins>().unwrap().clone();
    walk.press("i");
    assert_eq!(run_shown(&walk), "Terrace 26");
    walk.press("tab");
    assert!(walk.said().contains("There is only this one here"), "{}", walk.said());
    walk.press("esc");
    assert_eq!(walk.model.page(), Some(&at), "the map is as it was");
}

#[test]
fn a_mixed_bin_leads_to_each_of_its_runs() {
    let mut walk = on_the_map("down right i");
    assert_eq!(run_shown(&walk), "Terrace 26");
    walk.press("tab");
    assert_eq!(run_shown(&walk), "Chalk 26");
    walk.press("tab");
    assert_eq!(run_shown(&walk), "Terrace 26");
}

fn run_shown(walk: &Walk) -> &str {
    walk.model.page::<RunPage>().map_or("", |page| page.run.as_str())
}

#[test]
fn a_lot_code_leads_to_its_bins() {
    let mut walk = Walk::bottled();
    walk.press("/ `L262` enter");
    assert!(walk.said().contains("L262 lies in 2 bins, 150 bottles are not laid away"), "{}", walk.said());
    let at = |walk: &Walk| walk.model.page::<Bins>().map(|page| (page.spot().row, page.spot().bin));
    assert_eq!(at(&walk), Some((0, 2)));
    walk.press("j");
    assert_eq!(at(&walk), Some((1, 1)));
    walk.press("j");
    assert_eq!(at(&walk), Some((0, 2)));
    walk.press("esc / `cave/B-04` enter");
    assert_eq!(at(&walk), Some((1, 3)));
}

#[test]
fn the_cursor_stays_at_its_bin_when_another_program_lays_a_store_out_anew() {
    let mut walk = on_the_map("down right");
    let rows = r#""kind":"store_laid_out","store":"cave","rows":[{"row":"0","bins":3},{"row":"A","bins":12},{"row":"B","bins":4}]"#;
    crate::cellar::record(walk.path(), &[crate::cellar::fact("11-24", rows)]);
    walk.take(barrelwalk::tui::edge::screen::Message::Changed);
    let spot = walk.model.page::<Bins>().unwrap().spot();
    assert_eq!((spot.row, spot.bin), (2, 1));
}

#[test]
fn the_map_is_drawn_at_every_size() {
    for keys in ["", "c", "enter", "i", "down right i tab", "l `600`", "down right", "tab", "end"] {
        let walk = on_the_map(keys);
        every_size(|frame| walk.model.draw(frame));
    }
}

#[test]
fn where_no_bottle_was_filled_there_is_no_map() {
    let mut walk = Walk::small();
    walk.press(":bins");
    assert!(walk.said().contains("No bottles were filled yet"), "{}", walk.said());
}
