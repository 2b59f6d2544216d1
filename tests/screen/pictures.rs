//! Pictures of every screen and everything that lies on top, kept beside this file.

use barrelwalk::desk::Access;
use barrelwalk::tui::core::marks::{ASCII, UNICODE};
use barrelwalk::tui::core::theme::Palette;
use barrelwalk::tui::edge::screen::Message;
use barrelwalk::tui::floor::colouring::Colouring;

use crate::cellar::{LONG_LABEL, WIDE_LABEL, morning};
use crate::lots::tested;
use crate::picture::{Told, picture};
use crate::walk::{Walk, looks};

/// The terminal of the aisle, and the one at the desk.
const SMALL: (u16, u16) = (80, 24);
const WIDE: (u16, u16) = (160, 48);

/// Keeps a picture of a walk in the terminal of the aisle, and sees that the one at the desk takes it. The name of the session's file is
/// not in it, nor is any random name.
pub fn keep(walk: &Walk, name: &str) {
    keep_at(walk, name, SMALL);
    walk.drawn(WIDE.0, WIDE.1);
}

/// Keeps a picture of a walk in both terminals, where they lay it out otherwise.
pub fn keep_both(walk: &Walk, name: &str) {
    keep_at(walk, name, SMALL);
    keep_at(walk, name, WIDE);
}

/// Keeps a picture of a walk at one size.
pub fn keep_at(walk: &Walk, name: &str, size: (u16, u16)) {
    keep_looks(walk, name, size, Told::Telling);
}

/// Keeps a picture of which all looks are told, where the test is about them.
pub fn keep_looks(walk: &Walk, name: &str, (width, height): (u16, u16), told: Told) {
    let picture = picture(&walk.drawn(width, height), walk.model.looks.theme, told);
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!(format!("{name}-{width}x{height}"), picture);
    });
}

fn pressed(notation: &str) -> Walk {
    let mut walk = Walk::small();
    walk.press(notation);
    walk
}

#[test]
fn opening() {
    let walk = Walk::at("nowhere".into(), Access::ReadWrite, morning);
    keep_both(&walk, "opening");
}

#[test]
fn floor_in_every_colouring() {
    let mut walk = Walk::small();
    for colouring in Colouring::ALL {
        assert_eq!(walk.colouring(), colouring);
        keep_looks(&walk, &format!("floor-{}", colouring.title().replace(' ', "-")), SMALL, Told::All);
        walk.press("c");
    }
    assert_eq!(walk.colouring(), Colouring::Days);
}

#[test]
fn the_demo_with_its_round_under_way() {
    let mut walk = Walk::demo();
    keep_both(&walk, "demo-opened");
    walk.press("space space r");
    keep(&walk, "demo-claim-asked");
    walk.press("r s c c");
    keep(&walk, "demo-round");
    walk.press("z");
    keep(&walk, "demo-summary");
}

#[test]
fn round_under_way() {
    let mut walk = pressed("b enter enter");
    keep(&walk, "round-begun");
    walk.press("space s `2.4` enter r `0.5p` enter");
    keep_both(&walk, "round-under-way");
    walk.press("`1.2`");
    keep(&walk, "round-typing");
    walk.press("backspace backspace backspace `6.1` enter");
    keep(&walk, "round-improbable");
}

#[test]
fn walk_from_group_to_group() {
    let mut walk = Walk::mixed();
    walk.press(&format!("b enter enter {}", "s ".repeat(32)));
    keep(&walk, "walk-to-white");
    walk.press("x enter `0.1` enter");
    keep(&walk, "walk-to-suspect");
}

#[test]
fn leaks() {
    let mut walk = Walk::demo();
    walk.press("`0381` enter");
    keep(&walk, "leak");
    walk.press("m");
    keep(&walk, "leak-plan");
    walk.model.looks = looks(Palette::Mono, &ASCII);
    keep(&walk, "leak-ascii");
}

#[test]
fn cards() {
    keep_both(&pressed("`0402` enter"), "card-barrel");
    keep(&pressed("`0404` enter"), "card-held");
    keep(&pressed(&format!("/ `{LONG_LABEL}` enter")), "card-long-label");
    keep(&pressed(&format!("/ `{WIDE_LABEL}` enter")), "card-wide-label");
    keep(&pressed("`T1` enter"), "card-tank");
    keep(&pressed("`K2` enter"), "card-keg");
    keep(&pressed("`0419` enter"), "card-empty-barrel");
    keep(&pressed("`A-04-3-b` enter"), "card-no-barrel");
    keep(&pressed("`0501` enter"), "card-no-place");
    keep(&pressed("tab"), "room-of-four-sides");
}

#[test]
fn find_box() {
    keep_both(&pressed("/"), "find");
    keep(&pressed("/ `41` down"), "find-typed");
    keep(&pressed("/ `nothing like it`"), "find-nothing");
}

#[test]
fn source_choice() {
    keep_both(&pressed("b"), "source-begin");
    keep(&pressed("b enter enter r x down"), "source-change");
    // What the round does to the lots stands below on a small terminal, and page down goes there.
    let mut walk = pressed("b");
    walk.take(crate::walk::resized(80, 16));
    assert!(!walk.text(80, 16).contains("What it does to the lots"), "{}", walk.text(80, 16));
    walk.press("page-down");
    assert!(walk.text(80, 16).contains("What it does to the lots"), "{}", walk.text(80, 16));
    keep_at(&walk, "source-lots", (80, 16));
    let mut walk = Walk::demo();
    walk.press("z enter b");
    keep(&walk, "source-demo");
    walk.press("page-down");
    keep(&walk, "source-demo-lots");
}

