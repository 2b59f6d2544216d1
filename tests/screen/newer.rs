//! Facts of a newer program: the screen says so, at its opening and while it is open, and nothing can be entered.

use std::path::Path;

use barrelwalk::cellar::core::fact::{FactId, Line};
use barrelwalk::desk::Access;
use barrelwalk::log::Log;
use barrelwalk::tui::edge::screen::Message;

use crate::cellar::morning;
use crate::picture::{Told, picture};
use crate::walk::Walk;

/// Appends what only a newer program understands.
fn enter_as_a_newer_program(path: &Path) {
    let mut log = Log::open(path, Access::ReadWrite).unwrap();
    let last = log.heads().unwrap().into_iter().find(|head| head.id.device == *log.device()).unwrap().id;
    let line = log.line(&last).unwrap().unwrap();
    let line = Line { id: FactId { n: last.n + 1, ..last }, kind: "poured".into(), version: 3, ..line };
    log.append(log.head().unwrap(), &[line]).unwrap();
}

#[test]
fn a_cellar_with_facts_of_a_newer_program_says_so_when_it_opens() {
    let made = Walk::small();
    enter_as_a_newer_program(made.path());
    let mut walk = Walk::at(made.path().to_owned(), Access::ReadWrite, morning);
    walk.take(Message::Started);
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("newer-facts", picture(&walk.drawn(80, 24), walk.model.looks.theme, Told::Telling));
    });
    walk.press("b");
    assert!(
        walk.said().contains("1 fact needs a newer version of this program (1 poured, version 3)."),
        "{}",
        walk.said()
    );
}

#[test]
fn what_a_newer_program_enters_meanwhile_ends_the_entering() {
    for seen in [true, false] {
        let mut walk = Walk::small();
        walk.press("b enter enter space");
        let topped = walk.model.state.facts;
        enter_as_a_newer_program(walk.path());
        if seen {
            walk.take(Message::Changed);
        } else {
            walk.press("space");
        }
        assert!(walk.said().contains("open for reading only: 1 fact needs a newer version"), "{}", walk.said());
        walk.press("space");
        assert!(walk.said().contains("open for reading only"), "{}", walk.said());
        walk.press("u");
        assert!(walk.said().contains("open for reading only"), "{}", walk.said());
        assert_eq!(walk.model.state.facts, topped);
    }
}
