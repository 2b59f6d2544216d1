//! The model of the full screen: everything that is shown, and nothing that is not.

use crossterm::event::KeyCode;
use ratatui::layout::Size;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{RoomId, State, Vessel, VesselId, WorkId};
use crate::told::hazard::Caution;
use crate::told::meant::with_hint;
use crate::tui::core::asking::Asked;
use crate::tui::core::behalf::Behalf;
use crate::tui::core::cursor::Cursor;
use crate::tui::core::house::House;
use crate::tui::core::kept::Kept;
use crate::tui::core::line::Marked;
use crate::tui::core::marks::Marks;
use crate::tui::core::stack::Pages;
use crate::tui::core::theme::Theme;
use crate::tui::core::update::Wishes;

/// How many messages are remembered.
const MESSAGES: usize = 500;

/// What the person may set.
#[derive(Clone, Copy, Debug)]
pub struct Looks {
    /// How meanings look.
    pub theme: Theme,
    /// The glyphs.
    pub marks: &'static Marks,
}

/// How a message is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// Something was done.
    Done,
    /// Something is to be noticed.
    Notice,
    /// Something was refused.
    Refused,
}

/// Something that the program said.
#[derive(Clone, Debug, PartialEq)]
pub struct Said {
    /// When.
    pub at: Moment,
    /// What.
    pub text: String,
    /// How it is meant.
    pub tone: Tone,
    /// What can hurt somebody at the work that it is about: it stands before it.
    pub caution: Caution,
}

/// Everything that is shown.
#[allow(clippy::struct_excessive_bools)] // each is an independent yes or no of the screen, none a state of one machine
pub struct Model {
    /// Who enters.
    pub by: Label,
    /// How it looks.
    pub looks: Looks,
    /// The clock, as of the last message.
    pub clock: Moment,
    /// What time it is for all that is shown and entered: the clock, or a time of the day for which something is entered.
    pub now: Moment,
    /// For whom and for which day something is entered, where that is not by oneself and now.
    pub behalf: Option<Behalf>,
    /// Whether the cellar has been opened.
    pub opened: bool,
    /// Whether nothing can be entered.
    pub read_only: Option<String>,
    /// Whether something became of the file, so that it is looked at again by itself.
    pub astray: bool,
    /// Where the cellar may be written, where its file's name does not lead to it any more.
    pub elsewhere: Option<String>,
    /// The cellar.
    pub state: State,
    /// Where the cursor stands; nowhere while there is no room.
    pub cursor: Option<Cursor>,
    /// A vessel that lies at no place but is looked at.
    pub aside: Option<VesselId>,
    /// The work that is walked; the rounds rest meanwhile.
    pub working: Option<WorkId>,
    /// What the screen is made of.
    pub(in crate::tui) house: &'static House,
    /// The pages, the floor the lowest.
    pub pages: Pages,
    /// Whether a page is at work, and off its stack.
    pub(in crate::tui) at_work: bool,
    /// The vessel at which the cursor stayed because nothing was left to go on to: a number that comes next may not be meant for
    /// it.
    pub stayed: Option<Label>,
    /// Whether what stands on the line that is being written is marked, and what stood there before.
    pub marked: Marked,
    /// What was asked about the key that was pressed last: the same key again says that it is so.
    pub asked: Vec<Asked>,
    /// The key that was asked about, on a page.
    pub(in crate::tui) asked_by: Option<KeyCode>,
    /// How many things were asked to be found out apart.
    questions: u32,
    /// What pages keep while they are closed.
    pub kept: Kept,
    /// What was said, oldest first.
    pub said: Vec<Said>,
    /// Whether the last thing said still stands on the screen.
    pub saying: bool,
    /// The size of the terminal as last told; for scrolling only.
    pub size: Size,
    /// Whether the person has left.
    pub finished: bool,
}

