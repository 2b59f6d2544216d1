//! Every kind of fact can be entered by a person: by a command whose example is true, and on the screen.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use barrelwalk::cellar::core::fact::KINDS;
use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::cellar::core::state::State;
use barrelwalk::desk::Access;
use barrelwalk::forms::{AtDesk, Form, OnScreen, forms, of_kind, usage};

use super::desk::{Desk, text};

/// The words of a line as a shell takes them; a quoted one is one word.
fn words(line: &str) -> Vec<String> {
    let quoted = |(at, part): (usize, &str)| match at % 2 {
        0 => part.split_whitespace().map(ToOwned::to_owned).collect(),
        _ => vec![part.to_owned()],
    };
    line.split('\'').enumerate().flat_map(quoted).collect()
}

#[test]
fn the_example_of_every_command_is_true() {
    let desk = Desk::demo();
    let mut untrue = Vec::new();
    for form in forms() {
        let Some(command) = form.command() else { continue };
        let line = format!("{command} {} --dry-run", form.example);
        let words = words(&line);
        let ran = desk.run(&words.iter().map(String::as_str).collect::<Vec<_>>());
        let (said, asked) = (text(&ran.stdout), text(&ran.stderr));
        let is_true = ran.status.success() && said.starts_with("would be entered: ") && !said.contains(['{', '[']);
        if !is_true {
            untrue.push(format!("{line}: {said}{asked}"));
        }
    }
    assert_eq!(untrue, Vec::<String>::new());
}

/// Whoever writes a decimal comma reads one in what is said too; programs read the point.
#[test]
fn numbers_are_said_with_the_sign_of_the_person() {
    let desk = Desk::demo();
    desk.write("looks.toml", "decimal = \"comma\"\n");
    let lost = desk.told(&["lose", "0417", "2,5 L", "--dry-run"]);
    assert!(lost.contains("2,5 L"), "{lost}");
    let json = desk.told_json(&["list", "toppings", "--from", "2026-11-01"]);
    assert!(json[0]["volume_ul"].is_u64(), "{json}");
}

#[test]
fn the_settings_are_listed_and_set_by_name() {
    let desk = Desk::new();
    desk.done(&["settings", "sulfuring-days", "42", "--by", "Ana", "--at", "2026-11-02"]);
    let all = desk.json(&["settings"]);
    let named = |name: &str| all.as_array().unwrap().iter().find(|it| it["name"] == name).unwrap().clone();
    let days = named("sulfuring days");
    assert_eq!((&days["value"], &days["default"], &days["set_by"]), (&"42".into(), &"35".into(), &"Ana".into()));
    assert!(days["set_at"].as_str().unwrap().starts_with("2026-11-02"), "{days}");
    assert!(named("va alarm")["set_by"].is_null());
    let wrong = text(&desk.run(&["settings", "sulfuring-dais", "42"]).stderr);
    assert!(wrong.contains("Did you mean 'sulfuring days'?"), "{wrong}");
    let wrong = text(&desk.run(&["settings", "checklist", "sings"]).stderr);
    assert!(wrong.contains("Write one of holds, warns."), "{wrong}");
    let own = desk.done(&["settings"]);
    assert!(own.contains("sulfuring days") && own.contains("looks.toml"), "{own}");
}

#[test]
fn a_sample_of_a_lot_is_planned_and_drawn() {
    let desk = Desk::demo();
    let plan = desk.json(&["plan", "sample", "P24 Stony Acre", "--of", "750 mL"]);
    let sum = |plan: &serde_json::Value| -> u64 {
        plan.as_array().unwrap().iter().map(|it| it["draw_ul"].as_u64().unwrap()).sum()
    };
    assert_eq!((sum(&plan), plan.as_array().unwrap().len()), (750_000, 11));
    let (told, said) = desk.heard(&["plan", "sample", "P24 Stony Acre", "--drawn", "S-777"]);
    assert!(said.contains("nobody climbs a rack"), "{said}");
    assert!(told.split_whitespace().collect::<Vec<_>>().join(" ").contains("Entered as the sample S-777."), "{told}");
    desk.done(&["test", "S-777", "pH=3.55"]);
}

#[test]
fn a_day_is_written_as_people_write_it() {
    let desk = Desk::demo();
    let lay = |release: &str| {
        let words =
            ["bottle", "lay-down", "P23 Stony Acre", "300", "store/B-06", "--release", release, "--dry-run", "--sure"];
        let ran = desk.run(&words);
        text(&ran.stdout) + &text(&ran.stderr)
    };
    for written in ["2029-05-01", "1 May 2029", "May 1 2029"] {
        let said = lay(written);
        assert!(said.contains("may go from 2029-05-01 on"), "{written}: {said}");
    }
    assert!(lay("1 May").contains("'1 May' says no year."), "{}", lay("1 May"));
    assert!(lay("soon").contains("'soon' is no day."), "{}", lay("soon"));
}

#[test]
fn what_to_draw_is_printed() {
    let desk = Desk::demo();
    let sheet = desk.done(&["sheet", "sample", "P24 Stony Acre", "--of", "500 mL"]);
    assert!(sheet.contains("Sample of P24 Stony Acre") && sheet.contains("500 mL of 11 vessels"), "{sheet}");
}

#[test]
fn every_kind_has_a_form() {
    let missing: Vec<&str> = KINDS.iter().copied().filter(|kind| of_kind(kind).is_none()).collect();
    assert_eq!(missing, Vec::<&str>::new());
}

