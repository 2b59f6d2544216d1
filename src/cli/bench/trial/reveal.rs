//! `show trial` and `trial reveal`: what was said of the codes, and once it is revealed, what they were.

use std::io::Write;

use super::list::{self, vessels};
use super::rating::missing_columns;
use super::reading::{self, GlassOf, Opened, glass_columns, mixture};
use super::{seal_line, trial};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::assemblage::Assemblage;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::blending::Blend;
use crate::cellar::jobs::bench::trial::rating::Rating;
use crate::cellar::jobs::bench::trial::refusal::TrialRefusal;
use crate::cellar::jobs::bench::trial::reveal::TrialRevealed;
use crate::cli::bench::assemblage;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::{Seen, seen};

/// A trial, and what it says once it is revealed.
struct Shown<'a> {
    trial: &'a Trial,
    opened: Option<Opened>,
}

type TrialSeen<'a> = Seen<'a, Shown<'a>>;

fn columns<'a>() -> Vec<Column<TrialSeen<'a>>> {
    vec![
        Column::spread(|it: &TrialSeen<'_>| Cell::thing(&list::columns(), &it.other(it.thing.trial))),
        Column::program("bounds", |it| it.trial.laid_out_for()[0].into()),
        Column::program("limits", |it| it.trial.laid_out_for()[1].into()),
        Column::within("servings", |it| {
            // In the order of their names.
            let mut served: Vec<_> = it.trial.tasters().iter().map(|it| (it.name.to_string(), &it.flights)).collect();
            served.sort_unstable();
            Cell::Thing(served.into_iter().map(|(name, flights)| (name.into(), Cell::form(flights))).collect())
        }),
        Column::within("glasses", |it| Cell::things(&glass_columns(), it.glasses())),
        Column::within("ratings", |it| Cell::things(&rating_columns(), it.ratings())),
        Column::within("missing", |it| Cell::things(&missing_columns(), it.trial.missing())),
        Column::within("opened", |it| {
            let proof = it.trial.opened().map(|key| {
                let salt = key.salt().into();
                let values =
                    [("salt", salt), ("seed", Cell::form(&key.seed())), ("as_sealed", key.is_as_sealed().into())];
                Cell::Thing(values.into_iter().map(|(name, value)| (name.into(), value)).collect())
            });
            proof.into()
        }),
        Column::within("reading", |it| it.opened.as_ref().map(|it| Cell::thing(&reading::columns(), it)).into()),
        Column::within("chosen", |it| Cell::things(&chosen_columns(), it.chosen())),
    ]
}

/// Shows a trial by its label: what the panel says first, once the key is open.
pub fn show(state: &State, label: &str, on: Moment, page: &mut Page<'_>) -> Outcome {
    let trial = state.trials.get(trial(state, label)?);
    let opened = trial.opened().map(|key| {
        let reading = key.reading(state);
        Opened { outlook: key.outlook(state, &reading), reading }
    });
    let told = Seen { state, on, thing: Shown { trial, opened } };
    let ratings = told.ratings();
    page.report((&columns(), &told), (&rating_columns(), &ratings), |page| {
        let Some(opened) = &told.opened else {
            page.pairs_of(&list::columns(), &told.other(trial))?;
            page.line("\nThe key is sealed until the trial is revealed.")?;
            page.section("glasses", &glass_columns(), &told.glasses())?;
            return told.write_lists(&ratings, page);
        };
        opened.write(page)?;
        told.write_lists(&ratings, page)?;
        page.line("")?;
        page.pairs_of(&list::columns(), &told.other(trial))?;
        told.write_proof(page)
    })
}

impl<'a> TrialSeen<'a> {
    fn glasses(&self) -> Vec<GlassOf<'_>> {
        match &self.opened {
            Some(opened) => opened.glasses(),
            None => self.trial.codes().map(GlassOf::sealed).collect(),
        }
    }

    fn ratings(&self) -> Vec<RatingOf<'_>> {
        self.trial.ratings().map(|rating| (rating, self.opened.as_ref())).collect()
    }

    fn chosen(&self) -> Vec<ChosenSeen<'a>> {
        let trial = self.thing.trial;
        let stands = |blend: &'a Blend| (trial, blend, self.state.assemblage(blend.work, self.on));
        seen(self.state, self.on, trial.blends.iter().map(stands))
    }

    fn write_lists(&self, ratings: &[RatingOf<'_>], page: &mut Page<'_>) -> Outcome {
        page.section("ratings", &rating_columns(), ratings)?;
        page.section("missing", &missing_columns(), &self.trial.missing())?;
        page.section("blends", &chosen_columns(), &self.chosen())
    }

    /// What proves the key.
    fn write_proof(&self, page: &mut Page<'_>) -> Outcome {
        let Some(key) = self.trial.opened() else { return Ok(()) };
        let salt = key.salt().map_or_else(|| "none".to_owned(), Label::to_string);
        page.line(&format!("\n{}\nsalt: {salt}", seal_line(self.trial.digest())))?;
        page.line(if key.is_as_sealed() {
            "The key is the one that was sealed."
        } else {
            "THE KEY IS NOT THE ONE THAT WAS SEALED. Check the log with `barrelwalk verify`."
        })
    }
}

