//! `reckon fining`: from a dose tried in glasses to what a vessel is given.

use crate::cli::arguments::FiningArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::reckon::fining::{Fining, FiningError, Given};
use crate::told::finish::{too_much_water, whites_of_egg};
use crate::units::pounds_in_1000_gallons;

impl From<FiningError> for Complaint {
    fn from(error: FiningError) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

/// Reckons a fining.
pub fn fining(asked: &FiningArguments, page: &mut Page<'_>) -> Outcome {
    let fining = Fining::new(asked.dose, asked.stock)?;
    let (glass, cellar) = (fining.given_to(asked.glass)?, fining.given_to(asked.volume)?);
    let told = Fined { asked, glass, cellar };
    page.card(&columns(), &told, |page| {
        too_much_water(&fining, &told.cellar).iter().try_for_each(|words| below(page, words))?;
        below(page, &whites_of_egg(asked.volume))
    })
}

/// A fining: what was asked, and what a glass and the cellar's wine are given.
struct Fined<'a> {
    asked: &'a FiningArguments,
    glass: Given,
    cellar: Given,
}

fn columns<'a>() -> [Column<Fined<'a>>; 10] {
    [
        Column::both("dose_g_l", "g/L", |it: &Fined<'_>| rounded(it.asked.dose, 4).into()),
        Column::both("dose_lb_1000_gal", "lb/1000 gal", |it| rounded(pounds_in_1000_gallons(it.asked.dose), 3).into()),
        Column::both("stock_strength_pct", "stock %", |it| it.asked.stock.into()),
        Column::both("glass_ul", "glass mL", |it| Cell::Measured(it.asked.glass)),
        Column::both("stock_in_glass_ul", "mL a glass", |it| Cell::Measured(it.glass.stock)),
        Column::both("volume_ul", "litres", |it| Cell::Fine(it.asked.volume)),
        Column::both("amount_ug", "grams", |it| it.cellar.amount.into()),
        Column::both("stock_ul", "litres of stock", |it| Cell::Fine(it.cellar.stock)),
        Column::both("stock_of_wine_pct", "of the wine %", |it| rounded(it.cellar.share * 100.0, 2).into()),
        Column::both("above_water_allowed", "above 1 % water", |it| it.cellar.is_above_water_figure().into()),
    ]
}
