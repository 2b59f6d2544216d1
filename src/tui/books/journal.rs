//! The journal on the screen: a day a page, who did what and what was taken back; of a vessel, a lot, a person or a kind where that is typed. Enter
//! puts a line right, delete takes it back.

use chrono::NaiveDate;
use ratatui::text::Line;

use super::form::correcting;
use crate::cellar::core::fact::FactId;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::state::State;
use crate::cellar::core::when;
use crate::desk::{About as Naming, Correction, Gone, JournalLine, Sought, TakingBack, Toward, Wanted};
use crate::forms;
use crate::tui::core::apart::Lookup;
use crate::tui::core::choice::{Choice, choice_line};
use crate::tui::core::finding::{Finding, Told};
use crate::tui::core::line::Manner;
use crate::tui::core::list::Between;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Go, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::left;
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::{Answer, Work};
use crate::tui::edge::screen::Effect;
use crate::units::{DateForm, counted};

/// Nothing that is typed is longer.
const LONGEST: usize = 80;
/// The columns of who did it.
const WHO: usize = 9;

/// The lines of a day.
#[derive(Debug)]
struct Read {
    day: NaiveDate,
    lines: Vec<JournalLine>,
}

/// The page.
#[derive(Debug)]
pub struct JournalPage {
    day: NaiveDate,
    /// What is typed.
    text: String,
    /// Of what its lines are, in words; none where it is all.
    of: Option<String>,
    wanted: Wanted,
    read: Finding<Read>,
    sought: Finding<Sought>,
    /// Which way it is looked for another day.
    toward: Toward,
    /// Whether the last day with a line is to be found, since there is none on the first.
    opening: bool,
    chosen: Choice<FactId>,
}

impl Table for JournalPage {
    const ABOUT: About = About {
        name: "The journal",
        purpose: "What was entered, by the day on which it happened: when, who, what. What was taken back stays, with by whom. Left and right go to \
                  another day on which something was done.\n\
                  Type a day (27 Nov), or of what its lines shall be: a barrel, a lot, a person, a kind (topped, lost), or several of these; esc shows all again. \
                  enter opens the form of the chosen line, with when it was and who did it, and puts it right as one act; u or delete takes it back, and on a \
                  line that took another back gives that back. What would no longer fit is asked first. Where a name begins with u, type it as a capital.",
        opens: Opens::ByWays(&[
            Way {
                sense: None,
                title: "The journal",
                help: "Shows what was entered on a day, by whom; a line is put right or taken back there.",
                also: &["journal", "diary", "log", "who did what", "correct", "mistake", "history"],
                why_not: Model::why_opening,
                open,
            },
            Way {
                sense: None,
                title: "The journal of this vessel",
                help: "Shows what was entered of the vessel under the cursor, by day.",
                also: &["journal", "what was done here", "correct", "history", "barrel card"],
                why_not: |model| {
                    model.chosen_vessel().is_none().then(|| "There is no vessel under the cursor.".to_owned())
                },
                open: open_of_vessel,
            },
        ]),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<JournalPage>] = &[
        Row::new(Sense::Before, "The day before", "Goes to the last day before on which something was done.", |page: &mut JournalPage, model| page.seek(model, Toward::Earlier).into()).word(|_, _| Some("another day".to_owned())),
        Row::new(Sense::After, "The day after", "Goes to the next day on which something was done.", |page: &mut JournalPage, model| page.seek(model, Toward::Later).into()),
        Row::new(Sense::Undo, "Take this line back", "Takes the chosen line back, as delete does.", JournalPage::take_back).unless(JournalPage::why_not_taken_back),
        Row::new(Sense::TakeBack, "Take it back", "Takes the chosen line back; of one that took another back, gives that back.", JournalPage::take_back).word(|_, _| Some("take back".to_owned())).unless(JournalPage::why_not_taken_back),
    ];
}

/// Opens the journal of today, or of the last day on which something was done.
fn open(model: &mut Model) -> Wishes {
    open_of(model, None)
}

