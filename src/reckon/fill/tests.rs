//! The chooser against every choice there is, worked examples, what is refused, and how long it takes.

use std::time::{Duration, Instant};

use proptest::prelude::*;

use super::*;

fn litres(litres: u64) -> Volume {
    Volume::from_litres(litres)
}

fn barrels(count: usize, capacity: u64, kinds: u32) -> Vec<Candidate> {
    vec![Candidate { capacity: litres(capacity), kinds }; count]
}

fn share(limit: Limit, percent: u32) -> Wish {
    Wish { limit, amount: Amount::Share(percent * 100) }
}

fn question(candidates: Vec<Candidate>, to_place: ToPlace, wishes: Vec<Wish>) -> Question {
    Question { candidates, to_place, wishes, precision: Volume::from_ml(1) }
}

fn chosen(question: &Question) -> Answer {
    choose(question, &|| false, &mut |_| {}).unwrap()
}

/// 12 of 40 barrels new, 20 of Allier of which 6 are new: half Allier and 30 % new of 20 barrels are 10 and 6.
#[test]
fn a_wish_that_can_be_met_is_met() {
    let empties = [barrels(6, 225, 0b01), barrels(6, 225, 0b11), barrels(14, 225, 0b10), barrels(14, 225, 0)].concat();
    let wishes = vec![share(Limit::AtLeast, 30), share(Limit::Exactly, 50)];
    let answer = chosen(&question(empties, ToPlace::Litres(litres(4_600)), wishes));
    assert_eq!((answer.chosen.len(), answer.placed, answer.stays), (20, litres(4_500), litres(100)));
    assert_eq!((answer.missed, answer.proved), (Volume::ZERO, true));
    assert!(answer.wishes[0].volume >= litres(1_350));
    assert_eq!(answer.wishes[1].volume, litres(2_250));
}

/// 3 of 40 empties of 228 L are new. 3,800 L fill 16 of them: 30 % of 3,648 L are 1,094.4 L and there are 684 L.
#[test]
fn what_there_is_too_little_of_is_said() {
    let empties = [barrels(3, 228, 1), barrels(37, 228, 0)].concat();
    let question = question(empties, ToPlace::Litres(litres(3_800)), vec![share(Limit::AtLeast, 30)]);
    let answer = chosen(&question);
    assert_eq!((answer.placed, answer.missed, answer.proved), (litres(3_648), Volume::from_ml(410_400), true));
    let (hold, wanted) = (litres(684), Volume::from_ml(1_094_400));
    let supply = Binding::Supply { of_kind: true, empties: 40, barrels: 3, hold, wanted };
    assert_eq!(what_binds(&question, &answer), [Some(supply)]);
}

/// Half of an odd number of equal barrels misses by half a barrel, whatever is done: 9 of 225 L, 112.5 L.
#[test]
fn whole_barrels_bind_too() {
    let empties = [barrels(20, 225, 1), barrels(20, 225, 0)].concat();
    let to_place = ToPlace::Barrels { count: 9, from: litres(3_000) };
    let question = question(empties, to_place, vec![share(Limit::Exactly, 50)]);
    let answer = chosen(&question);
    assert_eq!((answer.missed, answer.proved), (Volume::from_ml(112_500), true));
    assert!(answer.bound > Volume::from_ml(112_499), "{answer:?}");
    assert_eq!(what_binds(&question, &answer), [Some(Binding::WholeBarrels)]);
}

/// 70 % of one forest and 60 % of another exclude each other whatever is at hand: 30 % of all is missed.
#[test]
fn wishes_that_exclude_each_other_are_told_apart_from_others() {
    let empties = [barrels(20, 225, 0b101), barrels(20, 225, 0b010)].concat();
    let wishes = vec![share(Limit::AtLeast, 70), share(Limit::AtLeast, 60), share(Limit::AtLeast, 10)];
    let question = question(empties, ToPlace::Barrels { count: 10, from: litres(2_250) }, wishes);
    let answer = chosen(&question);
    assert_eq!((answer.missed, answer.proved), (litres(675), true));
    let bindings = what_binds(&question, &answer);
    assert!(
        bindings.iter().flatten().all(|binding| matches!(binding, Binding::Others(with) if with.len() == 1)),
        "{bindings:?}"
    );
    assert_eq!(bindings[2], None);
}

#[test]
fn more_than_is_placed_cannot_be_in_new_wood() {
    let wish = Wish { limit: Limit::AtLeast, amount: Amount::Litres(litres(2_000)) };
    let question = question(barrels(40, 225, 1), ToPlace::Litres(litres(1_000)), vec![wish]);
    let answer = chosen(&question);
    assert_eq!((answer.chosen.len(), answer.missed), (4, litres(1_100)));
    assert_eq!(what_binds(&question, &answer), [Some(Binding::Placed)]);
}

