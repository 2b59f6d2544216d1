//! What blends may be: bounds of shares and linear limits.

use microlp::{ComparisonOp, OptimizationDirection, Problem, Variable};
use nalgebra::DVector;
use serde::Serialize;

use super::hull::Hull;
use super::{NoSurface, Stop};

/// A limit is kept if it is missed by less than this: a millionth, to which shares are kept.
pub(super) const KEPT_WITHIN: f64 = 1e-6;

/// A best ratio is at a bound if it is nearer to it than this.
const AT_BOUND: f64 = 1e-5;

/// A linear limit: `least ≤ Σ coefficients · shares ≤ most`.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Limit {
    /// What each component counts.
    pub coefficients: Vec<f64>,
    /// Not less than this; endless where there is no such limit.
    pub least: f64,
    /// Not more than this; endless where there is no such limit.
    pub most: f64,
}

/// Blends that are allowed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Region {
    /// The least share of each component.
    pub lower: Vec<f64>,
    /// The most of each.
    pub upper: Vec<f64>,
    /// Further limits.
    pub limits: Vec<Limit>,
}

impl Region {
    /// All blends of so many components.
    #[must_use]
    pub fn all(components: usize) -> Region {
        Region { lower: vec![0.0; components], upper: vec![1.0; components], limits: Vec::new() }
    }

    /// Blends with no more and no less of each component than in some glass: nothing is foretold of what nobody tasted.
    #[must_use]
    pub fn within_glasses(glasses: &[Vec<f64>]) -> Region {
        let of = |component: usize| glasses.iter().map(move |glass| glass[component]);
        let components = glasses.first().map_or(0, Vec::len);
        Region {
            lower: (0..components).map(|it| of(it).fold(1.0, f64::min)).collect(),
            upper: (0..components).map(|it| of(it).fold(0.0, f64::max)).collect(),
            limits: Vec::new(),
        }
    }

    /// Whether a blend is allowed.
    #[must_use]
    pub fn allows(&self, shares: &[f64]) -> bool {
        let bounds = self.lower.iter().zip(&self.upper).zip(shares);
        let bounded = bounds
            .into_iter()
            .all(|((lower, upper), share)| (lower - KEPT_WITHIN..=upper + KEPT_WITHIN).contains(share));
        bounded
            && self.limits.iter().all(|limit| {
                let value: f64 = limit.coefficients.iter().zip(shares).map(|(one, share)| one * share).sum();
                let slack = KEPT_WITHIN * limit.coefficients.iter().fold(1.0, |most, one| one.abs().max(most));
                (limit.least - slack..=limit.most + slack).contains(&value)
            })
    }

    /// The bounds and limits that stop a blend.
    pub(in crate::reckon) fn stops(&self, shares: &[f64]) -> Vec<Stop> {
        let mut stops = Vec::new();
        for (it, &share) in shares.iter().enumerate() {
            let (lower, upper) = (self.lower[it], self.upper[it]);
            if lower > AT_BOUND && share - lower < AT_BOUND {
                stops.push(Stop::Least(it));
            } else if upper < 1.0 - AT_BOUND && upper - share < AT_BOUND {
                stops.push(Stop::Most(it));
            }
        }
        for (position, limit) in self.limits.iter().enumerate() {
            let value: f64 = limit.coefficients.iter().zip(shares).map(|(one, share)| one * share).sum();
            if value - limit.least < AT_BOUND || limit.most - value < AT_BOUND {
                stops.push(Stop::Limit(position));
            }
        }
        stops
    }

    /// A blend of this region without the solver's roundings: no share beyond its bound, all of them one whole.
    pub(super) fn settled(&self, shares: &[f64]) -> Vec<f64> {
        let bounds = self.lower.iter().zip(&self.upper);
        let settled: Vec<f64> = shares
            .iter()
            .zip(bounds)
            .map(|(&share, (&lower, &upper))| {
                if (share - lower).abs() < KEPT_WITHIN {
                    lower
                } else if (share - upper).abs() < KEPT_WITHIN {
                    upper
                } else {
                    share
                }
            })
            .collect();
        let sum: f64 = settled.iter().sum();
        settled.into_iter().map(|share| share / sum).collect()
    }

