//! What a panel's table says, as it is given out: words first, the numbers below.

use super::panel_table::read;
use crate::cellar::core::label::harmless;
use crate::cli::arguments::{Codes, PanelArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::reckon::panel::page::page as follow;
use crate::reckon::panel::probability::{Probability, two_figures};
use crate::reckon::panel::rank_test::RankTest;
use crate::reckon::panel::ranks::Ranked;
use crate::reckon::panel::table::{Given, Table};
use crate::reckon::panel::words::{probability, why_not, words};
use crate::reckon::panel::{Analysis, Standing, TasterNote, analyse};

/// Analyses a file.
pub fn analysis(asked: &PanelArguments, page: &mut Page<'_>) -> Outcome {
    let given = match (asked.ranks, asked.scores) {
        (true, _) => Some(Given::Ranks),
        (_, true) => Some(Given::Scores),
        _ => None,
    };
    let table = read(&asked.file, given)?;
    let alike = asked.alike.iter().map(|codes| places(&table, codes)).collect::<Outcome<Vec<_>>>()?;
    let found = analyse(&table, &alike);
    let mut told = PanelSeen::of(&found);
    if let Some(order) = &asked.order {
        told.follow(&table, order)?;
    }
    told.write(page)
}

/// The places of codes in a table.
fn places(table: &Table, codes: &Codes) -> Outcome<Vec<usize>> {
    let place = |code: &String| {
        let unknown = || {
            let sentence = format!("No glass of the table has the code '{}'.", harmless(code));
            Complaint::Refused(sentence)
        };
        table.glasses().iter().position(|glass| glass == code).ok_or_else(unknown)
    };
    codes.0.iter().map(place).collect()
}

/// A panel's table as it is told.
pub struct PanelSeen<'a> {
    found: &'a Analysis,
    words: Vec<String>,
    numbers: Vec<Number>,
}

/// What is told of a panel's table.
#[must_use]
pub fn columns<'a>() -> [Column<PanelSeen<'a>>; 4] {
    [
        Column::within("words", |it: &PanelSeen<'_>| Cell::list(&it.words)),
        Column::within("numbers", |it| Cell::things(&number_columns(), &it.numbers)),
        Column::within("glasses", |it| Cell::things(&glass_columns(), &it.found.standings)),
        Column::within("tasters", |it| Cell::things(&taster_columns(), &it.found.tasters)),
    ]
}

/// A number with its name.
struct Number {
    name: &'static str,
    value: f64,
    between: Option<(f64, f64)>,
    degrees: Option<String>,
    p: Option<f64>,
    by: Option<String>,
}

impl Number {
    const fn new(name: &'static str, value: f64) -> Number {
        Number { name, value, between: None, degrees: None, p: None, by: None }
    }

    fn between(self, low: f64, high: f64) -> Number {
        Number { between: Some((low, high)), ..self }
    }

    fn degrees(self, degrees: &impl ToString) -> Number {
        Number { degrees: Some(degrees.to_string()), ..self }
    }

    fn p(self, found: Probability) -> Number {
        Number { p: Some(found.p), by: Some(found.how()), ..self }
    }
}

fn number_columns<'a>() -> [Column<&'a Number>; 7] {
    [
        Column::both("name", "number", |it: &&Number| it.name.into()),
        Column::both("value", "value", |it| rounded(it.value, 4).into()),
        Column::both("low", "low", |it: &&Number| it.between.map(|(low, _)| rounded(low, 4)).into()).sparse(),
        Column::both("high", "high", |it: &&Number| it.between.map(|(_, high)| rounded(high, 4)).into()).sparse(),
        Column::both("degrees", "degrees", |it: &&Number| it.degrees.as_ref().into()).sparse(),
        Column::both("p", "p", |it: &&Number| it.p.map(short).into()).sparse(),
        Column::both("by", "how", |it: &&Number| it.by.as_ref().into()).sparse(),
    ]
}

/// A probability as people read it: to a millionth, a smaller one to its first two figures.
fn short(p: f64) -> f64 {
    if p < 1e-4 { two_figures(p) } else { rounded(p, 6) }
}

