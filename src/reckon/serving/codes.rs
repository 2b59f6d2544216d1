//! Codes of three digits (ISO 4120): by chance, each once, and none that says anything by itself.

use std::collections::BTreeSet;
use std::fmt;

use super::ServingError;
use crate::reckon::chance::Chance;

/// A code of three digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Code(u16);

/// The codes that there are: from 100, so that none begins with a nought that somebody leaves out.
pub const CODES: std::ops::RangeInclusive<u16> = 100..=999;

impl Code {
    /// Whether a code may stand on a glass: people take 111, 123, 321 and 500 for a first, a last or a best one.
    fn tells_nothing(self) -> bool {
        let digits = [self.0 / 100, self.0 / 10 % 10, self.0 % 10];
        let steps_up = digits[1] == digits[0] + 1 && digits[2] == digits[1] + 1;
        let steps_down = digits[0] == digits[1] + 1 && digits[1] == digits[2] + 1;
        let all_alike = digits[0] == digits[1] && digits[1] == digits[2];
        let round = digits[1] == 0 && digits[2] == 0;
        !(steps_up || steps_down || all_alike || round)
    }
}

impl fmt::Display for Code {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{:03}", self.0)
    }
}

/// So many codes in an order of chance, each once, without those that are taken already: people remember last week's best.
pub fn codes(count: usize, taken: &BTreeSet<String>, chance: &mut Chance) -> Result<Vec<Code>, ServingError> {
    let free = |code: &Code| code.tells_nothing() && !taken.contains(&code.to_string());
    let mut left: Vec<Code> = CODES.map(Code).filter(free).collect();
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
            let taken = BTreeSet::from(["417".to_owned()]);
            let drawn = codes(count, &taken, &mut Chance::from_seed(seed)).unwrap();
            let words: BTreeSet<String> = drawn.iter().map(ToString::to_string).collect();
            prop_assert_eq!(words.len(), count);
            prop_assert!(words.iter().all(|word| word.len() == 3 && word != "417" && word != "111" && word != "500"));
            prop_assert_eq!(drawn, codes(count, &taken, &mut Chance::from_seed(seed)).unwrap());
        }
    }

    #[test]
    fn telling_codes_are_left_out() {
        for telling in [111, 123, 321, 210, 789, 987, 100, 900] {
            assert!(!Code(telling).tells_nothing(), "{telling}");
        }
        for silent in [417, 101, 124, 909, 550] {
            assert!(Code(silent).tells_nothing(), "{silent}");
        }
    }

    #[test]
    fn more_codes_than_there_are_is_said() {
        let refused = codes(900, &BTreeSet::new(), &mut Chance::from_seed(1)).unwrap_err();
        assert_eq!(refused, ServingError::Codes { wanted: 900, left: 867 });
    }
}
