//! How fine a difference between ratios a trial can tell, before anything is poured: panels are simulated that taste these glasses,
//! and what they say is read as that of true panels is.
//!
//! The likings that they taste by are smooth surfaces by chance over all that is allowed (random cosines; Rahimi & Recht 2007, "Random
//! features for large-scale kernel machines"); a part of each taster's liking is his own. The panel tells where scores dealt anew say as
//! much no oftener than once in twenty. Whoever knows no better takes the rule that was found so: eight times in ten from about 250/D²
//! ratings on, D the best less the worst in standard deviations of one rating.
//!
//! **What a trial would tell** (`reckon/telling.rs`) is simulated: smooth likings by chance, some of each taster's own, ratings that stray
//! by a fifth more than repeats do, read by the even surface of `reckon::liking`. With that it comes near the table that was found with
//! panels of many kinds. Scores are dealt anew 99 times, no oftener than until it is certain that the panel does not tell.

use std::sync::Arc;

use super::chance::Chance;
use super::liking::{Averaged, LENGTHS, Rated, Ratings, Space};
use super::mixture::{Region, allowed, reference, spread_among};

/// So many ratings, times the square of the difference in standard deviations of one rating, tell it eight times in ten.
const RATINGS: f64 = 250.0;

/// The range of what is a taster's own, as a part of that which all share (our choice).
const OWN: f64 = 0.3;

/// A rating strays by more than a repeat tells: tasters tire, carry a glass over to the next and round to half points. With a fifth more the
/// table for three wines is met that was simulated with such tasters (so chosen).
const STRAYS: f64 = 1.2;

/// So many cosines make a surface.
const WAVES: usize = 24;

/// So many blends stand for all in a simulated panel: fewer than in a true one, since there are many panels.
const ALL: usize = 120;

/// Scores are dealt anew so often, and no oftener once so many said as much: then it is certain that the panel does not tell.
const DEALS: usize = 99;
const ENOUGH: usize = 5;

/// Differences that are tried: the best less the worst ratio in standard deviations of one rating.
pub const DIFFERENCES: [f64; 3] = [0.75, 1.5, 3.0];

/// Panels of so many tasters are tried beside the one that is planned.
const PANELS: [usize; 4] = [1, 3, 5, 8];

/// A trial of half as many glasses has at least so many.
const FEWEST: usize = 6;

/// From how many standard deviations of one rating on the best and the worst ratio are told apart eight times in ten by so many ratings.
#[must_use]
pub fn told_from(ratings: usize) -> f64 {
    libm::sqrt(RATINGS / ratings.max(1) as f64)
}

/// A trial as it is planned.
#[derive(Clone, Copy, Debug)]
pub struct Planned<'a> {
    /// What bounds and limits allow.
    pub region: &'a Region,
    /// What is in its glasses, those that stand twice too.
    pub glasses: &'a [Vec<f64>],
    /// How many tasters there are.
    pub tasters: usize,
    /// The most glasses of a flight.
    pub flight: usize,
    /// The most glasses of a taster.
    pub most: usize,
    /// The seed of chance.
    pub seed: u64,
}

impl Planned<'_> {
    /// How many ratings it brings.
    #[must_use]
    pub fn ratings(&self) -> usize {
        self.tasters * self.glasses.len().min(self.most)
    }

    /// How many tasters are tried: one, three, five, eight, and so many as are planned in place of the number nearest to it.
    fn panels(&self) -> Vec<usize> {
        let mut panels = PANELS;
        if let Some(nearest) = panels[1..].iter_mut().min_by_key(|panel| panel.abs_diff(self.tasters))
            && self.tasters > 1
        {
            *nearest = self.tasters;
        }
        panels.to_vec()
    }
}

/// A trial that is tried.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tried {
    /// How many glasses, those that stand twice too.
    pub glasses: usize,
    /// How many tasters.
    pub tasters: usize,
    /// The best less the worst ratio, in standard deviations of one rating.
    pub difference: f64,
}

