//! What a panel's ranks and scores say, and what they can't.
//!
//! A file each: [`table`] is what was said, [`ranks`] each taster's order; [`friedman`], [`durbin`] and [`skillings_mack`]
//! test whether the orders go further together than chance, of which [`rank_test`] takes the one that fits;
//! [`chance_orders`] counts or draws what chance would bring; [`rank_sums`] compares glasses two by two, [`groups`] gathers
//! those that are not told apart; [`page`] tests an order that was expected, [`concordance`] says how far orders agree.
//! [`two_way`] and [`intraclass`] take scores as points. [`agreement`] and [`repeatability`] are of each taster. [`words`]
//! says it all in sentences.
//!
//! The words rest on the ranks, in which every taster weighs the same however wide the steps; the analysis of scores stands
//! beside them, and where it says something else, that is said. Two glasses are told apart only where the table as a
//! whole is, and only held back for the number of pairs.
//!
//! **Hidden repeats stay glasses of their own** in the tests, where they do no harm: taken together they would scatter less than the
//! others. They only judge the tasters.
//!
//! **Quantiles of chi-square** are halved out by ourselves: statrs 0.18 gives no number for one degree of freedom.

pub mod agreement;
pub mod chance_orders;
pub mod concordance;
pub mod contrasts;
pub mod durbin;
pub mod friedman;
pub mod groups;
pub mod intraclass;
pub mod page;
pub mod probability;
pub mod rank_sums;
pub mod rank_test;
pub mod ranks;
pub mod repeatability;
pub mod skillings_mack;
pub mod table;
pub mod two_way;
pub mod words;

use self::agreement::{Agreement, NoAgreement, agreement};
use self::concordance::{Concordance, concordance};
use self::groups::Apart;
use self::intraclass::{Intraclass, intraclass};
use self::rank_sums::RankSums;
use self::rank_test::{NoTest, RankTest, least_probability, rank_test};
use self::ranks::Ranked;
use self::repeatability::{Repeatability, pooled, repeatability};
use self::table::{Given, Table};
use self::two_way::{NoTwoWay, TwoWay, two_way};
use super::spread::Spread;
use super::watch::Watch;

/// A taster whose scores spread less than this part of what is usual in the panel uses little of the scale (our choice).
const LITTLE: f64 = 0.5;
/// Of fewer tasters none is usual.
const LEAST_TASTERS: usize = 3;

/// All that a panel's table says.
#[derive(Clone, Debug, PartialEq)]
pub struct Analysis {
    /// Scores or ranks.
    pub given: Given,
    /// The glasses, the best first.
    pub standings: Vec<Standing>,
    /// The codes of glasses that nobody tasted.
    pub untasted: Vec<String>,
    /// Whether the orders go further together than chance.
    pub test: Result<RankTest, NoTest>,
    /// The least probability that the test could have found with these tasters and glasses.
    pub least_probability: f64,
    /// The glasses two by two.
    pub rank_sums: Option<RankSums>,
    /// How far the orders agree, where everybody tasted everything.
    pub concordance: Option<Concordance>,
    /// The scores taken as points; none of ranks.
    pub two_way: Option<Result<TwoWay, NoTwoWay>>,
    /// How much of the scatter of scores is the glasses', where everybody scored everything.
    pub intraclass: Option<Intraclass>,
    /// Each taster.
    pub tasters: Vec<TasterNote>,
    /// The repeatability of one judgement, whoever made it.
    pub repeatability: Option<Repeatability>,
}

/// Where a glass stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Standing {
    /// Its place in the table as it was tasted.
    pub glass: usize,
    /// Its code.
    pub code: String,
    /// How many ranked it.
    pub ranked: usize,
    /// The sum of its ranks, 1 the best.
    pub rank_sum: f64,
    /// The mean score of those who tasted it.
    pub mean_score: Option<f64>,
    /// The score as if everybody had tasted it.
    pub adjusted_score: Option<f64>,
    /// The letters of its groups: glasses that share one are not told apart.
    pub groups: String,
}

