//! Messages to the person, beside the data.

use std::io::Write;

use crate::cellar::core::label::harmless;

/// Where messages go. One that cannot be written is lost: there is nobody else to tell.
pub struct Saying<'a> {
    to: &'a mut dyn Write,
}

impl<'a> Saying<'a> {
    /// Messages that go to a writer.
    pub fn new(to: &'a mut dyn Write) -> Saying<'a> {
        Saying { to }
    }

    /// A sentence of the program.
    pub fn message(&mut self, sentence: &str) {
        self.plain(&format!("barrelwalk: {sentence}"));
    }

    /// A line by itself.
    pub fn plain(&mut self, line: &str) {
        let _ = writeln!(self.to, "{}", harmless(line));
    }
}
