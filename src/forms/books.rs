//! The forms of the books: losses, what is taken back.

use super::entry::Entry;
use super::form::{AtDesk, Field, Form, OnScreen};

/// The forms of this chapter.
pub(super) const FORMS: &[&Form] = &[&LOST];

/// Wine was lost.
pub static LOST: Form = Form {
    kind: "lost",
    title: "Wine is lost",
    help: "Books wine that is gone from a vessel: spilled, leaked, left with the lees, thrown away.",
    also: &["lose", "loss", "spill", "leak", "lees", "thrown away", "pour away"],
    caution: None,
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
