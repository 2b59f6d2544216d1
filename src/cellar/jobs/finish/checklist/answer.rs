//! What tests, tastes and holds answer of an item.
//!
//! The vessel that stands worst speaks for the lot. What a move of wine changes (turbidity, oxygen, free sulfur dioxide) is
//! answered only by tests of the wine where it lies now; the rest by the last test of its lot too. A test of the wine before
//! something happened that changes what it found answers no longer (`lapse.rs`).

use super::Standing;
use super::item::{OXYGEN_WANTED_MG_L, TradeItem, bright_ntu};
use super::lapse::Lapse;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::jobs::floor::practice::Practice;
use crate::cellar::jobs::tests::sulfuring::{Found, SulfurKnown, TestOf};
use crate::cellar::jobs::tests::testing::Analyte;
use crate::reckon::bottling::{Alcohol, OddAlcohol, StatedAlcohol, label_alcohol};
use crate::reckon::limits::{Judgement, Limit, Limits, Subject, limits};
use crate::units::{figure, figure_to};

/// What was found of an item.
#[derive(Clone, Debug, PartialEq)]
pub struct Answer {
    /// How the lot stands by it.
    pub standing: Standing,
    /// What was found, in words.
    pub words: Option<String>,
    /// In which vessel.
    pub vessel: Option<VesselId>,
    /// When.
    pub at: Option<Moment>,
    /// Whether a person's word will do while nothing was found.
    pub may_be_ticked: bool,
}

impl Default for Answer {
    fn default() -> Answer {
        Answer { standing: Standing::NotTested, words: None, vessel: None, at: None, may_be_ticked: true }
    }
}

/// What tests say of an analyte of a vessel's wine.
#[derive(Clone, Copy)]
enum Read {
    /// It was found in the wine as it is.
    Found(Found),
    /// It was found in the wine as it was before something happened to it.
    Outdated(Found, Lapse),
    /// It was never found.
    Untested,
}

impl Read {
    /// What was found in the wine as it is.
    fn found(self) -> Option<Found> {
        if let Read::Found(found) = self { Some(found) } else { None }
    }
}

/// How an analyte is held against a rule.
struct Asked<'a> {
    /// What of it is worse, as a number that grows.
    badness: &'a dyn Fn(f64) -> f64,
    /// Whether a value will do.
    holds: &'a dyn Fn(f64) -> bool,
    /// The value for people.
    words: &'a dyn Fn(f64) -> String,
}

impl State {
    /// What is known of an item of a lot in some vessels. `stated` is what the person said beside it: at the item
    /// `alcohol` what stands on the label.
    pub(super) fn answered(&self, lot: LotId, vessels: &[VesselId], item: TradeItem, stated: Option<f64>) -> Answer {
        let colour = self.lots.get(lot).colour;
        let most = |analyte: Analyte, limit: f64| {
            let unit = analyte.unit();
            let words = |value: f64| format!("{} {unit}", figure(value));
            let read = |id| self.read(id, analyte);
            judged(vessels, read, &Asked { badness: &|it| it, holds: &|it| it <= limit, words: &words })
        };
        match item {
            TradeItem::VolatileAcidity => self.lawful(
                lot,
                vessels,
                |id| self.read(id, Analyte::VolatileAcidity),
                |limits| limits.volatile_acidity,
            ),
            TradeItem::TotalSulfur => {
                let total = |id| self.total(id);
                self.with_what_was_given(self.lawful(lot, vessels, total, |limits| limits.total_sulfur_dioxide))
            }
            TradeItem::Dry => most(Analyte::Sugar, self.practice.dry_g_l),
            TradeItem::Malic => most(Analyte::Malic, self.practice.malic_done_g_l),
            TradeItem::Turbidity => most(Analyte::Turbidity, bright_ntu(&self.practice, colour)),
            TradeItem::Oxygen => {
                let words = |it: f64| {
                    let more = if it > OXYGEN_WANTED_MG_L { ", above wanted" } else { "" };
                    format!("{} mg/L{more}", figure(it))
                };
                let asked =
                    Asked { badness: &|it| it, holds: &|it| it <= self.practice.most_oxygen_mg_l, words: &words };
                judged(vessels, |id| self.read(id, Analyte::Oxygen), &asked)
            }
            TradeItem::MolecularSulfur => {
                let words = |it: f64| format!("{} mg/L", figure_to(2, it));
                let wanted = self.practice.molecular_so2_mg_l;
                let asked = Asked { badness: &|it| -it, holds: &|it| it >= wanted, words: &words };
                judged(vessels, |id| self.molecular(id), &asked)
            }
            TradeItem::Alcohol => self.alcohol(vessels, stated),
            TradeItem::Taste => self.tasted(vessels),
            TradeItem::Holds => self.unheld(vessels),
            TradeItem::Organic => self.organic_answer(vessels),
            TradeItem::Allergens => self.allergens(vessels),
            TradeItem::Ingredients => self.ingredients(vessels),
            TradeItem::Heat
            | TradeItem::Cold
            | TradeItem::Claims
            | TradeItem::Label
            | TradeItem::DryGoods
            | TradeItem::Filterability
            | TradeItem::Microbiology
            | TradeItem::CarbonDioxide => Answer::default(),
        }
    }

