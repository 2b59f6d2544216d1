//! What an act leaves open and the cellar can tell is worked out when it is entered, and stands in the log.

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::cellar::core::fact::{Line, What};
use barrelwalk::cellar::jobs::wood::racking::RackingAsked;
use barrelwalk::cellar::views::books::ledger::{Division, ledger};
use barrelwalk::desk::{Act, Desk};
use barrelwalk::units::{Volume, VolumeUnit};

use super::cellar::{Folder, act, assert_same_when_opened, exported, history, intent, label, line, moment, text};

const DAY: i64 = 86_400;
const BARRELS: u64 = 10;

/// Ten barrels full of one lot on the first day, and two empty tanks.
fn cellar(folder: &Folder) -> Desk {
    let mut desk = folder.empty("cellar");
    let mut fields = vec![
        r#""kind":"lot_opened","lot":"M24","colour":"red""#.to_owned(),
        r#""kind":"origin_declared","origin":"o","block":"b","variety":"Merlot","vintage":2024,"appellation":"a","colour":"red""#.to_owned(),
        r#""kind":"room_laid_out","room":"long","rows":[{"row":"A","stacks":5,"tiers":1,"sides":2}]"#.to_owned(),
        r#""kind":"vessel_registered","vessel":"X","type":"tank","capacity_ul":3000000000"#.to_owned(),
        r#""kind":"vessel_registered","vessel":"Y","type":"tank","capacity_ul":3000000000"#.to_owned(),
    ];
    for number in 1..=BARRELS {
        let side = if number % 2 == 1 { "a" } else { "b" };
        let stack = number.div_ceil(2);
        fields
            .push(format!(r#""kind":"vessel_registered","vessel":"{number}","type":"barrel","capacity_ul":225000000"#));
        fields.push(format!(r#""kind":"vessel_placed","vessel":"{number}","place":"long/A-0{stack}-1-{side}""#));
        fields.push(filled(&number.to_string()));
    }
    record(&mut desk, &fields, 1);
    desk
}

fn filled(vessel: &str) -> String {
    format!(
        r#""kind":"wine_received","vessel":"{vessel}","lot":"M24","parts":[{{"origin":"o","volume_ul":225000000}}]"#
    )
}

/// Acts that came in a file, a second after the other.
fn record(desk: &mut Desk, fields: &[String], from: i64) {
    let lines =
        fields.iter().zip(1..).map(|(fields, number)| intent(number, moment(from + number.cast_signed()), fields));
    let outcome = desk.record(lines.collect(), moment(from + 1_000), false).unwrap();
    assert_eq!(outcome.refused, []);
}

fn enter(desk: &mut Desk, fields: &str, seconds: i64) {
    desk.enter(&act(&[fields.to_owned()]), moment(seconds)).unwrap();
}

fn of_kind(desk: &Desk, kind: &str) -> Vec<Line> {
    exported(desk).into_iter().filter(|line| line.kind == kind).collect()
}

fn racked(barrel: u64, into: &str, microlitres: u64) -> String {
    format!(
        r#""kind":"wine_moved","from":"{barrel}","to":"{into}","volume_ul":{microlitres},"purpose":"racking","empties":true"#
    )
}

fn gauged(vessel: &str, microlitres: u64) -> String {
    format!(r#""kind":"gauged","vessel":"{vessel}","volume_ul":{microlitres}"#)
}

fn sum(desk: &Desk, entry: Entry) -> u64 {
    desk.state().vessels.iter().map(|(_, vessel)| vessel.account().sum(entry).as_ul()).sum()
}

/// Ten barrels of 225 L are racked after thirty days at what is expected of each, which the walk says to a tenth of a litre, and
/// the tank is gauged 13.2 L below the book. By hand: of 2,250 L there evaporated what the estimate says of each; what it
/// leaves above the tenths and the 13.2 L are lees; each barrel's lees are a tenth of that.
#[test]
fn a_racking_books_what_evaporated_in_the_barrels_and_what_the_tank_lacks_as_lees() {
    let folder = Folder::new();
    let mut desk = cellar(&folder);
    let opening = desk.state().clone();
    let now = moment(30 * DAY);
    let state = desk.state();
    let (lot, to) = (state.lots.find("M24").unwrap(), state.vessels.find("X").unwrap());
    let plan = state.plan_racking(RackingAsked { lot, racks: Vec::new(), to, into: None }, now).unwrap();
    assert_eq!(plan.lees_words(), "Lees: no earlier racking to estimate from.");
    let gone: Vec<u64> =
        plan.stops.iter().map(|stop| state.gone(state.vessels.get(stop.vessel), now).as_ul()).collect();
    assert!(gone.iter().all(|gone| (1_000_000..6_000_000).contains(gone)), "{gone:?} µL in thirty days");
    let work = plan.begin(state, label("rack")).unwrap();
    desk.record(vec![intent(1, now, &fields_of(&What::WorkSet(Box::new(work))))], now, false).unwrap();
    let work = desk.state().works.find("rack").unwrap();
    let barrels: Vec<_> = plan.stops.iter().map(|stop| stop.vessel).collect();
    let whats = desk.state().done_as_expected(work, &barrels, now).unwrap().whats;
    desk.enter(&Act::of(whats, label("mk")), now).unwrap();
    let moves = of_kind(&desk, "wine_moved");
    assert_eq!(moves.len(), 10);
    for (moved, gone) in moves.iter().zip(&gone) {
        assert!(moved.body.contains(&format!(r#""evaporation_ul":{gone}"#)), "{}", moved.body);
    }
    let gone: u64 = gone.iter().sum();

    let arrived = plan.expected.as_ul();
    let left = 2_250_000_000 - gone - arrived;
    assert!(left < 10 * 100_000, "less than a tenth of a litre a barrel: {left}");
    assert_eq!((sum(&desk, Entry::Evaporation), sum(&desk, Entry::Lees)), (gone, left));
    assert_eq!(desk.state().lees_found(), None, "what was expected to arrive is no measurement");

    enter(&mut desk, &gauged("X", arrived - 13_200_000), 30 * DAY + 3_600);
    assert!(of_kind(&desk, "gauged")[0].body.contains(r#""cause":"lees""#));
    let rows = ledger(&opening, desk.state(), Division::Lot);
    let [row] = rows.as_slice() else { panic!("{rows:?}") };
    let litres = |entry| row.account.sum(entry).as_ul();
    assert_eq!(row.opening, Volume::from_litres(2_250));
    assert_eq!(litres(Entry::Evaporation), gone);
    assert_eq!(litres(Entry::Lees), left + 13_200_000);
    assert_eq!(litres(Entry::Handling), 0);
    assert_eq!(row.closing.as_ul(), 2_250_000_000 - gone - left - 13_200_000);

    let found = desk.state().lees_found().unwrap();
    assert_eq!((found.each.as_ul(), found.rackings), ((left + 13_200_000) / 10, 10));
    assert_same_when_opened(&desk);

    record(&mut desk, &(1..=BARRELS).map(|number| filled(&number.to_string())).collect::<Vec<_>>(), 31 * DAY);
    let state = desk.state();
    let asked = RackingAsked { lot, racks: Vec::new(), to: state.vessels.find("Y").unwrap(), into: None };
    let next = state.plan_racking(asked, moment(32 * DAY)).unwrap();
    assert_eq!(next.lees.as_ul(), 10 * found.each.as_ul());
    let each = found.each.show(VolumeUnit::Litre, 1);
    assert!(
        next.lees_words()
            .ends_with(&format!("{each} a barrel, the median of the last 10 barrels whose tank was gauged."))
    );
}

/// The fields of a fact as a file has them.
fn fields_of(what: &What) -> String {
    let body = serde_json::Value::Object(what.body().unwrap()).to_string();
    format!(r#""kind":"{}",{}"#, what.kind(), body.trim_start_matches('{').trim_end_matches('}'))
}

#[test]
fn what_was_measured_goes_before_what_is_estimated() {
    let folder = Folder::new();
    let mut desk = cellar(&folder);
    enter(&mut desk, &racked(1, "X", 224_800_000), 30 * DAY);
    assert_eq!((sum(&desk, Entry::Evaporation), sum(&desk, Entry::Gain)), (200_000, 0));
}

#[test]
fn what_is_said_and_what_comes_from_elsewhere_is_taken_as_it_is() {
    let folder = Folder::new();
    let mut desk = cellar(&folder);
    let at = moment(30 * DAY);
    enter(&mut desk, &format!(r#"{},"evaporation_ul":1000000"#, racked(1, "X", 223_000_000)), 30 * DAY);
    assert_eq!((sum(&desk, Entry::Evaporation), sum(&desk, Entry::Lees)), (1_000_000, 1_000_000));
    let outcome = desk.record(vec![history(1, "other", 1, at, &racked(2, "X", 223_000_000))], at, false).unwrap();
    assert_eq!(outcome.refused, []);
    let known = of_kind(&desk, "wine_moved");
    assert!(!known[1].body.contains("evaporation_ul"), "{}", known[1].body);
    assert_eq!((sum(&desk, Entry::Evaporation), sum(&desk, Entry::Lees)), (1_000_000, 3_000_000));
    let gauging = history(1, "other", 2, moment(30 * DAY + 60), &gauged("X", 440_000_000));
    desk.record(vec![gauging], moment(30 * DAY + 60), false).unwrap();
    assert_eq!(sum(&desk, Entry::Evaporation), 7_000_000, "a gauging that names no cause found evaporation, as ever");
}

#[test]
fn an_export_gives_the_same_state_without_any_estimate() {
    let folder = Folder::new();
    let mut desk = cellar(&folder);
    enter(&mut desk, &racked(1, "X", 220_000_000), 30 * DAY);
    enter(&mut desk, &gauged("X", 219_000_000), 30 * DAY + 60);
    let lines = text(&exported(&desk));
    let mut other = folder.empty("other");
    let incoming = lines.iter().zip(1..).map(|(json, number)| line(number, json)).collect();
    let outcome = other.record(incoming, moment(40 * DAY), false).unwrap();
    assert_eq!(outcome.refused, []);
    assert!(other.state() == desk.state());
    assert_eq!(text(&exported(&other)), lines);
}

/// What a tank lacks within a day of the last wine in came in with it; later it evaporated.
#[test]
fn a_shortfall_stands_under_what_went_before_it() {
    let within = 30 * DAY + DAY;
    for (moved, gauged_at, cause) in [
        ("racking", within, "lees"),
        ("racking", within + 60, "evaporation"),
        ("other", within, "handling"),
        ("blend", within, "handling"),
        ("blend", within + 60, "evaporation"),
    ] {
        let folder = Folder::new();
        let mut desk = cellar(&folder);
        enter(&mut desk, &racked(1, "X", 220_000_000).replace("racking", moved), 30 * DAY);
        enter(&mut desk, &gauged("X", 218_000_000), gauged_at);
        let body = &of_kind(&desk, "gauged")[0].body;
        assert!(body.contains(&format!(r#""cause":"{cause}""#)), "{moved} {gauged_at}: {body}");
        let entry = match cause {
            "lees" => Entry::Lees,
            "handling" => Entry::Handling,
            _ => Entry::Evaporation,
        };
        let tank = desk.state().vessels.by_label("X").unwrap();
        assert_eq!(tank.account().sum(entry).as_ul(), 2_000_000, "{moved} {gauged_at}");
    }
    let folder = Folder::new();
    let mut desk = cellar(&folder);
    enter(&mut desk, &racked(1, "X", 220_000_000), 30 * DAY);
    enter(&mut desk, &gauged("X", 220_000_000), 30 * DAY + 60);
    assert!(!of_kind(&desk, "gauged")[0].body.contains("cause"), "nothing is missing");
}

/// A late act is completed on the state of its own moment.
#[test]
fn a_late_racking_is_completed_as_of_its_day() {
    let folder = Folder::new();
    let mut desk = cellar(&folder);
    let gone = |desk: &Desk, days: i64| {
        let state = desk.state();
        state.gone(state.vessels.by_label("1").unwrap(), moment(days * DAY)).as_ul()
    };
    let (then, later) = (gone(&desk, 10), gone(&desk, 30));
    assert!(then < later);
    enter(&mut desk, r#""kind":"noted","about":"X","text":"clean""#, 30 * DAY);
    let late = intent(1, moment(10 * DAY), &racked(1, "X", 220_000_000));
    desk.record(vec![late], moment(31 * DAY), false).unwrap();
    assert_eq!(sum(&desk, Entry::Evaporation), then);
    assert_same_when_opened(&desk);
}
