//! Damage and loss: whatever happens to a file, verify or the opening of it says so.

use std::fs;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use barrelwalk::cellar::core::fact::{Device, FactId, Line};
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::log::{Access, DamageSearch, Difference, Log, LogError, Loss, Position, Problem, Warning};
use rusqlite::types::Value;
use rusqlite::{Connection, OpenFlags};

use crate::support::damage::without_guards;
use crate::support::{self, exported, filled, open, topped};

/// Every column of every fact, read past all checks; none where the database cannot give them.
fn raw_facts(path: &Path) -> Option<Vec<Vec<Value>>> {
    let connection = Connection::open_with_flags(path, OpenFlags::SQLITE_OPEN_READ_ONLY).ok()?;
    let select = "SELECT devices.name, facts.* FROM facts LEFT JOIN devices USING (device) ORDER BY position";
    let mut statement = connection.prepare(select).ok()?;
    let columns = statement.column_count();
    let rows = statement.query_map([], |row| (0..columns).map(|column| row.get(column)).collect()).ok()?;
    rows.collect::<Result<_, _>>().ok()
}

/// A repeatable source of numbers.
struct Dice(u64);

impl Dice {
    fn below(&mut self, end: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % end as u64).unwrap()
    }
}

fn flip(path: &Path, dice: &mut Dice) -> (usize, usize) {
    let mut bytes = fs::read(path).unwrap();
    let (at, bit) = (dice.below(bytes.len()), dice.below(8));
    bytes[at] ^= 1 << bit;
    fs::write(path, bytes).unwrap();
    (at, bit)
}

/// Whether opening a file or checking it says that something is wrong.
fn is_seen(path: &Path, access: Access) -> bool {
    !Log::open(path, access).is_ok_and(|log| log.verify(&mut |_, _| ()).is_ok_and(|report| report.is_clean()))
}

#[test]
fn every_flipped_bit_that_damages_a_fact_is_seen() {
    let folder = tempfile::tempdir().unwrap();
    let log = filled(&folder.path().join("cellar"), 150);
    let good = folder.path().join("good");
    log.backup(&good).unwrap();
    let facts = raw_facts(&good).unwrap();
    assert_eq!(facts.len(), 150);
    let flipped = folder.path().join("flipped");
    let mut dice = Dice(0x5eed);
    let mut damaged = 0;
    for _ in 0..1_200 {
        fs::copy(&good, &flipped).unwrap();
        let place = flip(&flipped, &mut dice);
        if raw_facts(&flipped).as_ref() != Some(&facts) {
            damaged += 1;
            assert!(is_seen(&flipped, Access::ReadOnly), "flipping {place:?} passed unseen");
        }
    }
    // The control: most of the file is facts, so flips do reach them.
    assert!(damaged > 300, "only {damaged} flips reached a fact");
    assert!(!is_seen(&good, Access::ReadOnly));
}

/// A copy of a log that is still open, with its sidecars: what a power cut leaves.
fn cut_off(log: &Log, into: &Path, endings: &[&str]) -> PathBuf {
    fs::create_dir_all(into).unwrap();
    let target = into.join("cellar");
    for ending in endings {
        let with = |path: &Path| PathBuf::from(format!("{}{ending}", path.display()));
        fs::copy(with(log.path()), with(&target)).unwrap();
    }
    target
}

#[test]
fn a_flipped_bit_in_the_newest_facts_is_seen_by_the_mark() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    drop(filled(&path, 20));
    let mut log = open(&path);
    for n in 21..=30 {
        let line = topped(log.device(), n, i64::try_from(n).unwrap());
        log.append(Position::new(i64::try_from(n).unwrap() - 1), &[line]).unwrap();
    }
    let before = exported(&log);
    let mut dice = Dice(0xcafe);
    let mut lost = 0;
    for round in 0..150 {
        let copy = cut_off(&log, &folder.path().join(round.to_string()), &["", "-wal", "-mark"]);
        let wal = PathBuf::from(format!("{}-wal", copy.display()));
        let place = flip(&wal, &mut dice);
        let Ok(opened) = Log::open(&copy, Access::ReadWrite) else { continue };
        let mut lines = Vec::new();
        let whole = opened.export(None, &mut |line| {
            lines.push(line.to_json());
            ControlFlow::Continue(())
        });
        if whole.is_err() || lines != before {
            lost += 1;
            let report = opened.verify(&mut |_, _| ()).unwrap();
            assert!(!report.is_clean() && !opened.warnings().is_empty(), "flipping {place:?} passed unseen");
        }
    }
    assert!(lost > 20, "only {lost} flips lost a fact");
}

