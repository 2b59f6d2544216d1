//! A full screen without a terminal, on a real cellar file, turned by keys.

use std::any::Any;
use std::path::{Path, PathBuf};

use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::desk::{self, Access, Desk};
use barrelwalk::tui::core::apart::{Apart, Found, Search};
use barrelwalk::tui::core::house::House;
use barrelwalk::tui::core::marks::{Marks, UNICODE};
use barrelwalk::tui::core::model::{Looks, Model};
use barrelwalk::tui::core::theme::{Palette, Theme};
use barrelwalk::tui::core::work::{Answer, Hands, Work};
use barrelwalk::tui::edge::screen::{Effects, Mailbox, Message};
use barrelwalk::tui::edge::session::Session;
use barrelwalk::tui::floor::colouring::Colouring;
use barrelwalk::tui::floor::page::Floor;
use barrelwalk::tui::rooms::HOUSE;
use barrelwalk::tui::wood::fill::FillPage;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;
use ratatui::layout::Size;
use tempfile::TempDir;

use crate::cellar::{self, morning};
use crate::keys::keys;

/// A walk through a cellar in a folder of its own.
pub struct Walk {
    pub model: Model,
    hands: Waiting,
    path: PathBuf,
    now: Moment,
    // Held only to keep the cellar's file.
    folder: Option<TempDir>,
}

/// The hands of a walk: what is to be found out apart is not searched before a test lets it come.
struct Waiting {
    hands: Hands,
    asked: Option<(u32, Search)>,
}

impl Effects for Waiting {
    type Work = Work;
    type Answer = Answer;

    fn carry_out(&mut self, work: Work, mailbox: &Mailbox<Answer>) -> anyhow::Result<Vec<Answer>> {
        match work {
            Work::Find { number, search } => {
                self.asked = Some((number, search));
                Ok(Vec::new())
            }
            work => self.hands.carry_out(work, mailbox),
        }
    }
}

/// What a thread posts of a question.
pub fn found(number: u32, found: impl Any + Send + Sync) -> Message<Answer> {
    Message::Answer(Answer::Found { number, told: Ok(Found::new(found)) })
}

/// What a thread posts where it found nothing.
pub fn nothing(number: u32, why: &str) -> Message<Answer> {
    Message::Answer(Answer::Found { number, told: Err(why.to_owned()) })
}

/// How a walk may look.
pub fn looks(palette: Palette, marks: &'static Marks) -> Looks {
    Looks { theme: Theme::new(palette), marks }
}

impl Walk {
    /// Through the cellar that was written by hand.
    pub fn small() -> Walk {
        Walk::made(cellar::create)
    }

    /// Through the cellar that was written by hand, with one suspect barrel and one of white wine among the others of its
    /// long room.
    pub fn mixed() -> Walk {
        Walk::made(|path| {
            cellar::create(path);
            let suspect = r#""kind":"tasted","vessel":"0402","marks":["Brett"]"#;
            let white = r#""kind":"vessel_placed","vessel":"W-01","place":"long/A-04-3-a""#;
            cellar::record(path, &[suspect, white].map(|rest| cellar::fact("11-24", rest)));
        })
    }

    /// Through the cellar that was written by hand, with a store and bottles of two runs, filled in the year before.
    pub fn bottled() -> Walk {
        Walk::made(|path| {
            cellar::create(path);
            cellar::record(path, &cellar::bottles());
        })
    }

    /// Through a cellar of no fact.
    pub fn empty() -> Walk {
        Walk::made(cellar::create_empty)
    }

    /// Through the demo.
    pub fn demo() -> Walk {
        Walk::made(|path| desk::create_demo(path, morning()).unwrap())
    }

    pub fn made(make: impl FnOnce(&Path)) -> Walk {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("home.cellar");
        make(&path);
        let mut walk = Walk::at(path, Access::ReadWrite, morning);
        walk.folder = Some(folder);
        walk.take(Message::Started);
        walk
    }

    /// Through the cellar that was written by hand, in a house of other rooms.
    pub fn in_house(house: &'static House) -> Walk {
        let mut walk = Walk::small();
        walk.model = Model::new(Label::new("mk").unwrap(), looks(Palette::Cave, &UNICODE), walk.now, house);
        walk.take(Message::Started);
        walk
    }