    /// The last result of a vessel's wine, and whether it still tells of it.
    fn read(&self, id: VesselId, analyte: Analyte) -> Read {
        let moves = matches!(analyte, Analyte::Turbidity | Analyte::Oxygen | Analyte::FreeSo2);
        let tells = |found: &Found| !moves || found.of != TestOf::Lot;
        let last = || self.last_found(id, analyte).filter(tells);
        let Some(lapse) = self.vessels.get(id).last_outdating(analyte) else {
            return last().map_or(Read::Untested, Read::Found);
        };
        match (self.last_found_since(id, analyte, lapse.at).filter(tells), last()) {
            (Some(found), _) => Read::Found(found),
            (None, Some(before)) => Read::Outdated(before, lapse),
            (None, None) => Read::Untested,
        }
    }

    /// The total sulfur dioxide of a vessel, as tested, with what was given since.
    fn total(&self, id: VesselId) -> Read {
        match self.read(id, Analyte::TotalSo2) {
            Read::Found(tested) => Read::Found(self.total_at_most(id, tested)),
            other => other,
        }
    }

    /// The highest total of some vessels, mg/L; none where one of them is not tested as it is.
    pub(super) fn highest_total(&self, vessels: &[VesselId]) -> Option<f64> {
        let totals: Option<Vec<f64>> = vessels.iter().map(|&id| Some(self.total(id).found()?.value)).collect();
        totals?.into_iter().reduce(f64::max)
    }

    /// What was last found of the wine that a vessel holds, if it still tells of it.
    #[must_use]
    pub(in crate::cellar) fn known_of(&self, id: VesselId, analyte: Analyte) -> Option<f64> {
        self.read(id, analyte).found().map(|found| found.value)
    }

    /// An answer of the total with what of it was given since it was tested: `112 mg/L (88 on 2 Sep + 24 given since)`.
    fn with_what_was_given(&self, answer: Answer) -> Answer {
        let tested = answer.vessel.and_then(|id| Some((id, self.read(id, Analyte::TotalSo2).found()?)));
        let given = tested.map(|(id, tested)| (tested, self.total_at_most(id, tested).value - tested.value));
        let Some((tested, given)) = given.filter(|(_, given)| *given >= 0.5) else { return answer };
        let day = tested.drawn.show_day();
        let of_it = format!(" ({:.0} on {day} + {given:.0} given since)", tested.value);
        Answer { words: answer.words.map(|words| words + &of_it), ..answer }
    }

