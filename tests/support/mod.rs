//! What several tests share.
#![allow(dead_code)] // every test file uses its own part

pub mod given;
