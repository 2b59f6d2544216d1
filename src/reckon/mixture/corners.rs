//! The corners of a region, and the middles of its edges and faces.
//!
//! The double description method (Motzkin, Raiffa, Thompson and Thrall 1953; Fukuda and Prodon, "Double description method
//! revisited", 1996): it begins with the corners of all mixtures and puts in one side after the other. A side cuts off the
//! corners beyond it and makes a new corner on each edge from one that stays to one that goes. Two corners have an edge
//! between them if no third lies on all the sides on which both lie.

use std::collections::BTreeSet;

use thiserror::Error;

use super::region::{HalfSpace, TOLERANCE};

/// More corners than this are refused: ten components within bounds have fewer than 1,300.
const MOST_CORNERS: usize = 10_000;
/// Corners whose shares all differ by less than this are one: a tenth of the millionth to which shares are kept.
const SAME: f64 = 1e-7;

/// Which sides a point lies on, a bit a side.
type Sides = u128;

/// Bounds and limits that make more corners than can be worked with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
#[error("These bounds and limits make more than 10000 corners. Give fewer limits or components.")]
pub struct TooManyCorners;

#[derive(Clone, Debug)]
struct Corner {
    mixture: Vec<f64>,
    on: Sides,
}

/// The corners of a region.
#[derive(Clone, Debug)]
pub struct Corners {
    mixtures: Vec<Vec<f64>>,
    on: Vec<Sides>,
}

impl Corners {
    /// The corners of what keeps all sides, of which the first are those of all mixtures, one a component; none where nothing
    /// keeps them.
    pub(super) fn of(components: usize, half_spaces: &[HalfSpace]) -> Result<Corners, TooManyCorners> {
        let mut corners: Vec<Corner> = (0..components)
            .map(|at| Corner {
                mixture: (0..components).map(|other| if other == at { 1.0 } else { 0.0 }).collect(),
                on: (0..components).filter(|other| *other != at).fold(0, |on, other| on | 1 << other),
            })
            .collect();
        for number in components..half_spaces.len() {
            corners = cut(components, &half_spaces[..=number], corners);
            if corners.len() > MOST_CORNERS {
                return Err(TooManyCorners);
            }
        }
        corners.sort_by(|one, other| {
            other.mixture.iter().partial_cmp(one.mixture.iter()).unwrap_or(std::cmp::Ordering::Equal)
        });
        Ok(Corners {
            on: corners.iter().map(|corner| corner.on).collect(),
            mixtures: corners.into_iter().map(|corner| corner.mixture).collect(),
        })
    }

    /// The corners as mixtures, those with most of the first component first.
    #[must_use]
    pub fn points(&self) -> &[Vec<f64>] {
        &self.mixtures
    }

    /// The pairs of corners between which there is an edge.
    #[must_use]
    pub fn edges(&self) -> Vec<(usize, usize)> {
        let count = self.on.len();
        let pairs = (0..count).flat_map(|one| (one + 1..count).map(move |other| (one, other)));
        let components = self.mixtures.first().map_or(0, Vec::len);
        pairs.filter(|&(one, other)| is_edge(components, self.on[one], self.on[other], &self.on)).collect()
    }

    /// The middles of the edges.
    #[must_use]
    pub fn edge_middles(&self) -> Vec<Vec<f64>> {
        self.edges().into_iter().map(|(one, other)| self.mean([one, other].into_iter())).collect()
    }

    /// The middles of the faces of two dimensions, each the mean of its corners: three of them meet at each corner of four
    /// components. A region of three components is one face itself, whose middle is the overall one.
    #[must_use]
    pub fn face_middles(&self) -> Vec<Vec<f64>> {
        let mut neighbours: Vec<Vec<usize>> = vec![Vec::new(); self.on.len()];
        for (one, other) in self.edges() {
            neighbours[one].push(other);
            neighbours[other].push(one);
        }
        let mut faces: BTreeSet<Vec<usize>> = BTreeSet::new();
        for (corner, around) in neighbours.iter().enumerate() {
            for (at, &one) in around.iter().enumerate() {
                for &other in &around[at + 1..] {
                    let common = self.on[corner] & self.on[one] & self.on[other];
                    let face: Vec<usize> = (0..self.on.len()).filter(|&at| self.on[at] & common == common).collect();
                    if face.len() < self.on.len() {
                        faces.insert(face);
                    }
                }
            }
        }
        faces.into_iter().map(|face| self.mean(face.into_iter())).collect()
    }

