//! The state of a cellar: the fold of all its facts. It holds no wine but in microlitres and knows no clock.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use compact_str::CompactString;
use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize, Serializer};

use super::account::{Account, Entry, Postings};
use super::doing::{Doings, Twice};
use super::fact::{FactId, FactKey, Stamp};
use super::history::History;
use super::label::{Label, Text};
use super::moment::Moment;
use super::place::Place;
use super::refusal::Refusal;
use super::table::{Labelled, Renamable, Table, id_type};
use super::wine::Wine;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::books::counting::keeping::Count;
use crate::cellar::jobs::bottles::bottling::run::Run;
use crate::cellar::jobs::bottles::bottling::store::Store;
use crate::cellar::jobs::finish::checklist::checking::{HouseCheck, Said};
use crate::cellar::jobs::finish::checklist::lapse::Lapse;
use crate::cellar::jobs::finish::filtration::Filtration;
use crate::cellar::jobs::finish::fining::FiningTrial;
use crate::cellar::jobs::finish::fining::given::FiningDone;
use crate::cellar::jobs::floor::lot::{Colour, Stage};
use crate::cellar::jobs::floor::origin::OriginDeclared;
use crate::cellar::jobs::floor::practice::{Practice, SettingSaid};
use crate::cellar::jobs::floor::room::RowLaidOut;
use crate::cellar::jobs::floor::vessel::{VesselType, Wood};
use crate::cellar::jobs::floor::work::{Stop, Task};
use crate::cellar::jobs::tests::marks::HouseMark;
use crate::cellar::jobs::tests::material::HouseMaterial;
use crate::cellar::jobs::tests::suspect::{Carried, Watched};
use crate::cellar::jobs::tests::testing::declared::AnalyteDeclared;
use crate::cellar::jobs::tests::testing::{KeptTests, Sample};
use crate::cellar::jobs::tests::treating::Addition;
use crate::cellar::jobs::topping::gauging::CameIn;
use crate::cellar::jobs::topping::round::Crossing;
use crate::cellar::jobs::topping::round::Mark;
use crate::cellar::jobs::wood::blanketing::Blanket;
use crate::cellar::jobs::wood::care::CareGiven;
use crate::reckon::headspace::{RoomRate, Thirst};
use crate::units::Volume;

id_type!(
    /// A room of this state.
    RoomId
);
id_type!(
    /// A vessel of this state.
    VesselId
);
id_type!(
    /// An origin of this state.
    OriginId
);
id_type!(
    /// A lot of this state.
    LotId
);
id_type!(
    /// A round of this state.
    RoundId
);
id_type!(
    /// A work of this state.
    WorkId
);
id_type!(
    /// A sample of this state.
    SampleId
);
id_type!(
    /// A trial of this state.
    TrialId
);
id_type!(
    /// A bottling run of this state.
    RunId
);
id_type!(
    /// A store for bottles of this state.
    StoreId
);
id_type!(
    /// A physical count of this state.
    CountId
);
id_type!(
    /// A fining trial of this state.
    FiningId
);

/// Everything that the facts say, as of the last of them.
///
/// Cheap to clone: clones share what neither has changed.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// The rooms.
    pub rooms: Table<RoomId, Room>,
    /// The vessels, retired ones too.
    pub vessels: Table<VesselId, Vessel>,
    /// The origins.
    pub origins: Table<OriginId, Origin>,
    /// The lots.
    pub lots: Table<LotId, Lot>,
    /// The rounds, ended ones too.
    pub rounds: Table<RoundId, Round>,
    /// The works, ended ones too.
    pub works: Table<WorkId, Work>,
    /// The works that are open, in the order in which they were set.
    pub open_works: Vec<WorkId>,
    /// What the last rackings into a tank that was gauged left behind in a barrel each, the newest last.
    pub lees_left: Arc<Vec<Volume>>,
    /// The samples that carry a label.
    pub samples: Table<SampleId, Sample>,
    /// The trials at the bench.
    pub trials: Table<TrialId, Trial>,
    /// The bottling runs.
    pub runs: Table<RunId, Run>,
    /// The stores for bottles.
    pub stores: Table<StoreId, Store>,
    /// The physical counts, closed ones too.
    pub counts: Table<CountId, Count>,
    /// The fining trials.
    pub finings: Table<FiningId, FiningTrial>,
    /// The finings that were done, in that order.
    pub finings_done: Arc<Vec<FiningDone>>,
    /// The filtrations, in their order.
    pub filtrations: Arc<Vec<Filtration>>,
    /// How this house works.
    pub practice: Practice,
    /// By which fact each of its settings was said last.
    pub settings_said: Arc<BTreeMap<CompactString, SettingSaid>>,
    /// The words for tastes that this house declared, in that order.
    pub house_marks: Arc<Vec<HouseMark>>,
    /// What this house has its wines tested for beyond what every laboratory reports, in that order.
    pub house_analytes: Arc<Vec<AnalyteDeclared>>,
    /// The materials that this house declared, and those that it used and nobody knows, in that order.
    pub house_materials: Arc<Vec<HouseMaterial>>,
    /// The words that were ever written for an addition, in the order of the first; what a wine carries counts by them.
    pub added_words: Arc<Vec<Label>>,
    /// What this house says of the checklist before bottling, in that order.
    pub house_checks: Arc<Vec<HouseCheck>>,
    /// The vessels that lie at no place.
    pub unplaced: Arc<BTreeSet<VesselId>>,
    /// What barrels that lie in no room lose.
    pub nowhere: RoomRate,
    /// Whether it is a fold in which no barrel and no room learns anything: what the estimate costs is measured against it.
    #[serde(skip)]
    pub(in crate::cellar) unlearning: bool,
    /// What did not fit, in the order of the facts.
    pub discrepancies: Arc<Vec<Discrepancy>>,
    /// How many facts were folded, those that did not fit too.
    pub facts: u64,
    /// The last fact folded, with the moment it happened.
    pub last: Option<(FactKey, Moment)>,
}

