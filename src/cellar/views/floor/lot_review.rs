//! The review of a lot: what its barrels are, where they lie, how they taste and test, what they lack and lost.
//!
//! One pass over the vessels of the lot, whatever the number of their facts.
//!
//! **The review of a lot** (`cellar/views/floor/lot_review.rs`) is one pass over its vessels. `Model::reviewed` keeps it from frame to
//! frame until the state, the lots or the minute change. For 2,000 barrels with ten years of facts it takes about 3 ms (`cargo bench
//! --bench lot_review`; the goal is 5). Tests lie all over the memory, so `KeptTests` keeps beside each what it tells of, and only those
//! are opened that say something new; whether a mark names a fault is asked once a mark, and what a barrel lacks is estimated once.
//!
//! **The free sulfur dioxide of a lot** is forecast from the means of its days of testing; a day's additions are spread over the litres of
//! the lot today, or over those treated that day where they are more. A forecast costs as much as all else of fifty barrels, so the page
//! tells it of the eight barrels in which least is left, found by the lot's own decline; `show lot` tells it of all.
//!
//! **A trend** is the last two days of testing, not a line through them: additions and toppings lie between.

pub mod limits;
pub mod mix;
pub mod places;
pub mod readings;
pub mod sulfur;
pub mod tastes;

use self::limits::LimitReview;
use self::mix::BarrelMix;
use self::places::Places;
use self::readings::AnalyteReview;
use self::sulfur::SulfurReview;
use self::tastes::Tastes;
use crate::cellar::core::account::Entry;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, State, Vessel, VesselId};
use crate::cellar::core::table::Id;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::reckon::due::Due;
use crate::reckon::organic::Organic;
use crate::units::Volume;

/// A lot at a moment, with all that its vessels tell together.
#[derive(Clone, Debug, PartialEq)]
pub struct LotReview {
    /// Which lot.
    pub lot: LotId,
    /// The vessels that hold it, as one walks.
    pub vessels: Vec<VesselId>,
    /// How many of them are barrels.
    pub barrels: usize,
    /// What it is by the book.
    pub book: Volume,
    /// What it is by estimate: the book less what is believed to have evaporated since.
    pub estimated: Volume,
    /// Where it lies.
    pub places: Places,
    /// What its barrels are like.
    pub mix: BarrelMix,
    /// How long it has been in them.
    pub in_wood: Option<DaysInWood>,
    /// How it tastes, by the last taste of each vessel.
    pub tastes: Tastes,
    /// What was found of each thing that was ever tested, in the order of a report.
    pub readings: Vec<AnalyteReview>,
    /// How it stands to what the law allows, of what was tested.
    pub limits: Vec<LimitReview>,
    /// What is known of it beside its grapes, where all of them are organic.
    pub organic: Option<Organic>,
    /// Its sulfur dioxide.
    pub sulfur: SulfurReview,
    /// When sulfur dioxide was last added to it.
    pub sulfured: Option<Moment>,
    /// The vessels that are held.
    pub held: Vec<VesselId>,
    /// The vessels whose wine is suspect.
    pub suspect: Vec<VesselId>,
    /// How many vessels are to be topped now.
    pub due: usize,
    /// How many should have been.
    pub over: usize,
    /// What was found to have evaporated of it so far, in the vessels that it has left too.
    pub evaporated: Volume,
}

/// For how many days the wine of a lot's barrels has been in them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DaysInWood {
    /// The mean over its litres.
    pub mean: f64,
    /// Of the barrel that was filled last.
    pub least: i64,
    /// Of the barrel that was filled first.
    pub most: i64,
}

impl LotReview {
    /// How many vessels hold the lot that are no barrels.
    #[must_use]
    pub fn other_vessels(&self) -> usize {
        self.vessels.len() - self.barrels
    }
}

impl State {
    /// The vessels that hold a lot, as one walks.
    #[must_use]
    pub fn vessels_of(&self, lot: LotId) -> Vec<VesselId> {
        self.in_walking_order().filter(|&id| self.vessels.get(id).lot == Some(lot)).collect()
    }

    /// A lot reviewed at a moment.
    #[must_use]
    pub fn review(&self, lot: LotId, at: Moment) -> LotReview {
        let evaporated = self.evaporated_by_lot()[lot.index()];
        self.review_in(lot, self.vessels_of(lot), evaporated, at)
    }

    /// Every lot reviewed, in the order in which they were opened, in two passes over all vessels however many lots there
    /// are.
    #[must_use]
    pub fn reviews(&self, at: Moment) -> Vec<LotReview> {
        let mut vessels: Vec<Vec<VesselId>> = vec![Vec::new(); self.lots.len()];
        for id in self.in_walking_order() {
            if let Some(lot) = self.vessels.get(id).lot {
                vessels[lot.index()].push(id);
            }
        }
        let found = vessels.into_iter().zip(self.evaporated_by_lot());
        let lots = self.lots.iter().map(|(lot, _)| lot);
        lots.zip(found).map(|(lot, (vessels, evaporated))| self.review_in(lot, vessels, evaporated, at)).collect()
    }

