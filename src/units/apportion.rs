//! The largest-remainder split: dividing a whole in proportion so that the parts still sum to it.

/// The result of a split, one part for each weight, in the order of the weights.
pub type Parts = Vec<u64>;

/// Splits `whole` in proportion to `weights` so that the parts sum to `whole` exactly.
///
/// Every part gets the floor of its exact share; what is then left over goes, one unit each, to the parts with the
/// largest remainders, the earlier part first where remainders are equal (Hamilton's method of apportionment).
///
/// When `whole` is not more than the sum of the weights, no part exceeds its weight, so a draw can never take more of
/// an origin than there is. Weights that are all zero (or none at all) cannot carry anything: the answer is `None`
/// unless `whole` is zero too.
#[must_use]
pub fn apportion(whole: u64, weights: &[u64]) -> Option<Parts> {
    let mut parts = weights.to_vec();
    apportion_in_place(whole, &mut parts).then_some(parts)
}

/// So many parts are split without asking for memory.
const FEW: usize = 8;

/// The same split, done where the weights stand: every weight becomes its part. Says whether it could be done; if not,
/// nothing is changed.
#[must_use]
pub fn apportion_in_place(whole: u64, weights: &mut [u64]) -> bool {
    let sum: u128 = weights.iter().map(|&weight| u128::from(weight)).sum();
    if sum == 0 {
        return whole == 0;
    }
    let (mut few, mut many) = ([0; FEW], Vec::new());
    let remainders = if weights.len() <= FEW {
        &mut few[..weights.len()]
    } else {
        many.resize(weights.len(), 0);
        &mut many[..]
    };
    let mut given = 0;
    for (weight, remainder) in weights.iter_mut().zip(remainders.iter_mut()) {
        (*weight, *remainder) = floor_share(whole, *weight, sum);
        given += *weight;
    }
    // Fewer units are left than there are parts with a remainder.
    serve_largest(whole - given, weights, remainders);
    true
}

/// Gives one unit each to the parts with the largest remainders, the earlier first.
fn serve_largest(units: u64, parts: &mut [u64], remainders: &mut [u128]) {
    if parts.len() > FEW {
        let mut order: Vec<usize> = (0..parts.len()).collect();
        order.sort_by(|&a, &b| remainders[b].cmp(&remainders[a]));
        for index in order.into_iter().zip(0..units).map(|(index, _)| index) {
            parts[index] += 1;
        }
        return;
    }
    for _ in 0..units {
        let mut largest = 0;
        for index in 1..remainders.len() {
            if remainders[index] > remainders[largest] {
                largest = index;
            }
        }
        parts[largest] += 1;
        remainders[largest] = 0;
    }
}

/// The whole units of an exact share, and what remains of it in parts of the sum.
fn floor_share(whole: u64, weight: u64, sum: u128) -> (u64, u128) {
    // Nearly every product in a cellar fits 64 bits, where dividing takes a tenth of the time.
    if let (Some(exact), Ok(sum)) = (whole.checked_mul(weight), u64::try_from(sum)) {
        return (exact / sum, u128::from(exact % sum));
    }
    let exact = u128::from(whole) * u128::from(weight);
    // The quotient is at most `whole`, since weight <= sum.
    (u64::try_from(exact / sum).unwrap_or(u64::MAX), exact % sum)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_third_each_gives_the_odd_litre_to_the_first() {
        assert_eq!(apportion(10, &[1, 1, 1]), Some(vec![4, 3, 3]));
    }

    #[test]
    fn the_largest_remainder_is_served_first() {
        // 7 × (3, 2, 2) / 7 is exact; 5 × (3, 2, 2) / 7 = 2.14, 1.43, 1.43: the two equal remainders, earlier first.
        assert_eq!(apportion(5, &[3, 2, 2]), Some(vec![2, 2, 1]));
    }

    #[test]
    fn nothing_carries_nothing() {
        assert_eq!(apportion(0, &[0, 0]), Some(vec![0, 0]));
        assert_eq!(apportion(1, &[0, 0]), None);
        assert_eq!(apportion(1, &[]), None);
    }

    proptest! {
        #[test]
        fn parts_sum_to_the_whole_and_stay_within_one_of_the_exact_share(
            whole in 0_u64..1_000_000_000_000,
            weights in prop::collection::vec(0_u64..1_000_000_000_000, 1..8),
        ) {
            let sum: u128 = weights.iter().map(|&w| u128::from(w)).sum();
            prop_assume!(sum > 0);
            let parts = apportion(whole, &weights).unwrap();
            prop_assert_eq!(parts.iter().sum::<u64>(), whole);
            for (part, weight) in parts.iter().zip(&weights) {
                let floor = u128::from(whole) * u128::from(*weight) / sum;
                prop_assert!(u128::from(*part) >= floor && u128::from(*part) <= floor + 1);
            }
        }

        #[test]
        fn no_whole_and_no_weights_are_too_large(
            whole in prop::num::u64::ANY,
            weights in prop::collection::vec(prop::num::u64::ANY, 1..20),
        ) {
            prop_assume!(weights.iter().any(|&weight| weight > 0));
            let parts = apportion(whole, &weights).unwrap();
            prop_assert_eq!(parts.iter().map(|&part| u128::from(part)).sum::<u128>(), u128::from(whole));
        }

        #[test]
        fn a_draw_never_takes_more_of_a_part_than_there_is(
            weights in prop::collection::vec(0_u64..1_000_000, 1..8),
            share in 0.0_f64..=1.0,
        ) {
            let sum: u64 = weights.iter().sum();
            prop_assume!(sum > 0);
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let whole = ((sum as f64) * share) as u64;
            let parts = apportion(whole, &weights).unwrap();
            for (part, weight) in parts.iter().zip(&weights) {
                prop_assert!(part <= weight);
            }
        }
    }
}
