//! A list of barrels: each is registered, and lies where the list says.

use std::collections::BTreeMap;

use super::head::Head;
use super::values::{Values, label, truth, words};
use super::{Answers, Proposal, Proposed, Question};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::place::{Place, RackPlace};
use crate::cellar::core::state::{State, Vessel};
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::floor::placing::VesselPlaced;
use crate::cellar::jobs::floor::room::{RoomLaidOut, RowLaidOut};
use crate::cellar::jobs::floor::vessel::{VesselRegistered, VesselType, Wood};
use crate::reckon::material::plain;
use crate::spreadsheet::Line;

/// What says that a barrel was never filled.
const NEW: [&str; 6] = ["new", "neuf", "neuve", "nuevo", "nuova", "neu"];
/// What vessels are called.
const TYPES: [(VesselType, [&str; 8]); 3] = [
    (VesselType::Barrel, ["barrel", "cask", "fut", "barrique", "barrica", "botte", "fass", "barril"]),
    (VesselType::Tank, ["tank", "cuve", "deposito", "tanque", "vasca", "serbatoio", "behalter", "stahltank"]),
    (VesselType::Keg, ["keg", "bonbonne", "demijohn", "damigiana", "garrafa", "barrilete", "kegs", "ballon"]),
];
/// A barrel of the list.
struct Listed {
    line: u64,
    registered: VesselRegistered,
    place: Option<Place>,
}

/// Reads the list.
pub fn read(head: &Head<'_>, values: &Values, answers: &Answers, state: &State, proposal: &mut Proposal) {
    let room = only_room(head, state, proposal);
    if proposal.ask_for(head, "capacity", "What does each hold?", "'225 L'") {
        return;
    }
    let mut listed: Vec<Listed> = Vec::new();
    let mut first_of: BTreeMap<String, u64> = BTreeMap::new();
    for line in &head.lines {
        match barrel(head, values, line, room.as_ref()) {
            Ok(barrel) => {
                let label = barrel.registered.vessel.as_str().to_owned();
                if let Some(first) = first_of.get(&label) {
                    proposal.refuse(line.number, format!("'{label}' stands in line {first} already."));
                } else {
                    first_of.insert(label, line.number);
                    listed.push(barrel);
                }
            }
            Err(why) => proposal.refuse(line.number, why),
        }
    }
    if head.column("lot").is_some() {
        proposal.warn(format!(
            "What they hold (the column '{}') comes in once the same file is taken in as a list of wine.",
            head.title("lot")
        ));
    }
    let laid_out = lay_out(&listed, answers, state, proposal);
    let line = listed.first().map_or(0, |barrel| barrel.line);
    proposal.facts.extend(laid_out.into_iter().map(|room| Proposed::of(line, What::RoomLaidOut(Box::new(room)))));
    for barrel in listed {
        enter(barrel, state, proposal);
    }
}

/// The facts of a barrel; none where all of it is known.
fn enter(barrel: Listed, state: &State, proposal: &mut Proposal) {
    let Listed { line, registered, place } = barrel;
    let vessel = registered.vessel.clone();
    let there = state.vessels.by_label(vessel.as_str());
    let lies_there = |there: &Vessel| match (&place, there.slot) {
        (None, _) => true,
        (Some(place), Some(slot)) => state.rooms.get(slot.room).place(slot.index as usize).as_ref() == Some(place),
        (Some(_), None) => false,
    };
    match there {
        Some(there) if !is_same(&registered, there) => {
            let why = format!("'{vessel}' is registered already, as {}.", described(there));
            proposal.refuse(line, why);
            return;
        }
        Some(there) if lies_there(there) => {
            proposal.known += 1;
            return;
        }
        Some(_) => {}
        None => proposal.facts.push(Proposed::of(line, What::VesselRegistered(registered.into()))),
    }
    if let Some(place) = place {
        let placed = VesselPlaced { vessel, place: Some(place) };
        proposal.facts.push(Proposed::of(line, What::VesselPlaced(placed)));
    }
}

/// Whether a list says of something what the cellar has, or nothing.
fn agree<T: PartialEq>(listed: Option<&T>, there: Option<&T>) -> bool {
    listed.is_none() || listed == there
}

/// Whether the list says nothing of a barrel that the cellar has otherwise.
fn is_same(listed: &VesselRegistered, there: &Vessel) -> bool {
    let (one, other) = (&listed.wood, &*there.wood);
    listed.vessel_type == there.vessel_type
        && listed.capacity == there.capacity
        && (listed.fills == 0 || listed.fills == there.fills_before)
        && agree(one.cooper.as_ref(), other.cooper.as_ref())
        && agree(one.forest.as_ref(), other.forest.as_ref())
        && agree(one.toast.as_ref(), other.toast.as_ref())
        && agree(one.grain.as_ref(), other.grain.as_ref())
        && agree(one.shape.as_ref(), other.shape.as_ref())
        && agree(one.made.as_ref(), other.made.as_ref())
        && agree(one.heads_toasted.as_ref(), other.heads_toasted.as_ref())
        && agree(one.seasoning_months.as_ref(), other.seasoning_months.as_ref())
        && agree(one.price.as_ref(), other.price.as_ref())
}

