//! What wine is made of, by origin.

use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::core::wine::{Part, Wine};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::seen::Seen;
use crate::units::{DecimalMark, VolumeUnit};

/// What people are told where a treatment added volume that grew nowhere.
const NO_ORIGIN: &str = "(added)";

/// So much of one origin; the volumes sum to that of the wine.
pub type PartSeen<'a> = Seen<'a, Part>;

/// The columns of the parts of a wine.
#[must_use]
pub fn part_columns<'a>() -> [Column<PartSeen<'a>>; 3] {
    [
        Column::people("origin", |it| name(it.state, **it).into()),
        Column::program("origin", |it| label(it.state, **it).into()),
        Column::both("volume_ul", "litres", |it: &PartSeen<'_>| it.volume.into()).summed(),
    ]
}

fn label(state: &State, part: Part) -> Option<&Label> {
    part.origin.map(|id| &state.origins.get(id).0.origin)
}

/// The name of a part's origin for people.
#[must_use]
pub fn name(state: &State, part: Part) -> &str {
    label(state, part).map_or(NO_ORIGIN, Label::as_str)
}

impl<'a, T> Seen<'a, T> {
    /// What a wine is made of, for JSON.
    pub fn wine(&self, wine: &Wine) -> Cell {
        self.within(&part_columns(), wine.parts().iter().copied())
    }

    /// What a wine is made of, a row an origin.
    pub fn parts(&self, wine: &Wine) -> Vec<PartSeen<'a>> {
        wine.parts().iter().map(|&part| self.other(part)).collect()
    }

    /// What a wine is made of, in one cell.
    pub fn wine_in_one_cell(&self, wine: &Wine) -> Cell {
        let (mark, unit) = (DecimalMark::customary(), VolumeUnit::customary().symbol());
        let litres = |part: &Part| mark.written(&part.volume.in_column(3));
        let told = |part: &Part| format!("{} {} {unit}", name(self.state, *part), litres(part));
        match wine.parts() {
            [] => Cell::Nothing,
            parts => Cell::Text(parts.iter().map(told).collect::<Vec<_>>().join("; ")),
        }
    }
}
