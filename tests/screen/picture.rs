//! A screen as a text that can be kept and read: its lines as one sees them, and below them how each piece looks.

use std::fmt::Write;

use ratatui::buffer::Buffer;
use ratatui::style::{Color, Modifier};
use unicode_width::UnicodeWidthStr;

/// The lines of a buffer as a terminal shows them.
pub fn rows(buffer: &Buffer) -> Vec<String> {
    let area = buffer.area;
    (area.top()..area.bottom()).map(|y| row(buffer, y)).collect()
}

fn row(buffer: &Buffer, y: u16) -> String {
    let mut text = String::new();
    let mut x = buffer.area.left();
    while x < buffer.area.right() {
        let symbol = buffer[(x, y)].symbol();
        text.push_str(symbol);
        x += u16::try_from(symbol.width().max(1)).unwrap();
    }
    text
}

/// Text and styles. A line of styles says how many columns look like what: `.3 a12`, with a key to the letters below.
pub fn picture(buffer: &Buffer) -> String {
    let mut picture = String::new();
    for line in rows(buffer) {
        writeln!(picture, "│{line}│").unwrap();
    }
    let mut looks: Vec<String> = Vec::new();
    let area = buffer.area;
    for y in area.top()..area.bottom() {
        let mut runs: Vec<(char, u16)> = Vec::new();
        for x in area.left()..area.right() {
            let cell = &buffer[(x, y)];
            let letter = letter_of(&mut looks, look(cell.fg, cell.bg, cell.modifier));
            match runs.last_mut() {
                Some((last, count)) if *last == letter => *count += 1,
                _ => runs.push((letter, 1)),
            }
        }
        if runs.iter().any(|&(letter, _)| letter != '.') {
            let runs: Vec<String> = runs.iter().map(|(letter, count)| format!("{letter}{count}")).collect();
            writeln!(picture, "{y:>2}: {}", runs.join(" ")).unwrap();
        }
    }
    for (index, look) in looks.iter().enumerate() {
        writeln!(picture, "{} = {look}", letter(index)).unwrap();
    }
    picture
}

fn look(foreground: Color, background: Color, modifier: Modifier) -> String {
    let mut parts = Vec::new();
    if foreground != Color::Reset {
        parts.push(format!("colour {foreground}"));
    }
    if background != Color::Reset {
        parts.push(format!("on {background}"));
    }
    parts.extend(modifier.iter_names().map(|(name, _)| name.to_lowercase()));
    parts.join(", ")
}

fn letter_of(looks: &mut Vec<String>, look: String) -> char {
    if look.is_empty() {
        return '.';
    }
    let index = looks.iter().position(|known| *known == look).unwrap_or_else(|| {
        looks.push(look);
        looks.len() - 1
    });
    letter(index)
}

fn letter(index: usize) -> char {
    ('a'..='z').chain('A'..='Z').nth(index).unwrap()
}
