//! What the screen does with a message: keys are resolved to commands and given, text goes where it belongs, answers are
//! taken in.

use std::time::Duration;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use ratatui::Frame;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Text;
use crate::cellar::core::moment::{DAY_MICROSECONDS, Moment};
use crate::cellar::core::state::State;
use crate::desk::{Act, DeskError};
use crate::tui::core::asking;
use crate::tui::core::draw;
use crate::tui::core::leaving;
use crate::tui::core::line::Marked;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::then::Then;
use crate::tui::core::work::{Answer, Work};
use crate::tui::edge::screen::{Effect, Message, Screen, TimerId};

/// The timer that turns the date at midnight.
const MIDNIGHT: TimerId = TimerId(1);

/// The timer after which a cellar that was written is looked at once more.
const LATE: TimerId = TimerId(2);
/// A file is told to be written before its facts can be read: the other program is still bringing them to the disk.
const LOOK_AGAIN: Effect<Work> = Effect::Timer { id: LATE, after: Duration::from_millis(250) };

/// What went astray is looked at again by itself until it is back.
const LOOK_FOR_IT: Effect<Work> = Effect::Timer { id: LATE, after: Duration::from_secs(2) };

/// What the screen wishes after a message.
pub(in crate::tui) type Wishes = Vec<Effect<Work>>;

impl Screen for Model {
    type Work = Work;
    type Answer = Answer;

    fn update(&mut self, message: Message<Answer>, now: Moment) -> Wishes {
        self.clock = now;
        self.set_time();
        let wishes = self.on_message(message);
        self.mark_proposed();
        wishes
    }

    fn draw(&self, frame: &mut Frame<'_>) {
        draw::draw(self, frame);
    }

    fn finished(&self) -> bool {
        self.finished
    }
}

/// Days since topping are counted by the date on the wall, so the screen looks again when that turns.
fn midnight(now: Moment) -> Effect<Work> {
    let local = now.instant() + i64::from(now.offset_minutes()) * 60_000_000;
    let left = DAY_MICROSECONDS - local.rem_euclid(DAY_MICROSECONDS);
    Effect::Timer { id: MIDNIGHT, after: Duration::from_micros(u64::try_from(left).unwrap_or(0)) }
}

impl Model {
    fn on_message(&mut self, message: Message<Answer>) -> Wishes {
        match message {
            Message::Started => vec![Effect::Work(Work::Open), midnight(self.clock)],
            Message::Key(key) => self.on_key(key),
            Message::Paste(text) => self.on_paste(&text),
            Message::Resized(size) => {
                self.size = size;
                Vec::new()
            }
            Message::Changed if self.opened => vec![Effect::Work(Work::Refresh), LOOK_AGAIN],
            Message::Tick(LATE) if self.opened => {
                let again = self.astray.then_some(LOOK_FOR_IT);
                std::iter::once(Effect::Work(Work::Refresh)).chain(again).collect()
            }
            Message::Tick(MIDNIGHT) => vec![midnight(self.clock)],
            Message::Changed | Message::Tick(_) => Vec::new(),
            Message::Answer(answer) => {
                if let Some(wishes) = self.answered_on_pages(&answer) {
                    return [wishes, self.wanted_on_pages()].concat();
                }
                let is_changed = matches!(answer, Answer::Changed(_) | Answer::AsOf(_));
                let wishes = match answer {
                    Answer::Stored { state, say, then } => {
                        (self.marked, self.asked) = (Marked::default(), Vec::new());
                        self.take_state(state);
                        self.act_is_stored();
                        self.say(say, Tone::Done);
                        self.stored_on_page(then)
                    }
                    Answer::Checked => vec![Effect::Work(Work::HeedCheck)],
                    answer => {
                        let is_astray = matches!(answer, Answer::Astray { read_only: Some(_), .. });
                        self.on_answer(answer);
                        is_astray.then_some(LOOK_FOR_IT).into_iter().collect()
                    }
                };
                let again = if is_changed { self.ask_again_on_pages() } else { Vec::new() };
                [wishes, again, self.wanted_on_pages()].concat()
            }
        }
    }

    fn on_key(&mut self, key: KeyEvent) -> Wishes {
        self.saying = false;
        if key.modifiers.contains(KeyModifiers::CONTROL) && key.code == KeyCode::Char('c') {
            self.finished = true;
            return Vec::new();
        }
        if draw::is_too_small(self.size) {
            // What cannot be seen is not done.
            if key.code == KeyCode::Char('q') {
                leaving::quit(self);
            }
            return Vec::new();
        }
        self.on_page_key(&key)
    }

