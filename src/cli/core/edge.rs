//! The edge of the program: every byte that a command writes to a terminal, a pipe or a file passes here, so that no forgotten
//! call lets a character out that moves a cursor, hides itself or reorders a line.

use std::io::{self, Write};

use crate::cellar::core::label::harmless_lines;

/// A writer that lets only harmless text out. Bytes that are no UTF-8 are shown as the replacement character.
pub struct Edge<W: Write> {
    to: W,
    /// The beginning of a character whose rest has not come yet.
    begun: Vec<u8>,
}

impl<W: Write> Edge<W> {
    /// The edge before a writer.
    pub const fn new(to: W) -> Edge<W> {
        Edge { to, begun: Vec::new() }
    }

    fn let_out(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.to.write_all(harmless_lines(&String::from_utf8_lossy(bytes)).as_bytes())
    }
}

impl<W: Write> Write for Edge<W> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let is_plain = |byte: &u8| matches!(byte, b' '..=b'~' | b'\n');
        if self.begun.is_empty() && bytes.iter().all(is_plain) {
            self.to.write_all(bytes)?;
            return Ok(bytes.len());
        }
        let mut whole = std::mem::take(&mut self.begun);
        whole.extend_from_slice(bytes);
        let begun = whole.len() - unfinished(&whole);
        self.begun = whole.split_off(begun);
        self.let_out(&whole)?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        let begun = std::mem::take(&mut self.begun);
        self.let_out(&begun)?;
        self.to.flush()
    }
}

/// How many bytes at the end begin a character that is not whole.
fn unfinished(bytes: &[u8]) -> usize {
    let rest = bytes.utf8_chunks().last().map_or(&[][..], |last| last.invalid());
    let long = match rest.first() {
        Some(0xc2..=0xdf) => 2,
        Some(0xe0..=0xef) => 3,
        Some(0xf0..=0xf4) => 4,
        _ => 0,
    };
    if rest.len() < long { rest.len() } else { 0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(pieces: &[&[u8]]) -> String {
        let mut edge = Edge::new(Vec::new());
        for piece in pieces {
            edge.write_all(piece).unwrap();
        }
        edge.flush().unwrap();
        String::from_utf8(edge.to).unwrap()
    }

    #[test]
    fn nothing_that_moves_a_cursor_or_hides_itself_gets_out() {
        let text = "Tronçais 樽\n\u{1b}]52;c;AA\u{7}\u{9b}2J\u{202e}\u{ad}\r\t";
        assert_eq!(written(&[text.as_bytes()]), "Tronçais 樽\n·]52;c;AA··2J····");
    }

    #[test]
    fn a_character_may_come_in_pieces() {
        let text = "aç樽\u{10348}\u{202e}b";
        let bytes: Vec<&[u8]> = text.as_bytes().chunks(1).collect();
        assert_eq!(written(&bytes), "aç樽\u{10348}·b");
        assert_eq!(written(&[b"a\xff\xc3", b"b\xe2\x80"]), "a\u{fffd}\u{fffd}b\u{fffd}");
    }
}
