//! What is said of tests and of sulfur dioxide.

use crate::cellar::core::state::State;
use crate::cellar::jobs::tests::testing::{Analyte, Tested};
use crate::import::analytes::own_acid;
use crate::reckon::limits::AMBER_SHARE;
use crate::reckon::sulfur::bound_words;
use crate::units::{all_of, by_count, counted};

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

/// What was found, and of what: `M25, in 24 vessels: pH 3.52, free SO2 24 mg/L`.
#[must_use]
pub fn found(state: &State, tested: &Tested) -> String {
    let found = Analyte::ALL.into_iter().filter_map(|analyte| Some(found_of(analyte, tested.readings.of(analyte)?)));
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

/// What was found of one thing: `titratable acidity 5.4 g/L as tartaric`.
#[must_use]
pub fn found_of(analyte: Analyte, value: f64) -> String {
    let acid = own_acid(analyte).map_or_else(String::new, |acid| format!(" as {}", acid.name()));
    format!("{} {}{acid}", analyte.name(), analyte.with_unit(value))
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
