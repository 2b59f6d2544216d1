//! A page: a room of its own over the floor.
//!
//! A page is one file (or one folder). It implements [`Table`], its table: what it is and its commands, a row each; and [`Page`]: how it
//! is drawn, what is typed into it, what enter and esc do, and what it makes of an answer from the desk. One line in the list of
//! rooms ([`crate::tui::rooms`]) makes it known to the find box and to the floor. Nothing else is touched.
//!
//! Two traits, because a row names functions of its own page (`fn(&mut Ledger, &mut Model)`), which no trait object can; what
//! the core asks of any page whatever it is ([`Offered`]) is worked out from the table. While a page is at work it is off the
//! stack, so that it may change itself and the model at once; where it goes then it says by its [`Turn`], and what it opens
//! stands upon it.

use std::any::Any;
use std::fmt;

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use super::fields::Fields;
use super::sense::Sense;
pub use super::turn::{Go, Goes, Turn};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::told::hazard::Caution;
use crate::tui::core::draw::write_lines;
use crate::tui::core::line::{Manner, write_on};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Answer;

/// What a page is, for its help, the find box and whoever wants to open it.
#[derive(Clone, Copy, Debug)]
pub struct About {
    /// What it is called: `The ledger`.
    pub name: &'static str,
    /// What it is for, in a few lines.
    pub purpose: &'static str,
    /// How it is opened.
    pub opens: Opens,
}

/// How a page is opened.
#[derive(Clone, Copy, Debug)]
pub enum Opens {
    /// From the floor, by these ways.
    ByWays(&'static [Way]),
    /// From another page: how, in a few words.
    From(&'static str),
}

impl Opens {
    /// The ways from the floor.
    #[must_use]
    pub const fn ways(self) -> &'static [Way] {
        match self {
            Opens::ByWays(ways) => ways,
            Opens::From(_) => &[],
        }
    }
}

/// How a page is opened from the floor: by its key where it has one, from the list of what can be done, from the find box.
#[derive(Clone, Copy)]
pub struct Way {
    /// What its key means.
    pub sense: Option<Sense>,
    /// Its name in the lists.
    pub title: &'static str,
    /// One line about it.
    pub help: &'static str,
    /// What a cellar says for it besides.
    pub also: &'static [&'static str],
    /// Why it cannot be opened now, if it cannot.
    pub why_not: fn(&Model) -> Option<String>,
    /// Opens it.
    pub open: fn(&mut Model) -> Wishes,
}

impl fmt::Debug for Way {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Way").field("title", &self.title).finish_non_exhaustive()
    }
}

/// A command of a page: a row of its table.
pub struct Row<P: 'static> {
    sense: Option<Sense>,
    title: &'static str,
    help: &'static str,
    also: &'static [&'static str],
    word: fn(&P, &Model) -> Option<String>,
    why_not: fn(&P, &Model) -> Option<String>,
    give: fn(&mut P, &mut Model) -> Turn,
}

impl<P> Row<P> {
    /// What was entered last is taken back.
    pub const UNDO: Row<P> = Row::new(
        Sense::Undo,
        "Undo",
        "Takes back what was entered last. Again, and it goes further back.",
        |_, model| model.undo().into(),
    )
    .word(|_, _| Some("undo".to_owned()))
    .unless(|_, model| model.why_read_only());

    /// What was taken back last is given back.
    pub const REDO: Row<P> =
        Row::new(Sense::Redo, "Redo", "Gives back what was undone last.", |_, model| model.redo().into())
            .unless(|_, model| model.why_read_only());

    /// The same as undo where letters are words, of what was entered on the page.
    pub const TAKE_BACK: Row<P> = Row::new(
        Sense::TakeBack,
        "Take back",
        "Takes back what was entered last on this page. Again, and it goes further back.",
        |_, model| model.undo().into(),
    )
    .word(|_, _| Some("take back".to_owned()));

    /// A command that a key gives: its sense, its name, a sentence about it, and what it does.
    #[must_use]
    pub const fn new(
        sense: Sense,
        title: &'static str,
        help: &'static str,
        give: fn(&mut P, &mut Model) -> Turn,
    ) -> Row<P> {
        Row { sense: Some(sense), title, help, also: &[], word: |_, _| None, why_not: |_, _| None, give }
    }

