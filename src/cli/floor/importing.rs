//! `import`: a spreadsheet is read, what cannot be told of it is asked, and what it comes to is entered as one act.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use serde_json::{Value, json};

use crate::cellar::core::fact::What;
use crate::cellar::core::label::harmless;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::State;
use crate::cli::arguments::{Format, ImportArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::core::suggestion::with_hint;
use crate::cli::full_screen::who;
use crate::desk::{Desk, Imported, Importing, NotTaken, Surprises};
use crate::import::{Proposal, Proposed, propose};
use crate::spreadsheet::{Grid, MOST_BYTES, Source, Unreadable};
use crate::units::{Volume, by_count, counted, litres};

/// So many refused lines are named; of more only the count is told.
const MOST_NAMED: usize = 20;

impl Counter<'_, '_> {
    /// Takes in a spreadsheet.
    pub fn import(&mut self, cellar: &Path, asked: &ImportArguments) -> Outcome {
        let name = harmless(&asked.file.to_string_lossy());
        let unreadable = |why: &Unreadable| Complaint::Refused(format!("{name} cannot be read. {why}"));
        let bytes = bytes(&asked.file, &name)?;
        let grid = Grid::read(&bytes, &asked.wanted()).map_err(|why| unreadable(&why))?;
        drop(bytes);
        let mut desk = self.desk_to_try(cellar, asked.dry_run)?;
        let mut proposal = propose(asked.table.table(), &grid, &asked.answers(), desk.state());
        let by = who(asked.entering.by.as_deref())?;
        let importing = Importing { by: &by, since: asked.at.unwrap_or(self.now), now: self.now };
        let facts = std::mem::take(&mut proposal.facts).into_iter();
        let facts = facts.map(|Proposed { line, at, by, what }| Imported { line, at, by, what });
        let proposed: Vec<Imported> = facts.collect();
        let lines = proposed.len();
        let facts = desk.not_known(proposed, self.now)?;
        proposal.known += lines - facts.len();
        let all_there = proposal.refused.is_empty() || asked.keep_good;
        let mut surprises = Vec::new();
        // What cannot be taken by itself is told together with what the cellar refuses, so that the person mends the file once.
        if asked.dry_run || !all_there || !proposal.questions.is_empty() {
            surprises = refuse(&mut desk, &mut proposal, &facts, importing)?;
        }
        if asked.dry_run {
            self.show(&grid, &proposal, &facts, asked.format)?;
            if asked.format == Format::Table {
                self.tell(&proposal);
            }
            self.ask(&proposal)?;
            return asked.entering.ask(&surprises);
        }
        self.tell(&proposal);
        self.ask(&proposal)?;
        if !all_there {
            return Err(self.refused(&proposal, false));
        }
        let surprises = if asked.entering.sure { Surprises::AskedBefore } else { Surprises::Asked };
        let admitted = desk.import(&facts, importing, (asked.keep_good, surprises))?;
        let refused = admitted.refused.iter().map(|(line, why)| (*line, said(why, desk.state())));
        proposal.refused.extend(refused);
        asked.entering.ask(&admitted.asked)?;
        if admitted.taken.is_empty() && !proposal.refused.is_empty() {
            return Err(self.refused(&proposal, false));
        }
        let known = match proposal.known {
            0 => String::new(),
            known => format!("; {} already known", counted(known, "line")),
        };
        writeln!(self.out, "{} entered{known}", counted(admitted.taken.len(), "fact"))?;
        if proposal.refused.is_empty() { Ok(()) } else { Err(self.refused(&proposal, true)) }
    }

    /// Shows how a file was read and what it would come to.
    fn show(&mut self, grid: &Grid, proposal: &Proposal, facts: &[Imported], format: Format) -> Outcome {
        let (encoding, delimiter, sheet) = match &grid.source {
            Source::Text { encoding, delimiter } => (Some(encoding.to_string()), Some(delimiter.to_string()), None),
            Source::Sheet { name, .. } => (None, None, Some(name.clone())),
        };
        let columns: Vec<_> =
            proposal.columns.iter().map(|column| json!({"column": column.title, "field": column.field})).collect();
        let questions: Vec<_> = proposal
            .questions
            .iter()
            .map(|question| json!({"question": question.to_string(), "option": question.option()}))
            .collect();
        let refused: Vec<_> = proposal.refused.iter().map(|(line, why)| json!({"line": line, "why": why})).collect();
        if format == Format::Json {
            let told = json!({
                "delimiter": delimiter,
                "encoding": encoding,
                "sheet": sheet,
                "header_row": proposal.head,
                "decimal": proposal.decimal.map(|sign| sign.to_string()),
                "dates": proposal.dates.map(|order| order.to_string()),
                "columns": columns,
                "questions": questions,
                "warnings": proposal.warnings,
                "facts": facts.len(),
                "known": proposal.known,
                "refused": refused,
            });
            return Ok(writeln!(self.out, "{told}")?);
        }
        let mut lines = vec![match (sheet, delimiter, encoding) {
            (Some(sheet), _, _) => format!("Sheet '{}'", harmless(&sheet)),
            (None, delimiter, encoding) => {
                format!("{}, by {}", encoding.unwrap_or_default(), delimiter.unwrap_or_default())
            }
        }];
        let head = proposal
            .head
            .map_or_else(|| "no line names the columns".to_owned(), |head| format!("line {head} names the columns"));
        lines.push(head);
        lines.extend(proposal.decimal.map(|sign| format!("decimal {sign}")));
        lines.extend(proposal.dates.map(|order| format!("dates {order}")));
        writeln!(self.out, "{}", lines.join("; "))?;
        for column in &proposal.columns {
            let field = column.field.unwrap_or("not taken in");
            writeln!(self.out, "  {:<24} {field}", harmless(&column.title))?;
        }
        for fact in facts.iter().take(4) {
            writeln!(self.out, "  line {}: {}", fact.line, preview(&fact.what))?;
        }
        let known = format!("{} already known", counted(proposal.known, "line"));
        Ok(writeln!(self.out, "{} would be entered; {known}", counted(facts.len(), "fact"))?)
    }

    /// Says what is left away.
    fn tell(&mut self, proposal: &Proposal) {
        for warning in &proposal.warnings {
            self.saying.message(warning);
        }
    }

    /// Refuses while something is asked.
    fn ask(&mut self, proposal: &Proposal) -> Outcome {
        if proposal.questions.is_empty() {
            return if proposal.refused.is_empty() { Ok(()) } else { Err(self.refused(proposal, false)) };
        }
        for question in &proposal.questions {
            self.saying.message(&format!("{question} Say {}.", question.option()));
        }
        let questions = counted(proposal.questions.len(), "question");
        Err(Complaint::Refused(format!(
            "Nothing was entered. {questions} {} first.",
            by_count(proposal.questions.len(), "is to be answered", "are to be answered")
        )))
    }

    /// Names the lines that cannot be taken.
    fn refused(&mut self, proposal: &Proposal, others_were: bool) -> Complaint {
        for (line, why) in proposal.refused.iter().take(MOST_NAMED) {
            self.saying.plain(&format!("line {line}: {why}"));
        }
        let refused = proposal.refused.len();
        if refused > MOST_NAMED {
            self.saying.plain(&format!("… and {} more", refused - MOST_NAMED));
        }
        let lines = counted(refused, "line");
        Complaint::Refused(if others_were {
            format!("{lines} cannot be taken; the others were.")
        } else {
            format!(
                "{lines} cannot be taken, so nothing was entered. Mend {}, or take the others with --keep-good.",
                by_count(refused, "it", "them")
            )
        })
    }
}

/// A fact as it would be entered, in a line.
fn preview(what: &What) -> String {
    let Ok(body) = what.body() else { return String::new() };
    let said = body.iter().filter_map(|(field, value)| {
        let words = match value {
            Value::Null => return None,
            Value::String(words) => words.clone(),
            other => other.to_string(),
        };
        Some(match (field.strip_suffix("_ul"), value.as_u64()) {
            (Some(field), Some(microlitres)) => format!("{field} {}", litres(Volume::from_ul(microlitres))),
            _ => format!("{field} {words}"),
        })
    });
    harmless(&said.collect::<Vec<_>>().join(", "))
}

/// Adds the lines that the cellar refuses. Gives what it would ask.
fn refuse(
    desk: &mut Desk,
    proposal: &mut Proposal,
    facts: &[Imported],
    importing: Importing<'_>,
) -> Outcome<Vec<Question>> {
    let rehearsed = desk.rehearse_import(facts, importing)?;
    proposal.refused.extend(rehearsed.refused.iter().map(|(line, why)| (*line, said(why, desk.state()))));
    proposal.refused.sort_by_key(|(line, _)| *line);
    proposal.refused.dedup_by_key(|(line, _)| *line);
    Ok(rehearsed.asked)
}

fn said(why: &NotTaken, state: &State) -> String {
    match why {
        NotTaken::Refused(refusal) => with_hint(refusal, state),
        other => other.to_string(),
    }
}

/// All bytes of a file, or of standard input.
fn bytes(file: &Path, name: &str) -> Outcome<Vec<u8>> {
    let unread = |error: io::Error| Complaint::Refused(format!("{name} could not be read: {error}."));
    let mut bytes = Vec::new();
    // One more than is taken, so that it is noticed and not cut.
    let most = MOST_BYTES + 1;
    if file == Path::new("-") {
        io::stdin().lock().take(most).read_to_end(&mut bytes).map_err(unread)?;
    } else {
        File::open(file).map_err(unread)?.take(most).read_to_end(&mut bytes).map_err(unread)?;
    }
    Ok(bytes)
}
