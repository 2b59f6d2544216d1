//! A fact: one event of the log, something that was seen or done.
//!
//! A fact has an envelope (who wrote it, when it happened, when it was entered) and says [`What`] happened. The exchange
//! form is one JSON object a line; the log keeps the envelope in columns and only the fields of the kind as JSON, its
//! [`body`](What::body), so that a million facts can be read without parsing a million envelopes. Both forms carry
//! exactly the same content: [`Fact::to_line`] and [`Fact::from_line`] are inverse.

use std::fmt;

use compact_str::CompactString;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};
use thiserror::Error;

use super::bottling::Bottled;
use super::bottling::bottle_tasting::BottleTasted;
use super::bottling::bottles_counted::BottlesCounted;
use super::bottling::bottles_out::BottlesOut;
use super::bottling::laying_away::LaidAway;
use super::bottling::store::StoreLaidOut;
use super::care::BarrelCared;
use super::checklist::checking::{CheckDeclared, CheckWaived, Checked};
use super::counting::keeping::{CountBegun, CountEnded, ThingCounted};
use super::fining::FiningTried;
use super::gauging::Gauged;
use super::holding::{Freed, Held};
use super::job::Deed;
use super::json::{Unambiguous, plain};
use super::label::{Label, Text};
use super::loss::Lost;
use super::lot::{LotOpened, StageSet};
use super::marks::MarkDeclared;
use super::moment::Moment;
use super::moving::WineMoved;
use super::noting::Noted;
use super::origin::OriginDeclared;
use super::placing::{RackMoved, VesselPlaced};
use super::practice::PracticeSet;
use super::receiving::WineReceived;
use super::retraction::Retracted;
use super::room::RoomLaidOut;
use super::round::{RoundBegun, RoundEnded, Skipped, SourceChanged};
use super::sampling::Sampled;
use super::tasting::Tasted;
use super::testing::Tested;
use super::testing::declared::AnalyteDeclared;
use super::topping::Topped;
use super::treating::Treated;
use super::trial::blending::BlendChosen;
use super::trial::rating::GlassRated;
use super::trial::reveal::TrialRevealed;
use super::trial::setting::TrialSet;
use super::vessel::{VesselRegistered, VesselRetired};
use super::work::{WorkEnded, WorkSet};

/// The version of every kind of fact that this program writes. A higher one comes from a newer program.
pub const KIND_VERSION: u32 = 1;

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
    /// The version of its kind.
    pub version: u32,
    /// What happened.
    pub what: What,
    /// Facts of one name were one piece of work.
    pub job: Option<Label>,
    /// Free words beside it.
    pub note: Option<Text>,
    /// Why it was done though a hold or a checklist bars it.
    pub despite: Option<Text>,
}

/// A fact as it comes in, before the program has given what may be left out.
#[derive(Clone, Debug, PartialEq)]
pub struct IncomingFact {
    /// Its name, where another laptop has already given it one.
    pub id: Option<FactId>,
    /// When it happened.
    pub at: Moment,
    /// When it was entered, where that is said.
    pub written: Option<Moment>,
    /// Who entered it.
    pub by: Label,
    /// The version of its kind.
    pub version: u32,
    /// What happened.
    pub what: What,
    /// Facts of one name were one piece of work.
    pub job: Option<Label>,
    /// Free words beside it.
    pub note: Option<Text>,
    /// Why it was done though a hold or a checklist bars it.
    pub despite: Option<Text>,
}

/// How a body begins in which the reason stands for which a hold or a checklist was passed over. It stands first, so that the fold need not look for it.
const DESPITE: &[u8] = br#"{"despite":"#;

/// Whether the body of a fact says why it was done despite a hold or a checklist.
#[must_use]
pub fn is_despite(body: &[u8]) -> bool {
    body.starts_with(DESPITE)
}

/// Why a fact was done despite a hold or a checklist, if its body says so.
fn despite_of(kind: &str, body: &[u8]) -> Result<Option<Text>, FactError> {
    #[derive(Deserialize)]
    struct Said {
        despite: Text,
    }
    if !is_despite(body) {
        return Ok(None);
    }
    let said: Said = serde_json::from_slice(body)
        .map_err(|error| FactError::Field { kind: kind.to_owned(), problem: plain(&error) })?;
    Ok(Some(said.despite))
}