impl<'a> PanelSeen<'a> {
    /// An analysis as it is told.
    #[must_use]
    pub fn of(found: &'a Analysis) -> PanelSeen<'a> {
        PanelSeen { words: words(found), numbers: numbers(found), found }
    }

    /// Adds whether an expected order was followed.
    fn follow(&mut self, table: &Table, order: &Codes) -> Outcome {
        let order = places(table, order)?;
        let found = follow(&Ranked::of(table), &order).map_err(|why| Complaint::Refused(why.to_string()))?;
        let p = probability(found.probability.p);
        self.words.push(if found.probability.tells() {
            format!("The glasses follow the expected order more than chance would ({p}).")
        } else {
            format!("Nothing here says that the glasses follow the expected order ({p}).")
        });
        self.numbers.push(Number::new("Page's L", found.l).p(found.probability));
        Ok(())
    }

    /// Gives it out; a spreadsheet gets the glasses.
    fn write(&self, page: &mut Page<'_>) -> Outcome {
        let glasses: Vec<&Standing> = self.found.standings.iter().collect();
        page.report((&columns(), self), (&glass_columns(), &glasses), |page| {
            page.sentences(&self.words)?;
            page.section(
                "Glasses, the best first; those that share a letter are not told apart",
                &glass_columns(),
                &glasses,
            )?;
            self.write_numbers(page)
        })
    }

    /// The sentences.
    #[must_use]
    pub fn words(&self) -> &[String] {
        &self.words
    }

    /// Gives the numbers and the tasters out, for people.
    pub fn write_numbers(&self, page: &mut Page<'_>) -> Outcome {
        page.section("Numbers", &number_columns(), &self.numbers.iter().collect::<Vec<_>>())?;
        page.section("Tasters", &taster_columns(), &self.found.tasters.iter().collect::<Vec<_>>())
    }
}

/// The numbers beside the words.
fn numbers(found: &Analysis) -> Vec<Number> {
    let mut numbers = Vec::new();
    if let Ok(test) = &found.test {
        numbers.extend(of_test(test));
    }
    numbers.extend(found.concordance.map(|it| Number::new("Kendall's W", it.w)));
    let least = found.rank_sums.as_ref().and_then(|it| it.least_difference);
    numbers.extend(least.map(|it| Number::new("least difference of rank sums (ISO 8587)", it)));
    let tied = found.rank_sums.as_ref().and_then(|it| it.tied_difference).filter(|it| Some(*it) != least);
    numbers.extend(tied.map(|it| Number::new("the same with these ties", it)));
    if let Some(Ok(found)) = &found.two_way {
        for (name, effect) in
            [("F of the glasses (two-way)", found.glass), ("F of the tasters (two-way)", found.taster)]
        {
            let degrees = format!("{}, {}", effect.degrees, found.residual_degrees);
            let p = Some(effect.p);
            numbers.push(Number { p, ..Number::new(name, effect.f).degrees(&degrees) });
        }
        numbers.push(
            Number::new("residual standard deviation", libm::sqrt(found.residual())).degrees(&found.residual_degrees),
        );
    }
    if let Some(found) = found.intraclass {
        let (low, high) = found.consistency_interval;
        numbers.extend([
            Number::new("ICC(1,1)", found.one_way),
            Number::new("ICC(2,1)", found.agreement),
            Number::new("ICC(3,1)", found.consistency).between(low, high),
            Number::new("ICC(1,k)", found.mean_one_way),
            Number::new("ICC(2,k)", found.mean_agreement),
            Number::new("ICC(3,k)", found.mean_consistency),
        ]);
    }
    let repeats = found.repeatability;
    let strays = repeats
        .map(|it| Number::new("repeat standard deviation", it.deviation).between(it.low, it.high).degrees(&it.repeats));
    numbers.extend(strays);
    numbers
}

/// The statistic with the probability to be believed, and with the one that is usually printed.
fn of_test(test: &RankTest) -> Vec<Number> {
    let number = || Number::new(test.name.words(), test.statistic).degrees(&test.degrees);
    let usual = Probability { p: test.chi_square, by: crate::reckon::panel::probability::By::ChiSquare };
    let mut numbers = vec![number().p(test.probability)];
    if test.probability.by != usual.by {
        numbers.push(number().p(usual));
    }
    numbers
}

fn glass_columns<'a>() -> [Column<&'a Standing>; 7] {
    [
        Column::both("code", "glass", |it: &&Standing| (&it.code).into()),
        Column::both("tasters", "tasters", |it| it.ranked.into()),
        Column::both("rank_sum", "rank sum", |it| it.rank_sum.into()),
        Column::both("mean_rank", "mean rank", |it| {
            (it.ranked > 0).then(|| rounded(it.rank_sum / it.ranked as f64, 2)).into()
        }),
        Column::both("mean_score", "mean score", |it: &&Standing| hundredths(it.mean_score)).sparse(),
        Column::both("adjusted_score", "adjusted", |it: &&Standing| hundredths(it.adjusted_score)).sparse(),
        Column::both("groups", "groups", |it| (&it.groups).into()),
    ]
}

fn hundredths(value: Option<f64>) -> Cell {
    value.map(|value| rounded(value, 2)).into()
}

fn taster_columns<'a>() -> Vec<Column<&'a TasterNote>> {
    vec![
        Column::both("taster", "taster", |it: &&TasterNote| (&it.name).into()),
        Column::both("tasted", "glasses", |it| it.tasted.into()),
        Column::both("mean", "mean", |it| rounded(it.mean, 2).into()),
        Column::both("deviation", "deviation", |it| hundredths(it.deviation)),
        Column::program("little_scale", |it| it.little_scale.into()),
        Column::both("agreement", "with the rest", |it: &&TasterNote| {
            hundredths(it.agreement.ok().map(|it| it.correlation))
        })
        .sparse(),
        Column::both("agreement_by_ranks", "by ranks", |it: &&TasterNote| {
            hundredths(it.agreement.ok().map(|it| it.by_ranks))
        })
        .sparse(),
        Column::both("agreement_low", "low", |it: &&TasterNote| hundredths(it.agreement.ok().map(|it| it.low)))
            .sparse(),
        Column::both("agreement_high", "high", |it: &&TasterNote| hundredths(it.agreement.ok().map(|it| it.high)))
            .sparse(),
        Column::both("no_agreement", "why not", |it: &&TasterNote| it.agreement.err().map(why_not).into()).sparse(),
        Column::program("repeats", |it| it.repeatability.map(|it| it.repeats).into()),
        Column::both("repeat_deviation", "repeats stray", |it: &&TasterNote| {
            hundredths(it.repeatability.map(|it| it.deviation))
        })
        .sparse(),
        Column::both("widest_repeat", "widest", |it: &&TasterNote| hundredths(it.repeatability.map(|it| it.widest)))
            .sparse(),
    ]
}
