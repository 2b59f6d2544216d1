//! The one place with effects: turns a screen on a real terminal.
//!
//! One channel hears everything. The loop blocks on it, without any time limit while no timer runs, takes all that has
//! queued up, and draws at most one frame in ten milliseconds.

use std::io;
use std::ops::ControlFlow::{self, Break, Continue};
use std::path::PathBuf;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::time::{Duration, Instant};

use anyhow::{Context, bail};
use crossterm::event::KeyEvent;
use signal_hook::consts::SIGHUP;

use crate::cellar::core::moment::Moment;
use crate::tui::edge::canvas::Painter;
use crate::tui::edge::screen::{Effects, Mailbox, Message, Screen};
use crate::tui::edge::session::Session;
use crate::tui::edge::sources;
use crate::tui::edge::terminal::TerminalGuard;
use crate::tui::edge::watch::Watch;

/// The least time from one frame to the next.
const FRAME_GAP: Duration = Duration::from_millis(10);

/// What the driver hears from outside.
#[derive(Debug)]
pub(in crate::tui) enum Incoming<Answer> {
    Key(KeyEvent),
    Paste(String),
    Resized,
    Changed,
    Answer(Answer),
    Suspend,
    Continued,
    Terminate(i32),
    Panicked,
    HungUp,
}

/// How a full screen came to its end. In every case the terminal was given back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ending {
    /// The person left.
    Finished,
    /// A signal asked for the end.
    Signalled(i32),
    /// The terminal went away.
    HungUp,
}

impl Ending {
    /// The exit code that says so: zero, or as shells count a signal.
    #[must_use]
    pub fn exit_code(self) -> u8 {
        match self {
            Ending::Finished => 0,
            Ending::Signalled(signal) => signal_code(signal),
            Ending::HungUp => signal_code(SIGHUP),
        }
    }
}

fn signal_code(signal: i32) -> u8 {
    u8::try_from(signal).map_or(u8::MAX, |signal| signal.saturating_add(128))
}

/// Runs a screen on the terminal until it is finished, a signal asks for the end, or the terminal is gone. Writing to
/// `cellar_file` by anyone is told to the screen.
///
/// The first frame is drawn from the screen as it is given, before any of its wishes is carried out.
pub fn run<S, E>(screen: &mut S, effects: &mut E, cellar_file: Option<PathBuf>) -> anyhow::Result<Ending>
where
    S: Screen,
    E: Effects<Work = S::Work, Answer = S::Answer>,
    S::Answer: Send + 'static,
{
    let (sender, incoming) = channel();
    let guard = TerminalGuard::new()?;
    // From here on no way out leaves the terminal as the screen needs it.
    let alarm = sender.clone();
    guard.restore_on_panic(move || drop(alarm.send(Incoming::Panicked)));
    sources::listen_to_signals(sender.clone(), guard.restorer()).context("The program cannot listen to signals.")?;
    let painter = Painter::new().context("The terminal does not tell its size.")?;
    guard.start().context("The terminal cannot be switched to the full screen.")?;
    let session = Session::new(screen, effects, Box::new(Moment::now), Mailbox(sender.clone()));
    let mut driver = Driver { guard, painter, session, incoming, watch: None, dirty: true, next_frame: Instant::now() };
    let ending = driver.run(&sender, cellar_file);
    driver.guard.stop();
    ending
}

struct Driver<'a, S: Screen, E> {
    guard: TerminalGuard,
    painter: Painter,
    session: Session<'a, S, E>,
    incoming: Receiver<Incoming<S::Answer>>,
    watch: Option<Watch>,
    // Whether something was told since the last frame.
    dirty: bool,
    next_frame: Instant,
}