    /// The molecular sulfur dioxide at the last test of the free, by the house's model.
    fn molecular(&self, id: VesselId) -> Read {
        let free = match self.read(id, Analyte::FreeSo2) {
            Read::Found(free) => free,
            other => return other,
        };
        let ph = self.read(id, Analyte::Ph);
        if let Read::Outdated(..) = ph {
            return ph;
        }
        let found = |analyte| self.read(id, analyte).found();
        let known = SulfurKnown {
            ph: ph.found(),
            alcohol: found(Analyte::Alcohol),
            temperature: found(Analyte::Temperature),
            ..SulfurKnown::default()
        };
        let balance = known.balance(self.practice.so2_model);
        match balance.map(|balance| balance.molecular_mg_l(free.value)) {
            Ok(Ok(value)) => Read::Found(Found { value, ..free }),
            _ => Read::Untested,
        }
    }

    /// The least sugar of some vessels, g/L, nought where one is not tested: what may be dry is held to the limits of dry
    /// wine, which are stricter.
    #[must_use]
    pub fn least_sugar(&self, vessels: &[VesselId]) -> Option<f64> {
        let sugars = vessels.iter().map(|&id| self.read(id, Analyte::Sugar).found().map_or(0.0, |found| found.value));
        sugars.min_by(f64::total_cmp)
    }

    fn lawful(
        &self,
        lot: LotId,
        vessels: &[VesselId],
        read: impl Fn(VesselId) -> Read,
        pick: fn(Limits) -> Limit,
    ) -> Answer {
        let colour = self.lots.get(lot).colour;
        let sugar = self.least_sugar(vessels);
        let sides = self.practice.sides();
        let law: Vec<Limit> = sides.iter().map(|&rules| pick(limits(rules.into(), colour.into(), sugar))).collect();
        let allows = |value: f64| law.iter().all(|limit| limit.judge(value).is_ok_and(|it| it < Judgement::Red));
        // As laboratories report them: total sulfur dioxide to the milligram, a tenth only where it stands beside a limit.
        let words = |value: f64| match law.first().map(|limit| limit.subject) {
            Some(subject @ Subject::VolatileAcidity) => {
                let read = self.read_as(Analyte::of_subject(subject));
                read.with_unit(read.fixed(value))
            }
            _ => format!("{} mg/L", figure((value * 10.0).round() / 10.0)),
        };
        judged(vessels, read, &Asked { badness: &|it| it, holds: &allows, words: &words })
    }

    fn alcohol(&self, vessels: &[VesselId], stated: Option<f64>) -> Answer {
        // A tick says nothing without what stands on the label.
        let Some(label_pct) = stated else { return Answer { may_be_ticked: false, ..Answer::default() } };
        let holds = |found: f64| alcohol_holds(&self.practice, label_pct, found);
        let words = |found: f64| {
            let why =
                why_not_alcohol(&self.practice, label_pct, found).map_or_else(String::new, |why| format!(". {why}"));
            format!("{} % vol found, {} on the label{why}", figure(found), figure(label_pct))
        };
        let asked = Asked { badness: &|found: f64| (found - label_pct).abs(), holds: &holds, words: &words };
        let answer = judged(vessels, |id| self.read(id, Analyte::Alcohol), &asked);
        Answer { may_be_ticked: false, ..answer }
    }

    fn tasted(&self, vessels: &[VesselId]) -> Answer {
        let mut answer = Answer::default();
        let mut tasted = 0;
        for &id in vessels {
            let vessel = self.vessels.get(id);
            let of_this_wine = |at: Moment| vessel.filled.is_some_and(|filled| at.instant() >= filled.instant());
            let Some(taste) = vessel.taste.as_deref().filter(|taste| of_this_wine(taste.at)) else { continue };
            tasted += 1;
            if let Some(fault) = self.faults_among(&taste.marks).first() {
                return Answer {
                    standing: Standing::NotMet,
                    words: Some(fault.mark.to_string()),
                    vessel: Some(id),
                    at: Some(taste.at),
                    may_be_ticked: true,
                };
            }
            if answer.at.is_none_or(|at| at.instant() > taste.at.instant()) {
                answer.at = Some(taste.at);
            }
        }
        if tasted > 0 {
            answer.standing = Standing::Met;
            answer.words = Some(format!("{tasted} of {} tasted", vessels.len()));
        }
        answer
    }

