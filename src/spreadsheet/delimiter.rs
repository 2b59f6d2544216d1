//! Which sign parts the cells of a text: the one by which its lines come to the same number of cells.

use std::fmt;

use super::cells;

/// What parts the cells of a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Delimiter {
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// A tabulator.
    Tab,
    /// `|`
    Bar,
}

impl Delimiter {
    /// All of them.
    pub const ALL: [Delimiter; 4] = [Delimiter::Comma, Delimiter::Semicolon, Delimiter::Tab, Delimiter::Bar];

    /// The sign.
    #[must_use]
    pub const fn sign(self) -> char {
        match self {
            Delimiter::Comma => ',',
            Delimiter::Semicolon => ';',
            Delimiter::Tab => '\t',
            Delimiter::Bar => '|',
        }
    }
}

impl fmt::Display for Delimiter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Delimiter::Comma => "comma",
            Delimiter::Semicolon => "semicolon",
            Delimiter::Tab => "tab",
            Delimiter::Bar => "bar",
        })
    }
}

/// How many lines are asked.
const ASKED: usize = 500;

/// The sign that a first line `sep=;` names, as some spreadsheets write and read it, and the text behind that line.
#[must_use]
pub fn named(text: &str) -> (Option<Delimiter>, &str) {
    let none = (None, text);
    let Some(rest) = text.strip_prefix("sep=") else { return none };
    let Some(delimiter) = Delimiter::ALL.into_iter().find(|delimiter| rest.starts_with(delimiter.sign())) else {
        return none;
    };
    let behind = &rest[delimiter.sign().len_utf8()..];
    let ends = ["\r\n", "\n", "\r"].into_iter().find_map(|end| behind.strip_prefix(end));
    ends.map_or(none, |behind| (Some(delimiter), behind))
}

/// The sign by which most lines come to the same number of cells, of more than one. A comma is also a decimal sign: where
/// another sign serves about as well, that is meant.
#[must_use]
pub fn vote(text: &str) -> Delimiter {
    // From the end of a line on, so that no row is cut; a mark that is not closed is told when the whole is read.
    let of_them = text.char_indices().filter(|(_, sign)| *sign == '\n' || *sign == '\r').nth(ASKED);
    let asked = of_them.map_or(text, |(end, _)| &text[..end]);
    let weighed = Delimiter::ALL.map(|delimiter| (weight(asked, delimiter), delimiter));
    let comma = weighed[0].0;
    let (best, other) =
        weighed[1..].iter().fold((0.0, Delimiter::Comma), |best, next| if next.0 > best.0 { *next } else { best });
    if best > 0.0 && best >= comma * 0.8 { other } else { Delimiter::Comma }
}

/// How much speaks for a sign: the share of lines that come to one number of cells by it, the more the more cells they are.
fn weight(text: &str, delimiter: Delimiter) -> f64 {
    // A mark that is not closed is told when the whole is read; what stands before it speaks all the same.
    let rows: Vec<cells::Cells> = cells::Rows::of(text, delimiter.sign(), 1).map_while(Result::ok).collect();
    let mut counts = std::collections::BTreeMap::new();
    // A mark within a cell that none encloses was set by another sign.
    for row in rows.iter().filter(|row| !row.strayed) {
        *counts.entry(row.cells.len()).or_insert(0_usize) += 1;
    }
    let best = counts.iter().filter(|(cells, _)| **cells > 1);
    let best = best.map(|(cells, lines)| *lines as f64 * (1.0 - 1.0 / *cells as f64)).fold(0.0, f64::max);
    // Behind a comma or semicolon of a sentence stands a blank.
    let sign = delimiter.sign();
    let signs = text.matches(sign).count();
    let of_sentences = text.matches(&format!("{sign} ")).count();
    let doubt = if of_sentences * 2 > signs { 0.7 } else { 1.0 };
    if rows.is_empty() { 0.0 } else { doubt * best / rows.len() as f64 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sign_by_which_lines_are_of_one_length() {
        for (text, delimiter) in [
            ("a,b,c\n1,2,3\n4,5,6\n", Delimiter::Comma),
            ("a;b;c\n1,5;2;3\n4,5;5,25;6\n", Delimiter::Semicolon),
            ("a;b\n1,5;2,5\n4,5;5,2\n", Delimiter::Semicolon),
            ("a\tb\r\n1,5\t2,5\r\n", Delimiter::Tab),
            ("a|b|c\n1|2|3\n", Delimiter::Bar),
            ("a\n1\n2\n", Delimiter::Comma),
            (
                "Stock of barrels; as of 3 May\n\nbarrel,wood,note\n1,Allier,\"new; good\"\n2,Vosges,\n3,Jura,\n",
                Delimiter::Comma,
            ),
            ("barrel,oak; old\n1,a; b\n2,c; d\n", Delimiter::Comma),
            ("", Delimiter::Comma),
        ] {
            assert_eq!(vote(text), delimiter, "{text}");
        }
    }

    #[test]
    fn a_first_line_may_name_it() {
        assert_eq!(named("sep=;\r\na;b\r\n"), (Some(Delimiter::Semicolon), "a;b\r\n"));
        assert_eq!(named("sep=\n1"), (None, "sep=\n1"));
        assert_eq!(named("sepal;b\n"), (None, "sepal;b\n"));
    }
}
