//! `show trial` and `trial reveal`: what was said of the codes, and once it is revealed, what they were.

use std::collections::BTreeMap;
use std::io::Write;

use serde::Serialize;

use super::list::{TrialView, vessels};
use super::rating::MissingView;
use super::reading::{GlassView, ReadingView, mixture};
use super::{enter, seal_line, trial};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::assemblage::Assemblage;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::code::Code;
use crate::cellar::jobs::bench::trial::rating::Rating;
use crate::cellar::jobs::bench::trial::reading::TrialReading;
use crate::cellar::jobs::bench::trial::refusal::TrialRefusal;
use crate::cellar::jobs::bench::trial::reveal::TrialRevealed;
use crate::cli::arguments::Entering;
use crate::cli::bench::assemblage;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::Seen;
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
    reading: Option<ReadingView>,
    chosen: Vec<ChosenView>,
}

/// What a taster said of a glass.
#[derive(Debug, Serialize)]
struct RatingView {
    taster: Label,
    flight: Option<u32>,
    code: Code,
    /// What the glass held, once it is revealed.
    holds: Option<String>,
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
    blend: Cell,
    #[serde(skip)]
    stands: Option<Assemblage>,
}

impl TrialCard {
    /// A trial by its label.
    pub fn find(state: &State, label: &str, on: Moment) -> Outcome<TrialCard> {
        Ok(TrialCard::of(state, state.trials.get(trial(state, label)?), on))
    }

    fn of(state: &State, trial: &Trial, on: Moment) -> TrialCard {
        let key = trial.opened();
        let reading = key.map(|key| key.reading(state));
        let [bounds, limits] = trial.laid_out_for().map(Option::<&Text>::cloned);
        TrialCard {
            trial: TrialView::of(state, trial),
            bounds,
            limits,
            servings: trial.tasters().iter().map(|taster| (taster.name.clone(), taster.flights.clone())).collect(),
            glasses: match &reading {
                Some(reading) => GlassView::opened(reading),
                None => trial.codes().map(GlassView::sealed).collect(),
            },
            ratings: trial.ratings().map(|rating| RatingView::of(rating, reading.as_ref())).collect(),
            missing: MissingView::all(trial),
            opened: key.map(|key| OpenedView {
                salt: key.salt().cloned(),
                seed: key.seed(),
                as_sealed: key.is_as_sealed(state),
            }),
            reading: key.zip(reading.as_ref()).map(|(key, it)| ReadingView::of(it, &key.outlook(state, it))),
            chosen: ChosenView::all(state, trial, on),
        }
    }

    /// Gives the trial out: what the panel says first, once the key is open.
    pub fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &RatingView::columns(), &self.ratings, |page| match (&self.opened, &self.reading) {
            (Some(opened), Some(reading)) => {
                reading.write(&self.glasses, page)?;
                self.write_lists(page)?;
                page.line("")?;
                page.card(&TrialView::columns(), &self.trial, |page| opened.write(&self.trial, page))
            }
            _ => page.card(&TrialView::columns(), &self.trial, |page| {
                page.line("\nThe key is sealed until the trial is revealed.")?;
                page.section("glasses", &GlassView::columns(), &self.glasses)?;
                self.write_lists(page)
            }),
        })
    }

    fn write_lists(&self, page: &mut Page<'_>) -> Outcome {
        page.section("ratings", &RatingView::columns(), &self.ratings)?;
        page.section("missing", &MissingView::columns(), &self.missing)?;
        page.section("blends", &ChosenView::columns(), &self.chosen)
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

impl RatingView {
    fn of(rating: &Rating, reading: Option<&TrialReading>) -> RatingView {
        let glass =
            reading.and_then(|it| it.glasses.iter().find(|glass| glass.code == rating.code).map(|glass| (it, glass)));
        RatingView {
            taster: rating.taster.clone(),
            flight: rating.flight,
            code: rating.code,
            holds: glass.map(|(reading, glass)| mixture(&reading.components, &glass.shares)),
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
            Column::program("holds", |it: &RatingView| it.holds.as_ref().into()),
            Column::both("score", "score", |it: &RatingView| it.score.into()).sparse(),
            Column::both("rank", "rank", |it: &RatingView| it.rank.into()).sparse(),
            Column::both("text", "said", |it: &RatingView| it.text.as_ref().into()).sparse(),
            Column::program("at", |it| it.at.into()),
        ]
    }
}

impl ChosenView {
    fn all(state: &State, trial: &Trial, on: Moment) -> Vec<ChosenView> {
        let labels: Vec<String> = vessels(state, trial).iter().map(Label::to_string).collect();
        let view = |blend: &crate::cellar::jobs::bench::trial::blending::Blend| ChosenView {
            at: When(blend.at),
            code: blend.code,
            shares_ppm: blend.shares.clone(),
            holds: mixture(&labels, &blend.shares),
            into: state.vessels.get(blend.into).label.clone(),
            volume_ul: blend.volume,
            lot: state.lots.get(blend.lot).label.clone(),
            work: state.works.get(blend.work).label.clone(),
            closed: state.works.get(blend.work).ended.map(When),
            blend: assemblage::thing(
                &Seen { state, on, thing: () },
                blend.work,
                state.assemblage(blend.work, on).as_ref(),
            ),
            stands: state.assemblage(blend.work, on),
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
            Column::people("so far, %", |it: &ChosenView| it.stands.as_ref().and_then(assemblage::so_far).into())
                .sparse(),
            Column::people("holds", |it| it.stands.as_ref().is_some_and(Assemblage::holds).into()),
        ]
    }
}

/// Reveals a trial. Refused where ratings are missing, unless that is meant.
pub fn reveal(desk: &mut Desk, label: &str, incomplete: bool, entering: &Entering, now: Moment) -> Outcome {
    let trial = desk.state().trials.get(trial(desk.state(), label)?);
    let missing = trial.missing().len();
    if missing > 0 && !incomplete && trial.revealed().is_none() {
        let sentence = format!(
            "{missing} of {} glasses served are not rated, and nothing is rated after the reveal. See them with `barrelwalk \
             trial missing`, or say --incomplete.",
            trial.servings()
        );
        return Err(Complaint::Refused(sentence));
    }
    let trial = trial.label.clone();
    enter(desk, vec![What::TrialRevealed(TrialRevealed { trial })], entering, now)
}

/// Gives out the text that was sealed. Refused while it is not revealed.
pub fn sealed_text(state: &State, label: &str, out: &mut dyn Write) -> Outcome {
    let trial = state.trials.get(trial(state, label)?);
    let key = trial.opened().ok_or_else(|| TrialRefusal::StillSealed(trial.label.clone()))?;
    Ok(out.write_all(key.sealed_text(state).as_bytes())?)
}
