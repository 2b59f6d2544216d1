//! Surfaces whose figures were printed elsewhere, and what follows from them.

use super::*;

/// The printed figures of the handbook: coefficients, standard errors, residual deviation, R². Its F is uncentred; that of
/// centred sums and the optimum are reckoned from the printed data.
#[test]
fn yarn_gives_the_handbooks_figures() {
    let findings = read(&yarn()).unwrap();
    let fit = findings.fit().unwrap();
    assert_eq!(fit.model, Model::Quadratic);
    let printed = [
        (11.7, 0.603_692),
        (9.4, 0.603_692),
        (16.4, 0.603_692),
        (19.0, 2.608_249),
        (11.4, 2.608_249),
        (-9.6, 2.608_249),
    ];
    let found = fit.coefficients();
    assert_eq!(
        found.iter().map(|it| (it.first, it.second)).collect::<Vec<_>>(),
        [(0, None), (1, None), (2, None), (0, Some(1)), (0, Some(2)), (1, Some(2)),]
    );
    for (found, (value, error)) in found.iter().zip(printed) {
        near(found.value, value, 1e-9);
        near(found.error, error, 6e-7);
    }
    near(fit.residual_deviation(), 0.853_75, 5e-6);
    near(fit.explained(), 0.951_356, 5e-7);
    near(fit.explained_adjusted(), 0.924_331, 5e-7);
    let alike = findings.alike.unwrap();
    assert_eq!((alike.upper, alike.lower), (5, 9));
    near(alike.f, 35.203, 5e-4);
    let best = findings.best.unwrap();
    for (share, expected) in best.shares.iter().zip([0.293_860, 0.0, 0.706_140]) {
        near(*share, expected, 5e-7);
    }
    near(best.predicted.score, 17.384_430, 5e-7);
    near(best.predicted.error, 0.451_248, 5e-7);
}

/// No blend of the lattice can be spared, so that only the further terms can speak for the quadratic surface.
#[test]
fn yarn_is_told_with_what_it_cannot_say() {
    let findings = read(&yarn()).unwrap();
    assert_eq!((findings.ground, findings.verdict), (Ground::FurtherTerms, Verdict::Tells));
    let words = findings.words.join("\n");
    for said in [
        "F 35.20 on 5 and 9, p below 0.001",
        "29.4 % wine 1, 70.6 % wine 3",
        "17.38",
        "cannot be tested",
        "One taster is no panel",
    ] {
        assert!(words.contains(said), "{said}: {words}");
    }
}

/// Lawson's polvoron (R package daewr): the same residual deviation and R² in shares and in pseudo-components.
#[test]
fn polvoron_fits_alike_in_shares_and_in_pseudo_components() {
    let rated: [(&[f64], f64); 12] = [
        (&[0.8, 0.15, 0.05], 5.33),
        (&[0.4, 0.55, 0.05], 5.87),
        (&[0.0, 0.95, 0.05], 3.69),
        (&[0.0, 0.725, 0.275], 3.83),
        (&[0.0, 0.5, 0.5], 3.85),
        (&[0.2, 0.3, 0.5], 5.23),
        (&[0.4, 0.1, 0.5], 5.68),
        (&[0.6, 0.1, 0.3], 5.88),
        (&[0.8, 0.1, 0.1], 5.75),
        (&[0.4, 0.36, 0.24], 6.54),
        (&[0.4, 0.36, 0.24], 6.82),
        (&[0.4, 0.36, 0.24], 6.41),
    ];
    let mut real = one_taster(&rated);
    let least = [0.0, 0.1, 0.05];
    let mut pseudo = real.clone();
    for glass in &mut pseudo.glasses {
        glass.iter_mut().zip(least).for_each(|(share, least)| *share = (*share - least) / 0.85);
    }
    real.region = Region { lower: least.to_vec(), upper: vec![0.8, 0.95, 0.5], limits: Vec::new() };
    let found = [real, pseudo].map(|question| read(&question).unwrap());
    for findings in &found {
        let tried = &findings.candidates[2];
        let fit = tried.fit.as_ref().unwrap();
        near(fit.residual_deviation(), 0.309_546, 5e-7);
        near(fit.explained(), 0.955_131, 5e-7);
        // Of the three repeats of the centre, by hand: 0.05² + 0.23² + 0.18².
        near(findings.by_blend.error_sum, 0.0878, 1e-9);
        assert_eq!(findings.by_blend.error_freedom, 2);
    }
    let [real, _] = found;
    let best = real.best.unwrap();
    assert!(real.region.allows(&best.shares), "{best:?}");
    near(best.shares.iter().sum::<f64>(), 1.0, 1e-12);
}
