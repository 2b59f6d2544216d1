//! Appending and reading back: the order of facts, late ones, and what is refused.

use std::ops::ControlFlow;

use barrelwalk::cellar::core::fact::{FactId, IncomingFact, Line};
use barrelwalk::cellar::core::label::Text;
use barrelwalk::log::{Access, Log, LogError, Position, ScanStart, Standing};
use proptest::prelude::*;

use crate::support::{create, device, exported, filled, keys, moment, open, topped};

#[test]
fn what_was_appended_is_there_after_reopening() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    let log = filled(&path, 50);
    let (own, before) = (log.device().clone(), exported(&log));
    drop(log);
    let log = open(&path);
    assert_eq!((log.warnings(), log.device()), (&[][..], &own));
    assert_eq!(exported(&log), before);
    assert_eq!(log.head().unwrap(), Position::new(50));
    assert_eq!(log.created().unwrap(), moment(0));
    let heads = log.heads().unwrap();
    assert_eq!((heads.len(), &heads[0].id), (1, &FactId { device: own, n: 50 }));
}

#[test]
fn facts_come_in_the_order_in_which_they_happened() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = create(&folder.path().join("cellar"));
    // Arrivals: in place and late, several devices at the same instant, in several transactions.
    let (a, b, z) = (device("a"), device("b"), device("z"));
    let batches = [
        vec![topped(&z, 1, 10), topped(&z, 2, 20), topped(&b, 1, 20)],
        vec![topped(&a, 1, 20), topped(&z, 3, 20), topped(&a, 2, 5)],
        vec![topped(&b, 2, 30), topped(&b, 3, 30), topped(&z, 4, 1), topped(&a, 3, 30)],
    ];
    let mut head = Position::START;
    let mut all: Vec<Line> = Vec::new();
    for batch in batches {
        head = log.append(head, &batch).unwrap();
        all.extend(batch);
    }
    let mut expected: Vec<_> = all.iter().map(|line| line.fact().unwrap().key()).collect();
    expected.sort();
    assert_eq!(keys(&log, &ScanStart::Beginning), expected);

    let mut arrived = Vec::new();
    let end = log
        .arrived_after(Position::new(3), &mut |fact| {
            arrived.push(fact.id());
            ControlFlow::Continue(())
        })
        .unwrap();
    assert_eq!(end, Position::new(10));
    assert_eq!(arrived, all[3..].iter().map(|line| line.id.clone()).collect::<Vec<_>>());
    assert_eq!(log.lowest_late_after(Position::START).unwrap().unwrap().id, FactId { device: z.clone(), n: 4 });
    assert_eq!(log.lowest_late_after(Position::new(9)).unwrap().unwrap().id, FactId { device: a.clone(), n: 3 });
    assert_eq!(log.lowest_late_after(Position::new(10)).unwrap(), None);
}

#[test]
fn a_late_fact_is_found_late_after_reopening_too() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    let mut log = create(&path);
    let (a, b) = (device("a"), device("b"));
    log.append(Position::START, &[topped(&a, 1, 100), topped(&b, 1, 50)]).unwrap();
    drop(log);
    let mut log = open(&path);
    log.append(Position::new(2), &[topped(&b, 2, 60), topped(&b, 3, 100), topped(&a, 2, 100)]).unwrap();
    let late: Vec<bool> = {
        let mut late = Vec::new();
        log.arrived_after(Position::START, &mut |fact| {
            late.push(fact.late);
            ControlFlow::Continue(())
        })
        .unwrap();
        late
    };
    // b:3 comes after a:1 of the same instant; a:2 comes before b:3.
    assert_eq!(late, [false, true, true, false, true]);
}

