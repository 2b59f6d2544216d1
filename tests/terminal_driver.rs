//! What the driver writes, when, and what it costs to do nothing.

mod support;

use std::path::PathBuf;
use std::thread;
use std::time::{Duration, Instant};

use support::pty::{self, PATIENCE, Pty};

const QUIET: Duration = Duration::from_millis(150);

fn probe() -> PathBuf {
    pty::example("screen-probe")
}

fn start(arguments: &[&str], variables: &[(&str, &str)]) -> Pty {
    let pty = Pty::start(&probe(), arguments, variables, 80, 24);
    pty.wait_for("is open", PATIENCE);
    pty
}

/// The control sequences of an output that begin with ESC and a bracket: parameters and final byte.
fn sequences(bytes: &[u8]) -> Vec<(String, char)> {
    let text = String::from_utf8_lossy(bytes);
    let pieces = text.split("\u{1b}[").skip(1);
    pieces
        .filter_map(|piece| {
            let end = piece.find(|character: char| ('@'..='~').contains(&character))?;
            Some((piece[..end].to_owned(), char::from(piece.as_bytes()[end])))
        })
        .collect()
}

/// The parameters of all sequences that set colours and modifiers.
fn renditions(bytes: &[u8]) -> Vec<u32> {
    let set = sequences(bytes).into_iter().filter(|(_, end)| *end == 'm');
    set.flat_map(|(parameters, _)| parameters.split([';', ':']).map(|p| p.parse().unwrap_or(0)).collect::<Vec<_>>())
        .collect()
}

/// Does all the probe can do, but leave.
fn exercise(pty: &mut Pty) {
    pty.keys("xxi\u{1b}[A");
    pty.wait_for("keys 4", PATIENCE);
    pty.keys("\u{1b}[200~plum\u{1b}[201~");
    pty.wait_for("pasted Some(4)", PATIENCE);
    pty.resize(100, 30);
    pty.wait_for("size 100x30", PATIENCE);
    pty.resize(40, 3);
    pty.wait_for("keys 4", PATIENCE);
    pty.resize(80, 24);
    pty.wait_for("size 80x24", PATIENCE);
    pty.keys("mw");
    pty.wait_for("ticks 1", PATIENCE);
    pty.wait_for("long true", PATIENCE);
}

#[test]
fn the_first_frame_stands_before_any_effect_and_at_once() {
    let pty = Pty::start(&probe(), &["--slow-opening"], &[], 80, 24);
    let started = Instant::now();
    pty.wait_for("is new", Duration::from_millis(300));
    println!("first frame after {:?}", started.elapsed());
    pty.wait_for("is open", PATIENCE);
    assert!(started.elapsed() >= Duration::from_millis(450));
}

#[test]
fn the_terminal_is_never_asked_anything() {
    let mut pty = start(&[], &[]);
    exercise(&mut pty);
    pty.keys("q");
    pty.wait_for_end();
    let bytes = pty.raw_bytes();
    for (parameters, end) in sequences(&bytes) {
        let asks = match end {
            // Device status and attributes, mode reports, window reports, keyboard flags.
            'n' | 'c' | 'p' | 't' | 'x' => true,
            'u' => parameters.starts_with('?'),
            _ => false,
        };
        assert!(!asks, "ESC [ {parameters}{end}");
    }
    let text = String::from_utf8_lossy(&bytes);
    for other in ["\u{1b}]", "\u{1b}P", "\u{1b}_", "\u{5}"] {
        assert!(!text.contains(other), "{other:?}");
    }
}

#[test]
fn without_colour_modifiers_stay() {
    let mut pty = start(&[], &[("NO_COLOR", "1")]);
    exercise(&mut pty);
    let set = renditions(&pty.raw_bytes());
    assert!(set.iter().all(|code| !matches!(code, 30..=38 | 40..=48 | 58 | 90..=107)), "{set:?}");
    for modifier in [1, 4, 7] {
        assert!(set.contains(&modifier), "{modifier} of {set:?}");
    }
    // As a terminal shows it: the second line is reversed, the first is bold.
    assert!(pty.cells(|screen| screen.cell(1, 0).is_some_and(vt100::Cell::inverse)));
    assert!(pty.cells(|screen| screen.cell(0, 0).is_some_and(vt100::Cell::bold)));
    // No sequence without parameters, which would reset all.
    assert!(!sequences(&pty.raw_bytes()).iter().any(|(parameters, end)| *end == 'm' && parameters.is_empty()));
}