#[test]
fn facts_that_vanished_are_missed_until_they_are_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    drop(filled(&path, 20));
    let mut log = open(&path);
    let lines: Vec<Line> = (21..=23).map(|n| topped(log.device(), n, 30)).collect();
    log.append(Position::new(20), &lines).unwrap();
    let device = log.device().clone();
    let copy = cut_off(&log, &folder.path().join("lost"), &["", "-mark"]);
    drop(log);

    // The newest facts were in the lost file: the log opens, says which, and goes on under another name.
    let loss = Loss::Missing { device: device.clone(), from: 21, to: 23 };
    let mut cellar = open(&copy);
    assert_eq!(cellar.warnings(), [Warning::Lost(loss.clone())]);
    let words = cellar.warnings()[0].to_string();
    assert!(words.contains(&format!("facts 21 to 23 of device {device} are missing")), "{words}");
    assert_ne!(cellar.device(), &device);
    let (renewed, line) = (cellar.device().clone(), topped(cellar.device(), 1, 40));
    assert_eq!(cellar.append(Position::new(20), &[line]).unwrap(), Position::new(21));
    drop(cellar);

    // It stays so, and under the same new name, until the facts are back.
    let mut cellar = open(&copy);
    assert_eq!((cellar.warnings(), cellar.device()), (&[Warning::Lost(loss.clone())][..], &renewed));
    assert_eq!(cellar.verify(&mut |_, _| ()).unwrap().problems, [Problem::Lost(loss)]);
    cellar.append(Position::new(21), &lines[..2]).unwrap();
    drop(cellar);
    let mut cellar = open(&copy);
    assert_eq!(cellar.warnings(), [Warning::Lost(Loss::Missing { device: device.clone(), from: 23, to: 23 })]);
    cellar.append(Position::new(23), &lines[2..]).unwrap();
    assert!(cellar.verify(&mut |_, _| ()).unwrap().is_clean());
    drop(cellar);
    let whole = open(&copy);
    assert_eq!((whole.warnings(), whole.device()), (&[][..], &renewed));
}

#[test]
fn an_older_copy_put_in_the_place_of_the_file_is_noticed() {
    let moved: fn(&Path, &Path) = |from, to| fs::rename(from, to).unwrap();
    let written_over: fn(&Path, &Path) = |from, to| fs::write(to, fs::read(from).unwrap()).unwrap();
    for put in [moved, written_over] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("cellar");
        let mut log = filled(&path, 5);
        log.backup(&folder.path().join("copy")).unwrap();
        let device = log.device().clone();
        log.append(Position::new(5), &[topped(&device, 6, 6)]).unwrap();
        drop(log);
        put(&folder.path().join("copy"), &path);
        let log = open(&path);
        assert_eq!(log.warnings(), [Warning::Lost(Loss::Missing { device: device.clone(), from: 6, to: 6 })]);
        assert_ne!(log.device(), &device);
    }
}

#[test]
fn an_offset_that_no_clock_has_is_seen() {
    let folder = tempfile::tempdir().unwrap();
    let mut log = support::create(&folder.path().join("cellar"));
    let line = topped(log.device(), 1, 1);
    log.append(Position::START, &[Line { at: Moment::new(line.at.instant(), 1_439), ..line }]).unwrap();
    // Brought back into its range it would be the very offset that was stored.
    without_guards(log.path(), "UPDATE facts SET offset_minutes = 2000");
    let problems = log.verify(&mut |_, _| ()).unwrap().problems;
    assert!(matches!(problems[..], [Problem::Unreadable { .. }]), "{problems:?}");
}

#[test]
fn a_backup_put_beside_what_an_earlier_file_left_is_not_mixed_with_it() {
    let folder = tempfile::tempdir().unwrap();
    let log = filled(&folder.path().join("cellar"), 5);
    log.backup(&folder.path().join("copy")).unwrap();
    let broken_off = cut_off(&log, &folder.path().join("cut"), &["", "-wal", "-mark"]);
    fs::copy(folder.path().join("copy"), &broken_off).unwrap();
    let copy = exported(&open(&folder.path().join("copy")));
    let cellar = open(&broken_off);
    assert!(matches!(cellar.warnings(), [Warning::SetAsideUnread { .. }]), "{:?}", cellar.warnings());
    assert_eq!(exported(&cellar), copy);
    drop(cellar);
    assert!(open(&broken_off).warnings().is_empty());
}

#[test]
fn a_history_written_anew_is_noticed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    let log = filled(&path, 5);
    let device = log.device().clone();
    // The same cellar, but its fifth fact is another one, with a chain that is whole.
    log.backup(&folder.path().join("copy")).unwrap();
    drop(log);
    without_guards(&folder.path().join("copy"), "DELETE FROM facts WHERE n = 5");
    let mut forged = open(&folder.path().join("copy"));
    forged.append(Position::new(4), &[topped(&device, 5, 500)]).unwrap();
    drop(forged);
    fs::rename(folder.path().join("copy"), &path).unwrap();
    let log = open(&path);
    assert_eq!(log.warnings(), [Warning::Lost(Loss::Changed(FactId { device, n: 5 }))]);
}

