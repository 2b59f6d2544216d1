//! A screen with its effects and timers, but without a terminal: what the driver turns, and what tests turn by hand.

use std::collections::VecDeque;
use std::time::Instant;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::Frame;

use crate::cellar::core::moment::Moment;
use crate::tui::edge::screen::{Effect, Effects, Mailbox, Message, Screen, TimerId};

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

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::*;

    /// Writes down all it is told; `a` wishes for work whose answer comes at once, `t` and `f` start and forget a timer.
    #[derive(Default)]
    struct Scribe {
        told: Vec<String>,
    }

    impl Screen for Scribe {
        type Work = char;
        type Answer = char;

        fn update(&mut self, message: Message<char>, now: Moment) -> Vec<Effect<char>> {
            let (told, wishes) = match message {
                Message::Key(key) => {
                    let letter = key.code.as_char().unwrap_or('?');
                    let wish = match letter {
                        't' => Some(Effect::Timer { id: TimerId(7), after: Duration::from_secs(60) }),
                        'f' => Some(Effect::Forget(TimerId(7))),
                        'a' => Some(Effect::Work('A')),
                        _ => None,
                    };
                    (format!("key {letter}"), wish.into_iter().collect())
                }
                Message::Answer('A') => ("answer A".to_owned(), vec![Effect::Work('B')]),
                Message::Answer(answer) => (format!("answer {answer}"), Vec::new()),
                Message::Tick(TimerId(id)) => (format!("tick {id} at {}", now.instant()), Vec::new()),
                other => (format!("{other:?}"), Vec::new()),
            };
            self.told.push(told);
            wishes
        }

        fn draw(&self, _: &mut Frame<'_>) {}

        fn finished(&self) -> bool {
            false
        }
    }

    struct Echo;

    impl Effects for Echo {
        type Work = char;
        type Answer = char;

        fn carry_out(&mut self, work: char, _: &Mailbox<char>) -> anyhow::Result<Vec<char>> {
            Ok(vec![work])
        }
    }

    #[test]
    fn answers_come_before_the_next_key() {
        let mut scribe = Scribe::default();
        let mut effects = Echo;
        let mut session = Session::at(&mut scribe, &mut effects, Moment::new(0, 0));
        session.type_text("ab").unwrap();
        assert_eq!(session.screen().told, ["key a", "answer A", "answer B", "key b"]);
    }

    #[test]
    fn nothing_is_carried_out_before_settling() {
        let mut scribe = Scribe::default();
        let mut effects = Echo;
        let mut session = Session::at(&mut scribe, &mut effects, Moment::new(0, 0));
        session.tell(Message::Answer('A'));
        assert_eq!(session.screen().told, ["answer A"]);
        session.settle().unwrap();
        assert_eq!(session.screen().told, ["answer A", "answer B"]);
    }

    #[test]
    fn a_timer_ticks_once_and_its_name_runs_once() {
        let mut scribe = Scribe::default();
        let mut effects = Echo;
        let mut session = Session::at(&mut scribe, &mut effects, Moment::new(5, 0));
        session.type_text("tt").unwrap();
        let due = session.next_due().unwrap();
        assert!(!session.fire_due(due.checked_sub(Duration::from_secs(1)).unwrap()).unwrap());
        assert!(session.fire_due(due).unwrap());
        assert!(!session.fire_due(due + Duration::from_secs(99)).unwrap());
        assert_eq!(session.next_due(), None);
        assert_eq!(session.screen().told, ["key t", "key t", "tick 7 at 5"]);
    }

    #[test]
    fn a_forgotten_timer_does_not_tick() {
        let mut scribe = Scribe::default();
        let mut effects = Echo;
        let mut session = Session::at(&mut scribe, &mut effects, Moment::new(0, 0));
        session.type_text("tf").unwrap();
        assert_eq!(session.next_due(), None);
    }
}
