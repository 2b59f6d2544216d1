//! How people write bounds, limits and mixtures.
//!
//! A bound: `A=10..60%`, `A=..60%`, `A=10%..`, `A=20%`. A limit: `0.8 A + B >= 75%`, `13 <= 13.1 A + 14.2 B <= 13.8`, or
//! `A + B 20..50%`, with words before a colon if one likes. A mixture: `A=50%, B=30%, C=20%`. Numbers with % are hundredths; a % at the end of a
//! range is meant for both ends. `≤` and `≥` are as good as `<=` and `>=`.

use thiserror::Error;

use super::region::{Bound, Limit, Region, RegionError};
use crate::units::{ParseDecimalError, Volume, parse_decimal};

/// Why words are not understood.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation
pub enum WordingError {
    #[error("'{0}' is no bound. Write it like A=10..60%.")]
    NoBound(String),
    #[error("'{0}' is no limit. Write it like 0.8 A + B >= 75%, or 13 <= 13.1 A + 14.2 B <= 13.8.")]
    NoLimit(String),
    #[error("'{0}' is no mixture. Write it like A=50%, B=30%, C=20%.")]
    NoMixture(String),
    #[error("'{name}' is none of the components {components}.")]
    Unknown { name: String, components: String },
    #[error("'{0}' stands there twice. Say it once.")]
    Twice(String),
    #[error("'{text}' sums to {sum} %; the shares of a mixture sum to 100 %.")]
    Sum { text: String, sum: String },
    #[error(transparent)]
    Number(#[from] ParseDecimalError),
}

/// Why words make no region.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation
pub enum NoRegion {
    #[error(transparent)]
    Words(#[from] WordingError),
    #[error(transparent)]
    Region(#[from] RegionError),
}

/// What tanks hold, and for how large a blend that is to be enough.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tanks {
    /// What there is of each component, in their order, where it is known.
    pub available: Vec<Option<Volume>>,
    /// The blend that is to be possible with every glass.
    pub blend: Volume,
}

/// The region of some components by what people say of it. A component without a bound may have any share that its tank
/// can give.
pub fn region_of_words(
    names: &[String],
    bounds: &[String],
    limits: &[String],
    tanks: Option<&Tanks>,
) -> Result<Region, NoRegion> {
    let limits = limits.iter().map(|text| parse_limit(text, names)).collect::<Result<_, _>>()?;
    Ok(Region::new(bounds_of_words(names, bounds, tanks)?, limits)?)
}

/// The bounds of some components, one each, by what people say of them and what their tanks can give.
pub fn bounds_of_words(names: &[String], bounds: &[String], tanks: Option<&Tanks>) -> Result<Vec<Bound>, WordingError> {
    let mut ranges: Vec<Option<(f64, f64)>> = vec![None; names.len()];
    for text in bounds {
        let (component, low, high) = parse_bound(text, names)?;
        if ranges[component].replace((low, high)).is_some() {
            return Err(WordingError::Twice(names[component].clone()));
        }
    }
    let mut bounds = Vec::with_capacity(names.len());
    for (at, (name, range)) in names.iter().zip(ranges).enumerate() {
        let (low, high) = range.unwrap_or((0.0, 1.0));
        let bound = Bound::new(name.as_str(), low, high);
        bounds.push(match tanks.and_then(|tanks| Some((tanks.available.get(at).copied()??, tanks.blend))) {
            Some((available, blend)) => bound.from_tank(available, blend),
            None => bound,
        });
    }
    Ok(bounds)
}

/// What is to lie between two values, as it is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Comparison<'a> {
    /// What is compared.
    pub what: &'a str,
    /// The least value, if there is one.
    pub low: Option<String>,
    /// The largest value, if there is one.
    pub high: Option<String>,
}

/// Takes a comparison apart: `13 <= alcohol <= 14`, `alcohol 13..14`, `new wood <= 40%`. The signs are `<=` and `>=`.
#[must_use]
pub fn compare(text: &str) -> Option<Comparison<'_>> {
    let (parts, signs) = compared(text);
    let between = |low: Option<&str>, what, high: Option<&str>| {
        Some(Comparison { what, low: low.map(str::to_owned), high: high.map(str::to_owned) })
    };
    match (parts.as_slice(), signs.as_slice()) {
        (&[what, low], [Sign::AtLeast]) => between(Some(low), what, None),
        (&[what, high], [Sign::AtMost]) => between(None, what, Some(high)),
        (&[low, what, high], [Sign::AtMost, Sign::AtMost]) | (&[high, what, low], [Sign::AtLeast, Sign::AtLeast]) => {
            between(Some(low), what, Some(high))
        }
        (&[text], []) => {
            let (what, high) = text.rsplit_once("..")?;
            let (what, low) = what.rsplit_once(' ')?;
            let (low, high) = ends(low, high.trim());
            (low.is_some() || high.is_some()).then_some(Comparison { what: what.trim(), low, high })
        }
        _ => None,
    }
}

/// The two ends of a range, of which one may be left out. A % behind the high end is meant for both.
fn ends(low: &str, high: &str) -> (Option<String>, Option<String>) {
    let in_percent = high.ends_with('%') && !low.ends_with('%');
    let low = (!low.is_empty()).then(|| if in_percent { format!("{low}%") } else { low.to_owned() });
    (low, (!high.is_empty()).then(|| high.to_owned()))
}

