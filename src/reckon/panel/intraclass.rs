//! How much of the scatter of scores is the glasses': the six intraclass correlations of Shrout and Fleiss (1979).

use statrs::distribution::{ContinuousCDF, FisherSnedecor};

/// The correlations; each is 1 where scores tell nothing but the glasses, and about 0 where they tell nothing of them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Intraclass {
    /// One score, each glass scored by other tasters: ICC(1,1).
    pub one_way: f64,
    /// One score, tasters drawn from many, their levels counted as error: ICC(2,1).
    pub agreement: f64,
    /// One score, these tasters, their levels taken out: ICC(3,1).
    pub consistency: f64,
    /// Nineteen in twenty such intervals hold the consistency.
    pub consistency_interval: (f64, f64),
    /// The panel's mean: ICC(1,k).
    pub mean_one_way: f64,
    /// The panel's mean: ICC(2,k).
    pub mean_agreement: f64,
    /// The panel's mean: ICC(3,k).
    pub mean_consistency: f64,
}

/// The correlations of a complete table, a row a taster; none where cells are missing, there are fewer than two of either, or
/// all glasses have the same mean.
#[must_use]
pub fn intraclass(rows: &[Vec<Option<f64>>]) -> Option<Intraclass> {
    let rows: Vec<Vec<f64>> =
        rows.iter().map(|row| row.iter().copied().collect::<Option<Vec<f64>>>()).collect::<Option<_>>()?;
    let (tasters, glasses) = (rows.len(), rows.first().map_or(0, Vec::len));
    if tasters < 2 || glasses < 2 {
        return None;
    }
    let (judges, targets) = (tasters as f64, glasses as f64);
    let all = rows.iter().flatten().sum::<f64>() / (judges * targets);
    let of_glass: Vec<f64> =
        (0..glasses).map(|glass| rows.iter().map(|row| row[glass]).sum::<f64>() / judges - all).collect();
    let of_taster: Vec<f64> = rows.iter().map(|row| row.iter().sum::<f64>() / targets - all).collect();
    let squares = |values: &[f64]| values.iter().map(|value| value * value).sum::<f64>();
    let cells =
        || rows.iter().zip(&of_taster).flat_map(|(row, own)| row.iter().zip(&of_glass).map(move |it| (it, own)));
    let within: f64 = cells().map(|((score, glass), _)| score - all - glass).map(|it| it * it).sum();
    let left: f64 = cells().map(|((score, glass), own)| score - all - glass - own).map(|it| it * it).sum();
    let between = judges * squares(&of_glass) / (targets - 1.0);
    let levels = targets * squares(&of_taster) / (judges - 1.0);
    let within = within / (targets * (judges - 1.0));
    let error = left / ((targets - 1.0) * (judges - 1.0));
    if between <= 0.0 {
        return None;
    }
    Some(Intraclass {
        one_way: (between - within) / (between + (judges - 1.0) * within),
        agreement: (between - error) / (between + (judges - 1.0) * error + judges * (levels - error) / targets),
        consistency: (between - error) / (between + (judges - 1.0) * error),
        consistency_interval: interval(between / error, targets, judges),
        mean_one_way: (between - within) / between,
        mean_agreement: (between - error) / (between + (levels - error) / targets),
        mean_consistency: (between - error) / between,
    })
}

/// Shrout and Fleiss's interval of ICC(3,1) from F.
fn interval(f: f64, targets: f64, judges: f64) -> (f64, f64) {
    let (above, below) = (targets - 1.0, (targets - 1.0) * (judges - 1.0));
    let quantile = |one, other| FisherSnedecor::new(one, other).map_or(f64::INFINITY, |it| it.inverse_cdf(0.975));
    let of = |f: f64| if f.is_finite() { (f - 1.0) / (f + judges - 1.0) } else { 1.0 };
    (of(f / quantile(above, below)), of(f * quantile(below, above)))
}

#[cfg(test)]
mod tests {
    use super::super::ranks::samples::rows;
    use super::super::two_way::samples::WINE_PANEL;
    use super::*;

    fn six(found: &Intraclass) -> [f64; 6] {
        [
            found.one_way,
            found.agreement,
            found.consistency,
            found.mean_one_way,
            found.mean_agreement,
            found.mean_consistency,
        ]
    }

    /// The example of Shrout and Fleiss 1979, here a row a judge; the interval is pingouin 0.7's (0.34 to 0.95).
    #[test]
    fn the_example_of_the_paper() {
        let found = intraclass(&rows("9 6 8 7 10 6|2 1 4 1 5 2|5 3 6 2 6 4|8 2 8 6 9 7")).unwrap();
        for (value, printed) in six(&found).into_iter().zip([0.1657, 0.2898, 0.7148, 0.4428, 0.6201, 0.9093]) {
            assert!((value - printed).abs() < 0.000_05, "{found:?}");
        }
        let (low, high) = found.consistency_interval;
        assert!((low - 0.34).abs() < 0.005 && (high - 0.95).abs() < 0.005, "{found:?}");
    }

    /// pingouin 0.7 of the wines of Wines2012.
    #[test]
    fn a_wine_panel() {
        let found = intraclass(&rows(WINE_PANEL)).unwrap();
        let printed = [0.079_275, 0.101_076, 0.128_450, 0.436_589, 0.502_975, 0.570_156];
        for (value, printed) in six(&found).into_iter().zip(printed) {
            assert!((value - printed).abs() < 1e-6, "{found:?}");
        }
    }

    #[test]
    fn nothing_is_said_where_nothing_is_known() {
        for text in ["12 13 14", "12 -|13 14", "12|13", "12 12|13 13"] {
            assert_eq!(intraclass(&rows(text)), None, "{text}");
        }
        let perfect = intraclass(&rows("12 13|12 13")).unwrap();
        assert_eq!((perfect.consistency, perfect.consistency_interval), (1.0, (1.0, 1.0)));
    }
}
