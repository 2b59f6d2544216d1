//! The bottom line: what can be pressed now. It is made from the table of commands and folds itself to the width.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use crate::tui::command::{COMMANDS, Command, Id, key_name};
use crate::tui::model::{Mode, Model};
use crate::tui::text::columns;
use crate::tui::theme::Meaning;

/// Draws the bottom line.
pub(super) fn draw(model: &Model, frame: &mut Frame<'_>, area: Rect) {
    let theme = model.looks.theme;
    let width = usize::from(area.width);
    let place = model.place();
    let here = |command: &&Command| {
        command.bar.is_some() && command.places.contains(&place) && (command.hindered)(model).is_none()
    };
    let mut left = width;
    let mut spans = vec![Span::raw(" ")];
    for (key, word) in COMMANDS.iter().filter(here).map(|command| entry(model, command)) {
        let taken = columns(&key) + columns(&word) + 3;
        if taken > left || word.is_empty() {
            continue;
        }
        left -= taken;
        push(&mut spans, theme.style(Meaning::Key), theme.style(Meaning::Muted), key, &word);
    }
    frame.render_widget(Line::from(spans), area);
}

fn push(
    spans: &mut Vec<Span<'static>>,
    key_style: ratatui::style::Style,
    word_style: ratatui::style::Style,
    key: String,
    word: &str,
) {
    spans.push(Span::styled(key, key_style));
    spans.push(Span::styled(format!(" {word}  "), word_style));
}

fn entry(model: &Model, command: &Command) -> (String, String) {
    let key = command.keys.first().map_or_else(String::new, |&key| key_name(key));
    let word = match (command.id, &model.mode) {
        (Id::Choose, Mode::Fill(page)) => page.enter_word().to_owned(),
        (Id::Back, Mode::Fill(page)) => page.escape_word().to_owned(),
        // Its end is in sight already; the frame says that more stands above.
        _ => command.bar.unwrap_or_default().to_owned(),
    };
    (key, word)
}
