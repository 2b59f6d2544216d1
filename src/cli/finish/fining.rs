//! `reckon fining`: from a dose tried in glasses to what a vessel is given.

use crate::cellar::core::state::State;
use crate::cli::arguments::FiningArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::reading::vessel;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::reckon::fining::{Fining, FiningError, Given, Watered};
use crate::told::finish::{too_much_water, whites_of_egg};
use crate::units::{Volume, pounds_in_1000_gallons};

impl From<FiningError> for Complaint {
    fn from(error: FiningError) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

/// Reckons a fining; of a vessel of a cellar with the water that was added to its wine before.
pub fn fining(asked: &FiningArguments, state: Option<&State>, page: &mut Page<'_>) -> Outcome {
    let fining = Fining::new(asked.dose, asked.stock)?;
    let (volume, before) = match state.zip(asked.vessel.as_deref()) {
        None => (asked.volume.unwrap_or_default(), None),
        Some((state, label)) => {
            let id = vessel(state, label)?;
            let holds = state.vessels.get(id).volume();
            let volume = asked.volume.unwrap_or(holds);
            let share = state.additions_to(&[id]).water.as_litres() / holds.as_litres().max(f64::MIN_POSITIVE);
            (volume, Some(Volume::nearest_to_litres(share * volume.as_litres())))
        }
    };
    let (glass, cellar) = (fining.given_to(asked.glass)?, fining.given_to(volume)?);
    let watered = fining.watered(volume, before.unwrap_or_default());
    let told = Fined { asked, volume, before, glass, cellar, watered };
    page.card(&columns(), &told, |page| {
        too_much_water(&told.watered).iter().try_for_each(|words| below(page, words))?;
        below(page, &whites_of_egg(volume))
    })
}

/// A fining: what was asked, and what a glass and the cellar's wine are given.
struct Fined<'a> {
    asked: &'a FiningArguments,
    volume: Volume,
    /// The water of additions that is in the wine already, where that is known.
    before: Option<Volume>,
    glass: Given,
    cellar: Given,
    watered: Watered,
}

fn columns<'a>() -> [Column<Fined<'a>>; 13] {
    [
        Column::both("vessel", "vessel", |it: &Fined<'_>| it.asked.vessel.as_deref().into()).sparse(),
        Column::both("dose_g_l", "g/L", |it: &Fined<'_>| rounded(it.asked.dose, 4).into()),
        Column::both("dose_lb_1000_gal", "lb/1000 gal", |it| rounded(pounds_in_1000_gallons(it.asked.dose), 3).into()),
        Column::both("stock_strength_pct", "stock %", |it| it.asked.stock.into()),
        Column::both("glass_ul", "glass mL", |it| Cell::Measured(it.asked.glass)),
        Column::both("stock_in_glass_ul", "mL a glass", |it| Cell::Measured(it.glass.stock)),
        Column::both("volume_ul", "litres", |it| Cell::Fine(it.volume)),
        Column::both("amount_ug", "grams", |it| it.cellar.amount.into()),
        Column::both("stock_ul", "litres of stock", |it| Cell::Fine(it.cellar.stock)),
        Column::both("stock_of_wine_pct", "of the wine %", |it| rounded(it.cellar.share * 100.0, 2).into()),
        Column::both("water_before_ul", "water before", |it: &Fined<'_>| it.before.map(Cell::Fine).into()).sparse(),
        Column::both("water_of_wine_pct", "all water %", |it: &Fined<'_>| {
            it.before.map(|_| rounded(it.watered.share * 100.0, 2)).into()
        })
        .sparse(),
        Column::both("above_water_allowed", "above 1 % water", |it| it.watered.is_above_figure().into()),
    ]
}
