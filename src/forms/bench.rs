//! The forms of the chapter bench. A trial has pages and commands of its own; here stands what its facts say.

use super::entry::Entry;
use super::form::{AtDesk, Field, Form, OnScreen};

/// The forms of this chapter.
pub(super) const FORMS: &[&Form] = &[&TRIAL_SET, &GLASS_RATED, &TRIAL_REVEALED, &BLEND_CHOSEN];

/// Glasses are mixed for a panel that tastes blind.
pub static TRIAL_SET: Form = Form {
    kind: "trial_set",
    title: "Set a trial",
    help: "Mixes glasses of several wines for a panel that tastes blind. The key is sealed until it is revealed.",
    also: &["trial", "blend trial", "panel", "blind"],
    says: "trial {trial} is set[, glasses of {glass_ul}][, a second sitting after {after}]",
    fields: &[
        Field::told("trial", "trial", Entry::Label),
        Field::told("glass_ul", "glass", Entry::Millilitres),
        Field::told("after", "after", Entry::Label),
    ],
    desk: AtDesk::Elsewhere("trial set"),
    example: "",
    screen: OnScreen::Elsewhere("Set a trial"),
};

/// A taster said something of a glass.
pub static GLASS_RATED: Form = Form {
    kind: "glass_rated",
    title: "Rate a glass",
    help: "Keeps what a taster says of a glass of a trial.",
    also: &["rate", "score", "rank", "panel"],
    says: "{trial}: glass {code} rated by {taster}[, {score}][, rank {rank}][: {text}]",
    fields: &[
        Field::must("trial", "trial", Entry::Label, "the trial"),
        Field::must("taster", "taster", Entry::Label, "who tasted"),
        Field::told("code", "code", Entry::Label),
        Field::told("flight", "flight", Entry::Count),
        Field::may("score", "score", Entry::Number, "from 0 to 20"),
        Field::may("rank", "rank", Entry::Number, "1 is the best"),
        Field::may("text", "words", Entry::Text, "what was tasted"),
    ],
    desk: AtDesk::Elsewhere("trial rate"),
    example: "",
    screen: OnScreen::Elsewhere("the page Blind at the bench"),
};

/// The key of a trial is opened.
pub static TRIAL_REVEALED: Form = Form {
    kind: "trial_revealed",
    title: "Reveal a trial",
    help: "Opens the key of a trial: which glass was which blend.",
    also: &["reveal", "unblind", "key"],
    says: "trial {trial} revealed",
    fields: &[Field::must("trial", "trial", Entry::Label, "the trial")],
    desk: AtDesk::Elsewhere("trial reveal"),
    example: "",
    screen: OnScreen::Elsewhere("the page Blind at the bench"),
};

/// A glass or a ratio is blended.
pub static BLEND_CHOSEN: Form = Form {
    kind: "blend_chosen",
    title: "Choose a blend",
    help: "Sets up the work of blending a glass of a trial, or a ratio of its wines.",
    also: &["blend", "choose", "assemblage"],
    says: "{trial}:[ glass {code}] chosen, {volume_ul} of lot {lot} into {into}",
    fields: &[
        Field::told("trial", "trial", Entry::Label),
        Field::told("code", "glass", Entry::Label),
        Field::told("into", "into", Entry::Vessel),
        Field::told("volume_ul", "litres", Entry::Volume),
        Field::told("lot", "lot", Entry::Label),
        Field::told("work", "work order", Entry::Label),
    ],
    desk: AtDesk::Elsewhere("trial blend"),
    example: "",
    screen: OnScreen::Elsewhere("b at a trial that is revealed"),
};