impl Model {
    /// A model of a cellar that is not open yet.
    #[must_use]
    pub fn new(by: Label, looks: Looks, now: Moment, house: &'static House) -> Model {
        Model {
            by,
            looks,
            clock: now,
            now,
            behalf: None,
            opened: false,
            read_only: None,
            astray: false,
            elsewhere: None,
            state: State::default(),
            cursor: None,
            aside: None,
            working: None,
            house,
            pages: Pages::on((house.floor)()),
            at_work: false,
            stayed: None,
            marked: Marked::default(),
            asked: Vec::new(),
            asked_by: None,
            questions: 0,
            kept: Kept::default(),
            said: Vec::new(),
            saying: false,
            size: Size::new(80, 24),
            finished: false,
        }
    }

    /// Says something: on the message line, and in the list of messages.
    pub fn say(&mut self, text: impl Into<String>, tone: Tone) {
        let text = text.into();
        // What was done is told each time; a refusal or a hint that comes again stands once.
        if self.said.last().is_some_and(|last| tone != Tone::Done && last.tone == tone && last.text == text) {
            self.said.pop();
        }
        if self.said.len() == MESSAGES {
            self.said.remove(0);
        }
        self.said.push(Said { at: self.clock, text, tone, caution: Caution::default() });
        self.saying = true;
    }

    /// Says why something is not done; nothing is wished by that.
    pub(in crate::tui) fn refuse(&mut self, why: impl Into<String>) -> Wishes {
        self.say(why, Tone::Refused);
        Vec::new()
    }

    /// The same of an act that the cellar refuses: with the labels that may be meant, where nothing is called as it says.
    pub(in crate::tui) fn refuse_act(&mut self, refusal: &Refusal) -> Wishes {
        let why = with_hint(refusal, &self.state);
        self.refuse(why)
    }

    /// Says something beside what has just been said, which stays in sight.
    pub fn say_also(&mut self, text: &str, tone: Tone) {
        let said = self.said.last().filter(|_| self.saying);
        let (before, caution) = said.map_or_else(Default::default, |said| {
            (format!("{} ", said.text).trim_start().to_owned(), said.caution.clone())
        });
        self.say(format!("{before}{text}"), tone);
        self.heed(caution);
    }

    /// Says what can hurt somebody at the work that is said to begin, before what is said of it.
    pub fn heed(&mut self, caution: Caution) {
        if caution.is_empty() {
            return;
        }
        if !self.saying {
            self.say(String::new(), Tone::Notice);
        }
        if let Some(said) = self.said.last_mut() {
            said.caution = caution;
        }
    }

    /// Half a screen of lines, for going about.
    #[must_use]
    pub fn half_screen(&self) -> usize {
        usize::from(self.size.height / 2).max(1)
    }

    /// A number for what is asked of a thread, that no other has.
    pub(in crate::tui) fn next_number(&mut self) -> u32 {
        self.questions = self.questions.wrapping_add(1);
        self.questions
    }

    /// The room that the cursor is in.
    #[must_use]
    pub fn room(&self) -> Option<RoomId> {
        self.cursor.map(|cursor| cursor.room)
    }

    /// The vessel that is looked at: the one aside, else the one under the cursor.
    #[must_use]
    pub fn chosen(&self) -> Option<VesselId> {
        self.aside.or_else(|| self.cursor?.vessel(&self.state))
    }

    /// The chosen vessel itself.
    #[must_use]
    pub fn chosen_vessel(&self) -> Option<&Vessel> {
        self.chosen().map(|id| self.state.vessels.get(id))
    }

    /// Why nothing can be entered, if nothing can.
    #[must_use]
    pub fn why_read_only(&self) -> Option<String> {
        self.why_opening().or_else(|| self.read_only.clone())
    }

    /// Why nothing is taken back on a page on which so much was entered, if nothing is.
    #[must_use]
    pub fn why_nothing_to_take_back(&self, entered: usize) -> Option<String> {
        let none = "Nothing was entered since this page was opened. On the floor u takes back what was before.";
        self.why_read_only().or_else(|| (entered == 0).then(|| none.to_owned()))
    }

    /// Why nothing can be shown yet, if that is so.
    #[must_use]
    pub fn why_opening(&self) -> Option<String> {
        (!self.opened).then(|| "The cellar is still being opened. One moment.".to_owned())
    }
}
