//! What is so whatever is asked.

use proptest::prelude::*;

use super::*;

fn some_question() -> impl Strategy<Value = Question> {
    let glass = (2_usize..5).prop_flat_map(|components| {
        prop::collection::vec(prop::collection::vec(0_u8..5, components), 1..14).prop_map(move |glasses| {
            let shares = |parts: Vec<u8>| {
                let sum: f64 = parts.iter().map(|&part| f64::from(part)).sum();
                let of = |part: u8| if sum > 0.0 { f64::from(part) / sum } else { 1.0 / components as f64 };
                parts.iter().map(|&part| of(part)).collect::<Vec<f64>>()
            };
            glasses.into_iter().map(shares).collect::<Vec<_>>()
        })
    });
    (glass, prop::collection::vec((0_usize..4, 0_usize..14, 0_u8..21), 0..60)).prop_map(|(glasses, rated)| {
        let count = glasses.len();
        let ratings = rated.into_iter().map(|(taster, glass, score)| Rating {
            taster,
            flight: 0,
            glass: glass % count,
            score: f64::from(score),
        });
        Question {
            components: names(glasses[0].len(), "wine"),
            tasters: names(4, "taster"),
            ratings: ratings.collect(),
            scale: Scale::Scores,
            region: Region::within_glasses(&glasses),
            glasses,
            panels: 10,
            seed: 3,
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Whatever is asked, the answer is a sentence or numbers that are numbers, and a best ratio is allowed.
    #[test]
    fn nothing_is_no_number(question in some_question()) {
        match read(&question) {
            Err(error) => prop_assert!(error.to_string().ends_with('.')),
            Ok(findings) => {
                let words = findings.words.join(" ");
                prop_assert!(!words.is_empty() && !words.contains("NaN") && !words.contains("inf "), "{}", words);
                for fit in findings.candidates.iter().filter_map(|tried| tried.fit.as_ref().ok()) {
                    prop_assert!(fit.coefficients().iter().all(|it| it.value.is_finite() && it.error.is_finite()));
                    prop_assert!(fit.explained() <= 1.0 && fit.explained().is_finite());
                }
                if let Some(best) = &findings.best {
                    prop_assert!(question.region.allows(&best.shares), "{:?}", best);
                    prop_assert!((best.shares.iter().sum::<f64>() - 1.0).abs() < 1e-9);
                    for (share, range) in best.shares.iter().zip(&best.as_good) {
                        prop_assert!(range.least <= share + 1e-5 && share - 1e-5 <= range.most, "{:?}", best);
                    }
                    prop_assert!(best.best_poured.as_ref().is_none_or(|poured| poured.below > -1e-6));
                }
            }
        }
    }

    /// A taster who gives a point more to every glass changes the mean of the panel only, by its part.
    #[test]
    fn an_effect_of_a_taster_moves_no_ratio(by in -5.0_f64..5.0, seed in 0_u64..1000) {
        let mut chance = Chance::from_seed(seed);
        let question = panel(4, lattice(3), |_, glass| 5.0 * glass[0] * glass[1] + normal(&mut chance));
        let mut moved = question.clone();
        moved.ratings.iter_mut().filter(|rating| rating.taster == 1).for_each(|rating| rating.score += by);
        let (one, other) = (read(&question).unwrap(), read(&moved).unwrap());
        let at = [0.2, 0.3, 0.5];
        let [before, after] = [&one, &other].map(|it| it.candidates[2].fit.as_ref().unwrap().predict(&at).unwrap());
        prop_assert!((after.score - before.score - by / 4.0).abs() < 1e-9);
        prop_assert!((after.error - before.error).abs() < 1e-9);
        prop_assert_eq!(one.verdict, other.verdict);
    }

    /// The order of the components has no say.
    #[test]
    fn components_can_be_named_in_any_order(seed in 0_u64..1000) {
        let mut chance = Chance::from_seed(seed);
        let question = panel(3, lattice(3), |_, glass| 5.0 * glass[0] * glass[1] + 2.0 * glass[2] + normal(&mut chance));
        let mut turned = question.clone();
        turned.glasses.iter_mut().for_each(|glass| glass.rotate_left(1));
        let [one, other] = [question, turned].map(|it| read(&it).unwrap().candidates[2].fit.as_ref().unwrap().coefficients());
        let value = |of: &[Coefficient], first: usize, second: Option<usize>| {
            of.iter().find(|it| (it.first, it.second) == (first, second)).unwrap().value
        };
        prop_assert!((value(&one, 0, None) - value(&other, 2, None)).abs() < 1e-8);
        prop_assert!((value(&one, 0, Some(1)) - value(&other, 0, Some(2))).abs() < 1e-8);
    }
}
