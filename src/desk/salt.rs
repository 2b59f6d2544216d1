//! What is sealed with the key of a trial: by chance, so that nobody finds the key by trying.

use std::io;

use crate::cellar::core::label::Label;

/// Bytes of the salt: as many as nobody can try.
const BYTES: usize = 16;

/// A new salt, or why this machine gives no chance.
pub fn salt() -> io::Result<Label> {
    let mut salt = [0; BYTES];
    getrandom::fill(&mut salt).map_err(|error| io::Error::other(format!("This machine gives no chance: {error}.")))?;
    Label::new(&format!("{:032x}", u128::from_le_bytes(salt))).map_err(io::Error::other)
}
