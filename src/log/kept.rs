//! Dated copies in a folder beside the cellar, of which the last ten are kept.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::error::{LogError, show};
use super::trouble::Trouble;
use super::{Backup, Log, header, mark};
use crate::cellar::core::moment::Moment;

/// So many copies are kept.
const KEPT: usize = 10;
/// The folder beside the cellar.
const FOLDER: &str = "backups";
/// How the names of copies end.
const ENDING: &str = ".barrelwalk";
/// What stands in a name for the day and the time, a nought for any figure.
const DATED: &str = "0000-00-00-000000";

/// A dated copy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Kept {
    /// Where it is.
    pub path: PathBuf,
    /// What it holds.
    pub backup: Backup,
    /// How many of the oldest copies were let go for it.
    pub let_go: usize,
}

impl Log {
    /// Makes a dated copy in the folder of copies beside the cellar, and lets the oldest go beyond ten: only files that have such a name and are
    /// cellars of this program. Of a damaged cellar a copy is made and nothing is let go.
    pub fn keep_backup(&self, now: Moment) -> Result<Kept, LogError> {
        let stem = self.path().file_stem().unwrap_or_default().to_string_lossy().into_owned();
        let folder = self.path().parent().unwrap_or(Path::new(".")).join(FOLDER);
        make_private(&folder)
            .map_err(|error| LogError::NoBackup { path: show(&folder), problem: Trouble::of(&error) })?;
        let time = now.wall_time().format("%H%M%S");
        let path = folder.join(format!("{stem}-{}-{time}{ENDING}", now.date()));
        let backup = self.backup(&path)?;
        let let_go = if backup.problems.is_empty() { let_go(&folder, &stem, &path) } else { 0 };
        Ok(Kept { path, backup, let_go })
    }
}

fn make_private(folder: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    match builder.create(folder) {
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists && folder.is_dir() => Ok(()),
        made => made,
    }
}

/// Lets the oldest copies go, never the one that was just made: a clock that is behind may have named it before all others.
fn let_go(folder: &Path, stem: &str, made: &Path) -> usize {
    let Ok(entries) = fs::read_dir(folder) else { return 0 };
    let mut copies: Vec<PathBuf> = entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path != made && is_copy(path, stem))
        .collect();
    copies.sort();
    let beyond = (copies.len() + 1).saturating_sub(KEPT);
    let mut gone = 0;
    for path in copies.into_iter().take(beyond) {
        if fs::remove_file(&path).is_ok() {
            mark::forget(&path);
            gone += 1;
        }
    }
    gone
}

/// Whether a file is a copy that was made here: by its name, and by what it begins with.
fn is_copy(path: &Path, stem: &str) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let dated = name.strip_prefix(stem).and_then(|rest| rest.strip_prefix('-')?.strip_suffix(ENDING));
    let is_dated = |text: &str| {
        text.len() == DATED.len()
            && text
                .bytes()
                .zip(DATED.bytes())
                .all(|(is, like)| if like == b'0' { is.is_ascii_digit() } else { is == like })
    };
    let is_plain = fs::symlink_metadata(path).is_ok_and(|about| about.is_file());
    dated.is_some_and(is_dated) && is_plain && header::check(path).is_ok()
}
