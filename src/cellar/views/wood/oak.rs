//! What the oak did: scores, how the wine kept, evaporation and leaks, by cooper, forest, toast, seasoning and fill, held against each other within
//! lots. It is gathered from all facts, since the state keeps no taste but the last; so it costs nothing before it is asked.

mod observer;

use std::cmp::Ordering;
use std::collections::BTreeSet;

use rustc_hash::FxHashMap;

pub use observer::Observer;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::Vessel;
use crate::reckon::oak::{
    Difference, FACTORS, Factor, Judged, LeakRate, Level, Need, Observation, Untold, barrels_for, judge,
};

/// A difference of half a point matters to who orders wood (our choice).
pub const MATTERS: f64 = 0.5;

/// From the fourth fill on wood gives little oak, and fills are counted together (common practice: most of it goes in the first two or three).
const LAST_FILL: u32 = 4;

/// Which tastes and tests count.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Asked {
    /// From this moment on.
    pub since: Option<Moment>,
    /// Of these lots; of all where none is named.
    pub lots: Vec<Label>,
}

/// What is observed of a barrel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Measure {
    /// A score, points.
    Score,
    /// How fast volatile acidity rose, g/L a month.
    AcidRise,
    /// How fast free sulfur dioxide fell while none was added, mg/L a month.
    SulfurFall,
    /// What evaporated, litres a year from a barrel of 225 L.
    Evaporation,
}

impl Measure {
    /// Those that say how the wine keeps.
    pub const OF_KEEPING: [Measure; 2] = [Measure::AcidRise, Measure::SulfurFall];
}

/// What kind of barrel it was: its level of each factor; none where that is not written down.
pub type Kind = [Option<LevelName>; FACTORS];

/// What a level is called.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LevelName {
    /// By a number: the months of its seasoning, its fill.
    Number(u32),
    /// By a word.
    Word(Label),
}

/// What kind a barrel is in one of its fills.
fn kind_of(vessel: &Vessel, fill: u32) -> Kind {
    let wood = &vessel.wood;
    let said = |label: &Option<Label>| label.clone().map(LevelName::Word);
    [
        said(&wood.cooper),
        said(&wood.forest),
        said(&wood.toast),
        wood.seasoning_months.map(LevelName::Number),
        (fill > 0).then(|| LevelName::Number(fill.min(LAST_FILL))),
    ]
}

/// A level by its factor, in words: `Besquerin`, `36 months`, `2nd fill`.
#[must_use]
pub fn level_words(factor: Factor, level: &LevelName) -> String {
    match (factor, level) {
        (_, LevelName::Word(label)) => label.to_string(),
        (Factor::Fill, LevelName::Number(1)) => "1st fill".to_owned(),
        (Factor::Fill, LevelName::Number(2)) => "2nd fill".to_owned(),
        (Factor::Fill, LevelName::Number(3)) => "3rd fill".to_owned(),
        (Factor::Fill, LevelName::Number(_)) => format!("{LAST_FILL}th fill and on"),
        (_, LevelName::Number(months)) => crate::units::counted(*months, "month"),
    }
}

/// What the facts tell of the oak of a house.
#[derive(Clone, Debug, Default)]
pub struct Oak {
    /// How many people tasted.
    pub tasters: usize,
    /// The names of the levels of each factor.
    names: [Vec<LevelName>; FACTORS],
    seen: Vec<(Measure, Observation, [bool; FACTORS])>,
    leaks: [FxHashMap<usize, LeakRate>; FACTORS],
    /// By factor and level: the sum of the prices known, and how many.
    prices: [FxHashMap<usize, (f64, usize)>; FACTORS],
}

/// What is told of a level of a factor, a line of a list.
#[derive(Clone, Debug, PartialEq)]
pub struct OakLine {
    /// Its number among the names.
    pub number: usize,
    /// What it is called.
    pub level: String,
    /// How its barrels scored; none where none was scored beside others.
    pub scored: Option<Level>,
    /// How it stands.
    pub standing: Standing,
    /// How much faster volatile acidity rose than in the others, g/L a month, all else equal.
    pub acid_rise: Option<Difference>,
    /// How much faster free sulfur dioxide fell, mg/L a month, all else equal.
    pub sulfur_fall: Option<Difference>,
    /// What evaporates from a barrel of 225 L in a year, litres, as if all lay in the same rooms; and the error of the difference from the mean.
    pub evaporation: Option<(f64, Option<f64>)>,
    /// Its leaks.
    pub leaks: LeakRate,
    /// What its barrels cost in the mean, as far as it is known.
    pub price: Option<f64>,
}

