//! What an opened trial says: how the glasses stand, how the tasters tasted, and which ratio the panel would like best.
//!
//! It is read off the key and the ratings whenever it is asked for, and comes out the same every time. What there is of the
//! wines never changes what the panel said: that is the [outlook](super::outlook).
//!
//! **What an opened trial says** (`cellar/jobs/bench/trial/reading.rs`) is a method of `Key`, so that nothing of it can be had before the
//! reveal. It is kept nowhere: 20 tasters × 60 glasses of six wines take 14 ms (`cargo bench --bench trial`), and the page of the screen
//! reads it anew only where its trial changed. What there is of a wine does not bound the best ratio, since any ratio can be blended in a
//! small enough batch; it bounds the batch (`cellar/jobs/bench/trial/outlook.rs`), so that a blend that was made, or a tank that was
//! emptied, changes no word of what the panel said.
//!
//! **Which ratio is allowed**: the words of `bounds` and `limits` as `reckon::mixture` reads them; what is not understood is said and not
//! kept to. Where there are none, as much of each wine as in some glass that was rated.

mod allowed;
mod said;

use self::said::Said;
use super::code::Code;
use super::rating::Rating;
use super::{Glass, Key, Trial};
use crate::cellar::core::state::State;
use crate::reckon::liking::{self, Reading};
use crate::reckon::panel::table::{Given, Table, TableError};
use crate::reckon::panel::{Analysis, Standing, watched_analysis, words};
use crate::reckon::surface::{NoSurface, PANELS, Predicted, Question, Scale};
use crate::reckon::watch::Watch;
use crate::units::Shares;

/// From what panels are drawn, so that a trial says the same whenever it is read.
const SEED: u64 = 1;
/// Places that differ by less than this are the same but for the rounding of sums.
const SAME_PLACE: f64 = 1e-9;

/// What an opened trial says.
#[derive(Clone, Debug, PartialEq)]
pub struct TrialReading {
    /// The labels of the vessels whose wines were mixed.
    pub components: Vec<String>,
    /// What was read: scores or ranks.
    pub given: Given,
    /// The glasses, the best first, those that nobody rated last.
    pub glasses: Vec<GlassReading>,
    /// What the table of tasters and glasses says.
    pub panel: Result<Analysis, TableError>,
    /// What the ratings say of the ratio.
    pub surface: Result<Reading, NoSurface>,
    /// What must be known besides: what was left out, how it was read.
    pub remarks: Vec<String>,
}

/// A glass, opened.
#[derive(Clone, Debug, PartialEq)]
pub struct GlassReading {
    /// What stood on it.
    pub code: Code,
    /// What was in it.
    pub shares: Shares,
    /// The glass that it was the same as.
    pub repeat_of: Option<Code>,
    /// Its place, 1 the best; glasses that the panel ranked alike share one. None where nobody rated it.
    pub place: Option<usize>,
    /// How it stands.
    pub standing: Option<Standing>,
    /// What the surface expects of it, where there is one to be believed.
    pub expected: Option<Predicted>,
    /// What was said of it, in the order in which it was said.
    pub ratings: Vec<Rating>,
}

impl Key<'_> {
    /// The labels of the vessels whose wines were mixed.
    #[must_use]
    pub fn component_labels(&self, state: &State) -> Vec<String> {
        self.trial.components().iter().map(|it| state.vessels.get(it.vessel).label.to_string()).collect()
    }

    /// What the trial says.
    #[must_use]
    pub fn reading(&self, state: &State) -> TrialReading {
        self.watched_reading(state, Watch::NOBODY)
    }

    /// The same, which may take a second or two: whoever watches is told how far it is.
    #[must_use]
    pub fn watched_reading(&self, state: &State, watch: Watch<'_>) -> TrialReading {
        let trial = self.trial;
        let components = self.component_labels(state);
        let said = Said::of(trial);
        let panel =
            said.table(self.glasses()).map(|table: Table| watched_analysis(&table, &alike(self.glasses()), watch));
        let mut remarks = said.remarks.clone();
        let surface = liking::read(&question(trial, self.glasses(), &components, &said, &mut remarks), watch);
        remarks.extend(told_apart_by_the_surface_only(panel.as_ref().ok(), surface.as_ref().ok()));
        let glasses = glasses(trial, self.glasses(), panel.as_ref().ok(), surface.as_ref().ok());
        TrialReading { components, given: said.given, glasses, panel, surface, remarks }
    }
}

impl TrialReading {
    /// What the panel says of the glasses, in sentences.
    #[must_use]
    pub fn panel_words(&self) -> Vec<String> {
        match &self.panel {
            Ok(analysis) => words::words(analysis),
            Err(why) => vec![why.to_string()],
        }
    }

