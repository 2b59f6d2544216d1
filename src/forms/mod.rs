//! What is written in a form, field by field, and the facts that it comes to; and the other way round, what a fact says in words and what its form
//! would hold. Each kind of fact has one form, in the chapter of its job: the page that is filled on the screen, the command at the desk,
//! the line of the journal and the page that corrects it are made of that one table.
//!
//! A form knows the fields of its fact by their names in the exchange format. What is written becomes these fields, and they become the fact
//! by the same road that a line of a file takes, so that no form can say what no file could.

mod bench;
mod books;
mod bottles;
mod entry;
mod filled;
mod finish;
mod floor;
mod form;
mod sentence;
mod tests;
mod topping;
mod wood;
mod words;

pub use books::*;
pub use entry::Entry;
pub use filled::{Filled, Mistake};
pub use floor::*;
pub use form::{AtDesk, Field, Form, Need, OnScreen};
pub use words::{by_words, usage};

use crate::cellar::core::fact::What;

/// The forms of a chapter.
type Chapter = &'static [&'static Form];

/// The chapters, in the order of the year.
const CHAPTERS: [Chapter; 8] = [
    floor::FORMS,
    topping::FORMS,
    wood::FORMS,
    tests::FORMS,
    bench::FORMS,
    finish::FORMS,
    bottles::FORMS,
    books::FORMS,
];

/// Every form, a kind of fact each.
pub fn forms() -> impl Iterator<Item = &'static Form> {
    CHAPTERS.iter().flat_map(|chapter| chapter.iter().copied())
}

/// The form of a kind of fact.
#[must_use]
pub fn of_kind(kind: &str) -> Option<&'static Form> {
    forms().find(|form| form.kind == kind)
}

/// The form that a command at the desk fills.
#[must_use]
pub fn of_command(command: &str) -> Option<&'static Form> {
    forms().find(|form| form.command() == Some(command))
}

/// What a fact says, in a sentence without its full stop: `0417: 2.5 L lost by spill`.
#[must_use]
pub fn said(what: &What) -> String {
    of_kind(what.kind()).map_or_else(|| what.kind().replace('_', " "), |form| sentence::of(form, what))
}
