//! `show trial` and `trial pull`: what was said of the codes, and once the card is pulled, what they were.

use std::collections::BTreeMap;
use std::io::Write;

use serde::Serialize;

use super::list::TrialView;
use super::rating::MissingView;
use super::{enter, seal_line, trial};
use crate::cellar::fact::What;
use crate::cellar::label::{Label, Text};
use crate::cellar::moment::Moment;
use crate::cellar::state::State;
use crate::cellar::trial::card::CardPulled;
use crate::cellar::trial::code::Code;
use crate::cellar::trial::rating::Rating;
use crate::cellar::trial::refusal::TrialRefusal;
use crate::cellar::trial::{Component, Glass, Key, Trial};
use crate::cli::arguments::EnteredBy;
use crate::cli::assemblage::AssemblageView;
use crate::cli::cell::{Cell, When};
use crate::cli::column::Column;
use crate::cli::complaint::{Complaint, Outcome};
use crate::cli::page::Page;
use crate::desk::Desk;
use crate::units::{Shares, Volume};

/// A trial with all that may be seen of it, under the names of the exchange format.
#[derive(Debug, Serialize)]
pub struct TrialCard {
    #[serde(flatten)]
    trial: TrialView,
    bounds: Option<Text>,
    limits: Option<Text>,
    servings: BTreeMap<Label, Vec<Vec<Code>>>,
    glasses: Vec<GlassView>,
    ratings: Vec<RatingView>,
    missing: Vec<MissingView>,
    opened: Option<OpenedView>,
    chosen: Vec<ChosenView>,
}

/// A glass. What it holds, and how it was rated in all, is told once the card is pulled.
#[derive(Debug, Serialize)]
struct GlassView {
    code: Code,
    shares_ppm: Option<Shares>,
    /// The shares in words.
    #[serde(skip)]
    holds: String,
    repeat_of: Option<Code>,
    mean_score: Option<f64>,
    mean_rank: Option<f64>,
    ratings: Option<usize>,
}

/// What a taster said of a glass.
#[derive(Debug, Serialize)]
struct RatingView {
    taster: Label,
    flight: Option<u32>,
    code: Code,
    score: Option<f64>,
    rank: Option<f64>,
    text: Option<Text>,
    at: When,
}

/// What proves the key.
#[derive(Debug, Serialize)]
struct OpenedView {
    salt: Option<Label>,
    seed: Option<u64>,
    /// Whether the key is the one whose digest was printed.
    as_sealed: bool,
}

/// A blend that was chosen.
#[derive(Debug, Serialize)]
struct ChosenView {
    at: When,
    code: Option<Code>,
    shares_ppm: Shares,
    /// The shares in words.
    #[serde(skip)]
    holds: String,
    into: Label,
    volume_ul: Volume,
    lot: Label,
    work: Label,
    /// When the work was closed.
    closed: Option<When>,
    /// How it stands.
    blend: Option<AssemblageView>,
}

impl TrialCard {
    /// A trial by its label.
    pub fn find(state: &State, label: &str, on: Moment) -> Outcome<TrialCard> {
        Ok(TrialCard::of(state, state.trials.get(trial(state, label)?), on))
    }

    fn of(state: &State, trial: &Trial, on: Moment) -> TrialCard {
        let key = trial.opened();
        let [bounds, limits] = trial.laid_out_for().map(Option::<&Text>::cloned);
        TrialCard {
            trial: TrialView::of(state, trial),
            bounds,
            limits,
            servings: trial.tasters().iter().map(|taster| (taster.name.clone(), taster.flights.clone())).collect(),
            glasses: match key {
                Some(key) => GlassView::opened(state, trial, key),
                None => trial.codes().map(GlassView::sealed).collect(),
            },
            ratings: trial.ratings().map(RatingView::of).collect(),
            missing: MissingView::all(trial),
            opened: key.map(|key| OpenedView {
                salt: key.salt().cloned(),
                seed: key.seed(),
                as_sealed: key.is_as_sealed(state),
            }),
            chosen: ChosenView::all(state, trial, on),
        }
    }