fn open_of_vessel(model: &mut Model) -> Wishes {
    let label = model.chosen_vessel().map(|vessel| vessel.label.clone());
    open_of(model, label)
}

/// Opens the journal of what a label is of.
pub(in crate::tui) fn open_of(model: &mut Model, label: Option<Label>) -> Wishes {
    let about = label.iter().map(|label| Naming::of(&model.state, label)).collect();
    let mut page = JournalPage {
        day: model.now.date(),
        text: String::new(),
        of: label.map(|label| label.to_string()),
        wanted: Wanted { about, ..Wanted::default() },
        read: Finding::default(),
        sought: Finding::default(),
        toward: Toward::Earlier,
        opening: true,
        chosen: Choice::default(),
    };
    let wishes = page.look(model);
    model.open(page);
    wishes
}

/// Of what lines shall be by some words: things, kinds, else a person.
fn wanted(state: &State, words: &str) -> Result<Wanted, String> {
    let mut wanted = Wanted::default();
    if take_word(state, words, &mut wanted) {
        return Ok(wanted);
    }
    let others: Vec<&str> = words.split_whitespace().filter(|word| !take_word(state, word, &mut wanted)).collect();
    if !others.is_empty() {
        wanted.by = Some(Label::new(&others.join(" ")).map_err(|error| error.to_string())?);
    }
    Ok(wanted)
}

/// Takes a word for a thing or a kind, if it is one.
fn take_word(state: &State, word: &str, wanted: &mut Wanted) -> bool {
    let is_thing = [
        state.vessels.find(word).is_some(),
        state.lots.find(word).is_some(),
        state.rooms.find(word).is_some(),
        state.origins.find(word).is_some(),
        state.trials.find(word).is_some(),
        state.runs.find(word).is_some(),
        state.works.find(word).is_some(),
    ];
    if is_thing.contains(&true)
        && let Ok(label) = Label::read(word)
    {
        wanted.about.push(Naming::of(state, &label));
        return true;
    }
    let kind = forms::kind_called(word);
    if let Some(kind) = kind {
        wanted.kind = Some(kind.to_owned());
    }
    kind.is_some()
}

/// What a line says.
fn said(model: &Model, its: &JournalLine) -> String {
    let turned = its.turns.as_ref().map(|turned| (&turned.what, turned.gives_back));
    forms::said_line(&its.line.kind, its.what.as_ref(), turned, model.state.practice.acid_unit)
}

/// What is to be known of a line beside what it says.
fn beside(its: &JournalLine) -> Option<String> {
    match &its.gone {
        Some(Gone { by: Some(by) }) => Some(format!("taken back by {by}")),
        Some(Gone { by: None }) => Some("left out: damaged".to_owned()),
        None => its.is_of_another_day().then(|| format!("entered {}", its.line.written.show_day())),
    }
}

impl JournalPage {
    /// Reads the day.
    fn look(&mut self, model: &mut Model) -> Wishes {
        let (day, wanted) = (self.day, self.wanted.clone());
        let look = move |desk: &crate::desk::Desk| Ok(Read { day, lines: desk.journal_of(day, &wanted)? });
        self.read.look_up(model, Lookup::of(look))
    }

    /// Looks for another day from that one on.
    fn seek_from(&mut self, model: &mut Model, day: NaiveDate) -> Wishes {
        let (toward, wanted) = (self.toward, self.wanted.clone());
        self.sought.look_up(model, Lookup::of(move |desk| desk.journal_day(day, toward, &wanted)))
    }

    fn seek(&mut self, model: &mut Model, toward: Toward) -> Wishes {
        self.toward = toward;
        self.seek_from(model, self.day)
    }

    /// The lines of the day, as far as they are read.
    fn lines_read(&self) -> &[JournalLine] {
        self.read.told().filter(|read| read.day == self.day).map_or(&[], |read| &read.lines)
    }

    fn ids(&self) -> Vec<FactId> {
        self.lines_read().iter().map(|its| its.line.id.clone()).collect()
    }

