//! A list of tastes: what was tasted in which vessel on which day, and by whom.

use super::dated::{ask_for_day, dated};
use super::head::Head;
use super::values::{Values, label, text, words};
use super::{Answers, Proposal, Proposed, Remark};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Text;
use crate::cellar::core::state::State;
use crate::cellar::jobs::tests::tasting::{Impression, Tasted};
use crate::reckon::material::plain;
use crate::spreadsheet::Line;
use crate::spreadsheet::number::number_of;

/// What may stand behind a score out of twenty, plainly.
const OF_TWENTY: [&str; 12] =
    ["", "20", "pts", "pt", "points", "puntos", "punti", "punkte", "p", "of20", "sur20", "outof20"];

/// Reads the list.
pub fn read(head: &Head<'_>, values: &Values, _answers: &Answers, state: &State, proposal: &mut Proposal) {
    if ask_for_day(head, proposal) {
        return;
    }
    let mut nothing: Vec<u64> = Vec::new();
    for line in &head.lines {
        match tasted(head, values, line, state) {
            Ok(Some(tasted)) => proposal.facts.push(tasted),
            Ok(None) => nothing.push(line.number),
            Err(why) => proposal.refuse(line.number, why),
        }
    }
    proposal.warn_of("Nothing was tasted by", &nothing);
}

/// The taste of a line; none where it says nothing.
fn tasted(head: &Head<'_>, values: &Values, line: &Line, state: &State) -> Result<Option<Proposed>, Remark> {
    let vessel = label(head, line, "vessel")?.ok_or("it names no vessel")?;
    let said = match words(head, line, "marks")? {
        Some(marks) => {
            Impression::read(&marks.replace(['/', '|', '\n'], ","), state).map_err(|error| error.to_string())?
        }
        None => Impression::default(),
    };
    // What is no mark of the house stays as words, before those of the line.
    let text = match (said.text, text(head, line, "text")?) {
        (Some(marks), Some(text)) => Some(Text::new(&format!("{marks}. {text}")).map_err(|error| error.to_string())?),
        (one, other) => one.or(other),
    };
    let score = score(head, values, line)?.or(said.score);
    if score.is_none() && said.marks.is_empty() && text.is_none() {
        return Ok(None);
    }
    let marks = (!said.marks.is_empty()).then_some(said.marks);
    dated(head, values, line, What::Tasted(Box::new(Tasted { vessel, score, marks, text }))).map(Some)
}

/// Whether a text is a score and no more: `14`, `13,5`, `14/20`.
#[must_use]
pub fn is_score(text: &str) -> bool {
    let (number, beside) = number_of(text);
    number.contains(|sign: char| sign.is_ascii_digit()) && OF_TWENTY.contains(&plain(beside).as_str())
}

fn score(head: &Head<'_>, values: &Values, line: &Line) -> Result<Option<f64>, String> {
    let Some((score, beside)) = values.measured(head, head.cell(line, "score"), head.column("score"))? else {
        return Ok(None);
    };
    if OF_TWENTY.contains(&plain(&beside).as_str()) {
        return Ok(Some(score));
    }
    Err(format!("a score of '{score} {beside}' is none from 0 to 20"))
}
