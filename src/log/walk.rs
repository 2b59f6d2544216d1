//! Walking along the chains of a log: the one place that says whether a fact follows the one before it.
//!
//! ```text
//!   link before + line = link      it follows
//!   link before + line ≠ link      the line or the link is not what was stored; the next fact of the device tells which:
//!       stored link + next = next's      the line was changed
//!       right link  + next = next's      the link was changed; the line is whole
//! ```

use std::ops::ControlFlow;

use rusqlite::{Connection, Row};

use super::Position;
use super::chain::Link;
use super::read::devices;
use super::row::{CHAINED_COLUMNS, chained_text};
use super::verify::Difference;
use crate::cellar::core::fact::{Device, FactId};

/// Where the device's number, the fact's number, its position and its link stand among the columns.
const DEVICE: usize = 0;
const NUMBER: usize = 1;
const POSITION: usize = 6;
const LINK: usize = 14;

/// What does not follow.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Finding {
    /// The link of a fact is not what its line gives.
    Link {
        /// Which fact.
        id: FactId,
        /// What of it differs.
        differs: Difference,
    },
    /// The numbers of a device have a gap.
    Gap {
        /// The number that should come.
        expected: FactId,
        /// The number that comes.
        found: u64,
    },
    /// A row that says no fact; its name where that can be read.
    Unreadable(Option<FactId>),
}

/// A row that was passed.
pub struct Passed<'row> {
    /// Its columns, as far as they were asked for.
    pub row: &'row Row<'row>,
    /// Its place in the order of arrival.
    pub position: Position,
    /// What it shows not to follow: itself, or the fact before it.
    pub findings: &'row [Finding],
}

/// Which part of a log is walked.
#[derive(Clone, Copy, Debug)]
pub struct Stretch {
    /// Behind this.
    pub after: Position,
    /// Up to this, which is included.
    pub until: Position,
}

impl Stretch {
    /// The whole log.
    pub const ALL: Stretch = Stretch { after: Position::START, until: Position(i64::MAX) };
}

/// The end of a device's chain, as far as it was followed.
struct Chain {
    n: u64,
    /// The stored link of its last fact; none where it cannot be read.
    link: Option<Link>,
    /// What that would be by its line, where it is another one.
    by_line: Option<Link>,
}

impl Chain {
    /// The chain with another fact, and what of the fact before it differs where that was in doubt. A line or link that cannot be
    /// read is none.
    fn then(&self, n: u64, text: Option<&str>, link: Option<Link>) -> (Chain, Option<Difference>) {
        let whole = text.zip(link);
        let gives = |before: Link| whole.is_some_and(|(text, link)| before.then_text(text) == link);
        let by_line = match (self.link, whole) {
            (Some(before), Some((text, link))) => Some(before.then_text(text)).filter(|given| *given != link),
            _ => None,
        };
        let follows = whole.is_some() && self.link.is_some() && by_line.is_none();
        let differs = self.by_line.map(|right| {
            if follows {
                Difference::Content
            } else if gives(right) {
                Difference::Link
            } else {
                Difference::ContentOrLink
            }
        });
        // Sealed by the right link, which was changed before it, it is itself whole.
        let by_line = by_line.filter(|_| differs != Some(Difference::Link));
        (Chain { n, link, by_line }, differs)
    }
}

/// The columns and tables of a walk that wants to know no more than the chain.
const PLAIN: (&str, &str) = (CHAINED_COLUMNS, "facts");

