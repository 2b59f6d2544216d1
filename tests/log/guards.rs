//! What the file refuses: to be changed by anybody, and to be taken for a cellar when it is none.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use barrelwalk::log::{Access, Log, LogError, Position};
use rusqlite::Connection;

use crate::support::{create, exported, filled, moment, open, topped};

/// The content of every file of a folder.
fn everything(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap())
        .filter(|entry| entry.path().is_file())
        .map(|entry| (entry.file_name().into_string().unwrap(), fs::read(entry.path()).unwrap()))
        .collect()
}

#[test]
fn the_database_itself_refuses_to_change_a_fact() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    let log = filled(&path, 5);
    let before = exported(&log);
    let other = Connection::open(&path).unwrap();
    let columns = "position, device, n, instant, offset_minutes, kind, body, late, written_instant, written_offset, author, version, job, note, link";
    let forged = |position: &str, n: &str, clause: &str| {
        format!(
            "INSERT {clause} INTO facts ({columns}) VALUES ({position}, 1, {n}, 0, 0, 'x', '{{}}', NULL, 0, 0, 'y', 1, NULL, NULL, zeroblob(32))"
        )
    };
    let mut attempts = vec![
        "UPDATE facts SET body = '{}' WHERE n = 3".to_owned(),
        "UPDATE OR REPLACE facts SET n = 2 WHERE n = 3".to_owned(),
        "UPDATE facts SET position = 99 WHERE n = 5".to_owned(),
        "DELETE FROM facts WHERE n = 5".to_owned(),
        "DELETE FROM facts".to_owned(),
        "REPLACE INTO devices (device, name) VALUES (1, 'forger')".to_owned(),
        "INSERT OR REPLACE INTO devices (device, name) SELECT 2, name FROM devices".to_owned(),
        "INSERT OR IGNORE INTO devices (device, name) SELECT 2, name FROM devices".to_owned(),
        "INSERT INTO devices (device, name) VALUES (7, 'gap')".to_owned(),
        "UPDATE devices SET name = 'forger'".to_owned(),
        "DELETE FROM devices".to_owned(),
        "UPDATE cellar SET id = 'c-other'".to_owned(),
        "DELETE FROM cellar".to_owned(),
        "REPLACE INTO cellar VALUES (1, 'c-other', 0, 0)".to_owned(),
        // The table is strict: a text is no number.
        forged("6", "'six'", ""),
        forged("6", "7", ""),
        forged("7", "6", ""),
        forged("NULL", "6", ""),
        format!("INSERT INTO facts ({columns}) SELECT {columns} FROM facts WHERE n = 3"),
        format!("{} ON CONFLICT (device, n) DO UPDATE SET body = excluded.body", forged("6", "3", "")),
        forged("6", "6", "").replace("zeroblob(32)", "zeroblob(31)"),
    ];
    for clause in ["OR REPLACE", "OR IGNORE", "OR FAIL", "OR ABORT", "OR ROLLBACK"] {
        attempts.push(forged("3", "3", clause));
        attempts.push(forged("3", "6", clause));
        attempts.push(forged("6", "3", clause));
    }
    for recursive in [false, true] {
        other.pragma_update(None, "recursive_triggers", recursive).unwrap();
        for attempt in &attempts {
            assert!(other.execute_batch(attempt).is_err(), "passed: {attempt}");
        }
    }
    assert_eq!(exported(&log), before);
    assert!(log.verify(&mut |_, _| ()).unwrap().is_clean());
    // The control: what follows the last fact is taken, so it was not something else that refused all of this.
    other.execute_batch(&forged("6", "6", "")).unwrap();
}

type IsExpected = fn(&LogError) -> bool;