/// The text of a body: the reason for which a hold or a checklist was passed over, then the fields of the kind.
#[must_use]
pub fn body_text(fields: Map<String, Value>, despite: Option<&Text>) -> String {
    let Some(despite) = despite else { return Value::Object(fields).to_string() };
    let mut body = Map::from_iter([("despite".to_owned(), Value::from(despite.as_str()))]);
    body.extend(fields);
    Value::Object(body).to_string()
}

macro_rules! kinds {
    ($( $(#[$doc:meta])* $name:literal => $variant:ident($body:ty) ),* $(,)?) => {
        /// What happened: one variant a kind, each with the fields of its kind.
        #[derive(Clone, Debug, PartialEq)]
        pub enum What { $( $(#[$doc])* $variant($body), )* }

        /// The name of every kind.
        pub const KINDS: &[&str] = &[$($name),*];

        impl What {
            /// The name of this kind.
            #[must_use]
            pub const fn kind(&self) -> &'static str {
                match self { $( What::$variant(_) => $name, )* }
            }

            /// The kind as the fold sees it.
            #[must_use]
            pub fn deed(&self) -> &dyn Deed {
                match self { $( What::$variant(body) => body, )* }
            }

            /// The fields of this kind as a JSON object; what is not said is left out, but for a place, where null
            /// says that there is none.
            pub fn body(&self) -> Result<Map<String, Value>, FactError> {
                let value = match self { $( What::$variant(body) => serde_json::to_value(body), )* };
                match value {
                    Ok(Value::Object(mut map)) => {
                        map.retain(|field, value| !value.is_null() || field == "place");
                        Ok(map)
                    }
                    Ok(_) => Err(FactError::NotAnObject),
                    Err(error) => Err(FactError::Json(error.to_string())),
                }
            }

            /// Reads the fields of a kind from the JSON text of a body. Fields of other names are passed over: they
            /// are looked for only where a fact comes in.
            pub fn from_body(kind: &str, body: &[u8]) -> Result<What, FactError> {
                let json = |error: serde_json::Error| FactError::Field { kind: kind.to_owned(), problem: plain(&error) };
                match kind {
                    $( $name => serde_json::from_slice(body).map(What::$variant).map_err(json), )*
                    _ => Err(FactError::UnknownKind(shortened(kind))),
                }
            }
        }

        $( impl From<$body> for What { fn from(body: $body) -> What { What::$variant(body) } } )*
    };
}

kinds! {
    /// A room and its places.
    "room_laid_out" => RoomLaidOut(Box<RoomLaidOut>),
    /// A vessel exists.
    "vessel_registered" => VesselRegistered(Box<VesselRegistered>),
    /// A vessel lies at a place now.
    "vessel_placed" => VesselPlaced(VesselPlaced),
    /// A rack was lifted to another place.
    "rack_moved" => RackMoved(RackMoved),
    /// A vessel is gone.
    "vessel_retired" => VesselRetired(VesselRetired),
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
    /// Wine was lost.
    "lost" => Lost(Lost),
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
    "practice_set" => PracticeSet(PracticeSet),
    /// A word for tastes, of this house.
    "mark_declared" => MarkDeclared(MarkDeclared),
    /// Something that this house has its wines tested for.
    "analyte_declared" => AnalyteDeclared(AnalyteDeclared),
    /// An earlier fact is taken back.
    "retracted" => Retracted(Retracted),
    /// Words about anything.
    "noted" => Noted(Noted),
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

/// The envelope and the body of a line, before the kind is looked at: what the log stores, column by column.
///
/// The body keeps the order and the spelling of the fields it came with, so a line that another laptop wrote is shipped
/// on, and hashed, as it was.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Which fact it is.
    pub id: FactId,
    /// When it happened.
    pub at: Moment,
    /// When it was entered.
    pub written: Moment,
    /// Who entered it.
    pub by: Label,
    /// The version of its kind.
    pub version: u32,
    /// The name of its kind.
    pub kind: CompactString,
    /// The fields of its kind, a JSON object.
    pub body: String,
    /// Facts of one name were one piece of work.
    pub job: Option<Label>,
    /// Free words beside it.
    pub note: Option<Text>,
}

impl Line {
    /// The line as it is written for other programs: one JSON object, without a line break at its end.
    #[must_use]
    pub fn to_json(&self) -> String {
        let mut line = format!(
            r#"{{"device":"{}","n":{},"at":"{}","written":"{}","by":{},"v":{},"kind":{}"#,
            self.id.device,
            self.id.n,
            self.at,
            self.written,
            Value::from(self.by.as_str()),
            self.version,
            Value::from(self.kind.as_str()),
        );
        if let Some(job) = &self.job {
            line.push_str(r#","job":"#);
            line.push_str(&Value::from(job.as_str()).to_string());
        }
        if let Some(note) = &self.note {
            line.push_str(r#","note":"#);
            line.push_str(&Value::from(note.as_str()).to_string());
        }
        let body = self.body.trim();
        let fields = body.strip_prefix('{').and_then(|rest| rest.strip_suffix('}')).unwrap_or_default();
        if !fields.is_empty() {
            line.push(',');
            line.push_str(fields);
        }
        line.push('}');
        line
    }

    /// The fact that the line holds.
    pub fn fact(&self) -> Result<Fact, FactError> {
        if self.version > KIND_VERSION {
            return Err(FactError::NewerKind { kind: shortened(&self.kind), version: self.version });
        }
        Ok(Fact {
            id: self.id.clone(),
            at: self.at,
            written: self.written,
            by: self.by.clone(),
            version: self.version,
            what: What::from_body(&self.kind, self.body.as_bytes())?,
            job: self.job.clone(),
            note: self.note.clone(),
            despite: despite_of(&self.kind, self.body.as_bytes())?,
        })
    }
}

impl TryFrom<&Fact> for Line {
    type Error = FactError;

    fn try_from(fact: &Fact) -> Result<Line, FactError> {
        Ok(Line {
            id: fact.id.clone(),
            at: fact.at,
            written: fact.written,
            by: fact.by.clone(),
            version: fact.version,
            kind: fact.what.kind().into(),
            body: body_text(fact.what.body()?, fact.despite.as_ref()),
            job: fact.job.clone(),
            note: fact.note.clone(),
        })
    }
}

/// The fields of the envelope, in the order in which they are written.
const ENVELOPE: &[&str] = &["device", "n", "at", "written", "by", "v", "kind", "job", "note", "despite"];

impl IncomingFact {
    /// Reads one line of the exchange form and checks every field: unknown ones are refused, for a misspelt field must
    /// not be lost without a word. Also gives the body as it was written, for the log.
    pub fn from_json(line: &str) -> Result<(IncomingFact, String), FactError> {
        let Unambiguous(value) = serde_json::from_str(line).map_err(|error| FactError::Json(plain(&error)))?;
        let Value::Object(mut map) = value else { return Err(FactError::NotAnObject) };
        let mut envelope = Map::new();
        for &field in ENVELOPE {
            if let Some(found) = map.shift_remove(field) {
                envelope.insert(field.to_owned(), found);
            }
        }
        let text = |field: &str| match envelope.get(field) {
            None | Some(Value::Null) => Ok(None),
            Some(Value::String(text)) => Ok(Some(text.as_str())),
            Some(_) => Err(FactError::Envelope { field: field.to_owned(), problem: "It must be a text.".into() }),
        };
        let number = |field: &str| match envelope.get(field) {
            None | Some(Value::Null) => Ok(None),
            Some(value) => value.as_u64().filter(|&n| n >= 1 && i64::try_from(n).is_ok()).map(Some).ok_or_else(|| {
                FactError::Envelope { field: field.to_owned(), problem: "It must be a whole number from 1.".into() }
            }),
        };
        let wrong = |field: &str, problem: String| FactError::Envelope { field: field.to_owned(), problem };
        let missing = |field: &str| FactError::Missing(field.to_owned());
        let moment = |text: &str, field: &str| Moment::parse(text).map_err(|error| wrong(field, error.to_string()));

        let kind = text("kind")?.ok_or_else(|| missing("kind"))?;
        let version = u32::try_from(number("v")?.unwrap_or(1)).unwrap_or(u32::MAX);
        if version > KIND_VERSION {
            return Err(FactError::NewerKind { kind: shortened(kind), version });
        }
        let despite =
            text("despite")?.map(|t| Text::new(t).map_err(|error| wrong("despite", error.to_string()))).transpose()?;
        let body = body_text(map.clone(), despite.as_ref());
        let what = What::from_body(kind, body.as_bytes())?;
        refuse_unknown_fields(kind, &map, &what)?;
        let id = match (text("device")?, number("n")?) {
            (Some(device), Some(n)) => Some(FactId { device: Device::new(device)?, n }),
            (None, None) => None,
            (Some(_), None) => return Err(missing("n")),
            (None, Some(_)) => return Err(missing("device")),
        };
        let incoming = IncomingFact {
            id,
            at: moment(text("at")?.ok_or_else(|| missing("at"))?, "at")?,
            written: text("written")?.map(|text| moment(text, "written")).transpose()?,
            by: text("by")?
                .ok_or_else(|| missing("by"))
                .and_then(|text| Label::new(text).map_err(|error| wrong("by", error.to_string())))?,
            version,
            what,
            job: text("job")?.map(|t| Label::new(t).map_err(|error| wrong("job", error.to_string()))).transpose()?,
            note: text("note")?.map(|t| Text::new(t).map_err(|error| wrong("note", error.to_string()))).transpose()?,
            despite,
        };
        Ok((incoming, body))
    }
}

/// A field that came in with a value but is not among those that the kind writes out again is none of that kind's. A
/// place must be said even where there is none: a barrel is not lifted off its place by a word that was forgotten.
fn refuse_unknown_fields(kind: &str, came: &Map<String, Value>, what: &What) -> Result<(), FactError> {
    let known = what.body()?;
    for (field, value) in came {
        if !value.is_null() && !known.contains_key(field) {
            return Err(FactError::UnknownField { kind: kind.to_owned(), field: shortened(field) });
        }
    }
    if known.contains_key("place") && !came.contains_key("place") {
        return Err(FactError::Missing("place".to_owned()));
    }
    Ok(())
}

/// As much of a text that came in as a sentence can quote.
fn shortened(text: &str) -> String {
    super::label::harmless(&text.chars().take(40).collect::<String>())
}

/// Why a text is no fact.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum FactError {
    /// Not JSON, or broken off.
    #[error("This is not a whole JSON object: {0}.")]
    Json(String),
    /// JSON, but not an object.
    #[error("A fact is one JSON object, like {{\"at\":…,\"by\":…,\"kind\":…}}.")]
    NotAnObject,
    /// A field of the envelope is wrong.
    #[error("The field '{field}' is wrong: {problem}")]
    Envelope {
        /// Which field.
        field: String,
        /// What is wrong with it.
        problem: String,
    },
    /// A field that every fact needs is not there.
    #[error("The field '{0}' is missing.")]
    Missing(String),
    /// A field of the kind is wrong or missing.
    #[error("The fact '{kind}' cannot be read: {problem}.")]
    Field {
        /// The kind.
        kind: String,
        /// What is wrong.
        problem: String,
    },
    /// A field that the kind does not have.
    #[error("The fact '{kind}' has no field '{field}'. Check its spelling.")]
    UnknownField {
        /// The kind.
        kind: String,
        /// The field.
        field: String,
    },
    /// A kind that this program does not know.
    #[error("The kind '{0}' is not known to this version of the program.")]
    UnknownKind(String),
    /// A version of a kind that only a newer program knows.
    #[error("The fact '{kind}' is of version {version}, which only a newer version of the program can read.")]
    NewerKind {
        /// The kind.
        kind: String,
        /// Its version.
        version: u32,
    },
    /// A device's name that breaks its rules.
    #[error("'{0}' is not a device's name. Use 1 to 40 lower-case letters, digits and hyphens.")]
    Device(String),
}

#[cfg(test)]
mod tests {
    use super::*;

    const TOPPED: &str = r#"{"device":"trolley-1","n":7,"at":"2027-03-02T08:15:00+01:00","written":"2027-03-02T08:15:01+01:00","by":"mk","v":1,"kind":"topped","note":"cold \"cave\"","vessel":"0417","from":"K2","volume_ul":1700000,"full":true}"#;

    fn line_of(json: &str) -> Line {
        let (incoming, body) = IncomingFact::from_json(json).unwrap();
        Line {
            id: incoming.id.clone().unwrap(),
            at: incoming.at,
            written: incoming.written.unwrap(),
            by: incoming.by.clone(),
            version: incoming.version,
            kind: incoming.what.kind().into(),
            body,
            job: incoming.job.clone(),
            note: incoming.note,
        }
    }

    #[test]
    fn a_line_is_written_as_it_was_read() {
        assert_eq!(line_of(TOPPED).to_json(), TOPPED);
        let laid = r#"{"device":"a","n":1,"at":"2027-03-02T08:15:00+01:00","written":"2027-03-02T08:15:00+01:00","by":"mk","v":1,"kind":"room_laid_out","room":"long","rows":[{"row":"A","stacks":2,"tiers":3,"sides":2}]}"#;
        assert_eq!(line_of(laid).to_json(), laid);
    }

    #[test]
    fn a_fact_and_its_line_hold_the_same() {
        let fact = line_of(TOPPED).fact().unwrap();
        assert_eq!(Line::try_from(&fact).unwrap().to_json(), TOPPED);
    }

    #[test]
    fn the_reason_for_which_a_hold_was_passed_over_stands_first_and_comes_back() {
        let despite = TOPPED.replace(r#""full":true"#, r#""full":true,"despite":"keeps air out""#);
        let line = line_of(&despite);
        assert!(line.body.starts_with(r#"{"despite":"keeps air out","vessel""#), "{}", line.body);
        let fact = line.fact().unwrap();
        assert_eq!(fact.despite.as_ref().map(Text::as_str), Some("keeps air out"));
        assert!(fact.stamp().despite);
        assert_eq!(Line::try_from(&fact).unwrap().to_json(), line.to_json());
        assert_eq!(line_of(&line.to_json()), line);
    }

    #[test]
    fn what_may_be_left_out_may_be_left_out() {
        let line =
            r#"{"at":"2027-03-02T08:15:00+01:00","by":"mk","kind":"vessel_placed","vessel":"0417","place":null}"#;
        let (incoming, _) = IncomingFact::from_json(line).unwrap();
        assert_eq!((incoming.id, incoming.version), (None, 1));
    }

    #[test]
    fn bad_lines_are_refused_with_a_sentence() {
        let cases = [
            ("{\"at\":", "not a whole JSON object"),
            ("[]", "one JSON object"),
            (r#"{"by":"mk","kind":"noted","about":"x","text":"y"}"#, "'at' is missing"),
            (r#"{"at":"2027-03-02T08:15:00Z","kind":"noted","about":"x","text":"y"}"#, "'by' is missing"),
            (r#"{"at":"noon","by":"mk","kind":"noted","about":"x","text":"y"}"#, "is not a date and time"),
            (r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"poured"}"#, "'poured' is not known"),
            (r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"vessel_placed","vessel":"x"}"#, "'place' is missing"),
            (
                r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"x","text":"y","text":"z"}"#,
                "the field 'text' is there twice.",
            ),
            (
                r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"","text":"y"}"#,
                "cannot be read: A name cannot be empty. Give it 1 to 40 characters.",
            ),
            (r#"{"at":7,"by":"mk","kind":"noted","about":"x","text":"y"}"#, "'at' is wrong: It must be a text."),
            (r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"x"}"#, "missing field `text`"),
            (
                r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"x","text":"y","txt":"z"}"#,
                "no field 'txt'",
            ),
            (r#"{"at":"2027-03-02T08:15:00Z","by":"mk","v":2,"kind":"noted","about":"x","text":"y"}"#, "newer version"),
            (
                r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"topped","vessel":"1","from":"K","volume_ul":-5}"#,
                "cannot be read",
            ),
            (
                r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"x","text":"\u001b[2J"}"#,
                "control character",
            ),
            (
                r#"{"device":"A b","n":1,"at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"x","text":"y"}"#,
                "not a device's name",
            ),
            (
                r#"{"device":"a","at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"x","text":"y"}"#,
                "'n' is missing",
            ),
            (
                r#"{"device":"a","n":0,"at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"x","text":"y"}"#,
                "whole number from 1",
            ),
        ];
        for (line, part) in cases {
            let sentence = IncomingFact::from_json(line).unwrap_err().to_string();
            assert!(sentence.contains(part), "{line}\n{sentence}");
        }
    }
}
