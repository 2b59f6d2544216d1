//! What a wine must hold of its own to carry a claim on its label: the published least shares, for information. Laws change,
//! and a label is more than a share.
//!
//! Sources, as read: US 27 CFR 4.23, 4.25, 4.26, 4.27 and 4.39(m); EU 607/2009 articles 61 and 62, whose shares stand in
//! 2019/33 today. From memory: the articles of 2019/33 and 1308/2013, 7 CFR 205.301, 2018/848.

use serde::{Deserialize, Serialize};

use crate::units::Volume;

/// What a label claims.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Claim {
    /// The year of the harvest.
    Vintage,
    /// One grape variety.
    Variety,
    /// Several grape varieties, all of them named.
    Varieties,
    /// The place where the grapes grew.
    Appellation,
    /// A vineyard by its name.
    Vineyard,
    /// That it grew on the estate.
    Estate,
    /// That the grapes are certified organic.
    Organic,
}

impl Claim {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Claim::Vintage => "vintage",
            Claim::Variety => "variety",
            Claim::Varieties => "varieties",
            Claim::Appellation => "appellation",
            Claim::Vineyard => "vineyard",
            Claim::Estate => "estate",
            Claim::Organic => "organic",
        }
    }
}

/// Whose rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Rules {
    /// Those of the United States.
    Us,
    /// Those of the European Union.
    Eu,
}

impl Rules {
    /// The word for them.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Rules::Us => "us",
            Rules::Eu => "eu",
        }
    }
}

/// A least share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LeastShare {
    /// Of what.
    pub claim: Claim,
    /// Whose rule it is.
    pub rules: Rules,
    /// Hundredths of the wine.
    pub percent: u64,
    /// Where it stands.
    pub section: &'static str,
    /// For what it holds, where it does not hold for all.
    pub applies: Option<&'static str>,
}

impl LeastShare {
    /// Where it stands and for what it holds: `US 27 CFR 4.27, viticultural area`.
    #[must_use]
    pub fn rule(&self) -> String {
        self.applies.map_or_else(|| self.section.to_owned(), |applies| format!("{}, {applies}", self.section))
    }
}

const fn least(
    rules: Rules,
    claim: Claim,
    percent: u64,
    section: &'static str,
    applies: Option<&'static str>,
) -> LeastShare {
    LeastShare { claim, rules, percent, section, applies }
}

/// The least shares of the European Union and of the United States. A US variety must besides have grown where the label
/// says (4.23); US estate wine must all come from one viticultural area too (4.26). What is organic is all of it: no grapes
/// of the other kind may be with them.
#[rustfmt::skip] // a table reads as a table
pub static LEAST_SHARES: [LeastShare; 17] = [
    least(Rules::Eu, Claim::Vintage, 85, "EU 2019/33 art. 49", None),
    least(Rules::Us, Claim::Vintage, 85, "US 27 CFR 4.27", Some("state or county")),
    least(Rules::Us, Claim::Vintage, 95, "US 27 CFR 4.27", Some("viticultural area")),
    least(Rules::Eu, Claim::Variety, 85, "EU 2019/33 art. 50", None),
    least(Rules::Us, Claim::Variety, 75, "US 27 CFR 4.23", Some("grown in the appellation")),
    least(Rules::Eu, Claim::Varieties, 100, "EU 2019/33 art. 50", None),
    least(Rules::Us, Claim::Varieties, 100, "US 27 CFR 4.23", Some("with their shares")),
    least(Rules::Eu, Claim::Appellation, 85, "EU 1308/2013 art. 93", Some("geographical indication")),
    least(Rules::Eu, Claim::Appellation, 100, "EU 1308/2013 art. 93", Some("designation of origin")),
    least(Rules::Us, Claim::Appellation, 75, "US 27 CFR 4.25", Some("state or county")),
    least(Rules::Us, Claim::Appellation, 85, "US 27 CFR 4.25", Some("viticultural area")),
    least(Rules::Eu, Claim::Vineyard, 85, "EU 2019/33 art. 55", Some("smaller unit")),
    least(Rules::Us, Claim::Vineyard, 95, "US 27 CFR 4.39(m)", None),
    least(Rules::Eu, Claim::Estate, 100, "EU 2019/33 art. 54", None),
    least(Rules::Us, Claim::Estate, 100, "US 27 CFR 4.26", Some("viticultural area")),
    least(Rules::Eu, Claim::Organic, 100, "EU 2018/848 Annex II Part VI", None),
    least(Rules::Us, Claim::Organic, 100, "US 7 CFR 205.301", Some("no sulfites added")),
];

/// Water that a treatment carries in is no wine of another kind as long as it is at most so many hundredths of the wine (US
/// 27 CFR 24.246(a)(2)).
const CARRIED_IN_HUNDREDTHS: u64 = 1;

/// Of how much wine a share is asked, where part of it has no origin: treatments added it.
///
/// It counts as wine of its own kind nowhere, and in a share of less than all it counts against it: that errs to the safe
/// side. Where all is asked for, all *grapes* are meant, and the water of a permitted treatment, up to a hundredth, is
/// left out of the reckoning: else the first dose of sulfur dioxide would end every such claim. More than that is wine of
/// unknown origin.
#[must_use]
pub fn asked_of(whole: Volume, without_origin: Volume, percent: u64) -> Volume {
    let carried_in =
        u128::from(without_origin.as_ul()) * 100 <= u128::from(whole.as_ul()) * u128::from(CARRIED_IN_HUNDREDTHS);
    if percent >= 100 && carried_in { whole.saturating_sub(without_origin) } else { whole }
}

