//! What goes out as spreadsheets comes in again as it was, whatever the things are called. `PROPTEST_CASES` says how many cellars are tried.

use std::collections::BTreeSet;

use chrono::{NaiveDate, NaiveTime};
use proptest::prelude::*;
use proptest::sample::select;
use serde_json::{Value, json};
use tempfile::TempDir;

use super::*;
use crate::cellar::core::fact::IncomingFact;
use crate::cellar::core::label::{Label, Text, is_unsafe};
use crate::cellar::core::moment::WallTime;
use crate::desk::{Access, Importing, IncomingLine, Surprises, Taking};
use crate::import::fields::{BARRELS, TABLES, TASTES, TESTS, TOPPINGS, Table, WINE};
use crate::import::{Answers, propose};
use crate::intake::CameTo;
use crate::spreadsheet::{Grid, Line, Wanted};
use crate::told::Face;
use crate::told::floor::importing::remark;

/// Labels that a spreadsheet, or whoever reads one, makes something else of.
const NASTY: [&str; 60] = [
    "=1+1",
    "=2",
    "+1",
    "-1",
    "-",
    "@x",
    "@sum",
    "'=q",
    "''+",
    "'",
    "''",
    "a;b",
    ";;;;;;;;;",
    ",,,",
    "a;=2",
    "a,b",
    "a\"b",
    "\"",
    "\"\"",
    "|a|b|",
    "0417",
    "417",
    "007",
    "1e5",
    "1.125",
    "1,125",
    "12,5",
    "03/04/2026",
    "2026-11-27",
    "TRUE",
    "NULL",
    "#N/A",
    "#REF!",
    "n/a",
    "NaN",
    "none",
    "None",
    "unknown",
    "?",
    "…",
    "—",
    "Total",
    "TOTALS",
    "Tótal",
    "Sum of it",
    "Count Basil",
    "sep=;",
    "né Æ",
    "e\u{301}te\u{301}",
    "M24 = good",
    "樽 7",
    "ברל 7",
    "برميل ٧",
    "\\n",
    "\\",
    "a/b",
    "room/A-01-1-a",
    "full",
    "225 L",
    "Left out as no barrels",
];
/// Blanks of several kinds.
const BLANKS: [&str; 5] = [" ", "  ", "\u{a0}", "\u{3000}", "\u{2009}"];

/// A label: one of those, a head of any table, anything at all, each with blanks and apostrophes round it.
fn label() -> impl Strategy<Value = String> {
    let heads: Vec<&str> = TABLES
        .iter()
        .flat_map(|table| table.fields)
        .flat_map(|field| field.words.iter().chain([&field.name]))
        .copied()
        .collect();
    let bare = prop_oneof![
        4 => select(NASTY.to_vec()).prop_map(str::to_owned),
        2 => select(heads).prop_map(str::to_owned),
        1 => "[A-Z]-[0-9]{2}",
        1 => "[0-9]{1,6}",
        2 => "\\PC{1,40}",
        1 => "[\u{5d0}-\u{5ea}\u{627}-\u{64a}e\u{301}\u{308} ]{1,20}",
        1 => "x{40}",
    ];
    let round = prop_oneof![6 => Just(""), 1 => select(BLANKS.to_vec()), 1 => Just("'")];
    let cased = (bare, any::<bool>()).prop_map(|(bare, cased)| if cased { bare.to_uppercase() } else { bare });
    let label = (round.clone(), cased, round).prop_map(|(before, bare, behind)| format!("{before}{bare}{behind}"));
    label.prop_filter("a label", |label| Label::new(label).is_ok())
}

/// Words of several lines.
fn words() -> impl Strategy<Value = String> {
    let text = prop_oneof![label(), "(\\PC|[\n\t]){1,60}", Just("one\n\"two\";\n=3\n".to_owned())];
    text.prop_filter("a text", |text| {
        Text::new(text).is_ok() && !text.chars().any(|sign| is_unsafe(sign) && sign != '\n' && sign != '\t')
    })
}