#[test]
fn a_copy_gets_a_device_of_its_own_without_a_word() {
    let folder = tempfile::tempdir().unwrap();
    let log = filled(&folder.path().join("cellar"), 5);
    let (device, original) = (log.device().clone(), log.path().to_owned());
    drop(log);
    let alone = folder.path().join("alone");
    fs::copy(&original, &alone).unwrap();
    let with_mark = folder.path().join("with");
    fs::copy(&original, &with_mark).unwrap();
    fs::copy(folder.path().join("cellar-mark"), folder.path().join("with-mark")).unwrap();
    for copy in [alone, with_mark] {
        let log = open(&copy);
        assert!(log.warnings().is_empty());
        assert_ne!(log.device(), &device);
    }
    // A copy put back into the place of the file is still a copy: the first may have gone on elsewhere.
    fs::copy(&original, folder.path().join("again")).unwrap();
    fs::rename(folder.path().join("again"), &original).unwrap();
    let log = open(&original);
    assert!(log.warnings().is_empty());
    #[cfg(unix)]
    assert_ne!(log.device(), &device);
}

#[test]
fn a_damaged_mark_is_said_and_costs_no_fact() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    let mark = folder.path().join("cellar-mark");
    let log = filled(&path, 5);
    let device = log.device().clone();
    drop(log);
    let good = fs::read_to_string(&mark).unwrap();
    let end_of_head = good.replace("[5,", "[4,");
    for bad in ["", "{}", "not a mark", &good[..100], &end_of_head, &"[".repeat(200_000)] {
        fs::write(&mark, bad).unwrap();
        let mut log = open(&path);
        assert!(matches!(log.warnings(), [Warning::MarkDamaged { .. }]), "{bad}: {:?}", log.warnings());
        assert_ne!(log.device(), &device);
        let head = log.head().unwrap();
        let line = topped(log.device(), 1, 50);
        log.append(head, &[line]).unwrap();
        drop(log);
        assert!(open(&path).warnings().is_empty());
    }
    drop(filled(&folder.path().join("other"), 1));
    fs::copy(folder.path().join("other-mark"), &mark).unwrap();
    assert!(matches!(open(&path).warnings(), [Warning::OtherCellar(_)]));
}

#[test]
fn verify_names_the_first_broken_link_and_what_differs() {
    let folder = tempfile::tempdir().unwrap();
    let good = folder.path().join("good");
    let mut log = filled(&good, 9);
    let device = log.device().clone();
    log.append(Position::new(9), &[topped(&support::device("d-other"), 1, 4)]).unwrap();
    drop(log);
    let path = folder.path().join("cellar");
    let problems = |change: &str| {
        for ending in ["", "-mark"] {
            let name = |path: &Path| PathBuf::from(format!("{}{ending}", path.display()));
            fs::copy(name(&good), name(&path)).unwrap();
        }
        without_guards(&path, change);
        let log = Log::open(&path, Access::ReadOnly).unwrap();
        log.verify(&mut |_, _| ()).unwrap().problems
    };
    let id = |n| FactId { device: device.clone(), n };
    let link = |n, differs| Problem::Link { id: id(n), differs };

    assert_eq!(problems(""), []);
    let body = "body = replace(body, '1700000', '1700001')";
    assert_eq!(problems(&format!("UPDATE facts SET {body} WHERE n = 4")), [link(4, Difference::Content)]);
    assert_eq!(problems(&format!("UPDATE facts SET {body} WHERE n IN (3, 6)")), [link(3, Difference::Content)]);
    assert_eq!(problems("UPDATE facts SET link = zeroblob(32) WHERE n = 4"), [link(4, Difference::Link)]);
    assert_eq!(problems("UPDATE facts SET author = 'km' WHERE n = 9"), [link(9, Difference::ContentOrLink)]);
    for column in ["instant", "offset_minutes", "written_instant", "written_offset"] {
        let found = problems(&format!("UPDATE facts SET {column} = {column} + 1 WHERE n = 2"));
        assert_eq!(found, [link(2, Difference::Content)], "{column}");
    }
    for change in ["job = NULL", "note = 'x'", "kind = 'lost'"] {
        let found = problems(&format!("UPDATE facts SET {change} WHERE n = 2"));
        assert_eq!(found, [link(2, Difference::Content)], "{change}");
    }
    let gap = problems("DELETE FROM facts WHERE n = 4");
    let position = |n| Position::new(n);
    assert_eq!(
        gap,
        [Problem::Position { expected: position(4), found: position(5) }, Problem::Gap { expected: id(4), found: 5 },]
    );
    assert_eq!(
        problems("DELETE FROM facts WHERE n > 7"),
        [
            Problem::Position { expected: position(8), found: position(10) },
            Problem::Lost(Loss::Missing { device: device.clone(), from: 8, to: 9 }),
        ]
    );
    let other = FactId { device: support::device("d-other"), n: 1 };
    assert_eq!(problems("UPDATE facts SET late = NULL WHERE position = 10"), [Problem::Order(other)]);
    assert_eq!(problems("UPDATE facts SET late = 'd-other' WHERE position = 3"), [Problem::Order(id(3))]);
    let renamed = problems("UPDATE devices SET name = 'd-forger' WHERE device = 1");
    assert!(matches!(&renamed[0], Problem::Link { id, .. } if id.n == 1), "{renamed:?}");
    assert!(
        problems("UPDATE facts SET body = '{' WHERE n = 5")
            .iter()
            .any(|problem| matches!(problem, Problem::Unreadable { position, .. } if *position == Position::new(5)))
    );
    for problem in gap {
        assert!(problem.to_string().ends_with('.'));
    }
}

