//! A trial before it is set: which glasses, inside what the person's bounds and limits and the vessels allow, what is poured
//! for them, and then codes, orders and the seal.
//!
//! **A trial is laid out** in `cellar/views/bench/laying_out.rs`: bounds, limits, what the vessels can give, which glasses, what is poured,
//! codes, orders and the seal. Seed and salt come in from outside, and so does the search, which a face can show and end.
//!
//! **The shares of a glass** are those poured in steps of `--read`; glasses that come out the same are named as repeats of the first. So a
//! pouring page in the same steps pours exactly what was sealed.

use std::collections::BTreeSet;

use thiserror::Error;

use super::limits::NoLimit;
use crate::cellar::core::label::{Label, Text, TextError};
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::bench::trial::code::Code;
use crate::cellar::jobs::bench::trial::laying_out::Plan;
use crate::cellar::jobs::bench::trial::setting::{ComponentSet, TrialSet};
use crate::cellar::views::books::lineage::NewWood;
use crate::reckon::mixture::design::{Design, DesignError, Kind, Wanted, usual_counts};
use crate::reckon::mixture::{
    Draw, Judged, Model, NoRegion, PourError, Pouring, Region, Tanks, USUAL_SPARE, WordingError, bounds_of_words,
    broken_by_rounding, draws, pour, steps,
};
use crate::reckon::second_sitting;
use crate::reckon::serving::ServingError;
use crate::reckon::telling::{Planned, Telling};
use crate::units::{Shares, Volume, poured, whole_litres};

/// What a trial is to be.
#[derive(Clone, Debug)]
pub struct TrialAsked {
    /// Its label.
    pub trial: Label,
    /// The vessels whose wines are mixed.
    pub from: Vec<Label>,
    /// The trial of which it is the second sitting.
    pub after: Option<Label>,
    /// How much of a vessel is there for the blend, where that is said; else all it holds.
    pub available: Vec<(Label, Volume)>,
    /// How much must be kept back in a vessel.
    pub reserve: Vec<(Label, Volume)>,
    /// Glasses by free hand.
    pub free_hand: Vec<Shares>,
    /// How the others are laid out.
    pub kind: Kind,
    /// The model that is to be fitted to the scores.
    pub model: Model,
    /// How many glasses in all; none where the kind says it.
    pub count: Option<usize>,
    /// How many glasses stand twice; as many as the kind has where it is not said.
    pub repeats: Option<usize>,
    /// How many starts an optimal choice tries.
    pub tries: usize,
    /// Bounds of a vessel's share, in words.
    pub bounds: Vec<String>,
    /// Limits, in words.
    pub limits: Vec<String>,
    /// How much blend is wanted: no share is more than its vessel can give to it.
    pub litres: Option<Volume>,
    /// What is in a glass.
    pub glass: Volume,
    /// What the cylinder or pipette can read.
    pub read: Volume,
    /// Who tastes.
    pub panel: Vec<Label>,
    /// The most glasses of a flight.
    pub flight: usize,
    /// The most glasses that one taster tastes.
    pub most: usize,
    /// What glasses, codes and orders are drawn from.
    pub seed: u64,
}

/// Glasses that are laid out and not yet under codes.
#[derive(Clone, Debug)]
pub struct LaidOut {
    asked: TrialAsked,
    region: Region,
    wanted: Wanted,
    pouring: Pouring,
    /// Whether the search for them went to its end.
    pub finished: bool,
}