    /// A command without a key: it is chosen in the list of what can be done here.
    #[must_use]
    pub const fn listed(title: &'static str, help: &'static str, give: fn(&mut P, &mut Model) -> Turn) -> Row<P> {
        Row { sense: None, title, help, also: &[], word: |_, _| None, why_not: |_, _| None, give }
    }

    /// With its word for the bottom line.
    #[must_use]
    pub const fn word(self, word: fn(&P, &Model) -> Option<String>) -> Row<P> {
        Row { word, ..self }
    }

    /// With why it cannot be given now, if it cannot.
    #[must_use]
    pub const fn unless(self, why_not: fn(&P, &Model) -> Option<String>) -> Row<P> {
        Row { why_not, ..self }
    }

    /// With what a cellar says for it besides.
    #[must_use]
    pub const fn also(self, also: &'static [&'static str]) -> Row<P> {
        Row { also, ..self }
    }

    fn offer(&self, row: usize, word: Option<String>, why_not: Option<String>) -> Offer {
        Offer {
            doing: Doing::Row(row),
            sense: self.sense,
            title: self.title,
            help: self.help,
            also: self.also,
            word,
            why_not,
        }
    }
}

/// What a page is, and its commands.
pub trait Table: Sized + 'static {
    /// What it is.
    const ABOUT: About;
    /// Its commands, in the order of its help.
    const ROWS: &'static [Row<Self>];
}

/// What a line of what can be done stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doing {
    /// A row of the page's table.
    Row(usize),
    /// A way into another room of the house.
    Way(usize),
}

/// A command as it stands now.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    /// What it is.
    pub doing: Doing,
    /// What its key means; none where it has no key.
    pub sense: Option<Sense>,
    /// Its name.
    pub title: &'static str,
    /// A sentence about it.
    pub help: &'static str,
    /// What a cellar says for it besides.
    pub also: &'static [&'static str],
    /// Its word for the bottom line.
    pub word: Option<String>,
    /// Why it cannot be given now, if it cannot.
    pub why_not: Option<String>,
}

/// What can be done on a page, whatever stands on it.
pub(super) fn acts<P: Table>() -> Vec<Offer> {
    let act = |(at, row): (usize, &Row<P>)| row.offer(at, None, None);
    P::ROWS.iter().enumerate().map(act).collect()
}

/// What is known of any page by its table.
pub trait Offered {
    /// What it is.
    fn about(&self) -> &'static About;
    /// Its commands, whatever stands on it.
    fn named(&self) -> Vec<Offer>;
    /// Its commands as they stand now.
    fn offers(&self, model: &Model) -> Vec<Offer>;
    /// What can be pressed now, with its words for the bottom line. It is asked for each frame, and nothing else is worked out.
    fn pressable(&self, model: &Model) -> Vec<(Sense, String)>;
    /// Whether it has a command at all.
    fn has_commands(&self) -> bool;
    /// The row of the command that has a sense.
    fn row_of(&self, sense: Sense) -> Option<usize>;
    /// Why a command cannot be given now, if it cannot.
    fn why_not(&self, row: usize, model: &Model) -> Option<String>;
    /// Gives a command.
    fn give(&mut self, row: usize, model: &mut Model) -> Turn;
}

impl<P: Table> Offered for P {
    fn about(&self) -> &'static About {
        const { &P::ABOUT }
    }

    fn named(&self) -> Vec<Offer> {
        acts::<P>()
    }

    fn offers(&self, model: &Model) -> Vec<Offer> {
        let offer = |(at, row): (usize, &Row<P>)| row.offer(at, (row.word)(self, model), (row.why_not)(self, model));
        P::ROWS.iter().enumerate().map(offer).collect()
    }

    fn pressable(&self, model: &Model) -> Vec<(Sense, String)> {
        let rows = P::ROWS.iter().filter_map(|row| Some((row, row.sense?, (row.word)(self, model)?)));
        let given = rows.filter(|(row, ..)| (row.why_not)(self, model).is_none());
        given.map(|(_, sense, word)| (sense, word)).collect()
    }

    fn has_commands(&self) -> bool {
        !P::ROWS.is_empty()
    }

    fn row_of(&self, sense: Sense) -> Option<usize> {
        P::ROWS.iter().position(|row| row.sense == Some(sense))
    }

    fn why_not(&self, row: usize, model: &Model) -> Option<String> {
        P::ROWS.get(row).and_then(|row| (row.why_not)(self, model))
    }

    fn give(&mut self, row: usize, model: &mut Model) -> Turn {
        P::ROWS.get(row).map_or_else(Turn::stay, |row| (row.give)(self, model))
    }
}

