//! Power cuts, full disks, locked files, write-protected folders and other programs.
//!
//! Some of these need another process: this test program starts itself again, told by the environment what to do.
#![allow(clippy::unwrap_used)] // in what the tests share
#![cfg(unix)]

mod support;

use std::ffi::OsString;
use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use barrelwalk::log::{Access, Log, LogError, Position};
use rusqlite::Connection;
use support::{create, exported, filled, open, topped};

/// What the other process is to do, and to which file.
const TASK: &str = "BARRELWALK_TEST_TASK";
const FILE: &str = "BARRELWALK_TEST_FILE";

/// This program as another process with a task.
fn other_process(task: &str, file: &Path) -> Command {
    let mut command = Command::new(std::env::current_exe().unwrap());
    dressed(&mut command, task, file);
    command.args(OTHER);
    command
}

const OTHER: [&str; 3] = ["--exact", "the_other_process", "--nocapture"];

fn dressed(command: &mut Command, task: &str, file: &Path) {
    command.env(TASK, task).env(FILE, file).env("RUST_BACKTRACE", "0").stdout(Stdio::piped()).stderr(Stdio::piped());
}

#[test]
fn the_other_process() {
    let (Ok(task), Some(file)) = (std::env::var(TASK), std::env::var_os(FILE)) else { return };
    let outcome = match task.as_str() {
        "append one" => append_forever(&file, 1),
        "append five" => append_forever(&file, 5),
        "append 100 beside others" => append_beside_others(&file, 100),
        "read" => read_and_try_to_write(&file),
        _ => panic!("no such task: {task}"),
    };
    if let Err(error) = outcome {
        eprintln!("{error}");
        std::process::exit(1);
    }
}

/// Appends until it is killed or fails, and says of every batch when it is stored.
fn append_forever(file: &OsString, at_once: i64) -> Result<(), LogError> {
    let mut log = Log::open(Path::new(file), Access::ReadWrite)?;
    let device = log.device().clone();
    let mut n = own_last(&log)?;
    let mut head = log.head()?;
    loop {
        acknowledge(head);
        let numbers = n + 1..=n + u64::try_from(at_once).unwrap();
        let lines: Vec<_> = numbers.map(|n| topped(&device, n, i64::try_from(n).unwrap())).collect();
        let stored = log.append(head, &lines)?;
        assert_eq!(stored.get(), head.get() + at_once);
        head = stored;
        n += u64::try_from(at_once).unwrap();
    }
}

fn own_last(log: &Log) -> Result<u64, LogError> {
    Ok(log.heads()?.into_iter().find(|head| head.id.device == *log.device()).map_or(0, |head| head.id.n))
}

fn acknowledge(head: Position) {
    let mut out = std::io::stdout().lock();
    writeln!(out, "\nstored {head}").and_then(|()| out.flush()).unwrap();
}

fn append_beside_others(file: &OsString, facts: u32) -> Result<(), LogError> {
    let mut log = Log::open(Path::new(file), Access::ReadWrite)?;
    let mut done = 0;
    while done < facts {
        let seen = log.head()?;
        let line = topped(&log.device().clone(), own_last(&log)? + 1, i64::from(done));
        match log.append(seen, &[line]) {
            Ok(head) => {
                acknowledge(head);
                done += 1;
            }
            // Another one was faster: look again.
            Err(LogError::Moved { .. } | LogError::OutOfTurn { .. } | LogError::Locked(_)) => {}
            Err(error) => return Err(error),
        }
    }
    Ok(())
}

fn read_and_try_to_write(file: &OsString) -> Result<(), LogError> {
    let path = Path::new(file);
    println!("for writing: {}", Log::open(path, Access::ReadWrite).unwrap_err());
    let mut log = Log::open(path, Access::ReadOnly)?;
    println!("\nread {}", exported(&log).len());
    let line = topped(log.device(), 1, 1);
    println!("append: {}", log.append(log.head()?, &[line]).unwrap_err());
    Ok(())
}

/// The positions that a process acknowledges, as they come.
fn acknowledgements(child: &mut Child) -> impl Iterator<Item = i64> + use<> {
    let lines = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
    lines.filter_map(|line| line.strip_prefix("stored ").map(|number| number.parse().unwrap()))
}