/// A search may begin anywhere in the log, and several may share it: every damaged fact is found, and no other.
#[test]
fn wherever_a_search_begins_and_ends_it_finds_what_is_damaged() {
    let folder = tempfile::tempdir().unwrap();
    let good = folder.path().join("good");
    let mut log = filled(&good, 9);
    let (own, other) = (log.device().clone(), support::device("d-other"));
    let of_other: Vec<Line> = (1..=6).map(|n| topped(&other, n, i64::try_from(n).unwrap())).collect();
    log.append(Position::new(9), &of_other).unwrap();
    let more: Vec<Line> = (10..=14).map(|n| topped(&own, n, 20 + i64::try_from(n).unwrap())).collect();
    log.append(Position::new(15), &more).unwrap();
    drop(log);
    let path = folder.path().join("cellar");
    let damaged = |change: &str, after: i64, until: i64| {
        let _ = fs::remove_file(&path);
        fs::copy(&good, &path).unwrap();
        without_guards(&path, change);
        let log = Log::open(&path, Access::ReadOnly).unwrap();
        let search = DamageSearch::new(Position::new(after), Position::new(until));
        log.search_damage(&search).unwrap()
    };
    let id = |device: &Device, n| FactId { device: device.clone(), n };
    for (position, fact) in
        [(1, id(&own, 1)), (9, id(&own, 9)), (12, id(&other, 3)), (16, id(&own, 10)), (20, id(&own, 14))]
    {
        let content = format!("UPDATE facts SET author = 'km' WHERE position = {position}");
        let link = format!("UPDATE facts SET link = zeroblob(32) WHERE position = {position}");
        // Of the last fact of a device nothing tells whether its content or its link was changed.
        let by_link: &[FactId] = if position == 20 { std::slice::from_ref(&fact) } else { &[] };
        for border in 0..=20 {
            let both = |change: &str| {
                let mut found = damaged(change, 0, border);
                found.extend(damaged(change, border, 20));
                found.dedup();
                found
            };
            assert_eq!(both(&content), std::slice::from_ref(&fact), "position {position}, border {border}");
            assert_eq!(both(&link), by_link, "position {position}, border {border}");
        }
    }
    assert_eq!(damaged("", 0, 20), []);
    // A fact that is gone is missed, and what followed it is not taken on trust.
    assert_eq!(damaged("DELETE FROM facts WHERE position = 5", 0, 20), [id(&own, 5), id(&own, 6)]);
}

#[test]
fn a_missing_guard_is_seen() {
    let folder = tempfile::tempdir().unwrap();
    let log = filled(&folder.path().join("cellar"), 2);
    Connection::open(log.path()).unwrap().execute_batch("DROP TRIGGER facts_are_never_deleted").unwrap();
    let problems = log.verify(&mut |_, _| ()).unwrap().problems;
    assert_eq!(problems, [Problem::Guard("facts_are_never_deleted".to_owned())]);
}

#[test]
fn a_truncated_file_is_refused_or_seen() {
    let folder = tempfile::tempdir().unwrap();
    let log = filled(&folder.path().join("cellar"), 400);
    let good = folder.path().join("good");
    log.backup(&good).unwrap();
    let length = usize::try_from(fs::metadata(&good).unwrap().len()).unwrap();
    let cut = folder.path().join("cut");
    for kept in (1..length).step_by(997) {
        fs::write(&cut, &fs::read(&good).unwrap()[..kept]).unwrap();
        for access in [Access::ReadOnly, Access::ReadWrite] {
            assert!(is_seen(&cut, access), "{kept} of {length} bytes passed as a whole file");
        }
    }
    fs::write(&cut, &fs::read(&good).unwrap()[..length / 2]).unwrap();
    if let Err(error) = Log::open(&cut, Access::ReadOnly) {
        assert!(matches!(error, LogError::Damaged { .. }), "{error}");
    }
}
