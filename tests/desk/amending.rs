//! One fact is put right, whoever entered it; it is one act, and undo gives back what was.

use barrelwalk::cellar::core::fact::{FactId, What};
use barrelwalk::cellar::core::label::Text;
use barrelwalk::cellar::core::question::Question;
use barrelwalk::cellar::core::refusal::Refusal;
use barrelwalk::cellar::core::state::State;
use barrelwalk::desk::{Amendment, Desk, DeskError, TakingBack};
use proptest::prelude::*;

use super::cellar::{
    Folder, act, assert_same_when_opened, exported, history, holds, intent, label, moment, noted, topped, what,
};

/// The last standing fact of a kind.
fn last(desk: &Desk, kind: &str) -> FactId {
    exported(desk).into_iter().rfind(|line| line.kind == kind).unwrap().id
}

fn amend(desk: &mut Desk, amendment: &Amendment, seconds: i64) -> Result<Vec<FactId>, DeskError> {
    desk.amend(amendment, &label("Ana"), moment(seconds), Some(&[]))
}

fn refusal(result: Result<Vec<FactId>, DeskError>) -> Refusal {
    match result {
        Err(DeskError::Refused(refusal)) => *refusal,
        other => panic!("{other:?}"),
    }
}

#[test]
fn an_older_fact_says_something_else_and_keeps_who_did_it_and_when() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    desk.enter(&act(&[topped("1", 300)]), moment(200)).unwrap();
    desk.enter(&act(&[noted("later")]), moment(300)).unwrap();
    let wrong = last(&desk, "topped");
    let right = Amendment { what: Some(what(&topped("2", 500))), ..Amendment::of(wrong.clone()) };
    let done = amend(&mut desk, &right, 400).unwrap();
    assert_eq!((holds(&desk, "1"), holds(&desk, "2")), (224_000, 223_500));
    let new = desk.line(&done[1]).unwrap().unwrap();
    assert_eq!((new.by.as_str(), new.at, new.written), ("mk", moment(200), moment(400)));
    let back = desk.line(&done[0]).unwrap().unwrap();
    assert_eq!((back.by.as_str(), back.job == new.job, new.job.is_some()), ("Ana", true, true));
    assert_same_when_opened(&desk);
    // A correction is corrected, and each undo goes one back.
    let again = Amendment {
        what: Some(what(&topped("2", 700))),
        at: Some(moment(250)),
        by: Some(label("jo")),
        note: Some(Some(Text::new("by torch light").unwrap())),
        ..Amendment::of(done[1].clone())
    };
    let done = amend(&mut desk, &again, 500).unwrap();
    let new = desk.line(&done[1]).unwrap().unwrap();
    assert_eq!((new.by.as_str(), new.at, new.note.unwrap().as_str()), ("jo", moment(250), "by torch light"));
    assert_eq!(holds(&desk, "2"), 223_700);
    assert!(matches!(refusal(amend(&mut desk, &again, 510)), Refusal::AlreadyRetracted(_)));
    desk.undo(&label("mk"), moment(600)).unwrap();
    assert_eq!(holds(&desk, "2"), 223_500);
    desk.undo(&label("mk"), moment(610)).unwrap();
    assert_eq!((holds(&desk, "1"), holds(&desk, "2")), (224_300, 223_000));
    desk.redo(&label("mk"), moment(620)).unwrap();
    assert_eq!(holds(&desk, "2"), 223_500);
    assert_same_when_opened(&desk);
}

#[test]
fn what_would_no_longer_fit_is_asked_first_and_nothing_is_half_in() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    let moved = r#""kind":"wine_moved","from":"1","to":"K","volume_ul":5000000,"purpose":"other""#;
    desk.enter(&act(&[moved.to_owned()]), moment(200)).unwrap();
    let received =
        exported(&desk).into_iter().rfind(|line| line.kind == "wine_received" && line.body.contains("\"1\""));
    let taking = TakingBack { of: vec![received.unwrap().id], words: Text::new("taken back: it").unwrap() };
    let head = exported(&desk).len();
    let asked = desk.rehearse_taking_back(&taking, &label("mk"), moment(300)).unwrap();
    assert!(matches!(&asked[..], [Question::NoLongerFits { facts: 1, .. }]), "{asked:?}");
    assert!(matches!(desk.take_back_told(&taking, &label("mk"), moment(300), &[]), Err(DeskError::Asked(_))));
    assert_eq!(exported(&desk).len(), head);
    desk.take_back_told(&taking, &label("mk"), moment(310), &asked).unwrap();
    assert_eq!((holds(&desk, "1"), desk.state().discrepancies.len()), (0, 1));
    let undone = desk.undo(&label("mk"), moment(320)).unwrap();
    assert_eq!(barrelwalk::forms::said_undone(&undone.facts), "that was taken back: it");
    assert_eq!((holds(&desk, "1"), desk.state().discrepancies.len()), (219_000, 0));
    assert_same_when_opened(&desk);
}

