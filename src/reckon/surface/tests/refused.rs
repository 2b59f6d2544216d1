//! What cannot be told is said.

use super::*;

fn refused(question: &Question) -> NoSurface {
    read(question).unwrap_err()
}

#[test]
fn what_says_nothing_is_refused_with_a_sentence() {
    let good = || panel(3, lattice(3), |taster, glass| glass[0] + taster as f64);
    assert_eq!(refused(&Question { ratings: Vec::new(), ..good() }), NoSurface::NoRatings);
    assert_eq!(refused(&panel(3, lattice(3), |taster, _| taster as f64)), NoSurface::AllAlike);
    assert_eq!(refused(&panel(3, vec![vec![0.5, 0.5]; 4], |_, _| 1.0)), NoSurface::OneBlend);
    let hardly_two = vec![vec![0.5, 0.5], vec![0.500_01, 0.499_99]];
    assert_eq!(refused(&panel(3, hardly_two, |_, glass| glass[0] * 1e4)), NoSurface::OneBlend);
    let mut question = good();
    question.ratings.retain(|rating| rating.glass == rating.taster);
    assert_eq!(refused(&question), NoSurface::OneGlassEach);
    question = good();
    question.ratings[4].score = f64::NAN;
    assert!(matches!(refused(&question), NoSurface::Score(_)));
    question = good();
    question.glasses[2] = vec![0.5, 0.5, 0.5];
    assert_eq!(refused(&question), NoSurface::NoMixture(3));
    question = good();
    question.ratings[0].glass = 99;
    assert_eq!(refused(&question), NoSurface::UnknownGlass(100));
    question = good();
    question.ratings[0].taster = 9;
    assert_eq!(refused(&question), NoSurface::UnknownTaster(10));
    question = good();
    question.region.lower = vec![0.5, 0.4, 0.3];
    assert_eq!(refused(&question), NoSurface::NothingAllowed);
    question.region.lower = vec![0.5, f64::NAN, 0.3];
    assert_eq!(refused(&question), NoSurface::Bounds);
    question = good();
    question.ratings.pop();
    assert!(
        read(&Question { scale: Scale::Ranks, ..question }).is_ok(),
        "ranks of flights of any size are normal scores"
    );
}

/// Of two pure wines and one blend between them a line has one degree to spare, a curve none.
#[test]
fn too_few_glasses_are_said() {
    let findings =
        read(&one_taster(&[(&[1.0, 0.0, 0.0], 3.0), (&[0.0, 1.0, 0.0], 4.0), (&[0.0, 0.0, 1.0], 5.0)])).unwrap();
    assert_eq!((findings.verdict, findings.best), (Verdict::TooFew, None));
    assert!(findings.words[0].contains("too few"), "{:?}", findings.words);
}

/// The third wine stood at a fifth in all glasses: blends with another share of it cannot be told, others can.
#[test]
fn a_component_that_never_moved_is_named() {
    let glasses: Vec<Vec<f64>> =
        (0..=4).map(|step| vec![0.2 * f64::from(step), 0.8 - 0.2 * f64::from(step), 0.2]).collect();
    let mut question = panel(5, glasses, |taster, glass| 10.0 + 12.0 * glass[0] * glass[1] + 0.1 * taster as f64);
    question.ratings[0].score += 0.1;
    let findings = read(&question).unwrap();
    let best = findings.best.as_ref().unwrap();
    near(best.shares[0], 0.4, 0.02);
    near(best.shares[2], 0.2, 1e-9);
    assert!(
        findings.words.iter().any(|said| said.contains("wine 3 stood at 20 % in all of them")),
        "{:?}",
        findings.words
    );
    assert!(findings.fit().unwrap().predict(&[0.5, 0.3, 0.2]).is_some());
    assert_eq!(findings.fit().unwrap().predict(&[0.5, 0.4, 0.1]), None);
    question.region.lower[2] = 0.3;
    assert_eq!(refused(&question), NoSurface::OutsideGlasses);
}

/// No glass held the first and second wine together: their coefficient cannot be told, though blends are enough.
#[test]
fn pairs_that_were_never_mixed_are_named() {
    let glasses: Vec<Vec<f64>> =
        (0..=4).map(|it| f64::from(it) / 4.0).flat_map(|x| [vec![x, 0.0, 1.0 - x], vec![0.0, x, 1.0 - x]]).collect();
    let mut chance = Chance::from_seed(5);
    let findings = read(&panel(4, glasses, |_, glass| 5.0 * glass[0] + normal(&mut chance))).unwrap();
    assert_eq!(findings.candidates[2].fit, Err(Unfit::Confounded { pairs: vec![(0, 1)] }));
    assert!(findings.words.iter().any(|said| said.contains("wine 1 with wine 2")), "{:?}", findings.words);
}

