//! What a panel's table says, as it is given out: words first, the numbers below.

use serde::Serialize;

use super::panel_table::read;
use crate::cellar::core::label::harmless;
use crate::cli::arguments::{Codes, PanelArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::tests::sulfur::rounded;
use crate::reckon::panel::page::page as follow;
use crate::reckon::panel::probability::Probability;
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
    let mut view = PanelView::of(&analyse(&table, &alike));
    if let Some(order) = &asked.order {
        view.follow(&table, order)?;
    }
    view.write(page)
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

/// A panel's table, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct PanelView {
    words: Vec<String>,
    numbers: Vec<NumberView>,
    glasses: Vec<GlassView>,
    tasters: Vec<TasterView>,
}

/// A number with its name.
#[derive(Debug, Serialize)]
struct NumberView {
    name: &'static str,
    value: f64,
    low: Option<f64>,
    high: Option<f64>,
    degrees: Option<String>,
    p: Option<f64>,
    by: Option<String>,
}

impl NumberView {
    fn new(name: &'static str, value: f64) -> NumberView {
        NumberView { name, value: rounded(value, 4), low: None, high: None, degrees: None, p: None, by: None }
    }

    fn between(self, low: f64, high: f64) -> NumberView {
        NumberView { low: Some(rounded(low, 4)), high: Some(rounded(high, 4)), ..self }
    }

    fn degrees(self, degrees: &impl ToString) -> NumberView {
        NumberView { degrees: Some(degrees.to_string()), ..self }
    }

    fn p(self, found: Probability) -> NumberView {
        NumberView { p: Some(rounded(found.p, 6)), by: Some(found.by.words()), ..self }
    }

    const COLUMNS: [Column<NumberView>; 7] = [
        Column::both("name", "number", |it: &NumberView| Cell::Text(it.name.to_owned())),
        Column::both("value", "value", |it| it.value.into()),
        Column::both("low", "low", |it: &NumberView| it.low.into()).sparse(),
        Column::both("high", "high", |it: &NumberView| it.high.into()).sparse(),
        Column::both("degrees", "degrees", |it: &NumberView| it.degrees.as_ref().into()).sparse(),
        Column::both("p", "p", |it: &NumberView| it.p.into()).sparse(),
        Column::both("by", "how", |it: &NumberView| it.by.as_ref().into()).sparse(),
    ];
}

impl PanelView {
    /// The view of an analysis.
    #[must_use]
    pub fn of(found: &Analysis) -> PanelView {
        PanelView {
            words: words(found),
            numbers: numbers(found),
            glasses: found.standings.iter().map(GlassView::of).collect(),
            tasters: found.tasters.iter().map(TasterView::of).collect(),
        }
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
        self.numbers.push(NumberView::new("Page's L", found.l).p(found.probability));
        Ok(())
    }

    /// Gives it out; a spreadsheet gets the glasses.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &GlassView::COLUMNS, &self.glasses, |page| {
            page.sentences(&self.words)?;
            page.section(
                "Glasses, the best first; those that share a letter are not told apart",
                &GlassView::COLUMNS,
                &self.glasses,
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
        page.section("Numbers", &NumberView::COLUMNS, &self.numbers)?;
        page.section("Tasters", &TasterView::COLUMNS, &self.tasters)
    }
}

/// The numbers beside the words.
fn numbers(found: &Analysis) -> Vec<NumberView> {
    let mut numbers = Vec::new();
    if let Ok(test) = &found.test {
        numbers.extend(of_test(test));
    }
    numbers.extend(found.concordance.map(|it| NumberView::new("Kendall's W", it.w)));
    let least = found.rank_sums.as_ref().and_then(|it| it.least_difference);
    numbers.extend(least.map(|it| NumberView::new("least difference of rank sums (ISO 8587)", it)));
    if let Some(Ok(found)) = &found.two_way {
        for (name, effect) in
            [("F of the glasses (two-way)", found.glass), ("F of the tasters (two-way)", found.taster)]
        {
            let degrees = format!("{}, {}", effect.degrees, found.residual_degrees);
            let p = Some(rounded(effect.p, 6));
            numbers.push(NumberView { p, ..NumberView::new(name, effect.f).degrees(&degrees) });
        }
        numbers.push(
            NumberView::new("residual standard deviation", libm::sqrt(found.residual()))
                .degrees(&found.residual_degrees),
        );
    }
    if let Some(found) = found.intraclass {
        let (low, high) = found.consistency_interval;
        numbers.extend([
            NumberView::new("ICC(1,1)", found.one_way),
            NumberView::new("ICC(2,1)", found.agreement),
            NumberView::new("ICC(3,1)", found.consistency).between(low, high),
            NumberView::new("ICC(1,k)", found.mean_one_way),
            NumberView::new("ICC(2,k)", found.mean_agreement),
            NumberView::new("ICC(3,k)", found.mean_consistency),
        ]);
    }
    let repeats = found.repeatability;
    let strays = repeats.map(|it| {
        NumberView::new("repeat standard deviation", it.deviation).between(it.low, it.high).degrees(&it.repeats)
    });
    numbers.extend(strays);
    numbers
}

