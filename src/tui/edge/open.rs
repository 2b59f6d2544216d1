//! Opening the full screen on a cellar.

use std::path::PathBuf;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::desk::Access;
use crate::tui::core::model::{Looks, Model};
use crate::tui::core::work::Hands;
use crate::tui::edge::driver::{self, Ending};
use crate::tui::rooms::HOUSE;

/// Walks a cellar on the terminal until the person leaves.
///
/// The first frame stands before the cellar is opened. A cellar that cannot be opened ends the screen with an error, the
/// terminal given back.
pub fn open(path: PathBuf, access: Access, by: Label, looks: Looks, now: Moment) -> anyhow::Result<Ending> {
    let mut model = Model::new(by, looks, now, &HOUSE);
    let mut hands = Hands::new(path.clone(), access, Moment::now).heeding_files();
    driver::run(&mut model, &mut hands, Some(path))
}
