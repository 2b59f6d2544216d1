//! The glasses of a second sitting, laid out from what the first one said: the glass of the first that lies farthest out and its two best
//! once more, so that both sittings can be held against one another, and a filling of all that lies within one standard error of its
//! best. So more is poured where it matters, and nothing is lost where the first was wrong.

use std::sync::Arc;

use super::liking::{Averaged, Ratings, Space, apart};
use super::mixture::{Region, allowed, as_poured, reference, spread_among};
use crate::units::counted;

/// So much of all glasses is poured at the first of two sittings: six of ten.
pub const FIRST: f64 = 0.6;

/// What a first sitting was, and said.
#[derive(Clone, Copy, Debug)]
pub struct First<'a> {
    /// What bounds and limits allow.
    pub region: &'a Region,
    /// The blends that were poured, each once.
    pub blends: &'a [Vec<f64>],
    /// What was said of them.
    pub ratings: &'a Ratings,
    /// In how many steps a glass is poured.
    pub steps: u64,
    /// The seed of chance.
    pub seed: u64,
}

/// How many glasses a second sitting has after so many of the first, where it is not said.
#[must_use]
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // glasses of a trial
pub fn usual_count(first: usize) -> usize {
    (first as f64 * (1.0 - FIRST) / FIRST).round().max(1.0) as usize
}

/// What the glasses of a second sitting are for, in words.
#[must_use]
pub fn purpose(glasses: usize, first: &str) -> String {
    format!(
        "{} of a second sitting after {first}: its glass that lies farthest out and its two best once more, so that both sittings can be \
         held against one another, then a filling of what lies within one standard error of its best. Once both are revealed they are \
         read together.",
        counted(glasses, "glass")
    )
}

impl First<'_> {
    /// So many glasses of a second sitting. None where the first said nothing: of one blend, or all of a flight rated alike.
    #[must_use]
    pub fn second(&self, count: usize) -> Option<Vec<Vec<f64>>> {
        let allowed: Vec<Vec<f64>> = self.poured(&allowed(self.region, 3 * count));
        let all = reference(&allowed, self.seed);
        let space = Arc::new(Space::of(&all)?);
        let surface = Averaged::of(&space, self.blends, self.ratings, &self.ratings.even())?;
        let liking = |blend: &&Vec<f64>| surface.liking(blend);
        let best = all.iter().chain(self.blends).max_by(|one, other| liking(one).total_cmp(&liking(other)))?;
        let mut glasses = self.again(&space, &surface);
        glasses.truncate(count);
        let place = surface.place(best);
        let is_near = |blend: &&Vec<f64>| {
            let (loss, variance) = surface.more(&place, &surface.place(blend));
            loss <= variance.max(0.0).sqrt()
        };
        let near: Vec<Vec<f64>> = all.iter().filter(is_near).cloned().collect();
        for among in [&near, &allowed] {
            let taken = [self.blends, &glasses].concat();
            glasses.extend(spread_among(among, &taken, count.saturating_sub(glasses.len()), self.seed));
        }
        Some(glasses)
    }

    /// The glass of the first sitting that lies farthest out, and its two best.
    fn again(&self, space: &Space, surface: &Averaged) -> Vec<Vec<f64>> {
        let out = |blend: &Vec<f64>| {
            let place = space.at(blend);
            apart(&place, &vec![0.0; place.len()])
        };
        let farthest = self.blends.iter().max_by(|one, other| out(one).total_cmp(&out(other)));
        let mut liked: Vec<&Vec<f64>> = self.blends.iter().collect();
        liked.sort_by(|one, other| surface.liking(other).total_cmp(&surface.liking(one)));
        let mut again: Vec<Vec<f64>> = Vec::new();
        for blend in farthest.into_iter().chain(liked.into_iter().take(2)) {
            if !again.contains(blend) {
                again.push(blend.clone());
            }
        }
        again
    }

    /// Blends as they come out of the cylinder, each once.
    fn poured(&self, blends: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let mut poured: Vec<Vec<f64>> =
            blends.iter().filter_map(|blend| as_poured(self.region, blend, self.steps)).collect();
        poured.sort_by(|one, other| one.partial_cmp(other).unwrap_or(std::cmp::Ordering::Equal));
        poured.dedup();
        poured
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reckon::chance::Chance;
    use crate::reckon::liking::Rated;

    #[test]
    fn four_of_ten_glasses_are_left_for_it() {
        assert_eq!([30, 15, 12, 1].map(usual_count), [20, 10, 8, 1]);
    }

    /// Three tasters who like 60/30/10 best: what is filled lies nearer to that than what was poured first.
    #[test]
    fn it_is_poured_where_the_first_said_that_the_best_lies() {
        let region = Region::all(&["A", "B", "C"]).unwrap();
        let blends = spread_among(&allowed(&region, 18), &[], 18, 1);
        let off = |blend: &[f64]| apart(blend, &[0.6, 0.3, 0.1]);
        let mut chance = Chance::from_seed(5);
        let mut rated = Vec::new();
        for taster in 0..3 {
            for (at, blend) in blends.iter().enumerate() {
                let score = 16.0 - 8.0 * off(blend) + chance.fraction() - 0.5;
                rated.push(Rated { taster, flight: 0, blend: at, score });
            }
        }
        let ratings = Ratings::new(&rated, blends.len());
        let first = First { region: &region, blends: &blends, ratings: &ratings, steps: 100, seed: 1 };
        let second = first.second(12).unwrap();
        assert_eq!(second.len(), 12);
        assert!(second[..3].iter().all(|glass| blends.contains(glass)), "{second:?}");
        assert!(second[3..].iter().all(|glass| !blends.contains(glass) && region.contains(glass)), "{second:?}");
        let mean = |glasses: &[Vec<f64>]| glasses.iter().map(|it| off(it)).sum::<f64>() / glasses.len() as f64;
        assert!(mean(&second[3..7]) < 0.5 * mean(&blends), "{} {}", mean(&second[3..7]), mean(&blends));
        let silent: Vec<Rated> = rated.iter().map(|it| Rated { score: 12.0, ..*it }).collect();
        let ratings = Ratings::new(&silent, blends.len());
        assert!(First { ratings: &ratings, ..first }.second(12).is_none());
    }
}