    /// What evaporated of each lot in every vessel that ever held it.
    fn evaporated_by_lot(&self) -> Vec<Volume> {
        let mut sums = vec![Volume::ZERO; self.lots.len()];
        for (_, vessel) in self.vessels.iter() {
            for posting in vessel.postings.iter() {
                if let Some(lot) = posting.lot {
                    sums[lot.index()] += posting.account.sum(Entry::Evaporation);
                }
            }
        }
        sums
    }

    fn review_in(&self, lot: LotId, vessels: Vec<VesselId>, evaporated: Volume, at: Moment) -> LotReview {
        let (mut counts, mut places, mut mix, mut days) =
            (Counts::default(), Places::default(), BarrelMix::default(), WoodDays::default());
        let mut tastes = tastes::Gathering::default();
        let mut tests = readings::Gathering::of(&self.lots.get(lot).tests);
        for &id in &vessels {
            let vessel = self.vessels.get(id);
            counts.add(self, id, vessel, at);
            places.add(self, vessel);
            tastes.add(self, id, vessel);
            tests.add(id, vessel);
            if vessel.vessel_type == VesselType::Barrel {
                mix.add(vessel);
                days.add(vessel, at);
            }
        }
        mix.sort();
        let readings = tests.finish();
        let totals = self.totals_now(&vessels, &readings, counts.book);
        let organic = self.organic_in(&vessels, limits::sugar(&readings)).map(|organic| Organic {
            total_mg_l: totals.as_ref().map(|totals| totals.lot).or(organic.total_mg_l),
            ..organic
        });
        LotReview {
            lot,
            barrels: counts.barrels,
            book: counts.book,
            estimated: counts.estimated,
            places,
            mix,
            in_wood: days.finish(),
            tastes: tastes.finish(),
            limits: limits::judged(
                &self.practice,
                self.lots.get(lot).colour,
                organic.is_some(),
                &readings,
                totals.as_ref(),
            ),
            sulfur: self.review_sulfur(lot, &vessels, counts.book, (&readings, totals.as_ref()), at),
            organic,
            readings,
            sulfured: self.sulfured(lot, &vessels),
            held: counts.held,
            suspect: counts.suspect,
            due: counts.due,
            over: counts.over,
            evaporated,
            vessels,
        }
    }

    /// When sulfur dioxide was last added to a lot, or to wine that came into it.
    fn sulfured(&self, lot: LotId, vessels: &[VesselId]) -> Option<Moment> {
        let mut latest_first = self.lots.get(lot).additions.iter().rev();
        let to_it = latest_first.find(|added| added.sulfur_dioxide.is_some()).map(|added| added.at);
        let carried = vessels.iter().filter_map(|&id| self.vessels.get(id).wine.sulfur()?.last_given());
        carried.chain(to_it).max_by_key(|at| at.instant())
    }
}

/// What is counted vessel by vessel.
#[derive(Default)]
struct Counts {
    barrels: usize,
    book: Volume,
    estimated: Volume,
    held: Vec<VesselId>,
    suspect: Vec<VesselId>,
    due: usize,
    over: usize,
}

impl Counts {
    fn add(&mut self, state: &State, id: VesselId, vessel: &Vessel, at: Moment) {
        let book = vessel.volume();
        let missing = state.headspace(vessel, at).missing;
        let beyond_the_book = missing.saturating_sub(vessel.book_headspace());
        self.book += book;
        self.estimated += book.saturating_sub(beyond_the_book);
        self.barrels += usize::from(vessel.vessel_type == VesselType::Barrel);
        if vessel.held.is_some() {
            self.held.push(id);
        }
        if state.is_suspect(vessel) {
            self.suspect.push(id);
        }
        match state.due_lacking(vessel, missing, at) {
            Some(Due::Due) => self.due += 1,
            Some(Due::Over) => self.over += 1,
            Some(Due::Fine) | None => {}
        }
    }
}

/// Days in wood while they are summed: microlitre days, exact.
#[derive(Default)]
struct WoodDays {
    litres: u128,
    litre_days: i128,
    bounds: Option<(i64, i64)>,
}

impl WoodDays {
    fn add(&mut self, barrel: &Vessel, at: Moment) {
        let Some(filled) = barrel.filled else { return };
        let days = at.days_since(filled);
        let ul = barrel.volume().as_ul();
        self.litres += u128::from(ul);
        self.litre_days += i128::from(ul) * i128::from(days);
        let (least, most) = self.bounds.unwrap_or((days, days));
        self.bounds = Some((least.min(days), most.max(days)));
    }

    fn finish(self) -> Option<DaysInWood> {
        let (least, most) = self.bounds?;
        (self.litres > 0).then(|| DaysInWood { mean: self.litre_days as f64 / self.litres as f64, least, most })
    }
}
