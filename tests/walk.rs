//! The real program in a real terminal, on a real cellar: a round is walked, cut off, and gone on with.
#![allow(clippy::unwrap_used)]

#[path = "walk/replaced.rs"]
#[cfg(unix)]
mod replaced;
mod support;

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use rustix::process::Signal;
use support::pty::{self, Left, PATIENCE, Pty};
use tempfile::TempDir;

const QUIET: Duration = Duration::from_millis(200);
/// A first frame comes within this, in a program that is built to be used.
const AT_ONCE: Duration = Duration::from_millis(30);

fn program() -> PathBuf {
    env!("CARGO_BIN_EXE_barrelwalk").into()
}

/// A folder with the demo in it, its round open.
struct Cellar {
    folder: TempDir,
}

impl Cellar {
    /// The demo as the program itself makes it, still on the screen.
    fn demo() -> (Cellar, Pty) {
        let cellar = Cellar { folder: tempfile::tempdir().unwrap() };
        let file = cellar.file();
        let pty = Pty::start(&program(), &["demo", "--keep", &file, "--by", "mk"], &[], 80, 24);
        pty.wait_for("go on where you stopped", PATIENCE);
        (cellar, pty)
    }

    fn left_demo() -> Cellar {
        let (cellar, mut pty) = Cellar::demo();
        pty.keys("q");
        pty.wait_for_end();
        cellar
    }

    fn file(&self) -> String {
        self.folder.path().join("home.cellar").to_str().unwrap().to_owned()
    }

    fn open(&self, variables: &[(&str, &str)]) -> Pty {
        let pty = Pty::start(&program(), &["open", "--cellar", &self.file(), "--by", "mk"], variables, 80, 24);
        pty.wait_for("go on where you stopped", PATIENCE);
        pty
    }

    fn run(&self, words: &[&str]) -> Output {
        let file = self.file();
        let mut command = Command::new(program());
        command.args(words).args(["--cellar", &file]).stdin(Stdio::null());
        command.output().unwrap()
    }

