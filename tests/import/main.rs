//! Spreadsheets as cellars keep them: read right, asked about or refused by line, whatever they are coded in and whatever their lines
//! end with.
#![allow(clippy::unwrap_used)]

#[path = "../support/given.rs"]
#[allow(dead_code)] // each test program uses its own part
mod given;
mod kept;
mod shapes;

use barrelwalk::cellar::core::state::State;
use barrelwalk::import::fields::Table;
use barrelwalk::import::{Answers, Proposal, propose};
use barrelwalk::spreadsheet::{Grid, Wanted};
use barrelwalk::told::Face;
use barrelwalk::told::floor::importing::remark;
use serde_json::{Value, json};

/// What a file would come to.
fn proposal(table: &'static Table, bytes: &[u8], answers: &Answers, state: &State) -> Proposal {
    let grid = Grid::read(bytes, &Wanted::default()).unwrap();
    propose(table, &grid, answers, state)
}

/// What a person said beforehand.
fn answers(constants: &[(&str, &str)], lay_out: bool) -> Answers {
    let constants = constants.iter().map(|(field, value)| ((*field).to_owned(), (*value).to_owned())).collect();
    Answers { constants, lay_out, ..Answers::default() }
}

/// A proposal in words.
fn told(proposal: &Proposal) -> String {
    let mut lines = vec![format!(
        "head {}, decimal {}, dates {}, {} known",
        proposal.head.map_or("none".to_owned(), |head| head.to_string()),
        proposal.decimal.map_or("none".to_owned(), |sign| sign.to_string()),
        proposal.dates.map_or("none".to_owned(), |order| order.to_string()),
        proposal.known,
    )];
    let columns =
        proposal.columns.iter().map(|column| format!("{} = {}", column.title, column.field.as_deref().unwrap_or("-")));
    lines.push(columns.collect::<Vec<_>>().join("; "));
    lines.extend(proposal.questions.iter().map(|question| format!("? {question} {}", question.option())));
    lines.extend(proposal.warnings.iter().map(|warning| format!("! {}", remark(warning, Face::Desk))));
    lines.extend(proposal.refused.iter().map(|(line, why)| format!("x {line}: {}", remark(why, Face::Desk))));
    for fact in &proposal.facts {
        let mut body = Value::Object(fact.what.body().unwrap().clone());
        body.as_object_mut().unwrap().retain(|_, value| !value.is_null() && *value != json!(0));
        lines.push(format!("{}: {body}", fact.line));
    }
    lines.join("\n")
}
