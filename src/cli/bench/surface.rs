//! The surface of a tasting from the desk: which ratio the panel would like best, from a file of ratings.

mod ratings;

use crate::cli::arguments::SurfaceArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, WORDS_COLUMNS};
use crate::cli::table::text_table::wrapped;
use crate::reckon::surface::{Candidate, Coefficient, Compared, Findings, Fit, NoSurface, Poured, Predicted, read};

/// So many decimals of a score can be meant where it is reckoned.
const DECIMALS: i32 = 4;

impl From<NoSurface> for Complaint {
    fn from(error: NoSurface) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

/// Reads the ratings of a file and tells what they say of the ratio.
pub fn surface(asked: &SurfaceArguments, page: &mut Page<'_>) -> Outcome {
    let file = ratings::read_file(&asked.file)?;
    let question = file.question(asked)?;
    let findings = read(&question)?;
    let told = (&findings, file.glass_names.as_slice());
    let blends = Blend::all(&findings, &file.glass_names);
    page.report((&columns(), &told), (&BLEND, &blends), |page| {
        for (position, sentence) in findings.words.iter().enumerate() {
            if position > 0 {
                page.line("")?;
            }
            wrapped(sentence, WORDS_COLUMNS).iter().try_for_each(|line| page.line(line))?;
        }
        page.section("Blends", &BLEND, &blends)?;
        write_models(&findings, page)
    })
}

/// What a tasting says of the ratio, and what its glasses are called.
pub type SurfaceSeen<'a> = (&'a Findings, &'a [String]);

/// What is told of a surface.
#[must_use]
pub fn columns<'a>() -> Vec<Column<SurfaceSeen<'a>>> {
    vec![
        Column::within("words", |it: &SurfaceSeen<'_>| Cell::list(&it.0.words)),
        Column::program("verdict", |it| Cell::form(&it.0.verdict)),
        Column::program("model", |it| Cell::form(&it.0.candidates[it.0.chosen].model)),
        Column::within("components", |it| Cell::list(&it.0.components)),
        Column::program("tasters", |it| it.0.tasting.tasters.len().into()),
        Column::program("ratings", |it| it.0.tasting.rows.len().into()),
        Column::program("alike", |it| Cell::form(&it.0.alike)),
        Column::program("glasses_differ", |it| Cell::form(&it.0.by_blend.differ)),
        Column::program("lack_of_fit", |it| {
            Cell::form(&it.0.fit().and_then(|fit| fit.lack_of_fit.as_ref()).map(|lack| lack.ratio))
        }),
        Column::program("best", |it| Cell::form(&it.0.best)),
        Column::within("blends", |it| Cell::things(&BLEND, Blend::all(it.0, it.1))),
        Column::within("models", |it| Cell::things(&model_columns(), &it.0.candidates)),
        Column::within("coefficients", |it| Cell::things(&coefficient_columns(), coefficients(it.0))),
    ]
}

/// Gives the surfaces out that were tried, for people.
pub fn write_models(findings: &Findings, page: &mut Page<'_>) -> Outcome {
    page.section("Surfaces tried", &model_columns(), &findings.candidates.iter().collect::<Vec<_>>())?;
    page.section("Coefficients", &coefficient_columns(), &coefficients(findings))
}

/// A blend: the best, a simpler one, or one that was poured.
struct Blend {
    what: &'static str,
    mixture: String,
    glasses: Option<String>,
    ratings: Option<usize>,
    mean: Option<f64>,
    expected: Option<f64>,
    error: Option<f64>,
    below_best: Option<f64>,
    below_error: Option<f64>,
    worse: Option<bool>,
    allowed: bool,
}

impl Blend {
    /// The best and the simpler ones, then the poured with the best before the rest.
    fn all(findings: &Findings, glass_names: &[String]) -> Vec<Blend> {
        let named = |shares: &[f64]| words_of(shares, &findings.components);
        let mut views = Vec::new();
        if let Some(best) = &findings.best {
            views.push(Blend::expecting("best", named(&best.shares), best.predicted));
            for (compared, what) in best.simpler.iter().zip(["to_5_pct", "to_10_pct"]) {
                views.push(Blend::expecting(what, named(&compared.shares), compared.predicted).against(Some(compared)));
            }
        }
        let liked = |poured: &Poured| poured.predicted.map(|it| it.score).or(poured.mean).unwrap_or(f64::NEG_INFINITY);
        let mut poured: Vec<&Poured> = findings.poured.iter().collect();
        poured.sort_by(|one, other| liked(other).total_cmp(&liked(one)));
        views.extend(poured.into_iter().map(|poured| {
            Blend {
                what: "poured",
                mixture: named(&poured.shares),
                glasses: names_of(&poured.glasses, glass_names),
                ratings: Some(poured.ratings),
                mean: poured.mean.map(|mean| rounded(mean, DECIMALS)),
                expected: poured.predicted.map(|it| rounded(it.score, DECIMALS)),
                error: poured.predicted.map(|it| rounded(it.error, DECIMALS)),
                below_best: None,
                below_error: None,
                worse: None,
                allowed: poured.allowed,
            }
            .against(findings.compare(&poured.shares).as_ref())
        }));
        views
    }

    fn expecting(what: &'static str, mixture: String, predicted: Predicted) -> Blend {
        Blend {
            what,
            mixture,
            glasses: None,
            ratings: None,
            mean: None,
            expected: Some(rounded(predicted.score, DECIMALS)),
            error: Some(rounded(predicted.error, DECIMALS)),
            below_best: None,
            below_error: None,
            worse: None,
            allowed: true,
        }
    }

    fn against(mut self, best: Option<&Compared>) -> Blend {
        self.below_best = best.map(|it| rounded(it.below, DECIMALS));
        self.below_error = best.map(|it| rounded(it.error, DECIMALS));
        self.worse = best.map(|it| it.is_worse);
        self
    }
}

const BLEND: [Column<Blend>; 11] = [
    Column::both("what", "", |it: &Blend| Cell::Word(it.what.to_owned())),
    Column::both("blend", "blend", |it| (&it.mixture).into()),
    Column::both("glasses", "glasses", |it: &Blend| it.glasses.as_deref().into()).sparse(),
    Column::program("ratings", |it| it.ratings.into()),
    Column::both("mean", "given", |it: &Blend| shown(it.mean)).sparse().whole(|it| it.mean.into()),
    Column::both("expected", "expected", |it: &Blend| shown(it.expected)).sparse().whole(|it| it.expected.into()),
    Column::both("error", "±", |it: &Blend| shown(it.error)).sparse().whole(|it| it.error.into()),
    Column::both("below_best", "below", |it: &Blend| shown(it.below_best)).sparse().whole(|it| it.below_best.into()),
    Column::both("below_error", "±", |it: &Blend| shown(it.below_error)).sparse().whole(|it| it.below_error.into()),
    Column::both("worse", "worse", |it: &Blend| it.worse.into()).sparse(),
    Column::program("allowed", |it| it.allowed.into()),
];

/// A surface that was tried.
fn model_columns<'a>() -> [Column<&'a Candidate>; 5] {
    [
        Column::both("model", "surface", |it: &&Candidate| Cell::Word(it.model.word().to_owned()))
            .whole(|it| Cell::form(&it.model)),
        Column::both("missed_by", "misses unseen by", |it| it.missed_by.map(|missed| rounded(missed, DECIMALS)).into()),
        Column::both("residual_deviation", "deviation", |it| of_fit(it, Fit::residual_deviation)),
        Column::both("explained", "R²", |it| of_fit(it, Fit::explained)),
        Column::both("explained_adjusted", "adjusted", |it| of_fit(it, Fit::explained_adjusted)),
    ]
}

fn of_fit(tried: &Candidate, value: fn(&Fit) -> f64) -> Cell {
    tried.fit.as_ref().ok().map(|fit| rounded(value(fit), DECIMALS)).into()
}

/// A coefficient of the surface that is believed, and the names of the components.
type CoefficientOf<'a> = (Coefficient, &'a [String]);