/// What came of its panels.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tally {
    /// How many there were.
    panels: usize,
    /// How many told one ratio from another.
    told: usize,
    /// What the ratio that they leant to lost, in sum: parts of the best less the worst.
    lost: f64,
    /// By how much its shares were off, at most.
    off: Vec<f64>,
}

impl Tally {
    /// How many panels were simulated.
    #[must_use]
    pub fn panels(&self) -> usize {
        self.panels
    }

    /// The part of the panels that told.
    #[must_use]
    pub fn tells(&self) -> f64 {
        self.told as f64 / self.panels.max(1) as f64
    }

    /// What the ratio that they leant to lost on average, a part of the best less the worst.
    #[must_use]
    pub fn loss(&self) -> f64 {
        self.lost / self.panels.max(1) as f64
    }

    /// The largest error of one of its shares, in the middle of all panels.
    #[must_use]
    pub fn off(&self) -> f64 {
        let mut off = self.off.clone();
        off.sort_by(f64::total_cmp);
        off.get(off.len() / 2).copied().unwrap_or(0.0)
    }
}

/// Panels of one region, simulated round by round.
#[derive(Clone, Debug)]
pub struct Telling {
    space: Arc<Space>,
    /// The blends that are allowed: among them lies what is best.
    all: Vec<Vec<f64>>,
    designs: Vec<Poured>,
    rows: Vec<(Tried, Tally)>,
    chance: Chance,
    flight: usize,
    most: usize,
}

/// The glasses of a size: the blends, each once, and which of them each glass holds.
#[derive(Clone, Debug)]
struct Poured {
    glasses: usize,
    blends: Vec<Vec<f64>>,
    holds: Vec<usize>,
}

impl Poured {
    /// A spread of so many glasses, of which one of ten stands twice; none where there are not so many blends.
    fn of(allowed: &[Vec<f64>], glasses: usize, seed: u64) -> Option<Poured> {
        let twice = glasses / 10;
        let blends = spread_among(allowed, &[], glasses - twice, seed);
        let holds = (0..blends.len()).chain(0..twice).collect();
        (blends.len() + twice == glasses && glasses > 1).then_some(Poured { glasses, blends, holds })
    }

    /// Glasses as they are.
    fn these(glasses: &[Vec<f64>]) -> Poured {
        let mut blends: Vec<Vec<f64>> = Vec::new();
        let mut place = |glass: &Vec<f64>| {
            blends.iter().position(|blend| blend == glass).unwrap_or_else(|| {
                blends.push(glass.clone());
                blends.len() - 1
            })
        };
        let holds = glasses.iter().map(&mut place).collect();
        Poured { glasses: glasses.len(), blends, holds }
    }
}

/// A liking by chance.
struct Surface {
    waves: Vec<(Vec<f64>, f64)>,
}

impl Surface {
    fn of(space: &Space, chance: &mut Chance) -> Surface {
        // The shortest length is left out: no wine is liked by so sharp a turn.
        let length = LENGTHS[1 + chance.below(LENGTHS.len() - 1)];
        let directions = space.variances().len();
        let mut wave = || {
            let along = (0..directions).map(|_| normal(chance) / length).collect();
            (along, std::f64::consts::TAU * chance.fraction())
        };
        Surface { waves: (0..WAVES).map(|_| wave()).collect() }
    }

    fn at(&self, place: &[f64]) -> f64 {
        let wave = |(along, phase): &(Vec<f64>, f64)| {
            libm::cos(along.iter().zip(place).map(|(one, other)| one * other).sum::<f64>() + phase)
        };
        self.waves.iter().map(wave).sum()
    }

    /// The liking of some places, stretched so that over all it has this range.
    fn over(&self, places: &[Vec<f64>], all: &[Vec<f64>], range: f64) -> Vec<f64> {
        let likings = all.iter().map(|place| self.at(place));
        let (least, most) =
            likings.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), it| (low.min(it), high.max(it)));
        let stretch = if most > least { range / (most - least) } else { 0.0 };
        places.iter().map(|place| (self.at(place) - least) * stretch).collect()
    }
}