/// Writes a map in the order of its keys, so that one state is always written as the same bytes.
fn in_order<S: Serializer, K: Ord + Serialize, V: Serialize>(
    map: &FxHashMap<K, V>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.collect_map(map.iter().collect::<BTreeMap<_, _>>())
}

/// A fact that does not fit the facts before it, kept for the person to settle.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Discrepancy {
    /// Which fact.
    pub id: FactId,
    /// When it happened.
    pub at: Moment,
    /// Its kind.
    pub kind: String,
    /// What it is about.
    pub about: Option<Label>,
    /// What does not fit, and what would do.
    pub problem: String,
    /// Whether the fact was counted all the same. One that was not has no effect.
    pub counted: bool,
    /// The facts of other laptops that may be the same thing; none where it is no such case.
    pub twice: Vec<FactId>,
}

/// A room: its rows, and what lies in each of its places.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Room {
    /// Its label.
    pub label: Label,
    /// Its rows, in the order in which they stand.
    pub rows: Vec<RowLaidOut>,
    /// Mean temperature, °C.
    pub temperature_c: Option<f64>,
    /// Mean relative humidity, %.
    pub humidity_pct: Option<f64>,
    /// Days between two rounds, where the room has an interval of its own.
    pub round_days: Option<u32>,
    /// The headspace that makes a barrel due at once.
    pub tolerated: Option<Volume>,
    /// What lies where: one slot a place, in walking order (row, stack, tier, side).
    pub slots: Vec<Option<VesselId>>,
    /// The round that is open here.
    pub open_round: Option<RoundId>,
    /// All evaporation found in this room's barrels.
    pub evaporation_found: Volume,
    /// The time over which it was found: the sum over barrels, in minutes.
    pub barrel_minutes: u64,
    /// What it is believed to draw from a barrel.
    pub rate: RoomRate,
}

/// A place as a room and the index of a slot there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Slot {
    /// The room.
    pub room: RoomId,
    /// Which of its slots, in walking order.
    pub index: u32,
}

/// A source of wine.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Origin(pub OriginDeclared);

/// A lot.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Lot {
    /// Its label.
    pub label: Label,
    /// Its colour.
    pub colour: Colour,
    /// When it was opened.
    pub opened: Moment,
    /// How its barrels are kept now, and since when.
    pub stage: Option<(Stage, Moment)>,
    /// Days between two toppings, where the lot has an interval of its own.
    pub round_days: Option<u32>,
    /// Its tests, composites once, in their order.
    pub tests: Arc<KeptTests>,
    /// What was added to it, in order.
    pub additions: Arc<Vec<Arc<Addition>>>,
    /// What was last said of each item of its checklist.
    pub checks: Arc<Vec<Said>>,
}

/// A walk through a room.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Round {
    /// Its label.
    pub label: Label,
    /// The room that is walked.
    pub room: RoomId,
    /// The vessel that is topped from now.
    pub source: Option<VesselId>,
    /// When it began.
    pub begun: Moment,
    /// When it ended.
    pub ended: Option<Moment>,
    /// What was done at each barrel. Kept while the round is open; afterwards only what the summary needs.
    #[serde(serialize_with = "in_order")]
    pub marks: FxHashMap<VesselId, Mark>,
    /// How many barrels were topped.
    pub topped: u32,
    /// All that was poured.
    pub poured: Volume,
    /// Wine of another lot that tops a lot in it, because that was said or has been poured. Kept while the round is open.
    pub crossings: Vec<Crossing>,
    /// Barrels that were topped in it for the first time since that is written down. Kept while the round is open.
    pub unrecorded: BTreeSet<VesselId>,
    /// Whether odd barrels are topped like the rest, because they are many and that was said.
    pub odd_too: bool,
}

