//! Mixtures spread evenly by chance over the inside of a region.

use super::region::Region;
use crate::reckon::chance::Chance;

/// So many steps a component are walked from one point to the next, which makes them all but independent.
const STEPS_A_COMPONENT: usize = 4;

/// Points inside a region, each place as likely as any other, the same for the same seed.
///
/// A walk that goes, from where it is, to any place on a line in a direction of chance (hit and run: Smith, "Efficient Monte
/// Carlo procedures for generating points uniformly distributed over bounded regions", 1984). The directions are those from
/// one corner to another: they reach every place also of a region that is flat in some direction.
#[must_use]
pub fn interior_points(region: &Region, count: usize, seed: u64) -> Vec<Vec<f64>> {
    let corners = region.corners().points();
    let mut chance = Chance::from_seed(seed);
    let mut here = region.corners().middle();
    let mut points = Vec::with_capacity(count);
    for _ in 0..count {
        for _ in 0..STEPS_A_COMPONENT * region.components() {
            let (from, to) = (chance.below(corners.len()), chance.below(corners.len()));
            let direction: Vec<f64> = corners[to].iter().zip(&corners[from]).map(|(to, from)| to - from).collect();
            let (back, forth) = chord(region, &here, &direction);
            let step = back + chance.fraction() * (forth - back);
            here.iter_mut().zip(&direction).for_each(|(share, along)| *share = (*share + step * along).max(0.0));
        }
        // Roundings of many steps would add up.
        let sum: f64 = here.iter().sum();
        for share in &mut here {
            *share /= sum;
        }
        points.push(here.clone());
    }
    points
}

/// How far one can go from a point of a region against a direction and along it.
fn chord(region: &Region, here: &[f64], direction: &[f64]) -> (f64, f64) {
    let mut ends = (f64::NEG_INFINITY, f64::INFINITY);
    for half in region.half_spaces() {
        let (slack, change) = (half.slack(here).max(0.0), half.slack(direction));
        // Along a side, roundings leave next to nothing to divide by.
        if change > 1e-12 {
            ends.0 = ends.0.max(-slack / change);
        } else if change < -1e-12 {
            ends.1 = ends.1.min(slack / -change);
        }
    }
    if ends.0.is_finite() && ends.1.is_finite() { ends } else { (0.0, 0.0) }
}
