//! The form of a fact that stands: what it says, and below that when it was, who did it and the words beside it. What is written anew takes the place
//! of what was, as one act.

use ratatui::text::Line;

use std::thread;
use std::time::Duration;

use super::{CameTo, FormPage, named_lines};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::question::Question;
use crate::cellar::core::when::When;
use crate::desk::{Amendment, Correction, JournalLine};
use crate::forms::{self, Filled, Mistake};
use crate::tui::core::apart::Search;
use crate::tui::core::model::Model;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Work;
use crate::tui::edge::screen::Effect;

/// The lines below the fields of the form, each with what is to be written.
const BESIDE: [(&str, &str); 4] = [
    ("when", "a day, or a day and a time"),
    ("who", "who did it"),
    ("note", "words beside it"),
    ("despite", "why, where a hold bars it"),
];
/// So long it is waited for the next key before it is looked what would fit no more.
const NEXT_KEY: Duration = Duration::from_millis(150);

/// The fact that is corrected.
#[derive(Debug)]
pub(super) struct Correcting {
    was: Box<JournalLine>,
    /// What stands on the lines below the form, and what stood there.
    texts: [String; 4],
    stood: [String; 4],
}

/// What would be asked of a correction, or why it would be refused.
#[derive(Debug)]
pub(super) struct Fits {
    of: Amendment,
    asked: Result<Vec<Question>, String>,
}

/// Something was put right.
#[derive(Debug)]
pub struct Corrected;

impl Correcting {
    /// How many lines stand below the form.
    pub(super) const LINES: usize = BESIDE.len();
}

/// Opens the form of a fact that stands.
pub(in crate::tui) fn open(model: &mut Model, was: &JournalLine) -> Wishes {
    let Some(what) = &was.what else {
        return model.refuse("This program cannot read that fact: a newer one wrote it.");
    };
    let form = forms::of_kind(what.kind()).unwrap_or(&forms::PLAIN);
    let Some(filled) = Filled::of(form, what) else { return Vec::new() };
    let note = was.line.note.as_ref().map_or("", Text::as_str).to_owned();
    let when = format!("{} {}", was.line.at.date(), was.line.at.show_time());
    let despite = was.line.fact().ok().and_then(|fact| fact.despite).map_or_else(String::new, String::from);
    let texts = [when, was.line.by.to_string(), note, despite];
    let correcting = Correcting { was: Box::new(was.clone()), stood: texts.clone(), texts };
    let filled = filled.on(model.now.date());
    model.open(FormPage::of(model, filled, Some(correcting)));
    Vec::new()
}

impl FormPage {
    /// What is written on the line below the form that is chosen.
    pub(super) fn beside(&self) -> Option<&str> {
        let line = self.chosen.checked_sub(self.fields().count())?;
        self.correcting.as_ref()?.texts.get(line).map(String::as_str)
    }

    /// The same, to be changed.
    pub(super) fn beside_mut(&mut self) -> Option<&mut String> {
        let line = self.chosen.checked_sub(self.fields().count())?;
        self.correcting.as_mut()?.texts.get_mut(line)
    }

    /// Whether on the line below the form that is chosen still stands what was: it gives way to what is typed.
    pub(super) fn stands_beside(&self) -> bool {
        let line = self.chosen.checked_sub(self.fields().count());
        let stood = line.zip(self.correcting.as_ref()).and_then(|(line, its)| its.stood.get(line));
        stood.is_some_and(|stood| !stood.is_empty() && self.beside() == Some(stood))
    }