#[test]
fn nothing_is_written_when_others_have_appended() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    let mut log = filled(&path, 3);
    let mut other = open(&path);
    assert!(!log.changed_since(Position::new(3)).unwrap());
    other.append(Position::new(3), &[topped(other.device(), 4, 4)]).unwrap();
    assert!(log.changed_since(Position::new(3)).unwrap());
    let refusal = log.append(Position::new(3), &[topped(log.device(), 4, 5)]).unwrap_err();
    assert_eq!(refusal, LogError::Moved { seen: Position::new(3), head: Position::new(4) });
    let line = topped(log.device(), 5, 5);
    assert_eq!(log.append(Position::new(4), &[line]).unwrap(), Position::new(5));
}

#[test]
fn a_batch_is_stored_whole_or_not_at_all() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = filled(&folder.path().join("cellar"), 3);
    let own = log.device().clone();
    let refusal = log.append(Position::new(3), &[topped(&own, 4, 4), topped(&own, 6, 6)]).unwrap_err();
    assert_eq!(refusal, LogError::OutOfTurn { id: FactId { device: own.clone(), n: 6 }, expected: 5 });
    let again = log.append(Position::new(3), &[topped(&own, 3, 4)]).unwrap_err();
    assert_eq!(again, LogError::OutOfTurn { id: FactId { device: own.clone(), n: 3 }, expected: 4 });
    assert_eq!(log.head().unwrap(), Position::new(3));
    assert_eq!(log.append(Position::new(3), &[]).unwrap(), Position::new(3));
    assert_eq!(log.append(Position::new(3), &[topped(&own, 4, 4)]).unwrap(), Position::new(4));
}

#[test]
fn what_could_not_be_read_back_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = create(&folder.path().join("cellar"));
    let good = topped(log.device(), 1, 1);
    let broken = [
        Line { body: "[]".into(), ..good.clone() },
        Line { body: "{\"a\":}".into(), ..good.clone() },
        Line { body: "{\"a\":1,\n\"b\":2}".into(), ..good.clone() },
        Line { body: "{\"a\":1} ".into(), ..good.clone() },
        Line { kind: "".into(), ..good.clone() },
        Line { kind: "top ped".into(), ..good.clone() },
        Line { id: FactId { device: device("a"), n: 0 }, ..good.clone() },
        Line { id: FactId { device: device("a"), n: u64::MAX }, ..good.clone() },
        Line { at: barrelwalk::cellar::core::moment::Moment::new(i64::MAX, 0), ..good.clone() },
    ];
    for line in broken {
        let refusal = log.append(Position::START, std::slice::from_ref(&line)).unwrap_err();
        assert!(matches!(refusal, LogError::Unfit { .. }), "{line:?}: {refusal}");
    }
    assert_eq!(log.head().unwrap(), Position::START);
}

#[test]
fn single_facts_are_found() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = filled(&folder.path().join("cellar"), 9);
    let own = log.device().clone();
    let taken_back = Line {
        kind: "retracted".into(),
        body: format!(r#"{{"of":{{"device":"{own}","n":4}},"why":"wrong barrel"}}"#),
        note: Some(Text::new("said \"sorry\"\ntwice").unwrap()),
        ..topped(&own, 10, 10)
    };
    log.append(Position::new(9), std::slice::from_ref(&taken_back)).unwrap();
    assert_eq!(log.retractions().unwrap(), std::slice::from_ref(&taken_back));
    assert_eq!(log.line(&taken_back.id).unwrap(), Some(taken_back));
    assert_eq!(log.line(&FactId { device: own.clone(), n: 11 }).unwrap(), None);
    assert_eq!(log.position_of(&FactId { device: own.clone(), n: 7 }).unwrap(), Some(Position::new(7)));
    let numbers = |lines: Vec<Line>| lines.iter().map(|line| line.id.n).collect::<Vec<_>>();
    assert_eq!(numbers(log.tail_of(&own, None, 3).unwrap()), [10, 9, 8]);
    assert_eq!(numbers(log.tail_of(&own, Some(3), 9).unwrap()), [2, 1]);
    assert!(log.tail_of(&device("nobody"), None, 9).unwrap().is_empty());
}

