//! From a choice in parts to whole barrels, and from a good choice to a better one by exchanging barrels.

use super::choice::{Choice, Scales, Weight};
use super::classes::Classes;
use super::{Candidate, Question};
use smallvec::SmallVec;

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

/// Exchanges, adds or leaves out one barrel at a time, for each that may go the one that had best come, until nothing
/// helps or `stop` says so.
pub fn improved(scales: &Scales, classes: &Classes, mut choice: Choice, stop: &dyn Fn() -> bool) -> (Choice, Weight) {
    let mut tally = scales.tally(classes, &choice);
    let mut weight = scales.weigh(&tally, &[]);
    let none = || std::iter::once(None).filter(|_| !scales.by_number);
    let mut again = true;
    while std::mem::take(&mut again) && weight.missed > 0 {
        for goes in none().chain((0..classes.0.len()).map(Some)) {
            if stop() {
                return (choice, weight);
            }
            if goes.is_some_and(|class| choice.counts[class] == 0) {
                continue;
            }
            let is_free = |&class: &usize| Some(class) != goes && choice.counts[class] < classes.0[class].members.len();
            let coming = (0..classes.0.len()).filter(is_free).map(Some);
            let weigh = |comes: Option<usize>| (scales.weigh(&tally, &changes(classes, goes, comes)), comes);
            let Some((then, comes)) = none().chain(coming).map(weigh).min() else { continue };
            if then < weight {
                for (barrel, times) in changes(classes, goes, comes) {
                    tally.add(barrel, times);
                }
                if let Some(class) = goes {
                    choice.counts[class] -= 1;
                }
                if let Some(class) = comes {
                    choice.counts[class] += 1;
                }
                (weight, again) = (then, true);
            }
        }
    }
    (choice, weight)
}

/// The changes of a tally when one barrel of a class goes and one of another comes.
fn changes(classes: &Classes, goes: Option<usize>, comes: Option<usize>) -> SmallVec<[(&Candidate, i128); 2]> {
    let goes = goes.map(|class| (&classes.0[class].each, -1));
    goes.into_iter().chain(comes.map(|class| (&classes.0[class].each, 1))).collect()
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
