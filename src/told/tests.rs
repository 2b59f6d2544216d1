//! What is said of tests and of sulfur dioxide.

use crate::cellar::core::fact::What;
use crate::cellar::core::state::State;
use crate::cellar::jobs::tests::testing::{Analyte, Tested};
use crate::cellar::jobs::tests::treating::Treated;
use crate::reckon::limits::AMBER_SHARE;
use crate::reckon::sulfur::bound_words;
use crate::units::{
    Mass, Volume, all_of, by_count, counted, figure, litres, poured, said_dose, three_figures, weighed,
};

/// What stands below limits by law.
#[must_use]
pub fn for_information() -> String {
    format!(
        "For information, of still wine: laws change, and sweet, sparkling, fortified and organic wines have other limits. Amber \
         from {:.0} % of a limit (common practice).",
        AMBER_SHARE * 100.0
    )
}

/// How many days ago a test was made.
#[must_use]
pub fn ago(days: i64) -> String {
    if days == 0 { "today".to_owned() } else { format!("{} ago", counted(days, "day")) }
}

/// What is taken to be bound of an addition of sulfur dioxide, a share, and what to do since it is only taken so.
#[must_use]
pub fn bound_at_once(share: f64) -> String {
    format!("Of an addition {} is taken to be bound at once: test before and some days after.", bound_words(share))
}

fn addition(what: &What) -> Option<&Treated> {
    if let What::Treated(treated) = what { Some(treated) } else { None }
}

/// What additions of one material are of the wine that they go into: the dose, and of sulfur dioxide how much of it that is; none where
/// nothing is added. Each vessel is as the state has it.
#[must_use]
pub fn dose_given(state: &State, whats: &[What]) -> Option<String> {
    let treated: Vec<&Treated> = whats.iter().filter_map(addition).collect();
    let wine: Volume = treated.iter().filter_map(|it| Some(state.vessels.by_label(it.vessel.as_str())?.volume())).sum();
    let (amount, solution): (Mass, Volume) =
        (treated.iter().map(|it| it.amount).sum(), treated.iter().map(|it| it.solution).sum());
    if wine.is_zero() {
        return None;
    }
    let of_wine = |grams: f64| said_dose(grams / wine.as_litres());
    let dose = if amount.is_zero() {
        format!("{} mL/hL", figure(three_figures(solution.as_litres() / wine.as_litres() * 1e5)))
    } else {
        of_wine(amount.as_grams())
    };
    let sulfur = treated.iter().map(|it| state.sulfur_dioxide_in(&it.material, it.amount, it.solution));
    let sulfur = sulfur.sum::<Option<Mass>>().filter(|mass| !mass.is_zero());
    let sulfur = sulfur.map_or_else(String::new, |mass| {
        format!(", {:.0} mg/L of sulfur dioxide", mass.as_grams() * 1e3 / wine.as_litres())
    });
    let vessels = match treated.as_slice() {
        [_] => String::new(),
        several => format!(
            " in {}, {} in all",
            counted(several.len(), "vessel"),
            if amount.is_zero() { poured(solution) } else { weighed(amount) }
        ),
    };
    Some(format!("{dose} of {}{vessels}{sulfur}.", litres(wine)))
}

/// What was found, and of what: `M25, in 24 vessels: pH 3.52, free SO2 24 mg/L`.
#[must_use]
pub fn found(state: &State, tested: &Tested) -> String {
    let found =
        Analyte::ALL.into_iter().filter_map(|analyte| Some(found_of(state, analyte, tested.readings.of(analyte)?)));
    let of_house = tested.values.iter().flatten().map(|(analyte, value)| {
        let unit = state.house_analyte(analyte).map_or("", |house| house.unit.as_str());
        format!("{analyte} {value} {unit}")
    });
    let found: Vec<String> = found.chain(of_house).collect();
    format!("{}: {}", tested_thing(state, tested), found.join(", "))
}

/// What is kept where a laboratory found less than it can tell: `malic acid <0.1 is kept as that bound, with these words beside it.`
#[must_use]
pub fn kept_as_bound(below: &[String]) -> String {
    let are = by_count(below.len(), "is kept as that bound", "are kept as these bounds");
    format!("{} {are}, with these words beside it.", all_of(below))
}

/// What was found of one thing, as the house reads it: `titratable acidity 5.4 g/L as tartaric`.
#[must_use]
pub fn found_of(state: &State, analyte: Analyte, value: f64) -> String {
    let read = state.read_as(analyte);
    format!("{} {}", analyte.name(), read.with_unit(figure(read.value(value))))
}

/// What a test is of: `M25, in 24 vessels`.
#[must_use]
pub fn tested_thing(state: &State, tested: &Tested) -> String {
    let label = tested.vessel.as_ref().or(tested.sample.as_ref()).or(tested.lot.as_ref());
    let of = label.map(ToString::to_string).unwrap_or_default();
    let holding = tested.lot.as_ref().and_then(|lot| state.lots.find(lot.as_str())).map(|lot| {
        let count = state.vessels.iter().filter(|(_, vessel)| vessel.lot == Some(lot)).count();
        format!(", in {}", counted(count, "vessel"))
    });
    format!("{of}{}", holding.unwrap_or_default())
}
