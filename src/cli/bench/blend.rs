//! `reckon blend` and `reckon square`: what wines will be together, from what is said of them.

use std::path::Path;

use crate::cellar::core::label::harmless;
use crate::cli::arguments::{BlendArguments, SquareArguments, WineOfBlend, value_of_wine};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::cli::table::spreadsheet::{Row, Spreadsheet};
use crate::reckon::acidity::{Acid, Prediction, Profile};
use crate::reckon::blend::{
    Blend, BlendError, BlendedPh, Quantity, SquareError, Wine, litres_to_reach, pearson_square,
};
use crate::units::{Volume, VolumeUnit, litres};

impl From<BlendError> for Complaint {
    fn from(error: BlendError) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

impl From<SquareError> for Complaint {
    fn from(error: SquareError) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

/// So many wines are blended at once: the pH of each is worked out for all that is assumed of it.
const MOST_WINES: usize = 1_000;

/// What stands below a predicted pH.
pub(in crate::cli) const PH_BY_BALANCE: &str = "The pH is by charge balance, with its band for nine of ten choices of what is \
     assumed; a pH meter is off by 0.02 besides, and tartrate that falls out moves it on. The straight mean of the pH is no \
     prediction and is told only to be seen beside it.";
/// What stands below free sulfur dioxide.
pub(in crate::cli) const FREE_AT_MOST: &str = "Free SO2 is at most so much: what one wine still binds of the other's is not known. Test it when they are together.";

/// What is said where acids and titratable acidity contradict each other.
pub(in crate::cli) const STRAINED: &str = "the tests of acids do not fit together. Check them.";
/// What is said where the alcohol of a wine is not known.
pub(in crate::cli) const ALCOHOL_ASSUMED: &str = "The alcohol of some is not known: the pH is reckoned at 12 % vol.";

/// Reckons a blend.
pub fn blend(asked: &BlendArguments, page: &mut Page<'_>) -> Outcome {
    let wines = match &asked.file {
        Some(file) => read(file)?,
        None => asked.wines.clone(),
    };
    let profile = if asked.no_malolactic { Profile::NoMalolactic } else { Profile::AfterMalolactic };
    let kind = |mut wine: Wine| {
        wine.profile = profile;
        wine
    };
    let parts: Vec<(f64, Wine)> = wines.iter().map(|it| (it.volume.as_litres(), kind(it.wine))).collect();
    let told = Blended { wines: &wines, blend: Blend::of(&parts)? };
    let values = told.values();
    page.report((&columns(), &told), (&VALUE, &values), |page| {
        page.line(&format!("A blend of {} wines, {}", wines.len(), litres(told.volume())))?;
        page.section("what it will be", &VALUE, &values)?;
        below(page, PH_BY_BALANCE)?;
        told.notes().iter().try_for_each(|note| below(page, note))?;
        match told.blend.value(Quantity::FreeSo2) {
            Some(_) => below(page, FREE_AT_MOST),
            None => Ok(()),
        }
    })
}

/// Reckons Pearson's square.
pub fn square(asked: &SquareArguments, page: &mut Page<'_>) -> Outcome {
    let shares = pearson_square(asked.first, asked.second, asked.wanted)?;
    let add = |volume| litres_to_reach(volume, asked.first, asked.second, asked.wanted);
    page.card(&SQUARE, &Squared { shares, to_add: asked.litres.map(add).transpose()? }, |_| Ok(()))
}

/// Reads the wines from a spreadsheet.
fn read(file: &Path) -> Outcome<Vec<WineOfBlend>> {
    let sheet = Spreadsheet::read(file)?.at_most(MOST_WINES, "a blend")?;
    for needed in ["wine", "litres"] {
        if !sheet.heads.iter().any(|head| head == needed) {
            let sentence =
                format!("{} has no column '{needed}'. Give it wine, litres and what was tested.", sheet.name);
            return Err(Complaint::Refused(sentence));
        }
    }
    let wine = |row: &Row| sheet.cells(row).and_then(|cells| wine(&sheet.heads, cells));
    let refused =
        |row: &Row, why: &str| Complaint::Refused(format!("{}, line {}: {}", sheet.name, row.line, harmless(why)));
    sheet.rows.iter().map(|row| wine(row).map_err(|why| refused(row, &why))).collect()
}

fn wine(heads: &[String], cells: &[String]) -> Result<WineOfBlend, String> {
    let mut found =
        WineOfBlend { name: String::new(), volume: Volume::ZERO, wine: Wine::of_ph(None, Profile::AfterMalolactic) };
    for (head, text) in heads.iter().zip(cells).filter(|(_, text)| !text.is_empty()) {
        match head.as_str() {
            "wine" => text.clone_into(&mut found.name),
            "litres" => {
                found.volume = Volume::parse(text, VolumeUnit::Litre).map_err(|error| error.to_string())?;
            }
            field => found.wine = value_of_wine(found.wine, field, text)?,
        }
    }
    Ok(found)
}

/// What wines will be together.
struct Blended<'a> {
    wines: &'a [WineOfBlend],
    blend: Blend,
}

fn columns<'a>() -> [Column<Blended<'a>>; 3] {
    [
        Column::program("volume_ul", |it: &Blended<'_>| it.volume().into()),
        Column::within("values", |it| Cell::things(&VALUE, it.values())),
        Column::within("notes", |it| Cell::list(it.notes())),
    ]
}

/// One value of it.
struct Value {
    quantity: &'static str,
    found: Option<f64>,
    unit: &'static str,
    /// `predicted`, `at most`, `by volume`, or why it is not known.
    how: String,
    /// Of the pH, between what it lies and what the mean would be.
    ph: Option<Prediction>,
}

const VALUE: [Column<Value>; 8] = [
    Column::both("quantity", "", |it: &Value| it.quantity.into()),
    Column::both("value", "value", |it| it.found.into()),
    Column::both("low", "low", |it| it.of_ph(|ph| ph.low)),
    Column::both("high", "high", |it| it.of_ph(|ph| ph.high)),
    Column::within("plain_mean", |it| it.of_ph(|ph| ph.plain_mean)),
    Column::both("unit", "unit", |it| it.unit.into()),
    Column::both("how", "how", |it| (&it.how).into()),
    Column::both("plain_mean", "straight mean", |it: &Value| it.of_ph(|ph| ph.plain_mean)).elsewhere(),
];

impl Value {
    fn of_ph(&self, value: fn(&Prediction) -> f64) -> Cell {
        self.ph.as_ref().map(|ph| rounded(value(ph), 3)).into()
    }
}

impl Blended<'_> {
    fn volume(&self) -> Volume {
        self.wines.iter().map(|it| it.volume).sum()
    }

    fn predicted(&self) -> Option<&Prediction> {
        if let BlendedPh::Predicted(prediction) = &self.blend.ph { Some(prediction) } else { None }
    }

    fn notes(&self) -> Vec<String> {
        self.predicted().map_or_else(Vec::new, |ph| notes(self.wines, ph))
    }

    fn values(&self) -> Vec<Value> {
        let names = |of: &[usize]| of.iter().map(|&at| harmless(&self.wines[at].name)).collect::<Vec<_>>().join(", ");
        let mixed = self.blend.values.iter().map(|it| Value {
            quantity: it.quantity.name(),
            found: it.value.map(|value| rounded(value, decimals(it.quantity))),
            unit: it.quantity.unit(),
            how: match it.value {
                Some(_) if it.quantity.is_upper_bound() => "at most".to_owned(),
                Some(_) => "by volume".to_owned(),
                None => format!("not known: not tested in {}", names(&it.lacking)),
            },
            ph: None,
        });
        let how = match &self.blend.ph {
            BlendedPh::Predicted(_) => "predicted".to_owned(),
            BlendedPh::Lacking(lacking) => format!("not known: not tested in {}", names(lacking)),
            BlendedPh::Beyond(at, error) => format!("not known: {}: {error}", names(&[*at])),
        };
        let ph = self.predicted().cloned();
        let found = ph.as_ref().map(|ph| rounded(ph.ph, 3));
        std::iter::once(Value { quantity: "pH", found, unit: "", how, ph }).chain(mixed).collect()
    }
}

