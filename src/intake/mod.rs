//! A spreadsheet taken in: its file is read, and what it comes to is decided at the desk. The commands and the screen go this one road.

pub mod mapping;

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use crate::cellar::core::label::harmless;
use crate::cellar::core::question::Question;
use crate::desk::{Desk, DeskError, Imported, Importing, NotTaken, TakenIn, Taking};
use crate::import::{Helps, Proposal, Proposed, Remark};
use crate::log::Trouble;
use crate::spreadsheet::{Grid, MOST_BYTES, Source, Wanted};
use crate::told::meant::hint;

/// What a file came to.
#[derive(Clone, Debug)]
pub struct CameTo {
    /// How its cells were told apart.
    pub source: Source,
    /// How it was understood, and what is asked and refused; its facts stand beside it.
    pub proposal: Proposal,
    /// All facts of its lines.
    pub proposed: Vec<Imported>,
    /// Those that are new, with what goes before them.
    pub facts: Vec<Imported>,
    /// How many of them were entered; none where something is asked, refused, or only tried.
    pub entered: usize,
    /// What surprises about them.
    pub asked: Vec<Question>,
}

impl CameTo {
    /// Decides what a table came to. Nothing is entered while something of it is asked, and nothing where a line cannot be taken, unless
    /// the good lines are to be kept.
    pub fn of(
        desk: &mut Desk,
        source: Source,
        mut proposal: Proposal,
        importing: Importing<'_>,
        taking: Taking,
    ) -> Result<CameTo, DeskError> {
        let imported = |Proposed { line, at, by, what, note }| Imported { line, at, by, what, note };
        let proposed: Vec<Imported> = std::mem::take(&mut proposal.facts).into_iter().map(imported).collect();
        let taking = match taking {
            // What the cellar would refuse may follow from what is not answered yet.
            _ if !proposal.questions.is_empty() => Taking::Compared,
            // What cannot be read is told together with what the cellar refuses, so that the person mends the file once.
            Taking::Entered { keep_good: false, .. } if !proposal.refused.is_empty() => Taking::Tried,
            taking => taking,
        };
        let TakenIn { facts, known, admitted } = desk.take_in_spreadsheet(proposed.clone(), importing, taking)?;
        proposal.known += known;
        proposal.refused.extend(admitted.refused.iter().map(|(line, why)| (*line, said(why, desk))));
        proposal.refused.sort_by_key(|(line, _)| *line);
        proposal.refused.dedup_by_key(|(line, _)| *line);
        Ok(CameTo { source, proposal, proposed, facts, entered: admitted.taken.len(), asked: admitted.asked })
    }

    /// Whether the cellar has taken it where it was to be entered: some of it, or all of it was known.
    #[must_use]
    pub fn is_accepted(&self) -> bool {
        let nothing_against =
            [self.proposal.questions.is_empty(), self.proposal.refused.is_empty(), self.asked.is_empty()];
        self.entered > 0 || (self.facts.is_empty() && nothing_against == [true; 3])
    }

    /// How many facts would be entered: none of a line that cannot be taken.
    #[must_use]
    pub fn would_be_entered(&self) -> usize {
        let refused = &self.proposal.refused;
        let is_good = |fact: &&Imported| refused.binary_search_by_key(&fact.line, |(line, _)| *line).is_err();
        self.facts.iter().filter(is_good).count()
    }
}

/// Why a line is not taken, with the labels that may be meant.
fn said(why: &NotTaken, desk: &Desk) -> Remark {
    let meant = match why {
        NotTaken::Refused(refusal) => hint(refusal, desk.state()),
        _ => None,
    };
    Remark { sentence: why.to_string(), helps: meant.map(Helps::Meant) }
}

/// The table of a file; else a sentence.
pub fn read(file: &Path, wanted: &Wanted) -> Result<Grid, String> {
    let name = harmless(&file.to_string_lossy());
    if file.is_dir() {
        return Err(format!("{name} is a folder. Name the file in it."));
    }
    let bytes = File::open(file).and_then(bytes).map_err(|error| unread(&name, &error))?;
    table(&bytes, &name, wanted)
}

/// The table that some bytes are; else a sentence about what they are called.
pub fn table(bytes: &[u8], name: &str, wanted: &Wanted) -> Result<Grid, String> {
    Grid::read(bytes, wanted).map_err(|why| format!("{name} cannot be read. {why}"))
}

/// Why a file could not be read.
#[must_use]
pub fn unread(name: &str, error: &io::Error) -> String {
    match Trouble::of(error) {
        Trouble::Missing => format!("{name} could not be read: there is no such file. Check the name."),
        trouble => format!("{name} could not be read: {trouble}. {}", trouble.next()),
    }
}

/// All bytes, as far as a table may be large.
pub fn bytes(from: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    // One more than is taken, so that it is noticed and not cut.
    from.take(MOST_BYTES + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}
