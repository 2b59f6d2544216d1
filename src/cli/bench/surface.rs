//! The surface of a tasting from the desk: which ratio the panel would like best, from a file of ratings.

mod ratings;

use serde::Serialize;

use crate::cli::arguments::SurfaceArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::text_table::wrapped;
use crate::cli::tests::sulfur::rounded;
use crate::reckon::surface::{
    Best, Candidate, Coefficient, Compared, Findings, Fit, Model, NoSurface, Poured, Predicted, Ratio, Verdict, read,
};

/// How wide sentences run, in characters.
const WORDS_COLUMNS: usize = 78;
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
    let view = SurfaceView::of(&findings, &file.glass_names);
    page.report(&view, &BlendView::COLUMNS, &view.blends, |page| {
        for (position, sentence) in view.words.iter().enumerate() {
            if position > 0 {
                page.line("")?;
            }
            wrapped(sentence, WORDS_COLUMNS).iter().try_for_each(|line| page.line(line))?;
        }
        page.section("Blends", &BlendView::COLUMNS, &view.blends)?;
        view.write_models(page)
    })
}

/// What a tasting says of the ratio.
#[derive(Debug, Serialize)]
pub struct SurfaceView {
    words: Vec<String>,
    verdict: Verdict,
    model: Model,
    components: Vec<String>,
    tasters: usize,
    ratings: usize,
    alike: Option<Ratio>,
    glasses_differ: Option<Ratio>,
    lack_of_fit: Option<Ratio>,
    best: Option<Best>,
    blends: Vec<BlendView>,
    models: Vec<ModelView>,
    coefficients: Vec<CoefficientView>,
}

impl SurfaceView {
    /// The view of what was found; the glasses are called as the file or the trial calls them.
    #[must_use]
    pub fn of(findings: &Findings, glass_names: &[String]) -> SurfaceView {
        let fit = findings.fit();
        SurfaceView {
            words: findings.words.clone(),
            verdict: findings.verdict,
            model: findings.candidates[findings.chosen].model,
            components: findings.components.clone(),
            tasters: findings.tasting.tasters.len(),
            ratings: findings.tasting.rows.len(),
            alike: findings.alike,
            glasses_differ: findings.by_blend.differ,
            lack_of_fit: fit.and_then(|fit| fit.lack_of_fit).map(|lack| lack.ratio),
            best: findings.best.clone(),
            blends: BlendView::all(findings, glass_names),
            models: findings.candidates.iter().map(ModelView::of).collect(),
            coefficients: fit.map(|fit| CoefficientView::all(fit, &findings.components)).unwrap_or_default(),
        }
    }

    /// The sentences.
    #[must_use]
    pub fn words(&self) -> &[String] {
        &self.words
    }

    /// Gives the surfaces out that were tried, for people.
    pub fn write_models(&self, page: &mut Page<'_>) -> Outcome {
        page.section("Surfaces tried", &ModelView::COLUMNS, &self.models)?;
        page.section("Coefficients", &CoefficientView::COLUMNS, &self.coefficients)
    }
}

