//! The plan of a barrel-down: which empties to fill from a tank so that the wine lies in a wanted mix of wood.
//!
//! [`State::prepare_fill`] makes a question of plain values, which any thread can put to [`choose`]; [`FillPlan::of`]
//! turns the answer, or the best so far, back into barrels and words.
//!
//! [`choose`]: crate::reckon::fill::choose
//!
//! **A rack stays with one lot** by the order in which the empties are given to the chooser (`PreparedFill::empties`): those beside other
//! wine come last, and of equal choices one of earlier barrels is taken. The plan is told in walking order all the same.
//!
//! **The wine is placed first**: a litre that stays although an empty could take it weighs a thousand litres of wishes (our choice).

mod kinds;
mod wish;

pub use self::kinds::KindOfWood;
pub use self::wish::{FillWish, Kind, Quality, WishError};

use thiserror::Error;

use self::wish::{quoted, same};
use crate::cellar::core::label::Label;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, RoomId, State, Vessel, VesselId};
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::floor::work::{StopSet, TaskSet, WorkSet};
use crate::reckon::fill::{
    Amount, Answer, Binding, Candidate, Limit, NoChoice, Question, TO_THE_LITRE, ToPlace, WHOLE, Wish, what_binds,
};
use crate::units::{Volume, litres};

/// What is asked of a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FillRequest {
    /// The vessel that is emptied into barrels.
    pub tank: VesselId,
    /// How much of its wine is placed.
    pub portion: Portion,
    /// The wishes.
    pub wishes: Vec<FillWish>,
    /// The only room whose empties are at hand; else all are.
    pub room: Option<RoomId>,
    /// The lot that the wine is in the barrels; the tank's own where it is not said.
    pub into: Option<LotId>,
}

/// How much of a tank's wine is placed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Portion {
    /// All of it.
    All,
    /// So many litres.
    Litres(Volume),
    /// So many barrels.
    Barrels(usize),
}

/// Why no plan can be made.
#[derive(Clone, Debug, PartialEq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation
pub enum NoFill {
    #[error("{0} holds nothing by the book. Check the label, or enter first how its wine came in.")]
    TankEmpty(Label),
    #[error("{0} is held. Free it first, or plan from another vessel.")]
    TankHeld(Label),
    #[error("{0} is retired and takes no part any more. Check the label.")]
    TankRetired(Label),
    #[error("{tank} holds {holds:#} by the book{}, and {wanted:#} is to be placed. Ask for less.", taken(*.promised))]
    MoreThanItHolds { tank: Label, holds: Volume, promised: Volume, wanted: Volume },
    #[error("{tank} holds {holds:#} by the book, and open works are still to take all of it. Do or end them first.")]
    AllPromised { tank: Label, holds: Volume },
    #[error(
        "{tank} holds {holds:#} by the book, of which open works are still to take {promised:#}. What is left fills no empty: do or end them first, or use a smaller vessel."
    )]
    TooLittleLeft { tank: Label, holds: Volume, promised: Volume },
    #[error("No barrel of the cellar has {quality} '{word}'.{}", known_words(.known))]
    UnknownWord { quality: &'static str, word: String, known: Vec<Label> },
    #[error("{0} lies in no barrel, so it has no mix to go by. Name another lot, or a day on which it lay in barrels.")]
    NoPattern(Label),
    #[error("No empty barrel at hand can take this wine{}. Empty or register barrels first, or free held ones.", told(.0))]
    NoEmpties(PassedOver),
    #[error(transparent)]
    NoChoice(#[from] NoChoice),
    #[error(transparent)]
    Refused(#[from] Refusal),
}

/// How much of a tank's wine open works will take, in words.
fn taken(promised: Volume) -> String {
    if promised.is_zero() { String::new() } else { format!(", of which open works take {promised}") }
}

fn known_words(known: &[Label]) -> String {
    match known {
        [] => " None is known of any.".to_owned(),
        known => format!(" Known are {}.", known.iter().map(Label::as_str).collect::<Vec<_>>().join(", ")),
    }
}

/// Empties that were not taken into account.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct PassedOver {
    /// They are held.
    pub held: usize,
    /// Their wood holds red wine's colour, and the wine is white or rosé.
    pub red_wood: usize,
    /// They lie elsewhere than where it was asked for.
    pub elsewhere: usize,
    /// They are still to be filled in an open work.
    pub in_work: usize,
}

impl PassedOver {
    /// How many were passed over, and why: `2 held, 1 elsewhere`; none where none were.
    #[must_use]
    pub fn words(&self) -> Option<String> {
        let reasons = [
            (self.held, "held"),
            (self.red_wood, "stained red"),
            (self.elsewhere, "elsewhere"),
            (self.in_work, "in an open work"),
        ];
        let told: Vec<String> =
            reasons.iter().filter(|(count, _)| *count > 0).map(|(count, why)| format!("{count} {why}")).collect();
        (!told.is_empty()).then(|| told.join(", "))
    }
}

fn told(passed: &PassedOver) -> String {
    passed.words().map_or_else(String::new, |words| format!(" (passed over: {words})"))
}

/// A plan's question, ready to be put to the chooser on any thread.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PreparedFill {
    /// The vessel that is emptied.
    pub tank: VesselId,
    /// The empties: those first whose rack holds no wine of another lot, then in walking order. Of choices that come equally
    /// near, one of earlier barrels is taken, so that a rack stays with one lot where it can.
    pub empties: Vec<VesselId>,
    /// For each of them, how many of the others are walked before it.
    walked: Vec<usize>,
    /// The wishes.
    pub wishes: Vec<FillWish>,
    /// Empties that were not taken into account.
    pub passed_over: PassedOver,
    /// The lot that the wine is in the barrels, where that is said.
    pub into: Option<LotId>,
    /// What open works are still to take from the tank: it is left to them.
    pub promised: Volume,
    /// The question.
    pub question: Question,
}

