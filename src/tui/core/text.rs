//! Texts cut and padded to columns of the screen, harmless whatever they hold.

use ratatui::style::Style;
use ratatui::text::Span;
use unicode_width::UnicodeWidthStr;

use crate::cellar::core::label::harmless;
use crate::tui::core::marks::Marks;

/// Whether a character begins a figure or a label: digits and signs a figure or a label, capitals a label. Commands are small
/// letters.
#[must_use]
pub fn begins_typing(character: char) -> bool {
    character.is_ascii_digit() || character.is_uppercase() || matches!(character, '.' | ',' | '-' | '−')
}

/// Columns that a text takes on the screen.
#[must_use]
pub fn columns(text: &str) -> usize {
    clusters(text).map(UnicodeWidthStr::width).sum()
}

/// A text as it may be shown: harmless, and in ASCII where nothing more can be.
#[must_use]
pub fn shown(text: &str, marks: &Marks) -> String {
    let text = harmless(text);
    if marks.ascii { text.chars().map(in_ascii).collect() } else { text }
}

/// A text made fit for at most so many columns; where it is cut, an ellipsis stands for the rest.
#[must_use]
pub fn fit(text: &str, width: usize, marks: &Marks) -> String {
    let text = shown(text, marks);
    if columns(&text) <= width {
        return text;
    }
    let Some(room) = width.checked_sub(1) else { return String::new() };
    let mut cut = leading(&text, room).to_owned();
    cut.push(marks.ellipsis);
    cut
}

/// As much of the beginning of a text as fits so many columns, without a sign that it was cut.
#[must_use]
pub fn cut(text: &str, width: usize, marks: &Marks) -> String {
    leading(&shown(text, marks), width).to_owned()
}

/// As much of the end of a text as fits so many columns: of what is being typed the end must be seen.
#[must_use]
pub fn tail(text: &str, width: usize, marks: &Marks) -> String {
    let text = shown(text, marks);
    let mut over = columns(&text).saturating_sub(width);
    let mut clusters = clusters(&text);
    while over > 0 {
        over = over.saturating_sub(clusters.next().map_or(over, UnicodeWidthStr::width));
    }
    clusters.collect()
}

/// A text in exactly so many columns, at the left of them.
#[must_use]
pub fn left(text: &str, width: usize, marks: &Marks) -> String {
    let text = fit(text, width, marks);
    let space = spaces(&text, width);
    text + &space
}

/// A text in exactly so many columns, at the right of them: numbers.
#[must_use]
pub fn right(text: &str, width: usize, marks: &Marks) -> String {
    let text = fit(text, width, marks);
    spaces(&text, width) + &text
}

/// A text in exactly so many columns, in the middle of them.
#[must_use]
pub fn centre(text: &str, width: usize, marks: &Marks) -> String {
    let text = fit(text, width, marks);
    let space = spaces(&text, width);
    let (before, after) = space.split_at(space.len() / 2);
    format!("{before}{text}{after}")
}

/// A text in lines of at most so many columns, broken between words where it can be, and at its own line breaks. A word
/// that is too long for any line is broken inside. There are no lines where there is no width.
#[must_use]
pub fn wrap(text: &str, width: usize, marks: &Marks) -> Vec<String> {
    if width == 0 {
        return Vec::new();
    }
    text.lines().flat_map(|line| wrap_line(&shown(&line.replace('\t', " "), marks), width)).collect()
}

fn wrap_line(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    let mut used = 0;
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let taken = columns(word);
        if used > 0 && used + 1 + taken <= width {
            push(&mut lines, " ");
            push(&mut lines, word);
            used += 1 + taken;
            continue;
        }
        if used > 0 {
            lines.push(String::new());
            used = 0;
        }
        for cluster in clusters(word) {
            let wide = cluster.width();
            if used > 0 && used + wide > width {
                lines.push(String::new());
                used = 0;
            }
            if wide <= width {
                push(&mut lines, cluster);
                used += wide;
            }
        }
    }
    lines
}