fn coefficients(findings: &Findings) -> Vec<CoefficientOf<'_>> {
    let all = findings.fit().map(Fit::coefficients).unwrap_or_default();
    all.into_iter().map(|it| (it, findings.components.as_slice())).collect()
}

fn coefficient_columns<'a>() -> [Column<CoefficientOf<'a>>; 4] {
    [
        Column::both("component", "component", |(it, names): &CoefficientOf<'_>| (&names[it.first]).into()),
        Column::both("with", "with", |(it, names): &CoefficientOf<'_>| it.second.map(|second| &names[second]).into())
            .sparse(),
        Column::both("value", "coefficient", |(it, _)| rounded(it.value, DECIMALS).into()),
        Column::both("error", "±", |(it, _)| rounded(it.error, DECIMALS).into()),
    ]
}

/// A score as people read it.
fn shown(score: Option<f64>) -> Cell {
    score.map_or(Cell::Nothing, |score| Cell::Decimal(rounded(score, 2)))
}

fn words_of(shares: &[f64], components: &[String]) -> String {
    let parts = shares.iter().zip(components).filter(|(share, _)| **share >= 0.0005);
    parts.map(|(share, name)| format!("{} % {name}", rounded(share * 100.0, 1))).collect::<Vec<_>>().join(", ")
}

fn names_of(glasses: &[usize], names: &[String]) -> Option<String> {
    let of_glasses = glasses.iter().filter_map(|&glass| names.get(glass)).map(String::as_str);
    let found: Vec<&str> = of_glasses.filter(|name| !name.is_empty()).collect();
    (!found.is_empty()).then(|| found.join(" "))
}
