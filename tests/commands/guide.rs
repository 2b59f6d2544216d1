//! What README and the guide show is true: commands run, lines come to something, facts are taken, and fields are those of the program.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use barrelwalk::cellar::core::fact::{IncomingFact, KINDS};
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::desk::{Access, Desk as OpenDesk, IncomingLine};
use barrelwalk::forms::of_kind;
use barrelwalk::told::guide::{CHAPTERS, chapter};

use super::desk::{Desk, text};

const README: &str = include_str!("../../README.md");

/// A day before the first release.
const EARLY: &str = "2026-01-01T00:00:00Z";

/// What README shows typed in blocks of their own.
fn readme() -> Vec<&'static str> {
    README.lines().filter_map(|line| line.strip_prefix("    ")).collect()
}

/// What a chapter shows so.
fn typed(topic: &str) -> Vec<&'static str> {
    chapter(topic).unwrap().typed()
}

fn beginning<'a>(lines: &[&'a str], with: &str) -> Vec<&'a str> {
    lines.iter().copied().filter(|line| line.starts_with(with)).collect()
}

/// The words of a line as a shell takes them.
fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = None;
    for sign in line.chars() {
        match (quoted, sign) {
            (Some(quote), _) if sign == quote => quoted = None,
            (None, '\'' | '"') => quoted = Some(sign),
            (None, ' ') => words.push(String::new()),
            _ => words.last_mut().unwrap().push(sign),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

/// Runs what is shown, in its order; what is not done, with what was said of it.
fn undone(desk: &Desk, lines: &[&str]) -> Vec<String> {
    let commands = beginning(lines, "barrelwalk ");
    let run = |line: &&str| {
        let words = words(line);
        let ran = desk.run(&words.iter().skip(1).map(String::as_str).collect::<Vec<_>>());
        // Without a screen it can only say that it needs one.
        let wanted = i32::from(words.iter().any(|word| word == "open"));
        (ran.status.code() != Some(wanted)).then(|| format!("{line}: {}", text(&ran.stderr)))
    };
    commands.iter().filter_map(run).collect()
}

#[test]
fn what_a_chapter_shows_is_done_in_the_demo() {
    let mut told = Vec::new();
    for chapter in CHAPTERS.iter().filter(|chapter| chapter.topic != "setup") {
        told.extend(undone(&Desk::demo(), &chapter.typed()));
    }
    assert_eq!(told, Vec::<String>::new());
}

#[test]
fn what_is_shown_of_a_cellar_of_ones_own_begins_one() {
    for shown in [readme(), typed("setup")] {
        let desk = Desk::bare();
        let list = [beginning(&typed("setup"), "Barrel;"), beginning(&typed("setup"), "04")].concat();
        assert_eq!(list.len(), 3, "{list:?}");
        desk.write("barrels.csv", &list.join("\n"));
        assert_eq!(undone(&desk, &shown), Vec::<String>::new());
        assert!(Path::new(&desk.path("our.cellar")).exists());
    }
    // The lines that bring a cellar onto the map do so, and leave something to top from.
    for shown in [readme(), typed("setup")] {
        let desk = Desk::new();
        let line = |begin: &str| beginning(&shown, begin)[0];
        desk.heard(&["room", "long", line("A-D")]);
        desk.heard(&["number", line("181-210")]);
        desk.heard(&["number", line("K1, keg")]);
        desk.heard(&["open-lot", line("M26,")]);
        let lots = desk.done(&["list", "lots"]);
        // Thirty barrels of 225 L and a keg of 100 L.
        assert!(lots.contains("M26") && lots.contains("6850.0"), "{lots}");
    }
}

#[test]
fn the_facts_it_shows_are_taken_on_any_day() {
    let facts = beginning(&typed("facts"), "{");
    assert!(facts.len() >= 3, "{facts:?}");
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
}

/// The words in backquotes of a text.
fn quoted(text: &str) -> impl Iterator<Item = &str> {
    text.split('`').skip(1).step_by(2)
}

#[test]
fn the_chapter_of_facts_has_every_kind_and_what_a_form_fills_of_it() {
    let page = include_str!("../../assets/guide/facts.md");
    let mut told: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for row in page.lines().filter(|line| line.starts_with("| `")) {
        let (kinds, fields) = row.trim_matches('|').split_once(" | ").unwrap();
        for kind in quoted(kinds) {
            told.entry(kind).or_default().extend(
                quoted(fields).flat_map(|it| it.split(|sign: char| !(sign.is_ascii_alphanumeric() || sign == '_'))),
            );
        }
    }
    let known: BTreeSet<&str> = KINDS.iter().copied().collect();
    assert_eq!(told.keys().copied().collect::<BTreeSet<_>>(), known);
    // A barrel that is changed has the fields of one that is numbered; what is written of several fields at once is called otherwise.
    let of_vessels = told["vessel_registered"].clone();
    told.get_mut("vessel_changed").unwrap().extend(of_vessels);
    let at_once = ["taste", "measured", "odd", "is", "litres", "note", "despite", "job"];
    let mut missing = Vec::new();
    for (kind, fields) in &told {
        let of_form = of_kind(kind).into_iter().flat_map(|form| form.filled_in().map(|(_, field)| field.key));
        let of_fact = of_form.filter(|key| !fields.contains(key) && !at_once.contains(key));
        missing.extend(of_fact.map(|key| format!("{kind}: {key}")));
    }
    assert_eq!(missing, Vec::<String>::new());
}

#[test]
fn help_reads_a_chapter_a_command_or_a_list() {
    let desk = Desk::bare();
    let whole = desk.done("help");
    for chapter in &CHAPTERS {
        assert!(whole.contains(&format!("\n  {} ", chapter.topic)), "{whole}");
        assert!(
            README.contains(&format!("assets/guide/{}.md", chapter.topic)),
            "README does not name {}",
            chapter.topic
        );
    }
    assert!(desk.done("help topping").starts_with("Topping\n\nWine evaporates through oak"));
    assert!(desk.done("help plan fill").contains("--wish"));
    assert!(desk.done("help commands").contains("barrelwalk plan racking"));
    assert!(desk.done("help keys").contains("the rest of the rack"));
    assert!(desk.done("help settings").contains("molecular so2"));
    let unknown = desk.run("help toping");
    assert_eq!(unknown.status.code(), Some(1));
    let said = text(&unknown.stderr);
    assert!(said.contains("no chapter 'toping'") && said.contains("Did you mean 'topping'?"), "{said}");
}

#[test]
fn readme_is_a_screen_or_two() {
    assert!(README.lines().count() <= 250 && README.len() <= 16_000, "{} bytes", README.len());
}
