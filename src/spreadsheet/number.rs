//! Numbers as spreadsheets write them, and which sign is the decimal one: told by a whole column, since one cell (`1,125`) cannot.

use serde::{Deserialize, Serialize};
use std::fmt;

/// What parts the whole from the rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DecimalSign {
    /// `1.5`
    Point,
    /// `1,5`
    Comma,
}

impl DecimalSign {
    /// Both.
    pub const ALL: [DecimalSign; 2] = [DecimalSign::Point, DecimalSign::Comma];

    const fn sign(self) -> char {
        match self {
            DecimalSign::Point => '.',
            DecimalSign::Comma => ',',
        }
    }

    const fn other(self) -> DecimalSign {
        match self {
            DecimalSign::Point => DecimalSign::Comma,
            DecimalSign::Comma => DecimalSign::Point,
        }
    }
}

impl fmt::Display for DecimalSign {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            DecimalSign::Point => "point",
            DecimalSign::Comma => "comma",
        })
    }
}

/// What a number says of the decimal sign.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Hint {
    /// It is a number with either sign, and the same one.
    None,
    /// It is a number with this sign only.
    Is(DecimalSign),
    /// It is another number with each, as `1,125`.
    Either,
}

/// What many numbers say of it together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Signs {
    /// How many are written with a point.
    pub point: usize,
    /// How many with a comma.
    pub comma: usize,
    /// How many could be either.
    pub either: usize,
}

impl Signs {
    /// What texts say; those that are no numbers say nothing.
    pub fn of<'a>(texts: impl Iterator<Item = &'a str>) -> Signs {
        let mut signs = Signs::default();
        for hint in texts.filter_map(|text| hint(number_of(text).0)) {
            match hint {
                Hint::None => {}
                Hint::Is(DecimalSign::Point) => signs.point += 1,
                Hint::Is(DecimalSign::Comma) => signs.comma += 1,
                Hint::Either => signs.either += 1,
            }
        }
        signs
    }

    /// The sign that is told without doubt; none where nothing tells it or some are written in each way.
    #[must_use]
    pub const fn told(self) -> Option<DecimalSign> {
        match (self.point, self.comma) {
            (1.., 0) => Some(DecimalSign::Point),
            (0, 1..) => Some(DecimalSign::Comma),
            _ => None,
        }
    }

    /// Whether what is entered depends on the sign and nothing tells it.
    #[must_use]
    pub const fn cannot_tell(self) -> bool {
        self.told().is_none() && (self.either > 0 || self.point > 0)
    }

    /// What two columns say together.
    #[must_use]
    pub const fn and(self, other: Signs) -> Signs {
        Signs { point: self.point + other.point, comma: self.comma + other.comma, either: self.either + other.either }
    }
}

/// Whether a sign parts thousands: a blank of any kind, or an apostrophe.
const fn groups(sign: char) -> bool {
    matches!(sign, ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}' | '\'' | '’')
}

/// The number that a text begins with, and the unit behind it.
#[must_use]
pub fn number_of(text: &str) -> (&str, &str) {
    let text = text.trim();
    let is_part = |sign: char| sign.is_ascii_digit() || groups(sign) || matches!(sign, '.' | ',' | '-' | '−' | '+');
    let end = text.find(|sign| !is_part(sign)).unwrap_or(text.len());
    let (number, unit) = text.split_at(end);
    (number.trim_matches(groups), unit.trim())
}

fn hint(number: &str) -> Option<Hint> {
    let number = number.trim_start_matches(['-', '−', '+']);
    if !number.contains(|sign: char| sign.is_ascii_digit()) || number.contains(['-', '−', '+']) {
        return None;
    }
    let count = |sign: DecimalSign| number.matches(sign.sign()).count();
    let (points, commas) = (count(DecimalSign::Point), count(DecimalSign::Comma));
    let (sign, times) = match (points, commas) {
        (0, 0) => return Some(Hint::None),
        (0, times) => (DecimalSign::Comma, times),
        (times, 0) => (DecimalSign::Point, times),
        _ => {
            let last = if number.rfind('.') > number.rfind(',') { DecimalSign::Point } else { DecimalSign::Comma };
            return plain(number, last).map(|_| Hint::Is(last));
        }
    };
    if times > 1 {
        return plain(number, sign.other()).map(|_| Hint::Is(sign.other()));
    }
    // As thousands it would have to stand before three figures, and behind one to three that begin with none.
    if plain(number, sign.other()).is_some() { Some(Hint::Either) } else { plain(number, sign).map(|_| Hint::Is(sign)) }
}