/// Walks along all chains in the order of arrival. Gives what was still in doubt at the end.
pub fn walk(
    connection: &Connection,
    stretch: Stretch,
    each: &mut dyn FnMut(&Passed<'_>) -> ControlFlow<()>,
) -> rusqlite::Result<Vec<Finding>> {
    walk_with(connection, PLAIN, stretch, each)
}

/// The same with other columns, of which the first are those of [`CHAINED_COLUMNS`].
pub fn walk_with(
    connection: &Connection,
    (columns, tables): (&str, &str),
    stretch: Stretch,
    each: &mut dyn FnMut(&Passed<'_>) -> ControlFlow<()>,
) -> rusqlite::Result<Vec<Finding>> {
    let mut walker = Walker::new(connection)?;
    let select = format!("SELECT {columns} FROM {tables} WHERE position > ?1 AND position <= ?2 ORDER BY position");
    let mut statement = connection.prepare(&select)?;
    let mut rows = statement.query([stretch.after.0, stretch.until.0])?;
    while let Some(row) = rows.next()? {
        walker.findings.clear();
        walker.pass(row)?;
        let passed = Passed { row, position: Position(row.get(POSITION)?), findings: &walker.findings };
        if each(&passed).is_break() {
            return Ok(Vec::new());
        }
    }
    walker.end()
}

struct Walker<'a> {
    connection: &'a Connection,
    names: Vec<Device>,
    /// By the numbers of the devices.
    chains: Vec<Option<Chain>>,
    /// The line that is checked, in memory that is used again.
    line: String,
    findings: Vec<Finding>,
}

impl<'a> Walker<'a> {
    fn new(connection: &'a Connection) -> rusqlite::Result<Walker<'a>> {
        let names = devices(connection)?;
        let chains = names.iter().map(|_| None).collect();
        Ok(Walker { connection, names, chains, line: String::new(), findings: Vec::new() })
    }

    /// Passes a row: says what it shows, and goes on from it.
    fn pass(&mut self, row: &Row<'_>) -> rusqlite::Result<()> {
        let Some((device, n)) = self.named(row) else {
            self.findings.push(Finding::Unreadable(None));
            return Ok(());
        };
        let before = match self.chains[device].take() {
            Some(chain) => chain,
            None => self.chain_before(device, n)?,
        };
        self.line.clear();
        let text = chained_text(row, &self.names[device]);
        let line = text.map(|text| {
            text.write_json(&mut self.line);
            self.line.as_str()
        });
        let (chain, differs) = before.then(n, line, link_in(row)?);
        let is_readable = line.is_some() && chain.link.is_some();
        if let Some(differs) = differs {
            self.findings.push(Finding::Link { id: self.id(device, before.n), differs });
        }
        let expected = before.n.wrapping_add(1);
        if n != expected {
            self.findings.push(Finding::Gap { expected: self.id(device, expected), found: n });
        }
        if !is_readable {
            self.findings.push(Finding::Unreadable(Some(self.id(device, n))));
        }
        self.chains[device] = Some(chain);
        Ok(())
    }

    /// Which fact a row says to be: the number of its device from nought, and its own.
    fn named(&self, row: &Row<'_>) -> Option<(usize, u64)> {
        let device = usize::try_from(row.get_ref(DEVICE).ok()?.as_i64().ok()?).ok()?.checked_sub(1)?;
        let n = u64::try_from(row.get_ref(NUMBER).ok()?.as_i64().ok()?).ok()?;
        (device < self.names.len()).then_some((device, n))
    }

    fn id(&self, device: usize, n: u64) -> FactId {
        FactId { device: self.names[device].clone(), n }
    }

    /// The chain up to a fact that is the first of its device on this walk. The link before it is judged as whoever had walked there
    /// would have: by the two before that.
    fn chain_before(&self, device: usize, n: u64) -> rusqlite::Result<Chain> {
        let mut before = if n <= 1 { Vec::new() } else { self.find(device, "n < ?2 ORDER BY n DESC LIMIT 3", n)? };
        let mut chain = Chain { n: 0, link: Some(Link::START), by_line: None };
        if let Some(first) = before.pop_if(|first| first.n > 1) {
            chain = Chain { n: first.n, link: first.link, by_line: None };
        }
        for fact in before.iter().rev() {
            chain = chain.then(fact.n, fact.line.as_deref(), fact.link).0;
        }
        Ok(chain)
    }

    /// What is still in doubt: the last fact of a device within the stretch, of which a fact behind it may tell.
    fn end(&self) -> rusqlite::Result<Vec<Finding>> {
        let mut findings = Vec::new();
        for (device, chain) in self.chains.iter().enumerate() {
            let Some(chain) = chain.as_ref().filter(|chain| chain.by_line.is_some()) else { continue };
            let next = self.find(device, "n = ?2", chain.n.saturating_add(1))?.pop();
            let told = next.and_then(|next| chain.then(next.n, next.line.as_deref(), next.link).1);
            let differs = told.unwrap_or(Difference::ContentOrLink);
            findings.push(Finding::Link { id: self.id(device, chain.n), differs });
        }
        Ok(findings)
    }

    /// Single facts of a device.
    fn find(&self, device: usize, condition: &str, n: u64) -> rusqlite::Result<Vec<Single>> {
        let select = format!("SELECT {CHAINED_COLUMNS} FROM facts WHERE device = ?1 AND {condition}");
        let mut statement = self.connection.prepare_cached(&select)?;
        let number = i64::try_from(device + 1).unwrap_or(i64::MAX);
        let mut rows = statement.query((number, i64::try_from(n).unwrap_or(i64::MAX)))?;
        let mut found = Vec::new();
        while let Some(row) = rows.next()? {
            let line = chained_text(row, &self.names[device]).map(|text| {
                let mut line = String::new();
                text.write_json(&mut line);
                line
            });
            let n = row.get_ref(NUMBER)?.as_i64().ok().and_then(|n| u64::try_from(n).ok()).unwrap_or_default();
            found.push(Single { n, line, link: link_in(row)? });
        }
        Ok(found)
    }
}

/// A fact that is looked up by itself.
struct Single {
    n: u64,
    line: Option<String>,
    link: Option<Link>,
}

fn link_in(row: &Row<'_>) -> rusqlite::Result<Option<Link>> {
    Ok(row.get_ref(LINK)?.as_blob().ok().and_then(Link::from_bytes))
}
