//! The forms of the floor: vessels and where they lie, lots, holds, words.

use serde_json::{Value, json};

use super::entry::{Body, Entry, Own, Spread, plain};
use super::form::{AtDesk, Field, Form, OnScreen};
use crate::cellar::core::state::State;
use crate::units::{Volume, VolumeUnit, poured};

/// The forms of this chapter.
pub(super) const FORMS: &[&Form] = &[
    &ROOM_LAID_OUT,
    &VESSEL_REGISTERED,
    &VESSEL_CHANGED,
    &VESSEL_PLACED,
    &RACK_MOVED,
    &VESSEL_RETIRED,
    &RENAMED,
    &ORIGIN_DECLARED,
    &LOT_OPENED,
    &STAGE_SET,
    &WINE_RECEIVED,
    &WORK_SET,
    &WORK_ENDED,
    &HELD,
    &FREED,
    &NOTED,
];

/// A room and its places.
pub static ROOM_LAID_OUT: Form = Form {
    kind: "room_laid_out",
    title: "Lay out a room",
    help: "A room and its rows, stacks and tiers. What lies in it keeps its place.",
    also: &["room", "rows", "lay out"],
    says: "room {room} laid out: {rows}[, {temperature_c} °C][, {humidity_pct} % humidity][, a round every {round_days} days]",
    fields: &[
        Field::must("room", "room", Entry::Label, "a name"),
        Field::must("rows", "rows", Entry::Own(&ROWS), "row, stacks x tiers x sides: A 12x4x2, B 12x4x2"),
        Field::may("temperature_c", "temperature", Entry::Number, "°C"),
        Field::may("humidity_pct", "humidity", Entry::Number, "%"),
        Field::may("round_days", "days", Entry::Count, "between two rounds"),
        Field::may("tolerated_ul", "tolerated", Entry::Volume, "headspace that makes a barrel due at once"),
    ],
    desk: AtDesk::Elsewhere("room"),
    example: "",
    screen: OnScreen::Elsewhere("Begin a cellar"),
};

/// The rows of a room: `A 12x4x2, B 12x4x2`.
static ROWS: Own = Own { read: read_rows, say: say_rows };

fn read_rows(text: &str, _: &State) -> Result<Value, String> {
    let row = |part: &str| {
        let wrong = || format!("'{part}' is no row. Write its name, then stacks x tiers x sides, like A 12x4x2.");
        let (name, counts) = part.rsplit_once(' ').ok_or_else(wrong)?;
        let counts: Vec<u16> = counts.split('x').filter_map(|count| count.parse().ok()).collect();
        let [stacks, tiers, sides] = counts[..] else { return Err(wrong()) };
        Ok(json!({"row": name.trim(), "stacks": stacks, "tiers": tiers, "sides": sides}))
    };
    let rows: Result<Vec<Value>, String> = text.split(',').map(str::trim).map(row).collect();
    rows.map(Value::from)
}

fn say_rows(rows: &Value) -> String {
    let size = |row: &Value, field: &str| plain(row.get(field).unwrap_or(&Value::Null));
    let row = |row: &Value| {
        let [name, stacks, tiers, sides] = ["row", "stacks", "tiers", "sides"].map(|field| size(row, field));
        format!("{name} {stacks}x{tiers}x{sides}")
    };
    rows.as_array().map_or_else(String::new, |rows| rows.iter().map(row).collect::<Vec<_>>().join(", "))
}

/// What may be said of a vessel, after the fields that are said first. What it is may be not known where it is changed.
macro_rules! vessel_fields {
    ($($first:expr),+; $known:ident) => {
        &[
            $($first,)+
            Field::may("topped", "topped", $known!(&Entry::YesNo), "no where it tops others"),
            Field::may("shape", "shape", $known!(&Entry::Label), "like bordeaux"),
            Field::may("bilge_mm", "bilge", $known!(&Entry::Millimetres), "inside diameter at the bilge"),
            Field::may("head_mm", "head", $known!(&Entry::Millimetres), "inside diameter at a head"),
            Field::may("length_mm", "length", $known!(&Entry::Millimetres), "inside length"),
            Field::may("cooper", "cooper", $known!(&Entry::Label), "who made it"),
            Field::may("forest", "forest", $known!(&Entry::Label), "where its oak grew"),
            Field::may("grain", "grain", $known!(&Entry::Label), "fine, medium, coarse"),
            Field::may("seasoning_months", "seasoning", $known!(&Entry::Count), "months outdoors"),
            Field::may("toast", "toast", $known!(&Entry::Label), "light, medium, heavy"),
            Field::may("heads_toasted", "heads toasted", $known!(&Entry::YesNo), "yes or no"),
            Field::may("made", "made", $known!(&Entry::Count), "the year"),
            Field::may("price", "price", $known!(&Entry::Number), "in your currency"),
            Field::may("fills", "fills", $known!(&Entry::Count), "before it came into this book"),
            Field::may("stained", "stained", $known!(&Entry::Choice(&["red", "white", "rose"])), "by which wine"),
        ]
    };
}

