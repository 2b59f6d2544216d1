//! Undo and redo as a person expects them.

use barrelwalk::cellar::core::question::Question;
use barrelwalk::desk::{Desk, DeskError, NotTaken, Surprises, Undone};

use super::cellar::{
    Folder, act, assert_same_when_opened, exported, history, holds, intent, label, moment, noted, open, retracted,
    topped,
};

/// A cellar, a clock that goes on by a second at every look, and short words for what is done.
struct Hand {
    desk: Desk,
    clock: i64,
}

impl Hand {
    fn new(folder: &Folder) -> Hand {
        Hand { desk: folder.founded("cellar"), clock: 1_000 }
    }

    fn tick(&mut self) -> barrelwalk::cellar::core::moment::Moment {
        self.clock += 1;
        moment(self.clock)
    }

    fn top(&mut self, millilitres: u64) {
        let now = self.tick();
        self.desk.enter(&act(&[topped("3", millilitres)]), now).unwrap();
    }

    fn undo(&mut self) -> String {
        let now = self.tick();
        said(self.desk.undo(&label("mk"), now))
    }

    fn redo(&mut self) -> String {
        let now = self.tick();
        said(self.desk.redo(&label("mk"), now))
    }

    fn restart(&mut self) {
        let path = self.desk.path().to_owned();
        self.desk = open(&path);
    }

    /// How many millilitres were poured into the barrel since the beginning.
    fn poured(&self) -> u64 {
        holds(&self.desk, "3") - 220_000
    }
}

fn said(undone: Result<Undone, barrelwalk::desk::DeskError>) -> String {
    match undone {
        Ok(undone) => barrelwalk::forms::said_undone(&undone.facts),
        Err(refusal) => refusal.to_string(),
    }
}

#[test]
fn undo_goes_back_and_redo_comes_forward_step_by_step() {
    let folder = Folder::new();
    let mut hand = Hand::new(&folder);
    for millilitres in [1, 10, 100] {
        hand.top(millilitres);
    }
    let mut seen = vec![hand.poured()];
    for word in ["undo", "undo", "redo", "undo", "undo", "redo", "redo", "redo", "undo", "redo"] {
        if word == "undo" {
            hand.undo()
        } else {
            hand.redo()
        };
        seen.push(hand.poured());
        assert_same_when_opened(&hand.desk);
    }
    assert_eq!(seen, [111, 11, 1, 11, 1, 0, 1, 11, 111, 11, 111]);
    assert!(hand.redo().starts_with("There is nothing to redo"));
}

#[test]
fn the_chain_survives_a_restart() {
    let folder = Folder::new();
    let mut hand = Hand::new(&folder);
    for millilitres in [1, 10, 100] {
        hand.top(millilitres);
    }
    assert_eq!(hand.undo(), "3 topped with 100 mL from K, not to the brim");
    hand.restart();
    hand.undo();
    hand.restart();
    assert_eq!(hand.poured(), 1);
    hand.redo();
    hand.restart();
    assert_eq!(hand.poured(), 11);
    hand.redo();
    assert_eq!(hand.poured(), 111);
    hand.restart();
    assert!(hand.redo().starts_with("There is nothing to redo"));
    hand.undo();
    assert_eq!(hand.poured(), 11);
}

#[test]
fn a_new_entry_ends_the_redoing_but_not_the_undoing() {
    let folder = Folder::new();
    let mut hand = Hand::new(&folder);
    hand.top(1);
    hand.top(10);
    hand.undo();
    hand.top(100);
    assert_eq!(hand.redo(), "There is nothing to redo: nothing was undone since the last entry.");
    assert_eq!(hand.poured(), 101);
    hand.undo();
    hand.undo();
    assert_eq!(hand.poured(), 0);
    hand.redo();
    hand.redo();
    assert_eq!(hand.poured(), 101);
    assert!(hand.redo().starts_with("There is nothing to redo"));
}

#[test]
fn an_act_of_many_facts_is_taken_back_whole() {
    let folder = Folder::new();
    let mut hand = Hand::new(&folder);
    hand.top(1);
    let now = hand.tick();
    let many: Vec<String> = (0..150).map(|_| topped("3", 2)).collect();
    hand.desk.enter(&act(&many), now).unwrap();
    let now = hand.tick();
    hand.desk.enter(&act(&[topped("3", 1_000), topped("3", 2_000)]), now).unwrap();
    assert_eq!(hand.undo(), "2 facts, the first: 3 topped with 1.0 L from K, not to the brim");
    assert!(hand.undo().starts_with("150 facts"));
    assert_eq!(hand.poured(), 1);
    hand.redo();
    assert_eq!(hand.poured(), 301);
    hand.redo();
    assert_eq!(hand.poured(), 3_301);
    hand.restart();
    hand.undo();
    hand.undo();
    hand.undo();
    assert_eq!(hand.poured(), 0);
    assert_same_when_opened(&hand.desk);
}

