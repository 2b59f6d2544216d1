//! A fact: one event of the log, something that was seen or done.
//!
//! A fact has an envelope (who wrote it, when it happened, when it was entered) and says [`What`] happened. The exchange
//! form is one JSON object a line; the log keeps the envelope in columns and only the fields of the kind as JSON, its
//! [`body`](What::body), so that a million facts can be read without parsing a million envelopes. Both forms carry
//! exactly the same content: [`Line`] is that form, and [`Line::fact`] what it says.
//!
//! Each kind has a version. What an older program wrote is lifted where it is read, so that nothing behind knows but the
//! newest; what a newer one wrote is not read at all, and whoever meets it says so.

mod error;
mod kinds;
mod line;

use std::fmt;

use compact_str::CompactString;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

pub use error::FactError;
use kinds::{Lift, kinds};
pub use line::{IncomingFact, Line, LineText, body_text, is_despite};

use super::job::Deed;
use super::label::{Label, Text};
use super::moment::Moment;
use crate::cellar::jobs::bench::trial::blending::BlendChosen;
use crate::cellar::jobs::bench::trial::rating::GlassRated;
use crate::cellar::jobs::bench::trial::reveal::TrialRevealed;
use crate::cellar::jobs::bench::trial::setting::TrialSet;
use crate::cellar::jobs::books::bulk_out::WineOut;
use crate::cellar::jobs::books::counting::keeping::{CountBegun, CountEnded, ThingCounted};
use crate::cellar::jobs::books::loss::Lost;
use crate::cellar::jobs::books::retraction::Retracted;
use crate::cellar::jobs::bottles::bottling::Bottled;
use crate::cellar::jobs::bottles::bottling::bottle_tasting::BottleTasted;
use crate::cellar::jobs::bottles::bottling::bottles_counted::BottlesCounted;
use crate::cellar::jobs::bottles::bottling::bottles_out::BottlesOut;
use crate::cellar::jobs::bottles::bottling::laying_away::LaidAway;
use crate::cellar::jobs::bottles::bottling::store::StoreLaidOut;
use crate::cellar::jobs::finish::checklist::checking::{CheckDeclared, CheckWaived, Checked};
use crate::cellar::jobs::finish::fining::FiningTried;
use crate::cellar::jobs::floor::changing::VesselChanged;
use crate::cellar::jobs::floor::holding::{Freed, Held};
use crate::cellar::jobs::floor::lot::{LotOpened, StageSet};
use crate::cellar::jobs::floor::noting::Noted;
use crate::cellar::jobs::floor::origin::OriginDeclared;
use crate::cellar::jobs::floor::placing::{RackMoved, VesselPlaced};
use crate::cellar::jobs::floor::practice::PracticeSet;
use crate::cellar::jobs::floor::receiving::WineReceived;
use crate::cellar::jobs::floor::renaming::Renamed;
use crate::cellar::jobs::floor::room::RoomLaidOut;
use crate::cellar::jobs::floor::vessel::{VesselRegistered, VesselRetired};
use crate::cellar::jobs::floor::work::{WorkEnded, WorkSet};
use crate::cellar::jobs::tests::marks::MarkDeclared;
use crate::cellar::jobs::tests::material::MaterialDeclared;
use crate::cellar::jobs::tests::sampling::Sampled;
use crate::cellar::jobs::tests::tasting::Tasted;
use crate::cellar::jobs::tests::testing::Tested;
use crate::cellar::jobs::tests::testing::declared::AnalyteDeclared;
use crate::cellar::jobs::tests::treating::Treated;
use crate::cellar::jobs::topping::Topped;
use crate::cellar::jobs::topping::gauging::Gauged;
use crate::cellar::jobs::topping::kept_since::KeptSince;
use crate::cellar::jobs::topping::round::{RoundBegun, RoundEnded, Skipped, SourceChanged};
use crate::cellar::jobs::wood::blanketing::Blanketed;
use crate::cellar::jobs::wood::care::BarrelCared;
use crate::cellar::jobs::wood::moving::WineMoved;
use crate::cellar::jobs::wood::stirring::Stirred;

/// The most bytes a line of the exchange form may have.
pub const LINE_BYTES: usize = 1 << 20;

/// A laptop's own name in the log: 1 to 40 lower-case letters, digits and hyphens, given at random.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "CompactString", into = "CompactString")]
pub struct Device(CompactString);

impl Device {
    /// Takes a text as a device's name.
    pub fn new(text: &str) -> Result<Device, FactError> {
        let plain = text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
        if plain && (1..=40).contains(&text.len()) {
            Ok(Device(text.into()))
        } else {
            Err(FactError::Device(shortened(text)))
        }
    }

