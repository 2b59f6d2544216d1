//! The snapshot is a cache: with it, without it or with a wrong one, the state is the same.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use barrelwalk::cellar::core::fact::{FactId, Line};
use barrelwalk::desk::{Access, Desk};
use barrelwalk::log::Log;
use sha2::{Digest, Sha256};

use super::cellar::{
    Folder, act, exported, history, intent, label, lines, moment, noted, open, plain_fold, retracted, text, topped,
};

/// A little more than a log must hold to be worth a snapshot.
const FACTS: u64 = 20_500;

pub fn snapshot_of(path: &Path) -> PathBuf {
    PathBuf::from(format!("{}-snapshot", path.display()))
}

/// A cellar with a long past, one topping or note a second.
fn long(folder: &Folder, name: &str) -> PathBuf {
    let desk = folder.founded(name);
    let path = desk.path().to_owned();
    drop(desk);
    let mut log = Log::open(&path, Access::ReadWrite).unwrap();
    let head = log.head().unwrap();
    let own = log.device().clone();
    let past: Vec<Line> = (11..=FACTS)
        .map(|n| {
            let fields = if n % 10 == 0 { topped("1", 1) } else { noted("a word") };
            let fields = fields.replace(r#""full":false"#, r#""full":true"#);
            let at = moment(1_000 + n.cast_signed());
            let (fact, body) = (intent(1, at, &fields).fact, intent(1, at, &fields).body);
            let id = FactId { device: own.clone(), n };
            Line {
                id,
                at,
                written: at,
                by: fact.by,
                version: 1,
                kind: fact.what.kind().into(),
                body,
                job: None,
                note: None,
            }
        })
        .collect();
    log.append(head, &past).unwrap();
    path
}

/// Such a cellar with its snapshot, made once; each test works on a copy.
pub fn copy(folder: &Folder) -> PathBuf {
    static LONG: OnceLock<(Vec<u8>, Vec<u8>)> = OnceLock::new();
    let (cellar, snapshot) = LONG.get_or_init(|| {
        let folder = Folder::new();
        let path = long(&folder, "cellar");
        drop(open(&path));
        (fs::read(&path).unwrap(), fs::read(snapshot_of(&path)).unwrap())
    });
    let path = folder.path("cellar");
    fs::write(&path, cellar).unwrap();
    fs::write(snapshot_of(&path), snapshot).unwrap();
    path
}

fn now() -> barrelwalk::cellar::core::moment::Moment {
    moment(30_000)
}

/// Opens the cellar; its state is the plain fold, whether the snapshot was used or not.
fn opened(path: &Path, with_snapshot: bool) -> Desk {
    let desk = open(path);
    assert_eq!(desk.opened_from_snapshot(), with_snapshot);
    assert!(*desk.state() == plain_fold(&exported(&desk), i64::MAX));
    desk
}

#[test]
fn a_long_log_is_opened_with_it_and_goes_on_well() {
    let folder = Folder::new();
    let path = long(&folder, "cellar");
    drop(opened(&path, false));
    let mut desk = opened(&path, true);
    let undone = desk.enter(&act(&[topped("2", 10), noted("new")]), now()).unwrap();
    desk.enter(&act(&[topped("2", 10)]), now()).unwrap();
    drop(desk);
    let mut desk = opened(&path, true);
    desk.undo(&label("mk"), now()).unwrap();
    assert_eq!(desk.undo(&label("mk"), now()).unwrap().facts[0].id, undone[0]);
    drop(desk);
    drop(opened(&path, true));
}

#[test]
fn a_short_log_has_none() {
    let folder = Folder::new();
    let desk = folder.founded("cellar");
    let path = desk.path().to_owned();
    drop(desk);
    assert!(!snapshot_of(&path).exists());
}

#[test]
fn deleted_cut_short_or_with_any_byte_changed_it_is_passed_over() {
    let folder = Folder::new();
    let path = copy(&folder);
    let whole = fs::read(snapshot_of(&path)).unwrap();
    let expected = opened(&path, true).state().clone();
    let mut wrong: Vec<Vec<u8>> = vec![Vec::new(), vec![7; 3], whole[..whole.len() / 2].to_vec(), vec![0; 10_000]];
    for part in 0..12 {
        let mut damaged = whole.clone();
        damaged[part * (whole.len() - 1) / 11] ^= 1 << (part % 8);
        wrong.push(damaged);
    }
    for damaged in wrong {
        fs::write(snapshot_of(&path), damaged).unwrap();
        let desk = Desk::open(&path, Access::ReadOnly).unwrap();
        assert!(!desk.opened_from_snapshot());
        assert!(*desk.state() == expected);
    }
    fs::remove_file(snapshot_of(&path)).unwrap();
    drop(opened(&path, false));
    drop(opened(&path, true));
}

#[test]
fn another_cellars_is_passed_over() {
    let folder = Folder::new();
    let path = copy(&folder);
    let other = Folder::new();
    let theirs = long(&other, "cellar");
    drop(open(&theirs));
    fs::copy(snapshot_of(&theirs), snapshot_of(&path)).unwrap();
    drop(opened(&path, false));
}

#[test]
fn a_late_fact_or_a_retraction_that_reaches_behind_it_makes_it_useless() {
    let late = |n: u64| history(1, "d-a", n, moment(2_000), &topped("2", 40));
    let of_its_past = |desk: &Desk| retracted(&own_of(desk), 40);
    for step in 0..4 {
        let folder = Folder::new();
        let path = copy(&folder);
        let kept = fs::read(snapshot_of(&path)).unwrap();
        let mut desk = open(&path);
        let line = match step {
            0 => late(1),
            1 => intent(1, now(), &of_its_past(&desk)),
            2 => history(1, "d-a", 1, now(), &of_its_past(&desk)),
            // Behind the snapshot and taken back, though not behind it.
            _ => intent(1, now(), &retracted(&own_of(&desk), FACTS)),
        };
        assert_eq!(desk.record(vec![line], now(), false).unwrap().taken.len(), 1);
        drop(desk);
        // The snapshot of before comes back, as from a copy of the folder.
        fs::write(snapshot_of(&path), &kept).unwrap();
        drop(opened(&path, step == 3));
    }
}

/// The device that wrote the long past.
fn own_of(desk: &Desk) -> String {
    exported(desk)[0].id.device.as_str().to_owned()
}

#[test]
fn a_taking_back_that_is_taken_back_reaches_behind_it_too() {
    let folder = Folder::new();
    let path = copy(&folder);
    let mut desk = open(&path);
    let of = retracted(&own_of(&desk), 40);
    desk.record(vec![history(1, "d-a", 1, now(), &of)], now(), false).unwrap();
    for _ in 0..6 {
        let many: Vec<String> = (0..500).map(|_| noted("on")).collect();
        desk.enter(&act(&many), now()).unwrap();
    }
    drop(desk);
    drop(open(&path));
    let mut desk = open(&path);
    assert!(desk.opened_from_snapshot());
    desk.record(vec![history(1, "d-a", 2, now(), &retracted("d-a", 1))], now(), false).unwrap();
    drop(desk);
    drop(open(&path));
    // Two that take back each other, and one that takes back itself, end no search.
    let mut desk = opened(&path, true);
    let odd = vec![
        history(1, "d-a", 3, now(), &retracted("d-a", 4)),
        history(2, "d-a", 4, now(), &retracted("d-a", 3)),
        history(3, "d-a", 5, now(), &retracted("d-a", 5)),
    ];
    desk.record(odd, now(), false).unwrap();
    drop(desk);
    drop(opened(&path, true));
}

/// The same facts in another order of arrival, in a file of the same cellar: positions mean nothing there.
#[test]
fn in_a_file_that_was_restored_and_merged_again_it_does_no_harm() {
    let folder = Folder::new();
    let path = copy(&folder);
    let early = Folder::new();
    let backup = early.path("cellar");
    open(&path).backup(&backup).unwrap();
    let mut desk = open(&path);
    for hundred in 0..30 {
        let file = (hundred * 100 + 1..=hundred * 100 + 100_u64).map(|n| {
            // Every third one late.
            let at = moment(25_000 + n.cast_signed() - if n % 3 == 0 { 20 } else { 0 });
            history(n, "d-a", n, at, &topped("2", 1).replace("false", "true"))
        });
        assert_eq!(desk.record(file.collect(), now(), false).unwrap().taken.len(), 100);
    }
    drop(desk);
    drop(open(&path));
    let after = opened(&path, true);
    let all = text(&exported(&after));
    let state = after.state().clone();
    drop(after);
    let mut restored = open(&backup);
    restored.record(lines(&all), now(), false).unwrap();
    drop(restored);
    fs::copy(snapshot_of(&path), snapshot_of(&backup)).unwrap();
    let desk = open(&backup);
    assert!(*desk.state() == state);
    assert_eq!(text(&exported(&desk)), all);
}

#[test]
fn a_laptop_whose_clock_was_far_ahead_leaves_checkpoints_possible() {
    let folder = Folder::new();
    let path = copy(&folder);
    let mut desk = open(&path);
    desk.record(vec![history(1, "d-ahead", 1, moment(90_000_000), &noted("ahead"))], now(), false).unwrap();
    for turn in 0..8 {
        let many: Vec<String> = (0..500).map(|_| noted("on")).collect();
        desk.enter(&act(&many), now()).unwrap();
        desk.enter(&act(&[topped("2", 1 + turn)]), now()).unwrap();
    }
    assert!(*desk.state() == plain_fold(&exported(&desk), i64::MAX));
    drop(desk);
    fs::remove_file(snapshot_of(&path)).unwrap();
    drop(opened(&path, false));
    drop(opened(&path, true));
}

#[test]
fn closing_where_nothing_can_be_written_is_quiet() {
    let folder = Folder::new();
    let path = copy(&folder);
    fs::remove_file(snapshot_of(&path)).unwrap();
    drop(Desk::open(&path, Access::ReadOnly).unwrap());
    assert!(!snapshot_of(&path).exists());
    // A folder stands where the new snapshot should.
    fs::create_dir(snapshot_of(&path)).unwrap();
    drop(open(&path));
    drop(opened(&path, false));
    // The folder itself is gone.
    let desk = open(&path);
    drop(folder);
    drop(desk);
    assert!(!path.exists());
}

/// What cannot be read is not hidden by a snapshot from before it, and nothing is written beside such a file.
#[test]
fn facts_of_a_newer_program_are_seen_past_it() {
    for at in [29_000, 12] {
        let folder = Folder::new();
        let path = copy(&folder);
        let kept = fs::read(snapshot_of(&path)).unwrap();
        let mut log = Log::open(&path, Access::ReadWrite).unwrap();
        let id = FactId { device: log.device().clone(), n: 1 };
        let line = Line { kind: "poured".into(), id, ..exported(&open(&path)).last().unwrap().clone() };
        log.append(log.head().unwrap(), &[Line { at: moment(at), ..line }]).unwrap();
        drop(log);
        let desk = open(&path);
        assert_eq!(desk.opened_from_snapshot(), at == 29_000);
        assert!(desk.why_only_read().is_some());
        drop(desk);
        assert!(fs::read(snapshot_of(&path)).unwrap() == kept);
    }
}

/// Whoever changes a volume in it and makes its digest right again is believed by no verification.
#[test]
fn one_that_was_forged_is_named_by_verify() {
    let folder = Folder::new();
    let path = copy(&folder);
    let good = fs::read(snapshot_of(&path)).unwrap();
    let truth = plain_fold(&exported(&open(&path)), i64::MAX);
    assert!(open(&path).verify().unwrap().problems.is_empty());
    let lie = (40..good.len()).rev().step_by(7).find(|&at| {
        let mut body = good[32..].to_vec();
        body[at - 32] ^= 1;
        fs::write(snapshot_of(&path), [&Sha256::digest(&body)[..], &body].concat()).unwrap();
        let desk = Desk::open(&path, Access::ReadOnly).unwrap();
        desk.opened_from_snapshot() && *desk.state() != truth
    });
    assert!(lie.is_some(), "no byte of it says anything");
    let problems = Desk::open(&path, Access::ReadOnly).unwrap().verify().unwrap().problems;
    let [problem] = problems.as_slice() else { panic!("{problems:?}") };
    assert!(problem.contains("says something else than its facts. Delete that file"), "{problem}");
    fs::remove_file(snapshot_of(&path)).unwrap();
    assert!(Desk::open(&path, Access::ReadOnly).unwrap().verify().unwrap().problems.is_empty());
    // The old digest beside a changed volume, or one of other links, is refused.
    let mut body = good.clone();
    body[lie.unwrap()] ^= 1;
    fs::write(snapshot_of(&path), body).unwrap();
    assert!(!Desk::open(&path, Access::ReadOnly).unwrap().opened_from_snapshot());
}
