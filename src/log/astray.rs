//! What can happen to a file while it is open: it goes away from under its name, or another one comes to stand there.

use thiserror::Error;

use super::trouble::Trouble;

/// Why the file of a cellar is not, or not alone, what its name says. Nothing is stored while that is so.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Astray {
    /// No file of that name is there any more.
    #[error(
        "{0} is no longer there: it was deleted, moved or renamed while it was open. Nothing more is stored. Put it back under its name, or open it where it is now."
    )]
    Gone(String),
    /// Not even its folder is there.
    #[error(
        "The folder of {0} is no longer there: it was deleted, moved or renamed while the cellar was open. Nothing more is stored. Put the folder back, or open the cellar where it is now."
    )]
    FolderGone(String),
    /// Another file of the same cellar stands there.
    #[error(
        "Another copy of this cellar was put in the place of {0} while it was open. Nothing more is stored, for it would not be in the file of that name. Open the cellar anew to go on in that copy."
    )]
    Copy(String),
    /// Another cellar stands there.
    #[error(
        "Another cellar was put in the place of {0} while it was open. Nothing more is stored. Move that file away and put this cellar's file back."
    )]
    OtherCellar(String),
    /// What stands there is no cellar.
    #[error(
        "Something that is no cellar was put in the place of {0} while it was open. Nothing more is stored. Move it away and put the cellar's file back."
    )]
    NoCellar(String),
    /// The same file was filled with something else.
    #[error(
        "{0} was written over by another program while it was open: what is in it now is not what this program stored. Nothing more is stored. Put the cellar's file back, from a backup if need be, and open it anew."
    )]
    WrittenOver(String),
    /// What holds the newest facts is not there any more.
    #[error(
        "{0}-wal, which holds the newest facts of {0}, was deleted, moved or replaced while the cellar was open. Nothing more is stored. Put it back under its name."
    )]
    NewestGone(String),
    /// The file has a second name.
    #[error(
        "{0} has a second name on this disk (a hard link). Facts entered by one name would not be seen by the other, so none are stored; reading goes on. Put a copy in the place of the other name, then open this one anew."
    )]
    SecondName(String),
    /// The file cannot be looked at.
    #[error(
        "{path} cannot be looked at: {problem}. What was entered is kept; nothing more is stored until it can. {}", .problem.next()
    )]
    OutOfSight {
        /// The file.
        path: String,
        /// What stands in the way.
        problem: Trouble,
    },
    /// What was entered last is in the file, and the disk would not say that it has it.
    #[error(
        "The last entry is in {path}, but its disk does not confirm it: {problem}. It counts here, yet a power cut could take it away. Nothing more is stored until the disk does; that is tried again by itself. {}", .problem.next()
    )]
    Unconfirmed {
        /// The file.
        path: String,
        /// What stands in the way.
        problem: Trouble,
    },
    /// What was entered last may be in the file or not.
    #[error(
        "Whether the last entry was stored is not known: {path} cannot be looked at, for {problem}. Everything before it is kept. Nothing more is stored until that is known; it is looked at again by itself. {}", .problem.next()
    )]
    Unknown {
        /// The file.
        path: String,
        /// What stands in the way.
        problem: Trouble,
    },
}

impl Astray {
    /// What is said to whoever entered something when this was found.
    pub(super) fn of_the_last(&self) -> String {
        match self {
            Astray::Unconfirmed { .. } => self.to_string(),
            _ => format!("This was entered last, but it is not in the file of that name. {self}"),
        }
    }

    /// Whether it is not known if what was entered last is stored.
    #[must_use]
    pub const fn is_unknown(&self) -> bool {
        matches!(self, Astray::Unknown { .. })
    }

    /// Whether what this program holds cannot be reached any more by the file's name, so that it is to be written elsewhere.
    #[must_use]
    pub const fn is_out_of_reach(&self) -> bool {
        !matches!(self, Astray::SecondName(_) | Astray::OutOfSight { .. })
    }
}