/// What became of a wish.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Granted {
    /// The wish, as it is written.
    pub wish: FillWish,
    /// What lies in its kind.
    pub volume: Volume,
    /// What it asks for.
    pub wanted: Volume,
    /// By how much it is missed.
    pub missed: Volume,
    /// What it comes up against; none where it is met.
    pub why: Option<String>,
}

impl Granted {
    /// Whether it is met, to the litre.
    #[must_use]
    pub fn is_met(&self) -> bool {
        self.missed < TO_THE_LITRE
    }
}

/// A plan: which barrels to fill.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FillPlan {
    /// The barrels, in walking order.
    pub barrels: Vec<VesselId>,
    /// What became of the wishes.
    pub wishes: Vec<Granted>,
    /// What the choice comes to.
    pub answer: Answer,
}

impl FillPlan {
    /// The plan that an answer to a prepared question is.
    #[must_use]
    pub fn of(prepared: &PreparedFill, answer: Answer) -> FillPlan {
        let bindings = what_binds(&prepared.question, &answer);
        let mut plan = FillPlan::so_far(prepared, answer);
        for (granted, binding) in plan.wishes.iter_mut().zip(bindings) {
            granted.why = binding.map(|binding| prepared.why(&granted.wish.kind, &binding));
        }
        plan
    }

    /// The plan that an answer is while the search goes on: what stands against its wishes is not asked yet.
    #[must_use]
    pub fn so_far(prepared: &PreparedFill, answer: Answer) -> FillPlan {
        let granted = prepared.wishes.iter().zip(&answer.wishes).map(|(wish, reached)| Granted {
            wish: wish.clone(),
            volume: reached.volume,
            wanted: reached.wanted,
            missed: reached.missed,
            why: None,
        });
        let wishes = granted.collect();
        let mut chosen = answer.chosen.clone();
        chosen.sort_by_key(|&at| prepared.walked[at]);
        FillPlan { barrels: chosen.into_iter().map(|at| prepared.empties[at]).collect(), wishes, answer }
    }

    /// How near the wishes come, and whether that is proved; none where nothing was wished.
    #[must_use]
    pub fn verdict(&self) -> Option<String> {
        let (missed, bound) = (litres(self.answer.missed), litres(self.answer.bound));
        if self.wishes.is_empty() {
            None
        } else if self.wishes.iter().all(Granted::is_met) {
            Some("Every wish is met to the litre.".to_owned())
        } else if self.answer.proved {
            Some(format!("The wishes are missed by {missed} in all; no choice is better by a litre (proved)."))
        } else {
            Some(format!(
                "The wishes are missed by {missed} in all: the best so far. No choice comes nearer than {bound}."
            ))
        }
    }

    /// The fact that begins the filling, in the state that the plan was prepared in.
    #[must_use]
    pub fn begin(&self, prepared: &PreparedFill, state: &State, work: Label) -> WorkSet {
        let stop = |&id: &VesselId| {
            let vessel = state.vessels.get(id);
            StopSet { volume: vessel.capacity, ..StopSet::of(vessel.label.clone()) }
        };
        let from = state.vessels.get(prepared.tank).label.clone();
        let lot = prepared.into.map(|lot| state.lots.get(lot).label.clone());
        WorkSet { work, task: TaskSet::BarrelDown { from, lot }, stops: self.barrels.iter().map(stop).collect() }
    }
}

