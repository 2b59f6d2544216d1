//! Tests as a vessel or a lot keeps them: in their order, each with what it tested beside it.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::{Analyte, Test};

/// Some of the things that are measured in a wine.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Analytes(u16);

impl Analytes {
    fn told_by(test: &Test) -> Analytes {
        let told = Analyte::ALL.into_iter().filter(|&analyte| test.readings.of(analyte).is_some());
        Analytes(told.fold(0, |bits, analyte| bits | bit(analyte)))
    }

    /// Whether one is among them.
    #[must_use]
    pub const fn has(self, analyte: Analyte) -> bool {
        self.0 & bit(analyte) != 0
    }

    /// These and others.
    #[must_use]
    pub const fn and(self, others: Analytes) -> Analytes {
        Analytes(self.0 | others.0)
    }

    /// These without others.
    #[must_use]
    pub const fn without(self, others: Analytes) -> Analytes {
        Analytes(self.0 & !others.0)
    }

    /// Each of them, in the order of a report.
    pub fn iter(self) -> impl Iterator<Item = Analyte> {
        Analyte::ALL.into_iter().filter(move |&analyte| self.has(analyte))
    }

    /// Whether there are none.
    #[must_use]
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }
}

const fn bit(analyte: Analyte) -> u16 {
    1 << analyte as u16
}

/// What a test tells of.
///
/// It stands beside the test, so that the last test of an analyte is found without opening all that lie behind it: in a
/// large cellar they lie all over the memory, and opening them takes longer than all else that a lot is reviewed by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Told {
    /// What was tested.
    pub analytes: Analytes,
    /// Whether it was tested of several vessels together.
    pub composite: bool,
}

impl Told {
    fn by(test: &Test) -> Told {
        Told { analytes: Analytes::told_by(test), composite: test.is_composite() }
    }
}

/// Tests in their order.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(from = "Vec<Arc<Test>>", into = "Vec<Arc<Test>>")]
pub struct KeptTests {
    tests: Vec<Arc<Test>>,
    /// What each of them tells of.
    told: Vec<Told>,
}

impl KeptTests {
    /// Keeps one more, and of all only so many.
    pub(in crate::cellar) fn keep(&mut self, test: Arc<Test>, most: usize) {
        if self.tests.len() >= most {
            self.tests.remove(0);
            self.told.remove(0);
        }
        self.told.push(Told::by(&test));
        self.tests.push(test);
    }

    /// How many are kept.
    #[must_use]
    pub fn len(&self) -> usize {
        self.tests.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.tests.is_empty()
    }

    /// All of them in their order, each with what it tells of.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (Told, &Test)> + ExactSizeIterator {
        self.told.iter().copied().zip(self.tests.iter().map(Arc::as_ref))
    }

    /// Every result of an analyte in their order, each with its test.
    #[must_use]
    pub fn of(&self, analyte: Analyte) -> impl DoubleEndedIterator<Item = (f64, &Test)> {
        let telling = self.iter().filter(move |(told, _)| told.analytes.has(analyte));
        telling.filter_map(move |(_, test)| Some((test.readings.of(analyte)?, test)))
    }

    /// The same of one kind only: of composites, or of single vessels. The others are not opened.
    #[must_use]
    pub fn of_kind(&self, analyte: Analyte, composite: bool) -> impl DoubleEndedIterator<Item = (f64, &Test)> {
        let telling = move |told: &Told| told.analytes.has(analyte) && told.composite == composite;
        let telling = self.iter().filter(move |(told, _)| telling(told));
        telling.filter_map(move |(_, test)| Some((test.readings.of(analyte)?, test)))
    }

    /// The last result of an analyte, with its test.
    #[must_use]
    pub fn last_of(&self, analyte: Analyte) -> Option<(f64, &Test)> {
        let at = self.told.iter().rposition(|told| told.analytes.has(analyte))?;
        let test = self.tests[at].as_ref();
        Some((test.readings.of(analyte)?, test))
    }
}

impl From<Vec<Arc<Test>>> for KeptTests {
    fn from(tests: Vec<Arc<Test>>) -> Self {
        KeptTests { told: tests.iter().map(|test| Told::by(test)).collect(), tests }
    }
}

impl From<KeptTests> for Vec<Arc<Test>> {
    fn from(kept: KeptTests) -> Self {
        kept.tests
    }
}
