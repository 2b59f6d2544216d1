//! What else is known of a material: its usual doses, what it leaves that a label may have to name, what it asks of the hand, and
//! whether the organic lists hold it.

use serde::Deserialize;

use super::{Class, Known};
use crate::reckon::limits::Kind;

/// Where the usual doses are from: one public table, so that they fit each other.
pub const USUAL_SOURCE: &str = "WineSkills, Fining agents";

/// The usual doses of a material, grams a litre.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Usual {
    #[serde(default)]
    white: Option<(f64, f64)>,
    #[serde(default)]
    red: Option<(f64, f64)>,
    /// Where they are from, where that is not [`USUAL_SOURCE`] alone.
    #[serde(default)]
    source: Option<String>,
}

/// A part of a material that its figures count.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CountsAs {
    pub(super) of: String,
    /// % of the material's mass, by its atoms.
    pub(super) pct: f64,
}

/// What a material may leave in a wine that the label has to name: EU 1169/2011 Annex II, 2019/33 article 41. Sulfites are told by
/// their total; fish glue for fining is left out there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Allergen {
    /// Egg.
    Egg,
    /// Milk.
    Milk,
    /// Wheat (unverified for wine).
    Wheat,
}

impl Allergen {
    /// The word for it on a label, in English.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Allergen::Egg => "egg",
            Allergen::Milk => "milk",
            Allergen::Wheat => "wheat",
        }
    }
}

/// What a material asks of the hand that gives it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Caution {
    /// Sulfur dioxide.
    SulfurDioxide,
    /// Sulfur that burns.
    BurningSulfur,
    /// Fine dust.
    Dust,
    /// An acid.
    Acid,
    /// It frees carbon dioxide.
    Foaming,
    /// Copper.
    Copper,
    /// Ferrocyanide.
    Ferrocyanide,
    /// Dimethyl dicarbonate.
    Dmdc,
}

/// Whether a list of an organic rule holds a material.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Listed {
    /// It does.
    Listed,
    /// It does not.
    NotListed,
    /// It is named for a lesser claim only: sulfur dioxide in the United States, where wine that it was added to is not "organic" but
    /// at most "made with organic grapes".
    EndsOrganic,
    /// The text was not read: unverified.
    #[default]
    Unverified,
}

/// What the European Union's list of materials for organic wine is called, and how far it was read: Annex `VIIIa` of Regulation (EC)
/// 889/2008, which came with (EU) 203/2012, was read; what stands in its place was not.
pub const ORGANIC_EU: &str = "EU 2021/1165 Annex V (as in 203/2012; unverified since)";

/// The United States' rules: 7 CFR 205.301 and 205.605, read for sulfur dioxide only.
pub const ORGANIC_US: &str = "US 7 CFR 205.301, 205.605 (2015)";

impl Known {
    /// Whether the European Union's list for organic wine holds it; [`ORGANIC_EU`] says which that is.
    #[must_use]
    pub const fn organic_eu(&self) -> Listed {
        self.organic_eu
    }

    /// The same of the United States; [`ORGANIC_US`].
    #[must_use]
    pub const fn organic_us(&self) -> Listed {
        self.organic_us
    }

    /// What of it a label may have to name.
    #[must_use]
    pub const fn allergen(&self) -> Option<Allergen> {
        self.allergen
    }

    /// What it asks of the hand.
    #[must_use]
    pub const fn caution(&self) -> Option<Caution> {
        self.caution
    }

    /// The usual doses in a wine of a kind, grams a litre; those of the other kind are none.
    #[must_use]
    pub fn usual(&self, kind: Kind) -> Option<(f64, f64)> {
        let usual = self.usual.as_ref()?;
        match kind {
            Kind::Red => usual.red,
            Kind::WhiteOrRose => usual.white,
        }
    }

    /// Where its usual doses are from.
    #[must_use]
    pub fn usual_source(&self) -> &str {
        self.usual.as_ref().and_then(|usual| usual.source.as_deref()).unwrap_or(USUAL_SOURCE)
    }

    /// The span of sulfur dioxide that it gives, % of its mass, where it gives more or less: old powder, a wick that drips.
    #[must_use]
    pub const fn so2_span_pct(&self) -> Option<(f64, f64)> {
        self.so2_span_pct
    }

    /// Whether it is usually made up in water, which stays in the wine.
    #[must_use]
    pub const fn is_in_water(&self) -> bool {
        self.in_water
    }

    /// Whether it is a powder or crystals, so that a volume alone does not say how much of it there is.
    #[must_use]
    pub const fn is_weighed(&self) -> bool {
        self.weighed
    }

    /// How much of it dissolves, grams in a litre at about 20 °C (unverified); none where it does not come near.
    #[must_use]
    pub const fn dissolves_g_l(&self) -> Option<f64> {
        self.dissolves_g_l
    }

    /// What else is to be known of it.
    #[must_use]
    pub fn note(&self) -> Option<&str> {
        self.note.as_deref()
    }

    /// The most that is published of it, grams a litre: the largest of its figures and its usual doses. None where nothing is.
    #[must_use]
    pub fn most_published_g_l(&self) -> Option<f64> {
        let share = self.counted_share();
        let figures =
            self.figures.iter().map(|figure| if figure.of.is_some() { figure.g_l / share } else { figure.g_l });
        let usual =
            [Kind::Red, Kind::WhiteOrRose].into_iter().filter_map(|kind| self.usual(kind)).map(|(_, most)| most);
        figures.chain(usual).reduce(f64::max)
    }

    /// Whether it is tried in glasses before a wine is given any.
    #[must_use]
    pub fn is_fining_agent(&self) -> bool {
        self.class == Class::Fining
    }
}