/// What is done to one vessel.
#[derive(Clone, Debug)]
struct Deed {
    vessel: usize,
    minute: u32,
    by: usize,
    topped_ul: u64,
    full: bool,
    free: f64,
    of_lot: bool,
    ph: f64,
    words: String,
    remark: Option<String>,
    score: Option<f64>,
}

fn deed() -> impl Strategy<Value = Deed> {
    let of_vessel = (0..5_usize, 0..1_000_u32, 0..7_usize, 1_000_u64..3_000_000, any::<bool>());
    let of_wine = (0..60_000_u32, any::<bool>(), 290..420_u32, words(), proptest::option::of(words()));
    let score = proptest::option::of((0..80_u32).prop_map(|quarters| f64::from(quarters) / 4.0));
    (of_vessel, of_wine, score).prop_map(|(of_vessel, of_wine, score)| {
        let (vessel, minute, by, topped_ul, full) = of_vessel;
        let (free, of_lot, ph, words, remark) = of_wine;
        let (free, ph) = (f64::from(free) / 1_000.0, f64::from(ph) / 100.0);
        Deed { vessel, minute, by, topped_ul, full, free, of_lot, ph, words, remark, score }
    })
}

fn at(day: u32, minute: u32) -> Moment {
    let day = NaiveDate::from_ymd_opt(2026, 11, day).unwrap();
    let time = NaiveTime::from_num_seconds_from_midnight_opt(minute * 61 + 7, 0).unwrap();
    Moment::on_wall(WallTime { day, time: Some(time) }, Moment::parse("2026-11-28T12:00:00Z").unwrap()).unwrap()
}

/// The facts of a cellar: a keg of one lot, barrels in a room, some of them with a second wine, and what was done to them.
fn facts(labels: &[String], deeds: &[Deed]) -> Vec<Value> {
    let [keg, room, row, lot, other, first, second, barrels @ ..] = labels else { unreachable!("so many are made") };
    let row = row.replace('/', "-");
    let room = if room.trim_matches('/').is_empty() { "room" } else { room };
    let mut facts = vec![
        json!({"kind": "room_laid_out", "room": room, "rows": [{"row": row, "stacks": 3, "tiers": 2, "sides": 2}]}),
        json!({"kind": "vessel_registered", "vessel": keg, "type": "keg", "capacity_ul": 900_000_000_u64}),
        json!({"kind": "origin_declared", "origin": first, "block": lot, "variety": first, "vintage": 2025, "appellation": second, "colour": "red"}),
        json!({"kind": "origin_declared", "origin": second, "block": keg, "variety": keg, "vintage": 2024, "appellation": room, "colour": "red", "owner": other}),
        json!({"kind": "lot_opened", "lot": lot, "colour": "red"}),
        json!({"kind": "lot_opened", "lot": other, "colour": "red"}),
    ];
    for (place, barrel) in (1_u64..).zip(barrels) {
        facts.push(json!({"kind": "vessel_registered", "vessel": barrel, "type": "barrel", "capacity_ul": 228_123_000 + place, "forest": lot, "cooper": barrel, "toast": second, "grain": keg, "shape": room, "made": 2024, "price": 1_000.0 + place as f64 / 8.0, "fills": place, "stained": "red", "heads_toasted": place == 1, "seasoning_months": 24}));
        facts.push(
            json!({"kind": "vessel_placed", "vessel": barrel, "place": format!("{room}/{row}-0{}-1-a", place.min(3))}),
        );
        if place == 3 {
            break;
        }
    }
    for barrel in barrels.iter().skip(3) {
        facts
            .push(json!({"kind": "vessel_registered", "vessel": barrel, "type": "barrel", "capacity_ul": 225_000_000}));
    }
    for fact in &mut facts {
        fact["at"] = at(1, 1).to_string().into();
    }
    let mut wine = vec![
        json!({"kind": "wine_received", "vessel": keg, "lot": lot, "parts": [{"origin": first, "volume_ul": 800_000_000_u64}]}),
    ];
    for (place, barrel) in (0_u64..).zip(barrels) {
        let parts =
            json!([{"origin": first, "volume_ul": 120_000_000 - place}, {"origin": second, "volume_ul": 100_125_000}]);
        let parts = if place % 2 == 0 { parts } else { json!([{"origin": second, "volume_ul": 221_125_000_u64}]) };
        wine.push(json!({"kind": "wine_received", "vessel": barrel, "lot": if place == 0 { other } else { lot }, "parts": parts}));
    }
    for fact in &mut wine {
        fact["at"] = at(2, 1).to_string().into();
    }
    facts.extend(wine);
    for deed in deeds {
        let vessel = &barrels[deed.vessel % barrels.len()];
        let mut done = vec![
            json!({"kind": "topped", "vessel": vessel, "from": keg, "volume_ul": deed.topped_ul, "full": deed.full}),
            json!({"kind": "tested", "vessel": vessel, "ph": deed.ph, "free_so2_mg_l": deed.free, "ta_g_l": 5.125, "va_g_l": 0.5, "lab": deed.words}),
            json!({"kind": "tasted", "vessel": vessel, "score": deed.score, "text": deed.words, "marks": ["plum", "closed"]}),
        ];
        if deed.of_lot {
            done[1]["lot"] = done[1]["vessel"].take();
            done[1]["lot"] = lot.as_str().into();
            done[1].as_object_mut().unwrap().remove("vessel");
        }
        for fact in &mut done {
            fact["at"] = at(3, deed.minute).to_string().into();
            fact["by"] = labels[deed.by % labels.len()].as_str().into();
            if let Some(remark) = &deed.remark {
                fact["note"] = remark.as_str().into();
            }
        }
        facts.extend(done);
    }
    facts
}

