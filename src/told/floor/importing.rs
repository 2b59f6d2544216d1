//! What is said of a spreadsheet: how it was read, what a line comes to, what was entered.

use std::collections::HashMap;

use serde_json::Value;

use super::like_litres;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::WallTime;
use crate::import::{Helps, Proposal, Remark, named};
use crate::spreadsheet::Source;
use crate::told::Face;
use crate::units::{Volume, by_count, counted, litres};

/// So many lines that have one cause and say different things are told one by one.
const FEW: usize = 3;

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
    what.body().map_or_else(|_| String::new(), |body| harmless(&fields_named(body.iter(), ", ")))
}

/// Fields with their names; amounts in litres.
fn fields_named<'a>(fields: impl Iterator<Item = (&'a String, &'a Value)>, between: &str) -> String {
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
        Value::Object(fields) => fields_named(fields.iter(), " "),
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

/// What is said of a file or a line, with what helps as it is found at the desk or on the screen.
#[must_use]
pub fn remark(Remark { sentence, helps }: &Remark, face: Face) -> String {
    let helps = match (helps, face) {
        (None, _) => return sentence.clone(),
        (Some(Helps::LikeLitres(labels)), face) => return like_litres(labels, face),
        (Some(Helps::Meant(question)), _) => return format!("{sentence}{question}"),
        (Some(Helps::Day), Face::Desk) => "Say one for every line that has none, with --set date=2026-11-27.",
        (Some(Helps::Day), Face::Screen) => "Say one for every line that has none: date=2026-11-27.",
        (Some(Helps::LastTopping), Face::Desk) => "Where they were topped on one day, say --set topped=2026-11-27.",
        (Some(Helps::LastTopping), Face::Screen) => {
            "Where they were topped on one day, say it for every line: topped=2026-11-27."
        }
        (Some(Helps::WhatItNames), Face::Desk) => "Say with --column which of them the column is.",
        (Some(Helps::WhatItNames), Face::Screen) => "Say at its column which of them it is.",
        (Some(Helps::NotTheSample), Face::Desk) => "If it is the laboratory's own number, say --column sample=0.",
        (Some(Helps::NotTheSample), Face::Screen) => {
            "If it is the laboratory's own number, say at its column that it is not taken in."
        }
    };
    format!("{sentence} {helps}")
}

/// The lines that cannot be taken, a cause once however many lines have it: `line 3: It names no barrel. The same of the lines 5 to 9.`
#[must_use]
pub fn refused(proposal: &Proposal, face: Face) -> Vec<String> {
    let mut causes: Vec<(String, Vec<&(u64, Remark)>)> = Vec::new();
    let mut at: HashMap<String, usize> = HashMap::new();
    for line in &proposal.refused {
        let cause = cause(&line.1.sentence);
        let at = *at.entry(cause).or_insert_with_key(|cause| {
            causes.push((cause.clone(), Vec::new()));
            causes.len() - 1
        });
        causes[at].1.push(line);
    }
    let word = proposal.line_word();
    let alone = |(line, why): &(u64, Remark)| format!("{word} {line}: {}", harmless(&remark(why, face)));
    let told = |(_, lines): &(String, Vec<&(u64, Remark)>)| {
        let differ = lines.iter().any(|(_, why)| why.sentence != lines[0].1.sentence);
        // What stands in each of a few is wanted; of many it is in the file.
        let each = lines.len() == 1 || (differ && lines.len() <= FEW);
        if each {
            return lines.iter().map(|line| alone(line)).collect::<Vec<_>>();
        }
        let others: Vec<u64> = lines.iter().skip(1).map(|(line, _)| *line).collect();
        vec![format!("{} The same of {}.", alone(lines[0]), named(word, &others))]
    };
    causes.iter().flat_map(told).collect()
}

/// What is the same in a sentence about other things: without what stands between quotation marks, and without labels and numbers.
fn cause(sentence: &str) -> String {
    let outside = sentence.split('\'').step_by(2).flat_map(str::split_whitespace);
    outside.filter(|word| !word.contains(|sign: char| sign.is_ascii_digit())).collect::<Vec<_>>().join(" ")
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
