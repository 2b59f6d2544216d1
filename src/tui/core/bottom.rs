//! The bottom line of a page: what can be pressed now, from its table, folded to the width.

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::{Line, Span};

use super::help;
use super::page::Page;
use super::sense::Sense;
use crate::tui::core::model::Model;
use crate::tui::core::text::columns;
use crate::tui::core::theme::Meaning;

/// A key and what it does.
type Entry = (String, String);

/// What can be pressed on a page: enter first, then its commands, then esc and the way to all others, which are never folded
/// away.
fn entries(model: &Model, page: &dyn Page) -> (Vec<Entry>, Vec<Entry>) {
    let entry = |(key, word): (Sense, String)| (key.key_name(), word);
    let given = page.pressable(model).into_iter().map(entry);
    let lists = page.enter_word(model).or_else(|| page.has_commands().then(|| "more".to_owned()));
    let hint = page.typing_hint(model);
    // Where there is much to press, what is pressed most comes first, and the list of all after it.
    let lists = lists.map(|word| ("enter".to_owned(), word));
    let (first, last) = if page.enter_word(model).is_some() { (lists, None) } else { (None, lists) };
    let folded = hint.into_iter().chain(first).chain(given).chain(last).collect();
    let esc = page.esc_word(model).map(|word| ("esc".to_owned(), word));
    let find = (!page.takes(model, '/')).then(|| entry((Sense::Find, "find".to_owned())));
    let kept = esc.into_iter().chain(find).chain([(help::key(page, model).to_owned(), "help".to_owned())]).collect();
    (folded, kept)
}

/// Draws the bottom line.
pub(in crate::tui) fn draw(model: &Model, page: &dyn Page, frame: &mut Frame<'_>, area: Rect) {
    let (folded, kept) = entries(model, page);
    let wide = |(key, word): &Entry| columns(key) + columns(word) + 3;
    let mut left = usize::from(area.width).saturating_sub(kept.iter().map(wide).sum::<usize>());
    let fitting = folded.into_iter().filter(|entry| {
        let fits = wide(entry) <= left;
        left -= if fits { wide(entry) } else { 0 };
        fits
    });
    let fitting: Vec<Entry> = fitting.collect();
    let theme = model.looks.theme;
    let mut spans = vec![Span::raw(" ")];
    for (key, word) in fitting.into_iter().chain(kept) {
        spans.push(Span::styled(key, theme.style(Meaning::Key)));
        spans.push(Span::styled(format!(" {word}  "), theme.style(Meaning::Muted)));
    }
    frame.render_widget(Line::from(spans), area);
}
