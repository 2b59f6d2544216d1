//! What was measured wrongly is taken back and said anew as one act; what two laptops did on one occasion is settled.

use barrelwalk::cellar::core::fact::{FactId, What};
use barrelwalk::cellar::core::refusal::Refusal;
use barrelwalk::cellar::core::state::State;
use barrelwalk::cellar::jobs::topping::round::Mark;
use barrelwalk::cellar::views::topping::correcting::Measured;
use barrelwalk::desk::{Correction, Desk, DeskError, Settlement};
use barrelwalk::units::Volume;

use super::cellar::{Folder, act, assert_same_when_opened, exported, holds, intent, label, lines, moment, noted, text};

fn ml(millilitres: u64) -> Volume {
    Volume::from_ml(millilitres)
}

/// Topped to the brim.
fn full(vessel: &str, millilitres: u64) -> String {
    format!(r#""kind":"topped","vessel":"{vessel}","from":"K","volume_ul":{millilitres}000"#)
}

/// A small cellar in which a round is under way.
fn walked(folder: &Folder, name: &str) -> Desk {
    let mut desk = folder.founded(name);
    let row = r#"[{"row":"A","stacks":2,"tiers":1,"sides":2}]"#;
    let mut fields = vec![format!(r#""kind":"room_laid_out","room":"long","rows":{row}"#)];
    for (vessel, place) in [("1", "01-1-a"), ("2", "01-1-b"), ("3", "02-1-a")] {
        fields.push(format!(r#""kind":"vessel_placed","vessel":"{vessel}","place":"long/A-{place}""#));
    }
    fields.push(r#""kind":"round_begun","round":"r1","room":"long","from":"K""#.to_owned());
    let laid = fields.iter().map(|fields| intent(1, moment(110), fields)).collect();
    assert_eq!(desk.record(laid, moment(120), false).unwrap().refused, []);
    desk
}

/// The facts by which something was done at a vessel in the round.
fn done_at(desk: &Desk, vessel: &str) -> Vec<FactId> {
    desk.state().vessels.by_label(vessel).unwrap().lately.iter().map(|doing| doing.id.clone()).collect()
}

fn mark(desk: &Desk, vessel: &str) -> Option<Mark> {
    let state: &State = desk.state();
    let round = state.rounds.by_label("r1").unwrap();
    round.marks.get(&state.vessels.find(vessel).unwrap()).copied()
}

fn poured(desk: &Desk) -> Volume {
    desk.state().rounds.by_label("r1").unwrap().poured
}

fn correct(desk: &mut Desk, vessel: &str, millilitres: u64, seconds: i64) {
    let correction = Correction::Measured { of: done_at(desk, vessel), to: Measured::Poured(ml(millilitres), true) };
    desk.correct(&correction, &label("mk"), moment(seconds), &[]).unwrap();
}

#[test]
fn a_wrong_topping_is_replaced_by_one_act_that_one_undo_takes_back() {
    let folder = Folder::new();
    let mut desk = walked(&folder, "cellar");
    desk.enter(&act(&[full("1", 1_100), full("2", 2_000)]), moment(200)).unwrap();
    let before = desk.state().clone();
    correct(&mut desk, "1", 2_900, 300);
    // What it took is 2.9 L in all, the round's total rises by the difference only, and the keg gave as much.
    assert_eq!(mark(&desk, "1"), Some(Mark::Topped(ml(2_900))));
    assert_eq!(poured(&desk), ml(4_900));
    assert_eq!(holds(&desk, "K"), 40_000 - 4_900);
    assert_eq!(desk.state().vessels.by_label("1").unwrap().last_topped, Some(moment(200)));
    assert!(desk.state().discrepancies.is_empty());
    assert_same_when_opened(&desk);
    let mut log = exported(&desk);
    log.sort_by_key(|line| line.id.n);
    let [back, new] = &log[log.len() - 2..] else { panic!("{log:?}") };
    assert_eq!((back.kind.as_str(), new.kind.as_str()), ("retracted", "topped"));
    assert_eq!((back.at, new.at), (moment(300), moment(200)));
    assert!(back.job.is_some() && back.job == new.job);

    let undone = desk.undo(&label("mk"), moment(310)).unwrap();
    assert_eq!(barrelwalk::forms::said_undone(&undone.facts), "the correction: 1 topped with 2.9 L from K");
    assert!(desk.state().vessels == before.vessels && desk.state().rounds == before.rounds);
    let redone = desk.redo(&label("mk"), moment(320)).unwrap();
    assert_eq!(redone.vessel().map(barrelwalk::cellar::core::label::Label::as_str), Some("1"));
    assert_eq!(mark(&desk, "1"), Some(Mark::Topped(ml(2_900))));
    desk.undo(&label("mk"), moment(330)).unwrap();
    assert!(desk.state().vessels == before.vessels && desk.state().rounds == before.rounds);
    // One further back is what was corrected.
    assert_eq!(
        barrelwalk::forms::said_undone(&desk.undo(&label("mk"), moment(340)).unwrap().facts),
        "2 facts, the first: 1 topped with 1.1 L from K"
    );
    desk.redo(&label("mk"), moment(350)).unwrap();
    desk.redo(&label("mk"), moment(360)).unwrap();
    assert_eq!(poured(&desk), ml(4_900));
    assert_same_when_opened(&desk);
}

#[test]
fn what_was_poured_in_several_goes_is_replaced_by_what_it_took_in_all() {
    let folder = Folder::new();
    let mut desk = walked(&folder, "cellar");
    let part = format!(r#"{},"full":false"#, full("1", 800));
    desk.enter(&act(&[part]), moment(200)).unwrap();
    desk.enter(&act(&[full("1", 500)]), moment(210)).unwrap();
    let again = format!(r#"{},"again":true"#, full("1", 300));
    desk.enter(&act(&[again]), moment(220)).unwrap();
    assert_eq!(done_at(&desk, "1").len(), 3);
    correct(&mut desk, "1", 2_000, 300);
    assert_eq!(mark(&desk, "1"), Some(Mark::Topped(ml(2_000))));
    assert_eq!(done_at(&desk, "1").len(), 1);
    assert_eq!(desk.state().vessels.by_label("1").unwrap().last_topped, Some(moment(200)));
    desk.undo(&label("mk"), moment(310)).unwrap();
    assert_eq!(mark(&desk, "1"), Some(Mark::Topped(ml(1_600))));
    assert_same_when_opened(&desk);
}

#[test]
fn what_another_vessel_gave_stays_said_of_it() {
    let folder = Folder::new();
    let mut desk = walked(&folder, "cellar");
    let keg = r#""kind":"vessel_registered","vessel":"K2","type":"keg","capacity_ul":50000000"#;
    let wine = r#""kind":"wine_received","vessel":"K2","lot":"M24","parts":[{"origin":"o","volume_ul":40000000}]"#;
    desk.enter(&act(&[keg.to_owned(), wine.to_owned()]), moment(190)).unwrap();
    desk.enter(&act(&[format!(r#"{},"full":false"#, full("1", 800))]), moment(200)).unwrap();
    desk.enter(&act(&[full("1", 500).replace(r#""K""#, r#""K2""#)]), moment(210)).unwrap();
    correct(&mut desk, "1", 2_000, 300);
    assert_eq!((holds(&desk, "K"), holds(&desk, "K2")), (39_200, 38_800));
    assert_eq!(mark(&desk, "1"), Some(Mark::Topped(ml(2_000))));
    // Less than the first gave can only have come from the last.
    correct(&mut desk, "1", 600, 310);
    assert_eq!((holds(&desk, "K"), holds(&desk, "K2")), (40_000, 39_400));
}

#[test]
fn a_correction_is_decided_as_of_then_and_says_what_would_no_longer_fit() {
    let folder = Folder::new();
    let mut desk = walked(&folder, "cellar");
    desk.enter(&act(&[full("1", 1_100)]), moment(200)).unwrap();
    let away = r#""kind":"wine_moved","from":"K","to":"3","volume_ul":4000000,"purpose":"other","empties":true"#;
    desk.enter(&act(&[away.to_owned()]), moment(210)).unwrap();
    assert_eq!(holds(&desk, "K"), 0);
    // The keg is empty now, but it was not when the barrel was topped.
    correct(&mut desk, "1", 1_500, 300);
    assert_eq!(mark(&desk, "1"), Some(Mark::Topped(ml(1_500))));
    // With 40 L into the first barrel nothing is left for what came later.
    let of = done_at(&desk, "1");
    let all = Correction::Measured { of: of.clone(), to: Measured::Poured(ml(40_000), true) };
    let head = exported(&desk).len();
    let asked = match desk.correct(&all, &label("mk"), moment(310), &[]) {
        Err(DeskError::Asked(asked)) => asked,
        other => panic!("{other:?}"),
    };
    assert!(
        asked
            .iter()
            .map(ToString::to_string)
            .any(|it| it.starts_with("1 later fact would no longer fit") && it.contains("K holds nothing")),
        "{asked:?}"
    );
    assert_eq!(exported(&desk).len(), head);
    // Answered, it is entered.
    desk.correct(&all, &label("mk"), moment(320), &asked).unwrap();
    assert_eq!(desk.state().discrepancies.len(), 1);
    // What cannot be is refused.
    let none =
        Correction::Measured { of: done_at(&desk, "1"), to: Measured::Amount(barrelwalk::units::Mass::from_grams(1)) };
    assert!(
        matches!(desk.correct(&none, &label("mk"), moment(330), &[]), Err(DeskError::Refused(why)) if *why == Refusal::NotMeasuredSo)
    );
    let gone = Correction::Measured { of: of.clone(), to: Measured::Poured(ml(1), true) };
    assert!(
        desk.correct(&gone, &label("mk"), moment(340), &[]).unwrap_err().to_string().contains("taken back already")
    );
}

/// Two laptops that walk one row without knowing of each other: the barrel 1 is topped by both, 2 by the left one, 3 by the
/// right one.
fn two_laptops(folder: &Folder) -> (Desk, Desk) {
    let mut left = walked(folder, "left");
    let mut right = folder.empty("right");
    right.record(lines(&text(&exported(&left))), moment(130), false).unwrap();
    left.enter(&act(&[full("1", 900)]), moment(200)).unwrap();
    left.enter(&act(&[full("2", 700)]), moment(201)).unwrap();
    right.enter(&act(&[full("3", 600)]), moment(202)).unwrap();
    right.enter(&act(&[full("1", 800)]), moment(203)).unwrap();
    (left, right)
}

fn merge(left: &mut Desk, right: &mut Desk, now: i64) {
    let (of_left, of_right) = (text(&exported(left)), text(&exported(right)));
    left.record(lines(&of_right), moment(now), false).unwrap();
    right.record(lines(&of_left), moment(now), false).unwrap();
    assert!(left.state() == right.state());
}

#[test]
fn two_laptops_that_topped_one_barrel_in_one_round_are_told_apart_and_settled() {
    let folder = Folder::new();
    let (mut left, mut right) = two_laptops(&folder);
    merge(&mut left, &mut right, 300);
    let state = left.state().clone();
    let [found] = state.discrepancies.as_slice() else { panic!("{:?}", state.discrepancies) };
    assert!(found.problem.starts_with("1 was topped on two laptops: 900 mL at "), "{}", found.problem);
    assert!(found.counted);
    assert_eq!(mark(&left, "1"), Some(Mark::Topped(ml(1_700))));
    let [earlier] = found.twice.as_slice() else { panic!("{found:?}") };

    // Only the later one was done: the other is taken back.
    let only = Settlement::Only { stays: found.id.clone(), go: vec![earlier.clone()] };
    left.settle(&only, &label("mk"), moment(310), &[]).unwrap();
    assert_eq!(mark(&left, "1"), Some(Mark::Topped(ml(800))));
    assert!(left.state().discrepancies.is_empty());
    left.undo(&label("mk"), moment(320)).unwrap();
    assert!(left.state().discrepancies == state.discrepancies);
    left.redo(&label("mk"), moment(330)).unwrap();
    assert!(left.state().discrepancies.is_empty());
    left.undo(&label("mk"), moment(340)).unwrap();

    // Both were done.
    left.settle(&Settlement::All(found.id.clone()), &label("mk"), moment(350), &[]).unwrap();
    assert_eq!(mark(&left, "1"), Some(Mark::Topped(ml(1_700))));
    assert!(left.state().discrepancies.is_empty());
    left.undo(&label("mk"), moment(360)).unwrap();
    assert!(left.state().discrepancies == state.discrepancies);
    left.redo(&label("mk"), moment(370)).unwrap();
    merge(&mut left, &mut right, 400);
    assert!(right.state().discrepancies.is_empty());
    assert_same_when_opened(&left);
}

#[test]
fn who_knows_of_the_other_corrects_it_and_nothing_is_left_to_settle() {
    let folder = Folder::new();
    let (mut left, mut right) = two_laptops(&folder);
    merge(&mut left, &mut right, 300);
    correct(&mut right, "1", 850, 310);
    assert_eq!(mark(&right, "1"), Some(Mark::Topped(ml(850))));
    assert!(right.state().discrepancies.is_empty());
    // A correction of what the other laptop did alone is no second topping either.
    correct(&mut right, "2", 750, 320);
    assert!(right.state().discrepancies.is_empty());
    merge(&mut left, &mut right, 400);
    assert_eq!(mark(&left, "2"), Some(Mark::Topped(ml(750))));
}

#[test]
fn a_round_that_one_laptop_closed_is_gone_on_with_by_the_other_for_half_a_day() {
    let folder = Folder::new();
    let (mut left, mut right) = two_laptops(&folder);
    let ended = r#""kind":"round_ended","round":"r1","room":"long","from":"K""#.to_owned();
    left.enter(&act(&[ended]), moment(204)).unwrap();
    right.enter(&act(&[full("2", 650)]), moment(5_000)).unwrap();
    right.enter(&act(&[noted("x")]), moment(5_001)).unwrap();
    merge(&mut left, &mut right, 50_000);
    let twice: Vec<_> = left.state().done_twice().map(|found| found.about.clone()).collect();
    assert_eq!(twice, [Some(label("1")), Some(label("2"))]);
    // A day later it is another occasion.
    right.enter(&act(&[full("2", 650)]), moment(90_000)).unwrap();
    assert_eq!(right.state().done_twice().count(), 2);
}

#[test]
fn a_dose_that_two_laptops_gave_at_one_stop_counts_twice_until_it_is_settled() {
    let folder = Folder::new();
    let mut left = walked(&folder, "left");
    let stops = r#"[{"vessel":"1","amount_ug":5000000,"volume_ul":50000},{"vessel":"2","amount_ug":5000000,"volume_ul":50000}]"#;
    let set = format!(
        r#""kind":"work_set","work":"w","task":"treating","material":"potassium metabisulfite","stops":{stops}"#
    );
    left.enter(&act(&[set]), moment(140)).unwrap();
    let mut right = folder.empty("right");
    right.record(lines(&text(&exported(&left))), moment(150), false).unwrap();
    let dose = |vessel: &str| {
        format!(
            r#""kind":"treated","vessel":"{vessel}","material":"potassium metabisulfite","amount_ug":5000000,"solution_ul":50000"#
        )
    };
    left.enter(&act(&[dose("1")]), moment(200)).unwrap();
    left.enter(&act(&[r#""kind":"work_ended","work":"w""#.to_owned()]), moment(201)).unwrap();
    right.enter(&act(&[dose("1")]), moment(300)).unwrap();
    merge(&mut left, &mut right, 400);
    let found: Vec<_> = left.state().done_twice().cloned().collect();
    let [found] = found.as_slice() else { panic!("{:?}", left.state().discrepancies) };
    assert!(found.problem.starts_with("1 was treated on two laptops: 50 mL at "), "{}", found.problem);
    let go = vec![found.id.clone()];
    left.settle(&Settlement::Only { stays: found.twice[0].clone(), go }, &label("mk"), moment(410), &[]).unwrap();
    assert!(left.state().discrepancies.is_empty());
    assert_eq!(left.state().vessels.by_label("1").unwrap().additions.len(), 1);
}

#[test]
fn care_that_two_laptops_gave_to_one_barrel_on_one_day_is_settled() {
    let folder = Folder::new();
    let mut left = walked(&folder, "left");
    let barrel = r#""kind":"vessel_registered","vessel":"E","type":"barrel","capacity_ul":225000000,"fills":2"#;
    left.enter(&act(&[barrel.to_owned()]), moment(140)).unwrap();
    let mut right = folder.empty("right");
    right.record(lines(&text(&exported(&left))), moment(150), false).unwrap();
    let care = |care: &str| act(&[format!(r#""kind":"barrel_cared","vessel":"E","care":"{care}""#)]);
    left.enter(&care("rinsed"), moment(200)).unwrap();
    left.enter(&care("sulfured"), moment(210)).unwrap();
    right.enter(&care("sulfured"), moment(5_000)).unwrap();
    merge(&mut left, &mut right, 6_000);
    let found: Vec<_> = left.state().done_twice().cloned().collect();
    let [found] = found.as_slice() else { panic!("{:?}", left.state().discrepancies) };
    assert!(found.problem.starts_with("E was sulfured on two laptops: at "), "{}", found.problem);
    // Only the earlier one was done, and then both were.
    let only = Settlement::Only { stays: found.twice[0].clone(), go: vec![found.id.clone()] };
    left.settle(&only, &label("mk"), moment(6_010), &[]).unwrap();
    assert!(left.state().discrepancies.is_empty());
    left.undo(&label("mk"), moment(6_020)).unwrap();
    left.settle(&Settlement::All(found.id.clone()), &label("mk"), moment(6_030), &[]).unwrap();
    assert!(left.state().discrepancies.is_empty());
    merge(&mut left, &mut right, 6_100);
    assert!(right.state().discrepancies.is_empty());
    // A day later it is another occasion.
    right.enter(&care("sulfured"), moment(90_000)).unwrap();
    assert_eq!(right.state().done_twice().count(), 0);
    assert_same_when_opened(&left);
}

#[test]
fn a_dose_that_was_measured_anew_takes_the_place_of_the_first() {
    let folder = Folder::new();
    let mut desk = walked(&folder, "cellar");
    let set = r#""kind":"work_set","work":"w","task":"treating","material":"potassium metabisulfite","stops":[{"vessel":"1","amount_ug":5000000,"volume_ul":50000}]"#;
    let dose = r#""kind":"treated","vessel":"1","material":"potassium metabisulfite","amount_ug":5000000,"solution_ul":50000,"batch":"b7""#;
    desk.enter(&act(&[set.to_owned()]), moment(140)).unwrap();
    desk.enter(&act(&[dose.to_owned()]), moment(200)).unwrap();
    let correction = Correction::Measured { of: done_at(&desk, "1"), to: Measured::Volume(ml(40)) };
    desk.correct(&correction, &label("mk"), moment(300), &[]).unwrap();
    let last = exported(&desk).into_iter().max_by_key(|line| line.id.n).unwrap().fact().unwrap();
    let What::Treated(treated) = last.what else { panic!("{last:?}") };
    assert_eq!((treated.solution, treated.amount.as_ug()), (ml(40), 4_000_000));
    assert_eq!(treated.batch, Some(label("b7")));
    assert_eq!(desk.state().works.by_label("w").unwrap().progress().moved, ml(40));
}
