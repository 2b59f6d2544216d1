//! `reckon acidity`: the charge balance of one wine.

use crate::cli::arguments::AcidityArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
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
    let told = Balanced { balance: Balance::of(&wine)?, wine };
    page.card(&columns(), &told, |page| told.notes().iter().try_for_each(|note| below(page, note)))
}

/// A wine and its balance.
struct Balanced {
    wine: Wine,
    balance: Balance,
}

impl Balanced {
    fn assumed(&self) -> Vec<&'static str> {
        self.wine.assumed().into_iter().map(Acid::name).collect()
    }

    fn notes(&self) -> Vec<String> {
        let assumed = self.assumed();
        let mut notes = Vec::new();
        if !assumed.is_empty() {
            let kind = self.wine.believed_profile().words();
            let scaled = if self.wine.ta_g_l.is_some() { ", scaled to the titratable acidity" } else { "" };
            notes.push(format!("Assumed: {} acid, as usual in {kind}{scaled}.", assumed.join(", ")));
        }
        if self.balance.strained {
            notes.push("No usual amount of these accounts for the titratable acidity. Check the tests.".to_owned());
        }
        notes
    }

    /// Grams in a litre of an acid, in the order in which they are kept.
    fn acid(&self, place: usize) -> Cell {
        rounded(self.balance.acids_g_l[place], 2).into()
    }
}

fn columns() -> Vec<Column<Balanced>> {
    vec![
        Column::both("ph", "pH", |it: &Balanced| it.wine.ph.into()),
        Column::both("alcohol_pct", "% vol", |it| it.wine.alcohol_pct.unwrap_or(USUAL_ALCOHOL_PCT).into()),
        Column::both("ta_g_l", "TA", |it| rounded(it.balance.titratable_g_l, 2).into()),
        // In excess of strong anions.
        Column::both("strong_cations_mmol_l", "strong cations", |it| rounded(it.balance.excess_mol_l * 1e3, 1).into()),
        // Strong base for one pH.
        Column::both("buffer_mmol_l", "buffer", |it| rounded(it.balance.buffer_mol_l * 1e3, 1).into()),
        Column::both("tartaric_g_l", "tartaric", |it| it.acid(0)),
        Column::both("malic_g_l", "malic", |it| it.acid(1)),
        Column::both("lactic_g_l", "lactic", |it| it.acid(2)),
        Column::both("succinic_g_l", "succinic", |it| it.acid(3)),
        Column::both("acetic_g_l", "acetic", |it| it.acid(4)),
        Column::program("assumed", |it: &Balanced| Cell::list(it.assumed())).nested(),
        Column::within("notes", |it| Cell::list(it.notes())),
    ]
}
