//! Noting: words about anything.

use serde::{Deserialize, Serialize};

use super::label::{Label, Text};

/// The fact `noted`: words about a thing, named by its label.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Noted {
    /// What it is about.
    pub about: Label,
    /// The words.
    pub text: Text,
}
