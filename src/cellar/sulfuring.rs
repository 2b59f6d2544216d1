//! Sulfur dioxide in a vessel as its last tests have it, by the model that the house reckons with.

use super::moment::Moment;
use super::state::{State, VesselId};
use super::testing::Analyte;
use crate::reckon::sulfur::{Balance, Model, Wine};

/// The last free sulfur dioxide of a vessel, and what of it is molecular.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SulfurState {
    /// Free, mg/L.
    pub free_mg_l: f64,
    /// When it was tested.
    pub at: Moment,
    /// Whether the test was of several vessels together.
    pub composite: bool,
    /// Molecular, mg/L, by the house's model; none where no pH is known, or the model does not reach this wine.
    pub molecular_mg_l: Option<f64>,
    /// By which model.
    pub model: Model,
}

impl State {
    /// The sulfur dioxide of a vessel at its last test of the free; none where it was never tested. pH, alcohol and
    /// temperature are the last that are known, from whichever test.
    #[must_use]
    pub fn sulfur_state(&self, vessel: VesselId) -> Option<SulfurState> {
        let (free_mg_l, test) = self.last_reading(vessel, Analyte::FreeSo2)?;
        let last = |analyte| self.last_reading(vessel, analyte).map(|(value, _)| value);
        let model = self.practice.so2_model;
        let molecular = |ph| {
            let wine = Wine { ph, alcohol_pct: last(Analyte::Alcohol), temperature_c: last(Analyte::Temperature) };
            Balance::new(model, wine).and_then(|balance| balance.molecular_mg_l(free_mg_l)).ok()
        };
        Some(SulfurState {
            free_mg_l,
            at: test.at,
            composite: test.is_composite(),
            molecular_mg_l: last(Analyte::Ph).and_then(molecular),
            model,
        })
    }
}
