//! How a lot stands to what the law allows, by the rules that the house is held to.

use super::readings::AnalyteReview;
use crate::cellar::core::state::VesselId;
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::floor::practice::Practice;
use crate::cellar::jobs::tests::testing::{Analyte, ReadAs};
use crate::reckon::limits::{Judgement, Kind, Limit, Subject, limits};
use crate::reckon::organic::total_figures;

/// A limit, and how a lot and its vessels stand to it.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitReview {
    /// The limit.
    pub limit: Limit,
    /// The last result of the lot, of sulfur dioxide with all that was given since, and how that is judged.
    pub last: (f64, Judgement),
    /// What of it was given since it was tested.
    pub given_since: f64,
    /// The vessels that are amber or red by their own last results, the worst first.
    pub beyond_fine: Vec<(VesselId, f64, Judgement)>,
}

/// The total sulfur dioxide of a lot now: as tested, and all that was given since.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct TotalsNow {
    /// Of the lot, mg/L.
    pub lot: f64,
    /// What of that was given since it was tested.
    pub given: f64,
    /// Of the vessels that were tested by themselves or treated since, mg/L.
    pub vessels: Vec<(VesselId, f64)>,
}

impl LimitReview {
    /// The same in figures as a house reads them.
    #[must_use]
    pub fn read(&self, read: ReadAs) -> LimitReview {
        let vessels = self.beyond_fine.iter().map(|&(id, value, judgement)| (id, read.value(value), judgement));
        LimitReview {
            limit: Limit { most: read.value(self.limit.most), ..self.limit },
            last: (read.value(self.last.0), self.last.1),
            given_since: self.given_since,
            beyond_fine: vessels.collect(),
        }
    }

    /// The worst that is told of the lot or of one of its vessels.
    #[must_use]
    pub fn worst(&self) -> Judgement {
        let of_vessels = self.beyond_fine.iter().map(|&(.., judgement)| judgement);
        of_vessels.max().unwrap_or(Judgement::Fine).max(self.last.1)
    }
}

/// The last sugar of a lot, g/L.
pub(super) fn sugar(readings: &[AnalyteReview]) -> Option<f64> {
    readings.iter().find(|reading| reading.analyte == Analyte::Sugar).map(|sugar| sugar.last.value)
}

/// The limits of those things that were tested in a lot: by the house's rules, or by both sides where it has not said.
pub(super) fn judged(
    practice: &Practice,
    colour: Colour,
    is_organic: bool,
    readings: &[AnalyteReview],
    totals: Option<&TotalsNow>,
) -> Vec<LimitReview> {
    let find = |analyte| readings.iter().find(|reading| reading.analyte == analyte);
    let kind = match colour {
        Colour::Red => Kind::Red,
        Colour::White | Colour::Rose => Kind::WhiteOrRose,
    };
    let sugar = sugar(readings);
    let of_each = practice.sides().iter().flat_map(|&rules| {
        let totals = total_figures(rules.into(), kind, sugar, is_organic);
        [limits(rules.into(), kind, sugar).volatile_acidity].into_iter().chain(totals)
    });
    let judge = |limit: Limit| match (limit.subject, totals) {
        (Subject::TotalSulfurDioxide, Some(totals)) => judge(limit, totals.lot, totals.given, &totals.vessels),
        (subject, _) => {
            let tested = find(Analyte::of_subject(subject))?;
            judge(limit, tested.last.value, 0.0, &tested.own)
        }
    };
    of_each.filter_map(judge).collect()
}

/// None of a result that is no value; but such a test is never taken in.
fn judge(limit: Limit, last: f64, given_since: f64, own: &[(VesselId, f64)]) -> Option<LimitReview> {
    let judged = |value| limit.judge(value).ok();
    let own = own.iter().filter_map(|&(id, value)| Some((id, value, judged(value)?)));
    let mut beyond_fine: Vec<_> = own.filter(|&(.., judgement)| judgement > Judgement::Fine).collect();
    // The worse judgement is of the higher value.
    beyond_fine.sort_by(|a, b| b.1.total_cmp(&a.1));
    Some(LimitReview { limit, last: (last, judged(last)?), given_since, beyond_fine })
}
