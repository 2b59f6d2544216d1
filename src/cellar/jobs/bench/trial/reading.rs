//! What an opened trial says: how the glasses stand, how the tasters tasted, and which ratio the panel would like best.
//!
//! It is read off the key and the ratings whenever it is asked for, and comes out the same every time. What there is of the
//! wines never changes what the panel said: that is the [outlook](super::outlook).
//!
//! **What an opened trial says** (`cellar/jobs/bench/trial/reading.rs`) is a method of `Key`, so that nothing of it can be had before the
//! reveal. It is kept nowhere. All that it rests on is a value (`ToRead`) that a thread can read: the page of the screen has it read apart
//! (`tui/bench/trial/reveal/apart.rs`), and anew only where that value changed. What there is of a wine does not bound the best ratio, since any ratio can be blended in a
//! small enough batch; it bounds the batch (`cellar/jobs/bench/trial/outlook.rs`), so that a blend that was made, or a tank that was
//! emptied, changes no word of what the panel said.
//!
//! **Which ratio is allowed**: the words of `bounds` and `limits` as `reckon::mixture` reads them; what is not understood is said and not
//! kept to. Where there are none, as much of each wine as in some glass that was rated.

mod allowed;
mod said;
mod sittings;

use std::fmt;

use serde::Serialize;

use self::said::Said;
use self::sittings::Sitting;
use super::code::Code;
use super::rating::Rating;
use super::{Glass, Key, Trial};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::reckon::liking::{self, Reading};
use crate::reckon::panel::table::{Given, TableError};
use crate::reckon::panel::{Analysis, Standing, watched_analysis, words};
use crate::reckon::surface::{NoSurface, PANELS, Predicted, Question, Scale};
use crate::reckon::watch::Watch;
use crate::units::{Shares, all_of, counted};

/// From what panels are drawn, so that a trial says the same whenever it is read.
const SEED: u64 = 1;
/// Places that differ by less than this are the same but for the rounding of sums.
const SAME_PLACE: f64 = 1e-9;

/// All that the reading of an opened trial rests on, and nothing else: where it is the same, the trial says the same.
#[derive(Clone, Debug, PartialEq)]
pub struct ToRead {
    components: Vec<String>,
    said: Said,
    glasses: Vec<Glass>,
    ratings: Vec<Rating>,
    question: Question,
    poured: Vec<PouredGlass>,
    together: Vec<Label>,
    remarks: Vec<String>,
}

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
    /// The glasses of which the ratio is read, in the order of the surface: its own by rising code, then those of earlier sittings.
    pub poured: Vec<PouredGlass>,
    /// The earlier sittings that the ratio is read of as well.
    pub together: Vec<Label>,
    /// What must be known besides: what was left out, how it was read.
    pub remarks: Vec<String>,
}

/// A glass that was poured, and at which earlier sitting where it was at one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct PouredGlass {
    /// What stood on it.
    pub code: Code,
    /// The trial of that sitting.
    pub sitting: Option<Label>,
}

/// Glasses one after the other: `520 561, 479 of Q`.
#[must_use]
pub fn named(glasses: &[PouredGlass]) -> String {
    let mut names = String::new();
    for glass in glasses {
        let between = if glass.sitting.is_some() { ", " } else { " " };
        names.push_str(if names.is_empty() { "" } else { between });
        names.push_str(&glass.to_string());
    }
    names
}

impl fmt::Display for PouredGlass {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.sitting {
            Some(sitting) => write!(out, "{} of {sitting}", self.code),
            None => write!(out, "{}", self.code),
        }
    }
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

    /// What the trial says, which may take seconds: [`ToRead::read`] where somebody waits.
    #[must_use]
    pub fn reading(&self, state: &State) -> TrialReading {
        self.to_read(state, None).read(Watch::NOBODY)
    }

    /// What is to be read of it: of all tasters, or of one.
    #[must_use]
    pub fn to_read(&self, state: &State, whose: Option<&Label>) -> ToRead {
        let trial = self.trial;
        let components = self.component_labels(state);
        let said = Said::of(trial, whose);
        let mut remarks = said.remarks(trial, whose);
        let (earlier, why_not) = sittings::before(state, trial, whose, said.given);
        remarks.extend(why_not);
        remarks.extend(later_sitting(state, trial));
        let own = Sitting { trial, glasses: self.glasses(), said: said.clone() };
        let together: Vec<Label> = earlier.iter().map(|sitting| sitting.trial.label.clone()).collect();
        let all: Vec<Sitting<'_>> = std::iter::once(own).chain(earlier).collect();
        let poured = all.iter().enumerate().flat_map(|(at, sitting)| {
            let label = (at > 0).then(|| sitting.trial.label.clone());
            sitting.glasses.iter().map(move |glass| PouredGlass { code: glass.code, sitting: label.clone() })
        });
        let is_meant = |rating: &&Rating| whose.is_none_or(|name| rating.taster == *name);
        ToRead {
            question: question(trial, &components, &all, &mut remarks),
            poured: poured.collect(),
            components,
            said,
            glasses: self.glasses().to_vec(),
            ratings: trial.ratings().filter(is_meant).cloned().collect(),
            together,
            remarks,
        }
    }
}

