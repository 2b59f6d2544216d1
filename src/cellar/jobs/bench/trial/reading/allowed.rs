//! Which ratios are allowed: those between the glasses, or what the trial was laid out for where it says so.

use crate::cellar::core::label::Text;
use crate::cellar::jobs::bench::trial::Trial;
use crate::reckon::mixture::{WordingError, parse_bound, parse_limit};
use crate::reckon::surface::{Limit, Rating, Region};

/// The region in which the best ratio is sought. Of a component without a bound there is as much as in some glass that was
/// rated: nothing is foretold of what nobody tasted.
pub(super) fn region(
    trial: &Trial,
    components: &[String],
    glasses: &[Vec<f64>],
    ratings: &[Rating],
    remarks: &mut Vec<String>,
) -> Region {
    let rated = |(at, glass): (usize, &Vec<f64>)| ratings.iter().any(|it| it.glass == at).then(|| glass.clone());
    let rated: Vec<Vec<f64>> = glasses.iter().enumerate().filter_map(rated).collect();
    let mut region = if rated.is_empty() { Region::all(components.len()) } else { Region::within_glasses(&rated) };
    let [bounds, limits] = trial.laid_out_for();
    for words in parts(bounds) {
        match parse_bound(words, components) {
            Ok((component, low, high)) => (region.lower[component], region.upper[component]) = (low, high),
            Err(why) => remarks.push(not_kept("bound", words, &why)),
        }
    }
    for words in parts(limits) {
        match parse_limit(words, components) {
            Ok(limit) => region.limits.push(Limit {
                coefficients: limit.coefficients,
                least: limit.low.unwrap_or(f64::NEG_INFINITY),
                most: limit.high.unwrap_or(f64::INFINITY),
            }),
            Err(why) => remarks.push(not_kept("limit", words, &why)),
        }
    }
    region
}

/// Bounds and limits stand behind one another with semicolons, or commas and blanks, between: a comma alone may be a decimal
/// sign.
fn parts(words: Option<&Text>) -> impl Iterator<Item = &str> {
    let words = words.map_or("", Text::as_str);
    words.split(';').flat_map(|part| part.split(", ")).map(str::trim).filter(|part| !part.is_empty())
}

fn not_kept(what: &str, words: &str, why: &WordingError) -> String {
    format!("The {what} '{words}' that the glasses were laid out for is not kept to in what follows: {why}")
}
