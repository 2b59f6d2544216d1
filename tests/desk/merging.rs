//! Two cellars become one, in whatever order, twice, or in part.

use proptest::prelude::*;

use super::cellar::{
    Folder, act, assert_plain, exported, history, intent, label, line, lines, moment, noted, retracted, text, topped,
};

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 100, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn both_orders_give_the_same(
        acts in prop::collection::vec((any::<bool>(), 0_u8..6, 1_u8..4, 0_i64..400), 1..24),
        part in any::<prop::sample::Index>(),
    ) {
        let folder = Folder::new();
        let mut left = folder.founded("left");
        let founded = text(&exported(&left));
        let mut right = folder.empty("right");
        right.record(lines(&founded), moment(100), false).unwrap();
        for (turn, (at_left, kind, vessel, back)) in acts.into_iter().enumerate() {
            let desk = if at_left { &mut left } else { &mut right };
            let now = moment(500 + i64::try_from(turn).unwrap());
            match kind {
                0 => drop(desk.undo(&label("mk"), now)),
                1 => drop(desk.redo(&label("mk"), now)),
                2 => {
                    let at = now.at_instant(now.instant() - back * 1_000_000);
                    desk.record(vec![intent(1, at, &topped(&vessel.to_string(), 20))], now, false).unwrap();
                }
                // Both take back the same fact.
                3 => drop(desk.record(vec![intent(1, now, &retracted(left_device(&founded), 4))], now, false).unwrap()),
                _ => drop(desk.enter(&act(&[topped(&vessel.to_string(), 20), noted("x")]), now)),
            }
        }
        let (of_left, of_right) = (text(&exported(&left)), text(&exported(&right)));
        // In part first: as much of one laptop's facts as there is of a file that broke off.
        let some = &of_right[..part.index(of_right.len() + 1)];
        left.record(lines(some), moment(1_000), true).unwrap();
        assert_plain(&left);
        left.record(lines(&of_right), moment(1_000), false).unwrap();
        left.record(lines(&of_right), moment(1_000), false).unwrap();
        right.record(lines(&of_left), moment(1_000), false).unwrap();
        prop_assert_eq!(text(&exported(&left)), text(&exported(&right)));
        prop_assert!(left.state() == right.state());
        assert_plain(&left);
    }
}

fn left_device(founded: &[String]) -> &str {
    founded[0].split('"').nth(3).unwrap()
}

#[test]
fn what_is_taken_back_before_it_arrives_has_no_effect_when_it_does() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    desk.record(vec![history(1, "d-b", 1, moment(300), &retracted("d-a", 1))], moment(400), false).unwrap();
    let state = desk.state().clone();
    assert_eq!(desk.discrepancies(&state).unwrap().len(), 1);
    let volume = state.vessels.by_label("1").unwrap().volume();
    desk.record(vec![history(1, "d-a", 1, moment(350), &topped("1", 500))], moment(400), false).unwrap();
    assert_eq!(desk.state().vessels.by_label("1").unwrap().volume(), volume);
    assert_eq!(desk.discrepancies(desk.state()).unwrap(), []);
    // Given back, it has.
    desk.record(vec![history(1, "d-b", 2, moment(360), &retracted("d-b", 1))], moment(400), false).unwrap();
    assert!(desk.state().vessels.by_label("1").unwrap().volume() > volume);
    assert_plain(&desk);
}

#[test]
fn this_laptops_own_facts_come_back_from_an_export() {
    let folder = Folder::new();
    let mut desk = folder.empty("cellar");
    let own = desk.device().as_str().to_owned();
    let file = vec![
        history(1, &own, 2, moment(20), &noted("second")),
        intent(2, moment(30), &noted("new")),
        history(3, &own, 1, moment(10), &noted("first")),
    ];
    let outcome = desk.record(file, moment(100), false).unwrap();
    assert_eq!(outcome.refused, []);
    assert_eq!(outcome.taken.iter().map(|id| id.n).collect::<Vec<_>>(), [2, 3, 1]);
    assert_eq!(desk.enter(&act(&[noted("next")]), moment(100)).unwrap()[0].n, 4);
    assert_plain(&desk);
}

/// A fact of another program that has its name but does not say when it was entered, taken in on two laptops at two times.
#[test]
fn a_named_fact_without_its_time_of_entry_is_one_fact_wherever_it_is_taken_in() {
    let folder = Folder::new();
    let mut left = folder.founded("left");
    let founded = text(&exported(&left));
    let mut right = folder.empty("right");
    right.record(lines(&founded), moment(100), false).unwrap();
    let json = format!(r#"{{"device":"d-cellar-scale","n":1,"at":"{}","by":"jo",{}}}"#, moment(300), noted("x"));
    let named = line(1, &json);
    assert_eq!(named.fact.written, None);
    left.record(vec![named.clone()], moment(400), false).unwrap();
    right.record(vec![named], moment(900), false).unwrap();
    let taken = left.record(lines(&text(&exported(&right))), moment(1_000), false).unwrap();
    assert!(taken.refused.is_empty(), "{:?}", taken.refused);
    assert_eq!(text(&exported(&left)), text(&exported(&right)));
}
