//! A full-screen map of the barrel room over an append-only log.
pub mod cellar;
pub mod log;
pub mod units;
