//! A trial at the bench: wines mixed in glasses of many ratios, tasted blind by a panel, opened once, blended.
//!
//! What the glasses hold is the key, and it is sealed: [`Trial::opened`] gives it after it is revealed and not
//! before. [`Trial::pouring`] gives it to whoever pours, and is for a page that says so and for nothing else.
//!
//! **The key of a trial** comes out of `Trial` by two doors only: `opened()`, which is none before the reveal, and `pouring()`, for a page
//! that says it is for whoever pours. Codes are given out rising, since the order of the glasses would tell of the design.
//!
//! **What a trial was laid out for** is text in its fact: `Region::bounds_in_words` and `limits_in_words`, semicolons between. A bound is
//! `T1=10..60%`, with what the tank could give; a limit is the person's words, a colon and the sum that they came to (`alcohol 13..14: 13
//! <= 13.1 T1 + 14.2 T2 <= 14`), so that it means the same whatever is tested later. `reckon::mixture::parse_bound` and `parse_limit` read
//! both back.
//!
//! **A trial is never closed again**: `Desk` refuses to take back a reveal, the trial it opened, or what was rated before it, and to give
//! back a rating that was taken back (`State::reveal_stands`). Undo stops there. A rating dated after the reveal (another laptop's) can go.

pub mod blending;
pub mod code;
pub mod laying_out;
pub mod outlook;
pub mod pouring;
pub mod rating;
pub mod reading;
pub mod refusal;
pub mod reveal;
pub mod said;
pub mod seal;
pub mod setting;

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use self::blending::Blend;
use self::code::Code;
use self::rating::Rating;
use self::refusal::TrialRefusal;
use self::reveal::Reveal;
use self::seal::Sealed;
use crate::cellar::core::fact::FactId;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State, TrialId, VesselId};
use crate::cellar::core::table::Labelled;
use crate::units::{Shares, Volume};

/// A trial. All of it may be seen while it is open, but for the key.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Trial {
    /// Its label.
    pub label: Label,
    /// When it was set.
    pub set: Moment,
    layout: Arc<Layout>,
    ratings: Vec<Arc<Rating>>,
    reveal: Option<Reveal>,
    /// The blends that were chosen after it.
    pub blends: Vec<Blend>,
}

/// How a trial was laid out: it never changes.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct Layout {
    /// The fact that says so.
    fact: FactId,
    components: Vec<Component>,
    glass: Volume,
    /// The trial after which it is the second sitting.
    after: Option<Label>,
    /// By rising code.
    glasses: Vec<Glass>,
    tasters: Vec<Taster>,
    bounds: Option<Text>,
    limits: Option<Text>,
    seed: Option<u64>,
    salt: Option<Label>,
    digest: String,
}

/// A wine that is mixed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Component {
    /// The vessel that it lies in.
    pub vessel: VesselId,
    /// How that was called when the trial was set: it is sealed by that.
    pub called: Label,
    /// What of it there is for the blend, where that is said.
    pub available: Option<Volume>,
    /// What must be kept back.
    pub reserve: Volume,
    /// The lot that it was when the trial was set, if it was any.
    pub lot: Option<LotId>,
    /// Since when it had lain in the vessel then.
    pub filled: Option<Moment>,
}

impl Component {
    /// Whether it is the wine of another trial's component: of the same lot in the same vessel, or never emptied where it is of no lot.
    fn is_wine_of(&self, other: &Component) -> bool {
        let is_same = match (self.lot, other.lot) {
            (Some(lot), Some(of_other)) => lot == of_other,
            (None, None) => self.filled == other.filled,
            _ => false,
        };
        self.vessel == other.vessel && is_same
    }
}

/// A glass and what is in it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Glass {
    /// What stands on it.
    pub code: Code,
    /// What is in it, a share a component.
    pub shares: Shares,
    /// The glass that it is the same as.
    pub repeat_of: Option<Code>,
}

/// Who tastes, and what they are served.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Taster {
    /// The name.
    pub name: Label,
    /// The codes of each flight, in the order of tasting.
    pub flights: Vec<Vec<Code>>,
}

/// The key of a trial: what is in which glass.
#[derive(Clone, Copy, Debug)]
pub struct Key<'a> {
    trial: &'a Trial,
}

impl Labelled for Trial {
    fn label(&self) -> &Label {
        &self.label
    }
}

impl Trial {
    /// The wines that are mixed.
    #[must_use]
    pub fn components(&self) -> &[Component] {
        &self.layout.components
    }

