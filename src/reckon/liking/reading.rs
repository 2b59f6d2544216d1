//! What a tasting says of the ratio: the best one where the panel tells, else where it leans; every glass that was tasted; and the
//! polynomials beside it, for who wants to know how sure it is.

use serde::Serialize;

use super::gate::Gate;
use super::liked::{Asked, Liked};
use super::ratings::{Rated, Ratings};
use super::{region, words};
use crate::reckon::surface::{
    self, Compared, Findings, Hull, NoSurface, Predicted, Question, Range, Region, Scale, Stop, Verdict,
};
use crate::reckon::watch::Watch;

/// Into how many steps a simple ratio divides the whole: to 5 %, and to 10 %.
const SIMPLE: [i32; 2] = [20, 10];

/// The best ratio that is allowed, or the one to which a panel leans that can't tell.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Best {
    /// The ratio.
    pub shares: Vec<f64>,
    /// What it is expected to score, in the mean of this panel.
    pub predicted: Predicted,
    /// The band of that: 95 %.
    pub band: Range,
    /// For each component, the shares of all blends that are as good as far as the panel can tell.
    pub as_good: Vec<Range>,
    /// What stops it, but for a component of which there cannot be less than nothing or more than all.
    pub stopped_by: Vec<Stop>,
    /// The blend in the middle of all that are allowed.
    pub middle: Compared,
    /// The allowed blend among those that were poured to which the panel gave most.
    pub best_poured: Option<Compared>,
    /// Ratios in whole steps of 5 % and of 10 %.
    pub simpler: Vec<Compared>,
}

/// A blend that was poured.
#[derive(Clone, Debug, PartialEq)]
pub struct Poured {
    /// The glasses that held it, positions among those of the question.
    pub glasses: Vec<usize>,
    /// The blend.
    pub shares: Vec<f64>,
    /// How many ratings it has.
    pub ratings: usize,
    /// What it was given, for the mean taster; none where tasters had no glasses in common to link them.
    pub mean: Option<f64>,
    /// How it compares with the best; none where nothing can be learned.
    pub compared: Option<Compared>,
    /// Who put it first: tasters, and the panel by its mean.
    pub first_of: Vec<String>,
    /// Whether it is allowed.
    pub allowed: bool,
}

/// What a tasting says of the ratio.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Where a best ratio is sought: what is allowed, of the kind of what was tasted.
    pub region: Region,
    /// Whether the panel tells anything.
    pub verdict: Verdict,
    /// How often chance says as much.
    pub gate: Gate,
    /// By how much the ratings speak for a surface and against none: the logarithm of a ratio of likelihoods.
    pub factor: f64,
    /// The surface.
    pub liked: Liked,
    /// The blends that were tasted.
    pub poured: Vec<Poured>,
    /// What is advised, or leant to; none where so few ratings could have told nothing.
    advice: Option<Best>,
    /// Polynomials, lack of fit and tables.
    pub details: Findings,
    /// All that in sentences, the most important first.
    pub words: Vec<String>,
    /// How sure it is, in sentences.
    pub how_sure: Vec<String>,
}

/// Reads what a tasting says of the ratio; whoever watches is told how far it is.
pub fn read(question: &Question, watch: Watch<'_>) -> Result<Reading, NoSurface> {
    let details = surface::read(question)?;
    let tasting = &details.tasting;
    let region = region::narrowed(&question.region, &Hull::of(&tasting.blends));
    let allowed = region::allowed(&region, &details.components, question.seed)?;
    let rows = tasting.rows.iter();
    let rated: Vec<Rated> =
        rows.map(|row| Rated { taster: row.taster, flight: row.flight, blend: row.blend, score: row.score }).collect();
    let ratings = Ratings::new(&rated, tasting.blends.len());
    if ratings.freedom() < 1.0 {
        return Err(NoSurface::OneGlassFlights);
    }
    if ratings.is_level() {
        return Err(NoSurface::AllAlike);
    }
    let asked = Asked { blends: &tasting.blends, ratings: &ratings, allowed: &allowed, region: &region };
    let (judged, liked) = Liked::of(&asked).ok_or(NoSurface::OneRatio)?;
    let gate = Gate::of(&ratings, &judged, question.seed, watch);
    let verdict = match (gate.is_too_small(), gate.tells()) {
        (true, _) => Verdict::TooFew,
        (_, true) => Verdict::Tells,
        (_, false) => Verdict::Alike,
    };
    let mut poured = poured(&details, &question.region, &ratings);
    let advice = (verdict != Verdict::TooFew).then(|| advise(&liked, &asked, &question.region, &mut poured));
    let factor = judged.factor();
    let mut reading = Reading {
        poured,
        region,
        verdict,
        gate,
        factor,
        advice,
        liked,
        details,
        words: Vec::new(),
        how_sure: Vec::new(),
    };
    reading.words = words::words(&reading);
    reading.how_sure = words::how_sure(&reading);
    Ok(reading)
}