    /// How many facts of a kind are in the log.
    fn count(&self, kind: &str) -> usize {
        let output = self.run(&["export"]);
        assert!(output.status.success(), "{output:?}");
        let mark = format!(r#""kind":"{kind}""#);
        String::from_utf8(output.stdout).unwrap().lines().filter(|line| line.contains(&mark)).count()
    }
}

/// How many barrels of the round are done, as the screen says.
fn done(pty: &Pty) -> usize {
    let screen = pty.screen();
    let line = screen.lines().nth(1).unwrap();
    let words: Vec<&str> = line.split_whitespace().collect();
    let of = words.iter().position(|word| *word == "of" && line.contains("done")).unwrap();
    let at = words.iter().skip(of + 1).position(|word| *word == "of").map_or(of, |next| of + 1 + next);
    words[at - 1].parse().unwrap_or_else(|_| panic!("no count in '{line}'"))
}

/// Presses keys and waits until so many barrels are done in all. Where a barrel stands out, or a claim of the lot is at stake, the
/// last key answers each question once.
fn press_until_done(pty: &mut Pty, keys: &str, count: usize) {
    let wanted = format!(" {count} of ");
    pty.keys(keys);
    let began = Instant::now();
    let mut answered = String::new();
    while began.elapsed() < PATIENCE && !pty.screen().contains(&wanted) {
        let screen = pty.screen();
        let message =
            screen.lines().skip_while(|line| !line.starts_with(" !")).take_while(|line| !line.contains("digits"));
        let said = message.flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ");
        if said.ends_with("Press the same key again to confirm.") && said != answered {
            pty.keys(&keys[keys.len() - 1..]);
            answered = said;
        }
        thread::sleep(Duration::from_millis(2));
    }
    pty.wait_for(&wanted, PATIENCE);
}

#[test]
fn a_round_is_walked_cut_off_and_gone_on_with() {
    let (cellar, mut pty) = Cellar::demo();
    let before = cellar.count("topped");
    let begun = done(&pty);
    for number in 1..=3 {
        press_until_done(&mut pty, " ", begun + number);
    }
    press_until_done(&mut pty, "1.9\r", begun + 4);
    pty.wait_for("topped, 1.9 L.", PATIENCE);
    pty.resize(120, 40);
    pty.wait_for("plan of long", PATIENCE);
    pty.keys("r");
    pty.wait_for("The rack: ", PATIENCE);
    let with_rack = done(&pty);
    assert!(with_rack > begun + 4);
    pty.resize(80, 24);
    pty.keys("0.4p\r");
    pty.wait_for("topped, 400 mL, not to the brim.", PATIENCE);
    // A barrel that is not brimful is not done.
    pty.wait_for("1 in part", PATIENCE);
    let mut count = with_rack;
    while count < begun + 10 {
        count += 1;
        press_until_done(&mut pty, " ", count);
    }
    // What was said is stored: the plug may be pulled now.
    pty.signal(Signal::KILL);
    pty.wait_for_end();
    assert_eq!(cellar.count("topped"), before + count - begun + 1);
    assert!(cellar.run(&["verify"]).status.success());

    let mut pty = cellar.open(&[]);
    assert_eq!(done(&pty), count);
    press_until_done(&mut pty, " ", count + 1);
    press_until_done(&mut pty, "u", count);
    pty.wait_for("Undone: ", PATIENCE);
    pty.keys("q");
    assert_eq!(pty.wait_for_end().exit_code(), 0);
    assert_eq!(pty.left(), Left::NOTHING);
    assert_eq!(cellar.count("topped"), before + count - begun + 2);
    assert_eq!(cellar.count("retracted") - 1, demo_retractions());
}

/// What the demo itself takes back.
fn demo_retractions() -> usize {
    let facts = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-cellar/facts.jsonl");
    std::fs::read_to_string(facts).unwrap().lines().filter(|line| line.contains(r#""kind":"retracted""#)).count()
}

/// Whatever becomes of the file, the next key does not say that something is stored; what was is written elsewhere.
#[test]
fn a_file_that_goes_away_under_the_screen_is_said_and_kept_elsewhere() {
    let cellar = Cellar::left_demo();
    let before = cellar.count("topped");
    let mut pty = cellar.open(&[]);
    let next = done(&pty) + 1;
    press_until_done(&mut pty, " ", next);
    std::fs::remove_file(cellar.file()).unwrap();
    pty.wait_for("is no longer there", PATIENCE);
    pty.wait_for("home-kept.cellar", PATIENCE);
    pty.keys("\r");
    pty.wait_for("Everything is in", PATIENCE);
    pty.keys("q");
    pty.wait_for_end();
    let kept = cellar.file().replace("home.", "home-kept.");
    std::fs::rename(kept, cellar.file()).unwrap();
    for ending in ["-wal", "-shm"] {
        std::fs::remove_file(cellar.file() + ending).unwrap();
    }
    assert_eq!(cellar.count("topped"), before + 1);

    // Put back in time, it is gone on with.
    let mut pty = cellar.open(&[]);
    let away = cellar.file() + "-away";
    std::fs::rename(cellar.file(), &away).unwrap();
    pty.wait_for("is no longer there", PATIENCE);
    std::fs::rename(&away, cellar.file()).unwrap();
    pty.wait_for("The file is back", PATIENCE);
    let next = done(&pty) + 1;
    press_until_done(&mut pty, " ", next);
    pty.keys("q");
    pty.wait_for_end();
    assert_eq!(cellar.count("topped"), before + 2);
}

#[test]
fn what_was_seen_as_done_is_there_whenever_the_plug_is_pulled() {
    let cellar = Cellar::left_demo();
    for pause in [0, 3, 7, 15] {
        let mut pty = cellar.open(&[]);
        let (before, stored) = (done(&pty), cellar.count("topped"));
        pty.keys("      ");
        pty.wait_until_gone(&format!(" {before} of "), PATIENCE);
        thread::sleep(Duration::from_millis(pause));
        pty.signal(Signal::KILL);
        pty.wait_for_end();
        pty.wait_for_quiet(QUIET);
        let seen = done(&pty) - before;
        let kept = cellar.count("topped") - stored;
        assert!((seen..=6).contains(&kept), "{seen} were seen as done, {kept} are stored");
    }
}

#[test]
fn signals_that_ask_for_the_end_give_the_terminal_back() {
    let cellar = Cellar::left_demo();
    for (signal, code) in [(Signal::TERM, 143), (Signal::HUP, 129), (Signal::INT, 130)] {
        let mut pty = cellar.open(&[]);
        pty.keys(" 1.");
        pty.wait_for("1._", PATIENCE);
        pty.signal(signal);
        assert_eq!(pty.wait_for_end().exit_code(), code, "{signal:?}");
        assert_eq!(pty.left(), Left::NOTHING, "{signal:?}");
    }
}

#[test]
fn control_c_leaves_as_well() {
    let cellar = Cellar::left_demo();
    let mut pty = cellar.open(&[]);
    pty.keys("\u{3}");
    assert_eq!(pty.wait_for_end().exit_code(), 0);
    assert_eq!(pty.left(), Left::NOTHING);
}

#[test]
fn without_colour_the_marks_stay() {
    let cellar = Cellar::left_demo();
    let pty = cellar.open(&[("NO_COLOR", "1")]);
    pty.wait_for_quiet(QUIET);
    pty.wait_for("▸", PATIENCE);
    pty.wait_for("✓", PATIENCE);
    let coloured = |screen: &vt100::Screen| {
        let cells = (0..24).flat_map(|row| (0..80).filter_map(move |column| screen.cell(row, column)));
        cells.filter(|cell| cell.fgcolor() != vt100::Color::Default || cell.bgcolor() != vt100::Color::Default).count()
    };
    let modified = |screen: &vt100::Screen| {
        let cells = (0..24).flat_map(|row| (0..80).filter_map(move |column| screen.cell(row, column)));
        cells.filter(|cell| cell.inverse() || cell.bold() || cell.underline()).count()
    };
    assert_eq!(pty.cells(coloured), 0);
    assert!(pty.cells(modified) > 50);
    assert!(cellar.open(&[]).cells(coloured) > 50, "with colour there is colour");
}

#[test]
fn nothing_is_written_or_computed_while_nothing_happens() {
    let cellar = Cellar::left_demo();
    let pty = cellar.open(&[]);
    let written = pty.wait_for_quiet(Duration::from_millis(500));
    let Some(before) = pty::processor_time(pty.process()) else { return };
    thread::sleep(Duration::from_secs(10));
    let used = pty::processor_time(pty.process()).unwrap().saturating_sub(before);
    println!("idle for 10 s: {used:?} of processor time");
    assert_eq!(pty.raw_bytes().len(), written);
    assert!(used < Duration::from_millis(20), "{used:?}");
}

#[test]
fn the_first_frame_stands_at_once_and_the_floor_soon_after() {
    let cellar = Cellar::left_demo();
    let mut first = Vec::new();
    let mut floor = Vec::new();
    for _ in 0..5 {
        let pty = cellar.open(&[]);
        first.push(pty.time_to_first_byte().unwrap());
        pty.wait_for_quiet(QUIET);
        floor.push(pty.time_to_last_byte().unwrap());
    }
    first.sort();
    floor.sort();
    println!("first byte after {:?}, the floor after {:?} (medians of five)", first[2], floor[2]);
    assert!(cfg!(debug_assertions) || first[2] < AT_ONCE, "{first:?}");
}

#[test]
fn a_key_is_answered_within_a_frame() {
    let cellar = Cellar::left_demo();
    let mut pty = cellar.open(&[]);
    let mut count = done(&pty);
    let mut took = Vec::new();
    for _ in 0..12 {
        let pressed = Instant::now();
        count += 1;
        press_until_done(&mut pty, " ", count);
        took.push(pressed.elapsed());
        thread::sleep(Duration::from_millis(30));
    }
    took.sort();
    println!("a barrel is stored and shown after {:?} (median of 12), at most {:?}", took[6], took[11]);
    assert!(took[6] < Duration::from_millis(500), "{took:?}");
}

#[test]
fn a_file_that_is_no_cellar_is_told_on_a_terminal_given_back() {
    let folder = tempfile::tempdir().unwrap();
    let notes = folder.path().join("notes.txt");
    std::fs::write(&notes, "milk, bread, a cooper's adze\n".repeat(99)).unwrap();
    let missing = folder.path().join("nowhere.cellar");
    for file in [&notes, &missing, &folder.path().to_owned()] {
        let mut pty = Pty::start(&program(), &["open", "--cellar", file.to_str().unwrap()], &[], 80, 24);
        assert_eq!(pty.wait_for_end().exit_code(), 1);
        assert_eq!(pty.left(), Left::NOTHING);
        let screen = pty.screen();
        assert!(screen.trim_end().ends_with('.') && screen.contains("barrelwalk"), "{screen}");
    }
    assert_eq!(std::fs::read_to_string(&notes).unwrap().lines().count(), 99);
    assert!(!missing.exists());
}

#[test]
fn a_fact_of_another_program_comes_into_sight_within_a_second() {
    let cellar = Cellar::left_demo();
    let mut pty = cellar.open(&[]);
    pty.keys("0164\r");
    pty.wait_for("barrel 0164", PATIENCE);
    let at = barrelwalk::cellar::core::moment::Moment::now();
    let fact = format!(r#"{{"at":"{at}","by":"ta","v":1,"kind":"held","vessel":"0164","why":"smells of glue"}}"#);
    let file = cellar.folder.path().join("facts.jsonl");
    std::fs::write(&file, fact).unwrap();
    let output = cellar.run(&["record", file.to_str().unwrap()]);
    assert!(output.status.success(), "{output:?}");
    let stored = Instant::now();
    pty.wait_for("HELD since", Duration::from_secs(1));
    println!("seen {:?} after the other program had ended", stored.elapsed());
    pty.wait_for("Another program entered facts", PATIENCE);
}

#[test]
fn a_new_cellar_asks_at_a_terminal_and_its_first_round_is_closed() {
    let cellar = Cellar { folder: tempfile::tempdir().unwrap() };
    let file = cellar.file();
    let looks = cellar.folder.path().join("settings").join("looks.toml");
    let mut pty = Pty::start(&program(), &["new", &file], &[("BARRELWALK_LOOKS", looks.to_str().unwrap())], 80, 24);
    let mut pressed = 0;
    let mut press = |pty: &mut Pty, keys: &str| {
        pressed += keys.chars().count();
        pty.keys(keys);
    };
    for (asked, said) in
        [("Who enters?", "mk\r"), ("us, eu or both?", "eu\r"), ("Volumes in", "\r"), ("Dates day-first", "year\r")]
    {
        pty.wait_for(asked, PATIENCE);
        press(&mut pty, said);
    }
    pty.wait_for("is a new, empty cellar", PATIENCE);
    pty.wait_for_end();
    assert_eq!(std::fs::read_to_string(looks).unwrap(), "volume = \"litres\"\ndates = \"year-first\"\nby = \"mk\"\n");
    let mut pty = Pty::start(&program(), &["open", "--cellar", &file, "--by", "mk"], &[], 80, 24);
    pty.wait_for("Nothing is here yet.", PATIENCE);
    for (keys, said) in [
        ("\rA-D, 5 stacks, 4 high, pairs\r", "cellar is laid out: 4 rows, 160 places."),
        ("\r181-210, Allier, medium, 2026\r", "Numbered: 30 barrels, 181 to 210."),
        ("\u{1b}[A\rK1, keg, 100 L\r", "Numbered: keg K1."),
        ("\rM26, red, Syrah, 2026, Varrow Valley: 181-210 full, K1 full\r", "M26: 6850.0 L in 31 vessels"),
    ] {
        press(&mut pty, keys);
        pty.wait_for(said, PATIENCE);
    }
    assert_eq!((cellar.count("practice_set"), cellar.count("wine_received")), (1, 31));
    for (keys, said) in [
        ("\u{1b}", "barrel 181"),
        ("b", "top from which vessel?"),
        ("\r", "has begun, topping from K1"),
        ("e", "Every barrel of this round is done."),
        ("z", "30 of 30 barrels topped"),
        ("\r", "is closed: 30 barrels"),
    ] {
        press(&mut pty, keys);
        pty.wait_for(said, PATIENCE);
    }
    // From nothing to a first round that is closed, 30 barrels of it: as many keys as a few lines of text.
    assert!(pressed <= 160, "{pressed} keys");
    assert_eq!(cellar.count("topped"), 30);
    pty.signal(Signal::TERM);
    pty.wait_for_end();
}
