//! The least screen that has everything the terminal edge must cope with; tests run it in a pseudo-terminal.
//!
//! `p` panics, `t` panics in a thread, `e` ends with an error, `q` quits, `m` starts a timer, `w` starts long work, `b`
//! does slow work, `i` shows a cursor; every other key is counted. With `--unguarded` it takes the terminal without a
//! guard: the control that the tests must see fail.

use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Duration;

use anyhow::bail;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::tui::core::theme::{Meaning, Palette, Theme};
use barrelwalk::tui::edge::driver;
use barrelwalk::tui::edge::screen::{Effect, Effects, Mailbox, Message, Screen, TimerId};
use barrelwalk::tui::edge::surroundings::Surroundings;
use crossterm::event::KeyCode;
use ratatui::Frame;
use ratatui::layout::{Position, Size};
use ratatui::text::{Line, Span};

enum Work {
    Open,
    Panic,
    PanicInThread,
    Fail,
    Long,
    Slow,
}

enum Answer {
    Opened,
    LongDone,
    SlowDone,
}

#[derive(Default)]
#[allow(clippy::struct_excessive_bools)] // each is one thing that has happened
struct Probe {
    theme: Theme,
    opened: bool,
    keys: u32,
    changes: u32,
    ticks: u32,
    pasted: Option<usize>,
    long_done: bool,
    slow_done: bool,
    cursor: bool,
    size: Size,
    finished: bool,
}

impl Screen for Probe {
    type Work = Work;
    type Answer = Answer;

    fn update(&mut self, message: Message<Answer>, _: Moment) -> Vec<Effect<Work>> {
        match message {
            Message::Started => return vec![Effect::Work(Work::Open)],
            Message::Key(key) => return self.press(key.code),
            Message::Paste(text) => self.pasted = Some(text.chars().count()),
            Message::Resized(size) => self.size = size,
            Message::Changed => self.changes += 1,
            Message::Tick(_) => self.ticks += 1,
            Message::Answer(Answer::Opened) => self.opened = true,
            Message::Answer(Answer::LongDone) => self.long_done = true,
            Message::Answer(Answer::SlowDone) => self.slow_done = true,
        }
        Vec::new()
    }

    fn draw(&self, frame: &mut Frame<'_>) {
        let style = |meaning| self.theme.style(meaning);
        let size = self.size;
        let lines = vec![
            Line::styled(format!("process {} is {}", std::process::id(), self.state()), style(Meaning::Title)),
            Line::styled(format!("keys {}", self.keys), self.theme.selected(style(Meaning::Base))),
            Line::styled(format!("changes {}, ticks {}", self.changes, self.ticks), style(Meaning::Due)),
            Line::styled(format!("size {}x{}", size.width, size.height), style(Meaning::Over)),
            Line::from(vec![
                Span::styled(format!("pasted {:?} ", self.pasted), style(Meaning::Held)),
                Span::styled(format!("long {} slow {}", self.long_done, self.slow_done), self.theme.category(1)),
            ]),
        ];
        for (line, row) in lines.into_iter().zip(frame.area().rows()) {
            frame.render_widget(line, row);
        }
        if self.cursor && frame.area().contains(Position::new(5, 1)) {
            frame.set_cursor_position((5, 1));
        }
    }

    fn finished(&self) -> bool {
        self.finished
    }
}

impl Probe {
    fn state(&self) -> &'static str {
        if self.opened { "open" } else { "new" }
    }

    fn press(&mut self, key: KeyCode) -> Vec<Effect<Work>> {
        let work = match key {
            KeyCode::Char('p') => Work::Panic,
            KeyCode::Char('t') => Work::PanicInThread,
            KeyCode::Char('e') => Work::Fail,
            KeyCode::Char('w') => Work::Long,
            KeyCode::Char('b') => Work::Slow,
            KeyCode::Char('m') => {
                return vec![Effect::Timer { id: TimerId(1), after: Duration::from_millis(50) }];
            }
            other => {
                self.finished = other == KeyCode::Char('q');
                self.cursor ^= other == KeyCode::Char('i');
                self.keys += 1;
                return Vec::new();
            }
        };
        vec![Effect::Work(work)]
    }
}

/// Does what the probe wishes; opening takes as long as it was told to.
struct Hands {
    opening: Duration,
}

impl Effects for Hands {
    type Work = Work;
    type Answer = Answer;

    fn carry_out(&mut self, work: Work, mailbox: &Mailbox<Answer>) -> anyhow::Result<Vec<Answer>> {
        match work {
            Work::Open => {
                std::thread::sleep(self.opening);
                return Ok(vec![Answer::Opened]);
            }
            Work::Panic => panic!("the probe panics as asked"),
            Work::PanicInThread => {
                std::thread::spawn(|| panic!("the probe's thread panics as asked"));
            }
            Work::Fail => bail!("the probe fails as asked"),
            Work::Long => {
                let mailbox = mailbox.clone();
                std::thread::spawn(move || {
                    std::thread::sleep(Duration::from_millis(50));
                    mailbox.post(Answer::LongDone);
                });
            }
            Work::Slow => {
                std::thread::sleep(Duration::from_secs(2));
                return Ok(vec![Answer::SlowDone]);
            }
        }
        Ok(Vec::new())
    }
}

fn main() -> ExitCode {
    let mut cellar_file = None;
    let mut opening = Duration::ZERO;
    for argument in std::env::args().skip(1) {
        match argument.as_str() {
            "--unguarded" => return run_unguarded(),
            "--slow-opening" => opening = Duration::from_millis(500),
            file => cellar_file = Some(PathBuf::from(file)),
        }
    }
    let theme = Theme::new(Palette::choose(None, None, Surroundings::read()));
    let mut probe = Probe { theme, ..Probe::default() };
    match driver::run(&mut probe, &mut Hands { opening }, cellar_file) {
        Ok(ending) => {
            // Not `println!`, which panics when the terminal is gone.
            let _ = writeln!(std::io::stdout(), "ended by {ending:?}");
            ExitCode::from(ending.exit_code())
        }
        Err(error) => {
            eprintln!("error: {error:#}");
            ExitCode::FAILURE
        }
    }
}

/// Takes the terminal the simple way and waits to be killed.
fn run_unguarded() -> ExitCode {
    let mut terminal = ratatui::init();
    let drawn = terminal.draw(|frame| frame.render_widget(Line::raw("unguarded"), frame.area()));
    if drawn.is_ok() {
        std::thread::sleep(Duration::from_secs(60));
    }
    ExitCode::FAILURE
}