    /// Through a cellar that is there, before it is opened.
    pub fn at(path: PathBuf, access: Access, clock: fn() -> Moment) -> Walk {
        let now = clock();
        let model = Model::new(Label::new("mk").unwrap(), looks(Palette::Cave, &UNICODE), now, &HOUSE);
        let hands = Waiting { hands: Hands::new(path.clone(), access, clock), asked: None };
        Walk { model, hands, path, now, folder: None }
    }

    /// The same cellar opened once more, by a program that is started later.
    pub fn reopened(&self) -> Walk {
        let mut walk = Walk::at(self.path.clone(), Access::ReadWrite, cellar::later);
        walk.take(Message::Started);
        walk
    }

    /// Whether the cellar is in a folder that goes with this walk.
    pub fn owns_its_cellar(&self) -> bool {
        self.folder.is_some()
    }

    /// A walk through a copy of the cellar as it is now.
    pub fn another(&self) -> Walk {
        let from = self.path.clone();
        Walk::made(|path| {
            Desk::open(&from, Access::ReadOnly).unwrap().backup(path).unwrap();
        })
    }

    /// Takes over the folder of another walk through the same cellar.
    pub fn keep_cellar_of(&mut self, other: Walk) {
        self.folder = other.folder;
    }

    /// The cellar's file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Tells a message and carries out what follows from it.
    pub fn take(&mut self, message: Message<Answer>) {
        Session::at(&mut self.model, &mut self.hands, self.now).take(message).unwrap();
    }

    /// Presses keys, in the notation of [`keys`].
    pub fn press(&mut self, notation: &str) -> &mut Walk {
        for key in keys(notation) {
            assert!(!self.model.finished, "keys are left of '{notation}'");
            self.take(Message::Key(key));
        }
        self
    }

    /// What a thread would post for what was asked for last.
    pub fn comes(&mut self) -> &mut Walk {
        let (number, search) = self.hands.asked.clone().expect("something was asked for");
        let told = search.find(&Apart::here(self.path.clone(), self.now));
        self.take(Message::Answer(Answer::Found { number, told }));
        self
    }

    /// The number of what was asked for last.
    pub fn asked(&self) -> u32 {
        self.hands.asked.as_ref().map_or(0, |(number, _)| *number)
    }

    /// The page of a barrel-down.
    pub fn fill_page(&self) -> &FillPage {
        self.model.page().expect("the page of a barrel-down")
    }

    /// What is typed on the floor.
    pub fn typed(&self) -> &str {
        self.model.floor::<Floor>().map_or("", |floor| floor.typed.as_str())
    }

    /// Which quality the floor shows.
    pub fn colouring(&self) -> Colouring {
        self.model.floor::<Floor>().map(|floor| floor.colouring).unwrap_or_default()
    }

    /// Whether the floor is in sight, and nothing over it.
    pub fn is_on_floor(&self) -> bool {
        self.model.pages.is_floor()
    }

    /// What was said last.
    pub fn said(&self) -> &str {
        self.model.said.last().map_or("", |said| said.text.as_str())
    }

    /// The label of the vessel that is looked at.
    pub fn at_vessel(&self) -> &str {
        self.model.chosen_vessel().map_or("", |vessel| vessel.label.as_str())
    }

    /// The screen as drawn at a size.
    pub fn drawn(&self, width: u16, height: u16) -> Buffer {
        drawn(&self.model, width, height)
    }

    /// The screen's text at a size, one text of all lines.
    pub fn text(&self, width: u16, height: u16) -> String {
        crate::picture::rows(&self.drawn(width, height)).join("\n")
    }

    /// The facts that were entered since the tests' morning, in their order: kind and fields.
    pub fn facts(&self) -> Vec<String> {
        let mut facts = Vec::new();
        let desk = Desk::open(&self.path, Access::ReadOnly).unwrap();
        desk.export(Some(morning()), &mut |line| {
            facts.push(format!("{} {}", line.kind, line.body));
            Ok(())
        })
        .unwrap();
        facts
    }
}

/// A model as drawn at a size.
pub fn drawn(model: &Model, width: u16, height: u16) -> Buffer {
    use barrelwalk::tui::edge::screen::Screen;
    let mut terminal = Terminal::new(TestBackend::new(width, height)).unwrap();
    terminal.draw(|frame| model.draw(frame)).unwrap();
    terminal.backend().buffer().clone()
}

/// A message of a size.
pub fn resized(width: u16, height: u16) -> Message<Answer> {
    Message::Resized(Size::new(width, height))
}
