//! A full-screen map of the barrel room over an append-only log: every litre of wine from barrel-down to bottle.
//!
//! Arrows point down only:
//!
//! ```text
//!     main      parse, dispatch, exit code
//!     cli  tui  the two faces: commands for scripts and desk, full screen for the aisle; neither knows a rule of wine
//!     sheets    printable pages
//!     intake    a spreadsheet's file read, and what it comes to taken in at the desk
//!     told      what is said of things by more than one of them, and the usual values; each once
//!     desk      opens a cellar, holds log and state, turns an intent into facts and appends them
//!     log       the SQLite event log: append, read, chain, back up, exchange lines
//!     import    what the spreadsheets of a cellar come to: a grid in, facts and questions out
//!     cellar    the domain: facts, decide (state + intent → nothing or a refusal), evolve (state + fact → state)
//!     reckon    the computations of the trade, plain values in and out
//!     spreadsheet  files of tables: bytes in, a grid of cells out
//!     units     quantities
//! ```

pub mod cellar;
pub mod cli;
pub mod desk;
pub mod forms;
pub mod import;
pub mod intake;
pub mod log;
pub mod reckon;
pub mod sheets;
pub mod spreadsheet;
pub mod told;
pub mod tui;
pub mod units;

#[global_allocator]
static MEMORY: mimalloc::MiMalloc = mimalloc::MiMalloc;
