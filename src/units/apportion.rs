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
    let sum: u128 = weights.iter().map(|&weight| u128::from(weight)).sum();
    if sum == 0 {
        return (whole == 0).then(|| vec![0; weights.len()]);
    }
    let mut parts = Vec::with_capacity(weights.len());
    let mut remainders = Vec::with_capacity(weights.len());
    for (index, &weight) in weights.iter().enumerate() {
        let exact = u128::from(whole) * u128::from(weight);
        // The quotient is at most `whole`, since weight <= sum.
        parts.push(u64::try_from(exact / sum).unwrap_or(u64::MAX));
        remainders.push((exact % sum, index));
    }
    let given: u128 = parts.iter().map(|&part| u128::from(part)).sum();
    let mut left = u128::from(whole) - given;
    remainders.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    for (_, index) in remainders {
        if left == 0 {
            break;
        }
        parts[index] += 1;
        left -= 1;
    }
    Some(parts)
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
