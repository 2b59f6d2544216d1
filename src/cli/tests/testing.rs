//! `test`: what a laboratory found, in a line.

use std::collections::BTreeMap;
use std::path::Path;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::state::State;
use crate::cellar::jobs::tests::testing::{Analyte, Readings, Tested};
use crate::cli::arguments::{AcidWord, TestArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::full_screen::who;
use crate::desk::{Access, Desk, Imported, Importing, NotTaken, Surprises};
use crate::import::analytes::{called, is_no_number, kept, kept_by_house, own_acid};
use crate::import::heading::AcidUnit;
use crate::import::tests::Of;
use crate::spreadsheet::number::{DecimalSign, number_of, plain};
use crate::told::meant::with_hint;
use crate::units::counted;

impl Counter<'_, '_> {
    /// Enters what was found, or says what that would be.
    pub(in crate::cli) fn test(&mut self, cellar: &Path, asked: &TestArguments) -> Outcome {
        let access = if asked.dry_run { Access::ReadOnly } else { Access::ReadWrite };
        let by = who(asked.entering.by.as_deref())?;
        self.at_desk(
            cellar,
            access,
            |desk, now| {
                let tested = tested(desk.state(), asked)?;
                let words = words(desk.state(), &tested);
                let since = asked.entering.at(now)?.unwrap_or(now);
                let fact = Imported { line: 1, at: None, by: None, what: What::Tested(Box::new(tested)) };
                let importing = Importing { by: &by, since, now };
                let facts = desk.with_declarations(vec![fact], importing)?;
                enter(desk, &facts, asked, importing)?;
                Ok(words)
            },
            |counter, _, words| Ok(writeln!(counter.out, "{words}")?),
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

/// The test that is meant.
fn tested(state: &State, asked: &TestArguments) -> Outcome<Tested> {
    let refused = |why: String| Complaint::Refused(format!("{why}."));
    let of = match asked.thing {
        Some(thing) => thing.of(),
        None => Of::called(&asked.of, state)
            .map_err(|why| refused(format!("{why}. Say with --as which of them is meant")))?
            .ok_or_else(|| refused(format!("No vessel, lot or sample is called '{}'", asked.of)))?,
    };
    let (mut readings, mut values) = (Readings::default(), BTreeMap::new());
    for (name, number) in &asked.results {
        let twice = || refused(format!("'{}' is said twice", harmless(name)));
        if let Some(house) = of_house(state, name) {
            let (number, beside) = figure(name, number).map_err(refused)?;
            let number = kept_by_house(house.1, number, beside).map_err(refused)?;
            if values.insert(house.0.clone(), number).is_some() {
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
        let (number, beside) = figure(name, number).map_err(refused)?;
        let acid = AcidUnit::said(beside).or_else(|| acid(analyte, asked.acid));
        readings.set(analyte, kept(analyte, number, beside, acid).map_err(refused)?);
    }
    let values = (!values.is_empty()).then_some(values);
    Ok(Tested { lab: asked.lab.clone(), ..of.tested(asked.of.clone(), readings, values) })
}

/// What the house declares by a name, with its unit.
fn of_house<'s>(state: &'s State, name: &str) -> Option<(&'s Label, &'s str)> {
    let plainly = crate::reckon::material::plain(name);
    let is_it = |analyte: &&Label| crate::reckon::material::plain(analyte.as_str()) == plainly;
    let house = state.house_analytes.iter().find(|house| is_it(&&house.analyte))?;
    Some((&house.analyte, house.unit.as_str()))
}

fn figure<'t>(name: &str, text: &'t str) -> Result<(f64, &'t str), String> {
    let refused = || format!("'{}' of {} is no number", harmless(text), harmless(name));
    if is_no_number(text) {
        return Err(refused());
    }
    let (number, beside) = number_of(text);
    // One hand typed it: a comma alone is a decimal one.
    let sign = if number.contains(',') && !number.contains('.') { DecimalSign::Comma } else { DecimalSign::Point };
    let number = plain(number, sign).and_then(|figures| figures.parse::<f64>().ok());
    number.filter(|number| number.is_finite()).map(|number| (number, beside)).ok_or_else(refused)
}

fn acid(analyte: Analyte, said: Option<AcidWord>) -> Option<AcidUnit> {
    let own = own_acid(analyte)?;
    said.map(AcidWord::acid).filter(|acid| *acid == AcidUnit::Sulfuric).or(Some(own))
}

/// What was understood: `M25, in 24 vessels: pH 3.52, free SO2 24 mg/L`.
fn words(state: &State, tested: &Tested) -> String {
    let found = Analyte::ALL.into_iter().filter_map(|analyte| {
        let value = tested.readings.of(analyte)?;
        let unit = if analyte.unit().is_empty() { String::new() } else { format!(" {}", analyte.unit()) };
        let acid = own_acid(analyte).map_or_else(String::new, |acid| format!(" as {}", acid.name()));
        Some(format!("{} {value}{unit}{acid}", analyte.name()))
    });
    let of_house = tested.values.iter().flatten().map(|(analyte, value)| {
        let unit = state.house_analyte(analyte).map_or("", |house| house.unit.as_str());
        format!("{analyte} {value} {unit}")
    });
    let found: Vec<String> = found.chain(of_house).collect();
    let label = [&tested.vessel, &tested.sample, &tested.lot].into_iter().flatten().next();
    let of = label.map(ToString::to_string).unwrap_or_default();
    let holding = tested.lot.as_ref().and_then(|lot| state.lots.find(lot.as_str())).map(|lot| {
        let count = state.vessels.iter().filter(|(_, vessel)| vessel.lot == Some(lot)).count();
        format!(", in {}", counted(count, "vessel"))
    });
    format!("{of}{}: {}", holding.unwrap_or_default(), found.join(", "))
}
