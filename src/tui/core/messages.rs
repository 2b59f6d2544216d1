//! What the program said so far, the last first.

use ratatui::text::Line;

use super::page::{About, Opens, Page, Row, Table, Way};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::text::wrap;
use crate::tui::core::theme::Meaning;

/// The messages.
#[derive(Debug, Default)]
pub struct Messages {
    /// From which line on they are shown.
    line: usize,
}

impl Table for Messages {
    const ABOUT: About = About {
        name: "Messages",
        purpose: "What the program said since it was opened, the last first, each with its time: what was entered, what was refused \
                  and why.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "Messages",
            help: "Shows what the program said so far.",
            also: &["said", "refused"],
            why_not: |_| None,
            open: |model| {
                model.open(Messages::default());
                Vec::new()
            },
        }]),
    };
    const ROWS: &'static [Row<Messages>] = &[];
}

impl Page for Messages {
    fn title(&self, _model: &Model) -> String {
        "Messages, the last first".to_owned()
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        let theme = model.looks.theme;
        if model.said.is_empty() {
            return vec![Line::styled("nothing was said yet", theme.style(Meaning::Muted))];
        }
        let mut lines = Vec::new();
        for said in model.said.iter().rev() {
            let meaning = match said.tone {
                Tone::Done => Meaning::Base,
                Tone::Notice => Meaning::Warning,
                Tone::Refused => Meaning::Error,
            };
            let caution = said.caution.words();
            let text = [caution.as_str(), said.text.as_str()].join(" ");
            let text = format!("{}  {}", said.at.show_time(), text.trim());
            let wrapped = wrap(&text, width, model.looks.marks).into_iter();
            lines.extend(wrapped.map(|line| Line::styled(line, theme.style(meaning))));
        }
        lines
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.line)
    }
}