/// A number as it is written here: figures, and a point where it is not whole; none where it is no number with that sign.
#[must_use]
pub fn plain(number: &str, sign: DecimalSign) -> Option<String> {
    let (minus, number) = match number.strip_prefix(['-', '−']) {
        Some(rest) => ("-", rest),
        None => ("", number.strip_prefix('+').unwrap_or(number)),
    };
    let (whole, rest) = match number.split_once(sign.sign()) {
        Some((whole, rest)) => (whole, Some(rest)),
        None => (number, None),
    };
    let group = sign.other().sign();
    let parts: Vec<&str> = whole.split(|part: char| part == group || groups(part)).collect();
    let is_figures = |part: &str| part.bytes().all(|sign| sign.is_ascii_digit());
    let is_grouped = match parts.as_slice() {
        [one] => is_figures(one),
        [first, others @ ..] => {
            is_figures(first)
                && (1..=3).contains(&first.len())
                && !first.starts_with('0')
                && others.iter().all(|part| part.len() == 3 && is_figures(part))
        }
        [] => false,
    };
    let whole = parts.concat();
    let rest_is_right = rest.is_none_or(|rest| !rest.is_empty() && is_figures(rest));
    let is_number = is_grouped && rest_is_right && !(whole.is_empty() && rest.is_none());
    is_number.then(|| match rest {
        Some(rest) => format!("{minus}{}.{rest}", if whole.is_empty() { "0" } else { &whole }),
        None => format!("{minus}{whole}"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use DecimalSign::{Comma, Point};

    #[test]
    fn a_number_is_read_with_its_sign() {
        for (text, sign, number) in [
            ("225", Point, Some("225")),
            ("3.52", Point, Some("3.52")),
            ("3,52", Comma, Some("3.52")),
            ("1.234,5", Comma, Some("1234.5")),
            ("1,234.5", Point, Some("1234.5")),
            ("1 234,5", Comma, Some("1234.5")),
            ("12'345.6", Point, Some("12345.6")),
            ("1,125", Point, Some("1125")),
            ("1,125", Comma, Some("1.125")),
            (",5", Comma, Some("0.5")),
            ("-2,5", Comma, Some("-2.5")),
            ("12,34.5", Point, None),
            ("0,125", Point, None),
            ("3,52", Point, None),
            ("1.2.3", Point, None),
            ("", Point, None),
            ("5.", Point, None),
            ("1-2", Point, None),
        ] {
            assert_eq!(plain(text, sign).as_deref(), number, "{text}");
        }
        assert_eq!(number_of("1 225,5 L"), ("1 225,5", "L"));
        assert_eq!(number_of(" 30 mg/L"), ("30", "mg/L"));
    }

    #[test]
    fn a_column_tells_the_sign() {
        let told = |texts: &[&str]| {
            let signs = Signs::of(texts.iter().copied());
            (signs.told(), signs.cannot_tell())
        };
        assert_eq!(told(&["225", "228", "300"]), (None, false));
        assert_eq!(told(&["1,125", "3,52"]), (Some(Comma), false));
        assert_eq!(told(&["1,125", "1,225.5"]), (Some(Point), false));
        assert_eq!(told(&["1.234.567", "12"]), (Some(Comma), false));
        assert_eq!(told(&["1,125", "2,250"]), (None, true));
        assert_eq!(told(&["3.5", "3,6"]), (None, true));
        assert_eq!(told(&["0,125"]), (Some(Comma), false));
        assert_eq!(told(&["new", "", "A-03"]), (None, false));
    }
}