/// What is known of a taster.
#[derive(Clone, Debug, PartialEq)]
pub struct TasterNote {
    /// The name.
    pub name: String,
    /// How many glasses were tasted.
    pub tasted: usize,
    /// The mean of the values given.
    pub mean: f64,
    /// Their standard deviation; none of one glass.
    pub deviation: Option<f64>,
    /// Whether little of the scale is used: less than half of what is usual in the panel.
    pub little_scale: bool,
    /// How far the taster goes with the rest.
    pub agreement: Result<Agreement, NoAgreement>,
    /// How near the taster comes to the own word.
    pub repeatability: Option<Repeatability>,
}

/// Analyses a table. `alike` are groups of glasses, by their place in the table, that hold the same wine.
#[must_use]
pub fn analyse(whole: &Table, alike: &[Vec<usize>]) -> Analysis {
    watched_analysis(whole, alike, Watch::NOBODY)
}

/// The same, which may take two seconds where orders are counted: whoever watches is told how far it is.
#[must_use]
pub fn watched_analysis(whole: &Table, alike: &[Vec<usize>], watch: Watch<'_>) -> Analysis {
    let table = whole.tasted();
    let ranked = Ranked::of(&table);
    let (test, rank_sums) = match rank_test(&ranked, watch) {
        Ok((test, within)) => (Ok(test), Some(RankSums::of(&ranked, &within))),
        Err(why) => (Err(why), None),
    };
    let tasters = taster_notes(&table, &places_in(&table, whole, alike));
    let scores = (table.given() == Given::Scores).then_some(table.rows());
    let two_way = scores.filter(|_| !table.tasters().is_empty()).map(two_way);
    let repeats: Vec<Repeatability> = tasters.iter().filter_map(|taster| taster.repeatability).collect();
    let mut analysis = Analysis {
        given: table.given(),
        standings: Vec::new(),
        untasted: whole.glasses().iter().filter(|code| !table.glasses().contains(code)).cloned().collect(),
        concordance: test.as_ref().ok().and_then(|test| concordance(test, ranked.blocks.len())),
        least_probability: least_probability(&ranked),
        test,
        rank_sums,
        two_way,
        intraclass: scores.and_then(intraclass),
        repeatability: pooled(&repeats),
        tasters,
    };
    analysis.standings = analysis.standings(&table, &ranked);
    analysis
}

impl Analysis {
    /// What is told apart: nothing unless the whole table is told from chance.
    #[must_use]
    pub fn told_apart(&self) -> Apart {
        self.told(RankSums::held_back)
    }

    /// What ISO 8587 would tell apart, each pair taken by itself: nothing unless the whole table is told from chance.
    #[must_use]
    pub fn told_apart_each_by_itself(&self) -> Apart {
        self.told(RankSums::each_by_itself)
    }

    fn told(&self, pairs: impl Fn(&RankSums) -> Apart) -> Apart {
        match (&self.test, &self.rank_sums) {
            (Ok(test), Some(sums)) if test.probability.tells() => pairs(sums),
            _ => Apart::nothing(self.tasted_glasses()),
        }
    }

    /// How many glasses were tasted.
    fn tasted_glasses(&self) -> usize {
        self.rank_sums.as_ref().map_or(self.standings.len(), |sums| sums.effects.len())
    }

    fn standings(&self, table: &Table, ranked: &Ranked) -> Vec<Standing> {
        let (sums, counts) = (ranked.sums(), ranked.counts());
        let places = match &self.rank_sums {
            Some(sums) => sums.effects.clone(),
            None => mean_places(ranked),
        };
        let mut order: Vec<usize> = (0..table.glasses().len()).collect();
        order.sort_by(|&one, &other| places[one].total_cmp(&places[other]));
        let letters = match self.rank_sums {
            Some(_) => self.told_apart().letters(&order),
            None => vec![String::new(); order.len()],
        };
        let standing = |&glass: &usize| Standing {
            glass,
            code: table.glasses()[glass].clone(),
            ranked: counts[glass],
            rank_sum: sums[glass],
            mean_score: (table.given() == Given::Scores).then(|| mean_score(table, glass)).flatten(),
            adjusted_score: self.two_way.as_ref().and_then(|it| Some(it.as_ref().ok()?.adjusted[glass])),
            groups: letters[glass].clone(),
        };
        order.iter().map(standing).collect()
    }
}

