//! As which acid an acidity is given.

use serde::{Deserialize, Serialize};

/// By which acid an acidity is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AcidUnit {
    /// Tartaric.
    Tartaric,
    /// Sulfuric.
    Sulfuric,
    /// Acetic.
    Acetic,
}

impl AcidUnit {
    /// All of them.
    pub const ALL: [AcidUnit; 3] = [AcidUnit::Tartaric, AcidUnit::Sulfuric, AcidUnit::Acetic];

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            AcidUnit::Tartaric => "tartaric",
            AcidUnit::Sulfuric => "sulfuric",
            AcidUnit::Acetic => "acetic",
        }
    }

    /// Grams of it that give a mole of hydrogen ions, by which laboratories turn one into the other (OIV-MA-AS313-01 and
    /// OIV-MA-AS313-02: 0.075, 0.049 and 0.060 g a milliequivalent).
    #[must_use]
    pub const fn equivalent_grams(self) -> f64 {
        match self {
            AcidUnit::Tartaric => 75.0,
            AcidUnit::Sulfuric => 49.0,
            AcidUnit::Acetic => 60.0,
        }
    }
}
