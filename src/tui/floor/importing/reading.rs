//! What is found out of a spreadsheet beside the screen: how it is read, what it would come to, which files begin with what is typed.

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::desk::{Importing, Taking};
use crate::import::fields::Table;
use crate::import::likely::likely;
use crate::import::mapping::Mapping;
use crate::import::{Answers, propose};
use crate::intake::{self, CameTo, mapping};
use crate::spreadsheet::{Grid, Wanted};
use crate::tui::core::apart::{Apart, Search};

/// So many names of a folder are looked at for one that is typed.
const MOST_NAMES: usize = 20_000;

/// What a person said of a spreadsheet.
#[derive(Clone, Debug, Default)]
pub struct Said {
    /// What it lists; as its head shows where nobody says it.
    pub table: Option<&'static Table>,
    /// How its cells are told apart.
    pub wanted: Wanted,
    /// How its table is understood.
    pub answers: Answers,
    /// Whether nothing was said yet of the table: then what was said of an earlier one of the same columns is.
    pub as_before: bool,
}

impl Said {
    /// Nothing yet, but what it lists.
    #[must_use]
    pub fn nothing_but(table: Option<&'static Table>) -> Said {
        Said { table, as_before: true, ..Said::default() }
    }
}

/// What a spreadsheet comes to by what is said of it.
#[derive(Clone, Debug)]
pub struct Read {
    /// Its cells.
    pub grid: Arc<Grid>,
    /// What was said of it, or is said in its place: what it lists by its head, what was said of an earlier one.
    pub said: Said,
    /// What was said of an earlier one of the same columns, and where that is kept.
    pub before: Option<(PathBuf, Mapping)>,
    /// What it would come to; none as long as nothing tells what it lists.
    pub came_to: Option<CameTo>,
}

/// The file that is meant by what is typed: without quotation marks round it, and with the home folder for `~`.
#[must_use]
pub fn file_of(typed: &str) -> PathBuf {
    let typed = typed.trim();
    let quoted = ['"', '\''].into_iter().find_map(|mark| typed.strip_prefix(mark)?.strip_suffix(mark));
    let path = Path::new(quoted.unwrap_or(typed));
    match (path.strip_prefix("~"), std::env::var_os("HOME")) {
        (Ok(rest), Some(home)) => Path::new(&home).join(rest),
        _ => path.to_owned(),
    }
}

/// Reads a file and tries what it comes to; of what is read already the cells are given.
pub fn search(file: PathBuf, grid: Option<Arc<Grid>>, said: Said, (by, since): (Label, Moment)) -> Search {
    Search::of(move |apart: &Apart| {
        let grid = match &grid {
            Some(grid) => Arc::clone(grid),
            None => Arc::new(intake::read(&file, &said.wanted)?),
        };
        let mut desk = apart.desk().map_err(|error| error.to_string())?;
        let table = said.table.or_else(|| likely(&grid, desk.state()));
        let mut said = Said { table, ..said.clone() };
        let before = table.and_then(|table| mapping::fitting(&file, table, &grid, desk.state()));
        if std::mem::take(&mut said.as_before)
            && let Some((_, before)) = &before
        {
            said.answers = before.under(std::mem::take(&mut said.answers));
        }
        let came_to = table.map(|table| {
            let mut proposal = propose(table, &grid, &said.answers, desk.state());
            // What only this house was tested for then may not be known any more.
            if proposal.without_strange_fields(&mut said.answers) {
                proposal = propose(table, &grid, &said.answers, desk.state());
            }
            let importing = Importing { by: &by, since, now: apart.now() };
            CameTo::of(&mut desk, grid.source.clone(), proposal, importing, Taking::Tried)
        });
        let came_to = came_to.transpose().map_err(|error| error.to_string())?;
        Ok(Read { grid, said, before, came_to })
    })
}

/// What begins with what is typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Completed {
    /// What was typed.
    pub typed: String,
    /// As far as all that begin with it are the same.
    pub line: String,
    /// Their names, where there are several; a folder ends with its sign.
    pub names: Vec<String>,
}

/// Looks what begins with what is typed.
pub fn complete(typed: String) -> Search {
    Search::of(move |_: &Apart| Ok(completed(&typed)))
}

fn completed(typed: &str) -> Completed {
    let sign = std::path::MAIN_SEPARATOR;
    // The home folder itself is a folder.
    let typed_on = if typed.trim() == "~" { format!("~{sign}") } else { typed.to_owned() };
    let at = typed_on.rfind(sign).map_or(0, |at| at + sign.len_utf8());
    let (folder, begins) = typed_on.split_at(at);
    let place = if folder.is_empty() { PathBuf::from(".") } else { file_of(folder) };
    let name = |entry: fs::DirEntry| {
        let name = entry.file_name().into_string().ok()?;
        // What is hidden is named by whoever wants it.
        let is_meant = name.starts_with(begins) && (begins.starts_with('.') || !name.starts_with('.'));
        let ends = if entry.path().is_dir() { sign.to_string() } else { String::new() };
        is_meant.then(|| format!("{name}{ends}"))
    };
    let entries = fs::read_dir(place).into_iter().flatten().flatten();
    let mut names: Vec<String> = entries.take(MOST_NAMES).filter_map(name).collect();
    names.sort();
    let same = names.iter().skip(1).fold(names.first().cloned(), |same, name| Some(common(&same?, name)));
    let line = same.map_or_else(|| typed_on.clone(), |same| format!("{folder}{same}"));
    Completed { typed: typed.to_owned(), line, names }
}

/// What two names begin with alike.
fn common(one: &str, other: &str) -> String {
    one.chars().zip(other.chars()).take_while(|(one, other)| one == other).map(|(sign, _)| sign).collect()
}

/// What was said is kept in a file.
#[derive(Clone, Debug)]
pub struct KeptIn(pub String);

/// Keeps what was said of a table beside its file.
pub fn keep(file: PathBuf, mapping: Mapping) -> Search {
    Search::of(move |_: &Apart| {
        mapping::write(&file, &mapping)?;
        Ok(KeptIn(name_of(&file)))
    })
}

/// The name of a file without its folder.
#[must_use]
pub fn name_of(file: &Path) -> String {
    crate::cellar::core::label::harmless(&file.file_name().unwrap_or(OsStr::new("")).to_string_lossy())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_is_completed_as_far_as_names_agree() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["barrels.csv", "barrels 2026.csv", ".hidden.csv"] {
            fs::write(folder.path().join(name), "").unwrap();
        }
        fs::create_dir(folder.path().join("wine")).unwrap();
        let typed = |rest: &str| completed(&folder.path().join(rest).to_string_lossy());
        assert!(typed("b").line.ends_with("/barrels"), "{:?}", typed("b"));
        assert_eq!(typed("b").names, ["barrels 2026.csv", "barrels.csv"]);
        assert!(typed("w").line.ends_with("/wine/"));
        assert!(typed(".h").line.ends_with(".hidden.csv"));
        assert_eq!(typed("").names.len(), 3);
        assert_eq!((typed("x").line, typed("x").names.len()), (typed("x").typed, 0));
        assert_eq!(file_of(" '/a b/c.csv' "), Path::new("/a b/c.csv"));
    }
}
