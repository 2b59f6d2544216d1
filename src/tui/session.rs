//! A screen with its effects and timers, but without a terminal: what the driver turns, and what tests turn by hand.

use std::collections::VecDeque;
use std::time::Instant;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::Frame;

use crate::cellar::moment::Moment;
use crate::tui::screen::{Effect, Effects, Mailbox, Message, Screen, TimerId};

/// Where a session takes the time from.
pub type Clock<'a> = Box<dyn Fn() -> Moment + 'a>;

/// A running screen.
pub struct Session<'a, S: Screen, E> {
    screen: &'a mut S,
    effects: &'a mut E,
    clock: Clock<'a>,
    mailbox: Mailbox<S::Answer>,
    wishes: VecDeque<Effect<S::Work>>,
    timers: Vec<(TimerId, Instant)>,
}

impl<'a, S, E> Session<'a, S, E>
where
    S: Screen,
    E: Effects<Work = S::Work, Answer = S::Answer>,
{
    /// Puts a screen together with the one who carries out its wishes.
    pub fn new(screen: &'a mut S, effects: &'a mut E, clock: Clock<'a>, mailbox: Mailbox<S::Answer>) -> Self {
        Session { screen, effects, clock, mailbox, wishes: VecDeque::new(), timers: Vec::new() }
    }

    /// A session for tests, at a moment that stands still. What threads post to its mailbox is lost.
    pub fn at(screen: &'a mut S, effects: &'a mut E, now: Moment) -> Self {
        let (sender, _) = std::sync::mpsc::channel();
        Session::new(screen, effects, Box::new(move || now), Mailbox(sender))
    }

    /// Tells the screen a message, without carrying out yet what it wishes.
    pub fn tell(&mut self, message: Message<S::Answer>) {
        let wishes = self.screen.update(message, (self.clock)());
        self.wishes.extend(wishes);
    }

    /// Carries out what was wished, in order, and tells what came of it, until nothing is left to do.
    pub fn settle(&mut self) -> anyhow::Result<()> {
        while let Some(wish) = self.wishes.pop_front() {
            match wish {
                Effect::Work(work) => {
                    for answer in self.effects.carry_out(work, &self.mailbox)? {
                        self.tell(Message::Answer(answer));
                    }
                }
                Effect::Timer { id, after } => {
                    self.forget(id);
                    // A time too far away for the clock is never.
                    self.timers.extend(Instant::now().checked_add(after).map(|due| (id, due)));
                }
                Effect::Forget(id) => self.forget(id),
            }
        }
        Ok(())
    }

    /// Tells a message and carries out all that follows from it.
    pub fn take(&mut self, message: Message<S::Answer>) -> anyhow::Result<()> {
        self.tell(message);
        self.settle()
    }

    /// Tells a plain key, for tests.
    pub fn press(&mut self, code: KeyCode) -> anyhow::Result<()> {
        self.take(Message::Key(KeyEvent::new(code, KeyModifiers::NONE)))
    }

    /// Tells every character of a text as a key, for tests.
    pub fn type_text(&mut self, text: &str) -> anyhow::Result<()> {
        text.chars().try_for_each(|character| self.press(KeyCode::Char(character)))
    }

    /// When the next timer runs out, if one runs.
    #[must_use]
    pub fn next_due(&self) -> Option<Instant> {
        self.timers.iter().map(|&(_, due)| due).min()
    }

    /// Tells the ticks of all timers that have run out by `now`, in the order they did. Says whether there was one.
    pub fn fire_due(&mut self, now: Instant) -> anyhow::Result<bool> {
        let mut due: Vec<_> = self.timers.extract_if(.., |&mut (_, due)| due <= now).collect();
        due.sort_by_key(|&(_, due)| due);
        for &(id, _) in &due {
            self.take(Message::Tick(id))?;
        }
        Ok(!due.is_empty())
    }

    /// Draws the screen.
    pub fn draw(&self, frame: &mut Frame<'_>) {
        self.screen.draw(frame);
    }

    /// Whether the person has left.
    #[must_use]
    pub fn finished(&self) -> bool {
        self.screen.finished()
    }

    /// The screen as it stands.
    #[must_use]
    pub fn screen(&self) -> &S {
        self.screen
    }

    fn forget(&mut self, id: TimerId) {
        self.timers.retain(|&(running, _)| running != id);
    }
}