/// Wishes never keep wine in the tank that could fill another barrel, and everything is filled where all fits.
#[test]
fn the_wine_is_placed_first() {
    let empties = [barrels(1, 225, 1), barrels(9, 225, 0)].concat();
    let wishes = vec![share(Limit::Exactly, 100)];
    assert_eq!(chosen(&question(empties.clone(), ToPlace::Litres(litres(2_249)), wishes.clone())).chosen.len(), 9);
    assert_eq!(chosen(&question(empties.clone(), ToPlace::Litres(litres(2_250)), wishes.clone())).chosen.len(), 10);
    assert_eq!(chosen(&question(empties, ToPlace::Litres(litres(9_000)), wishes)).stays, litres(6_750));
}

#[test]
fn equal_barrels_are_taken_as_they_come() {
    let answer = chosen(&question(barrels(9, 225, 0), ToPlace::Barrels { count: 4, from: litres(2_000) }, Vec::new()));
    assert_eq!(answer.chosen, [0, 1, 2, 3]);
}

#[test]
fn what_cannot_be_asked_is_refused_in_a_sentence() {
    let refused = |empties: Vec<Candidate>, to_place, wishes| {
        choose(&question(empties, to_place, wishes), &|| false, &mut |_| {}).unwrap_err()
    };
    let ten = || barrels(10, 225, 0);
    let of = |count, from| ToPlace::Barrels { count, from: litres(from) };
    assert_eq!(refused(Vec::new(), of(1, 900), Vec::new()), NoChoice::NoEmpties);
    assert_eq!(refused(ten(), of(0, 900), Vec::new()), NoChoice::NothingToPlace);
    assert_eq!(refused(ten(), ToPlace::Litres(Volume::ZERO), Vec::new()), NoChoice::NothingToPlace);
    let too_little = NoChoice::TooLittle { smallest: litres(225), volume: litres(224) };
    assert_eq!(refused(ten(), ToPlace::Litres(litres(224)), Vec::new()), too_little);
    assert_eq!(refused(ten(), of(11, 9_000), Vec::new()), NoChoice::TooFewEmpties { wanted: 11, empties: 10 });
    let too_many = NoChoice::TooManyBarrels { wanted: 5, hold: litres(1_125), volume: litres(1_000), most: 4 };
    assert_eq!(refused(ten(), of(5, 1_000), Vec::new()), too_many);
    let more = refused(ten(), of(4, 1_000), vec![share(Limit::AtLeast, 120)]);
    assert_eq!(more.to_string(), "A wish of 120.00 % is more than all. Ask for at most 100 %.");
    let many = vec![share(Limit::AtLeast, 1); 33];
    assert_eq!(refused(ten(), of(4, 1_000), many), NoChoice::TooManyWishes(33));
}

/// What a choice comes to by the rules as they are told, without anything of the search: whether it is possible; what
/// stays although the smallest empty, and a litre, would hold it, a thousandfold, with what the wishes are missed by.
fn plainly(question: &Question, choice: u32) -> Option<u128> {
    let picked = |at: usize| choice >> at & 1 == 1;
    let barrels = question.candidates.iter().enumerate().filter(|(at, _)| picked(*at)).map(|(_, barrel)| barrel);
    let sum = |wish: Option<usize>| -> u128 {
        let of_kind = barrels.clone().filter(|barrel| wish.is_none_or(|wish| barrel.is_of(wish)));
        of_kind.map(|barrel| u128::from(barrel.capacity.as_ul())).sum()
    };
    let (placed, most) = (sum(None), u128::from(question.to_place.at_most().as_ul()));
    let smallest = question.candidates.iter().map(|barrel| u128::from(barrel.capacity.as_ul())).min()?;
    let stays = most.checked_sub(placed)?;
    let staying = match question.to_place {
        ToPlace::Barrels { count, .. } if choice.count_ones() as usize != count => return None,
        ToPlace::Barrels { .. } => 0,
        ToPlace::Litres(_) => (stays + 1_000_000).saturating_sub(smallest),
    };
    let missed = |(at, wish): (usize, &Wish)| {
        let wanted = match wish.amount {
            Amount::Share(share) => u128::from(share) * placed,
            Amount::Litres(volume) => 10_000 * u128::from(volume.as_ul()),
        };
        let (less, more) =
            (wanted.saturating_sub(10_000 * sum(Some(at))), (10_000 * sum(Some(at))).saturating_sub(wanted));
        match wish.limit {
            Limit::AtLeast => less,
            Limit::AtMost => more,
            Limit::Exactly => less + more,
        }
    };
    Some(question.wishes.iter().enumerate().map(missed).sum::<u128>() + 10_000 * 1_000 * staying)
}

