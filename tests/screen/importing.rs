//! A spreadsheet on the screen: named, understood, asked about, taken in and taken back; and the same as by the command.

use std::path::Path;
use std::process::Command;

use barrelwalk::desk::{Access, Desk};
use barrelwalk::tui::floor::importing::FileLine;
use barrelwalk::tui::floor::importing::understood::SpreadsheetPage;

use crate::pictures::{keep, keep_both};
use crate::walk::Walk;

const BARRELS: &str =
    "Barrel;Capacity (L);Oak;Year;Place;Lot\n0181;225;Allier;2024;A-01-1-a;M26\n0182;228,5;Vosges;2024;A-01-1-b;M26\n";

/// A walk through an empty cellar with a file beside it, whose page is open.
fn opened(name: &str, bytes: &[u8]) -> Walk {
    let mut walk = Walk::empty();
    read(&mut walk, name, bytes);
    walk
}

/// Names a file on the line and reads it.
fn read(walk: &mut Walk, name: &str, bytes: &[u8]) {
    let file = walk.path().parent().unwrap().join(name);
    std::fs::write(&file, bytes).unwrap();
    walk.press("esc :spreadsheet");
    assert!(walk.model.page::<FileLine>().is_some(), "{}", walk.text(80, 24));
    walk.press(&format!("`{}` enter", file.display())).comes();
}

fn page(walk: &Walk) -> bool {
    walk.model.page::<SpreadsheetPage>().is_some()
}

#[test]
fn it_is_named_understood_answered_taken_in_and_taken_back() {
    let mut walk = Walk::empty();
    walk.press("end enter");
    keep_both(&walk, "spreadsheet-nothing");
    walk.press("enter");
    assert_eq!(walk.said(), "Type where the file lies first.");
    walk.press("esc esc");
    read(&mut walk, "barrels.csv", BARRELS.as_bytes());
    assert!(page(&walk), "{}", walk.said());
    keep_both(&walk, "spreadsheet-question");
    walk.press("`long` enter").comes();
    // The next question is gone to, and answered where it stands.
    walk.press("right").comes();
    keep_both(&walk, "spreadsheet-understood");
    walk.press("tab");
    keep_both(&walk, "spreadsheet-preview");
    walk.press("enter");
    assert_eq!(walk.said(), "5 facts entered.");
    keep_both(&walk, "spreadsheet-done");
    assert_eq!(walk.model.state.vessels.len(), 2);
    walk.press("u").comes();
    assert_eq!((walk.model.state.vessels.len(), walk.model.state.rooms.len()), (0, 0));
    walk.press("enter");
    assert_eq!(walk.said(), "5 facts entered.");
    // The wine comes of the same file.
    walk.press("enter");
    assert_eq!(walk.said(), "Enter reads the same file as a list of wine.");
    walk.press("enter").comes();
    assert!(page(&walk));
    assert!(walk.text(80, 24).contains("lists                wine"), "{}", walk.text(80, 24));
}

#[test]
fn lines_that_cannot_be_taken_are_named_and_the_good_ones_kept_if_so_wished() {
    let text = "Barrel;Litres;Oak\nB1;225;Allier\nB2;much;Allier\n;225;Vosges\nB1;225;Allier\n";
    let mut walk = opened("barrels.csv", text.as_bytes());
    walk.press("enter");
    assert!(walk.said().starts_with("3 lines cannot be taken, so nothing is entered."), "{}", walk.said());
    keep_both(&walk, "spreadsheet-refused");
    walk.press("tab");
    keep(&walk, "spreadsheet-refused-lines");
    walk.press("esc right enter");
    assert_eq!(walk.said(), "1 fact entered.");
    keep(&walk, "spreadsheet-refused-done");
}

#[test]
fn what_cannot_be_read_is_said_and_the_line_stays() {
    let mut walk = Walk::empty();
    let folder = walk.path().parent().unwrap().to_owned();
    walk.press(&format!("end enter `{}/nowhere.csv` enter", folder.display())).comes();
    assert!(walk.said().contains("nowhere.csv could not be read: there is no such file."), "{}", walk.said());
    walk.press(&format!("esc `{}` enter", folder.display())).comes();
    assert!(walk.said().ends_with("is a folder. Name the file in it."), "{}", walk.said());
    std::fs::write(folder.join("strange.bin"), [0x7f, b'E', b'L', b'F', 0, 1, 2, 0, 0, 3]).unwrap();
    walk.press(&format!("esc `{}/str` tab", folder.display())).comes();
    walk.press("enter").comes();
    assert!(walk.said().contains("It is no text and no workbook"), "{}", walk.said());
    assert!(walk.model.page::<FileLine>().is_some());
    // What comes of a file that is not meant any more opens nothing.
    std::fs::write(folder.join("barrels.csv"), BARRELS).unwrap();
    walk.press(&format!("esc `{}/barrels.csv` enter `x`", folder.display())).comes();
    assert!(walk.model.page::<FileLine>().is_some());
}

