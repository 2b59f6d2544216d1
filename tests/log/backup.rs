//! Safe copies made while the log is open.

use std::fs;

use barrelwalk::log::{Access, Log, LogError, Position};

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