    /// What the panel says of the ratio, in sentences.
    #[must_use]
    pub fn surface_words(&self) -> Vec<String> {
        match &self.surface {
            Ok(reading) => reading.words.clone(),
            Err(why) => vec![why.to_string()],
        }
    }

    /// How sure the ratio is, in sentences.
    #[must_use]
    pub fn how_sure(&self) -> Vec<String> {
        self.surface.as_ref().map_or_else(|_| Vec::new(), |reading| reading.how_sure.clone())
    }

    /// The best ratio and all that is known of it, if the panel tells one.
    #[must_use]
    pub fn best(&self) -> Option<(&Reading, &liking::Best)> {
        let reading = self.surface.as_ref().ok()?;
        Some((reading, reading.best()?))
    }
}

/// Glasses that held the same wine, by their places in the key.
fn alike(glasses: &[Glass]) -> Vec<Vec<usize>> {
    let of = |first: usize| {
        let same = (first..glasses.len()).filter(|&it| glasses[it].shares == glasses[first].shares);
        let is_first = !glasses[..first].iter().any(|glass| glass.shares == glasses[first].shares);
        if is_first { same.collect() } else { Vec::new() }
    };
    (0..glasses.len()).map(of).filter(|group: &Vec<usize>| group.len() > 1).collect()
}

/// What is asked of the surface. Bounds and limits that are not understood are told in `remarks` and not kept to.
fn question(
    trial: &Trial,
    glasses: &[Glass],
    components: &[String],
    said: &Said,
    remarks: &mut Vec<String>,
) -> Question {
    let fractions: Vec<Vec<f64>> = glasses.iter().map(|glass| glass.shares.fractions()).collect();
    let ratings = said.ratings();
    let region = allowed::region(trial, components, &fractions, &ratings, remarks);
    Question {
        components: components.to_vec(),
        tasters: said.rows.iter().map(|row| row.name.clone()).collect(),
        glasses: fractions,
        ratings,
        scale: match said.given {
            Given::Scores => Scale::Scores,
            Given::Ranks => Scale::Ranks,
        },
        region,
        panels: PANELS,
        seed: SEED,
    }
}

/// The glasses, the best first.
fn glasses(trial: &Trial, key: &[Glass], panel: Option<&Analysis>, surface: Option<&Reading>) -> Vec<GlassReading> {
    let believed = surface.filter(|reading| reading.best().is_some());
    let standings = panel.map_or(&[][..], |panel| &panel.standings);
    let places = places(panel);
    let read = |glass: &Glass| {
        let code = glass.code.to_string();
        let at = standings.iter().position(|standing| standing.code == code);
        GlassReading {
            code: glass.code,
            shares: glass.shares.clone(),
            repeat_of: glass.repeat_of,
            place: at.map(|at| places[at]),
            standing: at.map(|at| standings[at].clone()),
            expected: believed.map(|reading| reading.liked.predict(&glass.shares.fractions())),
            ratings: trial.ratings().filter(|rating| rating.code == glass.code).cloned().collect(),
        }
    };
    let mut read: Vec<(Option<usize>, GlassReading)> = key
        .iter()
        .map(read)
        .map(|glass| {
            let at = standings.iter().position(|standing| Some(standing) == glass.standing.as_ref());
            (at, glass)
        })
        .collect();
    read.sort_by_key(|(at, _)| at.unwrap_or(usize::MAX));
    read.into_iter().map(|(_, glass)| glass).collect()
}

/// The place of each standing; what the panel ranked alike shares one.
fn places(panel: Option<&Analysis>) -> Vec<usize> {
    let Some(panel) = panel else { return Vec::new() };
    let effect = |standing: &Standing| match &panel.rank_sums {
        Some(sums) => sums.effects[standing.glass],
        None => standing.rank_sum / standing.ranked.max(1) as f64,
    };
    let mut places: Vec<usize> = Vec::with_capacity(panel.standings.len());
    for (at, standing) in panel.standings.iter().enumerate() {
        let before = at.checked_sub(1).map(|before| (places[before], effect(&panel.standings[before])));
        let shared = before.filter(|(_, effect_before)| (effect(standing) - effect_before).abs() < SAME_PLACE);
        places.push(shared.map_or(at + 1, |(place, _)| place));
    }
    places
}

/// A warning where the tasters' orders find nothing and the surface does: it joins all glasses, and rests on points.
fn told_apart_by_the_surface_only(panel: Option<&Analysis>, surface: Option<&Reading>) -> Option<String> {
    surface?.best()?;
    let orders_tell = panel?.test.as_ref().is_ok_and(|test| test.probability.tells());
    (!orders_tell).then(|| {
        "The tasters' orders tell no glass apart; the surface, which joins all glasses and rests on the points, tells a ratio. \
         Taste that ratio once more before you build on it."
            .to_owned()
    })
}
