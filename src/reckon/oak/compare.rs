//! Levels held against each other: which can be, by how much they differ, and how sure that is.

use std::collections::BTreeSet;

use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, StudentsT};

use super::design::{Design, Ratios, Sittings, Weights};
use super::fit::{Information, Solved, ratios};
use super::{Difference, Factor, Judged, Level, MOST_SITTINGS, Observation, Pair, Scatter, Untold};
use crate::reckon::panel::probability::{held_back, student_tails};

/// What scatters by less than this part of itself does not scatter: a rounding of the reckoning.
const NO_SCATTER: f64 = 1e-10;

/// A column of the model: an indicator of a level of a factor.
type Column = (Factor, usize);

/// A model fitted: which columns it has, what they came to.
struct Fitted {
    columns: Vec<Column>,
    information: Information,
    solved: Solved,
    ratios: Ratios,
    /// The variance of one taste.
    variance: f64,
    /// The degrees of freedom between barrels.
    freedom: usize,
}

/// Judges a factor by what was observed side by side. With fewer barrels than can tell, or nothing beside each other, it says why not.
pub fn judge(seen: &[Observation], factor: Factor) -> Result<Judged, Untold> {
    judge_by(seen, factor, MOST_SITTINGS)
}

/// The same, where so many sittings say how things scatter.
fn judge_by(seen: &[Observation], factor: Factor, most: usize) -> Result<Judged, Untold> {
    let beside = side_by_side(seen);
    let alone = seen.len() - beside.len();
    let levels: BTreeSet<usize> = seen.iter().map(|one| one.levels[factor.place()]).collect();
    match levels.len() {
        0 => return Err(Untold::Nothing),
        1 => return Err(Untold::OneLevel(seen[0].levels[factor.place()])),
        _ => {}
    }
    let design = Design::of(&beside);
    let of_factor = columns_of(&beside, factor);
    if of_factor.is_empty() {
        return Err(Untold::NeverSideBySide);
    }
    let came = Fitted::of(&design, &beside, of_factor.clone(), (factor, most))?;
    let others = Factor::ALL.into_iter().filter(|&other| other != factor);
    let all: Vec<Column> = of_factor.into_iter().chain(others.flat_map(|other| columns_of(&beside, other))).collect();
    // With no more barrels than kinds of oak, nothing is told all else equal; as they came something may be.
    let equal = Fitted::of(&design, &beside, all, (factor, most)).ok();
    let mut pairs = pairs(&beside, factor, &came, equal.as_ref());
    hold_back(&mut pairs, |pair| pair.as_they_came.as_mut());
    hold_back(&mut pairs, |pair| pair.all_else_equal.as_mut());
    let used = equal.as_ref().unwrap_or(&came);
    Ok(Judged {
        levels: levels_told(&beside, factor, &came, equal.as_ref()),
        pairs,
        scatter: Scatter {
            taste: used.variance.sqrt(),
            barrels: (used.variance * (used.ratios.barrel + used.ratios.filling)).sqrt(),
            times: design.mean_times(),
        },
        freedom: used.freedom,
        sittings: design.sittings,
        alone,
    })
}

/// The observations of sittings with more than one barrel: what stands alone tells nothing.
fn side_by_side(seen: &[Observation]) -> Vec<Observation> {
    let mut barrels: rustc_hash::FxHashMap<usize, (usize, bool)> = rustc_hash::FxHashMap::default();
    for one in seen {
        let (first, several) = barrels.entry(one.sitting).or_insert((one.barrel, false));
        *several |= *first != one.barrel;
    }
    seen.iter().filter(|one| barrels[&one.sitting].1).copied().collect()
}

/// The levels of a factor that were observed, as columns; none where there is only one.
fn columns_of(seen: &[Observation], factor: Factor) -> Vec<Column> {
    let levels: BTreeSet<usize> = seen.iter().map(|one| one.levels[factor.place()]).collect();
    if levels.len() < 2 { Vec::new() } else { levels.into_iter().map(|level| (factor, level)).collect() }
}

