//! The stack of pages over the floor, and what a key, a text, an answer does to the page on top.

use std::any::Any;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use super::acts::Acts;
use super::frame;
use super::help::{self, Help};
use super::page::{Before, Doing, Followed, Go, Goes, Page, Turn, Way};
use super::sense::Sense;
use crate::tui::core::line::{Marked, Up};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Answer;

/// The pages that stand over the floor.
#[derive(Debug, Default)]
pub struct Pages {
    /// The top one last.
    standing: Vec<Box<dyn Page>>,
    /// What the page at work has opened: it stands upon that page once its turn is over.
    coming: Vec<Box<dyn Page>>,
}

impl Pages {
    /// The floor, with nothing upon it.
    pub(in crate::tui) fn on(floor: Box<dyn Page>) -> Pages {
        Pages { standing: vec![floor], coming: Vec::new() }
    }

    /// Whether the floor is in sight, and nothing stands over it.
    #[must_use]
    pub fn is_floor(&self) -> bool {
        self.standing.len() == 1
    }

    /// The page on top.
    #[must_use]
    pub fn top(&self) -> Option<&dyn Page> {
        self.standing.last().map(|page| &**page)
    }

    /// The page below all others: the floor.
    #[must_use]
    pub fn lowest(&self) -> Option<&dyn Page> {
        self.standing.first().map(|page| &**page)
    }

    /// The pages that are in sight, the lowest first: the last that fills the screen, and what stands over it.
    pub fn in_sight(&self) -> impl Iterator<Item = &dyn Page> {
        let first = self.standing.iter().rposition(|page| !page.is_over()).unwrap_or(0);
        self.standing[first..].iter().map(|page| &**page)
    }
}

impl Model {
    /// Opens a page: it stands on what is shown, or on the page that is at work.
    pub fn open(&mut self, page: impl Page) {
        self.pages.coming.push(Box::new(page));
        if !self.at_work {
            self.pages.standing.append(&mut self.pages.coming);
        }
    }

    /// Closes all pages.
    pub fn close_pages(&mut self) {
        self.pages.standing.truncate(1);
    }

    /// The floor's page, if it is of that kind.
    #[must_use]
    pub fn floor<P: Page>(&self) -> Option<&P> {
        self.pages.lowest().and_then(|page| (page as &dyn Any).downcast_ref())
    }

    /// The same, to be changed.
    pub fn floor_mut<P: Page>(&mut self) -> Option<&mut P> {
        self.pages.standing.first_mut().and_then(|page| (&mut **page as &mut dyn Any).downcast_mut())
    }

    /// Gives a command of the floor.
    fn give_on_floor(&mut self, title: &str) -> Wishes {
        let offers = self.pages.lowest().map_or_else(Vec::new, |floor| floor.offers(self));
        let doing = offers.iter().find(|offer| offer.title == title).map(|offer| offer.doing);
        doing.map_or_else(Vec::new, |doing| self.do_act(doing))
    }

    /// Opens a page from the floor, or says why it cannot be opened now.
    pub(in crate::tui) fn take_way(&mut self, way: &Way) -> Wishes {
        if let Some(why) = (way.why_not)(self) {
            self.say(why, Tone::Refused);
            return Vec::new();
        }
        (way.open)(self)
    }

    /// The page on top, if it is of that kind.
    #[must_use]
    pub fn page<P: Page>(&self) -> Option<&P> {
        self.pages.top().and_then(|page| (page as &dyn Any).downcast_ref())
    }

    /// Lets the page on top do something.
    fn on_top(&mut self, act: impl FnOnce(&mut dyn Page, &mut Model) -> Turn) -> Wishes {
        let Some(top) = self.pages.standing.len().checked_sub(1) else { return Vec::new() };
        self.on_page(top, |page, model| Some(act(page, model))).unwrap_or_default()
    }

