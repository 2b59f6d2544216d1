//! What is said of tests and of sulfur dioxide.

use crate::reckon::limits::AMBER_SHARE;
use crate::reckon::sulfur::bound_words;
use crate::units::counted;

/// What stands below limits by law.
#[must_use]
pub fn for_information() -> String {
    format!(
        "For information, of still wine: laws change, and sweet, sparkling, fortified and organic wines have other limits. Amber \
         from {:.0} % of a limit (common practice).",
        AMBER_SHARE * 100.0
    )
}

/// How many days ago a test was made.
#[must_use]
pub fn ago(days: i64) -> String {
    if days == 0 { "today".to_owned() } else { format!("{} ago", counted(days, "day")) }
}

/// What is taken to be bound of an addition of sulfur dioxide, a share, and what to do since it is only taken so.
#[must_use]
pub fn bound_at_once(share: f64) -> String {
    format!("Of an addition {} is taken to be bound at once: test before and some days after.", bound_words(share))
}
