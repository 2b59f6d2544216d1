//! The help of a page: its own keys first, then what it is for, then the chapter of the guide.

use ratatui::text::{Line, Span};

use super::acts::{self, Acts};
use super::page::{About, Offer, Opens, Page, Row, Table};
use super::sense::Sense;
use crate::told::guide::{self, Manner};
use crate::tui::core::draw::paragraph;
use crate::tui::core::model::Model;
use crate::tui::core::text::{left, shown, wrap};
use crate::tui::core::theme::Meaning;

/// The columns of a key.
const KEY: usize = 14;

/// Whether a question mark asks for the help: everywhere, but behind the first sign of words.
pub(super) fn is_asked_by_mark(page: &dyn Page, model: &Model) -> bool {
    !page.takes(model, '?') || page.is_proposed() || page.written().is_some_and(str::is_empty)
}

/// The key that asks for the help, as it is called.
pub(super) fn key(page: &dyn Page, model: &Model) -> &'static str {
    if is_asked_by_mark(page, model) { "?" } else { "F1" }
}

/// The help of the page under it.
#[derive(Debug)]
pub struct Help {
    about: &'static About,
    chapters: Vec<&'static str>,
    offers: Vec<Offer>,
    enter: Option<String>,
    esc: Option<String>,
    line: usize,
}

impl Help {
    /// The help of a page as it stands now.
    pub(super) fn of(page: &dyn Page, model: &Model) -> Help {
        Help {
            about: page.about(),
            chapters: model.house.chapters(page.about()),
            offers: acts::all(page, model),
            enter: page.enter_word(model).or_else(|| {
                let lists = !Acts::of(page, model).is_empty();
                lists.then(|| "Lists what can be done here.".to_owned())
            }),
            esc: page.esc_word(model),
            line: 0,
        }
    }
}

impl Table for Help {
    const ABOUT: About = About {
        name: "Help",
        purpose: "Says of a page which keys it has, and what it is for.",
        opens: Opens::From("? opens it"),
    };
    const ROWS: &'static [Row<Help>] = &[];
}

impl Page for Help {
    fn title(&self, _model: &Model) -> String {
        format!("Help: {}", self.about.name)
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        let mut lines = Vec::new();
        if let Some(enter) = &self.enter {
            lines.extend(key_lines(model, "enter", enter, width, false));
        }
        for offer in &self.offers {
            // What has no key is chosen in the list.
            let key = offer.sense.map_or_else(|| "enter, then".to_owned(), Sense::key_name);
            let help =
                if offer.sense.is_some() { offer.help.to_owned() } else { format!("{}: {}", offer.title, offer.help) };
            lines.extend(key_lines(model, &key, &help, width, offer.why_not.is_some()));
        }
        if let Some(esc) = &self.esc {
            lines.extend(key_lines(model, "esc", esc, width, false));
        }
        lines.extend(key_lines(
            model,
            "up down",
            "A line up or down; page up, page down, home and end go further.",
            width,
            false,
        ));
        lines.push(Line::default());
        lines.extend(paragraph(model, self.about.purpose, width, Meaning::Base));
        for chapter in self.chapters.iter().filter_map(|topic| guide::chapter(topic)) {
            lines.push(Line::default());
            lines.extend(chapter.lines(width).iter().flat_map(|line| guide_lines(model, line, width)));
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

/// A line of the guide: what is shown typed is broken where it is wider than the page.
fn guide_lines(model: &Model, line: &guide::Line, width: usize) -> Vec<Line<'static>> {
    let style = |manner| {
        model.looks.theme.style(match manner {
            Manner::Plain => Meaning::Base,
            Manner::Heading => Meaning::Title,
            Manner::Strong => Meaning::Key,
            Manner::Typed => Meaning::Strong,
        })
    };
    match line.as_slice() {
        [typed] if typed.manner == Manner::Typed => {
            let parts = wrap(&typed.text, width.saturating_sub(KEY), model.looks.marks).into_iter();
            parts.map(|part| Line::styled(format!("    {part}"), style(Manner::Typed))).collect()
        }
        words => {
            let spans =
                words.iter().map(|words| Span::styled(shown(&words.text, model.looks.marks), style(words.manner)));
            vec![spans.collect()]
        }
    }
}

/// A key and what it does, muted where it cannot be done now.
pub(in crate::tui) fn key_lines(model: &Model, key: &str, help: &str, width: usize, muted: bool) -> Vec<Line<'static>> {
    let (theme, marks) = (model.looks.theme, model.looks.marks);
    let meaning = |meaning| theme.style(if muted { Meaning::Unavailable } else { meaning });
    let line = |(index, line): (usize, String)| {
        let key = left(if index == 0 { key } else { "" }, KEY, marks);
        Line::from(vec![Span::styled(key, meaning(Meaning::Key)), Span::styled(line, meaning(Meaning::Base))])
    };
    wrap(help, width.saturating_sub(KEY), marks).into_iter().enumerate().map(line).collect()
}
