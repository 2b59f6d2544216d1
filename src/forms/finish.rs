//! The forms of the chapter finish: fining trials and the checklist before bottling.

use serde_json::Value;

use super::entry::{Entry, Own};
use super::form::{AtDesk, Field, Form, OnScreen};

/// The forms of this chapter.
pub(super) const FORMS: &[&Form] = &[&FINING_TRIAL, &CHECK_DECLARED, &CHECKED, &CHECK_WAIVED];

/// A fining agent was tried in glasses.
pub static FINING_TRIAL: Form = Form {
    kind: "fining_trial",
    title: "A fining trial",
    help: "Tries doses of a fining agent in glasses, before a vessel is given any.",
    also: &["fining", "bench trial", "bentonite", "gelatin", "clarify"],
    says: "fining trial {trial} of {vessel}: {material}, {glasses}[, {chosen_g_l} g/L chosen]",
    fields: &[
        Field::told("trial", "trial", Entry::Label),
        Field::told("vessel", "vessel", Entry::Vessel),
        Field::must("material", "material", Entry::Label, "the agent"),
        Field::must("stock_pct", "stock", Entry::Number, "grams of it in 100 mL of stock"),
        Field::told("glasses", "glasses", Entry::Own(&GLASSES)),
        Field::may("chosen_g_l", "chosen", Entry::Number, "the dose of one of the glasses, g/L"),
    ],
    desk: AtDesk::Elsewhere("fining try"),
    example: "",
    screen: OnScreen::Elsewhere("the page A fining trial"),
};

/// An item of the checklist before bottling, of this house.
pub static CHECK_DECLARED: Form = Form {
    kind: "check_declared",
    title: "An item of the checklist",
    help: "Adds an item to the list before bottling, or says whether one of it holds a bottling here.",
    also: &["checklist", "before bottling", "require"],
    says: "{item} on the checklist[ of {lot}][{required=yes:, a bottling waits for it}][{required=no:, no bottling waits for it}][: {text}]",
    fields: &[
        Field::must("item", "item", Entry::Label, "like labels proofread"),
        Field::usual("required", "required", Entry::YesNo, "yes", "whether a bottling waits for it"),
        Field::may("text", "words", Entry::Text, "what is asked"),
        Field::may("lot", "lot", Entry::Lot, "of this lot only"),
    ],
    desk: AtDesk::Elsewhere("check declare"),
    example: "",
    screen: OnScreen::Elsewhere("the page Before bottling"),
};

/// An item of a lot's checklist was looked at.
pub static CHECKED: Form = Form {
    kind: "checked",
    title: "Tick an item of a lot",
    help: "Says that an item of a lot's checklist is met, or is not.",
    also: &["tick", "checklist", "before bottling"],
    says: "{lot}: {item}[{met=yes: met}][{met=no: not met}][ ({value})][: {text}]",
    fields: &[
        Field::must("lot", "lot", Entry::Lot, "the lot"),
        Field::must("item", "item", Entry::Label, "the item"),
        Field::usual("met", "met", Entry::YesNo, "yes", "yes or no"),
        Field::may("value", "value", Entry::Number, "a figure; of alcohol what stands on the label"),
        Field::may("text", "words", Entry::Text, "a few words"),
    ],
    desk: AtDesk::Elsewhere("check"),
    example: "",
    screen: OnScreen::Elsewhere("the page Before bottling"),
};

/// A lot may be bottled though an item is open.
pub static CHECK_WAIVED: Form = Form {
    kind: "check_waived",
    title: "Waive an item of a lot",
    help: "Says that a lot may be bottled though an item of its checklist is open, and why.",
    also: &["waive", "checklist", "before bottling"],
    says: "{lot}: {item} may stay open: {why}",
    fields: &[
        Field::must("lot", "lot", Entry::Lot, "the lot"),
        Field::must("item", "item", Entry::Label, "the item"),
        Field::must("why", "why", Entry::Text, "a few words"),
    ],
    desk: AtDesk::Elsewhere("check"),
    example: "",
    screen: OnScreen::Elsewhere("the page Before bottling"),
};

/// How many glasses there were and with which doses. They are only told.
static GLASSES: Own = Own { read: |_, _| Ok(Value::Null), say: say_glasses };

fn say_glasses(glasses: &Value) -> String {
    let glasses = glasses.as_array().map_or(&[][..], Vec::as_slice);
    let doses = glasses.iter().filter_map(|glass| glass.get("dose_g_l")?.as_f64()).map(|dose| dose.to_string());
    format!("{} g/L", doses.collect::<Vec<_>>().join(", "))
}
