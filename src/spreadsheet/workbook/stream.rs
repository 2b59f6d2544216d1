//! A part's XML, tag by tag, of which only the tag or the text at hand is kept.

use std::borrow::Cow;

use quick_xml::XmlVersion;
use quick_xml::events::attributes::Attributes;
use quick_xml::events::{BytesRef, Event};
use quick_xml::reader::Reader;

use super::super::{MOST_LETTERS, Unreadable};
use super::package::Part;

/// Tags may stand so deep in one another.
const DEEPEST: usize = 256;
/// Of a text more than a cell may hold, and no more than is needed to see that.
const ENOUGH: usize = MOST_LETTERS * 4 + 4;

/// What comes next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// A tag opens; an empty one opens and closes.
    Open,
    /// A tag closes.
    Close,
    /// Text, or a piece of one.
    Text,
    /// Nothing any more.
    End,
}

pub struct Stream<'p, 'a> {
    xml: Reader<Part<'p, 'a>>,
    part: String,
    read: Vec<u8>,
    /// The tag that was opened last, and how long its name is.
    tag: String,
    name: usize,
    /// The text that came last.
    text: String,
    depth: usize,
}

impl<'p, 'a> Stream<'p, 'a> {
    pub fn new(part: Part<'p, 'a>, name: &str) -> Stream<'p, 'a> {
        let mut xml = Reader::from_reader(part);
        xml.config_mut().expand_empty_elements = true;
        let (read, tag, text) = (Vec::new(), String::new(), String::new());
        Stream { xml, part: name.to_owned(), read, tag, name: 0, text, depth: 0 }
    }

    /// Goes on to the next tag or text.
    pub fn advance(&mut self) -> Result<Mark, Unreadable> {
        loop {
            self.read.clear();
            self.xml.get_mut().begin();
            let Ok(event) = self.xml.read_event_into(&mut self.read) else { break };
            match event {
                Event::Start(start) => {
                    replace(&mut self.tag, &start);
                    self.name = start.name().as_ref().len();
                    self.depth += 1;
                    if self.depth > DEEPEST {
                        break;
                    }
                    return Ok(Mark::Open);
                }
                Event::End(_) => {
                    self.depth = self.depth.saturating_sub(1);
                    return Ok(Mark::Close);
                }
                Event::Text(text) => replace(&mut self.text, &text.xml10_content()),
                Event::CData(text) => replace(&mut self.text, &text.xml10_content()),
                Event::GeneralRef(reference) => match letter(&reference) {
                    Some(letter) => replace(&mut self.text, letter.encode_utf8(&mut [0; 4])),
                    None => break,
                },
                Event::Eof if self.depth == 0 => return Ok(Mark::End),
                Event::Eof => break,
                _ => continue,
            }
            return Ok(Mark::Text);
        }
        Err(self.refusal())
    }

    /// Why it went no further.
    fn refusal(&mut self) -> Unreadable {
        self.xml.get_mut().refusal().unwrap_or_else(|| self.broken())
    }

    /// That the part says what cannot be.
    pub fn broken(&self) -> Unreadable {
        Unreadable::Damaged(format!("'{}' in it is cut off or broken", self.part))
    }

    /// How many tags are open.
    pub const fn depth(&self) -> usize {
        self.depth
    }

    /// Goes on to the next tag that stands right within the one that was open at a depth; no more once that is closed. What stands
    /// deeper is passed over.
    pub fn child(&mut self, depth: usize) -> Result<bool, Unreadable> {
        loop {
            match self.advance()? {
                Mark::Open if self.depth == depth + 1 => return Ok(true),
                Mark::Close if self.depth < depth => return Ok(false),
                Mark::End => return if depth == 0 { Ok(false) } else { Err(self.broken()) },
                _ => {}
            }
        }
    }

    /// Goes on to the close of the tag that was opened at a depth.
    pub fn close(&mut self, depth: usize) -> Result<(), Unreadable> {
        while self.depth >= depth {
            if self.advance()? == Mark::End {
                return Err(self.broken());
            }
        }
        Ok(())
    }

    /// Goes on to the end of the part, where the sum over it is compared with the one that was kept.
    pub fn finish(&mut self) -> Result<(), Unreadable> {
        while self.advance()? != Mark::End {}
        Ok(())
    }

    /// The whole name of the tag that was opened last.
    pub fn name(&self) -> &str {
        &self.tag[..self.name]
    }

    /// The same without what stands before the colon.
    pub fn local(&self) -> &str {
        local(self.name())
    }

    /// What it says under a name.
    pub fn attribute(&self, name: &str) -> Result<Option<Cow<'_, str>>, Unreadable> {
        self.attribute_where(|key| key == name)
    }

    /// The same, whatever stands before the colon of the name.
    pub fn attribute_anywhere(&self, name: &str) -> Result<Option<Cow<'_, str>>, Unreadable> {
        self.attribute_where(|key| local(key) == name)
    }

    fn attribute_where(&self, is_it: impl Fn(&str) -> bool) -> Result<Option<Cow<'_, str>>, Unreadable> {
        let mut attributes = Attributes::new(&self.tag, self.name);
        // Whether one stands there twice would be asked of each with each.
        for attribute in attributes.with_checks(false) {
            let attribute = attribute.map_err(|_| self.broken())?;
            if is_it(attribute.key.as_ref()) {
                return attribute.normalized_value(XmlVersion::Implicit1_0).map(Some).map_err(|_| self.broken());
            }
        }
        Ok(None)
    }

    /// A number that it says under a name; none where it says none.
    pub fn count(&self, name: &str) -> Result<Option<u64>, Unreadable> {
        let Some(text) = self.attribute(name)? else { return Ok(None) };
        text.trim().parse().map(Some).map_err(|_| self.broken())
    }

    /// The text that came last.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The text that stands right within the tag that was just opened, to its close.
    pub fn own_text(&mut self, into: &mut String) -> Result<(), Unreadable> {
        let depth = self.depth;
        loop {
            match self.advance()? {
                Mark::Text if self.depth == depth && into.len() < ENOUGH => into.push_str(&self.text),
                Mark::Close if self.depth < depth => return Ok(()),
                Mark::End => return Err(self.broken()),
                _ => {}
            }
        }
    }
}

/// Writes a text over another, in the room that has.
fn replace(text: &mut String, with: &str) {
    text.clear();
    text.push_str(with);
}

fn local(name: &str) -> &str {
    name.rsplit(':').next().unwrap_or(name)
}

/// The letter that a reference stands for. Others than these a document would have to define, and none that is a table does.
fn letter(reference: &BytesRef<'_>) -> Option<char> {
    if let Some(letter) = reference.resolve_char_ref().ok()? {
        return Some(letter);
    }
    match &**reference {
        "lt" => Some('<'),
        "gt" => Some('>'),
        "amp" => Some('&'),
        "quot" => Some('"'),
        "apos" => Some('\''),
        _ => None,
    }
}
