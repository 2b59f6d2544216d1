//! Which bounds exclude each other.

use microlp::{ComparisonOp, OptimizationDirection, Problem, Variable};

use super::region::{HalfSpace, Side};

/// A linear programme's roundings: what misses by no more than this may be met.
const ROUNDING: f64 = 1e-8;

/// The fewest sides that leave no mixture: without any one of them the others leave one. Sides that every mixture keeps are
/// never named. One by one a side is left out, and stays out if the rest still leave nothing (the deletion filter of
/// Chinneck and Dravnieks, "Locating minimal infeasible constraint sets in linear programs", 1991). Where the clash is so
/// slight that the programme's roundings hide it, all are named.
pub fn clashing(components: usize, half_spaces: &[HalfSpace]) -> Vec<Side> {
    let mut kept: Vec<&HalfSpace> = half_spaces.iter().filter(|half| !matches!(half.side, Side::Nought(_))).collect();
    if can_be_kept(components, &kept) {
        return sides(&kept);
    }
    let mut at = 0;
    while at < kept.len() {
        let left_out = kept.remove(at);
        if can_be_kept(components, &kept) {
            kept.insert(at, left_out);
            at += 1;
        }
    }
    sides(&kept)
}

/// The two sides of one limit have the same words.
fn sides(kept: &[&HalfSpace]) -> Vec<Side> {
    let mut sides: Vec<Side> = kept.iter().map(|half| half.side).collect();
    sides.dedup_by(|second, first| matches!((first, second), (Side::Low(low), Side::High(high)) if low == high));
    sides
}

/// Whether a mixture keeps all of some sides: the least that the worst kept one is missed by is nothing.
fn can_be_kept(components: usize, half_spaces: &[&HalfSpace]) -> bool {
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    let shares: Vec<Variable> = (0..components).map(|_| problem.add_var(0.0, (0.0, 1.0))).collect();
    let missed = problem.add_var(1.0, (0.0, f64::INFINITY));
    problem.add_constraint(shares.iter().map(|&share| (share, 1.0)).collect::<Vec<_>>(), ComparisonOp::Eq, 1.0);
    for half in half_spaces {
        let sum = shares.iter().copied().zip(half.normal.iter().copied()).chain([(missed, 1.0)]);
        problem.add_constraint(sum.collect::<Vec<_>>(), ComparisonOp::Ge, 0.0);
    }
    match problem.solve().map(microlp::SolveOutcome::into_solution) {
        Ok(Ok(solution)) => solution.objective() <= ROUNDING,
        // The programme always has a solution; if the solver lost itself, nothing is known to clash.
        Ok(Err(_)) | Err(_) => true,
    }
}
