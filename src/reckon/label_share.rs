//! What a wine must hold of its own to carry a vintage or a variety on its label: the published least shares, for
//! information. Laws change, and a label is more than a share.

use crate::units::Volume;

/// What a label claims.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Claim {
    /// The year of the harvest.
    Vintage,
    /// One grape variety.
    Variety,
}

impl Claim {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Claim::Vintage => "vintage",
            Claim::Variety => "variety",
        }
    }
}

/// A least share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LeastShare {
    /// Of what.
    pub claim: Claim,
    /// Hundredths of the wine.
    pub percent: u64,
    /// Where it stands.
    pub section: &'static str,
}

/// The least shares of the European Union and of the United States.
pub const LEAST_SHARES: [LeastShare; 5] = [
    LeastShare { claim: Claim::Vintage, percent: 85, section: "EU 2019/33" },
    LeastShare { claim: Claim::Vintage, percent: 85, section: "US 27 CFR 4.27" },
    LeastShare { claim: Claim::Vintage, percent: 95, section: "US 27 CFR 4.27, viticultural area" },
    LeastShare { claim: Claim::Variety, percent: 85, section: "EU 2019/33" },
    LeastShare { claim: Claim::Variety, percent: 75, section: "US 27 CFR 4.23" },
];

/// How much foreign wine may still replace what evaporates of a wine, before its own share falls below a least one:
/// `V − p V² / O` for a volume V that holds O of its own, from `O (V − x) / V ≥ p V`, rounded down to the microlitre. All
/// at once: in many small toppings, of which each loses some of the last, it takes a little more, so this errs to the safe
/// side. `None` where the share is below the least one already.
#[must_use]
pub fn margin(whole: Volume, own: Volume, percent: u64) -> Option<Volume> {
    let (whole, own) = (u128::from(whole.as_ul()), u128::from(own.as_ul()));
    if own == 0 {
        return None;
    }
    // At most 10⁹ L are 10¹⁵ µL: squared and times a hundred still far inside 128 bits.
    let must_stay = (u128::from(percent) * whole * whole).div_ceil(100 * own);
    u64::try_from(whole.checked_sub(must_stay)?).ok().map(Volume::from_ul)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 225 L, all its own: 15 % of it are 33.75 L, after which 191.25 L = 85 % are left.
    #[test]
    fn a_barrel_all_its_own_can_take_what_is_not_asked_of_it() {
        let barrel = Volume::from_litres(225);
        assert_eq!(margin(barrel, barrel, 85), Some(Volume::from_ml(33_750)));
        assert_eq!(margin(barrel, barrel, 75), Some(Volume::from_ml(56_250)));
        assert_eq!(margin(barrel, barrel, 95), Some(Volume::from_ml(11_250)));
    }

    /// 100 L of which 90 are its own: x of it replaced leaves 90 − 0.9 x, and 85 are wanted: x = 5.555 555 L.
    #[test]
    fn what_was_foreign_already_counts_and_nothing_is_rounded_up() {
        let of_ninety = |percent| margin(Volume::from_litres(100), Volume::from_litres(90), percent);
        assert_eq!(of_ninety(85), Some(Volume::from_ul(5_555_555)));
        assert_eq!(of_ninety(90), Some(Volume::ZERO));
        assert_eq!(of_ninety(95), None);
        assert_eq!(margin(Volume::from_litres(100), Volume::ZERO, 75), None);
        assert_eq!(margin(Volume::ZERO, Volume::ZERO, 75), None);
    }
}
