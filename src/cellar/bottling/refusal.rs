//! Why something cannot be done to a bottling run.

use thiserror::Error;

use super::size;
use crate::cellar::day::Day;
use crate::cellar::label::Label;
use crate::units::Volume;

/// Why an act on a run is refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation, the fields are the things it names
pub enum RunRefusal {
    #[error("No bottling run is called '{0}'. Check the label, or enter the bottling first.")]
    Unknown(Label),
    #[error("No bottles are said for the run '{0}'. Give at least one.")]
    NoBottles(Label),

    // Bottling
    #[error(
        "{bottles} bottles of {} with the loss take {wanted}, but {vessel} holds {holds} by the book. Check the bottles; if they are right, gauge the vessel first.",
        size(*.bottle)
    )]
    MoreThanWine { vessel: Label, bottles: u32, bottle: Volume, wanted: Volume, holds: Volume },
    #[error("{vessel} holds {holds} by the book, and {wanted} is to be bottled. Check the litres.")]
    MoreThanHeld { vessel: Label, holds: Volume, wanted: Volume },
    #[error("A bottle must hold something. Give its size, for example 750 mL.")]
    BottleOfNothing,
    #[error(
        "A case and a pallet must hold something. Give bottles in a case and cases on a pallet, for example 12 and 56."
    )]
    CaseOfNothing,
    #[error("A bottle of {} is none of the trade. Check bottle_ul: 750 mL are 750000.", size(*.0))]
    OddBottle(Volume),
    #[error("The run '{run}' has bottles of {}, and these hold {}. Give them a run of their own.", size(*.has), size(*.comes))]
    OtherBottle { run: Label, has: Volume, comes: Volume },
    #[error("The run '{run}' is of the lot '{has}', and {vessel} holds '{comes}'. Give it a run of its own.")]
    OtherLot { run: Label, has: Label, vessel: Label, comes: Label },
    #[error("The lot code '{code}' stands on bottles of the run '{run}' already. Give these another code.")]
    CodeTaken { code: Label, run: Label },
    #[error("A fill of {} is none of a bottle of {}. Check fills_ul: 748 mL are 748000.", size(*.fill), size(*.bottle))]
    OddFill { fill: Volume, bottle: Volume },

    // Laying away, and out
    #[error(
        "{bottles} bottles of '{run}' are to be laid away, but only {loose} are not laid away yet. Check the count."
    )]
    MoreThanLoose { run: Label, bottles: u32, loose: u64 },
    #[error("{bottles} bottles of '{run}' are to leave {place}, where {there} lie. Check the count, and the place.")]
    MoreThanThere { run: Label, bottles: u32, place: Label, there: u64 },
    #[error("{bottles} bottles of '{run}' are to go out, but only {left} are left of it. Check the count.")]
    MoreThanLeft { run: Label, bottles: u32, left: u64 },
    #[error("A release on {} lies before the bottling of '{run}' on {}. Check the date.", .release.show(), .bottled.show())]
    ReleasedBeforeBottled { run: Label, release: Day, bottled: Day },
}
