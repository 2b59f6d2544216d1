//! `export`: all facts in order, one JSON object a line.

use std::io::{self, Write};
use std::path::Path;

use crate::cellar::core::label::harmless_json;
use crate::cellar::core::moment::Moment;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::desk::{Access, Desk};

impl Counter<'_, '_> {
    /// Gives out the facts of a cellar, those since a moment only where one is said.
    pub(in crate::cli) fn export(&mut self, cellar: &Path, since: Option<Moment>) -> Outcome {
        let tell = |counter: &mut Self, desk: &Desk, ()| export(desk, since, counter.out);
        self.at_desk(cellar, Access::ReadOnly, |_, _| Ok(()), tell)
    }
}

fn export(desk: &Desk, since: Option<Moment>, out: &mut dyn Write) -> Outcome {
    // The desk wraps what its caller reports; whether the pipe was closed is only seen here.
    let mut failure: Option<io::Error> = None;
    let exported = desk.export(since, &mut |line| {
        writeln!(out, "{}", harmless_json(&line.to_json())).map_err(|error| {
            let told = io::Error::from(error.kind());
            failure = Some(error);
            told
        })
    });
    match (failure, exported) {
        (Some(failure), _) => Err(Complaint::Output(failure)),
        (None, exported) => Ok(exported.map(drop)?),
    }
}