/// A number by chance about nought with deviation one (Box & Muller 1958).
fn normal(chance: &mut Chance) -> f64 {
    let far = libm::sqrt(-2.0 * libm::log(1.0 - chance.fraction()));
    far * libm::cos(std::f64::consts::TAU * chance.fraction())
}

impl Telling {
    /// Panels of a trial as it is planned, of half and of twice as many glasses spread over the same region, and of fewer and more
    /// tasters. None where bounds and limits leave one blend; of twice as many glasses none where there are not so many blends.
    #[must_use]
    pub fn of(planned: &Planned<'_>) -> Option<Telling> {
        let Planned { region, glasses, flight, most, seed, .. } = *planned;
        let allowed = allowed(region, 2 * glasses.len());
        let all = {
            let mut drawn = reference(&allowed, seed);
            drawn.truncate(ALL);
            drawn
        };
        let space = Arc::new(Space::of(&all)?);
        let spread = |glasses: usize| Poured::of(&allowed, glasses, seed);
        let half = Some(glasses.len() / 2).filter(|&half| half >= FEWEST).and_then(spread);
        let designs: Vec<Poured> =
            half.into_iter().chain([Poured::these(glasses)]).chain(spread(2 * glasses.len())).collect();
        let mut rows = Vec::new();
        for difference in DIFFERENCES {
            for Poured { glasses, .. } in &designs {
                let tried = |tasters| (Tried { glasses: *glasses, tasters, difference }, Tally::default());
                rows.extend(planned.panels().into_iter().map(tried));
            }
        }
        Some(Telling { rows, space, all, designs, chance: Chance::from_seed(seed), flight, most })
    }

    /// What came of it so far, by rising difference, then glasses, then tasters.
    #[must_use]
    pub fn rows(&self) -> &[(Tried, Tally)] {
        &self.rows
    }

    /// Simulates one panel more of each, unless it is to stop.
    pub fn round(&mut self, stop: &dyn Fn() -> bool) {
        for at in 0..self.rows.len() {
            if stop() {
                return;
            }
            let tried = self.rows[at].0;
            if let Some((told, lost, off)) = self.panel(tried) {
                let tally = &mut self.rows[at].1;
                tally.panels += 1;
                tally.told += usize::from(told);
                tally.lost += lost;
                tally.off.push(off);
            }
        }
    }

    /// One panel: whether it tells, what the ratio that it leans to loses, and by how much its shares are off.
    fn panel(&mut self, tried: Tried) -> Option<(bool, f64, f64)> {
        let poured = self.designs.iter().find(|poured| poured.glasses == tried.glasses)?;
        let (chance, space) = (&mut self.chance, &self.space);
        let at = |blends: &[Vec<f64>]| blends.iter().map(|blend| space.at(blend)).collect::<Vec<_>>();
        let (all, places) = (at(&self.all), at(&poured.blends));
        let shared = Surface::of(space, chance);
        let (true_of_all, true_of_poured) =
            (shared.over(&all, &all, tried.difference), shared.over(&places, &all, tried.difference));
        let mut rated = Vec::new();
        for taster in 0..tried.tasters {
            let own = Surface::of(space, chance).over(&places, &all, OWN * tried.difference);
            let mut order = poured.holds.clone();
            chance.shuffle(&mut order);
            order.truncate(self.most);
            let flights = order.len().div_ceil(self.flight.max(1));
            for (turn, &blend) in order.iter().enumerate() {
                let score = true_of_poured[blend] + own[blend] + STRAYS * normal(chance);
                rated.push(Rated { taster, flight: turn * flights / order.len(), blend, score });
            }
        }
        let ratings = Ratings::new(&rated, poured.blends.len());
        let surface = Averaged::of(space, &poured.blends, &ratings, &ratings.even())?;
        let tells = tells(&surface, &ratings, chance);
        let leans = most(self.all.iter().map(|blend| surface.liking(blend)))?;
        let best = most(true_of_all.iter().copied())?;
        let lost = (true_of_all[best] - true_of_all[leans]) / tried.difference;
        let pairs = self.all[best].iter().zip(&self.all[leans]);
        Some((tells, lost, pairs.map(|(one, other)| (one - other).abs()).fold(0.0, f64::max)))
    }
}

