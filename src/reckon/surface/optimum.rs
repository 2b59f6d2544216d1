//! The highest point of a surface within what is allowed.
//!
//! A quadratic surface may be a hill, a valley or a saddle, so that there can be several summits, each on a side or corner.
//! From many starts the surface is climbed by an active set method: within the sides that are touched, to the summit where
//! it bends down, along the steepest way where it does not, until a side stops it; a side is let go when the way up
//! leads off it. The highest summit counts. All in a fixed order, so that the answer is always the same.

use nalgebra::{DMatrix, DVector};

use super::fit::Fit;
use super::region::Polytope;
use super::terms::Model;
use crate::reckon::chance::Chance;

/// Less than this is no slope, bend or way, in parts of the surface's own.
const NOTHING: f64 = 1e-9;
/// A way that nears a side by less than this part of its length runs along it, and so would be no new side to touch.
const SLANT: f64 = 1e-8;
/// So many ways are drawn for each dimension, besides those along the axes, to find corners to start from.
const DRAWN: usize = 6;

/// A surface of the second degree: `level + slope · at + at · bend · at`.
#[derive(Clone, Debug)]
pub struct Quadratic {
    level: f64,
    slope: DVector<f64>,
    bend: DMatrix<f64>,
}

impl Quadratic {
    /// The surface of a fit with these slopes on its columns.
    pub fn of(fit: &Fit, slopes: &DVector<f64>) -> Quadratic {
        let dimensions = fit.hull.dimensions();
        let of_terms = &fit.turned * slopes;
        let mut slope = DVector::zeros(dimensions);
        let mut bend = DMatrix::zeros(dimensions, dimensions);
        if fit.model >= Model::Linear {
            slope.copy_from(&of_terms.rows(0, dimensions));
        }
        if fit.model == Model::Quadratic {
            let mut term = dimensions;
            for one in 0..dimensions {
                for other in one..dimensions {
                    bend[(one, other)] += of_terms[term] / 2.0;
                    bend[(other, one)] += of_terms[term] / 2.0;
                    term += 1;
                }
            }
        }
        Quadratic { level: fit.level - of_terms.dot(&fit.centre), slope, bend }
    }

    /// A plane that rises in one direction.
    fn plane(slope: DVector<f64>) -> Quadratic {
        let dimensions = slope.len();
        Quadratic { level: 0.0, slope, bend: DMatrix::zeros(dimensions, dimensions) }
    }

    /// Its height at a place.
    pub fn at(&self, at: &DVector<f64>) -> f64 {
        self.level + self.slope.dot(at) + at.dot(&(&self.bend * at))
    }

    /// The summit that is reached from a place inside.
    pub fn climb(&self, polytope: &Polytope, start: &DVector<f64>) -> DVector<f64> {
        let dimensions = start.len();
        let scale = NOTHING * (self.slope.amax() + self.bend.amax()).max(f64::MIN_POSITIVE);
        let mut at = start.clone();
        let mut touched: Vec<usize> = Vec::new();
        // Corners in which more sides meet than there are dimensions can lead in a circle: it ends.
        for _ in 0..40 * (dimensions + 1) {
            let rise = &self.slope + &self.bend * &at * 2.0;
            let (across, along) = frame(polytope, &touched, dimensions);
            let Some((way, whole)) = self.way_up(&rise, &along, scale) else {
                match let_go(polytope, &touched, &across, &rise, scale) {
                    Some(position) => touched.remove(position),
                    None => break,
                };
                continue;
            };
            let (step, side) = first_side(polytope, &touched, &at, &way);
            if whole && step >= 1.0 {
                at += way;
            } else if let Some(side) = side {
                at += way * step;
                touched.push(side);
            } else {
                break;
            }
        }
        at
    }

    /// The way up within the touched sides, and whether it has an end: that of a summit. None on a summit.
    fn way_up(&self, rise: &DVector<f64>, along: &DMatrix<f64>, scale: f64) -> Option<(DVector<f64>, bool)> {
        if along.ncols() == 0 {
            return None;
        }
        let bends = (along.tr_mul(&(&self.bend * along)) * 2.0).symmetric_eigen();
        let rises = bends.eigenvectors.tr_mul(&along.tr_mul(rise));
        let count = rises.len();
        let endless =
            |it: usize| bends.eigenvalues[it] > -scale && (rises[it].abs() > scale || bends.eigenvalues[it] > scale);
        let whole = !(0..count).any(endless);
        let part = |it: usize| match (whole, bends.eigenvalues[it]) {
            (true, bend) if bend < -scale => -rises[it] / bend,
            (false, _) if endless(it) => {
                if rises[it].abs() > scale {
                    rises[it]
                } else {
                    scale
                }
            }
            _ => 0.0,
        };
        let way = along * (&bends.eigenvectors * DVector::from_fn(count, |it, _| part(it)));
        // Where no end is known the length means nothing, only the direction does.
        let way = if whole { way } else { way.normalize() };
        (way.norm() > NOTHING).then_some((way, whole))
    }
}

