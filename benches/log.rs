//! What the log costs beside the bare disk and the bare database, measured in the same run: appending one fact against
//! writing and syncing the same bytes, scanning a million facts against stepping through the same rows.
//!
//! `cargo bench --bench log`
#![allow(clippy::unwrap_used)]

#[path = "../tests/support/mod.rs"]
mod support;

use std::fs::File;
use std::hint::black_box;
use std::io::Write;
use std::ops::ControlFlow;
use std::path::Path;
use std::time::{Duration, Instant};

use barrelwalk::cellar::core::fact::Line;
use barrelwalk::log::{Log, Position, ScanStart};
use rusqlite::Connection;
use support::{create, device, open, topped};

const FACTS: u64 = 1_000_000;
const APPENDS: u64 = 2_000;

fn main() {
    // A folder beside the build, on a real disk: the system's own for temporary files may be memory.
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    let path = folder.path().join("cellar");
    let mut log = create(&path);
    appends("an empty log", &mut log, folder.path());

    let started = Instant::now();
    fill(&mut log);
    println!("import of {FACTS} facts, 1,000 a transaction: {:.2} s", started.elapsed().as_secs_f64());
    drop(log);
    let started = Instant::now();
    let mut log = open(&path);
    println!("opening it: {:.2} ms", started.elapsed().as_secs_f64() * 1e3);
    println!("the file takes {} MB", std::fs::metadata(&path).unwrap().len() / 1_000_000);
    appends("a log of a million facts", &mut log, folder.path());
    scans(&log, &path);

    let started = Instant::now();
    let report = log.verify(&mut |_, _| ()).unwrap();
    assert!(report.is_clean());
    println!("verifying it: {:.2} s", started.elapsed().as_secs_f64());
    let started = Instant::now();
    let mut bytes = 0;
    log.export(None, &mut |line| {
        bytes += line.to_json().len();
        ControlFlow::Continue(())
    })
    .unwrap();
    println!("exporting its {} MB: {:.2} s", bytes / 1_000_000, started.elapsed().as_secs_f64());
    let started = Instant::now();
    log.backup(&folder.path().join("copy")).unwrap();
    println!("a backup: {:.2} s", started.elapsed().as_secs_f64());

    late(&mut log);
    scans(&log, &path);
}

fn appends(name: &str, log: &mut Log, folder: &Path) {
    let device = log.device().clone();
    let mut head = log.head().unwrap();
    let first = log.heads().unwrap().iter().find(|head| head.id.device == device).map_or(1, |head| head.id.n + 1);
    let mut raw_file = File::create(folder.join("raw")).unwrap();
    let (mut stored, mut raw) = (Vec::new(), Vec::new());
    // In turns, so that both see the same weather on the disk.
    for n in first..first + APPENDS {
        let line = topped(&device, n, i64::try_from(n).unwrap());
        let bytes = line.to_json();
        let started = Instant::now();
        raw_file.write_all(bytes.as_bytes()).unwrap();
        raw_file.sync_data().unwrap();
        raw.push(started.elapsed());
        let started = Instant::now();
        head = log.append(head, &[line]).unwrap();
        stored.push(started.elapsed());
    }
    let (stored, raw) = (percentiles(stored), percentiles(raw));
    println!(
        "append to {name}: p50 {:.0} µs, p99 {:.0} µs; raw write and sync: p50 {:.0} µs, p99 {:.0} µs; ratio {:.2}, {:.2}",
        stored.0,
        stored.1,
        raw.0,
        raw.1,
        stored.0 / raw.0,
        stored.1 / raw.1
    );
}

fn percentiles(mut times: Vec<Duration>) -> (f64, f64) {
    times.sort();
    let at = |hundredth: usize| times[times.len() * hundredth / 100].as_secs_f64() * 1e6;
    (at(50), at(99))
}

fn fill(log: &mut Log) {
    let device = log.device().clone();
    let mut n = log.heads().unwrap().first().map_or(1, |head| head.id.n + 1);
    let mut head = log.head().unwrap();
    while head < Position::new(i64::try_from(FACTS).unwrap()) {
        let lines: Vec<Line> = (n..n + 1_000).map(|n| topped(&device, n, i64::try_from(n).unwrap())).collect();
        head = log.append(head, &lines).unwrap();
        n += 1_000;
    }
}

/// A tenth as many facts of another laptop, all of them late.
fn late(log: &mut Log) {
    let device = device("d-other");
    let head = log.head().unwrap();
    let lines: Vec<Line> = (1..=FACTS / 10).map(|n| topped(&device, n, i64::try_from(n * 10).unwrap())).collect();
    let started = Instant::now();
    log.append(head, &lines).unwrap();
    println!("a merge of {} late facts: {:.2} s", lines.len(), started.elapsed().as_secs_f64());
}

fn scans(log: &Log, path: &Path) {
    let bare = Connection::open(path).unwrap();
    let (mut ours, mut stepping, mut reading) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..9 {
        let started = Instant::now();
        let mut sum = 0;
        log.scan(&ScanStart::Beginning, &mut |fact| {
            sum += fact.body.len() + fact.kind.len();
            ControlFlow::Continue(())
        })
        .unwrap();
        black_box(sum);
        ours.push(started.elapsed());

        let select = "SELECT device, n, instant, offset_minutes, kind, body FROM facts ORDER BY position";
        let mut statement = bare.prepare(select).unwrap();
        let started = Instant::now();
        let mut rows = statement.query([]).unwrap();
        while let Some(row) = rows.next().unwrap() {
            black_box(row);
        }
        stepping.push(started.elapsed());
        drop(rows);
        let started = Instant::now();
        let mut rows = statement.query([]).unwrap();
        while let Some(row) = rows.next().unwrap() {
            for column in 0..6 {
                black_box(row.get_ref(column).unwrap());
            }
        }
        reading.push(started.elapsed());
    }
    println!(
        "scan of {}: {:.0} ms; stepping only: {:.0} ms; stepping and reading the columns: {:.0} ms",
        log.head().unwrap(),
        percentiles(ours).0 / 1e3,
        percentiles(stepping).0 / 1e3,
        percentiles(reading).0 / 1e3
    );
}