/// What becomes of a page when the cellar has become another one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Followed {
    /// It shows what it showed.
    There,
    /// What was chosen on it is gone; nothing is chosen.
    WithoutChoice(String),
    /// It shows something else now, and what is to be said of that.
    Otherwise(String),
    /// What it is about is gone, and it is closed.
    Gone(String),
}

/// The cellar as it was, and what was looked at on the floor.
#[derive(Debug)]
pub struct Before<'a> {
    /// The cellar.
    pub state: &'a State,
    /// The vessel that was looked at.
    pub at_hand: Option<Label>,
}

/// A page.
pub trait Page: Offered + fmt::Debug + Any {
    /// Its title as it stands now.
    fn title(&self, model: &Model) -> String;

    /// Its lines, for so many columns and rows; none where it is only a line that is written.
    fn lines(&self, _model: &Model, _width: usize, _height: usize) -> Vec<Line<'static>> {
        Vec::new()
    }

    /// Draws it into the room that it has. What has another form than lines draws itself.
    fn draw(&self, model: &Model, frame: &mut Frame<'_>, area: Rect) {
        let (width, height) = (usize::from(area.width), usize::from(area.height));
        let lines = self.lines(model, width, height);
        let from = self.line_shown().map_or(0, |line| line.min(lines.len().saturating_sub(height)));
        write_lines(frame, area, lines.into_iter().skip(from).collect());
    }

    /// Whether the rooms of the house are opened from it: that is the floor.
    fn opens_rooms(&self) -> bool {
        false
    }

    /// What is to be done before all else, by its title: it stands first in the list of what can be done. So one begins where nothing is.
    fn begins_with(&self, _model: &Model) -> Option<&'static str> {
        None
    }

    /// Whether its head is its own; it is drawn with the page then.
    fn has_own_head(&self) -> bool {
        false
    }

    /// What stands below its title in place of what is under way.
    fn below_title(&self, _model: &Model) -> Option<String> {
        None
    }

    /// What can hurt somebody at the work that it is about: it stands over its lines, before anything is done.
    fn caution(&self, _model: &Model) -> Caution {
        Caution::default()
    }

    /// Whether it takes all the width there is, as drawings do. Words are read with ease in a hundred columns.
    fn is_wide(&self) -> bool {
        false
    }

    /// Whether it is a question, a list or a line over what is under it, which stays in sight.
    fn is_over(&self) -> bool {
        false
    }

    /// The lines that are filled on it, where it is a page of such: they are written, gone through and scrolled over alike on all.
    fn fields(&self) -> Option<&Fields> {
        None
    }

    /// The same, to be changed.
    fn fields_mut(&mut self) -> Option<&mut Fields> {
        None
    }

    /// The line that it is shown from; none where it is not scrolled.
    fn line_shown(&self) -> Option<usize> {
        self.fields().map(Fields::line_shown)
    }

    /// The same, to be changed.
    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        self.fields_mut().map(Fields::line_shown_mut)
    }

    /// Goes about on it; `last` is the last line that it can be shown from. Where nothing is chosen it is scrolled.
    fn go(&mut self, model: &mut Model, go: Go, last: usize) -> Turn {
        if let Some(fields) = self.fields_mut() {
            fields.go(go, last, model.half_screen());
            return Turn::stay();
        }
        match self.line_shown_mut() {
            Some(line) if last > 0 => *line = go.line(*line, last, model.half_screen()),
            Some(_) => model.say("All of this page is in sight.", Tone::Notice),
            None => model.say("There is no line to go to here.", Tone::Notice),
        }
        Turn::stay()
    }

    /// Whether a character is text here now, before it is a key: where a line is written all are.
    fn takes(&self, _model: &Model, character: char) -> bool {
        self.written().is_some() && !character.is_control()
    }

    /// Whether a digit is a figure here and not the number of a line.
    fn takes_figures(&self, model: &Model) -> bool {
        self.takes(model, '1')
    }

    /// Takes text that was typed or pasted: it goes on the line that is being written.
    fn type_in(&mut self, model: &mut Model, text: &str) -> Turn {
        let longest = self.manner().longest;
        if let Some(line) = self.written_mut() {
            write_on(line, text, longest);
            self.rewritten(model);
        }
        self.wants_of_written(model).into()
    }

    /// Takes a text as it was pasted, where more is meant by it than to write it; none where it is written like any other.
    fn take_pasted(&mut self, _model: &mut Model, _text: &str) -> Option<Turn> {
        None
    }

    /// Whether a text that is pasted may be of several lines here.
    fn takes_lines(&self) -> bool {
        false
    }

    /// Takes away the line that is being written on, where nothing stands on it. Whether there was one to take away.
    fn erase_line(&mut self) -> bool {
        false
    }

    /// What stands on the line that is being written has changed: something was typed, taken back or cleared.
    fn rewritten(&mut self, _model: &mut Model) {
        if let Some(fields) = self.fields_mut() {
            fields.rewritten();
        }
    }

    /// The line that is being written, where one is: what was refused stays marked on it.
    fn written(&self) -> Option<&str> {
        self.fields().and_then(Fields::written)
    }

    /// The same, to be changed.
    fn written_mut(&mut self) -> Option<&mut String> {
        self.fields_mut().and_then(Fields::written_mut)
    }

    /// How that line is written.
    fn manner(&self) -> Manner {
        self.fields().map_or(Manner::ALONE, Fields::manner)
    }

    /// Whether what stands on that line is only proposed: what is typed stands in its place.
    fn is_proposed(&self) -> bool {
        self.fields().is_some_and(Fields::is_proposed)
    }

    /// Whether a text that a scanner writes, with enter behind it, is taken at once. Elsewhere what is pasted is looked at first.
    fn is_scanned_into(&self) -> bool {
        false
    }

    /// What may be typed here that is no command, and what that is, for the bottom line.
    fn typing_hint(&self, _model: &Model) -> Option<(String, String)> {
        None
    }

    /// The lines that stand above the keys: what is being written, a question.
    fn asks(&self, _model: &Model, _width: usize) -> Vec<Line<'static>> {
        Vec::new()
    }

    /// What enter does here, in a word for the bottom line; none where it opens the list of what can be done here.
    fn enter_word(&self, _model: &Model) -> Option<String> {
        None
    }

    /// Takes what is typed, else what is chosen. None where there is neither: then what can be done here is listed.
    fn enter(&mut self, _model: &mut Model) -> Option<Turn> {
        None
    }

    /// What esc does here, in a word for the bottom line; none where it does nothing.
    fn esc_word(&self, _model: &Model) -> Option<String> {
        let clears = self.fields().is_none() && self.written().is_some_and(|line| !line.is_empty());
        Some(if clears { "clear" } else { "back" }.to_owned())
    }

    /// Clears what is typed, else goes back; of lines that are filled nothing is cleared.
    fn esc(&mut self, model: &mut Model) -> Turn {
        if self.fields().is_some() {
            return Turn::back();
        }
        match self.written_mut() {
            Some(line) if !line.is_empty() => {
                line.clear();
                self.rewritten(model);
                Turn::stay()
            }
            _ => Turn::back(),
        }
    }

    /// The act that it entered is on disk. A question or a line over a page is closed by that, and the page under it hears it.
    fn stored(&mut self, _model: &mut Model, then: Then) -> Turn {
        if self.is_over() { Turn::back_and_stored(then) } else { Turn::stay() }
    }

    /// Takes an answer that it asked for; none where it asked for no such thing.
    fn answered(&mut self, _model: &mut Model, _answer: &Answer) -> Option<Turn> {
        None
    }

    /// The cellar has become another one: numbers of things may be others, or the things be gone.
    fn follow(&mut self, _model: &mut Model, _before: &Before<'_>) -> Followed {
        Followed::There
    }

    /// What it wishes to know that it does not know yet: it is asked after every answer.
    fn wants(&mut self, _model: &mut Model) -> Wishes {
        Vec::new()
    }

    /// What it wishes to know of what is written now.
    fn wants_of_written(&mut self, _model: &mut Model) -> Wishes {
        Vec::new()
    }

    /// What it wishes to know now that the cellar is another one.
    fn ask_again(&mut self, _model: &mut Model) -> Wishes {
        Vec::new()
    }
}
