//! From a choice in parts to whole barrels, and from a good choice to a better one by exchanging barrels.

use super::choice::{Choice, Scales, Tally, Weight};
use super::classes::Classes;
use super::{Candidate, Question};

/// A class of which one comes or goes, or none.
type Move = (Option<usize>, Option<usize>);

/// Rounds a choice in parts to whole barrels: down first, then up where most of a barrel is filled, as far as it fits.
pub fn rounded(classes: &Classes, counts: &[f64], barrels: Option<usize>) -> Choice {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // between nothing and the number of barrels
    let whole = |count: f64| (count + 1e-6).floor().max(0.0) as usize;
    let mut choice = Choice { counts: counts.iter().map(|&count| whole(count)).collect() };
    let mut parts: Vec<(usize, f64)> = counts.iter().map(|&count| count - (count + 1e-6).floor()).enumerate().collect();
    parts.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let mut lacking = barrels.unwrap_or(0).saturating_sub(choice.counts.iter().sum());
    for &(class, part) in &parts {
        let wanted = if barrels.is_some() { lacking > 0 } else { part >= 0.5 };
        if wanted && choice.counts[class] < classes.0[class].members.len() {
            choice.counts[class] += 1;
            lacking = lacking.saturating_sub(1);
        }
    }
    choice
}

/// Exchanges, adds or leaves out one barrel at a time, the best change first, until none helps or `stop` says so.
pub fn improved(scales: &Scales, classes: &Classes, mut choice: Choice, stop: &dyn Fn() -> bool) -> (Choice, Weight) {
    let mut tally = scales.tally(classes, &choice);
    let mut weight = scales.weigh(&tally, &[]);
    while weight.missed > 0 && !stop() {
        let Some((change, lighter)) = best_move(scales, classes, &choice, &tally, weight) else { break };
        if let Some(goes) = change.0 {
            choice.counts[goes] -= 1;
            tally.add(&classes.0[goes].each, -1);
        }
        if let Some(comes) = change.1 {
            choice.counts[comes] += 1;
            tally.add(&classes.0[comes].each, 1);
        }
        weight = lighter;
    }
    (choice, weight)
}

fn best_move(
    scales: &Scales,
    classes: &Classes,
    choice: &Choice,
    tally: &Tally,
    weight: Weight,
) -> Option<(Move, Weight)> {
    let all = 0..classes.0.len();
    let one_less = || std::iter::once(None).filter(|_| !scales.by_number);
    let going = one_less().chain(all.clone().filter(|&class| choice.counts[class] > 0).map(Some));
    let free = |class: &usize| choice.counts[*class] < classes.0[*class].members.len();
    let coming: Vec<Option<usize>> = one_less().chain(all.filter(free).map(Some)).collect();
    let mut best: Option<(Move, Weight)> = None;
    for goes in going {
        for &comes in coming.iter().filter(|&&comes| comes != goes) {
            let changed =
                [goes.map(|class| (&classes.0[class].each, -1)), comes.map(|class| (&classes.0[class].each, 1))];
            let changed: smallvec::SmallVec<[(&Candidate, i128); 2]> = changed.into_iter().flatten().collect();
            let then = scales.weigh(tally, &changed);
            if then < best.map_or(weight, |(_, best)| best) {
                best = Some(((goes, comes), then));
            }
        }
    }
    best
}

/// Takes earlier barrels for later ones where nothing is lost by it.
pub fn towards_the_door(question: &Question, scales: &Scales, chosen: &mut Vec<usize>) {
    let barrels = &question.candidates;
    let mut is_chosen = vec![false; barrels.len()];
    let mut tally = scales.nothing();
    for &at in chosen.iter() {
        is_chosen[at] = true;
        tally.add(&barrels[at], 1);
    }
    let mut weight = scales.weigh(&tally, &[]);
    let mut again = true;
    // Every exchange brings a barrel nearer and makes nothing heavier, so this ends.
    while std::mem::take(&mut again) {
        for late in (0..barrels.len()).rev() {
            for early in 0..late {
                if !is_chosen[late] {
                    break;
                }
                if is_chosen[early] {
                    continue;
                }
                let then = scales.weigh(&tally, &[(&barrels[late], -1), (&barrels[early], 1)]);
                if then <= weight {
                    (is_chosen[late], is_chosen[early]) = (false, true);
                    tally.add(&barrels[late], -1);
                    tally.add(&barrels[early], 1);
                    (weight, again) = (then, true);
                }
            }
        }
    }
    *chosen = (0..barrels.len()).filter(|&at| is_chosen[at]).collect();
}