macro_rules! is_known {
    (&$entry:expr) => {
        $entry
    };
}

macro_rules! may_be_not_known {
    ($entry:expr) => {
        Entry::Known($entry)
    };
}

/// What kinds of vessels there are.
const VESSEL_TYPES: Entry = Entry::Choice(&["barrel", "tank", "keg"]);

/// A vessel exists.
pub static VESSEL_REGISTERED: Form = Form {
    kind: "vessel_registered",
    title: "Number a vessel",
    help: "A barrel, a tank or a keg comes into the cellar.",
    also: &["register", "new barrel", "number"],
    says: "{type} {vessel} of {capacity_ul}[, {forest}][, {toast} toast][, {cooper}][, {made}][{type=barrel:}{fills=0:, new}][{type=barrel:}{fills!=0:}, filled {fills} times before][{topped=no:, tops others}]",
    fields: vessel_fields![
        Field::must("vessel", "vessel", Entry::Label, "its label, for life"),
        Field::must("type", "type", VESSEL_TYPES, "barrel, tank or keg"),
        Field::must("capacity_ul", "capacity", Entry::Volume, "brimful");
        is_known
    ],
    desk: AtDesk::Elsewhere("number"),
    example: "",
    screen: OnScreen::Elsewhere("Begin a cellar"),
};

/// What is known of vessels is another.
pub static VESSEL_CHANGED: Form = Form {
    kind: "vessel_changed",
    title: "Change vessels",
    help: "Says what vessels are from now on: what is left empty stays as it is, 'not known' says that nobody knows it. A topping vessel is one that is not topped.",
    also: &["change", "forest", "toast", "cooper", "capacity", "topping vessel", "declare keg", "describe"],
    says: "{vessel} from now on[: {type}][: {capacity_ul}][: topped {topped}][: shape {shape}][: bilge {bilge_mm}][: head {head_mm}][: length {length_mm}][: cooper {cooper}][: forest {forest}][: grain {grain}][: seasoning {seasoning_months}][: toast {toast}][: heads toasted {heads_toasted}][: made {made}][: price {price}][: fills {fills}][: stained {stained}]",
    fields: vessel_fields![
        Field::must("vessel", "vessels", Entry::Vessels, "like 0417, 0420-0425, rack A-03-1"),
        Field::may("type", "type", VESSEL_TYPES, "barrel, tank or keg"),
        Field::may("capacity_ul", "capacity", Entry::Volume, "brimful");
        may_be_not_known
    ],
    desk: AtDesk::Elsewhere("change"),
    example: "",
    screen: OnScreen::Form,
};

/// A source of wine.
pub static ORIGIN_DECLARED: Form = Form {
    kind: "origin_declared",
    title: "Declare an origin",
    help: "A source of wine: block, variety, vintage, appellation and colour. Label claims are reckoned from it.",
    also: &["origin", "block", "vineyard", "variety", "vintage", "appellation"],
    says: "{origin}: {block}, {variety} {vintage}, {appellation}, {colour}[{estate=yes:, estate}][{organic=yes:, organic}][, of {owner}]",
    fields: &[
        Field::must("origin", "origin", Entry::Label, "its name, like 'Mill Field 2026'"),
        Field::must("block", "block", Entry::Label, "the vineyard block"),
        Field::must("variety", "variety", Entry::Label, "the grape"),
        Field::must("vintage", "vintage", Entry::Count, "the year"),
        Field::must("appellation", "appellation", Entry::Label, "the place that may stand on a label"),
        Field::usual("colour", "colour", COLOURS, "red", "red, white or rose"),
        Field::may("estate", "estate", Entry::YesNo, "whether it grew on the estate"),
        Field::may("organic", "organic", Entry::YesNo, "whether it is certified"),
        Field::may("owner", "owner", Entry::Label, "whose wine it is, where it is not yours"),
    ],
    desk: AtDesk::Command("origin"),
    example: "'Mill Field 2026' 'Mill Field' Syrah 2026 'Varrow Valley' --estate yes",
    screen: OnScreen::Form,
};

