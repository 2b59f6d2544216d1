//! A physical count that is kept while people walk, compared and booked.
#![allow(clippy::unwrap_used)] // in what the tests share

use barrelwalk::cellar::core::account::Entry;
use barrelwalk::cellar::core::label::Text;
use barrelwalk::cellar::jobs::books::counting::keeping::{Count, Scope};
use barrelwalk::cellar::jobs::books::counting::{Found, Verdict};
use barrelwalk::cellar::jobs::bottles::bottling::run::Run;
use barrelwalk::units::Volume;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved};

fn begun(field: &str, what: &str) -> Value {
    let mut fact = json!({"kind": "count_begun", "count": "c1"});
    fact[field] = what.into();
    fact
}

fn counted(vessel: &str, litres: u64) -> Value {
    json!({"kind": "counted", "count": "c1", "vessel": vessel, "volume_ul": litres * LITRE})
}

fn bottles(code: &str, place: &str, bottles: u32) -> Value {
    json!({"kind": "counted", "count": "c1", "run": "G1", "lot_code": code, "place": place, "bottles": bottles})
}

fn count(cellar: &Cellar) -> &Count {
    cellar.state.counts.by_label("c1").unwrap_or_else(|| panic!("no count"))
}

fn why() -> Text {
    Text::new("stock count").unwrap_or_else(|error| panic!("{error}"))
}

/// The book put right by the count.
#[track_caller]
fn booked(mut cellar: Cellar) -> Cellar {
    let facts =
        cellar.state.book_count(count(&cellar), &why(), None, cellar.now()).unwrap_or_else(|error| panic!("{error}"));
    for fact in facts {
        cellar = cellar.given(fact);
    }
    cellar
}

#[test]
fn a_count_changes_nothing_until_it_is_booked() {
    let full = json!({"kind": "counted", "count": "c1", "vessel": "B2", "full": true});
    let cellar = Cellar::furnished().given(begun("room", "long")).given(counted("B1", 210)).given(full);
    let cellar = cellar.holds("B1", 225 * LITRE);
    let verdicts: Vec<Verdict> = count(&cellar).vessels.values().map(|its| its.verdict).collect();
    assert_eq!(verdicts, [Verdict::Short, Verdict::AsExpected]);
    assert!(cellar.state.missing_of(count(&cellar)).is_empty(), "E is empty by the book");
    let cellar = booked(cellar).holds("B1", 210 * LITRE).holds("B2", 225 * LITRE);
    let cellar = cellar.booked("B1", Entry::Evaporation, 15 * LITRE);
    assert!(count(&cellar).ended.is_some());
    cellar.when(counted("B1", 200)).then_has_no_effect("The count 'c1' is closed");
}

#[test]
fn what_was_not_counted_is_told() {
    let cellar = Cellar::furnished().given(json!({"kind": "count_begun", "count": "c1"})).given(counted("T", 1_550));
    let missing = cellar.state.missing_of(count(&cellar)).len();
    assert_eq!(missing, 4, "U, V, B1 and B2 hold wine");
    assert_eq!(cellar.state.lines_to_count(Scope::Whole).len(), 6);
}

