//! Taking in a spreadsheet: its file is named, read beside the screen, and shown as it is understood.

mod items;
mod reading;
mod sheet;
pub mod understood;

use std::path::PathBuf;

use ratatui::text::Line;

use self::reading::{Completed, Read, Said, complete, file_of, name_of, search};
use self::understood::SpreadsheetPage;
use crate::tui::core::finding::{Finding, Told};
use crate::tui::core::line::Manner;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::theme::Meaning;
use crate::tui::core::update::Wishes;
use crate::tui::core::work::Answer;

/// No path is longer on the systems that this runs on.
const LONGEST: usize = 4_096;

/// How the line is written.
const HOW: &str = "Type where the file lies: CSV, XLSX or ODS, like ~/cellar/barrels.csv; tab completes a name, enter reads it. Nothing is entered by that: first it is \
                   shown how the file is understood and what would be entered.\n\
                   A list of barrels comes first, then the wine that lies in them: it may be the same file. Tests, tastes and toppings follow once their \
                   vessels are here.";

/// The line on which a file is named.
#[derive(Clone, Debug, Default)]
pub struct FileLine {
    /// What is written.
    line: String,
    /// What its file comes to, where it is being read.
    reading: Finding<Read>,
    /// The file that is being read.
    file: Option<PathBuf>,
    /// What begins with what is written.
    completing: Finding<Completed>,
    /// The names of that, where there are several.
    names: Vec<String>,
}

/// What was said of a spreadsheet whose page was left.
#[derive(Debug)]
pub(super) struct Draft {
    /// Which one.
    pub file: PathBuf,
    /// What was said.
    pub said: Said,
}

/// Opens the line.
pub(super) fn open(model: &mut Model) {
    model.open(FileLine::default());
}

impl FileLine {
    /// Reads the file that is named.
    fn read(&mut self, model: &mut Model) -> Wishes {
        let file = file_of(&self.line);
        let draft = model.kept.get::<Draft>().filter(|draft| draft.file == file);
        let said = draft.map_or_else(|| Said::nothing_but(None), |draft| draft.said.clone());
        self.file = Some(file.clone());
        self.names.clear();
        let who = (model.enters().clone(), model.now);
        self.reading.ask(model, search(file, None, said, who))
    }

    fn complete(&mut self, model: &mut Model) -> Turn {
        self.completing.ask(model, complete(self.line.clone())).into()
    }

    /// Takes over what begins with what is written, if that still stands there.
    fn completed(&mut self, model: &mut Model, found: &Completed) {
        if found.typed != self.line {
            return;
        }
        self.line.clone_from(&found.line);
        self.names = if found.names.len() > 1 { found.names.clone() } else { Vec::new() };
        if found.names.is_empty() {
            model.say("No file and no folder begins so.", Tone::Notice);
        }
    }
}

impl Table for FileLine {
    const ABOUT: About = About {
        name: "Take in a spreadsheet",
        purpose: "Takes in what a cellar keeps in a spreadsheet: barrels and where they lie, the wine in them, tests, tastes, toppings. The file is named here and \
                  read; then it is shown how it is understood, what is asked, and what would be entered.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "Take in a spreadsheet",
            help: "Reads a list of barrels, wine, tests, tastes or toppings, and shows what would be entered.",
            also: &["import", "csv", "xlsx", "ods", "excel", "spreadsheet", "load", "laboratory sheet"],
            why_not: Model::why_read_only,
            open: |model| {
                open(model);
                Vec::new()
            },
        }]),
    };
    const ROWS: &'static [Row<FileLine>] = &[Row::new(
        Sense::OtherSide,
        "Complete the name",
        "Writes on as far as all names agree that begin with what is written.",
        FileLine::complete,
    )
    .word(|_, _| Some("complete".to_owned()))];
}

impl Page for FileLine {
    fn title(&self, _model: &Model) -> String {
        FileLine::ABOUT.name.to_owned()
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        let sheet = Sheet { model, width };
        let mut lines = vec![model.question_line("file: ", &self.line, width), Line::default()];
        if let Some(file) = &self.file {
            let ellipsis = sheet.marks().ellipsis;
            let words = format!("Reading {}{ellipsis} Typing on leaves off.", name_of(file));
            lines.extend(sheet.words(&words, Meaning::Base));
        } else if self.names.is_empty() {
            lines.extend(HOW.split('\n').flat_map(|part| sheet.words(part, Meaning::Muted)));
        } else {
            let room = height.saturating_sub(lines.len() + 1);
            let shown = if self.names.len() > room { room.saturating_sub(1) } else { room };
            lines.extend(self.names.iter().take(shown).map(|name| sheet.line(name, Meaning::Base)));
            let more = self.names.len().saturating_sub(shown);
            if more > 0 {
                lines.push(sheet.line(&format!("and {more} more"), Meaning::Muted));
            }
        }
        lines
    }

    fn written(&self) -> Option<&str> {
        Some(&self.line)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.line)
    }

    fn manner(&self) -> Manner {
        Manner::ALONE.of(LONGEST)
    }

    /// Another file is meant than the one that is being read.
    fn rewritten(&mut self, _model: &mut Model) {
        (self.file, self.reading) = (None, Finding::default());
        self.names.clear();
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("read it".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if self.line.trim().is_empty() {
            model.say("Type where the file lies first.", Tone::Refused);
            return Some(Turn::stay());
        }
        Some(self.read(model).into())
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        if let Some(told) = self.completing.answer(answer) {
            if let Told::Found(found) = told {
                let found = found.clone();
                self.completed(model, &found);
            }
            return Some(Turn::stay());
        }
        match self.reading.answer(answer)? {
            Told::Nothing(why) => {
                self.file = None;
                model.say(why, Tone::Refused);
                model.marked.on = true;
                Some(Turn::stay())
            }
            Told::SoFar(_) => Some(Turn::stay()),
            Told::Found(_) => {
                let turn = self.reading.take(model, answer)?;
                if let Some(page) = self.file.take().and_then(|file| SpreadsheetPage::of(model, file, &self.reading)) {
                    model.open(page);
                }
                Some(turn)
            }
        }
    }
}