    fn on_paste(&mut self, text: &str) -> Wishes {
        if draw::is_too_small(self.size) {
            return Vec::new();
        }
        self.paste_on_page(text)
    }

    fn on_answer(&mut self, answer: Answer) {
        match answer {
            Answer::Opened { state, read_only, warnings } => {
                self.opened = true;
                self.read_only = read_only;
                self.take_state(state);
                (self.house.begins)(self);
                if let Some(told) = self.house.told(self, None) {
                    self.say(told, Tone::Notice);
                }
                self.heed((self.house.under_way_caution)(self));
                self.warn(warnings);
            }
            Answer::Told(sentence) => self.say_also(&sentence, Tone::Notice),
            Answer::OnlyRead(why) => {
                self.read_only = Some(why.clone());
                self.say(why, Tone::Notice);
            }
            Answer::Astray { state, read_only, elsewhere, say } => self.on_astray(state, read_only, elsewhere, &say),
            Answer::Changed(state) => {
                let before = self.state.clone();
                let lost = self.take_state(state);
                let told = self.house.told(self, Some(&before));
                self.say("Another program entered facts into this cellar; they are shown now.", Tone::Notice);
                if let Some(lost) = lost {
                    self.say_also(&lost, Tone::Refused);
                }
                if let Some(told) = told {
                    self.say_also(&told, Tone::Notice);
                }
            }
            Answer::AsOf(state) => self.see_as_of_then(state),
            Answer::Asked(questions) => {
                asking::ask(self, questions);
            }
            Answer::Refused(error) => {
                match error {
                    DeskError::Refused(refusal) => self.refuse_act(&refusal),
                    error => self.refuse(error.to_string()),
                };
                self.mark_line();
            }
            // It was taken in before, or asked for by a page that is closed.
            Answer::Stored { .. }
            | Answer::Checked
            | Answer::Who(_)
            | Answer::SoFar { .. }
            | Answer::Found { .. }
            | Answer::WrittenElsewhere(_)
            | Answer::Latest(..) => {}
        }
    }

    /// Says what the person should know of the file. The last is the gravest and stands in sight; of the others it is said that they are there.
    fn warn(&mut self, mut warnings: Vec<String>) {
        let more = warnings.len().saturating_sub(1);
        if let Some(last) = warnings.last_mut().filter(|_| more > 0) {
            let are = if more == 1 { "is" } else { "are" };
            *last = format!("{last} {more} more {are} in the messages: / messages.");
        }
        for warning in warnings {
            self.say(warning, Tone::Notice);
        }
    }

    /// Something became of the file, or it is back.
    pub(in crate::tui) fn on_astray(
        &mut self,
        state: State,
        read_only: Option<String>,
        elsewhere: Option<String>,
        say: &str,
    ) {
        self.take_state(state);
        self.say(say, if read_only.is_some() { Tone::Refused } else { Tone::Notice });
        self.astray = read_only.is_some();
        self.read_only = read_only;
        let is_new = self.elsewhere.is_none() && elsewhere.is_some();
        self.elsewhere = elsewhere;
        if is_new {
            (self.house.goes_astray)(self);
        }
    }

    /// Wishes that what was entered last be taken back.
    pub(in crate::tui) fn undo(&self) -> Wishes {
        vec![Effect::Work(Work::Undo(self.by.clone(), self.answered()))]
    }

    /// Wishes that what was undone last be given back.
    pub(in crate::tui) fn redo(&self) -> Wishes {
        vec![Effect::Work(Work::Redo(self.by.clone(), self.answered()))]
    }

    /// Wishes that an act be stored.
    pub(in crate::tui) fn enter(&self, whats: Vec<What>, say: String, then: Then) -> Wishes {
        self.enter_because(whats, None, say, then)
    }

    /// Wishes that an act be stored with a note of why.
    pub(in crate::tui) fn enter_because(
        &self,
        whats: Vec<What>,
        note: Option<Text>,
        say: String,
        then: Then,
    ) -> Wishes {
        let act = Act { note, ..self.act(whats) };
        vec![Effect::Work(Work::Enter { act, say, then })]
    }
}
