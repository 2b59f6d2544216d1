//! A disk that fails while the screen is open: what became of the last entry is found out before the next key, no barrel is shown as
//! to do whose topping is stored, and every sentence stands whole at 80 columns.
//!
//! This test program starts itself again with the calls of the system between it and a disk that fails.
#![cfg(target_os = "linux")]

use std::fs;
use std::path::PathBuf;
use std::process::Command;
use std::time::{Duration, Instant};

use barrelwalk::tui::edge::screen::Message;
use rusqlite::Connection;

use crate::walk::Walk;

const CONTROL: &str = "FAILING_DISK";

/// So long may a key or a look hold the screen up while the disk answers with failures.
const LONGEST: Duration = Duration::from_secs(3);

/// What fails: calls, the endings of the files' names, and the numbers of the errors.
fn fails(calls: &str) {
    fs::write(std::env::var_os(CONTROL).unwrap(), calls).unwrap();
}

#[test]
fn a_failing_disk_is_told_and_nothing_is_entered_twice() {
    let folder = tempfile::tempdir().unwrap();
    let (library, control) = (folder.path().join("failing.so"), folder.path().join("control"));
    let source = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/support/failing.c");
    let built =
        Command::new("cc").args(["-shared", "-fPIC", "-O1", "-o"]).args([&library, &source]).arg("-ldl").status();
    assert!(built.unwrap().success());
    let mut again = Command::new(std::env::current_exe().unwrap());
    again.args(["--exact", "failing_disk::on_a_failing_disk", "--nocapture"]);
    let output = again.env("LD_PRELOAD", library).env(CONTROL, control).output().unwrap();
    let text = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{text}");
    assert!(text.contains("1 passed"), "{text}");
}

/// A walk with its round begun and one barrel topped on a sound disk, and how many toppings there are.
fn begun() -> (Walk, usize) {
    let mut walk = Walk::small();
    walk.press("b down enter enter space");
    assert!(walk.said().contains("topped"), "{}", walk.said());
    let before = toppings(&walk);
    (walk, before)
}

fn toppings(walk: &Walk) -> usize {
    walk.facts().iter().filter(|fact| fact.starts_with("topped")).count()
}

/// What is said stands whole on the smallest screen.
fn assert_is_whole(walk: &mut Walk) {
    let said = walk.said().to_owned();
    let words: String = walk.text(80, 24).split_whitespace().collect();
    let whole: String = said.split_whitespace().collect();
    assert!(words.contains(&whole), "{said}\n{}", walk.text(80, 24));
}

#[test]
fn on_a_failing_disk() {
    if std::env::var_os(CONTROL).is_none() {
        return;
    }
    the_disk_does_not_confirm_it();
    the_file_cannot_be_looked_at();
    the_disk_is_full();
    a_full_disk_leaves_no_half_of_a_mark();
    a_file_is_not_to_be_read_for_a_moment();
    no_failure_holds_the_screen_up();
}

fn the_disk_does_not_confirm_it() {
    let (mut walk, before) = begun();
    fails("sync -wal 5\n");
    walk.press("space");
    assert!(walk.said().starts_with("The last entry is in "), "{}", walk.said());
    assert!(walk.said().contains("the disk failed to read or to write"), "{}", walk.said());
    assert_is_whole(&mut walk);
    assert!(walk.text(80, 24).contains("2 of "), "{}", walk.text(80, 24));
    // The same key again enters nothing.
    walk.press("esc esc space");
    assert_is_whole(&mut walk);
    fails("");
    assert_eq!(toppings(&walk), before + 1);
    walk.take(Message::Changed);
    assert!(walk.said().ends_with("the last entry is stored in it."), "{}", walk.said());
    walk.press("n space");
    assert_eq!(toppings(&walk), before + 2, "{}", walk.said());
}

fn the_file_cannot_be_looked_at() {
    for (is_stored, calls) in
        [(true, "sync -wal 5\nopen home.cellar 24\n"), (false, "write -wal 5\nopen home.cellar 24\n")]
    {
        let (mut walk, before) = begun();
        fails(calls);
        walk.press("space");
        assert!(walk.said().starts_with("Whether the last entry was stored is not known"), "{}", walk.said());
        assert_is_whole(&mut walk);
        // What was entered is written elsewhere, as a line that may be taken in again.
        let kept = walk.path().with_file_name("home-kept.jsonl");
        walk.press("enter");
        assert!(walk.said().starts_with("The last entry is in "), "{}", walk.said());
        assert_is_whole(&mut walk);
        assert_eq!(fs::read_to_string(&kept).unwrap().lines().count(), 1);
        walk.press("space");
        fails("");
        walk.take(Message::Changed);
        let said = if is_stored { "is stored in it." } else { "is not in it. Enter it again." };
        assert!(walk.said().ends_with(said), "{}", walk.said());
        assert_eq!(toppings(&walk), before + usize::from(is_stored));
        walk.press("n space");
        assert_eq!(toppings(&walk), before + 1 + usize::from(is_stored), "{}", walk.said());
    }
}