    /// The lines below the form.
    pub(super) fn lines_beside(&self, sheet: Sheet<'_>) -> Vec<Line<'static>> {
        let Some(correcting) = &self.correcting else { return Vec::new() };
        let fields = self.fields().count();
        let lines = BESIDE.iter().zip(&correcting.texts).enumerate();
        lines.flat_map(|(nth, (names, text))| named_lines(sheet, self.chosen == fields + nth, *names, text)).collect()
    }

    /// What it comes to and what stood there, with what would fit no more.
    pub(super) fn corrected_lines(&self, sheet: Sheet<'_>, amendment: &Amendment) -> Vec<Line<'static>> {
        let Some(correcting) = &self.correcting else { return Vec::new() };
        let was = correcting.was.what.as_ref().map(forms::said).unwrap_or_default();
        let now = amendment.what.as_ref().map_or_else(|| was.clone(), forms::said);
        let mut lines = sheet.words(&format!("{} {now}.", sheet.marks().yes), Meaning::Fine);
        if amendment.what.is_some() {
            lines.extend(sheet.words(&format!("In place of: {was}."), Meaning::Muted));
        }
        match self.fits.told().filter(|fits| fits.of == *amendment).map(|fits| &fits.asked) {
            Some(Ok(questions)) => {
                lines.extend(questions.iter().flat_map(|question| sheet.words(&question.to_string(), Meaning::Due)));
            }
            Some(Err(why)) => lines.extend(sheet.words(why, Meaning::Error)),
            None => {}
        }
        lines
    }

    /// Looks what would be asked of the correction that is written, once no more is typed: the facts behind it are gone through again, in a thread of
    /// its own.
    pub(super) fn ask_whether_it_fits(&mut self, model: &mut Model) -> Wishes {
        let CameTo::Correction(amendment) = &self.came else { return Vec::new() };
        if *amendment == Amendment::of(amendment.of.clone()) {
            return Vec::new();
        }
        let (amendment, by) = (amendment.clone(), model.by.clone());
        let search = Search::of(move |apart| {
            thread::sleep(NEXT_KEY);
            if apart.is_stopped() {
                return Err(String::new());
            }
            let mut desk = apart.desk().map_err(|error| error.to_string())?;
            let asked = desk.rehearse_amendment(&amendment, &by, apart.now()).map_err(|error| error.to_string());
            Ok(Fits { of: amendment.clone(), asked })
        });
        self.fits.ask(model, search)
    }

    /// The correction that is written.
    pub(super) fn amendment(&self, model: &Model) -> Result<Amendment, Mistake> {
        let of_whole = |why: String| Mistake { field: None, why, is_missing: false };
        let Some(Correcting { was, texts, stood }) = &self.correcting else {
            return Err(of_whole("Nothing is corrected here.".to_owned()));
        };
        let mut amendment = Amendment::of(was.line.id.clone());
        let what: Option<What> = match self.fields().next() {
            Some(_) => self.filled.whats(&model.state)?.into_iter().next(),
            None => None,
        };
        amendment.what = what.filter(|what| Some(what) != was.what.as_ref());
        let changed = |line: usize| Some(texts[line].trim()).filter(|text| *text != stood[line]);
        if let Some(text) = changed(0) {
            let when = When::read(text, model.now.date()).map_err(|error| of_whole(error.to_string()))?;
            let at = when.on_day_of(was.line.at, model.clock).map_err(|error| of_whole(error.to_string()))?;
            amendment.at = Some(at);
        }
        if let Some(text) = changed(1) {
            amendment.by = Some(Label::new(text).map_err(|error| of_whole(error.to_string()))?);
        }
        if let Some(text) = changed(2) {
            let note = if text.is_empty() { None } else { Some(Text::new(text)) };
            amendment.note = Some(note.transpose().map_err(|error| of_whole(error.to_string()))?);
        }
        if let Some(text) = changed(3).filter(|text| !text.is_empty()) {
            amendment.despite = Some(Text::new(text).map_err(|error| of_whole(error.to_string()))?);
        }
        Ok(amendment)
    }

    /// Wishes that the fact be put right; the desk asks first what would no longer fit.
    pub(super) fn correct(&mut self, model: &mut Model) -> Wishes {
        match self.amendment(model) {
            Ok(amendment) => {
                let says = amendment.what.as_ref().or(self.correcting.as_ref().and_then(|it| it.was.what.as_ref()));
                let say = format!("Corrected: {}.", says.map(forms::said).unwrap_or_default());
                let correction = Correction::Amended(Box::new(amendment));
                let (by, answered) = (model.by.clone(), model.answered());
                vec![Effect::Work(Work::Correct { correction, by, answered, say, then: Then::of(Corrected) })]
            }
            Err(mistake) => {
                self.go_to(mistake.field);
                model.refuse(mistake.why)
            }
        }
    }
}
