//! What holds of every command: exit codes, the two outputs, pipes and full devices; and facts taken in and given out.

use std::fs;
use std::process::{Command, Stdio};

use serde_json::Value;

use crate::desk::{Desk, text};

const ROOM: &str = r#"{"at":"2026-09-01T08:00:00+02:00","by":"mk","kind":"room_laid_out","room":"long","rows":[{"row":"A","stacks":2,"tiers":2,"sides":2}]}"#;
const TANK: &str = r#"{"at":"2026-09-01T08:01:00+02:00","by":"mk","kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":1000000000}"#;
const NO_VESSEL: &str =
    r#"{"at":"2026-09-01T08:02:00+02:00","by":"mk","kind":"vessel_placed","vessel":"0417","place":"long/A-01-1-a"}"#;

/// Writes facts into a file; its name.
fn facts(desk: &Desk, lines: &[&str]) -> &'static str {
    desk.write("facts.jsonl", &lines.join("\n"));
    "facts.jsonl"
}

#[test]
fn an_export_makes_the_same_cellar_again() {
    let desk = Desk::demo();
    desk.write("export.jsonl", &desk.done(&["export"]));
    desk.done(&["new", "d"]);
    let taken = desk.done(&["record", "--cellar", "d", "export.jsonl"]);
    let known = desk.done(&["record", "--cellar", "d", "export.jsonl"]);
    assert_eq!(known, format!("0 facts taken, {} known already, passed over\n", taken.split(' ').next().unwrap()));
    for things in ["vessels", "lots", "rooms", "due", "discrepancies"] {
        let list = ["list", things, "--format", "json", "--on", "2026-06-01T00:00:00Z"];
        assert_eq!(desk.done(&list), desk.done(&[&list[..], &["--cellar", "d"]].concat()), "{things}");
    }
}

/// The demo keeps to the European rules, and its wines to their limits.
#[test]
fn show_lot_tells_its_sulfur_dioxide_and_its_limits() {
    let desk = Desk::demo();
    let words = ["show", "lot", "C24 Long Wall", "--on", "2026-11-25T06:40:00+01:00"];
    let lot = desk.json(&words);
    let so2 = &lot["so2"];
    let number = |name: &str| so2["forecast"][name].as_f64().unwrap();
    assert_eq!((&so2["model"], so2["by_vessel"].as_array().map(Vec::len)), (&Value::from("plain"), Some(24)));
    assert!(number("low_mg_l") < number("free_so2_mg_l") && number("free_so2_mg_l") < number("high_mg_l"), "{so2}");
    assert_eq!(so2["forecast"]["is_below"], number("free_so2_mg_l") < number("wanted_free_so2_mg_l"));
    let judged: Vec<_> =
        lot["limits"].as_array().unwrap().iter().map(|limit| (&limit["judgement"], &limit["section"])).collect();
    let total = (&Value::from("fine"), &Value::from("EU 2019/934 Annex I B"));
    assert_eq!((judged.len(), judged[1]), (2, total), "{judged:?}");
    let page = desk.done(&words);
    let table: Vec<&str> =
        page.lines().skip_while(|line| !line.starts_with("sulfur dioxide, mg/L")).skip(2).take(25).collect();
    assert!(table[0].starts_with("the lot") && table.iter().all(|line| line.chars().count() <= 80), "{page}");
    assert!(page.contains("by the plain model") && page.contains("Sulfur dioxide is toxic"), "{page}");
}

#[test]
fn every_reading_command_reads_the_demo() {
    let desk = Desk::demo();
    for words in [
        &["list", "vessels", "--all"][..],
        &["list", "lots"],
        &["list", "rooms"],
        &["list", "due"],
        &["list", "marks"],
        &["list", "discrepancies"],
        &["show", "vessel", "0123"],
        &["show", "lot", "C24 Long Wall"],
        &["trace", "vessel", "0123"],
        &["trace", "lot", "C24 Long Wall", "--forward"],
        &["plan", "round", "long"],
        &["ledger", "--from", "2026-01-01", "--to", "2026-12-31"],
        &["ledger", "--from", "2026-01-01", "--to", "2026-12-31", "--by", "room"],
    ] {
        let told = desk.json(words);
        assert!(told.as_array().is_none_or(|objects| !objects.is_empty()), "{words:?}");
    }
    assert!(desk.done(&["verify"]).contains("are sound"));
}

/// What one period ends with the next begins with, and the years together are the whole.
#[test]
fn periods_of_the_ledger_join() {
    let desk = Desk::demo();
    let ledger = |from: &str, to: &str| desk.json(&["ledger", "--from", from, "--to", to]);
    let (first, second) = (ledger("2025-01-01", "2026-03-15"), ledger("2026-03-16", "2026-12-31"));
    let whole = ledger("2025-01-01", "2026-12-31");
    assert_eq!(first["closing_ul"], second["opening_ul"]);
    assert_eq!((&whole["opening_ul"], &whole["closing_ul"]), (&first["opening_ul"], &second["closing_ul"]));
    let sum = |field: &str| first[field].as_u64().unwrap() + second[field].as_u64().unwrap();
    assert_eq!(whole["evaporation_ul"].as_u64(), Some(sum("evaporation_ul")));
    desk.refused(&["ledger", "--from", "2026-03-02", "--to", "2026-03-01"], "before it begins");
}

