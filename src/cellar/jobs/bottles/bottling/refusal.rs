//! Why something cannot be done to a bottling run.

use thiserror::Error;

use super::size;
use crate::cellar::core::day::Day;
use crate::cellar::core::label::Label;
use crate::units::{Volume, by_count, counted, litres_at_least, litres_at_most};

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
        "{} of {} with the loss {} {}, but {vessel} holds {} by the book. Check the bottles; if they are right, gauge the vessel first.",
        counted(*.bottles, "bottle"),
        size(*.bottle),
        by_count(*.bottles, "takes", "take"),
        litres_at_least(*.wanted),
        litres_at_most(*.holds)
    )]
    MoreThanWine { vessel: Label, bottles: u32, bottle: Volume, wanted: Volume, holds: Volume },
    #[error("{vessel} holds {holds:#} by the book, and {wanted:#} is to be bottled. Check the litres.")]
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

    // Stores
    #[error("No store is called '{0}'. Check the label, or lay the store out first.")]
    UnknownStore(Label),
    #[error(
        "A store needs rows, each with a name of its own without '/' and 1 to 999 bins, and a name without '/', all short enough that store/row-bin has at most 40 characters; '{0}' has not."
    )]
    BadStore(Label),
    #[error("Bottles lie in {place}, which the new plan of '{store}' has not. Carry them elsewhere first.")]
    BinLost { store: Label, place: Label },
    #[error("{place} is no bin of '{store}'. Check row and bin, or lay the store out with it.")]
    NoBin { store: Label, place: Label },

    // Laying away, and out
    #[error("No bottle of the run '{run}' was filled with the lot code '{code}'. Check the code.")]
    CodeNotOfRun { run: Label, code: Label },
    #[error(
        "{} of {} {} to be laid away, but only {loose} {} not laid away yet. Check the count.",
        counted(*.bottles, "bottle"),
        of(.run, .code.as_ref()),
        by_count(*.bottles, "is", "are"),
        by_count(*.loose, "is", "are")
    )]
    MoreThanLoose { run: Label, code: Option<Label>, bottles: u64, loose: u64 },
    #[error(
        "{} of {} {} to leave {place}, where {there} {}. Check the count, and the place.",
        counted(*.bottles, "bottle"),
        of(.run, .code.as_ref()),
        by_count(*.bottles, "is", "are"),
        by_count(*.there, "lies", "lie")
    )]
    MoreThanThere { run: Label, code: Option<Label>, bottles: u64, place: Label, there: u64 },
    #[error(
        "{} of {} {} to go out, but only {left} {} left of it. Check the count.",
        counted(*.bottles, "bottle"),
        of(.run, .code.as_ref()),
        by_count(*.bottles, "is", "are"),
        by_count(*.left, "is", "are")
    )]
    MoreThanLeft { run: Label, code: Option<Label>, bottles: u64, left: u64 },
    #[error("A release on {} lies before the bottling of '{run}' on {}. Check the date.", .release.show(), .bottled.show())]
    ReleasedBeforeBottled { run: Label, release: Day, bottled: Day },
}

/// A run, or its bottles of one lot code.
fn of(run: &Label, code: Option<&Label>) -> String {
    code.map_or_else(|| format!("'{run}'"), |code| format!("'{run}' with the lot code '{code}'"))
}
