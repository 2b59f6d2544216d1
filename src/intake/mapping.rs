//! The files in which it is kept what was said of a table, for the next one of the same columns.

use std::ffi::OsStr;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use crate::cellar::core::label::harmless;
use crate::cellar::core::state::State;
use crate::import::fields::Table;
use crate::import::mapping::Mapping;
use crate::import::{Answers, propose};
use crate::log::Trouble;
use crate::spreadsheet::Grid;

/// How their names end.
const ENDING: &str = ".mapping.json";
/// So many of them are looked at beside a spreadsheet …
const MOST_FILES: usize = 100;
/// … and none that is larger, bytes.
const MOST_BYTES: u64 = 1 << 20;

/// Reads one; none where there is no such file.
pub fn read(file: &Path) -> Result<Option<Mapping>, String> {
    match fs::read_to_string(file) {
        Ok(text) => serde_json::from_str(&text).map(Some).map_err(|error| {
            let at = error.line();
            about(file, &format!("cannot be read: its line {at} is not as this program writes it. Take the file away, and what is said now is kept."))
        }),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(about(file, &told("read", &error))),
    }
}

/// Writes one.
pub fn write(file: &Path, mapping: &Mapping) -> Result<(), String> {
    let text = serde_json::to_string_pretty(mapping).unwrap_or_default();
    fs::write(file, text + "\n").map_err(|error| about(file, &told("written", &error)))
}

fn told(done: &str, error: &io::Error) -> String {
    let trouble = Trouble::of(error);
    format!("could not be {done}: {trouble}. {}", trouble.next())
}

/// A sentence about one.
#[must_use]
pub fn about(file: &Path, why: &str) -> String {
    format!("The mapping {} {why}", harmless(&file.to_string_lossy()))
}

/// Where it lies beside a spreadsheet: `barrels.csv` taken in as a list of wine has `barrels.wine.mapping.json`.
#[must_use]
pub fn beside(spreadsheet: &Path, table: &Table) -> PathBuf {
    let stem = spreadsheet.file_stem().unwrap_or_default().to_string_lossy();
    spreadsheet.with_file_name(format!("{stem}.{}{ENDING}", table.name))
}

/// What lies beside a spreadsheet and fits its columns: its own before that of another spreadsheet. What cannot be read is passed over.
#[must_use]
pub fn fitting(spreadsheet: &Path, table: &'static Table, grid: &Grid, state: &State) -> Option<(PathBuf, Mapping)> {
    let own = beside(spreadsheet, table);
    let folder = spreadsheet.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let files = fs::read_dir(folder).into_iter().flatten().filter_map(|entry| Some(entry.ok()?.path()));
    let is_one = |file: &PathBuf| file.file_name().and_then(OsStr::to_str).is_some_and(|name| name.ends_with(ENDING));
    let mut others: Vec<PathBuf> = files.filter(|file| is_one(file) && *file != own).take(MOST_FILES).collect();
    others.sort();
    let is_small = |file: &PathBuf| fs::metadata(file).is_ok_and(|its| its.is_file() && its.len() <= MOST_BYTES);
    let read = |file: PathBuf| Some((read(&file).ok()??, file));
    let fits = |mapping: &Mapping| {
        let proposal = propose(table, grid, &mapping.under(Answers::default()), state);
        mapping.fits(table, &proposal).is_ok()
    };
    let found = std::iter::once(own).chain(others).filter(is_small).filter_map(read);
    found.filter(|(mapping, _)| fits(mapping)).map(|(mapping, file)| (file, mapping)).next()
}