#[test]
fn what_cannot_be_put_right_says_why() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    desk.enter(&act(&[topped("1", 300)]), moment(200)).unwrap();
    let of = last(&desk, "topped");
    let same = Amendment { what: Some(what(&topped("1", 300))), ..Amendment::of(of.clone()) };
    assert_eq!(refusal(amend(&mut desk, &same, 300)), Refusal::NothingChanged(of.clone()));
    let ahead = Amendment { at: Some(moment(200_000)), ..Amendment::of(of.clone()) };
    assert!(matches!(refusal(amend(&mut desk, &ahead, 300)), Refusal::Future { .. }));
    let nowhere = Amendment { what: Some(what(&topped("9", 300))), ..Amendment::of(of.clone()) };
    assert!(matches!(refusal(amend(&mut desk, &nowhere, 300)), Refusal::UnknownVessel(_)));
    desk.undo(&label("mk"), moment(310)).unwrap();
    let back = Amendment { by: Some(label("jo")), ..Amendment::of(last(&desk, "retracted")) };
    assert!(matches!(refusal(amend(&mut desk, &back, 320)), Refusal::TakesBack(_)));
    assert_same_when_opened(&desk);
}

/// What another laptop entered is put right here: this one takes it back and enters it anew.
#[test]
fn a_fact_of_another_laptop_is_put_right_too() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    let theirs = [history(1, "other", 1, moment(205), &topped("1", 900))];
    assert_eq!(desk.record(theirs.to_vec(), moment(220), false).unwrap().refused, []);
    let of = FactId { device: theirs[0].fact.id.clone().unwrap().device, n: 1 };
    let right = Amendment { what: Some(what(&topped("1", 100))), ..Amendment::of(of) };
    let done = amend(&mut desk, &right, 300).unwrap();
    assert_eq!((holds(&desk, "1"), &done[1].device), (224_100, desk.device()));
    assert_same_when_opened(&desk);
}

/// A spreadsheet dates all its lines with one moment: what is put right stands behind none that rests on it.
#[test]
fn what_stands_at_one_moment_with_others_keeps_its_place_among_them() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    let fields = [
        r#""kind":"vessel_registered","vessel":"9","type":"barrel","capacity_ul":225000000"#.to_owned(),
        r#""kind":"wine_received","vessel":"9","lot":"M24","parts":[{"origin":"o","volume_ul":200000000}]"#.to_owned(),
        topped("9", 500),
    ];
    let lines = fields.iter().zip(1..).map(|(fields, number)| intent(number, moment(150), fields)).collect();
    assert_eq!(desk.record(lines, moment(160), false).unwrap().refused, []);
    let larger = r#""kind":"vessel_registered","vessel":"9","type":"barrel","capacity_ul":228000000"#;
    let right = Amendment { what: Some(what(larger)), ..Amendment::of(last(&desk, "vessel_registered")) };
    amend(&mut desk, &right, 200).unwrap();
    let more = r#""kind":"wine_received","vessel":"9","lot":"M24","parts":[{"origin":"o","volume_ul":210000000}]"#;
    let right = Amendment { what: Some(what(more)), ..Amendment::of(last(&desk, "wine_received")) };
    amend(&mut desk, &right, 210).unwrap();
    assert_eq!((holds(&desk, "9"), desk.state().discrepancies.len()), (210_500, 0));
    desk.undo(&label("mk"), moment(220)).unwrap();
    assert_eq!(holds(&desk, "9"), 200_500);
    assert_same_when_opened(&desk);
}

/// What the books say, whatever the facts are called that say it.
fn books(state: &State) -> Vec<(String, u64, Option<i64>, usize)> {
    let vessel = |vessel: &barrelwalk::cellar::core::state::Vessel| {
        let topped = vessel.last_topped.map(barrelwalk::cellar::core::moment::Moment::instant);
        (vessel.label.to_string(), vessel.volume().as_ul(), topped, state.discrepancies.len())
    };
    state.vessels.iter().map(|(_, it)| vessel(it)).collect()
}

/// A state without how many facts came to it.
fn uncounted(state: &State) -> State {
    let mut state = state.clone();
    (state.facts, state.last) = (0, None);
    state
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn a_correction_undone_is_the_same_and_one_of_other_words_alone_changes_no_book(
        poured in proptest::collection::vec((1_u8..4, 1_u64..900), 1..8),
        which in any::<proptest::sample::Index>(),
        (vessel, millilitres) in (1_u8..4, 1_u64..900),
        seconds in 200_i64..260,
    ) {
        let folder = Folder::new();
        let mut desk = folder.founded("cellar");
        let mut ids = Vec::new();
        for (place, (vessel, millilitres)) in poured.iter().enumerate() {
            let at = moment(200 + 10 * i64::try_from(place).unwrap());
            ids.extend(desk.enter(&act(&[topped(&vessel.to_string(), *millilitres)]), at).unwrap());
        }
        let before = uncounted(desk.state());
        let of = which.get(&ids).clone();
        let words = Amendment { note: Some(Some(Text::new("as he said").unwrap())), ..Amendment::of(of.clone()) };
        amend(&mut desk, &words, 400).unwrap();
        prop_assert_eq!(books(desk.state()), books(&before));
        desk.undo(&label("mk"), moment(410)).unwrap();
        prop_assert!(uncounted(desk.state()) == before);
        let what: What = what(&topped(&vessel.to_string(), millilitres));
        let right = Amendment { what: Some(what), at: Some(moment(seconds)), ..Amendment::of(of) };
        let answered = desk.rehearse_amendment(&right, &label("mk"), moment(420)).unwrap();
        desk.amend(&right, &label("mk"), moment(420), Some(&answered)).unwrap();
        assert_same_when_opened(&desk);
        desk.undo(&label("mk"), moment(430)).unwrap();
        prop_assert!(uncounted(desk.state()) == before);
    }
}
