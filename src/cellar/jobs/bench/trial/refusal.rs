//! Why something cannot be done to a trial.

use thiserror::Error;

use super::code::Code;
use crate::cellar::core::label::Label;
use crate::reckon::scale_up::ScaleError;
use crate::units::Volume;

/// Why an act on a trial is refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation, the fields are the things it names
pub enum TrialRefusal {
    #[error("No trial is called '{0}'. Check the label, or set the trial first.")]
    Unknown(Label),

    // Setting it
    #[error("The trial '{0}' has no components. Name at least one vessel.")]
    NoComponents(Label),
    #[error("{0} stands twice among the components. Name each vessel once.")]
    ComponentTwice(Label),
    #[error(
        "{vessel} holds {holds:#} by the book, and {available:#} of it are said to be there for the blend. Check both."
    )]
    AvailableBeyondBook { vessel: Label, holds: Volume, available: Volume },
    #[error("The trial '{0}' has no glasses. Give at least one.")]
    NoGlasses(Label),
    #[error("The code {0} stands on two glasses. Give each glass a code of its own.")]
    CodeTwice(Code),
    #[error("The glass {code} has {shares} shares for {components} components. Give one for each.")]
    ShareCount { code: Code, shares: usize, components: usize },
    #[error("The glass {code} is said to repeat {of}, which is no glass of other code and equal shares. Check both.")]
    NoRepeat { code: Code, of: Code },
    #[error("The trial '{0}' has no panel. Name at least one taster.")]
    NoPanel(Label),
    #[error("{0} stands twice in the panel. Name each taster once.")]
    TasterTwice(Label),
    #[error("{0} is served, but is not in the panel. Check the name, or put it into the panel.")]
    ServedStranger(Label),
    #[error("{taster} is served the code {code}, which is on no glass. Check the code.")]
    ServedUnknown { taster: Label, code: Code },
    #[error("{taster} is served the glass {code} twice in one flight. Serve it once.")]
    ServedTwice { taster: Label, code: Code },
    #[error("{0} is in the panel, but is served nothing. Serve at least one glass, or leave the name out.")]
    ServedNothing(Label),
    #[error("The glass {0} is served to nobody. Serve it, or leave it out.")]
    ServedToNobody(Code),
    #[error("The digest is not that of this key and salt. Check whether the key was changed after it was sealed.")]
    SealBroken,

    // Rating
    #[error("{taster} is not in the panel of '{trial}'. Check the name.")]
    UnknownTaster { trial: Label, taster: Label },
    #[error("No glass of '{trial}' has the code {code}. Check the code.")]
    UnknownCode { trial: Label, code: Code },
    #[error("{taster} has no glass {code}{}. Check the code, and the taster.", in_flight(*.flight))]
    NotServed { taster: Label, code: Code, flight: Option<u32> },
    #[error("A rank of {rank} is out of range. It lies between 1 and {glasses}, the glasses that are ranked.")]
    RankOutOfRange { rank: f64, glasses: usize },
    #[error("Nothing is said about the glass {0}. Give a score, a rank or words.")]
    NothingSaid(Code),
    #[error("'{0}' is revealed, and nothing is rated after it. Set a new trial to taste again.")]
    RatedAfterReveal(Label),

    // The reveal
    #[error("'{0}' is revealed already.")]
    TrialRevealed(Label),
    #[error("'{0}' was revealed and stays so: what was seen cannot be unseen. Set a new trial to taste again.")]
    RevealStands(Label),
    #[error(
        "'{0}' is revealed, and what was said before it stands: no rating is taken back or given back. Set a new trial to taste again."
    )]
    RatingStands(Label),

    #[error("The key of '{0}' is sealed until it is revealed. Reveal it first.")]
    StillSealed(Label),

    // The blend
    #[error("'{0}' is not revealed yet. Reveal it first, then choose the blend.")]
    RevealFirst(Label),
    #[error("Say either the code of a glass or the shares, one of the two.")]
    CodeOrShares,
    #[error("There are {shares} shares for the {components} components of the trial. Give one for each.")]
    BlendShares { shares: usize, components: usize },
    #[error("{0} gives to this blend itself. Choose another vessel to blend into.")]
    IntoComponent(Label),
    #[error("{kept} volumes are kept back of {components} components. Give at most one for each.")]
    BlendKept { kept: usize, components: usize },
    #[error(transparent)]
    Scale(#[from] ScaleError),
    #[error(
        "{vessel} holds {holds:#} by the book, and this blend takes {wanted:#}{}. Blend fewer litres, or choose another ratio.",
        kept_back(*.reserve)
    )]
    ComponentTooLow { vessel: Label, holds: Volume, wanted: Volume, reserve: Volume },
    #[error(
        "{vessel} holds {holds:#} by the book, of which open works are still to take {promised:#}, and this blend takes {wanted:#}. Blend fewer litres, or do or end those works first."
    )]
    Promised { vessel: Label, holds: Volume, promised: Volume, wanted: Volume },
    #[error("{0} was emptied since the samples were drawn, and holds another wine now. Set a new trial.")]
    OtherWine(Label),
    #[error("No work for the lot '{0}' can be named any more. Give this one a name.")]
    NoWorkLabel(Label),
}

fn in_flight(flight: Option<u32>) -> String {
    flight.map_or_else(String::new, |flight| format!(" in flight {flight}"))
}

fn kept_back(reserve: Volume) -> String {
    if reserve.is_zero() { String::new() } else { format!(" beside {reserve} that are kept back") }
}
