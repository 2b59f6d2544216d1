//! What the desk costs beside the bare database and the bare disk, measured in the same run.
//!
//! `cargo bench --bench desk`; with words after `--` only the parts of those names: `open`, `memory`, `append`, `edit`,
//! `refresh`.
#![allow(clippy::unwrap_used, clippy::cast_precision_loss)]

mod corpus;
#[path = "../support/written.rs"]
mod written;

use std::fs::File;
use std::hint::black_box;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use barrelwalk::cellar::core::fact::{IncomingFact, What};
use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::cellar::jobs::topping::Topped;
use barrelwalk::desk::{Access, Act, Desk, IncomingLine};
use barrelwalk::log::Log;
use barrelwalk::units::Volume;
use rusqlite::Connection;

const FEW: u64 = 250_000;
const MANY: u64 = 1_000_000;
/// How often what takes long is measured.
const TIMES: usize = 7;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|word| word != "--bench").collect();
    if let [word, path] = words.as_slice()
        && word == "only-open"
    {
        return only_open(Path::new(path));
    }
    let wanted = |part: &str| words.is_empty() || words.iter().any(|word| word == part);
    let (few, many) = (corpus::corpus(FEW), corpus::corpus(MANY));
    if wanted("open") {
        openings(&few, FEW);
        openings(&many, MANY);
    }
    if wanted("memory") {
        memory(&many);
    }
    // Beside the build, on a real disk: the system's own folder for temporary files may be memory.
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    if wanted("append") {
        let path = folder.path().join("empty");
        Desk::create(&path, corpus::end()).unwrap();
        let mut desk = Desk::open(&path, Access::ReadWrite).unwrap();
        found(&mut desk);
        appends("a new cellar", &mut desk, folder.path());
    }
    if wanted("append") || wanted("edit") || wanted("refresh") {
        let path = corpus::copy(&many, folder.path());
        let mut desk = Desk::open(&path, Access::ReadWrite).unwrap();
        if wanted("append") {
            appends("a million facts", &mut desk, folder.path());
        }
        if wanted("edit") {
            edits(desk, &path);
        }
        if wanted("refresh") {
            refreshes(&path);
        }
    }
}

fn milliseconds(times: Vec<Duration>) -> f64 {
    hundredth(times, 50) / 1e3
}

/// A hundredth of the times, in microseconds.
fn hundredth(mut times: Vec<Duration>, which: usize) -> f64 {
    times.sort();
    times[times.len() * which / 100].as_secs_f64() * 1e6
}

fn timed<T>(times: &mut Vec<Duration>, work: impl FnOnce() -> T) -> T {
    let started = Instant::now();
    let result = work();
    times.push(started.elapsed());
    result
}

fn snapshot_of(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push("-snapshot");
    PathBuf::from(name)
}

/// Milliseconds that this process has spent on a processor, in all its threads; unlike time, hardly more on a busy
/// machine. Nothing where the system does not say.
fn processor_milliseconds() -> Option<f64> {
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    let ticks: Vec<f64> = stat.rsplit(')').next()?.split(' ').skip(12).take(2).map_while(|n| n.parse().ok()).collect();
    // A tick is a hundredth of a second.
    (ticks.len() == 2).then(|| ticks.iter().sum::<f64>() * 10.0)
}

/// What work costs a processor, on the average of several times.
fn processor_time(mut work: impl FnMut()) -> Option<f64> {
    let before = processor_milliseconds()?;
    (0..TIMES).for_each(|_| work());
    Some((processor_milliseconds()? - before) / TIMES as f64)
}

fn openings(path: &Path, facts: u64) {
    let _ = std::fs::remove_file(snapshot_of(path));
    let stepping = processor_time(|| step(path));
    let folding = processor_time(|| drop(Desk::open_at_once(path, Access::ReadOnly, || ()).unwrap()));
    if let (Some(stepping), Some(folding)) = (stepping, folding) {
        let each = folding / 2.0;
        println!(
            "processor time {facts}: stepping {stepping:.0} ms; folding all {folding:.0} ms on two threads, {:.2} times stepping on each",
            each / stepping
        );
    }
    let (mut stepping, mut folding, mut snapshot, mut bare) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let (mut told, mut checked) = (Vec::new(), Vec::new());
    for _ in 0..TIMES {
        timed(&mut stepping, || step(path));
        let _ = std::fs::remove_file(snapshot_of(path));
        shown_and_checked(path, (&mut folding, &mut told));
        let desk = timed(&mut checked, || Desk::open(path, Access::ReadWrite).unwrap());
        drop(desk);
        drop(timed(&mut bare, || Log::open(path, Access::ReadWrite).unwrap()));
        let desk = timed(&mut snapshot, || Desk::open(path, Access::ReadWrite).unwrap());
        assert!(desk.opened_from_snapshot());
    }
    let (stepping, folding) = (milliseconds(stepping), milliseconds(folding));
    println!(
        "check {facts}: shown after {folding:.0} ms, what the check found told {:.0} ms after the start; a command, which waits for it, {:.0} ms",
        milliseconds(told),
        milliseconds(checked),
    );
    println!(
        "open {facts}: stepping {stepping:.0} ms; folding all {folding:.0} ms, ratio {:.2}; from the snapshot ({:.1} MB) {:.1} ms, of which the log {:.1} ms",
        folding / stepping,
        std::fs::metadata(snapshot_of(path)).unwrap().len() as f64 / 1e6,
        milliseconds(snapshot),
        milliseconds(bare),
    );
    let desk = Desk::open(path, Access::ReadWrite).unwrap();
    let _ = std::fs::remove_file(snapshot_of(path));
    let mut closing = Vec::new();
    timed(&mut closing, || drop(desk));
    println!("close {facts}: {:.1} ms", milliseconds(closing));
}

