//! Glasses spread over what is allowed.

use super::*;
use crate::reckon::mixture::optimal::in_millionths;
use crate::reckon::mixture::{allowed, spread};

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
