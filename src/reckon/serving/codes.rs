//! Codes of three digits (ISO 4120): by chance, each once, and none that says anything by itself.

use std::collections::BTreeSet;
use std::ops::RangeInclusive;

use super::ServingError;
use crate::reckon::chance::Chance;

/// The codes that there are: from 100, so that none begins with a nought that somebody leaves out.
pub const CODES: RangeInclusive<u16> = 100..=999;

/// Whether a code may stand on a glass: people take 111, 123, 321 and 500 for a first, a last or a best one.
fn tells_nothing(code: u16) -> bool {
    let digits = [code / 100, code / 10 % 10, code % 10];
    let steps_up = digits[1] == digits[0] + 1 && digits[2] == digits[1] + 1;
    let steps_down = digits[0] == digits[1] + 1 && digits[1] == digits[2] + 1;
    let all_alike = digits[0] == digits[1] && digits[1] == digits[2];
    let round = digits[1] == 0 && digits[2] == 0;
    !(steps_up || steps_down || all_alike || round)
}

/// So many codes in an order of chance, each once, without those that are taken already: people remember last week's best.
pub fn codes(count: usize, taken: &BTreeSet<u16>, chance: &mut Chance) -> Result<Vec<u16>, ServingError> {
    let mut left: Vec<u16> = CODES.filter(|&code| tells_nothing(code) && !taken.contains(&code)).collect();
    if left.len() < count {
        return Err(ServingError::Codes { wanted: count, left: left.len() });
    }
    chance.shuffle(&mut left);
    left.truncate(count);
    Ok(left)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn codes_are_three_digits_each_once_and_the_same_from_the_same_seed(count in 0_usize..200, seed: u64) {
            let taken = BTreeSet::from([417]);
            let drawn = codes(count, &taken, &mut Chance::from_seed(seed)).unwrap();
            let different: BTreeSet<u16> = drawn.iter().copied().collect();
            prop_assert_eq!(different.len(), count);
            prop_assert!(drawn.iter().all(|code| CODES.contains(code) && ![417, 111, 500].contains(code)));
            prop_assert_eq!(&drawn, &codes(count, &taken, &mut Chance::from_seed(seed)).unwrap());
        }
    }

    #[test]
    fn telling_codes_are_left_out() {
        for telling in [111, 123, 321, 210, 789, 987, 100, 900] {
            assert!(!tells_nothing(telling), "{telling}");
        }
        for silent in [417, 101, 124, 909, 550] {
            assert!(tells_nothing(silent), "{silent}");
        }
    }

    #[test]
    fn more_codes_than_there_are_is_said() {
        let refused = codes(900, &BTreeSet::new(), &mut Chance::from_seed(1)).unwrap_err();
        assert_eq!(refused, ServingError::Codes { wanted: 900, left: 867 });
    }
}
