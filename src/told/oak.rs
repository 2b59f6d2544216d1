//! What is said of oak judged: what is told, what cannot be told and why, and what it would take.

use crate::cellar::views::wood::oak::{MATTERS, OakLine, OakOf, Standing};
use crate::reckon::oak::{Difference, Factor, Judged, LeakRate, Pair, Untold};
use crate::units::{Volume, all_of, by_count, counted, figure, figure_to, plural, whole_litres};

/// More pairs than these are counted, not told.
const MOST_PAIRS: usize = 6;

/// All that is said of a factor, the most important first: what is told, what cannot be told, what it would take.
#[must_use]
pub fn words(of: &OakOf) -> Vec<String> {
    let mut said = told(of);
    said.extend(cannot_be_told(of));
    said.extend(takes(of));
    said
}

/// What the scores tell.
#[must_use]
pub fn told(of: &OakOf) -> Vec<String> {
    let judged = match &of.scores {
        Ok(judged) => judged,
        Err(why) => return vec![untold(of, *why)],
    };
    let name = |level: usize| of.names[level].as_str();
    let apart = judged.told();
    let mut said: Vec<String> = apart
        .iter()
        .take(MOST_PAIRS)
        .map(|(one, other, by)| format!("{} scored {} above {}, all else equal.", name(*one), points(by), name(*other)))
        .collect();
    said.extend(more(apart.len(), "difference"));
    if judged.comparable() == 0 {
        said.push(format!(
            "All else equal no two {} can be held against each other; as they came they stand below.",
            plural(of.factor.word())
        ));
    } else if apart.is_empty() {
        said.push(format!(
            "No difference between {} is told: what there is lies within what barrels and tastes scatter by.",
            plural(of.factor.word())
        ));
    }
    let good: Vec<String> = of
        .lines
        .iter()
        .filter(|line| matches!(line.standing, Standing::Best | Standing::AsGood))
        .map(|line| line.level.clone())
        .collect();
    if good.len() > 1 {
        said.push(format!("As good as the best, as far as is known: {}.", all_of(&good)));
    }
    said.extend(of_few(of));
    said
}

/// What one taster, or one lot, says little of.
fn of_few(of: &OakOf) -> Vec<String> {
    let (tasters, lots) = of.tasters_and_lots;
    let one_taster = "One person tasted: it is that person's palate.";
    let one_lot = "All of it is one lot: another wine may take the oak otherwise.";
    [(tasters == 1, one_taster), (lots == 1, one_lot)]
        .into_iter()
        .filter(|(is_so, _)| *is_so)
        .map(|(_, words)| words.to_owned())
        .collect()
}

/// A difference with its band and how probable it is: `0.62 points (0.21 to 1.03, p 0.004)`.
fn points(by: &Difference) -> String {
    format!(
        "{} points ({} to {}, {})",
        figure_to(2, by.value),
        figure_to(2, by.value - by.reach),
        figure_to(2, by.value + by.reach),
        probability(by.held_back)
    )
}

/// A probability as it is told, held back for the number of pairs.
fn probability(p: f64) -> String {
    if p < 0.001 { format!("p below {}", figure(0.001)) } else { format!("p {}", figure_to(3, p)) }
}

/// Why nothing is told of a factor.
fn untold(of: &OakOf, why: Untold) -> String {
    let many = plural(of.factor.word());
    match why {
        Untold::Nothing if of.tastes == 0 => {
            "No barrel has a score there. Taste barrels of one lot side by side, with a score each, and this begins to tell.".to_owned()
        }
        Untold::Nothing => format!(
            "The {} of no barrel that was scored is written down. Say it of the barrels, and their scores tell something of it.",
            of.factor.word()
        ),
        Untold::OneLevel(level) => {
            format!("All barrels that were scored are of one kind, {}: there is nothing to hold it against.", of.names[level])
        }
        Untold::NeverSideBySide => format!(
            "No two {many} were tasted side by side, by one person in one lot on one day: nothing can be told between them."
        ),
        Untold::AllAlike => "Side by side all barrels have the same score: nothing can be told apart by it.".to_owned(),
        Untold::TooFewBarrels => format!(
            "Too few barrels were tasted side by side: nothing says how far two barrels of one kind lie apart, so nothing can be told \
             between {many}. Two barrels of each in one lot are the least."
        ),
    }
}

/// What cannot be told, and why.
#[must_use]
pub fn cannot_be_told(of: &OakOf) -> Vec<String> {
    let mut said = Vec::new();
    if let Ok(judged) = &of.scores {
        said.extend(never_met(of, judged));
        said.extend(tied(of, judged));
        if judged.alone > 0 {
            let (tastes, was) = (counted(judged.alone, "taste"), by_count(judged.alone, "was", "were"));
            said.push(format!(
                "{tastes} {was} of the only barrel of a lot that somebody tasted that day, and tell nothing."
            ));
        }
    }
    if of.unwritten > 0 && of.unwritten < of.tastes {
        let (tastes, is) = (counted(of.unwritten, "taste"), by_count(of.unwritten, "is", "are"));
        said.push(format!("{tastes} {is} left out: the barrel's {} is not written down.", of.factor.word()));
    }
    said
}

/// The pairs that no sittings lead between.
fn never_met(of: &OakOf, judged: &Judged) -> Vec<String> {
    let apart: Vec<&Pair> = judged.pairs.iter().filter(|pair| pair.as_they_came.is_none()).collect();
    let sentence = |pair: &&Pair| {
        let (one, other) = (&of.names[pair.one], &of.names[pair.other]);
        let met = if pair.lots == 0 { "were never in the same lot" } else { "were never tasted side by side" };
        format!("{one} and {other} {met}: nothing can be told between them.")
    };
    let mut said: Vec<String> = apart.iter().take(MOST_PAIRS).map(sentence).collect();
    said.extend(more(apart.len(), "pair"));
    said
}