/// Parts with commas between them, in lines of at most so many columns; a part that fits a line is not broken.
#[must_use]
pub fn wrap_parts(parts: &[String], width: usize, marks: &Marks) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for (index, part) in parts.iter().enumerate() {
        let comma = if index + 1 < parts.len() { "," } else { "" };
        let part = format!("{part}{comma}");
        match lines.last_mut() {
            Some(line) if columns(line) + 1 + columns(&part) <= width => {
                line.push(' ');
                line.push_str(&shown(&part, marks));
            }
            _ => lines.extend(wrap(&part, width, marks)),
        }
    }
    lines
}

fn push(lines: &mut [String], text: &str) {
    if let Some(line) = lines.last_mut() {
        line.push_str(text);
    }
}

/// The longest beginning of a text that takes at most so many columns.
fn leading(text: &str, width: usize) -> &str {
    let mut used = 0;
    let mut end = 0;
    for cluster in clusters(text) {
        used += cluster.width();
        if used > width {
            break;
        }
        end += cluster.len();
    }
    &text[..end]
}

fn spaces(text: &str, width: usize) -> String {
    " ".repeat(width.saturating_sub(columns(text)))
}

/// What is drawn in one cell, or two for wide characters, just as ratatui takes a text apart.
fn clusters(text: &str) -> impl Iterator<Item = &str> {
    unicode_segmentation::UnicodeSegmentation::graphemes(text, true)
}

/// The nearest ASCII character: names stay readable without their accents.
fn in_ascii(character: char) -> char {
    match character {
        'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' | 'æ' => 'a',
        'ç' | 'č' | 'ć' => 'c',
        'è' | 'é' | 'ê' | 'ë' | 'ě' => 'e',
        'ì' | 'í' | 'î' | 'ï' => 'i',
        'ñ' | 'ń' | 'ň' => 'n',
        'ò' | 'ó' | 'ô' | 'õ' | 'ö' | 'ø' | 'œ' | 'ő' => 'o',
        'ř' => 'r',
        'ß' | 'š' | 'ś' => 's',
        'ù' | 'ú' | 'û' | 'ü' | 'ű' | 'ů' => 'u',
        'ý' | 'ÿ' => 'y',
        'ž' | 'ź' | 'ż' => 'z',
        'À' | 'Á' | 'Â' | 'Ã' | 'Ä' | 'Å' | 'Æ' => 'A',
        'Ç' | 'Č' | 'Ć' => 'C',
        'È' | 'É' | 'Ê' | 'Ë' | 'Ě' => 'E',
        'Ì' | 'Í' | 'Î' | 'Ï' => 'I',
        'Ñ' | 'Ń' | 'Ň' => 'N',
        'Ò' | 'Ó' | 'Ô' | 'Õ' | 'Ö' | 'Ø' | 'Œ' | 'Ő' => 'O',
        'Š' | 'Ś' => 'S',
        'Ù' | 'Ú' | 'Û' | 'Ü' | 'Ű' | 'Ů' => 'U',
        'Ý' | 'Ÿ' => 'Y',
        'Ž' | 'Ź' | 'Ż' => 'Z',
        '‘' | '’' | '´' => '\'',
        '“' | '”' | '«' | '»' => '"',
        '–' | '—' | '‐' | '‑' | '−' => '-',
        '…' | '±' => '~',
        '×' => 'x',
        '·' => '.',
        '\u{a0}' => ' ',
        plain if plain.is_ascii() => plain,
        _ => '?',
    }
}

