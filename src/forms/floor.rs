//! The forms of the floor: vessels and where they lie, lots, holds, words.

use super::entry::Entry;
use super::form::{AtDesk, Field, Form, OnScreen};

/// The forms of this chapter.
pub(super) const FORMS: &[&Form] = &[&STAGE_SET, &VESSEL_PLACED, &RACK_MOVED, &VESSEL_RETIRED, &HELD, &FREED, &NOTED];

/// How a lot's barrels are kept.
pub static STAGE_SET: Form = Form {
    kind: "stage_set",
    title: "Set the stage of a lot",
    help: "Says how a lot's barrels are kept now, and how often they are topped: that goes before the room's interval.",
    also: &["stage", "soaking", "malolactic", "bung up", "rolled", "interval"],
    caution: None,
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
    example: "M24 'bung up'",
    screen: OnScreen::Form,
};

/// Where a vessel lies.
pub static VESSEL_PLACED: Form = Form {
    kind: "vessel_placed",
    title: "Say where a vessel lies",
    help: "Puts a vessel at a place of the map, or at none.",
    also: &["place", "put", "lay", "move a barrel"],
    caution: Some(super::words::STACKS),
    says: "{vessel} lies at {place}",
    fields: &[
        Field::must("vessel", "vessel", Entry::Vessel, "a vessel"),
        Field::must("place", "place", Entry::Own(&super::words::PLACE), "like long/A-03-2-b, or none"),
    ],
    desk: AtDesk::Command("place"),
    example: "0417 long/A-03-2-b",
    screen: OnScreen::Form,
};

/// A rack was lifted.
pub static RACK_MOVED: Form = Form {
    kind: "rack_moved",
    title: "Lift a rack to another place",
    help: "Every barrel of a rack lies in the other place from now on, on the same side. Never a rack from under others, nor one onto air.",
    also: &["rack", "forklift", "lift", "restack"],
    caution: Some(super::words::STACKS),
    says: "the rack at {from} was lifted to {to}",
    fields: &[
        Field::must("from", "from", Entry::Place, "a rack, like long/A-03-2"),
        Field::must("to", "to", Entry::Place, "an empty rack"),
    ],
    desk: AtDesk::Command("lift"),
    example: "long/A-03-2 long/B-01-1",
    screen: OnScreen::Form,
};

/// A vessel is gone.
pub static VESSEL_RETIRED: Form = Form {
    kind: "vessel_retired",
    title: "Retire vessels",
    help: "Takes empty vessels out of the cellar for good: sold, sawn up, given back. What they held stays in the book.",
    also: &["retire", "sell a barrel", "remove a barrel"],
    caution: None,
    says: "{vessel} is gone: {why}",
    fields: &[
        Field::must("vessel", "vessels", Entry::Vessels, "like 0417, 0420-0425, rack A-03-1"),
        Field::must("why", "why", Entry::Text, "a few words"),
    ],
    desk: AtDesk::Command("retire"),
    example: "0417 'sold as planters'",
    screen: OnScreen::Form,
};

/// A vessel is kept out of the work.
pub static HELD: Form = Form {
    kind: "held",
    title: "Hold vessels",
    help: "Keeps vessels out of topping, racking and blends until they are freed.",
    also: &["hold", "suspect"],
    caution: None,
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
    caution: None,
    says: "{vessel} freed: {why}",
    fields: &[
        Field::must("vessel", "vessels", Entry::Vessels, "like 0417, 0420-0425"),
        Field::must("why", "why", Entry::Text, "a few words"),
    ],
    desk: AtDesk::Command("free"),
    example: "0417 'clean at the second tasting'",
    screen: OnScreen::Elsewhere("h on the floor"),
};

/// Words about anything.
pub static NOTED: Form = Form {
    kind: "noted",
    title: "Write a note",
    help: "Keeps words about a vessel, a lot or anything that has a label.",
    also: &["note", "remark", "diary"],
    caution: None,
    says: "{about}: {text}",
    fields: &[
        Field::must("about", "about", Entry::Label, "a vessel, a lot, a room"),
        Field::must("text", "words", Entry::Text, "what is to be kept"),
    ],
    desk: AtDesk::Command("note"),
    example: "0417 'new bung'",
    screen: OnScreen::Elsewhere("w on the floor"),
};
