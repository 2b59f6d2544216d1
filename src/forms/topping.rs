//! The forms of topping: what was poured, what was measured, since when that is written down, and the rounds.

use serde_json::Value;

use super::entry::{Body, Entry, Spread};
use super::form::{AtDesk, Field, Form, OnScreen};
use super::offering::Offering;
use crate::units::{Volume, VolumeUnit, names_a_length, parse_millimetres};

/// The forms of this chapter.
pub(super) const FORMS: &[&Form] =
    &[&TOPPED, &GAUGED, &KEPT_SINCE, &ROUND_BEGUN, &SKIPPED, &SOURCE_CHANGED, &ROUND_ENDED];

/// Wine was poured into the headspace.
pub static TOPPED: Form = Form {
    kind: "topped",
    title: "Top vessels",
    help: "Books what was poured into a vessel's headspace, and where it came from. A topping to the brim tells what had evaporated.",
    also: &["top", "topping", "fill up", "ullage"],
    says: "{vessel} topped with {volume_ul} from {from}[{full=no:, not to the brim}]",
    fields: &[
        Field::must("vessel", "vessels", Entry::Vessels, "like 0417, 0420-0425, rack A-03-1"),
        Field::must("volume_ul", "litres", Entry::Volume, "poured into each"),
        Field::offered("from", "from", Entry::Vessel, Offering::ToppingVessel, "the vessel it came from"),
        Field::usual("full", "full", Entry::YesNo, "yes", "no where it is not brimful yet"),
    ],
    desk: AtDesk::Command("top"),
    example: "0167 1.8 --from K2",
    screen: OnScreen::Elsewhere("space, a digit or a length on the floor"),
};

/// What a vessel holds was measured.
pub static GAUGED: Form = Form {
    kind: "gauged",
    title: "Gauge a vessel",
    help: "Books what a vessel holds by a measurement: litres, or for a lying barrel the depth of the headspace under the bung.",
    also: &["gauge", "dip", "measure", "sight glass"],
    says: "{vessel} gauged: {measured}[, what is missing went by {cause}]",
    fields: &[
        Field::must("vessel", "vessel", Entry::Vessel, "a vessel"),
        Field::must("measured", "measured", Entry::Spread(&MEASURED), "litres, or a dip like 30 mm"),
        Field::may(
            "cause",
            "cause",
            Entry::Choice(&["evaporation", "lees", "handling"]),
            "of what is missing, where it is not as usual",
        ),
    ],
    desk: AtDesk::Command("gauge"),
    example: "0167 '30 mm'",
    screen: OnScreen::Elsewhere("g on the floor"),
};

/// A volume, or a dip.
static MEASURED: Spread = Spread { write: write_measured, say: say_measured };

fn write_measured(text: &str, body: &mut Body, _: &crate::cellar::core::state::State) -> Result<(), String> {
    let (key, other, value) = if names_a_length(text) {
        let millimetres = parse_millimetres(text).map_err(|error| error.to_string())?;
        ("dip_mm", "volume_ul", Value::from(millimetres))
    } else {
        let volume = Volume::parse(text, VolumeUnit::customary()).map_err(|error| error.to_string())?;
        ("volume_ul", "dip_mm", Value::from(volume.as_ul()))
    };
    body.shift_remove(other);
    body.insert(key.to_owned(), value);
    Ok(())
}

fn say_measured(body: &Body) -> String {
    let volume = Entry::Volume.said_in("volume_ul", body);
    if volume.is_empty() { Entry::Millimetres.said_in("dip_mm", body) } else { volume }
}