fn described(there: &Vessel) -> String {
    let wood = &there.wood;
    let words = [wood.cooper.as_ref(), wood.forest.as_ref(), wood.toast.as_ref()].into_iter().flatten();
    let words = words.map(ToString::to_string).chain(wood.made.map(|year| year.to_string()));
    let words: Vec<String> = std::iter::once(crate::units::litres(there.capacity)).chain(words).collect();
    words.join(", ")
}

fn barrel(head: &Head<'_>, values: &Values, line: &Line, room: Option<&Label>) -> Result<Listed, String> {
    let vessel = label(head, line, "vessel")?.ok_or_else(|| "it names no barrel".to_owned())?;
    let capacity = values.volume(head, line, "capacity")?;
    let wood = Wood {
        shape: label(head, line, "shape")?,
        cooper: label(head, line, "cooper")?,
        forest: label(head, line, "forest")?,
        grain: label(head, line, "grain")?,
        seasoning_months: values.count(head, line, "seasoning_months")?,
        toast: label(head, line, "toast")?,
        heads_toasted: words(head, line, "heads_toasted")?.map(|said| truth(&said)).transpose()?,
        made: values.year(head, line, "made")?,
        price: values.number(head, line, "price")?,
        ..Wood::default()
    };
    let vessel_type = vessel_type(head, line)?;
    let registered = VesselRegistered {
        vessel,
        vessel_type,
        capacity: capacity.ok_or_else(|| "it says no capacity".to_owned())?,
        topped: None,
        wood,
        fills: fills(head, values, line)?,
        stained: colour(head, line)?,
    };
    Ok(Listed { line: line.number, registered, place: place(head, values, line, room)? })
}

fn fills(head: &Head<'_>, values: &Values, line: &Line) -> Result<u32, String> {
    let words = head.cell(line, "fills").words();
    if NEW.contains(&plain(&words).as_str()) {
        return Ok(0);
    }
    Ok(values.count(head, line, "fills")?.unwrap_or(0))
}

fn vessel_type(head: &Head<'_>, line: &Line) -> Result<VesselType, String> {
    let Some(words) = words(head, line, "type")? else { return Ok(VesselType::Barrel) };
    let plainly = plain(&words);
    let found = TYPES.iter().find(|(_, names)| names.contains(&plainly.as_str())).map(|(kind, _)| *kind);
    found.ok_or_else(|| format!("'{words}' is no type of vessel: barrel, tank or keg"))
}

fn colour(head: &Head<'_>, line: &Line) -> Result<Option<Colour>, String> {
    let Some(words) = words(head, line, "stained")? else { return Ok(None) };
    Colour::named(&words).map(Some).ok_or_else(|| format!("'{words}' is no colour of wine: red or white"))
}

/// The one room that is meant where a place names none; it is asked where nothing says it.
fn only_room(head: &Head<'_>, state: &State, proposal: &mut Proposal) -> Option<Label> {
    let mut rooms = state.rooms.iter().map(|(_, room)| room.label.clone());
    if let (Some(only), None) = (rooms.next(), rooms.next()) {
        return Some(only);
    }
    let names_one = |line: &Line| !head.cell(line, "room").is_empty() || head.cell(line, "place").words().contains('/');
    if head.lines.iter().any(|line| is_placed(head, line) && !names_one(line)) {
        proposal.ask(Question::Missing { field: "room", asked: "In which room do they lie?", like: "NAME" });
    }
    None
}

fn is_placed(head: &Head<'_>, line: &Line) -> bool {
    ["place", "row", "stack"].iter().any(|field| !head.cell(line, field).is_empty())
}

fn place(head: &Head<'_>, values: &Values, line: &Line, room: Option<&Label>) -> Result<Option<Place>, String> {
    if !is_placed(head, line) {
        return Ok(None);
    }
    let of_line = label(head, line, "room")?;
    let room = of_line.as_ref().or(room);
    if let Some(words) = words(head, line, "place")? {
        return written_place(&words, room).map(Some);
    }
    let lacks = |what: &str| format!("its place has no {what}");
    let room = room.ok_or_else(|| lacks("room"))?.clone();
    let row = label(head, line, "row")?.ok_or_else(|| lacks("row"))?;
    let number = |field: &'static str| {
        let count = values.count(head, line, field)?.ok_or_else(|| lacks(field))?;
        u16::try_from(count).ok().filter(|count| *count > 0).ok_or_else(|| format!("{count} is no {field}"))
    };
    let (stack, tier) = (number("stack")?, number("tier")?);
    let side = words(head, line, "side")?.ok_or_else(|| lacks("side"))?;
    let side = side_of(&side).ok_or_else(|| format!("'{side}' is no side: a, b, or a number from 1"))?;
    Ok(Some(Place { rack: RackPlace { room, row, stack, tier }, side }))
}

/// A side as a letter, or as a number from 1.
fn side_of(words: &str) -> Option<u8> {
    match words.to_lowercase().as_bytes() {
        [letter @ b'a'..=b'd'] => Some(letter - b'a'),
        [digit @ b'1'..=b'4'] => Some(digit - b'1'),
        _ => None,
    }
}

