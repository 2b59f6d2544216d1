//! The way to the full screen.

use std::path::Path;

use super::complaint::{Complaint, Outcome};
use crate::cellar::moment::Moment;
use crate::desk::{Access, Desk};

/// Opens a cellar in the full screen.
pub fn open(cellar: &Path) -> Outcome {
    let desk = Desk::open(cellar, Access::ReadWrite)?;
    tui::open(desk, Moment::now())
}

/// Opens a made-up cellar in the full screen; it is kept only where a file is named for it.
pub fn demo(_keep: Option<&Path>) -> Outcome {
    Err(Complaint::Refused("The made-up cellar is not part of this build.".to_owned()))
}

/// Stands where the full screen will.
mod tui {
    use super::{Complaint, Desk, Moment, Outcome};

    pub fn open(_desk: Desk, _now: Moment) -> Outcome {
        Err(Complaint::Refused("The full screen is not part of this build.".to_owned()))
    }
}