/// What a predicted pH rests on.
fn notes(wines: &[WineOfBlend], prediction: &Prediction) -> Vec<String> {
    // Only wines of which there is something take part in the prediction.
    let names = wines.iter().filter(|it| !it.volume.is_zero()).map(|it| it.name.as_str());
    let mut notes = Vec::new();
    for ((name, acids), strained) in names.zip(&prediction.assumed).zip(&prediction.strained) {
        if !acids.is_empty() {
            notes.push(assumed_words(name, acids));
        }
        if *strained {
            notes.push(format!("{}: {STRAINED}", harmless(name)));
        }
    }
    notes.extend(prediction.alcohol_assumed.then(|| ALCOHOL_ASSUMED.to_owned()));
    notes
}

/// What of a wine's acids a predicted pH assumes.
pub(in crate::cli) fn assumed_words(name: &str, acids: &[Acid]) -> String {
    let acids: Vec<&str> = acids.iter().copied().map(Acid::name).collect();
    format!("Assumed in the pH of {}: {} acid.", harmless(name), acids.join(", "))
}

/// To as many decimals as a laboratory prints.
pub(in crate::cli) const fn decimals(quantity: Quantity) -> i32 {
    match quantity {
        Quantity::Alcohol
        | Quantity::TitratableAcidity
        | Quantity::VolatileAcidity
        | Quantity::Malic
        | Quantity::Lactic
        | Quantity::Tartaric => 2,
        Quantity::Sugar => 1,
        Quantity::TotalSo2 | Quantity::FreeSo2 | Quantity::Potassium => 0,
    }
}

/// Two wines to one value: the shares, and what to add of the second.
struct Squared {
    shares: (f64, f64),
    to_add: Option<Volume>,
}

const SQUARE: [Column<Squared>; 3] = [
    Column::both("first_pct", "first", |it: &Squared| rounded(it.shares.0 * 100.0, 2).into()),
    Column::both("second_pct", "second", |it| rounded(it.shares.1 * 100.0, 2).into()),
    Column::both("to_add_ul", "to add", |it| it.to_add.into()),
];
