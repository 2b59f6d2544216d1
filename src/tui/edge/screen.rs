//! What a full screen is to the driver: a machine that takes messages and answers with wishes.

use std::sync::mpsc::Sender;
use std::time::Duration;

use crossterm::event::KeyEvent;
use ratatui::Frame;
use ratatui::layout::Size;

use crate::cellar::core::moment::Moment;
use crate::tui::edge::driver::Incoming;

/// The name of a one-shot timer. A screen gives its own numbers, and takes a tick whose number it no longer waits for as
/// nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct TimerId(pub u32);

/// What a screen is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Message<Answer> {
    /// The first frame stands on the terminal: now the log may be asked.
    Started,
    /// A key was pressed, or repeats because it is held. Releases are never told. Ctrl-Z does not come here.
    Key(KeyEvent),
    /// A text was pasted, in one piece, as it came: it may hold any character.
    Paste(String),
    /// The terminal has this size. Told once before the first frame and then at every change; for scroll positions only,
    /// as [`Screen::draw`] has the size of its own frame.
    Resized(Size),
    /// The cellar file was written. By another program, or by this one: the handler of effects can tell cheaply.
    Changed,
    /// A timer ran out.
    Tick(TimerId),
    /// What came of an effect.
    Answer(Answer),
}

/// What a screen wishes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Effect<Work> {
    /// Carry this out: append, refresh, export. The screen's own words.
    Work(Work),
    /// Tell [`Message::Tick`] once when this time has gone by. A timer of the same name that still runs is replaced.
    Timer {
        /// Its name, given back with the tick.
        id: TimerId,
        /// How long from now.
        after: Duration,
    },
    /// Let a timer fall, if it still runs.
    Forget(TimerId),
}

/// A full screen, as a pure machine.
pub trait Screen {
    /// What it can wish for, beyond timers.
    type Work;
    /// What can come of it.
    type Answer;

    /// Takes a message, told at `now`, and says what is to be done.
    fn update(&mut self, message: Message<Self::Answer>, now: Moment) -> Vec<Effect<Self::Work>>;

    /// Draws the whole frame, at any size down to nothing.
    fn draw(&self, frame: &mut Frame<'_>);

    /// Whether the person has left.
    fn finished(&self) -> bool;
}

/// The one who carries out what a screen wishes: the only place under a screen that knows disk and desk.
pub trait Effects {
    /// What can be wished for.
    type Work;
    /// What can come of it.
    type Answer;

    /// Carries out one wish. What is known at once is returned, and reaches the screen before any later key does: an
    /// append must answer so, or a second key would act on the barrel that the first one was meant to leave. What takes
    /// long goes to a thread that posts to the mailbox. An error ends the full screen; what the person can do something
    /// about is an answer instead.
    fn carry_out(&mut self, work: Self::Work, mailbox: &Mailbox<Self::Answer>) -> anyhow::Result<Vec<Self::Answer>>;
}

/// Where a thread posts what has come of long work.
#[derive(Debug)]
pub struct Mailbox<Answer>(pub(in crate::tui) Sender<Incoming<Answer>>);

impl<Answer> Mailbox<Answer> {
    /// Posts an answer. Says whether somebody still listens, so that work nobody waits for can stop.
    pub fn post(&self, answer: Answer) -> bool {
        self.0.send(Incoming::Answer(answer)).is_ok()
    }
}

impl<Answer> Clone for Mailbox<Answer> {
    fn clone(&self) -> Self {
        Mailbox(self.0.clone())
    }
}
