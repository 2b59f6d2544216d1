//! What rules and published figures leave as usual losses of wine in a cellar: shares of a year, for information. Laws
//! change; ask who keeps the register.

/// Days of a year.
pub const YEAR_DAYS: f64 = 365.25;

/// What a share is a share of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Base {
    /// What was there at the beginning and what came in.
    StockAndReceipts,
    /// What lay there in the mean through time.
    MeanStock,
}

/// What may go in a year without more being asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LossNorm {
    /// A share of the base for a year.
    pub yearly: f64,
    /// Of what.
    pub base: Base,
    /// What it is for.
    pub of: &'static str,
    /// Where it stands.
    pub section: &'static str,
}

/// Losses of bulk wine by spilling, leaking, soaking in, evaporation, racking and filtering, over a year: above this a claim
/// is asked for (27 CFR 24.266(b)(2)).
pub const UNITED_STATES: LossNorm =
    LossNorm { yearly: 0.03, base: Base::StockAndReceipts, of: "all losses", section: "27 CFR 24.266" };

/// What may go from wine that lies in wood (France, order of 9 August 2017; before it decree 2001-649, with the same figure).
pub const FRANCE_IN_WOOD: LossNorm = LossNorm {
    yearly: 0.045,
    base: Base::MeanStock,
    of: "storage in wood",
    section: "the French order of 9 August 2017",
};

/// What may go from wine that lies in tight tanks (the same).
pub const FRANCE_IN_TANKS: LossNorm = LossNorm {
    yearly: 0.007,
    base: Base::MeanStock,
    of: "storage in tanks",
    section: "the French order of 9 August 2017",
};

impl LossNorm {
    /// The share of the base for so many days: the year's in proportion.
    #[must_use]
    pub fn share_for(&self, days: f64) -> f64 {
        self.yearly * days / YEAR_DAYS
    }
}

/// A share of a period as a share of a year; none where the period has no length.
#[must_use]
pub fn a_year(share: f64, days: f64) -> Option<f64> {
    (days > 0.0).then(|| share * YEAR_DAYS / days)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 27 CFR 24.266: 3 % of what was on hand and received in a year. The order of 9 August 2017: 4.5 % of the mean stock
    /// in wood, 0.7 % in tight tanks (as the trade press printed it).
    #[test]
    fn the_figures_are_those_of_the_rules() {
        for (norm, share) in [(UNITED_STATES, 0.03), (FRANCE_IN_WOOD, 0.045), (FRANCE_IN_TANKS, 0.007)] {
            assert!((norm.share_for(YEAR_DAYS) - share).abs() < 1e-12, "{norm:?}");
        }
    }

    #[test]
    fn a_part_of_a_year_is_allowed_that_part() {
        assert!((UNITED_STATES.share_for(YEAR_DAYS / 12.0) - 0.0025).abs() < 1e-12);
        assert!((FRANCE_IN_WOOD.share_for(2.0 * YEAR_DAYS) - 0.09).abs() < 1e-12);
        assert!((a_year(0.0025, YEAR_DAYS / 12.0).unwrap() - 0.03).abs() < 1e-12);
        assert_eq!(a_year(0.1, 0.0), None);
    }
}