/// A full barrel that nobody wrote down must come to light: as full as it is kept says nothing where nothing is expected.
#[test]
fn full_where_the_book_has_nothing_is_a_finding() {
    let full = |vessel: &str| json!({"kind": "counted", "count": "c1", "vessel": vessel, "full": true});
    let cellar = Cellar::furnished().given(begun("room", "long")).given(full("B1")).given(full("E"));
    let told: Vec<_> = count(&cellar).vessels.values().map(|its| (its.verdict, its.is_new_wine())).collect();
    assert_eq!(told, [(Verdict::AsExpected, false), (Verdict::Over, true)]);
    let before = cellar.clone();
    let cellar = booked(cellar).has_lot("E", "found").booked("E", Entry::Received, 225 * LITRE);
    assert_eq!(cellar.parts("E"), [("found", 225 * LITRE)]);
    assert_eq!(cellar.discrepancies(), []);
    // Its lot may be known; the origin says all the same that it was found.
    let lot = before.state.lots.find("R");
    let facts = before.state.book_count(count(&before), &why(), lot, before.now()).unwrap();
    let known = facts.into_iter().fold(before, Cellar::given).has_lot("E", "R");
    assert_eq!(known.parts("E"), [("found", 225 * LITRE)]);
    // A second find is of the same lot, one of another colour is not.
    let again = cellar
        .given(json!({"kind": "vessel_registered", "vessel": "W", "type": "barrel", "capacity_ul": 228 * LITRE, "stained": "white"}))
        .given(json!({"kind": "vessel_registered", "vessel": "X", "type": "keg", "capacity_ul": 50 * LITRE}))
        .given(json!({"kind": "count_begun", "count": "c2"}))
        .given(json!({"kind": "counted", "count": "c2", "vessel": "W", "volume_ul": 200 * LITRE}))
        .given(json!({"kind": "counted", "count": "c2", "vessel": "X", "volume_ul": 50 * LITRE}));
    let facts = again.state.book_count(again.state.counts.by_label("c2").unwrap(), &why(), None, again.now()).unwrap();
    facts.into_iter().fold(again, Cellar::given).has_lot("W", "found white").has_lot("X", "found");
}

#[test]
fn full_where_much_is_missing_is_a_finding_and_what_is_not_kept_full_is_measured() {
    let full = |vessel: &str| json!({"kind": "counted", "count": "c1", "vessel": vessel, "full": true});
    let cellar = Cellar::furnished().given(moved("B1", "T", 100 * LITRE)).given(begun("room", "long"));
    let cellar = cellar.given(full("B1")).given(full("B2"));
    let verdicts: Vec<Verdict> = count(&cellar).vessels.values().map(|its| its.verdict).collect();
    assert_eq!(verdicts, [Verdict::Over, Verdict::AsExpected]);
    let id = |label: &str| cellar.state.vessels.find(label).unwrap();
    let said = ["B1", "E", "T"].map(|label| cellar.state.as_it_should_be(id(label)));
    assert_eq!(said, [Some(Found::Full), Some(Found::Full), None]);
    booked(cellar).holds("B1", 225 * LITRE).holds("B2", 225 * LITRE);
}

#[test]
fn a_vessel_that_was_drawn_from_since_is_counted_again() {
    let cellar = Cellar::furnished().given(json!({"kind": "count_begun", "count": "c1"})).given(counted("T", 1_500));
    let cellar = cellar.given(moved("T", "U", 100 * LITRE));
    let refused =
        cellar.state.book_count(count(&cellar), &why(), None, cellar.now()).map_err(|error| error.to_string());
    assert!(refused.is_err_and(|why| why.contains("T was moved, filled or drawn from since it was counted")));
    booked(cellar.given(counted("T", 1_400))).holds("T", 1_400 * LITRE);
}

#[test]
fn what_names_nothing_or_too_much_is_refused() {
    let open = || Cellar::furnished().given(begun("room", "long"));
    open().when(counted("T9", 1)).then_has_no_effect("No vessel is called 'T9'");
    open().when(counted("B1", 300)).then_a_slip("B1");
    let nothing = json!({"kind": "counted", "count": "c1", "vessel": "B1"});
    open().when(nothing).then_has_no_effect("");
    open().when(json!({"kind": "counted", "count": "c1"})).then_has_no_effect("Say what was found");
    let both = json!({"kind": "counted", "count": "c1", "vessel": "B1", "volume_ul": LITRE, "full": true});
    open().when(both).then_has_no_effect("Say what was found");
    let other = json!({"kind": "counted", "count": "c9", "vessel": "B1", "full": true});
    open().when(other).then_has_no_effect("No count is called 'c9'");
    open().when(begun("room", "vault")).then_has_no_effect("No room is called 'vault'");
    open().when(begun("store", "vault")).then_has_no_effect("No store is called 'vault'");
    open().when(json!({"kind": "count_begun", "count": "c1"})).then_has_no_effect("A count is already called 'c1'");
    open().when(begun("room", "long")).then_taken();
}

