//! A form on the screen: the fields of an act, one a line. What it comes to stands below while it is written, or what is wrong with it; enter enters
//! it as one act as soon as nothing is missing.

pub(in crate::tui) mod correcting;

pub use correcting::Corrected;

use correcting::{Correcting, Fits};
use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use crate::cellar::core::fact::What;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::State;
use crate::desk::Amendment;
use crate::forms::{self, Entry, Filled, Form, Mistake, Need};
use crate::told::hazard::Caution;
use crate::told::meant::with_hint;
use crate::told::tests::dose_given;
use crate::tui::core::asking;
use crate::tui::core::choice::choice_line;
use crate::tui::core::draw::write_lines;
use crate::tui::core::finding::{Finding, Told};
use crate::tui::core::line::Manner;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::{columns, fit, left};
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Answer;
use crate::tui::floor::despite;
use crate::units::counted;

/// The columns of a field's name, and of what is written in it before its hint.
const NAME: usize = 16;
const WRITTEN: usize = 24;
/// No field is longer.
const LONGEST: usize = 400;

/// A form that is filled in.
#[derive(Debug)]
pub struct FormPage {
    filled: Filled,
    /// The fact that it corrects, where it does: its lines stand below those of the form.
    correcting: Option<Correcting>,
    /// Which of its fields is chosen, by its place among those that are filled in.
    chosen: usize,
    /// From which line on it is shown.
    line: usize,
    /// What is written comes to; worked out whenever something is written, not whenever it is drawn.
    came: CameTo,
    /// Which later facts would fit no more with what is corrected.
    fits: Finding<Fits>,
}

/// What is written comes to.
#[derive(Clone, Debug, PartialEq)]
enum CameTo {
    /// The facts of an act, and what would be asked of them.
    Act(Vec<What>, Vec<Question>),
    /// A correction.
    Correction(Amendment),
    /// Why it is none; and whether all that must be written is.
    Wrong(Mistake, bool),
}

/// The way to the page of a form.
macro_rules! way {
    ($form:path) => {
        Way {
            sense: None,
            title: $form.title,
            help: $form.help,
            also: $form.also,
            why_not: Model::why_read_only,
            open: |model| open(model, &$form),
        }
    };
}

/// A line a form that has a page, in the order of the year.
const WAYS: &[Way] = &[
    way!(forms::VESSEL_CHANGED),
    way!(forms::VESSEL_PLACED),
    way!(forms::RACK_MOVED),
    way!(forms::VESSEL_RETIRED),
    way!(forms::RENAMED),
    way!(forms::ORIGIN_DECLARED),
    way!(forms::LOT_OPENED),
    way!(forms::STAGE_SET),
    way!(forms::WINE_RECEIVED),
    way!(forms::KEPT_SINCE),
    way!(forms::WINE_MOVED),
    way!(forms::STIRRED),
    way!(forms::BLANKETED),
    way!(forms::BARREL_CARED),
    way!(forms::SAMPLED),
    way!(forms::TREATED),
    way!(forms::MARK_DECLARED),
    way!(forms::MATERIAL_DECLARED),
    way!(forms::ANALYTE_DECLARED),
    way!(forms::STORE_LAID_OUT),
    way!(forms::BOTTLES_COUNTED),
    way!(forms::LOST),
    way!(forms::WINE_OUT),
];

/// Opens a form, with what is looked at in it.
pub(in crate::tui) fn open(model: &mut Model, form: &'static Form) -> Wishes {
    let mut filled = Filled::new(form).on(model.now.date());
    offer_at_hand(model, &mut filled);
    if let Some(Last(last)) = model.kept.get::<Last>()
        && let Some(before) = last.iter().find(|it| it.form().kind == form.kind)
    {
        let again = form.filled_in().filter(|(_, field)| matches!(field.need, Need::Again | Need::Usual(_)));
        again.for_each(|(at, _)| filled.offer(at, before.text(at)));
    }
    filled.offer_of_cellar(&model.state);
    let page = FormPage::of(model, filled, None);
    let first = page.fields().position(|at| page.filled.text(at).is_empty()).unwrap_or(0);
    model.open(FormPage { chosen: first, ..page });
    Vec::new()
}

/// Opens a form to write one of its fields, by its place.
pub(in crate::tui) fn open_at(model: &mut Model, form: &'static Form, field: usize) -> Wishes {
    let mut page = FormPage::of(model, Filled::new(form).on(model.now.date()), None);
    page.go_to(Some(field));
    model.open(page);
    Vec::new()
}