/// How a level stands among those of its factor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// It stands first, and another is told below it.
    Best,
    /// It cannot be told from the first.
    AsGood,
    /// It is told below the first.
    Below,
    /// No two are told apart, and it is one of those.
    NoneTold,
    /// It cannot be held against the others, all else equal.
    CannotBeTold,
    /// None of its barrels was scored beside others.
    NotScored,
}

/// What is told of a factor.
#[derive(Clone, Debug)]
pub struct OakOf {
    /// Which factor.
    pub factor: Factor,
    /// What the scores tell, or why they tell nothing.
    pub scores: Result<Judged, Untold>,
    /// What the volatile acidity tells.
    pub acid_rise: Result<Judged, Untold>,
    /// What free sulfur dioxide tells.
    pub sulfur_fall: Result<Judged, Untold>,
    /// A line a level.
    pub lines: Vec<OakLine>,
    /// What the levels are called, by their number.
    pub names: Vec<String>,
    /// How many scores there are, those left out too.
    pub tastes: usize,
    /// How many of them are of barrels of which this factor is not written down.
    pub unwritten: usize,
    /// How many people tasted, and of how many lots.
    pub tasters_and_lots: (usize, usize),
    /// What it would take to tell half a point.
    pub need: Option<Need>,
}

impl Oak {
    fn add(
        &mut self,
        measure: Measure,
        value: f64,
        (sitting, lot): (usize, usize),
        (barrel, filling): (usize, usize),
        kind: &Kind,
    ) {
        let (mut levels, mut is_written) = ([usize::MAX; FACTORS], [false; FACTORS]);
        for factor in Factor::ALL {
            let place = factor.place();
            if let Some(level) = &kind[place] {
                (levels[place], is_written[place]) = (self.number(factor, level), true);
            }
        }
        self.seen.push((measure, Observation { value, sitting, lot, barrel, filling, levels }, is_written));
    }

    fn add_leaks(&mut self, kind: &Kind, rate: LeakRate) {
        for factor in Factor::ALL {
            let Some(level) = &kind[factor.place()] else { continue };
            let number = self.number(factor, level);
            let its = self.leaks[factor.place()].entry(number).or_default();
            its.leaks += rate.leaks;
            its.barrel_years += rate.barrel_years;
        }
    }

    fn add_price(&mut self, kind: &Kind, price: Option<f64>) {
        let Some(price) = price else { return };
        // A barrel costs what it costs, whichever wine it holds.
        for factor in Factor::ALL.into_iter().filter(|&factor| factor != Factor::Fill) {
            let Some(level) = &kind[factor.place()] else { continue };
            let number = self.number(factor, level);
            let (sum, count) = self.prices[factor.place()].entry(number).or_default();
            (*sum, *count) = (*sum + price, *count + 1);
        }
    }

    fn number(&mut self, factor: Factor, level: &LevelName) -> usize {
        let names = &mut self.names[factor.place()];
        names.iter().position(|name| name == level).unwrap_or_else(|| {
            names.push(level.clone());
            names.len() - 1
        })
    }

    /// What was observed of a measure where a factor is written down.
    fn observed(&self, measure: Measure, factor: Factor) -> Vec<Observation> {
        let is_meant =
            |(its, _, written): &&(Measure, Observation, [bool; FACTORS])| *its == measure && written[factor.place()];
        self.seen.iter().filter(is_meant).map(|(_, one, _)| *one).collect()
    }

