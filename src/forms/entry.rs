//! What is written in a field: how it is read into the field of a fact, and how that is said.

use std::borrow::Cow;

use chrono::NaiveDate;
use serde_json::{Map, Value};

use crate::cellar::core::day::Day;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::place::{Place, RackPlace};
use crate::cellar::core::state::State;
use crate::cellar::core::table::{Id, Labelled, Table};
use crate::cellar::core::when;
use crate::told::meant::{labels, meant};
use crate::units::{
    Mass, Volume, VolumeUnit, exact_millilitres, figure, parse_decimal, parse_millimetres, poured, weighed,
};

/// What is written in a field.
#[derive(Clone, Copy)]
pub enum Entry {
    /// The label of a vessel.
    Vessel,
    /// Vessels, of which each has its own fact: labels, `0417-0420`, racks, rows, lots.
    Vessels,
    /// The label of a lot.
    Lot,
    /// The label of a room.
    Room,
    /// The label of an origin.
    Origin,
    /// The label of a bottling run.
    Run,
    /// A label of anything, or one that is new.
    Label,
    /// A place of a barrel or of a rack.
    Place,
    /// Words.
    Text,
    /// A volume in the unit that the person reads.
    Volume,
    /// A volume in millilitres, where no unit stands with it.
    Millilitres,
    /// A weight in grams, where no unit stands with it.
    Mass,
    /// A length in millimetres, where no unit stands with it.
    Millimetres,
    /// A number.
    Number,
    /// A whole number.
    Count,
    /// Yes or no.
    YesNo,
    /// A day that was.
    Day,
    /// A day that may be to come.
    DayToCome,
    /// One of several words, as the fact has them.
    Choice(&'static [&'static str]),
    /// Words between commas.
    List,
    /// What has a way of its own to be read and said.
    Own(&'static Own),
    /// The same of what may be not known: `not known` says that.
    Known(&'static Entry),
    /// What stands in several fields of the fact, or in one into which another field is written as well.
    Spread(&'static Spread),
    /// What each vessel has of its own: it is written last, once the vessel stands among the fields.
    ByVessel(&'static ByVessel),
    /// What is said besides: a fact of its own, which goes before in the same act.
    Beside(&'static Beside),
}

/// The fields of a fact by their names.
pub type Body = Map<String, Value>;

/// How something is written into the fields of a fact and said of them.
#[derive(Debug)]
pub struct Spread {
    /// Writes it among the fields that are written so far.
    pub write: fn(&str, &mut Body, &State) -> Result<(), String>,
    /// Says it; nothing where the fields say nothing of it.
    pub say: fn(&Body) -> String,
}

/// How something is written into the fields of a fact of one vessel, and said of them.
#[derive(Debug)]
pub struct ByVessel {
    /// Whether words are one.
    pub is_one: fn(&str) -> bool,
    /// Writes it among the fields, of which the vessel is one. No state where the fact was entered before: what its vessel held then is not
    /// looked up.
    pub write: fn(&str, &mut Body, Option<&State>) -> Result<(), String>,
    /// Says it.
    pub say: fn(&Body) -> String,
}

/// How a fact that goes before is written.
#[derive(Debug)]
pub struct Beside {
    /// Reads it, beside the fields that are written before it; none where there is nothing to say.
    pub read: fn(&str, &Body, &State) -> Result<Option<What>, String>,
}

/// What is written of a thing of which nobody knows how it is.
pub const NOT_KNOWN: &str = "not known";

/// How something of its own is read and said.
#[derive(Debug)]
pub struct Own {
    /// Reads it.
    pub read: fn(&str, &State) -> Result<Value, String>,
    /// Says it.
    pub say: fn(&Value) -> String,
}

impl std::fmt::Debug for Entry {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Entry")
    }
}

impl Entry {
    /// Reads what is written, which is not empty, as the field of a fact.
    pub fn read(&self, text: &str, state: &State) -> Result<Value, String> {
        match self {
            Entry::Vessel | Entry::Vessels => known(text, "vessel", &state.vessels),
            Entry::Lot => known(text, "lot", &state.lots),
            Entry::Place => place(text, state),
            Entry::Room => known(text, "room", &state.rooms),
            Entry::Origin => known(text, "origin", &state.origins),
            Entry::Run => known(text, "bottling run", &state.runs),
            Entry::Label => Ok(Value::from(label(text)?.as_str())),
            Entry::Text => Ok(Value::from(Text::new(text).map_err(sentence)?.as_str())),
            Entry::Volume => volume(text, VolumeUnit::customary()),
            Entry::Millilitres => volume(text, VolumeUnit::Millilitre),
            Entry::Mass => Ok(Value::from(Mass::parse(text).map_err(sentence)?.as_ug())),
            Entry::Millimetres => Ok(Value::from(parse_millimetres(text).map_err(sentence)?)),
            Entry::Number => Ok(Value::from(parse_decimal(text).map_err(sentence)?)),
            Entry::Count => count(text),
            Entry::YesNo => yes_or_no(text),
            Entry::Day | Entry::DayToCome => day(text),
            Entry::Choice(words) => choice(text, words),
            Entry::List => Ok(text.split(',').map(str::trim).filter(|word| !word.is_empty()).collect()),
            Entry::Own(own) => (own.read)(text, state),
            Entry::Known(_) if [NOT_KNOWN, "unknown"].contains(&text.to_lowercase().as_str()) => Ok(Value::Null),
            Entry::Known(entry) => entry.read(text, state),
            // What is written into several fields, or beside them, is read where that is done.
            Entry::Spread(_) | Entry::ByVessel(_) | Entry::Beside(_) => Ok(Value::from(text)),
        }
    }

    /// The same text, of a day as its date: days are written as people write them, and what could be two is refused.
    pub(super) fn dated<'a>(&self, text: &'a str, today: NaiveDate) -> Result<Cow<'a, str>, String> {
        let read = match self {
            Entry::Day => when::day(text, today),
            Entry::DayToCome => when::day_to_come(text, today),
            _ => return Ok(Cow::Borrowed(text)),
        };
        // What is no day at all is told where it is read.
        read.map_or(Ok(Cow::Borrowed(text)), |read| read.map(|day| Cow::Owned(day.to_string())).map_err(sentence))
    }

    /// Writes what is written, which is not empty, into a field of a fact.
    pub fn write(&self, (key, text): (&str, &str), body: &mut Body, state: &State) -> Result<(), String> {
        if let Entry::Spread(spread) = self {
            return (spread.write)(text, body, state);
        }
        body.insert(key.to_owned(), self.read(text, state)?);
        Ok(())
    }

    /// What the fields of a fact say in a field, as it may be written again; nothing where they say nothing of it.
    #[must_use]
    pub fn said_in(&self, key: &str, body: &Body) -> String {
        match self {
            Entry::Spread(spread) => (spread.say)(body),
            Entry::ByVessel(own) => (own.say)(body),
            Entry::Beside(_) => String::new(),
            _ => body.get(key).map_or_else(String::new, |value| self.say(value)),
        }
    }

    /// What a field of a fact says, as it may be written again; a figure may be rounded, so what nobody writes anew is kept as it is.
    #[must_use]
    pub fn say(&self, value: &Value) -> String {
        let number = value.as_u64();
        match (self, number) {
            (Entry::Own(own), _) => (own.say)(value),
            (Entry::Known(_), _) if value.is_null() => NOT_KNOWN.to_owned(),
            (Entry::Known(entry), _) => entry.say(value),
            (_, _) if value.is_null() => String::new(),
            (Entry::Number, _) => value.as_f64().map_or_else(|| plain(value), figure),
            (Entry::Volume, Some(microlitres)) => poured(Volume::from_ul(microlitres)),
            (Entry::Millilitres, Some(microlitres)) => exact_millilitres(Volume::from_ul(microlitres)),
            (Entry::Mass, Some(micrograms)) => weighed(Mass::from_ug(micrograms)),
            (Entry::YesNo, _) => if value == &Value::Bool(true) { "yes" } else { "no" }.to_owned(),
            (Entry::Choice(_), _) => plain(value).replace('_', " "),
            (Entry::Millimetres, _) => format!("{} mm", plain(value)),
            (Entry::List, _) => {
                let words = value.as_array().map(|words| words.iter().map(plain).collect::<Vec<_>>());
                words.unwrap_or_default().join(", ")
            }
            _ => plain(value),
        }
    }

    /// The values that left and right go through, as they are written; none where it is written freely.
    #[must_use]
    pub const fn values(&self) -> &'static [&'static str] {
        match self {
            Entry::Choice(words) => words,
            Entry::YesNo => &["no", "yes"],
            Entry::Known(entry) => entry.values(),
            _ => &[],
        }
    }

    /// Whether a thing of the cellar is named by its label.
    pub(super) const fn names_a_thing(&self) -> bool {
        matches!(self, Entry::Vessel | Entry::Lot | Entry::Room | Entry::Origin | Entry::Run)
    }

    /// Whether it takes a unit as a word of its own behind its number: `5 L`, `30 g`.
    #[must_use]
    pub const fn takes_unit(&self) -> bool {
        matches!(self, Entry::Volume | Entry::Millilitres | Entry::Mass | Entry::Millimetres | Entry::Spread(_))
    }

    /// Whether it is written by itself into one field of the fact.
    pub(super) const fn is_one_field(&self) -> bool {
        !matches!(self, Entry::Spread(_) | Entry::ByVessel(_) | Entry::Beside(_))
    }
}

