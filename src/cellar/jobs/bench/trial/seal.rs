//! The seal: a digest that proves later that the key of a trial was not changed, and tells nothing of it before.
//!
//! It is the SHA-256 of a text that anybody can write again once it is revealed, in UTF-8 with a line feed after
//! every line:
//!
//! ```text
//! barrelwalk trial key 1
//! trial NAME
//! salt SALT
//! component VESSEL             one line a component, in the order of the shares
//! glass CODE PPM PPM …         one line a glass, by rising code; with ` repeats CODE` behind it where it does
//! ```
//!
//! Without a salt its line is left out; then the digest could be found by trying all likely keys, so every trial that this program sets
//! has one.

use std::fmt::Write;

use sha2::{Digest, Sha256};

use super::code::Code;
use crate::cellar::core::label::Label;
use crate::units::Shares;

/// What is sealed.
pub(super) struct Sealed<'a> {
    pub trial: &'a Label,
    pub salt: Option<&'a Label>,
    pub components: Vec<&'a Label>,
    pub glasses: Vec<(Code, &'a Shares, Option<Code>)>,
}

impl Sealed<'_> {
    /// The text whose digest is printed.
    pub fn text(mut self) -> String {
        let mut text = format!("barrelwalk trial key 1\ntrial {}\n", self.trial);
        let mut line = |line: String| {
            text.push_str(&line);
            text.push('\n');
        };
        if let Some(salt) = self.salt {
            line(format!("salt {salt}"));
        }
        for component in self.components {
            line(format!("component {component}"));
        }
        self.glasses.sort_unstable_by_key(|(code, ..)| *code);
        for (code, shares, repeats) in self.glasses {
            let shares = shares.millionths().iter().map(u32::to_string).collect::<Vec<_>>().join(" ");
            let repeats = repeats.map(|of| format!(" repeats {of}")).unwrap_or_default();
            line(format!("glass {code} {shares}{repeats}"));
        }
        text
    }
}

/// The SHA-256 of a text, 64 hexadecimal digits.
pub(super) fn digest(text: &str) -> String {
    Sha256::digest(text.as_bytes()).iter().fold(String::with_capacity(64), |mut hex, byte| {
        // Writing to a string cannot fail.
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The one-block message of FIPS 180-4 as NIST's examples give it.
    #[test]
    fn the_digest_is_the_standard_one() {
        assert_eq!(digest("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn the_text_is_the_documented_one_whatever_the_order_of_the_glasses() {
        let label = |text: &str| Label::new(text).unwrap();
        let code = |text: &str| Code::parse(text).unwrap();
        let (half, pure) = (Shares::from_millionths(vec![500_000; 2]).unwrap(), Shares::pure(0, 2).unwrap());
        let (trial, salt, t1, t2) = (label("Cuvée"), label("00ff"), label("T 1"), label("T2"));
        let sealed = Sealed {
            trial: &trial,
            salt: Some(&salt),
            components: vec![&t1, &t2],
            glasses: vec![
                (code("417"), &half, Some(code("031"))),
                (code("031"), &half, None),
                (code("200"), &pure, None),
            ],
        };
        let text = "barrelwalk trial key 1\ntrial Cuvée\nsalt 00ff\ncomponent T 1\ncomponent T2\n\
                    glass 031 500000 500000\nglass 200 1000000 0\nglass 417 500000 500000 repeats 031\n";
        assert_eq!(sealed.text(), text);
    }
}