/// Offers the vessel under the cursor, its lot or its room where the form asks for one.
fn offer_at_hand(model: &Model, filled: &mut Filled) {
    let vessel = model.chosen_vessel();
    let form = filled.form();
    for (at, field) in form.filled_in() {
        // What need not be said is offered by nobody: it would narrow what is meant.
        let text = match field.entry {
            _ if matches!(field.need, Need::May) => None,
            Entry::Vessel | Entry::Vessels => vessel.map(|vessel| vessel.label.to_string()),
            Entry::Lot => vessel.and_then(|vessel| vessel.lot).map(|lot| model.state.lots.get(lot).label.to_string()),
            Entry::Room => model.cursor.map(|cursor| model.state.rooms.get(cursor.room).label.to_string()),
            _ => None,
        };
        // Only the first of a kind is what is looked at; another is where it goes.
        let is_first =
            form.filled_in().find(|(_, it)| same_entry(it.entry, field.entry)).map(|(first, _)| first) == Some(at);
        if let Some(text) = text.filter(|_| is_first) {
            filled.offer(at, &text);
        }
    }
}

fn same_entry(one: Entry, other: Entry) -> bool {
    std::mem::discriminant(&one) == std::mem::discriminant(&other)
}

/// What was entered last by each form.
#[derive(Debug, Default)]
struct Last(Vec<Filled>);

/// The act of a form is on disk.
#[derive(Debug)]
struct Taken(Filled);

impl FormPage {
    fn of(model: &Model, filled: Filled, correcting: Option<Correcting>) -> FormPage {
        let nothing = Mistake { field: None, why: String::new(), is_missing: true };
        let came = CameTo::Wrong(nothing, false);
        let mut page = FormPage { filled, correcting, chosen: 0, line: 0, came, fits: Finding::default() };
        page.work_out(model);
        page
    }

    /// Works out what is written comes to.
    fn work_out(&mut self, model: &Model) {
        self.came = if self.correcting.is_some() {
            self.amendment(model).map_or_else(|mistake| CameTo::Wrong(mistake, true), CameTo::Correction)
        } else {
            match self.ready(&model.state) {
                Ok(whats) => {
                    let questions = model.state.questions(&whats, model.now);
                    CameTo::Act(whats, questions)
                }
                Err(mistake) => CameTo::Wrong(mistake, self.filled.whats(&model.state).is_ok()),
            }
        };
    }

    /// The places of the fields that are filled in.
    fn fields(&self) -> impl Iterator<Item = usize> + use<> {
        self.filled.form().filled_in().map(|(at, _)| at)
    }

    /// The field that is chosen, by its place in the form.
    fn field(&self) -> Option<usize> {
        self.fields().nth(self.chosen)
    }

    fn go_to(&mut self, field: Option<usize>) {
        if let Some(at) = field.and_then(|field| self.fields().position(|it| it == field)) {
            self.chosen = at;
        }
    }

    fn step(&mut self, by: isize) -> Turn {
        let beside = self.correcting.as_ref().map_or(0, |_| Correcting::LINES);
        let last = (self.fields().count() + beside).saturating_sub(1);
        self.chosen = self.chosen.saturating_add_signed(by).min(last);
        self.line = 0;
        Turn::stay()
    }

    fn turn(&mut self, model: &mut Model, by: isize) -> Turn {
        if let Some(field) = self.field() {
            self.filled.turn(field, by);
            self.work_out(model);
        }
        self.wants_of_written(model).into()
    }

    fn why_no_value(&self, _model: &Model) -> Option<String> {
        let has = self.field().is_some_and(|at| !self.filled.form().fields[at].entry.values().is_empty());
        (!has)
            .then(|| "This line is written: left and right go through the words of a line that has several.".to_owned())
    }

    /// The facts that it comes to, as the cellar would take them but for a hold, which a reason passes.
    fn ready(&self, state: &State) -> Result<Vec<What>, Mistake> {
        let whats = self.filled.whats(state)?;
        for what in &whats {
            let refused = |refusal| Mistake { field: None, why: with_hint(&refusal, state), is_missing: false };
            what.deed().permitted(state, true).map_err(refused)?;
        }
        Ok(whats)
    }

    /// Enters it, or goes to the first field that is missing or wrong.
    fn take(&mut self, model: &mut Model) -> Wishes {
        if let Some(why) = model.why_read_only() {
            return model.refuse(why);
        }
        if self.correcting.is_some() {
            return self.correct(model);
        }
        match self.ready(&model.state) {
            Ok(whats) if !asking::may_enter(model, &whats) => Vec::new(),
            Ok(whats) => {
                let say = format!("{}.", told(&whats));
                let act = model.act(whats);
                despite::enter(model, act, say, Then::of(Taken(self.filled.clone())))
            }
            Err(mistake) => {
                let was = self.field();
                self.go_to(mistake.field);
                // What is only not written yet is gone to first and said where it is come back to.
                if mistake.is_missing && self.field() != was { Vec::new() } else { model.refuse(mistake.why) }
            }
        }
    }
}

