//! Documents, and the printers that make pages of them.

pub mod code;
pub mod document;
pub mod html;
pub mod plain;
pub mod wrap;
