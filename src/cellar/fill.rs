//! The plan of a barrel-down: which empties to fill from a tank so that the wine lies in a wanted mix of wood.
//!
//! [`State::prepare_fill`] makes a question of plain values, which any thread can put to [`choose`]; [`FillPlan::of`]
//! turns the answer, or the best so far, back into barrels and words.
//!
//! [`choose`]: crate::reckon::fill::choose

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

use super::care::Care;
use super::label::{Label, harmless};
use super::lot::Colour;
use super::moment::Moment;
use super::refusal::Refusal;
use super::state::{LotId, RoomId, State, Vessel, VesselId};
use super::vessel::{VesselType, Wood};
use super::work::{StopSet, TaskSet, WorkSet};
use crate::reckon::fill::{
    Amount, Answer, Binding, Candidate, Limit, NoChoice, Question, TO_THE_LITRE, ToPlace, WHOLE, Wish, what_binds,
};
use crate::units::{Volume, VolumeUnit};

/// A quality of a barrel's wood that is told by a word.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Quality {
    /// The forest its oak grew in.
    Forest,
    /// How long the fire was.
    Toast,
    /// Who made it.
    Cooper,
    /// How close the rings stand.
    Grain,
}

impl Quality {
    /// All of them.
    pub const ALL: [Quality; 4] = [Quality::Forest, Quality::Toast, Quality::Cooper, Quality::Grain];

    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Quality::Forest => "forest",
            Quality::Toast => "toast",
            Quality::Cooper => "cooper",
            Quality::Grain => "grain",
        }
    }

    /// What is known of it of some wood.
    #[must_use]
    pub fn of(self, wood: &Wood) -> Option<&Label> {
        match self {
            Quality::Forest => wood.forest.as_ref(),
            Quality::Toast => wood.toast.as_ref(),
            Quality::Cooper => wood.cooper.as_ref(),
            Quality::Grain => wood.grain.as_ref(),
        }
    }
}

/// A kind of barrel that a wish speaks of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Wood that is filled for the so-manyeth time: new wood for the first.
    Fill(u32),
    /// Wood that held wine before.
    Used,
    /// Staves that dried outdoors for so many months, or for as many or more.
    Seasoning {
        /// Months.
        months: u32,
        /// Whether longer will do as well.
        or_more: bool,
    },
    /// Wood of a quality; the word is compared whole, without regard to case.
    Of(Quality, String),
}

impl Kind {
    /// Whether a barrel is of this kind in one of its fills.
    #[must_use]
    pub fn is(&self, wood: &Wood, fill: u32) -> bool {
        match self {
            Kind::Fill(number) => fill == *number,
            Kind::Used => fill > 1,
            Kind::Seasoning { months, or_more } => {
                wood.seasoning_months.is_some_and(|dried| dried == *months || (*or_more && dried > *months))
            }
            Kind::Of(quality, asked) => quality.of(wood).is_some_and(|known| same(known.as_str(), asked)),
        }
    }
}

fn same(one: &str, other: &str) -> bool {
    one.to_lowercase() == other.to_lowercase()
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Kind::Fill(1) => f.write_str("new"),
            Kind::Fill(number) => write!(f, "fill:{number}"),
            Kind::Used => f.write_str("used"),
            Kind::Seasoning { months, or_more } => write!(f, "seasoning:{months}{}", if *or_more { "+" } else { "" }),
            Kind::Of(quality, word) => write!(f, "{}:{}", quality.word(), harmless(word)),
        }
    }
}

impl FromStr for Kind {
    type Err = WishError;

    fn from_str(text: &str) -> Result<Kind, WishError> {
        let (name, word) = match text.split_once(':') {
            Some((name, word)) => (name.trim().to_lowercase(), word.trim()),
            None => (text.trim().to_lowercase(), ""),
        };
        let number = |digits: &str| digits.parse::<u32>().map_err(|_| WishError::NoNumber(quoted(text)));
        if let Some(quality) = Quality::ALL.into_iter().find(|quality| quality.word() == name) {
            return match word {
                "" => Err(WishError::NoWord(quality.word())),
                word => Ok(Kind::Of(quality, word.to_owned())),
            };
        }
        match (name.as_str(), word) {
            ("new", "") => Ok(Kind::Fill(1)),
            ("used", "") => Ok(Kind::Used),
            ("fill", digits) => match number(digits)? {
                0 => Err(WishError::NoNumber(quoted(text))),
                fill => Ok(Kind::Fill(fill)),
            },
            ("seasoning", digits) => {
                let (digits, or_more) =
                    digits.strip_suffix('+').map_or((digits, false), |digits| (digits.trim(), true));
                Ok(Kind::Seasoning { months: number(digits)?, or_more })
            }
            _ => Err(WishError::UnknownKind(quoted(text))),
        }
    }
}

