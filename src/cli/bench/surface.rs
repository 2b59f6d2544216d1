//! The surface of a tasting from the desk: which ratio the panel would like best, from a file of ratings.

mod ratings;

use crate::cli::arguments::SurfaceArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::reckon::liking::{Poured, Reading, ratio, read};
use crate::reckon::surface::{Candidate, Coefficient, Compared, Fit, NoSurface};
use crate::reckon::watch::Watch;

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
    let reading = read(&file.question(asked)?, Watch::NOBODY)?;
    let told = (&reading, file.glass_names.as_slice());
    let blends = Blend::all(&reading, &file.glass_names);
    page.report((&columns(), &told), (&BLEND, &blends), |page| {
        page.sentences(&reading.words)?;
        let (offered, rest): (Vec<Blend>, Vec<Blend>) = blends.iter().cloned().partition(Blend::is_offered);
        page.section("What could be blended", &BLEND, &offered)?;
        if !asked.how_sure {
            return page.line("\nHow sure it is, all glasses and polynomials: --how-sure.");
        }
        page.section("The other glasses", &BLEND, &rest)?;
        write_how_sure(&reading, page)
    })
}

/// What a tasting says of the ratio, and what its glasses are called.
pub type SurfaceSeen<'a> = (&'a Reading, &'a [String]);