#[test]
fn a_reader_sees_what_is_appended_beside_it() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = filled(&folder.path().join("cellar"), 3);
    let reader = log.reader().unwrap();
    let line = topped(log.device(), 4, 4);
    log.append(Position::new(3), &[line]).unwrap();
    let count = std::thread::spawn(move || keys(&reader, &ScanStart::Beginning).len()).join().unwrap();
    assert_eq!(count, 4);
    let mut reader = log.reader().unwrap();
    let line = topped(log.device(), 5, 5);
    assert!(matches!(reader.append(Position::new(4), &[line]), Err(LogError::ReadOnly(_))));
}

#[test]
fn a_known_fact_is_told_from_a_fork() {
    let folder = tempfile::tempdir().unwrap();
    let log = filled(&folder.path().join("cellar"), 3);
    let line = log.line(&FactId { device: log.device().clone(), n: 2 }).unwrap().unwrap();
    let standing = |json: &str| {
        let (incoming, body) = IncomingFact::from_json(json).unwrap();
        log.check_known(&incoming, &body).unwrap()
    };
    let json = line.to_json();
    assert_eq!(standing(&json), Standing::Known);
    // In another order, without what has a default and without the time of entry it is the same fact.
    let turned = json.replace(r#""vessel":"0002","from":"K2""#, r#""from":"K2","vessel":"0002""#);
    let turned = turned.replace(r#","full":true"#, "");
    let written = format!(r#","written":"{}""#, line.written);
    assert_eq!(standing(&turned.replace(&written, "")), Standing::Known);
    assert_eq!(standing(&json.replace(r#""n":2"#, r#""n":4"#)), Standing::New);
    for (old, new) in [("1700000", "1700001"), ("\"mk\"", "\"km\""), ("\"walk\"", "\"run\""), ("K2", "K3")] {
        let Standing::Fork(fork) = standing(&json.replace(old, new)) else { panic!("{new} passed as known") };
        assert_eq!(fork.held, line);
        assert!(fork.to_string().contains(new) && fork.to_string().contains(old), "{fork}");
    }
}

#[test]
fn a_file_is_read_only_when_opened_so() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    let before = exported(&filled(&path, 3));
    let mut log = Log::open(&path, Access::ReadOnly).unwrap();
    assert_eq!(exported(&log), before);
    let line = topped(log.device(), 4, 4);
    let refusal = log.append(Position::new(3), &[line]).unwrap_err().to_string();
    assert!(refusal.contains("for reading only"), "{refusal}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// However facts arrive, they are read in the order in which they happened, and every scan can be taken up anywhere.
    #[test]
    fn any_order_of_arrival_gives_the_same_order_of_facts(
        arrivals in proptest::collection::vec((0..4_usize, 0..6_i64, any::<bool>()), 1..40)
    ) {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("cellar");
        let mut log = create(&path);
        let devices = ["a", "b", "d-1", "z"].map(device);
        let mut last = [0; 4];
        let (mut head, mut batch, mut expected) = (Position::START, Vec::new(), Vec::new());
        for (device, seconds, ends_batch) in arrivals {
            last[device] += 1;
            let line = topped(&devices[device], last[device], seconds);
            expected.push(line.fact().unwrap().key());
            batch.push(line);
            if ends_batch {
                head = log.append(head, &batch).unwrap();
                batch.clear();
            }
        }
        log.append(head, &batch).unwrap();
        expected.sort();
        prop_assert_eq!(keys(&log, &ScanStart::Beginning), expected.clone());
        prop_assert_eq!(exported(&log).len(), expected.len());
        let report = log.verify(&mut |_, _| ()).unwrap();
        prop_assert!(report.is_clean(), "{:?}", report);

        let (mut timely, mut places) = (Position::START, Vec::new());
        log.scan(&ScanStart::Beginning, &mut |fact| {
            timely = if fact.late { timely } else { fact.position() };
            places.push(ScanStart::After { timely, key: fact.key() });
            ControlFlow::Continue(())
        })
        .unwrap();
        for (index, place) in places.iter().enumerate() {
            prop_assert_eq!(keys(&log, place), expected[index + 1..].to_vec());
        }
    }
}
