//! Panels by simulation with a fixed seed.

use super::*;

/// By simulation with a fixed seed: tastings in which no glass differs. Of 400 one in twenty would be 20; the binomial's
/// deviation is 4.4, so that 34 would be three of them. The verdict asks for more than the test and may err less often.
#[test]
fn a_panel_that_tells_nothing_is_seldom_believed() {
    const TIMES: usize = 400;
    let mut chance = Chance::from_seed(2026);
    let (mut glasses_differ, mut surface, mut told) = (0, 0, 0);
    for _ in 0..TIMES {
        let question = panel(6, lattice(4), |taster, _| 12.0 + taster as f64 + normal(&mut chance));
        let findings = read(&question).unwrap();
        glasses_differ += usize::from(findings.by_blend.differ.unwrap().is_significant());
        surface += usize::from(findings.alike.unwrap().is_significant());
        told += usize::from(findings.verdict == Verdict::Tells);
    }
    println!("glasses differ {glasses_differ}, surface {surface}, told {told} of {TIMES}");
    assert!((8..=33).contains(&glasses_differ), "{glasses_differ}");
    assert!((8..=33).contains(&surface), "{surface}");
    assert!(told <= surface, "{told}");
}

/// By simulation with a fixed seed: a hill planted at 30, 50, 20. The band of the mean at a blend named beforehand covers
/// the truth as often as it says; the region of blends as good holds the true best at least as often; the band at the
/// best that was found covers what that blend is worth.
#[test]
fn a_planted_best_is_found_within_its_bands() {
    const TIMES: usize = 300;
    let planted = [0.3, 0.5, 0.2];
    let truth = |x: &[f64]| 15.0 - 10.0 * x.iter().zip(planted).map(|(x, best)| (x - best).powi(2)).sum::<f64>();
    let mut chance = Chance::from_seed(77);
    let (mut told, mut band, mut of_found, mut as_good, mut off) = (0_u32, 0_u32, 0_u32, 0_u32, 0.0);
    for _ in 0..TIMES {
        let question =
            panel(8, lattice(4), |taster, glass| truth(glass) + taster as f64 - 3.5 + 1.5 * normal(&mut chance));
        let findings = read(&question).unwrap();
        let quadratic = findings.candidates[2].fit.as_ref().unwrap();
        let here = quadratic.predict(&planted).unwrap();
        band += u32::from((here.score - truth(&planted)).abs() <= quadratic.noise.two_sided() * here.error);
        let Some(best) = findings.best else { continue };
        told += 1;
        let value = truth(&best.shares);
        of_found += u32::from((best.band.least..=best.band.most).contains(&value));
        as_good += u32::from(
            planted.iter().zip(&best.as_good).all(|(share, range)| (range.least..=range.most).contains(share)),
        );
        off += truth(&planted) - value;
    }
    println!(
        "told {told} of {TIMES}; band {band}, of the found {of_found}, as good {as_good}; lost {:.3}",
        off / f64::from(told)
    );
    assert!(told > 285, "{told}");
    // 95 % of 300 with three deviations: 285 ± 11.
    assert!((274..=296).contains(&band), "{band}");
    assert!(f64::from(of_found) > 0.9 * f64::from(told), "{of_found}");
    assert!(f64::from(as_good) > 0.93 * f64::from(told), "{as_good}");
    assert!(off / f64::from(told) < 0.25, "{off}");
}

/// Panels are drawn the same from the same seed, and of a clear hill most have their best near.
#[test]
fn drawn_panels_are_the_same_again() {
    let mut chance = Chance::from_seed(9);
    let mut question = panel(10, lattice(4), |_, glass| {
        15.0 - 20.0 * ((glass[0] - 0.3).powi(2) + (glass[1] - 0.4).powi(2)) + 0.5 * normal(&mut chance)
    });
    question.panels = 100;
    let [first, again] =
        [read(&question).unwrap(), read(&question).unwrap()].map(|it| it.best.unwrap().resampled.unwrap());
    assert_eq!(first, again);
    assert_eq!((first.drawn, first.panels), (Drawn::Tasters, 100));
    assert!(first.near > 90, "{first:?}");
    assert!(first.ranges[0].least <= 0.3 && first.ranges[0].most >= 0.27, "{first:?}");
}