/// A blend: the best, a simpler one, or one that was poured.
#[derive(Debug, Serialize)]
struct BlendView {
    what: &'static str,
    blend: String,
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

impl BlendView {
    /// The best and the simpler ones, then the poured with the best before the rest.
    fn all(findings: &Findings, glass_names: &[String]) -> Vec<BlendView> {
        let named = |shares: &[f64]| words_of(shares, &findings.components);
        let mut views = Vec::new();
        if let Some(best) = &findings.best {
            views.push(BlendView::expecting("best", named(&best.shares), best.predicted));
            for (compared, what) in best.simpler.iter().zip(["to_5_pct", "to_10_pct"]) {
                views.push(
                    BlendView::expecting(what, named(&compared.shares), compared.predicted).against(Some(compared)),
                );
            }
        }
        let liked = |poured: &Poured| poured.predicted.map(|it| it.score).or(poured.mean).unwrap_or(f64::NEG_INFINITY);
        let mut poured: Vec<&Poured> = findings.poured.iter().collect();
        poured.sort_by(|one, other| liked(other).total_cmp(&liked(one)));
        views.extend(poured.into_iter().map(|poured| {
            BlendView {
                what: "poured",
                blend: named(&poured.shares),
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

    fn expecting(what: &'static str, blend: String, predicted: Predicted) -> BlendView {
        BlendView {
            what,
            blend,
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

    fn against(mut self, best: Option<&Compared>) -> BlendView {
        self.below_best = best.map(|it| rounded(it.below, DECIMALS));
        self.below_error = best.map(|it| rounded(it.error, DECIMALS));
        self.worse = best.map(|it| it.is_worse);
        self
    }

    const COLUMNS: [Column<BlendView>; 11] = [
        Column::both("what", "", |it: &BlendView| Cell::Word(it.what.to_owned())),
        Column::both("blend", "blend", |it| it.blend.as_str().into()),
        Column::both("glasses", "glasses", |it: &BlendView| it.glasses.as_deref().into()).sparse(),
        Column::program("ratings", |it| it.ratings.into()),
        Column::both("mean", "given", |it: &BlendView| shown(it.mean)).sparse(),
        Column::both("expected", "expected", |it: &BlendView| shown(it.expected)).sparse(),
        Column::both("error", "±", |it: &BlendView| shown(it.error)).sparse(),
        Column::both("below_best", "below", |it: &BlendView| shown(it.below_best)).sparse(),
        Column::both("below_error", "±", |it: &BlendView| shown(it.below_error)).sparse(),
        Column::both("worse", "worse", |it: &BlendView| it.worse.into()).sparse(),
        Column::program("allowed", |it| it.allowed.into()),
    ];
}

/// A surface that was tried.
#[derive(Debug, Serialize)]
struct ModelView {
    model: Model,
    missed_by: Option<f64>,
    residual_deviation: Option<f64>,
    explained: Option<f64>,
    explained_adjusted: Option<f64>,
}

impl ModelView {
    fn of(tried: &Candidate) -> ModelView {
        let fit = tried.fit.as_ref().ok();
        // A sum with nought makes nought of what is nought and negative.
        let of = |value: fn(&Fit) -> f64| fit.map(|fit| rounded(value(fit), DECIMALS) + 0.0);
        ModelView {
            model: tried.model,
            missed_by: tried.missed_by.map(|missed| rounded(missed, DECIMALS)),
            residual_deviation: of(Fit::residual_deviation),
            explained: of(Fit::explained),
            explained_adjusted: of(Fit::explained_adjusted),
        }
    }

    const COLUMNS: [Column<ModelView>; 5] = [
        Column::both("model", "surface", |it: &ModelView| Cell::Word(it.model.word().to_owned())),
        Column::both("missed_by", "misses unseen by", |it| it.missed_by.into()),
        Column::both("residual_deviation", "deviation", |it| it.residual_deviation.into()),
        Column::both("explained", "R²", |it| it.explained.into()),
        Column::both("explained_adjusted", "adjusted", |it| it.explained_adjusted.into()),
    ];
}

/// A coefficient.
#[derive(Debug, Serialize)]
struct CoefficientView {
    component: String,
    with: Option<String>,
    value: f64,
    error: f64,
}

impl CoefficientView {
    fn all(fit: &Fit, components: &[String]) -> Vec<CoefficientView> {
        let view = |it: Coefficient| CoefficientView {
            component: components[it.first].clone(),
            with: it.second.map(|second| components[second].clone()),
            value: rounded(it.value, DECIMALS),
            error: rounded(it.error, DECIMALS),
        };
        fit.coefficients().into_iter().map(view).collect()
    }

    const COLUMNS: [Column<CoefficientView>; 4] = [
        Column::both("component", "component", |it: &CoefficientView| (&it.component).into()),
        Column::both("with", "with", |it: &CoefficientView| it.with.as_deref().into()).sparse(),
        Column::both("value", "coefficient", |it| it.value.into()),
        Column::both("error", "±", |it| it.error.into()),
    ];
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
