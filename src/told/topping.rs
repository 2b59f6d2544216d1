//! What is said of a round before it is walked.

use crate::units::{counted, figure_to};

/// How many minutes a round takes, and each of its barrels, by the rounds before it.
#[must_use]
pub fn how_long(minutes: Option<u64>, each: Option<f64>) -> String {
    match (minutes, each) {
        (Some(minutes), Some(each)) => {
            format!(
                "About {}, at {} a barrel as in the last rounds here.",
                counted(minutes, "minute"),
                figure_to(1, each)
            )
        }
        _ => "No finished round here yet, so no time estimate.".to_owned(),
    }
}