/// A frame of the room: the touched sides made square to each other, and the ways along all of them.
fn frame(polytope: &Polytope, touched: &[usize], dimensions: usize) -> (DMatrix<f64>, DMatrix<f64>) {
    let mut frame: Vec<DVector<f64>> = Vec::with_capacity(dimensions);
    let mut add = |vector: DVector<f64>, least: f64| {
        let mut rest = vector;
        for _ in 0..2 {
            for known in &frame {
                let part = known.dot(&rest);
                rest.axpy(-part, known, 1.0);
            }
        }
        let length = rest.norm();
        if length > least {
            frame.push(rest / length);
        }
        frame.len()
    };
    let across = touched.iter().map(|&side| add(polytope.sides[side].0.clone(), NOTHING)).last().unwrap_or(0);
    // What the axes have outside the frame comes to as many squares as there are ways missing. Axes that were passed
    // over have less than a quarter among them, so that none is missing when all were tried.
    let least = 0.5 / (dimensions as f64).sqrt();
    for axis in 0..dimensions {
        let mut unit = DVector::zeros(dimensions);
        unit[axis] = 1.0;
        add(unit, least);
    }
    let columns =
        |of: &[DVector<f64>]| if of.is_empty() { DMatrix::zeros(dimensions, 0) } else { DMatrix::from_columns(of) };
    (columns(&frame[..across]), columns(&frame[across..]))
}

/// The touched side off which the way up leads most.
fn let_go(
    polytope: &Polytope,
    touched: &[usize],
    across: &DMatrix<f64>,
    rise: &DVector<f64>,
    scale: f64,
) -> Option<usize> {
    let slopes: Vec<DVector<f64>> = touched.iter().map(|&side| across.tr_mul(&polytope.sides[side].0)).collect();
    if slopes.is_empty() || slopes.len() != across.ncols() {
        return None;
    }
    let pressed = DMatrix::from_columns(&slopes).lu().solve(&across.tr_mul(rise))?;
    let (position, least) = pressed.argmin();
    (least < -scale).then_some(position)
}

/// How far a way leads, in parts of its length, to the first side that it meets.
fn first_side(polytope: &Polytope, touched: &[usize], at: &DVector<f64>, way: &DVector<f64>) -> (f64, Option<usize>) {
    let mut first = (f64::INFINITY, None);
    for (side, (slope, most)) in polytope.sides.iter().enumerate() {
        let nearer = slope.dot(way);
        if nearer > SLANT * way.norm() && !touched.contains(&side) {
            let step = ((most - slope.dot(at)) / nearer).max(0.0);
            if step < first.0 {
                first = (step, Some(side));
            }
        }
    }
    first
}

/// Places to climb from: corners in many directions, and the middle of the region.
#[derive(Clone, Debug)]
pub struct Starts(pub Vec<DVector<f64>>);

impl Starts {
    /// The starts in a region, and those of some places that lie in it.
    pub fn of(polytope: &Polytope, places: impl Iterator<Item = DVector<f64>>) -> Starts {
        let dimensions = polytope.middle.len();
        let mut chance = Chance::from_seed(1);
        let axes = (0..2 * dimensions).map(|it| {
            let mut way = DVector::zeros(dimensions);
            way[it / 2] = if it % 2 == 0 { 1.0 } else { -1.0 };
            way
        });
        let sides = polytope.sides.iter().map(|(slope, _)| slope.clone());
        let drawn = (0..DRAWN * dimensions).map(|_| DVector::from_fn(dimensions, |_, _| chance.fraction() - 0.5));
        let mut starts = vec![polytope.middle.clone()];
        let ways: Vec<DVector<f64>> = axes.chain(sides).chain(drawn).collect();
        let corners = ways.into_iter().map(|way| Quadratic::plane(way).climb(polytope, &polytope.middle));
        for place in corners.chain(places.filter(|place| polytope.holds(place.as_slice()))) {
            if !starts.iter().any(|known| (known - &place).amax() < 1e-6) {
                starts.push(place);
            }
        }
        Starts(starts)
    }

    /// The highest summit that is reached from any start.
    pub fn highest(&self, surface: &Quadratic, polytope: &Polytope) -> DVector<f64> {
        self.best_of(surface, polytope, self.0.len())
    }

    /// The highest summit that is reached from the so many starts that lie highest.
    pub fn best_of(&self, surface: &Quadratic, polytope: &Polytope, count: usize) -> DVector<f64> {
        let mut starts: Vec<(f64, &DVector<f64>)> = self.0.iter().map(|start| (surface.at(start), start)).collect();
        starts.sort_by(|one, other| other.0.total_cmp(&one.0));
        let summits = starts.into_iter().take(count).map(|(_, start)| surface.climb(polytope, start));
        let highest = summits.map(|summit| (surface.at(&summit), summit)).reduce(|best, next| {
            // What is higher by roundings only is not higher.
            if next.0 > best.0 + NOTHING * best.0.abs() { next } else { best }
        });
        highest.map_or_else(|| polytope.middle.clone(), |(_, summit)| summit)
    }
}