#[test]
fn words() {
    keep(&pressed("t `14.5 plum, a little closed`"), "words-taste");
    keep(&pressed("t"), "words-taste-begun");
    keep(&pressed("t `15 pl ta v`"), "words-taste-near");
    keep(&pressed("t `9 pl va ox`"), "words-taste-fault");
    keep(&pressed("t `9 va` enter"), "hold-offered");
    keep(&pressed("g `30 mm`"), "words-gauge");
    keep(&pressed("h"), "words-hold");
    keep(&pressed(&format!("/ `{LONG_LABEL}` enter w `{}`", "a long note ".repeat(12))), "words-long");
}

#[test]
fn blind_at_the_bench() {
    keep(&pressed(":bench"), "bench-pick");
    let mut walk = pressed("`0401` enter + `0402` enter + `0405` enter +");
    keep(&walk, "bench-chosen");
    walk.press(":bench `15 pl` enter `9 br, thin`");
    keep(&walk, "bench-blind");
    walk.press("enter `16.5 ta` enter enter enter");
    keep_both(&walk, "bench-opened");
}

#[test]
fn pages() {
    keep_both(&pressed("?"), "help");
    // What cannot be done now is faint in it.
    keep_looks(&pressed("?"), "help-looks", SMALL, Told::All);
    keep(&pressed("? down down down down"), "help-end");
    keep(&pressed(":messages"), "messages-none");
    keep(&pressed("b enter enter space e r `K9` enter esc l"), "messages");
    keep_both(&pressed("b enter enter space s `4.4` enter z"), "summary");
}

#[test]
fn pictures_of_a_barrel_and_a_room() {
    let mut walk = Walk::demo();
    walk.press("p");
    keep(&walk, "picture-working");
    walk.comes();
    keep_both(&walk, "picture-barrel");
    walk.press("esc :room-picture").comes();
    keep_both(&walk, "picture-room");
    walk.model.looks = looks(Palette::Mono, &ASCII);
    keep(&walk, "picture-room-ascii");
    walk.press("esc p").comes();
    keep(&walk, "picture-barrel-ascii");
    let mut walk = pressed(":room-picture");
    walk.comes();
    keep(&walk, "picture-room-young");
    walk.press("esc `0419` enter p").comes();
    keep(&walk, "picture-barrel-empty");
}

#[test]
fn lineages() {
    let mut walk = Walk::demo();
    walk.press("a");
    keep(&walk, "lineage-working");
    walk.comes();
    keep_both(&walk, "lineage-vessel");
    walk.press("end");
    keep(&walk, "lineage-vessel-claims");
    walk.press("tab").comes();
    keep(&walk, "lineage-lot");
    walk.model.looks = looks(Palette::Mono, &ASCII);
    keep(&walk, "lineage-lot-ascii");
    let mut walk = pressed("`0419` enter a");
    walk.comes();
    keep(&walk, "lineage-empty");
    walk.press("tab");
    keep(&walk, "lineage-no-lot");
}

#[test]
fn a_lot_alone_and_beside_another() {
    let (_folder, mut walk) = tested();
    walk.press("i");
    keep_both(&walk, "lot");
    walk.press("page-down page-down");
    keep(&walk, "lot-below");
    walk.press("page-down page-down");
    keep(&walk, "lot-sulfur");
    walk.press("page-down page-down");
    keep(&walk, "lot-end");
    walk.model.looks = looks(Palette::Mono, &ASCII);
    keep(&walk, "lot-end-ascii");
    walk.model.looks = looks(Palette::Cave, &UNICODE);
    walk.press("home +");
    keep_both(&walk, "lot-two");
    walk.press("page-down page-down");
    keep(&walk, "lot-two-below");
    walk.press("page-down page-down page-down page-down page-down page-down");
    keep(&walk, "lot-two-end");
    walk.model.looks = looks(Palette::Mono, &ASCII);
    keep(&walk, "lot-two-ascii");
    walk.press("esc / `c26` enter");
    keep(&walk, "lot-untested-ascii");
    walk.press("j");
    keep(&walk, "lot-barrels-ascii");
}

#[test]
fn plan_of_the_room() {
    keep(&pressed("m"), "plan");
    keep(&pressed("m tab"), "plan-four-sides");
}

#[test]
fn empty_cellar() {
    let mut walk = Walk::empty();
    walk.press("esc");
    keep(&walk, "empty");
}

#[test]
fn read_only() {
    let made = Walk::small();
    let mut walk = Walk::at(made.path().to_owned(), Access::ReadOnly, morning);
    walk.take(Message::Started);
    keep(&walk, "read-only");
    walk.press("b");
    keep(&walk, "read-only-refused");
}

#[test]
fn other_looks() {
    let mut walk = pressed("b enter enter space s space");
    walk.model.looks = looks(Palette::Mono, &UNICODE);
    keep_looks(&walk, "looks-mono", SMALL, Told::All);
    walk.model.looks = looks(Palette::Aisle, &UNICODE);
    keep_looks(&walk, "looks-aisle", SMALL, Told::All);
    walk.model.looks = looks(Palette::Mono, &ASCII);
    keep_looks(&walk, "looks-ascii", SMALL, Told::All);
    walk.press("c c");
    walk.model.looks = looks(Palette::Aisle, &ASCII);
    keep_looks(&walk, "looks-aisle-ascii-lot", SMALL, Told::All);
}

#[test]
fn odd_sizes() {
    let walk = pressed("b enter enter space");
    for (width, height) in [(40, 10), (60, 16), (75, 20), (200, 60)] {
        insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
            let picture = picture(&walk.drawn(width, height), walk.model.looks.theme, Told::Telling);
            insta::assert_snapshot!(format!("size-{width}x{height}"), picture);
        });
    }
}