impl PreparedFill {
    /// What a wish comes up against, in words.
    fn why(&self, kind: &Kind, binding: &Binding) -> String {
        match binding {
            Binding::Supply { of_kind, empties, barrels, hold, wanted } => {
                let (what, asked) =
                    if *of_kind { ("are", "asked for") } else { ("are not", "that must lie elsewhere") };
                let (hold, wanted) = (litres(*hold), litres(*wanted));
                format!("only {barrels} of the {empties} empties {what} {kind}: {hold} of the {wanted} {asked}")
            }
            Binding::Others(others) => {
                let names: Vec<String> = others.iter().map(|&at| self.wishes[at].to_string()).collect();
                format!("these empties do not allow it together with {}", names.join(", or "))
            }
            Binding::Together => "these empties do not allow all the wishes together".to_owned(),
            Binding::Placed => "more is asked for than is placed".to_owned(),
            Binding::WholeBarrels => "barrels are filled full or not at all, and no sum comes nearer".to_owned(),
            Binding::Unknown => "the search ended before it was known; give it longer".to_owned(),
        }
    }
}

impl State {
    /// Makes the question of a plan: the empties at hand that may take the wine, and which wishes each of them serves.
    pub fn prepare_fill(&self, request: FillRequest) -> Result<PreparedFill, NoFill> {
        let tank = self.vessels.get(request.tank);
        let promised = self.promised(request.tank);
        let to_place = to_place(tank, promised, request.portion)?;
        if let (Some(into), Some(colour)) = (request.into, self.colour_in(tank)) {
            self.fits_lot(into, colour)?;
        }
        request.wishes.iter().try_for_each(|wish| self.known_kind(&wish.kind))?;
        let (walked, passed_over) = self.candidates(self.colour_in(tank), request.room);
        let into = request.into.or(tank.lot);
        let mut empties: Vec<(usize, VesselId)> = walked.into_iter().enumerate().collect();
        empties.sort_by_cached_key(|&(walked, id)| (self.lies_beside_other_wine(id, into), walked));
        let (walked, empties): (Vec<usize>, Vec<VesselId>) = empties.into_iter().unzip();
        if empties.is_empty() {
            return Err(NoFill::NoEmpties(passed_over));
        }
        let free = tank.volume().saturating_sub(promised);
        if !promised.is_zero() && empties.iter().all(|&id| self.vessels.get(id).capacity > free) {
            let (tank, holds) = (tank.label.clone(), tank.volume());
            return Err(NoFill::TooLittleLeft { tank, holds, promised });
        }
        let candidate = |&id: &VesselId| {
            let vessel = self.vessels.get(id);
            // Beyond the most wishes the chooser refuses; what their bits are is no matter then.
            let serves = |wish: &FillWish| u32::from(wish.kind.is(&vessel.wood, vessel.fills + 1));
            let bits = (0..u32::BITS).zip(&request.wishes);
            Candidate { capacity: vessel.capacity, kinds: bits.map(|(bit, wish)| serves(wish) << bit).sum() }
        };
        let question = Question {
            candidates: empties.iter().map(candidate).collect(),
            to_place,
            wishes: request.wishes.iter().map(|wish| wish.wish).collect(),
            precision: TO_THE_LITRE,
        };
        Ok(PreparedFill {
            tank: request.tank,
            empties,
            walked,
            wishes: request.wishes,
            passed_over,
            into: request.into,
            promised,
            question,
        })
    }

    /// Refuses a lot of another colour than the wine's.
    fn fits_lot(&self, lot: LotId, colour: Colour) -> Result<(), Refusal> {
        let lot = self.lots.get(lot);
        let fits = lot.colour == colour;
        if fits { Ok(()) } else { Err(Refusal::LotColour { lot: lot.label.clone(), lot_colour: lot.colour, colour }) }
    }

    /// A word that stands at no barrel is most likely misspelt.
    fn known_kind(&self, kind: &Kind) -> Result<(), NoFill> {
        let Kind::Of(quality, word) = kind else { return Ok(()) };
        let barrels = self.vessels.iter().filter(|(_, vessel)| vessel.retired.is_none());
        let mut known: Vec<Label> = barrels.filter_map(|(_, vessel)| quality.of(&vessel.wood).cloned()).collect();
        known.sort_unstable();
        known.dedup();
        if known.iter().any(|label| same(label.as_str(), word)) {
            return Ok(());
        }
        Err(NoFill::UnknownWord { quality: quality.word(), word: quoted(word), known })
    }

