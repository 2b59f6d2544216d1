//! The chain that makes a changed fact show: each fact of a device is sealed together with all before it.

use std::fmt;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::cellar::core::fact::Line;

/// A link of a device's chain: the SHA-256 of the link before it and of the fact's line in its exchange form.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Link([u8; 32]);

impl Link {
    /// What the first fact of a device is chained to.
    pub const START: Link = Link([0; 32]);

    /// The link of a fact that follows this one.
    #[must_use]
    pub fn then(self, line: &Line) -> Link {
        self.then_text(&line.to_json())
    }

    /// The same of a fact whose line is written already.
    pub(super) fn then_text(self, line: &str) -> Link {
        Link(Sha256::new().chain_update(self.0).chain_update(line).finalize().into())
    }

    /// The link that these bytes are, if they are 32.
    #[must_use]
    pub fn from_bytes(bytes: &[u8]) -> Option<Link> {
        bytes.try_into().ok().map(Link)
    }

    /// The link that a text of 64 hexadecimal digits names.
    #[must_use]
    pub fn from_hex(text: &str) -> Option<Link> {
        if text.len() != 64 || !text.is_ascii() {
            return None;
        }
        let mut bytes = [0; 32];
        for (byte, pair) in bytes.iter_mut().zip(text.as_bytes().chunks_exact(2)) {
            *byte = u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok()?;
        }
        Some(Link(bytes))
    }

    /// The bytes of the link.
    #[must_use]
    pub const fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl TryFrom<String> for Link {
    type Error = &'static str;

    fn try_from(text: String) -> Result<Link, &'static str> {
        Link::from_hex(&text).ok_or("a link is 64 hexadecimal digits")
    }
}

impl From<Link> for String {
    fn from(link: Link) -> String {
        link.to_string()
    }
}

impl fmt::Display for Link {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cellar::core::fact::{Device, FactId};
    use crate::cellar::core::label::Label;
    use crate::cellar::core::moment::Moment;

    fn topped() -> Line {
        let at = Moment::new(1_790_000_000_000_000, 60);
        Line {
            id: FactId { device: Device::new("a").unwrap(), n: 1 },
            at,
            written: at,
            by: Label::new("mk").unwrap(),
            version: 1,
            kind: "topped".into(),
            body: r#"{"vessel":"0417","from":"K2","volume_ul":1700000,"full":true}"#.to_owned(),
            job: None,
            note: None,
        }
    }

    #[test]
    fn the_chain_is_what_the_manual_says() {
        // Anybody can recompute it: SHA-256 over 32 zero bytes and the exported line.
        let line = topped();
        let mut bytes = vec![0_u8; 32];
        bytes.extend_from_slice(line.to_json().as_bytes());
        assert_eq!(Link::START.then(&line).as_bytes().as_slice(), Sha256::digest(&bytes).as_slice());
    }

    #[test]
    fn a_link_is_read_as_it_is_written() {
        let link = Link::START.then(&topped());
        assert_eq!(Link::from_hex(&link.to_string()), Some(link));
        assert_eq!(Link::from_hex("00"), None);
        assert_eq!(Link::from_hex(&"é".repeat(32)), None);
    }
}