fn the_disk_is_full() {
    let (mut walk, before) = begun();
    fails("write -wal 28\n");
    walk.press("space");
    assert!(walk.said().starts_with("This was not stored: the disk is full."), "{}", walk.said());
    assert_is_whole(&mut walk);
    fails("");
    walk.press("space");
    assert_eq!(toppings(&walk), before + 1);
}

/// What was begun of a mark and could not be written would be taken for one that somebody changed.
fn a_full_disk_leaves_no_half_of_a_mark() {
    let (mut walk, before) = begun();
    let mark = walk.path().with_file_name("home.cellar-mark");
    fs::remove_file(&mark).unwrap();
    fails("write -mark 28\n");
    walk.press("space");
    assert!(!mark.exists(), "{}", walk.said());
    fails("");
    walk.press("n space");
    assert!(fs::metadata(&mark).unwrap().len() > 0);
    assert!(toppings(&walk) > before);
}

/// A look that fails for a moment is no write protection and no damage.
fn a_file_is_not_to_be_read_for_a_moment() {
    for calls in ["stat home.cellar 5\n", "read home.cellar 5\n"] {
        let (mut walk, before) = begun();
        fails(calls);
        walk.take(Message::Changed);
        walk.press("space");
        for wrong in ["damaged", "protected", "written over", "deleted"] {
            assert!(!walk.said().contains(wrong), "{calls}: {}", walk.said());
        }
        fails("");
        walk.take(Message::Changed);
        walk.press("space");
        let entered = toppings(&walk) - before;
        assert!((1..=2).contains(&entered), "{calls}: {entered}");
    }
}

/// Whatever the disk answers, the next key is taken soon: at the entering that fails, and at each look after it.
fn no_failure_holds_the_screen_up() {
    for calls in [
        "sync -wal 5\n",
        "sync -wal 5\nread home.cellar 5\n",
        "sync -wal 5\nread -wal 5\n",
        "sync -wal 5\nwrite home.cellar 5\n",
        "sync -wal 5\nopen home.cellar 5\n",
        "sync -wal 5\nopen -wal 5\n",
        "sync -wal 5\nopen -shm 5\n",
        "sync -wal 5\nstat -shm 5\n",
        "write -wal 5\nwrite -shm 5\n",
        "write -wal 5\nread -wal 5\nread home.cellar 5\n",
        "write -wal 28\nopen -shm 28\n",
    ] {
        let (mut walk, _) = begun();
        fails(calls);
        for step in ["entering", "a look", "another look"] {
            let begun = Instant::now();
            if step == "entering" {
                walk.press("space");
            } else {
                walk.take(Message::Changed);
            }
            let long = begun.elapsed();
            assert!(long < LONGEST, "{calls:?} {step}: {long:?}");
            // What cannot be read is not what does not fit.
            assert!(!walk.said().contains("fit together"), "{calls:?} {step}: {}", walk.said());
        }
        fails("");
    }
    a_look_does_not_wait_for_another_program();
}

/// What is looked at again by itself does not wait long for a program that is at work with the file meanwhile.
fn a_look_does_not_wait_for_another_program() {
    let (mut walk, before) = begun();
    fails("sync -wal 5\n");
    walk.press("space");
    assert!(walk.said().starts_with("The last entry is in "), "{}", walk.said());
    fails("");
    let writing = Connection::open(walk.path()).unwrap();
    writing.execute_batch("BEGIN IMMEDIATE").unwrap();
    let begun = Instant::now();
    walk.take(Message::Changed);
    assert!(begun.elapsed() < Duration::from_secs(1), "{:?}", begun.elapsed());
    assert!(walk.said().ends_with("the last entry is stored in it."), "{}", walk.said());
    drop(writing);
    walk.press("n space");
    assert_eq!(toppings(&walk), before + 2, "{}", walk.said());
}
