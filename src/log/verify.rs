//! Checking a whole log: the file's pages, the chain of every device, the order of arrival, the guards and the mark.

use std::collections::{HashMap, HashSet};
use std::fmt;
use std::ops::ControlFlow;

use rusqlite::Connection;

use super::chain::Link;
use super::error::LogError;
use super::mark::Loss;
use super::read::head;
use super::row::{LINE_COLUMNS, StoredLine};
use super::schema::GUARDS;
use super::walk::{Finding, Passed, Stretch, walk_with};
use super::{Head, Log, Position};
use crate::cellar::core::fact::{Device, FactId, FactKey};

/// What a check of a whole log found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Report {
    /// How many facts were read.
    pub facts: u64,
    /// The last fact of each device, by the devices' names.
    pub heads: Vec<Head>,
    /// What is wrong, in the order in which it was found.
    pub problems: Vec<Problem>,
}

impl Report {
    /// Whether nothing is wrong.
    #[must_use]
    pub fn is_clean(&self) -> bool {
        self.problems.is_empty()
    }
}

/// One thing that is wrong with a log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Problem {
    /// What the database says of its own pages.
    File(String),
    /// A guard against changing facts is not as it was made.
    Guard(String),
    /// The first fact of a device whose link is not what its content gives.
    Link {
        /// The fact.
        id: FactId,
        /// What differs.
        differs: Difference,
    },
    /// The first gap in the numbers of a device.
    Gap {
        /// The number that should have come.
        expected: FactId,
        /// The number that came.
        found: u64,
    },
    /// The first fact of the order of arrival that is not where it should be.
    Position {
        /// Where it should be.
        expected: Position,
        /// Where it is.
        found: Position,
    },
    /// A fact that is kept as late and is not, or the other way about: it would be read in the wrong order.
    Order(FactId),
    /// A row that holds no fact.
    Unreadable {
        /// Which row.
        position: Position,
        /// What is wrong with it.
        problem: String,
    },
    /// What the mark beside the file knows and the file does not hold.
    Lost(Loss),
}

/// What of a fact differs from what was stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Difference {
    /// The link of the next fact seals the stored link: the content was changed.
    Content,
    /// The link of the next fact seals the content: the stored link was changed.
    Link,
    /// No later fact tells which.
    ContentOrLink,
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Problem::File(words) => write!(f, "The file is damaged: {words}."),
            Problem::Guard(name) => {
                write!(f, "The guard '{name}', which keeps facts from being changed, is missing or was altered.")
            }
            Problem::Link { id, differs } => {
                let what = match differs {
                    Difference::Content => "its content is not what was stored",
                    Difference::Link => "its link is not what was stored; its content is",
                    Difference::ContentOrLink => "its content or its link is not what was stored",
                };
                write!(f, "The chain of device {} is broken at fact {}: {what}.", id.device, id.n)
            }
            Problem::Gap { expected, found } => {
                write!(f, "Device {} has a gap: fact {} should come, {found} does.", expected.device, expected.n)
            }
            Problem::Position { expected, found } => {
                write!(f, "The order of arrival has a gap: position {expected} should come, {found} does.")
            }
            Problem::Order(id) => {
                write!(f, "Fact {} of device {} is kept in the wrong place of the order of facts.", id.n, id.device)
            }
            Problem::Unreadable { position, problem } => {
                write!(f, "The row at position {position} cannot be read: {problem}.")
            }
            Problem::Lost(loss) => write!(f, "Against the mark beside the file, {loss}."),
        }
    }
}

impl Log {
    /// Checks everything there is. `progress` is told how many facts are done, and of how many.
    pub fn verify(&self, progress: &mut dyn FnMut(u64, u64)) -> Result<Report, LogError> {
        self.consistently(|connection| {
            let mut report = check(connection, progress);
            attempt(&mut report, &mut |report| {
                report.problems.extend(self.mark.losses(connection)?.into_iter().map(Problem::Lost));
                Ok(())
            });
            Ok(report)
        })
    }
}

/// Checks all that the file itself tells: its pages, its guards, its facts.
pub(super) fn check(connection: &Connection, progress: &mut dyn FnMut(u64, u64)) -> Report {
    let mut report = Report::default();
    attempt(&mut report, &mut |report| check_pages(connection, report));
    attempt(&mut report, &mut |report| check_guards(connection, report));
    attempt(&mut report, &mut |report| check_facts(connection, report, progress));
    report
}

/// A file can be too damaged for a step of the check; that is a finding, and the others go on.
fn attempt(report: &mut Report, step: &mut dyn FnMut(&mut Report) -> rusqlite::Result<()>) {
    if let Err(error) = step(report) {
        let problem = Problem::File(super::error::problem_of(&error));
        if !report.problems.contains(&problem) {
            report.problems.push(problem);
        }
    }
}

