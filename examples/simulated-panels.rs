//! Panels that are simulated, to see what the reading of a trial is worth: wines, glasses and tasters of whom the truth is known.
//!
//! `cargo run --release --example simulated-panels -- [PANELS] [SEED] [small]` prints how much liking is lost against the best allowed ratio by
//! what is advised, by the best glass, by the middle and by polynomials; how often a panel tells something, also where there is nothing to tell;
//! how often bands and what is as good hold the truth; and all that by kind of surface. Where a panel can't tell, its best glass is poured.
//! Three to eight people taste 20 to 50 glasses; with `small` one to eight taste 12 to 50. What nobody could tell who had so few ratings is
//! printed beside: the truth's own shape is known to the one who is compared there, only not whether it is there.

use std::collections::BTreeSet;

use barrelwalk::reckon::chance::Chance;
use barrelwalk::reckon::liking::{Reading, read};
use barrelwalk::reckon::mixture::{self, Bound};
use barrelwalk::reckon::surface::{Question, Rating, Region, Scale, Verdict};
use barrelwalk::reckon::watch::Watch;
use statrs::distribution::{ContinuousCDF, StudentsT};

/// Kinds of liking over the blends that are allowed.
const KINDS: [&str; 8] = ["flat", "linear", "quadratic", "edge", "ridge", "cubic", "bump", "two peaks"];
/// A flight holds no more glasses than this.
const FLIGHT: usize = 12;
/// More than so many points worse than the best glass is a bad advice.
const BAD: f64 = 0.2;

/// Liking by blend.
type Truth = Box<dyn Fn(&[f64]) -> f64>;

/// A panel: what it is asked, and the truth.
struct Panel {
    kind: usize,
    question: Question,
    allowed: Vec<Vec<f64>>,
    truth: Truth,
}

struct Draw {
    chance: Chance,
    glasses: &'static [usize],
    tasters: &'static [usize],
}

