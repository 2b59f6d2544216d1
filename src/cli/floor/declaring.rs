//! `declare`: what this house says of its own words.

use std::path::Path;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::floor::practice::{LITRES_WANT, PracticeSet};
use crate::cellar::jobs::tests::material::MaterialDeclared;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::jobs::tests::testing::declared::AnalyteDeclared;
use crate::cellar::jobs::topping::kept_since::KeptSince;
use crate::cli::arguments::{AnalyteArguments, Declared, KeptSinceArguments, MaterialArguments, MaterialIs};
use crate::cli::core::complaint::Outcome;
use crate::cli::core::counter::Counter;
use crate::cli::core::entering::not_done;
use crate::cli::core::who::who;
use crate::desk::{Access, Act, Desk};
use crate::units::counted;

impl MaterialIs {
    /// An act that names a material, with what was said that it is before it.
    pub(in crate::cli) fn with(&self, state: &State, material: &Label, what: What) -> Outcome<Vec<What>> {
        let Some(class) = self.class else { return Ok(vec![what]) };
        let declared = state.material_answer(material, class, self.so2_pct)?;
        Ok(declared.map(|fact| What::MaterialDeclared(Box::new(fact))).into_iter().chain([what]).collect())
    }
}

/// What follows of a setting for what is typed and read.
pub(in crate::cli) fn follows(fact: &PracticeSet) -> Vec<String> {
    let numbers = fact.labels_are_numbers.map(|are_numbers| {
        if are_numbers { LITRES_WANT } else { "Plain numbers below 100 are litres in a round." }.to_owned()
    });
    let acids = fact.acid_unit.map(|acid| {
        let unit = |analyte: Analyte| analyte.read_as(Some(acid)).unit();
        let (titratable, volatile) = (unit(Analyte::TitratableAcidity), unit(Analyte::VolatileAcidity));
        format!("Titratable acidity is read and written in {titratable}, volatile acidity in {volatile}.")
    });
    numbers.into_iter().chain(acids).collect()
}

impl Counter<'_, '_> {
    /// Declares something of this house.
    pub(in crate::cli) fn declare(&mut self, cellar: &Path, declared: &Declared) -> Outcome {
        match declared {
            Declared::Material(asked) => self.declare_material(cellar, asked),
            Declared::Analyte(asked) => self.declare_analyte(cellar, asked),
            Declared::KeptSince(asked) => self.declare_kept_since(cellar, asked),
        }
    }

    fn declare_analyte(&mut self, cellar: &Path, asked: &AnalyteArguments) -> Outcome {
        let AnalyteArguments { analyte, unit, low, high, warn, entering } = asked;
        let (low, high, warn) = (*low, *high, *warn);
        let fact = AnalyteDeclared { analyte: analyte.clone(), unit: unit.clone(), low, high, warn };
        let words = fact.words();
        self.enter(cellar, entering, |_| Ok(vec![What::AnalyteDeclared(fact)]))?;
        Ok(writeln!(self.out, "{analyte} is {words}")?)
    }

    fn declare_kept_since(&mut self, cellar: &Path, asked: &KeptSinceArguments) -> Outcome {
        let KeptSinceArguments { what, room, lot, vessel, topped_on, entering } = asked;
        let (room, lot, vessel) = (room.clone(), lot.clone(), vessel.clone());
        let fact = KeptSince { what: what.recorded(), room, lot, vessel, topped_on: *topped_on };
        let since = entering.since(self.now)?;
        let what = What::KeptSince(Box::new(fact));
        let act = Act { at: Some(since), ..Act::of(vec![what], who(entering.by.as_deref())?) };
        let enter = |desk: &mut Desk, now| {
            entering.ask(&desk.state().questions(&act.whats, since))?;
            desk.enter(&act, now).map_err(|error| not_done(error, desk))
        };
        self.at_desk_dated(cellar, (Access::ReadWrite, entering.dated()), enter, |counter, desk, _| {
            let not_known = desk.state().vessels.iter().filter(|(_, vessel)| vessel.kept_since.is_some()).count();
            let (since, barrels) = (since.show_date(), counted(not_known, "barrel"));
            Ok(writeln!(counter.out, "written down since {since}; the last topping of {barrels} is not known")?)
        })
    }

    fn declare_material(&mut self, cellar: &Path, asked: &MaterialArguments) -> Outcome {
        let MaterialArguments { material, same_as, class, so2_pct, entering } = asked;
        let fact =
            MaterialDeclared { material: material.clone(), same_as: same_as.clone(), class: *class, so2_pct: *so2_pct };
        let desk = self.enter(cellar, entering, |_| Ok(vec![What::MaterialDeclared(Box::new(fact))]))?;
        let meant = desk.state().material(material.as_str());
        let words = meant.map_or_else(String::new, |meant| meant.words());
        let before =
            if meant.is_some_and(|it| it.is_sulfur()) { "; what was added of it before counts too" } else { "" };
        Ok(writeln!(self.out, "{material} is {words}{before}")?)
    }
}
