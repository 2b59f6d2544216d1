//! Facts of a newer program: the cellar is shown without them, says so, and nothing is written to it any more.

use std::fs;
use std::path::Path;

use barrelwalk::cellar::core::fact::{FactId, Line};
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::desk::{Access, Desk, Traced};
use barrelwalk::log::Log;

use super::cellar::{Folder, act, history, intent, label, moment, noted, open, retracted, topped};

const HELD: &str = r#"{"vessel":"1","why":"hot"}"#;

/// Appends a fact as another program would, which asks nobody what it means.
fn appended(path: &Path, at: Moment, (kind, version, body): (&str, u32, &str)) -> FactId {
    let mut log = Log::open(path, Access::ReadWrite).unwrap();
    let last = log.heads().unwrap().iter().map(|head| head.id.clone()).find(|id| id.device == *log.device());
    let id = FactId { device: log.device().clone(), n: last.map_or(1, |id| id.n + 1) };
    let line = Line {
        id: id.clone(),
        at,
        written: at,
        by: label("jo"),
        version,
        kind: kind.into(),
        body: body.to_owned(),
        job: None,
        note: None,
    };
    log.append(log.head().unwrap(), &[line]).unwrap();
    id
}

/// Every road by which something could be written, with what is said there.
fn refusals(desk: &mut Desk) -> Vec<String> {
    let one = vec![intent(1, moment(900), &noted("x"))];
    vec![
        desk.enter(&act(&[noted("x")]), moment(900)).unwrap_err().to_string(),
        desk.record(one.clone(), moment(900), true).unwrap_err().to_string(),
        desk.record(vec![history(1, "d-a", 1, moment(2), &noted("x"))], moment(900), false).unwrap_err().to_string(),
        desk.rehearse(&one, moment(900)).unwrap_err().to_string(),
        desk.undo(&label("mk"), moment(900)).unwrap_err().to_string(),
        desk.redo(&label("mk"), moment(900)).unwrap_err().to_string(),
    ]
}

#[test]
fn a_file_with_facts_of_a_newer_program_is_open_for_reading_only_and_says_so() {
    let folder = Folder::new();
    let before = folder.founded("cellar");
    let (path, state) = (before.path().to_owned(), before.state().clone());
    drop(before);
    let poured = appended(&path, moment(200), ("poured", 1, HELD));
    let held = appended(&path, moment(201), ("held", 2, HELD));
    let topped = appended(&path, moment(202), ("topped", 1, r#"{"vessel":"1","from":"K","litres":1}"#));
    let bytes = fs::read(&path).unwrap();
    let mut desk = open(&path);
    assert_eq!(desk.access(), Access::ReadOnly);
    let expected = "This cellar is open for reading only: 2 facts need a newer version of this program \
        (1 held, version 2; 1 poured, version 1), and 1 fact cannot be read (1 topped, version 1). \
        What is shown lacks what they say. Install the newer version.";
    assert_eq!(desk.why_only_read(), Some(expected));
    assert_eq!(desk.warnings(), [expected]);
    assert_eq!(desk.state().vessels, state.vessels);
    for sentence in refusals(&mut desk) {
        assert_eq!(sentence, format!("Nothing was written. {expected}"));
    }
    let found = desk.verify().unwrap();
    assert_eq!(found.problems, Vec::<String>::new());
    assert_eq!(
        found.unread,
        [
            format!(
                "Fact {poured} (poured, version 1) cannot be read here. The kind 'poured' is not known to this version of the program."
            ),
            format!(
                "Fact {held} (held, version 2) cannot be read here. The fact 'held' is of version 2, which only a newer version of the program can read."
            ),
            format!(
                "Fact {topped} (topped, version 1) cannot be read here. The fact 'topped' cannot be read: missing field `volume_ul`."
            ),
        ]
    );
    assert_eq!(Traced::read(&path, moment(900)).unwrap().warnings, [expected]);
    let mut lines = 0;
    desk.export(None, &mut |_| {
        lines += 1;
        Ok(())
    })
    .unwrap();
    assert_eq!(lines, found.facts, "what cannot be read is handed on all the same");
    drop(desk);
    assert!(fs::read(&path).unwrap() == bytes);
    assert!(Desk::open(&path, Access::ReadOnly).unwrap().why_only_read().is_some());
}

#[test]
fn what_another_program_enters_meanwhile_ends_the_writing() {
    let folder = Folder::new();
    for refreshed in [true, false] {
        let mut desk = folder.founded(if refreshed { "seen" } else { "unseen" });
        let path = desk.path().to_owned();
        desk.enter(&act(&[topped("1", 100)]), moment(300)).unwrap();
        assert_eq!((desk.access(), desk.why_only_read()), (Access::ReadWrite, None));
        // The one comes last, the other before what was folded already.
        appended(&path, moment(if refreshed { 400 } else { 150 }), ("poured", 1, HELD));
        if refreshed {
            assert!(desk.refresh().unwrap());
            assert_eq!(desk.access(), Access::ReadOnly);
        }
        for sentence in refusals(&mut desk) {
            assert!(
                sentence.contains("1 fact needs a newer version of this program (1 poured, version 1)."),
                "{sentence}"
            );
        }
        assert_eq!((desk.access(), desk.warnings().len()), (Access::ReadOnly, 1));
        appended(&path, moment(500), ("poured", 1, HELD));
        assert!(desk.refresh().unwrap());
        assert_eq!(desk.warnings().len(), 1);
        assert!(desk.warnings()[0].contains("2 facts need"), "{:?}", desk.warnings());
    }
}

#[test]
fn a_fact_that_is_taken_back_is_told_all_the_same() {
    let folder = Folder::new();
    let desk = folder.founded("cellar");
    let path = desk.path().to_owned();
    drop(desk);
    let id = appended(&path, moment(200), ("poured", 1, HELD));
    let back = retracted(id.device.as_str(), id.n).replacen(r#""kind":"retracted","#, "", 1);
    appended(&path, moment(201), ("retracted", 1, &format!("{{{back}}}")));
    assert!(open(&path).why_only_read().is_some());
}

#[test]
fn many_kinds_are_counted_rather_than_named() {
    let folder = Folder::new();
    let desk = folder.founded("cellar");
    let path = desk.path().to_owned();
    drop(desk);
    for kind in ["a", "b", "c", "d", "e", "f"] {
        appended(&path, moment(200), (kind, 1, "{}"));
    }
    let said = open(&path).why_only_read().unwrap().to_owned();
    assert!(said.contains("(1 a, version 1; 1 b, version 1; 1 c, version 1; 1 d, version 1; 2 other kinds)"), "{said}");
}
