//! The plan of a blend: the largest batch that vessels and lots can give in a ratio, what comes from each vessel, and what
//! the blend would be ([`BlendForecast`]).
//!
//! A lot gives its tanks before its barrels, unless it is asked otherwise, and barrels whole where it can. Of a barrel counts what is expected to arrive when it is emptied, without what
//! evaporated and the lees; of a tank what the book says.
//!
//! **A lot gives its tanks first**, then as few barrels as do, emptied, with the rest from the tanks: a part-full barrel spoils, a tank
//! stands as it stood.
//!
//! **A forecast takes the last test of the vessel, else of its lot**, and says so: a racked tank has no tests of its own yet.
//!
//! **No fact is made by `plan blend`**: what is chosen is begun by the fact of the choice (`blend_chosen`), from `BlendPlan::draws`.

mod forecast;

use thiserror::Error;

pub(in crate::cellar) use forecast::analyte;
pub use forecast::{BlendForecast, Expected, Molecular, NoForecast};

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::jobs::floor::lot::{Colour, LotOpened};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::floor::work::{StopSet, TaskSet, WorkSet};
use crate::cellar::views::books::lineage::NewWood;
use crate::reckon::scale_up::{Asked, Batch, ScaleError, Taking, Tank, Tolerance, scale_up, whole_first};
use crate::units::{Shares, Volume};

/// What a component of a blend is drawn from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Source {
    /// One vessel.
    Vessel(VesselId),
    /// All vessels of a lot that are not held.
    Lot(LotId),
}

/// A component of a blend.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Component {
    /// Where it lies.
    pub source: Source,
    /// What is kept back of it.
    pub keep: Volume,
    /// Whether all of it is to go, but for what is kept back.
    pub whole: bool,
}

/// What is asked of a blend.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BlendRequest {
    /// The components.
    pub components: Vec<Component>,
    /// Their shares, in the same order.
    pub shares: Shares,
    /// The vessel that the blend is made in, where one is named.
    pub into: Option<VesselId>,
    /// By how much a share may differ where that makes more.
    pub tolerance: Option<Tolerance>,
    /// How much is wanted; else all that can be made.
    pub litres: Option<Volume>,
    /// Whether a lot gives its barrels before its tanks.
    pub barrels_first: bool,
    /// Whether held vessels that are named give and take all the same, since a reason is given.
    pub despite: bool,
}

/// What comes from one vessel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Draw {
    /// Of which component.
    pub component: usize,
    /// Which vessel.
    pub vessel: VesselId,
    /// How much arrives.
    pub volume: Volume,
    /// What stays of what could be had, what is kept back and what open works are still to take with it.
    pub stays: Volume,
    /// Whether it is there already.
    pub in_place: bool,
}

/// A blend before it is made.
#[derive(Clone, Debug, PartialEq)]
pub struct BlendPlan {
    /// What was asked.
    pub request: BlendRequest,
    /// What its components are called, and hold.
    pub tanks: Vec<Tank>,
    /// How much it comes to, and why no more.
    pub batch: Batch,
    /// What comes from each vessel: what is in place, then the transfers in their order.
    pub draws: Vec<Draw>,
    /// What open works are still to take of each component: it is left to them.
    pub promised: Vec<Volume>,
    /// Vessels of its lots that are held and left out.
    pub held: Vec<VesselId>,
    /// Vessels that are held and are named, so that they give or take for a reason.
    pub despite: Vec<VesselId>,
    /// Vessels that give to it though their wine is suspect.
    pub suspect: Vec<VesselId>,
    /// What it would be.
    pub forecast: BlendForecast,
}

