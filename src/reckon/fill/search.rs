//! Branch and bound (Land and Doig 1960): the relaxation says what a part of all choices cannot be better than; a part
//! that cannot be better than the best so far is left, another is split where the relaxation fills a barrel in part.
//!
//! **A fill plan** is solved by our own branch and bound (`reckon/fill/search.rs`) over the linear programmes of `microlp`: pure Rust, kept
//! up, built in seconds where a C++ solver takes minutes. Its own search in whole numbers can be stopped only by a limit of time or steps;
//! ours asks `stop` at every step, tells the best so far, and splits at the number of all barrels of a kind first, which proves in 0.1 s
//! that 400 equal barrels give no better share. Weights are exact integers; the solver's real numbers only bound, with a margin for its
//! roundings. On the screen `tui/wood/fill/search.rs` puts it to `choose` on a thread of its own, under a number, for a minute at the most;
//! what comes of an earlier number is dropped, and a changed cellar is asked anew.

use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::rc::Rc;

use super::choice::{Choice, Scales, Weight};
use super::classes::Classes;
use super::exchange::{improved, rounded};
use super::relaxation::{Bounds, Side, Solved, relax};
use super::{Question, ToPlace};

/// A number of barrels as near as this to a whole one is whole; the solver rounds.
const WHOLE_ENOUGH: f64 = 1e-6;
/// Barrels of more capacities than so many are counted together, not by capacity: then litres can be matched by choosing
/// among capacities, and their number says little.
const FEW_CAPACITIES: usize = 4;

/// What the search came to.
pub struct Found {
    /// The best choice.
    pub choice: Choice,
    /// No choice that places as much misses less, litres.
    pub bound: f64,
    /// Whether that was enough to prove it best.
    pub proved: bool,
}

/// A part of all choices that is still to be split.
struct Part {
    bounds: Vec<Bounds>,
    /// No choice in it weighs less, litres.
    weight: f64,
    split: Split,
    number: usize,
}

/// Where a part is split: a group, and a number of its barrels that is not whole.
#[derive(Clone, Copy)]
struct Split {
    group: usize,
    sum: f64,
}

/// What is known of a part.
struct Known {
    /// Barrels filled in part, by class, near which good choices lie.
    counts: Vec<f64>,
    /// No choice in the part weighs less, litres.
    weight: f64,
    /// None where the counts are whole.
    split: Option<Split>,
}

/// The search.
pub struct Search<'a> {
    question: &'a Question,
    classes: &'a Classes,
    scales: &'a Scales,
    /// Numbers of barrels that are whole, the telling ones first.
    groups: Vec<Rc<[usize]>>,
    open: BinaryHeap<Part>,
    best: (Choice, Weight),
    /// What the parts that were left, solved or given up cannot be better than, litres.
    closed: f64,
    parts: usize,
}