    /// What is in a glass.
    #[must_use]
    pub fn glass_volume(&self) -> Volume {
        self.layout.glass
    }

    /// The trial that was the first of two sittings, where this is the second.
    #[must_use]
    pub fn after(&self) -> Option<&Label> {
        self.layout.after.as_ref()
    }

    /// Who tastes, in the order of the panel.
    #[must_use]
    pub fn tasters(&self) -> &[Taster] {
        &self.layout.tasters
    }

    /// A taster by name.
    #[must_use]
    pub fn taster(&self, name: &Label) -> Option<&Taster> {
        self.tasters().iter().find(|taster| taster.name == *name)
    }

    /// The codes that a taster is served, flight by flight, in the order of tasting.
    #[must_use]
    pub fn flights_of(&self, name: &Label) -> &[Vec<Code>] {
        self.taster(name).map_or(&[], |taster| &taster.flights)
    }

    /// The codes of all glasses, rising: their order tells nothing.
    #[must_use]
    pub fn codes(&self) -> impl ExactSizeIterator<Item = Code> + '_ {
        self.layout.glasses.iter().map(|glass| glass.code)
    }

    /// Whether a glass has a code.
    #[must_use]
    pub fn has(&self, code: Code) -> bool {
        self.layout.glasses.binary_search_by_key(&code, |glass| glass.code).is_ok()
    }

    /// What the glasses were laid out for: least and most of each component, and what else they keep to, in words.
    #[must_use]
    pub fn laid_out_for(&self) -> [Option<&Text>; 2] {
        [self.layout.bounds.as_ref(), self.layout.limits.as_ref()]
    }

    /// The digest of the key: 64 hexadecimal digits that tell nothing before it is revealed and prove afterwards that
    /// the key is the one that was sealed. See [`seal`].
    #[must_use]
    pub fn digest(&self) -> &str {
        &self.layout.digest
    }

    /// When it was revealed, if it was.
    #[must_use]
    pub fn revealed(&self) -> Option<Moment> {
        self.reveal.as_ref().map(|reveal| reveal.at)
    }

    /// The key, once it is revealed.
    #[must_use]
    pub fn opened(&self) -> Option<Key<'_>> {
        self.reveal.as_ref().map(|_| Key { trial: self })
    }

    /// The key for whoever pours the glasses, and nobody else: only a page of its own that says so may show it.
    #[must_use]
    pub fn pouring(&self) -> Key<'_> {
        Key { trial: self }
    }
}

impl<'a> Key<'a> {
    /// The glasses, by rising code.
    #[must_use]
    pub fn glasses(&self) -> &'a [Glass] {
        &self.trial.layout.glasses
    }

    /// A glass by its code.
    #[must_use]
    pub fn glass(&self, code: Code) -> Option<&'a Glass> {
        self.glasses().iter().find(|glass| glass.code == code)
    }

    /// The codes that hold the same because one repeats the other, hidden from the tasters: the repeat and the first.
    pub fn repeats(&self) -> impl Iterator<Item = (Code, Code)> + 'a {
        self.glasses().iter().filter_map(|glass| Some((glass.code, glass.repeat_of?)))
    }

    /// What codes and orders were drawn from.
    #[must_use]
    pub fn seed(&self) -> Option<u64> {
        self.trial.layout.seed
    }

    /// What is sealed with the key.
    #[must_use]
    pub fn salt(&self) -> Option<&'a Label> {
        self.trial.layout.salt.as_ref()
    }

    /// The text whose SHA-256 is the digest. See [`seal`].
    #[must_use]
    pub fn sealed_text(&self) -> String {
        let Layout { components, glasses, salt, .. } = &*self.trial.layout;
        let sealed = Sealed {
            trial: &self.trial.label,
            salt: salt.as_ref(),
            components: components.iter().map(|component| &component.called).collect(),
            glasses: glasses.iter().map(|glass| (glass.code, &glass.shares, glass.repeat_of)).collect(),
        };
        sealed.text()
    }

    /// Whether the key is the one whose digest was printed when the trial was set.
    #[must_use]
    pub fn is_as_sealed(&self) -> bool {
        seal::digest(&self.sealed_text()) == self.trial.layout.digest
    }
}

impl State {
    /// The trial of a label.
    pub fn trial(&self, label: &Label) -> Result<TrialId, Refusal> {
        self.trials.find(label.as_str()).ok_or_else(|| TrialRefusal::Unknown(label.clone()).into())
    }
}