fn check_pages(connection: &Connection, report: &mut Report) -> rusqlite::Result<()> {
    for check in ["integrity_check", "foreign_key_check"] {
        let mut statement = connection.prepare(&format!("PRAGMA {check}"))?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let words = match row.get_ref(0)?.as_str() {
                Ok("ok") => continue,
                Ok(words) if check == "integrity_check" => crate::cellar::core::label::harmless(words),
                _ => "a fact of a device that is not there".to_owned(),
            };
            report.problems.push(Problem::File(words));
        }
    }
    Ok(())
}

fn check_guards(connection: &Connection, report: &mut Report) -> rusqlite::Result<()> {
    let mut statement = connection.prepare("SELECT sql FROM sqlite_schema WHERE type = 'trigger' AND name = ?1")?;
    for &(name, text) in GUARDS {
        let found = statement.query_map([name], |row| row.get::<_, String>(0))?.collect::<Result<Vec<_>, _>>()?;
        if found != [text] {
            report.problems.push(Problem::Guard(name.to_owned()));
        }
    }
    Ok(())
}

fn check_facts(
    connection: &Connection,
    report: &mut Report,
    progress: &mut dyn FnMut(u64, u64),
) -> rusqlite::Result<()> {
    let of = u64::try_from(head(connection)?.0).unwrap_or_default();
    let mut check = FactsCheck { expected: Position(1), ..FactsCheck::default() };
    let columns = (LINE_COLUMNS, "facts LEFT JOIN devices USING (device)");
    let left = walk_with(connection, columns, Stretch::ALL, &mut |passed| {
        check.take(passed, &mut report.problems);
        report.facts += 1;
        if report.facts.is_multiple_of(4096) || report.facts == of {
            progress(report.facts, of);
        }
        ControlFlow::Continue(())
    })?;
    for finding in &left {
        check.take_finding(finding, &mut report.problems);
    }
    let heads = check.heads.into_iter();
    report.heads = heads.map(|(device, (n, link))| Head { id: FactId { device, n }, link }).collect();
    report.heads.sort_by(|a, b| a.id.cmp(&b.id));
    Ok(())
}

/// What a check of all facts has come to.
#[derive(Default)]
struct FactsCheck {
    /// The position that should come next.
    expected: Position,
    /// Whether a position was missing: only the first is named.
    is_out_of_place: bool,
    /// The highest place of a fact in the order.
    highest: Option<FactKey>,
    heads: HashMap<Device, (u64, Link)>,
    /// The devices whose chain is broken: only the first broken link is named, for behind it nothing can be said.
    broken: HashSet<Device>,
}

impl FactsCheck {
    fn take(&mut self, passed: &Passed<'_>, problems: &mut Vec<Problem>) {
        let position = passed.position;
        if position != self.expected && !self.is_out_of_place {
            problems.push(Problem::Position { expected: self.expected, found: position });
            self.is_out_of_place = true;
        }
        self.expected = Position(position.0 + 1);
        for finding in passed.findings {
            self.take_finding(finding, problems);
        }
        match StoredLine::read(passed.row) {
            Ok(stored) => self.take_line(&stored, problems),
            Err(error) => {
                problems.push(Problem::Unreadable { position, problem: super::error::problem_of(&error) });
            }
        }
    }

    fn take_finding(&mut self, finding: &Finding, problems: &mut Vec<Problem>) {
        let (device, problem) = match finding {
            Finding::Link { id, differs } => (&id.device, Problem::Link { id: id.clone(), differs: *differs }),
            Finding::Gap { expected, found } => {
                (&expected.device, Problem::Gap { expected: expected.clone(), found: *found })
            }
            // It is named by its row.
            Finding::Unreadable(_) => return,
        };
        if self.broken.insert(device.clone()) {
            problems.push(problem);
        }
    }

    fn take_line(&mut self, stored: &StoredLine, problems: &mut Vec<Problem>) {
        let key = stored.key();
        let late = self.highest.as_ref().is_some_and(|highest| key < *highest);
        let kept_as = late.then_some(key.id.device.as_str());
        if stored.late.as_deref() != kept_as {
            problems.push(Problem::Order(key.id.clone()));
        }
        let head = (key.id.n, stored.link);
        match self.heads.get_mut(&key.id.device) {
            Some(known) => *known = head,
            None => {
                self.heads.insert(key.id.device.clone(), head);
            }
        }
        if !late {
            self.highest = Some(key);
        }
    }
}
