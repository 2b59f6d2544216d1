//! What several tests of the full screen share.
#![allow(dead_code)] // every test file uses its own part

pub mod pty;
pub mod sizes;
