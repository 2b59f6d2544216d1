//! What is said of facts that are taken back and given back: undone, done again, or turned line by line.

use super::{said, said_in, words_of};
use crate::cellar::core::fact::{Fact, What};
use crate::cellar::core::label::{Text, TextError, harmless};
use crate::cellar::jobs::floor::noting::SETTLED_WORDS;
use crate::reckon::acid_unit::AcidUnit;

/// So many characters of what is taken back are kept beside that.
const KEPT: usize = 400;

/// What a fact says that takes another back, or gives it back.
fn said_turned(what: &What, gives_back: bool) -> String {
    format!("{}: {}", if gives_back { "given back" } else { "taken back" }, said(what))
}

/// What is kept of facts that are taken back, or given back: the first in words, of more the count.
pub fn kept_of(turned: &[(&What, bool)]) -> Result<Text, TextError> {
    let Some((first, gives_back)) = turned.first() else { return Text::new("taken back") };
    let first: String = harmless(&said_turned(first, *gives_back)).chars().take(KEPT).collect();
    match turned.len() {
        1 => Text::new(&first),
        all => Text::new(&format!("{first}, and {} more", all - 1)),
    }
}

/// What a line of the journal says, where a house reads acidities so; `turned` is what it takes back, or gives back.
#[must_use]
pub fn said_line(kind: &str, what: Option<&What>, turned: Option<(&What, bool)>, acid: Option<AcidUnit>) -> String {
    match (turned, what) {
        (Some((of, gives_back)), _) => said_turned(of, gives_back),
        (None, Some(what)) => said_in(what, acid),
        (None, None) => words_of(kind),
    }
}

/// What an act says that is undone, or done again: `0417 topped with 1.7 L from K1`, `24 facts, the first: 0417 topped …`,
/// `the correction: 0417 topped …`.
#[must_use]
pub fn said_undone(facts: &[Fact]) -> String {
    let mut done = facts.iter().map(|fact| &fact.what).filter(|what| !matches!(what, What::Retracted(_)));
    let Some(first) = done.next() else { return "nothing".to_owned() };
    let count = 1 + done.count();
    let words = said(first);
    let corrects = if count < facts.len() { "the correction: " } else { "" };
    if let (What::Noted(noted), false) = (first, corrects.is_empty()) {
        let text = noted.text.as_str();
        return match text.split_once(": ") {
            Some((turned @ ("taken back" | "given back"), of)) => format!("that was {turned}: {of}"),
            _ if text.starts_with(SETTLED_WORDS) => format!("what was settled of {}", noted.about),
            _ => format!("{corrects}{words}"),
        };
    }
    match count {
        1 => format!("{corrects}{words}"),
        count => format!("{corrects}{count} facts, the first: {words}"),
    }
}