/// The colours of wine.
const COLOURS: Entry = Entry::Choice(&["red", "white", "rose"]);

/// A lot's name.
pub static LOT_OPENED: Form = Form {
    kind: "lot_opened",
    title: "Open a lot",
    help: "The name of a wine that is kept together.",
    also: &["lot", "new lot"],
    says: "lot {lot} opened, {colour}",
    fields: &[
        Field::must("lot", "lot", Entry::Label, "a name"),
        Field::usual("colour", "colour", COLOURS, "red", "red, white or rose"),
    ],
    desk: AtDesk::Elsewhere("open-lot"),
    example: "",
    screen: OnScreen::Form,
};

/// Wine comes into the book.
pub static WINE_RECEIVED: Form = Form {
    kind: "wine_received",
    title: "Receive wine",
    help: "Books wine that comes into the cellar: bought, from the press, from a fermenter that is not in this book.",
    also: &["receive", "wine comes in", "buy wine", "delivery"],
    says: "{vessel} received {litres} of lot {lot}[, {origin}]",
    fields: &[
        Field::must("vessel", "vessel", Entry::Vessel, "a vessel"),
        Field::must("lot", "lot", Entry::Lot, "a lot"),
        Field::may("origin", "origin", Entry::Spread(&ORIGIN), "where it grew; none where the lot is of one origin"),
        Field::must("litres", "litres", Entry::Spread(&PARTS), "or each origin's: Mill Field=200 L, Chapel=25 L"),
    ],
    desk: AtDesk::Command("receive"),
    example: "T7 'D25 Low Meadow' 800 --origin 'Low Meadow 2025'",
    screen: OnScreen::Form,
};

/// The only origin of what is received; nothing where there are several.
static ORIGIN: Spread = Spread { write: write_origin, say: |body| said_parts(body).0 };
/// The litres of what is received, by origin where there are several.
static PARTS: Spread = Spread { write: write_parts, say: |body| said_parts(body).1 };

/// An origin is written before the litres that are of it.
fn write_origin(text: &str, body: &mut Body, state: &State) -> Result<(), String> {
    let origin = Entry::Origin.read(text, state)?;
    match body.get_mut("parts").and_then(Value::as_array_mut).map(Vec::as_mut_slice) {
        Some([only]) => only["origin"] = origin,
        _ => {
            body.insert("origin".to_owned(), origin);
        }
    }
    Ok(())
}

fn write_parts(text: &str, body: &mut Body, state: &State) -> Result<(), String> {
    let litres = |text: &str| Volume::parse(text, VolumeUnit::customary()).map_err(|error| error.to_string());
    let named = body.shift_remove("origin");
    let part = |origin: Value, volume: Volume| json!({"origin": origin, "volume_ul": volume.as_ul()});
    let parts = if text.contains('=') {
        let each = text.split(", ").flat_map(|part| part.split(';')).map(|written| {
            let (origin, volume) = written.rsplit_once('=').ok_or_else(|| each_is_like(written))?;
            Ok(part(Entry::Origin.read(origin.trim(), state)?, litres(volume.trim())?))
        });
        each.collect::<Result<Vec<Value>, String>>()?
    } else {
        let before = body.get("parts").and_then(|parts| parts.get(0)).and_then(|part| part.get("origin")).cloned();
        let of_lot = || origin_of(body.get("lot").and_then(Value::as_str)?, state).map(Value::from);
        let origin = named.or(before).or_else(of_lot).ok_or("Write the origin: the lot is not of one origin alone.")?;
        vec![part(origin, litres(text)?)]
    };
    body.insert("parts".to_owned(), Value::from(parts));
    Ok(())
}

fn each_is_like(written: &str) -> String {
    format!("'{written}' says nothing of an origin. Write each like Mill Field=200 L.")
}

