//! The forms of the books: losses, what is taken back.

use serde_json::Value;

use super::entry::{Entry, Own, plain};
use super::form::{AtDesk, Field, Form, OnScreen};
use super::settings::PRACTICE_SET;

/// The forms of this chapter.
pub(super) const FORMS: &[&Form] = &[&LOST, &WINE_OUT, &COUNT_BEGUN, &COUNTED, &COUNT_ENDED, &PRACTICE_SET, &RETRACTED];

/// Wine was lost.
pub static LOST: Form = Form {
    kind: "lost",
    title: "Wine is lost",
    help: "Books wine that is gone from a vessel: spilled, leaked, left with the lees, thrown away.",
    also: &["lose", "loss", "spill", "leak", "lees", "thrown away", "pour away"],
    says: "{volume_ul} lost from {vessel}: {cause}",
    fields: &[
        Field::must("vessel", "vessel", Entry::Vessel, "a vessel that holds wine"),
        Field::must("volume_ul", "litres", Entry::Volume, "how much"),
        Field::usual(
            "cause",
            "cause",
            Entry::Choice(&["spill", "lees", "leak", "handling", "other"]),
            "spill",
            "spill, lees, leak, handling or other",
        ),
    ],
    desk: AtDesk::Command("lose"),
    example: "0417 2.5 --cause leak",
    screen: OnScreen::Form,
};

/// Wine left the house in bulk.
pub static WINE_OUT: Form = Form {
    kind: "wine_out",
    title: "Bulk wine out",
    help: "Books wine that leaves the house unbottled: sold to another house, sent to a distillery. It is no loss.",
    also: &["bulk", "sell wine", "sold", "distillery", "ship wine", "tanker", "transfer out"],
    says: "{volume_ul} out of {vessel} in bulk, to {to}[: {why}]",
    fields: &[
        Field::must("vessel", "vessel", Entry::Vessel, "a vessel that holds wine"),
        Field::must("volume_ul", "litres", Entry::Volume, "how much, as it was measured"),
        Field::must("to", "to", Entry::Text, "to whom"),
        Field::again("why", "why", Entry::Text, "sold, distilled, given"),
    ],
    desk: AtDesk::Command("bulk-out"),
    example: "T8 500 'the house over the river' --why sold",
    screen: OnScreen::Form,
};

/// A physical count began.
pub static COUNT_BEGUN: Form = Form {
    kind: "count_begun",
    title: "Begin a count",
    help: "Begins a physical count of the cellar, of a room or of a store of bottles.",
    also: &["count", "inventory", "stocktake"],
    says: "count {count} begun[ in room {room}][ in store {store}]",
    fields: &[
        Field::must("count", "count", Entry::Label, "what the count is called"),
        Field::may("room", "room", Entry::Room, "the room that is counted"),
        Field::may("store", "store", Entry::Label, "or the store of bottles"),
    ],
    desk: AtDesk::Elsewhere("count"),
    example: "",
    screen: OnScreen::Elsewhere("the page Count what is here"),
};

/// What was found in a vessel, or how many bottles.
pub static COUNTED: Form = Form {
    kind: "counted",
    title: "Count a vessel or bottles",
    help: "Keeps what was found in a vessel, or how many bottles lie at a place.",
    also: &["count", "inventory", "stocktake"],
    says: "count {count}:[ {vessel}][ holds {volume_ul}][ {dip_mm} under the bung][{full=yes: full}][ {bottles} bottles][ of {run}][ ({lot_code})][ in {place}]",
    fields: &[
        Field::must("count", "count", Entry::Label, "the count"),
        Field::may("vessel", "vessel", Entry::Vessel, "a vessel"),
        Field::may("volume_ul", "litres", Entry::Volume, "what it holds"),
        Field::may("dip_mm", "dip", Entry::Millimetres, "or how far the wine stands under the bung"),
        Field::may("full", "full", Entry::YesNo, "or yes where it is brimful"),
        Field::may("run", "run", Entry::Run, "or a bottling run"),
        Field::may("bottles", "bottles", Entry::Count, "how many bottles of it"),
        Field::may("place", "place", Entry::Label, "where they lie"),
        Field::may("lot_code", "lot code", Entry::Label, "what stands on them"),
    ],
    desk: AtDesk::Elsewhere("count"),
    example: "",
    screen: OnScreen::Elsewhere("the page Count what is here"),
};

/// A physical count is closed.
pub static COUNT_ENDED: Form = Form {
    kind: "count_ended",
    title: "Close a count",
    help: "Closes a physical count.",
    also: &["count", "inventory", "stocktake"],
    says: "count {count} closed[: {why}]",
    fields: &[
        Field::must("count", "count", Entry::Label, "the count"),
        Field::may("why", "why", Entry::Text, "why nothing is booked"),
    ],
    desk: AtDesk::Elsewhere("count"),
    example: "",
    screen: OnScreen::Elsewhere("the page Count what is here"),
};

/// An earlier fact is taken back.
pub static RETRACTED: Form = Form {
    kind: "retracted",
    title: "Undo",
    help: "Takes back what was entered last. Again, and it goes further back.",
    also: &["undo", "take back"],
    says: "taken back: {why}",
    fields: &[Field::told("of", "of", Entry::Own(&FACT)), Field::told("why", "why", Entry::Text)],
    desk: AtDesk::Elsewhere("undo"),
    example: "",
    screen: OnScreen::Elsewhere("u on the floor"),
};

/// The name of a fact. It is only told.
static FACT: Own = Own {
    read: |_, _| Ok(Value::Null),
    say: |id| {
        format!("{}:{}", id.get("device").map_or_else(String::new, plain), id.get("n").map_or_else(String::new, plain))
    },
};
