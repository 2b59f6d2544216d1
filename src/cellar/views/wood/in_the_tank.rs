//! What the wine of a racking is in its tank: what its label may say before and after, which claims are lost, and its sulfur
//! dioxide on the way.

use crate::cellar::core::fact::What;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::tests::sulfuring::{Found, SulfurKnown, Unknown};
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::jobs::wood::racking::{Racking, racked};
use crate::cellar::views::books::claims::{Broken, Standing};
use crate::reckon::sulfur::{Addition, Balance, Beyond, Form, Model, USUAL_BOUND_SHARE, Wine, bound_words};
use crate::units::{Mass, Volume, figure_to, weighed};

/// What the wine is in the tank.
#[derive(Clone, Debug, PartialEq)]
pub struct InTheTank {
    /// What the label of the tank's wine may say before, by the house's rules; nothing for an empty tank.
    pub before: Vec<Standing>,
    /// What it may say when all is racked.
    pub after: Vec<Standing>,
    /// The claims that lots hold and would hold no longer.
    pub broken: Vec<Broken>,
    /// The sulfur dioxide of what comes together; which vessel is not known well enough, and why, where it cannot be told.
    pub sulfur: Result<SulfurOnTheWay, (VesselId, Unknown)>,
}

/// The sulfur dioxide of what comes together in a tank, means by litres of the forecasts of its parts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SulfurOnTheWay {
    /// The whole wine.
    pub volume: Volume,
    /// Free, mg/L.
    pub free_mg_l: f64,
    /// The oldest test that this rests on.
    pub oldest: Moment,
    /// By which model molecular is reckoned.
    pub model: Model,
    /// The molecular that the house wants, mg/L.
    pub target_mg_l: f64,
    /// What that needs and how much is to be added; what is not known, where it cannot be told.
    pub molecular: Result<MolecularOnTheWay, Unknown>,
}

/// Molecular sulfur dioxide of what comes together, and what reaches the house's target.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MolecularOnTheWay {
    /// Now, mg/L.
    pub molecular_mg_l: f64,
    /// The free that the target needs, mg/L.
    pub wanted_free_mg_l: f64,
    /// Potassium metabisulfite for the whole wine; none where it has enough.
    pub powder: Option<Mass>,
    /// Whether the model's table ended before this wine.
    pub beyond: Option<Beyond>,
}

/// A vessel that comes in, or was there, with its litres.
type Part = (VesselId, f64, SulfurKnown);

impl InTheTank {
    /// What the label may say: each claim that is held, once.
    #[must_use]
    pub fn held(standings: &[Standing]) -> Vec<String> {
        let mut held: Vec<String> = Vec::new();
        for standing in standings.iter().filter(|standing| standing.held()) {
            let what = standing.what();
            if !held.contains(&what) {
                held.push(what);
            }
        }
        held
    }

    /// The claims before and after in a sentence.
    #[must_use]
    pub fn label_words(&self) -> String {
        let told = |standings: &[Standing]| match Self::held(standings) {
            held if held.is_empty() => "nothing".to_owned(),
            held => held.join(", "),
        };
        let then = told(&self.after);
        if self.before.is_empty() {
            return format!("The label could say then: {then}.");
        }
        format!("The label of what is in the tank could say now: {}; then: {then}.", told(&self.before))
    }

    /// The sulfur dioxide in a sentence or two.
    #[must_use]
    pub fn sulfur_words(&self, state: &State, at: Moment) -> String {
        let sulfur = match &self.sulfur {
            Ok(sulfur) => sulfur,
            Err((vessel, unknown)) => {
                let label = &state.vessels.get(*vessel).label;
                return format!("SO2 on the way is not told, for {label} {unknown}.");
            }
        };
        let (model, target) = (sulfur.model.word(), sulfur.target_mg_l);
        let days = at.days_since(sulfur.oldest);
        let tested = match days {
            0 => "today's tests".to_owned(),
            1 => "tests of at most a day ago".to_owned(),
            days => format!("tests of at most {days} days ago"),
        };
        let free = format!("SO2 on the way: free about {:.0} mg/L by {tested}", sulfur.free_mg_l);
        let molecular = match &sulfur.molecular {
            Ok(molecular) => molecular,
            Err(unknown) => return format!("{free}; molecular is not told: {unknown}."),
        };
        let now = format!("{free}, {} molecular by the {model} model", figure_to(2, molecular.molecular_mg_l));
        let beyond = molecular.beyond.map_or_else(String::new, |beyond| format!(" ({beyond})"));
        match molecular.powder {
            None => format!("{now}{beyond}: enough for {target}."),
            Some(powder) => format!(
                "{now}{beyond}. {target} molecular needs {:.0} free: {} of potassium metabisulfite into the whole tank, {} \
                 of it taken to be bound.",
                molecular.wanted_free_mg_l,
                weighed(powder),
                bound_words(USUAL_BOUND_SHARE)
            ),
        }
    }
}

