//! A write-ahead log that an earlier file left beside one that was put in its place: neither laid over it nor dropped.

use std::fs;
use std::path::{Path, PathBuf};

use barrelwalk::log::{Access, Astray, Log, LogError, Position, Problem, Warning};
use tempfile::TempDir;

use crate::support::{self, exported, filled, open, topped};

fn with(path: &Path, ending: &str) -> PathBuf {
    PathBuf::from(format!("{}{ending}", path.display()))
}

/// Appends so many facts of the log's own device.
fn go_on(log: &mut Log, facts: u64) {
    let head = log.head().unwrap();
    let own = log.heads().unwrap().into_iter().find(|head| head.id.device == *log.device());
    let from = own.map_or(0, |head| head.id.n);
    for n in from + 1..=from + facts {
        let seen = Position::new(head.get() + i64::try_from(n - from).unwrap() - 1);
        log.append(seen, &[topped(log.device(), n, i64::try_from(1_000 + n).unwrap())]).unwrap();
    }
}

/// A cellar of 20 facts, an older copy of it with 12, and a newer one with 10 more by another laptop.
struct Cellars {
    folder: TempDir,
}

impl Cellars {
    fn new() -> Cellars {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        drop(filled(&at("cellar"), 12));
        fs::copy(at("cellar"), at("older")).unwrap();
        go_on(&mut open(&at("cellar")), 8);
        fs::copy(at("cellar"), at("newer")).unwrap();
        go_on(&mut open(&at("newer")), 10);
        Cellars { folder }
    }

    fn at(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// The folder as it stands when the program is killed after so many more facts.
    fn killed_after(&self, facts: u64) -> (PathBuf, Vec<String>) {
        let mut log = open(&self.at("cellar"));
        go_on(&mut log, facts);
        let into = self.at("killed");
        fs::create_dir(&into).unwrap();
        for ending in ["", "-wal", "-mark"] {
            fs::copy(with(log.path(), ending), with(&into.join("cellar"), ending)).unwrap();
        }
        (into.join("cellar"), exported(&log))
    }
}

fn renamed_over(from: &Path, to: &Path) {
    fs::rename(from, to).unwrap();
}

fn copied_over(from: &Path, to: &Path) {
    fs::copy(from, to).unwrap();
}

/// Whether nothing is wrong, but for what the mark misses.
fn is_sound(log: &Log) -> bool {
    log.verify(&mut |_, _| ()).unwrap().problems.iter().all(|problem| matches!(problem, Problem::Lost(_)))
}

/// The file with everything that lies in its folder and was set aside.
fn set_aside(path: &Path) -> Vec<PathBuf> {
    let names = fs::read_dir(path.parent().unwrap()).unwrap().map(|entry| entry.unwrap().path());
    names.filter(|name| name.to_string_lossy().contains("-of-another-file-")).collect()
}

#[test]
fn what_an_earlier_file_left_is_set_aside_and_a_newer_file_keeps_its_facts() {
    for put in [renamed_over, copied_over] {
        for facts in [1, 10, 60, 400] {
            let cellars = Cellars::new();
            let newer = exported(&open(&cellars.at("newer")));
            let (path, entered) = cellars.killed_after(facts);
            put(&cellars.at("newer"), &path);
            let log = open(&path);
            assert_eq!(exported(&log), newer, "{facts}");
            assert!(is_sound(&log));
            let said = log.warnings()[0].to_string();
            assert!(matches!(log.warnings()[0], Warning::SetAside { .. } | Warning::SetAsideUnread { .. }), "{said}");
            let aside = set_aside(&path);
            assert!(aside.iter().all(|name| said.contains(&name.display().to_string())), "{said}");
            drop(log);
            if let Some(file) = aside.iter().find(|name| name.extension().is_some_and(|ending| ending == "jsonl")) {
                let lines = fs::read_to_string(file).unwrap();
                assert!(lines.lines().all(|line| entered.contains(&line.to_owned())));
            } else {
                eprintln!("{facts}: not read");
            }
            // Once: what is set aside is not told again.
            let again = open(&path);
            assert!(
                again.warnings().iter().all(|warning| matches!(warning, Warning::Lost(_))),
                "{:?}",
                again.warnings()
            );
        }
    }
}

#[test]
fn an_older_file_put_back_keeps_what_it_has_or_all() {
    for put in [renamed_over, copied_over] {
        for facts in [1, 10, 60, 400] {
            let cellars = Cellars::new();
            let older = exported(&open(&cellars.at("older")));
            let (path, entered) = cellars.killed_after(facts);
            put(&cellars.at("older"), &path);
            let log = open(&path);
            assert!(
                log.verify(&mut |_, _| ()).unwrap().problems.iter().all(|problem| problem.to_string().contains("mark"))
            );
            let now = exported(&log);
            assert!(now == older || now == entered, "{} of {}", now.len(), entered.len());
            assert_eq!(now == older, !set_aside(&path).is_empty());
            assert_eq!(now == older, !log.warnings().is_empty());
        }
    }
}

#[test]
fn another_cellar_put_there_is_not_mixed_with_what_was_left() {
    for facts in [1, 10, 60] {
        let cellars = Cellars::new();
        drop(filled(&cellars.at("other"), 7));
        let other = exported(&open(&cellars.at("other")));
        let (path, _) = cellars.killed_after(facts);
        fs::rename(cellars.at("other"), &path).unwrap();
        let log = open(&path);
        assert_eq!(exported(&log), other);
        assert!(!set_aside(&path).is_empty());
    }
}

/// The pages of a large cellar that stand in its write-ahead log are none of those that a new one is read from: only its indexes tell.
#[test]
fn an_empty_cellar_put_there_is_not_mixed_with_the_pages_of_a_large_one() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let mut log = filled(&at("cellar"), 3_000);
    drop(log);
    log = open(&at("cellar"));
    go_on(&mut log, 2);
    fs::create_dir(at("killed")).unwrap();
    let path = at("killed/cellar");
    for ending in ["-wal", "-mark"] {
        fs::copy(with(log.path(), ending), with(&path, ending)).unwrap();
    }
    drop(support::create(&path.with_file_name("new")));
    fs::rename(path.with_file_name("new"), &path).unwrap();
    let mut log = open(&path);
    assert!(
        matches!(log.warnings()[0], Warning::SetAside { .. } | Warning::SetAsideUnread { .. }),
        "{:?}",
        log.warnings()
    );
    go_on(&mut log, 3);
    assert!(log.verify(&mut |_, _| ()).unwrap().is_clean());
}

