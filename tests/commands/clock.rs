//! A clock that is wrong: asked about before anything is dated by it, mended afterwards, and hiding nothing.
//!
//! The program runs by the clock of this machine. So the cellar is brought before or behind it: what stands there is entered by another
//! clock, and its files are given another time.

use std::fs::File;
use std::time::{Duration, UNIX_EPOCH};

use barrelwalk::cellar::core::fact::{IncomingFact, What};
use barrelwalk::cellar::core::label::{Label, Text};
use barrelwalk::cellar::core::moment::{DAY_MICROSECONDS, Moment};
use barrelwalk::cellar::jobs::floor::noting::Noted;
use barrelwalk::desk::{Access, Act, Desk as Log};

use crate::desk::Desk;

const FOUNDED: [&str; 3] = [
    r#""kind":"vessel_registered","vessel":"T1","type":"tank","capacity_ul":1000000000"#,
    r#""kind":"vessel_registered","vessel":"0167","type":"barrel","capacity_ul":225000000"#,
    r#""kind":"lot_opened","lot":"M24","colour":"red""#,
];

/// This machine's clock, so many days on.
fn in_days(days: i64) -> Moment {
    let now = Moment::now();
    now.at_instant(now.instant() + days * DAY_MICROSECONDS)
}

/// What is said of a vessel, entered by this laptop under a clock so many days ahead.
fn enter_ahead(desk: &Desk, days: i64) {
    let label = |text: &str| Label::new(text).unwrap();
    let noted = Noted { about: label("0167"), text: Text::new("bung renewed").unwrap() };
    let mut log = Log::open(&desk.path("c"), Access::ReadWrite).unwrap();
    log.enter(&Act::of(vec![What::Noted(noted)], label("jo")), in_days(days)).unwrap();
}

/// Gives the files another time.
fn written(desk: &Desk, days: i64) {
    let apart = Duration::from_secs(86_400 * days.unsigned_abs());
    let now = UNIX_EPOCH + Duration::from_micros(u64::try_from(Moment::now().instant()).unwrap());
    let time = if days < 0 { now - apart } else { now + apart };
    for name in ["c", "c-mark"] {
        File::options().append(true).open(desk.path(name)).unwrap().set_modified(time).unwrap();
    }
}

fn founded() -> Desk {
    Desk::with("2026-09-01", &FOUNDED)
}

const CHANGE: &str = "change 0167 forest=Vosges";

fn dates(desk: &Desk) -> Vec<(String, i64)> {
    let newest = Moment::now();
    let days = |at: &str| Moment::parse(at).unwrap().days_since(newest);
    let export = desk.done(&["export"]);
    let lines = export.lines().map(|line| serde_json::from_str::<serde_json::Value>(line).unwrap());
    lines.map(|line| (line["kind"].as_str().unwrap().to_owned(), days(line["at"].as_str().unwrap()))).collect()
}

#[test]
fn a_clock_long_past_all_that_is_there_is_asked_about_once() {
    let desk = Desk::new();
    let mut log = Log::open(&desk.path("c"), Access::ReadWrite).unwrap();
    let label = |text: &str| Label::new(text).unwrap();
    let noted = Noted { about: label("jo"), text: Text::new("began").unwrap() };
    log.enter(&Act::of(vec![What::Noted(noted)], label("jo")), in_days(-365)).unwrap();
    drop(log);
    written(&desk, -365);
    let act = "declare material chips --class so2 --so2-pct 57";
    desk.refused(act, "This laptop says ");
    desk.refused(act, "Nothing was entered. If it is so, say --sure.");
    desk.told(&format!("{act} --sure"));
    desk.told("declare material flakes --class so2 --so2-pct 57");
}

#[test]
fn a_clock_before_what_this_laptop_entered_is_asked_about_and_then_it_begins_anew() {
    let desk = founded();
    enter_ahead(&desk, 365);
    let said = desk.refused(CHANGE, "but the newest entry is of ");
    assert!(said.contains("If that is wrong, set its clock first."), "{said}");
    let (_, said) = desk.heard(&format!("{CHANGE} --sure"));
    assert!(said.contains("goes on under a new name"), "{said}");
    assert_eq!(dates(&desk).iter().filter(|(_, days)| *days > 0).count(), 1);
    assert!(dates(&desk).contains(&("vessel_changed".to_owned(), 0)), "{:?}", dates(&desk));
    // It was answered: the next act is dated without a word.
    let (_, said) = desk.heard("change 0167 forest=Jupilles");
    assert!(!said.contains("This laptop"), "{said}");
}