impl<'a> Search<'a> {
    /// A search that begins with a choice that is possible, if not good.
    pub fn new(question: &'a Question, classes: &'a Classes, scales: &'a Scales) -> Search<'a> {
        let choice = smallest_first(question, classes);
        let weight = scales.weigh(&scales.tally(classes, &choice), &[]);
        Search {
            question,
            classes,
            scales,
            groups: groups(question, classes),
            open: BinaryHeap::new(),
            best: (choice, weight),
            closed: f64::INFINITY,
            parts: 0,
        }
    }

    /// Searches until the best is proved or `stop` says so. Tells every better choice, with what bounds it.
    pub fn run(mut self, stop: &dyn Fn() -> bool, told: &mut dyn FnMut(&Choice, f64)) -> Found {
        self.enter(Vec::new(), 0.0, stop, told);
        let mut stopped = false;
        while let Some(part) = self.open.pop() {
            if self.is_no_better(part.weight) {
                // The parts are taken in order of what bounds them, so that no other is better either.
                self.closed = self.closed.min(part.weight);
                break;
            }
            if stop() {
                self.closed = self.closed.min(part.weight);
                stopped = true;
                break;
            }
            let Split { group, sum } = part.split;
            for side in [Side::AtMost(sum.floor()), Side::AtLeast(sum.ceil())] {
                let mut bounds = part.bounds.clone();
                bounds.push(Bounds { classes: Rc::clone(&self.groups[group]), side });
                self.enter(bounds, part.weight, stop, told);
            }
        }
        let proved = !stopped && self.is_no_better(self.closed);
        let bound = self.bound();
        Found { choice: self.best.0, bound, proved }
    }

    /// Reads what a part can be, keeps the part if it may hold a better choice, and looks for one near by.
    fn enter(
        &mut self,
        bounds: Vec<Bounds>,
        at_least: f64,
        stop: &dyn Fn() -> bool,
        told: &mut dyn FnMut(&Choice, f64),
    ) {
        let Some(Known { counts, weight, split }) = self.know(&bounds) else { return };
        let weight_of_part = weight.max(at_least);
        if self.is_no_better(weight_of_part) {
            self.closed = self.closed.min(weight_of_part);
            return;
        }
        let number = self.parts;
        self.parts += 1;
        let whole = rounded(self.classes, &counts, self.barrels());
        match split {
            Some(split) => self.open.push(Part { bounds, weight: weight_of_part, split, number }),
            None => self.closed = self.closed.min(weight_of_part),
        }
        let (choice, weight) = improved(self.scales, self.classes, whole, stop);
        let tally = self.scales.tally(self.classes, &choice);
        if weight < self.best.1 && self.is_complete(&choice) && self.scales.is_possible(&tally) {
            self.best = (choice, weight);
            let bound = self.bound().min((at_least - self.scales.staying_litres(weight)).max(0.0));
            told(&self.best.0, bound);
        }
    }

    /// What is known of a part; none where nothing is in it. Where the solver loses itself the part is split in the middle
    /// of a class, until each class has one number left and the part is one choice, which is weighed as it is.
    fn know(&self, bounds: &[Bounds]) -> Option<Known> {
        let ranges = match relax(self.question, self.classes, self.scales, bounds) {
            Solved::Impossible => return None,
            Solved::Best(relaxed) => {
                let split = self.split_at(&relaxed.counts);
                return Some(Known { counts: relaxed.counts, weight: relaxed.weight, split });
            }
            Solved::Lost(ranges) => ranges,
        };
        let middle =
            |&(least, most): &(f64, f64)| if least < most { f64::midpoint(least, most).floor() + 0.5 } else { least };
        let counts: Vec<f64> = ranges.iter().map(middle).collect();
        let is_open = |group: &Rc<[usize]>| matches!(**group, [class] if ranges[class].0 < ranges[class].1);
        let split =
            self.groups.iter().position(is_open).map(|group| Split { group, sum: counts[self.groups[group][0]] });
        let weight = if split.is_some() { 0.0 } else { self.weight_of_whole(&counts)? };
        Some(Known { counts, weight, split })
    }

    /// What a choice weighs that is given as real numbers, litres; none where it is not possible.
    fn weight_of_whole(&self, counts: &[f64]) -> Option<f64> {
        let choice = rounded(self.classes, counts, None);
        let tally = self.scales.tally(self.classes, &choice);
        let is_possible = self.is_complete(&choice) && self.scales.is_possible(&tally);
        is_possible.then(|| self.scales.weigh(&tally, &[]).litres())
    }

    /// Whether a choice has as many barrels as are asked for.
    fn is_complete(&self, choice: &Choice) -> bool {
        self.barrels().is_none_or(|barrels| choice.counts.iter().sum::<usize>() == barrels)
    }

    /// How many barrels are asked for, where their number is.
    fn barrels(&self) -> Option<usize> {
        match self.question.to_place {
            ToPlace::Barrels { count, .. } => Some(count),
            ToPlace::Litres(_) => None,
        }
    }

    /// Whether what weighs so much at least cannot be better than the best so far by the precision asked for.
    fn is_no_better(&self, weight: f64) -> bool {
        weight > self.best.1.litres() - self.question.precision.as_litres()
    }

    /// What no choice that places as much misses less than, litres.
    fn bound(&self) -> f64 {
        let open = self.open.peek().map_or(f64::INFINITY, |part| part.weight);
        let least = open.min(self.closed).min(self.best.1.litres());
        (least - self.scales.staying_litres(self.best.1)).max(0.0)
    }

    /// The first group whose number of barrels is not whole; of single classes, the one furthest from whole.
    fn split_at(&self, counts: &[f64]) -> Option<Split> {
        let split = |(group, classes): (usize, &Rc<[usize]>)| Split {
            group,
            sum: classes.iter().map(|&class| counts[class]).sum(),
        };
        let off = |number: f64| (number - number.round()).abs();
        let mut furthest: Option<Split> = None;
        for split in self.groups.iter().enumerate().map(split).filter(|split| off(split.sum) > WHOLE_ENOUGH) {
            if self.groups[split.group].len() > 1 {
                return Some(split);
            }
            if furthest.is_none_or(|most| off(split.sum) > off(most.sum)) {
                furthest = Some(split);
            }
        }
        furthest
    }
}

/// The smallest barrels first, as many as are asked for or as fit.
fn smallest_first(question: &Question, classes: &Classes) -> Choice {
    let mut order: Vec<usize> = (0..classes.0.len()).collect();
    order.sort_by_key(|&class| classes.0[class].each.capacity);
    let mut choice = Choice { counts: vec![0; order.len()] };
    let mut left = question.to_place.at_most();
    let mut barrels = match question.to_place {
        ToPlace::Barrels { count, .. } => count,
        ToPlace::Litres(_) => usize::MAX,
    };
    for class in order {
        while choice.counts[class] < classes.0[class].members.len() && barrels > 0 {
            let Some(rest) = left.checked_sub(classes.0[class].each.capacity) else { return choice };
            left = rest;
            barrels -= 1;
            choice.counts[class] += 1;
        }
    }
    choice
}

/// The numbers of barrels to split at: of all, of each wish's kind, by capacity where there are few; then of each class.
/// A number of all barrels of a kind says at once what dozens of splits at single classes would leave open.
fn groups(question: &Question, classes: &Classes) -> Vec<Rc<[usize]>> {
    let all: Vec<usize> = (0..classes.0.len()).collect();
    let kinds = (0..question.wishes.len())
        .map(|wish| all.iter().copied().filter(|&class| classes.0[class].each.is_of(wish)).collect::<Vec<_>>());
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for kind in std::iter::once(all.clone()).chain(kinds) {
        let mut capacities: Vec<_> = kind.iter().map(|&class| classes.0[class].each.capacity).collect();
        capacities.sort_unstable();
        capacities.dedup();
        if capacities.len() > FEW_CAPACITIES {
            groups.push(kind);
            continue;
        }
        for capacity in capacities {
            groups.push(kind.iter().copied().filter(|&class| classes.0[class].each.capacity == capacity).collect());
        }
    }
    groups.retain(|group| group.len() > 1);
    groups.extend(all.into_iter().map(|class| vec![class]));
    groups.into_iter().map(Rc::from).collect()
}

/// The part that may hold the best comes first; of equals the one found later, which is split further.
impl Ord for Part {
    fn cmp(&self, other: &Part) -> Ordering {
        other.weight.total_cmp(&self.weight).then(self.number.cmp(&other.number))
    }
}

impl PartialOrd for Part {
    fn partial_cmp(&self, other: &Part) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Part {
    fn eq(&self, other: &Part) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Part {}
