//! What a laboratory found, entered from its sheet: a figure a fact, a line a test.

use std::path::Path;
use std::process::Command;

use barrelwalk::cellar::core::fact::{Line, What};
use barrelwalk::desk::{Access, Desk};

use crate::pictures::{keep, keep_both};
use crate::walk::Walk;

/// The tests that stand in a cellar and were entered by somebody: their moment and what they say.
fn tests(path: &Path, by: &str) -> Vec<String> {
    let mut facts = Vec::new();
    let mut keep = |line: &Line| {
        facts.push((line.id.clone(), line.fact().unwrap(), format!("{} {}", line.at, line.body)));
        Ok(())
    };
    Desk::open(path, Access::ReadOnly).unwrap().export(None, &mut keep).unwrap();
    // What takes something back comes after it, and may be taken back itself.
    let (mut tests, mut back) = (Vec::new(), Vec::new());
    for (id, fact, words) in facts.into_iter().rev() {
        match fact.what {
            _ if back.contains(&id) => {}
            What::Retracted(retracted) => back.push(retracted.of),
            What::Tested(_) if fact.by.as_str() == by => tests.push(words),
            _ => {}
        }
    }
    tests.reverse();
    tests
}

/// The line of the screen that begins with a text.
fn line(walk: &Walk, begins: &str) -> String {
    let text = walk.text(160, 48);
    text.lines().map(str::trim).find(|line| line.starts_with(begins)).unwrap_or_default().to_owned()
}

#[test]
fn a_sheet_is_entered_line_by_line() {
    let mut walk = Walk::small();
    walk.press("/ `Laboratory tests`");
    keep(&walk, "results-found");
    walk.press("enter");
    keep_both(&walk, "results-opened");
    walk.press("up up up up right `Quillon` enter `3,52` enter `5.4` down down");
    keep_both(&walk, "results-stored");
    assert_eq!(tests(walk.path(), "mk").len(), 1, "a line is one test");
    walk.press("right right `240` enter");
    keep(&walk, "results-asked");
    assert!(walk.said().contains("Perhaps 24 mg/L is meant"), "{}", walk.said());
}

/// What is typed in cells, what is said in a line and what is taken in from a file is the same.
#[test]
fn the_sheet_the_command_and_the_file_enter_the_same() {
    let grid = Walk::small();
    let (by_command, by_file) = (grid.another(), grid.another());
    let run = |path: &Path, arguments: &[&str]| {
        let done = Command::new(env!("CARGO_BIN_EXE_barrelwalk"))
            .args(arguments)
            .args(["--by", "lab", "--cellar"])
            .arg(path)
            .output()
            .unwrap();
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
    };
    let lot = ["test", "W26 Chalk", "ph=3.21", "ta=6.4 tartaric", "free=24", "--lab", "Quillon", "--at", "2026-11-24"];
    run(by_command.path(), &lot);
    run(by_command.path(), &["test", "0402", "ph=3,55", "va=0.41 acetic", "--lab", "Quillon", "--at", "2026-11-24"]);
    let sheet = by_file.path().with_extension("csv");
    let rows = "Sample;Date;Lab;pH;TA (g/L tartaric);VA (g/L acetic);Free SO2 (mg/L)\n\
                W26 Chalk;24/11/2026;Quillon;3,21;6,4;;24\n0402;24/11/2026;Quillon;3,55;;0,41;\n";
    std::fs::write(&sheet, rows).unwrap();
    run(by_file.path(), &["import", "tests", sheet.to_str().unwrap()]);

    let mut grid = grid;
    grid.model.by = barrelwalk::cellar::core::label::Label::new("lab").unwrap();
    grid.press(":results home up `24 Nov` enter `Quillon` enter");
    walk_to(
        &mut grid,
        "W26 Chalk",
        &[("pH", "3.21"), ("titratable acidity", "6,4 g/L tartaric"), ("free SO2", "24 mg/L")],
    );
    walk_to(&mut grid, "0402", &[("pH", "3.55"), ("volatile acidity", "0.41 acetic")]);
    let expected = tests(by_command.path(), "lab");
    assert_eq!(expected.len(), 2);
    assert_eq!(tests(by_file.path(), "lab"), expected);
    assert_eq!(tests(grid.path(), "lab"), expected);
}

