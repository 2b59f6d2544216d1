//! The batch test of Directive 76/211/EEC, Annex II: how many bottles of a batch are measured, how many of them may be
//! short, and what they are to hold on average.

use thiserror::Error;

use super::fills::{DIRECTIVE_REACH, deviation_ml, tolerance};
use crate::reckon::label_share::Rules;
use crate::units::{Volume, counted, exact_millilitres, figure_to};

/// How many are measured at a stage, and what their short ones come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stage {
    /// How many are measured, those of the stage before with them.
    pub measured: usize,
    /// Up to so many short ones the batch is within the test.
    pub accept: usize,
    /// From so many on it is not.
    pub reject: usize,
}

const fn stage(measured: usize, accept: usize, reject: usize) -> Stage {
    Stage { measured, accept, reject }
}

/// How a batch is sampled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plan {
    /// The first sample.
    pub first: Stage,
    /// Both samples together, where the first leaves it open.
    pub both: Option<Stage>,
    /// How many of the first tell the average.
    pub mean_of: usize,
    /// The average is to be at least what is stated less so many standard deviations.
    pub k: f64,
}

/// Below so many bottles all of a batch are tested, and none by opening it.
pub const LEAST_BATCH: u64 = 100;
/// A batch is what an hour gives at the line's end; of bottles that stand already it is at most so many.
pub const LARGEST_STANDING_BATCH: u64 = 10_000;

/// How a batch of so many bottles is sampled (Directive 76/211/EEC, Annex II, 2.2.1, 2.2.2 and 2.3): 30, 50 or 80 at first
/// and as many again; 20 where a bottle has to be opened for it. None below [`LEAST_BATCH`]: there all are tested.
///
/// Other plans are printed in national rules (the United Kingdom's begins with 50, 80 or 125).
#[must_use]
pub const fn plan(batch: u64, destructive: bool) -> Option<Plan> {
    if batch < LEAST_BATCH {
        return None;
    }
    Some(match batch {
        _ if destructive => Plan { first: stage(20, 1, 2), both: None, mean_of: 20, k: 0.640 },
        0..=500 => Plan { first: stage(30, 1, 3), both: Some(stage(60, 4, 5)), mean_of: 30, k: 0.503 },
        501..=3_200 => Plan { first: stage(50, 2, 5), both: Some(stage(100, 6, 7)), mean_of: 50, k: 0.379 },
        _ => Plan { first: stage(80, 3, 7), both: Some(stage(160, 8, 9)), mean_of: 50, k: 0.379 },
    })
}

/// How a batch comes out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Within the figures of the test.
    Within,
    /// Beyond them.
    Beyond,
    /// So many more are to be measured before it can be told.
    Open(usize),
}

impl Verdict {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Verdict::Within => "within",
            Verdict::Beyond => "beyond",
            Verdict::Open(_) => "open",
        }
    }
}

/// A batch held against the test.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchCheck {
    /// How many bottles there are in it.
    pub batch: u64,
    /// By which sample it was judged; none where all are tested.
    pub stage: Option<Stage>,
    /// How many of those are shorter than is tolerated.
    pub short: usize,
    /// By how much one may be short.
    pub tolerance: Volume,
    /// How many are short by more than twice that: those carry no mark of the directive whatever the batch is.
    pub far_short: usize,
    /// What those that tell the average hold, mL.
    pub mean_ml: f64,
    /// What they are to hold at least, mL.
    pub least_mean_ml: f64,
    /// How it comes out.
    pub verdict: Verdict,
}

/// Why a batch cannot be tested.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum NoBatch {
    /// Too few were measured.
    #[error(
        "Of a batch of {batch} bottles {wanted} are measured (Directive 76/211/EEC, Annex II), and {measured} were."
    )]
    TooFew {
        /// How many bottles there are.
        batch: u64,
        /// How many are to be measured first.
        wanted: u64,
        /// How many were.
        measured: usize,
    },
    /// More were measured than there are.
    #[error("{measured} bottles were measured, and the batch has {batch}.")]
    TooMany {
        /// How many bottles there are.
        batch: u64,
        /// How many were measured.
        measured: usize,
    },
    /// Opened bottles of a small batch.
    #[error(
        "Of a batch of fewer than 100 all bottles are tested, and none by opening it (Directive 76/211/EEC, Annex II)."
    )]
    NotOpened,
    /// A size that the directive does not cover.
    #[error("Directive 76/211/EEC is for 5 mL to 10 L: it has no batch test for {}.", exact_millilitres(*.0))]
    OutOfReach(Volume),
}

