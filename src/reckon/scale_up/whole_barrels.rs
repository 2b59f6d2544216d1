//! Whole barrels first: a component that lies in barrels is drawn barrel by barrel, and only the rest from one more.

use crate::units::Volume;

/// Which barrels give all, and which gives the rest.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WholeFirst {
    /// The barrels that are emptied, as they were given.
    pub whole: Vec<usize>,
    /// The barrel that gives a part, and how much.
    pub rest: Option<(usize, Volume)>,
}

/// Draws so much from barrels that hold so much, whole ones first in the order given (common practice: what is left in
/// part-full barrels spoils). The rest comes from the barrel that is left with the least then. `None` where they do not hold
/// enough.
#[must_use]
pub fn whole_first(wanted: Volume, barrels: &[Volume]) -> Option<WholeFirst> {
    if barrels.iter().copied().sum::<Volume>() < wanted {
        return None;
    }
    let mut drawn = WholeFirst::default();
    let mut missing = wanted;
    let mut others = Vec::new();
    for (at, &holds) in barrels.iter().enumerate() {
        match missing.checked_sub(holds) {
            Some(then) if !holds.is_zero() => {
                drawn.whole.push(at);
                missing = then;
            }
            _ => others.push(at),
        }
    }
    // Every barrel that was passed over held more than what was missing when it was passed, and less is missing now.
    drawn.rest = others
        .into_iter()
        .filter(|&at| barrels[at] >= missing && !missing.is_zero())
        .min_by_key(|&at| barrels[at])
        .map(|at| (at, missing));
    Some(drawn)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn litres(volumes: &[u64]) -> Vec<Volume> {
        volumes.iter().copied().map(Volume::from_litres).collect()
    }

    #[test]
    fn two_whole_barrels_and_the_rest_from_the_smallest_that_has_it() {
        let drawn = whole_first(Volume::from_litres(500), &litres(&[225, 300, 225, 228, 60])).unwrap();
        assert_eq!(drawn, WholeFirst { whole: vec![0, 2], rest: Some((4, Volume::from_litres(50))) });
        let even = whole_first(Volume::from_litres(450), &litres(&[225, 225, 225])).unwrap();
        assert_eq!(even, WholeFirst { whole: vec![0, 1], rest: None });
        assert_eq!(whole_first(Volume::from_litres(700), &litres(&[225, 225, 225])), None);
        assert_eq!(whole_first(Volume::ZERO, &[]), Some(WholeFirst::default()));
    }

    proptest! {
        #[test]
        fn it_sums_and_no_barrel_left_would_fit_whole(
            barrels in prop::collection::vec(0_u64..400, 1..12), part in 0.0_f64..=1.0,
        ) {
            let sum: u64 = barrels.iter().sum();
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let wanted = Volume::from_ul((sum as f64 * part) as u64);
            let barrels: Vec<Volume> = barrels.into_iter().map(Volume::from_ul).collect();
            let drawn = whole_first(wanted, &barrels).unwrap();
            let rest = drawn.rest.map_or(Volume::ZERO, |(_, rest)| rest);
            prop_assert_eq!(drawn.whole.iter().map(|&at| barrels[at]).sum::<Volume>() + rest, wanted);
            for (at, barrel) in barrels.iter().enumerate().filter(|(_, barrel)| !barrel.is_zero()) {
                prop_assert!(drawn.whole.contains(&at) || *barrel > rest);
            }
        }
    }
}