/// Where a column stands at each observation.
fn indicators(seen: &[Observation], columns: &[Column]) -> Vec<Vec<f64>> {
    let is = |one: &Observation, (factor, level): Column| f64::from(u8::from(one.levels[factor.place()] == level));
    columns.iter().map(|&column| seen.iter().map(|one| is(one, column)).collect()).collect()
}

impl Fitted {
    fn of(
        design: &Design,
        seen: &[Observation],
        columns: Vec<Column>,
        (factor, most): (Factor, usize),
    ) -> Result<Fitted, Untold> {
        let values: Vec<f64> = seen.iter().map(|one| one.value).collect();
        let indicated = indicators(seen, &columns);
        let are_few = design.sittings <= most;
        let ratios = if are_few {
            ratios(design, &values, &indicated)
        } else {
            let scatter = ratios_of_last(seen, &columns, most);
            let whole = scatter.barrel + scatter.filling;
            let barrel = whole * design.lasting_share(&values, &indicated);
            Ratios { barrel, filling: whole - barrel }
        };
        let weights = Weights::of(design, ratios);
        let factored = are_few.then(|| Sittings::factored(&weights)).flatten();
        let sittings = factored.unwrap_or(Sittings::Stepped);
        let information = Information::of(&weights, &sittings, &values, &indicated);
        let solved = Solved::of(&information);
        if solved.rank == 0 {
            return Err(Untold::NeverSideBySide);
        }
        let scale = values.iter().map(|value| value * value).sum::<f64>();
        if information.scatter <= NO_SCATTER * scale {
            return Err(Untold::AllAlike);
        }
        let freedom = freedom(design, seen, &information, &columns, factor);
        let left_free = design.observations().saturating_sub(design.sittings + solved.rank);
        if freedom == 0 || left_free == 0 || solved.left <= NO_SCATTER * information.scatter {
            return Err(Untold::TooFewBarrels);
        }
        let variance = solved.left / left_free as f64;
        Ok(Fitted { columns, information, solved, ratios, variance, freedom })
    }

    /// One level less another, or a level less a mean of levels.
    fn contrast(&self, of: impl IntoIterator<Item = (Column, f64)>) -> Option<DVector<f64>> {
        let mut contrast = DVector::zeros(self.columns.len());
        for (column, weight) in of {
            contrast[self.columns.iter().position(|&it| it == column)?] += weight;
        }
        Some(contrast)
    }

    /// What a contrast comes to; none where it is not told.
    fn difference(&self, contrast: &DVector<f64>) -> Option<Difference> {
        if !self.solved.tells(contrast) {
            return None;
        }
        let (value, variance) = self.solved.contrast(contrast);
        let error = (variance * self.variance).sqrt();
        let probability = if error > 0.0 { student_tails(value / error, self.freedom) } else { 1.0 };
        let reach = error * quantile(0.975, self.freedom as f64);
        Some(Difference { value, error, reach, probability, held_back: probability })
    }
}

/// Which value of Student's distribution a part lies below.
pub(super) fn quantile(part: f64, freedom: f64) -> f64 {
    StudentsT::new(0.0, 1.0, freedom.max(1.0)).map_or(f64::INFINITY, |student| student.inverse_cdf(part))
}

/// The degrees of freedom: the differences of what a factor is told between, barrels or, where a barrel changes its level, their fillings, less those that
/// kinds of oak explain. What changes within a filling is told between tastes.
fn freedom(
    design: &Design,
    seen: &[Observation],
    information: &Information,
    columns: &[Column],
    factor: Factor,
) -> usize {
    let within = |unit: fn(&Observation) -> usize| {
        let of_unit: Vec<usize> =
            (0..columns.len()).filter(|&place| is_constant(seen, columns[place].0, unit)).collect();
        rank(&information.matrix.select_rows(&of_unit).select_columns(&of_unit))
    };
    if is_constant(seen, factor, |one| one.barrel) {
        return design.differences_of_barrels().saturating_sub(within(|one| one.barrel));
    }
    let fillings = design.differences_of_fillings();
    if is_constant(seen, factor, |one| one.filling) {
        return fillings.saturating_sub(within(|one| one.filling));
    }
    let changing = columns.iter().filter(|(its, _)| !is_constant(seen, *its, |one| one.filling)).count();
    design.observations().saturating_sub(design.sittings + fillings + changing)
}

