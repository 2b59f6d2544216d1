//! Why a text is no fact.

use thiserror::Error;

/// Why a text is no fact.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum FactError {
    /// Not JSON, or broken off.
    #[error("This is not a whole JSON object: {0}.")]
    Json(String),
    /// JSON, but not an object.
    #[error("A fact is one JSON object, like {{\"at\":…,\"by\":…,\"kind\":…}}.")]
    NotAnObject,
    /// A field of the envelope is wrong.
    #[error("The field '{field}' is wrong: {problem}")]
    Envelope {
        /// Which field.
        field: String,
        /// What is wrong with it.
        problem: String,
    },
    /// A field that every fact needs is not there.
    #[error("The field '{0}' is missing.")]
    Missing(String),
    /// A field of the kind is wrong or missing.
    #[error("The fact '{kind}' cannot be read: {problem}.")]
    Field {
        /// The kind.
        kind: String,
        /// What is wrong.
        problem: String,
    },
    /// A field that the kind does not have.
    #[error("The fact '{kind}' has no field '{field}'. Check its spelling.")]
    UnknownField {
        /// The kind.
        kind: String,
        /// The field.
        field: String,
    },
    /// A kind that this program does not know.
    #[error("The kind '{0}' is not known to this version of the program.")]
    UnknownKind(String),
    /// A version of a kind that only a newer program knows.
    #[error("The fact '{kind}' is of version {version}, which only a newer version of the program can read.")]
    NewerKind {
        /// The kind.
        kind: String,
        /// Its version.
        version: u32,
    },
    /// A device's name that breaks its rules.
    #[error("'{0}' is not a device's name. Use 1 to 40 lower-case letters, digits and hyphens.")]
    Device(String),
}