    /// Judges a factor: long work where there are many tastes.
    #[must_use]
    pub fn judged(&self, factor: Factor) -> OakOf {
        let judged = |measure| judge(&self.observed(measure, factor), factor);
        let scores = judged(Measure::Score);
        let (acid_rise, sulfur_fall) = (judged(Measure::AcidRise), judged(Measure::SulfurFall));
        let drawn = self.observed(Measure::Evaporation, factor);
        let evaporation = judge(&drawn, factor);
        let names = &self.names[factor.place()];
        let standings = standings(scores.as_ref().ok(), names.len());
        let line = |(number, name): (usize, &LevelName)| OakLine {
            number,
            level: level_words(factor, name),
            scored: scores.as_ref().ok().and_then(|judged| level(judged, number)).cloned(),
            standing: standings[number],
            acid_rise: equal(acid_rise.as_ref().ok(), number),
            sulfur_fall: equal(sulfur_fall.as_ref().ok(), number),
            evaporation: drawn_by(evaporation.as_ref().ok(), &drawn, factor, number),
            leaks: self.leaks[factor.place()].get(&number).copied().unwrap_or_default(),
            price: self.prices[factor.place()].get(&number).map(|(sum, count)| sum / *count as f64),
        };
        let mut numbered: Vec<(usize, &LevelName)> = names.iter().enumerate().collect();
        // Numbers in their order; words by how they scored, the unscored last, then by their letters.
        let score = |number: usize| {
            let pulled = scores.as_ref().ok().and_then(|judged| level(judged, number)).and_then(|level| level.pulled);
            pulled.unwrap_or(f64::NEG_INFINITY)
        };
        numbered.sort_by(|(one, name), (other, its)| match (name, its) {
            (LevelName::Word(name), LevelName::Word(its)) => score(*other).total_cmp(&score(*one)).then(name.cmp(its)),
            _ => name.cmp(its),
        });
        let tastes = || self.seen.iter().filter(|(measure, ..)| *measure == Measure::Score);
        let lots: BTreeSet<usize> = tastes().map(|(_, one, _)| one.lot).collect();
        let need = scores.as_ref().ok().and_then(|it| barrels_for(MATTERS, &it.scatter, it.pairs.len()));
        OakOf {
            factor,
            lines: numbered.into_iter().map(line).collect(),
            names: names.iter().map(|name| level_words(factor, name)).collect(),
            tastes: tastes().count(),
            unwritten: tastes().filter(|(.., written)| !written[factor.place()]).count(),
            tasters_and_lots: (self.tasters, lots.len()),
            need,
            scores,
            acid_rise,
            sulfur_fall,
        }
    }
}

/// What was judged of a level.
fn level(judged: &Judged, number: usize) -> Option<&Level> {
    judged.levels.iter().find(|level| level.level == number)
}

fn equal(judged: Option<&Judged>, number: usize) -> Option<Difference> {
    level(judged?, number)?.all_else_equal
}

/// What a level draws: the mean of all barrels and its difference from it within rooms; where only one level is known, the mean.
fn drawn_by(
    judged: Option<&Judged>,
    drawn: &[Observation],
    factor: Factor,
    number: usize,
) -> Option<(f64, Option<f64>)> {
    let mean = |of: &dyn Fn(&&Observation) -> bool| {
        let values: Vec<f64> = drawn.iter().filter(of).map(|one| one.value).collect();
        (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
    };
    match judged {
        Some(judged) => {
            let its = level(judged, number)?.as_it_came?;
            Some((mean(&|_| true)? + its.value, Some(its.error)))
        }
        None => Some((mean(&|one| one.levels[factor.place()] == number)?, None)),
    }
}

/// How each level stands: among those that can be held against each other, of the part with most barrels. Nothing is told above the best, nor above
/// those that are as good.
fn standings(judged: Option<&Judged>, levels: usize) -> Vec<Standing> {
    let mut standings = vec![Standing::NotScored; levels];
    let Some(judged) = judged else { return standings };
    let comparable = || judged.levels.iter().filter(|level| level.all_else_equal.is_some());
    let barrels = |part: usize| -> usize { comparable().filter(|it| it.part == part).map(|it| it.barrels).sum() };
    let part = comparable().map(|level| level.part).max_by_key(|&part| (barrels(part), usize::MAX - part));
    let worth = |level: &Level| (level.pulled, level.all_else_equal.map(|it| it.value));
    let in_part = || comparable().filter(|level| Some(level.part) == part);
    let best = in_part().max_by(|one, other| worth(one).partial_cmp(&worth(other)).unwrap_or(Ordering::Equal));
    let is_below = |level: &Level| judged.told().iter().any(|(_, below, _)| *below == level.level);
    let any = in_part().any(is_below);
    for level in &judged.levels {
        let is_in_part = in_part().any(|it| it.level == level.level);
        standings[level.level] = if !is_in_part {
            Standing::CannotBeTold
        } else if !any {
            Standing::NoneTold
        } else if is_below(level) {
            Standing::Below
        } else if best.is_some_and(|best| best.level == level.level) {
            Standing::Best
        } else {
            Standing::AsGood
        };
    }
    standings
}
