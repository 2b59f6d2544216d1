//! A full-screen map of the barrel room over an append-only log.
pub mod cellar;
pub mod cli;
pub mod desk;
pub mod reckon;
pub mod units;