/// Whether a factor has one level in each barrel, or in each filling.
fn is_constant(seen: &[Observation], factor: Factor, unit: fn(&Observation) -> usize) -> bool {
    let mut level_of = rustc_hash::FxHashMap::default();
    seen.iter().all(|one| {
        let level = one.levels[factor.place()];
        *level_of.entry(unit(one)).or_insert(level) == level
    })
}

/// How many differences an information tells.
fn rank(matrix: &DMatrix<f64>) -> usize {
    Solved::of(&Information::only(matrix.clone())).rank
}

/// The ratios as the last sittings have them.
fn ratios_of_last(seen: &[Observation], columns: &[Column], most: usize) -> Ratios {
    let sittings: BTreeSet<usize> = seen.iter().map(|one| one.sitting).collect();
    let first = sittings.iter().rev().nth(most.saturating_sub(1)).copied().unwrap_or(0);
    let last: Vec<Observation> = seen.iter().filter(|one| one.sitting >= first).copied().collect();
    let values: Vec<f64> = last.iter().map(|one| one.value).collect();
    ratios(&Design::of(&last), &values, &indicators(&last, columns))
}

fn pairs(seen: &[Observation], factor: Factor, came: &Fitted, equal: Option<&Fitted>) -> Vec<Pair> {
    let levels: Vec<usize> = came.columns.iter().map(|(_, level)| *level).collect();
    let lots = |level: usize| -> BTreeSet<usize> {
        seen.iter().filter(|one| one.levels[factor.place()] == level).map(|one| one.lot).collect()
    };
    let lots: Vec<BTreeSet<usize>> = levels.iter().map(|&level| lots(level)).collect();
    let mut pairs = Vec::new();
    for (place, &one) in levels.iter().enumerate() {
        for (further, &other) in levels.iter().enumerate().skip(place + 1) {
            let sides = [((factor, one), 1.0), ((factor, other), -1.0)];
            let told = |fitted: &Fitted| fitted.difference(&fitted.contrast(sides)?);
            let (as_they_came, all_else_equal) = (told(came), equal.and_then(told));
            let is_tied = as_they_came.is_some() && all_else_equal.is_none();
            let tied_to = equal.filter(|_| is_tied).map_or_else(Vec::new, |equal| tied(equal, factor, one, other));
            pairs.push(Pair {
                one,
                other,
                lots: lots[place].intersection(&lots[further]).count(),
                as_they_came,
                all_else_equal,
                tied_to,
            });
        }
    }
    pairs
}

/// The other factors from which, each by itself, two levels cannot be told.
fn tied(equal: &Fitted, factor: Factor, one: usize, other: usize) -> Vec<Factor> {
    let is_tied = |beside: &Factor| {
        let places: Vec<usize> =
            (0..equal.columns.len()).filter(|&place| [factor, *beside].contains(&equal.columns[place].0)).collect();
        let matrix = equal.information.matrix.select_rows(&places).select_columns(&places);
        let solved = Solved::of(&Information::only(matrix));
        let side = |place: usize| match equal.columns[place] {
            (its, level) if its == factor => f64::from(i8::from(level == one) - i8::from(level == other)),
            _ => 0.0,
        };
        !solved.tells(&DVector::from_iterator(places.len(), places.iter().map(|&place| side(place))))
    };
    Factor::ALL.into_iter().filter(|beside| *beside != factor).filter(is_tied).collect()
}

/// Holds the probabilities of all pairs back for their number.
fn hold_back(pairs: &mut [Pair], of: impl Fn(&mut Pair) -> Option<&mut Difference>) {
    let mut told: Vec<&mut Difference> = pairs.iter_mut().filter_map(of).collect();
    let probabilities: Vec<f64> = told.iter().map(|it| it.probability).collect();
    for (difference, held) in told.iter_mut().zip(held_back(&probabilities)) {
        difference.held_back = held;
    }
}