/// As the screen opens a cellar: the time until it can be shown, and until it is told what the check of all facts found.
fn shown_and_checked(path: &Path, (shown, told): (&mut Vec<Duration>, &mut Vec<Duration>)) {
    timed(told, || {
        let (sender, over) = std::sync::mpsc::channel();
        let done = move || {
            let _ = sender.send(());
        };
        let mut desk = timed(shown, || Desk::open_at_once(path, Access::ReadWrite, done).unwrap());
        // Nothing is sent where so little is to be checked that it was, at once.
        let _ = over.recv();
        assert_eq!(desk.heed_check().unwrap(), None);
        desk
    });
    let _ = std::fs::remove_file(snapshot_of(path));
}

/// What nobody could do faster: every row, no column read.
fn step(path: &Path) {
    let bare = Connection::open(path).unwrap();
    let select = "SELECT device, n, instant, offset_minutes, kind, body FROM facts ORDER BY position";
    let mut statement = bare.prepare(select).unwrap();
    let mut rows = statement.query([]).unwrap();
    while let Some(row) = rows.next().unwrap() {
        black_box(row);
    }
}

/// In a process of its own, for the peak counts from its beginning.
fn memory(path: &Path) {
    let own = std::env::current_exe().unwrap();
    for kind in ["folding all", "from the snapshot"] {
        if kind == "folding all" {
            let _ = std::fs::remove_file(snapshot_of(path));
        }
        let output = Command::new(&own).args(["only-open", path.to_str().unwrap()]).output().unwrap();
        print!("memory, {kind}: {}", String::from_utf8_lossy(&output.stdout));
    }
}

fn only_open(path: &Path) {
    let mut times = Vec::new();
    let desk = timed(&mut times, || Desk::open_at_once(path, Access::ReadWrite, || ()).unwrap());
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status.lines().find(|line| line.starts_with("VmHWM")).unwrap_or("VmHWM is not known here");
    println!("{} facts in {:.1} ms, {peak}", desk.state().facts, milliseconds(times));
}

