//! Messages to the person, beside the data.

use std::io::Write;

use crate::cellar::core::label::harmless;
use crate::sheets::core::wrap::wrapped;

/// Where messages go. One that cannot be written is lost: there is nobody else to tell.
pub struct Saying<'a> {
    to: &'a mut dyn Write,
    /// The width of the terminal, if it is one.
    width: Option<usize>,
}

impl<'a> Saying<'a> {
    /// Messages that go to a writer.
    pub fn new(to: &'a mut dyn Write) -> Saying<'a> {
        Saying { to, width: None }
    }

    /// The same to a terminal of a width: a sentence that is longer is broken between words there.
    pub fn within(self, width: Option<usize>) -> Saying<'a> {
        Saying { width, ..self }
    }

    /// A sentence of the program.
    pub fn message(&mut self, sentence: &str) {
        self.plain(&format!("barrelwalk: {sentence}"));
    }

    /// A line by itself.
    pub fn plain(&mut self, line: &str) {
        let line = harmless(line);
        for line in wrapped(&line, self.width.unwrap_or(usize::MAX)) {
            let _ = writeln!(self.to, "{line}");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(width: Option<usize>) -> String {
        let mut told = Vec::new();
        Saying::new(&mut told).within(width).message("The line 3 names no barrel. Mend it.");
        String::from_utf8(told).unwrap()
    }

    #[test]
    fn a_sentence_is_broken_between_words_at_a_terminal_and_whole_elsewhere() {
        assert_eq!(said(None), "barrelwalk: The line 3 names no barrel. Mend it.\n");
        assert_eq!(said(Some(24)), "barrelwalk: The line 3\nnames no barrel. Mend\nit.\n");
    }
}