/// What a taster said of a glass, and what that held, once it is revealed.
type RatingOf<'a> = (&'a Rating, Option<&'a Opened>);

fn rating_columns<'a>() -> Vec<Column<RatingOf<'a>>> {
    vec![
        Column::both("taster", "taster", |it: &RatingOf<'_>| (&it.0.taster).into()),
        Column::both("flight", "flight", |it| it.0.flight.into()),
        Column::both("code", "code", |it| it.0.code.to_string().into()),
        Column::program("holds", |&(rating, opened)| {
            let held = opened.and_then(|opened| {
                let reading = &opened.reading;
                let glass = reading.glasses.iter().find(|glass| glass.code == rating.code)?;
                Some(mixture(&reading.components, &glass.shares))
            });
            held.into()
        }),
        Column::both("score", "score", |it: &RatingOf<'_>| it.0.score.into()).sparse(),
        Column::both("rank", "rank", |it: &RatingOf<'_>| it.0.rank.into()).sparse(),
        Column::both("text", "said", |it: &RatingOf<'_>| it.0.text.as_ref().into()).sparse(),
        Column::program("at", |it| it.0.at.into()),
    ]
}

/// A blend that was chosen, and how it stands.
type ChosenSeen<'a> = Seen<'a, (&'a Trial, &'a Blend, Option<Assemblage>)>;

fn chosen_columns<'a>() -> Vec<Column<ChosenSeen<'a>>> {
    vec![
        Column::both("at", "chosen", |it: &ChosenSeen<'_>| it.1.at.into()),
        Column::both("code", "code", |it| it.1.code.map(|code| code.to_string()).into()),
        Column::within("shares_ppm", |it| Cell::form(&it.1.shares)),
        Column::people("of, %", |it| {
            let labels: Vec<String> = vessels(it.state, it.0).iter().map(Label::to_string).collect();
            mixture(&labels, &it.1.shares).into()
        }),
        Column::both("into", "into", |it| it.vessel(it.1.into)),
        Column::both("volume_ul", "litres", |it| it.1.volume.into()),
        Column::both("lot", "lot", |it| it.lot(it.1.lot)),
        Column::both("work", "work", |it| (&it.state.works.get(it.1.work).label).into()),
        Column::both("closed", "closed", |it: &ChosenSeen<'_>| it.state.works.get(it.1.work).ended.into()).sparse(),
        Column::within("blend", |it| assemblage::thing(it, it.1.work, it.2.as_ref())),
        Column::people("so far, %", |it: &ChosenSeen<'_>| it.2.as_ref().and_then(assemblage::so_far).into()).sparse(),
        Column::people("holds", |it| it.2.as_ref().is_some_and(Assemblage::holds).into()),
    ]
}

/// What reveals a trial. Refused where ratings are missing, unless that is meant.
pub fn reveal(state: &State, label: &str, incomplete: bool) -> Outcome<Vec<What>> {
    let trial = state.trials.get(trial(state, label)?);
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
    Ok(vec![What::TrialRevealed(TrialRevealed { trial })])
}

/// Gives out the text that was sealed. Refused while it is not revealed.
pub fn sealed_text(state: &State, label: &str, out: &mut dyn Write) -> Outcome {
    let trial = state.trials.get(trial(state, label)?);
    let key = trial.opened().ok_or_else(|| TrialRefusal::StillSealed(trial.label.clone()))?;
    Ok(out.write_all(key.sealed_text().as_bytes())?)
}
