//! A program that is killed while it makes a file leaves none that is not whole, and nothing for good.

use std::fs;
use std::process::Stdio;
use std::thread;
use std::time::{Duration, Instant};

use super::desk::Desk;

fn names(desk: &Desk) -> Vec<String> {
    let entries = fs::read_dir(desk.path("")).unwrap();
    let mut names: Vec<String> = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// Runs a command to its end, then again and again, each time killed a little later. What was made then stands whole under its name.
fn killed_at_every_step(desk: &Desk, words: [&str; 2], rounds: u32, check: impl Fn(&str)) {
    let begun = Instant::now();
    desk.run(&[words[0], words[1], "whole"]);
    let long = begun.elapsed();
    check("whole");
    for round in 0..rounds {
        let mut child = desk
            .command(&[words[0], words[1], "cut"])
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        thread::sleep(long * round / rounds + Duration::from_millis(5));
        child.kill().unwrap();
        child.wait().unwrap();
        if desk.path("cut").exists() {
            check("cut");
            let _ = fs::remove_file(desk.path("cut"));
        }
    }
    desk.run(&[words[0], words[1], "last"]);
    check("last");
}

#[test]
fn a_killed_demo_leaves_no_cellar_that_is_not_whole() {
    let desk = Desk::bare();
    // Without a terminal it makes the cellar and opens no screen.
    killed_at_every_step(&desk, ["demo", "--keep"], 6, |name| {
        let path = desk.path(name);
        assert_eq!(desk.told(&["--cellar", path.to_str().unwrap(), "export"]).lines().count(), 15_000, "{name}");
    });
    let kept = names(&desk);
    assert!(kept.iter().all(|name| !name.contains("being-made")), "{kept:?}");
}

#[test]
fn a_killed_backup_leaves_no_copy_that_is_not_whole() {
    let desk = Desk::demo();
    killed_at_every_step(&desk, ["backup", "--"], 10, |name| {
        let path = desk.path(name);
        assert_eq!(desk.told(&["--cellar", path.to_str().unwrap(), "export"]).lines().count(), 15_000, "{name}");
    });
    let kept = names(&desk);
    assert!(kept.iter().all(|name| !name.contains("being-made")), "{kept:?}");
}

/// A throw-away demo and a sheet that were killed are cleared away by the next ones.
#[test]
fn a_killed_throw_away_demo_and_a_killed_sheet_leave_nothing_for_good() {
    let desk = Desk::demo();
    let temporary = desk.path("temporary");
    fs::create_dir(&temporary).unwrap();
    let command = |words: &[&str]| {
        let mut command = desk.command(words);
        command.env("TMPDIR", &temporary).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
        command
    };
    for round in 0..6_u64 {
        for words in
            [&["demo"][..], &["sheet", "cards", "--lot", "M24 Upper Terrace", "--out", "cards.html", "--overwrite"]]
        {
            let mut child = command(words).spawn().unwrap();
            thread::sleep(Duration::from_millis(20 + 60 * round));
            child.kill().unwrap();
            child.wait().unwrap();
        }
    }
    let left = |folder: &std::path::Path| fs::read_dir(folder).unwrap().count();
    assert!(left(&temporary) <= 1, "each clears away what the one before left");
    command(&["demo"]).status().unwrap();
    assert_eq!(left(&temporary), 0);
    desk.told(&["sheet", "cards", "--lot", "M24 Upper Terrace", "--out", "cards.html", "--overwrite"]);
    let kept = names(&desk);
    assert!(kept.iter().all(|name| !name.contains("being-made")), "{kept:?}");
}
