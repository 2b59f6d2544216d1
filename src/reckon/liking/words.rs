//! What a tasting says of the ratio, in sentences.

use super::reading::{Best, Poured, Reading};
use crate::reckon::surface::words::{beyond_glasses, details, of_tasters, stopped, unlike_glasses};
use crate::reckon::surface::{Compared, Range, Verdict};
use crate::units::figure;

/// More glasses that somebody put first are counted, not told.
const MOST_FIRSTS: usize = 4;

/// All that is to be said, the most important first.
pub fn words(reading: &Reading) -> Vec<String> {
    let mut said = match (reading.verdict, reading.advice()) {
        (Verdict::Tells, Some(best)) => told(reading, best),
        (_, Some(lean)) => leant(reading, lean),
        (_, None) => vec![
            "The panel can't tell: with so few ratings no scores at all could have shown that one ratio is liked better than another. \
             Let more people taste, or more glasses."
                .to_owned(),
        ],
    };
    said.extend(put_first(reading));
    if let Some(best) = reading.advice() {
        said.extend(best.stopped_by.iter().map(|&stop| stopped(&reading.details, stop)));
        said.extend(beyond_glasses(&reading.details, &best.shares));
    }
    said.extend(unlike_glasses(&reading.details));
    said.extend(of_tasters(&reading.details));
    if reading.is_of_ranks() {
        said.push(
            "Ranks were taken as normal scores: they say which glass is better, not by how much, and a loss is told in standard \
             deviations of one taster's order."
                .to_owned(),
        );
    }
    said
}

fn told(reading: &Reading, best: &Best) -> Vec<String> {
    let names = reading.details.components.join(" / ");
    let mut said = vec![
        format!("Best: {} ({names}); as good: {}.", ratio(&best.shares), ranges(&best.as_good)),
        "What is as good lies between these shares, though not every mix of them does.".to_owned(),
    ];
    if !reading.is_of_ranks() {
        said.push(format!(
            "Expected score {}; the panel's mean of it lies between {} and {} nineteen times in twenty.",
            points(best.predicted.score),
            points(best.band.least),
            points(best.band.most)
        ));
    }
    said.push(format!("The middle, {}, {}.", ratio(&best.middle.shares), loss(&best.middle)));
    said.extend(best.best_poured.iter().map(|it| format!("The best glass, {}, {}.", ratio(&it.shares), loss(it))));
    said
}

fn leant(reading: &Reading, lean: &Best) -> Vec<String> {
    let names = reading.details.components.join(" / ");
    let three: Vec<String> = [&lean.shares, &lean.middle.shares]
        .into_iter()
        .chain(lean.best_poured.iter().map(|it| &it.shares))
        .map(|shares| ratio(shares))
        .collect();
    let last = if three.len() > 2 { " and the best glass" } else { "" };
    vec![
        format!(
            "The panel can't tell. It leans to {} ({names}), between {}.",
            ratio(&lean.shares),
            ranges(&lean.as_good)
        ),
        format!("Choose by cost, or taste these again: the lean, the middle{last}, {}.", three.join("; ")),
    ]
}

/// Who put which glass first, where the words say nothing of it yet.
fn put_first(reading: &Reading) -> Option<String> {
    let best_glass = reading.advice().and_then(|best| best.best_poured.as_ref());
    let others: Vec<&Poured> =
        reading.put_first().into_iter().filter(|it| best_glass.is_none_or(|best| best.shares != it.shares)).collect();
    let told = others.iter().take(MOST_FIRSTS).map(|it| format!("{} by {}", ratio(&it.shares), it.first_of.join(", ")));
    let told: Vec<String> = told.collect();
    if told.is_empty() {
        return None;
    }
    let more = others.len().saturating_sub(MOST_FIRSTS);
    let more = if more > 0 { format!("; and {more} more") } else { String::new() };
    Some(format!("Also put first: {}{more}.", told.join("; ")))
}

/// What a blend loses against the best.
fn loss(compared: &Compared) -> String {
    let (below, error) = (compared.below, compared.error);
    if below < 0.005 {
        "is as good".to_owned()
    } else if compared.is_worse {
        format!("loses {} ± {}", points(below), points(error))
    } else {
        format!("loses {} ± {}, which this panel cannot show", points(below), points(error))
    }
}

/// How sure it is.
pub fn how_sure(reading: &Reading) -> Vec<String> {
    let gate = &reading.gate;
    let mut said = vec![
        format!(
            "Scores dealt anew among the glasses of each sitting say as much {} times in {} (p {}).",
            (gate.p * gate.deals as f64).round(),
            gate.deals,
            if gate.p * gate.deals as f64 > 1.5 { "" } else { "at most " }.to_owned() + &figure(rounded(gate.p, 3))
        ),
        format!(
            "The ratings speak for a surface over none by a factor of e to the {} (an average over 36 smooth surfaces, each counted by \
             its likelihood).",
            points(reading.factor)
        ),
        format!("One rating scatters about it by {} (a standard deviation).", points(reading.liked.noise())),
    ];
    said.extend(details(&reading.details));
    said
}

/// A ratio in percent: `44 / 21 / 35`.
#[must_use]
pub fn ratio(shares: &[f64]) -> String {
    shares.iter().map(|share| percent(*share)).collect::<Vec<_>>().join(" / ")
}

/// Between which shares: `28 to 56 / 0 to 12 / 44`.
fn ranges(ranges: &[Range]) -> String {
    let range = |range: &Range| {
        let (least, most) = (figure((range.least * 100.0).round()), figure((range.most * 100.0).round()));
        if least == most { least } else { format!("{least} to {most}") }
    };
    ranges.iter().map(range).collect::<Vec<_>>().join(" / ")
}

/// A share in percent, to a tenth where that says more.
fn percent(share: f64) -> String {
    figure(rounded(share.max(0.0) * 100.0, 1))
}

/// Points of a score to a hundredth.
fn points(score: f64) -> String {
    figure(rounded(score, 2))
}

fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10.0_f64.powi(decimals);
    // Nought has no sign.
    (value * scale).round() / scale + 0.0
}
