//! A spreadsheet as it is understood: how it was read, what is asked, which column is what, and what would be entered.

use std::path::PathBuf;

use ratatui::text::Line;

use super::Draft;
use super::items::{At, Item, Keeps};
use super::reading::{self, KeptIn, Read, Said, name_of, search};
use super::sheet;
use crate::desk::Undone;
use crate::import::fields::{BARRELS, Table as Kind, WINE};
use crate::import::mapping::Mapping;
use crate::spreadsheet::Source;
use crate::told::floor::importing as told;
use crate::tui::core::asking;
use crate::tui::core::choice::Choice;
use crate::tui::core::finding::{Finding, Told};
use crate::tui::core::line::Manner;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Go, Opens, Page, Row, Table, Turn};
use crate::tui::core::sense::Sense;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::{Answer, Work};
use crate::tui::edge::screen::Effect;

/// No value that is typed for every line is longer.
const LONGEST: usize = 200;

/// A spreadsheet as it is understood.
#[derive(Clone, Debug)]
pub struct SpreadsheetPage {
    pub(super) file: PathBuf,
    /// What it comes to.
    pub(super) reading: Finding<Read>,
    /// Whether it is being read anew.
    pub(super) is_read_anew: bool,
    /// The sheets of the workbook.
    sheets: Vec<String>,
    pub(super) chosen: Choice<Item>,
    /// What is typed at the chosen line.
    pub(super) line: String,
    /// Which of several columns is looked at.
    shown_column: usize,
    keeps: Keeps,
    /// Whether what would be entered is in sight, and from which line on.
    pub(super) preview: Option<usize>,
    /// Whether the next question is gone to once the file is read anew.
    goes_on: bool,
    /// It was taken in.
    pub(super) done: Option<Done>,
    keeping: Finding<KeptIn>,
}

/// What was taken in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Done {
    pub entered: usize,
    pub known: usize,
}

/// The word that comes back once it is on disk.
#[derive(Debug)]
struct TakenIn(Done);

impl SpreadsheetPage {
    /// The page of a file that was read.
    pub(super) fn of(model: &Model, file: PathBuf, reading: &Finding<Read>) -> Option<SpreadsheetPage> {
        let sheets = match &reading.told()?.grid.source {
            Source::Sheet { name, others } => std::iter::once(name).chain(others).cloned().collect(),
            Source::Text { .. } => Vec::new(),
        };
        let mut page = SpreadsheetPage {
            file,
            reading: reading.clone(),
            is_read_anew: false,
            sheets,
            chosen: Choice::default(),
            line: String::new(),
            shown_column: 0,
            keeps: Keeps::default(),
            preview: None,
            goes_on: false,
            done: None,
            keeping: Finding::default(),
        };
        page.choose_next(model);
        Some(page)
    }

    /// What is known when a line is shown or changed.
    pub(super) fn at<'a>(&'a self, model: &'a Model) -> Option<At<'a>> {
        Some(At {
            read: self.reading.told()?,
            state: &model.state,
            sheets: &self.sheets,
            keeps: self.keeps,
            shown_column: self.shown_column,
        })
    }

    /// Chooses the first line at which something is asked, else the first of all.
    fn choose_next(&mut self, model: &Model) {
        let Some(at) = self.at(model) else { return };
        let items = at.items();
        let place = items.iter().position(|item| at.is_open(item)).unwrap_or(0);
        self.chosen = Choice::at(&items, place);
        self.shown_column = 0;
        self.line.clear();
    }

    /// The line that is chosen, where lines are in sight.
    fn item(&self) -> Option<&Item> {
        self.chosen.thing().filter(|_| self.done.is_none() && self.preview.is_none())
    }

    /// Reads it anew by what is said.
    fn read_anew(&mut self, model: &mut Model, said: Said) -> Wishes {
        let Some(read) = self.reading.told() else { return Vec::new() };
        let grid = (said.wanted == read.said.wanted).then(|| std::sync::Arc::clone(&read.grid));
        self.is_read_anew = true;
        let who = (model.enters().clone(), model.now);
        self.reading.ask(model, search(self.file.clone(), grid, said, who))
    }

