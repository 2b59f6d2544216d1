//! How far one taster goes with the rest.

use thiserror::Error;

use super::ranks::mid_ranks;

/// The deviations of a normal interval that holds nineteen in twenty.
const DEVIATIONS: f64 = 1.96;
/// A correlation of fewer glasses has no interval.
const LEAST_GLASSES: usize = 4;
/// An interval of a perfect correlation would have no width; so near to it the transformation stops.
const NEARLY_ONE: f64 = 0.999_999;

/// A taster's correlation with the mean of the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Agreement {
    /// Pearson's correlation, −1 to 1.
    pub correlation: f64,
    /// The lower end of the interval that holds nineteen in twenty, by Fisher's transformation.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
    /// The same of ranks, in which no single score weighs more than others (Spearman 1904).
    pub by_ranks: f64,
}

/// Why there is none.
#[derive(Clone, Copy, Debug, Error, PartialEq, Eq)]
pub enum NoAgreement {
    /// The taster's own values are all the same.
    #[error("gave every glass the same")]
    AllTheSame,
    /// The others' means are all the same.
    #[error("the others tell nothing apart")]
    OthersTheSame,
    /// Too few glasses were tasted by others too.
    #[error("tasted fewer than four glasses that others tasted")]
    TooFew,
}

/// The correlation of a taster's values with the mean of the others', each of which counts from the taster's own mean.
pub fn agreement(rows: &[Vec<Option<f64>>], taster: usize) -> Result<Agreement, NoAgreement> {
    let centred: Vec<Vec<Option<f64>>> = rows.iter().map(|row| centred(row)).collect();
    let glasses = rows.first().map_or(0, Vec::len);
    let of_others = |glass: usize| {
        let others = centred.iter().enumerate().filter(|(other, _)| *other != taster);
        mean(&others.filter_map(|(_, row)| row[glass]).collect::<Vec<f64>>())
    };
    let pairs: Vec<(f64, f64)> =
        (0..glasses).filter_map(|glass| Some((centred[taster][glass]?, of_others(glass)?))).collect();
    if pairs.len() < LEAST_GLASSES {
        return Err(NoAgreement::TooFew);
    }
    let (own, others): (Vec<f64>, Vec<f64>) = pairs.into_iter().unzip();
    let ranks = (deviations(&mid_ranks(&own)), deviations(&mid_ranks(&grained(&others))));
    let (own, others) = (deviations(&own), deviations(&others));
    let product = |one: &[f64], other: &[f64]| one.iter().zip(other).map(|(one, other)| one * other).sum::<f64>();
    if is_level(&own) {
        return Err(NoAgreement::AllTheSame);
    }
    if is_level(&others) {
        return Err(NoAgreement::OthersTheSame);
    }
    let correlated = |one: &[f64], other: &[f64]| {
        (product(one, other) / libm::sqrt(product(one, one) * product(other, other))).clamp(-1.0, 1.0)
    };
    let correlation = correlated(&own, &others);
    let by_ranks = correlated(&ranks.0, &ranks.1);
    let middle = libm::atanh(correlation.clamp(-NEARLY_ONE, NEARLY_ONE));
    let half = DEVIATIONS / libm::sqrt(own.len() as f64 - 3.0);
    Ok(Agreement { correlation, low: libm::tanh(middle - half), high: libm::tanh(middle + half), by_ranks })
}

/// Values without the roundings that would tell equals apart.
fn grained(values: &[f64]) -> Vec<f64> {
    values.iter().map(|value| (value * 1e9).round() / 1e9).collect()
}

/// Differences of less than this, in points or places, are what arithmetic leaves over.
fn is_level(deviations: &[f64]) -> bool {
    deviations.iter().all(|deviation| deviation.abs() < 1e-9)
}

fn centred(row: &[Option<f64>]) -> Vec<Option<f64>> {
    let values: Vec<f64> = row.iter().copied().flatten().collect();
    row.iter().map(|value| Some((*value)? - mean(&values)?)).collect()
}

fn deviations(values: &[f64]) -> Vec<f64> {
    let middle = mean(values).unwrap_or(0.0);
    values.iter().map(|value| value - middle).collect()
}

fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::super::ranks::samples::rows;
    use super::super::two_way::samples::WINE_PANEL;
    use super::*;

    /// scipy 1.17.1 (`pearsonr`) of each judge with the mean of the others' centred scores.
    #[test]
    fn judges_of_a_wine_panel() {
        let rows = rows(WINE_PANEL);
        for (judge, correlation, low, high) in [
            (0, 0.851_955_772, 0.479_586, 0.964_312),
            (2, -0.014_976_647, -0.638_581, 0.620_501),
            (8, -0.595_475_961, -0.891_031, 0.054_634),
        ] {
            let found = agreement(&rows, judge).unwrap();
            assert!((found.correlation - correlation).abs() < 1e-8, "{found:?}");
            assert!((found.low - low).abs() < 1e-4 && (found.high - high).abs() < 1e-4, "{found:?}");
        }
    }

    #[test]
    fn what_cannot_be_told_says_why() {
        for (text, why) in [
            ("12 12 12 12|12 13 14 15", NoAgreement::AllTheSame),
            ("12 13 14 15|12 12 12 12", NoAgreement::OthersTheSame),
            ("12 13 14|12 13 15", NoAgreement::TooFew),
            ("12 13 14 15", NoAgreement::TooFew),
        ] {
            assert_eq!(agreement(&rows(text), 0), Err(why), "{text}");
        }
        // By ranks 1 and 2 change places, and 3 and 4: 1 − 6 · 4/(4 · 15).
        let ranks = agreement(&rows("12 13 14 19|13 12 19 14"), 0).unwrap();
        assert!((ranks.by_ranks - 0.6).abs() < 1e-12, "{ranks:?}");
        let same = agreement(&rows("12 13 14 15|12 13 14 15"), 0).unwrap();
        assert!((same.correlation - 1.0).abs() < 1e-12 && same.low > 0.99 && same.high <= 1.0, "{same:?}");
    }
}