fn new_desk(folder: &TempDir, name: &str) -> Desk {
    let path = folder.path().join(name);
    Desk::create(&path, at(1, 0)).unwrap();
    Desk::open(&path, Access::ReadWrite).unwrap()
}

fn now() -> Moment {
    at(28, 0)
}

fn filled(folder: &TempDir, facts: &[Value]) -> Desk {
    let mut desk = new_desk(folder, "c");
    let line = |(number, fact): (u64, &Value)| {
        let mut fact = fact.clone();
        if fact.get("by").is_none() {
            fact["by"] = "Ana".into();
        }
        let (fact, body) = IncomingFact::from_json(&fact.to_string()).unwrap();
        IncomingLine { number, fact, body }
    };
    let admitted = desk.record((1..).zip(facts).map(line).collect(), now(), false).unwrap();
    assert_eq!(admitted.refused, [], "the cellar is one that can be");
    desk
}

/// Takes in one of the files; nothing of it is asked, left out or refused.
fn take_in(desk: &mut Desk, table: &'static Table, files: &[Written], name: &str, since: Moment) {
    let (_, bytes) = files.iter().find(|(its, _)| *its == name).unwrap();
    let shown = String::from_utf8_lossy(bytes);
    let grid = Grid::read(bytes, &Wanted::default()).unwrap();
    // Toppings come in by themselves.
    let columns = if table.name == "wine" { vec![("topped".to_owned(), "0".to_owned())] } else { Vec::new() };
    let answers = Answers { lay_out: true, columns, ..Answers::default() };
    let proposal = propose(table, &grid, &answers, desk.state());
    assert_eq!(proposal.questions, [], "{shown}");
    let left: Vec<String> = proposal.warnings.iter().map(|it| remark(it, Face::Desk)).collect();
    assert!(!left.iter().any(|it| it.starts_with("Left out") || it.starts_with("Nothing")), "{left:?}\n{shown}");
    let by = Label::new("Ana").unwrap();
    let importing = Importing { by: &by, since, now: now() };
    let taking = Taking::Entered { keep_good: false, surprises: Surprises::AskedBefore };
    let came_to = CameTo::of(desk, grid.source, proposal, importing, taking).unwrap();
    let refused: Vec<String> =
        came_to.proposal.refused.iter().map(|(line, why)| format!("{line}: {}", remark(why, Face::Desk))).collect();
    assert!(refused.is_empty(), "{refused:?}\n{shown}");
    assert_eq!(came_to.proposal.known, 0, "{shown}");
}

