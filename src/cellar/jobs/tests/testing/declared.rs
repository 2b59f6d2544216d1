//! What a house has its wines tested for beyond what every laboratory reports: 4-ethylphenol and the like.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::Analyte;
use crate::cellar::core::fact::Stamp;
use crate::cellar::core::job::Job;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;

/// No laboratory gives more of anything (our choice).
const MOST: f64 = 1e9;

/// The fact `analyte_declared`: something that this house has its wines tested for. Said again it counts as it was said last,
/// whole, so that a limit can be given up.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AnalyteDeclared {
    /// What it is called.
    pub analyte: Label,
    /// In which unit it is given.
    pub unit: Label,
    /// The least that is wanted.
    #[serde(default)]
    pub low: Option<f64>,
    /// The most that is wanted.
    #[serde(default)]
    pub high: Option<f64>,
    /// What makes a wine suspect when more is found, as more than the most that is wanted does.
    #[serde(default)]
    pub warn: Option<f64>,
}

impl AnalyteDeclared {
    /// Above this a wine is suspect, in the unit of the analyte; none where the house sets no limit.
    #[must_use]
    pub fn limit(&self) -> Option<f64> {
        match (self.warn, self.high) {
            (Some(warn), Some(high)) => Some(warn.min(high)),
            (warn, high) => warn.or(high),
        }
    }

    /// What is said of it, in words: `given in µg/L, suspect above 425`.
    #[must_use]
    pub fn words(&self) -> String {
        let wanted = match (self.low, self.high) {
            (Some(low), Some(high)) => format!(", {low} to {high} wanted"),
            (Some(low), None) => format!(", at least {low} wanted"),
            (None, Some(high)) => format!(", at most {high} wanted"),
            (None, None) => String::new(),
        };
        let suspect = self.limit().map_or_else(|| ", no limit".to_owned(), |limit| format!(", suspect above {limit}"));
        format!("given in {}{wanted}{suspect}", self.unit)
    }
}

impl State {
    /// What this house says of something that it has its wines tested for.
    #[must_use]
    pub fn house_analyte(&self, analyte: &Label) -> Option<&AnalyteDeclared> {
        self.house_analytes.iter().find(|house| house.analyte == *analyte)
    }
}

/// Refuses a value that no laboratory gives.
pub(super) fn sane(analyte: &Label, value: f64) -> Result<(), Refusal> {
    if (0.0..=MOST).contains(&value) {
        return Ok(());
    }
    Err(Refusal::NoSuchValue { analyte: analyte.clone(), value })
}

impl Job for AnalyteDeclared {
    type Ready = ();

    fn ready(&self, _state: &State) -> Result<(), Refusal> {
        let name = self.analyte.as_str();
        if name.contains([',', ';', '=']) || !name.contains(char::is_alphabetic) || name.trim() != name {
            return Err(Refusal::BadAnalyte(self.analyte.clone()));
        }
        if let Some(known) = Analyte::ALL.into_iter().find(|known| known.name().eq_ignore_ascii_case(name)) {
            return Err(Refusal::AnalyteHasAField { analyte: self.analyte.clone(), field: known.field() });
        }
        for value in [self.low, self.high, self.warn].into_iter().flatten() {
            sane(&self.analyte, value)?;
        }
        match (self.low, self.high) {
            (Some(low), Some(high)) if low > high => Err(Refusal::LowAboveHigh(self.analyte.clone())),
            _ => Ok(()),
        }
    }

    fn questions(&self, state: &State, (): &(), _at: Moment) -> Vec<Question> {
        state.analyte_questions(&self.analyte)
    }

    fn apply(&self, state: &mut State, _stamp: &Stamp, (): ()) {
        let house = Arc::make_mut(&mut state.house_analytes);
        match house.iter_mut().find(|known| known.analyte == self.analyte) {
            Some(known) => *known = self.clone(),
            None => house.push(self.clone()),
        }
    }

    fn about(&self) -> Option<&Label> {
        Some(&self.analyte)
    }
}