fn some_wish() -> impl Strategy<Value = Wish> {
    let limit = prop_oneof![Just(Limit::AtLeast), Just(Limit::AtMost), Just(Limit::Exactly)];
    let amount = prop_oneof![
        4 => (0_u32..=100).prop_map(|percent| Amount::Share(percent * 100)),
        1 => (0_u64..2_000).prop_map(|volume| Amount::Litres(litres(volume))),
    ];
    (limit, amount).prop_map(|(limit, amount)| Wish { limit, amount })
}

fn some_question() -> impl Strategy<Value = Question> {
    let capacity = prop_oneof![3 => prop_oneof![Just(225), Just(228), Just(500)], 1 => 100_u64..600];
    let candidate = (capacity, 0_u32..16).prop_map(|(capacity, kinds)| Candidate { capacity: litres(capacity), kinds });
    let candidates = prop::collection::vec(candidate, 1..=11);
    let to_place = prop_oneof![
        (600_u64..4_000).prop_map(|volume| ToPlace::Litres(litres(volume))),
        (1_usize..=6, 600_u64..4_000).prop_map(|(count, from)| ToPlace::Barrels { count, from: litres(from) }),
    ];
    (candidates, to_place, prop::collection::vec(some_wish(), 0..=4))
        .prop_map(|(candidates, to_place, wishes)| question(candidates, to_place, wishes))
}

/// The solver loses itself on some of these questions; the search must prove its choice all the same.
#[test]
fn a_solver_that_loses_itself_is_no_end_of_the_search() {
    let barrel = |capacity, kinds| Candidate { capacity: litres(capacity), kinds };
    let candidates =
        [(500, 1), (225, 0), (500, 14), (225, 1), (228, 10), (100, 2), (500, 14)].map(|(c, k)| barrel(c, k)).to_vec();
    let wishes = vec![
        share(Limit::AtMost, 37),
        Wish { limit: Limit::Exactly, amount: Amount::Litres(litres(720)) },
        share(Limit::AtMost, 25),
        share(Limit::AtLeast, 81),
    ];
    let question = question(candidates, ToPlace::Litres(litres(752)), wishes);
    let answer = chosen(&question);
    assert!(answer.proved, "{answer:?}");
}

proptest! {
    #[test]
    fn no_choice_is_better(question in some_question()) {
        let all = 0_u32..1 << question.candidates.len();
        let best = all.filter_map(|choice| plainly(&question, choice)).min();
        match choose(&question, &|| false, &mut |_| {}) {
            Err(_) => {
                // Without a barrel nothing is placed: that is no choice.
                let some = (1_u32..1 << question.candidates.len()).find(|&choice| plainly(&question, choice).is_some());
                prop_assert_eq!(some, None);
            }
            Ok(answer) => {
                let found: u32 = answer.chosen.iter().map(|at| 1 << at).sum();
                prop_assert!(answer.proved);
                prop_assert_eq!(plainly(&question, found), best);
                prop_assert!(answer.bound <= answer.missed);
                prop_assert!(answer.missed.saturating_sub(answer.bound) <= Volume::from_ml(1));
                prop_assert_eq!(answer.wishes.iter().map(|wish| wish.missed).sum::<Volume>(), answer.missed);
            }
        }
    }

    #[test]
    fn asked_twice_it_says_the_same_and_no_earlier_barrel_would_do(question in some_question()) {
        if let Ok(answer) = choose(&question, &|| false, &mut |_| {}) {
            prop_assert_eq!(&answer, &chosen(&question));
            let found: u32 = answer.chosen.iter().map(|at| 1 << at).sum();
            let weight = plainly(&question, found).unwrap();
            for &late in &answer.chosen {
                for early in (0..late).filter(|early| found >> early & 1 == 0) {
                    let other = found & !(1 << late) | 1 << early;
                    let holds = |at: usize| question.candidates[at].capacity;
                    if holds(early) >= holds(late) {
                        prop_assert!(plainly(&question, other).is_none_or(|other| other > weight));
                    }
                }
            }
        }
    }
}

/// Numbers that look like chance (Lehmer 1951, Park and Miller 1988), the same at every run.
fn chance(seed: u64) -> impl FnMut(u64) -> u64 {
    let mut state = seed;
    move |below| {
        state = state * 48_271 % 2_147_483_647;
        state % below
    }
}

