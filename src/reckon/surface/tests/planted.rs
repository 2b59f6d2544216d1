//! Surfaces that are known beforehand: what is planted comes back, and the short road is the long one.

use super::*;

/// What a rating is missed by when its blend is left out follows from the hat matrix; here the blends are left out in fact.
#[test]
fn leaving_out_by_the_hat_is_leaving_out_in_fact() {
    let mut chance = Chance::from_seed(3);
    let mut question = panel(3, lattice(4), |taster, glass| {
        taster as f64 + 3.0 * glass[0] + 8.0 * glass[1] * glass[2] + normal(&mut chance)
    });
    question.ratings.retain(|rating| (rating.glass + rating.taster) % 5 != 0);
    let findings = read(&question).unwrap();
    for tried in &findings.candidates[1..] {
        let mut missed = 0.0;
        for left_out in 0..question.glasses.len() {
            let mut others = question.clone();
            others.ratings.retain(|rating| rating.glass != left_out);
            let tasting = Tasting::of(&others).unwrap();
            let fit = Fit::new(&tasting, &Hull::of(&tasting.blends), tried.model).unwrap();
            for rating in question.ratings.iter().filter(|rating| rating.glass == left_out) {
                missed += (rating.score - with_taster(&fit, &tasting, rating, &question.glasses[left_out])).powi(2);
            }
        }
        near(tried.missed_by.unwrap(), (missed / question.ratings.len() as f64).sqrt(), 1e-9);
    }
}

/// What a taster is expected to give: the surface and his effect.
fn with_taster(fit: &Fit, tasting: &Tasting, rating: &Rating, shares: &[f64]) -> f64 {
    let taster = tasting.tasters.iter().position(|&it| it == rating.taster).unwrap();
    let own: Vec<&Row> = tasting.rows.iter().filter(|row| row.taster == taster).collect();
    let expected = |row: &&Row| fit.predict(&tasting.blends[row.blend]).unwrap().score;
    let effect = own.iter().map(|row| row.score - expected(row)).sum::<f64>() / own.len() as f64;
    fit.predict(shares).unwrap().score + effect
}

/// Without noise the surface comes back, and what tasters give more or less goes to them.
#[test]
fn a_planted_surface_comes_back() {
    let surface = |x: &[f64]| 10.0 * x[0] + 12.0 * x[1] + 11.0 * x[2] + 9.0 * x[0] * x[1] - 4.0 * x[1] * x[2];
    let findings = read(&panel(4, lattice(3), |taster, glass| surface(glass) + taster as f64 - 1.5)).unwrap();
    assert_eq!(findings.candidates[findings.chosen].model, Model::Quadratic);
    let values: Vec<f64> = findings.fit().unwrap().coefficients().iter().map(|it| it.value).collect();
    for (value, expected) in values.iter().zip([10.0, 12.0, 11.0, 9.0, 0.0, -4.0]) {
        near(*value, expected, 1e-9);
    }
    let best = findings.best.unwrap();
    // The derivative of 10 x + 12 (1 − x) + 9 x (1 − x): x = 7/18.
    near(best.shares[0], 7.0 / 18.0, 1e-9);
    for poured in &findings.poured {
        near(poured.mean.unwrap(), surface(&poured.shares), 1e-9);
    }
    assert!(findings.words.iter().all(|sentence| !sentence.contains("NaN") && !sentence.contains("inf")));
}

/// Where glasses differ by what no surface follows, errors go by their scatter.
#[test]
fn a_surface_that_misses_glasses_says_so() {
    let mut chance = Chance::from_seed(11);
    let own: Vec<f64> = (0..15).map(|_| normal(&mut chance)).collect();
    let glasses = lattice(4);
    let places = glasses.clone();
    let question = panel(8, glasses, |_, glass| {
        let number = places.iter().position(|it| it == glass).unwrap();
        12.0 + 12.0 * glass[0] + own[number] + 0.3 * normal(&mut chance)
    });
    let findings = read(&question).unwrap();
    let fit = findings.fit().unwrap();
    let lack = fit.lack_of_fit.unwrap();
    assert!(lack.ratio.is_significant() && fit.noise.of_glasses);
    assert_eq!(fit.noise.freedom, 15 - 1 - fit.model.slopes(2));
    assert!(fit.noise.mean_square > 4.0 * fit.residual_deviation().powi(2));
    assert!(findings.words.iter().any(|said| said.contains("misses single glasses by more")));
}

/// The same by another road: a design of canonical terms and effects of tasters that sum to nought, solved as a whole.
#[test]
fn taking_tasters_out_beforehand_is_fitting_them_beside() {
    let mut chance = Chance::from_seed(31);
    let mut question = panel(4, lattice(4), |taster, glass| {
        3.0 * glass[0] + taster as f64 + 6.0 * glass[1] * glass[2] + normal(&mut chance)
    });
    question.ratings.retain(|rating| (rating.glass * 3 + rating.taster) % 4 != 0);
    question.ratings.push(Rating { taster: 2, flight: 0, glass: 1, score: 4.0 });
    let terms = |x: &[f64]| vec![x[0], x[1], x[2], x[0] * x[1], x[0] * x[2], x[1] * x[2]];
    let rows = question.ratings.iter().flat_map(|rating| {
        let mut row = terms(&question.glasses[rating.glass]);
        row.extend((0..3).map(|it| if rating.taster == 3 { -1.0 } else { f64::from(u8::from(rating.taster == it)) }));
        row
    });
    let design = nalgebra::DMatrix::from_row_iterator(question.ratings.len(), 9, rows);
    let scores = DVector::from_iterator(question.ratings.len(), question.ratings.iter().map(|rating| rating.score));
    let inverse = design.tr_mul(&design).try_inverse().unwrap();
    let solved = &inverse * design.tr_mul(&scores);
    let residual = (&scores - &design * &solved).norm_squared() / (question.ratings.len() - 9) as f64;
    let findings = read(&question).unwrap();
    let fit = findings.candidates[2].fit.as_ref().unwrap();
    assert!(!fit.noise.of_glasses);
    near(fit.residual_deviation(), residual.sqrt(), 1e-9);
    for (it, found) in fit.coefficients().iter().enumerate() {
        near(found.value, solved[it], 1e-8);
        near(found.error, (residual * inverse[(it, it)]).sqrt(), 1e-8);
    }
}