/// The blends that were poured, with who put them first.
fn poured(details: &Findings, region: &Region, ratings: &Ratings) -> Vec<Poured> {
    let mut poured: Vec<Poured> = details
        .poured
        .iter()
        .map(|it| Poured {
            glasses: it.glasses.clone(),
            shares: it.shares.clone(),
            ratings: it.ratings,
            mean: it.mean,
            compared: None,
            first_of: Vec::new(),
            allowed: region.allows(&it.shares),
        })
        .collect();
    if let Some(first) = first_of_panel(&poured) {
        poured[first].first_of.push("the panel".to_owned());
    }
    for (taster, &asked) in details.tasting.tasters.iter().enumerate() {
        let firsts = ratings.put_first(taster);
        // Who gave all the same put none first.
        if firsts.len() < ratings.blends_of(taster) {
            for blend in firsts {
                poured[blend].first_of.push(details.tasters[asked].clone());
            }
        }
    }
    poured
}

/// The allowed blend to which the panel gave most.
fn first_of_panel(poured: &[Poured]) -> Option<usize> {
    let allowed = (0..poured.len()).rev().filter(|&at| poured[at].allowed);
    let given = allowed.filter_map(|at| Some((poured[at].mean?, at)));
    given.max_by(|(one, _), (other, _)| one.total_cmp(other)).map(|(_, at)| at)
}

impl Reading {
    /// The best ratio, where the panel tells one.
    #[must_use]
    pub fn best(&self) -> Option<&Best> {
        self.advice.as_ref().filter(|_| self.verdict == Verdict::Tells)
    }

    /// Where the panel leans that can't tell.
    #[must_use]
    pub fn lean(&self) -> Option<&Best> {
        self.advice.as_ref().filter(|_| self.verdict != Verdict::Tells)
    }

    /// The best ratio, or the lean.
    #[must_use]
    pub fn advice(&self) -> Option<&Best> {
        self.advice.as_ref()
    }

    /// Whether ranks were read.
    #[must_use]
    pub fn is_of_ranks(&self) -> bool {
        self.details.scale == Scale::Ranks
    }

    /// The poured blends that somebody put first and that are allowed, those that are expected to be liked most before the others.
    #[must_use]
    pub fn put_first(&self) -> Vec<&Poured> {
        let first = |poured: &&Poured| poured.allowed && !poured.first_of.is_empty();
        let mut firsts: Vec<&Poured> = self.poured.iter().filter(first).collect();
        firsts.sort_by(|one, other| one.below().total_cmp(&other.below()));
        firsts
    }
}

/// What is advised; every blend that was poured is held against it.
fn advise(liked: &Liked, asked: &Asked<'_>, set: &Region, poured: &mut [Poured]) -> Best {
    for one in &mut *poured {
        one.compared = Some(liked.compare(&one.shares));
    }
    let (predicted, band) = liked.band();
    let simpler = SIMPLE.iter().filter_map(|&steps| Some(liked.compare(&liked.rounded(asked.region, steps)?)));
    let best_poured = first_of_panel(poured).or_else(|| likeliest(poured));
    Best {
        predicted,
        band,
        as_good: liked.as_good(asked),
        stopped_by: set.stops(liked.best()),
        middle: liked.compare(liked.middle()),
        best_poured: best_poured.and_then(|at| poured[at].compared.clone()),
        simpler: simpler.collect(),
        shares: liked.best().to_vec(),
    }
}

/// The poured blend that is allowed and expected to be liked most: where no mean says it.
fn likeliest(poured: &[Poured]) -> Option<usize> {
    let allowed = (0..poured.len()).filter(|&at| poured[at].allowed);
    allowed.min_by(|&one, &other| poured[one].below().total_cmp(&poured[other].below()))
}

impl Poured {
    /// By how much it is expected to be liked less than the best.
    fn below(&self) -> f64 {
        self.compared.as_ref().map_or(f64::INFINITY, |compared| compared.below)
    }
}
