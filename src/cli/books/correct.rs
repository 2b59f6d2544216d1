//! `correct`: one fact is put right, whoever entered it, as one act.

use std::path::Path;

use chrono::NaiveDate;

use crate::cellar::core::decide::is_future;
use crate::cellar::core::fact::{FactId, What};
use crate::cellar::core::label::{Label, Text, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;
use crate::cli::arguments::CorrectArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::core::entering::{Dated, not_done};
use crate::cli::core::who::who;
use crate::desk::{Access, Amendment, Desk, JournalLine};
use crate::forms::{self, Filled, Form};

impl Counter<'_, '_> {
    /// Puts one fact right, or says what that would be. What is asked of it stands there either way.
    pub(in crate::cli) fn correct(&mut self, cellar: &Path, asked: &CorrectArguments) -> Outcome {
        let entering = &asked.entering;
        let by = who(entering.by.as_deref())?;
        let correct = |desk: &mut Desk, now: Moment| -> Outcome<_> {
            let was = line(desk, &asked.of)?;
            let amendment = amendment(desk.state(), &was, asked, now)?;
            let questions = desk.rehearse_amendment(&amendment, &by, now).map_err(|error| not_done(error, desk))?;
            if !asked.dry_run {
                entering.ask(&questions)?;
                desk.amend(&amendment, &by, now, None).map_err(|error| not_done(error, desk))?;
            }
            Ok((told(&was, &amendment), questions))
        };
        let access = if asked.dry_run { Access::ReadOnly } else { Access::ReadWrite };
        let dated = if asked.dry_run { Dated::Otherwise } else { Dated::ByTheClock { sure: entering.sure } };
        self.at_desk_dated(cellar, (access, dated), correct, |counter, _, (told, questions)| {
            if !asked.dry_run {
                return Ok(writeln!(counter.out, "Corrected: {told}.")?);
            }
            for question in &questions {
                counter.saying.message(&question.to_string());
            }
            Ok(writeln!(counter.out, "would be corrected: {told}.")?)
        })
    }
}

/// A fact of the log as the journal has it.
pub(super) fn line(desk: &Desk, of: &FactId) -> Outcome<JournalLine> {
    Ok(desk.journal_line_of(of)?.ok_or_else(|| Refusal::UnknownFact(of.clone()))?)
}

/// What it says now, and what stood there.
fn told(was: &JournalLine, amendment: &Amendment) -> String {
    let (old, new) = (was.what.as_ref().map(forms::said), amendment.what.as_ref().map(forms::said));
    let mut told = vec![new.clone().or_else(|| old.clone()).unwrap_or_default()];
    let moment = |at: Moment| format!("{}, {}", at.show_date(), at.show_time());
    told.extend(amendment.at.map(|at| format!("on {}, in place of {}", moment(at), moment(was.line.at))));
    told.extend(
        amendment
            .by
            .as_ref()
            .filter(|by| **by != was.line.by)
            .map(|by| format!("by {by}, in place of {}", was.line.by)),
    );
    if let (Some(old), Some(new)) = (&old, &new)
        && old != new
    {
        told.push(format!("in place of: {old}"));
    }
    harmless(&told.join("; "))
}

/// The correction that is said.
fn amendment(state: &State, was: &JournalLine, asked: &CorrectArguments, now: Moment) -> Outcome<Amendment> {
    let entering = &asked.entering;
    let mut amendment = Amendment { despite: entering.despite.clone(), ..Amendment::of(asked.of.clone()) };
    amendment.by = entering.by.as_deref().map(|by| who(Some(by))).transpose()?;
    amendment.note = entering.note.clone().map(Some);
    amendment.at = entering
        .at
        .map(|at| at.on_day_of(was.line.at, now))
        .transpose()
        .map_err(|error| Complaint::Refused(error.to_string()))?;
    if let Some(at) = amendment.at.filter(|at| is_future(*at, now)) {
        return Err(Refusal::Future { at, now }.into());
    }
    let (own, of_form): (Vec<_>, Vec<_>) =
        asked.fields.iter().partition(|(name, _)| matches!(name.as_str(), "who" | "by" | "note"));
    for (name, value) in own {
        let refused = |error: crate::cellar::core::label::TextError| Complaint::Refused(error.to_string());
        match (name.as_str(), value.as_str()) {
            ("note", "") => amendment.note = Some(None),
            ("note", words) => amendment.note = Some(Some(Text::new(words).map_err(refused)?)),
            (_, name) => amendment.by = Some(Label::new(name).map_err(refused)?),
        }
    }
    if let (false, Some(what)) = (of_form.is_empty(), &was.what) {
        amendment.what = Some(rewritten(state, what, &of_form, now.date())?);
    }
    Ok(amendment)
}

/// What a fact says with other values in its fields.
fn rewritten(state: &State, what: &What, fields: &[&(String, String)], today: NaiveDate) -> Outcome<What> {
    let refused = |why: String| Complaint::Refused(why);
    let form = forms::of_kind(what.kind()).filter(|form| form.filled_in().next().is_some());
    let form = form.ok_or_else(|| {
        let kind = forms::words_of(what.kind());
        refused(format!("A fact of the kind '{kind}' has no field to put right: --at, --note and who=NAME are, or undo takes it back."))
    })?;
    let filled = Filled::of(form, what).ok_or_else(|| refused("This fact cannot be read.".to_owned()))?;
    let mut filled = filled.on(today);
    for (name, value) in fields {
        let at = field(form, name).ok_or_else(|| {
            let names: Vec<String> = form.filled_in().map(|(_, field)| field.option()).collect();
            refused(format!("It has no field '{}'. It has {}, who and note.", harmless(name), names.join(", ")))
        })?;
        filled.write(at, value);
    }
    let whats = filled.whats(state).map_err(|mistake| refused(mistake.why))?;
    whats.into_iter().next().ok_or_else(|| refused("Nothing is said by that.".to_owned()))
}

/// A field by its name in the form or in the fact.
fn field(form: &'static Form, name: &str) -> Option<usize> {
    form.filled_in()
        .find(|(_, field)| field.option() == name || field.name == name || field.key == name)
        .map(|(at, _)| at)
}
