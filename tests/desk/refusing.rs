//! What is refused: all or nothing, by the number of the line, with a sentence, and without a trace.

use barrelwalk::cellar::core::fact::FactId;
use barrelwalk::cellar::core::refusal::Refusal;
use barrelwalk::desk::{Access, Desk};

use super::cellar::{
    Folder, act, assert_plain, assert_same_when_opened, exported, history, intent, label, moment, noted, retracted,
    text, topped,
};

#[test]
fn all_or_nothing_leaves_nothing() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    let (before, state) = (text(&exported(&desk)), desk.state().clone());
    let file = vec![
        intent(7, moment(200), &topped("1", 100)),
        intent(8, moment(201), &topped("9", 100)),
        history(9, "d-a", 1, moment(202), &noted("fine")),
        history(10, "d-a", 3, moment(203), &noted("a gap")),
    ];
    let outcome = desk.record(file, moment(300), false).unwrap();
    assert_eq!(outcome.taken, []);
    assert_eq!(outcome.refused.iter().map(|(number, _)| *number).collect::<Vec<_>>(), [8, 10]);
    assert!(outcome.refused[0].1.to_string().contains("No vessel is called '9'"), "{:?}", outcome.refused);
    assert!(outcome.refused[1].1.to_string().contains("cannot come before its number 2"), "{:?}", outcome.refused);
    assert_eq!(text(&exported(&desk)), before);
    assert!(*desk.state() == state);
    let refusal = desk.enter(&act(&[topped("1", 100), topped("9", 100)]), moment(301)).unwrap_err();
    assert!(refusal.to_string().contains("No vessel is called '9'"));
    assert_eq!(text(&exported(&desk)), before);
    assert_same_when_opened(&desk);
}

#[test]
fn the_good_ones_are_taken_and_their_names_have_no_gap() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    let last = exported(&desk).iter().map(|line| line.id.n).max().unwrap();
    let file = vec![
        intent(1, moment(200), &topped("1", 100)),
        intent(2, moment(201), &topped("9", 100)),
        intent(3, moment(202), &topped("2", 100)),
        // A vessel that only a refused line would have made.
        history(4, "d-a", 2, moment(203), r#""kind":"vessel_registered","vessel":"8","type":"tank","capacity_ul":9"#),
        history(5, "d-a", 3, moment(204), &noted("behind the gap too")),
        intent(6, moment(205), r#""kind":"held","vessel":"8","why":"it is not there""#),
        intent(7, moment(206), &noted("fine")),
        intent(8, moment(90_000), &noted("in the future")),
        history(9, "d-b", 1, moment(207), &noted("fine")),
        history(10, "d-b", 1, moment(207), &noted("another of that name")),
        history(11, "d-b", 1, moment(207), &noted("fine")),
        intent(12, moment(208), &retracted("d-nobody", 1)),
    ];
    let outcome = desk.record(file, moment(300), true).unwrap();
    assert_eq!(outcome.refused.iter().map(|(number, _)| *number).collect::<Vec<_>>(), [2, 4, 5, 6, 8, 10, 12]);
    let own: Vec<u64> = outcome.taken.iter().filter(|id| id.device == *desk.device()).map(|id| id.n).collect();
    assert_eq!(own, [last + 1, last + 2, last + 3]);
    assert_eq!((outcome.taken.len(), outcome.known), (4, 1));
    assert_same_when_opened(&desk);
}

#[test]
fn a_known_name_with_other_content_is_refused() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    let fact = |text: &str| vec![history(3, "d-a", 1, moment(200), &noted(text))];
    desk.record(fact("one"), moment(300), false).unwrap();
    assert_eq!(desk.record(fact("one"), moment(300), false).unwrap().known, 1);
    let outcome = desk.record(fact("other"), moment(300), true).unwrap();
    assert_eq!((outcome.taken.len(), outcome.refused[0].0), (0, 3));
    assert!(outcome.refused[0].1.to_string().contains("two different facts named d-a:1"), "{:?}", outcome.refused);
    assert_plain(&desk);
}

#[test]
fn a_retraction_by_hand_names_what_is_there_and_stands() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    let own = desk.device().as_str().to_owned();
    let device = desk.device().clone();
    let of = |n: u64| FactId { device: device.clone(), n };
    let try_one = |desk: &mut Desk, of: u64, at: i64| {
        desk.record(vec![intent(1, moment(at), &retracted(&own, of))], moment(1_000), false).unwrap().refused
    };
    assert_eq!(try_one(&mut desk, 99, 500)[0].1, Refusal::UnknownFact(of(99)).into());
    // Dated before what it takes back: a fact is taken back whatever the clocks say.
    assert_eq!(try_one(&mut desk, 6, 1), []);
    assert_same_when_opened(&desk);
    assert_eq!(try_one(&mut desk, 6, 500)[0].1, Refusal::AlreadyRetracted(of(6)).into());
    let next = exported(&desk).iter().map(|line| line.id.n).max().unwrap() + 1;
    assert_eq!(try_one(&mut desk, next, 500)[0].1, Refusal::RetractsItself.into());
}

#[test]
fn a_desk_for_reading_refuses_with_a_sentence() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    let mut reader = Desk::open(desk.path(), Access::ReadOnly).unwrap();
    let state = reader.state().clone();
    let sentences = [
        reader.enter(&act(&[noted("x")]), moment(300)).unwrap_err().to_string(),
        reader.enter(&act(&[noted("x"), noted("y")]), moment(300)).unwrap_err().to_string(),
        reader.record(vec![intent(1, moment(200), &noted("x"))], moment(300), false).unwrap_err().to_string(),
        reader.record(vec![history(1, "d-a", 1, moment(2), &noted("x"))], moment(300), false).unwrap_err().to_string(),
    ];
    for sentence in sentences {
        assert!(sentence.contains("was opened for reading only. Nothing was written."), "{sentence}");
    }
    assert!(*reader.state() == state);
    // It still sees what the other program enters.
    desk.enter(&act(&[topped("1", 100)]), moment(400)).unwrap();
    assert!(reader.refresh().unwrap());
    assert!(reader.state() == desk.state());
    let refusal = reader.undo(&label("mk"), moment(500)).unwrap_err().to_string();
    assert!(refusal.ends_with('.'), "{refusal}");
}

#[test]
fn a_file_that_another_program_holds_is_left_as_it_is_and_so_is_the_state() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    let state = desk.state().clone();
    let other = rusqlite::Connection::open(desk.path()).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let refusal = desk.enter(&act(&[noted("x")]), moment(300)).unwrap_err().to_string();
    assert!(refusal.contains("is held by another program. Nothing was written."), "{refusal}");
    assert!(*desk.state() == state);
    other.execute_batch("ROLLBACK").unwrap();
    desk.enter(&act(&[noted("x")]), moment(301)).unwrap();
    assert_same_when_opened(&desk);
}

#[test]
fn a_laptop_whose_name_another_one_uses_goes_on_under_a_new_one() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    let device = desk.device().clone();
    let forked = history(1, device.as_str(), 1, moment(1), &noted("written by a clone of this laptop"));
    let outcome = desk.record(vec![forked], moment(300), false).unwrap();
    assert!(outcome.refused[0].1.to_string().contains("two different facts"), "{:?}", outcome.refused);
    assert_ne!(*desk.device(), device);
    let entered = desk.enter(&act(&[topped("1", 100)]), moment(301)).unwrap();
    assert_eq!((&entered[0].device, entered[0].n), (desk.device(), 1));
    assert_same_when_opened(&desk);
}
