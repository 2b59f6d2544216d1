//! The guide: a chapter a job of the year, written in Markdown under `assets/guide`, read at the desk and on the screen.

use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
use unicode_width::UnicodeWidthStr;

/// How far what is typed, and what belongs to a point of a list, stands to the right.
const INDENT: usize = 4;

/// A chapter.
#[derive(Debug)]
pub struct Chapter {
    /// The word by which it is asked for.
    pub topic: &'static str,
    /// What it is about, in a few words.
    pub about: &'static str,
    text: &'static str,
}

macro_rules! chapters {
    ($($topic:literal: $about:literal,)*) => {
        [$(Chapter { topic: $topic, about: $about, text: include_str!(concat!("../../assets/guide/", $topic, ".md")) },)*]
    };
}

/// The chapters, in the order of a year.
pub static CHAPTERS: [Chapter; 15] = chapters! {
    "setup": "your own cellar: rooms, barrels, lots; a spreadsheet taken in",
    "floor": "the map: marks, ways about, looks",
    "topping": "a round, and what a barrel is down by",
    "tests": "tastes, laboratory results, suspect wine, holds",
    "sulfur": "sulfur dioxide: what is left, and how much to give",
    "racking": "racking, filtering, other work",
    "wood": "filling barrels to the mix you want; empties",
    "bench": "blind trials: which ratio",
    "blend": "making a blend",
    "finish": "the checklist, fining, the plan of a run",
    "bottles": "the run; bins and releases",
    "books": "ledger, counts, journal, mending, tracing",
    "merging": "several laptops",
    "safety": "what is promised of your facts; dangers",
    "facts": "every kind of fact and its fields",
};

/// How some words are told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Manner {
    /// As text.
    Plain,
    /// As a heading.
    Heading,
    /// As a key, or a word that matters.
    Strong,
    /// As it is typed.
    Typed,
}

/// Some words of a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Words {
    /// The words.
    pub text: String,
    /// How they are told.
    pub manner: Manner,
}

/// A line.
pub type Line = Vec<Words>;

/// The chapter of a topic.
#[must_use]
pub fn chapter(topic: &str) -> Option<&'static Chapter> {
    CHAPTERS.iter().find(|chapter| chapter.topic == topic)
}

impl Chapter {
    /// Its lines in a width.
    #[must_use]
    pub fn lines(&self, width: usize) -> Vec<Line> {
        let mut writer = Writer { width, ..Writer::default() };
        for event in Parser::new_ext(self.text, Options::ENABLE_TABLES) {
            writer.take(event);
        }
        writer.lines
    }

    /// What it shows typed in a block of its own, a line each.
    #[must_use]
    pub fn typed(&self) -> Vec<&'static str> {
        self.text.lines().filter_map(|line| line.strip_prefix("    ")).collect()
    }
}

/// Writes lines of what a chapter says.
#[derive(Debug, Default)]
struct Writer {
    width: usize,
    lines: Vec<Line>,
    /// The words of the block that is read.
    said: Line,
    manner: Option<Manner>,
    /// The numbers of the lists that are open; none where one has points.
    lists: Vec<Option<u64>>,
    /// What stands before the first line of a point of a list.
    point: Option<String>,
    is_typed: bool,
    is_in_table_head: bool,
}

impl Writer {
    fn take(&mut self, event: Event<'_>) {
        match event {
            Event::Start(tag) => self.begin(&tag),
            Event::End(tag) => self.end(tag),
            Event::Text(text) if self.is_typed => {
                for line in text.lines() {
                    let text = format!("{}{line}", " ".repeat(INDENT));
                    self.lines.push(vec![Words { text, manner: Manner::Typed }]);
                }
            }
            Event::Text(text) => self.say(&text, self.manner.unwrap_or(Manner::Plain)),
            Event::Code(text) => self.say(&format!("`{text}`"), Manner::Typed),
            Event::SoftBreak | Event::HardBreak => self.say(" ", Manner::Plain),
            _ => {}
        }
    }

    fn begin(&mut self, tag: &Tag<'_>) {
        match tag {
            Tag::Heading { .. } => self.manner = Some(Manner::Heading),
            Tag::Strong => self.manner = Some(Manner::Strong),
            Tag::CodeBlock(_) => self.is_typed = true,
            Tag::List(first) => {
                self.paragraph();
                self.lists.push(*first);
            }
            Tag::Item => {
                let last = self.lists.last_mut().and_then(Option::as_mut);
                self.point = Some(last.map_or_else(
                    || "-".to_owned(),
                    |number| {
                        *number += 1;
                        format!("{}.", *number - 1)
                    },
                ));
            }
            Tag::TableHead => self.is_in_table_head = true,
            _ => {}
        }
    }