/// A span of a text from outside.
#[must_use]
pub fn span(text: &str, style: Style, marks: &Marks) -> Span<'static> {
    Span::styled(shown(text, marks), style)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::cellar::core::label::is_unsafe;
    use crate::tui::core::marks::{ASCII, UNICODE};

    #[test]
    fn what_is_too_long_is_cut_with_a_mark() {
        assert_eq!(fit("Upper Terrace", 20, &UNICODE), "Upper Terrace");
        assert_eq!(fit("Upper Terrace", 13, &UNICODE), "Upper Terrace");
        assert_eq!(fit("Upper Terrace", 6, &UNICODE), "Upper…");
        assert_eq!(fit("Upper Terrace", 6, &ASCII), "Upper~");
        assert_eq!(fit("Upper Terrace", 1, &UNICODE), "…");
        assert_eq!(fit("Upper Terrace", 0, &UNICODE), "");
    }

    #[test]
    fn wide_characters_are_never_cut_in_half() {
        assert_eq!(fit("葡萄酒", 6, &UNICODE), "葡萄酒");
        assert_eq!(fit("葡萄酒", 5, &UNICODE), "葡萄…");
        assert_eq!(left("葡萄酒", 4, &UNICODE), "葡… ");
    }

    #[test]
    fn texts_stand_left_right_and_in_the_middle() {
        assert_eq!(left("0417", 6, &UNICODE), "0417  ");
        assert_eq!(right("0417", 6, &UNICODE), "  0417");
        assert_eq!(centre("0417", 7, &UNICODE), " 0417  ");
    }

    #[test]
    fn of_what_is_typed_the_end_is_seen() {
        assert_eq!(tail("plum", 9, &UNICODE), "plum");
        assert_eq!(tail("a little closed", 6, &UNICODE), "closed");
        assert_eq!([tail("葡萄酒", 5, &UNICODE), tail("葡萄酒", 1, &UNICODE)], ["萄酒", ""]);
    }

    #[test]
    fn accents_fall_where_only_ascii_can_be_shown() {
        assert_eq!(fit("Tronçais, Côte Haute, 葡 ±0.3", 40, &ASCII), "Troncais, Cote Haute, ? ~0.3");
    }

    #[test]
    fn what_could_disturb_a_screen_is_not_shown() {
        assert_eq!(fit("a\u{1b}[2J\u{202e}b", 20, &UNICODE), "a·[2J·b");
    }

    #[test]
    fn parts_stay_whole_where_they_can() {
        let parts = ["Besquerin", "bordeaux", "2024", "225 L"].map(str::to_owned);
        assert_eq!(wrap_parts(&parts, 28, &UNICODE), ["Besquerin, bordeaux, 2024,", "225 L"]);
        assert_eq!(wrap_parts(&parts, 5, &UNICODE), ["Besqu", "erin,", "borde", "aux,", "2024,", "225 L"]);
        assert_eq!(wrap_parts(&[], 5, &UNICODE), Vec::<String>::new());
    }

    #[test]
    fn lines_break_between_words() {
        assert_eq!(wrap("plum, a little closed", 9, &UNICODE), ["plum, a", "little", "closed"]);
        assert_eq!(wrap("first\n\nsecond\tline", 20, &UNICODE), ["first", "", "second line"]);
        assert_eq!(wrap("Gewürztraminer", 5, &UNICODE), ["Gewür", "ztram", "iner"]);
        assert!(wrap("plum", 0, &UNICODE).is_empty());
    }

    proptest! {
        #[test]
        fn any_text_keeps_to_its_columns(text in ".{0,60}", width in 0usize..40) {
            for marks in [&UNICODE, &ASCII] {
                prop_assert!(columns(&fit(&text, width, marks)) <= width);
                for placed in [left(&text, width, marks), right(&text, width, marks), centre(&text, width, marks)] {
                    prop_assert_eq!(columns(&placed), width);
                    prop_assert!(!placed.chars().any(is_unsafe));
                    prop_assert!(!marks.ascii || placed.is_ascii());
                }
                for line in wrap(&text, width, marks) {
                    prop_assert!(columns(&line) <= width);
                }
            }
        }

        #[test]
        fn columns_are_those_that_are_drawn(text in ".{0,30}") {
            let text = shown(&text, &UNICODE);
            let mut buffer = ratatui::buffer::Buffer::empty(ratatui::layout::Rect::new(0, 0, 120, 1));
            let (end, _) = buffer.set_stringn(0, 0, &text, 120, Style::new());
            prop_assert_eq!(usize::from(end), columns(&text));
        }
    }
}
