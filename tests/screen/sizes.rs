//! Every screen and everything that lies on top, at every size a terminal may have.

use barrelwalk::desk::Access;
use barrelwalk::tui::edge::screen::Screen;
use barrelwalk::tui::floor::colouring::Colouring;

use crate::cellar::morning;
use crate::support::sizes::every_size;
use crate::walk::Walk;

/// Draws at every size; what is drawn outside the frame panics in the buffer.
fn draw_everywhere(walk: &Walk) {
    every_size(|frame| walk.model.draw(frame));
}

#[test]
fn before_the_cellar_is_open_and_when_it_is_empty() {
    draw_everywhere(&Walk::at("nowhere".into(), Access::ReadWrite, morning));
    draw_everywhere(&Walk::empty());
}

#[test]
fn the_floor_in_every_colouring() {
    let mut walk = Walk::small();
    walk.press("b enter enter space s r");
    for _ in Colouring::ALL {
        draw_everywhere(&walk);
        walk.press("c");
    }
}

#[test]
fn the_pictures_of_a_barrel_and_a_room() {
    let small = ["p", ":room-picture", "`0419` enter p", "tab :room-picture down down", "`0501` enter p"]
        .map(|keys| (Walk::small(), keys));
    for (mut walk, keys) in small.into_iter().chain([(Walk::demo(), "p")]) {
        walk.press(keys).comes();
        draw_everywhere(&walk);
    }
}

#[test]
fn the_page_of_a_barrel_down() {
    for keys in ["", "`new>=30%` enter", "`oak` enter", "tab enter enter", "enter", "page-down page-down"] {
        let mut walk = Walk::small();
        walk.press("/ `T1` enter d enter").comes();
        walk.press(keys);
        draw_everywhere(&walk);
    }
}

#[test]
fn the_pages_of_the_finish() {
    for keys in [
        "/ `T1` enter :bench down down enter",
        "/ `T1` enter :bench down down enter enter `0.5: clear, 8 NTU, 14` enter up enter enter enter `give` enter `24-118` enter",
        "/ `T1` enter d down enter `900, lees 20, empty`",
        "/ `KW` enter d down enter tab",
        ":ledger tab tab tab",
    ] {
        let mut walk = Walk::small();
        walk.press(keys);
        if keys.starts_with(":ledger") {
            draw_everywhere(&walk);
            walk.comes();
        }
        draw_everywhere(&walk);
    }
}

#[test]
fn everything_that_lies_on_top() {
    for keys in [
        "/",
        "/ `41` down down",
        "b down",
        "b enter enter space s z",
        "t `14 plum`",
        "?",
        "? down down down",
        "b enter enter e n e l",
        "m",
        "m tab",
        "`0404` enter",
        "`K2` enter",
        "b enter enter `1.`",
        "b enter enter `K9` enter",
        "/ `T1` enter :checklist",
        "/ `T1` enter :checklist down down s `film`",
        "/ `T1` enter :bottle",
        "/ `T1` enter :bottle tab `1` down",
        "/ `T1` enter :bottle tab down down down `9` down down down down down down down down down down down down enter",
    ] {
        let mut walk = Walk::small();
        walk.press(keys);
        draw_everywhere(&walk);
    }
}
