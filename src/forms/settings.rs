//! The settings of the house: a field each, with what it means. The page of the settings, their command and the form of the fact that sets them are
//! made of this one table.

use super::entry::{Body, Entry, Spread};
use super::form::{AtDesk, Field, Form, OnScreen};

/// How this house works.
pub static PRACTICE_SET: Form = Form {
    kind: "practice_set",
    title: "House settings",
    help: "Says how this house works, where the trade leaves a choice. What is not said stays as it was.",
    also: &["settings", "house", "practice", "preferences", "rules"],
    caution: None,
    says: "house settings: {all}",
    fields: &[
        Field::may(
            "checklist",
            "checklist",
            Entry::Choice(&["holds", "warns"]),
            "what open items before bottling do: hold a bottling, or warn of it",
        ),
        Field::may(
            "va_alarm_g_l",
            "VA alarm",
            Entry::Number,
            "volatile acidity above which a wine is suspect, g/L acetic",
        ),
        Field::may(
            "labels_are_numbers",
            "labels are numbers",
            Entry::YesNo,
            "whether a plain number on the floor is a label: litres then want a point, a comma or a unit",
        ),
        Field::may(
            "acid_unit",
            "acid unit",
            Entry::Choice(&["tartaric", "sulfuric", "acetic"]),
            "as which acid a laboratory gives acidities where it does not say",
        ),
        Field::may(
            "so2_model",
            "SO2 model",
            Entry::Choice(&["plain", "oiv"]),
            "how molecular SO2 is reckoned: by pH alone, or by alcohol and temperature too",
        ),
        Field::may("molecular_so2_mg_l", "molecular SO2", Entry::Number, "molecular SO2 that is wanted, mg/L"),
        Field::may("rules", "rules", Entry::Choice(&["us", "eu"]), "whose rules labels and limits are held against"),
        Field::may("sulfuring_days", "sulfuring days", Entry::Count, "days after which empty wood is sulfured again"),
        Field::may("soaking_days", "soaking days", Entry::Count, "days for which a soaking holds the staves tight"),
        Field::may(
            "stirring_days",
            "stirring days",
            Entry::Count,
            "days after which lees that are stirred are stirred again",
        ),
        Field::may(
            "blanket_days",
            "blanket days",
            Entry::Count,
            "days after which the gas over a wine is looked at again",
        ),
        Field::told("all", "all", Entry::Spread(&ALL)),
    ],
    desk: AtDesk::Elsewhere("declare practice"),
    example: "",
    screen: OnScreen::Elsewhere("the page House settings"),
};

/// What is set, each by its name. It is only told.
static ALL: Spread = Spread { write: |_, _, _| Ok(()), say: say_all };

fn say_all(body: &Body) -> String {
    let set = |(_, field): (usize, &Field)| {
        let said = field.entry.said_in(field.key, body);
        (!said.is_empty()).then(|| format!("{} {said}", field.name))
    };
    PRACTICE_SET.filled_in().filter_map(set).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod held {
    use super::*;
    use crate::cellar::jobs::floor::practice::PracticeSet;

    #[test]
    fn every_setting_of_the_fact_stands_in_the_table() {
        let fact = serde_json::to_value(PracticeSet::default()).unwrap();
        for key in fact.as_object().unwrap().keys() {
            assert!(PRACTICE_SET.fields.iter().any(|field| field.key == key), "{key}");
        }
    }
}