/// Groups of glasses of the whole table, by their place in the table that was tasted.
fn places_in(tasted: &Table, whole: &Table, alike: &[Vec<usize>]) -> Vec<Vec<usize>> {
    let place = |&glass: &usize| {
        let code = whole.glasses().get(glass)?;
        tasted.glasses().iter().position(|other| other == code)
    };
    alike.iter().map(|group| group.iter().filter_map(place).collect()).collect()
}

/// Where each glass stands among those that its tasters had, as far as it can be said without holding flights together.
fn mean_places(ranked: &Ranked) -> Vec<f64> {
    let mut sums = vec![0.0; ranked.glasses];
    for block in &ranked.blocks {
        block.glasses.iter().zip(&block.ranks).for_each(|(&glass, rank)| sums[glass] += rank / block.mean() - 1.0);
    }
    sums.iter().zip(ranked.counts()).map(|(sum, count)| sum / count.max(1) as f64).collect()
}

fn mean_score(table: &Table, glass: usize) -> Option<f64> {
    let scores: Vec<f64> = table.rows().iter().filter_map(|row| row[glass]).collect();
    Some(Spread::of(&scores)?.mean)
}

fn taster_notes(table: &Table, alike: &[Vec<usize>]) -> Vec<TasterNote> {
    let rows = table.rows();
    let deviations: Vec<Option<f64>> = rows.iter().map(|row| deviation(row)).collect();
    let usual = Spread::of(&deviations.iter().copied().flatten().collect::<Vec<_>>())
        .filter(|spread| spread.count >= LEAST_TASTERS && table.given() == Given::Scores)
        .map(|spread| spread.median);
    let note = |(taster, name): (usize, &String)| {
        let values: Vec<f64> = rows[taster].iter().copied().flatten().collect();
        let own = deviations[taster];
        TasterNote {
            name: name.clone(),
            tasted: values.len(),
            mean: values.iter().sum::<f64>() / values.len() as f64,
            deviation: own,
            little_scale: own.zip(usual).is_some_and(|(own, usual)| own > 0.0 && own < LITTLE * usual),
            agreement: agreement(rows, taster),
            repeatability: repeatability(&rows[taster], alike),
        }
    };
    table.tasters().iter().enumerate().map(note).collect()
}

/// The standard deviation of a taster's values; none of fewer than two.
fn deviation(row: &[Option<f64>]) -> Option<f64> {
    let values: Vec<f64> = row.iter().copied().flatten().collect();
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    (values.len() > 1).then(|| libm::sqrt(squares / (values.len() as f64 - 1.0)))
}

#[cfg(test)]
mod samples {
    //! Tables for tests.
    #![allow(clippy::unwrap_used)] // the tests write the tables themselves

    use super::ranks::samples::rows;
    use super::table::{Given, Table};

    /// A table of rows; tasters are called A, B, …, glasses 1, 2, …
    pub fn table(given: Given, text: &str) -> Table {
        let rows = rows(text);
        let tasters = (b'A'..).map(|letter| char::from(letter).to_string()).take(rows.len()).collect();
        let glasses = (1..=rows.first().map_or(0, Vec::len)).map(|number| number.to_string()).collect();
        Table::new(given, tasters, glasses, rows).unwrap()
    }

    pub fn scores(text: &str) -> Table {
        table(Given::Scores, text)
    }
}