/// Tests a batch by what was measured in single bottles, in the order in which they were measured. Of a batch under
/// [`LEAST_BATCH`] all are to be measured; how many of those may be short the directive's tables do not say, so none may
/// here (this house's reading).
pub fn check_batch(fills: &[Volume], nominal: Volume, batch: u64, destructive: bool) -> Result<BatchCheck, NoBatch> {
    if !DIRECTIVE_REACH.contains(&nominal) {
        return Err(NoBatch::OutOfReach(nominal));
    }
    let measured = fills.len();
    if measured as u64 > batch {
        return Err(NoBatch::TooMany { batch, measured });
    }
    let plan = plan(batch, destructive);
    if plan.is_none() && destructive {
        return Err(NoBatch::NotOpened);
    }
    let wanted = plan.map_or(batch, |plan| plan.first.measured as u64).max(1);
    if (measured as u64) < wanted {
        return Err(NoBatch::TooFew { batch, wanted, measured });
    }
    let tolerance = tolerance(nominal, Rules::Eu);
    let short_of = |count: usize, by: Volume| fills.iter().take(count).filter(|&&fill| fill + by < nominal).count();
    let (mean_of, k) = plan.map_or((measured, 0.0), |plan| (plan.mean_of, plan.k));
    let telling = fills.get(..mean_of).unwrap_or(fills);
    let mean_ml = telling.iter().map(|fill| fill.as_litres() * 1e3).sum::<f64>() / telling.len().max(1) as f64;
    let least_mean_ml = nominal.as_litres() * 1e3 - k * deviation_ml(telling).unwrap_or_default();
    let (stage, short, by_count) = match plan {
        None => {
            let short = short_of(measured, tolerance);
            (None, short, if short == 0 { Verdict::Within } else { Verdict::Beyond })
        }
        Some(plan) => by_stages(plan, measured, |count| short_of(count, tolerance)),
    };
    // A billionth of a millilitre is what adding up real numbers may lose.
    let verdict = if mean_ml + 1e-9 < least_mean_ml { Verdict::Beyond } else { by_count };
    let far_short = short_of(measured, tolerance + tolerance);
    Ok(BatchCheck { batch, stage, short, tolerance, far_short, mean_ml, least_mean_ml, verdict })
}

/// The sample that decides, its short ones, and how it decides.
fn by_stages(plan: Plan, measured: usize, short_of: impl Fn(usize) -> usize) -> (Option<Stage>, usize, Verdict) {
    let judged = |stage: Stage| {
        let short = short_of(stage.measured);
        let verdict = if short <= stage.accept {
            Verdict::Within
        } else if short >= stage.reject {
            Verdict::Beyond
        } else {
            Verdict::Open(plan.both.map_or(0, |both| both.measured.saturating_sub(measured)))
        };
        (Some(stage), short, verdict)
    };
    let first = judged(plan.first);
    match (first.2, plan.both) {
        (Verdict::Open(_), Some(both)) if measured >= both.measured => judged(both),
        _ => first,
    }
}