/// What is told of a surface.
#[must_use]
pub fn columns<'a>() -> Vec<Column<SurfaceSeen<'a>>> {
    vec![
        Column::within("words", |it: &SurfaceSeen<'_>| Cell::list(&it.0.words)),
        Column::program("verdict", |it| Cell::form(&it.0.verdict)),
        // What is averaged is no single model.
        Column::program("model", |_| "averaged".into()),
        Column::within("components", |it| Cell::list(&it.0.details.components)),
        Column::program("tasters", |it| it.0.details.tasting.tasters.len().into()),
        Column::program("ratings", |it| it.0.details.tasting.rows.len().into()),
        Column::program("p", |it| it.0.gate.p.into()),
        Column::program("deals", |it| it.0.gate.deals.into()),
        Column::program("ln_bf", |it| rounded(it.0.factor, 6).into()),
        Column::program("deviation", |it| rounded(it.0.liked.noise(), DECIMALS).into()),
        Column::program("best", |it| Cell::form(&it.0.best())),
        Column::program("lean", |it| Cell::form(&it.0.lean())),
        Column::within("blends", |it| Cell::things(&BLEND, Blend::all(it.0, it.1))),
        Column::within("how_sure", |it| Cell::list(&it.0.how_sure)),
        Column::program("alike", |it| Cell::form(&it.0.details.alike)),
        Column::program("glasses_differ", |it| Cell::form(&it.0.details.by_blend.differ)),
        Column::program("lack_of_fit", |it| {
            Cell::form(&it.0.details.fit().and_then(|fit| fit.lack_of_fit.as_ref()).map(|lack| lack.ratio))
        }),
        Column::within("models", |it| Cell::things(&model_columns(), &it.0.details.candidates)),
        Column::within("coefficients", |it| Cell::things(&coefficient_columns(), coefficients(it.0))),
    ]
}

/// Gives out, for people, how sure it is: words, and the polynomials that were tried.
pub fn write_how_sure(reading: &Reading, page: &mut Page<'_>) -> Outcome {
    page.line("\nHow sure it is")?;
    page.sentences(&reading.how_sure)?;
    page.section("Polynomials tried", &model_columns(), &reading.details.candidates.iter().collect::<Vec<_>>())?;
    page.section("Coefficients", &coefficient_columns(), &coefficients(reading))
}

/// A blend: the best or the lean, a simpler one, the middle, or one that was poured.
#[derive(Clone)]
struct Blend {
    what: &'static str,
    mixture: String,
    ratio: String,
    glasses: Option<String>,
    first_of: Vec<String>,
    ratings: Option<usize>,
    mean: Option<f64>,
    compared: Option<Compared>,
    /// Whether it is the one that the others are held against.
    is_best: bool,
    allowed: bool,
}

impl Blend {
    /// The best or the lean and the simpler ones, then the poured, those that are liked most before the rest.
    fn all(reading: &Reading, glass_names: &[String]) -> Vec<Blend> {
        let blend = |what, shares: &[f64], compared: Option<Compared>| Blend {
            what,
            mixture: words_of(shares, &reading.details.components),
            ratio: ratio(shares).replace(" / ", "/"),
            glasses: None,
            first_of: Vec::new(),
            ratings: None,
            mean: None,
            compared,
            is_best: false,
            allowed: true,
        };
        let mut blends = Vec::new();
        if let Some(best) = reading.advice() {
            let what = if reading.best().is_some() { "best" } else { "lean" };
            let own = reading.liked.compare(&best.shares);
            blends.push(Blend { is_best: true, ..blend(what, &best.shares, Some(own)) });
            for (compared, what) in best.simpler.iter().zip(["to_5_pct", "to_10_pct"]).chain([(&best.middle, "middle")])
            {
                blends.push(blend(what, &compared.shares, Some(compared.clone())));
            }
        }
        let liked = |it: &Poured| match &it.compared {
            Some(compared) => compared.predicted.score,
            None => it.mean.unwrap_or(f64::NEG_INFINITY),
        };
        let mut poured: Vec<&Poured> = reading.poured.iter().collect();
        poured.sort_by(|one, other| liked(other).total_cmp(&liked(one)));
        blends.extend(poured.into_iter().map(|it| Blend {
            glasses: names_of(&it.glasses, glass_names),
            first_of: it.first_of.clone(),
            ratings: Some(it.ratings),
            mean: it.mean.map(|mean| rounded(mean, DECIMALS)),
            allowed: it.allowed,
            ..blend("poured", &it.shares, it.compared.clone())
        }));
        blends
    }

    /// Whether it is offered to be blended: all but the glasses that nobody put first.
    fn is_offered(&self) -> bool {
        self.ratings.is_none() || (self.allowed && !self.first_of.is_empty())
    }

    fn of(&self, value: fn(&Compared) -> f64) -> Option<f64> {
        self.compared.as_ref().map(|it| rounded(value(it), DECIMALS))
    }

    fn below(&self, value: fn(&Compared) -> f64) -> Option<f64> {
        self.of(value).filter(|_| !self.is_best)
    }
}

const BLEND: [Column<Blend>; 13] = [
    Column::both("what", "", |it: &Blend| Cell::Word(it.what.to_owned())),
    Column::program("blend", |it: &Blend| (&it.mixture).into()),
    Column::people("blend, %", |it| (&it.ratio).into()),
    Column::both("glasses", "glasses", |it: &Blend| it.glasses.as_deref().into()).sparse(),
    Column::both("first_of", "put first by", |it: &Blend| {
        (!it.first_of.is_empty()).then(|| it.first_of.join(", ")).into()
    })
    .sparse()
    .whole(|it| Cell::list(&it.first_of)),
    Column::program("ratings", |it| it.ratings.into()),
    Column::both("mean", "given", |it: &Blend| shown(it.mean)).sparse().whole(|it| it.mean.into()),
    Column::both("expected", "score", |it: &Blend| shown(it.of(|it| it.predicted.score)))
        .sparse()
        .whole(|it| it.of(|it| it.predicted.score).into()),
    Column::both("error", "±", |it: &Blend| shown(it.of(|it| it.predicted.error)))
        .sparse()
        .whole(|it| it.of(|it| it.predicted.error).into()),
    Column::both("below_best", "lost", |it: &Blend| shown(it.below(|it| it.below)))
        .sparse()
        .whole(|it| it.below(|it| it.below).into()),
    Column::both("below_error", "±", |it: &Blend| shown(it.below(|it| it.error)))
        .sparse()
        .whole(|it| it.below(|it| it.error).into()),
    Column::both("worse", "worse", |it: &Blend| {
        it.compared.as_ref().filter(|_| !it.is_best).map(|it| it.is_worse).into()
    })
    .sparse(),
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

fn coefficients(reading: &Reading) -> Vec<CoefficientOf<'_>> {
    let findings = &reading.details;
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
