//! The way to the full screen.

use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};

use super::arguments::Screen;
use crate::cellar::core::moment::Moment;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::who::who;
use crate::desk::{Access, create_demo};
use crate::log::{ThrowAway, Trouble};
use crate::tui;
use crate::tui::core::marks::Marks;
use crate::tui::core::model::Looks;
use crate::tui::core::theme::{Palette, Theme};
use crate::tui::edge::surroundings::Surroundings;

/// Opens a cellar in the full screen, in the usual palette where the command line says no other, and gives the exit code of how it ended.
pub fn open(cellar: PathBuf, screen: &Screen, usual: Option<Palette>, now: Moment) -> Outcome<u8> {
    if !(io::stdout().is_terminal() && io::stdin().is_terminal()) {
        let sentence = "The full screen needs a terminal. Use the commands for scripts; `barrelwalk help` lists them.";
        return Err(Complaint::Refused(sentence.to_owned()));
    }
    let surroundings = Surroundings::read();
    let looks = Looks {
        theme: Theme::new(Palette::choose(screen.palette, usual, surroundings)),
        marks: Marks::choose(screen.ascii, surroundings),
    };
    let access = if screen.read_only { Access::ReadOnly } else { Access::ReadWrite };
    let by = who(screen.by.as_deref())?;
    tui::open(cellar, access, by, looks, now)
        .map(tui::edge::driver::Ending::exit_code)
        .map_err(|error| Complaint::Refused(told(&error)))
}

/// Why the screen ended, with what the system refused in words.
fn told(error: &anyhow::Error) -> String {
    let of_system = |io: &&std::io::Error| io.raw_os_error().is_some();
    match error.chain().find_map(|cause| cause.downcast_ref::<std::io::Error>()).filter(of_system) {
        None => error.to_string(),
        Some(io) => {
            let trouble = Trouble::of(io);
            format!("The full screen cannot go on: {trouble}. What was shown as done is stored. {}", trouble.next())
        }
    }
}

/// Opens the demo cellar in the full screen; it is kept only where a file is named for it. A kept one is opened again
/// as it was left.
pub fn demo(keep: Option<&Path>, screen: &Screen, usual: Option<Palette>, now: Moment) -> Outcome<u8> {
    if let Some(file) = keep {
        if !file.exists() {
            create_demo(file, now)?;
        }
        return open(file.to_owned(), screen, usual, now);
    }
    let made = ThrowAway::within(&std::env::temp_dir(), "barrelwalk-demo");
    let folder = made.map_err(|error| {
        Complaint::Refused(format!(
            "No place was found for a throwaway cellar: {}. Name one with --keep FILE.",
            Trouble::of(&error)
        ))
    })?;
    let file = folder.path().join("demo.barrelwalk");
    create_demo(&file, now)?;
    open(file, screen, usual, now)
}
