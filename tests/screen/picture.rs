//! A screen as a text that can be kept and reviewed: its lines as one sees them, and below them which words look like what, named
//! by what that means and never by a colour.
//!
//! ```text
//! │ A    01       02     │
//! │ 2( 23  23)( 23 H23)  │
//!  2 due 23 ×3 · held H23
//! ```
//!
//! Only what tells something of the cellar or of where one is stands there: in order, due, over, held, chosen. Captions, frames and keys do
//! not, nor the colours of a view of the floor, unless the test is about them ([`Told::All`]).

use std::fmt::Write;

use barrelwalk::tui::core::theme::{CATEGORIES, Meaning, STEPS, Theme};
use ratatui::buffer::{Buffer, Cell};
use ratatui::style::{Color, Modifier, Style};
use unicode_width::UnicodeWidthStr;

/// Which looks are told.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Told {
    /// What a barrel is, what is to be bewared of, where one is.
    Telling,
    /// These, the kinds and steps of a view of the floor, and what is faint or strong.
    All,
}

/// What stands round things and means nothing.
const FRAMES: &str = "│─┌┐└┘()|";

/// The lines of a buffer as a terminal shows them.
pub fn rows(buffer: &Buffer) -> Vec<String> {
    let area = buffer.area;
    (area.top()..area.bottom()).map(|y| row(buffer, y)).collect()
}

fn row(buffer: &Buffer, y: u16) -> String {
    columns(buffer, y).map(|x| buffer[(x, y)].symbol()).collect()
}

/// The columns of a row at which something stands; behind a wide sign there is one that it covers.
fn columns(buffer: &Buffer, y: u16) -> impl Iterator<Item = u16> {
    let mut free = buffer.area.left();
    (buffer.area.left()..buffer.area.right()).filter(move |&x| {
        let stands = x >= free;
        if stands {
            free = x + width(&buffer[(x, y)]);
        }
        stands
    })
}

fn width(cell: &Cell) -> u16 {
    u16::try_from(cell.symbol().width().max(1)).unwrap()
}

/// The text, and below it a line for each row in which something looks like what is told.
pub fn picture(buffer: &Buffer, theme: Theme, looks: Told) -> String {
    let mut picture = String::new();
    for line in rows(buffer) {
        writeln!(picture, "│{line}│").unwrap();
    }
    for y in buffer.area.top()..buffer.area.bottom() {
        let told = told(buffer, y, theme, looks);
        if !told.is_empty() {
            writeln!(picture, "{y:>2} {}", told.join(" · ")).unwrap();
        }
    }
    picture
}

/// What is told of a row: each look once, with its words as they come.
fn told(buffer: &Buffer, y: u16, theme: Theme, looks: Told) -> Vec<String> {
    let mut told: Vec<(String, Vec<String>)> = Vec::new();
    // A single blank parts the words of a sentence, more part one thing from the next.
    let (mut last, mut blanks) = (None, 0);
    for x in columns(buffer, y) {
        let cell = &buffer[(x, y)];
        let name = name(cell, theme, looks);
        if name.is_none() && cell.symbol() == " " && blanks == 0 {
            blanks = 1;
            continue;
        }
        if let Some(name) = &name {
            let at = told.iter().position(|(known, _)| known == name).unwrap_or_else(|| {
                told.push((name.clone(), Vec::new()));
                told.len() - 1
            });
            let words = &mut told[at].1;
            if last.as_ref() != Some(name) {
                words.push(String::new());
            } else if blanks == 1 {
                words.last_mut().unwrap().push(' ');
            }
            words.last_mut().unwrap().push_str(cell.symbol());
        }
        (last, blanks) = (name, 0);
    }
    told.into_iter().map(|(name, words)| format!("{name} {}", counted(&words))).collect()
}

/// Words one after the other, those that follow on their like counted.
fn counted(words: &[String]) -> String {
    let words: Vec<&str> = words.iter().map(|words| words.trim()).collect();
    let same = words.chunk_by(|one, next| one == next);
    let one = |same: &[&str]| match same {
        [only] => (*only).to_owned(),
        many => format!("{} ×{}", many[0], many.len()),
    };
    same.map(one).collect::<Vec<_>>().join(", ")
}

/// What a cell looks like, by what that means; none where it is not told.
fn name(cell: &Cell, theme: Theme, looks: Told) -> Option<String> {
    let chosen = cell.modifier.contains(Modifier::REVERSED);
    if !chosen && (cell.symbol().trim().is_empty() || FRAMES.contains(cell.symbol())) {
        return None;
    }
    let under = Look { foreground: cell.fg, modifier: cell.modifier.difference(Modifier::REVERSED) };
    let meant = meant(under, theme, looks);
    match (chosen, meant) {
        (true, Some(meant)) => Some(format!("chosen {meant}")),
        (true, None) => Some("chosen".to_owned()),
        (false, meant) => meant,
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
struct Look {
    foreground: Color,
    modifier: Modifier,
}

impl Look {
    fn of(style: Style) -> Look {
        Look { foreground: style.fg.unwrap_or(Color::Reset), modifier: style.add_modifier }
    }
}

fn meant(look: Look, theme: Theme, looks: Told) -> Option<String> {
    let telling = [(Meaning::Over, "over"), (Meaning::Due, "due"), (Meaning::Held, "held"), (Meaning::Fine, "fine")];
    let plain = Look::of(Style::new());
    if look == plain {
        return None;
    }
    if let Some((_, name)) = telling.iter().find(|&&(meaning, _)| Look::of(theme.style(meaning)) == look) {
        return Some((*name).to_owned());
    }
    if looks == Told::Telling {
        return None;
    }
    let more = [(Meaning::Muted, "faint"), (Meaning::Strong, "strong")];
    if let Some((_, name)) = more.iter().find(|&&(meaning, _)| Look::of(theme.style(meaning)) == look) {
        return Some((*name).to_owned());
    }
    let kind = (0..CATEGORIES).find(|&kind| Look::of(theme.category(kind)) == look).map(|kind| format!("kind {kind}"));
    let step = || (0..STEPS).find(|&step| Look::of(theme.step(step)) == look).map(|step| format!("step {step}"));
    let modifiers = || {
        let names = look.modifier.iter_names().map(|(name, _)| name.to_lowercase());
        names.chain((look.foreground != Color::Reset).then(|| "coloured".to_owned())).collect::<Vec<_>>().join(" ")
    };
    Some(kind.or_else(step).unwrap_or_else(modifiers))
}