    /// Why a value cannot be changed now, if it cannot.
    fn why_no_change(&self, _model: &Model) -> Option<String> {
        match self.item() {
            None => Some("Nothing is to be changed here.".to_owned()),
            Some(_) if self.is_read_anew => Some("It is being read anew. One moment.".to_owned()),
            Some(Item::Every(_) | Item::More) => Some("This line is typed, and enter takes it.".to_owned()),
            Some(_) => None,
        }
    }

    /// The value before or after.
    fn turn(&mut self, model: &mut Model, by: isize) -> Turn {
        let Some((at, item)) = self.at(model).zip(self.item().cloned()) else { return Turn::stay() };
        match item {
            Item::KeepGood => self.keeps.good = !self.keeps.good,
            Item::KeepSaid => self.keeps.said = !self.keeps.said,
            Item::Which(_) => {
                let count = at.columns_of(&item).len().max(1);
                self.shown_column = (self.shown_column + if by > 0 { 1 } else { count - 1 }) % count;
            }
            item => {
                if let Some(said) = at.turned(&item, by) {
                    self.line.clear();
                    return self.read_anew(model, said).into();
                }
            }
        }
        Turn::stay()
    }

    /// Takes what is typed or looked at for the chosen line.
    fn answer(&mut self, model: &mut Model, item: &Item) -> Wishes {
        let Some(at) = self.at(model) else { return Vec::new() };
        match at.answered(item, &self.line) {
            Ok(said) => {
                self.line.clear();
                self.goes_on = true;
                self.read_anew(model, said)
            }
            Err(why) => model.refuse(why),
        }
    }

    /// Takes it in, or says what is to be done first.
    fn take_in(&mut self, model: &mut Model) -> Wishes {
        if let Some(why) = model.why_read_only() {
            return model.refuse(why);
        }
        if self.is_read_anew {
            return model.refuse("It is being read anew. One moment.");
        }
        let Some(at) = self.at(model) else { return Vec::new() };
        let items = at.items();
        if let Some(open) = items.iter().find(|item| at.is_open(item)) {
            let first = format!("What is asked here is answered first: {}.", at.name(open));
            let chosen = items.iter().position(|item| item == open).unwrap_or(0);
            (self.chosen, self.preview) = (Choice::at(&items, chosen), None);
            model.say(first, Tone::Notice);
            return Vec::new();
        }
        let Some(came_to) = &at.read.came_to else { return Vec::new() };
        if !came_to.proposal.refused.is_empty() && !self.keeps.good {
            let place = items.iter().position(|item| *item == Item::KeepGood).unwrap_or(0);
            let why = sheet::refused_words(came_to, false);
            (self.chosen, self.preview) = (Choice::at(&items, place), None);
            return model.refuse(why);
        }
        let (entered, known) = (came_to.would_be_entered(), came_to.proposal.known);
        if entered == 0 {
            return model.refuse(format!("Nothing of it is new. {}.", told::count(0, known)));
        }
        let (proposed, asked) = (came_to.proposed.clone(), came_to.asked.clone());
        if !asking::may_go_on(model, asked) {
            return Vec::new();
        }
        vec![Effect::Work(Work::TakeIn {
            proposed,
            by: model.enters().clone(),
            since: model.now,
            keep_good: self.keeps.good,
            answered: model.answered(),
            then: Then::of(TakenIn(Done { entered, known })),
        })]
    }

    /// What is said, kept beside the file where that is wanted.
    fn keep(&mut self, model: &mut Model) -> Wishes {
        let Some(at) = self.at(model).filter(|at| at.keeps.said) else { return Vec::new() };
        let kept = at.kept_beside(&self.file).zip(at.read.said.table).zip(at.proposal());
        let Some(((file, table), proposal)) = kept else { return Vec::new() };
        let mapping = Mapping::of(table, proposal, &at.read.said.answers);
        self.keeping.ask(model, reading::keep(file, mapping))
    }

