//! The real program where there is no cellar.

use std::process::Output;

use serde_json::Value;

use crate::desk::{Desk, Words};

pub fn run<'a>(words: impl Words<'a>) -> Output {
    Desk::bare().run(words)
}

/// What a command gives that is done without a word beside it.
#[track_caller]
pub fn done<'a>(words: impl Words<'a>) -> String {
    Desk::bare().done(words)
}

/// The JSON of a command that is done without a word beside it.
#[track_caller]
pub fn json<'a>(words: impl Words<'a>) -> Value {
    Desk::bare().json(words)
}

/// A command is refused with this in what is said.
#[track_caller]
pub fn refused<'a>(words: impl Words<'a>, part: &str) {
    Desk::bare().refused(words, part);
}

/// A command that cannot be understood is refused with this in what is said.
#[track_caller]
pub fn misused<'a>(words: impl Words<'a>, part: &str) {
    Desk::bare().misused(words, part);
}
