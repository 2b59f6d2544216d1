//! Sulfur dioxide that a wine carries with it: what was given to it, and what it was last tested at, through moves, toppings
//! and blends.
//!
//! What was given is whole micrograms, split in proportion by largest remainder as volumes are: a tank that is tested, dosed and
//! moved takes its dose along. What was tested is a level; of wines that come together it is the mean by litres of what is
//! known. Evaporation takes neither.
//!
//! **Sulfur dioxide travels with the wine** (`cellar/jobs/tests/sulfuring/carried.rs`): a `Wine` carries what it was given, in whole
//! micrograms, and the level that it was last tested at, of wines that come together the mean by litres of what is tested of them. Every
//! figure of now comes from `sulfuring/known.rs`: the test that tells most, what was given since that test, the free by the forecast. A
//! gift knows whether the last test of its wine had it; of a test that the wine does not carry (of its lot, an own one before a composite)
//! the day says it. A test of the vessel itself goes before what is carried until other wine changes that by half a milligram; a test of
//! other vessels of the lot goes before only where it was drawn since the wine came. Evaporation takes nothing of what was given, which
//! errs to the safe side too.

use serde::{Deserialize, Serialize};
use smallvec::SmallVec;

use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::units::{Mass, Volume, apportion_in_place};

/// So many gifts are kept apart; beyond that those of one day are put together, else the two oldest.
const MOST_GIFTS: usize = 8;

/// A mixed level tells of a wine of which so many parts of a million are tested at least (our choice: nine tenths).
const TELLING_PPM: u32 = 900_000;

/// A wine that makes up less than so many parts of a million does not change of when a mixed level is (our choice: a twentieth).
const DATING_PPM: u64 = 50_000;

const MILLION: u32 = 1_000_000;

/// What is carried along with a wine.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct CarriedSulfur {
    /// What was given, the oldest first.
    gifts: SmallVec<[Gift; 2]>,
    /// What the free was last tested at.
    free: Option<Level>,
    /// What the total was last tested at.
    total: Option<Level>,
}

/// Something that was given for its sulfur dioxide, as much of it as is in this wine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Gift {
    /// When.
    pub at: Moment,
    /// How much: of sulfur dioxide, or of the material where nobody knows yet how much that gives.
    amount: Mass,
    /// Which of the house's materials it is, where nobody knew what it gives when it was added.
    material: Option<u16>,
    /// Whether the last test of the free was of wine that had it already.
    in_free: bool,
    /// The same of the total.
    in_total: bool,
}

/// A tested level of a wine that may be of several.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
struct Level {
    /// Micrograms in a litre: of what is tested of the wine, the mean.
    ug_l: u32,
    /// How much of the wine is tested.
    tested_ppm: u32,
    /// When the oldest of its tests was drawn.
    drawn: Moment,
}

/// What a wine was last tested at, as it is now.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CarriedLevel {
    /// mg/L.
    pub mg_l: f64,
    /// When the oldest test that it rests on was drawn.
    pub drawn: Moment,
}

impl Gift {
    /// Whether the last test of a thing was of wine that had it already.
    #[must_use]
    pub const fn is_in(&self, analyte: Analyte) -> bool {
        match analyte {
            Analyte::FreeSo2 => self.in_free,
            _ => self.in_total,
        }
    }

    fn is_like(&self, other: &Gift) -> bool {
        self.material == other.material && self.in_free == other.in_free && self.in_total == other.in_total
    }

    /// What it gives of sulfur dioxide, mg; nothing where nobody knows that yet.
    #[must_use]
    pub fn milligrams(&self, state: &State) -> f64 {
        let sulfur_dioxide = match self.material {
            None => Some(self.amount),
            Some(material) => state.given_by_house_material(material, self.amount),
        };
        sulfur_dioxide.map_or(0.0, |mass| mass.as_grams() * 1e3)
    }

    /// Two that are told as one, dated as the later is: what a test may have missed is rather counted twice than not at all.
    fn and(self, later: Gift) -> Gift {
        Gift {
            at: later.at,
            amount: self.amount + later.amount,
            material: later.material,
            in_free: self.in_free && later.in_free,
            in_total: self.in_total && later.in_total,
        }
    }
}

impl CarriedSulfur {
    /// So much was given to the wine: of sulfur dioxide, or of one of the house's materials of which nobody knows what it gives.
    pub fn give(&mut self, amount: Mass, material: Option<u16>, at: Moment) {
        if !amount.is_zero() {
            self.put(Gift { at, amount, material, in_free: false, in_total: false });
            self.shorten();
        }
    }

    /// The wine was tested: of a sample, as it was when that was drawn.
    pub fn test(&mut self, analyte: Analyte, mg_l: f64, drawn: Moment) {
        let tested = Some(Level { ug_l: micrograms(mg_l), tested_ppm: MILLION, drawn });
        let had = |gift: &Gift| gift.at.instant() <= drawn.instant();
        match analyte {
            Analyte::FreeSo2 => {
                self.free = tested;
                self.gifts.iter_mut().for_each(|gift| gift.in_free = had(gift));
            }
            Analyte::TotalSo2 => {
                self.total = tested;
                self.gifts.iter_mut().for_each(|gift| gift.in_total = had(gift));
            }
            _ => {}
        }
    }