impl ToRead {
    /// Reads it, which may take a second or two where orders are counted: whoever watches is told how far it is.
    #[must_use]
    pub fn read(&self, watch: Watch<'_>) -> TrialReading {
        let (first, second) = (|part| watch.wanted(part / 2.0), |part| watch.wanted(f64::midpoint(1.0, part)));
        let table = self.said.table(&self.glasses);
        let panel = table.map(|table| watched_analysis(&table, &alike(&self.glasses), Watch::by(&first)));
        let surface = liking::read(&self.question, Watch::by(&second));
        let mut remarks = self.remarks.clone();
        // The orders are of this sitting alone.
        if self.together.is_empty() {
            remarks.extend(told_apart_by_the_surface_only(panel.as_ref().ok(), surface.as_ref().ok()));
        }
        TrialReading {
            components: self.components.clone(),
            given: self.said.given,
            glasses: self.glasses(panel.as_ref().ok(), surface.as_ref().ok()),
            panel,
            surface,
            poured: self.poured.clone(),
            together: self.together.clone(),
            remarks,
        }
    }

    /// What is asked of the surface.
    #[must_use]
    pub fn question(&self) -> &Question {
        &self.question
    }

    /// The glasses, the best first.
    fn glasses(&self, panel: Option<&Analysis>, surface: Option<&Reading>) -> Vec<GlassReading> {
        let believed = surface.filter(|reading| reading.best().is_some());
        let standings = panel.map_or(&[][..], |panel| &panel.standings);
        let places = places(panel);
        let read = |glass: &Glass| {
            let code = glass.code.to_string();
            let at = standings.iter().position(|standing| standing.code == code);
            let reading = GlassReading {
                code: glass.code,
                shares: glass.shares.clone(),
                repeat_of: glass.repeat_of,
                place: at.map(|at| places[at]),
                standing: at.map(|at| standings[at].clone()),
                expected: believed.map(|reading| reading.liked.predict(&glass.shares.fractions())),
                ratings: self.ratings.iter().filter(|rating| rating.code == glass.code).cloned().collect(),
            };
            (at.unwrap_or(usize::MAX), reading)
        };
        let mut read: Vec<(usize, GlassReading)> = self.glasses.iter().map(read).collect();
        read.sort_by_key(|(at, _)| *at);
        read.into_iter().map(|(_, glass)| glass).collect()
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
        let mut words = match &self.surface {
            Ok(reading) => reading.words.clone(),
            Err(why) => vec![why.to_string()],
        };
        // Behind the ratio itself, before all that is said of it.
        words.splice(words.len().min(1)..words.len().min(1), self.together_words());
        words
    }

    /// That earlier sittings are read as well, where they are.
    fn together_words(&self) -> Option<String> {
        let names: Vec<String> = self.together.iter().map(Label::to_string).collect();
        let sittings = match names.len() {
            0 => return None,
            1 => "two sittings".to_owned(),
            more => format!("{} sittings", more + 1),
        };
        let glasses = counted(self.poured.len(), "glass");
        Some(format!("Read together with {}: {glasses} in {sittings}.", all_of(&names)))
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
fn question(trial: &Trial, components: &[String], sittings: &[Sitting<'_>], remarks: &mut Vec<String>) -> Question {
    let (tasters, glasses, ratings) = sittings::joined(sittings);
    let region = allowed::region(trial, components, &glasses, &ratings, remarks);
    let scale = match sittings[0].said.given {
        Given::Scores => Scale::Scores,
        Given::Ranks => Scale::Ranks,
    };
    Question { components: components.to_vec(), tasters, glasses, ratings, scale, region, panels: PANELS, seed: SEED }
}

/// That a later sitting is read with this one there, where one is revealed.
fn later_sitting(state: &State, trial: &Trial) -> Option<String> {
    let mut later = state.trials.iter().map(|(_, other)| other).filter(|other| other.after() == Some(&trial.label));
    let later = later.find(|other| other.revealed().is_some())?;
    Some(format!("{} was a second sitting after this one: what both say together stands there.", later.label))
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