/// The words beside each test that was entered by somebody and stands.
fn notes(path: &Path) -> Vec<String> {
    let mut notes = Vec::new();
    let mut keep = |line: &Line| {
        notes.extend(line.note.as_ref().filter(|_| line.kind == "tested").map(ToString::to_string));
        Ok(())
    };
    Desk::open(path, Access::ReadOnly).unwrap().export(None, &mut keep).unwrap();
    notes
}

/// Below what a laboratory can tell the bound is kept, with the words beside it as long as they are true.
#[test]
fn less_than_can_be_told_is_kept_as_the_bound_with_its_words() {
    let mut walk = Walk::small();
    walk.press(":results");
    walk_to(&mut walk, "0404", &[("malic acid", "<0.1")]);
    assert!(
        walk.said().ends_with("malic acid 0.1 g/L. malic acid <0.1 is kept as that bound, with these words beside it."),
        "{}",
        walk.said()
    );
    assert_eq!(notes(walk.path()), ["malic acid <0.1"]);
    // Another figure of the line keeps them, and one in its place does not.
    walk_to(&mut walk, "0404", &[("lactic acid", "1.2")]);
    assert_eq!(notes(walk.path()), ["malic acid <0.1"; 2]);
    walk_to(&mut walk, "0404", &[("malic acid", "0.12")]);
    assert_eq!(notes(walk.path()), ["malic acid <0.1"; 2]);
}

#[test]
fn a_row_that_is_pasted_fills_the_cells_to_the_right() {
    use barrelwalk::tui::edge::screen::Message;
    for (row, count) in [("3,52\t5.4\t\t24", 1), ("3,52;5,4;;24", 1), ("3.52  5.4  0.41", 1), ("3,52;much", 0)] {
        let mut walk = Walk::small();
        walk.press(":results");
        walk_to(&mut walk, "0404", &[]);
        walk.press("left left left left left left left left left left left left left left");
        while !chosen(&walk, "0404", "pH") {
            walk.press("right");
        }
        walk.take(Message::Paste(row.to_owned()));
        // As which acid it is given is asked once.
        if count > 0 {
            assert!(walk.said().starts_with("As which acid"), "{}", walk.said());
            walk.take(Message::Paste(row.to_owned()));
        }
        assert_eq!(tests(walk.path(), "mk").len(), count, "{row}: {}", walk.said());
        if count == 0 {
            assert!(walk.said().ends_with("Nothing of the row is entered."), "{}", walk.said());
        } else {
            assert!(walk.said().contains("pH 3.52"), "{}", walk.said());
            if row.contains('\t') {
                keep(&walk, "results-pasted");
            }
        }
    }
}