/// 400 empties, no two of one capacity, with qualities at random, and six wishes.
fn hard(seed: u64, limits: [(Limit, u32); 6], to_place: ToPlace) -> Question {
    let mut chance = chance(seed);
    let of = |at: u64, kinds| Candidate { capacity: Volume::from_ml(215_000 + 37 * at), kinds };
    let candidates = (0..400).map(|at| of(at, u32::try_from(chance(64)).unwrap())).collect();
    let wishes = limits.map(|(limit, percent)| share(limit, percent)).to_vec();
    Question { precision: TO_THE_LITRE, ..question(candidates, to_place, wishes) }
}

const MEETABLE: [(Limit, u32); 6] = [
    (Limit::AtLeast, 60),
    (Limit::Exactly, 50),
    (Limit::AtMost, 25),
    (Limit::AtLeast, 40),
    (Limit::Exactly, 33),
    (Limit::AtMost, 60),
];
const EXACT: [(Limit, u32); 6] = [
    (Limit::Exactly, 61),
    (Limit::Exactly, 50),
    (Limit::Exactly, 27),
    (Limit::Exactly, 40),
    (Limit::Exactly, 33),
    (Limit::Exactly, 58),
];
const CONTRADICTORY: [(Limit, u32); 6] = [
    (Limit::AtLeast, 95),
    (Limit::AtLeast, 90),
    (Limit::AtMost, 5),
    (Limit::AtLeast, 90),
    (Limit::Exactly, 93),
    (Limit::AtMost, 10),
];

/// Solved or bounded within two seconds: here within ten, since tests run unoptimised and side by side.
#[test]
fn four_hundred_empties_and_six_wishes_are_solved_or_bounded_in_time() {
    let volume = ToPlace::Litres(litres(40_000));
    let number = ToPlace::Barrels { count: 180, from: litres(50_000) };
    for (name, limits) in [("meetable", MEETABLE), ("exact", EXACT), ("contradictory", CONTRADICTORY)] {
        for (how, to_place) in [("litres", volume), ("barrels", number)] {
            let question = hard(7, limits, to_place);
            let begun = Instant::now();
            let answer = choose(&question, &|| begun.elapsed() > Duration::from_secs(2), &mut |_| {}).unwrap();
            let binds = what_binds(&question, &answer);
            let took = begun.elapsed();
            println!(
                "{name} by {how}: missed {}, bound {}, proved {}, {took:?}, {binds:?}",
                answer.missed, answer.bound, answer.proved
            );
            assert!(took < Duration::from_secs(10), "{name} by {how} took {took:?}");
            assert!(answer.bound <= answer.missed);
        }
    }
}

/// Six shares to be met exactly by 400 barrels that all differ cannot be proved soon, but nearly met: within a hundredth
/// of what is placed. Stopped by a count, not by a clock, so that it is the same on every machine.
#[test]
fn the_best_so_far_is_good_before_it_is_proved() {
    let question = hard(7, EXACT, ToPlace::Litres(litres(40_000)));
    let asked = std::cell::Cell::new(0);
    let stop = || asked.replace(asked.get() + 1) > 8_000;
    let mut told = Vec::new();
    let answer = choose(&question, &stop, &mut |answer| told.push(answer.missed)).unwrap();
    println!("exact, stopped: missed {}, bound {}", answer.missed, answer.bound);
    assert!(answer.missed < litres(400), "{answer:?}");
    assert_eq!(told.last(), Some(&answer.missed));
}

/// 400 equal barrels of many qualities: shares that no whole number of barrels gives are proved impossible all the same.
#[test]
fn equal_barrels_of_many_qualities_are_proved_in_time() {
    let mut question = hard(11, EXACT, ToPlace::Litres(litres(40_000)));
    question.candidates.iter_mut().for_each(|candidate| candidate.capacity = litres(225));
    let begun = Instant::now();
    let answer = choose(&question, &|| begun.elapsed() > Duration::from_secs(8), &mut |_| {}).unwrap();
    println!(
        "equal: missed {}, bound {}, proved {}, {:?}",
        answer.missed,
        answer.bound,
        answer.proved,
        begun.elapsed()
    );
    assert!(answer.proved, "{answer:?}");
}

#[test]
fn a_search_that_is_stopped_at_once_has_a_choice_all_the_same() {
    let question = hard(3, CONTRADICTORY, ToPlace::Litres(litres(40_000)));
    let mut told = Vec::new();
    let answer = choose(&question, &|| true, &mut |answer| told.push(answer.clone())).unwrap();
    assert!(!answer.proved && !answer.chosen.is_empty() && answer.stays < litres(215));
    assert!(told.iter().all(|answer| !answer.proved && answer.bound <= answer.missed));
}
