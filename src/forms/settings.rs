//! The settings of the house: a field each, with what it means. The page of the settings, their command and the form of the fact that sets them are
//! made of this one table.

use super::entry::{Body, Entry, Spread};
use super::form::{AtDesk, Field, Form, OnScreen};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::floor::practice::{Practice, SettingSaid};
use crate::cellar::jobs::tests::testing::Analyte;
use crate::import::analytes::written;
use crate::told::meant::meant;
use crate::units::figure;
use serde_json::Value;

/// How this house works.
pub static PRACTICE_SET: Form = Form {
    kind: "practice_set",
    title: "House settings",
    help: "Says how this house works, where the trade leaves a choice. What is not said stays as it was.",
    also: &["settings", "house", "practice", "preferences", "rules"],
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
            "va alarm",
            Entry::Spread(&VA_ALARM),
            "volatile acidity above which a wine is suspect, in the unit of the house (by default where it tastes sour: Ribéreau-Gayon, vol. 2)",
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
            Entry::Choice(&["tartaric", "sulfuric", "acetic", "meq"]),
            "in what acidities are read and written: g/L tartaric and acetic, g/L H2SO4, meq/L",
        ),
        Field::may(
            "so2_model",
            "so2 model",
            Entry::Choice(&["plain", "oiv"]),
            "how molecular SO2 is reckoned: by pH alone, or by alcohol and temperature too",
        ),
        Field::may(
            "molecular_so2_mg_l",
            "molecular so2",
            Entry::Number,
            "molecular SO2 that is wanted, mg/L (the default is common practice for reds)",
        ),
        Field::may(
            "rules",
            "rules",
            Entry::Choice(&["us", "eu"]),
            "whose rules labels and limits are held against; both sides' where it is not said",
        ),
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
        Field::may(
            "va_rise_g_l",
            "va rise",
            Entry::Spread(&VA_RISE),
            "by how much volatile acidity rises in 120 days where it is called rising (by default three times what two tests of one wine differ by)",
        ),
        Field::may(
            "va_risen_g_l",
            "va risen",
            Entry::Spread(&VA_RISEN),
            "below how much nobody minds that it rises (by default where it is first noticed: Ribéreau-Gayon, vol. 2)",
        ),
        Field::may("dry_g_l", "dry", Entry::Number, "sugar up to which a wine is dry, g/L (common practice)"),
        Field::may(
            "malic_done_g_l",
            "malic done",
            Entry::Number,
            "malic acid up to which malolactic fermentation is done, g/L (common practice)",
        ),
        Field::may(
            "most_oxygen_mg_l",
            "oxygen",
            Entry::Number,
            "the most dissolved oxygen at bottling, mg/L (common practice)",
        ),
        Field::may(
            "most_turbidity_ntu",
            "turbidity",
            Entry::Number,
            "the most turbidity at bottling, NTU; where it is not said 2 in red wine and 1 in other (common practice, unverified)",
        ),
        Field::told("all", "all", Entry::Spread(&ALL)),
    ],
    desk: AtDesk::Command("declare practice"),
    example: "--sulfuring-days 42 --molecular-so2 0.6",
    screen: OnScreen::Elsewhere("the page House settings"),
};

/// Volatile acidity in the unit in which the house reads it; where it has said none, as acetic.
static VA_ALARM: Spread = Spread {
    write: |text, body, state| write_acidity("va_alarm_g_l", text, body, state),
    say: |body| say_acidity("va_alarm_g_l", body),
};
static VA_RISE: Spread = Spread {
    write: |text, body, state| write_acidity("va_rise_g_l", text, body, state),
    say: |body| say_acidity("va_rise_g_l", body),
};
static VA_RISEN: Spread = Spread {
    write: |text, body, state| write_acidity("va_risen_g_l", text, body, state),
    say: |body| say_acidity("va_risen_g_l", body),
};

fn write_acidity(key: &str, text: &str, body: &mut Body, state: &State) -> Result<(), String> {
    let figure = written(Analyte::VolatileAcidity, text, state.practice.acid_unit).map_err(|why| format!("{why}."))?;
    body.insert(key.to_owned(), Value::from(figure.value));
    Ok(())
}

