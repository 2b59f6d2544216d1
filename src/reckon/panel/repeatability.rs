//! What a taster says of the same wine twice: hidden repeats.

use super::probability::chi_square_below;

/// How near a taster comes to the own word.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Repeatability {
    /// How many judgements of a wine beyond its first one.
    pub repeats: usize,
    /// The standard deviation of one judgement of one wine, in points or places.
    pub deviation: f64,
    /// The lower end of the interval that holds it nineteen times in twenty, where judgements are spread normally.
    pub low: f64,
    /// Its upper end.
    pub high: f64,
    /// The widest that two judgements of one wine lay apart.
    pub widest: f64,
    squares: f64,
}

impl Repeatability {
    fn new(squares: f64, repeats: usize, widest: f64) -> Repeatability {
        Repeatability {
            repeats,
            deviation: libm::sqrt(squares / repeats as f64),
            low: libm::sqrt(squares / chi_square_below(0.975, repeats)),
            high: libm::sqrt(squares / chi_square_below(0.025, repeats)),
            widest,
            squares,
        }
    }
}

/// What one taster's values of the groups of glasses that hold the same wine say; none without a wine tasted twice.
#[must_use]
pub fn repeatability(row: &[Option<f64>], alike: &[Vec<usize>]) -> Option<Repeatability> {
    let (mut squares, mut repeats, mut widest) = (0.0, 0, 0.0_f64);
    for group in alike {
        let values: Vec<f64> = group.iter().filter_map(|&glass| *row.get(glass)?).collect();
        if values.len() < 2 {
            continue;
        }
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        squares += values.iter().map(|value| (value - mean) * (value - mean)).sum::<f64>();
        repeats += values.len() - 1;
        let (least, most) = values.iter().fold((f64::MAX, f64::MIN), |(low, high), &it| (low.min(it), high.max(it)));
        widest = widest.max(most - least);
    }
    (repeats > 0).then(|| Repeatability::new(squares, repeats, widest))
}

/// The repeatability of a whole panel: that of one judgement, whoever makes it.
#[must_use]
pub fn pooled(tasters: &[Repeatability]) -> Option<Repeatability> {
    let repeats = tasters.iter().map(|it| it.repeats).sum();
    let squares = tasters.iter().map(|it| it.squares).sum();
    let widest = tasters.iter().map(|it| it.widest).fold(0.0, f64::max);
    (repeats > 0).then(|| Repeatability::new(squares, repeats, widest))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: differences 2 and 1 of two wines tasted twice are squares 2 + 0.5 with two degrees; chi-square's 0.975 and
    /// 0.025 points with two degrees are 7.3778 and 0.0506 (tables).
    #[test]
    fn two_wines_twice() {
        let row = [Some(14.0), Some(12.0), Some(15.0), Some(16.0), None];
        let found = repeatability(&row, &[vec![0, 1], vec![2, 3], vec![3, 4]]).unwrap();
        assert_eq!((found.repeats, found.widest), (2, 2.0));
        assert!((found.deviation - 1.25_f64.sqrt()).abs() < 1e-12);
        assert!((found.low - (2.5_f64 / 7.3778).sqrt()).abs() < 1e-4, "{found:?}");
        assert!((found.high - (2.5_f64 / 0.050_636).sqrt()).abs() < 1e-2, "{found:?}");
        let both = pooled(&[found, found]).unwrap();
        assert!(both.repeats == 4 && (both.deviation - found.deviation).abs() < 1e-12 && both.high < found.high);
    }

    #[test]
    fn without_repeats_nothing_is_said() {
        assert_eq!(repeatability(&[Some(1.0), None], &[vec![0, 1], vec![7]]), None);
        assert_eq!(pooled(&[]), None);
        let same = repeatability(&[Some(1.0), Some(1.0)], &[vec![0, 1]]).unwrap();
        assert_eq!((same.deviation, same.low, same.high), (0.0, 0.0, 0.0));
    }
}