/// A place as it goes out, whatever room and row are called, or as people write it: `long/A-03-2-b`, `A-03-2-b`, `A3-2B`, `A 3 2 b`.
fn written_place(words: &str, room: Option<&Label>) -> Result<Place, String> {
    if let Ok(place) = words.parse::<Place>() {
        let of_now = |label: &Label| Label::new(label.as_str()).map_err(|error| error.to_string());
        of_now(&place.rack.room).and(of_now(&place.rack.row))?;
        return Ok(place);
    }
    let (named, within) = match words.rsplit_once('/') {
        Some((named, within)) if within.contains(['-', ' ', '.']) => (Some(named), within),
        _ => (None, words),
    };
    let wrong = || format!("'{words}' is no place: write row-stack-tier-side, like A-03-2-b");
    let mut parts: Vec<String> = Vec::new();
    let mut last: Option<bool> = None;
    for sign in within.chars() {
        let kind = sign.is_alphanumeric().then(|| sign.is_ascii_digit());
        match (kind, parts.last_mut()) {
            (Some(_), Some(part)) if kind == last => part.push(sign),
            (Some(_), _) => parts.push(sign.to_string()),
            (None, _) => {}
        }
        last = kind;
    }
    let [row, stack, tier, side] = parts.as_slice() else { return Err(wrong()) };
    let room = match named {
        Some(named) => Label::new(named).map_err(|error| error.to_string())?,
        None => room.ok_or_else(|| format!("'{words}' names no room"))?.clone(),
    };
    let number = |part: &String| part.parse::<u16>().ok().filter(|number| *number > 0).ok_or_else(wrong);
    let rack = RackPlace {
        room,
        row: Label::new(row).map_err(|error| error.to_string())?,
        stack: number(stack)?,
        tier: number(tier)?,
    };
    Ok(Place { rack, side: side_of(side).ok_or_else(wrong)? })
}

/// The rooms that have to be laid out, or laid out anew with more rows, for all places that are named; asked first.
fn lay_out(listed: &[Listed], answers: &Answers, state: &State, proposal: &mut Proposal) -> Vec<RoomLaidOut> {
    let mut rooms: Vec<RoomLaidOut> = Vec::new();
    let mut named: Vec<String> = Vec::new();
    for place in listed.iter().filter_map(|barrel| barrel.place.as_ref()) {
        let there = state.rooms.by_label(place.rack.room.as_str());
        if there.is_some_and(|room| room.slot(place).is_some()) {
            continue;
        }
        let at = rooms.iter().position(|room| room.room == place.rack.room).unwrap_or_else(|| {
            rooms.push(RoomLaidOut {
                room: place.rack.room.clone(),
                rows: there.map_or_else(Vec::new, |room| room.rows.clone()),
                temperature_c: there.and_then(|room| room.temperature_c),
                humidity_pct: there.and_then(|room| room.humidity_pct),
                round_days: there.and_then(|room| room.round_days),
                tolerated: there.and_then(|room| room.tolerated),
            });
            rooms.len() - 1
        });
        widen(&mut rooms[at].rows, place);
        let name = format!("{}/{}", place.rack.room, place.rack.row);
        if !named.contains(&name) {
            named.push(name);
        }
    }
    if rooms.is_empty() || answers.lay_out {
        return rooms;
    }
    let shown: Vec<String> = rooms.iter().map(described_room).collect();
    proposal.ask(Question::LayOut { what: shown.join("; ") });
    Vec::new()
}

/// Makes rows so long and high that a place is among them.
fn widen(rows: &mut Vec<RowLaidOut>, place: &Place) {
    let sides = if place.side < 2 { 2 } else { 4 };
    let (stack, tier) = (place.rack.stack, place.rack.tier);
    match rows.iter_mut().find(|row| row.row == place.rack.row) {
        Some(row) => {
            row.stacks = row.stacks.max(stack);
            row.tiers = row.tiers.max(tier);
            row.sides = row.sides.max(sides);
        }
        None => rows.push(RowLaidOut { row: place.rack.row.clone(), stacks: stack, tiers: tier, sides }),
    }
    rows.sort_by(|one, other| one.row.cmp(&other.row));
}

fn described_room(room: &RoomLaidOut) -> String {
    let alike = |one: &RowLaidOut, other: &RowLaidOut| {
        (one.stacks, one.tiers, one.sides) == (other.stacks, other.tiers, other.sides)
    };
    let rows = room.rows.chunk_by(alike).flat_map(|rows| match rows {
        // Many rows are hardly read one by one.
        [first, _, .., last] => {
            vec![format!("{} to {} ({} rows, {})", first.row, last.row, rows.len(), measures(first))]
        }
        few => few.iter().map(|row| format!("{} ({})", row.row, measures(row))).collect(),
    });
    format!("the room '{}' with the rows {}", room.room, rows.collect::<Vec<_>>().join(", "))
}

/// How long and high a row is.
fn measures(row: &RowLaidOut) -> String {
    format!("{} stacks, {} high", row.stacks, row.tiers)
}
