//! The glyphs of the screen, in Unicode and in ASCII.

use ratatui::symbols::border;

use crate::tui::edge::surroundings::Surroundings;

/// A set of glyphs. Every one is a single column wide, so that both sets fill the same places.
#[derive(Debug, PartialEq, Eq)]
pub struct Marks {
    /// Whether nothing beyond ASCII may be written.
    pub ascii: bool,
    /// Where a text was cut.
    pub ellipsis: char,
    /// Left of what is chosen.
    pub chosen_left: char,
    /// Right of what is chosen.
    pub chosen_right: char,
    /// Before an item of a list.
    pub bullet: char,
    /// Done, true.
    pub yes: char,
    /// Refused, false.
    pub no: char,
    /// Needs a look.
    pub warning: char,
    /// More above.
    pub up: char,
    /// More below.
    pub down: char,
    /// More to the left; came from.
    pub left: char,
    /// More to the right; goes to.
    pub right: char,
    /// Between two things in a line.
    pub between: char,
    /// An empty place.
    pub empty: char,
    /// Before an uncertainty.
    pub plus_minus: char,
    /// Times.
    pub times: char,
    /// A horizontal line.
    pub horizontal: char,
    /// A vertical line.
    pub vertical: char,
    /// Where something lies with nine chances in ten.
    pub band: char,
    /// From nothing to full, in eighths.
    pub levels: [char; 9],
    /// The lines of a frame around something.
    pub border: border::Set<'static>,
}

/// For terminals that show what Unicode names.
pub static UNICODE: Marks = Marks {
    ascii: false,
    ellipsis: '…',
    chosen_left: '▸',
    chosen_right: '◂',
    bullet: '•',
    yes: '✓',
    no: '✗',
    warning: '!',
    up: '↑',
    down: '↓',
    left: '←',
    right: '→',
    between: '·',
    empty: '·',
    plus_minus: '±',
    times: '×',
    horizontal: '─',
    vertical: '│',
    band: '░',
    levels: [' ', '▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'],
    border: border::PLAIN,
};

/// For all others.
pub static ASCII: Marks = Marks {
    ascii: true,
    ellipsis: '~',
    chosen_left: '>',
    chosen_right: '<',
    bullet: '*',
    yes: '+',
    no: 'x',
    warning: '!',
    up: '^',
    down: 'v',
    left: '<',
    right: '>',
    between: '|',
    empty: '.',
    plus_minus: '~',
    times: 'x',
    horizontal: '-',
    vertical: '|',
    band: ':',
    levels: [' ', '.', ':', '-', '=', '+', '*', '%', '#'],
    border: border::Set {
        top_left: "+",
        top_right: "+",
        bottom_left: "+",
        bottom_right: "+",
        vertical_left: "|",
        vertical_right: "|",
        horizontal_top: "-",
        horizontal_bottom: "-",
    },
};

impl Marks {
    /// The set for a person who may have asked for ASCII, on a terminal that may show no more.
    #[must_use]
    pub fn choose(ascii_asked: bool, surroundings: Surroundings) -> &'static Marks {
        if ascii_asked || !surroundings.unicode { &ASCII } else { &UNICODE }
    }

    /// The glyph for a share of a whole, from nothing to full.
    #[must_use]
    pub fn level(&self, share: f64) -> char {
        let eighths = (share.clamp(0.0, 1.0) * 8.0).round();
        // Between 0 and 8 by the clamp; what is no number falls to 0.
        self.levels[(0..=8u8).find(|&step| f64::from(step) >= eighths).unwrap_or(0) as usize]
    }

    /// All single glyphs of the set.
    #[cfg(test)]
    fn all(&self) -> Vec<String> {
        let single = [
            self.ellipsis,
            self.chosen_left,
            self.chosen_right,
            self.bullet,
            self.yes,
            self.no,
            self.warning,
            self.up,
            self.down,
            self.left,
            self.right,
            self.between,
            self.empty,
            self.plus_minus,
            self.times,
            self.horizontal,
            self.vertical,
        ];
        let border = [
            self.border.top_left,
            self.border.top_right,
            self.border.bottom_left,
            self.border.bottom_right,
            self.border.vertical_left,
            self.border.vertical_right,
            self.border.horizontal_top,
            self.border.horizontal_bottom,
        ];
        single.iter().chain(&self.levels).map(char::to_string).chain(border.map(str::to_owned)).collect()
    }
}

#[cfg(test)]
mod tests {
    use unicode_width::UnicodeWidthStr;

    use super::*;

    #[test]
    fn every_glyph_takes_one_column() {
        for glyph in UNICODE.all().iter().chain(&ASCII.all()) {
            assert_eq!(glyph.width(), 1, "{glyph}");
        }
    }

    #[test]
    fn the_ascii_set_is_ascii() {
        assert!(ASCII.all().iter().all(|glyph| glyph.is_ascii()));
    }

    #[test]
    fn levels_run_from_nothing_to_full() {
        assert_eq!([-1.0, 0.0, 0.5, 1.0, 2.0].map(|share| UNICODE.level(share)), [' ', ' ', '▄', '█', '█']);
        assert_eq!(ASCII.level(f64::NAN), ' ');
    }

    #[test]
    fn ascii_is_chosen_when_asked_for_or_needed() {
        let shows = |unicode| Surroundings { unicode, no_color: false };
        assert!(!Marks::choose(false, shows(true)).ascii);
        assert!(Marks::choose(true, shows(true)).ascii);
        assert!(Marks::choose(false, shows(false)).ascii);
    }
}