/// A taster who tasted only one side and another only the other: what they give cannot be told from the wine.
#[test]
fn tasters_who_share_no_glass_still_tell_slopes() {
    let mut chance = Chance::from_seed(8);
    let mut question = panel(2, lattice(4), |taster, glass| 4.0 * glass[0] + taster as f64 + 0.2 * normal(&mut chance));
    question.ratings.retain(|rating| (rating.glass % 2 == 0) == (rating.taster == 0));
    let findings = read(&question).unwrap();
    assert!(findings.poured.iter().all(|poured| poured.mean.is_none()));
    let slope: Vec<f64> = findings.fit().unwrap().coefficients().iter().map(|it| it.value).collect();
    near(slope[0] - slope[1], 4.0, 0.5);
}

#[test]
fn ranks_are_said_to_be_an_approximation() {
    let glasses = lattice(3);
    let mut chance = Chance::from_seed(4);
    let scored = panel(6, glasses, |_, glass| 6.0 * glass[0] + normal(&mut chance));
    let mut ranked = scored.clone();
    for rating in &mut ranked.ratings {
        let better = scored.ratings.iter().filter(|other| other.taster == rating.taster && other.score > rating.score);
        rating.score = 1.0 + better.count() as f64;
    }
    ranked.scale = Scale::Ranks;
    let findings = read(&ranked).unwrap();
    assert!(findings.best.as_ref().unwrap().shares[0] > 0.99);
    assert!(findings.words.iter().any(|said| said.contains("approximation")));
}

#[test]
fn a_taster_who_likes_all_alike_is_named() {
    let mut chance = Chance::from_seed(4);
    let question =
        panel(4, lattice(3), |taster, glass| if taster == 2 { 12.0 } else { 6.0 * glass[0] + normal(&mut chance) });
    let findings = read(&question).unwrap();
    assert!(findings.words.iter().any(|said| said.starts_with("taster 3 gave every glass the same score")));
}

/// The corner of what is allowed that a line rises to, and the bound that stops it.
#[test]
fn what_stops_the_best_is_named() {
    let mut question = panel(4, lattice(4), |taster, glass| 5.0 * glass[0] + 2.0 * glass[1] + taster as f64);
    question.ratings[0].score += 0.01;
    question.region.upper[0] = 0.6;
    question.region.limits = vec![Limit { coefficients: vec![1.0, 1.0, 0.0], least: f64::NEG_INFINITY, most: 0.8 }];
    let findings = read(&question).unwrap();
    let best = findings.best.unwrap();
    for (share, expected) in best.shares.iter().zip([0.6, 0.2, 0.2]) {
        near(*share, expected, 1e-6);
    }
    assert_eq!(best.stopped_by, [Stop::Most(0), Stop::Limit(0)]);
    assert!(best.simpler[0].shares == [0.6, 0.2, 0.2] && !best.simpler[0].is_worse);
}

/// Bounds that leave a line, and bounds and a limit that leave one blend.
#[test]
fn what_is_fixed_stays_fixed() {
    let mut chance = Chance::from_seed(21);
    let mut question =
        panel(6, lattice(4), |_, glass| 20.0 * glass[1] * glass[2] + 4.0 * glass[0] + 0.5 * normal(&mut chance));
    (question.region.lower[0], question.region.upper[0]) = (0.3, 0.3);
    let best = read(&question).unwrap().best.unwrap();
    near(best.shares[0], 0.3, 1e-9);
    near(best.shares[1], 0.35, 0.03);
    near(best.as_good[0].most - best.as_good[0].least, 0.0, 1e-9);
    question.region.limits = vec![Limit { coefficients: vec![0.0, 1.0, 0.0], least: 0.5, most: 0.5 }];
    let best = read(&question).unwrap().best.unwrap();
    for (share, expected) in best.shares.iter().zip([0.3, 0.5, 0.2]) {
        near(*share, expected, 1e-6);
    }
}

#[test]
fn a_plot_has_the_values_of_the_surface() {
    let findings = read(&yarn()).unwrap();
    let fit = findings.fit().unwrap();
    let rows = ternary(|shares| fit.predict(shares), [0, 1, 2], &[0.0, 0.0, 1.0], 10);
    assert_eq!(rows.iter().map(Vec::len).sum::<usize>(), 66);
    near(rows[0][0].predicted.unwrap().score, 11.7, 1e-9);
    near(rows[10][10].predicted.unwrap().score, 16.4, 1e-9);
    assert_eq!(rows[5][5].shares, [0.5, 0.0, 0.5]);
    near(rows[5][5].predicted.unwrap().score, 16.9, 1e-9);
    let trace = trace(|shares| fit.predict(shares), &findings.region, 0, &[0.5, 0.0, 0.5], 10);
    near(trace[3].predicted.unwrap().score, 17.384, 1e-9);
    let mut narrow = findings.region.clone();
    narrow.upper[0] = 0.4;
    assert!(
        ternary(|shares| fit.predict(shares).filter(|_| narrow.allows(shares)), [0, 1, 2], &[0.0, 0.0, 1.0], 10)[0][0]
            .predicted
            .is_none()
    );
}