/// What facts say, the first of several alike with how many there are.
fn told(whats: &[What]) -> String {
    match whats {
        [] => String::new(),
        [one] => forms::said(one),
        [first, rest @ ..] if rest.iter().all(|it| it.kind() == first.kind()) => {
            format!("{} ({} in all)", forms::said(first), counted(whats.len(), "vessel"))
        }
        // What goes before says what a word of the others means.
        [first, rest @ ..] => format!("{}; {}", forms::said(first), told(rest)),
    }
}

impl Table for FormPage {
    const ABOUT: About = About {
        name: "A form",
        purpose: "The fields of an act, one a line. What is offered stands there already, marked: what is typed takes its place. Left and right go \
                  through the words of a line that has several; up, down and tab go from line to line.\n\
                  Below stands what it comes to, or what is wrong with it. enter enters it as soon as nothing is missing, else it goes to what is. It is \
                  one act, and one undo takes it back.",
        opens: Opens::ByWays(WAYS),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<FormPage>] = &[
        Row::new(Sense::OtherSide, "The next field", "Goes to the next field.", |page: &mut FormPage, _| page.step(1)).word(|_, _| Some("next".to_owned())),
        Row::new(Sense::After, "The next value", "Goes to the next word of a line that has several.", |page: &mut FormPage, model| page.turn(model, 1)).word(|_, _| Some("change".to_owned())).unless(FormPage::why_no_value),
        Row::new(Sense::Before, "The value before", "Goes to the word before.", |page: &mut FormPage, model| page.turn(model, -1)).unless(FormPage::why_no_value),
    ];
}

impl Page for FormPage {
    fn title(&self, _model: &Model) -> String {
        let title = self.filled.form().title;
        if self.correcting.is_some() { format!("Correct: {title}") } else { title.to_owned() }
    }

    fn caution(&self, model: &Model) -> Caution {
        if self.correcting.is_some() {
            return Caution::default();
        }
        match self.filled.whats(&model.state) {
            Ok(whats) => Caution::of_acts(&model.state, &whats),
            Err(_) => Caution::of_kind(self.filled.form().kind),
        }
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        let sheet = Sheet { model, width };
        let (mut lines, _) = self.above(sheet);
        lines.extend(self.below(sheet));
        lines
    }

    /// What is written must be seen, and what it comes to as well: where there is no room for all of it that stands at the bottom, and above
    /// it as much as there is room for, down to the field that is written.
    fn draw(&self, model: &Model, frame: &mut Frame<'_>, area: Rect) {
        let sheet = Sheet { model, width: usize::from(area.width) };
        let height = usize::from(area.height);
        let (mut lines, written_at) = self.above(sheet);
        let below = self.below(sheet);
        let is_whole = lines.len() + below.len() <= height;
        if is_whole || self.line > 0 {
            lines.extend(below);
            let last = lines.len().saturating_sub(height);
            return write_lines(frame, area, lines.into_iter().skip(self.line.min(last)).collect());
        }
        let room = height - below.len().min(height / 2);
        let from = (written_at + 2).saturating_sub(room).min(lines.len().saturating_sub(room));
        let shown = lines.into_iter().skip(from).take(room).chain(below);
        write_lines(frame, area, shown.collect());
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.line)
    }

    fn go(&mut self, model: &mut Model, go: Go, last: usize) -> Turn {
        match go {
            Go::PageUp | Go::PageDown => {
                self.line = go.line(self.line, last, model.half_screen());
                Turn::stay()
            }
            Go::Up | Go::Down | Go::Start | Go::End => self.step(go.by(1)),
        }
    }

    fn rewritten(&mut self, model: &mut Model) {
        if let Some(field) = self.field() {
            self.line = 0;
            self.filled.rewritten(field);
            self.filled.offer_of_cellar(&model.state);
        }
        self.work_out(model);
    }

    fn wants_of_written(&mut self, model: &mut Model) -> Wishes {
        self.ask_whether_it_fits(model)
    }

    fn ask_again(&mut self, model: &mut Model) -> Wishes {
        self.ask_whether_it_fits(model)
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        match self.fits.answer(answer)? {
            // Enter asks the desk all the same.
            Told::Nothing(_) => Some(Turn::stay()),
            Told::Found(_) | Told::SoFar(_) => self.fits.take(model, answer),
        }
    }

    fn written(&self) -> Option<&str> {
        match self.field() {
            Some(field) => Some(self.filled.text(field)),
            None => self.beside(),
        }
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        match self.field() {
            Some(field) => self.filled.text_mut(field),
            None => self.beside_mut(),
        }
    }

    fn manner(&self) -> Manner {
        Manner::over_list(LONGEST)
    }

    fn is_proposed(&self) -> bool {
        self.field().map_or_else(|| self.stands_beside(), |field| self.filled.is_offered(field))
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        let is_whole = !matches!(self.came, CameTo::Wrong(_, false));
        Some(if is_whole { "enter it" } else { "next" }.to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if let Some(field) = self.field()
            && let Some(mistake) = self.filled.check(field, &model.state)
        {
            model.say(mistake.why, Tone::Refused);
            return Some(Turn::stay());
        }
        Some(self.take(model).into())
    }

    fn esc_word(&self, _model: &Model) -> Option<String> {
        Some("back".to_owned())
    }

    fn esc(&mut self, _model: &mut Model) -> Turn {
        Turn::back()
    }

    fn stored(&mut self, model: &mut Model, then: Then) -> Turn {
        if then.word::<Corrected>().is_some() {
            return Turn::back_and_stored(then);
        }
        let Some(Taken(filled)) = then.word() else { return Turn::stay() };
        let Last(mut last) = model.kept.take().unwrap_or_default();
        last.retain(|it| it.form().kind != filled.form().kind);
        last.push(filled.clone());
        model.kept.put(Last(last));
        Turn::back()
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        self.work_out(model);
        Followed::There
    }
}