/// How much of the wine is to lie in a kind of barrel: `new>=30%`, `forest:Allier=50%`, `cooper:Oakes<=900 L`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FillWish {
    /// In which kind of barrel.
    pub kind: Kind,
    /// How much.
    pub wish: Wish,
}

/// Why a text is no wish.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation
pub enum WishError {
    #[error("'{0}' says no amount. Write a wish like new>=30%, forest:Allier=50% or cooper:NAME<=900L.")]
    NoAmount(String),
    #[error(
        "'{0}' is no kind of barrel. Use new, used, fill:NUMBER, seasoning:MONTHS, or forest:, toast:, cooper: or grain: with a word."
    )]
    UnknownKind(String),
    #[error("'{0}:' needs a word behind it, like {0}:NAME>=30%.")]
    NoWord(&'static str),
    #[error("'{0}' needs a whole number, like fill:2, seasoning:24 or seasoning:24+ for 24 months or more.")]
    NoNumber(String),
    #[error("'{0}' is no amount. Give a share like 30% or litres like 900L.")]
    BadAmount(String),
    #[error("'{0}' is more than all. Give at most 100%.")]
    MoreThanAll(String),
}

/// As much of a text as a sentence can quote, without what could disturb a screen.
fn quoted(text: &str) -> String {
    harmless(&text.trim().chars().take(40).collect::<String>())
}

impl FromStr for FillWish {
    type Err = WishError;

    fn from_str(text: &str) -> Result<FillWish, WishError> {
        let signs = [
            (">=", Limit::AtLeast),
            ("≥", Limit::AtLeast),
            ("<=", Limit::AtMost),
            ("≤", Limit::AtMost),
            ("=", Limit::Exactly),
        ];
        let found = signs.into_iter().find_map(|(sign, limit)| Some((text.split_once(sign)?, limit)));
        let Some(((kind, amount), limit)) = found else { return Err(WishError::NoAmount(quoted(text))) };
        Ok(FillWish { kind: kind.parse()?, wish: Wish { limit, amount: amount_of(amount.trim())? } })
    }
}

fn amount_of(text: &str) -> Result<Amount, WishError> {
    let bad = || WishError::BadAmount(quoted(text));
    let Some(percent) = text.strip_suffix('%') else {
        // A bare number could be either.
        if !text.ends_with(char::is_alphabetic) {
            return Err(bad());
        }
        return Volume::parse(text, VolumeUnit::Litre).map(Amount::Litres).map_err(|_| bad());
    };
    let percent = percent.trim().replace(',', ".");
    let (whole, part) = percent.split_once('.').unwrap_or((&percent, ""));
    let is_number = |digits: &str| digits.bytes().all(|byte| byte.is_ascii_digit());
    if whole.is_empty() || part.len() > 2 || !is_number(whole) || !is_number(part) {
        return Err(bad());
    }
    let hundredths = format!("{whole}{part:0<2}").parse::<u32>().unwrap_or(u32::MAX);
    if hundredths > WHOLE { Err(WishError::MoreThanAll(quoted(text))) } else { Ok(Amount::Share(hundredths)) }
}

