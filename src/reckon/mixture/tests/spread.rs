//! Glasses spread over what is allowed.

use proptest::prelude::*;

use super::super::design::{Design, lay_out, usual_counts};
use super::*;
use crate::reckon::mixture::optimal::in_millionths;
use crate::reckon::mixture::pour::{UNSEEN, pour};
use crate::reckon::mixture::{allowed, spread};
use crate::units::Volume;

#[test]
fn the_first_is_in_the_middle_and_the_corners_follow() {
    let glasses = spread(&all(3), &[], 7, 1);
    let distance = |one: &[f64]| one.iter().map(|share| (share - 1.0 / 3.0) * (share - 1.0 / 3.0)).sum::<f64>();
    assert!(distance(&glasses[0]) < 1e-9, "{:?}", glasses[0]);
    for corner in [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]] {
        assert!(glasses[1..4].contains(&corner.to_vec()), "{glasses:?}");
    }
}

#[test]
fn as_many_are_poured_as_are_asked_for_and_none_twice() {
    for count in [5, 12, 24, 50] {
        let flare = within(&[(0.40, 0.60), (0.10, 0.50), (0.10, 0.50), (0.03, 0.08)]);
        for region in [all(3), all(5), flare] {
            let glasses = spread(&region, &[], count, 1);
            assert_eq!(glasses.len(), count);
            assert!(glasses.iter().all(|glass| region.contains(glass)), "{glasses:?}");
            let mut keys: Vec<Vec<i64>> = glasses.iter().map(|glass| in_millionths(glass)).collect();
            keys.sort();
            keys.dedup();
            assert_eq!(keys.len(), count);
        }
    }
}

#[test]
fn what_is_poured_anyway_is_kept_clear_of() {
    let poured = vec![vec![1.0, 0.0, 0.0], vec![1.0 / 3.0; 3]];
    let glasses = spread(&all(3), &poured, 4, 1);
    assert_eq!(glasses[..2], poured[..]);
    assert!(glasses[2..].contains(&vec![0.0, 1.0, 0.0]) && glasses[2..].contains(&vec![0.0, 0.0, 1.0]), "{glasses:?}");
}

#[test]
fn a_narrow_region_has_a_finer_lattice_and_many_components_a_coarser_one() {
    let narrow = within(&[(0.50, 0.54), (0.30, 0.34), (0.12, 0.20)]);
    assert!(allowed(&narrow, 60).len() >= 60);
    assert!((100..=60_020).contains(&allowed(&all(10), 60).len()));
}

fn laid_out(region: &Region, asked: &Wanted) -> Design {
    lay_out(region, asked, &|| false, &mut |_| {}).unwrap()
}

/// Of fifty, five stand twice: the first five, which lie farthest apart.
#[test]
fn one_of_ten_stands_twice() {
    let (glasses, repeats) = usual_counts((Kind::Spread, Model::Quadratic, 3), Some(50), None);
    let design = laid_out(&all(3), &Wanted { repeats, ..wanted(Kind::Spread, Model::Quadratic, glasses) });
    let repeated: Vec<usize> = design.glasses.iter().filter_map(|glass| glass.repeat_of).collect();
    assert_eq!((design.glasses.len(), repeated), (50, vec![0, 1, 2, 3, 4]));
    // Where nobody says how many, as many ratios are left as a model needs and five more.
    assert_eq!(usual_counts((Kind::Spread, Model::Quadratic, 3), None, None), (Some(12), 1));
    assert_eq!(usual_counts((Kind::Spread, Model::Quadratic, 5), None, None), (Some(22), 2));
    assert_eq!(usual_counts((Kind::Spread, Model::Quadratic, 3), None, Some(0)), (Some(11), 0));
}

/// Within bounds a lattice keeps to its steps, and the others have a shape of any region.
#[test]
fn every_kind_lies_within_bounds() {
    let region = within(&[(0.0, 0.6), (0.1, 0.7), (0.2, 0.5)]);
    for kind in [Kind::Lattice(10), Kind::Centroid, Kind::Spread] {
        let design = laid_out(&region, &wanted(kind, Model::Quadratic, (kind == Kind::Spread).then_some(12)));
        assert!(design.glasses.len() > 8 && design.glasses.iter().all(|glass| region.contains(&glass.mixture)));
        assert!(design.glasses.iter().all(|glass| glass.repeat_of.is_none()), "{kind:?}");
        let tenths = |share: &f64| (share * 10.0 - (share * 10.0).round()).abs() < 1e-9;
        let is_whole = design.glasses.iter().flat_map(|glass| &glass.mixture).all(tenths);
        assert_eq!(is_whole, kind == Kind::Lattice(10));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// Glasses asked for are glasses given, and no two are poured alike but those that are said to be.
    #[test]
    fn as_they_are_poured_no_two_are_alike(
        ranges in proptest::collection::vec((0_u32..=6, 1_u32..=20), 2..=5),
        count in 4_usize..=60, repeats in 0_usize..=3, seed in 0_u64..100,
    ) {
        let ranges: Vec<(f64, f64)> = ranges
            .iter()
            .map(|&(low, width)| (f64::from(low) * 0.05, (f64::from(low + width) * 0.05).min(1.0)))
            .collect();
        let Ok(region) = Region::new(bounds(&ranges), Vec::new()) else { return Ok(()) };
        let (glass, step) = (Volume::from_ml(50), Volume::from_ul(500));
        let asked = Wanted { repeats, seed, steps: Some(100), ..wanted(Kind::Spread, Model::Quadratic, Some(count)) };
        prop_assume!(repeats <= count / 2);
        let Ok(design) = lay_out(&region, &asked, &|| false, &mut |_| {}) else {
            // Only so narrow a region refuses that its lattice in steps of the cylinder has no more.
            prop_assert!(allowed(&region, count).len() < 3 * count || region.is_one_blend());
            return Ok(());
        };
        prop_assert_eq!(design.glasses.len(), count);
        let poured = pour(&region, &design.mixtures(), glass, step).unwrap().shares;
        for (at, shares) in poured.iter().enumerate() {
            prop_assert!(region.broken_by(&shares.fractions(), UNSEEN).is_none());
            let first = poured.iter().position(|other| other == shares);
            prop_assert_eq!(design.glasses[at].repeat_of, first.filter(|&first| first < at));
        }
        prop_assert_eq!(design.glasses.iter().filter(|glass| glass.repeat_of.is_some()).count(), repeats);
    }
}