impl Draw {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.chance.fraction()
    }

    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.chance.fraction()).sum::<f64>() - 6.0
    }

    fn of<T: Clone>(&mut self, from: &[T]) -> T {
        from[self.chance.below(from.len())].clone()
    }

    /// Bounds of so many wines: none in half of all trials, else such as leave room.
    fn region(&mut self, wines: usize) -> Region {
        if self.chance.fraction() < 0.5 {
            return Region::all(wines);
        }
        loop {
            let lower: Vec<f64> = (0..wines).map(|_| self.of(&[0.0, 0.0, 0.05, 0.1, 0.2])).collect();
            let upper: Vec<f64> = (0..wines).map(|_| self.of(&[0.35, 0.5, 0.7, 0.9, 1.0])).collect();
            if lower.iter().sum::<f64>() < 0.55 && upper.iter().sum::<f64>() > 1.5 {
                return Region { lower, upper, limits: Vec::new() };
            }
        }
    }

    /// A surface of a kind, before it is stretched.
    fn surface(&mut self, kind: &str, region: &Region, allowed: &[Vec<f64>]) -> Truth {
        let wines = region.lower.len();
        let mut slopes = || (0..wines).map(|_| self.normal()).collect::<Vec<f64>>();
        let (slope, other) = (slopes(), slopes());
        let along =
            |slope: Vec<f64>| move |x: &[f64]| x.iter().zip(&slope).map(|(share, one)| share * one).sum::<f64>();
        // Distances count by the room that a component has.
        let room: Vec<f64> = (0..wines)
            .map(|it| {
                let shares = allowed.iter().map(|blend| blend[it]);
                let (low, high) = shares.fold((1.0_f64, 0.0_f64), |(low, high), it| (low.min(it), high.max(it)));
                (high - low).max(1e-3)
            })
            .collect();
        let from = |centre: Vec<f64>, room: Vec<f64>| {
            move |x: &[f64]| {
                x.iter().zip(&centre).zip(&room).map(|((x, c), room)| ((x - c) / room).powi(2)).sum::<f64>()
            }
        };
        let (one, two) = (self.of(allowed), self.of(allowed));
        let inside: Vec<f64> = (0..wines)
            .map(|it| 0.5 * one[it] + 0.5 * allowed.iter().map(|b| b[it]).sum::<f64>() / allowed.len() as f64)
            .collect();
        match kind {
            "flat" => Box::new(|_| 0.0),
            "linear" => Box::new(along(slope)),
            "quadratic" => {
                let (off, tilt) = (from(inside, room), along(slope));
                Box::new(move |x| -off(x) + 0.15 * tilt(x))
            }
            "edge" => {
                let least: f64 = one.iter().copied().fold(1.0, f64::min);
                let centre = one.iter().map(|it| it - least).collect::<Vec<f64>>();
                let whole: f64 = centre.iter().sum::<f64>().max(1e-9);
                let off = from(centre.into_iter().map(|it| it / whole).collect(), room);
                Box::new(move |x| -off(x).sqrt())
            }
            "ridge" => {
                let (across, tilt) = (along(slope), along(other));
                let top = across(&one);
                Box::new(move |x| -3.0 * (across(x) - top).powi(2) + 0.2 * tilt(x))
            }
            "cubic" => {
                let (tilt, gain) = (along(slope), self.between(10.0, 40.0));
                let pairs = self.between(-3.0, 3.0);
                Box::new(move |x| tilt(x) + gain * x[0] * x[1] * x[2] + pairs * x[0] * x[wines - 1])
            }
            "bump" => {
                let (off, width) = (from(one, room), self.between(0.15, 0.5));
                Box::new(move |x| (-off(x) / width).exp())
            }
            _ => {
                let (off, also, width) = (from(one, room.clone()), from(two, room), self.between(0.1, 0.35));
                let lower = self.between(0.5, 0.9);
                Box::new(move |x| (-off(x) / width).exp() + lower * (-also(x) / width).exp())
            }
        }
    }

    /// The surface, stretched so that best and worst lie so many points apart.
    fn stretched(&mut self, kind: &str, points: f64, region: &Region, allowed: &[Vec<f64>]) -> Truth {
        let surface = self.surface(kind, region, allowed);
        let values = allowed.iter().map(|blend| surface(blend));
        let (low, high) =
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), it| (low.min(it), high.max(it)));
        let by = if high > low { points / (high - low) } else { 0.0 };
        Box::new(move |x| by * surface(x))
    }

    /// A panel: 3 to 5 wines, glasses that fill what is allowed with a tenth of them twice, tasters with a level, a scale, a scatter, some
    /// taste and a drift of their own, half of the panels in half points.
    fn panel(&mut self, kind: usize) -> Panel {
        let wines = 3 + self.chance.below(3);
        let region = self.region(wines);
        let names: Vec<String> = (1..=wines).map(|it| format!("W{it}")).collect();
        let bounds = (0..wines).map(|it| Bound::new(names[it].clone(), region.lower[it], region.upper[it])).collect();
        let Ok(whole) = mixture::Region::new(bounds, Vec::new()) else { return self.panel(kind) };
        let glasses = self.of(self.glasses);
        let repeats = glasses / 10;
        let mut poured = mixture::spread(&whole, &[], glasses - repeats, self.chance.number());
        poured.extend_from_within(..repeats.min(poured.len()));
        let allowed = mixture::allowed(&whole, 400);
        let points = if KINDS[kind] == "flat" { 0.0 } else { self.between(1.0, 4.0) };
        let truth = self.stretched(KINDS[kind], points, &region, &allowed);
        let tasters = self.of(self.tasters);
        let (scatter, half_points) = (self.between(0.7, 2.5), self.chance.fraction() < 0.5);
        let flights = poured.len().div_ceil(FLIGHT);
        let mut ratings = Vec::new();
        for taster in 0..tasters {
            let (level, scale) = (self.normal(), (0.25 * self.normal()).exp());
            let (own_scatter, drift) = (scatter * (0.25 * self.normal()).exp(), 0.02 * self.normal());
            let own_kind = self.of(&KINDS[1..]);
            let own_points = points * 0.3 * self.normal().abs();
            let own = self.stretched(own_kind, own_points, &region, &allowed);
            let mut order: Vec<usize> = (0..poured.len()).collect();
            self.chance.shuffle(&mut order);
            for (at, glass) in order.into_iter().enumerate() {
                let liking = truth(&poured[glass]) + own(&poured[glass]);
                let score = 12.0 + level + scale * liking + own_scatter * self.normal() + drift * at as f64;
                let score = if half_points { (2.0 * score).round() / 2.0 } else { score };
                ratings.push(Rating { taster, flight: at * flights / poured.len(), glass, score });
            }
        }
        let question = Question {
            components: names,
            tasters: (1..=tasters).map(|it| format!("taster {it}")).collect(),
            glasses: poured,
            ratings,
            scale: Scale::Scores,
            region,
            panels: 0,
            seed: 1,
        };
        Panel { kind, question, allowed, truth }
    }
}