/// A value as it stands in the fact, without quotes.
pub(super) fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Null => String::new(),
        other => other.to_string(),
    }
}

/// What an error says.
#[allow(clippy::needless_pass_by_value)] // as `map_err` hands it over
fn sentence(error: impl ToString) -> String {
    error.to_string()
}

fn label(text: &str) -> Result<Label, String> {
    Label::new(text).map_err(sentence)
}

/// A label that something is called by.
fn known<I: Id, T: Labelled + Clone>(text: &str, thing: &str, things: &Table<I, T>) -> Result<Value, String> {
    let asked = label(text)?;
    if things.find(asked.as_str()).is_some() {
        return Ok(Value::from(asked.as_str()));
    }
    let hint = meant(asked.as_str(), labels(things)).unwrap_or_default();
    Err(format!("No {thing} is called '{asked}'.{hint}"))
}

/// A place or a rack; its room is understood where the cellar has but one.
fn place(text: &str, state: &State) -> Result<Value, String> {
    let is_place = |text: &str| text.parse::<Place>().is_ok() || text.parse::<RackPlace>().is_ok();
    let rooms: Vec<_> = state.rooms.iter().map(|(_, room)| room.label.as_str()).collect();
    let of_only_room = match rooms[..] {
        [room] if !text.contains('/') => format!("{room}/{text}"),
        _ => text.to_owned(),
    };
    let whole = if is_place(&of_only_room) { &of_only_room } else { text };
    if is_place(whole) {
        Ok(Value::from(whole))
    } else {
        whole.parse::<RackPlace>().map(|_| Value::Null).map_err(sentence)
    }
}