    /// The empty barrels that may take a wine of a colour: room by room in walking order, then those that lie in none.
    fn candidates(&self, colour: Option<Colour>, room: Option<RoomId>) -> (Vec<VesselId>, PassedOver) {
        let mut passed = PassedOver::default();
        let in_work = self.still_to_fill();
        let mut empties: Vec<(Option<(RoomId, u32)>, VesselId)> = Vec::new();
        for (id, vessel) in self.vessels.iter() {
            if vessel.vessel_type != VesselType::Barrel || vessel.retired.is_some() || !vessel.wine.is_empty() {
                continue;
            }
            let is_red = vessel.stained == Some(Colour::Red) && colour != Some(Colour::Red);
            if room.is_some() && vessel.slot.map(|slot| slot.room) != room {
                passed.elsewhere += 1;
            } else if vessel.held.is_some() {
                passed.held += 1;
            } else if is_red {
                passed.red_wood += 1;
            } else if in_work.contains(&id) {
                passed.in_work += 1;
            } else {
                empties.push((vessel.slot.map(|slot| (slot.room, slot.index)), id));
            }
        }
        empties.sort_by_key(|&(slot, id)| (slot.is_none(), slot, id));
        (empties.into_iter().map(|(_, id)| id).collect(), passed)
    }

    /// Whether the rack that a barrel lies in holds wine of another lot than one, or open works will fill some in there.
    fn lies_beside_other_wine(&self, id: VesselId, lot: Option<LotId>) -> bool {
        let Some(slot) = self.vessels.get(id).slot else { return false };
        let room = self.rooms.get(slot.room);
        let rack = room.place(slot.index as usize).and_then(|place| room.rack_slots(&place.rack));
        let others = rack.into_iter().flatten().filter_map(|index| room.slots.get(index).copied().flatten());
        others.filter(|&other| other != id).any(|other| {
            let vessel = self.vessels.get(other);
            if vessel.wine.is_empty() {
                self.to_be_filled_with(other).is_some_and(|its| Some(its) != lot)
            } else {
                vessel.lot != lot
            }
        })
    }

    /// The mix that a lot lies in now, as wishes for another: the shares of new wood, and of every forest, toast and
    /// cooper, by what the barrels hold when full. Shares are rounded to hundredths of a percent.
    pub fn fill_pattern(&self, lot: LotId) -> Result<Vec<FillWish>, NoFill> {
        let is_of_lot = |vessel: &&Vessel| {
            vessel.vessel_type == VesselType::Barrel && vessel.lot == Some(lot) && !vessel.wine.is_empty()
        };
        let barrels: Vec<&Vessel> = self.vessels.iter().map(|(_, vessel)| vessel).filter(is_of_lot).collect();
        let whole: Volume = barrels.iter().map(|vessel| vessel.capacity).sum();
        if whole.is_zero() {
            return Err(NoFill::NoPattern(self.lots.get(lot).label.clone()));
        }
        let mut kinds = vec![Kind::Fill(1)];
        for quality in [Quality::Forest, Quality::Toast, Quality::Cooper] {
            let mut words: Vec<&Label> = barrels.iter().filter_map(|vessel| quality.of(&vessel.wood)).collect();
            words.sort_unstable();
            words.dedup_by(|one, other| same(one.as_str(), other.as_str()));
            kinds.extend(words.into_iter().map(|word| Kind::Of(quality, word.to_string())));
        }
        let exactly = |kind: Kind| {
            let of_kind = barrels.iter().filter(|vessel| kind.is(&vessel.wood, vessel.fills));
            let part: Volume = of_kind.map(|vessel| vessel.capacity).sum();
            let wish = Wish { limit: Limit::Exactly, amount: Amount::Share(share_of(part, whole)) };
            FillWish { kind, wish }
        };
        Ok(kinds.into_iter().map(exactly).collect())
    }
}

/// How much of what a vessel holds, less what is promised to open works, is placed.
fn to_place(tank: &Vessel, promised: Volume, portion: Portion) -> Result<ToPlace, NoFill> {
    let holds = tank.volume();
    let free = holds.saturating_sub(promised);
    if tank.retired.is_some() {
        return Err(NoFill::TankRetired(tank.label.clone()));
    }
    if holds.is_zero() {
        return Err(NoFill::TankEmpty(tank.label.clone()));
    }
    if tank.held.is_some() {
        return Err(NoFill::TankHeld(tank.label.clone()));
    }
    if free.is_zero() {
        return Err(NoFill::AllPromised { tank: tank.label.clone(), holds });
    }
    match portion {
        Portion::All => Ok(ToPlace::Litres(free)),
        Portion::Litres(wanted) if wanted > free => {
            Err(NoFill::MoreThanItHolds { tank: tank.label.clone(), holds, promised, wanted })
        }
        Portion::Litres(wanted) => Ok(ToPlace::Litres(wanted)),
        Portion::Barrels(count) => Ok(ToPlace::Barrels { count, from: free }),
    }
}

/// A part of a whole, in parts of [`WHOLE`], to the nearest.
fn share_of(part: Volume, whole: Volume) -> u32 {
    let (part, whole) = (u128::from(part.as_ul()), u128::from(whole.as_ul()));
    u32::try_from((part * u128::from(WHOLE) + whole / 2) / whole).unwrap_or(WHOLE)
}