/// Why no blend can be planned.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation, the fields are the things it names
pub enum NoBlend {
    #[error("{0} is retired and takes no part any more. Check the label.")]
    Retired(Label),
    #[error("{0} comes in twice. Name every vessel once, by itself or by its lot.")]
    Twice(Label),
    #[error("{one} is {one_colour} and {other} is {other_colour}. Choose wines of one colour.")]
    Colours { one: String, one_colour: Colour, other: String, other_colour: Colour },
    #[error("{vessel} has red wine in its wood and must not take {colour} wine. Choose another vessel.")]
    RedWood { vessel: Label, colour: Colour },
    #[error("{vessel} holds {holds:#} that is not in the ratio. Choose an empty vessel, or give its wine a share.")]
    OtherWine { vessel: Label, holds: Volume },
    #[error("All of {0} is in the blend that is made in it. Keep nothing back of it, or blend into another vessel.")]
    KeptInPlace(Label),
    #[error("{0} holds part of its lot. Name it as a component by itself, or blend into another vessel.")]
    InPlaceOfLot(Label),
    #[error(
        "Open works are still to take {promised:#} from {vessel}. Do or end them first, or blend into another vessel."
    )]
    PromisedInPlace { vessel: Label, promised: Volume },
    #[error("No vessel is named that the blend is made in. Name one to begin it.")]
    NoVessel,
    #[error("The colour of these wines is not known, so their lot cannot be opened. Open it first.")]
    NoColour,
    #[error(transparent)]
    Refused(#[from] Refusal),
    #[error(transparent)]
    Scale(#[from] ScaleError),
    #[error("{why} {promised}")]
    ScaleBesideWorks { why: ScaleError, promised: String },
    #[error(transparent)]
    Forecast(#[from] NoForecast),
}

impl BlendPlan {
    /// What is left to open works, in words; none where they take nothing of it.
    #[must_use]
    pub fn promised_words(&self) -> Option<String> {
        promised_words(&self.tanks, &self.promised)
    }

    /// The facts that begin it as a work: its lot, where there is none of that label, and the work.
    pub fn begin(&self, state: &State, work: Label, lot: Label) -> Result<Vec<What>, NoBlend> {
        let into = self.request.into.ok_or(NoBlend::NoVessel)?;
        let colour = state.one_colour(&self.request)?;
        let known = state.lots.by_label(lot.as_str());
        let mut whats = Vec::new();
        match (known, colour) {
            (Some(known), Some(colour)) if known.colour != colour => {
                return Err(Refusal::LotColour { lot, lot_colour: known.colour, colour }.into());
            }
            (Some(_), _) => {}
            (None, Some(colour)) => whats.push(What::LotOpened(LotOpened { lot: lot.clone(), colour })),
            (None, None) => return Err(NoBlend::NoColour),
        }
        let task = TaskSet::Blending {
            into: state.vessels.get(into).label.clone(),
            lot,
            shares: Some(self.request.shares.without_noughts()),
            tolerance: self.request.tolerance,
        };
        whats.push(What::WorkSet(Box::new(WorkSet { work, task, stops: self.stops(state) })));
        Ok(whats)
    }

    /// The vessels that give, in the order of the transfers; what is in place comes first.
    fn stops(&self, state: &State) -> Vec<StopSet> {
        let millionths = self.request.shares.millionths();
        let mut keeps: Vec<Volume> = self.request.components.iter().map(|it| it.keep).collect();
        let lees = state.lees_found().map(|found| found.each).unwrap_or_default();
        let stop = |draw: &Draw| {
            let vessel = state.vessels.get(draw.vessel);
            // What open works are still to take stays by itself.
            let keep = draw.stays.saturating_sub(state.promised(draw.vessel)).min(keeps[draw.component]);
            keeps[draw.component] = keeps[draw.component].saturating_sub(keep);
            let empties = vessel.vessel_type == VesselType::Barrel && draw.stays.is_zero();
            // Wines without a share are left out, and the others count without them.
            let before = millionths[..draw.component].iter().filter(|share| **share > 0).count();
            StopSet {
                volume: draw.volume,
                lees: if empties { lees } else { Volume::ZERO },
                component: u32::try_from(before).ok(),
                keep,
                empties,
                ..StopSet::of(vessel.label.clone())
            }
        };
        self.draws.iter().map(stop).collect()
    }
}

/// A vessel of a component, what can be had of it, and what is left to open works.
#[derive(Clone, Copy)]
struct Stock {
    vessel: VesselId,
    kind: VesselType,
    gives: Volume,
    promised: Volume,
}

impl State {
    /// Plans a blend at a moment. `wood` says what has lain in new wood.
    pub fn plan_blend(&self, request: BlendRequest, wood: &NewWood, at: Moment) -> Result<BlendPlan, NoBlend> {
        let stocks: Vec<Vec<Stock>> =
            request.components.iter().map(|it| self.stocks(it.source, at)).collect::<Result<_, _>>()?;
        let despite = self.held_and_named(&request);
        if let Some(refusal) = self.barred(&despite).filter(|_| !request.despite) {
            return Err(refusal.into());
        }
        named_once(self, &stocks)?;
        let tanks: Vec<Tank> = request
            .components
            .iter()
            .zip(&stocks)
            .map(|(component, its)| self.tank(component, its, request.into))
            .collect();
        let promised: Vec<Volume> = stocks.iter().map(|its| its.iter().map(|stock| stock.promised).sum()).collect();
        let colour = self.one_colour(&request)?;
        let room = request.into.map(|into| self.room_in(into, &request, &stocks, colour)).transpose()?;
        let asked = Asked {
            shares: &request.shares,
            tanks: &tanks,
            tolerance: request.tolerance,
            room,
            litres: request.litres,
        };
        let batch = scale_up(&asked).map_err(|why| match promised_words(&tanks, &promised) {
            Some(promised) => NoBlend::ScaleBesideWorks { why, promised },
            None => why.into(),
        })?;
        let draws = draws(&request, &stocks, &batch);
        let forecast = self.forecast(&tanks, &draws, wood, at)?;
        let suspect = self.suspects_among(draws.iter().map(|draw| draw.vessel));
        let held = self.held_of(&request);
        Ok(BlendPlan { request, tanks, batch, draws, promised, held, despite, suspect, forecast })
    }

    /// What a component's vessels can give, in walking order; what open works are still to take of it is left to them.
    fn stocks(&self, source: Source, at: Moment) -> Result<Vec<Stock>, NoBlend> {
        let stock = |vessel| {
            let there = self.can_give(vessel, at);
            let promised = self.promised(vessel).min(there);
            Stock {
                vessel,
                kind: self.vessels.get(vessel).vessel_type,
                gives: there.saturating_sub(promised),
                promised,
            }
        };
        match source {
            Source::Vessel(id) => {
                let vessel = self.vessels.get(id);
                if vessel.retired.is_some() {
                    return Err(NoBlend::Retired(vessel.label.clone()));
                }
                Ok(vec![stock(id)])
            }
            Source::Lot(lot) => {
                let others =
                    self.vessels.iter().filter(|(_, it)| it.vessel_type != VesselType::Barrel).map(|(id, _)| id);
                let its = self.barrels_walked().chain(others).filter(|&id| self.vessels.get(id).lot == Some(lot));
                Ok(its.filter(|&id| self.vessels.get(id).held.is_none()).map(stock).collect())
            }
        }
    }

    /// What arrives elsewhere when a vessel is emptied.
    pub(in crate::cellar) fn can_give(&self, id: VesselId, at: Moment) -> Volume {
        let vessel = self.vessels.get(id);
        match vessel.vessel_type {
            _ if vessel.wine.is_empty() => Volume::ZERO,
            VesselType::Barrel => self.racking_stop(id, self.lees_found().map(|found| found.each), at).expected,
            VesselType::Tank | VesselType::Keg => vessel.volume(),
        }
    }

    /// The vessels that are named by themselves and are held.
    fn held_and_named(&self, request: &BlendRequest) -> Vec<VesselId> {
        let sources = request.components.iter().filter_map(|it| match it.source {
            Source::Vessel(id) => Some(id),
            Source::Lot(_) => None,
        });
        let others =
            request.into.filter(|&into| !request.components.iter().any(|it| it.source == Source::Vessel(into)));
        sources.chain(others).filter(|&id| self.vessels.get(id).held.is_some()).collect()
    }

    fn held_of(&self, request: &BlendRequest) -> Vec<VesselId> {
        let in_a_lot = |lot: LotId| request.components.iter().any(|it| it.source == Source::Lot(lot));
        let held = self.vessels.iter().filter(|(_, vessel)| vessel.held.is_some() && vessel.lot.is_some_and(in_a_lot));
        held.map(|(id, _)| id).collect()
    }

    fn tank(&self, component: &Component, stocks: &[Stock], into: Option<VesselId>) -> Tank {
        let taking = match component.source {
            Source::Vessel(id) if into == Some(id) => Taking::InPlace,
            _ if component.whole => Taking::Whole,
            _ => Taking::AsAsked,
        };
        Tank {
            name: self.source_label(component.source).to_string(),
            holds: stocks.iter().map(|stock| stock.gives + stock.promised).sum(),
            keep: component.keep + stocks.iter().map(|stock| stock.promised).sum(),
            taking,
        }
    }

    fn source_label(&self, source: Source) -> &Label {
        match source {
            Source::Vessel(id) => &self.vessels.get(id).label,
            Source::Lot(id) => &self.lots.get(id).label,
        }
    }

    fn source_colour(&self, source: Source) -> Option<Colour> {
        match source {
            Source::Vessel(id) => self.colour_in(self.vessels.get(id)),
            Source::Lot(id) => Some(self.lots.get(id).colour),
        }
    }

    /// The colour of all components that the ratio asks for.
    fn one_colour(&self, request: &BlendRequest) -> Result<Option<Colour>, NoBlend> {
        let asked = request.components.iter().zip(request.shares.millionths()).filter(|(_, share)| **share > 0);
        let mut coloured = asked.filter_map(|(it, _)| Some((it.source, self.source_colour(it.source)?)));
        let Some((first, colour)) = coloured.next() else { return Ok(None) };
        match coloured.find(|(_, its)| *its != colour) {
            None => Ok(Some(colour)),
            Some((other, other_colour)) => Err(NoBlend::Colours {
                one: self.source_label(first).to_string(),
                one_colour: colour,
                other: self.source_label(other).to_string(),
                other_colour,
            }),
        }
    }

    /// How large a blend can be that is made in a vessel.
    fn room_in(
        &self,
        into: VesselId,
        request: &BlendRequest,
        stocks: &[Vec<Stock>],
        colour: Option<Colour>,
    ) -> Result<Volume, NoBlend> {
        let vessel = self.vessels.get(into);
        let label = || vessel.label.clone();
        if vessel.retired.is_some() {
            return Err(NoBlend::Retired(label()));
        }
        if let Some(colour) = colour.filter(|&it| it != Colour::Red && vessel.stained == Some(Colour::Red)) {
            return Err(NoBlend::RedWood { vessel: label(), colour });
        }
        let in_place = request.components.iter().find(|it| it.source == Source::Vessel(into));
        if in_place.is_some_and(|it| !it.keep.is_zero()) {
            return Err(NoBlend::KeptInPlace(label()));
        }
        let promised = self.promised(into);
        if in_place.is_some() && !promised.is_zero() {
            return Err(NoBlend::PromisedInPlace { vessel: label(), promised });
        }
        if in_place.is_none() && !vessel.wine.is_empty() {
            let of_a_lot = stocks.iter().flatten().any(|stock| stock.vessel == into);
            return Err(if of_a_lot {
                NoBlend::InPlaceOfLot(label())
            } else {
                NoBlend::OtherWine { vessel: label(), holds: vessel.volume() }
            });
        }
        Ok(vessel.capacity)
    }
}

fn named_once(state: &State, stocks: &[Vec<Stock>]) -> Result<(), NoBlend> {
    let mut seen: Vec<VesselId> = stocks.iter().flatten().map(|stock| stock.vessel).collect();
    seen.sort_unstable();
    match seen.windows(2).find(|pair| pair[0] == pair[1]) {
        Some(pair) => Err(NoBlend::Twice(state.vessels.get(pair[0]).label.clone())),
        None => Ok(()),
    }
}

/// What open works are still to take of the components, in words; none where they take nothing.
fn promised_words(tanks: &[Tank], promised: &[Volume]) -> Option<String> {
    let each = tanks.iter().zip(promised).filter(|(_, promised)| !promised.is_zero());
    let each: Vec<String> = each.map(|(tank, promised)| format!("{promised} of {}", tank.name)).collect();
    (!each.is_empty()).then(|| format!("Open works are still to take {}, which is left to them.", each.join(", ")))
}

/// What comes from each vessel: what is in place, then the transfers in their order.
fn draws(request: &BlendRequest, stocks: &[Vec<Stock>], batch: &Batch) -> Vec<Draw> {
    let in_place = (0..stocks.len()).filter(|at| !batch.transfers.contains(at) && !batch.parts[*at].is_zero());
    let mut draws = Vec::new();
    for component in in_place.chain(batch.transfers.iter().copied()) {
        let its = &stocks[component];
        draws.extend(split(batch.parts[component], its, request.barrels_first).into_iter().map(|(stock, volume)| {
            Draw {
                component,
                vessel: stock.vessel,
                volume,
                stays: (stock.gives + stock.promised).saturating_sub(volume),
                in_place: request.into == Some(stock.vessel),
            }
        }));
    }
    draws
}

/// What each vessel of a component gives. A barrel is opened only where the tanks do not hold enough, and then emptied, where a
/// tank can give the rest: what is left in part-full barrels spoils, while a tank stands as it stood.
fn split(wanted: Volume, stocks: &[Stock], barrels_first: bool) -> Vec<(Stock, Volume)> {
    let of = |kind| stocks.iter().copied().filter(move |stock: &Stock| stock.kind == kind && !stock.gives.is_zero());
    let (tanks, barrels, kegs): (Vec<Stock>, Vec<Stock>, Vec<Stock>) =
        (of(VesselType::Tank).collect(), of(VesselType::Barrel).collect(), of(VesselType::Keg).collect());
    if barrels_first {
        return emptied_first(wanted, &[barrels, tanks, kegs].concat());
    }
    let beyond = wanted.saturating_sub(tanks.iter().map(|stock| stock.gives).sum());
    let mut opened = Volume::ZERO;
    let whole: Vec<Stock> = barrels
        .iter()
        .copied()
        .take_while(|barrel| {
            let is_wanted = opened < beyond;
            opened += barrel.gives;
            is_wanted
        })
        .collect();
    let whole_give: Volume = whole.iter().map(|stock| stock.gives).sum();
    match wanted.checked_sub(whole_give) {
        Some(rest) if whole_give >= beyond => {
            let mut draws = emptied_first(rest, &tanks);
            draws.extend(whole.into_iter().map(|stock| (stock, stock.gives)));
            draws
        }
        // Not even a barrel is wanted whole beside the tanks, or the kegs are needed too.
        _ => {
            let mut draws = emptied_first(wanted.saturating_sub(beyond), &tanks);
            draws.extend(emptied_first(beyond, &[barrels, kegs].concat()));
            draws
        }
    }
}

/// What vessels give of which as many as possible are emptied, in the order given. The batch never asks for more than there is.
fn emptied_first(wanted: Volume, stocks: &[Stock]) -> Vec<(Stock, Volume)> {
    let gives: Vec<Volume> = stocks.iter().map(|stock| stock.gives).collect();
    let Some(drawn) = whole_first(wanted, &gives) else { return Vec::new() };
    let whole = drawn.whole.iter().map(|&at| (at, gives[at]));
    whole.chain(drawn.rest).map(|(at, volume)| (stocks[at], volume)).collect()
}