/// What was done of a kind, without the names that its facts have in one cellar.
fn done_in(desk: &Desk, kind: DoneKind) -> Vec<Vec<String>> {
    let manner = Manner::customary().exact();
    let columns =
        done::columns(kind, None).into_iter().filter_map(|column| Some((column.in_spreadsheet()?, column.cell)));
    let columns: Vec<_> = columns.filter(|(name, _)| !["device", "n"].contains(name)).collect();
    let done = done::all(desk, kind, &DoneArguments::default(), now()).unwrap();
    let mut rows: Vec<Vec<String>> =
        done.iter().map(|it| columns.iter().map(|(name, cell)| manner.cell(name, &cell(it))).collect()).collect();
    rows.sort();
    rows
}

fn lines_of(files: &[Written], name: &str) -> BTreeSet<String> {
    let (_, bytes) = files.iter().find(|(its, _)| *its == name).unwrap();
    String::from_utf8_lossy(bytes).split('\n').map(str::to_owned).collect()
}

fn comes_in_as_it_was(labels: &[String], deeds: &[Deed]) {
    let folder = tempfile::tempdir().unwrap();
    let desk = filled(&folder, &facts(labels, deeds));
    let out = files(&desk, now()).unwrap();
    let mut again = new_desk(&folder, "again");
    take_in(&mut again, &BARRELS, &out, "vessels.csv", at(1, 1));
    take_in(&mut again, &WINE, &out, "wine.csv", at(2, 1));
    let there = files(&again, now()).unwrap();
    assert_eq!(lines_of(&there, "vessels.csv"), lines_of(&out, "vessels.csv"));
    let lots = |desk: &Desk| -> BTreeSet<String> {
        desk.state().lots.iter().map(|(_, lot)| format!("{} {:?}", lot.label, lot.colour)).collect()
    };
    assert_eq!(lots(&again), lots(&desk));
    let wine = |files: &[Written]| -> Vec<String> {
        let (_, bytes) = files.iter().find(|(name, _)| *name == "wine.csv").unwrap();
        let grid = Grid::read(bytes, &Wanted::default()).unwrap();
        // All but the last topping.
        let but_topped =
            |line: &Line| (0..10).map(|column| line.cell(column).words().into_owned()).collect::<Vec<_>>().join("|");
        let mut lines: Vec<String> = grid.lines.iter().map(but_topped).collect();
        lines.sort();
        lines
    };
    assert_eq!(wine(&there), wine(&out));
    for (table, name) in [(&TOPPINGS, "toppings.csv"), (&TESTS, "tests.csv"), (&TASTES, "tastes.csv")] {
        take_in(&mut again, table, &out, name, now());
    }
    for kind in [DoneKind::Toppings, DoneKind::Tests, DoneKind::Tastes] {
        assert_eq!(done_in(&again, kind), done_in(&desk, kind));
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: std::env::var("PROPTEST_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(200),
        max_shrink_iters: 300,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn what_goes_out_comes_in_as_it_was_whatever_it_is_called(
        labels in proptest::collection::btree_set(label(), 9..14),
        deeds in proptest::collection::vec(deed(), 1..5),
    ) {
        let labels: Vec<String> = labels.into_iter().collect();
        comes_in_as_it_was(&labels, &deeds);
    }
}