/// Whoever says when it was is not asked what the clock says.
#[test]
fn what_is_dated_by_the_person_is_not_asked_about() {
    let desk = founded();
    enter_ahead(&desk, 365);
    desk.told(&format!("{CHANGE} --at 2026-09-02"));
}

#[test]
fn a_file_from_tomorrow_and_another_laptop_speak_against_the_clock() {
    let desk = founded();
    written(&desk, 3);
    desk.refused(CHANGE, "but the cellar was last written on ");
    written(&desk, 1);
    desk.told(CHANGE);
    let other = format!(
        r#"{{"device":"d-other","n":1,"at":"{}","by":"jo","kind":"lot_opened","lot":"C24","colour":"red"}}"#,
        in_days(90)
    );
    desk.write("other.jsonl", &other);
    desk.run(&["record", "other.jsonl"]);
    let again = "change 0167 forest=Jupilles";
    desk.refused(again, "but another laptop's newest entry is of ");
    desk.told(&format!("{again} --sure"));
    desk.told("change 0167 forest=Allier");
}

#[test]
fn a_clock_that_is_behind_hides_nothing() {
    let desk = founded();
    let other =
        |n: u64, fields: &str| format!(r#"{{"device":"d-other","n":{n},"at":"{}","by":"jo",{fields}}}"#, in_days(90));
    let barrel = r#""kind":"vessel_registered","vessel":"0999","type":"barrel","capacity_ul":225000000"#;
    desk.write(
        "other.jsonl",
        &[other(1, barrel), other(2, r#""kind":"lot_opened","lot":"C24","colour":"red""#)].join("\n"),
    );
    desk.run(&["record", "other.jsonl"]);
    assert!(desk.done(&["show", "vessel", "0999"]).contains("0999"));
    assert!(desk.done(&["list", "lots"]).contains("C24"));
    desk.refused("trace vessel 0999", "No wine ever lay in 0999.");
    desk.refused(&["show", "vessel", "0999", "--on", "2026-11-01T00:00:00Z"], "No vessel is called '0999'.");
}

#[test]
fn dates_of_a_wrong_clock_are_mended_as_one_act_and_one_undo_takes_it_back() {
    let desk = founded();
    desk.refused("mend-dates", "Nothing is dated ahead of this laptop's clock. Nothing was entered.");
    enter_ahead(&desk, 365);
    enter_ahead(&desk, 366);
    desk.refused("mend-dates", "2 entries would be mended, the first of ");
    let yesterday = in_days(-1).date().to_string();
    let tried = desk.done(&["mend-dates", &yesterday, "--dry-run"]);
    assert!(tried.starts_with("2 dates would be mended, the first: noted 0167, "), "{tried}");
    assert_eq!(dates(&desk).iter().filter(|(_, days)| *days > 0).count(), 2);
    let two_days_ago = in_days(-2).date().to_string();
    assert!(desk.told(&["mend-dates", &two_days_ago]).starts_with("2 dates mended, the first: noted 0167, "));
    let noted = |desk: &Desk| {
        let vessel = desk.json(&["show", "vessel", "0167"]);
        vessel["notes"].as_array().map_or(0, Vec::len)
    };
    let before = noted(&desk);
    let all = dates(&desk);
    let mended: Vec<i64> = all.iter().filter(|(kind, _)| kind == "noted").map(|(_, days)| *days).collect();
    assert_eq!(mended, [-2, -1, 365, 366], "{all:?}");
    assert!(all.iter().all(|(kind, days)| kind != "retracted" || *days == 0), "{all:?}");
    desk.refused("mend-dates", "Nothing is dated ahead");
    assert!(desk.done(&["verify"]).contains("are sound"));
    desk.told("undo");
    assert_eq!(noted(&desk), before);
    desk.refused("mend-dates", "2 entries would be mended");
}

/// A fact of these fields, entered by this laptop under a clock so many days ahead.
fn enter_fields_ahead(desk: &Desk, days: i64, fields: &str) {
    let at = in_days(days);
    let (fact, _) = IncomingFact::from_json(&format!(r#"{{"at":"{at}","by":"jo",{fields}}}"#)).unwrap();
    let mut log = Log::open(&desk.path("c"), Access::ReadWrite).unwrap();
    log.enter(&Act::of(vec![fact.what], Label::new("jo").unwrap()), at).unwrap();
}

/// What was said of a trial while it was sealed is not entered anew, nor half of it: the rest is mended, and the trial is named.
#[test]
fn a_revealed_trial_stays_as_it_is_dated_and_all_else_is_mended() {
    let desk = founded();
    let origin = r#""kind":"origin_declared","origin":"o","block":"Terrace","variety":"Merlot","vintage":2024,"appellation":"Hillside","colour":"red""#;
    let second = r#""kind":"vessel_registered","vessel":"T2","type":"tank","capacity_ul":1000000000"#;
    let wine = |tank: &str| {
        format!(
            r#""kind":"wine_received","vessel":"{tank}","lot":"M24","parts":[{{"origin":"o","volume_ul":900000000}}]"#
        )
    };
    desk.record_on("2026-09-02", &[origin.to_owned(), second.to_owned(), wine("T1"), wine("T2")]);
    let rated = |code: &str| format!(r#""kind":"glass_rated","trial":"Q","taster":"jo","code":"{code}","score":14.5"#);
    enter_ahead(&desk, 365);
    for fields in [
        r#""kind":"trial_set","trial":"Q","components":[{"vessel":"T1"},{"vessel":"T2"}],"glass_ul":50000,"glasses":[{"code":"354","shares_ppm":[500000,500000]},{"code":"835","shares_ppm":[300000,700000]}],"panel":["jo"],"servings":{"jo":[["354","835"]]},"salt":"5a1ad""#,
        &rated("354"),
        &rated("835"),
        r#""kind":"trial_revealed","trial":"Q""#,
    ] {
        enter_fields_ahead(&desk, 365, fields);
    }
    enter_ahead(&desk, 366);
    let (told, said) = desk.heard(&["mend-dates", &in_days(-2).date().to_string()]);
    assert!(told.starts_with("2 dates mended, the first: noted 0167, "), "{told}");
    assert!(said.contains("4 entries of the trial 'Q' stay as they are dated: it was revealed"), "{said}");
    let ahead = |desk: &Desk| {
        let all = dates(desk);
        all.into_iter().filter(|(_, days)| *days > 0).map(|(kind, _)| kind).collect::<Vec<_>>()
    };
    assert_eq!(ahead(&desk), ["noted", "trial_set", "glass_rated", "glass_rated", "trial_revealed", "noted"]);
    let mended: Vec<i64> =
        dates(&desk).into_iter().filter(|(kind, days)| kind == "noted" && *days < 1).map(|(_, days)| days).collect();
    assert_eq!(mended, [-2, -1]);
    desk.refused("mend-dates", "4 entries of the trial 'Q' stay as they are dated");
    desk.told("undo");
    desk.refused("mend-dates", "2 entries would be mended");
}

/// What was entered by a clock that was right again, but dated after what a wrong one had entered, happened when it was entered.
#[test]
fn what_was_dated_after_a_wrong_date_gets_the_time_of_its_entry() {
    let desk = founded();
    enter_ahead(&desk, 365);
    enter_ahead(&desk, 0);
    let days = |desk: &Desk| {
        let all = dates(desk);
        all.into_iter().filter(|(kind, _)| kind == "noted").map(|(_, days)| days).collect::<Vec<_>>()
    };
    assert_eq!(days(&desk), [365, 365]);
    desk.told(&["mend-dates", &in_days(-1).date().to_string()]);
    assert_eq!(days(&desk), [-1, 0, 365, 365]);
}

#[test]
fn dates_behind_are_mended_by_their_numbers() {
    let desk = founded();
    let shown = desk.done(&["export"]);
    let first: serde_json::Value = serde_json::from_str(shown.lines().next().unwrap()).unwrap();
    assert_eq!(first["n"], 1);
    desk.misused("mend-dates --from 1 --to 3", "DATE-TIME");
    assert!(desk.done("mend-dates 2026-09-03T08:00 --from 1 --to 3").starts_with("3 dates mended"));
    assert!(desk.done("show vessel 0167 --on 2026-09-04").contains("0167"));
    desk.refused("show vessel 0167 --on 2026-09-02", "No vessel is called");
}