/// The pairs whose difference may be another factor's.
fn tied(of: &OakOf, judged: &Judged) -> Vec<String> {
    let is_tied = |pair: &&Pair| pair.as_they_came.is_some() && pair.all_else_equal.is_none();
    let tied: Vec<&Pair> = judged.pairs.iter().filter(is_tied).collect();
    let sentence = |pair: &&Pair| {
        let (one, other) = (&of.names[pair.one], &of.names[pair.other]);
        let with: Vec<String> = pair.tied_to.iter().map(|factor| factor.word().to_owned()).collect();
        let from = if with.is_empty() { "other qualities together".to_owned() } else { all_of(&with) };
        format!(
            "{one} and {other}: what is the {}'s cannot be told from what is the {from}'s, since they only came together.",
            of.factor.word()
        )
    };
    let mut said: Vec<String> = tied.iter().take(MOST_PAIRS).map(sentence).collect();
    said.extend(more(tied.len(), "pair"));
    said
}

fn more(all: usize, what: &str) -> Option<String> {
    (all > MOST_PAIRS).then(|| format!("And {} more.", counted(all - MOST_PAIRS, what)))
}

/// What it would take to know.
#[must_use]
pub fn takes(of: &OakOf) -> Option<String> {
    let scatter = of.scores.as_ref().ok()?.scatter;
    let seen = format!(
        "One taste strays from the next by {} points, a barrel from another of its kind by {} (SD).",
        figure_to(2, scatter.taste),
        figure_to(2, scatter.barrels)
    );
    let Some(need) = of.need else {
        return Some(format!(
            "{seen} With so much no number of barrels tells {} points between two of them.",
            figure(MATTERS)
        ));
    };
    Some(format!(
        "{seen} A difference of {} points is told eight times in ten with about {} of each in the same lots, tasted {} times; with {} where \
         they are tasted three times as often.",
        figure(MATTERS),
        counted(need.barrels, "barrel"),
        figure_to(1, scatter.times),
        need.tasted_thrice
    ))
}

/// How a level stands, in a word or two.
#[must_use]
pub const fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Best => "best",
        Standing::AsGood => "as good as the best",
        Standing::Below => "below",
        Standing::NoneTold => "no difference told",
        Standing::CannotBeTold => "cannot be told",
        Standing::NotScored => "not scored",
    }
}

/// A difference with its error: `+0.42 ±0.18`.
#[must_use]
pub fn by(decimals: usize, difference: Option<&Difference>) -> String {
    difference.map_or_else(String::new, |it| {
        // What rounds to nothing has no sign.
        let told = figure_to(decimals, it.value.abs());
        let is_nothing = told.chars().all(|sign| !sign.is_ascii_digit() || sign == '0');
        let sign = if is_nothing {
            ""
        } else if it.value > 0.0 {
            "+"
        } else {
            "-"
        };
        format!("{sign}{told} \u{b1}{}", figure_to(decimals, it.error))
    })
}

/// A rise of volatile acidity in milligrams: in grams a month it would be noughts.
#[must_use]
pub fn milligrams(it: Difference) -> Difference {
    Difference { value: it.value * 1_000.0, error: it.error * 1_000.0, reach: it.reach * 1_000.0, ..it }
}

/// What evaporates in a year: `4.1 ±0.3`.
#[must_use]
pub fn evaporation(line: &OakLine) -> String {
    let told = |litres: f64| Volume::nearest_to_litres(litres).in_column(1);
    line.evaporation.map_or_else(String::new, |(litres, error)| {
        let error = error.map_or_else(String::new, |error| format!(" \u{b1}{}", told(error)));
        format!("{}{error}", told(litres))
    })
}

/// Leaks of a hundred barrels in a year, with the band: `2.1 (0.4 to 6.1)`.
#[must_use]
pub fn leaks(rate: &LeakRate) -> String {
    rate.per_hundred().zip(rate.band()).map_or_else(String::new, |(rate, (low, high))| {
        format!("{} ({} to {})", figure_to(1, rate), figure_to(1, low), figure_to(1, high))
    })
}

/// What the columns mean, and how sure they are.
#[must_use]
pub fn how() -> Vec<String> {
    vec![
        "Only what was tasted side by side is compared: one person, one lot, one day. Points are against the mean of the kinds that can be held against \
         each other, with the standard error; all else equal holds the other qualities equal, as it came does not."
            .to_owned(),
        "Barrels are by chance, so ten tastes of one barrel are no ten barrels. Sure is what chance would bring once in twenty, all pairs of a table \
         together (Holm); degrees of freedom are those between barrels."
            .to_owned(),
        format!(
            "Evaporation is that of a barrel of {} in a year, as if all lay in the same rooms. Leaks are fillings that lost wine to one or are under suspicion of it, of a hundred barrels \
             in a year, as they lay, with the band of nineteen in twenty.",
            whole_litres(Volume::from_litres(225))
        ),
    ]
}

/// What the factor is called over its table.
#[must_use]
pub fn heading(factor: Factor) -> &'static str {
    match factor {
        Factor::Cooper => "By cooper",
        Factor::Forest => "By forest",
        Factor::Toast => "By toast",
        Factor::Seasoning => "By seasoning",
        Factor::Fill => "By fill",
    }
}