    /// What is taken in next of the same file: the wine in the barrels, where the list of barrels tells it.
    pub(super) fn next_kind(&self) -> Option<&'static Kind> {
        let read = self.reading.told()?;
        let is_barrels = read.said.table.is_some_and(|table| table.name == BARRELS.name);
        let proposal = &read.came_to.as_ref()?.proposal;
        let has_lots = proposal.columns.iter().any(|column| column.field.as_deref() == Some("lot"));
        (is_barrels && has_lots).then_some(&WINE)
    }

    /// Goes back to the line on which a file is named.
    fn leave_done(&mut self, model: &mut Model) -> Turn {
        if let Some(table) = self.next_kind() {
            model.kept.put(Draft { file: self.file.clone(), said: Said::nothing_but(Some(table)) });
            model.say(format!("Enter reads the same file as a list of {}.", table.name), Tone::Notice);
        }
        Turn::back()
    }

    fn show_other_side(&mut self) -> Turn {
        self.preview = if self.preview.is_some() { None } else { Some(0) };
        Turn::stay()
    }
}

impl Table for SpreadsheetPage {
    const ABOUT: About = About {
        name: "A spreadsheet as it is understood",
        purpose: "How a spreadsheet was read, what is asked about it, and which column is taken as what, a line each; left and right change a line, and where a value is to \
                  be typed it is typed. Tab shows what would be entered and which lines cannot be taken. Enter goes to what is asked, and where nothing is, it takes \
                  all of it in, as one act that one undo takes back.\n\
                  What is said here can be kept beside the file, as barrels.wine.mapping.json beside barrels.csv: the next list of the same columns in that folder is \
                  then read in the same way.",
        opens: Opens::From("enter on the line of Take in a spreadsheet opens it"),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<SpreadsheetPage>] = &[
        Row::new(Sense::After, "The next value", "Goes to the next value of the chosen line.", |page: &mut SpreadsheetPage, model| page.turn(model, 1)).word(|page, _| page.item().map(|_| "change".to_owned())).unless(SpreadsheetPage::why_no_change),
        Row::new(Sense::Before, "The value before", "Goes to the value before.", |page: &mut SpreadsheetPage, model| page.turn(model, -1)).unless(SpreadsheetPage::why_no_change),
        Row::new(Sense::OtherSide, "What would be entered", "Goes to what would be entered, and back to how the file is understood.", |page: &mut SpreadsheetPage, _| page.show_other_side()).word(|page, _| Some(if page.preview.is_some() { "how it is read" } else { "preview" }.to_owned())).unless(|page, _| page.done.as_ref().map(|_| "It is taken in. Enter goes on, u takes it back.".to_owned())),
        Row::UNDO.word(|page, _| page.done.as_ref().map(|_| "undo".to_owned())),
        Row::REDO,
    ];
}

impl Page for SpreadsheetPage {
    fn title(&self, _model: &Model) -> String {
        format!("Take in a spreadsheet: {}", name_of(&self.file))
    }

    fn below_title(&self, _model: &Model) -> Option<String> {
        let read = self.reading.told()?;
        Some(match &read.came_to {
            _ if self.is_read_anew => "It is being read anew.".to_owned(),
            Some(came_to) => told::how_it_was_read(&came_to.source, &came_to.proposal),
            None => "What it lists is not told yet.".to_owned(),
        })
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        sheet::lines(self, model, (width, height))
    }

    fn line_shown(&self) -> Option<usize> {
        self.preview.filter(|_| self.done.is_none())
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        self.preview.as_mut()
    }

    fn go(&mut self, model: &mut Model, go: Go, last: usize) -> Turn {
        if self.done.is_some() {
            model.say("It is taken in. Enter goes on, u takes it back.", Tone::Notice);
        } else if let Some(line) = &mut self.preview {
            *line = go.line(*line, last, model.half_screen());
        } else if self.line.is_empty() || model.may_leave_line(&self.line) {
            let items = self.at(model).map_or_else(Vec::new, |at| at.items());
            self.chosen.go(model, &items, go);
            (self.shown_column, self.line) = (0, String::new());
        }
        Turn::stay()
    }

