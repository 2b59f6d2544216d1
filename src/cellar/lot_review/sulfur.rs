//! The sulfur dioxide of a lot: what of it is molecular, when the free will be too little, and where it is least.

use std::sync::Arc;

use super::readings::AnalyteReview;
use crate::cellar::moment::Moment;
use crate::cellar::state::{LotId, State, VesselId};
use crate::cellar::sulfuring::FreeOutlook;
use crate::cellar::testing::Analyte;
use crate::cellar::treating::{Addition, sulfur_dioxide_in};
use crate::reckon::sulfur::decline::PUBLISHED_RATE;
use crate::reckon::sulfur::{Added, Balance, Forecast, Model, SulfurError, Tested, USUAL_BOUND_SHARE};
use crate::units::{Mass, Volume};

/// Of so many vessels, those in which the free is least, the forecast is told. It takes as long as all else that is told
/// of a vessel many times over.
const LEAST_TOLD: usize = 8;

/// The sulfur dioxide of a lot.
#[derive(Clone, Debug, PartialEq)]
pub struct SulfurReview {
    /// By which model the molecular is reckoned.
    pub model: Model,
    /// The molecular that the house wants, mg/L.
    pub wanted_mg_l: f64,
    /// How much of the free is molecular by the last results of the lot; none where no pH is known.
    pub balance: Option<Result<Balance, SulfurError>>,
    /// The molecular at the last test of the free, mg/L.
    pub molecular_mg_l: Option<f64>,
    /// The free of the whole lot. A day on which it was tested counts as one test, with the mean of that day's results.
    pub forecast: Result<Forecast, SulfurError>,
    /// What that says now.
    pub outlook: Option<FreeOutlook>,
    /// What is expected of the vessels in which the free is least, the least first.
    pub least: Vec<(VesselId, FreeOutlook)>,
    /// The days on which sulfur dioxide was added, with what the free of the lot rose by in the mean.
    pub additions: Vec<Added>,
}

impl State {
    /// The sulfur dioxide of a lot in some vessels, of which there are so many litres.
    pub(super) fn review_sulfur(
        &self,
        lot: LotId,
        vessels: &[VesselId],
        litres: Volume,
        readings: &[AnalyteReview],
        at: Moment,
    ) -> SulfurReview {
        let find = |analyte| readings.iter().find(|reading| reading.analyte == analyte);
        let last = |analyte| find(analyte).map(|reading| reading.last.value);
        let balance = self.so2_balance_of(last);
        let molecular = |free| balance?.and_then(|balance| balance.molecular_mg_l(free)).ok();
        let days = find(Analyte::FreeSo2).map_or(&[][..], |free| &free.days);
        let tests: Vec<Tested> =
            days.iter().map(|day| Tested { day: day.at.days_of_epoch(), free_mg_l: day.mean }).collect();
        let additions = rises(&self.lots.get(lot).additions, litres);
        let forecast = Forecast::of(&tests, &additions);
        let outlook = forecast.as_ref().ok().map(|forecast| FreeOutlook::of(forecast, self.free_wanted(balance), at));
        SulfurReview {
            model: self.practice.so2_model,
            wanted_mg_l: self.practice.molecular_so2_mg_l,
            balance,
            molecular_mg_l: last(Analyte::FreeSo2).and_then(molecular),
            least: self.least_free(vessels, outlook.as_ref(), at),
            forecast,
            outlook,
            additions,
        }
    }

    /// What is expected of the vessels in which the free is least against what is wanted there. Which these are is
    /// found with the decline of the whole lot, which is quick; what is said of them is by their own.
    fn least_free(
        &self,
        vessels: &[VesselId],
        of_lot: Option<&FreeOutlook>,
        at: Moment,
    ) -> Vec<(VesselId, FreeOutlook)> {
        let rate = of_lot.map_or(PUBLISHED_RATE, |outlook| outlook.rate_a_day);
        let wanted = of_lot.and_then(|outlook| outlook.floor_mg_l).unwrap_or(1.0);
        let part_of_wanted = |&id: &VesselId| {
            let wanted = self.free_wanted(self.so2_balance(id)).unwrap_or(wanted);
            Some((self.rough_free(id, rate, at)? / wanted, id))
        };
        let mut parts: Vec<(f64, VesselId)> = vessels.iter().filter_map(part_of_wanted).collect();
        // Sorting keeps the order of the walk among what is equal.
        parts.sort_by(|a, b| a.0.total_cmp(&b.0));
        let few = parts.into_iter().take(LEAST_TOLD);
        let mut least: Vec<(VesselId, FreeOutlook)> =
            few.filter_map(|(_, id)| Some((id, self.free_so2_outlook(id, at).ok()?))).collect();
        least.sort_by(|(_, a), (_, b)| a.part_of_wanted(wanted).total_cmp(&b.part_of_wanted(wanted)));
        least
    }

    /// The free of a vessel by its last test and what was added since, at one rate for all, mg/L.
    fn rough_free(&self, vessel: VesselId, rate: f64, at: Moment) -> Option<f64> {
        let (free, test) = self.last_reading(vessel, Analyte::FreeSo2)?;
        let left = |since: Moment| libm::exp(-rate * at.elapsed_days(since).max(0.0));
        let latest_first = self.vessels.get(vessel).additions.iter().rev();
        let later = latest_first.take_while(|added| added.at.instant() > test.at.instant());
        let added = later.filter_map(|added| Some(added.free_rise()?.free_rise_mg_l * left(added.at)));
        Some(free * left(test.at) + added.sum::<f64>())
    }
}

/// By how much each day's additions raised the free of a lot in the mean. It is spread over the litres of the lot now, or
/// over those that were treated that day where these are more: the book knows the lot's litres of no other day.
fn rises(additions: &[Arc<Addition>], litres: Volume) -> Vec<Added> {
    let of_a_day = additions.chunk_by(|one, next| next.at.days_since(one.at) == 0);
    of_a_day.filter_map(|day| rise(day, litres)).collect()
}

fn rise(of_a_day: &[Arc<Addition>], litres: Volume) -> Option<Added> {
    let sulfur_dioxide =
        of_a_day.iter().filter_map(|added| Some((added, sulfur_dioxide_in(&added.material, added.amount)?)));
    let (mut amount, mut treated, mut first) = (Mass::ZERO, Vec::new(), None);
    for (added, mass) in sulfur_dioxide {
        amount += mass;
        treated.push((added.vessel, added.wine));
        first.get_or_insert(added.at);
    }
    treated.sort_unstable_by_key(|&(vessel, _)| vessel);
    treated.dedup_by_key(|&mut (vessel, _)| vessel);
    let treated: Volume = treated.into_iter().map(|(_, wine)| wine).sum();
    let over = litres.max(treated).as_litres();
    let total = amount.as_grams() * 1e3 / over;
    (over > 0.0).then_some(Added { day: first?.days_of_epoch(), free_rise_mg_l: total * (1.0 - USUAL_BOUND_SHARE) })
}
