//! No blend of a fine grid is better than the best, and ranges hold all that are as good.

use super::*;

/// Blends of so many components with bounds, in steps.
fn allowed(region: &Region, steps: usize) -> Vec<Vec<f64>> {
    fn place(counts: &mut Vec<usize>, components: usize, left: usize, found: &mut Vec<Vec<usize>>) {
        if counts.len() + 1 == components {
            found.push(counts.iter().copied().chain([left]).collect());
            return;
        }
        for count in 0..=left {
            counts.push(count);
            place(counts, components, left - count, found);
            counts.pop();
        }
    }
    let mut found = Vec::new();
    place(&mut Vec::new(), region.lower.len(), steps, &mut found);
    let shares = |counts: Vec<usize>| counts.into_iter().map(|it| it as f64 / steps as f64).collect::<Vec<f64>>();
    found.into_iter().map(shares).filter(|shares| region.allows(shares)).collect()
}

/// A region of so many components that has blends in it, drawn from chance.
fn drawn_region(components: usize, chance: &mut Chance) -> Region {
    let inside: Vec<f64> = {
        let parts: Vec<f64> = (0..components).map(|_| 0.1 + chance.fraction()).collect();
        let sum: f64 = parts.iter().sum();
        parts.iter().map(|part| part / sum).collect()
    };
    let coefficients: Vec<f64> = (0..components).map(|_| chance.fraction()).collect();
    let value: f64 = coefficients.iter().zip(&inside).map(|(one, share)| one * share).sum();
    Region {
        lower: inside.iter().map(|share| (share - 0.3 * chance.fraction()).max(0.0)).collect(),
        upper: inside.iter().map(|share| (share + 0.1 + 0.6 * chance.fraction()).min(1.0)).collect(),
        limits: vec![Limit { coefficients, least: value - 0.15, most: value + 0.15 }],
    }
}

/// Hills, valleys and saddles in drawn regions with a linear limit: no blend of a fine grid lies higher than the best, and
/// the best is allowed.
#[test]
fn no_blend_of_a_grid_is_better_than_the_best() {
    let mut chance = Chance::from_seed(13);
    for round in 0..120 {
        let components = 3 + round % 4;
        let region = drawn_region(components, &mut chance);
        let glasses = allowed(&Region::all(components), 3);
        let slopes: Vec<f64> = (0..components * components).map(|_| 20.0 * (chance.fraction() - 0.5)).collect();
        let height = |x: &[f64]| {
            (0..components * components).map(|it| slopes[it] * x[it / components] * x[it % components]).sum::<f64>()
        };
        let mut question = panel(2, glasses, |_, glass| height(glass) + 1e-4 * normal(&mut chance));
        question.region = region.clone();
        let findings = read(&question).unwrap();
        let Some(best) = findings.best.as_ref() else { continue };
        assert!(region.allows(&best.shares), "{round} {:?}", best.shares);
        let fit = findings.fit().unwrap();
        let steps = [60, 40, 24, 20][components - 3];
        for shares in allowed(&region, steps) {
            let score = fit.predict(&shares).unwrap().score;
            assert!(score <= best.predicted.score + 1e-6, "{round}: {shares:?} {score} {best:?}");
        }
    }
}

/// The ranges of blends that are as good hold all such blends of a grid.
#[test]
fn ranges_hold_every_blend_of_a_grid_that_is_as_good() {
    let mut chance = Chance::from_seed(17);
    for round in 0..12 {
        let planted = [chance.fraction(), chance.fraction(), chance.fraction()];
        let question = panel(4, lattice(4), |_, glass| {
            12.0 - 8.0 * glass.iter().zip(planted).map(|(x, best)| (x - best).powi(2)).sum::<f64>()
                + normal(&mut chance)
        });
        let findings = read(&question).unwrap();
        let (Some(best), Some(fit)) = (&findings.best, findings.fit()) else { continue };
        let at = DVector::from_vec(fit.hull.coordinates(&best.shares));
        for shares in allowed(&findings.region, 100) {
            let compared = compare(fit, &at, &shares, fit.predict(&shares).unwrap());
            if !compared.is_worse {
                for (share, range) in shares.iter().zip(&best.as_good) {
                    // Within a point: the search ends at steps of a fifth of one.
                    assert!((range.least - 0.01..=range.most + 0.01).contains(share), "{round}: {shares:?} {best:?}");
                }
            }
        }
    }
}