#[test]
fn with_colour_there_is_colour() {
    let pty = start(&[], &[("NO_COLOR", "")]);
    let set = renditions(&pty.raw_bytes());
    assert!(set.contains(&38), "{set:?}");
    assert!(set.iter().all(|code| !matches!(code, 40..=48)), "no background is filled: {set:?}");
}

#[test]
fn nothing_is_written_or_computed_while_nothing_happens() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("home.cellar");
    std::fs::write(&file, "").expect("a file");
    let pty = start(&[&file.to_string_lossy()], &[]);
    let written = pty.wait_for_quiet(QUIET);
    let Some(before) = pty::processor_time(pty.process()) else { return };
    thread::sleep(Duration::from_secs(3));
    let used = pty::processor_time(pty.process()).unwrap_or_default().saturating_sub(before);
    assert_eq!(pty.raw_bytes().len(), written);
    println!("idle for 3 s: {used:?} of processor time");
    assert!(used < Duration::from_millis(20), "{used:?}");
}

#[test]
fn an_unchanged_frame_writes_nothing_and_a_small_change_little() {
    let mut pty = start(&[], &[]);
    let paste = "\u{1b}[200~plum\u{1b}[201~";
    pty.keys(paste);
    pty.wait_for("pasted Some(4)", PATIENCE);
    let before = pty.wait_for_quiet(QUIET);
    pty.keys(paste);
    let after = pty.wait_for_quiet(QUIET);
    assert_eq!(after, before);
    pty.keys("x");
    pty.wait_for("keys 1", PATIENCE);
    let written = pty.wait_for_quiet(QUIET) - after;
    println!("one changed digit: {written} bytes");
    assert!(written <= 80, "{written}");
}

#[test]
fn every_frame_is_one_synchronized_update() {
    let mut pty = start(&[], &[]);
    exercise(&mut pty);
    pty.wait_for_quiet(QUIET);
    let text = String::from_utf8_lossy(&pty.raw_bytes()).into_owned();
    let mut frames = text.split("\u{1b}[?2026h");
    let switched_on = frames.next().expect("something was written");
    assert!(switched_on.ends_with("\u{1b}[?2004h"), "{switched_on:?}");
    for frame in frames {
        assert!(frame.ends_with("\u{1b}[?2026l") && frame.matches("\u{1b}[?2026l").count() == 1, "{frame:?}");
    }
}

#[test]
fn a_flood_of_keys_is_counted_whole_in_few_frames() {
    let mut pty = start(&[], &[]);
    let frames = |pty: &Pty| String::from_utf8_lossy(&pty.raw_bytes()).matches("\u{1b}[?2026h").count();
    let (before, began) = (frames(&pty), Instant::now());
    for _ in 0..10 {
        pty.keys(&"x".repeat(300));
    }
    pty.wait_for("keys 3000", PATIENCE);
    let drawn = frames(&pty) - before;
    println!("3000 keys in {:?}, {drawn} frames", began.elapsed());
    assert!(u128::try_from(drawn).expect("few") <= began.elapsed().as_millis() / 10 + 2);
}

#[test]
fn a_long_paste_comes_in_one_piece() {
    let mut pty = start(&[], &[]);
    pty.keys(&format!("\u{1b}[200~{}\u{1b}[201~", "é\n".repeat(10_000)));
    pty.wait_for("pasted Some(20000)", PATIENCE);
    pty.keys("x");
    pty.wait_for("keys 1", PATIENCE);
}

#[test]
fn writing_to_the_cellar_file_by_others_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("home.cellar");
    std::fs::write(&file, "").expect("a file");
    let pty = start(&[&file.to_string_lossy()], &[]);
    pty.wait_for("changes 0", PATIENCE);
    std::fs::write(folder.path().join("home.cellar-wal"), "a fact").expect("a file");
    pty.wait_until_gone("changes 0", PATIENCE);
}

#[test]
fn every_small_size_is_survived() {
    let mut pty = start(&[], &[]);
    for (width, height) in [(1, 1), (2, 1), (1, 24), (200, 1), (0, 0), (3, 3), (300, 90), (80, 24)] {
        pty.resize(width, height);
        thread::sleep(Duration::from_millis(20));
        pty.keys("x");
    }
    pty.wait_for("keys 8", PATIENCE);
    pty.wait_for("size 80x24", PATIENCE);
}

#[test]
fn the_sweep_of_sizes_draws_and_finds_a_fault() {
    let mut drawn = 0;
    support::sizes::every_size(|_| drawn += 1);
    assert!(drawn > 1_000);
    let fault = std::panic::catch_unwind(|| {
        support::sizes::every_size(|frame| assert!(frame.area().width != 7 || frame.area().height != 3));
    });
    assert!(fault.is_err());
}