    /// Takes out what goes with a part of the wine.
    #[must_use]
    pub fn take(&mut self, part: Volume, of: Volume) -> CarriedSulfur {
        let mut taken = self.clone();
        let mut shares: SmallVec<[u64; MOST_GIFTS]> = self.gifts.iter().map(|gift| gift.amount.as_ug()).collect();
        let whole: Mass = self.gifts.iter().map(|gift| gift.amount).sum();
        if apportion_in_place(whole.part(part.as_ul(), of.as_ul()).as_ug(), &mut shares) {
            for ((left, gone), share) in self.gifts.iter_mut().zip(&mut taken.gifts).zip(shares) {
                gone.amount = Mass::from_ug(share);
                left.amount = Mass::from_ug(left.amount.as_ug().saturating_sub(share));
            }
        }
        for carried in [&mut *self, &mut taken] {
            carried.gifts.retain(|gift| !gift.amount.is_zero());
        }
        taken
    }

    /// Another wine comes to this one.
    pub fn join(&mut self, own: Volume, other: &CarriedSulfur, volume: Volume) {
        self.free = mixed((self.free, own), (other.free, volume));
        self.total = mixed((self.total, own), (other.total, volume));
        for &gift in &other.gifts {
            self.put(gift);
        }
        self.shorten();
    }

    /// Puts a gift at its place; one of the same moment and standing is the same gift, come together again.
    fn put(&mut self, gift: Gift) {
        let at = self.gifts.partition_point(|known| known.at.instant() < gift.at.instant());
        let same = self.gifts[at..].iter_mut().take_while(|known| known.at.instant() == gift.at.instant());
        match same.into_iter().find(|known| known.is_like(&gift)) {
            Some(known) => known.amount += gift.amount,
            None => self.gifts.insert(at, gift),
        }
    }

    fn shorten(&mut self) {
        while self.gifts.len() > MOST_GIFTS {
            let of_one_day = |pair: &[Gift]| pair[1].at.days_since(pair[0].at) == 0 && pair[0].is_like(&pair[1]);
            let of_one_material = |pair: &[Gift]| pair[0].material == pair[1].material;
            let first = self.gifts.windows(2).position(of_one_day);
            let Some(first) = first.or_else(|| self.gifts.windows(2).position(of_one_material)) else { return };
            self.gifts[first + 1] = self.gifts[first].and(self.gifts[first + 1]);
            self.gifts.remove(first);
        }
    }

    /// What the wine was last tested at; none where too little of it was.
    #[must_use]
    pub fn level(&self, analyte: Analyte) -> Option<CarriedLevel> {
        let level = match analyte {
            Analyte::FreeSo2 => self.free,
            Analyte::TotalSo2 => self.total,
            _ => None,
        }?;
        (level.tested_ppm >= TELLING_PPM)
            .then(|| CarriedLevel { mg_l: f64::from(level.ug_l) / 1e3, drawn: level.drawn })
    }

    /// When it was given something last.
    #[must_use]
    pub fn last_given(&self) -> Option<Moment> {
        self.gifts.last().map(|gift| gift.at)
    }

    /// What was given to it, the oldest first.
    pub fn gifts(&self) -> impl Iterator<Item = &Gift> {
        self.gifts.iter()
    }
}

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // clamped to the range just before
fn micrograms(mg_l: f64) -> u32 {
    (mg_l * 1e3).round().clamp(0.0, 4e9) as u32
}

