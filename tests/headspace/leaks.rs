//! Leaks: found soon, and seldom said of a barrel that has none.

use crate::house::{House, climates, habits};
use crate::simulated::{Outcome, run};

/// At most one sound barrel in so many may be said to leak in a round.
const SOUND_FOR_ONE: f64 = 200.0;
const TIMES: u64 = 60;

fn several(house: &House) -> Vec<Outcome> {
    (0..TIMES).map(|time| run(&House { seed: house.seed + 500 * (time + 1), ..house.clone() })).collect()
}

/// Leaks that begin once the barrels are known, two or three in a hundred.
fn leaking(house: &House) -> House {
    House { leaks: Some((8, (house.barrels / 40).max(1), 2.0)), rounds: 14, ..house.clone() }
}

/// The part of the leaks that was said at the first or second topping, and at the third.
fn found(outcomes: &[Outcome]) -> (f64, f64) {
    let all: Vec<Option<usize>> = outcomes.iter().flat_map(|outcome| outcome.found_after.clone()).collect();
    let within = |most| {
        let count = all.iter().flatten().filter(|&&at| at <= most).count();
        count as f64 / all.len() as f64
    };
    (within(2), within(3))
}

#[test]
fn few_sound_barrels_are_said_to_leak() {
    for house in climates().into_iter().chain(habits()) {
        let outcomes = several(&house);
        let sum = |of: fn(&Outcome) -> usize| outcomes.iter().map(of).sum::<usize>() as f64;
        let findings = sum(|outcome| outcome.sound_findings);
        let (alarms, standing) =
            (sum(|outcome| outcome.false_alarms) / findings, sum(|outcome| outcome.false_standing) / findings);
        println!("{:26} new {alarms:.4} standing {standing:.4} of {findings}", house.name);
        assert!(alarms <= 1.0 / SOUND_FOR_ONE, "{}: {alarms}", house.name);
    }
}

/// Where the observer who knows the room finds so many of the leaks within two rounds, the model must find nine in ten.
const CLEAR: f64 = 0.95;
const GOAL: f64 = 0.9;
/// Where not even the observer does, it must find this part of what the observer finds.
const NEAR_THE_BEST: f64 = 0.68;

/// The mean of some numbers; nothing of none.
fn mean(all: impl Iterator<Item = f64>) -> f64 {
    let (sum, count) = all.fold((0.0, 0.0), |(sum, count), one| (sum + one, count + 1.0));
    if count > 0.0 { sum / count } else { 0.0 }
}

/// The part of the leaks that the observer finds within two rounds, at no more false alarms than are allowed the model.
fn possible(outcomes: &[Outcome]) -> f64 {
    mean(outcomes.iter().flat_map(|outcome| &outcome.barrels).filter_map(|barrel| barrel.ideal.power()))
}

/// Of the barrels that leak at the end, the part that is still said to.
fn still_said(outcomes: &[Outcome]) -> f64 {
    let leaking = outcomes.iter().flat_map(|outcome| &outcome.barrels).filter(|barrel| barrel.leak > 1.0);
    mean(leaking.map(|barrel| f64::from(u8::from(barrel.thirst.leak().is_some()))))
}

/// Twice what it drank. In the small room there is but one barrel that leaks, and a twelfth of what all are compared with:
/// it is as good as a room can be that has to be learned from eleven.
#[test]
fn a_doubling_is_found_within_two_rounds_where_it_can_be() {
    for house in climates().into_iter().chain(habits()) {
        let outcomes = several(&leaking(&house));
        let (best, (two, three), still) = (possible(&outcomes), found(&outcomes), still_said(&outcomes));
        let times = mean(outcomes.iter().flat_map(|outcome| outcome.times_said.clone()));
        let missed = mean(outcomes.iter().flat_map(|outcome| outcome.since_missed.clone()));
        let line = format!(
            "{:26} two {two:.2} of possible {best:.2}, three {three:.2}, still said {still:.2}, times {times:.2}, \
             beginning off by {missed:.1} days",
            house.name
        );
        println!("{line}");
        let goal = if best >= CLEAR && house.name != "small" { GOAL } else { NEAR_THE_BEST * best };
        assert!(two >= goal, "{line}");
        assert!(three >= 0.75 && still >= 0.75, "{line}");
        assert!((1.7..2.3).contains(&times), "{line}");
    }
}

/// A barrel that is mended is let off, nearly always within four toppings.
#[test]
fn a_mended_barrel_is_let_off() {
    let toppings: Vec<usize> = several(&leaking(&House::usual())).into_iter().flat_map(until_let_off).collect();
    let soon = toppings.iter().filter(|&&count| count <= 4).count();
    assert!(toppings.len() > 100 && soon * 20 >= toppings.len() * 19, "{soon} of {}", toppings.len());
    assert!(toppings.iter().all(|&count| count <= 8), "{toppings:?}");
}

/// The leaking barrels that are said to be are mended, and take what they took before: after how many toppings each is
/// let off.
fn until_let_off(outcome: Outcome) -> Vec<usize> {
    let mut room = outcome.room;
    let said = outcome.barrels.into_iter().filter(|barrel| barrel.leak > 1.0 && barrel.thirst.leak().is_some());
    said.map(|mut barrel| {
        let start = barrel.known;
        let still_said = |&after: &usize| {
            let day = start + 21.0 * after as f64;
            let lost = barrel.factor * barrel.size * room.drawn(day - 21.0, day).litres;
            barrel.thirst.find(&mut room, lost, day, false);
            barrel.thirst.leak().is_some()
        };
        1 + (1..100).take_while(still_said).count()
    })
    .collect()
}
