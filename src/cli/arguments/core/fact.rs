//! How a fact is named on the command line.

use crate::cellar::core::fact::{Device, FactId};
use crate::cellar::core::label::harmless;

/// Reads the name of a fact: its laptop and its number there, `d-4f2a:12`.
pub fn fact(text: &str) -> Result<FactId, String> {
    let named = text.rsplit_once(':').and_then(|(device, n)| {
        let n = n.parse().ok().filter(|&n| n > 0)?;
        Some(FactId { device: Device::new(device).ok()?, n })
    });
    named.ok_or_else(|| {
        let text = harmless(&text.chars().take(60).collect::<String>());
        format!("'{text}' names no fact. Write it like d-4f2a:12, as the journal does.")
    })
}