#[test]
fn a_hundred_power_cuts_lose_nothing_that_was_acknowledged() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    let log = filled(&path, 1);
    let device = log.device().clone();
    drop(log);
    let mut head = 1;
    let mut cut_while_appending = 0;
    for round in 0..100_u64 {
        let (task, at_once) = if round % 2 == 0 { ("append one", 1) } else { ("append five", 5) };
        let mut child = other_process(task, &path).spawn().unwrap();
        let mut acknowledgements = acknowledgements(&mut child);
        // At every stage: while it starts and opens, and, two times of three, while it appends.
        let first = if round % 3 == 0 { None } else { acknowledgements.next() };
        std::thread::sleep(Duration::from_millis(1 + round * 37 % 60));
        child.kill().unwrap();
        let last = acknowledgements.last().or(first);
        child.wait().unwrap();
        cut_while_appending += usize::from(last.is_some());

        let log = open(&path);
        assert_eq!((log.warnings(), log.device()), (&[][..], &device), "round {round}");
        let now = log.head().unwrap().get();
        let acknowledged = last.unwrap_or(head);
        assert!(now >= acknowledged, "round {round}: {acknowledged} were acknowledged, {now} are there");
        assert!(now <= acknowledged + at_once, "round {round}: {now} are there, only {acknowledged} were acknowledged");
        assert_eq!((now - head) % at_once, 0, "round {round}: a batch is there in part");
        head = now;
    }
    assert!(cut_while_appending > 60, "only {cut_while_appending} processes came to append");
    assert!(head > 300, "only {head} facts were appended");
    let log = open(&path);
    let report = log.verify(&mut |_, _| ()).unwrap();
    assert_eq!((report.problems.as_slice(), report.facts), (&[][..], u64::try_from(head).unwrap()));
}

#[test]
fn a_disk_that_takes_no_more_is_said_and_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    drop(filled(&path, 1));
    let mut head = 1;
    // The limit is in blocks of the shell; the first ones are met by the sidecar, the last by the file itself.
    for (round, blocks) in [200, 300, 400, 150, 90, 1_000].into_iter().enumerate() {
        let mut shell = Command::new("sh");
        shell.arg("-c").arg(format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$0\" \"$@\""));
        shell.arg(std::env::current_exe().unwrap()).args(OTHER);
        dressed(&mut shell, if round % 2 == 0 { "append one" } else { "append five" }, &path);
        head = fails_and_says_so(&mut shell, &path, head);
    }
    assert!(head > 20, "only {head} facts were appended");
}

#[test]
fn a_disk_that_fails_is_said_and_loses_nothing() {
    let trial =
        Command::new("strace").args(["-o", "/dev/null", "-e", "inject=fsync:error=EIO:when=9", "true"]).output();
    if !trial.is_ok_and(|output| output.status.success()) {
        eprintln!("passed over: there is no strace here to make the disk fail");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    drop(filled(&path, 1));
    let mut head = 1;
    // Once, from then on, or now and then; of the calls that wait for the disk, or of those that write.
    let syncs = ["9", "9+", "10+3"].map(|when| format!("inject=fsync,fdatasync:error=EIO:when={when}"));
    let writes = ["30", "31+", "32+3", "33"].map(|when| format!("inject=pwrite64:error=ENOSPC:when={when}"));
    for injection in syncs.iter().chain(&writes) {
        let mut traced = Command::new("strace");
        traced.args(["-f", "-o", "/dev/null", "-e", "trace=fsync,fdatasync,pwrite64", "-e", injection]);
        traced.arg(std::env::current_exe().unwrap()).args(OTHER);
        dressed(&mut traced, "append one", &path);
        head = fails_and_says_so(&mut traced, &path, head);
    }
    assert!(head > 20, "only {head} facts were appended");
}

/// Lets a process append until the disk fails it. What it acknowledged must be there, and what it says must be true.
/// Gives how many facts there are then.
fn fails_and_says_so(command: &mut Command, path: &Path, before: i64) -> i64 {
    let mut child = command.spawn().unwrap();
    let acknowledged = acknowledgements(&mut child).last().unwrap_or(before);
    let output = child.wait_with_output().unwrap();
    let words = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{command:?}: {words}");
    assert!(words.trim_end().ends_with('.') && words.contains("stored"), "{command:?}: {words}");
    assert!(!words.contains("panicked") && !words.contains(".."), "{command:?}: {words}");

    let log = open(path);
    let now = log.head().unwrap().get();
    assert!(now >= acknowledged, "{command:?}: {acknowledged} were acknowledged, {now} are there\n{words}");
    assert!(now <= acknowledged + 5, "{command:?}: {now} are there, {acknowledged} were acknowledged\n{words}");
    let certain = words.contains("This was not stored");
    assert!(!certain || now == acknowledged, "{command:?}: said not to be stored and is there\n{words}");
    assert!(log.warnings().is_empty(), "{:?}", log.warnings());
    assert!(log.verify(&mut |_, _| ()).unwrap().is_clean());
    now
}

#[test]
fn programs_that_append_at_once_lose_nothing() {
    for mark_is_there in [false, true] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("cellar");
        let before = i64::from(mark_is_there);
        drop(if mark_is_there { filled(&path, 1) } else { create(&path) });
        let mut children: Vec<Child> =
            (0..3).map(|_| other_process("append 100 beside others", &path).spawn().unwrap()).collect();
        let mut positions: Vec<i64> = children.iter_mut().flat_map(acknowledgements).collect();
        for child in children {
            let output = child.wait_with_output().unwrap();
            assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        }
        positions.sort_unstable();
        assert_eq!(positions, (before + 1..=before + 300).collect::<Vec<_>>());
        let log = open(&path);
        assert!(log.verify(&mut |_, _| ()).unwrap().is_clean() && log.warnings().is_empty());
        let devices = log.heads().unwrap().len();
        assert!(devices == 1 || !mark_is_there, "{devices} devices");
    }
}