    /// Gives the card out.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &RatingView::columns(), &self.ratings, |page| {
            page.card(&TrialView::columns(), &self.trial, |page| {
                match &self.opened {
                    None => page.line("\nThe card is not pulled: what the codes are is sealed.")?,
                    Some(opened) => opened.write(&self.trial, page)?,
                }
                page.section("glasses", &GlassView::columns(), &self.glasses)?;
                page.section("ratings", &RatingView::columns(), &self.ratings)?;
                page.section("missing", &MissingView::columns(), &self.missing)?;
                page.section("blends", &ChosenView::columns(), &self.chosen)
            })
        })
    }
}

impl OpenedView {
    fn write(&self, trial: &TrialView, page: &mut Page<'_>) -> Outcome {
        let salt = self.salt.as_ref().map_or_else(|| "none".to_owned(), Label::to_string);
        page.line(&format!("\n{}\nsalt: {salt}", seal_line(trial.digest())))?;
        page.line(if self.as_sealed {
            "The key is the one that was sealed."
        } else {
            "THE KEY IS NOT THE ONE THAT WAS SEALED. Check the log with `barrelwalk verify`."
        })
    }
}

impl GlassView {
    fn sealed(code: Code) -> GlassView {
        GlassView {
            code,
            shares_ppm: None,
            holds: String::new(),
            repeat_of: None,
            mean_score: None,
            mean_rank: None,
            ratings: None,
        }
    }

    /// All glasses, the best by their mean scores first, or by their mean ranks where there are no scores.
    fn opened(state: &State, trial: &Trial, key: Key<'_>) -> Vec<GlassView> {
        let view = |glass: &Glass| {
            let ratings: Vec<&Rating> = trial.ratings().filter(|rating| rating.code == glass.code).collect();
            GlassView {
                code: glass.code,
                shares_ppm: Some(glass.shares.clone()),
                holds: mixture(state, trial, &glass.shares),
                repeat_of: glass.repeat_of,
                mean_score: mean(ratings.iter().filter_map(|rating| rating.score)),
                mean_rank: mean(ratings.iter().filter_map(|rating| rating.rank)),
                ratings: Some(ratings.len()),
            }
        };
        let mut glasses: Vec<GlassView> = key.glasses().iter().map(view).collect();
        let worth = |glass: &GlassView| glass.mean_score.unwrap_or(-1.0);
        let place = |glass: &GlassView| glass.mean_rank.unwrap_or(f64::MAX);
        glasses.sort_by(|a, b| worth(b).total_cmp(&worth(a)).then(place(a).total_cmp(&place(b))));
        glasses
    }

    fn columns() -> Vec<Column<GlassView>> {
        vec![
            Column::both("code", "code", |it: &GlassView| it.code.to_string().as_str().into()),
            Column::people("holds, %", |it: &GlassView| (!it.holds.is_empty()).then_some(&it.holds).into()).sparse(),
            Column::both("mean_score", "mean score", |it: &GlassView| rounded(it.mean_score)).sparse(),
            Column::both("mean_rank", "mean rank", |it: &GlassView| rounded(it.mean_rank)).sparse(),
            Column::both("ratings", "ratings", |it: &GlassView| it.ratings.into()).sparse(),
            Column::both("repeat_of", "the same as", |it: &GlassView| {
                it.repeat_of.map(|of| of.to_string()).as_ref().into()
            })
            .sparse(),
        ]
    }
}

/// The mean of some values; none of none.
fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0_u32), |(sum, count), value| (sum + value, count + 1));
    (count > 0).then(|| sum / f64::from(count))
}

/// To a hundredth, which is more than any panel can tell.
fn rounded(value: Option<f64>) -> Cell {
    value.map(|value| (value * 100.0).round() / 100.0).into()
}

/// A mixture in words: percents of the vessels that are in it.
fn mixture(state: &State, trial: &Trial, shares: &Shares) -> String {
    let used = trial.components().iter().zip(shares.millionths()).filter(|(_, part)| **part > 0);
    let told = |(component, &part): (&Component, &u32)| {
        format!("{} {:.1}", state.vessels.get(component.vessel).label, f64::from(part) / 10_000.0)
    };
    used.map(told).collect::<Vec<_>>().join(" + ")
}