#[test]
fn what_is_no_cellar_is_left_untouched() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::write(at("empty"), "").unwrap();
    fs::write(at("short"), "SQLite format 3\0").unwrap();
    fs::write(at("letter"), "Dear cellar master, ".repeat(200)).unwrap();
    let foreign = Connection::open(at("foreign")).unwrap();
    foreign.execute_batch("PRAGMA journal_mode=WAL; CREATE TABLE notes (words TEXT); PRAGMA user_version=1").unwrap();
    drop(foreign);
    drop(filled(&at("newer"), 2));
    let newer = Connection::open(at("newer")).unwrap();
    newer.execute_batch("PRAGMA user_version=2").unwrap();
    drop(newer);
    drop(filled(&at("older"), 2));
    let older = Connection::open(at("older")).unwrap();
    older.execute_batch("PRAGMA user_version=0").unwrap();
    drop(older);
    fs::create_dir(at("folder")).unwrap();

    let before = everything(folder.path());
    let expected: &[(&str, IsExpected, &str)] = &[
        ("empty", |e| matches!(e, LogError::Empty(_)), "empty file"),
        ("short", |e| matches!(e, LogError::NotACellar(_)), "not a cellar"),
        ("letter", |e| matches!(e, LogError::NotACellar(_)), "not a cellar"),
        ("foreign", |e| matches!(e, LogError::Foreign(_)), "another program"),
        ("newer", |e| matches!(e, LogError::Newer { found: 2, .. }), "newer version"),
        ("older", |e| matches!(e, LogError::Damaged { .. }), "damaged"),
        ("folder", |e| matches!(e, LogError::Folder(_)), "is a folder"),
        ("nothing", |e| matches!(e, LogError::NotFound(_)), "no cellar at"),
    ];
    for (name, is_expected, words) in expected {
        for access in [Access::ReadWrite, Access::ReadOnly] {
            let error = Log::open(&at(name), access).unwrap_err();
            assert!(is_expected(&error) && error.to_string().contains(words), "{name}: {error:?}\n{error}");
        }
    }
    assert_eq!(everything(folder.path()), before, "a file was touched or made");
}

#[test]
fn a_new_cellar_takes_nobody_elses_place() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    fs::write(&path, "a letter").unwrap();
    assert!(matches!(Log::create(&path, moment(0)), Err(LogError::Exists(_))));
    assert_eq!(fs::read(&path).unwrap(), b"a letter");
    fs::remove_file(&path).unwrap();

    let apart = folder.path().join("missing").join("cellar");
    let refusal = Log::create(&apart, moment(0)).unwrap_err();
    assert!(matches!(&refusal, LogError::NoFolder(folder) if folder.ends_with("missing")), "{refusal}");

    // What SQLite left of an earlier file would be read into the new one.
    fs::write(folder.path().join("cellar-wal"), "left over").unwrap();
    assert!(matches!(Log::create(&path, moment(0)), Err(LogError::Exists(_))));
    assert_eq!(everything(folder.path()).into_keys().collect::<Vec<_>>(), ["cellar-wal"]);
    fs::remove_file(folder.path().join("cellar-wal")).unwrap();

    drop(create(&path));
    assert_eq!(everything(folder.path()).into_keys().collect::<Vec<_>>(), ["cellar"]);
    let (one, two) = (open(&path), create(&folder.path().join("second")));
    assert_ne!(one.cellar(), two.cellar());
    assert_eq!(one.head().unwrap(), Position::START);
}

#[cfg(unix)]
/// Reading a write-protected file leaves nothing beside it; what an earlier reading left does not hinder a writer.
#[test]
#[cfg(unix)]
fn reading_a_write_protected_file_hinders_no_later_writer() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    drop(filled(&path, 3));
    let mode = |path: &Path, mode| fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
    let beside = |ending: &str| PathBuf::from(format!("{}{ending}", path.display()));
    mode(&path, 0o444);
    assert_eq!(exported(&Log::open(&path, Access::ReadOnly).unwrap()).len(), 3);
    assert!(!beside("-wal").exists() && !beside("-shm").exists());
    for ending in ["-wal", "-shm"] {
        fs::write(beside(ending), "").unwrap();
        mode(&beside(ending), 0o444);
    }
    mode(&path, 0o600);
    let mut log = open(&path);
    log.append(Position::new(3), &[topped(log.device(), 4, 4)]).unwrap();
    for ending in ["-wal", "-shm"] {
        assert_eq!(fs::metadata(beside(ending)).unwrap().permissions().mode() & 0o777, 0o600);
    }
}

#[test]
fn only_their_owner_may_read_the_files() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let log = filled(&folder.path().join("cellar"), 2);
    log.backup(&folder.path().join("copy")).unwrap();
    let mut seen = Vec::new();
    for entry in fs::read_dir(folder.path()).unwrap() {
        let entry = entry.unwrap();
        let mode = entry.metadata().unwrap().permissions().mode() & 0o777;
        assert_eq!(mode, 0o600, "{:?}", entry.file_name());
        seen.push(entry.file_name().into_string().unwrap());
    }
    seen.sort();
    assert_eq!(seen, ["cellar", "cellar-mark", "cellar-shm", "cellar-wal", "copy"]);
}

#[test]
fn a_cellar_is_found_by_a_link_and_by_an_odd_name() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("Wein & Fässer 100%?#.cellar");
    let log = filled(&path, 2);
    let device = log.device().clone();
    drop(log);
    assert_eq!(open(&path).device(), &device);
    #[cfg(unix)]
    {
        let link = folder.path().join("link");
        std::os::unix::fs::symlink(&path, &link).unwrap();
        assert_eq!(open(&link).device(), &device);
    }
}
