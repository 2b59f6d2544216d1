//! Files that only their owner may read, put in their place whole or not at all.

use std::fs::{self, File, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// The file beside a cellar whose name ends in `ending`.
pub fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// When a cellar's file was last written, by the clock of whoever did: the mark beside it is written with every fact and by nothing
/// else; the file itself is a copy's only witness. To be asked before the file is opened. The times of other files say less: the
/// database makes and moves them as it goes.
#[must_use]
pub fn last_written(path: &Path) -> Option<SystemTime> {
    let path = fs::canonicalize(path).ok()?;
    let time = |file: &Path| fs::symlink_metadata(file).and_then(|metadata| metadata.modified()).ok();
    time(&beside(&path, super::mark::ENDING)).or_else(|| time(&path))
}

/// Makes a file that was not there, readable and writable by its owner only.
pub fn create_private(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.read(true).write(true).create_new(true);
    owner_only(&mut options);
    options.open(path)
}

/// Makes a folder that was not there, into which only its owner may look.
pub fn create_private_folder(path: &Path) -> io::Result<()> {
    let mut making = fs::DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut making, 0o700);
    making.create(path)
}

/// Whether only its owner may look into it, and that is who runs this program.
#[cfg(unix)]
pub fn is_private(metadata: &fs::Metadata) -> bool {
    use std::os::unix::fs::MetadataExt;
    matches!(metadata.mode() & 0o777, 0o600 | 0o700) && metadata.uid() == rustix::process::geteuid().as_raw()
}

/// Whether only its owner may look into it: that is not told here.
#[cfg(not(unix))]
pub fn is_private(_metadata: &fs::Metadata) -> bool {
    false
}

/// Whether a name leads to it still.
#[cfg(unix)]
pub fn has_a_name(metadata: &fs::Metadata) -> bool {
    std::os::unix::fs::MetadataExt::nlink(metadata) > 0
}

/// Whether a name leads to it still.
#[cfg(not(unix))]
pub fn has_a_name(_metadata: &fs::Metadata) -> bool {
    true
}

/// Makes what is made by these options readable and writable by its owner only.
pub fn private(options: &mut OpenOptions) -> &mut OpenOptions {
    owner_only(options);
    options
}

/// Opens what has the name itself, not what a link leads to, and does not wait where it is a pipe.
#[cfg(unix)]
pub fn without_following(options: &mut OpenOptions) {
    use rustix::fs::OFlags;
    use std::os::unix::fs::OpenOptionsExt;
    options.custom_flags((OFlags::NOFOLLOW | OFlags::NONBLOCK).bits().cast_signed());
}

/// Opens what has the name.
#[cfg(not(unix))]
pub fn without_following(_options: &mut OpenOptions) {}

#[cfg(unix)]
fn owner_only(options: &mut OpenOptions) {
    use std::os::unix::fs::OpenOptionsExt;
    options.mode(0o600);
}

#[cfg(not(unix))]
fn owner_only(_options: &mut OpenOptions) {}

/// Waits until the disk knows the file by its name.
#[cfg(unix)]
pub fn sync_folder(file: &Path) -> io::Result<()> {
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => File::open(folder)?.sync_all(),
        _ => File::open(".")?.sync_all(),
    }
}

#[cfg(not(unix))]
pub fn sync_folder(_file: &Path) -> io::Result<()> {
    Ok(())
}

/// That many random hexadecimal digits.
pub fn random_hex(digits: usize) -> io::Result<String> {
    let mut bytes = vec![0; digits];
    getrandom::fill(&mut bytes).map_err(|error| io::Error::other(error.to_string()))?;
    Ok((0..digits).map(|digit| char::from(b"0123456789abcdef"[usize::from(bytes[digit] & 15)])).collect())
}