impl RatingView {
    fn of(rating: &Rating) -> RatingView {
        RatingView {
            taster: rating.taster.clone(),
            flight: rating.flight,
            code: rating.code,
            score: rating.score,
            rank: rating.rank,
            text: rating.text.clone(),
            at: When(rating.at),
        }
    }

    fn columns() -> Vec<Column<RatingView>> {
        vec![
            Column::both("taster", "taster", |it: &RatingView| (&it.taster).into()),
            Column::both("flight", "flight", |it| it.flight.into()),
            Column::both("code", "code", |it| it.code.to_string().as_str().into()),
            Column::both("score", "score", |it: &RatingView| it.score.into()).sparse(),
            Column::both("rank", "rank", |it: &RatingView| it.rank.into()).sparse(),
            Column::both("text", "said", |it: &RatingView| it.text.as_ref().into()).sparse(),
            Column::program("at", |it| it.at.into()),
        ]
    }
}

impl ChosenView {
    fn all(state: &State, trial: &Trial, on: Moment) -> Vec<ChosenView> {
        let view = |blend: &crate::cellar::trial::blending::Blend| ChosenView {
            at: When(blend.at),
            code: blend.code,
            shares_ppm: blend.shares.clone(),
            holds: mixture(state, trial, &blend.shares),
            into: state.vessels.get(blend.into).label.clone(),
            volume_ul: blend.volume,
            lot: state.lots.get(blend.lot).label.clone(),
            work: state.works.get(blend.work).label.clone(),
            closed: state.works.get(blend.work).ended.map(When),
            blend: AssemblageView::of(state, blend.work, on),
        };
        trial.blends.iter().map(view).collect()
    }

    fn columns() -> Vec<Column<ChosenView>> {
        vec![
            Column::both("at", "chosen", |it: &ChosenView| it.at.into()),
            Column::both("code", "code", |it: &ChosenView| it.code.map(|code| code.to_string()).as_ref().into()),
            Column::people("of, %", |it| (&it.holds).into()),
            Column::both("into", "into", |it| (&it.into).into()),
            Column::both("volume_ul", "litres", |it| it.volume_ul.into()),
            Column::both("lot", "lot", |it| (&it.lot).into()),
            Column::both("work", "work", |it| (&it.work).into()),
            Column::both("closed", "closed", |it: &ChosenView| it.closed.into()).sparse(),
            Column::people("so far, %", |it: &ChosenView| {
                it.blend.as_ref().and_then(AssemblageView::so_far).as_ref().into()
            })
            .sparse(),
            Column::people("holds", |it| it.blend.as_ref().is_some_and(AssemblageView::holds).into()),
        ]
    }
}

/// Pulls the card of a trial. Refused where ratings are missing, unless that is meant.
pub fn pull(desk: &mut Desk, label: &str, incomplete: bool, by: &EnteredBy, now: Moment) -> Outcome {
    let trial = desk.state().trials.get(trial(desk.state(), label)?);
    let missing = trial.missing().len();
    if missing > 0 && !incomplete && trial.card_pulled().is_none() {
        let sentence = format!(
            "{missing} of {} glasses served are not rated, and nothing is rated after the card. See them with `barrelwalk \
             trial missing`, or say --incomplete.",
            trial.servings()
        );
        return Err(Complaint::Refused(sentence));
    }
    let trial = trial.label.clone();
    enter(desk, vec![What::CardPulled(CardPulled { trial })], by, now)
}

/// Gives out the text that was sealed. Refused while the card is not pulled.
pub fn sealed_text(state: &State, label: &str, out: &mut dyn Write) -> Outcome {
    let trial = state.trials.get(trial(state, label)?);
    let key = trial.opened().ok_or_else(|| TrialRefusal::StillSealed(trial.label.clone()))?;
    Ok(out.write_all(key.sealed_text(state).as_bytes())?)
}
