//! Which glasses are told apart, and the groups of those that are not.

/// For every two glasses whether they are told apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Apart {
    glasses: usize,
    told: Vec<bool>,
}

impl Apart {
    /// Nothing is told apart.
    #[must_use]
    pub fn nothing(glasses: usize) -> Apart {
        Apart { glasses, told: vec![false; glasses * glasses] }
    }

    /// Tells two glasses apart.
    pub fn tell(&mut self, one: usize, other: usize) {
        self.told[one * self.glasses + other] = true;
        self.told[other * self.glasses + one] = true;
    }

    /// Whether two glasses are told apart.
    #[must_use]
    pub fn between(&self, one: usize, other: usize) -> bool {
        self.told[one * self.glasses + other]
    }

    /// Whether any are.
    #[must_use]
    pub fn any(&self) -> bool {
        self.told.contains(&true)
    }

    /// For each glass the letters of its groups, the best glass's first: glasses that share a letter are not told apart.
    /// Groups are as large as can be (H.-P. Piepho 2004, "insert and absorb").
    #[must_use]
    pub fn letters(&self, order: &[usize]) -> Vec<String> {
        // A group is a set of places in the order, a bit each.
        let mut groups: Vec<u128> = vec![(0..order.len()).fold(0, |all, place| all | 1 << place)];
        for one in 0..order.len() {
            for other in 0..one {
                if !self.between(order[one], order[other]) {
                    continue;
                }
                let both = 1_u128 << one | 1 << other;
                let (split, mut kept): (Vec<u128>, Vec<u128>) = groups.iter().partition(|&&group| group & both == both);
                for part in split.iter().flat_map(|group| [group & !(1 << one), group & !(1 << other)]) {
                    if kept.iter().all(|group| group & part != part) {
                        kept.push(part);
                    }
                }
                groups = kept;
            }
        }
        groups.sort_by_key(|group| group.trailing_zeros());
        let mut letters = vec![String::new(); self.glasses];
        for (group, letter) in groups.iter().zip(0..) {
            for (place, &glass) in order.iter().enumerate().filter(|(place, _)| group >> place & 1 == 1) {
                debug_assert!(place < order.len());
                letters[glass].push_str(&name(letter));
            }
        }
        letters
    }
}

/// a, b, … z, a1, b1, …
fn name(number: u32) -> String {
    let letter = char::from(b'a' + u8::try_from(number % 26).unwrap_or(0));
    match number / 26 {
        0 => letter.to_string(),
        round => format!("{letter}{round}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn overlapping_groups() {
        let mut apart = Apart::nothing(5);
        assert_eq!(apart.letters(&[0, 4, 3, 1, 2]), ["a"; 5]);
        for (one, other) in [(0, 1), (0, 2), (4, 1), (4, 2)] {
            apart.tell(one, other);
        }
        assert_eq!(apart.letters(&[0, 4, 3, 1, 2]), ["a", "b", "b", "ab", "a"]);
        assert!(apart.between(1, 0) && !apart.between(3, 0) && apart.any());
        assert_eq!(Apart::nothing(0).letters(&[]), [""; 0]);
    }

    proptest! {
        #[test]
        fn a_letter_is_shared_by_those_who_are_not_told_apart(pairs in prop::collection::vec((0_usize..7, 0_usize..7), 0..12)) {
            let mut apart = Apart::nothing(7);
            pairs.into_iter().filter(|(one, other)| one != other).for_each(|(one, other)| apart.tell(one, other));
            let letters = apart.letters(&[0, 1, 2, 3, 4, 5, 6]);
            for one in 0..7 {
                for other in 0..one {
                    let share = letters[one].chars().any(|letter| letters[other].contains(letter));
                    prop_assert_eq!(share, !apart.between(one, other), "{:?}", letters);
                }
            }
        }
    }
}