    fn line_chosen(&self) -> Option<&JournalLine> {
        self.lines_read().iter().find(|its| self.chosen.is(&its.line.id))
    }

    /// The day is read.
    fn was_read(&mut self, model: &mut Model) -> Turn {
        let ids = self.ids();
        if self.chosen.place(&ids).is_none() {
            self.chosen = Choice::at(&ids, usize::MAX);
        }
        let seeks = std::mem::take(&mut self.opening) && ids.is_empty();
        if seeks { self.seek(model, Toward::Earlier).into() } else { Turn::stay() }
    }

    /// It was looked for another day.
    fn was_sought(&mut self, model: &mut Model, sought: Sought) -> Turn {
        match sought {
            Sought::Day(day) => {
                self.day = day;
                self.look(model).into()
            }
            Sought::Farther(day) => self.seek_from(model, day).into(),
            Sought::Nothing => {
                let side = if self.toward == Toward::Earlier { "before" } else { "after" };
                model.say(format!("Nothing that fits was entered {side} that day."), Tone::Notice);
                Turn::stay()
            }
        }
    }

    /// Goes to the day that is typed, or shows what is typed of all.
    fn take_words(&mut self, model: &mut Model) -> Wishes {
        let text = self.text.trim().to_owned();
        match when::day(&text, model.now.date()) {
            Some(Ok(day)) => self.day = day,
            Some(Err(error)) if !text.chars().any(char::is_alphabetic) => return model.refuse(error.to_string()),
            _ => match wanted(&model.state, &text) {
                Ok(wanted) => (self.wanted, self.of, self.opening) = (wanted, Some(text), true),
                Err(why) => return model.refuse(why),
            },
        }
        self.text.clear();
        self.look(model)
    }

    fn why_not_taken_back(&self, model: &Model) -> Option<String> {
        model.why_read_only().or_else(|| match self.line_chosen() {
            None => Some("No line is chosen. Up and down choose.".to_owned()),
            Some(its) if its.gone.is_some() => {
                Some("That is taken back already: delete on the line that took it back gives it back.".to_owned())
            }
            Some(_) => None,
        })
    }

    fn take_back(&mut self, model: &mut Model) -> Turn {
        let Some((its, turned)) = self.line_chosen().and_then(|its| Some((its, its.if_taken_back()?))) else {
            return Turn::stay();
        };
        let words: Text = match forms::kept_of(&[turned]) {
            Ok(words) => words,
            Err(error) => return model.refuse(error.to_string()).into(),
        };
        let say = format!("{words}.");
        let correction = Correction::TakenBack(TakingBack { of: vec![its.line.id.clone()], words });
        let (by, answered) = (model.by.clone(), model.answered());
        vec![Effect::Work(Work::Correct { correction, by, answered, say, then: Then::STAY })].into()
    }

    /// A line of the list: the time and who did it stand where they are others than above.
    fn words(&self, model: &Model, at: usize) -> String {
        let (lines, marks) = (self.lines_read(), model.looks.marks);
        let its = &lines[at];
        let (time, by) = (its.line.at.show_time(), its.line.by.as_str());
        let goes_on = at.checked_sub(1).is_some_and(|above| {
            let above = &lines[above];
            its.is_of_act(above) && above.line.by == its.line.by && above.line.at.show_time() == time
        });
        let (time, by) = if goes_on { (String::new(), "") } else { (time, by) };
        let beside = beside(its).map_or_else(String::new, |beside| format!("({beside}) "));
        format!("{} {} {beside}{}", left(&time, 5, marks), left(by, WHO, marks), said(model, its))
    }