/// The one origin of which a lot is; none where it is of several, or of none yet.
fn origin_of(lot: &str, state: &State) -> Option<String> {
    let lot = state.lots.find(lot)?;
    let vessels = state.vessels.iter().filter(|(_, vessel)| vessel.lot == Some(lot));
    let mut origins = vessels.flat_map(|(_, vessel)| vessel.wine.parts().iter().filter_map(|part| part.origin));
    let first = origins.next()?;
    origins.all(|origin| origin == first).then(|| state.origins.get(first).0.origin.to_string())
}

/// The only origin of what was received, and its litres or those of each.
fn said_parts(body: &Body) -> (String, String) {
    let origin = |part: &Value| plain(part.get("origin").unwrap_or(&Value::Null));
    let volume = |part: &Value| Volume::from_ul(part.get("volume_ul").and_then(Value::as_u64).unwrap_or_default());
    match body.get("parts").and_then(Value::as_array).map(Vec::as_slice) {
        Some([only]) => (origin(only), poured(volume(only))),
        Some(parts) => {
            let each: Vec<String> =
                parts.iter().map(|part| format!("{}={}", origin(part), poured(volume(part)))).collect();
            (String::new(), each.join(", "))
        }
        None => (String::new(), String::new()),
    }
}

/// A work order.
pub static WORK_SET: Form = Form {
    kind: "work_set",
    title: "Set a work order",
    help: "Lays out a piece of work on many vessels, to be walked and ticked.",
    also: &["work order", "racking", "barrel-down", "plan"],
    says: "work order {work}: {task}[ into {to}][ from {from}][ into {into}][, {material}][, {care}]",
    fields: &[
        Field::must("work", "work", Entry::Label, "a name"),
        Field::told("task", "task", Entry::Choice(&["racking", "barrel_down", "treating", "caring", "blending"])),
        Field::told("to", "to", Entry::Label),
        Field::told("from", "from", Entry::Label),
        Field::told("into", "into", Entry::Label),
        Field::told("material", "material", Entry::Label),
        Field::told("care", "care", Entry::Label),
    ],
    desk: AtDesk::Elsewhere("plan … --begin"),
    example: "",
    screen: OnScreen::Elsewhere("d on the floor"),
};

/// A work order is closed.
pub static WORK_ENDED: Form = Form {
    kind: "work_ended",
    title: "Close a work order",
    help: "Closes a work order, done or not. What was done of it stays done.",
    also: &["end work", "close work"],
    says: "work order {work} closed[: {why}]",
    fields: &[
        Field::must("work", "work", Entry::Label, "a work order that is open"),
        Field::may("why", "why", Entry::Text, "where it is not finished"),
    ],
    desk: AtDesk::Command("end-work"),
    example: "'down M24 Mill Field' --why 'the hose is needed'",
    screen: OnScreen::Elsewhere("z in a work order"),
};

/// How a lot's barrels are kept.
pub static STAGE_SET: Form = Form {
    kind: "stage_set",
    title: "Set the stage of a lot",
    help: "Says how a lot's barrels are kept now, and how often they are topped: that goes before the room's interval.",
    also: &["stage", "soaking", "malolactic", "bung up", "rolled", "interval"],
    says: "{lot} is kept {stage} from now on[, topped every {round_days} days]",
    fields: &[
        Field::must("lot", "lot", Entry::Lot, "a lot"),
        Field::must(
            "stage",
            "stage",
            Entry::Choice(&["soaking", "malolactic", "bung_up", "rolled"]),
            "soaking, malolactic, bung up or rolled",
        ),
        Field::may("round_days", "days", Entry::Count, "between toppings, where it is not as the stage has it"),
    ],
    desk: AtDesk::Command("stage"),
    example: "'M24 Upper Terrace' 'bung up'",
    screen: OnScreen::Form,
};

/// Where a vessel lies.
pub static VESSEL_PLACED: Form = Form {
    kind: "vessel_placed",
    title: "Say where a vessel lies",
    help: "Puts a vessel at a place of the map, or at none.",
    also: &["place", "put", "lay", "move a barrel"],
    says: "{vessel} lies at {place}",
    fields: &[
        Field::must("vessel", "vessel", Entry::Vessel, "a vessel"),
        Field::must("place", "place", Entry::Own(&super::words::PLACE), "like long/A-03-2-b, or none"),
    ],
    desk: AtDesk::Command("place"),
    example: "0376 long/D-06-3-b",
    screen: OnScreen::Form,
};

