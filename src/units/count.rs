//! Numbers of things in words: the one place where one and several differ.

use std::fmt::Display;

/// A number of things: `1 barrel`, `2 barrels`, `0 barrels`, `3 glasses`. What is counted is said of one, its own word last.
#[must_use]
pub fn counted<N: Display + Copy + PartialEq + From<u8>>(count: N, what: &str) -> String {
    format!("{count} {}", if is_one(count) { what.to_owned() } else { plural(what) })
}

/// A thing of which there are several: `barrels`, `glasses`.
#[must_use]
pub fn plural(what: &str) -> String {
    match what.strip_suffix('y') {
        Some(stem) if !stem.ends_with(['a', 'e', 'o', 'u']) => format!("{stem}ies"),
        _ if ["s", "x", "ch", "sh"].iter().any(|end| what.ends_with(end)) => format!("{what}es"),
        _ => format!("{what}s"),
    }
}

/// The word for one, or the word for none or several: `is` or `are`.
#[must_use]
pub fn by_count<'a, N: Copy + PartialEq + From<u8>>(count: N, one: &'a str, several: &'a str) -> &'a str {
    if is_one(count) { one } else { several }
}

/// Things named one after the other, all of them: `A, B and C`.
#[must_use]
pub fn all_of(names: &[String]) -> String {
    joined(names, "and")
}

/// Things of which one is meant: `A, B or C`.
#[must_use]
pub fn one_of(names: &[String]) -> String {
    joined(names, "or")
}

fn joined(names: &[String], before_last: &str) -> String {
    match names {
        [] => String::new(),
        [only] => only.clone(),
        [before @ .., last] => format!("{} {before_last} {last}", before.join(", ")),
    }
}

fn is_one<N: Copy + PartialEq + From<u8>>(count: N) -> bool {
    count == N::from(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_is_one_and_none_are_several() {
        assert_eq!([0_u32, 1, 2].map(|count| counted(count, "tank")), ["0 tanks", "1 tank", "2 tanks"]);
        assert_eq!(counted(1_usize, "bottle"), "1 bottle");
        assert_eq!([1_u64, 3].map(|count| counted(count, "blind glass")), ["1 blind glass", "3 blind glasses"]);
        assert_eq!(["day", "empty", "batch"].map(plural), ["days", "empties", "batches"]);
        assert_eq!([0_usize, 1, 2].map(|count| by_count(count, "is", "are")), ["are", "is", "are"]);
    }

    #[test]
    fn the_last_of_several_stands_behind_a_word() {
        let names = ["A", "B", "C"].map(str::to_owned);
        assert_eq!([0, 1, 2, 3].map(|count| all_of(&names[..count])), ["", "A", "A and B", "A, B and C"]);
        assert_eq!(one_of(&names), "A, B or C");
    }
}
