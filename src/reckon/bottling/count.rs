//! How many bottles, cases and pallets some wine gives, and what is to be ordered for them.

use crate::units::{Shares, Volume};

/// Bottles in a case, cases on a pallet, and what is ordered beyond the count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Packing {
    /// Bottles in a case: 12 × 750 mL is the case of the trade, 27 CFR 24.300 counts in it.
    pub case: u32,
    /// Cases on a pallet. Common practice: 56 cases of 12, four layers of 14.
    pub pallet: u32,
    /// What is ordered beyond the count for what breaks or jams, in millionths. Common practice: 2 %.
    pub spare: u32,
}

impl Packing {
    /// As most houses pack (common practice).
    pub const USUAL: Packing = Packing { case: 12, pallet: 56, spare: 20_000 };
}

/// What some wine gives in bottles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Count {
    /// Full bottles.
    pub bottles: u64,
    /// What is expected to be lost.
    pub loss: Volume,
    /// What is left beside that, less than a bottle.
    pub left: Volume,
}

/// Full bottles from some wine after an expected loss, in millionths of it. The loss is rounded up to the microlitre, so
/// that no bottle is promised that cannot be filled; none where the bottle holds nothing.
#[must_use]
pub fn count(wine: Volume, bottle: Volume, loss: u32) -> Option<Count> {
    let whole = u128::from(Shares::WHOLE);
    let loss = (u128::from(wine.as_ul()) * u128::from(loss)).div_ceil(whole);
    let loss = Volume::from_ul(u64::try_from(loss).unwrap_or(u64::MAX)).min(wine);
    let rest = wine.saturating_sub(loss).as_ul();
    let bottles = rest.checked_div(bottle.as_ul())?;
    Some(Count { bottles, loss, left: Volume::from_ul(rest % bottle.as_ul()) })
}

/// Bottles as cases of nine litres, the case of the trade (12 bottles of 750 mL or 6 of 1.5 L, 27 CFR 24.300), and what is
/// beyond full cases; none where a bottle is larger than a case or holds nothing.
#[must_use]
pub fn nine_litre_cases(bottles: u64, bottle: Volume) -> Option<(u64, u64)> {
    let of_case = Volume::from_litres(9).as_ul().checked_div(bottle.as_ul()).filter(|&of_case| of_case > 0)?;
    Some((bottles / of_case, bottles % of_case))
}

/// What is wanted for so many bottles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DryGoods {
    /// Full cases.
    pub full_cases: u64,
    /// Bottles that fill no case.
    pub odd_bottles: u64,
    /// Cartons, the last perhaps not full.
    pub cartons: u64,
    /// Pallets, the last perhaps not full.
    pub pallets: u64,
    /// Empty bottles, closures, capsules, front labels and back labels: so many of each, with what is spare.
    pub of_each: u64,
}

impl DryGoods {
    /// What so many bottles want; none where a case or a pallet holds nothing.
    #[must_use]
    pub fn of(bottles: u64, packing: Packing) -> Option<DryGoods> {
        let (case, pallet) = (u64::from(packing.case), u64::from(packing.pallet));
        let full_cases = bottles.checked_div(case)?;
        let cartons = bottles.div_ceil(case);
        let more = (u128::from(bottles) * u128::from(packing.spare)).div_ceil(u128::from(Shares::WHOLE));
        let of_each = bottles.saturating_add(u64::try_from(more).unwrap_or(u64::MAX));
        if pallet == 0 {
            return None;
        }
        Some(DryGoods { full_cases, odd_bottles: bottles % case, cartons, pallets: cartons.div_ceil(pallet), of_each })
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// A barrel of 225 L is 300 bottles or 25 cases; 900 L are 1,200 bottles; a barrel of 228 L is 304 (published figures
    /// of the trade).
    #[test]
    fn a_barrel_is_three_hundred_bottles() {
        let bottles = |litres| count(Volume::from_litres(litres), Volume::from_ml(750), 0).unwrap().bottles;
        assert_eq!([225, 228, 900].map(bottles), [300, 304, 1_200]);
        assert_eq!(DryGoods::of(300, Packing::USUAL).unwrap().full_cases, 25);
    }

    #[test]
    fn a_loss_is_taken_off_first() {
        let found = count(Volume::from_litres(1_000), Volume::from_ml(750), 10_000).unwrap();
        assert_eq!(found, Count { bottles: 1_320, loss: Volume::from_litres(10), left: Volume::ZERO });
        let magnums = count(Volume::from_litres(1_000), Volume::from_ml(1_500), 10_000).unwrap();
        assert_eq!(magnums.bottles, 660);
    }

    #[test]
    fn goods_are_ordered_with_a_little_more() {
        let goods = DryGoods::of(1_330, Packing::USUAL).unwrap();
        let wanted = DryGoods { full_cases: 110, odd_bottles: 10, cartons: 111, pallets: 2, of_each: 1_357 };
        assert_eq!(goods, wanted);
    }

    #[test]
    fn nothing_fits_into_nothing() {
        assert_eq!(count(Volume::from_litres(1), Volume::ZERO, 0), None);
        assert_eq!(DryGoods::of(1, Packing { case: 0, ..Packing::USUAL }), None);
        assert_eq!(DryGoods::of(1, Packing { pallet: 0, ..Packing::USUAL }), None);
    }

    proptest! {
        #[test]
        fn every_microlitre_is_in_a_bottle_lost_or_left(wine: u64, bottle in 1_u64..30_000_000, loss in 0..=Shares::WHOLE) {
            let found = count(Volume::from_ul(wine), Volume::from_ul(bottle), loss).unwrap();
            let sum = u128::from(found.bottles) * u128::from(bottle)
                + u128::from(found.loss.as_ul())
                + u128::from(found.left.as_ul());
            prop_assert_eq!(sum, u128::from(wine));
            prop_assert!(found.left.as_ul() < bottle);
        }

        #[test]
        fn every_bottle_has_a_place(bottles in 0_u64..10_000_000, case in 1_u32..25, pallet in 1_u32..121) {
            let goods = DryGoods::of(bottles, Packing { case, pallet, spare: 0 }).unwrap();
            prop_assert_eq!(goods.full_cases * u64::from(case) + goods.odd_bottles, bottles);
            prop_assert!(goods.cartons * u64::from(case) >= bottles && goods.pallets * u64::from(pallet) >= goods.cartons);
            prop_assert_eq!(goods.of_each, bottles);
        }
    }
}
