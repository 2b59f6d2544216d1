//! What could be blended after an opened trial, and what was: by what there is of its wines now, which changes no word of
//! what the panel said.

use std::fmt;

use super::blending::Blend;
use super::reading::{GlassReading, PouredGlass, TrialReading, named};
use super::{Component, Key, Trial};
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::assemblage::Component as Wine;
use crate::cellar::jobs::floor::work::{Stop, Tick};
use crate::reckon::scale_up::{Asked, Batch, ScaleError, Taking, Tank, scale_up};
use crate::reckon::surface::{Compared, Predicted};
use crate::units::{Shares, Volume, litres, show_percent_rounded};

/// What was blended and what could be.
#[derive(Clone, Debug, PartialEq)]
pub struct Outlook {
    /// The blends that were chosen, in words: what became of each.
    pub blends: Vec<String>,
    /// Ratios that could be blended, the best first.
    pub ratios: Vec<RatioReading>,
    /// Why less can be blended than when the trial was set, in words.
    pub changed: Vec<String>,
}

/// Which ratio it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ratio {
    /// The best that is allowed.
    Best,
    /// To which a panel leans that can't tell.
    Lean,
    /// Glasses that held one blend, with their codes.
    Poured(Vec<PouredGlass>),
    /// Near the best, in whole steps of so many hundredths.
    Rounded(u8),
    /// The middle of all that are allowed.
    Middle,
}

impl fmt::Display for Ratio {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Ratio::Best => write!(out, "the best"),
            Ratio::Lean => write!(out, "the lean"),
            Ratio::Rounded(step) => write!(out, "to {step} %"),
            Ratio::Middle => write!(out, "the middle"),
            Ratio::Poured(glasses) => write!(out, "glass {}", named(glasses)),
        }
    }
}

/// A ratio that could be blended.
#[derive(Clone, Debug, PartialEq)]
pub struct RatioReading {
    /// Which.
    pub ratio: Ratio,
    /// The shares, in the order of the components.
    pub shares: Shares,
    /// Who put a glass of it first: tasters, and the panel by its mean.
    pub first_of: Vec<String>,
    /// What it is expected to score; none without a surface.
    pub expected: Option<Predicted>,
    /// How it compares with the best; none of the best itself, and without a surface.
    pub compared: Option<Compared>,
    /// The largest batch that there is wine for now, what must be kept back left out.
    pub batch: Result<Batch, ScaleError>,
}

impl Key<'_> {
    /// What was blended and what could be, beside what the trial says.
    #[must_use]
    pub fn outlook(&self, state: &State, reading: &TrialReading) -> Outlook {
        let trial = self.trial;
        let tanks = tanks(state, trial, &reading.components);
        Outlook {
            blends: trial.blends.iter().filter_map(|blend| blend_words(state, trial, blend)).collect(),
            ratios: ratios(reading, &tanks),
            changed: trial.components().iter().filter_map(|component| changed(state, trial, component)).collect(),
        }
    }
}

/// What became of a blend that was chosen, like `Glass 874 was blended in T4 as V24 Varrow by 17 Apr 2026: 2997.5 L, …`.
fn blend_words(state: &State, trial: &Trial, blend: &Blend) -> Option<String> {
    let work = state.works.get(blend.work);
    let ratio = blend.code.map_or_else(|| "A ratio of its own".to_owned(), |code| format!("Glass {code}"));
    let (into, lot) = (&state.vessels.get(blend.into).label, &state.lots.get(blend.lot).label);
    // What has come in is told by the ticks; the moment only tells what is still there.
    let stands = state.assemblage(blend.work, work.ended.unwrap_or(blend.at))?;
    // The wines come in the order of their transfers, and are told in that of the trial, as its ratios are.
    let mut wines: Vec<(&Stop, &Wine)> = work.stops.iter().zip(&stands.wines).collect();
    wines.sort_by_key(|(stop, _)| trial.components().iter().position(|it| it.vessel == stop.vessel));
    let part = |wine: &Wine| Some(format!("{} {} %", wine.name, show_percent_rounded(wine.running?, 1)));
    let made: Vec<String> = wines.into_iter().filter_map(|(_, wine)| part(wine)).collect();
    let (made, arrived, asked) = (made.join(", "), litres(stands.arrived), litres(blend.volume));
    Some(match work.ended {
        None if made.is_empty() => {
            format!("{ratio} is to be blended in {into} as {lot}: {asked}, of which none is in yet.")
        }
        None => format!("{ratio} is being blended in {into} as {lot}: {arrived} of {asked} are in, {made}."),
        Some(ended) if made.is_empty() => {
            format!(
                "{ratio} was to be blended in {into} as {lot}; the work was closed {} with nothing in.",
                ended.show_date()
            )
        }
        Some(ended) => {
            let (by, tolerance) = (ended.show_date(), stands.tolerance);
            let held = if stands.holds() { "every share" } else { "not every share" };
            format!(
                "{ratio} was blended in {into} as {lot} by {by}: {arrived}, {made}, {held} within {tolerance} of the ratio."
            )
        }
    })
}