#[cfg(test)]
mod tests {
    use super::samples::{scores, table};
    use super::two_way::samples::WINE_PANEL;
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn standings_are_in_order_and_hold_what_was_said() {
        let found = analyse(&scores(WINE_PANEL), &[]);
        let order: Vec<&str> = found.standings.iter().map(|it| it.code.as_str()).collect();
        assert_eq!(order, ["2", "10", "4", "1", "6", "7", "5", "3", "8", "9"]);
        let best = &found.standings[0];
        assert_eq!((best.rank_sum, best.ranked, best.glass, best.groups.as_str()), (35.0, 9, 1, "a"));
        assert!((best.mean_score.unwrap() - best.adjusted_score.unwrap()).abs() < 1e-9);
        assert!(!found.told_apart().any() && !found.told_apart_each_by_itself().any());
        assert!(found.two_way.unwrap().unwrap().glass.p < 0.05 && !found.test.unwrap().probability.tells());
    }

    #[test]
    fn scores_and_ranks_of_one_order_say_the_same() {
        let (one, other) = ("18 15 12 9|17 16 12 10|18 15 13 9|16 14 15 8", "1 2 3 4|1 2 3 4|1 2 3 4|1 3 2 4");
        let (scores, ranks) = (analyse(&scores(one), &[]), analyse(&table(Given::Ranks, other), &[]));
        assert_eq!((&scores.test, &scores.rank_sums), (&ranks.test, &ranks.rank_sums));
        assert!(ranks.two_way.is_none() && ranks.intraclass.is_none() && ranks.standings[0].mean_score.is_none());
    }

    #[test]
    fn tasters_are_told_by_scale_and_repeats() {
        let text = "18 12 15 - 17|16 10 13 - 15|14 14 14 - 14|14.5 14 14.5 - 14|19 12 14 - 17";
        let found = analyse(&scores(text), &[vec![0, 4], vec![2, 3]]);
        assert_eq!(found.untasted, ["4"]);
        let little: Vec<bool> = found.tasters.iter().map(|it| it.little_scale).collect();
        assert_eq!(little, [false, false, false, true, false]);
        let first = found.tasters[0].repeatability.unwrap();
        assert_eq!((first.repeats, first.widest), (1, 1.0));
        assert_eq!(found.repeatability.unwrap().repeats, 5);
        assert_eq!(found.tasters[2].agreement, Err(NoAgreement::AllTheSame));
    }

    fn finite(analysis: &Analysis) -> bool {
        let test = analysis.test.map_or(true, |it| {
            it.statistic.is_finite() && (0.0..=1.0).contains(&it.probability.p) && (0.0..=1.0).contains(&it.chi_square)
        });
        let pairs = analysis.rank_sums.iter().flat_map(|it| &it.pairs).all(|it| (0.0..=1.0).contains(&it.held_back));
        let standing = |it: &Standing| it.rank_sum.is_finite() && it.adjusted_score.is_none_or(f64::is_finite);
        let agrees = |it: &TasterNote| it.agreement.map_or(true, |it| it.low <= it.high && it.correlation.abs() <= 1.0);
        let two_way = analysis.two_way.iter().flatten().all(|it| it.glass.f.is_finite() && it.taster.p <= 1.0);
        let intraclass = analysis.intraclass.is_none_or(|it| it.agreement.is_finite() && it.one_way.is_finite());
        test && pairs
            && two_way
            && intraclass
            && analysis.standings.iter().all(standing)
            && analysis.tasters.iter().all(agrees)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn whatever_was_said_no_number_is_none(
            rows in prop::collection::vec(prop::collection::vec(prop::option::weighted(0.7, 8_u8..12), 5), 0..6),
        ) {
            let tasters = (0..rows.len()).map(|number| number.to_string()).collect();
            let glasses = (0..5).map(|number| format!("g{number}")).collect();
            let rows = rows.into_iter().map(|row| row.into_iter().map(|cell| cell.map(f64::from)).collect()).collect();
            let table = Table::new(Given::Scores, tasters, glasses, rows).unwrap();
            let analysis = analyse(&table, &[vec![0, 1], vec![2, 3, 4]]);
            prop_assert!(finite(&analysis), "{:?}", analysis);
            let words = words::words(&analysis).join(" ");
            prop_assert!(!words.is_empty() && !words.contains("NaN") && !words.contains("inf"), "{}", words);
        }
    }
}