#[test]
fn two_programs_of_one_laptop_keep_their_acts_apart() {
    let folder = Folder::new();
    let mut hand = Hand::new(&folder);
    let mut beside = open(hand.desk.path());
    for turn in 0..3 {
        let now = hand.tick();
        beside.enter(&act(&[topped("3", 10), topped("3", 10)]), now).unwrap();
        let now = hand.tick();
        hand.desk.enter(&act(&[topped("3", 1), topped("3", 1)]), now).unwrap();
        assert_eq!(hand.poured(), (turn + 1) * 22);
    }
    // One act at a time, the last one first, whoever of the two entered it.
    assert!(hand.undo().starts_with("2 facts"));
    assert_eq!(hand.poured(), 64);
    assert!(hand.undo().starts_with("2 facts"));
    assert_eq!(hand.poured(), 44);
    beside.refresh().unwrap();
    assert!(beside.state() == hand.desk.state());
}

#[test]
fn only_this_laptops_acts_are_undone() {
    let folder = Folder::new();
    let mut desk = folder.empty("cellar");
    let by = label("mk");
    let sentence = "There is nothing to undo: this laptop has entered nothing that still stands.";
    assert_eq!(desk.undo(&by, moment(10)).unwrap_err().to_string(), sentence);
    assert!(desk.redo(&by, moment(10)).unwrap_err().to_string().starts_with("There is nothing to redo"));
    desk.record(vec![history(1, "d-a", 1, moment(5), &noted("theirs"))], moment(10), false).unwrap();
    assert_eq!(desk.undo(&by, moment(11)).unwrap_err().to_string(), sentence);
    desk.enter(&act(&[noted("mine")]), moment(12)).unwrap();
    desk.undo(&by, moment(13)).unwrap();
    assert_eq!(desk.undo(&by, moment(14)).unwrap_err().to_string(), sentence);
}

#[test]
fn what_was_taken_back_by_hand_is_passed_over_and_given_back_by_redo() {
    let folder = Folder::new();
    let mut hand = Hand::new(&folder);
    hand.top(1);
    hand.top(10);
    let last = exported(&hand.desk).last().unwrap().id.clone();
    let now = hand.tick();
    hand.desk.record(vec![intent(1, now, &retracted(last.device.as_str(), last.n))], now, false).unwrap();
    assert_eq!(hand.poured(), 1);
    hand.undo();
    assert_eq!(hand.poured(), 0);
    hand.redo();
    hand.redo();
    assert_eq!(hand.poured(), 11);
    assert_same_when_opened(&hand.desk);
}

/// Another laptop topped the barrel since: who takes back how its wine came in is told what no longer fits.
#[test]
fn what_later_facts_rest_on_is_asked_before_it_is_taken_back() {
    let folder = Folder::new();
    let mut hand = Hand::new(&folder);
    let theirs = [(1, 501), (2, 502)].map(|(n, at)| history(n, "jo-1", n, moment(at), &topped("3", 500)));
    hand.desk.record(theirs.to_vec(), moment(900), false).unwrap();
    let by = label("mk");
    let now = hand.tick();
    let asked = match hand.desk.undo_told(&by, now, Surprises::Asked) {
        Err(DeskError::Asked(questions)) => questions,
        other => panic!("{other:?}"),
    };
    assert_eq!(asked.len(), 1);
    let asked = asked[0].to_string();
    assert!(asked.starts_with("2 later facts would no longer fit, the first on "), "{asked:?}");
    assert!(asked.ends_with("Fill it by a move of wine first."), "{asked:?}");
    assert_eq!(hand.poured(), 1_000, "nothing was taken back");
    // The same by a file: it is said of its line, or refused for it.
    let device = exported(&hand.desk)[0].id.device.to_string();
    let register = || vec![intent(7, moment(950), &retracted(&device, 9))];
    let refused = hand.desk.record_told(register(), now, false, Surprises::Refused).unwrap().refused;
    assert!(
        refused[0].0 == 7
            && matches!(&refused[0].1, NotTaken::Surprising(asked) if matches!(asked[..], [Question::NoLongerFits { facts: 3, .. }])),
        "{refused:?}"
    );
    let told = hand.desk.record_told(register(), now, false, Surprises::Said).unwrap();
    assert!(told.taken.len() == 1 && told.flagged[0].starts_with("line 7: 3 later facts"), "{told:?}");
    // What nothing rests on is not asked about, nor what did not fit before.
    let again = vec![intent(8, moment(951), &retracted(&device, 1))];
    let note = note_taken_back(&mut hand.desk);
    assert_eq!(hand.desk.record_told(note, now, false, Surprises::Said).unwrap().flagged, Vec::<String>::new());
    assert!(
        !hand.desk.record_told(again, now, false, Surprises::Said).unwrap().flagged.is_empty(),
        "the lot of all wine"
    );
}

/// A note, and its taking back.
fn note_taken_back(desk: &mut Desk) -> Vec<barrelwalk::desk::IncomingLine> {
    let id =
        desk.record(vec![intent(1, moment(940), &noted("a word"))], moment(1_000), false).unwrap().taken[0].clone();
    vec![intent(1, moment(960), &retracted(id.device.as_str(), id.n))]
}
