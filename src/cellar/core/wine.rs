//! Wine: microlitres by origin, whose sum is the volume, exactly.

use serde::{Deserialize, Serialize};
use smallvec::SmallVec;

use super::state::OriginId;
use crate::cellar::jobs::tests::added::CarriedAdditions;
use crate::cellar::jobs::tests::sulfuring::carried::CarriedSulfur;
use crate::units::{Volume, apportion_in_place};

/// Wine of so many origins is split without asking for memory; a million toppings are a million splits.
const FEW_PARTS: usize = 8;

/// So much of one origin. Volume that a treatment added has no origin.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part {
    /// Where it came from.
    pub origin: Option<OriginId>,
    /// How much of it there is; never zero.
    pub volume: Volume,
}

/// Wine and what it is made of: its parts sum to its volume.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Wine {
    /// Ordered by origin, each once, none of zero.
    parts: SmallVec<[Part; 2]>,
    /// The sulfur dioxide that it carries along, where something of it is known.
    sulfur: Option<Box<CarriedSulfur>>,
    /// What was added to it, where something was.
    added: Option<Box<CarriedAdditions>>,
}

impl Wine {
    /// Wine of one origin.
    #[must_use]
    pub fn of(origin: Option<OriginId>, volume: Volume) -> Wine {
        let mut wine = Wine::default();
        wine.put(origin, volume);
        wine
    }

    /// How much there is.
    #[must_use]
    pub fn volume(&self) -> Volume {
        self.parts.iter().map(|part| part.volume).sum()
    }

    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// What it is made of, ordered by origin.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// Adds so much of one origin.
    pub fn put(&mut self, origin: Option<OriginId>, volume: Volume) {
        if volume.is_zero() {
            return;
        }
        match self.parts.binary_search_by_key(&origin, |part| part.origin) {
            Ok(index) => self.parts[index].volume += volume,
            Err(index) => self.parts.insert(index, Part { origin, volume }),
        }
    }

    /// The sulfur dioxide that it carries along, where something of it is known.
    #[must_use]
    pub fn sulfur(&self) -> Option<&CarriedSulfur> {
        self.sulfur.as_deref()
    }

    /// The same, to give it more or to say what was tested.
    pub(in crate::cellar) fn sulfur_mut(&mut self) -> &mut CarriedSulfur {
        self.sulfur.get_or_insert_default()
    }

    /// What was added to it over its life, where something was.
    #[must_use]
    pub fn added(&self) -> Option<&CarriedAdditions> {
        self.added.as_deref()
    }

    /// The same, to add more.
    pub(in crate::cellar) fn added_mut(&mut self) -> &mut CarriedAdditions {
        self.added.get_or_insert_default()
    }

    /// How much of it has no origin: what additions brought in.
    #[must_use]
    pub fn without_origin(&self) -> Volume {
        self.parts.iter().filter(|part| part.origin.is_none()).map(|part| part.volume).sum()
    }

    /// Mixes another wine into this one.
    pub fn mix(&mut self, other: &Wine) {
        if let Some(added) = other.added() {
            self.added_mut().join(added);
        }
        if self.sulfur.is_some() || other.sulfur.is_some() {
            self.mix_sulfur(other);
        }
        for part in &other.parts {
            self.put(part.origin, part.volume);
        }
    }

    fn mix_sulfur(&mut self, other: &Wine) {
        let (own, volume) = (self.volume(), other.volume());
        if own.is_zero() {
            self.sulfur.clone_from(&other.sulfur);
        } else if !volume.is_zero() {
            let unknown = CarriedSulfur::default();
            self.sulfur_mut().join(own, other.sulfur().unwrap_or(&unknown), volume);
        }
    }