/// What came of a panel.
#[derive(Clone, Copy)]
#[allow(clippy::struct_excessive_bools)] // each is counted by itself
struct Came {
    advice: f64,
    lean: f64,
    glass: f64,
    middle: f64,
    polynomial: f64,
    tells: bool,
    /// Whether it is told by one who knows the truth's shape.
    knowing_tells: bool,
    polynomial_tells: bool,
    band: bool,
    as_good: bool,
    corner: bool,
    true_corner: bool,
}

impl Panel {
    fn came(&self, reading: &Reading) -> Option<Came> {
        let best = self.allowed.iter().max_by(|one, other| (self.truth)(one).total_cmp(&(self.truth)(other)))?;
        let lost = |shares: &[f64]| (self.truth)(best) - (self.truth)(shares);
        let advice = reading.advice()?;
        let given = |shares: &[f64]| {
            let ratings = self.question.ratings.iter().filter(|it| same(&self.question.glasses[it.glass], shares));
            let scores: Vec<f64> = ratings.map(|it| it.score).collect();
            scores.iter().sum::<f64>() / scores.len() as f64
        };
        let glasses = self.question.glasses.iter();
        let glass = glasses.max_by(|one, other| given(one).total_cmp(&given(other)))?;
        let tells = reading.best().is_some();
        let findings = &reading.details;
        let polynomial = findings.best.as_ref().map(|it| it.shares.clone());
        // What the best scores in the mean of the glasses' true liking is known but for the panel's own level.
        let levels: f64 =
            self.question.ratings.iter().map(|it| it.score).sum::<f64>() / self.question.ratings.len() as f64;
        let tasted = self.question.ratings.iter().map(|it| (self.truth)(&self.question.glasses[it.glass]));
        let mean = tasted.sum::<f64>() / self.question.ratings.len() as f64;
        let expected = levels + (self.truth)(&advice.shares) - mean;
        Some(Came {
            advice: lost(if tells { &advice.shares } else { glass }),
            lean: lost(&advice.shares),
            glass: lost(glass),
            middle: lost(&advice.middle.shares),
            polynomial: lost(polynomial.as_ref().filter(|_| findings.verdict == Verdict::Tells).unwrap_or(glass)),
            tells,
            knowing_tells: self.knowing_tells(),
            polynomial_tells: findings.verdict == Verdict::Tells,
            band: (advice.band.least..=advice.band.most).contains(&expected),
            as_good: reading.liked.is_as_good(best),
            corner: self.is_corner(&advice.shares),
            true_corner: self.is_corner(best),
        })
    }

    /// Whether scores go with the true liking, within the sittings: one slope, Student's test of one side at 5 %.
    fn knowing_tells(&self) -> bool {
        let ratings = &self.question.ratings;
        let swept = |of: &dyn Fn(&Rating) -> f64| -> Vec<f64> {
            let own = |it: &Rating| {
                let sitting = ratings.iter().filter(|other| (other.taster, other.flight) == (it.taster, it.flight));
                let (sum, count) = sitting.fold((0.0, 0.0), |(sum, count), other| (sum + of(other), count + 1.0));
                of(it) - sum / count
            };
            ratings.iter().map(own).collect()
        };
        let liking = swept(&|it| (self.truth)(&self.question.glasses[it.glass]));
        let scores = swept(&|it| it.score);
        let sum = |one: &[f64], other: &[f64]| one.iter().zip(other).map(|(one, other)| one * other).sum::<f64>();
        let sittings: BTreeSet<(usize, usize)> = ratings.iter().map(|it| (it.taster, it.flight)).collect();
        let freedom = ratings.len() as f64 - sittings.len() as f64 - 1.0;
        let varied = sum(&liking, &liking);
        if varied < 1e-12 || freedom < 1.0 {
            return false;
        }
        let slope = sum(&liking, &scores) / varied;
        let left = (sum(&scores, &scores) - slope * slope * varied).max(0.0) / freedom;
        StudentsT::new(0.0, 1.0, freedom)
            .is_ok_and(|student| slope / (left / varied).sqrt() > student.inverse_cdf(0.95))
    }

    fn is_corner(&self, shares: &[f64]) -> bool {
        let region = &self.question.region;
        let at_bound = |it: &usize| shares[*it] <= region.lower[*it] + 1e-6 || shares[*it] >= region.upper[*it] - 1e-6;
        (0..shares.len()).filter(at_bound).count() + 1 >= shares.len()
    }
}

