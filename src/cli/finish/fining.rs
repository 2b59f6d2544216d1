//! `reckon fining`: from a dose tried in glasses to what a vessel is given.

use serde::Serialize;

use crate::cli::arguments::FiningArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::tests::sulfur::{below, rounded};
use crate::reckon::fining::{Fining, FiningError, WATER_ALLOWED, egg_whites};
use crate::units::{Mass, Volume, pounds_in_1000_gallons};

impl From<FiningError> for Complaint {
    fn from(error: FiningError) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

/// Reckons a fining.
pub fn fining(asked: &FiningArguments, page: &mut Page<'_>) -> Outcome {
    let fining = Fining::new(asked.dose, asked.stock)?;
    let view = FiningView::of(asked, &fining)?;
    page.card(&FiningView::COLUMNS, &view, |page| {
        if view.above_water_allowed {
            let percent = WATER_ALLOWED * 100.0;
            let weakest = rounded(fining.weakest_stock_pct(), 2);
            below(
                page,
                &format!(
                    "The stock is more than the {percent} % of water that 27 CFR 24.246 allows. Make it up to at least \
                     {weakest} %, or in the wine itself."
                ),
            )?;
        }
        let (least, most) = egg_whites(asked.volume);
        below(
            page,
            &format!("Whites of egg for so much wine: {least:.0} to {most:.0} (4 to 6 a barrel, common practice)."),
        )
    })
}

/// A fining, under the names of the exchange format.
#[derive(Debug, Serialize)]
struct FiningView {
    dose_g_l: f64,
    dose_lb_1000_gal: f64,
    stock_strength_pct: f64,
    glass_ul: Volume,
    stock_in_glass_ul: Volume,
    volume_ul: Volume,
    amount_ug: Mass,
    stock_ul: Volume,
    stock_of_wine_pct: f64,
    above_water_allowed: bool,
}

impl FiningView {
    fn of(asked: &FiningArguments, fining: &Fining) -> Result<FiningView, FiningError> {
        let (glass, cellar) = (fining.given_to(asked.glass)?, fining.given_to(asked.volume)?);
        Ok(FiningView {
            dose_g_l: rounded(asked.dose, 4),
            dose_lb_1000_gal: rounded(pounds_in_1000_gallons(asked.dose), 3),
            stock_strength_pct: asked.stock,
            glass_ul: asked.glass,
            stock_in_glass_ul: glass.stock,
            volume_ul: asked.volume,
            amount_ug: cellar.amount,
            stock_ul: cellar.stock,
            stock_of_wine_pct: rounded(cellar.share * 100.0, 2),
            above_water_allowed: cellar.is_above_water_allowed(),
        })
    }

    const COLUMNS: [Column<FiningView>; 10] = [
        Column::both("dose_g_l", "g/L", |it: &FiningView| it.dose_g_l.into()),
        Column::both("dose_lb_1000_gal", "lb/1000 gal", |it| it.dose_lb_1000_gal.into()),
        Column::both("stock_strength_pct", "stock %", |it| it.stock_strength_pct.into()),
        Column::both("glass_ul", "glass mL", |it| Cell::Measured(it.glass_ul)),
        Column::both("stock_in_glass_ul", "mL a glass", |it| Cell::Measured(it.stock_in_glass_ul)),
        Column::both("volume_ul", "litres", |it| Cell::Fine(it.volume_ul)),
        Column::both("amount_ug", "grams", |it| it.amount_ug.into()),
        Column::both("stock_ul", "litres of stock", |it| Cell::Fine(it.stock_ul)),
        Column::both("stock_of_wine_pct", "of the wine %", |it| it.stock_of_wine_pct.into()),
        Column::both("above_water_allowed", "above 1 % water", |it| it.above_water_allowed.into()),
    ];
}