    /// The name.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl TryFrom<CompactString> for Device {
    type Error = FactError;
    fn try_from(text: CompactString) -> Result<Device, FactError> {
        Device::new(&text)
    }
}

impl From<Device> for CompactString {
    fn from(device: Device) -> CompactString {
        device.0
    }
}

impl fmt::Display for Device {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// A fact's name for ever: the device that wrote it and its number there, from 1 without a gap.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FactId {
    /// The device that wrote it.
    pub device: Device,
    /// Its number on that device.
    pub n: u64,
}

impl fmt::Display for FactId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.device, self.n)
    }
}

/// Where a fact stands in the order in which things happened: by instant, then device, then number.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct FactKey {
    /// Microseconds since 1970 UTC at which it happened.
    pub instant: i64,
    /// Which fact it is.
    pub id: FactId,
}

/// What the fold needs of a fact: its name and when it happened.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stamp {
    /// The fact's name.
    pub id: FactId,
    /// When it happened.
    pub at: Moment,
    /// Whether it was done despite a hold or a checklist.
    pub despite: bool,
}

impl Stamp {
    /// What the fold needs of a fact that is done despite nothing.
    #[must_use]
    pub const fn new(id: FactId, at: Moment) -> Stamp {
        Stamp { id, at, despite: false }
    }

    /// The fact's place in the order.
    #[must_use]
    pub fn key(&self) -> FactKey {
        FactKey { instant: self.at.instant(), id: self.id.clone() }
    }
}

/// One event of the log, whole.
#[derive(Clone, Debug, PartialEq)]
pub struct Fact {
    /// Which fact it is.
    pub id: FactId,
    /// When it happened.
    pub at: Moment,
    /// When it was entered.
    pub written: Moment,
    /// Who entered it.
    pub by: Label,
    /// What happened.
    pub what: What,
    /// Facts of one name were one piece of work.
    pub job: Option<Label>,
    /// Free words beside it.
    pub note: Option<Text>,
    /// Why it was done though a hold or a checklist bars it.
    pub despite: Option<Text>,
}

