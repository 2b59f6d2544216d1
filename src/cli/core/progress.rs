//! How a search goes, on one line of a terminal that is wiped when it ends. Files and pipes see nothing of it.

use std::io::{IsTerminal, Stderr, Write, stderr};

use crate::cellar::core::label::harmless;

/// Back to the beginning of the line, and the rest of it wiped.
const WIPED: &str = "\r\x1b[K";

/// The line.
pub struct Progress {
    terminal: Option<Stderr>,
}

impl Progress {
    /// A line where messages go, if that is a terminal.
    pub fn on_terminal() -> Progress {
        let terminal = stderr();
        Progress { terminal: terminal.is_terminal().then_some(terminal) }
    }

    /// Writes the line anew.
    pub fn tell(&mut self, words: &str) {
        if let Some(terminal) = &mut self.terminal {
            // A line that cannot be written is lost: there is nobody else to tell.
            let _ = write!(terminal, "{WIPED}{}", harmless(words));
            let _ = terminal.flush();
        }
    }

    /// Wipes the line.
    pub fn end(&mut self) {
        self.tell("");
    }
}
