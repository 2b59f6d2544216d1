//! Values of a surface for a plot.

use serde::Serialize;

use super::fit::Predicted;
use super::region::Region;

/// A place of a plot.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Spot {
    /// The blend.
    pub shares: Vec<f64>,
    /// What it is expected to score; none where it is not allowed or nothing can be said of it.
    pub predicted: Option<Predicted>,
}

/// The surface over three components, in rows: row r, from nought to `steps`, has r + 1 blends, and the first component
/// has `steps − r` parts of what the three share. The others are held at their shares in `others`. `expect` says what a blend is
/// expected to score.
#[must_use]
pub fn ternary(
    expect: impl Fn(&[f64]) -> Option<Predicted>,
    three: [usize; 3],
    others: &[f64],
    steps: usize,
) -> Vec<Vec<Spot>> {
    let of_three: f64 = three.iter().map(|&it| others[it]).sum();
    let part = |count: usize| of_three * count as f64 / steps.max(1) as f64;
    let at = |counts: [usize; 3]| {
        let mut shares = others.to_vec();
        three.iter().zip(counts).for_each(|(&it, count)| shares[it] = part(count));
        Spot { predicted: expect(&shares), shares }
    };
    (0..=steps).map(|row| (0..=row).map(|third| at([steps - row, row - third, third])).collect()).collect()
}

/// The surface as one component goes from its least to its most while the others keep their proportions in a
/// blend: Cox's direction (Cox 1971). Where the others are nought in that blend they share alike.
#[must_use]
pub fn trace(
    expect: impl Fn(&[f64]) -> Option<Predicted>,
    region: &Region,
    component: usize,
    through: &[f64],
    steps: usize,
) -> Vec<Spot> {
    let others = 1.0 - through[component];
    let alike = 1.0 / (through.len() - 1).max(1) as f64;
    let (least, most) = (region.lower[component], region.upper[component]);
    let at = |step: usize| {
        let share = least + (most - least) * step as f64 / steps.max(1) as f64;
        let kept = |it: usize| if others > 1e-9 { through[it] / others } else { alike };
        let of = |it: usize| if it == component { share } else { kept(it) * (1.0 - share) };
        let shares: Vec<f64> = (0..through.len()).map(of).collect();
        Spot { predicted: expect(&shares), shares }
    };
    (0..=steps).map(at).collect()
}