/// The vessels that are topped, in a new cellar.
fn found(desk: &mut Desk) {
    let room = (r#""kind":"lot_opened","lot":"M15 0","colour":"red""#.to_owned()).into_bytes();
    let mut facts = vec![
        String::from_utf8(room).unwrap(),
        r#""kind":"origin_declared","origin":"o","block":"b","variety":"Merlot","vintage":2015,"appellation":"a","colour":"red""#.to_owned(),
    ];
    for (vessel, kind) in [("K0", "tank"), ("00000", "barrel"), ("00001", "barrel")] {
        let litres = if kind == "tank" { 900_000 } else { 225 };
        facts.push(format!(
            r#""kind":"vessel_registered","vessel":"{vessel}","type":"{kind}","capacity_ul":{litres}000000"#
        ));
        facts.push(format!(
            r#""kind":"wine_received","vessel":"{vessel}","lot":"M15 0","parts":[{{"origin":"o","volume_ul":{litres}000000}}]"#
        ));
    }
    let lines = facts.iter().zip(1..).map(|(fact, number)| line(number, corpus::end(), fact)).collect();
    assert_eq!(desk.record(lines, corpus::end(), false).unwrap().refused, []);
}

fn line(number: u64, at: Moment, fields: &str) -> IncomingLine {
    let (fact, body) = IncomingFact::from_json(&format!(r#"{{"at":"{at}","by":"mk",{fields}}}"#)).unwrap();
    IncomingLine { number, fact, body }
}

fn label(text: &str) -> Label {
    Label::new(text).unwrap()
}

fn topping(litre_tenths: u64) -> Act {
    let topped = Topped {
        again: false,
        vessel: label(if litre_tenths.is_multiple_of(2) { "00000" } else { "00001" }),
        from: label("K0"),
        volume: Volume::from_ul(litre_tenths % 7 * 1_000),
        full: true,
    };
    Act::of(vec![What::from(topped)], label("mk"))
}

fn later(seconds: i64) -> Moment {
    let end = corpus::end();
    end.at_instant(end.instant() + seconds * 1_000_000)
}

fn appends(name: &str, desk: &mut Desk, folder: &Path) {
    let mut raw_file = File::create(folder.join("raw")).unwrap();
    let (mut entered, mut raw) = (Vec::new(), Vec::new());
    // In turns, so that both see the same weather on the disk.
    for turn in 0..3_000 {
        let now = later(turn);
        let bytes = [b'x'; 260];
        timed(&mut raw, || {
            raw_file.write_all(&bytes).unwrap();
            raw_file.sync_data().unwrap();
        });
        let act = topping(u64::try_from(turn).unwrap());
        timed(&mut entered, || desk.enter(&act, now).unwrap());
    }
    let at = |times: &Vec<Duration>, which| hundredth(times.clone(), which);
    println!(
        "enter into {name}: p50 {:.0} µs, p99 {:.0} µs; raw write and sync: p50 {:.0} µs, p99 {:.0} µs; ratio {:.2}, {:.2}",
        at(&entered, 50),
        at(&entered, 99),
        at(&raw, 50),
        at(&raw, 99),
        at(&entered, 50) / at(&raw, 50),
        at(&entered, 99) / at(&raw, 99),
    );
}

fn edits(mut desk: Desk, path: &Path) {
    let mut clock = 10_000;
    let mut now = || {
        clock += 1;
        later(clock)
    };
    let by = label("mk");
    for turn in 0..20 {
        desk.enter(&topping(turn), now()).unwrap();
    }
    let (mut first, mut undo, mut redo, mut late, mut second) = <(Vec<_>, Vec<_>, Vec<_>, Vec<_>, Vec<_>)>::default();
    for turn in 0..TIMES as u64 {
        drop(desk);
        desk = Desk::open(path, Access::ReadWrite).unwrap();
        timed(&mut first, || desk.undo(&by, now()).unwrap());
        timed(&mut undo, || desk.undo(&by, now()).unwrap());
        timed(&mut redo, || desk.redo(&by, now()).unwrap());
        for (times, hours) in [(&mut late, 23), (&mut second, 22)] {
            let now = now();
            let at = now.at_instant(now.instant() - hours * 3_600_000_000 + i64::try_from(turn).unwrap());
            let late = vec![line(1, at, r#""kind":"noted","about":"00000","text":"entered late""#)];
            let outcome = timed(times, || desk.record(late, now, false).unwrap());
            assert_eq!(outcome.refused, []);
        }
        desk.enter(&topping(turn), now()).unwrap();
    }
    println!(
        "at a million facts: first undo after opening {:.2} ms, next undo {:.2} ms, redo {:.2} ms, an entry 23 hours late {:.2} ms, another {:.2} ms",
        milliseconds(first),
        milliseconds(undo),
        milliseconds(redo),
        milliseconds(late),
        milliseconds(second),
    );
    let mut far = Vec::new();
    for days in [100, 101, 99] {
        let now = now();
        let at = now.at_instant(now.instant() - days * 86_400_000_000);
        let late = vec![line(1, at, r#""kind":"noted","about":"00000","text":"entered late""#)];
        timed(&mut far, || desk.record(late, now, false).unwrap());
    }
    println!(
        "entries 100, 101 and 99 days late: {}",
        far.iter().map(|time| format!("{:.1} ms", time.as_secs_f64() * 1e3)).collect::<Vec<_>>().join(", ")
    );
}

fn refreshes(path: &Path) {
    let mut desk = Desk::open(path, Access::ReadWrite).unwrap();
    let mut other = Desk::open(path, Access::ReadWrite).unwrap();
    let (mut nothing, mut one) = (Vec::new(), Vec::new());
    for turn in 0..1_000 {
        assert!(!timed(&mut nothing, || desk.refresh().unwrap()));
        if turn % 10 == 0 {
            other.enter(&topping(turn), later(100_000 + i64::try_from(turn).unwrap())).unwrap();
            assert!(timed(&mut one, || desk.refresh().unwrap()));
        }
    }
    println!(
        "refresh at a million facts: nothing new {:.1} µs, one new fact {:.0} µs",
        hundredth(nothing, 50),
        hundredth(one, 50)
    );
}