/// Where the largest of some numbers stands.
fn most(numbers: impl Iterator<Item = f64>) -> Option<usize> {
    numbers.enumerate().max_by(|(_, one), (_, other)| one.total_cmp(other)).map(|(at, _)| at)
}

/// Whether scores dealt anew say as much no oftener than once in twenty.
fn tells(surface: &Averaged, ratings: &Ratings, chance: &mut Chance) -> bool {
    let even = ratings.even();
    let mut dealt = ratings.clone();
    let mut reached = 0;
    for _ in 0..DEALS {
        dealt.deal(chance);
        reached += usize::from(surface.factor_of(&dealt.sums(&even)) >= surface.factor());
        if reached >= ENOUGH {
            return false;
        }
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    fn planned<'a>(region: &'a Region, glasses: &'a [Vec<f64>], tasters: usize) -> Planned<'a> {
        Planned { region, glasses, tasters, flight: 15, most: 45, seed: 7 }
    }

    #[test]
    fn four_times_the_ratings_tell_half_the_difference() {
        assert!((told_from(250) - 1.0).abs() < 1e-12);
        assert!((told_from(1_000) - 0.5).abs() < 1e-12);
        assert!(told_from(0).is_finite());
    }

    /// Beside a table that was simulated with other tasters and surfaces for three wines without bounds (12 to 50 glasses, 2,786 panels):
    /// with 24 glasses and 5 tasters 38, 83 and 100 of a hundred told a difference of .75, 1.5 and 3; of 60 panels here 37, 87 and 100.
    #[test]
    fn more_is_told_the_larger_the_difference() {
        let region = Region::all(&["A", "B", "C"]).unwrap();
        let glasses = Poured::of(&allowed(&region, 24), 24, 7).unwrap();
        let glasses: Vec<Vec<f64>> = glasses.holds.iter().map(|&blend| glasses.blends[blend].clone()).collect();
        let mut telling = Telling::of(&planned(&region, &glasses, 5)).unwrap();
        assert_eq!(telling.rows().len(), 36);
        telling.rows.retain(|(tried, _)| tried.glasses == 24 && tried.tasters == 5);
        let panels = std::env::var("PANELS").ok().and_then(|panels| panels.parse().ok()).unwrap_or(12);
        (0..panels).for_each(|_| telling.round(&|| false));
        let tells: Vec<f64> = telling.rows().iter().map(|(_, tally)| tally.tells()).collect();
        let losses: Vec<f64> = telling.rows().iter().map(|(_, tally)| tally.loss()).collect();
        println!("{tells:?} {losses:?} {:?}", telling.rows().iter().map(|(_, it)| it.off()).collect::<Vec<_>>());
        assert!(tells[0] < tells[2] && tells[2] > 0.9, "{tells:?}");
        assert!(losses[2] < losses[0] && losses[2] < 0.1, "{losses:?}");
        assert!(telling.rows().iter().all(|(_, tally)| tally.panels() == panels && tally.off() <= 1.0));
    }

    #[test]
    fn where_there_is_one_blend_nothing_is_tried() {
        let one = Region::new(
            vec![super::super::mixture::Bound::new("A", 0.4, 0.4), super::super::mixture::Bound::new("B", 0.6, 0.6)],
            Vec::new(),
        );
        let glasses = vec![vec![0.4, 0.6]; 4];
        assert!(Telling::of(&planned(&one.unwrap(), &glasses, 3)).is_none());
        let region = Region::all(&["A", "B"]).unwrap();
        let mut stopped = Telling::of(&planned(&region, &glasses, 4)).unwrap();
        assert_eq!(stopped.rows().iter().map(|(tried, _)| tried.tasters).take(4).collect::<Vec<_>>(), [1, 4, 5, 8]);
        stopped.round(&|| true);
        assert!(stopped.rows().iter().all(|(_, tally)| tally.panels() == 0 && tally.tells() < 1e-12));
    }
}
