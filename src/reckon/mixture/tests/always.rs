//! What must always hold.

use num_rational::Ratio;
use proptest::prelude::*;

use super::super::basis::Basis;
use super::super::design::{Kind, Middles, Wanted, lay_out};
use super::super::exchange::Field;
use super::super::matrix::Square;
use super::super::optimal::{Criterion, Task, candidates, choose, quality, quality_of};
use super::super::region::RegionError;
use super::super::{Bound, Model, Region, amounts, interior_points, parse_bound, parse_limit, pour, simplex_lattice};
use super::{NAMES, all, bounds, limit, near, same, wanted, within};
use crate::reckon::chance::Chance;
use crate::units::{Shares, Volume};

type Exact = Ratio<i128>;

/// Bounds in whole percents, and a limit with coefficients from 0 to 4 and values in quarters.
#[derive(Clone, Debug)]
struct Asked {
    ranges: Vec<(i128, i128)>,
    limit: Option<(Vec<i128>, i128)>,
}

impl Asked {
    fn region(&self) -> Result<Region, RegionError> {
        let share = |percent: i128| percent as f64 / 100.0;
        let ranges: Vec<(f64, f64)> = self.ranges.iter().map(|(low, high)| (share(*low), share(*high))).collect();
        let limits = self.limit.iter().map(|(coefficients, quarters)| {
            let coefficients: Vec<f64> = coefficients.iter().map(|&coefficient| coefficient as f64).collect();
            limit(&coefficients, Some(*quarters as f64 / 4.0), None)
        });
        Region::new(bounds(&ranges), limits.collect())
    }

    /// The half spaces, exactly: a sum of factors by shares that is not below a value.
    fn exact(&self) -> Vec<(Vec<Exact>, Exact)> {
        let components = self.ranges.len();
        let unit = |at: usize, sign: i128| {
            (0..components).map(|other| Exact::from(if other == at { sign } else { 0 })).collect::<Vec<_>>()
        };
        let mut sides = Vec::new();
        for (at, (low, high)) in self.ranges.iter().enumerate() {
            sides.push((unit(at, 1), Exact::new(*low, 100)));
            sides.push((unit(at, -1), Exact::new(-high, 100)));
        }
        sides.extend(self.limit.iter().map(|(coefficients, quarters)| {
            (coefficients.iter().map(|&factor| Exact::from(factor)).collect(), Exact::new(*quarters, 4))
        }));
        sides
    }

    /// All corners by trying every choice of sides to lie on, exactly.
    fn corners(&self) -> Vec<Vec<f64>> {
        let (sides, components) = (self.exact(), self.ranges.len());
        let mut corners: Vec<Vec<Exact>> = Vec::new();
        for choice in 0_u32..1 << sides.len() {
            if choice.count_ones() as usize != components - 1 {
                continue;
            }
            let mut system = vec![(vec![Exact::from(1); components], Exact::from(1))];
            system.extend((0..sides.len()).filter(|at| choice >> at & 1 == 1).map(|at| sides[at].clone()));
            let Some(point) = solved(system) else { continue };
            let keeps = |(factors, value): &(Vec<Exact>, Exact)| {
                factors.iter().zip(&point).map(|(factor, share)| factor * share).sum::<Exact>() >= *value
            };
            if sides.iter().all(keeps) && !corners.contains(&point) {
                corners.push(point);
            }
        }
        let real = |share: &Exact| *share.numer() as f64 / *share.denom() as f64;
        corners.iter().map(|corner| corner.iter().map(real).collect()).collect()
    }
}

/// Solves a square system exactly; none where it has not one solution.
fn solved(mut system: Vec<(Vec<Exact>, Exact)>) -> Option<Vec<Exact>> {
    let size = system.len();
    for at in 0..size {
        let pivot = (at..size).find(|&row| system[row].0[at] != Exact::from(0))?;
        system.swap(at, pivot);
        let (row, value) = system[at].clone();
        for (other, (factors, right)) in system.iter_mut().enumerate() {
            if other != at {
                let times = factors[at] / row[at];
                factors.iter_mut().zip(&row).for_each(|(factor, own)| *factor -= times * own);
                *right -= times * value;
            }
        }
    }
    Some((0..size).map(|at| system[at].1 / system[at].0[at]).collect())
}

