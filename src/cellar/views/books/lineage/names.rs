//! Names that come again and again, each kept once under a number.

use rustc_hash::FxHashMap;

use crate::cellar::core::label::Label;

/// A name, by number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Name(u32);

/// Names by number, and numbers by name.
#[derive(Debug, Default)]
pub(super) struct Names {
    names: Vec<Label>,
    numbers: FxHashMap<Label, Name>,
}

impl Names {
    /// The number of a name, a new one where it is new. None where the text is no name, as in a damaged file.
    pub fn number(&mut self, text: &str) -> Option<Name> {
        if let Some(&known) = self.numbers.get(text) {
            return Some(known);
        }
        let (name, number) = (Label::read(text).ok()?, Name(u32::try_from(self.names.len()).ok()?));
        self.names.push(name.clone());
        self.numbers.insert(name, number);
        Some(number)
    }

    /// All names.
    pub fn all(&self) -> impl Iterator<Item = &Label> {
        self.names.iter()
    }

    /// The name of a number.
    pub fn name(&self, number: Name) -> &Label {
        &self.names[number.0 as usize]
    }
}