impl<S, E> Driver<'_, S, E>
where
    S: Screen,
    E: Effects<Work = S::Work, Answer = S::Answer>,
    S::Answer: Send + 'static,
{
    fn run(&mut self, sender: &Sender<Incoming<S::Answer>>, cellar_file: Option<PathBuf>) -> anyhow::Result<Ending> {
        // What cannot be drawn on is gone, here and below: there is nobody to tell why.
        if self.first_frame().is_err() {
            return Ok(Ending::HungUp);
        }
        let threads = "The program cannot listen to the terminal.";
        sources::listen_to_keys(sender.clone()).context(threads)?;
        sources::listen_to_hang_up(sender.clone()).context(threads)?;
        self.watch = cellar_file.map(|file| Watch::start(&file, sender));
        self.session.take(Message::Started)?;
        self.dirty = true;
        loop {
            if self.session.finished() {
                return Ok(Ending::Finished);
            }
            if self.paint_if_due().is_err() {
                return Ok(Ending::HungUp);
            }
            if let Break(ending) = self.wait_and_take_all()? {
                return Ok(ending);
            }
        }
    }

    fn first_frame(&mut self) -> io::Result<()> {
        let size = self.painter.size()?;
        self.session.tell(Message::Resized(size));
        self.paint()
    }

    fn paint(&mut self) -> io::Result<()> {
        self.painter.paint(&self.guard, |frame| self.session.draw(frame))?;
        self.dirty = false;
        self.next_frame = Instant::now() + FRAME_GAP;
        Ok(())
    }

    fn paint_if_due(&mut self) -> io::Result<()> {
        if self.wants_paint() && Instant::now() >= self.next_frame { self.paint() } else { Ok(()) }
    }

    /// A stopped program that was not yet continued has no terminal to draw on.
    fn wants_paint(&self) -> bool {
        self.dirty && self.guard.is_on()
    }

    /// Waits for the next thing to do, then takes what has queued up, for no longer than a frame may wait.
    fn wait_and_take_all(&mut self) -> anyhow::Result<ControlFlow<Ending>> {
        let mut next = self.wait();
        let until = Instant::now() + FRAME_GAP;
        while let Some(incoming) = next {
            if let Break(ending) = self.take(incoming)? {
                return Ok(Break(ending));
            }
            // Keys typed after the one that leaves are not for this screen.
            if self.session.finished() || Instant::now() >= until {
                break;
            }
            next = self.incoming.try_recv().ok();
        }
        self.dirty |= self.session.fire_due(Instant::now())?;
        Ok(Continue(()))
    }

    fn wait(&self) -> Option<Incoming<S::Answer>> {
        let frame = self.wants_paint().then_some(self.next_frame);
        match frame.into_iter().chain(self.session.next_due()).min() {
            None => Some(self.incoming.recv().unwrap_or(Incoming::HungUp)),
            Some(due) => match self.incoming.recv_timeout(due.saturating_duration_since(Instant::now())) {
                Ok(incoming) => Some(incoming),
                Err(RecvTimeoutError::Timeout) => None,
                Err(RecvTimeoutError::Disconnected) => Some(Incoming::HungUp),
            },
        }
    }

    fn take(&mut self, incoming: Incoming<S::Answer>) -> anyhow::Result<ControlFlow<Ending>> {
        let message = match incoming {
            Incoming::Key(key) => Message::Key(key),
            Incoming::Paste(text) => Message::Paste(text),
            Incoming::Answer(answer) => Message::Answer(answer),
            Incoming::Changed => {
                // Answered before it is looked at: a write that comes while looking is told again.
                if let Some(watch) = &self.watch {
                    watch.answered();
                }
                Message::Changed
            }
            Incoming::Resized => match self.painter.size() {
                Ok(size) => Message::Resized(size),
                Err(_) => return Ok(Break(Ending::HungUp)),
            },
            Incoming::Suspend => {
                self.suspend();
                return Ok(Continue(()));
            }
            Incoming::Continued => match self.resume() {
                Ok(message) => message,
                Err(_) => return Ok(Break(Ending::HungUp)),
            },
            Incoming::Terminate(signal) => return Ok(Break(Ending::Signalled(signal))),
            Incoming::Panicked => bail!("A part of the program failed. What was shown as done is stored."),
            Incoming::HungUp => return Ok(Break(Ending::HungUp)),
        };
        self.session.take(message)?;
        self.dirty = true;
        Ok(Continue(()))
    }

    fn suspend(&mut self) {
        if sources::can_be_continued() {
            self.guard.stop();
            sources::stop_job();
        }
    }

    /// After the program was stopped, by itself or by others, the terminal may be in any state and of another size.
    fn resume(&mut self) -> io::Result<Message<S::Answer>> {
        self.guard.stop();
        self.guard.start()?;
        self.painter.forget()?;
        self.painter.size().map(Message::Resized)
    }
}
