//! What wine is made of, by origin.

use serde::Serialize;

use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::core::wine::Wine;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::units::{Volume, VolumeUnit};

/// What people are told where a treatment added volume that grew nowhere.
const NO_ORIGIN: &str = "(added)";

/// So much of one origin.
#[derive(Clone, Debug, Serialize)]
pub struct OriginShare {
    origin: Option<Label>,
    volume_ul: Volume,
}

/// What a wine is made of; the volumes sum to that of the wine.
#[must_use]
pub fn composition(state: &State, wine: &Wine) -> Vec<OriginShare> {
    wine.parts()
        .iter()
        .map(|part| OriginShare {
            origin: part.origin.map(|id| state.origins.get(id).0.origin.clone()),
            volume_ul: part.volume,
        })
        .collect()
}

impl OriginShare {
    /// The columns of a table of origins.
    pub const COLUMNS: [Column<OriginShare>; 2] = [
        Column::both("origin", "origin", |share: &OriginShare| share.name().into()),
        Column::both("volume_ul", "litres", |share: &OriginShare| share.volume_ul.into()).summed(),
    ];

    /// How much of it there is.
    #[must_use]
    pub const fn volume(&self) -> Volume {
        self.volume_ul
    }

    /// Its name for people.
    #[must_use]
    pub fn name(&self) -> &str {
        self.origin.as_ref().map_or(NO_ORIGIN, Label::as_str)
    }
}

/// All of it in one cell, to the microlitre.
#[must_use]
pub fn in_one_cell(shares: &[OriginShare]) -> Cell {
    let told = |share: &OriginShare| format!("{} {}", share.name(), share.volume_ul.show(VolumeUnit::Litre, 6));
    match shares {
        [] => Cell::Nothing,
        shares => Cell::Text(shares.iter().map(told).collect::<Vec<_>>().join("; ")),
    }
}