fn say_acidity(key: &str, body: &Body) -> String {
    let house = body.get("acid_unit").and_then(|acid| serde_json::from_value(acid.clone()).ok()).flatten();
    let read = Analyte::VolatileAcidity.read_as(house);
    let value = body.get(key).and_then(Value::as_f64);
    value.map_or_else(String::new, |value| format!("{} {}", figure(read.value(value)), read.short_unit()))
}

/// What is set, each by its name. It is only told.
static ALL: Spread = Spread { write: |_, _, _| Ok(()), say: say_all };

fn say_all(body: &Body) -> String {
    let set = |(_, field): (usize, &Field)| {
        let said = field.entry.said_in(field.key, body);
        (!said.is_empty()).then(|| format!("{} {said}", field.name))
    };
    PRACTICE_SET.filled_in().filter_map(set).collect::<Vec<_>>().join(", ")
}

/// What stands for a setting of which nothing was said and that has no usual value.
const NOT_SAID: &str = "not said";

/// A setting as it stands in a cellar.
#[derive(Clone, Debug)]
pub struct Setting<'a> {
    /// Its place in the form of the settings.
    pub at: usize,
    /// Its field there: its name, what it means, what is written in it.
    pub field: &'static Field,
    /// What it is.
    pub value: String,
    /// What it is where nobody said it.
    pub usual: String,
    /// By which fact it was said; none where it stands as it does everywhere.
    pub said: Option<&'a SettingSaid>,
}

/// The settings of a house, in the order of the table.
#[must_use]
pub fn settings(state: &State) -> Vec<Setting<'_>> {
    let body = |practice: &Practice| match serde_json::to_value(practice) {
        Ok(serde_json::Value::Object(body)) => body,
        _ => Body::new(),
    };
    let (now, unset) = (body(&state.practice), Practice::default());
    // A default is told in the unit in which the house reads it.
    let usually = body(&Practice { acid_unit: state.practice.acid_unit, ..unset });
    let unset = body(&unset);
    let said = |field: &Field, body: &Body| {
        let text = field.entry.said_in(field.key, body);
        if text.is_empty() { NOT_SAID.to_owned() } else { text }
    };
    let setting = |(at, field): (usize, &'static Field)| Setting {
        at,
        field,
        value: said(field, &now),
        usual: said(field, if field.key == "acid_unit" { &unset } else { &usually }),
        said: state.settings_said.get(field.key),
    };
    PRACTICE_SET.filled_in().map(setting).collect()
}

/// The place of the setting that a word means, by its name or by that of its field.
pub fn setting_called(word: &str) -> Result<usize, String> {
    let plain = |text: &str| text.to_lowercase().replace(['-', '_'], " ");
    let is_it = |field: &Field| [field.name, field.key].iter().any(|name| plain(name) == plain(word));
    if let Some((at, _)) = PRACTICE_SET.filled_in().find(|(_, field)| is_it(field)) {
        return Ok(at);
    }
    let names: Vec<Label> = PRACTICE_SET.filled_in().filter_map(|(_, field)| Label::new(field.name).ok()).collect();
    let asked = Label::new(word).map_err(|error| error.to_string())?;
    let hint = meant(word, names.iter()).unwrap_or_default();
    Err(format!("There is no setting '{asked}'.{hint} The command settings lists them."))
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
        let practice = serde_json::to_value(Practice::default()).unwrap();
        for (_, field) in PRACTICE_SET.filled_in() {
            assert!(practice.as_object().unwrap().contains_key(field.key), "{}", field.key);
        }
    }

    #[test]
    fn a_setting_is_called_by_its_name_as_people_write_it() {
        let state = State::default();
        for setting in settings(&state) {
            assert_eq!(setting_called(setting.field.name), Ok(setting.at));
            assert_eq!(setting_called(&setting.field.option()), Ok(setting.at));
            assert_eq!(setting_called(setting.field.key), Ok(setting.at));
            assert_eq!((setting.value.as_str(), setting.said), (setting.usual.as_str(), None));
        }
        assert!(setting_called("sulfuring dais").unwrap_err().contains("Did you mean 'sulfuring days'?"));
        assert!(setting_called("").is_err());
    }
}
