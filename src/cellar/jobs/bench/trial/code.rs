//! The code on a glass.

use std::fmt;

use compact_str::{CompactString, format_compact};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// The code on a glass: three digits, `000` to `999`.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "CompactString", into = "CompactString")]
pub struct Code(u16);

/// Why a text is no code.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("'{0}' is no code of a glass. A code has three digits, like 417.")]
pub struct CodeError(String);

impl Code {
    /// How many codes there are.
    pub const COUNT: u16 = 1_000;

    /// The code of a number below a thousand.
    #[must_use]
    pub fn from_number(number: u16) -> Option<Code> {
        (number < Self::COUNT).then_some(Code(number))
    }

    /// The number of a code.
    #[must_use]
    pub const fn number(self) -> u16 {
        self.0
    }

    /// Reads a code.
    pub fn parse(text: &str) -> Result<Code, CodeError> {
        let is_code = text.len() == 3 && text.bytes().all(|byte| byte.is_ascii_digit());
        let number = if is_code { text.parse().ok() } else { None };
        number
            .map(Code)
            .ok_or_else(|| CodeError(crate::cellar::core::label::harmless(&text.chars().take(12).collect::<String>())))
    }
}

impl TryFrom<CompactString> for Code {
    type Error = CodeError;

    fn try_from(text: CompactString) -> Result<Code, CodeError> {
        Code::parse(&text)
    }
}

impl From<Code> for CompactString {
    fn from(code: Code) -> CompactString {
        format_compact!("{code}")
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format_compact!("{:03}", self.0))
    }
}

impl fmt::Debug for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_has_three_digits() {
        assert_eq!(Code::parse("017").map(|code| code.to_string()), Ok("017".to_owned()));
        assert_eq!(Code::from_number(1_000), None);
        for text in ["17", "0417", "41a", "+41", "", "４１７"] {
            assert!(Code::parse(text).is_err(), "{text}");
        }
    }
}
