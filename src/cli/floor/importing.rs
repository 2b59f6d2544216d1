//! `import`: a spreadsheet is read, what cannot be told of it is asked, and what it comes to is entered as one act.

use std::io;
use std::path::Path;

use serde_json::{Value, json};

use crate::cellar::core::label::{harmless, harmless_json};
use crate::cellar::core::moment::Moment;
use crate::cli::arguments::{Format, ImportArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::core::entering::Dated;
use crate::cli::core::who::who;
use crate::cli::table::text_table::wrapped;
use crate::desk::{Access, Desk, Importing, Surprises, Taking};
use crate::import::mapping::Mapping;
use crate::import::{Proposal, propose};
use crate::intake::{self, CameTo, mapping};
use crate::spreadsheet::{Grid, Source};
use crate::told::Face;
use crate::told::floor::importing as told;
use crate::units::by_count;

/// So many causes of refused lines are told; of more only the count.
const MOST_NAMED: usize = 20;
/// So many facts are shown of those that would be entered.
const SHOWN: usize = 4;
/// In so many columns they are told where there is no screen.
const READ_WITH_EASE: usize = 100;

impl Counter<'_, '_> {
    /// Takes in a spreadsheet.
    pub fn import(&mut self, cellar: &Path, asked: &ImportArguments) -> Outcome {
        let name = harmless(&asked.file.to_string_lossy());
        let grid = if asked.file == Path::new("-") {
            let bytes = intake::bytes(io::stdin().lock()).map_err(|error| intake::unread(&name, &error));
            bytes.and_then(|bytes| intake::table(&bytes, &name, &asked.wanted()))
        } else {
            intake::read(&asked.file, &asked.wanted())
        };
        let grid = grid.map_err(Complaint::Refused)?;
        let access = if asked.dry_run { Access::ReadOnly } else { Access::ReadWrite };
        let dated = if asked.dry_run { Dated::Otherwise } else { asked.entering.dated() };
        self.at_desk_dated(
            cellar,
            (access, dated),
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
            Format::Json => Ok(writeln!(self.out, "{}", harmless_json(&as_json(came_to).to_string()))?),
            Format::Table | Format::Csv => Ok(in_words(came_to, self.width.unwrap_or(READ_WITH_EASE))
                .iter()
                .try_for_each(|line| writeln!(self.out, "{line}"))?),
        }
    }

    /// Says what is left away, what is asked, what cannot be taken, and what was entered.
    fn tell(&mut self, came_to: &CameTo, asked: &ImportArguments) -> Outcome {
        let CameTo { proposal, entered, .. } = came_to;
        for warning in &proposal.warnings {
            self.saying.message(&told::remark(warning, Face::Desk));
        }
        if !proposal.questions.is_empty() {
            for question in &proposal.questions {
                self.saying.message(&format!("{question} Say {}.", question.option()));
            }
            return Err(Complaint::Refused(format!("Nothing was entered. {}.", told::open_questions(proposal))));
        }
        if proposal.refused.is_empty() || asked.keep_good {
            asked.entering.ask(&came_to.asked)?;
        }
        if *entered > 0 || (!asked.dry_run && proposal.refused.is_empty()) {
            writeln!(self.out, "{}", told::entered(*entered, proposal.known))?;
        }
        if proposal.refused.is_empty() { Ok(()) } else { Err(self.refused(proposal, *entered > 0)) }
    }

    /// Names the lines that cannot be taken.
    fn refused(&mut self, proposal: &Proposal, others_were: bool) -> Complaint {
        let causes = told::refused(proposal, Face::Desk);
        for cause in causes.iter().take(MOST_NAMED) {
            self.saying.plain(cause);
        }
        if causes.len() > MOST_NAMED {
            self.saying.plain(&format!("… and {} more", causes.len() - MOST_NAMED));
        }
        let cannot = told::cannot_be_taken(proposal);
        let it = by_count(proposal.refused.len(), "it", "them");
        Complaint::Refused(if others_were {
            format!("{cannot}; the others were.")
        } else {
            format!("{cannot}, so nothing was entered. Mend {it}, or take the others with --keep-good.")
        })
    }
}

/// Reads what a table comes to, and enters it where nothing is asked and all of it, or what is good of it, can be taken. What was said of
/// it is kept once the cellar has taken it.
fn take_in(desk: &mut Desk, grid: Grid, asked: &ImportArguments, now: Moment) -> Outcome<CameTo> {
    let (proposal, kept) = understood(desk, &grid, asked)?;
    let by = who(asked.entering.by.as_deref())?;
    let importing = Importing { by: &by, since: asked.entering.since(now)?, now };
    let surprises = if asked.entering.sure { Surprises::AskedBefore } else { Surprises::Asked };
    let taking = if asked.dry_run { Taking::Tried } else { Taking::Entered { keep_good: asked.keep_good, surprises } };
    let came_to = CameTo::of(desk, grid.source, proposal, importing, taking)?;
    if let Some((file, mapping)) = kept.filter(|_| !asked.dry_run && came_to.is_accepted()) {
        mapping::write(file, &mapping).map_err(Complaint::Refused)?;
    }
    Ok(came_to)
}

/// What a table comes to by what is said of it now and was said of it before, and what is to be kept of that where nothing is yet.
fn understood<'a>(
    desk: &Desk,
    grid: &Grid,
    asked: &'a ImportArguments,
) -> Outcome<(Proposal, Option<(&'a Path, Mapping)>)> {
    let table = asked.table.table();
    let Some(file) = &asked.mapping else { return Ok((propose(table, grid, &asked.answers(), desk.state()), None)) };
    let kept = mapping::read(file).map_err(Complaint::Refused)?;
    let answers = kept.as_ref().map_or_else(|| asked.answers(), |kept| kept.under(asked.answers()));
    let proposal = propose(table, grid, &answers, desk.state());
    let Some(kept) = kept else {
        let mapping = Mapping::of(table, &proposal, &answers);
        return Ok((proposal, Some((file, mapping))));
    };
    kept.fits(table, &proposal).map_err(|other| {
        Complaint::Refused(mapping::about(file, &format!("is for another table. {other} Name another file for it.")))
    })?;
    Ok((proposal, None))
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
    let words = |remark| told::remark(remark, Face::Desk);
    let refused = proposal.refused.iter().map(|(line, why)| json!({"line": line, "why": words(why)}));
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
        "warnings": proposal.warnings.iter().map(words).collect::<Vec<_>>(),
        "facts": facts.len(),
        "known": proposal.known,
        "refused": refused.collect::<Vec<_>>(),
    })
}

fn in_words(came_to: &CameTo, width: usize) -> Vec<String> {
    let CameTo { source, proposal, facts, .. } = came_to;
    let mut lines = vec![told::how_it_was_read(source, proposal)];
    lines.extend(proposal.columns.iter().map(|column| {
        let field = column.field.as_deref().unwrap_or("(not taken in)");
        format!("  {:<24} {field}", harmless(&column.title))
    }));
    for fact in facts.iter().take(SHOWN) {
        let said = told::would_be_entered(proposal, (fact.line, fact.at), &fact.what);
        lines.extend(wrapped(&said, width));
    }
    lines.push(told::count(facts.len(), proposal.known));
    lines
}
