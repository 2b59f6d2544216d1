//! The forms of wood: moves of wine between vessels, lees stirring, gas over wine, and the upkeep of empty barrels.

use super::entry::Entry;
use super::form::{AtDesk, Field, Form, OnScreen};
use super::words::SOME_VOLUME;

/// The forms of this chapter.
pub(super) const FORMS: &[&Form] = &[&WINE_MOVED, &STIRRED, &BLANKETED, &BARREL_CARED];

/// Wine goes from one vessel to one other.
pub static WINE_MOVED: Form = Form {
    kind: "wine_moved",
    title: "Move wine",
    help: "Books wine that went from one vessel to one other: racked, all of it or a part, put down in barrels, blended, filtered. Lees and losses are booked by their cause.",
    also: &["move", "rack", "partial racking", "transfer", "pump over"],
    says: "{volume_ul} moved from {from} to {to}[{purpose!=other:}: {purpose}][, lees {lees_ul}][, lost {loss_ul}][{empties=yes:, nothing left behind}][, now {lot}][, through {filter}]",
    fields: &[
        Field::must("from", "from", Entry::Vessel, "the vessel that the wine leaves"),
        Field::must("to", "to", Entry::Vessel, "the vessel that it comes into"),
        Field::must("volume_ul", "litres", Entry::Volume, "what arrives"),
        Field::usual(
            "purpose",
            "purpose",
            Entry::Choice(&["racking", "barrel_down", "blend", "filtration", "other"]),
            "racking",
            "racking, barrel down, blend, filtration or other",
        ),
        Field::may("lees_ul", "lees", Entry::Own(&SOME_VOLUME), "lees and the wine lost with them"),
        Field::may("loss_ul", "loss", Entry::Own(&SOME_VOLUME), "lost in pumps and hoses"),
        Field::may("empties", "empties", Entry::YesNo, "yes where nothing is left behind"),
        Field::may("lot", "lot", Entry::Lot, "the lot that it is where it arrives"),
        Field::may("filter", "filter", Entry::Text, "the medium and its grade"),
        Field::told("evaporation_ul", "evaporation", Entry::Volume),
    ],
    desk: AtDesk::Elsewhere("move"),
    example: "",
    screen: OnScreen::Form,
};

/// Lees were stirred.
pub static STIRRED: Form = Form {
    kind: "stirred",
    title: "Stir the lees",
    help: "Books that the lees of vessels were stirred, and says with it when they are due again.",
    also: &["stir", "lees", "batonnage", "bâtonnage"],
    says: "{vessel} stirred on its lees",
    fields: &[Field::must("vessel", "vessels", Entry::Vessels, "like 0417, 0420-0425, rack A-03-1, or a lot")],
    desk: AtDesk::Command("stir"),
    example: "'C24 Long Wall'",
    screen: OnScreen::Form,
};

/// Gas was laid over wine.
pub static BLANKETED: Form = Form {
    kind: "blanketed",
    title: "Lay gas over wine",
    help: "Books that gas was laid over the wine of tanks and kegs, and says with it when it is to be looked at again.",
    also: &["blanket", "gas", "argon", "nitrogen", "inert"],
    says: "{vessel} under {gas}",
    fields: &[
        Field::must("vessel", "vessels", Entry::Vessels, "like T6, or T6, T8"),
        Field::usual("gas", "gas", Entry::Label, "argon", "argon, nitrogen, carbon dioxide"),
    ],
    desk: AtDesk::Command("blanket"),
    example: "T6 --gas argon",
    screen: OnScreen::Form,
};

/// Empty wood was cared for.
pub static BARREL_CARED: Form = Form {
    kind: "barrel_cared",
    title: "Barrel upkeep",
    help: "Books what was done to empty barrels between two wines: rinsed, steamed, ozonated, sulfured, soaked, dried.",
    also: &["care", "upkeep", "rinse", "wash", "steam", "ozone", "sulfur empties", "soak", "swell", "dry"],
    says: "{vessel} {care}",
    fields: &[
        Field::must(
            "care",
            "care",
            Entry::Choice(&["rinsed", "steamed", "ozonated", "sulfured", "soaked", "dried"]),
            "rinsed, steamed, ozonated, sulfured, soaked or dried",
        ),
        Field::must("vessel", "vessels", Entry::Vessels, "empty barrels, like 0417, 0420-0425, rack A-03-1"),
        Field::told("again", "again", Entry::YesNo),
    ],
    desk: AtDesk::Command("care"),
    example: "rinsed 0128",
    screen: OnScreen::Form,
};
