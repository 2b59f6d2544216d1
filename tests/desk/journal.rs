//! The journal: every fact at its day, also what is taken back, with who took it back.

use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::desk::{About, Desk, JournalLine, Sought, TakingBack, Toward, Wanted};
use chrono::NaiveDate;

use super::cellar::{Folder, act, history, label, lines, moment, noted, topped};

fn day(date: &str) -> NaiveDate {
    date.parse().unwrap()
}

fn told(lines: &[JournalLine]) -> Vec<String> {
    let told = |its: &JournalLine| {
        let gone =
            its.gone.as_ref().map_or(String::new(), |gone| format!(" ({:?})", gone.by.as_ref().unwrap().as_str()));
        format!("{} {}{gone}", its.line.kind, its.about().map_or("", |about| about.as_str()))
    };
    lines.iter().map(told).collect()
}

/// Facts of several days, of two clocks on the wall.
fn filled(folder: &Folder) -> Desk {
    let mut desk = folder.founded("cellar");
    let facts = [
        ("2026-11-02T23:30:00-08:00", "jo"),
        ("2026-11-03T08:00:00+01:00", "mk"),
        ("2026-11-03T00:10:00+01:00", "mk"),
        ("2027-03-05T12:00:00+01:00", "jo"),
    ];
    let facts: Vec<String> =
        facts.iter().map(|(at, by)| format!(r#"{{"at":"{at}","by":"{by}",{}}}"#, noted(at))).collect();
    let now = Moment::parse("2027-03-06T08:00:00+01:00").unwrap();
    assert_eq!(desk.record(lines(&facts), now, false).unwrap().refused, []);
    desk
}

#[test]
fn a_day_is_what_the_clock_on_the_wall_showed() {
    let folder = Folder::new();
    let desk = filled(&folder);
    let of = |date: &str| {
        let lines = desk.journal_of(day(date), &Wanted::default()).unwrap();
        lines.iter().map(|its| its.line.at.to_string()).collect::<Vec<_>>()
    };
    assert_eq!(of("2026-11-02"), ["2026-11-02T23:30:00-08:00"]);
    assert_eq!(of("2026-11-03"), ["2026-11-03T00:10:00+01:00", "2026-11-03T08:00:00+01:00"]);
    assert_eq!(of("2026-11-04"), Vec::<String>::new());
}

#[test]
fn the_next_day_and_the_one_before_are_found_over_empty_stretches() {
    let folder = Folder::new();
    let desk = filled(&folder);
    let all = Wanted::default();
    let go = |from: &str, toward| desk.journal_day(day(from), toward, &all).unwrap();
    assert_eq!(go("2026-11-02", Toward::Later), Sought::Day(day("2026-11-03")));
    assert_eq!(go("2026-11-03", Toward::Later), Sought::Day(day("2027-03-05")));
    assert_eq!(go("2027-03-05", Toward::Later), Sought::Nothing);
    assert_eq!(go("2030-01-01", Toward::Earlier), Sought::Day(day("2027-03-05")));
    assert_eq!(go("2027-03-05", Toward::Earlier), Sought::Day(day("2026-11-03")));
    assert_eq!(go("2026-11-03", Toward::Earlier), Sought::Day(day("2026-11-02")));
    assert_eq!(go("2026-09-21", Toward::Earlier), Sought::Nothing);
    let wanted = Wanted { by: Some(label("JO")), ..Wanted::default() };
    let go = |from: &str, toward| desk.journal_day(day(from), toward, &wanted).unwrap();
    assert_eq!(go("2027-03-05", Toward::Earlier), Sought::Day(day("2026-11-02")));
    assert_eq!(go("2026-11-02", Toward::Later), Sought::Day(day("2027-03-05")));
}

#[test]
fn lines_are_of_a_vessel_a_lot_a_person_and_a_kind() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    desk.enter(&act(&[topped("1", 300)]), moment(200)).unwrap();
    desk.enter(&act(&[topped("2", 300)]), moment(210)).unwrap();
    let theirs = [history(1, "other", 1, moment(205), &noted("seen"))];
    assert_eq!(desk.record(theirs.to_vec(), moment(220), false).unwrap().refused, []);
    let of = |wanted: Wanted| told(&desk.journal_of(moment(0).date(), &wanted).unwrap());
    let about = |text: &str| Wanted { about: vec![About::of(desk.state(), &label(text))], ..Wanted::default() };
    assert_eq!(of(about("1")), ["vessel_registered 1", "wine_received 1", "topped 1", "noted 1"]);
    // The keg is named by what was topped from it; of a lot it is also what was done at its vessels since it is there.
    assert_eq!(of(about("K")), ["vessel_registered K", "wine_received K", "topped 1", "topped 2"]);
    let lot = of(about("M24"));
    assert!(lot.contains(&"topped 2".to_owned()) && lot.contains(&"lot_opened M24".to_owned()), "{lot:?}");
    assert!(!lot.contains(&"vessel_registered 1".to_owned()), "{lot:?}");
    let by = Wanted { by: Some(label("jo")), ..Wanted::default() };
    assert_eq!(of(by), ["noted 1"]);
    let kind = Wanted { kind: Some("topped".to_owned()), ..about("2") };
    assert_eq!(of(kind), ["topped 2"]);
}

#[test]
fn what_is_taken_back_stays_with_who_took_it_back() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    desk.enter(&act(&[topped("1", 300), topped("2", 200)]), moment(200)).unwrap();
    desk.undo(&label("jo"), moment(210)).unwrap();
    let of = |desk: &Desk| {
        let lines = desk.journal_of(moment(0).date(), &Wanted::default()).unwrap();
        lines.into_iter().filter(|its| its.line.at.instant() >= moment(200).instant()).collect::<Vec<_>>()
    };
    let after = of(&desk);
    assert_eq!(told(&after), ["topped 1 (\"jo\")", "topped 2 (\"jo\")", "retracted 1", "retracted 2"]);
    assert!(after[1].is_of_act(&after[0]) && after[3].is_of_act(&after[2]) && !after[2].is_of_act(&after[1]));
    // A fact that takes another back is about what that is about.
    let wanted = Wanted { about: vec![About::of(desk.state(), &label("2"))], ..Wanted::default() };
    assert!(told(&desk.journal_of(moment(0).date(), &wanted).unwrap()).contains(&"retracted 2".to_owned()));
    let (given, back) = (after[3].turns.clone().unwrap(), after[3].line.id.clone());
    assert!(!given.gives_back);
    // What took it back is taken back itself: then it counts again.
    let taking =
        TakingBack { of: vec![back], words: barrelwalk::cellar::core::label::Text::new("given back: it").unwrap() };
    desk.take_back_told(&taking, &label("mk"), moment(220), &[]).unwrap();
    let lines = of(&desk);
    assert_eq!(told(&lines[..2]), ["topped 1 (\"jo\")", "topped 2"]);
    assert!(lines.iter().any(|its| its.turns.as_ref().is_some_and(|turned| turned.gives_back)));
}

#[test]
fn every_label_that_a_thing_had_finds_its_lines() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    desk.enter(&act(&[topped("1", 300)]), moment(200)).unwrap();
    let renamed =
        |what: &str, from: &str, to: &str| format!(r#""kind":"renamed","what":"{what}","from":"{from}","to":"{to}""#);
    desk.enter(&act(&[renamed("vessel", "1", "1A"), renamed("lot", "M24", "Upper")]), moment(210)).unwrap();
    desk.enter(&act(&[topped("1A", 200)]), moment(220)).unwrap();
    let of = |text: &str| {
        let about = About::of(desk.state(), &label(text));
        told(&desk.journal_of(moment(0).date(), &Wanted { about: vec![about], ..Wanted::default() }).unwrap())
    };
    let both = ["topped 1", "topped 1A"].map(str::to_owned);
    assert!(both.iter().all(|line| of("1").contains(line)), "{:?}", of("1"));
    assert_eq!((of("1A"), of("Upper")), (of("1"), of("M24")));
    assert!(of("Upper").contains(&"lot_opened M24".to_owned()), "{:?}", of("Upper"));
}
