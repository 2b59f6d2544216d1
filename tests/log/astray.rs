//! A file that goes away from under its name while it is open: nothing is acknowledged that is not in the file of that name.
#![cfg(unix)]

use std::fs;
use std::path::{Path, PathBuf};

use barrelwalk::log::{Access, Astray, Log, LogError, Position};

use crate::support::{exported, filled, open, topped};

/// What becomes of the file.
type Disaster = fn(&Path);

fn with(path: &Path, ending: &str) -> PathBuf {
    PathBuf::from(format!("{}{ending}", path.display()))
}

fn show(path: &Path) -> String {
    path.display().to_string()
}

/// Another cellar, ready to be put over one.
fn other(path: &Path) -> PathBuf {
    let other = path.with_file_name("other");
    drop(filled(&other, 3));
    other
}

/// What happens to the file, and what is then said of its name.
type Case = (Disaster, fn(String) -> Astray);

fn disasters() -> Vec<Case> {
    vec![
        (|path| fs::remove_file(path).unwrap(), Astray::Gone),
        (|path| fs::rename(path, path.with_file_name("renamed")).unwrap(), Astray::Gone),
        (|path| fs::remove_dir_all(path.parent().unwrap()).unwrap(), Astray::FolderGone),
        (
            |path| fs::rename(path.parent().unwrap(), path.parent().unwrap().with_extension("b")).unwrap(),
            Astray::FolderGone,
        ),
        (|path| fs::rename(other(path), path).unwrap(), Astray::OtherCellar),
        (|path| assert!(fs::copy(other(path), path).unwrap() > 0), Astray::WrittenOver),
        (|path| fs::write(path, "a letter to the bank").unwrap(), Astray::WrittenOver),
        (
            |path| {
                fs::write(path.with_file_name("letter"), "a letter to the bank").unwrap();
                fs::rename(path.with_file_name("letter"), path).unwrap();
            },
            Astray::NoCellar,
        ),
        (
            |path| {
                fs::copy(path, path.with_file_name("copy")).unwrap();
                fs::rename(path.with_file_name("copy"), path).unwrap();
            },
            Astray::Copy,
        ),
        (|path| fs::hard_link(path, path.with_file_name("second")).unwrap(), Astray::SecondName),
        (|path| fs::remove_file(with(path, "-wal")).unwrap(), Astray::NewestGone),
    ]
}

#[test]
fn nothing_is_acknowledged_that_is_not_in_the_file_of_that_name() {
    for (number, (disaster, expected)) in disasters().into_iter().enumerate() {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("a")).unwrap();
        let path = folder.path().join("a/cellar");
        let mut log = filled(&path, 20);
        let expected = expected(show(log.path()));
        assert_eq!(log.look(), Ok(()));
        disaster(&path);
        assert_eq!(log.look(), Err(expected.clone()), "disaster {number}");
        let line = topped(log.device(), 21, 21);
        assert_eq!(log.append(Position::new(20), &[line]), Err(LogError::Astray(expected.clone())), "{number}");
        let words = expected.to_string();
        assert!(words.ends_with('.') && words.matches(". ").count() >= 1, "{words}");
    }
}

/// What was entered is still held, and can be written elsewhere, whole.
#[test]
fn what_is_held_can_be_written_elsewhere() {
    for (number, (disaster, expected)) in disasters().into_iter().enumerate() {
        if matches!(expected(String::new()), Astray::WrittenOver(_)) {
            continue;
        }
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir(folder.path().join("a")).unwrap();
        let log = filled(&folder.path().join("a/cellar"), 20);
        let before = exported(&log);
        disaster(log.path());
        let kept = folder.path().join("kept");
        assert_eq!(log.backup(&kept).unwrap().facts, 20, "disaster {number}");
        drop(log);
        assert_eq!(exported(&open(&kept)), before);
    }
}

#[test]
fn a_file_that_is_put_back_is_gone_on_with() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    let mut log = filled(&path, 5);
    fs::rename(&path, folder.path().join("away")).unwrap();
    let line = topped(log.device(), 6, 6);
    assert!(log.append(Position::new(5), std::slice::from_ref(&line)).is_err());
    fs::rename(folder.path().join("away"), &path).unwrap();
    assert_eq!(log.append(Position::new(5), &[line]), Ok(Position::new(6)));
    drop(log);
    assert_eq!(exported(&open(&path)).len(), 6);
}

