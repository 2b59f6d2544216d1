//! The sulfur dioxide of a lot: what of it is molecular, when the free will be too little, and where it is least.

use std::sync::Arc;

use super::limits::TotalsNow;
use super::readings::AnalyteReview;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::jobs::tests::sulfuring::carried::CarriedSulfur;
use crate::cellar::jobs::tests::sulfuring::{FreeOutlook, TestOf};
use crate::cellar::jobs::tests::testing::Analyte;
use crate::cellar::jobs::tests::treating::Addition;
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
    /// The molecular of the free that is expected now, mg/L.
    pub molecular_mg_l: Option<f64>,
    /// The total now at the most, and what of it was given since it was tested, mg/L.
    pub total_now: Option<(f64, f64)>,
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
        (readings, totals): (&[AnalyteReview], Option<&TotalsNow>),
        at: Moment,
    ) -> SulfurReview {
        let find = |analyte| readings.iter().find(|reading| reading.analyte == analyte);
        let last = |analyte| find(analyte).map(|reading| reading.last.value);
        let balance = self.so2_balance_of(last);
        let molecular = |free| balance?.and_then(|balance| balance.molecular_mg_l(free)).ok();
        let days = find(Analyte::FreeSo2).map_or(&[][..], |free| &free.days);
        let tests: Vec<Tested> =
            days.iter().map(|day| Tested { day: day.at.days_of_epoch(), free_mg_l: day.mean }).collect();
        let additions = self.lot_rises(lot, vessels, days.last().map(|day| day.at), litres);
        let forecast = Forecast::of(&tests, &additions);
        let outlook = forecast.as_ref().ok().map(|forecast| FreeOutlook::of(forecast, self.free_wanted(balance), at));
        SulfurReview {
            model: self.practice.so2_model,
            wanted_mg_l: self.practice.molecular_so2_mg_l,
            balance,
            molecular_mg_l: outlook.map(|outlook| outlook.now.free_mg_l).and_then(molecular),
            total_now: totals.map(|totals| (totals.lot, totals.given)),
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
        let free = self.found_of_itself(vessel, Analyte::FreeSo2)?;
        let left = |since: Moment| libm::exp(-rate * at.elapsed_days(since).max(0.0));
        let given = self.given_each(vessel, Analyte::FreeSo2, free);
        let given = given.into_iter().map(|(at, rise)| rise * (1.0 - USUAL_BOUND_SHARE) * left(at));
        Some(free.value * left(free.drawn) + given.sum::<f64>())
    }
}

impl State {
    /// What raised the free of a lot: before its last day of tests what was added to it, since then what its wine carries,
    /// which may have been given to it before it came into the lot.
    fn lot_rises(&self, lot: LotId, vessels: &[VesselId], tested: Option<Moment>, litres: Volume) -> Vec<Added> {
        let additions = &self.lots.get(lot).additions;
        let Some(tested) = tested else { return rises(additions, litres) };
        let until = additions.partition_point(|added| added.at.instant() <= tested.instant());
        let mut rises = rises(&additions[..until], litres);
        let mut given: Vec<(Moment, f64)> = vessels.iter().flat_map(|&id| self.carried_since(id, tested)).collect();
        given.sort_by_key(|(at, _)| at.instant());
        let over = litres.as_litres();
        let of_a_day = given.chunk_by(|one, next| next.0.days_since(one.0) == 0).filter(|_| over > 0.0);
        rises.extend(of_a_day.map(|day| {
            let mg_l = day.iter().map(|(_, milligrams)| milligrams).sum::<f64>() / over;
            Added { day: day[0].0.days_of_epoch(), free_rise_mg_l: mg_l * (1.0 - USUAL_BOUND_SHARE) }
        }));
        rises
    }

    /// The total of a lot now, and of its vessels that were tested by themselves or treated since; none where it was never
    /// tested.
    pub(super) fn totals_now(
        &self,
        vessels: &[VesselId],
        readings: &[AnalyteReview],
        litres: Volume,
    ) -> Option<TotalsNow> {
        let tested = &readings.iter().find(|reading| reading.analyte == Analyte::TotalSo2)?.last;
        let given = vessels.iter().flat_map(|&id| self.carried_since(id, tested.at));
        let (given, over) = (given.map(|(_, milligrams)| milligrams).sum::<f64>(), litres.as_litres());
        let given = if over > 0.0 { tenths(given / over) } else { 0.0 };
        let now = |&id: &VesselId| {
            let found = self.found_of_itself(id, Analyte::TotalSo2)?;
            let total = self.total_at_most(id, found).value;
            (found.of == TestOf::Own || total > found.value).then_some((id, tenths(total)))
        };
        Some(TotalsNow { lot: tested.value + given, given, vessels: vessels.iter().filter_map(now).collect() })
    }

    /// What a vessel's wine was given after a moment, mg.
    fn carried_since(&self, id: VesselId, moment: Moment) -> Vec<(Moment, f64)> {
        let sulfur = self.vessels.get(id).wine.sulfur();
        let later =
            sulfur.into_iter().flat_map(CarriedSulfur::gifts).filter(|gift| gift.at.instant() > moment.instant());
        later.map(|gift| (gift.at, gift.milligrams(self))).filter(|(_, milligrams)| *milligrams > 0.0).collect()
    }
}

/// No test of sulfur dioxide is surer than a tenth of a milligram.
fn tenths(mg_l: f64) -> f64 {
    (mg_l * 10.0).round() / 10.0
}

/// By how much each day's additions raised the free of a lot in the mean. It is spread over the litres of the lot now, or
/// over those that were treated that day where these are more: the book knows the lot's litres of no other day.
fn rises(additions: &[Arc<Addition>], litres: Volume) -> Vec<Added> {
    let of_a_day = additions.chunk_by(|one, next| next.at.days_since(one.at) == 0);
    of_a_day.filter_map(|day| rise(day, litres)).collect()
}

fn rise(of_a_day: &[Arc<Addition>], litres: Volume) -> Option<Added> {
    let sulfur_dioxide = of_a_day.iter().filter_map(|added| Some((added, added.sulfur_dioxide?)));
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