/// What the house has tested since yesterday was found in an old sheet all the same, here as by the command.
#[test]
fn an_old_result_of_what_the_house_declared_later_is_taken() {
    let mut walk = Walk::small();
    let declared = r#""kind":"analyte_declared","analyte":"histamine","unit":"mg/L""#;
    crate::cellar::record(walk.path(), &[format!(r#"{{"at":"2026-11-25T06:30:00+01:00","by":"mk",{declared}}}"#)]);
    walk.take(barrelwalk::tui::edge::screen::Message::Changed);
    walk.press(":results home up `20 Nov` enter enter end `0404` enter");
    for _ in 0..30 {
        if !chosen(&walk, "0404", "histamine") {
            walk.press("right");
        }
    }
    walk.press("`3` enter");
    assert!(walk.said().starts_with("0404: histamine 3 mg/L"), "{}", walk.said());
    assert_eq!(tests(walk.path(), "mk").len(), 1);
    walk.press("up u");
    assert!(tests(walk.path(), "mk").is_empty(), "{}", walk.said());
}

/// Goes to a thing by its label and enters some of what was found.
fn walk_to(walk: &mut Walk, label: &str, found: &[(&str, &str)]) {
    walk.press(&format!("end `{label}` enter"));
    for (finding, figure) in found {
        walk.press("left left left left left left left left left left left left left left");
        for _ in 0..14 {
            if line(walk, label).is_empty() || chosen(walk, label, finding) {
                break;
            }
            walk.press("right");
        }
        assert!(chosen(walk, label, finding), "{finding} of {label}\n{}", walk.text(160, 48));
        walk.press(&format!("`{figure}` right"));
    }
}

/// Whether the cell of a finding is chosen, by what is told below.
fn chosen(walk: &Walk, label: &str, finding: &str) -> bool {
    let told = format!(": {finding}, ");
    walk.text(160, 48).lines().any(|line| line.trim().starts_with(label) && line.contains(&told))
}

#[test]
fn what_is_stored_is_corrected_taken_back_and_given_back() {
    let mut walk = Walk::small();
    walk.press(":results");
    walk_to(&mut walk, "W26 Chalk", &[("pH", "3.25"), ("free SO2", "22")]);
    walk_to(&mut walk, "W26 Chalk", &[("pH", "3.52")]);
    assert_eq!(walk.said(), "W26 Chalk, in 5 vessels: pH 3.52, in place of 3.25.");
    let shown = |walk: &Walk| line(walk, "W26 Chalk");
    assert!(shown(&walk).contains("3.52 ✓") && shown(&walk).contains("22 ✓"), "{}", shown(&walk));
    assert_eq!(tests(walk.path(), "mk").len(), 1);
    walk.press("u");
    assert!(shown(&walk).contains("3.25 ✓") && shown(&walk).contains("22 ✓"), "{}", shown(&walk));
    walk.press("y");
    assert!(shown(&walk).contains("3.52 ✓"), "{}", shown(&walk));
    // The same figure again is no correction.
    walk_to(&mut walk, "W26 Chalk", &[("pH", "3.52")]);
    assert_eq!(walk.said(), "W26 Chalk, in 5 vessels: pH 3.52 stands there already.");
    walk.press("left delete");
    assert_eq!(walk.said(), "Taken back: pH 3.52 of W26 Chalk. u gives it back.");
    assert!(!shown(&walk).contains("3.52") && shown(&walk).contains("22 ✓"), "{}", shown(&walk));
    walk.press("delete");
    assert!(walk.said().starts_with("Nothing of this day is stored in this cell."), "{}", walk.said());
    walk.press("u");
    assert!(shown(&walk).contains("3.52 ✓"), "{}", shown(&walk));
    // What stands alone goes as undo takes it, and comes back as that does.
    walk_to(&mut walk, "0403", &[("pH", "3.6")]);
    walk.press("left delete");
    assert_eq!(walk.said(), "Taken back: pH 3.6 of 0403. y gives it back.");
    walk.press("y");
    assert!(line(&walk, "0403").contains("3.6 ✓"), "{}", line(&walk, "0403"));
}

/// Opened anew, by another program too, the page shows what is stored of the day, of vessels as well.
#[test]
fn what_was_stored_stands_there_when_the_page_is_opened_anew() {
    let mut walk = Walk::small();
    walk.press(":results");
    walk_to(&mut walk, "C26 Long Wall", &[("pH", "3.61"), ("malic acid", "0.12")]);
    walk_to(&mut walk, "0404", &[("pH", "3.58")]);
    let mut again = walk.reopened();
    again.press(":results");
    assert!(line(&again, "C26 Long Wall").contains("3.61 ✓"), "{}", again.text(160, 48));
    assert!(line(&again, "0404").contains("3.58 ✓"), "{}", again.text(160, 48));
    // More of the same line is of the same test.
    walk_to(&mut again, "0404", &[("free SO2", "19")]);
    assert_eq!(tests(walk.path(), "mk").len(), 2);
}

/// What was found after an addition of the same day is another test: the first one was of the wine as it was.
#[test]
fn a_result_after_an_addition_is_another_test() {
    let mut walk = Walk::small();
    walk.press(":results");
    walk_to(&mut walk, "0404", &[("free SO2", "12")]);
    let mut later = walk.reopened();
    let treated = r#""kind":"treated","vessel":"0404","material":"so2","amount_ug":4500000"#;
    let line_of = format!(r#"{{"at":"2026-11-25T06:45:00+01:00","by":"mk",{treated}}}"#);
    crate::cellar::record(walk.path(), &[line_of]);
    later.take(barrelwalk::tui::edge::screen::Message::Changed);
    later.press(":results");
    walk_to(&mut later, "0404", &[("free SO2", "30")]);
    assert_eq!(tests(walk.path(), "mk").len(), 2);
}

#[test]
fn a_slip_stays_written_and_swallows_no_key() {
    let mut walk = Walk::small();
    walk.press(":results");
    walk_to(&mut walk, "W26 Chalk", &[]);
    for (typed, said) in [
        ("352", "pH of 352 is out of range. It must lie between 2 and 5.5."),
        ("<3", "'<3' of pH is no number."),
        ("Nobody", "No vessel, lot or sample is called 'Nobody'. Check the label."),
        ("3.5 mg/L", "'mg/L' is no unit of pH that is known here; it is kept in no unit."),
    ] {
        while !chosen(&walk, "W26 Chalk", "pH") {
            walk.press("right");
        }
        walk.press(&format!("`{typed}` down"));
        assert_eq!(walk.said(), said);
        walk.press("esc esc :results");
        walk_to(&mut walk, "W26 Chalk", &[]);
    }
    assert!(tests(walk.path(), "mk").is_empty());
    while !chosen(&walk, "W26 Chalk", "pH") {
        walk.press("right");
    }
    // Marked, it gives way to what is typed next, and to an arrow.
    walk.press("`352` enter `3.52` enter");
    assert_eq!(tests(walk.path(), "mk").len(), 1);
    walk.press("left `352` down up");
    assert!(chosen(&walk, "M26 Upper Terrace", "pH"), "{}", walk.text(160, 48));
    assert!(line(&walk, "W26 Chalk").contains("3.52 ✓"), "{}", walk.text(160, 48));
}

/// Where something is entered for a day that is over, the sheet is of that day.
#[test]
fn a_sheet_is_of_the_day_for_which_is_entered() {
    let mut walk = Walk::small();
    walk.press("/ `day that is over` enter `Ana, 24 Nov` enter :results");
    walk_to(&mut walk, "W26 Chalk", &[("pH", "3.3"), ("free SO2", "21")]);
    let entered = tests(walk.path(), "Ana");
    assert_eq!(entered.len(), 1);
    assert!(entered[0].starts_with("2026-11-24T08:00"), "{entered:?}");
    keep(&walk, "results-for-another");
}

#[test]
fn a_house_sees_its_acidities_in_its_acid() {
    let mut walk = Walk::small();
    crate::cellar::record(
        walk.path(),
        &[crate::cellar::fact("11-24", r#""kind":"practice_set","acid_unit":"sulfuric""#)],
    );
    walk.take(barrelwalk::tui::edge::screen::Message::Changed);
    walk.press(":results");
    walk_to(&mut walk, "W26 Chalk", &[("titratable acidity", "3.5")]);
    assert!(line(&walk, "W26 Chalk").contains("3.5 ✓"), "{}", walk.text(160, 48));
    assert!(tests(walk.path(), "mk")[0].contains(r#""ta_g_l":5.357"#));
    walk_to(&mut walk, "W26 Chalk", &[("titratable acidity", "5.4 g/L tartaric")]);
    assert!(tests(walk.path(), "mk")[0].contains(r#""ta_g_l":5.4"#));
}

/// Where neither the figure nor the house says as which acid it is asked, once, and never guessed.
#[test]
fn as_which_acid_an_acidity_is_given_is_asked_once() {
    let mut walk = Walk::small();
    walk.press(":results");
    walk_to(&mut walk, "W26 Chalk", &[("titratable acidity", "6.4")]);
    assert!(walk.text(160, 48).contains("As which acid is titratable acidity given? Taken as g/L as tartaric"));
    assert_eq!(tests(walk.path(), "mk").len(), 0);
    walk.press("right");
    assert!(tests(walk.path(), "mk")[0].contains(r#""ta_g_l":6.4"#));
    walk_to(&mut walk, "0402", &[("volatile acidity", "0.41")]);
    assert_eq!(tests(walk.path(), "mk").len(), 2);
}

#[test]
fn the_day_and_the_laboratory_are_said_once() {
    let mut walk = Walk::small();
    walk.press(":results home up");
    for (typed, said) in [
        ("26 Nov 2026", "26 Nov 2026 lies in the future."),
        ("nextweek", "No day is told by that. Write it like 27 Nov, 2026-11-27 or yesterday."),
    ] {
        walk.press(&format!("`{typed}` enter"));
        assert_eq!(walk.said(), said);
    }
    walk.press("`yesterday` enter");
    assert!(walk.text(80, 24).contains("day Tue 24 Nov 2026"), "{}", walk.text(80, 24));
    walk.press("`Quillon & daughters` enter");
    assert!(walk.text(80, 24).contains("laboratory Quillon & daughters"), "{}", walk.text(80, 24));
}

#[test]
fn it_is_reached_from_the_page_of_a_lot() {
    let mut walk = Walk::small();
    walk.press("`W-01` enter i enter `Laboratory` enter");
    assert!(walk.text(80, 24).contains("W26 Chalk, in 5 vessels"), "{}", walk.text(80, 24));
}