/// Since when things are written down.
pub static KEPT_SINCE: Form = Form {
    kind: "kept_since",
    title: "Written down from here on",
    help: "Says that toppings, or all that happens, are written down from this moment on: a gap before it tells nothing of loss, leaks or intervals.",
    also: &["kept since", "not written down before", "first round"],
    says: "{what} written down from here on[, room {room}][, lot {lot}][, {vessel}][, last topped on {topped_on}]",
    fields: &[
        Field::usual("what", "what", Entry::Choice(&["toppings", "all"]), "toppings", "toppings, or all that happens"),
        Field::may("room", "room", Entry::Room, "only this room"),
        Field::may("lot", "lot", Entry::Lot, "only this lot"),
        Field::may("vessel", "vessel", Entry::Vessel, "only this vessel"),
        Field::may("topped_on", "topped on", Entry::Day, "the day of the last topping, where it is known"),
    ],
    desk: AtDesk::Elsewhere("declare kept-since"),
    example: "",
    screen: OnScreen::Form,
};

/// A walk through a room began.
pub static ROUND_BEGUN: Form = Form {
    kind: "round_begun",
    title: "Begin a round",
    help: "Begins a walk through a room, topping as one goes.",
    also: &["begin round", "topping round"],
    says: "round {round} begun in room {room}[, topping from {from}][{odd=yes:, odd barrels too}]",
    fields: &[
        Field::must("round", "round", Entry::Label, "a name, like 'cave 26 Nov'"),
        Field::must("room", "room", Entry::Room, "the room that is walked"),
        Field::may("from", "from", Entry::Vessel, "the vessel that is topped from"),
        Field::may("odd", "odd", Entry::YesNo, "yes where the odd barrels are topped like the rest"),
    ],
    desk: AtDesk::Command("begin-round"),
    example: "'cave 26 Nov' cave --from K3",
    screen: OnScreen::Elsewhere("b on the floor"),
};

/// A walk through a room ended.
pub static ROUND_ENDED: Form = Form {
    kind: "round_ended",
    title: "Close a round",
    help: "Closes a walk through a room, done or not.",
    also: &["end round", "finish a round"],
    says: "round {round} closed in room {room}",
    fields: &[
        Field::must("round", "round", Entry::Label, "the round that is open"),
        Field::offered("room", "room", Entry::Room, Offering::RoomOfRound, "the room that was walked"),
        Field::may("from", "from", Entry::Vessel, "the vessel that was topped from"),
    ],
    desk: AtDesk::Command("end-round"),
    example: "'long 25 Nov 2026'",
    screen: OnScreen::Elsewhere("z on the floor"),
};

/// A barrel was left out on purpose.
pub static SKIPPED: Form = Form {
    kind: "skipped",
    title: "Skip vessels",
    help: "Leaves vessels out of the open round of their room, or of a work order, to be come back to.",
    also: &["skip", "leave out"],
    says: "{vessel} skipped[ in round {round}][ in work order {work}][: {why}]",
    fields: &[
        Field::must("vessel", "vessels", Entry::Vessels, "like 0417, 0420-0425, rack A-03-1"),
        Field::may("why", "why", Entry::Text, "a few words"),
        Field::may("work", "work", Entry::Label, "a work order, where it is of one"),
        Field::offered("round", "round", Entry::Label, Offering::RoundUnlessWork, "a round"),
    ],
    desk: AtDesk::Command("skip"),
    example: "0167 --why 'bung stuck'",
    screen: OnScreen::Elsewhere("s on the floor"),
};

/// A round tops from another vessel.
pub static SOURCE_CHANGED: Form = Form {
    kind: "source_changed",
    title: "Top from another vessel",
    help: "Says which vessel a round tops from, from here on.",
    also: &["source", "another keg", "change keg"],
    says: "round {round} tops from {from} from here on[, {lot} too]",
    fields: &[
        Field::must("from", "from", Entry::Vessel, "the vessel that is topped from"),
        Field::offered("round", "round", Entry::Label, Offering::OpenRound, "a round that is open"),
        Field::may("lot", "lot", Entry::Lot, "the lot that it tops though its wine is another's"),
    ],
    desk: AtDesk::Command("change-source"),
    example: "K6",
    screen: OnScreen::Elsewhere("x on the floor"),
};