    fn unheld(&self, vessels: &[VesselId]) -> Answer {
        let first = vessels.iter().find_map(|&id| Some((id, self.vessels.get(id).held.as_deref()?)));
        match first {
            Some((id, hold)) => Answer {
                standing: Standing::NotMet,
                words: Some(hold.why.as_str().to_owned()),
                vessel: Some(id),
                at: Some(hold.since),
                may_be_ticked: true,
            },
            None if vessels.is_empty() => Answer::default(),
            None => Answer { standing: Standing::Met, ..Answer::default() },
        }
    }
}

/// An alcohol on a label beside what was found, by each of the rules that the house is held to.
fn alcohol_of_label(
    practice: &Practice,
    label_pct: f64,
    found_pct: f64,
) -> impl Iterator<Item = Result<Alcohol, OddAlcohol>> {
    practice
        .sides()
        .iter()
        .map(move |&rules| label_alcohol(StatedAlcohol { label_pct, found_pct, rules, wider: false }))
}

/// Whether it is within all of their figures.
fn alcohol_holds(practice: &Practice, label_pct: f64, found_pct: f64) -> bool {
    alcohol_of_label(practice, label_pct, found_pct).all(|judged| judged.is_ok_and(|it| it.is_within()))
}

/// The first figure that it is not within, in a sentence.
fn why_not_alcohol(practice: &Practice, label_pct: f64, found_pct: f64) -> Option<String> {
    alcohol_of_label(practice, label_pct, found_pct).find_map(|judged| match judged {
        Ok(judged) if judged.is_within() => None,
        Ok(judged) => judged.words().into_iter().next(),
        Err(odd) => Some(odd.to_string()),
    })
}

/// The worst of some vessels. One that will not do goes before one that is not tested, and that before those that are.
fn judged(vessels: &[VesselId], read: impl Fn(VesselId) -> Read, asked: &Asked<'_>) -> Answer {
    let mut worst: Option<(bool, f64, VesselId, Found)> = None;
    let (mut untested, mut outdated) = (None, None);
    for &id in vessels {
        let found = match read(id) {
            Read::Found(found) => found,
            Read::Outdated(found, lapse) => {
                outdated = outdated.or_else(|| Some(test_again(id, found, lapse)));
                continue;
            }
            Read::Untested => {
                untested = untested.or(Some(id));
                continue;
            }
        };
        let (fails, badness) = (!(asked.holds)(found.value), (asked.badness)(found.value));
        if worst.as_ref().is_none_or(|&(failed, bad, ..)| (fails, badness) > (failed, bad)) {
            worst = Some((fails, badness, id, found));
        }
    }
    let fails = worst.as_ref().is_some_and(|&(fails, ..)| fails);
    match (worst, untested) {
        _ if !fails && outdated.is_some() => outdated.unwrap_or_default(),
        (None, _) => Answer::default(),
        (Some((false, ..)), Some(id)) => Answer { vessel: Some(id), ..Answer::default() },
        (Some((fails, _, id, found)), _) => Answer {
            standing: if fails { Standing::NotMet } else { Standing::Met },
            words: Some((asked.words)(found.value)),
            vessel: Some(id),
            at: Some(found.at),
            may_be_ticked: true,
        },
    }
}

/// What was found in a wine before something happened to it: `test again: fined 20 Nov, tested 12 Nov`.
fn test_again(id: VesselId, found: Found, Lapse { by, at }: Lapse) -> Answer {
    let known = if found.drawn == found.at { "tested" } else { "drawn" };
    let words = format!("test again: {} {}, {known} {}", by.word(), at.show_day(), found.drawn.show_day());
    Answer { words: Some(words), vessel: Some(id), ..Answer::default() }
}