    fn written(&self) -> Option<&str> {
        self.item().filter(|item| item.is_typed()).map(|_| self.line.as_str())
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        let is_typed = self.item().is_some_and(Item::is_typed);
        is_typed.then_some(&mut self.line)
    }

    /// Up goes to the line above.
    fn manner(&self) -> Manner {
        Manner::over_list(LONGEST)
    }

    fn enter_word(&self, model: &Model) -> Option<String> {
        if self.done.is_some() {
            return Some("go on".to_owned());
        }
        let at = self.at(model)?;
        let takes_line = self.item().is_some_and(|item| matches!(item, Item::Which(_)) || !self.line.trim().is_empty());
        let is_asked = at.items().iter().any(|item| at.is_open(item));
        Some(
            if takes_line {
                "answer"
            } else if is_asked {
                "what is asked"
            } else {
                "take it in"
            }
            .to_owned(),
        )
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if self.done.is_some() {
            return Some(self.leave_done(model));
        }
        let item = self.item().cloned();
        let answers = item.filter(|item| matches!(item, Item::Which(_)) || !self.line.trim().is_empty());
        Some(
            match answers {
                Some(_) if self.is_read_anew => model.refuse("It is being read anew. One moment."),
                Some(item) => self.answer(model, &item),
                None => self.take_in(model),
            }
            .into(),
        )
    }

    /// Clears what is typed, else goes back to how the file is understood, else to the line of the file: what was said of it is kept.
    fn esc(&mut self, model: &mut Model) -> Turn {
        if !self.line.is_empty() {
            self.line.clear();
        } else if self.preview.is_some() {
            self.preview = None;
        } else {
            if let Some(read) = self.reading.told().filter(|_| self.done.is_none()) {
                model.kept.put(Draft { file: self.file.clone(), said: read.said.clone() });
            }
            return Turn::back();
        }
        Turn::stay()
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        if let Some(told) = self.keeping.answer(answer) {
            match told {
                Told::Found(KeptIn(name)) => {
                    model.say_also(&format!("What was said of it is kept in {name}."), Tone::Done);
                }
                Told::Nothing(why) => model.say_also(why, Tone::Refused),
                Told::SoFar(_) => {}
            }
            return Some(Turn::stay());
        }
        match self.reading.answer(answer)? {
            Told::Nothing(why) => {
                self.is_read_anew = false;
                model.say(why, Tone::Refused);
            }
            Told::SoFar(_) => {}
            Told::Found(_) => {
                let _ = self.reading.take(model, answer);
                self.is_read_anew = false;
                if std::mem::take(&mut self.goes_on) {
                    self.choose_next(model);
                } else {
                    let items = self.at(model).map_or_else(Vec::new, |at| at.items());
                    let place = self.chosen.place_or_stood(&items);
                    self.chosen = Choice::at(&items, place);
                }
            }
        }
        Some(Turn::stay())
    }

    /// It is on disk; or it was taken back, and is tried again.
    fn stored(&mut self, model: &mut Model, then: Then) -> Turn {
        if let Some(TakenIn(done)) = then.word() {
            self.done = Some(done.clone());
            model.kept.take::<Draft>();
            return self.keep(model).into();
        }
        match self.reading.told().map(|read| read.said.clone()) {
            Some(said) if then.word::<Undone>().is_some() => {
                self.done = None;
                self.read_anew(model, said).into()
            }
            _ => Turn::stay(),
        }
    }

    fn ask_again(&mut self, model: &mut Model) -> Wishes {
        match self.reading.told().map(|read| read.said.clone()) {
            Some(said) if self.done.is_none() => self.read_anew(model, said),
            _ => Vec::new(),
        }
    }
}
