//! What rules and published figures leave as usual losses of wine in a cellar: shares of a year, for information. Rules
//! change; ask who keeps the register.

/// Days of a year.
pub const YEAR_DAYS: f64 = 365.25;

/// Days of the shortest and the longest year, a little wider for its ends.
const OF_A_YEAR: std::ops::RangeInclusive<f64> = 364.5..=366.6;

/// Whether so many days are a year: rules judge nothing shorter, and a longer time by its years.
#[must_use]
pub fn is_a_year(days: f64) -> bool {
    OF_A_YEAR.contains(&days)
}

/// What a share is a share of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Base {
    /// What was there at the beginning and what came in.
    StockAndReceipts,
    /// What came in, as far as it was made here.
    Made,
    /// What lay there in the mean through time.
    MeanStock,
    /// What was bottled.
    Bottled,
}

impl Base {
    /// The words for it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Base::StockAndReceipts => "of stock and receipts",
            Base::Made => "of what came in, as far as it was made here",
            Base::MeanStock => "of the mean stock",
            Base::Bottled => "of what was bottled",
        }
    }

    /// Whether what is lost grows with the time, so that a part of a year has its part of the figure.
    const fn grows_with_time(self) -> bool {
        matches!(self, Base::StockAndReceipts | Base::MeanStock)
    }
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

/// Losses of bulk wine by spilling, leaking, soaking in, evaporation, racking and filtering, over a year and by tax class: above
/// this a claim is asked for (27 CFR 24.266(b)(2), as of 2015). Bottled wine is left nothing (24.266(c)).
pub const UNITED_STATES: LossNorm =
    LossNorm { yearly: 0.03, base: Base::StockAndReceipts, of: "all losses", section: "27 CFR 24.266" };

/// The other measure of the same: of still wine that fermentation made in the year.
pub const UNITED_STATES_MADE: LossNorm =
    LossNorm { yearly: 0.06, base: Base::Made, of: "all losses", section: "27 CFR 24.266" };

/// Where the figures of France stand: an order of 2017, as the trade press printed it.
const FRANCE: &str = "the French order of 9 August 2017";

/// What may go at the making (France, order of 9 August 2017, as the trade press printed it, by stage).
pub const FRANCE_MAKING: LossNorm = LossNorm { yearly: 0.015, base: Base::Made, of: "making", section: FRANCE };

/// What may go from wine that lies in wood (the same; before it decree 2001-649, with the same figure).
pub const FRANCE_IN_WOOD: LossNorm =
    LossNorm { yearly: 0.045, base: Base::MeanStock, of: "storage in wood", section: FRANCE };

/// What may go from wine that lies in tight tanks (the same).
pub const FRANCE_IN_TANKS: LossNorm =
    LossNorm { yearly: 0.007, base: Base::MeanStock, of: "storage in tanks", section: FRANCE };

/// What may go at bottling (the same).
pub const FRANCE_BOTTLING: LossNorm = LossNorm { yearly: 0.007, base: Base::Bottled, of: "bottling", section: FRANCE };

/// What may go from bottled wine in a year, a share of the mean stock of it (the same).
pub const FRANCE_BOTTLED: f64 = 0.003;

/// What may go in all stages together where a house declared that beforehand: shares of the mean stock in wood and in tanks
/// (the same).
const FRANCE_IN_ALL: (f64, f64) = (0.06, 0.035);

/// The figure of France for all stages together, for so many litres in wood and in tanks in the mean; none where nothing lay
/// there.
#[must_use]
pub fn france_in_all(wood_litres: f64, tank_litres: f64) -> Option<LossNorm> {
    let mean = wood_litres + tank_litres;
    let (wood, tanks) = FRANCE_IN_ALL;
    (mean > 0.0).then(|| LossNorm {
        yearly: (wood * wood_litres + tanks * tank_litres) / mean,
        base: Base::MeanStock,
        of: "all stages, where that is declared beforehand",
        section: FRANCE,
    })
}

impl LossNorm {
    /// The share of the base for so many days: the year's in proportion, where what is lost grows with the time.
    #[must_use]
    pub fn share_for(&self, days: f64) -> f64 {
        if self.base.grows_with_time() && !is_a_year(days) { self.yearly * days / YEAR_DAYS } else { self.yearly }
    }
}

/// A share of a year as one of [`YEAR_DAYS`]; none of another time: a month is no twelfth of a year in a cellar, and a day
/// still less.
#[must_use]
pub fn a_year(share: f64, days: f64) -> Option<f64> {
    is_a_year(days).then(|| share * YEAR_DAYS / days)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 27 CFR 24.266(b)(2): 3 % of what was on hand and received in a year, 6 % of still wine made by fermentation. The order of 9
    /// August 2017, as the trade press printed it: making 1.5 %, 4.5 % of the mean stock in wood, 0.7 % in tight tanks, bottling
    /// 0.7 %, bottled 0.3 %; or 6 % and 3.5 % for all.
    #[test]
    fn the_figures_are_those_of_the_rules() {
        for (norm, share) in [
            (UNITED_STATES, 0.03),
            (UNITED_STATES_MADE, 0.06),
            (FRANCE_MAKING, 0.015),
            (FRANCE_IN_WOOD, 0.045),
            (FRANCE_IN_TANKS, 0.007),
            (FRANCE_BOTTLING, 0.007),
        ] {
            assert!((norm.share_for(YEAR_DAYS) - share).abs() < 1e-12, "{norm:?}");
        }
        assert!((FRANCE_BOTTLED - 0.003).abs() < 1e-12);
        let all = |wood, tanks| france_in_all(wood, tanks).map(|norm| norm.yearly);
        assert!((all(100.0, 0.0).unwrap() - 0.06).abs() < 1e-12 && (all(0.0, 100.0).unwrap() - 0.035).abs() < 1e-12);
        assert!((all(300.0, 200.0).unwrap() - 0.05).abs() < 1e-12);
        assert_eq!(all(0.0, 0.0), None);
    }

    #[test]
    fn a_part_of_a_year_has_its_part_and_no_year_is_made_of_it() {
        assert!((UNITED_STATES.share_for(YEAR_DAYS / 12.0) - 0.0025).abs() < 1e-12);
        assert!((FRANCE_IN_WOOD.share_for(2.0 * YEAR_DAYS) - 0.09).abs() < 1e-12);
        assert!((FRANCE_BOTTLING.share_for(1.0) - 0.007).abs() < 1e-12, "a bottling is one, however short the time");
        assert_eq!([a_year(0.0025, YEAR_DAYS / 12.0), a_year(0.1, 0.0), a_year(0.1, 2.0 * YEAR_DAYS)], [None; 3]);
        assert!((a_year(0.03, 365.0).unwrap() - 0.03).abs() < 1e-4);
        assert_eq!([364.0, 365.0, 366.0, 367.0].map(is_a_year), [false, true, true, false]);
    }
}