fn levels_told(seen: &[Observation], factor: Factor, came: &Fitted, equal: Option<&Fitted>) -> Vec<Level> {
    let levels: Vec<usize> = came.columns.iter().map(|(_, level)| *level).collect();
    let of = |level: usize| seen.iter().filter(move |one| one.levels[factor.place()] == level);
    let barrels: Vec<usize> =
        levels.iter().map(|&level| of(level).map(|one| one.barrel).collect::<BTreeSet<_>>().len()).collect();
    let (parts_came, parts_equal) = (parts(came, factor, &levels), equal.map(|equal| parts(equal, factor, &levels)));
    let pulled = pulled(equal.unwrap_or(came), &levels, parts_equal.as_ref().unwrap_or(&parts_came), &barrels);
    let against = |fitted: &Fitted, parts: &[usize], place: usize| {
        let others: Vec<usize> = (0..levels.len()).filter(|&other| parts[other] == parts[place]).collect();
        let all: usize = others.iter().map(|&other| barrels[other]).sum();
        let mean = others.iter().map(|&other| ((factor, levels[other]), -(barrels[other] as f64) / all as f64));
        let is_more = others.len() > 1;
        is_more
            .then(|| fitted.contrast([((factor, levels[place]), 1.0)].into_iter().chain(mean)))?
            .and_then(|contrast| fitted.difference(&contrast))
    };
    (0..levels.len())
        .map(|place| Level {
            level: levels[place],
            barrels: barrels[place],
            times: of(levels[place]).count(),
            lots: of(levels[place]).map(|one| one.lot).collect::<BTreeSet<_>>().len(),
            as_it_came: against(came, &parts_came, place),
            all_else_equal: equal.zip(parts_equal.as_ref()).and_then(|(fitted, parts)| against(fitted, parts, place)),
            pulled: pulled[place],
            part: parts_equal.as_ref().unwrap_or(&parts_came)[place],
        })
        .collect()
}

/// Which levels can be held against each other: a number of the part for each.
fn parts(fitted: &Fitted, factor: Factor, levels: &[usize]) -> Vec<usize> {
    let mut parts: Vec<usize> = Vec::new();
    for (place, &level) in levels.iter().enumerate() {
        let with = (0..place).find(|&before| {
            let contrast = fitted.contrast([((factor, level), 1.0), ((factor, levels[before]), -1.0)]);
            contrast.is_some_and(|contrast| fitted.solved.tells(&contrast))
        });
        let next = parts.iter().max().map_or(0, |most| most + 1);
        parts.push(with.map_or(next, |before| parts[before]));
    }
    parts
}

/// The levels pulled to the mean of their part: by the variance of levels that moments give, against what is known of each.
fn pulled(fitted: &Fitted, levels: &[usize], parts: &[usize], barrels: &[usize]) -> Vec<Option<f64>> {
    let size = levels.len();
    let matrix = &fitted.information.matrix;
    let (own, rest) =
        (matrix.view((0, 0), (size, size)), matrix.view((size, size), (matrix.nrows() - size, matrix.ncols() - size)));
    let across = matrix.view((0, size), (size, matrix.ncols() - size));
    let rest = Solved::of(&Information::only(rest.into_owned())).covariance;
    let known = own - across * &rest * across.transpose();
    let told = Solved::of(&Information::only(known.clone()));
    let beside = fitted.information.sums.rows(size, matrix.ncols() - size);
    let sums = fitted.information.sums.rows(0, size) - across * (&rest * beside);
    let effects = &told.covariance * &sums;
    let beyond = sums.dot(&effects) / fitted.variance - told.rank as f64;
    let between = (beyond / known.trace()).max(0.0);
    let count = |part: usize| parts.iter().filter(|&&its| its == part).count();
    let ridge = DMatrix::identity(size, size);
    let pulled = if between > 0.0 {
        (&known + ridge / between).cholesky().map_or_else(|| DVector::zeros(size), |factor| factor.solve(&sums))
    } else {
        DVector::zeros(size)
    };
    let mean = |part: usize| {
        let of_part = || (0..size).filter(move |&place| parts[place] == part);
        let all: f64 = of_part().map(|place| barrels[place] as f64).sum();
        of_part().map(|place| pulled[place] * barrels[place] as f64).sum::<f64>() / all
    };
    (0..size).map(|place| (count(parts[place]) > 1).then(|| pulled[place] - mean(parts[place]))).collect()
}

#[cfg(test)]
mod tests {
    use super::super::samples::{oats, scores};
    use super::*;