/// The statistic with the probability to be believed, and with the one that is usually printed.
fn of_test(test: &RankTest) -> Vec<NumberView> {
    let number = || NumberView::new(test.name.words(), test.statistic).degrees(&test.degrees);
    let usual = Probability { p: test.chi_square, by: crate::reckon::panel::probability::By::ChiSquare };
    let mut numbers = vec![number().p(test.probability)];
    if test.probability.by != usual.by {
        numbers.push(number().p(usual));
    }
    numbers
}

/// A glass.
#[derive(Debug, Serialize)]
struct GlassView {
    code: String,
    tasters: usize,
    rank_sum: f64,
    mean_rank: Option<f64>,
    mean_score: Option<f64>,
    adjusted_score: Option<f64>,
    groups: String,
}

impl GlassView {
    fn of(found: &Standing) -> GlassView {
        let points = |score: Option<f64>| score.map(|score| rounded(score, 2));
        GlassView {
            code: found.code.clone(),
            tasters: found.ranked,
            rank_sum: found.rank_sum,
            mean_rank: (found.ranked > 0).then(|| rounded(found.rank_sum / found.ranked as f64, 2)),
            mean_score: points(found.mean_score),
            adjusted_score: points(found.adjusted_score),
            groups: found.groups.clone(),
        }
    }

    const COLUMNS: [Column<GlassView>; 7] = [
        Column::both("code", "glass", |it: &GlassView| (&it.code).into()),
        Column::both("tasters", "tasters", |it| it.tasters.into()),
        Column::both("rank_sum", "rank sum", |it| it.rank_sum.into()),
        Column::both("mean_rank", "mean rank", |it| it.mean_rank.into()),
        Column::both("mean_score", "mean score", |it: &GlassView| it.mean_score.into()).sparse(),
        Column::both("adjusted_score", "adjusted", |it: &GlassView| it.adjusted_score.into()).sparse(),
        Column::both("groups", "groups", |it: &GlassView| (&it.groups).into()),
    ];
}

/// A taster.
#[derive(Debug, Serialize)]
struct TasterView {
    taster: String,
    tasted: usize,
    mean: f64,
    deviation: Option<f64>,
    little_scale: bool,
    agreement: Option<f64>,
    agreement_low: Option<f64>,
    agreement_high: Option<f64>,
    no_agreement: Option<&'static str>,
    repeats: Option<usize>,
    repeat_deviation: Option<f64>,
    widest_repeat: Option<f64>,
}

impl TasterView {
    fn of(found: &TasterNote) -> TasterView {
        let agreement = found.agreement.ok();
        let two = |value: f64| rounded(value, 2);
        TasterView {
            taster: found.name.clone(),
            tasted: found.tasted,
            mean: two(found.mean),
            deviation: found.deviation.map(two),
            little_scale: found.little_scale,
            agreement: agreement.map(|it| two(it.correlation)),
            agreement_low: agreement.map(|it| two(it.low)),
            agreement_high: agreement.map(|it| two(it.high)),
            no_agreement: found.agreement.err().map(why_not),
            repeats: found.repeatability.map(|it| it.repeats),
            repeat_deviation: found.repeatability.map(|it| two(it.deviation)),
            widest_repeat: found.repeatability.map(|it| two(it.widest)),
        }
    }

    const COLUMNS: [Column<TasterView>; 12] = [
        Column::both("taster", "taster", |it: &TasterView| (&it.taster).into()),
        Column::both("tasted", "glasses", |it| it.tasted.into()),
        Column::both("mean", "mean", |it| it.mean.into()),
        Column::both("deviation", "deviation", |it| it.deviation.into()),
        Column::program("little_scale", |it| it.little_scale.into()),
        Column::both("agreement", "with the rest", |it: &TasterView| it.agreement.into()).sparse(),
        Column::both("agreement_low", "low", |it: &TasterView| it.agreement_low.into()).sparse(),
        Column::both("agreement_high", "high", |it: &TasterView| it.agreement_high.into()).sparse(),
        Column::both("no_agreement", "why not", |it: &TasterView| it.no_agreement.into()).sparse(),
        Column::program("repeats", |it| it.repeats.into()),
        Column::both("repeat_deviation", "repeats stray", |it: &TasterView| it.repeat_deviation.into()).sparse(),
        Column::both("widest_repeat", "widest", |it: &TasterView| it.widest_repeat.into()).sparse(),
    ];
}