/// The level of two wines together: the mean by litres of what is tested of them.
fn mixed((one, volume): (Option<Level>, Volume), (two, other): (Option<Level>, Volume)) -> Option<Level> {
    let parts = |level: Option<Level>, volume: Volume| {
        level.map_or(0, |level| u128::from(volume.as_ul()) * u128::from(level.tested_ppm))
    };
    let (parts_one, parts_two) = (parts(one, volume), parts(two, other));
    let tested = parts_one + parts_two;
    let whole = u128::from(volume.as_ul()) + u128::from(other.as_ul());
    if one == two && one.is_none() || tested == 0 {
        return None;
    }
    let ug = |level: Option<Level>, parts: u128| level.map_or(0, |level| u128::from(level.ug_l) * parts);
    let ug_l = (ug(one, parts_one) + ug(two, parts_two) + tested / 2) / tested;
    let tells_when = |parts: u128| parts * u128::from(MILLION) >= tested * u128::from(DATING_PPM);
    let dated = [(one, parts_one), (two, parts_two)].into_iter().filter(|(_, parts)| tells_when(*parts));
    let drawn = dated.filter_map(|(level, _)| Some(level?.drawn)).min_by_key(|drawn| drawn.instant())?;
    let tested_ppm = (tested + whole / 2) / whole;
    Some(Level { ug_l: u32::try_from(ug_l).ok()?, tested_ppm: u32::try_from(tested_ppm).ok()?.min(MILLION), drawn })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn day(day: i64) -> Moment {
        Moment::new(day * 86_400_000_000, 0)
    }

    fn tested(total: f64, drawn: i64) -> CarriedSulfur {
        let mut carried = CarriedSulfur::default();
        carried.test(Analyte::TotalSo2, total, day(drawn));
        carried
    }

    fn since_tested(carried: &CarriedSulfur, analyte: Analyte) -> Vec<&Gift> {
        carried.gifts().filter(|gift| !gift.is_in(analyte)).collect()
    }

    fn given(carried: &CarriedSulfur) -> Mass {
        carried.gifts.iter().map(|gift| gift.amount).sum()
    }

    fn litres(litres: u64) -> Volume {
        Volume::from_litres(litres)
    }

    /// 1000 L at 88 mg/L given 24 g, 1000 L at 80 given 20 g: 84 tested, 44 g in 2000 L.
    #[test]
    fn wines_that_come_together_carry_their_mean_and_all_that_was_given() {
        let (mut one, mut two) = (tested(88.0, 10), tested(80.0, 12));
        one.give(Mass::from_grams(24), None, day(15));
        two.give(Mass::from_grams(20), None, day(14));
        one.join(litres(1_000), &two, litres(1_000));
        assert_eq!(one.level(Analyte::TotalSo2), Some(CarriedLevel { mg_l: 84.0, drawn: day(10) }));
        assert_eq!(given(&one), Mass::from_grams(44));
        assert_eq!(
            since_tested(&one, Analyte::TotalSo2).iter().map(|gift| gift.at).collect::<Vec<_>>(),
            [day(14), day(15)]
        );
        assert_eq!(one.level(Analyte::FreeSo2), None);
    }

    #[test]
    fn a_test_has_what_was_given_before_its_sample_was_drawn() {
        let mut wine = tested(80.0, 1);
        wine.give(Mass::from_grams(5), None, day(5));
        wine.give(Mass::from_grams(7), None, day(9));
        wine.test(Analyte::TotalSo2, 90.0, day(6));
        let since: Vec<_> = since_tested(&wine, Analyte::TotalSo2).iter().map(|gift| gift.amount).collect();
        assert_eq!(since, [Mass::from_grams(7)]);
        assert_eq!(since_tested(&wine, Analyte::FreeSo2).len(), 2, "the free was not tested");
        // A tested wine brings its own standing along: what its test had is not counted again.
        let mut older = tested(70.0, 2);
        older.join(litres(100), &wine, litres(100));
        assert_eq!(since_tested(&older, Analyte::TotalSo2).iter().map(|gift| gift.at).collect::<Vec<_>>(), [day(9)]);
        assert_eq!(older.level(Analyte::TotalSo2).unwrap().drawn, day(2));
    }

    #[test]
    fn a_little_wine_that_nobody_tested_changes_no_level_and_much_of_it_leaves_none() {
        let (mut barrel, unknown) = (tested(80.0, 1), CarriedSulfur::default());
        barrel.join(litres(220), &unknown, litres(5));
        assert_eq!(barrel.level(Analyte::TotalSo2), Some(CarriedLevel { mg_l: 80.0, drawn: day(1) }));
        barrel.join(litres(225), &unknown, litres(100));
        assert_eq!(barrel.level(Analyte::TotalSo2), None);
        // A topping of a litre that was tested long ago does not make the barrel's test old.
        let mut barrel = tested(80.0, 100);
        barrel.join(litres(224), &tested(60.0, 1), litres(1));
        assert_eq!(barrel.level(Analyte::TotalSo2).map(|level| level.drawn), Some(day(100)));
    }

    #[test]
    fn a_walk_of_doses_is_one_gift_in_the_tank() {
        let mut tank = CarriedSulfur::default();
        for minute in 0..200 {
            let mut barrel = CarriedSulfur::default();
            barrel.give(Mass::from_grams(5), None, Moment::new(minute * 60_000_000, 0));
            tank.join(litres(225 * u64::try_from(minute).unwrap()), &barrel, litres(225));
        }
        assert_eq!((given(&tank), tank.gifts.len()), (Mass::from_grams(1_000), MOST_GIFTS));
    }

    proptest! {
        #[test]
        fn nothing_that_was_given_is_lost_or_made(
            gifts in prop::collection::vec((0_u64..100_000_000, 0_i64..400), 0..20),
            part in 1_u64..225_000_000,
        ) {
            let mut wine = CarriedSulfur::default();
            for &(ug, at) in &gifts {
                wine.give(Mass::from_ug(ug), None, day(at));
            }
            let whole = given(&wine);
            prop_assert_eq!(whole.as_ug(), gifts.iter().map(|(ug, _)| ug).sum::<u64>());
            let taken = wine.take(Volume::from_ul(part), Volume::from_ul(225_000_000));
            prop_assert_eq!(given(&taken) + given(&wine), whole);
            let exact = u128::from(whole.as_ug()) * u128::from(part) / 225_000_000;
            prop_assert!(u128::from(given(&taken).as_ug()).abs_diff(exact) <= 1);
            prop_assert!(wine.gifts.windows(2).all(|pair| pair[0].at.instant() <= pair[1].at.instant()));
        }
    }
}