fn asked() -> impl Strategy<Value = Asked> {
    (2_usize..=4).prop_flat_map(|components| {
        let range = (0_i128..=8, 0_i128..=12).prop_map(|(low, width)| (low * 5, (low * 5 + width * 5).min(100)));
        let ranges = proptest::collection::vec(range, components);
        let limit = proptest::option::of((proptest::collection::vec(0_i128..=4, components), 0_i128..=12));
        (ranges, limit).prop_map(|(ranges, limit)| Asked { ranges, limit })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn the_corners_are_those_of_an_exact_search(asked in asked()) {
        let exact = asked.corners();
        match asked.region() {
            Ok(region) => prop_assert!(same(region.corners().points(), &exact), "{:?} {exact:?}", region.corners()),
            Err(RegionError::Empty(named)) => prop_assert!(exact.is_empty() && !named.is_empty(), "{exact:?}"),
            Err(other) => prop_assert!(false, "{other}"),
        }
    }

    #[test]
    fn what_clashes_clashes_without_the_rest_and_only_whole(asked in asked()) {
        let Err(RegionError::Empty(named)) = asked.region() else { return Ok(()) };
        // Without any side that is named nothing is left over that clashes among the named ones.
        let only = |keeps: &dyn Fn(&str) -> bool| {
            let mut fewer = asked.clone();
            for (at, range) in fewer.ranges.iter_mut().enumerate() {
                if !keeps(&format!("{} at least {} %", NAMES[at], range.0)) { range.0 = 0; }
                if !keeps(&format!("{} at most {} %", NAMES[at], range.1)) { range.1 = 100; }
            }
            if !keeps("the limit") { fewer.limit = None; }
            fewer
        };
        prop_assert!(only(&|words| named.iter().any(|named| named == words)).corners().is_empty(), "{named:?}");
        for out in &named {
            let rest = only(&|words| words != out && named.iter().any(|named| named == words));
            prop_assert!(!rest.corners().is_empty(), "{named:?} without {out}");
        }
    }

    #[test]
    fn points_inside_keep_all_bounds(asked in asked(), seed in 0_u64..1_000) {
        let Ok(region) = asked.region() else { return Ok(()) };
        for point in interior_points(&region, 20, seed).iter().chain(&candidates(&region, seed)) {
            prop_assert!(region.contains(point), "{point:?} {:?}", region.broken_by(point, 1e-9));
            prop_assert!((point.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn what_is_written_of_a_region_is_read_back(
        ranges in proptest::collection::vec((0.0..0.3_f64, 0.5..1.0_f64), 2..=10),
        factors in proptest::collection::vec(-40_i32..40, 10),
        low in proptest::option::of(-99_i32..0), high in 0_i32..99,
    ) {
        let components = ranges.len();
        let sum: f64 = ranges.iter().map(|(low, _)| low).sum();
        prop_assume!(sum < 0.9 && factors[..components].iter().any(|factor| *factor != 0));
        let hundredths = |whole: i32| f64::from(whole) / 100.0;
        let coefficients: Vec<f64> = factors[..components].iter().map(|factor| hundredths(*factor)).collect();
        let kept = limit(&coefficients, low.map(hundredths), Some(hundredths(high)));
        let Ok(region) = Region::new(bounds(&ranges), vec![kept.clone()]) else { return Ok(()) };
        let names: Vec<String> = NAMES[..components].iter().map(|name| (*name).to_owned()).collect();
        let words = region.bounds_in_words();
        prop_assert_eq!(words.split("; ").count(), components);
        for (text, (low, high)) in words.split("; ").zip(&ranges) {
            let (_, read_low, read_high) = parse_bound(text, &names).unwrap();
            prop_assert!((read_low - low).abs() < 1.1e-6 && read_high <= *high + 1e-8 && high - read_high < 1.1e-6);
        }
        let written = region.limits_in_words();
        let read = parse_limit(&written, &names).unwrap();
        // A sum of nothing but what is taken off is written the other way round.
        let sign = if coefficients.iter().all(|factor| *factor <= 0.0) { -1.0 } else { 1.0 };
        let turned: Vec<f64> = coefficients.iter().map(|factor| sign * factor + 0.0).collect();
        prop_assert!(near(&read.coefficients, &turned, 1e-9), "{written}");
        let ends = if sign > 0.0 { (kept.low, kept.high) } else { (kept.high.map(|it| -it), kept.low.map(|it| -it)) };
        let same = |one: Option<f64>, other: Option<f64>| one.map(|it| it + 0.0) == other.map(|it| it + 0.0);
        prop_assert!(same(read.low, ends.0) && same(read.high, ends.1), "{written}");
        prop_assert!(written.starts_with("the limit: "), "{written}");
    }

    #[test]
    fn what_is_poured_is_the_glass(
        parts in proptest::collection::vec(0.0..1.0_f64, 2..=10),
        steps in 1_u64..400,
        step in prop_oneof![Just(100_u64), Just(500), Just(1_000)],
    ) {
        let sum: f64 = parts.iter().sum();
        prop_assume!(sum > 0.01);
        let mixture: Vec<f64> = parts.iter().map(|part| part / sum).collect();
        let (glass, step) = (Volume::from_ul(steps * step), Volume::from_ul(step));
        let pouring = pour(&all(mixture.len()), std::slice::from_ref(&mixture), glass, step).unwrap();
        prop_assert_eq!(pouring.volumes[0].iter().copied().sum::<Volume>(), glass);
        prop_assert_eq!(pouring.shares[0].millionths().iter().sum::<u32>(), Shares::WHOLE);
        for (volume, share) in pouring.volumes[0].iter().zip(&mixture) {
            prop_assert_eq!(volume.as_ul() % step.as_ul(), 0);
            let meant = share * glass.as_ul() as f64;
            prop_assert!((volume.as_ul() as f64 - meant).abs() <= step.as_ul() as f64 + 1.0);
        }
        // What was poured once is poured the same again.
        prop_assert_eq!(&amounts(glass, &pouring.shares[0], step).unwrap(), &pouring.volumes[0]);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn a_choice_is_no_worse_than_chance_and_the_same_again(
        asked in asked(), seed in 0_u64..1_000, more in 0_usize..5, linear in any::<bool>(), average in any::<bool>(),
    ) {
        let Ok(region) = asked.region() else { return Ok(()) };
        let candidates = candidates(&region, seed);
        let model = if linear { Model::Linear } else { Model::Quadratic };
        let criterion = if average { Criterion::Average } else { Criterion::Determinant };
        let glasses = model.size(region.components()) + more;
        let task = Task { region: &region, model, criterion, candidates: &candidates, fixed: &[], glasses, tries: 2, seed };
        let mut told = Vec::new();
        let found = choose(&task, &|| false, &mut |better| told.push(better.quality));
        prop_assert_eq!(&found, &choose(&task, &|| false, &mut |_| {}));
        let Ok(found) = found else {
            prop_assert!(quality(&region, model, &candidates, &candidates).is_none());
            return Ok(());
        };
        prop_assert!(found.finished && found.mixtures.len() == glasses);
        prop_assert_eq!(told.last(), Some(&found.quality));
        prop_assert!(found.mixtures.iter().all(|mixture| region.contains(mixture)));
        let basis = Basis::of(&region, model, &candidates).unwrap();
        let field = Field::new(&basis, criterion, &candidates);
        let mut chance = Chance::from_seed(seed);
        for _ in 0..20 {
            let random: Vec<usize> = (0..glasses).map(|_| chance.below(candidates.len())).collect();
            let random = random.iter().map(|&at| field.terms[at].as_slice());
            let Some(quality) = quality_of(&field, random) else { continue };
            let no_worse = match criterion {
                Criterion::Determinant => found.quality.log_determinant >= quality.log_determinant - 1e-6,
                Criterion::Average => found.quality.average_variance <= quality.average_variance * (1.0 + 1e-6),
            };
            prop_assert!(no_worse, "{:?} {quality:?}", found.quality);
        }
    }
}

/// The exact means of products over all mixtures, against a sample.
#[test]
fn the_moments_are_those_of_a_sample() {
    let (region, model) = (all(4), Model::Quadratic);
    let sample: Vec<Vec<f64>> = interior_points(&region, 20_000, 3).iter().map(|point| model.terms(point)).collect();
    let mut sampled = Square::of_products(10, sample.iter().map(Vec::as_slice));
    sampled.scale(1.0 / 20_000.0);
    let exact = model.moments(4);
    for row in 0..10 {
        assert!(near(sampled.row(row), exact.row(row), 0.002), "{:?} {:?}", sampled.row(row), exact.row(row));
    }
}

/// Ten components within bounds and two limits: as many corners as a search by hand could not find, and soon.
#[test]
fn ten_components_within_bounds_and_limits_do_not_explode() {
    let alcohol: Vec<f64> = (0..10).map(|at| 12.5 + 0.2 * f64::from(at)).collect();
    let variety = vec![1.0, 0.9, 0.8, 0.0, 0.0, 1.0, 0.7, 0.0, 1.0, 0.5];
    let limits = vec![limit(&alcohol, Some(13.2), Some(13.5)), limit(&variety, Some(0.5), None)];
    let region = Region::new(bounds(&[(0.02, 0.25); 10]), limits).unwrap();
    let corners = region.corners().points();
    assert!(corners.len() > 500, "{}", corners.len());
    for corner in corners {
        assert!(region.contains(corner));
    }
    // A corner is no mean of two others: nine sides at least meet in each.
    for corner in corners {
        let touched = region.half_spaces().iter().filter(|half| half.slack(corner).abs() < 1e-9).count();
        assert!(touched >= 9, "{touched}");
    }
}

/// A tank that holds less than its part of a blend bounds the share.
#[test]
fn no_share_is_more_than_a_tank_can_give() {
    let tank = Bound::free("A").from_tank(Volume::from_litres(300), Volume::from_litres(1_000));
    let full = Bound::free("B").from_tank(Volume::from_litres(3_000), Volume::from_litres(1_000));
    let region = Region::new(vec![tank.clone(), full], Vec::new()).unwrap();
    assert_eq!(region.reach(0), Some((0.0, 0.3)));
    assert_eq!(region.reach(1), Some((0.7, 1.0)));
    let told = Region::new(vec![tank, Bound::new("B", 0.0, 0.5)], Vec::new()).unwrap_err().to_string();
    assert!(told.contains("A at most 30 % (its 300 L of 1000 L)") && told.contains("B at most 50 %"), "{told}");
}

#[test]
fn glasses_by_free_hand_and_hidden_repeats_are_in_the_design() {
    let region = within(&[(0.0, 0.8), (0.10, 0.95), (0.05, 0.50)]);
    let own = vec![vec![0.5, 0.3, 0.2], vec![0.3, 0.5, 0.2]];
    let asked = Wanted {
        free_hand: own.clone(),
        repeats: 3,
        ..wanted(Kind::Optimal(Criterion::Determinant), Model::Quadratic, Some(15))
    };
    let design = lay_out(&region, &asked, &|| false, &mut |_| {}).unwrap();
    let mixtures: Vec<Vec<f64>> = design.glasses.iter().map(|glass| glass.mixture.clone()).collect();
    assert_eq!(mixtures.len(), 15);
    assert_eq!(mixtures[..2], own);
    assert!(design.glasses[12..].iter().all(|glass| glass.repeat_of.is_some()));
    for (at, glass) in design.glasses.iter().enumerate() {
        assert!(glass.repeat_of.is_none_or(|first| first < at && mixtures[first] == glass.mixture));
    }
    assert!(design.quality.is_some_and(|quality| quality.g_efficiency > 0.3));
}

#[test]
fn a_stopped_search_gives_the_best_so_far() {
    let (region, wanted) = (all(4), wanted(Kind::Optimal(Criterion::Average), Model::Quadratic, Some(12)));
    let design = lay_out(&region, &wanted, &|| true, &mut |_| {}).unwrap();
    assert!(!design.finished && design.glasses.len() == 12 && design.quality.is_some());
}

/// 45 % of 7 mL is nearest to 3 mL, which is less than 44 %; 4 mL is 57 %. Of 3 mL no whole number keeps the bounds.
#[test]
fn what_is_poured_keeps_the_bounds_where_a_step_can() {
    let region = within(&[(0.44, 0.58), (0.0, 1.0)]);
    let poured = |mixture: [f64; 2], steps: u64| {
        let (glass, step) = (Volume::from_ml(steps), Volume::from_ml(1));
        pour(&region, &[mixture.to_vec()], glass, step).unwrap().volumes[0]
            .iter()
            .map(|part| part.as_ul())
            .collect::<Vec<u64>>()
    };
    let millilitres = |parts: [u64; 2]| parts.map(|part| part * 1_000).to_vec();
    assert_eq!(poured([0.45, 0.55], 7), millilitres([4, 3]));
    assert_eq!(poured([0.5, 0.5], 6), millilitres([3, 3]));
    assert_eq!(poured([0.45, 0.55], 3), millilitres([1, 2]));
}

#[test]
fn what_is_drawn_covers_what_is_poured() {
    let pouring = pour(&all(3), &simplex_lattice(3, 2), Volume::from_ml(50), Volume::from_ul(500)).unwrap();
    // 50 mL alone and twice 25 mL, six tasters: 600 mL, and a tenth more.
    let draws = pouring.draws(6, super::super::USUAL_SPARE).unwrap();
    assert!(draws.iter().all(|draw| (draw.poured, draw.to_draw) == (Volume::from_ml(600), Volume::from_ml(660))));
}

/// A region of one mixture, and one that is flat.
#[test]
fn small_regions_have_designs_of_corners() {
    let single = within(&[(0.2, 0.2), (0.8, 0.8)]);
    assert_eq!((single.corners().points().len(), single.width(), single.is_simplex()), (1, 0.0, false));
    let design = lay_out(&single, &wanted(Kind::Corners(Middles::Faces), Model::Linear, None), &|| false, &mut |_| {});
    let design = design.unwrap();
    assert!(design.glasses.len() == 1 && design.quality.is_none());
    let flat = within(&[(0.2, 0.2), (0.0, 1.0), (0.0, 1.0)]);
    assert_eq!(flat.corners().points().len(), 2);
    assert_eq!(flat.corners().edges().len(), 1);
    assert!(interior_points(&flat, 10, 1).iter().all(|point| (point[0] - 0.2).abs() < 1e-12));
}