#[test]
fn everything_that_was_found_can_be_said_otherwise() {
    let mut walk = opened("strange.csv", b"Tag;Holds;Oak;Year\nA1;225,5;Allier;2024\nA2;230,5;Allier;2024\n");
    // What it lists is not told by its head alone, or it is: either way it can be changed.
    assert!(walk.text(80, 24).contains("lists                barrels"), "{}", walk.text(80, 24));
    keep(&walk, "spreadsheet-column");
    // 'Holds' is what each holds.
    walk.press("esc");
    walk.press("enter").comes();
    walk.press("enter");
    assert_eq!(walk.said(), "What is asked here is answered first: every capacity.");
    walk.press("down down `cap`");
    keep(&walk, "spreadsheet-column-typed");
    walk.press("enter").comes();
    assert!(walk.text(80, 48).contains("2 facts would be entered"), "{}", walk.text(80, 48));
    // By left and right too: what is not taken in comes before the first field.
    walk.press("home down down down down down down");
    assert!(
        walk.text(80, 48).lines().any(|line| line.contains('▸') && line.contains("'Holds'")),
        "{}",
        walk.text(80, 48)
    );
    walk.press("left").comes();
    assert!(walk.text(80, 48).contains("'Holds'              type"), "{}", walk.text(80, 48));
    walk.press("right").comes();
    assert!(walk.text(80, 48).contains("2 facts would be entered"), "{}", walk.text(80, 48));
    // And kept for the next one.
    walk.press("end right enter").comes();
    assert_eq!(walk.said(), "2 facts entered. What was said of it is kept in strange.barrels.mapping.json.");
    walk.press("enter esc");
    read(&mut walk, "next.csv", b"Tag;Holds;Oak;Year\nA3;225,5;Allier;2024\n");
    assert!(walk.text(80, 24).contains("yes, strange.barrels.mapping.json"), "{}", walk.text(80, 24));
    walk.press("enter");
    assert_eq!(walk.said(), "1 fact entered.");
}

#[test]
fn what_surprises_is_asked_once_and_the_same_key_says_that_it_is_so() {
    let mut walk = Walk::small();
    read(&mut walk, "lab.csv", b"Date;Barrel;pH;TA\n03/11/2026;W-01;3.4;5.9\n20/11/2026;W-02;4.9;6.1\n");
    // The order of the dates is told by the whole column; as which acid the acidity is given is not.
    walk.press("right").comes();
    let text = walk.text(80, 24);
    assert!(text.contains("dates                day before month"), "{text}");
    assert!(text.contains("acidity as           tartaric"), "{text}");
    walk.press("enter");
    assert!(walk.said().ends_with("Press the same key again to confirm."), "{}", walk.said());
    assert!(walk.facts().is_empty());
    walk.press("enter");
    assert_eq!(walk.said(), "2 facts entered.");
    // And the same file again adds nothing.
    walk.press("enter enter").comes();
    walk.press("right").comes();
    walk.press("enter");
    assert!(walk.said().starts_with("Nothing of it is new."), "{}", walk.said());
}

#[test]
fn of_two_columns_of_a_name_the_one_that_is_meant_is_chosen() {
    let text = include_bytes!("../spreadsheets/barrels-two-capacities.csv");
    let mut walk = opened("two.csv", text);
    keep(&walk, "spreadsheet-two-columns");
    walk.press("right enter").comes();
    assert!(!walk.text(80, 24).contains("is to be answered first"), "{}", walk.text(80, 24));
}

/// The facts of a cellar, with all of its state in words; the name of the laptop is not among them.
fn facts(path: &Path) -> (Vec<String>, String) {
    let desk = Desk::open(path, Access::ReadOnly).unwrap();
    let mut facts = Vec::new();
    desk.export(None, &mut |line| {
        facts.push(format!("{} {} {}", line.kind, line.by, line.body));
        Ok(())
    })
    .unwrap();
    let device = desk.device().to_string();
    (facts, format!("{:?}", desk.state()).replace(&device, "laptop"))
}

#[test]
fn the_page_and_the_command_enter_the_same_of_the_same_file() {
    let mut walk = opened("barrels.csv", BARRELS.as_bytes());
    walk.press("`long` enter").comes();
    walk.press("right").comes();
    walk.press("enter");
    assert_eq!(walk.said(), "5 facts entered.");
    let other = Walk::empty();
    let file = walk.path().parent().unwrap().join("barrels.csv");
    let told = Command::new(env!("CARGO_BIN_EXE_barrelwalk"))
        .args(["--cellar", &other.path().to_string_lossy(), "import", "barrels", &file.to_string_lossy()])
        .args(["--set", "room=long", "--lay-out", "--by", "mk", "--at", "2026-11-25T06:41:00+01:00"])
        .output()
        .unwrap();
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
    let (one, other) = (facts(walk.path()), facts(other.path()));
    assert_eq!(one.0, other.0);
    assert!(one.1 == other.1, "{}\n{}", one.1, other.1);
}