/// A rack was lifted.
pub static RACK_MOVED: Form = Form {
    kind: "rack_moved",
    title: "Lift a rack to another place",
    help: "Every barrel of a rack lies in the other place from now on, on the same side. Never a rack from under others, nor one onto air.",
    also: &["rack", "forklift", "lift", "restack"],
    says: "the rack at {from} was lifted to {to}",
    fields: &[
        Field::must("from", "from", Entry::Place, "a rack, like long/A-03-2"),
        Field::must("to", "to", Entry::Place, "an empty rack"),
    ],
    desk: AtDesk::Command("lift"),
    example: "long/D-06-3 long/D-07-1",
    screen: OnScreen::Form,
};

/// A vessel is gone.
pub static VESSEL_RETIRED: Form = Form {
    kind: "vessel_retired",
    title: "Retire vessels",
    help: "Takes empty vessels out of the cellar for good: sold, sawn up, given back. What they held stays in the book.",
    also: &["retire", "sell a barrel", "remove a barrel"],
    says: "{vessel} is gone: {why}",
    fields: &[
        Field::must("vessel", "vessels", Entry::Vessels, "like 0417, 0420-0425, rack A-03-1"),
        Field::must("why", "why", Entry::Text, "a few words"),
    ],
    desk: AtDesk::Command("retire"),
    example: "0441 'sold as planters'",
    screen: OnScreen::Form,
};

/// A vessel is kept out of the work.
pub static HELD: Form = Form {
    kind: "held",
    title: "Hold vessels",
    help: "Keeps vessels out of topping, racking and blends until they are freed.",
    also: &["hold", "suspect"],
    says: "{vessel} held: {why}",
    fields: &[
        Field::must("vessel", "vessels", Entry::Vessels, "like 0417, 0420-0425, rack A-03-1"),
        Field::must("why", "why", Entry::Text, "a few words"),
    ],
    desk: AtDesk::Command("hold"),
    example: "0417 'smells of horse'",
    screen: OnScreen::Elsewhere("h on the floor"),
};

/// A held vessel is back.
pub static FREED: Form = Form {
    kind: "freed",
    title: "Free vessels",
    help: "Gives held vessels back to the work.",
    also: &["free", "release a hold"],
    says: "{vessel} freed: {why}",
    fields: &[
        Field::must("vessel", "vessels", Entry::Vessels, "like 0417, 0420-0425"),
        Field::must("why", "why", Entry::Text, "a few words"),
    ],
    desk: AtDesk::Command("free"),
    example: "0130 'clean at the second tasting'",
    screen: OnScreen::Elsewhere("h on the floor"),
};

/// Words about anything.
pub static NOTED: Form = Form {
    kind: "noted",
    title: "Write a note",
    help: "Keeps words about a vessel, a lot or anything that has a label.",
    also: &["note", "remark", "diary"],
    says: "{about}: {text}",
    fields: &[
        Field::must("about", "about", Entry::Label, "a vessel, a lot, a room"),
        Field::must("text", "words", Entry::Text, "what is to be kept"),
    ],
    desk: AtDesk::Command("note"),
    example: "0417 'new bung'",
    screen: OnScreen::Elsewhere("w on the floor"),
};

/// A thing is called otherwise.
pub static RENAMED: Form = Form {
    kind: "renamed",
    title: "Rename a thing",
    help: "Calls a vessel, a lot, an origin, a room or a store otherwise from now on. The old label still finds it, and no other thing may have it.",
    also: &["rename", "new name", "new label", "call"],
    says: "{what} {from} is called {to} from now on",
    fields: &[
        Field::must(
            "what",
            "what",
            Entry::Choice(&["vessel", "lot", "origin", "room", "store"]),
            "vessel, lot, origin, room or store",
        ),
        Field::must("from", "from", Entry::Label, "how it is called"),
        Field::must("to", "to", Entry::Label, "how it is to be called"),
    ],
    desk: AtDesk::Command("rename"),
    example: "vessel 0417 0417-B",
    screen: OnScreen::Form,
};