pub(super) fn volume(text: &str, unit: VolumeUnit) -> Result<Value, String> {
    Ok(Value::from(Volume::parse(text, unit).map_err(sentence)?.as_ul()))
}

fn count(text: &str) -> Result<Value, String> {
    text.parse::<u32>().map(Value::from).map_err(|_| format!("'{text}' is no whole number. Write it like 24."))
}

fn yes_or_no(text: &str) -> Result<Value, String> {
    match text.to_lowercase().as_str() {
        "yes" | "y" => Ok(Value::Bool(true)),
        "no" | "n" => Ok(Value::Bool(false)),
        _ => Err(format!("'{text}' is neither yes nor no.")),
    }
}

fn day(text: &str) -> Result<Value, String> {
    let day = Day::parse(text).map_err(|_| format!("'{text}' is no day. Write it like 27 Nov 2026, or 2026-11-27."))?;
    Ok(Value::from(day.to_string()))
}

/// One of several words: it is enough to begin it, where only one begins so.
fn choice(text: &str, words: &[&str]) -> Result<Value, String> {
    let said = text.to_lowercase().replace([' ', '-'], "_");
    let whole = words.iter().find(|word| **word == said);
    // `spilled` is a spill: a word is known by its beginning, and by what begins with it.
    let mut begun = words.iter().filter(|word| word.starts_with(&said) || said.starts_with(**word));
    let only = begun.next().filter(|_| begun.next().is_none());
    match whole.or(only) {
        Some(word) => Ok(Value::from(*word)),
        None => Err(format!("'{text}' is none of them. Write one of {}.", one_of(words))),
    }
}

fn one_of(words: &[&str]) -> String {
    words.iter().map(|word| word.replace('_', " ")).collect::<Vec<_>>().join(", ")
}
