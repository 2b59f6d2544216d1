//! `journal`: what was entered, by the day on which it happened, with who did it and whether it still counts.

use std::path::Path;

use crate::cellar::core::fact::Line;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cli::arguments::{JournalArguments, Reading};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::desk::{About, Desk, DeskError, Gone, JournalLine, Wanted};
use crate::forms;
use crate::reckon::acid_unit::AcidUnit;

/// A line as it is given out.
struct Told {
    line: Line,
    about: Option<Label>,
    text: String,
    gone: Option<Gone>,
    is_of_another_day: bool,
}

impl Counter<'_, '_> {
    /// Gives out the journal.
    pub(in crate::cli) fn journal(&mut self, cellar: &Path, asked: &JournalArguments) -> Outcome {
        if let (Some(from), Some(to)) = (asked.from, asked.to)
            && to.instant() < from.instant()
        {
            return Err(Complaint::Refused(DeskError::PeriodBackwards { from, to }.to_string()));
        }
        self.look_into(cellar, Reading::now(asked.format), |desk, _, page| {
            page.list(&columns(), &told(desk, asked)?, "Nothing was entered that fits.")
        })
    }
}

/// The lines that are wanted, in the order of the days by which they are asked for.
fn told(desk: &Desk, asked: &JournalArguments) -> Outcome<Vec<Told>> {
    let wanted = Wanted {
        by: asked.by.clone(),
        kind: asked.kind.map(str::to_owned),
        about: asked.about.iter().map(|label| About::of(desk.state(), label)).collect(),
    };
    let (from, to) = asked.day.map_or((asked.from, asked.to), |(first, last)| (Some(first), Some(last)));
    let from = from.map_or(i64::MIN, Moment::instant);
    let until = to.map_or(i64::MAX, |to| to.instant().saturating_add(1));
    let (mut lines, acid) = (Vec::new(), desk.state().practice.acid_unit);
    if asked.written {
        desk.journal(&wanted, (i64::MIN, i64::MAX), &mut |line| {
            if (from..until).contains(&line.line.written.instant()) {
                lines.push(Told::of(line, acid));
            }
        })?;
        lines.sort_by_key(|told| told.line.written.instant());
    } else {
        desk.journal(&wanted, (from, until), &mut |line| lines.push(Told::of(line, acid)))?;
    }
    Ok(lines)
}

impl Told {
    fn of(its: JournalLine, acid: Option<AcidUnit>) -> Told {
        let (about, is_of_another_day) = (its.about().cloned(), its.is_of_another_day());
        let turned = its.turns.as_ref().map(|turned| (&turned.what, turned.gives_back));
        let text = forms::said_line(&its.line.kind, its.what.as_ref(), turned, acid);
        Told { about, is_of_another_day, text, line: its.line, gone: its.gone }
    }

    /// Who took it back, as people read it.
    fn taken_back_by(&self) -> Cell {
        match &self.gone {
            None => Cell::Nothing,
            Some(Gone { by: Some(by) }) => format!("by {by}").into(),
            Some(Gone { by: None }) => "left out: damaged".into(),
        }
    }
}

fn columns() -> Vec<Column<Told>> {
    vec![
        Column::both("at", "on", |it: &Told| it.line.at.into()),
        Column::people("at", |it| it.line.at.show_time().into()),
        Column::both("by", "who", |it| (&it.line.by).into()),
        Column::both("text", "what", |it| it.text.clone().into()),
        Column::people("note", |it: &Told| it.line.note.as_ref().map(ToString::to_string).into()).sparse(),
        Column::people("taken back", Told::taken_back_by).sparse(),
        Column::people("entered", |it: &Told| it.is_of_another_day.then_some(it.line.written).into()).sparse(),
        Column::people("fact", |it| it.line.id.to_string().into()),
        Column::program("written", |it| it.line.written.into()),
        Column::program("device", |it| it.line.id.device.as_str().into()),
        Column::program("n", |it| it.line.id.n.into()),
        Column::program("kind", |it| Cell::Word(it.line.kind.to_string())),
        Column::program("about", |it: &Told| it.about.as_ref().into()),
        Column::program("note", |it: &Told| it.line.note.as_ref().map(ToString::to_string).into()),
        Column::program("job", |it: &Told| it.line.job.as_ref().into()),
        Column::program("taken_back", |it| it.gone.is_some().into()),
        Column::program("taken_back_by", |it: &Told| it.gone.as_ref().and_then(|gone| gone.by.as_ref()).into()),
    ]
}
