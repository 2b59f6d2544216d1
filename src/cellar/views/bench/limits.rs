//! Limits on the glasses of a trial by what the book knows of each wine: its tests, what it is made of, the wood it lay in.

use thiserror::Error;

use crate::cellar::core::label::harmless;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::floor::origin::OriginDeclared;
use crate::cellar::jobs::tests::testing::{Analyte, ReadAs};
use crate::cellar::views::bench::blend::analyte;
use crate::cellar::views::books::lineage::NewWood;
use crate::reckon::acid_unit::AcidUnit;
use crate::reckon::blend::Quantity;
use crate::reckon::mixture::{Limit, WordingError, compare, number, parse_limit};
use crate::units::{ParseDecimalError, parse_decimal};

/// Coefficients are kept to so many parts of one, so that what is written down is what was laid out.
const DECIMALS: f64 = 1e6;

/// Why a limit is none.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation, the fields are the things it names
pub enum NoLimit {
    #[error(
        "'{0}' is nothing that can be limited. Name what mixes by volume, like 'alcohol 13..14', 'variety Merlot >= 75%', \
         'vintage 2025 >= 85%', 'block Chapel Rise >= 50%', 'new wood <= 40%', or wines, like '0.8 T1 + T2 >= 75%'."
    )]
    Unknown(String),
    #[error(
        "{0} does not mix by volume, so that no limit on the glasses can keep it. `plan blend` tells what a blend has."
    )]
    Unmixing(&'static str),
    #[error("Nothing is known of the {what} of {wines}. {remedy}, or leave the limit out.")]
    Lacking { what: String, wines: String, remedy: &'static str },
    #[error("None of the wines has anything of the {what} '{name}'; they have {there}. Check the name.")]
    NotThere { what: &'static str, name: String, there: String },
    #[error("'{0}' is no share. Write it like 75%, or 0.75.")]
    NoShare(String),
    #[error(transparent)]
    Words(#[from] WordingError),
    #[error(transparent)]
    Number(#[from] ParseDecimalError),
}

/// What of a wine's origin is counted.
type Named = (&'static str, fn(&OriginDeclared) -> String);

const NAMED: [Named; 3] = [
    ("variety", |origin| origin.variety.to_string()),
    ("vintage", |origin| origin.vintage.to_string()),
    ("block", |origin| origin.block.to_string()),
];

impl State {
    /// A limit on a trial's glasses by the person's words: a sum of its wines, or something that the book knows of each.
    pub fn limit_of_glasses(&self, text: &str, wines: &[VesselId], wood: &NewWood) -> Result<Limit, NoLimit> {
        let names: Vec<String> = wines.iter().map(|&wine| self.vessels.get(wine).label.to_string()).collect();
        let sum = parse_limit(text, &names);
        let plain = text.replace('≤', "<=").replace('≥', ">=");
        let Some(compared) = compare(&plain) else { return Ok(sum?) };
        let counted = match (sum, self.counted(compared.what, wines, wood)) {
            (Ok(sum), _) => return Ok(sum),
            // A sum of wines, of which one is unknown: who wrote it knows what it is.
            (Err(error), Err(NoLimit::Unknown(_))) if compared.what.contains('+') => return Err(error.into()),
            (Err(_), counted) => counted?,
        };
        let value = |text: &Option<String>| text.as_deref().map(|text| counted.value(text)).transpose();
        let (low, high) = (value(&compared.low)?, value(&compared.high)?);
        let coefficients = counted.of_each.iter().map(|value| (value * DECIMALS).round() / DECIMALS).collect();
        let words = text.trim().chars().filter(|c| !c.is_control()).take(80).collect();
        Ok(Limit { words, coefficients, low, high })
    }

    /// What every wine has of something.
    fn counted(&self, what: &str, wines: &[VesselId], wood: &NewWood) -> Result<Counted, NoLimit> {
        let what = what.trim();
        let is = |name: &str| what.eq_ignore_ascii_case(name);
        if is("new wood") {
            let parts = wines.iter().map(|&wine| self.new_wood_part(wine, wood));
            return self.known("new wood", wines, parts, "Give the share of the wines by hand").map(Counted::shares);
        }
        if let Some(analyte) = Analyte::ALL.into_iter().find(|it| is(it.name())) {
            if !mixes(analyte) {
                return Err(NoLimit::Unmixing(analyte.name()));
            }
            // A trial has no clock of its own: what was known at the last fact goes by.
            let at = self.last.as_ref().map(|(_, at)| *at);
            let values = wines.iter().map(|&wine| Some(self.reading_for_blend(wine, analyte, at?)?.value));
            let of_each = self.known(analyte.name(), wines, values, "Have it tested")?;
            return Ok(Counted { of_each, read: Some(self.read_as(analyte)) });
        }
        let unknown = || NoLimit::Unknown(harmless(what));
        let (first, name) = what.split_once(' ').ok_or_else(unknown)?;
        let named = NAMED.iter().find(|(word, _)| first.eq_ignore_ascii_case(word)).ok_or_else(unknown)?;
        self.parts_named(named, name.trim(), wines).map(Counted::shares)
    }

    /// All values, or which wines lack theirs.
    fn known(
        &self,
        what: &str,
        wines: &[VesselId],
        values: impl Iterator<Item = Option<f64>>,
        remedy: &'static str,
    ) -> Result<Vec<f64>, NoLimit> {
        let values: Vec<Option<f64>> = values.collect();
        let lacking = wines.iter().zip(&values).filter(|(_, value)| value.is_none());
        let lacking: Vec<&str> = lacking.map(|(&wine, _)| self.vessels.get(wine).label.as_str()).collect();
        if lacking.is_empty() {
            return Ok(values.into_iter().flatten().collect());
        }
        Err(NoLimit::Lacking { what: what.to_owned(), wines: lacking.join(", "), remedy })
    }

    /// What part of every wine is of a variety, a vintage or a block. What has no origin is of none.
    fn parts_named(&self, (what, of): &Named, name: &str, wines: &[VesselId]) -> Result<Vec<f64>, NoLimit> {
        let is_named = |text: &str| text.to_lowercase() == name.to_lowercase();
        let mut there: Vec<String> = Vec::new();
        let mut parts = Vec::with_capacity(wines.len());
        for &wine in wines {
            let (mut own, mut whole) = (0.0, 0.0);
            for part in self.vessels.get(wine).wine.parts() {
                let litres = part.volume.as_litres();
                let text = part.origin.map(|origin| of(&self.origins.get(origin).0));
                whole += litres;
                own += text.as_ref().filter(|text| is_named(text)).map_or(0.0, |_| litres);
                there.extend(text.filter(|text| !there.contains(text)));
            }
            parts.push(if whole > 0.0 { own / whole } else { 0.0 });
        }
        if there.iter().any(|text| is_named(text)) {
            return Ok(parts);
        }
        let (name, there) = (harmless(name), there.join(", "));
        Err(NoLimit::NotThere { what, name, there })
    }
}

/// Whether a thing mixes by volume.
fn mixes(of: Analyte) -> bool {
    Quantity::ALL.into_iter().any(|quantity| analyte(quantity) == of)
}

/// What the wines have of something.
struct Counted {
    of_each: Vec<f64>,
    /// How values of the test are read; none where it is a share.
    read: Option<ReadAs>,
}

impl Counted {
    fn shares(of_each: Vec<f64>) -> Counted {
        Counted { of_each, read: None }
    }

    /// A value of a limit: a number in the unit of the house, or in one that stands behind it; or a share.
    fn value(&self, text: &str) -> Result<f64, NoLimit> {
        let Some(read) = self.read else {
            let share = number(text)?;
            return if (0.0..=1.0).contains(&share) {
                Ok(share)
            } else {
                Err(NoLimit::NoShare(text.trim().to_owned()))
            };
        };
        let bare = text.trim();
        let said = AcidUnit::ALL.into_iter().find_map(|acid| Some((bare.strip_suffix(acid.unit())?, acid)));
        if let Some((bare, acid)) = said.filter(|_| read.is_acidity()) {
            return Ok(read.kept(parse_decimal(bare)?, Some(acid)));
        }
        let bare = bare.strip_suffix(read.unit()).or_else(|| bare.strip_suffix('%')).unwrap_or(bare);
        Ok(read.kept(parse_decimal(bare)?, None))
    }
}