/// A piece of work on many barrels.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Work {
    /// Its label.
    pub label: Label,
    /// What is done to each barrel.
    pub task: Task,
    /// The barrels, in walking order; of an ended work those that were not done, but of a blend all.
    pub stops: Arc<Vec<Stop>>,
    /// When it was set.
    pub begun: Moment,
    /// When it was ended.
    pub ended: Option<Moment>,
    /// How many barrels were done when it was ended.
    pub done: u32,
}

/// A hold.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Hold {
    /// Why.
    pub why: Text,
    /// Since when.
    pub since: Moment,
}

/// The last taste.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Taste {
    /// When.
    pub at: Moment,
    /// The score, 0 to 20.
    pub score: Option<f64>,
    /// Words from the house's list.
    pub marks: Vec<Label>,
    /// Words of one's own.
    pub text: Option<Text>,
}

/// A vessel and what is in it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Vessel {
    /// Its label, for life.
    pub label: Label,
    /// What kind of vessel it is.
    pub vessel_type: VesselType,
    /// What it holds when brimful.
    pub capacity: Volume,
    /// Whether it is to be kept full.
    pub kept_full: bool,
    /// Its wood.
    pub wood: Arc<Wood>,
    /// How often it was filled, the present fill included.
    pub fills: u32,
    /// How often it was filled before it came into this book.
    pub fills_before: u32,
    /// The colour of the wine in its wood.
    pub stained: Option<Colour>,
    /// Where it lies.
    pub slot: Option<Slot>,
    /// The room that it last lay in, or in whose round it was topped while it lay at no place.
    pub home: Option<RoomId>,
    /// When it was retired.
    pub retired: Option<Moment>,
    /// The lot it holds.
    pub lot: Option<LotId>,
    /// What it holds by the book.
    pub wine: Wine,
    /// Since when it holds wine.
    pub filled: Option<Moment>,
    /// When it was last emptied.
    pub emptied: Option<Moment>,
    /// When it was last topped.
    pub last_topped: Option<Moment>,
    /// When another vessel was last topped from it.
    pub topped_others: Option<Moment>,
    /// When what it holds was last known: filled, topped brimful or gauged.
    pub level_known: Option<Moment>,
    /// Since when its toppings are written down, where it was not known to be brimful, nor gauged, since.
    pub kept_since: Option<Moment>,
    /// Whether it was filled before anything was written down, so that it came into the book with its wine.
    pub filled_before: bool,
    /// What was found to have evaporated since then, without its level having been known.
    pub evaporated: Volume,
    /// What it was found to hold beyond the book since then.
    pub gained: Volume,
    /// How wine last came into it.
    pub came_in: CameIn,
    /// How fast it drinks against its neighbours.
    pub thirst: Thirst,
    /// What it lost a day, between the last two moments at which its level was known.
    pub last_rate: Option<DailyRate>,
    /// Why it is held, if it is.
    pub held: Option<Arc<Hold>>,
    /// How it last tasted.
    pub taste: Option<Arc<Taste>>,
    /// The last tests of its present wine, in their order.
    pub tests: Arc<KeptTests>,
    /// What they say of what can make it suspect; none where they say nothing of that.
    pub watched: Option<Arc<Watched>>,
    /// What came in with suspect wine; none where none did.
    pub carried: Option<Arc<Carried>>,
    /// What was last added to its present wine, in order.
    pub additions: Arc<Vec<Arc<Addition>>>,
    /// What happened to its present wine, the last of each kind.
    pub changes: Vec<Lapse>,
    /// The care that its wood was given.
    pub care: CareGiven,
    /// The barrels that were racked into it since it was last empty, and that did not get its wine back yet.
    pub racked_from: Vec<VesselId>,
    /// When the lees under its present wine were last stirred.
    pub stirred: Option<Moment>,
    /// The gas over it; none where none was laid since it was last emptied.
    pub blanket: Option<Box<Blanket>>,
    /// Its last facts.
    pub history: History,
    /// What was done at it of late in rounds and works.
    pub lately: Doings,
    /// Its account, by the lot it held and the room it lay in.
    pub postings: Postings,
}

/// Microlitres a day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct DailyRate(pub u64);

impl Vessel {
    /// What it holds by the book.
    #[must_use]
    pub fn volume(&self) -> Volume {
        self.wine.volume()
    }

    /// What it lacks by the book.
    #[must_use]
    pub fn book_headspace(&self) -> Volume {
        self.capacity.saturating_sub(self.volume())
    }

    /// Whether its wine is the first that its wood holds.
    #[must_use]
    pub fn is_first_fill(&self) -> bool {
        self.vessel_type == VesselType::Barrel && self.fills == 1
    }

