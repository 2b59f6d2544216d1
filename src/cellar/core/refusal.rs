//! Why something is impossible, in a sentence that says what is wrong and what would do.
//!
//! The same sentences serve twice: as the answer to an act that is refused, and as the discrepancy that is kept when a
//! fact of the log does not fit the facts before it.

use thiserror::Error;

use super::fact::FactId;
use super::label::Label;
use super::moment::Moment;
use super::place::{Place, RackPlace};
use super::state::State;
use crate::cellar::jobs::bench::trial::refusal::TrialRefusal;
use crate::cellar::jobs::bottles::bottling::refusal::RunRefusal;
use crate::cellar::jobs::finish::checklist::open_words;
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::reckon::fining::FiningError;
use crate::reckon::gauging::Unsound;
use crate::units::{Mass, Volume};

/// Why an act is refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation, the fields are the things it names
pub enum Refusal {
    // Labels
    #[error("No vessel is called '{0}'. Check the label, or register the vessel first.")]
    UnknownVessel(Label),
    #[error("No lot is called '{0}'. Check the label, or open the lot first.")]
    UnknownLot(Label),
    #[error("No origin is called '{0}'. Check the label, or declare the origin first.")]
    UnknownOrigin(Label),
    #[error("No room is called '{0}'. Check the label, or lay the room out first.")]
    UnknownRoom(Label),
    #[error("No round is called '{0}'. Check the label, or begin the round first.")]
    UnknownRound(Label),
    #[error("No count is called '{0}'. Check the label, or begin the count first.")]
    UnknownCount(Label),
    #[error("'{label}' was not there yet on {} at {}. Check the day, or enter first how it came there.", at.show_date(), at.show_time())]
    NotThereYet { label: Label, at: Moment },
    #[error("The count '{0}' is closed. Begin another one.")]
    CountEnded(Label),
    #[error("A count is of a room or of a store. Name one of them, or none for the whole cellar.")]
    RoomOrStore,
    #[error("Say what was found: of a vessel volume_ul, dip_mm or full, or of a run the bottles.")]
    NothingCounted,
    #[error("Too many lots are called 'found' to name what was found in {0}. Say which lot it is.")]
    NoNameForFound(Label),
    #[error("{0} was moved, filled or drawn from since it was counted. Count it again, then book.")]
    MovedSinceCounted(Label),
    #[error("'{label}' is how it is called already. Give it another label, or leave it.")]
    CalledSo { label: Label },
    #[error("{what} is already called '{label}'. Give this one another label.")]
    LabelTaken { what: &'static str, label: Label },

    // Places
    #[error("The room has no place {0}. Check row, stack, tier and side, or lay the room out with it.")]
    UnknownPlace(Place),
    #[error("The room has no rack {0}. Check row, stack and tier, or lay the room out with it.")]
    UnknownRack(RackPlace),
    #[error("{place} is taken by {by}. Move {by} first, or choose another place.")]
    PlaceTaken { place: Place, by: Label },
    #[error("The rack at {to} is not empty: {by} lies there. Lift that rack away first, or choose another place.")]
    RackTaken { to: RackPlace, by: Label },
    #[error("The rack at {0} is empty. Name the rack that was lifted.")]
    RackEmpty(RackPlace),
    #[error("The rack at {to} has no side for {vessel}. Choose a rack of the same kind.")]
    RackTooSmall { to: RackPlace, vessel: Label },
    #[error(
        "The rack at {from} stands under {above}: a rack is never lifted from under others. Lift those above it first."
    )]
    RackUnderOthers { from: RackPlace, above: Label },
    #[error("Nothing stands under {to}, and no rack stands on air. Choose a place on the floor or on another rack.")]
    RackOnAir { to: RackPlace },
    #[error("{vessel} lies at {place}, which the new plan of the room has not. Place it elsewhere first.")]
    PlaceLost { vessel: Label, place: Place },
    #[error(
        "A room needs rows, each with a name of its own without '/', 1 to 999 stacks, 1 to 9 tiers and 2 or 4 sides; '{0}' has not."
    )]
    BadLayout(Label),
    #[error("A room holds at most 100,000 places in 1,000 rows. Lay '{0}' out as several rooms.")]
    RoomTooLarge(Label),
    #[error("{what} of {value} is out of range. It must lie between {least} and {most}.")]
    OutOfRange { what: &'static str, value: String, least: f64, most: f64 },

    // Vessels
    #[error("{0} is retired and takes no part any more. Check the label.")]
    Retired(Label),
    #[error("{vessel} still holds {volume:#} by the book. Empty it before it is retired.")]
    NotEmpty { vessel: Label, volume: Volume },
    #[error("A vessel cannot hold nothing. Give '{0}' its capacity.")]
    NoCapacity(Label),
    #[error(
        "{vessel} cannot be {what} of {capacity}. Check the unit: a fact counts microlitres, so that 225 L are 225000000."
    )]
    ImplausibleCapacity { vessel: Label, what: &'static str, capacity: Volume },
    #[error(transparent)]
    Unsound(Unsound),
    #[error("A barrel's own sizes are three: bilge_mm, head_mm and length_mm. Give all of them, or none.")]
    SizesInPart,
    #[error(
        "By its sizes {vessel} would hold {litres:.0} L, but its capacity is {capacity:#}. Measure inside, in millimetres, or check the capacity."
    )]
    SizesAndCapacity { vessel: Label, litres: f64, capacity: Volume },
    #[error("{0} is not a lying barrel, so a dip under the bung says nothing. Gauge it as a volume.")]
    NotABarrel(Label),

    // Wine
    #[error(
        "{vessel} holds {holds:#} by the book, and {wanted:#} is wanted. Change the topping vessel, or say the litres that went in."
    )]
    SourceTooLow { vessel: Label, holds: Volume, wanted: Volume },
    #[error("{0} holds nothing by the book. Check the label, or enter first how its wine came in.")]
    SourceEmpty(Label),
    #[error(
        "No barrel that was racked into {0} can take its wine back: none stands empty, free and in no open work order."
    )]
    NothingToReturn(Label),
    #[error("{0} holds nothing by the book, so it cannot be topped. Fill it by a move of wine first.")]
    ToppedEmpty(Label),
    #[error(
        "{vessel} would hold {would:#} but its capacity is {capacity:#}. Check the volume, or choose a vessel with room."
    )]
    Overfull { vessel: Label, would: Volume, capacity: Volume },
    #[error("{vessel} cannot have given {volume:#}: its capacity is {capacity:#}. Check the volume, and the label.")]
    MoreThanItHolds { vessel: Label, volume: Volume, capacity: Volume },
    #[error("{0} cannot be filled from itself. Name two vessels.")]
    SameVessel(Label),
    #[error(
        "What it was filtered through is said, but not that it was filtered. Say filtration, or leave the filter out."
    )]
    FilterWithoutFiltration,
    #[error(
        "{volume} at {vessel} can hardly be meant. Check the unit: a fact counts microlitres, so that 1.2 L are 1200000."
    )]
    HardlyAnyWine { vessel: Label, volume: Volume },
    #[error("{what} of {value} can hardly be meant: {usual} is usual. Check the unit.")]
    UnitLost { what: &'static str, value: String, usual: &'static str },
    #[error("No volume is said. Give more than nothing.")]
    NoVolume,
    #[error("{0:#} is more wine than any cellar holds. Check the volume.")]
    TooMuch(Volume),
    #[error(
        "{poured:#} into {vessel} would mean that {missing:#} was missing from its {capacity:#}. Check the litres; if it is true, gauge the barrel first."
    )]
    AbsurdTopping { vessel: Label, poured: Volume, missing: Volume, capacity: Volume },
    #[error("{vessel} has red wine in its wood and must not take {colour} wine. Choose wood that never held red.")]
    RedWood { vessel: Label, colour: Colour },
    #[error("{vessel} holds {holds:#} wine and must not take {comes} wine. Choose another vessel.")]
    WrongColour { vessel: Label, holds: Colour, comes: Colour },
    #[error("The lot '{lot}' is {lot_colour} but the wine is {colour}. Choose a lot of that colour.")]
    LotColour { lot: Label, lot_colour: Colour, colour: Colour },
    #[error("Say either the volume or the dip, one of the two.")]
    VolumeOrDip,
    #[error("A dip of {dip_mm} mm does not fit {vessel}, whose bilge is {bilge_mm:.0} mm inside. Measure again.")]
    DipOutOfRange { vessel: Label, dip_mm: f64, bilge_mm: f64 },

    // Tests, treatments, care
    #[error("{} of {value} is out of range. It must lie between {least} and {}.{meant}", analyte.name(), analyte.with_unit(most))]
    FoundInNoWine { analyte: Analyte, value: f64, least: f64, most: f64, meant: String },
    #[error("No sample is called '{0}'. Check the label, or enter first which barrels it was drawn from.")]
    UnknownSample(Label),
    #[error("Nothing is said of what was tested. Name the vessel, the sample or the lot.")]
    NoVesselOrSample,
    #[error("No vessel holds the lot '{0}' then. Check the day, or name the vessel that was tested.")]
    LotGone(Label),
    #[error("No result is said. Give at least one, for example the pH.")]
    NothingTested,
    #[error("No value is called '{0}'. Check its spelling, or declare it first by analyte_declared.")]
    UnknownAnalyte(Label),
    #[error(
        "'{0}' cannot be the name of a value. Give it letters, and no comma, semicolon, equals sign or outer space."
    )]
    BadAnalyte(Label),
    #[error("'{analyte}' has a field of its own in every test: {field}. Enter it there.")]
    AnalyteHasAField { analyte: Label, field: &'static str },
    #[error("The least that is wanted of {0} is above the most. Check both, and their order.")]
    LowAboveHigh(Label),
    #[error("{value} is no value of {analyte}. Check the number and its unit.")]
    NoSuchValue { analyte: Label, value: f64 },
    #[error("A free SO2 of {free} mg/L is above the total of {total} mg/L. Check both, and their order.")]
    FreeAboveTotal { free: f64, total: f64 },
    #[error("Nothing is added to {0}. Give an amount, or the volume of a solution.")]
    NothingAdded(Label),
    #[error("{0} is more than any cellar adds. Check the amount and its unit.")]
    TooHeavy(Mass),
    #[error(
        "{amount} of {material} into {vessel} with its {wine:#} can hardly be meant. Check the amount and its unit."
    )]
    AbsurdTreatment { vessel: Label, material: Label, amount: Mass, wine: Volume },
    #[error(
        "{material} is weighed: {solution:#} alone does not say how much of it went in. Give its grams, and the {solution:#} as the solution that it came in."
    )]
    Weighed { material: Label, solution: Volume },
    #[error("{0} is not a barrel, so its wood cannot be cared for. Check the label.")]
    NoWood(Label),
    #[error("The {what} of {vessel} cannot be unknown. Say what it is.")]
    CannotBeUnknown { vessel: Label, what: &'static str },
    #[error(
        "{vessel} holds {volume:#} by the book, and wood is cared for when it is empty. Check the label, or empty it first."
    )]
    CaredWhileFull { vessel: Label, volume: Volume },
    #[error("Nothing is set. Give at least one choice, for example so2_model.")]
    NothingSet,

    // Fining
    #[error(transparent)]
    Fining(#[from] FiningError),
    #[error("The fining trial '{0}' has no glass. Give at least one dose.")]
    NoFiningGlass(Label),
    #[error("{chosen_g_l} g/L was not tried in '{trial}'. Choose the dose of one of its glasses.")]
    DoseNotTried { trial: Label, chosen_g_l: f64 },
    #[error("No dose of the fining trial '{0}' is chosen yet. Enter it again with the chosen one.")]
    NoDoseChosen(Label),

    // The checklist before bottling
    #[error("No item of the checklist is called '{0}'. See them all with `check LOT`, or declare it first.")]
    UnknownCheck(Label),
    #[error("'{0}' cannot be an item of a checklist. Give it letters, and no comma, semicolon or outer space.")]
    BadCheck(Label),
    #[error("'{item}' cannot be ticked as met: {found} was found. Test again, or waive it and say why.")]
    FoundOtherwise { item: Label, found: String },
    #[error("The alcohol on the label is not said, and its tolerance hangs on it. Say it, at the desk with --value.")]
    NoAlcoholOfLabel,
    #[error(
        "{lot} is not to be bottled yet: {}: {open}. Test, tick or waive what is open, or say why it is bottled despite that.",
        open_words(*.count)
    )]
    ChecksOpen { lot: Label, count: usize, open: String },

    // Works
    #[error("No work is called '{0}'. Check the label, or set the work first.")]
    UnknownWork(Label),
    #[error("The work '{0}' has ended. Set a new one.")]
    WorkEnded(Label),
    #[error("The work '{0}' has no barrels. Name at least one.")]
    NoStops(Label),
    #[error("{vessel} stands twice in the work '{work}'. Name each barrel once.")]
    StopTwice { work: Label, vessel: Label },
    #[error("{vessel} is no barrel of the work '{work}'. Go to one that is, or close the work.")]
    NotInWork { work: Label, vessel: Label },
    #[error("A barrel is skipped in a round or in a work. Name one of the two.")]
    RoundOrWork,

    #[error("{vessel} was {did} on two laptops: {times}. All of it counts until that is settled.")]
    DoneTwice { vessel: Label, did: &'static str, times: String },

    #[error("That is measured in another way. Type it in the unit in which it was entered, or press u to undo it.")]
    NotMeasuredSo,

    // Blends
    #[error("The wines of a blend are counted from 0, each with a vessel. Check the components of the stops.")]
    BlendComponents,
    #[error("The ratio has {shares} shares for {wines} wines. Give every wine one share.")]
    BlendShares { shares: usize, wines: usize },
    #[error("Nothing is blended. Say the ratio, or the litres that come from each vessel.")]
    BlendOfNothing,
    #[error("A blend is being made in {vessel} already, by the work '{work}'. Close that work first.")]
    BlendUnderWay { vessel: Label, work: Label },
    #[error("{vessel} holds {holds:#} of another wine, which would be in the blend. Choose an empty vessel.")]
    BlendOnOther { vessel: Label, holds: Volume },
    #[error("The ratio asks for no more from {0}. For a further move type its litres, or press u to undo the last.")]
    GivesNoMore(Label),

    #[error("{vessel} is still to be done in the work '{work}'. Do or end that work first.")]
    InAnotherWork { vessel: Label, work: Label },
    #[error("At a barrel of the work '{0}' no litres are measured. Press space when it is done.")]
    NoLitres(Label),
    #[error("At a barrel of the work '{0}' nothing is weighed. Press space when it is done.")]
    NothingWeighed(Label),
    #[error("{0} is full already. Skip it, or check which barrel you stand at.")]
    FullAlready(Label),
    #[error("No barrel asked for holds wine of '{0}'. Check the lot, and the racks if you named some.")]
    NothingToRack(Label),
    #[error("Every barrel asked for of '{0}' is held. Free those that are to be racked, or choose another lot.")]
    AllHeld(Label),
    #[error("{0} is a barrel. Choose a tank to rack into.")]
    NotATank(Label),
    #[error("{tank} is full with {holds:#}. Choose a vessel with room.")]
    TankFull { tank: Label, holds: Volume },
    #[error(
        "{tank} has room for {room:#}, and {expected:#} are expected. Choose a larger tank, or rack some of the racks."
    )]
    TankTooSmall { tank: Label, room: Volume, expected: Volume },
    #[error(
        "{tank} holds the lot '{holds:#}'. Choose an empty tank, or say what lot all of it is there: on the screen by the line of the tank, at the desk with --into-lot."
    )]
    OtherLot { tank: Label, holds: Label },
    #[error(
        "Nothing asked for holds wine to be treated. Check the lot, the racks and the labels; name a tank with --vessel."
    )]
    NothingToDose,
    #[error("No barrel asked for needs sulfur dioxide and can be given it. Nothing is to be done.")]
    NoDose,
    #[error(
        "The {what} of {who} is not known, and nothing is guessed. Test it first; at the desk --free asks for no pH, and --add for no test."
    )]
    NotTested { what: &'static str, who: String },
    #[error("{who} cannot be dosed. {why}")]
    NotReckoned { who: String, why: String },
    #[error("No empty barrel is due to be {0}. Nothing is to be done.")]
    NoCareDue(&'static str),

    // Quality
    #[error("A score lies between 0 and 20; {0} does not. Check the score.")]
    ScoreOutOfRange(f64),
    #[error("Nothing is said about the taste of {0}. Give a score, marks or words.")]
    NothingTasted(Label),
    #[error("'{0}' cannot be a mark. Give it letters, and no comma, semicolon or outer space.")]
    BadMark(Label),
    // Materials
    #[error("'{0}' is no name of a material. Write it with letters.")]
    NoMaterial(Label),
    #[error("No material is called '{0}'. Check the word, or say by its class what it is.")]
    UnknownMaterial(Label),
    #[error("{material} is known here: {known}. Leave out what it is, or say it anew with declare material.")]
    KnownMaterial { material: Label, known: String },
    #[error("Say of {0} either what it is the same as, or its class.")]
    SameOrClass(Label),
    #[error("{0} is no sulfur dioxide, so it gives none. Leave its share out, or give its class as so2.")]
    NoSulfurIn(Label),
    #[error("'{0}' cannot be typed as a key. Give 1 to 4 small letters from a to z.")]
    BadMarkKey(Label),
    #[error("'{key}' stands for {by} already. Give this mark another key.")]
    MarkKeyTaken { key: Label, by: Label },
    #[error(
        "{vessel} is held: {why}. Free it first, or say why it is done despite the hold, at the desk with --despite."
    )]
    HeldBack { vessel: Label, why: String },
    #[error("{0} is not held. There is nothing to free.")]
    NotHeld(Label),
    #[error("{0} is held already. Free it first, or leave it so.")]
    AlreadyHeld(Label),

    // Rounds
    #[error("The round '{round}' is still open in {room:#}. Resume it, or end it first.")]
    RoundOpen { round: Label, room: Label },
    #[error("The round '{0}' has ended. Begin a new one.")]
    RoundEnded(Label),
    #[error("The round '{round}' goes through {room:#}. Name that room, or the round that is meant.")]
    RoundElsewhere { round: Label, room: Label },
    #[error("{vessel} does not lie in {room:#}, where this round goes. Go to its room first.")]
    NotInRoom { vessel: Label, room: Label },

    // Trials
    #[error(transparent)]
    Trial(#[from] TrialRefusal),

    // Bottling runs
    #[error(transparent)]
    Run(#[from] RunRefusal),

    // Facts
    #[error("The fact {0} is not in the log. Check its device and number.")]
    UnknownFact(FactId),
    #[error("The fact {0} is taken back already.")]
    AlreadyRetracted(FactId),
    #[error("The fact {0} takes another back. Take it back too, and what it took counts again.")]
    TakesBack(FactId),
    #[error("Nothing is changed: the fact {0} says just that.")]
    NothingChanged(FactId),
    #[error("A fact cannot take itself back. Name the fact that was wrong.")]
    RetractsItself,
    #[error("{at} lies in the future (it is {now} here). Check the date, or this laptop's clock.")]
    Future { at: Moment, now: Moment },
}

impl Refusal {
    /// The same of what happened before now: what is there now and was not then is not unknown, but was not there yet.
    #[must_use]
    pub fn as_of(self, at: Moment, now: &State) -> Refusal {
        let (is_there, label) = match &self {
            Refusal::UnknownVessel(label) => (now.vessels.find(label.as_str()).is_some(), label),
            Refusal::UnknownLot(label) => (now.lots.find(label.as_str()).is_some(), label),
            Refusal::UnknownOrigin(label) => (now.origins.find(label.as_str()).is_some(), label),
            Refusal::UnknownRoom(label) => (now.rooms.find(label.as_str()).is_some(), label),
            Refusal::UnknownRound(label) => (now.rounds.find(label.as_str()).is_some(), label),
            Refusal::UnknownWork(label) => (now.works.find(label.as_str()).is_some(), label),
            Refusal::UnknownCount(label) => (now.counts.find(label.as_str()).is_some(), label),
            _ => return self,
        };
        if is_there { Refusal::NotThereYet { label: label.clone(), at } } else { self }
    }
}
