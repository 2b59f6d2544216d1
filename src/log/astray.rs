//! What can happen to a file while it is open: it goes away from under its name, or another one comes to stand there.

use thiserror::Error;

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
    #[error("{path} cannot be looked at: {problem}. Nothing is stored until it can. Mend the cause and open it anew.")]
    OutOfSight {
        /// The file.
        path: String,
        /// What stands in the way.
        problem: String,
    },
}

impl Astray {
    /// Whether what this program holds cannot be reached any more by the file's name, so that it is to be written elsewhere.
    #[must_use]
    pub const fn is_out_of_reach(&self) -> bool {
        !matches!(self, Astray::SecondName(_) | Astray::OutOfSight { .. })
    }
}