    /// All that is to be known of the chosen line.
    fn about_chosen(&self, sheet: Sheet<'_>) -> Vec<Line<'static>> {
        let Some(its) = self.line_chosen() else { return Vec::new() };
        let mut told = vec![said(sheet.model, its)];
        told.extend(its.line.note.as_ref().map(ToString::to_string));
        told.push(format!("entered {}, {}", its.line.written.show_date(), its.line.written.show_time()));
        told.extend(its.gone.as_ref().and(beside(its)));
        told.push(its.line.id.to_string());
        sheet.words(&told.join("; "), Meaning::Muted)
    }
}

impl Page for JournalPage {
    fn title(&self, _model: &Model) -> String {
        let day = self.day.format(DateForm::customary().date());
        let of = self.of.as_ref().map_or_else(String::new, |of| format!(" of {of}"));
        format!("The journal{of}: {} {day}, {}", self.day.format("%a"), counted(self.lines_read().len(), "line"))
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        let sheet = Sheet { model, width };
        let ids = self.ids();
        if ids.is_empty() {
            return sheet
                .words("Nothing was entered on this day. Left and right go to a day with something.", Meaning::Muted);
        }
        let lines = Between {
            above: Vec::new(),
            lines: ids.len(),
            chosen: self.chosen.place_or_stood(&ids),
            least: 3,
            below: self.about_chosen(sheet),
        };
        lines.lines(model, (width, height), |at| {
            let (words, its) = (self.words(model, at), &self.lines_read()[at]);
            let chosen = self.chosen.is(&its.line.id);
            if its.gone.is_some() && !chosen {
                return sheet.line(&format!("  {words}"), Meaning::Muted);
            }
            choice_line(model, chosen, &words, width)
        })
    }

    fn asks(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        vec![model.question_line(" A day, or of what: ", &self.text, width)]
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        let ids = self.ids();
        self.chosen.go(model, &ids, go);
        Turn::stay()
    }

    fn written(&self) -> Option<&str> {
        Some(&self.text)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.text)
    }

    fn manner(&self) -> Manner {
        Manner::over_list(LONGEST)
    }

    /// Where nothing is typed yet, undo is its own key: of what is looked at, the line that is chosen is meant.
    fn takes(&self, _model: &Model, character: char) -> bool {
        !character.is_control() && (character != 'u' || !self.text.is_empty())
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        if !self.text.trim().is_empty() {
            return Some("show".to_owned());
        }
        self.line_chosen().map(|_| "correct".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if !self.text.trim().is_empty() {
            return Some(self.take_words(model).into());
        }
        let its = self.line_chosen()?.clone();
        let why = model.why_read_only().or_else(|| match (&its.gone, &its.turns) {
            (Some(_), _) => Some("That line is taken back, and is not corrected.".to_owned()),
            (None, Some(_)) => Some("That line takes another back or gives it back: delete takes it back.".to_owned()),
            (None, None) => None,
        });
        Some(match why {
            Some(why) => model.refuse(why).into(),
            None => correcting::open(model, &its).into(),
        })
    }

    fn esc_word(&self, _model: &Model) -> Option<String> {
        let word = match (self.text.is_empty(), &self.of) {
            (false, _) => "clear",
            (true, Some(_)) => "show all",
            (true, None) => "back",
        };
        Some(word.to_owned())
    }

    fn esc(&mut self, model: &mut Model) -> Turn {
        if !self.text.is_empty() {
            self.text.clear();
            return Turn::stay();
        }
        if self.of.take().is_some() {
            self.wanted = Wanted::default();
            return self.look(model).into();
        }
        Turn::back()
    }

    fn stored(&mut self, model: &mut Model, _then: Then) -> Turn {
        self.look(model).into()
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        if self.read.answer(answer).is_some() {
            let turn = self.read.take(model, answer)?;
            return Some(if matches!(answer, Answer::Found { told: Ok(_), .. }) { self.was_read(model) } else { turn });
        }
        match self.sought.answer(answer)? {
            Told::Found(sought) | Told::SoFar(sought) => {
                let sought = *sought;
                Some(self.was_sought(model, sought))
            }
            Told::Nothing(why) => {
                let why = why.to_owned();
                Some(model.refuse(why).into())
            }
        }
    }

    fn ask_again(&mut self, model: &mut Model) -> Wishes {
        self.look(model)
    }
}
