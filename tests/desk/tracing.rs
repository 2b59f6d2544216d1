//! A trace is folded on two threads, past the desk; what it tells is what the plain fold tells.

use barrelwalk::cellar::views::books::lineage::{Since, Tracer};
use barrelwalk::desk::{Desk, Traced};

use super::cellar::{Folder, act, exported, history, intent, label, moment, plain_trace, topped};

/// Facts enough that many batches go from thread to thread.
const ROUNDS: u64 = 1_500;

/// A cellar with a past: toppings, additions, tests and tastes, a move, two runs, something late and something taken back.
fn lived_in(folder: &Folder) -> Desk {
    let mut desk = folder.founded("c");
    let mut fields = vec![r#""kind":"practice_set","checklist":"warns""#.to_owned()];
    for round in 0..ROUNDS {
        let vessel = ["1", "2", "3"][usize::try_from(round % 3).unwrap()];
        fields.push(topped(vessel, 1));
        if round % 100 == 7 {
            fields.push(format!(r#""kind":"treated","vessel":"{vessel}","material":"so2","amount_ug":{round}"#));
            fields.push(format!(r#""kind":"tested","vessel":"{vessel}","ph":3.5"#));
            fields.push(format!(r#""kind":"tasted","vessel":"{vessel}","score":{}"#, round % 20));
        }
    }
    for (vessel, run) in [("1", "R1"), ("2", "R2")] {
        fields.push(format!(
            r#""kind":"bottled","vessel":"{vessel}","run":"{run}","bottles":100,"bottle_ul":750000,"lot_code":"L{run}""#
        ));
        fields.push(r#""kind":"wine_moved","from":"3","to":"2","volume_ul":1000000,"purpose":"other""#.to_owned());
    }
    let told = fields.iter().zip(1..).map(|(fields, n): (_, u64)| intent(n, moment(1_000 + n.cast_signed()), fields));
    assert_eq!(desk.record(told.collect(), moment(10_000), false).unwrap().refused, []);
    let late = vec![history(1, "other", 1, moment(1_500), &topped("1", 250))];
    assert_eq!(desk.record(late, moment(10_001), false).unwrap().refused, []);
    desk.enter(&act(&[topped("2", 500)]), moment(10_002)).unwrap();
    desk.undo(&label("mk"), moment(10_003)).unwrap();
    desk
}

/// All that a trace can be asked, in words.
fn told(tracer: &Tracer) -> Vec<String> {
    let mut told: Vec<String> =
        tracer.state.runs.iter().map(|(run, _)| format!("{:?}", tracer.past_of_run(run, None))).collect();
    for (vessel, _) in tracer.state.vessels.iter() {
        let fill = tracer.fill_of(vessel);
        let since = [Since::from(fill)];
        let ways = (tracer.back(&[fill]), tracer.forward(&since), tracer.bottled_of(&since));
        told.push(format!("{ways:?}"));
    }
    told.push(format!("{:?}", tracer.treated_with("so2")));
    told
}

#[test]
fn a_trace_is_the_plain_fold_of_the_facts() {
    let folder = Folder::new();
    let desk = lived_in(&folder);
    let exported = exported(&desk);
    for until in [moment(20_000), moment(2_000), moment(1_000)] {
        let plain = plain_trace(&exported, until.instant());
        let traced = Traced::read(desk.path(), until).unwrap();
        assert_eq!(traced.warnings, Vec::<String>::new());
        let beside = desk.trace(until).unwrap();
        for tracer in [traced.tracer, beside] {
            assert!(tracer.state == plain.state);
            assert_eq!(told(&tracer), told(&plain));
        }
    }
    let whole = plain_trace(&exported, i64::MAX);
    let runs = whole.state.runs.iter().map(|(run, _)| whole.past_of_run(run, None).done.len());
    assert_eq!(runs.collect::<Vec<_>>(), [15, 30], "R2 has what 3 gave it too");
}
