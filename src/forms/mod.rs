//! What is written in a form, field by field, and the facts that it comes to; and the other way round, what a fact says in words and what its form
//! would hold. Each kind of fact has one form, in the chapter of its job: the page that is filled on the screen, the command at the desk,
//! the line of the journal and the page that corrects it are made of that one table.
//!
//! A form knows the fields of its fact by their names in the exchange format. What is written becomes these fields, and they become the fact
//! by the same road that a line of a file takes, so that no form can say what no file could.
//!
//! **A kind of fact has one form** (`forms/`, a chapter a file): its fields by their names in the exchange format, what its fact says, its
//! command and its page. Of that one table are made the page that is filled (`tui/books/form.rs`), the command (`cli/books/form.rs`; clap's
//! own tree is widened by `Arguments::all`), and the sentence of a fact wherever one is told. What is written becomes JSON fields and they
//! the fact, by the road of a line of a file; of a fact that is corrected what nobody writes anew stays to the microlitre.

mod bench;
mod books;
mod bottles;
mod entry;
mod filled;
mod finish;
mod floor;
mod form;
mod offering;
mod sentence;
mod settings;
mod tests;
mod topping;
mod turned;
mod wood;
mod words;

pub use bench::*;
pub use books::*;
pub use bottles::*;
pub use entry::{Entry, NOT_KNOWN};
pub use filled::{Filled, Mistake};
pub use finish::*;
pub use floor::*;
pub use form::{AtDesk, Field, Form, Need, OnScreen, PLAIN};
pub use offering::Offering;
pub use settings::{PRACTICE_SET, Setting, setting_called, settings};
pub use tests::*;
pub use topping::*;
pub use turned::{kept_of, said_line, said_undone};
pub use wood::*;
pub use words::{by_words, usage};

use crate::cellar::core::fact::{KINDS, What};
use crate::reckon::acid_unit::AcidUnit;

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
    said_in(what, None)
}

/// The same where a house reads acidities so.
#[must_use]
pub fn said_in(what: &What, acid: Option<AcidUnit>) -> String {
    match (of_kind(what.kind()), what.deed().subject()) {
        (Some(form), _) => sentence::of(form, what, acid),
        (None, Some(about)) => format!("{}: {about}", words_of(what.kind())),
        (None, None) => words_of(what.kind()),
    }
}

/// The name of a kind in words.
#[must_use]
pub fn words_of(kind: &str) -> String {
    kind.replace('_', " ")
}

/// The kind that a person calls so: by its name, its command, or another word for it.
#[must_use]
pub fn kind_called(text: &str) -> Option<&'static str> {
    let text = text.trim().to_lowercase();
    let name = text.replace([' ', '-'], "_");
    let of_name = KINDS.iter().copied().find(|kind| *kind == name);
    let of_command = || forms().find(|form| form.command() == Some(&name.replace('_', "-"))).map(|form| form.kind);
    let of_word = || {
        let says = |form: &&Form| form.title.to_lowercase() == text || form.also.contains(&text.as_str());
        forms().find(says).map(|form| form.kind)
    };
    of_name.or_else(of_command).or_else(of_word)
}
