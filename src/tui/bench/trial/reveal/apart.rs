//! What an opened trial says is read apart, in a thread of its own: it may take seconds, and no key waits for it.

use std::cell::Cell;
use std::sync::Arc;

use crate::cellar::jobs::bench::trial::reading::{ToRead, TrialReading};
use crate::reckon::watch::Watch;
use crate::tui::core::apart::Search;

/// How far the reading has come.
#[derive(Clone, Debug)]
pub(super) enum Progress {
    /// Such a part of it is done, in hundredths.
    Percent(u8),
    /// All of it.
    Read(Arc<TrialReading>),
}

/// Reads, and tells each hundredth that is done.
pub(super) fn search(to_read: ToRead) -> Search {
    Search::beside(move |apart| {
        let told = Cell::new(0);
        let reading = to_read.read(Watch::by(&|part| {
            let percent = hundredths(part);
            if percent > told.replace(percent.max(told.get())) {
                apart.so_far(Progress::Percent(percent));
            }
            !apart.is_stopped()
        }));
        // What was stopped rests on too few deals to be shown.
        if apart.is_stopped() {
            Err("The reading was stopped.".to_owned())
        } else {
            Ok(Progress::Read(Arc::new(reading)))
        }
    })
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // between 0 and 100 by the clamp
fn hundredths(part: f64) -> u8 {
    (part.clamp(0.0, 1.0) * 100.0) as u8
}