    /// The middles of the largest faces, one a side that binds, each the mean of its corners.
    #[must_use]
    pub fn side_middles(&self) -> Vec<Vec<f64>> {
        let mut sides: BTreeSet<Vec<usize>> = BTreeSet::new();
        for side in 0..Sides::BITS {
            let face: Vec<usize> = (0..self.on.len()).filter(|&at| self.on[at] >> side & 1 == 1).collect();
            if face.len() > 2 && face.len() < self.on.len() {
                sides.insert(face);
            }
        }
        let is_part = |face: &Vec<usize>| {
            sides.iter().any(|whole| whole.len() > face.len() && face.iter().all(|at| whole.contains(at)))
        };
        sides.iter().filter(|face| !is_part(face)).map(|face| self.mean(face.iter().copied())).collect()
    }

    /// The overall middle: the mean of all corners.
    #[must_use]
    pub fn middle(&self) -> Vec<f64> {
        self.mean(0..self.mixtures.len())
    }

    fn mean(&self, corners: impl Iterator<Item = usize>) -> Vec<f64> {
        let (mut sum, mut count) = (vec![0.0; self.mixtures.first().map_or(0, Vec::len)], 0_u32);
        for corner in corners {
            sum.iter_mut().zip(&self.mixtures[corner]).for_each(|(sum, share)| *sum += share);
            count += 1;
        }
        sum.into_iter().map(|sum| sum / f64::from(count.max(1))).collect()
    }
}

/// Whether two corners have an edge between them.
fn is_edge(components: usize, one: Sides, other: Sides, all: &[Sides]) -> bool {
    let common = one & other;
    // On an edge of mixtures all but two of the degrees of freedom are taken; asked first because it is quick.
    let enough = common.count_ones() as usize + 2 >= components;
    enough && all.iter().filter(|on| *on & common == common).nth(2).is_none()
}

/// Puts in the last of some sides.
fn cut(components: usize, half_spaces: &[HalfSpace], mut corners: Vec<Corner>) -> Vec<Corner> {
    let Some((side, before)) = half_spaces.split_last() else { return corners };
    let bit: Sides = 1 << before.len();
    let slacks: Vec<f64> = corners.iter().map(|corner| side.slack(&corner.mixture)).collect();
    let inside: Vec<usize> = (0..corners.len()).filter(|&at| slacks[at] > TOLERANCE).collect();
    let outside: Vec<usize> = (0..corners.len()).filter(|&at| slacks[at] < -TOLERANCE).collect();
    let on: Vec<Sides> = corners.iter().map(|corner| corner.on).collect();
    let mut made: Vec<Corner> = Vec::new();
    for &stays in &inside {
        if made.len() > MOST_CORNERS {
            break;
        }
        for &goes in outside.iter().filter(|&&goes| is_edge(components, on[stays], on[goes], &on)) {
            let part = slacks[stays] / (slacks[stays] - slacks[goes]);
            let mixture = between(&corners[stays].mixture, &corners[goes].mixture, part);
            let touched = (0_u32..).zip(half_spaces).filter(|(_, half)| half.slack(&mixture).abs() <= TOLERANCE);
            let touched = touched.fold(bit | (on[stays] & on[goes]), |on, (number, _)| on | 1 << number);
            made.push(Corner { mixture, on: touched });
        }
    }
    for (corner, slack) in corners.iter_mut().zip(&slacks) {
        if slack.abs() <= TOLERANCE {
            corner.on |= bit;
        }
    }
    let mut slacks = slacks.iter();
    corners.retain(|_| slacks.next().is_some_and(|slack| *slack >= -TOLERANCE));
    for corner in made {
        take_in(&mut corners, corner);
    }
    corners
}

/// The mixture a part of the way from one to another.
fn between(from: &[f64], to: &[f64], part: f64) -> Vec<f64> {
    // Roundings must not leave less than nothing of a component.
    from.iter().zip(to).map(|(from, to)| (from + part * (to - from)).max(0.0)).collect()
}

/// Takes in a corner, or adds its sides to the corner that it is.
fn take_in(corners: &mut Vec<Corner>, corner: Corner) {
    let is_same =
        |other: &&mut Corner| other.mixture.iter().zip(&corner.mixture).all(|(one, other)| (one - other).abs() < SAME);
    match corners.iter_mut().find(is_same) {
        Some(same) => same.on |= corner.on,
        None => corners.push(corner),
    }
}