fn same(one: &[f64], other: &[f64]) -> bool {
    one.iter().zip(other).all(|(one, other)| (one - other).abs() < 1e-9)
}

/// The mean of something over what came.
fn mean<'a>(all: impl IntoIterator<Item = &'a Came>, of: impl Fn(&Came) -> f64) -> f64 {
    let (sum, count) = all.into_iter().fold((0.0, 0.0), |(sum, count), came| (sum + of(came), count + 1.0));
    sum / count
}

/// How many in a hundred.
fn share<'a>(all: impl IntoIterator<Item = &'a Came>, of: impl Fn(&Came) -> bool) -> f64 {
    100.0 * mean(all, |came| f64::from(u8::from(of(came))))
}

fn main() {
    let mut arguments = std::env::args().skip(1).filter_map(|it| it.parse::<u64>().ok());
    let (panels, seed) = (arguments.next().unwrap_or(320), arguments.next().unwrap_or(2026));
    let small = std::env::args().any(|it| it == "small");
    let (glasses, tasters): (&[usize], &[usize]) =
        if small { (&[12, 16, 20, 30, 40, 50], &[1, 2, 3, 5, 8]) } else { (&[20, 30, 40, 50], &[3, 5, 8]) };
    let mut draw = Draw { chance: Chance::from_seed(seed), glasses, tasters };
    let mut all: Vec<(usize, Came)> = Vec::new();
    for kind in (0..KINDS.len()).cycle().take(usize::try_from(panels).unwrap_or(usize::MAX)) {
        let panel = draw.panel(kind);
        let reading = read(&panel.question, Watch::NOBODY);
        let came = reading.as_ref().ok().and_then(|reading| panel.came(reading));
        all.extend(came.map(|came| (panel.kind, came)));
    }
    let every: Vec<Came> = all.iter().map(|(_, came)| *came).collect();
    let told = || every.iter().filter(|came| came.tells);
    let of = |kind: usize| all.iter().filter(move |(of, _)| *of == kind).map(|(_, came)| came);
    let not_flat = || all.iter().filter(|(kind, _)| *kind > 0).map(|(_, came)| came);
    println!("{} panels, seed {seed}; of {panels} the rest could have told nothing\n", every.len());
    println!("liking lost by the advice          {:6.3}", mean(&every, |it| it.advice));
    println!("  by the best glass poured         {:6.3}", mean(&every, |it| it.glass));
    println!("  by the middle                    {:6.3}", mean(&every, |it| it.middle));
    println!("  by the best or the lean, always  {:6.3}", mean(&every, |it| it.lean));
    println!("  by polynomials                   {:6.3}", mean(&every, |it| it.polynomial));
    println!("can't tell, not flat               {:6.1} %", 100.0 - share(not_flat(), |it| it.tells));
    println!("  one who knows the truth's shape  {:6.1} %", 100.0 - share(not_flat(), |it| it.knowing_tells));
    println!("  polynomials                      {:6.1} %", 100.0 - share(not_flat(), |it| it.polynomial_tells));
    println!("told on a flat surface             {:6.1} %", share(of(0), |it| it.tells));
    println!("where told: band holds             {:6.1} %", share(told(), |it| it.band));
    println!("  as good holds the best           {:6.1} %", share(told(), |it| it.as_good));
    println!("  at a corner                      {:6.1} %", share(told(), |it| it.corner));
    println!("  the truth there                  {:6.1} %", share(told(), |it| it.true_corner));
    println!(
        "  lost; by the best glass there    {:6.3} {:6.3}",
        mean(told(), |it| it.advice),
        mean(told(), |it| it.glass)
    );
    println!("more than {BAD} worse than the glass   {:6.1} %\n", share(&every, |it| it.advice > it.glass + BAD));
    println!("kind        advice   glass  middle    lean  tells  polynomial");
    for (kind, name) in KINDS.iter().enumerate() {
        println!(
            "{name:10} {:7.3} {:7.3} {:7.3} {:7.3} {:4.0} % {:7.3}",
            mean(of(kind), |it| it.advice),
            mean(of(kind), |it| it.glass),
            mean(of(kind), |it| it.middle),
            mean(of(kind), |it| it.lean),
            share(of(kind), |it| it.tells),
            mean(of(kind), |it| it.polynomial),
        );
    }
}
