//! `import`: a spreadsheet is read, what cannot be told of it is asked, and what it comes to is entered as one act.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use serde_json::{Value, json};

use crate::cellar::core::fact::What;
use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cli::arguments::{Format, ImportArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::full_screen::who;
use crate::cli::table::text_table::wrapped;
use crate::desk::{Access, Admitted, Desk, Imported, Importing, NotTaken, Surprises};
use crate::import::mapping::Mapping;
use crate::import::{Proposal, Proposed, propose};
use crate::spreadsheet::{Grid, MOST_BYTES, Source};
use crate::told::meant::with_hint;
use crate::units::{Volume, by_count, counted, litres};

/// So many refused lines are named; of more only the count is told.
const MOST_NAMED: usize = 20;
/// So many facts are shown of those that would be entered.
const SHOWN: usize = 4;

/// What a file came to.
struct CameTo {
    source: Source,
    proposal: Proposal,
    /// The facts that it proposes.
    facts: Vec<Imported>,
    /// How many of them were entered; none where something is asked, refused, or only tried.
    entered: usize,
    /// What surprises about them.
    asked: Vec<Question>,
}

impl Counter<'_, '_> {
    /// Takes in a spreadsheet.
    pub fn import(&mut self, cellar: &Path, asked: &ImportArguments) -> Outcome {
        let name = harmless(&asked.file.to_string_lossy());
        let bytes = bytes(&asked.file, &name)?;
        let grid = Grid::read(&bytes, &asked.wanted());
        let grid = grid.map_err(|why| Complaint::Refused(format!("{name} cannot be read. {why}")))?;
        drop(bytes);
        let access = if asked.dry_run { Access::ReadOnly } else { Access::ReadWrite };
        self.at_desk(
            cellar,
            access,
            |desk, now| take_in(desk, grid, asked, now),
            |counter, _, came_to| {
                if asked.dry_run {
                    counter.show(&came_to, asked.format)?;
                }
                counter.tell(&came_to, asked)
            },
        )
    }

    /// Shows how a file was read and what it would come to.
    fn show(&mut self, came_to: &CameTo, format: Format) -> Outcome {
        match format {
            Format::Json => Ok(writeln!(self.out, "{}", as_json(came_to))?),
            Format::Table | Format::Csv => {
                Ok(in_words(came_to).iter().try_for_each(|line| writeln!(self.out, "{line}"))?)
            }
        }
    }

    /// Says what is left away, what is asked, what cannot be taken, and what was entered.
    fn tell(&mut self, came_to: &CameTo, asked: &ImportArguments) -> Outcome {
        let CameTo { proposal, entered, .. } = came_to;
        for warning in &proposal.warnings {
            self.saying.message(warning);
        }
        if !proposal.questions.is_empty() {
            for question in &proposal.questions {
                self.saying.message(&format!("{question} Say {}.", question.option()));
            }
            let questions = counted(proposal.questions.len(), "question");
            let are = by_count(proposal.questions.len(), "is to be answered", "are to be answered");
            return Err(Complaint::Refused(format!("Nothing was entered. {questions} {are} first.")));
        }
        if proposal.refused.is_empty() || asked.keep_good {
            asked.entering.ask(&came_to.asked)?;
        }
        if *entered > 0 || (!asked.dry_run && proposal.refused.is_empty()) {
            let known = match proposal.known {
                0 => String::new(),
                known => format!("; {} already known", counted(known, "line")),
            };
            writeln!(self.out, "{} entered{known}", counted(*entered, "fact"))?;
        }
        if proposal.refused.is_empty() { Ok(()) } else { Err(self.refused(proposal, *entered > 0)) }
    }

    /// Names the lines that cannot be taken.
    fn refused(&mut self, proposal: &Proposal, others_were: bool) -> Complaint {
        let (refused, word) = (&proposal.refused, proposal.line_word());
        for (line, why) in refused.iter().take(MOST_NAMED) {
            self.saying.plain(&format!("{word} {line}: {why}"));
        }
        if refused.len() > MOST_NAMED {
            self.saying.plain(&format!("… and {} more", refused.len() - MOST_NAMED));
        }
        let lines = counted(refused.len(), word);
        let it = by_count(refused.len(), "it", "them");
        Complaint::Refused(if others_were {
            format!("{lines} cannot be taken; the others were.")
        } else {
            format!("{lines} cannot be taken, so nothing was entered. Mend {it}, or take the others with --keep-good.")
        })
    }
}

/// Reads what a table comes to, and enters it where nothing is asked and all of it, or what is good of it, can be taken.
fn take_in(desk: &mut Desk, grid: Grid, asked: &ImportArguments, now: Moment) -> Outcome<CameTo> {
    let mut proposal = understood(desk, &grid, asked)?;
    let by = who(asked.entering.by.as_deref())?;
    let importing = Importing { by: &by, since: asked.entering.since(now)?, now };
    let proposed = std::mem::take(&mut proposal.facts).into_iter();
    let proposed: Vec<Imported> =
        proposed.map(|Proposed { line, at, by, what }| Imported { line, at, by, what }).collect();
    let all = proposed.len();
    let facts = desk.not_known(proposed, now)?;
    proposal.known += all - facts.len();
    let facts = desk.with_declarations(facts, importing)?;
    // What cannot be read is told together with what the cellar refuses, so that the person mends the file once.
    let is_whole = proposal.refused.is_empty() || asked.keep_good;
    let admitted = if !proposal.questions.is_empty() {
        // What the cellar would refuse may follow from what is not answered yet.
        Admitted::default()
    } else if asked.dry_run || !is_whole {
        desk.rehearse_import(&facts, importing)?
    } else {
        let surprises = if asked.entering.sure { Surprises::AskedBefore } else { Surprises::Asked };
        desk.import(&facts, importing, (asked.keep_good, surprises))?
    };
    let said = |why: &NotTaken| match why {
        NotTaken::Refused(refusal) => with_hint(refusal, desk.state()),
        other => other.to_string(),
    };
    proposal.refused.extend(admitted.refused.iter().map(|(line, why)| (*line, said(why))));
    proposal.refused.sort_by_key(|(line, _)| *line);
    proposal.refused.dedup_by_key(|(line, _)| *line);
    Ok(CameTo { source: grid.source, proposal, facts, entered: admitted.taken.len(), asked: admitted.asked })
}

/// What a table comes to by what is said of it now, and was said of it before.
fn understood(desk: &Desk, grid: &Grid, asked: &ImportArguments) -> Outcome<Proposal> {
    let table = asked.table.table();
    let Some(file) = &asked.mapping else { return Ok(propose(table, grid, &asked.answers(), desk.state())) };
    let name = harmless(&file.to_string_lossy());
    let refused = |why: String| Complaint::Refused(format!("The mapping {name} {why}"));
    let kept = match std::fs::read_to_string(file) {
        Ok(text) => {
            let mapping: Mapping = serde_json::from_str(&text).map_err(|error| {
                refused(format!("cannot be read: {error}. Take it away, and what is said now is kept."))
            })?;
            Some(mapping)
        }
        Err(error) if error.kind() == io::ErrorKind::NotFound => None,
        Err(error) => return Err(refused(format!("could not be read: {error}."))),
    };
    let answers = kept.as_ref().map_or_else(|| asked.answers(), |kept| kept.under(asked.answers()));
    let proposal = propose(table, grid, &answers, desk.state());
    match kept {
        Some(kept) => kept
            .fits(table, &proposal)
            .map_err(|other| refused(format!("is for another table. {other} Name another file for it.")))?,
        None if proposal.questions.is_empty() && !asked.dry_run => {
            let text = serde_json::to_string_pretty(&Mapping::of(table, &proposal, &answers)).unwrap_or_default();
            std::fs::write(file, text + "\n").map_err(|error| refused(format!("could not be written: {error}.")))?;
        }
        None => {}
    }
    Ok(proposal)
}

/// How the cells were told apart: coding, delimiter and sheet.
fn read_by(source: &Source) -> (Option<String>, Option<String>, Option<&str>) {
    match source {
        Source::Text { encoding, delimiter } => (Some(encoding.to_string()), Some(delimiter.to_string()), None),
        Source::Sheet { name, .. } => (None, None, Some(name)),
    }
}

fn as_json(came_to: &CameTo) -> Value {
    let CameTo { source, proposal, facts, .. } = came_to;
    let (encoding, delimiter, sheet) = read_by(source);
    let columns = proposal.columns.iter().map(|column| json!({"column": column.title, "field": column.field}));
    let questions = proposal
        .questions
        .iter()
        .map(|question| json!({"question": question.to_string(), "option": question.option()}));
    let refused = proposal.refused.iter().map(|(line, why)| json!({"line": line, "why": why}));
    json!({
        "delimiter": delimiter,
        "encoding": encoding,
        "sheet": sheet,
        "header_row": if proposal.turned { None } else { proposal.head },
        "turned": proposal.turned,
        "decimal": proposal.decimal.map(|sign| sign.to_string()),
        "dates": proposal.dates.map(|order| order.to_string()),
        "columns": columns.collect::<Vec<_>>(),
        "questions": questions.collect::<Vec<_>>(),
        "warnings": proposal.warnings,
        "facts": facts.len(),
        "known": proposal.known,
        "refused": refused.collect::<Vec<_>>(),
    })
}

fn in_words(came_to: &CameTo) -> Vec<String> {
    let CameTo { source, proposal, facts, .. } = came_to;
    let (encoding, delimiter, sheet) = read_by(source);
    let read = match sheet {
        Some(sheet) => format!("sheet '{}'", harmless(sheet)),
        None => format!("{}, cells parted by a {}", encoding.unwrap_or_default(), delimiter.unwrap_or_default()),
    };
    let line = proposal.line_word();
    let head = proposal.head.map_or_else(|| "no head".to_owned(), |head| format!("head in {line} {head}"));
    let signs = proposal.decimal.map(|sign| format!("decimal {sign}"));
    let dates = proposal.dates.map(|order| format!("dates {order}"));
    let how: Vec<String> = [read, head].into_iter().chain(signs).chain(dates).collect();
    let mut lines = vec![how.join("; ")];
    lines.extend(proposal.columns.iter().map(|column| {
        let field = column.field.as_deref().unwrap_or("(not taken in)");
        format!("  {:<24} {field}", harmless(&column.title))
    }));
    for fact in facts.iter().take(SHOWN) {
        let day = fact.at.map(|at| format!("{}, ", at.day)).unwrap_or_default();
        let said = format!("{} {}: {day}{}", proposal.line_word(), fact.line, preview(&fact.what));
        lines.extend(wrapped(&said, 100));
    }
    let known = counted(proposal.known, "line");
    lines.push(format!("{} would be entered; {known} already known", counted(facts.len(), "fact")));
    lines
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
