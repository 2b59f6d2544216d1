//! Safe copies made while the log is open.

use std::fs;

use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::log::{Access, Log, LogError, Position, ThrowAway};

use crate::support::{exported, filled, open, topped};

#[test]
fn a_copy_holds_everything_and_goes_its_own_way() {
    let folder = tempfile::tempdir().unwrap();
    let target = folder.path().join("copy");
    let mut log = filled(&folder.path().join("cellar"), 40);
    let backup = log.backup(&target).unwrap();
    assert_eq!((backup.facts, &backup.heads), (40, &log.heads().unwrap()));
    let before = exported(&log);
    let line = topped(log.device(), 41, 41);
    log.append(Position::new(40), &[line]).unwrap();

    let copy = Log::open(&target, Access::ReadOnly).unwrap();
    assert_eq!((exported(&copy), copy.cellar()), (before, log.cellar()));
    assert!(copy.verify(&mut |_, _| ()).unwrap().is_clean());
    drop(copy);

    // The copy opened for writing must not name another fact 41 of the same device.
    let mut copy = open(&target);
    assert_ne!(copy.device(), log.device());
    assert!(copy.warnings().is_empty());
    let line = topped(copy.device(), 1, 50);
    copy.append(Position::new(40), &[line]).unwrap();
    assert!(copy.verify(&mut |_, _| ()).unwrap().is_clean());
}

#[test]
fn a_copy_is_made_from_a_log_that_is_only_read() {
    let folder = tempfile::tempdir().unwrap();
    let log = filled(&folder.path().join("cellar"), 3);
    assert_eq!(log.reader().unwrap().backup(&folder.path().join("copy")).unwrap().facts, 3);
}

#[test]
fn a_copy_that_cannot_be_made_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let log = filled(&folder.path().join("cellar"), 3);
    let taken = folder.path().join("taken");
    fs::write(&taken, "a letter").unwrap();
    assert!(matches!(log.backup(&taken), Err(LogError::Exists(_))));
    assert!(matches!(log.backup(log.path()), Err(LogError::Exists(_))));
    assert!(matches!(log.backup(&folder.path().join("missing").join("copy")), Err(LogError::NoFolder(_))));
    assert_eq!(fs::read(&taken).unwrap(), b"a letter");
    drop(log);
    let mut names: Vec<_> =
        fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    assert_eq!(names, ["cellar", "cellar-mark", "taken"]);
}

#[test]
fn a_copy_goes_over_a_file_where_that_is_said_and_never_over_the_cellar_itself() {
    let folder = tempfile::tempdir().unwrap();
    let log = filled(&folder.path().join("cellar"), 3);
    let taken = folder.path().join("taken");
    fs::write(&taken, "mine").unwrap();
    assert_eq!(log.backup_over(&taken).unwrap().facts, 3);
    assert_eq!(log.backup_over(&taken).unwrap().facts, 3);
    assert_eq!(log.backup_over(&folder.path().join("new")).unwrap().facts, 3);
    assert!(matches!(log.backup_over(log.path()), Err(LogError::Itself(_))));
    assert!(matches!(log.backup_over(folder.path()), Err(LogError::NoPlainFile(_))));
    assert_eq!(exported(&Log::open(&taken, Access::ReadOnly).unwrap()), exported(&log));
}

