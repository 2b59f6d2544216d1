//! Care of empty wood.

use barrelwalk::cellar::jobs::wood::care::Care;
use serde_json::{Value, json};

use crate::support::given::{Cellar, LITRE, moved};

fn cared(vessel: &str, care: &str) -> Value {
    json!({"kind": "barrel_cared", "vessel": vessel, "care": care})
}

#[test]
fn each_care_is_remembered_until_the_barrel_is_emptied_again() {
    let cellar = Cellar::furnished().given(cared("E", "rinsed")).days(1).given(cared("E", "sulfured"));
    let vessel = cellar.vessel("E");
    assert!(vessel.cared(Care::Rinsed).unwrap().instant() < vessel.cared(Care::Sulfured).unwrap().instant());
    assert_eq!(vessel.cared(Care::Soaked), None);
    let again = cellar.given(moved("U", "E", 225 * LITRE)).given(moved("E", "U", 225 * LITRE));
    assert_eq!(again.vessel("E").cared(Care::Sulfured), None);
}

#[test]
fn full_barrels_and_tanks_are_not_cared_for() {
    Cellar::furnished().when(cared("T", "rinsed")).then_has_no_effect("T is not a barrel");
    Cellar::furnished().when(cared("B1", "steamed")).then_counted_in_doubt("B1 holds 225 L by the book");
}

fn due(cellar: &Cellar, care: Care) -> Vec<&str> {
    let state = &cellar.state;
    state.due_for(care, None, cellar.now()).into_iter().map(|id| state.vessels.get(id).label.as_str()).collect()
}

#[test]
fn an_emptied_barrel_is_listed_and_due_for_sulfuring_until_it_was_sulfured() {
    // E never held wine: new wood is kept as it came.
    let new = Cellar::furnished();
    assert_eq!((due(&new, Care::Sulfured), new.state.empties(new.now()).count()), (vec![], 1));
    let emptied = new.given(moved("B1", "T", 225 * LITRE));
    let listed: Vec<Option<_>> = emptied.state.empties(emptied.now()).map(|wood| wood.since).collect();
    assert_eq!(listed, [emptied.vessel("B1").emptied, None]);
    assert_eq!((due(&emptied, Care::Sulfured), due(&emptied, Care::Rinsed)), (vec!["B1"], vec!["B1"]));
    let sulfured = emptied.given(cared("B1", "rinsed")).given(cared("B1", "sulfured"));
    assert_eq!((due(&sulfured, Care::Sulfured), due(&sulfured, Care::Rinsed)), (vec![], vec![]));
    // Common practice: again after five weeks, if the house says nothing else.
    assert_eq!(due(&sulfured.clone().days(34), Care::Sulfured), [""; 0]);
    assert_eq!(due(&sulfured.clone().days(36), Care::Sulfured), ["B1"]);
    let own = sulfured.given(json!({"kind": "practice_set", "sulfuring_days": 20})).days(21);
    assert_eq!(due(&own, Care::Sulfured), ["B1"]);
}

#[test]
fn a_soaking_holds_for_some_days() {
    let soaked = Cellar::furnished().given(cared("E", "soaked"));
    let tight = |cellar: &Cellar| cellar.state.empties(cellar.now()).next().unwrap().tight;
    assert_eq!((tight(&soaked), due(&soaked, Care::Soaked)), (Some(true), vec![]));
    let later = soaked.days(4);
    assert_eq!((tight(&later), due(&later, Care::Soaked)), (Some(false), vec!["E"]));
}

#[test]
fn a_caring_work_is_set_over_what_is_due() {
    let emptied = Cellar::furnished().given(moved("B1", "T", 225 * LITRE));
    let label = |text: &str| barrelwalk::cellar::core::label::Label::new(text).unwrap();
    let set = |cellar: &Cellar, work: &str| cellar.state.plan_care(Care::Rinsed, None, label(work), cellar.now());
    let first = set(&emptied, "rinse").unwrap();
    assert_eq!(first.stops.len(), 1);
    let begun = emptied.given(barrelwalk::cellar::core::fact::What::WorkSet(Box::new(first)));
    assert!(set(&begun, "again").unwrap_err().to_string().contains("still to be done in the work 'rinse'"));
    let done = begun.given(cared("B1", "rinsed"));
    assert!(set(&done, "again").unwrap_err().to_string().contains("No empty barrel is due to be rinsed"));
}

/// Common practice: sulfur and lees are rinsed out before wine comes in, and staves that dried are swelled first.
#[test]
fn wood_wants_to_be_rinsed_and_tight_before_wine_comes_in() {
    let wants = |cellar: &Cellar, label: &str| {
        let id = cellar.state.vessels.find(label).unwrap();
        cellar.state.wants_before_wine(id, cellar.now())
    };
    let new = Cellar::furnished();
    assert_eq!((wants(&new, "E"), wants(&new, "B1")), (vec![Care::Soaked], vec![]));
    let emptied = new.given(moved("B1", "T", 225 * LITRE));
    assert_eq!(wants(&emptied, "B1"), [Care::Rinsed]);
    assert_eq!(wants(&emptied.clone().days(4), "B1"), [Care::Rinsed, Care::Soaked]);
    let sulfured = emptied.given(cared("B1", "steamed")).days(1).given(cared("B1", "sulfured"));
    assert_eq!(wants(&sulfured, "B1"), [Care::Rinsed]);
    let ready = sulfured.days(30).given(cared("B1", "soaked")).given(cared("B1", "rinsed"));
    assert_eq!(wants(&ready, "B1"), []);
    let both = ["B1", "E"].map(|label| ready.state.vessels.find(label).unwrap());
    assert_eq!(ready.state.care_wanted(&both, ready.now()).as_deref(), Some("1 not soaked"));
    assert_eq!(ready.state.care_wanted(&both[..1], ready.now()), None);
}
