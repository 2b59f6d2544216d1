//! Why a wish is missed: what it comes up against.

use super::choice::Scales;
use super::classes::Classes;
use super::relaxation::{Solved, relax};
use super::{Answer, Limit, Question};
use crate::units::Volume;

/// What a wish comes up against.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Binding {
    /// Too few of the empties are of its kind, or too few are of another.
    Supply {
        /// Whether it is its own kind that there is too little of.
        of_kind: bool,
        /// How many empties there are.
        empties: usize,
        /// How many of them are of the kind that there is too little of.
        barrels: usize,
        /// What those hold.
        hold: Volume,
        /// What would have to lie in them.
        wanted: Volume,
    },
    /// It and other wishes exclude each other with these empties: the others, by their positions.
    Others(Vec<usize>),
    /// It and all other wishes together exclude each other, though no two do.
    Together,
    /// More is asked for than is placed.
    Placed,
    /// Barrels are filled full or not at all, and no sum of whole barrels comes nearer.
    WholeBarrels,
    /// Nothing is known to be in its way: the search was stopped too early.
    Unknown,
}

/// What each wish that an answer misses comes up against; none where it is met to the precision asked for.
#[must_use]
pub fn what_binds(question: &Question, answer: &Answer) -> Vec<Option<Binding>> {
    let missed = |at: &usize| answer.wishes[*at].missed >= question.precision;
    (0..question.wishes.len()).map(|at| missed(&at).then(|| binds(question, answer, at))).collect()
}

fn binds(question: &Question, answer: &Answer, at: usize) -> Binding {
    if let Some(supply) = supply(question, answer, at) {
        return supply;
    }
    let wish = question.wishes[at];
    if wish.limit != Limit::AtMost && answer.wishes[at].wanted > answer.placed {
        return Binding::Placed;
    }
    let others = (0..question.wishes.len()).filter(|&other| other != at);
    let excluding: Vec<usize> = others.filter(|&other| exclude_each_other(question, &[at, other])).collect();
    if !excluding.is_empty() {
        return Binding::Others(excluding);
    }
    let all: Vec<usize> = (0..question.wishes.len()).collect();
    if exclude_each_other(question, &all) {
        return Binding::Together;
    }
    if answer.proved { Binding::WholeBarrels } else { Binding::Unknown }
}

/// Whether the empties hold too little of what a wish needs. What is placed may be as little as the answer places.
fn supply(question: &Question, answer: &Answer, at: usize) -> Option<Binding> {
    let reached = answer.wishes[at];
    let of_kind = reached.volume < reached.wanted;
    let needed = question.candidates.iter().filter(|candidate| candidate.is_of(at) == of_kind);
    let (barrels, hold) =
        needed.fold((0, Volume::ZERO), |(barrels, hold), candidate| (barrels + 1, hold + candidate.capacity));
    let wanted = if of_kind { reached.wanted } else { answer.placed.saturating_sub(reached.wanted) };
    (hold < wanted).then_some(Binding::Supply { of_kind, empties: question.candidates.len(), barrels, hold, wanted })
}

/// Whether some wishes alone cannot be met even with barrels filled in part.
fn exclude_each_other(question: &Question, wishes: &[usize]) -> bool {
    let mut only = question.clone();
    only.wishes = wishes.iter().map(|&at| question.wishes[at]).collect();
    for candidate in &mut only.candidates {
        let kinds = *candidate;
        candidate.kinds = (0..).zip(wishes).map(|(bit, &at)| u32::from(kinds.is_of(at)) << bit).sum();
    }
    let classes = Classes::of(&only.candidates);
    match relax(&only, &classes, &Scales::of(&only), &[]) {
        Solved::Best(relaxed) => relaxed.missed >= only.precision.as_litres(),
        Solved::Impossible | Solved::Lost(_) => false,
    }
}