#[test]
fn a_file_of_two_names_is_read_but_not_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    drop(filled(&path, 5));
    fs::hard_link(&path, folder.path().join("second")).unwrap();
    let reading = Log::open(&path, Access::ReadOnly).unwrap();
    assert_eq!((reading.look(), exported(&reading).len()), (Ok(()), 5));
    let mut log = open(&path);
    assert_eq!(exported(&log).len(), 5);
    let line = topped(log.device(), 6, 6);
    let refused = log.append(Position::new(5), std::slice::from_ref(&line));
    assert!(matches!(refused, Err(LogError::Astray(Astray::SecondName(_)))), "{refused:?}");
    fs::remove_file(folder.path().join("second")).unwrap();
    log.append(Position::new(5), &[line]).unwrap();
}

/// A second opening in the same program, closed again, does not give up the locks of the first: else another program
/// would take the write-ahead log away while facts are still entered into it.
#[test]
fn a_second_look_in_the_same_program_gives_no_lock_up() {
    use std::io::Write;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    let mut log = crate::support::create(&path);
    log.append(Position::new(0), &[topped(log.device(), 1, 1)]).unwrap();
    drop(Log::open(&path, Access::ReadOnly).unwrap());
    let mut other = program(&path, "record");
    let room = r#"{"at":"2025-09-01T08:00:00+02:00","by":"mk","kind":"room_laid_out","room":"long","rows":[{"row":"A","stacks":8,"tiers":3,"sides":2}]}"#;
    writeln!(other.stdin.take().unwrap(), "{room}").unwrap();
    assert!(other.wait_with_output().unwrap().status.success());
    assert_eq!(log.look(), Ok(()));
    // It is the same laptop: the other program has taken the second number of its name.
    log.append(log.head().unwrap(), &[topped(log.device(), 3, 3)]).unwrap();
    drop(log);
    assert_eq!(exported(&open(&path)).len(), 3);
}

/// A copy of the same cellar that is laid over the open file, while its newest facts stand beside it: it is said, and said again, though under what
/// stands beside it the file may look whole.
#[test]
fn a_copy_of_the_same_cellar_laid_over_it_is_said_each_time() {
    type Copying = fn(&Log, &Path);
    let copies: [(&str, Copying); 3] = [
        ("a backup of it", |log, copy| drop(log.backup(copy).unwrap())),
        ("an older one", |_, copy| assert!(copy.exists())),
        ("a newer one", |log, copy| {
            fs::remove_file(copy).unwrap();
            log.backup(copy).unwrap();
            let mut newer = open(copy);
            newer.append(newer.head().unwrap(), &[topped(newer.device(), 1, 900)]).unwrap();
        }),
    ];
    for (which, copying) in copies {
        let folder = tempfile::tempdir().unwrap();
        let (path, copy) = (folder.path().join("cellar"), folder.path().join("copy"));
        drop(filled(&path, 40));
        if which != "a backup of it" {
            fs::copy(&path, &copy).unwrap();
        }
        let mut log = open(&path);
        let device = log.device().clone();
        let go_on = |log: &mut Log, from: u64, to: u64| {
            for n in from..=to {
                let seconds = i64::try_from(n).unwrap();
                log.append(Position::new(seconds - 1), &[topped(&device, n, seconds)]).unwrap();
            }
        };
        go_on(&mut log, 41, 400);
        let carrying = rusqlite::Connection::open(&path).unwrap();
        carrying.query_row("PRAGMA wal_checkpoint(PASSIVE)", [], |_| Ok(())).unwrap();
        drop(carrying);
        go_on(&mut log, 401, 410);
        assert_eq!(log.look(), Ok(()), "{which}");
        copying(&log, &copy);
        fs::copy(&copy, &path).unwrap();
        for _ in 0..2 {
            assert_eq!(log.look(), Err(Astray::WrittenOver(show(&path))), "{which}");
        }
        let refused = log.append(Position::new(410), &[topped(&device, 411, 411)]);
        assert_eq!(refused, Err(LogError::Astray(Astray::WrittenOver(show(&path)))), "{which}");
    }
}

fn program(path: &Path, command: &str) -> std::process::Child {
    std::process::Command::new(env!("CARGO_BIN_EXE_barrelwalk"))
        .args([command, "--cellar", &show(path)])
        .stdin(std::process::Stdio::piped())
        .spawn()
        .unwrap()
}

/// Many appends carry the write-ahead log over into the file, which is no disaster.
#[test]
fn a_carried_over_log_is_no_disaster() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    let mut log = filled(&path, 5);
    for n in 6..1_200 {
        let line = topped(log.device(), n, i64::try_from(n).unwrap());
        log.append(Position::new(i64::try_from(n).unwrap() - 1), &[line]).unwrap();
        if n % 400 == 0 {
            drop(Log::open(&path, Access::ReadOnly).unwrap());
        }
    }
}