    fn close(found: f64, expected: f64, within: f64) {
        assert!((found - expected).abs() <= within, "{found}, not {expected}");
    }

    /// Yates's analysis: main plots of variance 601.33 with 10 degrees of freedom, so that two varieties differ with an error of
    /// √(2 × 601.33 / 24) = 7.079; statsmodels 0.15.0 (`MixedLM`, REML) has 162.559 and 109.693.
    #[test]
    fn the_split_plots_of_yates() {
        let judged = judge(&oats(), Factor::Cooper).unwrap();
        let golden_rain = judged.pair(0, 1).unwrap().all_else_equal.unwrap();
        close(golden_rain.value, -6.875, 1e-9);
        close(golden_rain.error, 7.0789, 1e-3);
        close(judged.pair(0, 2).unwrap().all_else_equal.unwrap().value, -12.166_67, 1e-4);
        assert_eq!(judged.freedom, 10);
        close(judged.scatter.taste.powi(2), 162.559, 0.01);
        close(judged.scatter.barrels.powi(2), 109.693, 0.1);
        // Against their mean, which they are a third of each: (0 + 6.875 + 12.1667) / 3 below it.
        close(judged.levels[0].all_else_equal.unwrap().value, -6.347_2, 1e-3);
        // Nitrogen differs within plots, as no cooper does, and is told.
        let nitrogen = judge(&oats(), Factor::Toast).unwrap();
        assert!(nitrogen.pair(0, 3).unwrap().all_else_equal.unwrap().is_told());
    }

    /// statsmodels 0.15.0, `MixedLM` by REML with the sittings as fixed levels, barrels as groups and their fillings as a variance component; the
    /// errors are those of generalised least squares at these variances (`NumPy`), since that library's come from a numerical curvature.
    #[test]
    fn scores_with_gaps() {
        let judged = judge(&scores(), Factor::Cooper).unwrap();
        for (other, value, error) in [(1, 0.281_27, 0.417_27), (2, 1.338_15, 0.489_46), (3, -0.131_94, 0.465_16)] {
            let came = judged.pair(0, other).unwrap().as_they_came.unwrap();
            close(came.value, -value, 1e-3);
            close(came.error, error, 1e-3);
        }
        for (other, value, error) in [(1, 0.286_91, 0.463_62), (2, 1.328_49, 0.527_73), (3, -0.126_92, 0.543_05)] {
            let equal = judged.pair(0, other).unwrap().all_else_equal.unwrap();
            close(equal.value, -value, 1e-3);
            close(equal.error, error, 1e-3);
        }
        close(judged.scatter.taste.powi(2), 0.388_38, 2e-3);
        close(judged.scatter.barrels.powi(2), 0.240_74 + 0.146_27, 4e-3);
    }

    /// What is taken out by steps is what the factored matrix takes out.
    #[test]
    fn many_sittings_are_taken_out_as_few_are() {
        let seen = scores();
        let design = Design::of(&seen);
        let weights = Weights::of(&design, Ratios { barrel: 0.7, filling: 0.4 });
        let values: Vec<f64> = seen.iter().map(|one| one.value).collect();
        let columns = indicators(&seen, &columns_of(&seen, Factor::Cooper));
        let by_factor = Information::of(&weights, &Sittings::factored(&weights).unwrap(), &values, &columns);
        let by_steps = Information::of(&weights, &Sittings::Stepped, &values, &columns);
        close((by_factor.matrix - by_steps.matrix).abs().max(), 0.0, 1e-10);
        close((by_factor.sums - by_steps.sums).abs().max(), 0.0, 1e-10);
        close(by_factor.scatter, by_steps.scatter, 1e-10);
    }

    /// Of many sittings the last say how things scatter, and the rest is as it is with all of them, as nearly as they say the same.
    #[test]
    fn the_last_sittings_say_how_things_scatter() {
        let of = |most| judge_by(&scores(), Factor::Cooper, most).unwrap();
        let (all, last) = (of(MOST_SITTINGS), of(9));
        for (one, other) in all.pairs.iter().zip(&last.pairs) {
            let (one, other) = (one.all_else_equal.unwrap(), other.all_else_equal.unwrap());
            close(one.value, other.value, 0.3 * one.error);
            close(one.error, other.error, 0.4 * one.error);
        }
        assert_ne!(all.scatter, last.scatter);
    }

