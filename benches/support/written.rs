//! The log of a measurement, written many facts at a time.

use std::path::Path;

use barrelwalk::cellar::core::fact::{Device, Line};
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::log::{Log, Position};

const BATCH: usize = 5_000;

/// A new log.
pub struct Written {
    log: Log,
    head: Position,
    waiting: Vec<Line>,
}

impl Written {
    /// Makes a log at a path where nothing is yet.
    pub fn create(path: &Path, at: Moment) -> Written {
        let log = Log::create(path, at).unwrap();
        Written { log, head: Position::START, waiting: Vec::with_capacity(BATCH) }
    }

    /// This laptop's name in the log.
    pub fn device(&self) -> Device {
        self.log.device().clone()
    }

    /// Writes the next fact.
    pub fn write(&mut self, line: Line) {
        self.waiting.push(line);
        if self.waiting.len() == BATCH {
            self.flush();
        }
    }

    /// Writes what still waits, and says how many facts there are.
    pub fn flush(&mut self) -> Position {
        self.head = self.log.append(self.head, &self.waiting).unwrap();
        self.waiting.clear();
        self.head
    }
}

/// What was built once, in a folder that outlives the run; a half-made one is thrown away.
pub fn once(name: &str, write: impl FnOnce(&Path)) -> std::path::PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let path = folder.join("cellar");
    if !path.exists() {
        let half_made = folder.with_extension("half-made");
        let _ = std::fs::remove_dir_all(&half_made);
        std::fs::create_dir_all(&half_made).unwrap();
        write(&half_made.join("cellar"));
        std::fs::rename(&half_made, &folder).unwrap();
    }
    path
}
