//! The terminal is given back on every way out of the full screen.

mod support;

use std::path::PathBuf;
use std::thread;
use std::time::{Duration, Instant};

use rustix::process::Signal;
use support::pty::{self, Left, PATIENCE, Pty};

const NORMAL: (u16, u16) = (80, 24);

fn probe() -> PathBuf {
    pty::example("screen-probe")
}

fn start(arguments: &[&str], variables: &[(&str, &str)]) -> Pty {
    let pty = Pty::start(&probe(), arguments, variables, NORMAL.0, NORMAL.1);
    pty.wait_for("is open", PATIENCE);
    pty
}

/// A probe that a shell can stop and continue. When stopped, the shell waits for a line before it continues the probe.
fn start_as_job() -> Pty {
    let when_stopped = "echo the shell is back; read line; fg >/dev/null";
    let pty = Pty::start_as_job(&probe(), when_stopped, NORMAL.0, NORMAL.1);
    pty.wait_for("is open", PATIENCE);
    pty
}

/// The number of the probe's process, which it shows itself.
fn shown_process(pty: &Pty) -> u32 {
    let screen = pty.screen();
    screen.split_whitespace().nth(1).and_then(|number| number.parse().ok()).expect("the probe shows its number")
}

fn taken() -> Left {
    Left { alternate_screen: true, hidden_cursor: true, bracketed_paste: true, open_frame: false, modes: true }
}

#[test]
fn the_terminal_is_taken_while_the_screen_runs_and_given_back_when_it_is_left() {
    let mut pty = start(&[], &[]);
    assert_eq!(pty.left(), taken());
    pty.keys("q");
    assert_eq!(pty.wait_for_end().exit_code(), 0);
    assert_eq!(pty.left(), Left::NOTHING);
    assert!(pty.screen().contains("ended by Finished"));
}

#[test]
fn a_shown_cursor_is_left_shown() {
    let mut pty = start(&[], &[]);
    pty.keys("i");
    pty.wait_for("keys 1", PATIENCE);
    assert!(!pty.left().hidden_cursor);
    assert_eq!(pty.cells(vt100::Screen::cursor_position), (1, 5));
    pty.keys("q");
    pty.wait_for_end();
    assert_eq!(pty.left(), Left::NOTHING);
}

#[test]
fn a_panic_gives_the_terminal_back_and_is_told_there() {
    let mut pty = start(&[], &[]);
    pty.keys("p");
    assert_eq!(pty.wait_for_end().exit_code(), 101);
    assert_eq!(pty.left(), Left::NOTHING);
    assert!(pty.screen().contains("the probe panics as asked"));
}

#[test]
fn a_panic_in_a_thread_ends_the_screen_as_well() {
    let mut pty = start(&[], &[]);
    pty.keys("t");
    assert_eq!(pty.wait_for_end().exit_code(), 1);
    assert_eq!(pty.left(), Left::NOTHING);
    assert!(pty.screen().contains("the probe's thread panics as asked"));
    assert!(pty.screen().contains("A part of the program failed"));
}

#[test]
fn an_error_gives_the_terminal_back_and_is_told_there() {
    let mut pty = start(&[], &[]);
    pty.keys("e");
    assert_eq!(pty.wait_for_end().exit_code(), 1);
    assert_eq!(pty.left(), Left::NOTHING);
    assert!(pty.screen().contains("error: the probe fails as asked"));
}

#[test]
fn signals_that_ask_for_the_end_give_the_terminal_back() {
    for (signal, code) in [(Signal::TERM, 143), (Signal::HUP, 129), (Signal::INT, 130), (Signal::QUIT, 131)] {
        let mut pty = start(&[], &[]);
        pty.signal(signal);
        assert_eq!(pty.wait_for_end().exit_code(), code, "{signal:?}");
        assert_eq!(pty.left(), Left::NOTHING, "{signal:?}");
    }
}

#[test]
fn a_second_signal_does_not_wait_for_slow_work() {
    let mut pty = start(&[], &[]);
    pty.keys("b");
    thread::sleep(Duration::from_millis(200));
    let asked = Instant::now();
    pty.signal(Signal::TERM);
    thread::sleep(Duration::from_millis(100));
    pty.signal(Signal::TERM);
    let status = pty.wait_for_end();
    assert!(asked.elapsed() < Duration::from_secs(1));
    assert!(status.signal().is_some(), "{status:?}");
    assert_eq!(pty.left(), Left::NOTHING);
}

