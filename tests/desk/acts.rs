//! Random sequences of everything that can be done, and what must hold after every step.

use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::desk::{Desk, NotTaken};
use proptest::prelude::*;

use super::cellar::{
    Folder, act, assert_plain, assert_same_when_opened, exported, history, intent, label, lines, moment, noted, open,
    plain_fold, retracted, text, topped,
};

/// One thing that is done.
#[derive(Clone, Debug)]
enum Step {
    /// Entered at the screen; the clock may have been put back by so many seconds.
    Enter {
        facts: usize,
        vessel: u8,
        back: i64,
    },
    /// Entered with an earlier date.
    BackDated {
        facts: usize,
        vessel: u8,
        back: i64,
    },
    /// Some of the facts of other laptops come in, in whatever order.
    Merge {
        from: usize,
        count: usize,
        shuffle: u64,
    },
    Undo,
    Redo,
    /// Any fact of the log is taken back by hand.
    Retract {
        which: usize,
        back: i64,
    },
    /// Another program enters something into the same file.
    Beside {
        vessel: u8,
        back: i64,
    },
    /// Another program undoes something.
    BesideUndo,
    /// The program is closed and opened again.
    Restart,
}

fn step() -> impl Strategy<Value = Step> {
    let back = prop_oneof![3 => Just(0_i64), 1 => 1_i64..200];
    prop_oneof![
        4 => (1_usize..4, 1_u8..4, back.clone()).prop_map(|(facts, vessel, back)| Step::Enter { facts, vessel, back }),
        3 => (1_usize..4, 1_u8..4, 0_i64..300).prop_map(|(facts, vessel, back)| Step::BackDated { facts, vessel, back }),
        3 => (0_usize..24, 1_usize..10, any::<u64>())
            .prop_map(|(from, count, shuffle)| Step::Merge { from, count, shuffle }),
        4 => Just(Step::Undo),
        3 => Just(Step::Redo),
        2 => (any::<usize>(), 0_i64..200).prop_map(|(which, back)| Step::Retract { which, back }),
        2 => (1_u8..4, back).prop_map(|(vessel, back)| Step::Beside { vessel, back }),
        1 => Just(Step::BesideUndo),
        1 => Just(Step::Restart),
    ]
}

/// What two other laptops wrote: toppings, some that are taken back again, one that takes back what is not here, and
/// one whose clock was ahead.
fn others() -> Vec<String> {
    let mut facts = Vec::new();
    for n in 1..=12_u64 {
        for (device, shift) in [("d-other", 7), ("d-third", 19)] {
            let at =
                moment(100 + n.cast_signed() * 23 + shift + if (device, n) == ("d-third", 6) { 90_000 } else { 0 });
            let vessel = (n % 3 + 1).to_string();
            let fields = match n {
                4 => retracted(device, 3),
                7 => retracted("d-other", 4),
                // Dated before what it takes back.
                8 => retracted("d-third", 12),
                9 => retracted("d-nobody", 5),
                // Each other.
                10 => retracted(device, 11),
                11 => retracted(device, 10),
                _ => topped(&vessel, 30 + n),
            };
            facts.push(format!(
                r#"{{"device":"{device}","n":{n},"at":"{at}","written":"{at}","by":"jo","v":1,{fields}}}"#
            ));
        }
    }
    facts
}

fn shuffled(mut lines: Vec<String>, mut seed: u64) -> Vec<String> {
    for end in (1..lines.len()).rev() {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        lines.swap(end, usize::try_from(seed >> 40).unwrap() % (end + 1));
    }
    lines
}

fn toppings(facts: usize, vessel: u8) -> Vec<String> {
    (0..facts).map(|index| topped(&((usize::from(vessel) + index) % 3 + 1).to_string(), 10 + index as u64)).collect()
}

/// Does a step. That something is refused is no failure; that it then leaves a trace would be.
fn take(desk: &mut Desk, beside: &mut Desk, step: &Step, now: Moment) {
    let earlier = |back: i64| now.at_instant(now.instant() - back * 1_000_000);
    let by = label("mk");
    let before = exported(desk).len();
    match step {
        Step::Enter { facts, vessel, back } => {
            let last = own_latest(desk);
            match desk.enter(&act(&toppings(*facts, *vessel)), earlier(*back)) {
                Ok(ids) => {
                    assert_eq!(ids.len(), *facts);
                    // A clock that was put back reorders nothing.
                    for id in ids {
                        assert!(desk.line(&id).unwrap().unwrap().at.instant() >= last);
                    }
                }
                Err(refusal) => assert_sentence(&refusal.to_string()),
            }
        }
        Step::BackDated { facts, vessel, back } => {
            let fields = toppings(*facts, *vessel);
            let lines = fields.iter().zip(1..).map(|(fields, number)| intent(number, earlier(*back), fields)).collect();
            let outcome = desk.record(lines, now, false).unwrap();
            assert_eq!(outcome.taken.len(), if outcome.refused.is_empty() { *facts } else { 0 });
            assert_eq!(exported(desk).len(), before + outcome.taken.len());
        }
        Step::Merge { from, count, shuffle } => {
            let some: Vec<String> = others().into_iter().skip(*from).take(*count).collect();
            let outcome = desk.record(lines(&shuffled(some, *shuffle)), now, false).unwrap();
            for (_, why) in &outcome.refused {
                assert!(matches!(why, NotTaken::Gap { .. }), "{why}");
            }
            assert_eq!(exported(desk).len(), before + outcome.taken.len());
        }
        Step::Undo | Step::Redo => {
            let undone = if matches!(step, Step::Undo) { desk.undo(&by, now) } else { desk.redo(&by, now) };
            match undone {
                Ok(undone) => assert_eq!(exported(desk).len(), before + undone.facts.len()),
                Err(refusal) => assert!(refusal.to_string().starts_with("There is nothing to "), "{refusal}"),
            }
        }
        Step::Retract { which, back } => {
            let all = exported(desk);
            let of = &all[which % all.len()].id;
            let line = intent(1, earlier(*back), &retracted(of.device.as_str(), of.n));
            desk.record(vec![line], now, false).unwrap();
        }
        Step::Beside { vessel, back } => {
            let fields = topped(&vessel.to_string(), 15);
            beside.record(vec![intent(1, earlier(*back), &fields)], now, false).unwrap();
            desk.refresh().unwrap();
        }
        Step::BesideUndo => {
            let _ = beside.undo(&by, now);
            desk.refresh().unwrap();
        }
        Step::Restart => {
            let path = desk.path().to_owned();
            *desk = open(&path);
        }
    }
}