#[test]
fn of_dated_copies_the_last_ten_stay_and_nothing_else_goes() {
    let folder = tempfile::tempdir().unwrap();
    let log = filled(&folder.path().join("cellar"), 3);
    let at = |minute: usize| Moment::parse(&format!("2026-11-28T07:{minute:02}:00+01:00")).unwrap();
    let kept = log.keep_backup(at(0)).unwrap();
    let copies = kept.path.parent().unwrap().to_owned();
    let stem = log.path().file_stem().unwrap().to_string_lossy().into_owned();
    // Neither what has another name nor what has such a name and is no cellar is this program's to let go.
    for name in ["mine.txt".to_owned(), format!("{stem}-2020-01-01-000000.barrelwalk")] {
        fs::write(copies.join(name), "mine").unwrap();
    }
    fs::copy(&kept.path, copies.join(format!("{stem}-old.barrelwalk"))).unwrap();
    let let_go: usize = (1..12).map(|minute| log.keep_backup(at(minute)).unwrap().let_go).sum();
    assert_eq!(let_go, 2);
    assert!(!kept.path.exists() && copies.join("mine.txt").exists());
    assert_eq!(fs::read_dir(&copies).unwrap().count(), 10 + 3);
    // A clock that is behind names its copy before all others, and it stays.
    let behind = log.keep_backup(Moment::parse("2019-01-01T07:00:00+01:00").unwrap()).unwrap();
    assert!(behind.path.exists() && behind.let_go == 1);
    assert!(matches!(log.keep_backup(at(11)), Err(LogError::Exists(_))));
}

/// What a killed program left half-made is cleared away by the next one; what somebody else called so stays.
#[test]
#[cfg(unix)]
fn what_killed_programs_left_is_cleared_away() {
    use std::fs::Permissions;
    use std::os::unix::fs::PermissionsExt;

    use rustix::fs::{FlockOperation, flock};
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let log = filled(&at("cellar"), 3);
    log.backup(&at("copy")).unwrap();
    for left in [
        ".copy-being-made-0a1b2c3d",
        ".old-being-made-89abcdef",
        ".old-being-made-89abcdef-journal",
        ".x-being-made-00000000-wal",
    ] {
        fs::write(at(left), "").unwrap();
    }
    fs::copy(at("copy"), at(".half-being-made-01234567")).unwrap();
    fs::write(at(".pages-being-made-01234567"), [0; 9_000]).unwrap();
    // Of a sheet, which is its owner's alone.
    fs::write(at(".sheet-being-made-01234567"), "<html>").unwrap();
    fs::set_permissions(at(".sheet-being-made-01234567"), Permissions::from_mode(0o600)).unwrap();
    let others = [
        ".letter-being-made-0a1b2c3d",
        ".notes-being-made-yesterday",
        "list-being-made-0a1b2c3d",
        ".alive-being-made-0a1b2c3d",
    ];
    for other in &others[..3] {
        fs::write(at(other), "a letter").unwrap();
    }
    // A program that makes one still holds it.
    let alive = fs::File::create(at(others[3])).unwrap();
    flock(&alive, FlockOperation::LockExclusive).unwrap();
    log.backup(&at("second")).unwrap();
    drop(log);
    let mut names: Vec<_> =
        fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    assert_eq!(names, [others[3], others[0], others[1], "cellar", "cellar-mark", "copy", others[2], "second"]);
}

/// A folder that is thrown away again takes the place of what killed programs left of its name, and of no living one's.
#[test]
#[cfg(unix)]
fn folders_that_killed_programs_left_are_cleared_away() {
    use std::fs::Permissions;
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    for (name, mode) in [
        ("demo-for-now-01234567", 0o700),
        ("demo-for-now-89abcdef", 0o755),
        ("other-for-now-01234567", 0o700),
        ("demo-for-now-yesterday", 0o700),
    ] {
        fs::create_dir(at(name)).unwrap();
        fs::write(at(name).join("demo.barrelwalk"), "x").unwrap();
        fs::set_permissions(at(name), Permissions::from_mode(mode)).unwrap();
    }
    let living = ThrowAway::within(folder.path(), "demo").unwrap();
    let another = ThrowAway::within(folder.path(), "demo").unwrap();
    assert!(living.path().is_dir() && another.path().is_dir());
    assert_eq!(fs::metadata(living.path()).unwrap().permissions().mode() & 0o777, 0o700);
    fs::write(living.path().join("a"), "b").unwrap();
    drop((living, another));
    let mut names: Vec<_> =
        fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    assert_eq!(names, ["demo-for-now-89abcdef", "demo-for-now-yesterday", "other-for-now-01234567"]);
}