impl BatchCheck {
    /// What it comes to, in a sentence.
    #[must_use]
    pub fn words(&self) -> String {
        let tolerance = exact_millilitres(self.tolerance);
        let counted_of = self.stage.map_or_else(
            || format!("{} of all {} bottles", self.short, self.batch),
            |stage| format!("{} of {} (up to {}, not {})", self.short, stage.measured, stage.accept, stage.reject),
        );
        let mean = format!(
            "the mean is {} mL, at least {} wanted",
            figure_to(1, self.mean_ml),
            // Rounded up, so that what is just short never looks reached.
            figure_to(1, (self.least_mean_ml * 10.0 - 1e-6).ceil() / 10.0)
        );
        let how = match self.verdict {
            Verdict::Within => "Within the batch test".to_owned(),
            Verdict::Beyond => "Beyond the batch test".to_owned(),
            Verdict::Open(more) => format!("Open in the batch test, measure {more} more"),
        };
        let far = if self.far_short > 0 {
            let twice = exact_millilitres(self.tolerance + self.tolerance);
            format!(
                " {} short by more than {twice}: no such bottle carries the mark of the directive.",
                counted(self.far_short, "bottle")
            )
        } else {
            String::new()
        };
        let large = if self.batch > LARGEST_STANDING_BATCH {
            format!(" A batch is an hour's output at the line's end, else at most {LARGEST_STANDING_BATCH} bottles.")
        } else {
            String::new()
        };
        format!(
            "{how} of Directive 76/211/EEC, Annex II: {counted_of} short by more than {tolerance}; {mean}.{far}{large}"
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ml(millilitres: u64) -> Volume {
        Volume::from_ml(millilitres)
    }

    fn batch(short: usize, of: usize, batch: u64, destructive: bool) -> Result<BatchCheck, NoBatch> {
        // The short ones come first, the others hold a little more than is stated.
        let fills: Vec<Volume> = (0..of).map(|number| if number < short { ml(734) } else { ml(753) }).collect();
        check_batch(&fills, ml(750), batch, destructive)
    }

    /// Directive 76/211/EEC, Annex II, 2.2.1.1 (30, 50, 80; 1/3, 2/5, 3/7; both 60, 100, 160; 4/5, 6/7, 8/9), 2.2.2 (20, 1/2), 2.3
    /// (k 0.503 of 30, 0.379 of 50; 0.640 of 20).
    #[test]
    fn the_plans_are_as_printed() {
        let told = |size, destructive| {
            let plan = plan(size, destructive)?;
            let both = plan.both.map(|both| (both.measured, both.accept, both.reject));
            Some((
                (plan.first.measured, plan.first.accept, plan.first.reject),
                both,
                plan.mean_of,
                (plan.k * 1e3).round(),
            ))
        };
        let (small, middle, large) = (
            Some(((30, 1, 3), Some((60, 4, 5)), 30, 503.0)),
            Some(((50, 2, 5), Some((100, 6, 7)), 50, 379.0)),
            Some(((80, 3, 7), Some((160, 8, 9)), 50, 379.0)),
        );
        for (size, plan) in
            [(99, None), (100, small), (500, small), (501, middle), (3_200, middle), (3_201, large), (10_000, large)]
        {
            assert_eq!(told(size, false), plan, "{size}");
        }
        assert_eq!(told(100, true), Some(((20, 1, 2), None, 20, 640.0)));
        assert_eq!(told(99, true), None);
    }

    /// The same: 1 of 30 is within, 2 leave it open, 3 are beyond; of both, 4 of 60 are within and 5 beyond.
    #[test]
    fn short_ones_are_counted_by_stages() {
        let verdict = |short, of| batch(short, of, 500, false).unwrap().verdict;
        assert_eq!(verdict(1, 30), Verdict::Within);
        assert_eq!(verdict(2, 30), Verdict::Open(30));
        assert_eq!(verdict(2, 45), Verdict::Open(15));
        assert_eq!(verdict(3, 30), Verdict::Beyond);
        assert_eq!(verdict(2, 60), Verdict::Within);
        let fills: Vec<Volume> = (0..60).map(|number| ml(if number % 12 == 0 { 734 } else { 756 })).collect();
        let found = check_batch(&fills, ml(750), 500, false).unwrap();
        assert_eq!((found.short, found.verdict), (3, Verdict::Beyond), "three of the first 30 decide");
        let late: Vec<Volume> = (0..60).map(|number| ml(if (2..57).contains(&number) { 756 } else { 734 })).collect();
        let found = check_batch(&late, ml(750), 500, false).unwrap();
        assert_eq!((found.stage.map(|it| it.measured), found.short, found.verdict), (Some(60), 5, Verdict::Beyond));
        assert_eq!(batch(1, 20, 500, true).unwrap().verdict, Verdict::Within);
        assert_eq!(batch(2, 20, 500, true).unwrap().verdict, Verdict::Beyond);
    }

    /// 2.3: 30 bottles that scatter by s = 2.034 mL about 749 mL are within 750 − 0.503 s = 748.98; about 748.9 they are not.
    #[test]
    fn the_average_may_be_short_by_k_standard_deviations() {
        let about = |middle_ul: u64| {
            let fills: Vec<Volume> =
                (0..30_u64).map(|number| Volume::from_ul(middle_ul + 4_000 * (number % 2) - 2_000)).collect();
            check_batch(&fills, ml(750), 300, false).unwrap()
        };
        let just = about(749_000);
        assert!((just.least_mean_ml - 748.976_8).abs() < 1e-3, "{just:?}");
        assert_eq!((just.verdict, about(748_900).verdict), (Verdict::Within, Verdict::Beyond));
        assert!(just.words().contains("the mean is 749.0 mL, at least 749.0 wanted"), "{}", just.words());
    }

    #[test]
    fn what_cannot_be_tested_is_said() {
        let told = |found: Result<BatchCheck, NoBatch>| found.unwrap_err().to_string();
        assert!(told(batch(0, 29, 100, false)).contains("30 are measured"));
        assert!(told(batch(0, 98, 99, false)).contains("99 are measured"));
        assert_eq!(batch(1, 99, 99, false).unwrap().verdict, Verdict::Beyond);
        assert_eq!(batch(0, 99, 99, false).unwrap().verdict, Verdict::Within);
        assert!(told(batch(0, 20, 99, true)).contains("none by opening it"));
        assert!(told(batch(0, 31, 30, false)).contains("the batch has 30"));
        assert!(told(batch(0, 0, 0, false)).contains("1 are measured"));
        for (size, reaches) in [(4, false), (5, true), (10_000, true), (10_001, false)] {
            let fills = vec![ml(size); 30];
            assert_eq!(check_batch(&fills, ml(size), 100, false).is_ok(), reaches, "{size} mL");
        }
    }

    /// Directive 76/211/EEC, Annex I: none short by more than twice what is tolerated carries the mark.
    #[test]
    fn a_bottle_short_by_more_than_twice_is_named() {
        let mut fills = vec![ml(755); 30];
        fills[0] = ml(719);
        let found = check_batch(&fills, ml(750), 500, false).unwrap();
        assert_eq!((found.verdict, found.far_short), (Verdict::Within, 1));
        assert!(found.words().contains("1 bottle short by more than 30 mL"), "{}", found.words());
        assert!(!batch(0, 80, 10_000, false).unwrap().words().contains("at most 10000"));
        assert!(
            batch(0, 80, 10_001, false)
                .unwrap()
                .words()
                .contains("an hour's output at the line's end, else at most 10000")
        );
    }
}