#[test]
fn every_bad_line_is_named_and_nothing_is_taken() {
    let desk = Desk::new();
    let file = facts(&desk, &[ROOM, NO_VESSEL, "", "{", TANK]);
    let output = desk.run(&["record", file]);
    assert_eq!((output.status.code(), text(&output.stdout).as_str()), (Some(1), "0 facts taken\n"));
    let said = text(&output.stderr);
    let lines: Vec<&str> = said.lines().collect();
    assert!(lines[0].starts_with("line 2: No vessel is called '0417'."), "{said}");
    assert!(lines[1].starts_with("line 4: This is not a whole JSON object"), "{said}");
    assert!(lines[2].starts_with("barrelwalk: Of 4 lines 2 cannot be taken, so nothing was."), "{said}");
    assert_eq!(desk.json(&["list", "rooms"]), serde_json::json!([]));

    let output = desk.run(&["record", "--keep-good", file]);
    assert_eq!((output.status.code(), text(&output.stdout).as_str()), (Some(1), "2 facts taken\n"));
    assert_eq!(desk.json(&["list", "vessels"])[0]["vessel"], "T1");
}

#[test]
fn what_may_be_meant_is_named_where_nothing_is_called_so() {
    let desk = Desk::new();
    desk.told(&["record", facts(&desk, &[ROOM, TANK])]);
    let near = NO_VESSEL.replace("0417", "T01");
    let said = desk.refused(&["record", facts(&desk, &[&near])], "line 1: No vessel is called 'T01'.");
    assert!(said.contains("register the vessel first. Did you mean 'T1'?\n"), "{said}");
}

#[test]
fn facts_come_by_the_standard_input() {
    let desk = Desk::new();
    let file = facts(&desk, &[ROOM, TANK]);
    for words in [&["record"][..], &["record", "-"]] {
        let mut command = desk.command(words);
        let output = command.stdin(fs::File::open(desk.path(file)).unwrap()).output().unwrap();
        let expected = if words.len() == 1 { Some(0) } else { Some(1) };
        assert_eq!(output.status.code(), expected, "the second time the labels are taken: {}", text(&output.stderr));
    }
}

#[test]
fn what_is_not_there_is_said() {
    let desk = Desk::demo();
    let vessel = desk.refused(&["show", "vessel", "123"], "");
    assert!(vessel.starts_with("barrelwalk: No vessel is called '123'. Did you mean '0123'"), "{vessel}");
    desk.refused(&["plan", "round", "lnog"], "Did you mean 'long'?");
    desk.refused(&["list", "rooms", "--cellar", "nowhere"], "nowhere");
    assert!(desk.refused(&["new", "c"], "").starts_with("barrelwalk: "));
}

#[test]
fn wrong_usage_has_a_code_of_its_own() {
    let desk = Desk::new();
    for words in [&["lists"][..], &["list"], &["list", "casks"], &["list", "lots", "--on", "noon"], &["ledger"]] {
        let output = desk.run(words);
        assert_eq!((output.status.code(), output.stdout.len()), (Some(2), 0), "{words:?}");
        assert!(!output.stderr.is_empty());
    }
    assert!(desk.done(&["--help"]).contains("record"));
}

#[test]
fn a_backup_is_a_cellar() {
    let desk = Desk::demo();
    desk.done(&["backup", "copy"]);
    assert_eq!(desk.done(&["export"]), desk.done(&["export", "--cellar", "copy"]));
}

#[test]
fn a_backup_alone_is_dated_and_kept_beside_the_cellar() {
    let desk = Desk::demo();
    let told = desk.done(&["backup"]);
    assert!(told.contains("backups/c-20") && told.contains(".barrelwalk is a whole copy of the cellar"), "{told}");
    let file = told.split(" is a whole").next().unwrap();
    assert_eq!(desk.done(&["export"]), desk.done(&["export", "--cellar", file]));
}

#[test]
fn what_is_there_is_written_over_only_where_that_is_said() {
    let desk = Desk::demo();
    desk.write("there", "mine");
    for words in [&["backup", "there"][..], &["sheet", "map", "long", "--out", "there"]] {
        desk.refused(words, "there is there already. Nothing was changed. Choose another name, or say --overwrite.");
        assert_eq!(fs::read_to_string(desk.path("there")).unwrap(), "mine");
        desk.done(&[words, &["--overwrite"]].concat());
        desk.done(&[words, &["--overwrite"]].concat());
        desk.write("there", "mine");
    }
    desk.refused(&["backup", "c", "--overwrite"], "is the cellar itself");
}

