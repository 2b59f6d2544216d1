//! Notices that the cellar file was written.

use std::ffi::OsString;
use std::fs::Metadata;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::Sender;
use std::thread;
use std::time::{Duration, SystemTime};

use notify::event::{EventKind, ModifyKind};
use notify::{RecommendedWatcher, RecursiveMode, Watcher};

use crate::tui::edge::driver::Incoming;

/// How often the file is looked at where the system cannot tell of changes.
const LOOK_EVERY: Duration = Duration::from_millis(500);

/// A running watch of a cellar file. It ends when this is dropped.
pub struct Watch {
    untold: Arc<AtomicBool>,
    // Held only to keep it running.
    _watcher: Option<RecommendedWatcher>,
}

impl Watch {
    /// Begins to watch; where the system refuses, a thread looks now and then.
    pub fn start<Answer: Send + 'static>(file: &Path, sender: &Sender<Incoming<Answer>>) -> Watch {
        let untold = Arc::new(AtomicBool::new(false));
        let bell = Bell { untold: Arc::clone(&untold), sender: sender.clone() };
        let watcher = told_by_system(file, bell).ok();
        if watcher.is_none() {
            // Without this thread the other program's facts come into sight at the next key instead.
            let _ = look_now_and_then(file, Bell { untold: Arc::clone(&untold), sender: sender.clone() });
        }
        Watch { untold, _watcher: watcher }
    }

    /// Says that a change was taken notice of; a later one will be told anew.
    pub fn answered(&self) {
        self.untold.store(false, Ordering::SeqCst);
    }
}

/// Tells a change, unless one is already on its way: a thousand writes are one message.
struct Bell<Answer> {
    untold: Arc<AtomicBool>,
    sender: Sender<Incoming<Answer>>,
}

impl<Answer> Bell<Answer> {
    /// Says whether somebody still listens.
    fn ring(&self) -> bool {
        self.untold.swap(true, Ordering::SeqCst) || self.sender.send(Incoming::Changed).is_ok()
    }
}

fn told_by_system<Answer: Send + 'static>(file: &Path, bell: Bell<Answer>) -> notify::Result<RecommendedWatcher> {
    let file = std::path::absolute(file)?;
    let folder = file.parent().unwrap_or(&file).to_owned();
    let names = watched_names(&file);
    let mut watcher = notify::recommended_watcher(move |event: notify::Result<notify::Event>| {
        if event.is_ok_and(|event| is_writing(&event, &names) || is_about(&event, &file)) {
            bell.ring();
        }
    })?;
    // The folder, not the file: the log beside it comes and goes.
    watcher.watch(&folder, RecursiveMode::NonRecursive)?;
    Ok(watcher)
}

/// The file itself, the write-ahead log that `SQLite` keeps beside it, and the mark that is written there once facts are
/// stored: the log is written a moment before its facts can be read.
fn watched_names(file: &Path) -> [OsString; 3] {
    ["", "-wal", "-mark"].map(|end| {
        let mut name = file.file_name().unwrap_or_default().to_owned();
        name.push(end);
        name
    })
}

fn is_writing(event: &notify::Event, names: &[OsString]) -> bool {
    // Opening and reading are told as well: to answer those by reading again would never end.
    let written = match event.kind {
        EventKind::Access(_) | EventKind::Modify(ModifyKind::Metadata(_)) => false,
        EventKind::Any | EventKind::Create(_) | EventKind::Modify(_) | EventKind::Remove(_) | EventKind::Other => true,
    };
    let concerned = |path: &PathBuf| path.file_name().is_some_and(|name| names.iter().any(|watched| watched == name));
    event.need_rescan() || (written && event.paths.iter().any(concerned))
}

/// Whether the folder of the file itself came or went, or changed its name.
fn is_about(event: &notify::Event, file: &Path) -> bool {
    let moved = matches!(event.kind, EventKind::Remove(_) | EventKind::Modify(ModifyKind::Name(_)));
    moved && event.paths.iter().any(|path| Some(path.as_path()) == file.parent())
}

fn look_now_and_then<Answer: Send + 'static>(file: &Path, bell: Bell<Answer>) -> io::Result<()> {
    let names = watched_names(file).map(|name| file.with_file_name(name));
    let look = move || {
        let mut seen = names.each_ref().map(|path| stamp(path));
        loop {
            thread::sleep(LOOK_EVERY);
            let now = names.each_ref().map(|path| stamp(path));
            if now != seen && !bell.ring() {
                return;
            }
            seen = now;
        }
    };
    thread::Builder::new().name("file watch".to_owned()).spawn(look).map(drop)
}

fn stamp(path: &Path) -> Option<(u64, Option<SystemTime>)> {
    std::fs::metadata(path).ok().map(|data: Metadata| (data.len(), data.modified().ok()))
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};

    use super::*;

    const LONG: Duration = Duration::from_secs(5);

    fn told(incoming: &Receiver<Incoming<()>>, within: Duration) -> bool {
        match incoming.recv_timeout(within) {
            Ok(Incoming::Changed) => true,
            Ok(_) => panic!("only changes are told"),
            Err(RecvTimeoutError::Timeout) => false,
            Err(RecvTimeoutError::Disconnected) => panic!("the watch has ended"),
        }
    }

    #[test]
    fn many_writes_are_one_message_until_it_is_answered() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("home.cellar");
        std::fs::write(&file, "a").unwrap();
        let (sender, incoming) = channel();
        let watch = Watch::start(&file, &sender);
        for round in 0..2 {
            for _ in 0..20 {
                std::fs::write(folder.path().join("home.cellar-wal"), "b").unwrap();
            }
            assert!(told(&incoming, LONG), "round {round}");
            assert!(!told(&incoming, Duration::from_millis(200)), "round {round}");
            watch.answered();
        }
    }

    #[test]
    fn reading_and_other_files_are_not_told() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("home.cellar");
        std::fs::write(&file, "a").unwrap();
        let (sender, incoming) = channel();
        let _watch = Watch::start(&file, &sender);
        std::fs::read(&file).unwrap();
        std::fs::write(folder.path().join("other.cellar"), "b").unwrap();
        std::fs::write(folder.path().join("home.cellar-shm"), "b").unwrap();
        assert!(!told(&incoming, Duration::from_millis(300)));
    }

    #[test]
    fn looking_now_and_then_finds_a_change_as_well() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("home.cellar");
        let (sender, incoming) = channel();
        look_now_and_then(&file, Bell { untold: Arc::default(), sender }).unwrap();
        // The thread takes its first look before it sleeps.
        thread::sleep(Duration::from_millis(100));
        std::fs::write(&file, "a").unwrap();
        assert!(told(&incoming, LONG));
    }
}