/// Reads a bound: the component's number, its least and its largest share. Whether they can be is for the region to say.
pub fn parse_bound(text: &str, names: &[String]) -> Result<(usize, f64, f64), WordingError> {
    let (name, range) = text.rsplit_once('=').ok_or_else(|| WordingError::NoBound(quoted(text)))?;
    let component = component(name, names)?;
    let Some((low, high)) = range.split_once("..") else {
        let share = number(range)?;
        return Ok((component, share, share));
    };
    let (low, high) = ends(low.trim(), high.trim());
    if low.is_none() && high.is_none() {
        return Err(WordingError::NoBound(quoted(text)));
    }
    let value = |text: Option<String>| text.map(|text| number(&text)).transpose();
    Ok((component, value(low)?.unwrap_or(0.0), value(high)?.unwrap_or(1.0)))
}

/// Reads a limit.
pub fn parse_limit(text: &str, names: &[String]) -> Result<Limit, WordingError> {
    let refused = || WordingError::NoLimit(quoted(text));
    let plain = text.replace('≤', "<=").replace('≥', ">=");
    let sides = plain.rsplit_once(':').map_or(plain.as_str(), |(_, sides)| sides);
    let Comparison { what: sum, low, high } = compare(sides).ok_or_else(refused)?;
    let value = |text: Option<String>| text.map(|text| number(&text)).transpose();
    let (low, high) = (value(low)?, value(high)?);
    let mut coefficients = vec![0.0; names.len()];
    for (sign, term) in terms(sum) {
        let (factor, name) = factor_of(term, names)?;
        let component = component(name, names)?;
        if coefficients[component] != 0.0 {
            return Err(WordingError::Twice(names[component].clone()));
        }
        coefficients[component] = sign * factor;
    }
    Ok(Limit { words: quoted(text), coefficients, low, high })
}

/// Reads a mixture. What is not named is not in it.
pub fn parse_mixture(text: &str, names: &[String]) -> Result<Vec<f64>, WordingError> {
    let mut mixture: Vec<Option<f64>> = vec![None; names.len()];
    for part in text.split([',', ';']) {
        let (name, share) = part.rsplit_once('=').ok_or_else(|| WordingError::NoMixture(quoted(text)))?;
        let component = component(name, names)?;
        if mixture[component].replace(number(share)?).is_some() {
            return Err(WordingError::Twice(names[component].clone()));
        }
    }
    let mixture: Vec<f64> = mixture.into_iter().map(Option::unwrap_or_default).collect();
    let sum: f64 = mixture.iter().sum();
    if (sum - 1.0).abs() > 1e-6 || mixture.iter().any(|share| *share < 0.0) {
        let sum = format!("{:.2}", sum * 100.0);
        return Err(WordingError::Sum { text: quoted(text), sum });
    }
    Ok(mixture)
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Sign {
    AtLeast,
    AtMost,
}

/// The parts of a comparison and the signs between them.
fn compared(text: &str) -> (Vec<&str>, Vec<Sign>) {
    let (mut parts, mut signs, mut rest) = (Vec::new(), Vec::new(), text);
    loop {
        let next = match (rest.find(">="), rest.find("<=")) {
            (Some(at_least), Some(at_most)) if at_least < at_most => Some((at_least, Sign::AtLeast)),
            (_, Some(at_most)) => Some((at_most, Sign::AtMost)),
            (Some(at_least), None) => Some((at_least, Sign::AtLeast)),
            (None, None) => None,
        };
        let Some((at, sign)) = next else { break };
        parts.push(rest[..at].trim());
        signs.push(sign);
        rest = &rest[at + 2..];
    }
    parts.push(rest.trim());
    (parts, signs)
}

/// The terms of a sum, each with its sign. A minus stands between blanks, for it may stand in a name.
fn terms(sum: &str) -> impl Iterator<Item = (f64, &str)> {
    sum.split('+').flat_map(|added| {
        added.split(" - ").enumerate().map(|(at, term)| (if at == 0 { 1.0 } else { -1.0 }, term.trim()))
    })
}

/// The number before a component's name; one where there is none. A name may begin with digits itself.
fn factor_of<'a>(term: &'a str, names: &[String]) -> Result<(f64, &'a str), WordingError> {
    if names.iter().any(|name| name == term) {
        return Ok((1.0, term));
    }
    let end = term.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '%'))).unwrap_or(term.len());
    let (factor, name) = term.split_at(end);
    let name = name.trim_start().trim_start_matches(['*', '×']).trim_start();
    Ok(if factor.is_empty() { (1.0, name) } else { (number(factor)?, name) })
}

fn component(name: &str, names: &[String]) -> Result<usize, WordingError> {
    let name = name.trim();
    let exact = names.iter().position(|known| known == name);
    let alike = || names.iter().position(|known| known.to_lowercase() == name.to_lowercase());
    exact.or_else(alike).ok_or_else(|| WordingError::Unknown { name: quoted(name), components: names.join(", ") })
}

/// A number, in hundredths where it has a % behind it.
pub fn number(text: &str) -> Result<f64, ParseDecimalError> {
    let text = text.trim();
    match text.strip_suffix('%') {
        Some(percent) => Ok(parse_decimal(percent)? / 100.0),
        None => parse_decimal(text),
    }
}

/// As much of a text as a sentence can quote, without what could disturb a screen.
fn quoted(text: &str) -> String {
    text.trim().chars().take(80).map(|c| if c.is_control() { '·' } else { c }).collect()
}
