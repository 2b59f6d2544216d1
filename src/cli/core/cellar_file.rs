//! Which file the cellar is in: the one that is said, else the variable's, else the one in the user's data folder.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use crate::cellar::core::label::harmless;

/// The name of the cellar's file in the data folder.
const FILE_NAME: &str = "cellar.barrelwalk";

/// So many cellars that are near are named.
const MOST_NEAR: usize = 3;

/// What the surroundings say of where files belong.
#[derive(Clone, Debug, Default)]
pub struct Surroundings {
    /// The kind of system.
    pub system: System,
    /// `BARRELWALK_CELLAR`.
    pub cellar: Option<OsString>,
    /// `XDG_DATA_HOME`.
    pub data_home: Option<OsString>,
    /// `HOME`.
    pub home: Option<OsString>,
    /// `APPDATA`.
    pub application_data: Option<OsString>,
}

/// The kind of system, by where a user's data belongs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum System {
    /// Linux and its kin: `$XDG_DATA_HOME`, else `~/.local/share`.
    #[default]
    Unix,
    /// `~/Library/Application Support`.
    MacOs,
    /// `%APPDATA%`.
    Windows,
}

impl System {
    /// The system of this process.
    #[must_use]
    pub fn of_this_process() -> System {
        match std::env::consts::OS {
            "windows" => System::Windows,
            "macos" => System::MacOs,
            _ => System::Unix,
        }
    }
}

impl Surroundings {
    /// The surroundings of this process.
    #[must_use]
    pub fn of_this_process() -> Surroundings {
        Surroundings {
            system: System::of_this_process(),
            cellar: std::env::var_os("BARRELWALK_CELLAR"),
            data_home: std::env::var_os("XDG_DATA_HOME"),
            home: std::env::var_os("HOME"),
            application_data: std::env::var_os("APPDATA"),
        }
    }

    /// The cellar's file, if one is said or there is a data folder.
    #[must_use]
    pub fn cellar_file(&self, said: Option<&Path>) -> Option<PathBuf> {
        said.map(Path::to_owned)
            .or_else(|| filled(self.cellar.as_ref()))
            .or_else(|| Some(self.data_folder()?.join("barrelwalk").join(FILE_NAME)))
    }

    /// What is told where nobody names a cellar and none stands where it is looked for: the three ways, and the cellars that are near.
    #[must_use]
    pub fn not_there(&self, file: &Path, near: &[PathBuf]) -> String {
        let ways = "Name it with --cellar FILE or with the variable BARRELWALK_CELLAR, or keep it in your data folder";
        let file = harmless(&file.to_string_lossy());
        let looked = match filled(self.cellar.as_ref()) {
            Some(_) => format!("BARRELWALK_CELLAR names {file}, and there is no such file. {ways}."),
            None => format!("No cellar is named, and there is none at {file}. {ways}."),
        };
        let names: Vec<String> = near.iter().map(|path| harmless(&path.to_string_lossy())).collect();
        let here = match names.as_slice() {
            [] => "`barrelwalk new` makes one, `barrelwalk demo` shows a made-up one.".to_owned(),
            [one] => format!("There is {one}: --cellar {one}"),
            [first, ..] => format!("There are {}: --cellar {first}", names.join(", ")),
        };
        format!("{looked} {here}")
    }

    fn data_folder(&self) -> Option<PathBuf> {
        let home = || filled(self.home.as_ref());
        match self.system {
            // A relative path here is to be passed over (XDG Base Directory Specification).
            System::Unix => filled(self.data_home.as_ref())
                .filter(|folder| folder.is_absolute())
                .or_else(|| Some(home()?.join(".local").join("share"))),
            System::MacOs => Some(home()?.join("Library").join("Application Support")),
            System::Windows => filled(self.application_data.as_ref()),
        }
    }
}

/// The files in a folder that are called as cellars are, a few of them in the order of their names.
#[must_use]
pub fn cellars_in(folder: &Path) -> Vec<PathBuf> {
    let is_one = |path: &PathBuf| path.extension().is_some_and(|ending| ending == "barrelwalk") && path.is_file();
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut found: Vec<PathBuf> = entries.map(|entry| entry.path()).filter(is_one).collect();
    found.sort();
    found.truncate(MOST_NEAR);
    found.into_iter().map(|path| path.strip_prefix(".").map_or(path.clone(), Path::to_owned)).collect()
}

/// An empty variable says nothing.
fn filled(variable: Option<&OsString>) -> Option<PathBuf> {
    variable.filter(|value| !value.is_empty()).map(PathBuf::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at_home() -> Surroundings {
        Surroundings { home: Some("/home/mk".into()), ..Surroundings::default() }
    }

    #[test]
    fn what_is_said_goes_first_then_the_variable_then_the_data_folder() {
        let mut surroundings = at_home();
        let file = |surroundings: &Surroundings| surroundings.cellar_file(None).unwrap();
        assert_eq!(file(&surroundings), Path::new("/home/mk/.local/share/barrelwalk/cellar.barrelwalk"));
        surroundings.data_home = Some("relative".into());
        assert_eq!(file(&surroundings), Path::new("/home/mk/.local/share/barrelwalk/cellar.barrelwalk"));
        surroundings.data_home = Some("/data".into());
        assert_eq!(file(&surroundings), Path::new("/data/barrelwalk/cellar.barrelwalk"));
        surroundings.cellar = Some("".into());
        assert_eq!(file(&surroundings), Path::new("/data/barrelwalk/cellar.barrelwalk"));
        surroundings.cellar = Some("here".into());
        assert_eq!(file(&surroundings), Path::new("here"));
        assert_eq!(surroundings.cellar_file(Some(Path::new("there"))).unwrap(), Path::new("there"));
    }

    #[test]
    fn a_forgotten_cellar_is_told_the_three_ways_and_what_is_there() {
        let folder = tempfile::tempdir().unwrap();
        for name in ["b.barrelwalk", "a.barrelwalk", "notes.txt"] {
            std::fs::write(folder.path().join(name), "").unwrap();
        }
        let near: Vec<PathBuf> =
            cellars_in(folder.path()).iter().map(|path| path.file_name().unwrap().into()).collect();
        let told = at_home().not_there(Path::new("/d/cellar.barrelwalk"), &near);
        assert_eq!(
            told,
            "No cellar is named, and there is none at /d/cellar.barrelwalk. Name it with --cellar FILE or with the variable \
             BARRELWALK_CELLAR, or keep it in your data folder. There are a.barrelwalk, b.barrelwalk: --cellar a.barrelwalk"
        );
        let named = Surroundings { cellar: Some("x".into()), ..at_home() }.not_there(Path::new("x"), &[]);
        assert!(named.starts_with("BARRELWALK_CELLAR names x, and there is no such file."), "{named}");
        assert!(named.ends_with("`barrelwalk demo` shows a made-up one."), "{named}");
    }

    #[test]
    fn every_system_has_its_place() {
        let mac = Surroundings { system: System::MacOs, ..at_home() };
        let expected = Path::new("/home/mk/Library/Application Support/barrelwalk/cellar.barrelwalk");
        assert_eq!(mac.cellar_file(None).unwrap(), expected);
        let windows = Surroundings { system: System::Windows, application_data: Some("R".into()), ..at_home() };
        assert_eq!(windows.cellar_file(None).unwrap(), Path::new("R").join("barrelwalk").join("cellar.barrelwalk"));
        assert_eq!(Surroundings::default().cellar_file(None), None);
    }
}
