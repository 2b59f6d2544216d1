//! The results of a day as a sheet: what this house has its wines tested for, and which tests are still open for more.

use std::collections::HashMap;

use chrono::NaiveDate;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::tests::testing::{Analyte, KeptTests, Test, Tested};

/// In this order stands what is tested as often: as laboratories print it.
const PRINTED: [Analyte; 14] = [
    Analyte::Ph,
    Analyte::TitratableAcidity,
    Analyte::VolatileAcidity,
    Analyte::FreeSo2,
    Analyte::TotalSo2,
    Analyte::Alcohol,
    Analyte::Sugar,
    Analyte::Malic,
    Analyte::Lactic,
    Analyte::Tartaric,
    Analyte::Potassium,
    Analyte::Turbidity,
    Analyte::Oxygen,
    Analyte::Temperature,
];

/// Something that a wine is tested for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Finding {
    /// What every laboratory reports.
    Known(Analyte),
    /// What the house declares, by its name.
    OfHouse(Label),
}

impl Finding {
    /// What a fact says of it.
    #[must_use]
    pub fn said_by(&self, tested: &Tested) -> Option<f64> {
        match self {
            Finding::Known(analyte) => tested.readings.of(*analyte),
            Finding::OfHouse(name) => tested.values.as_ref()?.get(name).copied(),
        }
    }

    /// What a test found of it.
    #[must_use]
    pub fn found_by(&self, test: &Test) -> Option<f64> {
        match self {
            Finding::Known(analyte) => test.readings.of(*analyte),
            Finding::OfHouse(name) => test.values.iter().find(|(of, _)| of == name).map(|(_, value)| *value),
        }
    }

    /// Lets a fact say a value of it, or none.
    pub fn say(&self, tested: &mut Tested, value: Option<f64>) {
        match (self, value) {
            (Finding::Known(analyte), Some(value)) => tested.readings.set(*analyte, value),
            (Finding::Known(analyte), None) => tested.readings.clear(*analyte),
            (Finding::OfHouse(name), Some(value)) => {
                tested.values.get_or_insert_default().insert(name.clone(), value);
            }
            (Finding::OfHouse(name), None) => {
                tested.values.as_mut().and_then(|values| values.remove(name));
                tested.values.take_if(|values| values.is_empty());
            }
        }
    }

    /// What it is called.
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Finding::Known(analyte) => analyte.name(),
            Finding::OfHouse(name) => name.as_str(),
        }
    }
}

impl State {
    /// All that is tested here, what was tested most first.
    #[must_use]
    pub fn findings_by_use(&self) -> Vec<Finding> {
        let mut known = [0_usize; PRINTED.len()];
        let mut of_house: HashMap<&Label, usize> = HashMap::new();
        for (told, test) in self.lots.iter().flat_map(|(_, lot)| lot.tests.iter()) {
            for (analyte, count) in PRINTED.iter().zip(&mut known) {
                *count += usize::from(told.analytes.has(*analyte));
            }
            for (name, _) in &test.values {
                *of_house.entry(name).or_default() += 1;
            }
        }
        let declared = self.house_analytes.iter().map(|house| {
            let count = of_house.get(&house.analyte).copied().unwrap_or(0);
            (count, Finding::OfHouse(house.analyte.clone()))
        });
        let known = PRINTED.into_iter().zip(known).map(|(analyte, count)| (count, Finding::Known(analyte)));
        let mut findings: Vec<(usize, Finding)> = known.chain(declared).collect();
        findings.sort_by_key(|(count, _)| std::cmp::Reverse(*count));
        findings.into_iter().map(|(_, finding)| finding).collect()
    }

    /// Whether nothing was done to the wine of a test on its day after it: what is found then is of the same wine.
    #[must_use]
    pub fn is_same_wine_that_day(&self, test: &Test) -> bool {
        let after = |at: Moment| at.instant() > test.at.instant() && at.date() == test.at.date();
        let changed = |id| self.vessels.get(id).changes.iter().any(|change| after(change.at));
        !test.vessels.iter().any(|&id| changed(id))
    }
}

impl KeptTests {
    /// The tests of a day, the last first.
    pub fn of_day(&self, day: NaiveDate) -> impl Iterator<Item = &Test> {
        let tests = self.iter().rev().map(|(_, test)| test);
        tests.take_while(move |test| test.at.date() >= day).filter(move |test| test.at.date() == day)
    }
}
