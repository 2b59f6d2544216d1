//! Tables, spreadsheets and JSON, from the same cells.

pub(in crate::cli) mod cell;
pub(in crate::cli) mod column;
pub(in crate::cli) mod lines;
pub(in crate::cli) mod outgoing;
pub(in crate::cli) mod page;
pub(in crate::cli) mod seen;
pub(in crate::cli) mod spreadsheet;
pub(in crate::cli) mod text_table;
