//! The model of the full screen: everything that is shown, and nothing that is not.

use crossterm::event::KeyCode;
use ratatui::layout::Size;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RoomId, RoundId, State, Vessel, VesselId, WorkId};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::topping::round::Mark;
use crate::tui::bench::glasses::Bench;
use crate::tui::core::house::House;
use crate::tui::core::line::Marked;
use crate::tui::core::marks::Marks;
use crate::tui::core::stack::Pages;
use crate::tui::core::theme::Theme;
use crate::tui::finish::bottling::BottlingPage;
use crate::tui::floor::colouring::{Colouring, Palette};
use crate::tui::floor::cursor::Cursor;
use crate::units::{Volume, VolumeUnit};

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
}

/// Everything that is shown.
#[allow(clippy::struct_excessive_bools)] // each is an independent yes or no of the screen, none a state of one machine
pub struct Model {
    /// Who enters.
    pub by: Label,
    /// How it looks.
    pub looks: Looks,
    /// The clock, as of the last message.
    pub now: Moment,
    /// Whether the cellar has been opened.
    pub opened: bool,
    /// Whether nothing can be entered.
    pub read_only: Option<String>,
    /// The cellar.
    pub state: State,
    /// Where the cursor stands; nowhere while there is no room.
    pub cursor: Option<Cursor>,
    /// A vessel that lies at no place but is looked at.
    pub aside: Option<VesselId>,
    /// The work that is walked; the rounds rest meanwhile.
    pub working: Option<WorkId>,
    /// Which quality is shown.
    pub colouring: Colouring,
    /// Whether the plan of the room stands in place of the card.
    pub plan_shown: bool,
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
    pub asked: Vec<String>,
    /// The key that was asked about, on a page.
    pub(in crate::tui) asked_by: Option<KeyCode>,
    /// How many pictures, lineages and fill plans were asked for.
    pub pictures: u32,
    /// The barrels that are chosen for the bench.
    pub for_bench: Vec<Label>,
    /// The glasses on the bench, until they are revealed.
    pub bench: Option<Bench>,
    /// What is written of bottlings and not entered, or could be taken back, one a vessel.
    pub drafts: Vec<BottlingPage>,
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
            now,
            opened: false,
            read_only: None,
            state: State::default(),
            cursor: None,
            aside: None,
            working: None,
            colouring: Colouring::default(),
            plan_shown: false,
            house,
            pages: Pages::on((house.floor)()),
            at_work: false,
            stayed: None,
            marked: Marked::default(),
            asked: Vec::new(),
            asked_by: None,
            pictures: 0,
            for_bench: Vec::new(),
            bench: None,
            drafts: Vec::new(),
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
        self.said.push(Said { at: self.now, text, tone });
        self.saying = true;
    }

    /// Says something beside what has just been said, which stays in sight.
    pub fn say_also(&mut self, text: &str, tone: Tone) {
        let said = self.said.last().filter(|_| self.saying);
        let before = said.map_or_else(String::new, |said| format!("{} ", said.text));
        self.say(format!("{before}{text}"), tone);
    }

    /// A number for what is asked of a thread, that no other has.
    pub(in crate::tui) fn next_number(&mut self) -> u32 {
        self.pictures = self.pictures.wrapping_add(1);
        self.pictures
    }

    /// The room that the cursor is in.
    #[must_use]
    pub fn room(&self) -> Option<RoomId> {
        self.cursor.map(|cursor| cursor.room)
    }

    /// The round that is open in this room; none while a work is walked.
    #[must_use]
    pub fn round(&self) -> Option<RoundId> {
        if self.working.is_some() {
            return None;
        }
        self.state.rooms.get(self.room()?).open_round
    }

    /// The vessel that this round is topped from.
    #[must_use]
    pub fn source(&self) -> Option<VesselId> {
        self.state.rounds.get(self.round()?).source
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

    /// What was done at the chosen barrel in the round that is under way.
    #[must_use]
    pub fn mark(&self) -> Option<Mark> {
        let round = self.state.rounds.get(self.round()?);
        round.marks.get(&self.chosen()?).copied()
    }

    /// What cells need to be coloured.
    #[must_use]
    pub fn palette(&self) -> Palette<'_> {
        Palette {
            state: &self.state,
            now: self.now,
            theme: self.looks.theme,
            marks: self.looks.marks,
            colouring: self.colouring,
            work: self.working.map(|work| self.state.works.get(work)),
            for_bench: &self.for_bench,
        }
    }

    /// What is expected to go into the chosen barrel.
    #[must_use]
    pub fn expected(&self) -> Option<Volume> {
        let vessel = self.chosen_vessel()?;
        self.state.is_to_be_topped(vessel).then(|| self.state.expected_topping(vessel, self.now))
    }

    /// Why nothing can be entered, if nothing can.
    #[must_use]
    pub fn why_read_only(&self) -> Option<String> {
        if !self.opened {
            return Some("The cellar is still being opened. One moment.".to_owned());
        }
        self.read_only.clone()
    }

    /// Why nothing can be done in a round, if nothing can.
    #[must_use]
    pub fn why_no_round(&self) -> Option<String> {
        self.why_read_only().or_else(|| {
            if let Some(work) = self.working.map(|work| self.state.works.get(work)) {
                return Some(format!("The work {} is walked, and rounds rest. Press d to put it down.", work.label));
            }
            self.round().is_none().then(|| "No round is under way in this room. Press b to begin one.".to_owned())
        })
    }

    /// Why this barrel cannot be topped or skipped, if it cannot.
    #[must_use]
    pub fn why_no_topping(&self) -> Option<String> {
        self.why_no_round().or_else(|| self.why_no_wine())
    }

    /// Why this barrel cannot be topped by one key, if it cannot: it was topped in this round already.
    #[must_use]
    pub fn why_not_again(&self) -> Option<String> {
        self.why_no_topping().or_else(|| {
            let (Some(Mark::Topped(volume)), Some(vessel)) = (self.mark(), self.chosen_vessel()) else { return None };
            let done = volume.show(VolumeUnit::Litre, 1);
            Some(format!("{} is done in this round, {done}. Type what it took in all to correct it, or 0.5+ for half a litre more.", vessel.label))
        })
    }

    /// Why no round can be begun, if none can.
    #[must_use]
    pub fn why_no_new_round(&self) -> Option<String> {
        if let Some(why) = self.why_read_only() {
            return Some(why);
        }
        if let Some(why) = self.why_no_room() {
            return Some(why);
        }
        if let Some(work) = self.working.map(|work| self.state.works.get(work)) {
            return Some(format!("The work {} is walked. Press d to put it down first.", work.label));
        }
        let round = self.state.rounds.get(self.round()?);
        Some(format!("The round {} is under way here. Press z to close it first.", round.label))
    }

    /// Why there is no room to show, if there is none.
    #[must_use]
    pub fn why_no_room(&self) -> Option<String> {
        let why = "No room is laid out yet. Lay one out with `barrelwalk record`.";
        self.room().is_none().then(|| why.to_owned())
    }

    /// Why no picture of the room can be drawn, if none can.
    #[must_use]
    pub fn why_no_room_picture(&self) -> Option<String> {
        let opening = (!self.opened).then(|| "The cellar is still being opened. One moment.".to_owned());
        opening.or_else(|| self.why_no_room())
    }

    /// Why no picture of the chosen vessel can be drawn, if none can.
    #[must_use]
    pub fn why_no_barrel_picture(&self) -> Option<String> {
        let no_barrel = |model: &Model| {
            let why = "No barrel lies here. Go to one, or press / to find it.";
            let Some(vessel) = model.chosen_vessel() else { return Some(why.to_owned()) };
            let other = vessel.vessel_type != VesselType::Barrel;
            other.then(|| format!("{} is no barrel. Go to one, or press / to find it.", vessel.label))
        };
        let opening = (!self.opened).then(|| "The cellar is still being opened. One moment.".to_owned());
        opening.or_else(|| no_barrel(self))
    }

    /// Why there is no lineage to draw, if there is none.
    #[must_use]
    pub fn why_no_lineage(&self) -> Option<String> {
        let opening = (!self.opened).then(|| "The cellar is still being opened. One moment.".to_owned());
        opening.or_else(|| {
            self.chosen().is_none().then(|| "No barrel lies here. Go to one, or press / to find it.".to_owned())
        })
    }

    /// Why there is no other room to go to, if there is none.
    #[must_use]
    pub fn why_no_other_room(&self) -> Option<String> {
        let only = self.state.rooms.len() == 1;
        self.why_no_room().or_else(|| only.then(|| "There is no other room.".to_owned()))
    }

    /// Why nothing can be said of the chosen vessel, if nothing can.
    #[must_use]
    pub fn why_no_barrel(&self) -> Option<String> {
        self.why_read_only().or_else(|| {
            self.chosen().is_none().then(|| "No barrel lies here. Go to one, or press / to find it.".to_owned())
        })
    }

    /// Why the chosen vessel has no wine to speak of, if it has none.
    #[must_use]
    pub fn why_no_wine(&self) -> Option<String> {
        self.why_no_barrel().or_else(|| {
            let vessel = self.chosen_vessel()?;
            vessel.wine.is_empty().then(|| format!("{} is empty by the book. Go to one that holds wine.", vessel.label))
        })
    }
}
