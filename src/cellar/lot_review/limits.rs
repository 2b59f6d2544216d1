//! How a lot stands to what the law allows, by the rules that the house is held to.

use super::readings::AnalyteReview;
use crate::cellar::lot::Colour;
use crate::cellar::practice::Practice;
use crate::cellar::state::VesselId;
use crate::cellar::testing::Analyte;
use crate::reckon::limits::{Judgement, Kind, Limit, Subject, limits};

/// A limit, and how a lot and its vessels stand to it.
#[derive(Clone, Debug, PartialEq)]
pub struct LimitReview {
    /// The limit.
    pub limit: Limit,
    /// The last result of the lot, and how that is judged.
    pub last: (f64, Judgement),
    /// The vessels whose own last results are amber or red, the worst first.
    pub beyond_fine: Vec<(VesselId, f64, Judgement)>,
}

impl LimitReview {
    /// The worst that is told of the lot or of one of its vessels.
    #[must_use]
    pub fn worst(&self) -> Judgement {
        let of_vessels = self.beyond_fine.iter().map(|&(.., judgement)| judgement);
        of_vessels.max().unwrap_or(Judgement::Fine).max(self.last.1)
    }
}

/// The limits of those things that were tested in a lot: by the house's rules, or by both sides where it has not said.
pub(super) fn judged(practice: &Practice, colour: Colour, readings: &[AnalyteReview]) -> Vec<LimitReview> {
    let find = |analyte| readings.iter().find(|reading| reading.analyte == analyte);
    let kind = match colour {
        Colour::Red => Kind::Red,
        Colour::White | Colour::Rose => Kind::WhiteOrRose,
    };
    let sugar = find(Analyte::Sugar).map(|sugar| sugar.last.value);
    let of_each = practice.sides().iter().flat_map(|&rules| {
        let limits = limits(rules.into(), kind, sugar);
        [limits.volatile_acidity, limits.total_sulfur_dioxide]
    });
    of_each.filter_map(|limit| find(analyte(limit.subject)).and_then(|tested| judge(limit, tested))).collect()
}

const fn analyte(subject: Subject) -> Analyte {
    match subject {
        Subject::VolatileAcidity => Analyte::VolatileAcidity,
        Subject::TotalSulfurDioxide => Analyte::TotalSo2,
    }
}

/// None of a result that is no value; but such a test is never taken in.
fn judge(limit: Limit, tested: &AnalyteReview) -> Option<LimitReview> {
    let judged = |value| limit.judge(value).ok();
    let own = tested.own.iter().filter_map(|&(id, value)| Some((id, value, judged(value)?)));
    let mut beyond_fine: Vec<_> = own.filter(|&(.., judgement)| judgement > Judgement::Fine).collect();
    // The worse judgement is of the higher value.
    beyond_fine.sort_by(|a, b| b.1.total_cmp(&a.1));
    Some(LimitReview { limit, last: (tested.last.value, judged(tested.last.value)?), beyond_fine })
}