fn own_latest(desk: &Desk) -> i64 {
    let own = exported(desk).into_iter().filter(|line| line.id.device == *desk.device());
    own.map(|line| line.at.instant()).max().unwrap_or(i64::MIN)
}

fn assert_sentence(sentence: &str) {
    assert!(sentence.ends_with('.') && sentence.chars().next().unwrap().is_alphanumeric(), "{sentence}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, max_shrink_iters: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn after_every_step_the_state_is_the_plain_fold(steps in prop::collection::vec(step(), 1..14)) {
        let folder = Folder::new();
        let mut desk = folder.founded("cellar");
        let mut beside = open(desk.path());
        for (turn, step) in steps.iter().enumerate() {
            take(&mut desk, &mut beside, step, moment(500 + 10 * i64::try_from(turn).unwrap()));
            assert_same_when_opened(&desk);
        }
        beside.refresh().unwrap();
        prop_assert!(beside.state() == desk.state());
        prop_assert_eq!(desk.verify().unwrap().problems, Vec::<String>::new());
        looks_back(&desk);
        comes_back_from_its_export(&folder, &desk);
    }
}

/// The state as of every moment at which something happened, and just before it.
fn looks_back(desk: &Desk) {
    let all = exported(desk);
    for line in &all {
        let instant = line.at.instant();
        assert!(desk.state_at(line.at).unwrap() == plain_fold(&all, instant), "at {}", line.at);
        assert!(desk.state_before(line.at).unwrap() == plain_fold(&all, instant - 1), "before {}", line.at);
    }
}

fn comes_back_from_its_export(folder: &Folder, desk: &Desk) {
    let before = text(&exported(desk));
    let mut copy = folder.empty("copy");
    let outcome = copy.record(lines(&before), moment(600), false).unwrap();
    assert_eq!((outcome.refused.len(), outcome.taken.len()), (0, before.len()));
    assert_eq!(text(&exported(&copy)), before);
    assert!(copy.state() == desk.state());
    assert_plain(&copy);
    // The same again is known, all of it.
    let again = copy.record(lines(&before), moment(600), false).unwrap();
    assert_eq!((again.known, again.taken.len()), (before.len() as u64, 0));
}

#[test]
fn a_clock_that_was_put_back_reorders_nothing() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    let ids: Vec<_> = [5_000, 4_000, 900, 4_500]
        .into_iter()
        .flat_map(|seconds| desk.enter(&act(&[noted(&format!("at {seconds}"))]), moment(seconds)).unwrap())
        .collect();
    let facts: Vec<_> = ids.iter().map(|id| desk.line(id).unwrap().unwrap()).collect();
    assert!(facts.iter().all(|fact| fact.at == moment(5_000)));
    // When it was entered is said as the clock said it.
    assert_eq!(facts[2].written, moment(900));
    let order: Vec<_> = exported(&desk).into_iter().map(|line| line.id).collect();
    assert!(order.ends_with(&ids));
    desk.undo(&label("mk"), moment(800)).unwrap();
    desk.undo(&label("mk"), moment(700)).unwrap();
    desk.redo(&label("mk"), moment(600)).unwrap();
    let own: Vec<_> = exported(&desk).into_iter().map(|line| line.id.n).collect();
    assert!(own.is_sorted(), "{own:?}");
    assert_same_when_opened(&desk);
    // A fact that was dated back on purpose does not let the next one fall before the latest.
    desk.record(vec![intent(1, moment(50), &noted("late"))], moment(5_100), false).unwrap();
    let id = desk.enter(&act(&[noted("next")]), moment(1_000)).unwrap().remove(0);
    assert!(desk.line(&id).unwrap().unwrap().at.instant() >= moment(5_000).instant());
}

#[test]
fn another_laptop_whose_clock_is_far_ahead_stands_in_nobodys_way() {
    let folder = Folder::new();
    let mut desk = folder.founded("cellar");
    let ahead = history(1, "d-ahead", 1, moment(40_000_000), &topped("3", 900));
    let outcome = desk.record(vec![ahead], moment(200), false).unwrap();
    assert_eq!((outcome.taken.len(), outcome.refused.len()), (1, 0));
    assert!(outcome.flagged[0].contains("lies in the future"), "{:?}", outcome.flagged);
    for turn in 0..20 {
        let ids = desk.enter(&act(&[topped("1", 5), topped("2", 5)]), moment(300 + turn)).unwrap();
        assert_eq!(desk.line(&ids[0]).unwrap().unwrap().at, moment(300 + turn));
        if turn % 5 == 0 {
            desk.undo(&label("mk"), moment(300 + turn)).unwrap();
        }
    }
    assert_same_when_opened(&desk);
}