    /// The sum of its postings.
    #[must_use]
    pub fn account(&self) -> Account {
        let mut account = Account::default();
        for posting in self.postings.iter() {
            account.merge(&posting.account);
        }
        account
    }

    /// Books a volume under a line.
    pub fn book(&mut self, entry: Entry, volume: Volume) {
        if !volume.is_zero() {
            self.postings.under(self.lot, self.slot.map(|slot| slot.room)).add(entry, volume);
        }
    }

    /// The wine in it takes another lot's name.
    pub fn rename(&mut self, lot: Option<LotId>) {
        if self.lot == lot {
            return;
        }
        let volume = self.volume();
        self.book(Entry::RenamedOut, volume);
        self.lot = lot;
        self.book(Entry::RenamedIn, volume);
    }

    /// It lies somewhere else now.
    pub fn carry(&mut self, slot: Option<Slot>) {
        self.home = slot.map(|slot| slot.room).or(self.home);
        if self.slot.map(|slot| slot.room) == slot.map(|slot| slot.room) {
            self.slot = slot;
            return;
        }
        let volume = self.volume();
        self.book(Entry::CarriedOut, volume);
        self.slot = slot;
        self.book(Entry::CarriedIn, volume);
    }
}

impl Labelled for Room {
    fn label(&self) -> &Label {
        &self.label
    }
}
impl Renamable for Room {
    fn set_label(&mut self, label: Label) {
        self.label = label;
    }
}
impl Labelled for Vessel {
    fn label(&self) -> &Label {
        &self.label
    }
}
impl Renamable for Vessel {
    fn set_label(&mut self, label: Label) {
        self.label = label;
    }
}
impl Labelled for Origin {
    fn label(&self) -> &Label {
        &self.0.origin
    }
}
impl Renamable for Origin {
    fn set_label(&mut self, label: Label) {
        self.0.origin = label;
    }
}
impl Labelled for Lot {
    fn label(&self) -> &Label {
        &self.label
    }
}
impl Renamable for Lot {
    fn set_label(&mut self, label: Label) {
        self.label = label;
    }
}
impl Labelled for Round {
    fn label(&self) -> &Label {
        &self.label
    }
}
impl Labelled for Work {
    fn label(&self) -> &Label {
        &self.label
    }
}
impl Labelled for Sample {
    fn label(&self) -> &Label {
        &self.label
    }
}

impl State {
    /// A state that keeps all books but never learns what evaporates. The bench of the estimate folds into it; nothing else
    /// should.
    #[doc(hidden)]
    #[must_use]
    pub fn unlearning() -> State {
        State { unlearning: true, ..State::default() }
    }

    /// The vessel of a label, one that is still in the cellar.
    pub fn vessel(&self, label: &Label) -> Result<VesselId, Refusal> {
        let id = self.vessels.find(label.as_str()).ok_or_else(|| Refusal::UnknownVessel(label.clone()))?;
        match self.vessels.get(id).retired {
            Some(_) => Err(Refusal::Retired(label.clone())),
            None => Ok(id),
        }
    }

    /// The lot of a label.
    pub fn lot(&self, label: &Label) -> Result<LotId, Refusal> {
        self.lots.find(label.as_str()).ok_or_else(|| Refusal::UnknownLot(label.clone()))
    }

    /// The room of a label.
    pub fn room(&self, label: &Label) -> Result<RoomId, Refusal> {
        self.rooms.find(label.as_str()).ok_or_else(|| Refusal::UnknownRoom(label.clone()))
    }

    /// The round of a label.
    pub fn round(&self, label: &Label) -> Result<RoundId, Refusal> {
        self.rounds.find(label.as_str()).ok_or_else(|| Refusal::UnknownRound(label.clone()))
    }

    /// The place that a vessel lies at.
    #[must_use]
    pub fn place_of(&self, vessel: &Vessel) -> Option<Place> {
        vessel.slot.and_then(|slot| self.rooms.get(slot.room).place(slot.index as usize))
    }

    /// The colour of the wine in a vessel.
    #[must_use]
    pub fn colour_in(&self, vessel: &Vessel) -> Option<Colour> {
        vessel.lot.map(|lot| self.lots.get(lot).colour)
    }

    /// Keeps a fact that does not fit.
    pub(in crate::cellar) fn keep_discrepancy(
        &mut self,
        stamp: &Stamp,
        kind: &str,
        about: Option<&Label>,
        refusal: &Refusal,
        (counted, twice): (bool, Option<Box<Twice>>),
    ) {
        Arc::make_mut(&mut self.discrepancies).push(Discrepancy {
            id: stamp.id.clone(),
            at: stamp.at,
            kind: kind.to_owned(),
            about: about.cloned(),
            problem: refusal.to_string(),
            counted,
            twice: twice.map_or_else(Vec::new, |twice| twice.earlier),
        });
    }
}
