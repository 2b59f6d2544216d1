//! The book of facts of a measurement: one laptop writes them, one after the other.

use barrelwalk::cellar::core::evolve::evolve;
use barrelwalk::cellar::core::fact::{Device, FactId, Stamp, What};
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::cellar::core::state::State;
use serde_json::Value;

/// What becomes of a fact that is told.
pub trait Keep {
    /// Takes the next fact.
    fn keep(&mut self, id: FactId, at: Moment, kind: &str, fields: &Value);
}

/// Folds each fact at once.
impl Keep for State {
    fn keep(&mut self, id: FactId, at: Moment, kind: &str, fields: &Value) {
        let Ok(what) = What::from_body(kind, fields.to_string().as_bytes()) else { return };
        evolve(self, &Stamp::new(id, at), &what);
    }
}

/// A book of facts.
pub struct Book<K> {
    /// What was made of the facts.
    pub kept: K,
    /// How many facts there are.
    pub n: u64,
    /// When the last one happened; the next one does a step later.
    pub instant: i64,
    step: i64,
    device: Device,
}

impl<K: Keep> Book<K> {
    /// An empty book of a laptop, that begins at an instant; its facts are so many microseconds apart.
    pub fn new(kept: K, device: Device, instant: i64, step: i64) -> Book<K> {
        Book { kept, n: 0, instant, step, device }
    }

    /// Tells the next fact.
    pub fn tell(&mut self, kind: &str, fields: &Value) {
        self.n += 1;
        self.instant += self.step;
        let id = FactId { device: self.device.clone(), n: self.n };
        self.kept.keep(id, Moment::new(self.instant, 0), kind, fields);
    }
}
