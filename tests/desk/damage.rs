//! Damage that is found beside the work: what the screen opens at once is checked while it is used.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use barrelwalk::desk::{Access, Desk, create_demo};

use super::cellar::{Folder, act, assert_same_when_opened, moment, noted, open};
use super::damaged::without_guards;
use super::snapshot::{copy, snapshot_of};

/// A fact in the midst of the log gets another author.
const ANOTHER_AUTHOR: &str = "UPDATE facts SET author = 'nobody' WHERE position = 600";

/// Opens as the screen does. What is received says that the check is over.
fn at_once(path: &Path) -> (Desk, Receiver<()>) {
    let (sender, over) = channel();
    let desk = Desk::open_at_once(path, Access::ReadWrite, move || sender.send(()).unwrap()).unwrap();
    (desk, over)
}

fn demo(folder: &Folder) -> PathBuf {
    let path = folder.path("demo");
    create_demo(&path, moment(0)).unwrap();
    path
}

fn wait(over: &Receiver<()>) {
    over.recv_timeout(Duration::from_secs(60)).unwrap();
}

#[test]
fn what_is_damaged_is_said_beside_the_work_and_what_was_entered_meanwhile_stays() {
    let folder = Folder::new();
    let path = demo(&folder);
    without_guards(&path, ANOTHER_AUTHOR);
    let (mut desk, over) = at_once(&path);
    assert_eq!((desk.access(), desk.warnings().len()), (Access::ReadWrite, 0));
    let entered = desk.enter(&act(&[noted("meanwhile")]), moment(60)).unwrap();
    wait(&over);
    let said = desk.heed_check().unwrap().unwrap();
    assert!(said.starts_with("This cellar is open for reading only: a fact is damaged and left out (fact "), "{said}");
    assert!(said.ends_with(" The fact that was entered since it was opened is kept in it."), "{said}");
    assert_eq!(desk.access(), Access::ReadOnly);
    assert!(desk.line(&entered[0]).unwrap().is_some());
    assert!(desk.enter(&act(&[noted("later")]), moment(61)).is_err());
    assert_eq!(desk.heed_check().unwrap(), None);
    // It is what whoever waits for the check sees.
    let waited = Desk::open(&path, Access::ReadOnly).unwrap();
    assert!(waited.state() == desk.state());
    assert!(said.starts_with(waited.why_only_read().unwrap()));
}

#[test]
fn a_sound_cellar_is_gone_on_with_and_nothing_is_said() {
    let folder = Folder::new();
    let path = demo(&folder);
    let (mut desk, over) = at_once(&path);
    wait(&over);
    desk.enter(&act(&[noted("a word")]), moment(60)).unwrap();
    assert_eq!(desk.heed_check().unwrap(), None);
    desk.enter(&act(&[noted("another")]), moment(61)).unwrap();
    assert_same_when_opened(&desk);
}

#[test]
fn what_lies_behind_a_snapshot_is_checked_beside_the_work() {
    let folder = Folder::new();
    let path = copy(&folder);
    without_guards(&path, ANOTHER_AUTHOR);
    // Who waits reads what came since.
    assert!(open(&path).opened_from_snapshot());
    let (mut desk, over) = at_once(&path);
    assert!(desk.opened_from_snapshot());
    wait(&over);
    assert!(desk.heed_check().unwrap().unwrap().contains("(fact 600 of "));
    assert!(!desk.opened_from_snapshot());
}

/// Else the damage would lie behind it, and no command would say it.
#[test]
fn of_what_is_not_checked_no_snapshot_is_left() {
    let folder = Folder::new();
    let path = copy(&folder);
    fs::remove_file(snapshot_of(&path)).unwrap();
    without_guards(&path, ANOTHER_AUTHOR);
    let (desk, over) = at_once(&path);
    wait(&over);
    drop(desk);
    assert!(!snapshot_of(&path).exists());
    let (mut desk, over) = at_once(&path);
    wait(&over);
    assert!(desk.heed_check().unwrap().is_some());
    drop(desk);
    assert!(!snapshot_of(&path).exists());
}
