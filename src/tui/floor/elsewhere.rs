//! The line on which it is said where the cellar is written, after its file went away from under its name.

use std::path::PathBuf;

use ratatui::text::Line;

use crate::tui::core::draw::paragraph;
use crate::tui::core::line::Manner;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Opens, Page, Row, Table, Turn};
use crate::tui::core::theme::Meaning;
use crate::tui::core::work::{Answer, Work};
use crate::tui::edge::screen::Effect;

/// No path that a person writes is longer.
const LONGEST: usize = 1_000;

/// The line.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Elsewhere {
    /// What is written.
    path: String,
}

impl Table for Elsewhere {
    const ABOUT: About = About {
        name: "Writing the cellar elsewhere",
        purpose: "The file of this cellar was deleted, moved, replaced or written over while it was open, or its disk fails. The program still holds \
                  what was entered: written to another file, none of it is lost. The new file is read again before it is said that it is whole. \
                  Of a file that cannot be read only the last entry is written, as a line that the command record takes in. \
                  Nothing that stands anywhere is written over.\n\
                  Until then nothing can be entered. Esc leaves it for later: the list of the floor has it as Write the cellar elsewhere.",
        opens: Opens::From("it opens where the file went away; later by the list of the floor"),
    };
    const ROWS: &'static [Row<Elsewhere>] = &[];
}

/// Opens the line with the name that is proposed.
pub(in crate::tui) fn open(model: &mut Model) {
    let path = model.elsewhere.clone().unwrap_or_default();
    model.open(Elsewhere { path });
}

/// Why there is nothing to write elsewhere, if so.
pub(super) fn why_not(model: &Model) -> Option<String> {
    let here = "The file of this cellar is where it was opened. For a copy of it there is the command backup.";
    model.elsewhere.is_none().then(|| here.to_owned())
}

impl Page for Elsewhere {
    fn title(&self, _model: &Model) -> String {
        "Writing the cellar elsewhere".to_owned()
    }

    fn is_over(&self) -> bool {
        true
    }

    fn asks(&self, model: &Model, width: usize) -> Vec<Line<'static>> {
        let what = " What was entered is still held here. Enter writes it to this new file; esc leaves it for later.";
        // Why stands above it, once what was said of it is gone.
        let why = model.read_only.as_deref().filter(|_| !model.saying).unwrap_or_default();
        let mut lines = paragraph(model, why, width, Meaning::Error);
        lines.retain(|_| !why.is_empty());
        lines.push(model.question_line(" Write the cellar to: ", &self.path, width));
        lines.extend(paragraph(model, what, width, Meaning::Muted));
        lines
    }

    fn written(&self) -> Option<&str> {
        Some(&self.path)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.path)
    }

    fn manner(&self) -> Manner {
        Manner::ALONE.of(LONGEST)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("write it there".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        let path = self.path.trim();
        if path.is_empty() {
            return Some(model.refuse("Write where: the name of a file that is not there yet.").into());
        }
        let write = Effect::Work(Work::WriteElsewhere(PathBuf::from(path)));
        Some(Turn { wishes: vec![write], ..Turn::stay() })
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        match answer {
            Answer::WrittenElsewhere(said) => {
                model.say(said.clone(), Tone::Done);
                // Where it is now is what whoever tries to enter something wants to know.
                model.read_only = Some(said.clone());
                Some(Turn::back())
            }
            Answer::Astray { state, read_only, elsewhere: None, say } => {
                model.on_astray(state.clone(), read_only.clone(), None, say);
                Some(Turn::back())
            }
            _ => None,
        }
    }
}
