//! What a blend would be: its chemistry from the last tests of its wines, its claims, its new wood. What is not known is
//! named with the wine that lacks it.

use thiserror::Error;

use super::Draw;
use crate::cellar::core::history::Event;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::core::wine::Wine as Drawn;
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::tests::sulfuring::TestOf;
use crate::cellar::jobs::tests::testing::{Analyte, ReadAs, Test};
use crate::cellar::jobs::tests::treating::Addition;
use crate::cellar::views::books::claims::Standing;
use crate::cellar::views::books::lineage::{Fill, NewWood};
use crate::reckon::acidity::{Acid, Profile};
use crate::reckon::blend::{Blend, BlendError, BlendedPh, Quantity, Wine};
use crate::reckon::bottling::bound_between;
use crate::reckon::label_share::Rules;
use crate::reckon::scale_up::Tank;
use crate::reckon::sulfur::{self, Balance, Model, USUAL_BOUND_SHARE};
use crate::units::figure_to;

/// What a blend would have of one thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Expected {
    /// Of what.
    pub analyte: Analyte,
    /// How the house reads it.
    pub read: ReadAs,
    /// How much, in the unit in which it is kept; none where that is not known.
    pub value: Option<f64>,
    /// The components of which it is not known.
    pub lacking: Vec<String>,
    /// How many days ago the oldest of the tests was made that it rests on.
    pub oldest_days: Option<i64>,
    /// Whether one of them was of a composite sample.
    pub composite: bool,
    /// Whether one of them was of the lot before it came into this vessel.
    pub of_lot: bool,
    /// What of it was given since the tests, mg/L of sulfur dioxide: of the free the part that is expected to be left.
    pub given_since: Option<f64>,
    /// Whether it is only the most that there can be.
    pub at_most: bool,
}

/// Molecular sulfur dioxide, by a model.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Molecular {
    /// How much at the most, mg/L: the free is only the most that there can be.
    pub mg_l: f64,
    /// By which model.
    pub model: Model,
}

/// What a blend would be.
#[derive(Clone, Debug, PartialEq)]
pub struct BlendForecast {
    /// What is measured in it: pH first, then what mixes by volume.
    pub values: Vec<Expected>,
    /// The pH with what it rests on.
    pub ph: BlendedPh,
    /// The components whose acids are assumed in the pH, with the acids; none where the pH is not known.
    pub assumed: Vec<(String, Vec<Acid>)>,
    /// The components whose tests of acids do not fit together.
    pub strained: Vec<String>,
    /// Molecular sulfur dioxide by the house's model; none where it is not known.
    pub molecular: Option<Molecular>,
    /// How it stands to the label claims of the house's rules.
    pub claims: Vec<Standing>,
    /// What part of it has lain in new wood, as far as the book knows; none where it knows nothing of some of it.
    pub new_wood: Option<f64>,
    /// The components of whose wood the book knows nothing.
    pub wood_lacking: Vec<String>,
    /// The components into which something came since they were tested: a treatment other than sulfur dioxide, which counts, or
    /// other wine.
    pub changed_since: Vec<String>,
    /// The first component that is of another class or tax than the blend would be, in a sentence; none where the house is not
    /// held to the rules of the United States.
    pub other_class: Option<String>,
}

