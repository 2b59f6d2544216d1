//! Which file the cellar is in: the one that is said, else the variable's, else the one in the user's data folder.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

/// The name of the cellar's file in the data folder.
const FILE_NAME: &str = "cellar.barrelwalk";

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
    fn every_system_has_its_place() {
        let mac = Surroundings { system: System::MacOs, ..at_home() };
        let expected = Path::new("/home/mk/Library/Application Support/barrelwalk/cellar.barrelwalk");
        assert_eq!(mac.cellar_file(None).unwrap(), expected);
        let windows = Surroundings { system: System::Windows, application_data: Some("R".into()), ..at_home() };
        assert_eq!(windows.cellar_file(None).unwrap(), Path::new("R").join("barrelwalk").join("cellar.barrelwalk"));
        assert_eq!(Surroundings::default().cellar_file(None), None);
    }
}