/// The table of what is entered where.
fn table() -> String {
    let mut table = "# What is entered, and where\n\nA line a kind of fact: what it is, how it is opened on the screen, and its command. What is made of a \
         form is found on the screen by its name: press /, or enter for the list of what can be done.\n\n\
         | kind of fact | what it is | on the screen | at the desk |\n| --- | --- | --- | --- |\n"
        .to_owned();
    for form in KINDS.iter().filter_map(|kind| of_kind(kind)) {
        let (kind, title, screen, desk) = (form.kind, form.title, screen(form), desk(form));
        writeln!(table, "| `{kind}` | {title} | {screen} | `{desk}` |").unwrap();
    }
    table
}

fn screen(form: &Form) -> String {
    match form.screen {
        OnScreen::Form => format!("/ {}", form.title.to_lowercase()),
        OnScreen::Elsewhere(way) => way.to_owned(),
    }
}

fn desk(form: &'static Form) -> String {
    match form.desk {
        AtDesk::Command(_) => usage(form),
        AtDesk::Elsewhere(command) => command.to_owned(),
    }
}

#[test]
fn the_table_of_what_is_entered_is_kept() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/acts.md");
    if std::env::var_os("BARRELWALK_DRAW").is_some() {
        fs::write(&path, table()).unwrap();
    }
    assert_eq!(fs::read_to_string(&path).unwrap_or_default(), table(), "write it anew with BARRELWALK_DRAW=1");
}

/// The hall of a small house: one room, and a barrel that is not full.
fn small_house() -> Desk {
    let desk = Desk::new();
    desk.told(&["room", "long", "A-B, 3 stacks, 2 high, pairs"]);
    desk.told(&["number", "101-102, Allier, 2024"]);
    desk.told(&["number", "K1, keg, 50 L"]);
    desk.told(&["open-lot", "S24, red, Syrah, 2024, Varrow Valley: 101 full; 102 180 L; K1 full"]);
    desk
}

#[test]
fn where_there_is_one_room_a_place_needs_no_room() {
    let desk = small_house();
    assert_eq!(desk.told(&["lift", "A-01-1", "B-01-1"]), "the rack at long/A-01-1 was lifted to long/B-01-1\n");
    assert_eq!(desk.json(&["show", "vessel", "101"])["place"], "long/B-01-1-a");
    let wrong = text(&desk.run(&["lift", "the corner", "B-01-1"]).stderr);
    assert!(wrong.contains("barrelwalk: 'the corner' is not a place. Write room/row"), "{wrong}");
    let wrong = text(&desk.run(&["place", "101", "B-01-2"]).stderr);
    assert!(!wrong.contains("vessel_placed") && wrong.contains("is not a place"), "{wrong}");
}

#[test]
fn what_does_not_fill_a_barrel_is_asked_about_before_it_is_called_full() {
    let desk = small_house();
    let asked = text(&desk.run(&["top", "102", "0.8", "--from", "K1"]).stderr);
    assert!(asked.contains("102 lacks 45.0 L by the book, and 0.8 L would not fill it"), "{asked}");
    assert_eq!(desk.json(&["show", "vessel", "102"])["volume_ul"], 180_000_000);
    desk.told(&["top", "102", "0.8", "--from", "K1", "--full", "no"]);
    assert_eq!(desk.json(&["show", "vessel", "102"])["volume_ul"], 180_800_000);
    desk.told(&["top", "101", "0.8", "--from", "K1"]);
}

#[test]
fn a_choice_is_known_by_a_word_that_begins_with_it_and_a_keg_has_no_fills() {
    let desk = small_house();
    assert_eq!(desk.done(&["lose", "K1", "2", "--cause", "spilled"]), "2.0 L lost from K1: spill\n");
    let lines = text(&desk.run(&["journal"]).stdout);
    assert!(
        lines.contains("keg K1 of 50.0 L ") && lines.contains("barrel 101 of 225.0 L, Allier, 2024, new "),
        "{lines}"
    );
}

/// What the book says, without how many facts said it and which was the last.
fn book(cellar: &barrelwalk::desk::Desk) -> State {
    let mut state = cellar.state().clone();
    (state.facts, state.last) = (0, None);
    state
}

#[test]
fn what_every_form_enters_is_undone_and_done_again() {
    let desk = Desk::demo();
    let mut cellar = barrelwalk::desk::Desk::open(&desk.path("c"), Access::ReadWrite).unwrap();
    let by = Label::new("mk").unwrap();
    let mut otherwise = Vec::new();
    for form in forms() {
        let Some(command) = form.command() else { continue };
        let line = format!("{command} {} --sure", form.example);
        let before = book(&cellar);
        let ran = desk.run(&words(&line).iter().map(String::as_str).collect::<Vec<_>>());
        assert!(ran.status.success(), "{line}: {}", text(&ran.stderr));
        cellar.refresh().unwrap();
        let after = book(&cellar);
        let undone = desk.run(&["undo", "--sure"]);
        assert!(undone.status.success(), "{line}: {}", text(&undone.stderr));
        cellar.refresh().unwrap();
        let mut is_so = vec![after != before, book(&cellar) == before];
        cellar.redo(&by, Moment::now()).unwrap();
        is_so.push(book(&cellar) == after);
        cellar.undo(&by, Moment::now()).unwrap();
        is_so.push(book(&cellar) == before);
        if is_so.contains(&false) {
            otherwise.push(format!("{line}: {is_so:?}"));
        }
    }
    assert_eq!(otherwise, Vec::<String>::new());
}