    /// Lets a page do something, off the stack meanwhile; none where there is nothing for it to do.
    fn on_page(&mut self, at: usize, act: impl FnOnce(&mut dyn Page, &mut Model) -> Option<Turn>) -> Option<Wishes> {
        let mut page = self.pages.standing.remove(at);
        let is_top = at == self.pages.standing.len();
        self.at_work = true;
        let turn = act(&mut *page, self);
        self.at_work = false;
        let is_done = turn.is_some();
        let turn = turn.unwrap_or_else(Turn::stay);
        if turn.goes == Goes::Nowhere {
            self.pages.standing.insert(at, page);
        } else if matches!(turn.goes, Goes::ToFloor | Goes::ToFloorAndStored(_) | Goes::ToFloorAndGive(_)) {
            self.pages.standing.truncate(1);
        }
        if is_top && (turn.goes != Goes::Nowhere || !self.pages.coming.is_empty()) {
            self.marked = Marked::default();
        }
        // What is opened stands upon the page that opened it, and never over what a person writes on another.
        let upon = if turn.goes == Goes::Nowhere { at + 1 } else { at.min(self.pages.standing.len()) };
        let coming = std::mem::take(&mut self.pages.coming);
        self.pages.standing.splice(upon..upon, coming);
        let more = match turn.goes {
            Goes::BackAndDo(doing) => self.do_act(doing),
            Goes::BackAndType(text) => self.type_on_page(&text),
            Goes::BackAndStored(then) | Goes::ToFloorAndStored(then) => self.stored_on_page(then),
            Goes::ToFloorAndGive(title) => self.give_on_floor(title),
            Goes::Nowhere | Goes::Back | Goes::ToFloor => Vec::new(),
        };
        is_done.then(|| [turn.wishes, more].concat())
    }

    /// Does what was chosen of what can be done on the page on top.
    fn do_act(&mut self, doing: Doing) -> Wishes {
        match doing {
            Doing::Row(row) => self.give_row(row),
            Doing::Way(at) => self.house.ways().nth(at).map_or_else(Vec::new, |way| self.take_way(way)),
        }
    }

    /// Gives a command of the page on top, or says why it cannot be given now.
    fn give_row(&mut self, row: usize) -> Wishes {
        if let Some(why) = self.pages.top().and_then(|page| page.why_not(row, self)) {
            self.say(why, Tone::Refused);
            return Vec::new();
        }
        self.on_top(|page, model| page.give(row, model))
    }

