//! As which acid an acidity is given, or in milliequivalents, which name none.

use serde::{Deserialize, Serialize};

/// As what an acidity is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AcidUnit {
    /// Tartaric.
    Tartaric,
    /// Sulfuric.
    Sulfuric,
    /// Acetic.
    Acetic,
    /// In milliequivalents a litre.
    Meq,
}

impl AcidUnit {
    /// All of them.
    pub const ALL: [AcidUnit; 4] = [AcidUnit::Tartaric, AcidUnit::Sulfuric, AcidUnit::Acetic, AcidUnit::Meq];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            AcidUnit::Tartaric => "tartaric",
            AcidUnit::Sulfuric => "sulfuric",
            AcidUnit::Acetic => "acetic",
            AcidUnit::Meq => "meq",
        }
    }

    /// The unit in which a laboratory gives it so.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            AcidUnit::Tartaric => "g/L as tartaric",
            AcidUnit::Sulfuric => "g/L as sulfuric",
            AcidUnit::Acetic => "g/L as acetic",
            AcidUnit::Meq => "meq/L",
        }
    }

    /// The same in little room.
    #[must_use]
    pub const fn short_unit(self) -> &'static str {
        match self {
            AcidUnit::Tartaric => "g/L tart.",
            AcidUnit::Sulfuric => "g/L H2SO4",
            AcidUnit::Acetic => "g/L acetic",
            AcidUnit::Meq => "meq/L",
        }
    }

    /// How much of it gives a mole of hydrogen ions, in grams, or in milliequivalents, by which laboratories turn one into the other (OIV-MA-AS313-01 and
    /// OIV-MA-AS313-02: 0.075, 0.049 and 0.060 g a milliequivalent).
    #[must_use]
    pub const fn equivalent_grams(self) -> f64 {
        match self {
            AcidUnit::Tartaric => 75.0,
            AcidUnit::Sulfuric => 49.0,
            AcidUnit::Acetic => 60.0,
            AcidUnit::Meq => 1_000.0,
        }
    }
}
