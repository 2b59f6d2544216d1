//! What README shows of a cellar of one's own, and of facts, does what it says, on any day.

use std::path::Path;

use barrelwalk::cellar::core::fact::IncomingFact;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::desk::{Access, Desk as OpenDesk, IncomingLine};

use super::desk::{Desk, text};

const README: &str = include_str!("../../README.md");

/// A day before the first release.
const EARLY: &str = "2026-01-01T00:00:00Z";

/// The lines of an indented block of the part that begins with a heading.
fn shown(heading: &str, begin: &str) -> Vec<&'static str> {
    let part = README.split("\n## ").find(|part| part.starts_with(heading)).unwrap();
    part.lines().filter_map(|line| line.strip_prefix("    ")).filter(|line| line.starts_with(begin)).collect()
}

#[test]
fn the_facts_it_shows_are_taken_on_any_day() {
    let facts = shown("The facts", "{");
    assert!(facts.len() >= 3, "{facts:?}");
    // Nobody needs one to begin with.
    assert_eq!(shown("Your own cellar", "{"), Vec::<&str>::new());
    let folder = tempfile::tempdir().unwrap();
    for now in [EARLY, "2031-07-01T12:00:00-08:00"] {
        let now = Moment::parse(now).unwrap();
        let path = folder.path().join(now.instant().to_string());
        OpenDesk::create(&path, now).unwrap();
        let lines = facts.iter().zip(1..).map(|(line, number)| {
            let (fact, body) = IncomingFact::from_json(line).unwrap();
            IncomingLine { number, fact, body }
        });
        let outcome = OpenDesk::open(&path, Access::ReadWrite).unwrap().record(lines.collect(), now, false).unwrap();
        assert_eq!((outcome.taken.len(), outcome.refused), (facts.len(), Vec::new()));
    }
    // Wherever else a whole fact is shown, its day has come as well.
    for line in README.lines().filter(|line| line.trim_start().starts_with(r#"{"at":"2"#)) {
        let (fact, _) = IncomingFact::from_json(line.trim()).unwrap();
        assert!(fact.at.instant() < Moment::parse(EARLY).unwrap().instant(), "{line}");
    }
}

#[test]
fn the_commands_it_shows_begin_a_cellar() {
    let desk = Desk::bare();
    let listed = [shown("Your own cellar", "Barrel;"), shown("Your own cellar", "04")].concat();
    assert_eq!(listed.len(), 3, "{listed:?}");
    desk.write("barrels.csv", &listed.join("\n"));
    let commands = shown("Your own cellar", "barrelwalk ");
    assert_eq!(commands.len(), 5, "{commands:?}");
    for command in commands {
        let words: Vec<&str> = command.split_whitespace().skip(1).collect();
        let output = desk.run(&words);
        let said = text(&output.stderr);
        if words.contains(&"open") {
            // Without a screen it can only say that it needs one.
            assert_eq!(output.status.code(), Some(1), "{command}: {said}");
        } else {
            // What is left for the next command is said.
            assert_eq!(output.status.code(), Some(0), "{command}: {said}");
        }
    }
    assert!(Path::new(&desk.path("our.cellar")).exists());
    assert!(desk.done("list vessels --cellar our.cellar").contains("0418"));
}

/// The lines that bring a cellar onto the map do so, and leave something to top from.
#[test]
fn the_lines_it_shows_bring_a_cellar_onto_the_map() {
    let desk = Desk::new();
    let line = |begin: &str| {
        let shown = shown("Your own cellar", begin);
        assert_eq!(shown.len(), 1, "{shown:?}");
        // Behind the line stands what it is.
        shown[0].split("    ").next().unwrap().trim().to_owned()
    };
    desk.heard(&["room", "long", &line("A-D")]);
    desk.heard(&["number", &line("181-210")]);
    desk.heard(&["number", &line("K1, keg")]);
    desk.heard(&["open-lot", &line("M26,")]);
    let lots = desk.done(&["list", "lots"]);
    // Thirty barrels of 225 L and a keg of 100 L.
    assert!(lots.contains("M26") && lots.contains("6850.0"), "{lots}");
}