    /// Refuses what is no region of so many components.
    pub(super) fn check(&self, components: usize) -> Result<(), NoSurface> {
        let bounds = self.lower.len() == components && self.upper.len() == components;
        let limits = self.limits.iter().all(|limit| {
            limit.coefficients.len() == components
                && limit.coefficients.iter().all(|one| one.is_finite())
                && !limit.least.is_nan()
                && !limit.most.is_nan()
        });
        let numbers = self.lower.iter().chain(&self.upper).all(|bound| (0.0..=1.0).contains(bound));
        if bounds && limits && numbers { Ok(()) } else { Err(NoSurface::Bounds) }
    }

    /// The conditions as rows `coefficients · shares ≤ most`.
    fn rows(&self) -> Vec<(Vec<f64>, f64)> {
        let components = self.lower.len();
        let unit =
            |it: usize, sign: f64| (0..components).map(|at| if at == it { sign } else { 0.0 }).collect::<Vec<_>>();
        let mut rows = Vec::new();
        for it in 0..components {
            rows.push((unit(it, -1.0), -self.lower[it]));
            rows.push((unit(it, 1.0), self.upper[it]));
        }
        for limit in &self.limits {
            rows.push((limit.coefficients.iter().map(|one| -one).collect(), -limit.least));
            rows.push((limit.coefficients.clone(), limit.most));
        }
        rows.retain(|(_, most)| most.is_finite());
        rows
    }
}

/// The allowed blends in the coordinates of a hull: `slope · at ≤ most` for each side, with slopes of length one.
#[derive(Clone, Debug)]
pub struct Polytope {
    /// The sides.
    pub sides: Vec<(DVector<f64>, f64)>,
    /// A place inside, as far from all sides as can be.
    pub middle: DVector<f64>,
}

impl Polytope {
    /// The part of a region in which something can be foretold.
    pub fn of(region: &Region, hull: &Hull) -> Result<Polytope, NoSurface> {
        /// A side that is as good as parallel to the whole room is none.
        const FLAT: f64 = 1e-9;
        let mut sides = Vec::new();
        for (coefficients, most) in region.rows() {
            let (slope, at_nought) = hull.condition(&coefficients);
            let (slope, left) = (DVector::from_vec(slope), most - at_nought);
            let length = slope.norm();
            if length > FLAT {
                sides.push((slope / length, left / length));
            } else if left < -KEPT_WITHIN {
                return Err(NoSurface::OutsideGlasses);
            }
        }
        let middle = middle(&sides, hull.dimensions()).ok_or(if hull.is_full() {
            NoSurface::NothingAllowed
        } else {
            NoSurface::OutsideGlasses
        })?;
        Ok(Polytope { sides, middle })
    }

    /// Whether a place is inside.
    pub fn holds(&self, at: &[f64]) -> bool {
        let along = |slope: &DVector<f64>| slope.iter().zip(at).map(|(slope, at)| slope * at).sum::<f64>();
        self.sides.iter().all(|(slope, most)| along(slope) <= most + KEPT_WITHIN)
    }
}

/// The centre of the largest ball between the sides; none where nothing lies between them.
fn middle(sides: &[(DVector<f64>, f64)], dimensions: usize) -> Option<DVector<f64>> {
    let mut problem = Problem::new(OptimizationDirection::Maximize);
    let at: Vec<Variable> = (0..dimensions).map(|_| problem.add_var(0.0, (f64::NEG_INFINITY, f64::INFINITY))).collect();
    let radius = problem.add_var(1.0, (-1.0, f64::INFINITY));
    for (slope, most) in sides {
        let row: Vec<(Variable, f64)> = at.iter().copied().zip(slope.iter().copied()).chain([(radius, 1.0)]).collect();
        problem.add_constraint(row, ComparisonOp::Le, *most);
    }
    let solution = problem.solve().ok()?.into_solution().ok()?;
    let inside = solution[radius] > -KEPT_WITHIN;
    inside.then(|| DVector::from_iterator(dimensions, at.iter().map(|&variable| solution[variable])))
}