    /// What a key does on the page on top.
    pub(in crate::tui) fn on_page_key(&mut self, key: &KeyEvent) -> Wishes {
        if key.modifiers.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT) {
            return self.say_no_page_key();
        }
        // What was asked is answered by the same key, and by no other.
        if self.asked_by.replace(key.code) != Some(key.code) {
            self.asked.clear();
        }
        let Some(page) = self.pages.top() else { return Vec::new() };
        if key.code == KeyCode::Char('?') && help::is_asked_by_mark(page, self) {
            return self.help_on_page();
        }
        if let KeyCode::Char(character) = key.code
            && page.takes(self, character)
        {
            return self.type_on_page(&character.to_string());
        }
        if self.use_on_written(key.code) {
            return Vec::new();
        }
        match key.code {
            KeyCode::Enter => self.enter_on_page(),
            KeyCode::Esc => self.on_top(Page::esc),
            KeyCode::Backspace => self.erase_on_page(),
            KeyCode::Up => self.go_on_page(Go::Up),
            KeyCode::Down => self.go_on_page(Go::Down),
            KeyCode::PageUp => self.go_on_page(Go::PageUp),
            KeyCode::PageDown => self.go_on_page(Go::PageDown),
            KeyCode::Home => self.go_on_page(Go::Start),
            KeyCode::End => self.go_on_page(Go::End),
            KeyCode::F(1) => self.help_on_page(),
            _ => self.sense_on_page(Sense::of(key)),
        }
    }

    /// What a key that has a sense does: the command of the page that has it, else what it does everywhere.
    fn sense_on_page(&mut self, sense: Option<Sense>) -> Wishes {
        let Some((sense, page)) = sense.zip(self.pages.top()) else { return self.say_no_page_key() };
        match (page.row_of(sense), sense) {
            (Some(row), _) => self.give_row(row),
            (None, _) if self.pages.is_floor() && self.house.ways().any(|way| way.sense == Some(sense)) => {
                let way = self.house.ways().find(|way| way.sense == Some(sense));
                way.map_or_else(Vec::new, |way| self.take_way(way))
            }
            (None, Sense::Help) => self.help_on_page(),
            (None, Sense::Find) => {
                (self.house.find)(self);
                Vec::new()
            }
            (None, _) => self.say_no_page_key(),
        }
    }

    fn help_on_page(&mut self) -> Wishes {
        if self.page::<Help>().is_some() {
            self.say("This is the help. esc goes back.", Tone::Notice);
        } else if let Some(help) = self.pages.top().map(|page| Help::of(page, self)) {
            self.open(help);
        }
        Vec::new()
    }

    fn enter_on_page(&mut self) -> Wishes {
        let before = self.written_now();
        let wishes = self.on_top(|page, model| match page.enter(model) {
            Some(turn) => turn,
            None => list_acts(page, model),
        });
        self.mark_if_refused(before.as_ref());
        wishes
    }

    fn go_on_page(&mut self, go: Go) -> Wishes {
        let last = frame::last_from(self);
        self.on_top(|page, model| page.go(model, go, last))
    }

    fn erase_on_page(&mut self) -> Wishes {
        let is_empty = self.written_mut().is_none_or(|line| line.pop().is_none());
        if is_empty && !self.pages.standing.last_mut().is_some_and(|page| page.erase_line()) {
            return self.say_no_page_key();
        }
        self.asked.clear();
        self.on_top(|page, model| {
            page.rewritten(model);
            page.wants_of_written(model).into()
        })
    }

    /// Takes text on the page on top. What was asked was asked of what stood there before.
    pub(in crate::tui) fn type_on_page(&mut self, text: &str) -> Wishes {
        self.start_anew();
        self.asked.clear();
        self.on_top(|page, model| page.type_in(model, text))
    }

    /// Takes a text that was pasted.
    pub(in crate::tui) fn paste_on_page(&mut self, text: &str) -> Wishes {
        let top = self.pages.standing.len().checked_sub(1);
        let taken = top.and_then(|top| self.on_page(top, |page, model| page.take_pasted(model, text)));
        if let Some(wishes) = taken {
            return wishes;
        }
        let ends = text.ends_with(['\n', '\r']);
        let takes_lines = self.pages.top().is_some_and(Page::takes_lines);
        let text = text.trim_end_matches(['\n', '\r']).replace("\r\n", if takes_lines { "\n" } else { "  " });
        let text = if takes_lines { text } else { text.replace('\n', " ") }.replace(['\r', '\t'], " ");
        let text: String = text.chars().filter(|sign| *sign == '\n' || !sign.is_control()).collect();
        if self.written_now().is_none() {
            self.say("Nothing is written here, so nothing is pasted.", Tone::Notice);
            return Vec::new();
        }
        let wishes = self.type_on_page(&text);
        if !ends {
            return wishes;
        }
        if self.pages.top().is_some_and(Page::is_scanned_into) {
            return [wishes, self.enter_on_page()].concat();
        }
        self.say("What was pasted is written here and not taken yet: look at it, then press enter.", Tone::Notice);
        wishes
    }

    fn say_no_page_key(&mut self) -> Wishes {
        let key = self.pages.top().map_or("?", |page| help::key(page, self));
        self.say(format!("That key does nothing here. {key} explains every key."), Tone::Notice);
        Vec::new()
    }

    /// What the key does to a line that is marked, or that something stood on before. Whether the key is used up by that.
    fn use_on_written(&mut self, key: KeyCode) -> bool {
        let manner = self.pages.top().map(Page::manner);
        let brings_back = manner.is_some_and(|manner| match manner.up {
            Up::BringsBack => true,
            Up::GoesWhereEmpty => self.written_now().is_some_and(|line| !line.is_empty()),
            Up::Goes => false,
        });
        if !self.marked.on {
            return key == KeyCode::Up && brings_back && self.swap_with_before();
        }
        let goes = matches!(
            key,
            KeyCode::Down
                | KeyCode::Left
                | KeyCode::Right
                | KeyCode::PageUp
                | KeyCode::PageDown
                | KeyCode::Home
                | KeyCode::End
                | KeyCode::Delete
        ) || (key == KeyCode::Up && manner.is_some_and(|manner| manner.up == Up::Goes));
        let is_left = goes && manner.is_some_and(|manner| manner.is_of_chosen);
        if is_left || matches!(key, KeyCode::Char(_)) {
            self.start_anew();
        }
        self.marked.on = false;
        key == KeyCode::Up && brings_back
    }

    /// The act of the page on top is on disk.
    pub(in crate::tui) fn stored_on_page(&mut self, then: Then) -> Wishes {
        self.on_top(|page, model| page.stored(model, then))
    }

    /// Offers an answer to the pages, the top one first; none where no page asked for it.
    pub(in crate::tui) fn answered_on_pages(&mut self, answer: &Answer) -> Option<Wishes> {
        (0..self.pages.standing.len()).rev().find_map(|at| self.on_page(at, |page, model| page.answered(model, answer)))
    }

    /// Lets the pages follow the cellar that was taken in. What was chosen or written about and is gone is given back in words.
    pub(in crate::tui) fn follow_on_pages(&mut self, before: &Before<'_>) -> Option<String> {
        let mut lost = Vec::new();
        for mut page in std::mem::take(&mut self.pages.standing) {
            match page.follow(self, before) {
                Followed::There => self.pages.standing.push(page),
                Followed::Otherwise(said) => {
                    lost.push(said);
                    self.pages.standing.push(page);
                }
                Followed::WithoutChoice(what) => {
                    lost.push(format!("{what} is not here any more, and nothing is chosen."));
                    self.pages.standing.push(page);
                }
                Followed::Gone(what) => lost.push(format!("{what} is not here any more; its page is closed.")),
            }
        }
        (!lost.is_empty()).then(|| lost.join(" "))
    }

    /// What the pages wish to know once the cellar is another one.
    pub(in crate::tui) fn ask_again_on_pages(&mut self) -> Wishes {
        let mut wishes = Vec::new();
        for at in 0..self.pages.standing.len() {
            let asked = self.on_page(at, |page, model| Some(page.ask_again(model).into()));
            wishes.extend(asked.unwrap_or_default());
        }
        wishes
    }

    /// What the pages wish to know that they do not know yet.
    pub(in crate::tui) fn wanted_on_pages(&mut self) -> Wishes {
        let mut wishes = Vec::new();
        for at in 0..self.pages.standing.len() {
            let wanted = self.on_page(at, |page, model| Some(page.wants(model).into()));
            wishes.extend(wanted.unwrap_or_default());
        }
        wishes
    }

    /// Marks what is only proposed on the line of the page on top.
    pub(in crate::tui) fn mark_proposed(&mut self) {
        if self.pages.top().is_some_and(Page::is_proposed) {
            self.mark_line();
        }
    }

    /// The line that is being written on the page on top, where one is.
    pub(in crate::tui) fn written_mut(&mut self) -> Option<&mut String> {
        self.pages.standing.last_mut().and_then(|page| page.written_mut())
    }

    /// What stands on that line.
    fn written_now(&self) -> Option<String> {
        self.pages.top().and_then(|page| page.written()).map(str::to_owned)
    }
}

/// Lists what can be done on a page.
fn list_acts(page: &mut dyn Page, model: &mut Model) -> Turn {
    let acts = Acts::of(page, model);
    if acts.is_empty() {
        model.say("Nothing is to be chosen here. ? says what this page is for.", Tone::Notice);
    } else {
        model.open(acts);
    }
    Turn::stay()
}