    /// Takes a volume out, every origin in proportion (largest remainder), and gives what was taken. No more can be
    /// taken than there is: a larger volume takes all.
    #[must_use]
    pub fn take(&mut self, volume: Volume) -> Wine {
        let whole = self.volume();
        if volume >= whole {
            return std::mem::take(self);
        }
        let sulfur = match &mut self.sulfur {
            Some(carried) if !volume.is_zero() => Some(Box::new(carried.take(volume, whole))),
            _ => None,
        };
        let added = match &mut self.added {
            Some(carried) if !volume.is_zero() => Some(Box::new(carried.take(volume, whole))),
            _ => None,
        };
        let mut taken = Wine { parts: SmallVec::with_capacity(self.parts.len()), sulfur, added };
        self.share_out(volume, |part, share| {
            part.volume = part.volume.saturating_sub(share);
            if !share.is_zero() {
                taken.parts.push(Part { origin: part.origin, volume: share });
            }
        });
        self.parts.retain(|part| !part.volume.is_zero());
        taken
    }

    /// Takes a volume out as evaporation does: every origin in proportion, and nobody asks what it was made of. What was given to
    /// the wine stays in what is left.
    pub fn lose(&mut self, volume: Volume) {
        if volume >= self.volume() {
            *self = Wine::default();
            return;
        }
        self.share_out(volume, |part, share| part.volume = part.volume.saturating_sub(share));
        self.parts.retain(|part| !part.volume.is_zero());
    }

    /// Grows by a volume, every origin in proportion to what there is. Nothing cannot grow: without any wine there is
    /// no proportion, and nothing happens.
    pub fn grow(&mut self, volume: Volume) {
        self.share_out(volume, |part, share| part.volume += share);
    }

    /// Splits a volume over the parts in proportion and does something with each part and its share.
    fn share_out(&mut self, volume: Volume, mut each: impl FnMut(&mut Part, Volume)) {
        if let [only] = self.parts.as_mut_slice() {
            return each(only, volume);
        }
        let (mut few, mut many) = ([0; FEW_PARTS], Vec::new());
        let count = self.parts.len();
        let shares = if count <= FEW_PARTS {
            &mut few[..count]
        } else {
            many.resize(count, 0);
            &mut many[..]
        };
        for (share, part) in shares.iter_mut().zip(&self.parts) {
            *share = part.volume.as_ul();
        }
        if apportion_in_place(volume.as_ul(), shares) {
            for (part, &mut share) in self.parts.iter_mut().zip(shares) {
                each(part, Volume::from_ul(share));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cellar::core::table::Id;
    use proptest::prelude::*;

    fn wine(volumes: &[u64]) -> Wine {
        let mut wine = Wine::default();
        for (index, &ul) in volumes.iter().enumerate() {
            wine.put(Some(OriginId::from_index(index)), Volume::from_ul(ul));
        }
        wine
    }

    #[test]
    fn a_draw_takes_every_origin_in_proportion() {
        let mut barrel = wine(&[150_000_000, 75_000_000]);
        let taken = barrel.take(Volume::from_litres(3));
        assert_eq!(taken, wine(&[2_000_000, 1_000_000]));
        assert_eq!(barrel, wine(&[148_000_000, 74_000_000]));
    }

    proptest! {
        #[test]
        fn what_is_taken_and_what_is_left_sum_to_what_was(
            volumes in prop::collection::vec(0_u64..300_000_000, 1..12),
            draw in 0_u64..400_000_000,
        ) {
            let before = wine(&volumes);
            let mut left = before.clone();
            let taken = left.take(Volume::from_ul(draw));
            prop_assert_eq!(taken.volume(), Volume::from_ul(draw.min(before.volume().as_ul())));
            let mut whole = left.clone();
            whole.mix(&taken);
            prop_assert_eq!(&whole, &before);
            prop_assert!(left.parts().iter().all(|part| !part.volume.is_zero()));
            let mut lost = before.clone();
            lost.lose(Volume::from_ul(draw));
            prop_assert_eq!(lost, left);
        }

        #[test]
        fn growth_is_exact(volumes in prop::collection::vec(1_u64..300_000_000, 1..12), growth in 0_u64..100_000_000) {
            let mut grown = wine(&volumes);
            let before = grown.volume();
            grown.grow(Volume::from_ul(growth));
            prop_assert_eq!(grown.volume(), before + Volume::from_ul(growth));
        }
    }
}