impl FormPage {
    /// What the form is for and its fields, and on which line the chosen one stands.
    fn above(&self, sheet: Sheet<'_>) -> (Vec<Line<'static>>, usize) {
        let form = self.filled.form();
        let mut lines = sheet.words(form.help, Meaning::Muted);
        lines.push(Line::default());
        let written_at = lines.len() + self.chosen;
        for (nth, at) in self.fields().enumerate() {
            let field = &form.fields[at];
            lines.extend(named_lines(sheet, self.chosen == nth, (field.name, field.hint), self.filled.text(at)));
        }
        lines.extend(self.lines_beside(sheet));
        (lines, written_at)
    }

    /// What it comes to, with a line above it.
    fn below(&self, sheet: Sheet<'_>) -> Vec<Line<'static>> {
        std::iter::once(Line::default()).chain(self.comes_to(sheet)).collect()
    }

    /// What it comes to, with what would be asked; else the first thing that is wrong with it or missing.
    fn comes_to(&self, sheet: Sheet<'_>) -> Vec<Line<'static>> {
        match &self.came {
            CameTo::Act(whats, questions) => {
                let mut lines = sheet.words(&format!("{} {}.", sheet.marks().yes, told(whats)), Meaning::Fine);
                let dose = dose_given(&sheet.model.state, whats);
                lines.extend(dose.iter().flat_map(|dose| sheet.words(dose, Meaning::Base)));
                lines.extend(questions.iter().flat_map(|question| sheet.words(&question.to_string(), Meaning::Due)));
                lines
            }
            CameTo::Correction(amendment) => self.corrected_lines(sheet, amendment),
            CameTo::Wrong(mistake, _) => {
                sheet.words(&mistake.why, if mistake.is_missing { Meaning::Muted } else { Meaning::Error })
            }
        }
    }
}

/// A line that is written: its name, what stands on it, and where it is chosen what is to be written, below it where it is too long.
fn named_lines(
    sheet: Sheet<'_>,
    chosen: bool,
    (name, hint): (&str, &str),
    text: &str,
) -> impl Iterator<Item = Line<'static>> {
    let (model, marks) = (sheet.model, sheet.marks());
    let room = sheet.width.saturating_sub(NAME + 3);
    let is_short = text.chars().count() < WRITTEN;
    let beside = is_short && WRITTEN + 1 + columns(hint) <= room;
    let written = match (chosen, is_short) {
        (true, true) if beside => format!("{} {hint}", left(&model.written(text, WRITTEN), WRITTEN, marks)),
        (true, true) => model.written(text, WRITTEN),
        (true, false) => model.written(text, room.saturating_sub(1)),
        (false, _) => text.to_owned(),
    };
    let words = format!("{} {}", left(name, NAME, marks), fit(&written, room, marks));
    // Under what is written, or further left where it would not fit there.
    let indent = sheet.width.saturating_sub(columns(hint)).min(NAME + 3);
    let below = (chosen && !beside && !hint.is_empty())
        .then(|| sheet.line(&format!("{}{hint}", " ".repeat(indent)), Meaning::Muted));
    std::iter::once(choice_line(model, chosen, &words, sheet.width)).chain(below)
}