    fn end(&mut self, tag: TagEnd) {
        match tag {
            TagEnd::Strong => self.manner = None,
            TagEnd::Heading(_) => {
                self.manner = None;
                self.paragraph();
                self.apart();
            }
            TagEnd::Paragraph if self.lists.is_empty() => {
                self.paragraph();
                self.apart();
            }
            TagEnd::Paragraph | TagEnd::Item => self.paragraph(),
            TagEnd::CodeBlock => {
                self.is_typed = false;
                self.apart();
            }
            TagEnd::List(_) => {
                self.lists.pop();
                self.apart();
            }
            // What a column holds is plain from what stands in it.
            TagEnd::TableHead => {
                self.is_in_table_head = false;
                self.said.clear();
            }
            TagEnd::TableCell => self.say(": ", Manner::Plain),
            TagEnd::TableRow => {
                self.said.pop();
                self.point = Some("-".to_owned());
                self.paragraph();
            }
            TagEnd::Table => self.apart(),
            _ => {}
        }
    }

    fn say(&mut self, text: &str, manner: Manner) {
        self.said.push(Words { text: text.to_owned(), manner });
    }

    /// An empty line, where there is none yet.
    fn apart(&mut self) {
        if self.lines.last().is_some_and(|line| !line.is_empty()) {
            self.lines.push(Vec::new());
        }
    }

    /// Breaks what was said into lines between words.
    fn paragraph(&mut self) {
        let said = std::mem::take(&mut self.said);
        if said.is_empty() {
            return;
        }
        let (first, indent) = match self.point.take() {
            Some(point) => (format!("{point:<INDENT$}"), INDENT),
            None if self.lists.is_empty() => (String::new(), 0),
            None => (" ".repeat(INDENT), INDENT),
        };
        let mut line = vec![Words { text: first, manner: Manner::Plain }];
        let mut used = indent;
        for word in words(&said) {
            let wide: usize = word.iter().map(|(part, _)| part.width()).sum();
            if used > indent && used + wide > self.width {
                self.lines.push(trimmed(line));
                line = vec![Words { text: " ".repeat(indent), manner: Manner::Plain }];
                used = indent;
            }
            for (part, manner) in word {
                let part = if used == indent { part.trim_start() } else { part };
                used += part.width();
                match line.last_mut() {
                    Some(last) if last.manner == manner => last.text.push_str(part),
                    _ => line.push(Words { text: part.to_owned(), manner }),
                }
            }
        }
        self.lines.push(trimmed(line));
    }
}

/// A line without blanks at its end, and without empty words.
fn trimmed(mut line: Line) -> Line {
    while let Some(last) = line.last_mut() {
        last.text.truncate(last.text.trim_end().len());
        if last.text.is_empty() && line.len() > 1 {
            line.pop();
        } else {
            break;
        }
    }
    line.retain(|words| !words.text.is_empty());
    line
}

/// Words with the blank before each, in parts where one is told in several manners.
fn words(said: &[Words]) -> Vec<Vec<(&str, Manner)>> {
    let mut words: Vec<Vec<(&str, Manner)>> = Vec::new();
    for Words { text, manner } in said {
        let blanks = text.match_indices(' ').map(|(at, _)| at).filter(|&at| at > 0);
        let ends: Vec<usize> = blanks.chain([text.len()]).collect();
        let mut from = 0;
        for to in ends {
            let part = &text[from..to];
            match words.last_mut() {
                Some(word) if !part.starts_with(' ') => word.push((part, *manner)),
                _ => words.push(vec![(part, *manner)]),
            }
            from = to;
        }
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(line: &Line) -> String {
        line.iter().map(|words| words.text.as_str()).collect()
    }

    #[test]
    fn every_chapter_is_broken_within_a_width_and_loses_no_word() {
        for chapter in &CHAPTERS {
            for width in [40, 60, 80, 160] {
                let lines = chapter.lines(width);
                assert!(lines.len() > 3, "{}", chapter.topic);
                for line in &lines {
                    let is_typed = line.iter().any(|words| words.manner == Manner::Typed);
                    assert!(text(line).width() <= width || is_typed, "{}: {}", chapter.topic, text(line));
                }
                let told: String = lines.iter().map(|line| text(line) + " ").collect();
                let told: Vec<&str> = told.split_whitespace().collect();
                let wide: String = chapter.lines(10_000).iter().map(|line| text(line) + " ").collect();
                assert_eq!(told, wide.split_whitespace().collect::<Vec<_>>(), "{}", chapter.topic);
            }
        }
    }

    #[test]
    fn a_point_of_a_list_stands_under_its_number() {
        let topping = chapter("topping").unwrap().lines(60);
        let lines: Vec<String> = topping.iter().map(text).collect();
        let first = lines.iter().position(|line| line.starts_with("1.  b begins a round")).unwrap();
        assert!(lines[first + 1].starts_with("    ") && !lines[first + 1].starts_with("     "), "{lines:?}");
        assert_eq!(topping[first][1], Words { text: "b".to_owned(), manner: Manner::Strong });
        assert_eq!(chapter("cask").map(|it| it.topic), None);
    }
}