#[test]
fn a_forgotten_cellar_is_told_the_three_ways_and_what_is_there() {
    let desk = Desk::demo();
    desk.done(&["backup", "mine.barrelwalk"]);
    let home = desk.path("");
    let run = |words: &[&str]| {
        let mut command = desk.command(words);
        command.env_remove("BARRELWALK_CELLAR").env_remove("XDG_DATA_HOME").env("HOME", &home);
        command.output().unwrap()
    };
    let output = run(&["list", "lots"]);
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{said}");
    for part in
        ["--cellar FILE", "BARRELWALK_CELLAR", "data folder", "There is mine.barrelwalk: --cellar mine.barrelwalk"]
    {
        assert!(said.contains(part), "{said}");
    }
}

#[test]
fn a_closed_pipe_is_quiet() {
    let desk = Desk::demo();
    let mut child = desk.command(&["export"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!((output.status.code(), text(&output.stderr)), (Some(0), String::new()));
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_device_is_said() {
    let desk = Desk::demo();
    for words in [&["export"][..], &["list", "vessels", "--format", "csv"], &["list", "rooms"], &["--help"]] {
        let full = fs::File::options().write(true).open("/dev/full").unwrap();
        let output =
            desk.command(words).stdout(full).stderr(Stdio::piped()).spawn().unwrap().wait_with_output().unwrap();
        assert_eq!(output.status.code(), Some(1), "{words:?}");
        assert!(text(&output.stderr).starts_with("barrelwalk: The output could not be written"), "{words:?}");
    }
}

/// Eight blocks of 512 bytes are less than any cellar.
#[test]
fn a_limit_on_the_size_of_files_is_told_and_nothing_is_lost() {
    let desk = Desk::new();
    desk.done(&["record", facts(&desk, &[ROOM])]);
    let before = desk.done(&["export"]);
    let file = facts(&desk, &[TANK]);
    let mut shell = Command::new("sh");
    let line = format!("ulimit -f 8; exec '{}' record '{}'", env!("CARGO_BIN_EXE_barrelwalk"), file);
    shell.current_dir(desk.path("")).args(["-c", &line]).env("BARRELWALK_CELLAR", "c").stdin(Stdio::null());
    let output = shell.output().unwrap();
    assert_eq!(output.status.code(), Some(1), "{}", text(&output.stderr));
    assert!(text(&output.stderr).starts_with("barrelwalk: "), "{}", text(&output.stderr));
    assert_eq!(desk.done(&["export"]), before);
    desk.done(&["verify"]);
}

/// Facts of another laptop are never refused: a barrel may be filled twice. The person who then tops it, and sees that
/// it is full, is right.
#[test]
fn a_barrel_with_too_much_in_the_book_is_still_topped() {
    let desk = Desk::new();
    let (at, end) = (r#"{"at":"2026-09-02T08:00:00+02:00","by":"mk","kind""#, r#""purpose":"barrel_down"}"#);
    let numbered = |n: u32, rest: &str| format!("{at}:{rest}").replacen('{', &format!(r#"{{"device":"a","n":{n},"#), 1);
    let barrel = r#""vessel_registered","vessel":"0417","type":"barrel","capacity_ul":225000000}"#;
    let origin =
        r#""origin_declared","origin":"M","block":"M","variety":"M","vintage":2025,"appellation":"M","colour":"red"}"#;
    let received = r#""wine_received","vessel":"T1","lot":"M25","parts":[{"origin":"M","volume_ul":900000000}]}"#;
    let moved = |ul: u32| format!(r#""wine_moved","from":"T1","to":"0417","volume_ul":{ul},{end}"#);
    let lines = [
        numbered(1, &TANK[TANK.find(r#""vessel_registered"#).unwrap()..]),
        numbered(2, barrel),
        numbered(3, origin),
        numbered(4, r#""lot_opened","lot":"M25","colour":"red"}"#),
        numbered(5, received),
        numbered(6, &moved(225_000_000)),
        numbered(7, &moved(10_000_000)),
    ];
    desk.done(&["record", facts(&desk, &lines.each_ref().map(String::as_str))]);
    let topped = r#"{"at":"2026-09-20T08:00:00+02:00","by":"mk","kind":"topped","vessel":"0417","from":"T1","volume_ul":2000000}"#;
    desk.done(&["record", facts(&desk, &[topped])]);
    assert_eq!(desk.json(&["show", "vessel", "0417"])["volume_ul"], 225_000_000);
    let problems = desk.json(&["list", "discrepancies"]);
    assert_eq!((problems.as_array().unwrap().len(), &problems[0]["n"]), (1, &Value::from(7)));
    let ledger = desk.json(&["ledger", "--from", "2026-09-01", "--to", "2026-09-30", "--by", "vessel"]);
    let of_barrel = ledger.as_array().unwrap().iter().find(|row| row["vessel"] == "0417").unwrap();
    assert_eq!(of_barrel["evaporation_ul"], 12_000_000);
}