kinds! {
    /// A room and its places.
    "room_laid_out" => RoomLaidOut(Box<RoomLaidOut>),
    /// A vessel exists.
    "vessel_registered" => VesselRegistered(Box<VesselRegistered>),
    /// What is known of a vessel is another.
    "vessel_changed" => VesselChanged(Box<VesselChanged>),
    /// A vessel lies at a place now.
    "vessel_placed" => VesselPlaced(VesselPlaced),
    /// A rack was lifted to another place.
    "rack_moved" => RackMoved(RackMoved),
    /// A vessel is gone.
    "vessel_retired" => VesselRetired(VesselRetired),
    /// A thing is called otherwise.
    "renamed" => Renamed(Box<Renamed>),
    /// A source of wine.
    "origin_declared" => OriginDeclared(Box<OriginDeclared>),
    /// A lot's name.
    "lot_opened" => LotOpened(LotOpened),
    /// How a lot's barrels are kept now.
    "stage_set" => StageSet(StageSet),
    /// Wine comes into the book.
    "wine_received" => WineReceived(WineReceived),
    /// Wine goes from one vessel to one other.
    "wine_moved" => WineMoved(Box<WineMoved>),
    /// A vessel's headspace was filled.
    "topped" => Topped(Topped),
    /// What a vessel holds was measured.
    "gauged" => Gauged(Gauged),
    /// From here on things are written down.
    "kept_since" => KeptSince(Box<KeptSince>),
    /// Wine was lost.
    "lost" => Lost(Lost),
    /// Wine left the house in bulk.
    "wine_out" => WineOut(Box<WineOut>),
    /// A sample was drawn.
    "sampled" => Sampled(Box<Sampled>),
    /// A vessel was tasted.
    "tasted" => Tasted(Box<Tasted>),
    /// A vessel is kept out of the work.
    "held" => Held(Held),
    /// A held vessel is back in the work.
    "freed" => Freed(Freed),
    /// A walk through a room began.
    "round_begun" => RoundBegun(Box<RoundBegun>),
    /// A walk through a room ended.
    "round_ended" => RoundEnded(Box<RoundEnded>),
    /// A barrel was left out of a round on purpose.
    "skipped" => Skipped(Box<Skipped>),
    /// A round tops from another vessel from here on.
    "source_changed" => SourceChanged(SourceChanged),
    /// A piece of work was laid out.
    "work_set" => WorkSet(Box<WorkSet>),
    /// A work is closed.
    "work_ended" => WorkEnded(WorkEnded),
    /// What was found in a vessel or a sample.
    "tested" => Tested(Box<Tested>),
    /// Something was added to a wine.
    "treated" => Treated(Box<Treated>),
    /// The lees of a vessel were stirred.
    "stirred" => Stirred(Stirred),
    /// Gas was laid over wine.
    "blanketed" => Blanketed(Blanketed),
    /// Empty wood was cared for.
    "barrel_cared" => BarrelCared(BarrelCared),
    /// Glasses are mixed for a panel that tastes blind.
    "trial_set" => TrialSet(Box<TrialSet>),
    /// A taster said something of a glass.
    "glass_rated" => GlassRated(Box<GlassRated>),
    /// The key of a trial is opened.
    "trial_revealed" => TrialRevealed(TrialRevealed),
    /// A glass or a ratio is blended.
    "blend_chosen" => BlendChosen(Box<BlendChosen>),
    /// Bottles were filled.
    "bottled" => Bottled(Box<Bottled>),
    /// A store for bottles and its bins.
    "store_laid_out" => StoreLaidOut(Box<StoreLaidOut>),
    /// Bottles lie at a place.
    "laid_away" => LaidAway(Box<LaidAway>),
    /// A bottle was opened and tasted.
    "bottle_tasted" => BottleTasted(Box<BottleTasted>),
    /// Bottles are out.
    "bottles_out" => BottlesOut(Box<BottlesOut>),
    /// The book is put right by a count of bottles.
    "bottles_counted" => BottlesCounted(Box<BottlesCounted>),
    /// A physical count began.
    "count_begun" => CountBegun(Box<CountBegun>),
    /// What was found in a vessel, or how many bottles.
    "counted" => ThingCounted(Box<ThingCounted>),
    /// A physical count is closed.
    "count_ended" => CountEnded(CountEnded),
    /// A fining agent was tried in glasses.
    "fining_trial" => FiningTried(Box<FiningTried>),
    /// An item of the checklist before bottling, of this house.
    "check_declared" => CheckDeclared(CheckDeclared),
    /// An item of a lot's checklist was looked at.
    "checked" => Checked(Box<Checked>),
    /// A lot may be bottled though an item is open.
    "check_waived" => CheckWaived(CheckWaived),
    /// How this house works.
    "practice_set" => PracticeSet(Box<PracticeSet>),
    /// A word for tastes, of this house.
    "mark_declared" => MarkDeclared(MarkDeclared),
    /// Something that this house has its wines tested for.
    "analyte_declared" => AnalyteDeclared(AnalyteDeclared),
    /// What a material is, in this house.
    "material_declared" => MaterialDeclared(Box<MaterialDeclared>),
    /// An earlier fact is taken back.
    "retracted" => Retracted(Retracted),
    /// Words about anything.
    "noted" => Noted(Noted),
}

impl What {
    /// The newest version of a kind, in which this program writes it; none for a kind that it does not know.
    #[must_use]
    pub fn newest_version(kind: &str) -> Option<u32> {
        What::lifts(kind).map(kinds::newest)
    }

    /// The version in which this is written.
    #[must_use]
    pub fn version(&self) -> u32 {
        What::newest_version(self.kind()).unwrap_or(1)
    }

    /// Reads the fields of a kind from the JSON text of a body of its newest version.
    pub fn from_body(kind: &str, body: &[u8]) -> Result<What, FactError> {
        What::of_version(kind, What::newest_version(kind).unwrap_or(1), body)
    }

    /// The fields of a version of a kind as the newest says them.
    fn lift(kind: &str, version: u32, fields: Map<String, Value>) -> Result<Map<String, Value>, FactError> {
        let lifts = What::lifts(kind).ok_or_else(|| FactError::UnknownKind(shortened(kind)))?;
        kinds::lift(kind, version, lifts, fields)
    }
}

impl Fact {
    /// What the fold needs of the fact.
    #[must_use]
    pub fn stamp(&self) -> Stamp {
        Stamp { id: self.id.clone(), at: self.at, despite: self.despite.is_some() }
    }

    /// The fact's place in the order.
    #[must_use]
    pub fn key(&self) -> FactKey {
        FactKey { instant: self.at.instant(), id: self.id.clone() }
    }
}

/// As much of a text that came in as a sentence can quote.
fn shortened(text: &str) -> String {
    super::label::harmless(&text.chars().take(40).collect::<String>())
}