/// What is there of each wine now, of what was meant for the blend.
fn tanks(state: &State, trial: &Trial, names: &[String]) -> Vec<Tank> {
    let tank = |(component, name): (&Component, &String)| Tank {
        name: name.clone(),
        holds: state.vessels.get(component.vessel).volume(),
        keep: state.kept_beside_works(component, Volume::ZERO) + state.promised(component.vessel),
        taking: Taking::AsAsked,
    };
    trial.components().iter().zip(names).map(tank).collect()
}

/// What has changed with a wine since: it is gone, another, or promised.
fn changed(state: &State, trial: &Trial, component: &Component) -> Option<String> {
    let vessel = state.vessels.get(component.vessel);
    let label = &vessel.label;
    if vessel.wine.is_empty() {
        let gave = |blend: &Blend| {
            let stop = state.works.get(blend.work).stop(component.vessel);
            stop.is_some_and(|stop| matches!(stop.tick, Some(Tick::Done(_))))
        };
        let why = if trial.blends.iter().any(gave) { "went into the blend" } else { "is empty by the book" };
        return Some(format!("{label} {why}: no ratio with it can be blended any more."));
    }
    if vessel.filled.is_some_and(|filled| filled.instant() > trial.set.instant()) {
        return Some(format!("{label} was emptied and filled since: its wine is not the one that was tasted."));
    }
    let promised = state.promised(component.vessel);
    (!promised.is_zero()).then(|| format!("Open works are still to take {promised} of {label}, which is left to them."))
}

/// The ratios that one may want to blend: the best or the lean first, then every glass that somebody put first, ratios in whole steps,
/// and the middle.
fn ratios(reading: &TrialReading, tanks: &[Tank]) -> Vec<RatioReading> {
    let of = |ratio: Ratio, shares: &[f64], expected: Option<Predicted>| {
        let shares: Vec<f64> = shares.iter().map(|share| share.max(0.0)).collect();
        let shares = Shares::from_reals(&shares).ok()?;
        let batch = scale_up(&Asked { shares: &shares, tanks, tolerance: None, room: None, litres: None });
        Some(RatioReading { ratio, shares, first_of: Vec::new(), expected, compared: None, batch })
    };
    let against = |ratio: Ratio, it: &Compared| {
        Some(RatioReading { compared: Some(it.clone()), ..of(ratio, &it.shares, Some(it.predicted))? })
    };
    let Some((surface, best)) = reading.surface.as_ref().ok().and_then(|it| Some((it, it.advice()?))) else {
        // Without a surface the panel's places are all there is, and say nothing where chance would say as much.
        let tells = reading.panel.as_ref().ok().and_then(|panel| panel.test.as_ref().ok());
        if !tells.is_some_and(|test| test.probability.tells()) {
            return Vec::new();
        }
        let first: Vec<&GlassReading> = reading.glasses.iter().filter(|glass| glass.place == Some(1)).collect();
        let [first] = first[..] else { return Vec::new() };
        let glass = PouredGlass { code: first.code, sitting: None };
        return of(Ratio::Poured(vec![glass]), &first.shares.fractions(), None).into_iter().collect();
    };
    let which = if surface.best().is_some() { Ratio::Best } else { Ratio::Lean };
    let mut ratios = vec![of(which, &best.shares, Some(best.predicted))];
    ratios.extend(surface.put_first().into_iter().map(|poured| {
        let glasses = poured.glasses.iter().map(|&glass| reading.poured[glass].clone()).collect();
        let first = against(Ratio::Poured(glasses), poured.compared.as_ref()?)?;
        Some(RatioReading { first_of: poured.first_of.clone(), ..first })
    }));
    let rounded = best.simpler.iter().zip([5, 10]).enumerate();
    let rounded = rounded.filter(|(at, (it, _))| !best.simpler[..*at].iter().any(|said| said.shares == it.shares));
    ratios.extend(rounded.map(|(_, (it, step))| against(Ratio::Rounded(step), it)));
    ratios.push(against(Ratio::Middle, &best.middle));
    ratios.into_iter().flatten().collect()
}