/// Why nothing can be forecast: a test in the book that no wine reads.
#[derive(Clone, Debug, PartialEq, Error)]
#[error("The last tests do not fit a blend. {0}")]
pub struct NoForecast(#[from] BlendError);

/// A test that is gone by.
#[derive(Clone, Copy)]
pub(in crate::cellar) struct Reading {
    /// What was found; of sulfur dioxide what that is now.
    pub value: f64,
    at: Moment,
    composite: bool,
    of_lot: bool,
    /// What of the total sulfur dioxide was given since.
    given: f64,
}

/// What goes by of a vessel that is blended: of each thing its last test.
struct Told {
    litres: f64,
    readings: Vec<(Analyte, Reading)>,
}

impl Told {
    fn of(&self, analyte: Analyte) -> Option<Reading> {
        self.readings.iter().find(|(of, _)| *of == analyte).map(|(_, reading)| *reading)
    }
}

pub(in crate::cellar) const fn analyte(quantity: Quantity) -> Analyte {
    match quantity {
        Quantity::Alcohol => Analyte::Alcohol,
        Quantity::TitratableAcidity => Analyte::TitratableAcidity,
        Quantity::VolatileAcidity => Analyte::VolatileAcidity,
        Quantity::Sugar => Analyte::Sugar,
        Quantity::TotalSo2 => Analyte::TotalSo2,
        Quantity::FreeSo2 => Analyte::FreeSo2,
        Quantity::Malic => Analyte::Malic,
        Quantity::Lactic => Analyte::Lactic,
        Quantity::Tartaric => Analyte::Tartaric,
        Quantity::Potassium => Analyte::Potassium,
    }
}

impl State {
    /// What a blend of these draws would be.
    pub(super) fn forecast(
        &self,
        tanks: &[Tank],
        draws: &[Draw],
        wood: &NewWood,
        at: Moment,
    ) -> Result<BlendForecast, NoForecast> {
        let told: Vec<Told> = draws.iter().map(|draw| self.told_for_blend(draw, at)).collect();
        let parts: Vec<(f64, Wine)> =
            draws.iter().zip(&told).map(|(draw, told)| (told.litres, self.tested_wine(draw.vessel, told))).collect();
        let blend = Blend::of(&parts)?;
        let names = |of: &[usize]| components(tanks, draws, of.iter().copied());
        let mixed = blend.values.iter().map(|it| {
            let lacking = names(&it.lacking);
            let analyte = analyte(it.quantity);
            expected((analyte, self.read_as(analyte)), it.value, lacking, &told, at, it.quantity.is_upper_bound())
        });
        let ph_lacking = match &blend.ph {
            BlendedPh::Lacking(lacking) => names(lacking),
            BlendedPh::Beyond(at, _) => names(&[*at]),
            BlendedPh::Predicted(_) => Vec::new(),
        };
        let ph = expected((Analyte::Ph, self.read_as(Analyte::Ph)), blend.ph.value(), ph_lacking, &told, at, false);
        let values = std::iter::once(ph).chain(mixed).collect();
        let (assumed, strained) = assumptions(tanks, draws, &blend.ph);
        let (new_wood, wood_lacking) = self.new_wood_of(tanks, draws, wood);
        let changed = (0..).zip(draws.iter().zip(&told));
        let changed =
            changed.filter(|(_, (draw, told))| self.changed_since_tested(draw.vessel, told)).map(|(at, _)| at);
        let mixed_pct = blend.value(Quantity::Alcohol);
        Ok(BlendForecast {
            other_class: mixed_pct.and_then(|mixed_pct| self.other_class(tanks, draws, &told, mixed_pct)),
            molecular: self.molecular_of(&blend, draws),
            changed_since: components(tanks, draws, changed),
            claims: self.claims(&self.wine_drawn(draws), self.practice.rules),
            values,
            ph: blend.ph,
            assumed,
            strained,
            new_wood,
            wood_lacking,
        })
    }

    /// What goes by of a vessel that is drawn from.
    fn told_for_blend(&self, draw: &Draw, at: Moment) -> Told {
        let analytes = Quantity::ALL.into_iter().map(analyte).chain([Analyte::Ph]);
        let reading = |analyte| Some((analyte, self.reading_for_blend(draw.vessel, analyte, at)?));
        Told { litres: draw.volume.as_litres(), readings: analytes.filter_map(reading).collect() }
    }

    /// A vessel's wine by its last tests.
    fn tested_wine(&self, id: VesselId, told: &Told) -> Wine {
        let profile = match self.colour_in(self.vessels.get(id)) {
            Some(Colour::White | Colour::Rose) => Profile::NoMalolactic,
            Some(Colour::Red) | None => Profile::AfterMalolactic,
        };
        let value = |analyte| told.of(analyte).map(|reading| reading.value);
        let untested = Wine::of_ph(value(Analyte::Ph), profile);
        Quantity::ALL.into_iter().fold(untested, |wine, it| wine.with(it, value(analyte(it))))
    }

    /// The last test of one thing in a vessel's wine. Wine that was not tested since it came into the vessel has the last
    /// test of its lot: a racking changes little of what mixes. Sulfur dioxide is what it is at a moment, with all that was given
    /// to the wine since.
    pub(in crate::cellar) fn reading_for_blend(&self, id: VesselId, analyte: Analyte, at: Moment) -> Option<Reading> {
        if matches!(analyte, Analyte::FreeSo2 | Analyte::TotalSo2) {
            return self.sulfur_for_blend(id, analyte, at);
        }
        let reading = |(value, test): (f64, &Test), of_lot| Reading {
            value,
            at: test.at,
            composite: test.is_composite(),
            of_lot,
            given: 0.0,
        };
        if let Some(last) = self.last_reading(id, analyte) {
            return Some(reading(last, false));
        }
        let tests = &self.lots.get(self.vessels.get(id).lot?).tests;
        Some(reading(tests.last_of(analyte)?, true))
    }

    fn sulfur_for_blend(&self, id: VesselId, analyte: Analyte, at: Moment) -> Option<Reading> {
        let (found, value, given) = if analyte == Analyte::TotalSo2 {
            let found = self.last_found(id, analyte)?;
            let now = self.total_at_most(id, found).value;
            (found, now, now - found.value)
        } else {
            let known = self.sulfur_known(id, USUAL_BOUND_SHARE, at);
            let free = known.free_now?.free_mg_l;
            let most = known.total_now.unwrap_or(f64::INFINITY);
            (known.free?, free.min(most), known.given_since_free * (1.0 - USUAL_BOUND_SHARE))
        };
        let of_lot = matches!(found.of, TestOf::Lot | TestOf::Carried);
        Some(Reading { value, at: found.at, composite: found.of == TestOf::Composite, of_lot, given })
    }

    /// Whether something other than sulfur dioxide was added to a vessel, or wine came into it, since the oldest of its last
    /// tests of what mixes.
    fn changed_since_tested(&self, id: VesselId, told: &Told) -> bool {
        let vessel = self.vessels.get(id);
        let tests = Quantity::ALL.into_iter().filter_map(|it| told.of(analyte(it)));
        let Some(oldest) = tests.map(|reading| reading.at.instant()).min() else { return false };
        // What filled the vessel in the first place came with its lot's tests.
        let since = vessel.filled.map_or(oldest, |filled| filled.instant().max(oldest));
        let poured = vessel
            .history
            .lines()
            .any(|line| matches!(line.event, Event::MovedIn(_) | Event::Received(_)) && line.at.instant() > since);
        let counts = |added: &Addition| added.sulfur_dioxide.is_some();
        poured || vessel.additions.iter().any(|added| added.at.instant() > oldest && !counts(added))
    }

    /// That a component is of another class or tax of the United States than the blend.
    fn other_class(&self, tanks: &[Tank], draws: &[Draw], told: &[Told], mixed_pct: f64) -> Option<String> {
        if !self.practice.sides().contains(&Rules::Us) {
            return None;
        }
        let crossed = draws.iter().zip(told).find_map(|(draw, told)| {
            let found = told.of(Analyte::Alcohol)?.value;
            Some((&tanks[draw.component].name, found, bound_between(found, mixed_pct)?))
        });
        crossed.map(|(name, found, bound)| {
            format!("{name} has {found} % vol and the blend about {}: {}.", figure_to(1, mixed_pct), bound.says)
        })
    }

    /// What the draws come to by origin.
    fn wine_drawn(&self, draws: &[Draw]) -> Drawn {
        let mut wine = Drawn::default();
        for draw in draws {
            wine.mix(&self.vessels.get(draw.vessel).wine.clone().take(draw.volume));
        }
        wine
    }

    fn molecular_of(&self, blend: &Blend, draws: &[Draw]) -> Option<Molecular> {
        let whole: f64 = draws.iter().map(|draw| draw.volume.as_litres()).sum();
        let degrees = |draw: &Draw| {
            let (celsius, _) = self.last_reading(draw.vessel, Analyte::Temperature)?;
            Some(celsius * draw.volume.as_litres() / whole)
        };
        let wine = sulfur::Wine {
            ph: blend.ph.value()?,
            alcohol_pct: blend.value(Quantity::Alcohol),
            temperature_c: draws.iter().map(degrees).sum(),
        };
        let model = self.practice.so2_model;
        let balance = Balance::new(model, wine).ok()?;
        Some(Molecular { mg_l: balance.molecular_mg_l(blend.value(Quantity::FreeSo2)?).ok()?, model })
    }

    /// What part of a vessel's wine has lain in new wood; none where the book knows nothing of it.
    pub(in crate::cellar) fn new_wood_part(&self, id: VesselId, wood: &NewWood) -> Option<f64> {
        let vessel = self.vessels.get(id);
        if vessel.is_first_fill() { Some(1.0) } else { wood.part(Fill { vessel: id, number: vessel.fills }) }
    }

    fn new_wood_of(&self, tanks: &[Tank], draws: &[Draw], wood: &NewWood) -> (Option<f64>, Vec<String>) {
        let part = |draw: &Draw| self.new_wood_part(draw.vessel, wood);
        let lacking = (0..).zip(draws).filter(|(_, draw)| part(draw).is_none()).map(|(at, _)| at);
        let whole: f64 = draws.iter().map(|draw| draw.volume.as_litres()).sum();
        let new: Option<f64> = draws.iter().map(|draw| Some(part(draw)? * draw.volume.as_litres() / whole)).sum();
        (new, components(tanks, draws, lacking))
    }
}

fn expected(
    (analyte, read): (Analyte, ReadAs),
    value: Option<f64>,
    lacking: Vec<String>,
    told: &[Told],
    at: Moment,
    at_most: bool,
) -> Expected {
    let (mut oldest_days, mut composite, mut of_lot) = (None, false, false);
    let (mut given, mut litres) = (0.0, 0.0);
    for (wine, test) in told.iter().filter_map(|told| Some((told, told.of(analyte)?))) {
        oldest_days = oldest_days.max(Some(at.days_since(test.at).max(0)));
        composite |= test.composite;
        of_lot |= test.of_lot;
        given += test.given * wine.litres;
        litres += wine.litres;
    }
    let given_since = (value.is_some() && given > 0.0).then(|| given / litres);
    Expected { analyte, read, value, lacking, oldest_days, composite, of_lot, given_since, at_most }
}

/// The names of the components of some draws, each once.
fn components(tanks: &[Tank], draws: &[Draw], of: impl IntoIterator<Item = usize>) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for name in of.into_iter().map(|at| &tanks[draws[at].component].name) {
        if !names.contains(name) {
            names.push(name.clone());
        }
    }
    names
}

/// What a predicted pH assumes, by component, and the components whose tests do not fit together.
fn assumptions(tanks: &[Tank], draws: &[Draw], ph: &BlendedPh) -> (Vec<(String, Vec<Acid>)>, Vec<String>) {
    let BlendedPh::Predicted(prediction) = ph else { return (Vec::new(), Vec::new()) };
    let mut assumed: Vec<(String, Vec<Acid>)> = Vec::new();
    for (draw, acids) in draws.iter().zip(&prediction.assumed).filter(|(_, acids)| !acids.is_empty()) {
        let name = &tanks[draw.component].name;
        match assumed.iter_mut().find(|(known, _)| known == name) {
            Some((_, known)) => {
                for acid in acids {
                    if !known.contains(acid) {
                        known.push(*acid);
                    }
                }
            }
            None => assumed.push((name.clone(), acids.clone())),
        }
    }
    let strained = (0..).zip(&prediction.strained).filter(|(_, strained)| **strained).map(|(at, _)| at);
    (assumed, components(tanks, draws, strained))
}
