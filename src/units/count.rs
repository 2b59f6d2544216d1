//! Numbers of things in words.

use std::fmt::Display;

/// A number of things: `1 barrel`, `2 barrels`, `0 barrels`. Of what takes an s for more than one.
#[must_use]
pub fn counted<N: Display + Copy + PartialEq + From<u8>>(count: N, what: &str) -> String {
    format!("{count} {what}{}", if count == N::from(1) { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_is_one_and_none_are_several() {
        assert_eq!([0_u32, 1, 2].map(|count| counted(count, "tank")), ["0 tanks", "1 tank", "2 tanks"]);
        assert_eq!(counted(1_usize, "bottle"), "1 bottle");
    }
}
