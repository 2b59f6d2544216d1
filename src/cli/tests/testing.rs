//! `test`: what a laboratory found, in a line.

use std::collections::BTreeMap;
use std::path::Path;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Text, harmless};
use crate::cellar::core::question::Question;
use crate::cellar::core::state::State;
use crate::cellar::jobs::tests::testing::declared::AnalyteDeclared;
use crate::cellar::jobs::tests::testing::{Readings, Tested};
use crate::cli::arguments::{AcidWord, TestArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::core::entering::Dated;
use crate::cli::core::who::who;
use crate::desk::{Access, Desk, Imported, Importing, NotTaken, Surprises};
use crate::import::analytes::{called, is_acid_open, written, written_of_house};
use crate::import::tests::Of;
use crate::reckon::material::plain;
use crate::told::meant::with_hint;
use crate::told::tests::{found, kept_as_bound};

impl Counter<'_, '_> {
    /// Enters what was found, or says what that would be.
    pub(in crate::cli) fn test(&mut self, cellar: &Path, asked: &TestArguments) -> Outcome {
        let access = if asked.dry_run { Access::ReadOnly } else { Access::ReadWrite };
        let by = who(asked.entering.by.as_deref())?;
        let dated = if asked.dry_run { Dated::Otherwise } else { asked.entering.dated() };
        self.at_desk_dated(
            cellar,
            (access, dated),
            |desk, now| {
                let (tested, below) = tested(desk.state(), asked)?;
                let note = (!below.is_empty()).then(|| Text::new(&below.join("; "))).transpose();
                let note = note.map_err(|error| Complaint::Refused(error.to_string()))?;
                let words = found(desk.state(), &tested);
                let since = asked.entering.at(now)?.unwrap_or(now);
                let fact = Imported { line: 1, at: None, by: None, what: What::Tested(Box::new(tested)), note };
                let importing = Importing { by: &by, since, now };
                let facts = desk.with_declarations(vec![fact], importing)?;
                enter(desk, &facts, asked, importing)?;
                Ok((words, below))
            },
            |counter, _, (words, below)| {
                writeln!(counter.out, "{words}")?;
                if !below.is_empty() {
                    counter.saying.message(&kept_as_bound(&below));
                }
                Ok(())
            },
        )
    }
}

fn enter(desk: &mut Desk, facts: &[Imported], asked: &TestArguments, importing: Importing<'_>) -> Outcome {
    let surprises = if asked.entering.sure { Surprises::AskedBefore } else { Surprises::Asked };
    let admitted = if asked.dry_run {
        desk.rehearse_import(facts, importing)?
    } else {
        desk.import(facts, importing, (false, surprises))?
    };
    match admitted.refused.first() {
        Some((_, NotTaken::Refused(refusal))) => Err(Complaint::Refused(with_hint(refusal, desk.state()))),
        Some((_, other)) => Err(Complaint::Refused(other.to_string())),
        None => asked.entering.ask(&admitted.asked),
    }
}

/// The test that is meant, and what of it is less than can be told, in words.
fn tested(state: &State, asked: &TestArguments) -> Outcome<(Tested, Vec<String>)> {
    let refused = |why: String| Complaint::Refused(format!("{why}."));
    let of = match asked.thing {
        Some(thing) => thing.of(),
        None => Of::called(&asked.of, state)
            .map_err(|why| refused(format!("{why}. Say with --as which of them is meant")))?
            .ok_or_else(|| refused(format!("No vessel, lot or sample is called '{}'", asked.of)))?,
    };
    let acid = asked.acid.map(AcidWord::acid).or(state.practice.acid_unit);
    let (mut readings, mut values, mut below) = (Readings::default(), BTreeMap::new(), Vec::new());
    for (name, number) in &asked.results {
        let twice = || refused(format!("'{}' is said twice", harmless(name)));
        if let Some(house) = of_house(state, name) {
            let figure = written_of_house(house, number).map_err(refused)?;
            below.extend(figure.below);
            if values.insert(house.analyte.clone(), figure.value).is_some() {
                return Err(twice());
            }
            continue;
        }
        let analyte = called(name).ok_or_else(|| {
            refused(format!("'{}' is nothing that is tested here: say ph, free, total, ta, va, alcohol, malic and so on, or declare it first (`declare analyte`)", harmless(name)))
        })?;
        if readings.of(analyte).is_some() {
            return Err(twice());
        }
        if !asked.entering.sure && is_acid_open(analyte, number, acid) {
            asked.entering.ask(&[Question::WhichAcid { analyte }])?;
        }
        let figure = written(analyte, number, acid).map_err(refused)?;
        below.extend(figure.below);
        readings.set(analyte, figure.value);
    }
    let values = (!values.is_empty()).then_some(values);
    Ok((Tested { lab: asked.lab.clone(), ..of.tested(asked.of.clone(), readings, values) }, below))
}

/// What the house declares by a name.
fn of_house<'s>(state: &'s State, name: &str) -> Option<&'s AnalyteDeclared> {
    let plainly = plain(name);
    state.house_analytes.iter().find(|house| plain(house.analyte.as_str()) == plainly)
}
