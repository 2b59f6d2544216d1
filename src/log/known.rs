//! Facts that come in under a name: new, known, or a fork.

use std::fmt;

use super::Log;
use super::error::LogError;
use super::row::StoredLine;
use crate::cellar::core::fact::{IncomingFact, Line};

/// How an incoming fact stands to the log.
#[derive(Clone, Debug, PartialEq)]
pub enum Standing {
    /// The log does not hold a fact of that name.
    New,
    /// The log holds it already, with the same content.
    Known,
    /// The log holds another fact of that name.
    Fork(Box<Fork>),
}

/// Two facts of one name: two laptops, or two copies of one file, entered facts as the same device.
#[derive(Clone, Debug, PartialEq)]
pub struct Fork {
    /// The fact in the log.
    pub held: Line,
    /// The fact that came in.
    pub incoming: Line,
}

impl fmt::Display for Fork {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "There are two different facts named {}. Nothing was written.\nHere:     {}\nIncoming: {}\nFind out which is right and enter the other one anew; this laptop goes on under a new device name.",
            self.held.id,
            self.held.to_json(),
            self.incoming.to_json()
        )
    }
}

impl Log {
    /// Compares an incoming fact with the one of that name that the log holds. `body` is the text of its fields, as
    /// [`IncomingFact::from_json`] gives it. The time of entry is compared only where the incoming fact says it.
    pub fn check_known(&self, incoming: &IncomingFact, body: &str) -> Result<Standing, LogError> {
        let Some(id) = &incoming.id else { return Ok(Standing::New) };
        let Some(held) = self.stored(id)? else { return Ok(Standing::New) };
        if same(&held, incoming, body) {
            return Ok(Standing::Known);
        }
        let incoming = Line {
            id: id.clone(),
            at: incoming.at,
            written: incoming.written.unwrap_or(held.line.written),
            by: incoming.by.clone(),
            version: incoming.version,
            kind: incoming.what.kind().into(),
            body: body.to_owned(),
            job: incoming.job.clone(),
            note: incoming.note.clone(),
        };
        Ok(Standing::Fork(Box::new(Fork { held: held.line, incoming })))
    }
}

fn same(held: &StoredLine, incoming: &IncomingFact, body: &str) -> bool {
    let held = &held.line;
    held.at == incoming.at
        && incoming.written.is_none_or(|written| written == held.written)
        && held.by == incoming.by
        && held.version == incoming.version
        && held.job == incoming.job
        && held.note == incoming.note
        && held.kind == incoming.what.kind()
        // The same fields may be written in another order, or with what may be left out.
        && (held.body == body || held.fact().is_ok_and(|fact| fact.what == incoming.what))
}
