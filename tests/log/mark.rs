//! The mark beside the file: large enough, kept by two programs, never followed elsewhere, and missed where it is gone.

use std::fs;
use std::path::{Path, PathBuf};

use barrelwalk::cellar::core::fact::Line;
use barrelwalk::log::{Access, Log, LogError, Position, Warning};

use crate::support::{self, exported, filled, open, topped};

fn beside(path: &Path, ending: &str) -> PathBuf {
    PathBuf::from(format!("{}{ending}", path.display()))
}

#[test]
#[cfg(unix)]
fn what_is_no_mark_is_left_as_it_is_and_nothing_is_entered_past_it() {
    use std::os::unix::fs::symlink;
    let victim = |mark: &Path| mark.with_file_name("victim");
    let put: [fn(&Path, &Path); 4] = [
        |mark, victim| symlink(victim, mark).unwrap(),
        |mark, _| symlink("nothing-there", mark).unwrap(),
        |mark, _| fs::create_dir(mark).unwrap(),
        |mark, _| {
            assert!(std::process::Command::new("mkfifo").arg(mark).status().unwrap().success());
        },
    ];
    for put in put {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("cellar");
        drop(filled(&path, 5));
        let mark = beside(&path, "-mark");
        fs::remove_file(&mark).unwrap();
        fs::write(victim(&mark), "a letter").unwrap();
        put(&mark, &victim(&mark));
        for _ in 0..2 {
            let mut log = open(&path);
            assert!(matches!(log.warnings(), [Warning::MarkDamaged { .. }]), "{:?}", log.warnings());
            let line = topped(log.device(), 1, 9);
            let refused = log.append(Position::new(5), &[line]).unwrap_err();
            assert!(matches!(refused, LogError::InTheWay { .. }), "{refused}");
            assert!(refused.to_string().contains("Move it away"), "{refused}");
        }
        assert_eq!(exported(&Log::open(&path, Access::ReadOnly).unwrap()).len(), 5);
        assert_eq!(fs::read_to_string(victim(&mark)).unwrap(), "a letter");
        assert!(fs::symlink_metadata(mark.with_file_name("nothing-there")).is_err());
    }
}

#[test]
fn ten_thousand_devices_have_room() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = support::create(&folder.path().join("cellar"));
    let own = log.device().clone();
    let mut lines: Vec<Line> =
        (0..10_000).map(|number| topped(&support::device(&format!("d-{number:010}")), 1, number)).collect();
    lines.push(topped(&own, 1, 10_001));
    log.append(Position::START, &lines).unwrap();
    for n in 2..4 {
        log.append(log.head().unwrap(), &[topped(&own, n, 10_000 + i64::try_from(n).unwrap())]).unwrap();
    }
    let path = log.path().to_owned();
    drop(log);
    let log = open(&path);
    assert_eq!((log.warnings(), log.device()), (&[][..], &own));
    assert!(log.verify(&mut |_, _| ()).unwrap().is_clean());
}

/// What one program wrote down stays there when the other writes, however many devices it knows.
#[test]
fn two_programs_keep_one_mark() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    let mut screen = filled(&path, 5);
    let copy = folder.path().join("older");
    screen.backup(&copy).unwrap();
    let mut other = open(&path);
    let lines: Vec<Line> =
        (0..100).map(|number| topped(&support::device(&format!("d-other{number}")), 1, 20 + number)).collect();
    other.append(Position::new(5), &lines).unwrap();
    screen.append(Position::new(105), &[topped(screen.device(), 6, 200)]).unwrap();
    other.append(Position::new(106), &[topped(&support::device("d-last"), 1, 201)]).unwrap();
    screen.append(Position::new(107), &[topped(screen.device(), 7, 202)]).unwrap();
    drop((screen, other));
    fs::rename(&copy, &path).unwrap();
    assert_eq!(open(&path).warnings().len(), 102);
}

#[test]
fn a_text_that_a_power_cut_tore_leaves_the_one_before() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    let log = filled(&path, 5);
    let device = log.device().clone();
    drop(log);
    let mark = beside(&path, "-mark");
    let whole = fs::read(&mark).unwrap();
    for torn in (whole.len() / 2..whole.len()).step_by(512) {
        let mut bytes = whole.clone();
        bytes[torn..].fill(0);
        fs::write(&mark, &bytes).unwrap();
        let log = open(&path);
        assert_eq!((log.warnings(), log.device()), (&[][..], &device));
    }
}

#[test]
fn a_mark_that_is_gone_is_missed_where_facts_were_entered() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    drop(filled(&path, 5));
    fs::write(beside(&path, "-snapshot"), "as the desk keeps it").unwrap();
    fs::remove_file(beside(&path, "-mark")).unwrap();
    let mut log = open(&path);
    assert!(matches!(log.warnings(), [Warning::MarkGone(_)]), "{:?}", log.warnings());
    log.append(Position::new(5), &[topped(log.device(), 1, 9)]).unwrap();
    drop(log);
    assert!(open(&path).warnings().is_empty());
}