impl fmt::Display for FillWish {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = match self.wish.limit {
            Limit::AtLeast => ">=",
            Limit::AtMost => "<=",
            Limit::Exactly => "=",
        };
        write!(f, "{}{sign}", self.kind)?;
        match self.wish.amount {
            Amount::Litres(volume) => write!(f, "{volume}"),
            Amount::Share(share) if share % 100 == 0 => write!(f, "{}%", share / 100),
            Amount::Share(share) => write!(f, "{}.{:02}%", share / 100, share % 100),
        }
    }
}

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
    #[error("{tank} holds {holds} by the book{}, and {wanted} is to be placed. Ask for less.", taken(.promised))]
    MoreThanItHolds { tank: Label, holds: Volume, promised: Volume, wanted: Volume },
    #[error("{tank} holds {holds} by the book, and all of it is to fill barrels in an open work. Do or end that first.")]
    AllPromised { tank: Label, holds: Volume },
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
fn taken(promised: &Volume) -> String {
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
    /// The empties, in walking order.
    pub empties: Vec<VesselId>,
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
        let granted =
            prepared.wishes.iter().zip(&answer.wishes).zip(bindings).map(|((wish, reached), binding)| Granted {
                wish: wish.clone(),
                volume: reached.volume,
                wanted: reached.wanted,
                missed: reached.missed,
                why: binding.map(|binding| prepared.why(&wish.kind, &binding)),
            });
        let wishes = granted.collect();
        FillPlan { barrels: answer.chosen.iter().map(|&at| prepared.empties[at]).collect(), wishes, answer }
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

    /// How many of its barrels want a care first, by the book at a moment: the rinsing, then the soaking.
    #[must_use]
    pub fn wanting_care(&self, state: &State, at: Moment) -> [(Care, usize); 2] {
        let wanting = |care| self.barrels.iter().filter(|&&id| state.wants_before_wine(id, at).contains(&care)).count();
        [Care::Rinsed, Care::Soaked].map(|care| (care, wanting(care)))
    }
}

impl PreparedFill {
    /// What a wish comes up against, in words.
    fn why(&self, kind: &Kind, binding: &Binding) -> String {
        let litres = |volume: &Volume| volume.show(VolumeUnit::Litre, 1);
        match binding {
            Binding::Supply { of_kind, empties, barrels, hold, wanted } => {
                let (what, asked) =
                    if *of_kind { ("are", "asked for") } else { ("are not", "that must lie elsewhere") };
                let (hold, wanted) = (litres(hold), litres(wanted));
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
        let (empties, passed_over) = self.candidates(self.colour_in(tank), request.room);
        if empties.is_empty() {
            return Err(NoFill::NoEmpties(passed_over));
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn wish(text: &str) -> Result<FillWish, WishError> {
        text.parse()
    }

    #[test]
    fn wishes_are_read_as_a_hand_writes_them_and_shown_as_they_are_read() {
        for (written, shown) in [
            ("new>=30%", "new>=30%"),
            (" New >= 30 % ", "new>=30%"),
            ("used<=12,5%", "used<=12.50%"),
            ("fill:2=1.2hL", "fill:2=120 L"),
            ("fill:1=10%", "new=10%"),
            ("forest: Allier ≥ 50%", "forest:Allier>=50%"),
            ("toast:medium plus=40%", "toast:medium plus=40%"),
            ("cooper:Oakes & Daughters≤25%", "cooper:Oakes & Daughters<=25%"),
            ("seasoning:36=100%", "seasoning:36=100%"),
            ("seasoning:24+>=900L", "seasoning:24+>=900 L"),
            ("grain:fine>=0%", "grain:fine>=0%"),
        ] {
            let read = wish(written).unwrap();
            assert_eq!(read.to_string(), shown);
            assert_eq!(wish(shown), Ok(read));
        }
    }

    #[test]
    fn what_is_no_wish_is_told() {
        let is = |text: &str| text.to_owned();
        for (text, error) in [
            ("", WishError::NoAmount(is(""))),
            ("new", WishError::NoAmount(is("new"))),
            ("new>=120%", WishError::MoreThanAll(is("120%"))),
            ("new>=100.01%", WishError::MoreThanAll(is("100.01%"))),
            ("new>=99999999999999%", WishError::MoreThanAll(is("99999999999999%"))),
            ("new>=30", WishError::BadAmount(is("30"))),
            ("new>=-30%", WishError::BadAmount(is("-30%"))),
            ("new>=%", WishError::BadAmount(is("%"))),
            ("new>=3 kg", WishError::BadAmount(is("3 kg"))),
            ("new:Allier>=3%", WishError::UnknownKind(is("new:Allier"))),
            ("oak>=3%", WishError::UnknownKind(is("oak"))),
            ("forest:>=3%", WishError::NoWord("forest")),
            ("fill:0>=3%", WishError::NoNumber(is("fill:0"))),
            ("fill:two>=3%", WishError::NoNumber(is("fill:two"))),
            ("seasoning:+>=3%", WishError::NoNumber(is("seasoning:+"))),
        ] {
            assert_eq!(wish(text), Err(error), "{text}");
        }
    }

    proptest! {
        #[test]
        fn no_text_breaks_the_reader(text in "\\PC{0,30}") {
            let _ = wish(&text);
            let _ = wish(&format!("new>={text}%"));
        }
    }
}