/// The file was moved elsewhere and a link put in its place, but its newest facts were left behind.
#[test]
#[cfg(unix)]
fn what_was_left_beside_a_link_is_missed() {
    let cellars = Cellars::new();
    let (path, entered) = cellars.killed_after(5);
    let moved = cellars.at("moved");
    fs::rename(&path, &moved).unwrap();
    std::os::unix::fs::symlink(&moved, &path).unwrap();
    let Err(refused @ LogError::LeftBesideLink { .. }) = Log::open(&path, Access::ReadOnly) else { panic!("opened") };
    assert!(refused.to_string().contains("holds the newest facts"), "{refused}");
    // As the sentence says.
    fs::rename(with(&path, "-wal"), with(&moved, "-wal")).unwrap();
    assert_eq!(exported(&open(&path)), entered);
}

/// A crash, a folder copied whole, a cellar that was moved: today's way, without a word.
#[test]
fn what_belongs_together_is_opened_without_a_word() {
    for facts in [1, 10, 400] {
        let cellars = Cellars::new();
        let (path, entered) = cellars.killed_after(facts);
        for access in [Access::ReadOnly, Access::ReadWrite] {
            let log = Log::open(&path, access).unwrap();
            assert_eq!((exported(&log), log.warnings()), (entered.clone(), &[][..]));
        }
        let alone = cellars.at("alone");
        let (path, entered) = (alone, entered);
        fs::copy(cellars.at("killed/cellar"), &path).unwrap();
        assert_eq!((exported(&open(&path)), set_aside(&path)), (entered, Vec::new()));
    }
}

/// A newer copy comes to stand there while the program goes on: the opening of it is not harmed when that one ends.
#[test]
#[cfg(unix)]
fn the_end_of_a_program_whose_file_was_replaced_takes_nothing_away() {
    let cellars = Cellars::new();
    let path = cellars.at("cellar");
    let mut screen = open(&path);
    go_on(&mut screen, 10);
    fs::rename(cellars.at("newer"), &path).unwrap();
    let mut log = open(&path);
    assert!(matches!(log.warnings()[0], Warning::SetAside { .. }), "{:?}", log.warnings());
    go_on(&mut log, 3);
    assert!(matches!(screen.look(), Err(Astray::Copy(_))));
    drop(screen);
    go_on(&mut log, 2);
    let all = exported(&log);
    drop(log);
    assert_eq!((exported(&open(&path)), all.len()), (all.clone(), 35));
}

#[test]
#[cfg(unix)]
fn a_link_in_the_place_of_the_write_ahead_log_is_not_followed() {
    let cellars = Cellars::new();
    let path = cellars.at("cellar");
    fs::write(cellars.at("victim"), "v".repeat(100)).unwrap();
    std::os::unix::fs::symlink(cellars.at("victim"), with(&path, "-wal")).unwrap();
    let refused = Log::open(&path, Access::ReadWrite).unwrap_err();
    assert!(matches!(refused, LogError::LeftOver { .. }), "{refused}");
    assert_eq!(fs::read_to_string(cellars.at("victim")).unwrap(), "v".repeat(100));
}
