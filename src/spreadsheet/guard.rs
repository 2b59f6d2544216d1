//! The apostrophe before a text that a spreadsheet would take for a formula (OWASP, CSV injection): put on what goes out, and taken off what
//! comes in. One that stood there before stays, so that what went out comes back as it was.

/// What a formula begins with.
const FORMULAS: [char; 7] = ['=', '+', '-', '@', '\t', '\r', '\n'];

/// A text that no spreadsheet takes for a formula.
#[must_use]
pub fn guarded(text: String) -> String {
    if is_formula(bare(&text)) { format!("'{text}") } else { text }
}

/// The text without the apostrophe that keeps it from being a formula.
#[must_use]
pub fn unguarded(text: &str) -> &str {
    match text.strip_prefix('\'') {
        Some(rest) if is_formula(bare(rest)) => rest,
        _ => text,
    }
}

fn bare(text: &str) -> &str {
    text.trim_start_matches('\'')
}

fn is_formula(text: &str) -> bool {
    text.starts_with(FORMULAS)
}

#[cfg(test)]
mod tests {
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
        ] {
            assert_eq!(guarded(text.to_owned()), out);
            assert_eq!(unguarded(out), text);
        }
    }
}
