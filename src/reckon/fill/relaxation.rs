//! The question with barrels filled in part: a linear programme, which says what no choice can be better than.

use microlp::{ComparisonOp, Error, OptimizationDirection, Problem, Variable};

use super::choice::{STAYING, Scales};
use super::classes::Classes;
use super::{Amount, Limit, Question, ToPlace, WHOLE, Wish};

/// What the solver's roundings may come to, litres.
const ROUNDING: f64 = 1e-5;

/// Some classes whose barrels must be so many together.
#[derive(Clone, Debug)]
pub struct Bounds {
    /// Which classes.
    pub classes: std::rc::Rc<[usize]>,
    /// At least so many, or at most.
    pub side: Side,
}

/// A bound of a number of barrels.
#[derive(Clone, Copy, Debug)]
pub enum Side {
    /// So many or more.
    AtLeast(f64),
    /// So many or fewer.
    AtMost(f64),
}

/// How much of each class is filled, and what that misses.
#[derive(Clone, Debug)]
pub struct Relaxed {
    /// By class.
    pub counts: Vec<f64>,
    /// No choice within the bounds weighs less, litres.
    pub weight: f64,
    /// The part of that by which wishes are missed, litres.
    pub missed: f64,
}

/// What the solver had to say.
pub enum Solved {
    /// The best there is.
    Best(Relaxed),
    /// Nothing keeps within the bounds.
    Impossible,
    /// The solver lost itself in its roundings: nothing is known but between what numbers of barrels each class lies.
    Lost(Vec<(f64, f64)>),
}

/// Solves a question within bounds, with barrels filled in part.
pub fn relax(question: &Question, classes: &Classes, scales: &Scales, bounds: &[Bounds]) -> Solved {
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    let Some(ranges) = ranges_within(classes, bounds) else { return Solved::Impossible };
    let counts = counts_within(&mut problem, &ranges, bounds);
    let most = question.to_place.at_most().as_litres();
    let placed = problem.add_var(0.0, (0.0, most));
    let litres = |at: usize| classes.0[at].each.capacity.as_litres();
    let held = counts.iter().enumerate().map(|(at, &count)| (count, litres(at)));
    problem.add_constraint(held.chain([(placed, -1.0)]).collect::<Vec<_>>(), ComparisonOp::Eq, 0.0);
    let mut missed: Vec<Variable> = Vec::with_capacity(question.wishes.len());
    for (at, wish) in question.wishes.iter().enumerate() {
        let of_kind = counts.iter().enumerate().filter(|(class, _)| classes.0[*class].each.is_of(at));
        let held: Vec<(Variable, f64)> = of_kind.map(|(class, &count)| (count, litres(class))).collect();
        missed.push(wish_for(&mut problem, *wish, &held, placed));
    }
    match question.to_place {
        ToPlace::Barrels { count, .. } => {
            let all: Vec<(Variable, f64)> = counts.iter().map(|&count| (count, 1.0)).collect();
            problem.add_constraint(all, ComparisonOp::Eq, count as f64);
        }
        ToPlace::Litres(_) => {
            let staying = problem.add_var(f64::from(STAYING), (0.0, f64::INFINITY));
            problem.add_constraint([(placed, 1.0), (staying, 1.0)], ComparisonOp::Ge, scales.least_litres());
        }
    }
    let solution = match problem.solve().map(microlp::SolveOutcome::into_solution) {
        Ok(Ok(solution)) => solution,
        Err(Error::Infeasible) => return Solved::Impossible,
        Ok(Err(_)) | Err(_) => return Solved::Lost(ranges),
    };
    let weight = (solution.objective() - ROUNDING).max(0.0);
    Solved::Best(Relaxed {
        counts: counts.iter().map(|&count| solution.var_value(count)).collect(),
        weight,
        missed: missed.iter().map(|&missed| solution.var_value(missed)).sum(),
    })
}

/// Between what numbers each class lies by its own bounds. None where they exclude each other.
fn ranges_within(classes: &Classes, bounds: &[Bounds]) -> Option<Vec<(f64, f64)>> {
    let mut ranges: Vec<(f64, f64)> = classes.0.iter().map(|class| (0.0, class.members.len() as f64)).collect();
    for bound in bounds {
        if let [one] = *bound.classes {
            let (least, most) = ranges[one];
            ranges[one] = match bound.side {
                Side::AtLeast(number) => (least.max(number), most),
                Side::AtMost(number) => (least, most.min(number)),
            };
        }
    }
    ranges.iter().all(|(least, most)| least <= most).then_some(ranges)
}

/// A variable a class, within its range; bounds of several classes become constraints.
fn counts_within(problem: &mut Problem, ranges: &[(f64, f64)], bounds: &[Bounds]) -> Vec<Variable> {
    let counts: Vec<Variable> = ranges.iter().map(|&range| problem.add_var(0.0, range)).collect();
    for bound in bounds.iter().filter(|bound| bound.classes.len() > 1) {
        let together: Vec<(Variable, f64)> = bound.classes.iter().map(|&class| (counts[class], 1.0)).collect();
        match bound.side {
            Side::AtLeast(number) => problem.add_constraint(together, ComparisonOp::Ge, number),
            Side::AtMost(number) => problem.add_constraint(together, ComparisonOp::Le, number),
        }
    }
    counts
}

/// Adds a wish: what it is missed by is a variable that weighs.
fn wish_for(problem: &mut Problem, wish: Wish, held: &[(Variable, f64)], placed: Variable) -> Variable {
    let missed = problem.add_var(1.0, (0.0, f64::INFINITY));
    let (share, wanted) = match wish.amount {
        Amount::Share(share) => (f64::from(share) / f64::from(WHOLE), 0.0),
        Amount::Litres(volume) => (0.0, volume.as_litres()),
    };
    let terms = |helps: f64| {
        let share = (share != 0.0).then_some((placed, -share));
        held.iter().copied().chain(share).chain([(missed, helps)]).collect::<Vec<_>>()
    };
    if wish.limit != Limit::AtMost {
        problem.add_constraint(terms(1.0), ComparisonOp::Ge, wanted);
    }
    if wish.limit != Limit::AtLeast {
        problem.add_constraint(terms(-1.0), ComparisonOp::Le, wanted);
    }
    missed
}
