//! What the commands give out of a small cellar, in every form.

use std::collections::BTreeSet;
use std::ffi::OsString;
use std::io::{self, Write};

use serde_json::Value;

use super::arguments::{Arguments, Format, Shown, Thing, Things, Traceable};
use super::cellar_file;
use super::samples::{moment, on, state, traced, traced_until};
use crate::cellar::views::books::ledger::{Division, Period};
use crate::cli::books::ledger::Ledger;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::outgoing::Manner;
use crate::cli::table::page::Page;
use crate::cli::{Saying, Surroundings, end, plan, reading};

/// What a command writes.
fn given(format: Format, width: Option<usize>, command: impl FnOnce(&mut Page<'_>) -> Outcome) -> String {
    let mut out = Vec::new();
    command(&mut Page { out: &mut out, format, width }).unwrap();
    String::from_utf8(out).unwrap()
}

fn list(format: Format, things: Things) -> String {
    let state = state();
    given(format, Some(80), |page| reading::list(&state, things, on(), page))
}

fn show(format: Format, thing: Thing) -> String {
    given(format, Some(80), |page| reading::show(&state(), &Shown::Thing(thing), on(), page))
}

fn trace(format: Format, thing: Thing, forward: bool) -> String {
    let thing = Traceable::Thing(thing);
    given(format, Some(80), |page| reading::trace(&traced(), &thing, (forward, None), on(), page))
}

fn plan(format: Format, room: &str) -> String {
    given(format, Some(80), |page| plan::round(&state(), reading::room(&state(), room)?, on(), page))
}

fn ledger(format: Format, division: Division) -> String {
    let from = moment("2026-10-01T00:00:00+02:00");
    let to = on();
    let period = Period::new((from, traced_until(from).state), Vec::new(), (to, state()), to);
    given(format, Some(80), |page| Ledger { period: &period, from, to }.write(division, page))
}

fn vessel(label: &str) -> Thing {
    Thing::Vessel { label: label.to_owned() }
}

fn lot(label: &str) -> Thing {
    Thing::Lot { label: label.to_owned() }
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

const EVERY_LIST: [Things; 6] =
    [Things::Vessels { all: true }, Things::Lots, Things::Rooms, Things::Due, Things::Discrepancies, Things::Marks];
const LIST_NAMES: [&str; 6] = ["vessels", "lots", "rooms", "due", "discrepancies", "marks"];
const EVERY_DIVISION: [Division; 4] = [Division::Whole, Division::Vessel, Division::Lot, Division::Room];

#[test]
fn tables() {
    for (things, name) in EVERY_LIST.into_iter().zip(LIST_NAMES) {
        insta::assert_snapshot!(format!("table_list_{name}"), list(Format::Table, things));
    }
    insta::assert_snapshot!("table_show_vessel", show(Format::Table, vessel("0411")));
    insta::assert_snapshot!("table_show_vessel_held", show(Format::Table, vessel("0413")));
    insta::assert_snapshot!("table_show_vessel_empty", show(Format::Table, vessel("=0600")));
    insta::assert_snapshot!("table_show_lot", show(Format::Table, lot("M24 Terrace")));
    insta::assert_snapshot!("table_trace_vessel", trace(Format::Table, vessel("0411"), false));
    insta::assert_snapshot!("table_trace_lot_forward", trace(Format::Table, lot("C25 Creek"), true));
    insta::assert_snapshot!("table_plan", plan(Format::Table, "long"));
    for division in EVERY_DIVISION {
        insta::assert_snapshot!(format!("table_ledger_{division:?}").to_lowercase(), ledger(Format::Table, division));
    }
}

#[test]
fn spreadsheets() {
    for (things, name) in EVERY_LIST.into_iter().zip(LIST_NAMES) {
        insta::assert_snapshot!(format!("csv_list_{name}"), list(Format::Csv, things));
    }
    insta::assert_snapshot!("csv_show_lot", show(Format::Csv, lot("M24 Terrace")));
    insta::assert_snapshot!("csv_trace_vessel", trace(Format::Csv, vessel("0411"), false));
    insta::assert_snapshot!("csv_plan", plan(Format::Csv, "long"));
    insta::assert_snapshot!("csv_ledger", ledger(Format::Csv, Division::Lot));
}

#[test]
fn json_objects() {
    for (things, name) in EVERY_LIST.into_iter().zip(LIST_NAMES) {
        insta::assert_snapshot!(format!("json_list_{name}"), list(Format::Json, things));
    }
    let indented = |text: String| serde_json::to_string_pretty(&json(&text)).unwrap();
    insta::assert_snapshot!("json_show_vessel", indented(show(Format::Json, vessel("0411"))));
    insta::assert_snapshot!("json_show_lot", indented(show(Format::Json, lot("M24 Terrace"))));
    insta::assert_snapshot!("json_trace_vessel", indented(trace(Format::Json, vessel("0411"), false)));
    insta::assert_snapshot!("json_plan", indented(plan(Format::Json, "long")));
    insta::assert_snapshot!("json_ledger", indented(ledger(Format::Json, Division::Whole)));
    insta::assert_snapshot!("json_ledger_by_room", indented(ledger(Format::Json, Division::Room)));
}

const VESSEL_FIELDS: &[&str] = &[
    "vessel",
    "type",
    "place",
    "lot",
    "capacity_ul",
    "volume_ul",
    "headspace_ul",
    "headspace_sd_ul",
    "last_topped",
    "days_since_topped",
    "due",
    "held",
    "composition",
];
const LEDGER_FIELDS: &[&str] = &[
    "opening_ul",
    "received_ul",
    "gain_ul",
    "evaporation_ul",
    "lees_ul",
    "handling_ul",
    "spill_ul",
    "leak_ul",
    "other_ul",
    "sample_ul",
    "treatment_ul",
    "bottled_ul",
    "bottling_loss_ul",
    "moved_in_ul",
    "moved_out_ul",
    "closing_ul",
];

fn has_fields(object: &Value, fields: &[&str]) {
    for field in fields {
        assert!(object.as_object().unwrap().contains_key(*field), "{field} is missing in {object}");
    }
}

#[test]
fn objects_have_the_fields_that_other_programs_count_on() {
    let lists: [(Things, &[&str]); 6] = [
        (Things::Vessels { all: false }, VESSEL_FIELDS),
        (Things::Due, VESSEL_FIELDS),
        (Things::Lots, &["lot", "colour", "stage", "round_days", "volume_ul", "barrels", "due", "over", "held"]),
        (
            Things::Rooms,
            &["room", "rows", "temperature_c", "humidity_pct", "round_days", "tolerated_ul", "due", "over"],
        ),
        (Things::Marks, &["mark", "key", "group", "fault", "also", "warns"]),
        (Things::Discrepancies, &["device", "n", "at", "kind", "about", "problem", "counted"]),
    ];
    for (things, fields) in lists {
        let objects = json(&list(Format::Json, things));
        assert!(!objects.as_array().unwrap().is_empty(), "{things:?}");
        objects.as_array().unwrap().iter().for_each(|object| has_fields(object, fields));
    }
    has_fields(&json(&show(Format::Json, vessel("0411"))), VESSEL_FIELDS);
    has_fields(&json(&show(Format::Json, lot("M24 Terrace"))), &["lot", "composition", "barrel_mix", "in_vessels"]);
    for division in EVERY_DIVISION {
        let told = json(&ledger(Format::Json, division));
        let rows = if told.is_array() { told.as_array().unwrap().clone() } else { vec![told] };
        for row in &rows {
            has_fields(row, LEDGER_FIELDS);
        }
    }
    let traced = json(&trace(Format::Json, vessel("0411"), false));
    has_fields(&traced, &["vessel", "direction", "volume_ul", "composition", "flows"]);
    has_fields(&traced["flows"][0], &["from", "to", "lot", "why", "volume_ul", "times", "first", "last"]);
    let plan = json(&plan(Format::Json, "long"));
    has_fields(&plan, &["room", "barrels", "expected_ul", "carry_ul", "held", "sources"]);
}

#[test]
fn composition_sums_to_the_volume() {
    for object in json(&list(Format::Json, Things::Vessels { all: true })).as_array().unwrap() {
        let parts = object["composition"].as_array().unwrap().iter();
        let sum: u64 = parts.map(|part| part["volume_ul"].as_u64().unwrap()).sum();
        assert_eq!(Some(sum), object["volume_ul"].as_u64(), "{object}");
    }
}

#[test]
fn the_ledger_balances_in_what_is_given_out() {
    for division in EVERY_DIVISION {
        let told = json(&ledger(Format::Json, division));
        let rows = if told.is_array() { told.as_array().unwrap().clone() } else { vec![told] };
        for row in &rows {
            let sum = |fields: &[&str]| fields.iter().map(|field| row[*field].as_u64().unwrap()).sum::<u64>();
            let came = sum(&["opening_ul", "received_ul", "gain_ul", "treatment_ul", "moved_in_ul"]);
            let went =
                sum(&LEDGER_FIELDS[3..10]) + sum(&["bottled_ul", "bottling_loss_ul", "moved_out_ul", "closing_ul"]);
            assert_eq!(came, went, "{row}");
        }
    }
}

/// The spreadsheet has a column for every field of the JSON, under its name with the reader's unit.
#[test]
fn spreadsheet_and_json_tell_the_same() {
    let both = |command: &dyn Fn(Format) -> String| {
        let (csv, json) = (command(Format::Csv), json(&command(Format::Json)));
        let names: BTreeSet<String> = csv.lines().next().unwrap().split(',').map(str::to_owned).collect();
        let object = json.as_array().map_or(&json, |rows| &rows[0]);
        let fields: BTreeSet<String> =
            object.as_object().unwrap().keys().map(|name| Manner::customary().heading(name)).collect();
        assert_eq!(names, fields);
    };
    for things in EVERY_LIST {
        both(&|format| list(format, things));
    }
    for division in EVERY_DIVISION {
        both(&|format| ledger(format, division));
    }
}

#[test]
fn no_text_of_a_spreadsheet_is_taken_for_a_formula() {
    let csv = list(Format::Csv, Things::Vessels { all: true });
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let first: Vec<String> = reader.records().map(|record| record.unwrap()[0].to_owned()).collect();
    assert!(first.contains(&"'=0600".to_owned()), "{first:?}");
}

#[test]
fn tables_fit_a_screen_of_80_columns() {
    for things in EVERY_LIST {
        let table = list(Format::Table, things);
        assert!(table.lines().all(|line| unicode_width::UnicodeWidthStr::width(line) <= 80), "{table}");
    }
}

#[test]
fn retired_vessels_are_listed_only_where_all_are_wanted() {
    let count = |all| json(&list(Format::Json, Things::Vessels { all })).as_array().unwrap().len();
    assert_eq!((count(false), count(true)), (11, 12));
}

#[test]
fn what_is_not_there_is_refused_with_a_near_miss() {
    let mut out = Vec::new();
    let mut page = Page { out: &mut out, format: Format::Json, width: None };
    let refused =
        reading::show(&state(), &Shown::Thing(vessel("411")), on(), &mut page).unwrap_err().sentence().unwrap();
    assert!(refused.starts_with("No vessel is called '411'. Did you mean '0411'"), "{refused}");
    assert!(reading::room(&state(), "lang").unwrap_err().sentence().unwrap().contains("'long'"));
    assert!(out.is_empty());
}

#[test]
fn a_ledger_does_not_end_before_it_begins() {
    let sentence = |from, to| reading::in_order(moment(from), moment(to)).unwrap_err().sentence().unwrap();
    assert_eq!(
        sentence("2026-11-02T00:00:00+01:00", "2026-11-01T23:59:59+01:00"),
        "The ledger would end on 1 Nov 2026, before it begins on 2 Nov 2026. Check --from and --to."
    );
    let same_day = sentence("2026-11-02T08:00:00+01:00", "2026-11-02T07:00:00+01:00");
    assert!(same_day.contains("2026-11-02T07:00:00+01:00"), "{same_day}");
    assert!(reading::in_order(on(), on()).is_ok());
}

/// A device that takes nothing.
struct Broken(io::ErrorKind);

impl Write for Broken {
    fn write(&mut self, _bytes: &[u8]) -> io::Result<usize> {
        Err(self.0.into())
    }
    fn flush(&mut self) -> io::Result<()> {
        Err(self.0.into())
    }
}

#[test]
fn a_closed_pipe_is_no_complaint_but_a_full_disk_is() {
    for format in [Format::Table, Format::Csv, Format::Json] {
        let complaint = |kind| {
            let mut page = Page { out: &mut Broken(kind), format, width: None };
            reading::list(&state(), Things::Lots, on(), &mut page).unwrap_err()
        };
        assert_eq!(complaint(io::ErrorKind::BrokenPipe).sentence(), None, "{format:?}");
        let sentence = complaint(io::ErrorKind::StorageFull).sentence().unwrap();
        assert!(sentence.starts_with("The output could not be written"), "{sentence}");
    }
}

#[test]
fn exit_codes() {
    let mut err = Vec::new();
    let mut code = |outcome: Outcome| format!("{:?}", end(&outcome, &mut Saying::new(&mut err)));
    let exit = |code: u8| format!("{:?}", std::process::ExitCode::from(code));
    assert_eq!(code(Ok(())), exit(0));
    assert_eq!(code(Err(Complaint::Output(io::ErrorKind::BrokenPipe.into()))), exit(0));
    assert_eq!(code(Err(Complaint::Refused("No.\u{1b}[2J".to_owned()))), exit(1));
    assert_eq!(String::from_utf8(err).unwrap(), "barrelwalk: No.·[2J\n");
    for wrong in
        [&["list"][..], &["list", "barrels"], &["show", "vessel"], &["--bad"], &["list", "lots", "--on", "now"]]
    {
        let words = ["barrelwalk"].iter().chain(wrong);
        assert_eq!(Arguments::read(words.map(OsString::from)).unwrap_err().exit_code(), 2, "{wrong:?}");
    }
}

#[test]
fn without_a_data_folder_the_cellar_must_be_named() {
    let refused = cellar_file((None, false), &Surroundings::default()).unwrap_err();
    assert!(refused.sentence().unwrap().contains("--cellar FILE"));
}