#[test]
fn a_terminal_that_is_closed_ends_the_screen() {
    let mut pty = start(&[], &[]);
    pty.hang_up();
    // With the signal that goes with it, or before it.
    let status = pty.wait_for_end();
    assert_eq!(status.exit_code(), 129, "{status:?}");
}

#[test]
fn a_terminal_that_is_closed_without_a_signal_ends_the_screen() {
    // The signal goes to the shell alone, which passes it over.
    let mut pty = Pty::start_in_shell(&probe(), "trap '' HUP; \"$0\"; exit $?", NORMAL.0, NORMAL.1);
    pty.wait_for("is open", PATIENCE);
    pty.hang_up();
    assert_eq!(pty.wait_for_end().exit_code(), 129);
}

#[test]
fn control_z_gives_the_terminal_back_until_the_job_is_continued() {
    let mut pty = start_as_job();
    pty.keys("x");
    pty.wait_for("keys 1", PATIENCE);
    let process = shown_process(&pty);
    pty.keys("\u{1a}");
    pty.wait_for("the shell is back", PATIENCE);
    assert_eq!(pty.left(), Left::NOTHING);
    assert!(pty::is_stopped(process) || !cfg!(target_os = "linux"));
    pty.keys("\n");
    pty.wait_for("keys 1", PATIENCE);
    assert_eq!(pty.left(), taken());
    pty.keys("x");
    pty.wait_for("keys 2", PATIENCE);
    pty.keys("q");
    pty.wait_for("ended by Finished", PATIENCE);
    assert_eq!(pty.left(), Left::NOTHING);
}

#[test]
fn a_stop_signal_gives_the_terminal_back_until_the_job_is_continued() {
    let mut pty = start_as_job();
    pty::send(shown_process(&pty), Signal::TSTP);
    pty.wait_for("the shell is back", PATIENCE);
    assert_eq!(pty.left(), Left::NOTHING);
    pty.resize(100, 30);
    pty.keys("\n");
    pty.wait_for("size 100x30", PATIENCE);
    assert_eq!(pty.left(), taken());
}

#[test]
fn a_stop_that_nobody_can_catch_is_mended_when_the_job_is_continued() {
    let mut pty = start_as_job();
    pty::send(shown_process(&pty), Signal::STOP);
    pty.wait_for("the shell is back", PATIENCE);
    pty.keys("\n");
    // Drawn anew over what the shell has written.
    pty.wait_until_gone("the shell is back", PATIENCE);
    pty.wait_for("keys 0", PATIENCE);
    assert_eq!(pty.left(), taken());
    pty.keys("x");
    pty.wait_for("keys 1", PATIENCE);
}

#[test]
fn without_a_shell_to_continue_it_the_screen_does_not_stop() {
    let mut pty = start(&[], &[]);
    pty.keys("\u{1a}");
    pty.signal(Signal::TSTP);
    pty.keys("x");
    pty.wait_for("keys 1", PATIENCE);
    assert_eq!(pty.left(), taken());
}

#[test]
fn without_a_terminal_there_is_a_sentence_and_no_sequence() {
    let output = std::process::Command::new(probe()).output().expect("the probe runs");
    assert_eq!(output.status.code(), Some(1));
    assert!(output.stdout.is_empty());
    assert!(String::from_utf8_lossy(&output.stderr).contains("needs a terminal"));
}

#[test]
fn the_harness_sees_a_terminal_that_is_not_given_back() {
    let mut pty = Pty::start(&probe(), &["--unguarded"], &[], NORMAL.0, NORMAL.1);
    pty.wait_for("unguarded", PATIENCE);
    pty.signal(Signal::KILL);
    pty.wait_for_end();
    let left = pty.left();
    assert_ne!(left, Left::NOTHING);
    assert!(left.alternate_screen && left.hidden_cursor && left.modes, "{left:?}");
}

#[test]
fn the_harness_sees_a_guarded_terminal_whose_program_had_no_chance() {
    let mut pty = start(&[], &[]);
    pty.signal(Signal::KILL);
    pty.wait_for_end();
    assert_eq!(pty.left(), taken());
}