#[test]
fn threads_that_append_at_once_lose_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    drop(filled(&path, 1));
    let threads: Vec<_> = (0..3)
        .map(|_| {
            let file = path.clone().into_os_string();
            std::thread::spawn(move || append_beside_others(&file, 50).unwrap())
        })
        .collect();
    for thread in threads {
        thread.join().unwrap();
    }
    let log = open(&path);
    assert_eq!(log.head().unwrap(), Position::new(151));
    assert!(log.verify(&mut |_, _| ()).unwrap().is_clean());
}

#[test]
fn a_file_that_stays_locked_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cellar");
    let mut log = filled(&path, 2);
    let other = Connection::open(&path).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let started = Instant::now();
    let line = topped(log.device(), 3, 3);
    let refusal = log.append(Position::new(2), std::slice::from_ref(&line)).unwrap_err();
    let waited = started.elapsed();
    assert!(matches!(&refusal, LogError::Locked(_)) && refusal.to_string().contains("another program"), "{refusal}");
    assert!((Duration::from_millis(1_500)..Duration::from_secs(6)).contains(&waited), "{waited:?}");
    // Reading goes on meanwhile, and so does appending afterwards.
    assert_eq!(exported(&log).len(), 2);
    other.execute_batch("ROLLBACK").unwrap();
    log.append(Position::new(2), &[line]).unwrap();
    drop((log, other));

    let other = Connection::open(&path).unwrap();
    other.execute_batch("PRAGMA locking_mode=EXCLUSIVE; BEGIN EXCLUSIVE").unwrap();
    for access in [Access::ReadWrite, Access::ReadOnly] {
        assert!(matches!(Log::open(&path, access), Err(LogError::Locked(_))));
    }
}

/// The same process as a user who may not write what this one protects; none, with the reason printed, where the
/// system cannot give one.
fn as_stranger(file: &Path) -> Option<Command> {
    let is_root = Command::new("id").arg("-u").output().is_ok_and(|output| output.stdout.trim_ascii() == b"0");
    if !is_root {
        return Some(other_process("read", file));
    }
    let program = std::env::current_exe().unwrap();
    let mut command = Command::new("setpriv");
    command.args(["--reuid=65534", "--regid=65534", "--clear-groups"]).arg(&program).args(OTHER);
    dressed(&mut command, "read", file);
    let mut trial = Command::new("setpriv");
    trial.args(["--reuid=65534", "--regid=65534", "--clear-groups"]).arg(&program).arg("--list");
    if trial.output().is_ok_and(|output| output.status.success()) {
        return Some(command);
    }
    eprintln!("passed over: no other user can run this program here");
    None
}

fn protect(folder: &Path) {
    use std::os::unix::fs::PermissionsExt;
    for entry in fs::read_dir(folder).unwrap() {
        fs::set_permissions(entry.unwrap().path(), fs::Permissions::from_mode(0o444)).unwrap();
    }
    fs::set_permissions(folder, fs::Permissions::from_mode(0o555)).unwrap();
}

fn release(folder: &Path) {
    use std::os::unix::fs::PermissionsExt;
    fs::set_permissions(folder, fs::Permissions::from_mode(0o755)).unwrap();
}

#[test]
fn a_write_protected_folder_can_be_read() {
    let parent = tempfile::tempdir().unwrap();
    release(parent.path());
    let folder = parent.path().join("folder with 100% space?");
    fs::create_dir(&folder).unwrap();
    let path = folder.join("cellar");
    drop(filled(&path, 7));
    protect(&folder);
    if let Some(mut command) = as_stranger(&path) {
        let output = command.output().unwrap();
        let words = String::from_utf8_lossy(&output.stdout);
        assert!(output.status.success(), "{words}\n{}", String::from_utf8_lossy(&output.stderr));
        assert!(words.contains("\nread 7\n"), "{words}");
        assert!(words.contains("for writing: ") && words.contains("write-protected"), "{words}");
        assert!(words.contains("append: ") && words.contains("for reading only"), "{words}");
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 2, "something was written beside the file");
    }
    release(&folder);
}

#[test]
fn newest_facts_that_stand_apart_in_a_write_protected_folder_are_said() {
    let parent = tempfile::tempdir().unwrap();
    release(parent.path());
    let log = filled(&parent.path().join("cellar"), 7);
    let folder = parent.path().join("stick");
    fs::create_dir(&folder).unwrap();
    for name in ["cellar", "cellar-wal"] {
        fs::copy(parent.path().join(name), folder.join(name)).unwrap();
    }
    drop(log);
    protect(&folder);
    if let Some(mut command) = as_stranger(&folder.join("cellar")) {
        let output = command.output().unwrap();
        let words = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(1), "{words}");
        assert!(words.contains("cellar-wal") && words.contains("Copy all files of its name together"), "{words}");
    }
    release(&folder);
}