/// Whether a volume that holds so much of its own has at least a share of it. Nothing has no share.
#[must_use]
pub fn reaches(whole: Volume, own: Volume, percent: u64) -> bool {
    !whole.is_zero() && u128::from(own.as_ul()) * 100 >= u128::from(whole.as_ul()) * u128::from(percent)
}

/// How much foreign wine may come in on top before the share falls below a least one: `100 O / p − V`, from
/// `O / (V + x) ≥ p / 100`, rounded down to the microlitre. `None` where the share is below it already, or none is asked.
#[must_use]
pub fn may_come_in(whole: Volume, own: Volume, percent: u64) -> Option<Volume> {
    if !reaches(whole, own, percent) || percent == 0 {
        return None;
    }
    let most = u128::from(own.as_ul()) * 100 / u128::from(percent);
    u64::try_from(most - u128::from(whole.as_ul())).ok().map(Volume::from_ul)
}

/// How much of its own is still to come in before the share reaches a least one: `(p V − 100 O) / (100 − p)`, from
/// `(O + y) / (V + y) ≥ p / 100`, rounded up to the microlitre. `None` where it is reached already, or where no addition
/// can reach it: all is asked for, and foreign wine stays in it.
#[must_use]
pub fn still_wanted(whole: Volume, own: Volume, percent: u64) -> Option<Volume> {
    if reaches(whole, own, percent) || percent >= 100 || whole.is_zero() {
        return None;
    }
    let short = u128::from(whole.as_ul()) * u128::from(percent) - u128::from(own.as_ul()) * 100;
    u64::try_from(short.div_ceil(u128::from(100 - percent))).ok().map(Volume::from_ul)
}

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
    use proptest::prelude::*;

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

    /// 27 CFR 4.27 and EU 607/2009 art. 61: of 225 L all of one year, 85 % allow 39.705 882 L of another year on top (to
    /// 264.705 882 L), 95 % 11.842 105 L.
    #[test]
    fn what_may_come_in_on_top() {
        let barrel = Volume::from_litres(225);
        assert_eq!(may_come_in(barrel, barrel, 85), Some(Volume::from_ul(39_705_882)));
        assert_eq!(may_come_in(barrel, barrel, 95), Some(Volume::from_ul(11_842_105)));
        assert_eq!(may_come_in(barrel, barrel, 100), Some(Volume::ZERO));
        assert_eq!(may_come_in(barrel, Volume::from_litres(168), 75), None);
        assert_eq!(may_come_in(Volume::ZERO, Volume::ZERO, 75), None);
    }

    /// 27 CFR 4.23: 72 L of a variety in 100 L want 12 L of it: 84 in 112 are 75 %.
    #[test]
    fn what_is_still_to_come_in() {
        let of_a_hundred = |own, percent| still_wanted(Volume::from_litres(100), Volume::from_litres(own), percent);
        assert_eq!(of_a_hundred(72, 75), Some(Volume::from_litres(12)));
        assert_eq!(of_a_hundred(75, 75), None);
        assert_eq!(of_a_hundred(99, 100), None, "what is foreign stays foreign");
        assert_eq!(of_a_hundred(84, 85), Some(Volume::from_ul(6_666_667)));
    }

    /// 27 CFR 24.246(a)(2): a hundredth of water may be carried in.
    #[test]
    fn the_water_of_a_treatment_counts_against_a_share_but_ends_no_claim_of_all() {
        let (litres, ml) = (Volume::from_litres, Volume::from_ml);
        assert_eq!(asked_of(litres(100), litres(1), 85), litres(100));
        assert_eq!(asked_of(litres(100), litres(1), 100), litres(99));
        assert_eq!(asked_of(litres(100), ml(1_001), 100), litres(100));
    }

    /// 27 CFR 4.23 75, 4.25 75 and 85, 4.26 all, 4.27 85 and 95, 4.39(m) 95; EU vintage and variety 85
    /// (607/2009 articles 61 and 62), several varieties 100.
    #[test]
    fn the_published_least_shares() {
        let shares = |rules, claim| {
            let its = LEAST_SHARES.iter().filter(|least| least.rules == rules && least.claim == claim);
            its.map(|least| least.percent).collect::<Vec<_>>()
        };
        assert_eq!(shares(Rules::Us, Claim::Variety), [75]);
        assert_eq!(shares(Rules::Us, Claim::Varieties), [100]);
        assert_eq!(shares(Rules::Us, Claim::Appellation), [75, 85]);
        assert_eq!(shares(Rules::Us, Claim::Estate), [100]);
        assert_eq!(shares(Rules::Us, Claim::Vintage), [85, 95]);
        assert_eq!(shares(Rules::Us, Claim::Vineyard), [95]);
        assert_eq!(shares(Rules::Eu, Claim::Vintage), [85]);
        assert_eq!(shares(Rules::Eu, Claim::Variety), [85]);
        assert_eq!(shares(Rules::Eu, Claim::Varieties), [100]);
    }

    proptest! {
        #[test]
        fn the_margins_are_the_last_microlitre(
            own in 0_u64..1_000_000_000_000, foreign in 0_u64..1_000_000_000_000, percent in 1_u64..=100,
        ) {
            let one = Volume::from_ul(1);
            let (own, whole) = (Volume::from_ul(own), Volume::from_ul(own + foreign));
            let (room, wanted) = (may_come_in(whole, own, percent), still_wanted(whole, own, percent));
            prop_assert_eq!(room.is_some(), reaches(whole, own, percent));
            if let Some(room) = room {
                prop_assert!(reaches(whole + room, own, percent) && !reaches(whole + room + one, own, percent));
            }
            if let Some(wanted) = wanted {
                let less = wanted.saturating_sub(one);
                prop_assert!(reaches(whole + wanted, own + wanted, percent) && !reaches(whole + less, own + less, percent));
            }
        }
    }
}