/// Why no trial is laid out.
#[derive(Debug, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation, the fields are the things it names
pub enum NoLayout {
    #[error("{0} is none of the vessels of the trial. Name it with --from, or leave it out.")]
    Stranger(Label),
    #[error("Too little was rated of '{0}' to lay a second sitting out from: rate its glasses first.")]
    NothingSaid(Label),
    #[error("A blend of nothing is no blend. Give its litres, or leave --litres out.")]
    NoBlend,
    #[error(transparent)]
    Vessel(#[from] Refusal),
    #[error(transparent)]
    Words(#[from] WordingError),
    #[error(transparent)]
    Limit(#[from] NoLimit),
    #[error(transparent)]
    Region(#[from] NoRegion),
    #[error(transparent)]
    Design(#[from] DesignError),
    #[error(transparent)]
    Pour(#[from] PourError),
    #[error(transparent)]
    Text(#[from] TextError),
    #[error(transparent)]
    Serving(#[from] ServingError),
}

impl State {
    /// Lays the glasses of a trial out: those by free hand first, then those of the design, which `search` finds.
    pub fn lay_out_trial(
        &self,
        asked: TrialAsked,
        wood: &NewWood,
        search: impl FnOnce(&Region, &Wanted) -> Result<Design, DesignError>,
    ) -> Result<LaidOut, NoLayout> {
        let region = self.region_of_trial(&asked, wood)?;
        let (glasses, repeats) = usual_counts((asked.kind, asked.model, asked.from.len()), asked.count, asked.repeats);
        let wanted = Wanted {
            kind: asked.kind,
            model: asked.model,
            glasses,
            free_hand: asked.free_hand.iter().map(Shares::fractions).collect(),
            repeats,
            tries: asked.tries,
            seed: asked.seed,
            steps: Some(steps(asked.glass, asked.read)?),
        };
        let design = search(&region, &wanted)?;
        let pouring = pour(&region, &design.mixtures(), asked.glass, asked.read)?;
        Ok(LaidOut { asked, region, wanted, pouring, finished: design.finished })
    }

    /// Where the glasses may lie: the person's bounds and limits, and what the vessels can give to the blend that is wanted.
    fn region_of_trial(&self, asked: &TrialAsked, wood: &NewWood) -> Result<Region, NoLayout> {
        let mut litres_of = asked.available.iter().chain(&asked.reserve);
        if let Some((stranger, _)) = litres_of.find(|(vessel, _)| !asked.from.contains(vessel)) {
            return Err(NoLayout::Stranger(stranger.clone()));
        }
        let wines: Vec<VesselId> = asked.from.iter().map(|label| self.vessel(label)).collect::<Result<_, _>>()?;
        let gives = |(label, &wine): (&Label, &VesselId)| {
            let there = said(&asked.available, label).unwrap_or_else(|| self.vessels.get(wine).volume());
            Some(there.saturating_sub(said(&asked.reserve, label).unwrap_or_default()))
        };
        if asked.litres.is_some_and(Volume::is_zero) {
            return Err(NoLayout::NoBlend);
        }
        let tanks =
            asked.litres.map(|blend| Tanks { available: asked.from.iter().zip(&wines).map(gives).collect(), blend });
        let names: Vec<String> = asked.from.iter().map(Label::to_string).collect();
        let bounds = bounds_of_words(&names, &asked.bounds, tanks.as_ref())?;
        let limit = |text: &String| self.limit_of_glasses(text, &wines, wood);
        let limits = asked.limits.iter().map(limit).collect::<Result<_, _>>()?;
        Ok(Region::new(bounds, limits).map_err(NoRegion::from)?)
    }
}

/// The litres that are said of a vessel, if they are.
fn said(list: &[(Label, Volume)], vessel: &Label) -> Option<Volume> {
    list.iter().find(|(of, _)| of == vessel).map(|(_, volume)| *volume)
}

impl LaidOut {
    /// The fact: codes that no other trial has and orders are drawn, and the key is under seal with a salt.
    pub fn sealed(&self, state: &State, salt: Label) -> Result<TrialSet, NoLayout> {
        let asked = &self.asked;
        let component = |vessel: &Label| ComponentSet {
            vessel: vessel.clone(),
            available: said(&asked.available, vessel),
            reserve: said(&asked.reserve, vessel),
        };
        let text = |words: String| (!words.is_empty()).then(|| Text::new(&words)).transpose();
        let plan = Plan {
            trial: asked.trial.clone(),
            components: asked.from.iter().map(component).collect(),
            glass: asked.glass,
            glasses: self.pouring.shares.clone(),
            after: asked.after.clone(),
            bounds: text(self.region.bounds_in_words())?,
            limits: text(self.region.limits_in_words())?,
            panel: asked.panel.clone(),
            flight: asked.flight,
            most: asked.most,
            seed: self.wanted.seed,
            salt,
        };
        let taken: BTreeSet<u16> = state.trials.iter().flat_map(|(_, trial)| trial.codes()).map(Code::number).collect();
        Ok(plan.lay_out(&taken)?)
    }

    /// What to draw from each vessel for the glasses that a fact serves.
    pub fn draws(&self, fact: &TrialSet) -> Result<Vec<Draw>, NoLayout> {
        Ok(draws(self.pouring.volumes.iter().map(Vec::as_slice).zip(fact.times_served()), USUAL_SPARE)?)
    }

    /// What a blend of the litres that are wanted would take of each wine by these glasses, and of which wine less is there than is to be
    /// drawn. None of it tells the key.
    #[must_use]
    pub fn supply(&self, state: &State, drawn: &[Draw]) -> Vec<String> {
        let there = |label: &Label| {
            let vessel = state.vessels.find(label.as_str()).map(|id| (id, state.vessels.get(id)));
            vessel.map_or(Volume::ZERO, |(id, vessel)| {
                let there = said(&self.asked.available, label).unwrap_or_else(|| vessel.volume());
                let kept = said(&self.asked.reserve, label).unwrap_or_default() + state.promised(id);
                there.saturating_sub(kept)
            })
        };
        let short = self.asked.from.iter().zip(drawn).filter(|(label, draw)| draw.to_draw > there(label));
        let short = short.map(|(label, draw)| {
            format!(
                "{} of {label} are to be drawn, and {} of it are there.",
                poured(draw.to_draw),
                poured(there(label))
            )
        });
        self.of_blend(there).into_iter().chain(short).collect()
    }

    /// What a blend of the litres that are wanted would take of each wine.
    fn of_blend(&self, there: impl Fn(&Label) -> Volume) -> Option<String> {
        let blend = self.asked.litres?;
        let glasses: Vec<Vec<f64>> = self.pouring.shares.iter().map(Shares::fractions).collect();
        let taken = self.asked.from.iter().enumerate().map(|(at, label)| {
            let shares = || glasses.iter().map(|glass| glass[at]);
            let of = |share: f64| Volume::nearest_to_litres(blend.as_litres() * share);
            let (least, most) = (of(shares().fold(1.0, f64::min)), of(shares().fold(0.0, f64::max)));
            let stay = there(label).saturating_sub(most);
            format!(
                "{} to {} of {label} ({} stay at least)",
                whole_litres(least),
                whole_litres(most),
                whole_litres(stay)
            )
        });
        Some(format!(
            "{} of blend would take, by the glass: {}.",
            whole_litres(blend),
            taken.collect::<Vec<_>>().join(", ")
        ))
    }

    /// What a trial of these glasses can tell, to be simulated.
    #[must_use]
    pub fn telling(&self) -> Option<Telling> {
        let glasses: Vec<Vec<f64>> = self.pouring.shares.iter().map(Shares::fractions).collect();
        Telling::of(&self.planned(&glasses))
    }

    /// How many ratings they bring.
    #[must_use]
    pub fn ratings(&self) -> usize {
        let glasses: Vec<Vec<f64>> = self.pouring.shares.iter().map(Shares::fractions).collect();
        self.planned(&glasses).ratings()
    }

    fn planned<'a>(&'a self, glasses: &'a [Vec<f64>]) -> Planned<'a> {
        let TrialAsked { panel, flight, most, seed, .. } = &self.asked;
        Planned { region: &self.region, glasses, tasters: panel.len(), flight: *flight, most: *most, seed: *seed }
    }

    /// The vessels whose wines are mixed.
    #[must_use]
    pub fn wines(&self) -> &[Label] {
        &self.asked.from
    }

    /// How many glasses there are, and how many tasters.
    #[must_use]
    pub fn sizes(&self) -> (usize, usize) {
        (self.pouring.shares.len(), self.asked.panel.len())
    }

    /// How good the glasses are, in words. None of it tells the key.
    #[must_use]
    pub fn judged(&self) -> String {
        match &self.asked.after {
            Some(first) => second_sitting::purpose(self.pouring.shares.len(), first.as_str()),
            None => Judged::of(&self.region, &self.wanted, &self.pouring.shares).words(),
        }
    }

    /// Whether the search was ended early, and what rounding broke: in how many glasses, as which would tell of the key.
    #[must_use]
    pub fn shortfalls(&self) -> Vec<String> {
        let early = "The search was ended early: the best glasses so far are taken.";
        let broken = broken_by_rounding(&self.region, &self.pouring.shares).into_iter().map(|(words, glasses)| {
            let glasses =
                if let [_] = glasses[..] { "1 glass".to_owned() } else { format!("{} glasses", glasses.len()) };
            format!("Rounded to what can be read, {glasses} just outside of '{words}'.")
        });
        (!self.finished).then(|| early.to_owned()).into_iter().chain(broken).collect()
    }
}