    fn with(seen: &[Observation], change: impl Fn(&mut Observation)) -> Vec<Observation> {
        let mut seen = seen.to_vec();
        seen.iter_mut().for_each(change);
        seen
    }

    #[test]
    fn what_was_never_side_by_side_has_no_number() {
        // Cooper 3 is only ever in lots of its own.
        let seen = with(&scores(), |one| {
            if one.levels[0] == 3 {
                (one.sitting, one.lot) = (one.sitting + 100, one.lot + 100);
            }
        });
        let judged = judge(&seen, Factor::Cooper).unwrap();
        for other in 0..3 {
            let pair = judged.pair(other, 3).unwrap();
            assert_eq!((pair.as_they_came, pair.all_else_equal, pair.lots), (None, None, 0));
        }
        assert!(judged.pair(0, 1).unwrap().all_else_equal.is_some());
        let apart = judged.levels.iter().find(|level| level.level == 3).unwrap();
        assert_eq!((apart.as_it_came, apart.pulled), (None, None));
    }

    #[test]
    fn a_toast_of_one_cooper_alone_is_tied_to_it() {
        let toast = Factor::Toast.place();
        let seen = with(&scores(), |one| one.levels[toast] = usize::from(one.levels[0] == 3));
        let pair = judge(&seen, Factor::Toast).unwrap().pairs[0].clone();
        assert!(pair.as_they_came.is_some() && pair.all_else_equal.is_none());
        assert_eq!(pair.tied_to, [Factor::Cooper]);
        let judged = judge(&seen, Factor::Cooper).unwrap();
        assert_eq!(judged.pair(0, 3).unwrap().tied_to, [Factor::Toast]);
        assert!(judged.pair(0, 1).unwrap().all_else_equal.is_some());
    }

    #[test]
    fn nothing_is_told_where_nothing_was_learned() {
        let told = |seen: &[Observation]| judge(seen, Factor::Cooper).map(|_| ());
        assert_eq!(told(&[]), Err(Untold::Nothing));
        assert_eq!(told(&with(&scores(), |one| one.levels[0] = 2)), Err(Untold::OneLevel(2)));
        assert_eq!(told(&with(&scores(), |one| one.value = 14.0)), Err(Untold::AllAlike));
        assert_eq!(told(&with(&scores(), |one| one.sitting = one.levels[0])), Err(Untold::NeverSideBySide));
        let of_two = |one: &&Observation| [0, 2].contains(&one.barrel);
        let two: Vec<Observation> = scores().iter().filter(of_two).copied().collect();
        assert_eq!(told(&two), Err(Untold::TooFewBarrels));
        // A taste that stands alone in its sitting changes nothing and is counted.
        let mut lone = scores();
        lone.push(Observation { sitting: 99, value: 3.0, ..lone[0] });
        let (judged, before) = (judge(&lone, Factor::Cooper).unwrap(), judge(&scores(), Factor::Cooper).unwrap());
        assert_eq!((judged.alone, judged.pairs), (1, before.pairs));
    }

    /// Whatever a taster's level is in a sitting, and in whatever order things come, the same is said.
    #[test]
    fn the_level_of_a_sitting_is_no_matter() {
        let before = judge(&scores(), Factor::Cooper).unwrap();
        let mut seen = with(&scores(), |one| one.value += (one.sitting * one.sitting) as f64 % 7.0 - 3.0);
        seen.reverse();
        let after = judge(&seen, Factor::Cooper).unwrap();
        for (one, other) in before.pairs.iter().zip(&after.pairs) {
            let (one, other) = (one.all_else_equal.unwrap(), other.all_else_equal.unwrap());
            close(one.value, other.value, 1e-3);
            close(one.probability, other.probability, 1e-3);
        }
        // What is pulled stays on its side of the mean, or nearly, and never grows.
        for level in &before.levels {
            let (value, pulled) = (level.all_else_equal.unwrap().value, level.pulled.unwrap());
            assert!(pulled.abs() <= value.abs() + 0.15, "{value} {pulled}");
        }
    }
}
