//! `reckon acidity`: the charge balance of one wine.

use serde::Serialize;

use super::sulfur::{below, rounded};
use crate::cli::arguments::AcidityArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::reckon::acidity::{Acid, AcidityError, Balance, Profile, USUAL_ALCOHOL_PCT, Wine};

impl From<AcidityError> for Complaint {
    fn from(error: AcidityError) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

/// Reckons the balance of one wine.
pub fn balance(asked: &AcidityArguments, page: &mut Page<'_>) -> Outcome {
    let wine = Wine {
        ph: asked.ph,
        ta_g_l: asked.ta,
        alcohol_pct: asked.alcohol,
        acids_g_l: [asked.tartaric, asked.malic, asked.lactic, asked.succinic, asked.va],
        profile: if asked.no_malolactic { Profile::NoMalolactic } else { Profile::AfterMalolactic },
    };
    let view = BalanceView::of(&wine, &Balance::of(&wine)?);
    page.card(&BalanceView::columns(), &view, |page| view.notes.iter().try_for_each(|note| below(page, note)))
}

/// The balance of one wine.
#[derive(Debug, Serialize)]
struct BalanceView {
    ph: f64,
    alcohol_pct: f64,
    ta_g_l: f64,
    /// Strong cations in excess of strong anions, mmol/L.
    strong_cations_mmol_l: f64,
    /// Strong base for one pH, mmol/L.
    buffer_mmol_l: f64,
    tartaric_g_l: f64,
    malic_g_l: f64,
    lactic_g_l: f64,
    succinic_g_l: f64,
    acetic_g_l: f64,
    assumed: Vec<&'static str>,
    notes: Vec<String>,
}

impl BalanceView {
    fn of(wine: &Wine, balance: &Balance) -> BalanceView {
        let assumed: Vec<&'static str> = wine.assumed().into_iter().map(Acid::name).collect();
        let mut notes = Vec::new();
        if !assumed.is_empty() {
            let kind = wine.believed_profile().words();
            let scaled = if wine.ta_g_l.is_some() { ", scaled to the titratable acidity" } else { "" };
            notes.push(format!("Assumed: {} acid, as usual in {kind}{scaled}.", assumed.join(", ")));
        }
        if balance.strained {
            notes.push("No usual amount of these accounts for the titratable acidity. Check the tests.".to_owned());
        }
        let [tartaric, malic, lactic, succinic, acetic] = balance.acids_g_l.map(|grams| rounded(grams, 2));
        BalanceView {
            ph: wine.ph,
            alcohol_pct: wine.alcohol_pct.unwrap_or(USUAL_ALCOHOL_PCT),
            ta_g_l: rounded(balance.titratable_g_l, 2),
            strong_cations_mmol_l: rounded(balance.excess_mol_l * 1e3, 1),
            buffer_mmol_l: rounded(balance.buffer_mol_l * 1e3, 1),
            tartaric_g_l: tartaric,
            malic_g_l: malic,
            lactic_g_l: lactic,
            succinic_g_l: succinic,
            acetic_g_l: acetic,
            assumed,
            notes,
        }
    }

    fn columns() -> Vec<Column<BalanceView>> {
        vec![
            Column::both("ph", "pH", |it: &BalanceView| it.ph.into()),
            Column::both("alcohol_pct", "% vol", |it| it.alcohol_pct.into()),
            Column::both("ta_g_l", "TA", |it| it.ta_g_l.into()),
            Column::both("strong_cations_mmol_l", "strong cations", |it| it.strong_cations_mmol_l.into()),
            Column::both("buffer_mmol_l", "buffer", |it| it.buffer_mmol_l.into()),
            Column::both("tartaric_g_l", "tartaric", |it| it.tartaric_g_l.into()),
            Column::both("malic_g_l", "malic", |it| it.malic_g_l.into()),
            Column::both("lactic_g_l", "lactic", |it| it.lactic_g_l.into()),
            Column::both("succinic_g_l", "succinic", |it| it.succinic_g_l.into()),
            Column::both("acetic_g_l", "acetic", |it| it.acetic_g_l.into()),
            Column::program("assumed", |it: &BalanceView| Cell::Text(it.assumed.join(", "))).nested(),
        ]
    }
}
