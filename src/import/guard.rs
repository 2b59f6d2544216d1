//! The apostrophe before a text that would be taken for something else: put on what goes out, and taken off what comes in. It says that the words
//! behind it are words as they stand. One that stood there before stays, so that what went out comes back as it was.
//!
//! A spreadsheet takes some texts for a formula (OWASP, CSV injection); who reads a table takes a line that begins with `Total` for a sum and `none` for
//! nothing, and leaves the blanks round a cell away. A vessel may be called so all the same.

use crate::reckon::material::plain;

/// What a formula begins with.
const FORMULAS: [char; 7] = ['=', '+', '-', '@', '\t', '\r', '\n'];
/// What a line of sums begins with.
const TOTALS: [&str; 18] = [
    "total",
    "totals",
    "sum",
    "average",
    "mean",
    "count",
    "subtotal",
    "totaux",
    "somme",
    "moyenne",
    "suma",
    "promedio",
    "totale",
    "somma",
    "media",
    "summe",
    "gesamt",
    "mittelwert",
];

/// A text that nobody takes for a formula, a sum, nothing, or less than it is. One that ends in a blank ends in an apostrophe too.
#[must_use]
pub fn guarded(text: String) -> String {
    match () {
        () if ends_in_blank(&text) => format!("'{text}'"),
        () if is_taken_otherwise(&text) => format!("'{text}"),
        () => text,
    }
}

/// The text without what guards it.
#[must_use]
pub fn unguarded(text: &str) -> &str {
    match text.strip_prefix('\'') {
        Some(rest) if ends_in_blank(text) => rest.strip_suffix('\'').unwrap_or(text),
        Some(rest) if is_taken_otherwise(rest) => rest,
        _ => text,
    }
}

/// Whether words say that nothing is known.
#[must_use]
pub fn is_nothing(words: &str) -> bool {
    matches!(
        words.to_lowercase().as_str(),
        "-" | "–" | "—" | "?" | "n/a" | "na" | "." | "..." | "…" | "unknown" | "none"
    )
}

/// Whether the first words of a line say that it is a sum, or another figure of many lines.
#[must_use]
pub fn begins_a_sum(words: &str) -> bool {
    let is_guarded = unguarded(words).len() < words.len();
    !is_guarded && is_of_sums(words)
}

fn is_of_sums(words: &str) -> bool {
    let begins = words.split(|sign: char| !sign.is_alphanumeric()).find(|part| !part.is_empty());
    begins.is_some_and(|word| TOTALS.contains(&plain(word).as_str()))
}

/// Behind however many apostrophes, so that each that is put on is taken off again.
fn is_taken_otherwise(text: &str) -> bool {
    let bare = text.trim_start_matches('\'');
    bare.starts_with(FORMULAS) || bare.starts_with(char::is_whitespace) || is_nothing(bare) || is_of_sums(bare)
}

fn ends_in_blank(text: &str) -> bool {
    text.trim_end_matches('\'').ends_with(char::is_whitespace)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn what_went_out_comes_back_as_it_was() {
        for (text, out) in [
            ("=1+1", "'=1+1"),
            ("-", "'-"),
            ("'=1", "''=1"),
            ("''@a", "'''@a"),
            ("'a", "'a"),
            ("", ""),
            ("a=1", "a=1"),
            ("\tx", "'\tx"),
            ("Total", "'Total"),
            ("'Total", "''Total"),
            ("@sum", "'@sum"),
            ("Count Basil", "'Count Basil"),
            ("Terrace, total", "Terrace, total"),
            ("none", "'none"),
            (" x", "' x"),
            ("x ", "'x '"),
            ("x '", "'x ''"),
            ("'x '", "''x ''"),
            (" ", "' '"),
        ] {
            assert_eq!(guarded(text.to_owned()), out);
            assert_eq!(unguarded(out), text);
            assert_eq!(out.trim(), out, "a cell is read without the blanks round it");
            assert!(!begins_a_sum(out) && !is_nothing(out), "{out}");
        }
    }

    proptest! {
        #[test]
        fn whatever_goes_out_comes_back(text in "['= a\u{a0}]{0,8}|'{0,3}(Total|none|-|x)'{0,3} ?'{0,2}|\\PC{0,12}") {
            let out = guarded(text.clone());
            prop_assert_eq!(out.trim(), out.as_str());
            prop_assert_eq!(unguarded(&out), text.as_str());
        }
    }
}