impl State {
    /// What the wine of a racking is in its tank, when all is racked as planned.
    #[must_use]
    pub fn in_the_tank(&self, plan: &Racking, at: Moment) -> InTheTank {
        let rules = self.practice.rules;
        let tank = self.vessels.get(plan.asked.to);
        let mut wine = tank.wine.clone();
        for stop in &plan.stops {
            wine.mix(&self.vessels.get(stop.vessel).wine.clone().take(stop.expected));
        }
        let whats: Vec<What> = plan
            .stops
            .iter()
            .map(|stop| racked(self, stop.vessel, plan.asked.to, (stop.expected, stop.lees), plan.asked.into))
            .collect();
        InTheTank {
            before: self.claims(&tank.wine, rules),
            after: self.claims(&wine, rules),
            broken: self.broken_by(&whats, at, rules),
            sulfur: self.sulfur_on_the_way(plan, at),
        }
    }

    fn sulfur_on_the_way(&self, plan: &Racking, at: Moment) -> Result<SulfurOnTheWay, (VesselId, Unknown)> {
        let known = |vessel: VesselId, volume: Volume| -> Part {
            (vessel, volume.as_litres(), self.sulfur_known(vessel, USUAL_BOUND_SHARE, at))
        };
        let tank = self.vessels.get(plan.asked.to);
        let there = (!tank.wine.is_empty()).then(|| known(plan.asked.to, tank.volume()));
        let parts: Vec<Part> = plan.stops.iter().map(|stop| known(stop.vessel, stop.expected)).chain(there).collect();
        let tested = |(vessel, _, known): &Part| {
            known.free.map(|free| free.at).ok_or((*vessel, Unknown::Untested(Analyte::FreeSo2)))
        };
        let tested: Vec<Moment> = parts.iter().map(tested).collect::<Result<_, _>>()?;
        let free_mg_l = mean(&parts, |known| known.free_now.map(|now| now.free_mg_l)).unwrap_or_default();
        let volume = plan.expected + tank.volume();
        Ok(SulfurOnTheWay {
            volume,
            free_mg_l,
            oldest: tested.into_iter().min_by_key(|at| at.instant()).unwrap_or(at),
            model: self.practice.so2_model,
            target_mg_l: self.practice.molecular_so2_mg_l,
            molecular: self.molecular_on_the_way(&parts, free_mg_l, volume),
        })
    }

    fn molecular_on_the_way(&self, parts: &[Part], free: f64, volume: Volume) -> Result<MolecularOnTheWay, Unknown> {
        let value = |found: Option<Found>| found.map(|found| found.value);
        let wine = Wine {
            ph: mean(parts, |known| value(known.ph)).ok_or(Unknown::Untested(Analyte::Ph))?,
            alcohol_pct: mean(parts, |known| value(known.alcohol)),
            temperature_c: mean(parts, |known| value(known.temperature)),
        };
        let balance = Balance::new(self.practice.so2_model, wine).map_err(Unknown::Sulfur)?;
        let wanted = balance.free_mg_l(self.practice.molecular_so2_mg_l).map_err(Unknown::Sulfur)?;
        let powder = if wanted > free {
            let addition = Addition::raising_free(volume, wanted - free, USUAL_BOUND_SHARE).map_err(Unknown::Sulfur)?;
            Some(addition.given_as(Form::Powder).amount)
        } else {
            None
        };
        Ok(MolecularOnTheWay {
            molecular_mg_l: balance.molecular_mg_l(free).map_err(Unknown::Sulfur)?,
            wanted_free_mg_l: wanted,
            powder,
            beyond: balance.beyond(),
        })
    }
}

/// The mean by litres; none where it is not known of every part. Of pH it is near enough within what is racked together.
fn mean(parts: &[Part], of: impl Fn(&SulfurKnown) -> Option<f64>) -> Option<f64> {
    let (mut sum, mut litres) = (0.0, 0.0);
    for (_, volume, known) in parts {
        sum += of(known)? * volume;
        litres += volume;
    }
    (litres > 0.0).then(|| sum / litres)
}
