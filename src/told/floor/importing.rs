//! What is said of a spreadsheet: how it was read, what a line comes to, what was entered.

use serde_json::Value;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::WallTime;
use crate::import::Proposal;
use crate::spreadsheet::Source;
use crate::units::{Volume, by_count, counted, litres};

/// How a table was read: `utf-8, cells parted by a comma; head in line 1; decimal point`.
#[must_use]
pub fn how_it_was_read(source: &Source, proposal: &Proposal) -> String {
    let read = match source {
        Source::Sheet { name, .. } => format!("sheet '{}'", harmless(name)),
        Source::Text { encoding, delimiter } => format!("{encoding}, cells parted by a {delimiter}"),
    };
    let signs = proposal.decimal.map(|sign| format!("decimal {sign}"));
    let dates = proposal.dates.map(|order| format!("dates {order}"));
    let how: Vec<String> = [read, head(proposal)].into_iter().chain(signs).chain(dates).collect();
    how.join("; ")
}

/// Where its head stands: `head in line 3`.
#[must_use]
pub fn head(proposal: &Proposal) -> String {
    let line = proposal.line_word();
    proposal.head.map_or_else(|| "no head".to_owned(), |head| format!("head in {line} {head}"))
}

/// A fact as it would be entered, in a line: `line 2: vessel 0181, capacity 225.0 L`.
#[must_use]
pub fn would_be_entered(proposal: &Proposal, (line, at): (u64, Option<WallTime>), what: &What) -> String {
    let day = at.map(|at| format!("{}, ", at.day)).unwrap_or_default();
    format!("{} {line}: {day}{}", proposal.line_word(), fields(what))
}

/// What a fact says, field by field.
fn fields(what: &What) -> String {
    what.body().map_or_else(|_| String::new(), |body| harmless(&named(body.iter(), ", ")))
}

/// Fields with their names; amounts in litres.
fn named<'a>(fields: impl Iterator<Item = (&'a String, &'a Value)>, between: &str) -> String {
    let said = fields.filter(|(_, value)| !value.is_null()).map(|(field, value)| {
        match (field.strip_suffix("_ul"), value.as_u64()) {
            (Some(field), Some(microlitres)) => format!("{field} {}", litres(Volume::from_ul(microlitres))),
            _ => format!("{field} {}", words(value)),
        }
    });
    said.collect::<Vec<_>>().join(between)
}

fn words(value: &Value) -> String {
    match value {
        Value::String(words) => words.clone(),
        Value::Array(parts) => parts.iter().map(words).collect::<Vec<_>>().join("; "),
        Value::Object(fields) => named(fields.iter(), " "),
        other => other.to_string(),
    }
}

/// How much would be entered: `30 facts would be entered; 2 lines already known`.
#[must_use]
pub fn count(facts: usize, known: usize) -> String {
    format!("{} would be entered; {} already known", counted(facts, "fact"), counted(known, "line"))
}

/// How much was entered: `30 facts entered; 2 lines already known`.
#[must_use]
pub fn entered(facts: usize, known: usize) -> String {
    let known = if known == 0 { String::new() } else { format!("; {} already known", counted(known, "line")) };
    format!("{} entered{known}", counted(facts, "fact"))
}

/// A line that cannot be taken: `line 3: It names no barrel.`
#[must_use]
pub fn refused(proposal: &Proposal, (line, why): &(u64, String)) -> String {
    format!("{} {line}: {}", proposal.line_word(), harmless(why))
}

/// How many lines cannot be taken: `2 lines cannot be taken`.
#[must_use]
pub fn cannot_be_taken(proposal: &Proposal) -> String {
    format!("{} cannot be taken", counted(proposal.refused.len(), proposal.line_word()))
}

/// How many questions are open: `2 questions are to be answered first`.
#[must_use]
pub fn open_questions(proposal: &Proposal) -> String {
    let questions = proposal.questions.len();
    format!(
        "{} {} first",
        counted(questions, "question"),
        by_count(questions, "is to be answered", "are to be answered")
    )
}