/// 300 bottles of L1 in vault/A-01, 200 of L2 beside them, 100 of L1 not laid away.
fn stored() -> Cellar {
    let filled = |bottles: u32, code: &str| json!({"kind": "bottled", "vessel": "T", "run": "G1", "bottles": bottles, "bottle_ul": 750_000, "lot_code": code});
    let laid = |bottles: u32, code: &str| json!({"kind": "laid_away", "run": "G1", "bottles": bottles, "place": "vault/A-01", "lot_code": code, "release": "2028-05-01"});
    Cellar::furnished_to_bottle()
        .given(json!({"kind": "store_laid_out", "store": "vault", "rows": [{"row": "A", "bins": 2}]}))
        .given(filled(400, "L1"))
        .given(filled(200, "L2"))
        .given(laid(300, "L1"))
        .given(laid(200, "L2"))
        .given(begun("store", "vault"))
}

#[test]
fn bottles_are_counted_by_bin_and_lot_code_and_the_difference_is_out_or_found() {
    let cellar = stored().given(bottles("L1", "vault/A-01", 296)).given(bottles("L2", "vault/A-01", 203));
    assert_eq!(cellar.state.runs.by_label("G1").map(Run::lying), Some(500), "nothing is booked yet");
    let cellar = booked(cellar);
    let run = cellar.state.runs.by_label("G1").unwrap_or_else(|| panic!("no run"));
    assert_eq!((run.loose(), run.lying(), run.gone(), run.found, run.beyond), (100, 499, 4, 3, 0));
    assert_eq!(run.out[0].why.as_str(), "stock count");
    let releases: Vec<_> =
        run.laid().map(|(_, stock)| (stock.there, stock.release.map(|day| day.to_string()))).collect();
    let release = Some("2028-05-01".to_owned());
    assert_eq!(releases, [(296, release.clone()), (203, release)]);
}

#[test]
fn bottles_in_an_empty_bin_and_those_that_left_since_are_told() {
    let cellar = stored().given(bottles("L1", "vault/A-02", 12));
    assert_eq!(cellar.state.missing_of(count(&cellar)).len(), 2, "L1 and L2 in A-01");
    let cellar = cellar.given(bottles("L1", "vault/A-01", 288));
    let gone = json!({"kind": "bottles_out", "run": "G1", "bottles": 1, "why": "sold", "from": "vault/A-01", "lot_code": "L1"});
    let after = cellar.clone().given(gone);
    let refused = after.state.book_count(count(&after), &why(), None, after.now()).map_err(|error| error.to_string());
    assert!(refused.is_err_and(|why| why.starts_with("L1 was moved")));
    let run = booked(cellar).state.runs.by_label("G1").map(|run| (run.lying(), run.gone(), run.found));
    assert_eq!(run, Some((500, 12, 12)));
    stored().when(bottles("L9", "vault/A-01", 1)).then_counted_in_doubt("was filled with the lot code 'L9'");
    stored().when(bottles("L1", "vault/A-09", 1)).then_a_slip("vault/A-09 is no bin of 'vault'");
}

#[test]
fn a_count_of_two_laptops_is_one() {
    let cellar = Cellar::furnished().given(begun("room", "long")).given(counted("B1", 220));
    let cellar = cellar.given(begun("room", "long")).given(counted("B2", 224));
    let found: Vec<Volume> = count(&cellar).vessels.values().map(|its| its.found).collect();
    assert_eq!(found, [Volume::from_litres(220), Volume::from_litres(224)]);
}
