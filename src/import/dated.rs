//! What the lines of tests, tastes and toppings have in common: each says a day, and may say an hour and a name.

use chrono::NaiveTime;

use super::head::Head;
use super::values::{Values, label, text, words};
use super::{Helps, Proposal, Proposed, Remark};
use crate::cellar::core::fact::What;
use crate::cellar::core::moment::WallTime;
use crate::spreadsheet::date::time;
use crate::spreadsheet::{Cell, Line};

/// Asks on which day it was, where nothing says it.
pub fn ask_for_day(head: &Head<'_>, proposal: &mut Proposal) -> bool {
    proposal.ask_for(head, "date", "On which day was it?", "2026-11-27")
}

/// The fact of a line, with when it was, who did it and the words beside it.
pub fn dated(head: &Head<'_>, values: &Values, line: &Line, what: What) -> Result<Proposed, Remark> {
    let at = Some(when(head, values, line)?);
    let note = text(head, line, "remark")?;
    Ok(Proposed { at, by: label(head, line, "by")?, note, ..Proposed::of(line.number, what) })
}

fn when(head: &Head<'_>, values: &Values, line: &Line) -> Result<WallTime, Remark> {
    let lacks = || Remark { sentence: "it says no day".to_owned(), helps: Some(Helps::Day) };
    let (day, within) = values.date(head, line, "date")?.ok_or_else(lacks)?;
    Ok(WallTime { day, time: time_of_day(head, line)?.or(within) })
}

fn time_of_day(head: &Head<'_>, line: &Line) -> Result<Option<NaiveTime>, String> {
    if let Cell::Date(date) = head.cell(line, "time") {
        return Ok(Some(date.time()));
    }
    let Some(words) = words(head, line, "time")? else { return Ok(None) };
    time(&words).map(Some).ok_or_else(|| format!("'{words}' is no time of day: write it like 14:30"))
}
