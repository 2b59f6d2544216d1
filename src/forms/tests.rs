//! The forms of the chapter tests: what is sampled, tested and tasted, what is added, and the words for it.

use serde_json::Value;

use super::entry::{Beside, Body, ByVessel, Entry, Own, Spread, volume};
use super::form::{AtDesk, Field, Form, OnScreen};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;
use crate::cellar::jobs::tests::tasting::Impression;
use crate::cellar::jobs::tests::testing::Analyte;
use crate::import::analytes::{is_acid_open, written};
use crate::reckon::material::Class;
use crate::told::meant::with_hint;
use crate::units::{Mass, SaidAmount, Volume, VolumeUnit, figure, parse_amount, parse_decimal, poured, weighed};

/// The forms of this chapter.
pub(super) const FORMS: &[&Form] =
    &[&SAMPLED, &TESTED, &TASTED, &TREATED, &MARK_DECLARED, &MATERIAL_DECLARED, &ANALYTE_DECLARED];

/// What a material is added for, as the fact has it.
const CLASSES: &[&str] = &["so2", "fining", "acid", "deacidifying", "nutrient", "tannin", "other"];

/// A sample was drawn.
pub static SAMPLED: Form = Form {
    kind: "sampled",
    title: "Draw a sample",
    help: "Books wine that is drawn as a sample. One sample of several vessels is a composite: what is drawn is said of each.",
    also: &["sample", "composite", "draw", "pull", "bottle for the laboratory"],
    says: "{volume_ul} drawn from {vessel} as a sample[, {sample}][: {purpose}]",
    fields: &[
        Field::must("vessel", "vessels", Entry::Vessels, "like 0417, 0420-0425, rack A-03-1, a lot"),
        Field::must("volume_ul", "litres", Entry::Volume, "from each, like 0.75 or 50 mL"),
        Field::may("sample", "sample", Entry::Label, "what stands on its bottle: tests are entered by it"),
        Field::again("purpose", "purpose", Entry::Text, "what it is for"),
    ],
    desk: AtDesk::Command("sample"),
    example: "0167,0168 50 mL --sample S-901 --purpose 'free SO2'",
    screen: OnScreen::Form,
};

/// What was found in a vessel, a sample or a lot.
pub static TESTED: Form = Form {
    kind: "tested",
    title: "Enter a test",
    help: "Keeps what a laboratory or your own bench found.",
    also: &["test", "analysis", "laboratory", "result"],
    says: "[{vessel}][lot {lot}][sample {sample}] tested: {found}[ by {lab}]",
    fields: &[
        Field::may("vessel", "vessel", Entry::Vessel, "the vessel, or a sample, or a lot"),
        Field::may("sample", "sample", Entry::Label, "a sample that was drawn"),
        Field::may("lot", "lot", Entry::Lot, "a lot, of which a composite was tested"),
        Field::may("ph", "pH", Entry::Number, "like 3.52"),
        Field::may("free_so2_mg_l", "free SO2", Entry::Number, "mg/L"),
        Field::may("total_so2_mg_l", "total SO2", Entry::Number, "mg/L"),
        Field::may("ta_g_l", "titratable", Entry::Own(&TITRATABLE), "in the unit of the house, or like 3.5 H2SO4"),
        Field::may("va_g_l", "volatile", Entry::Own(&VOLATILE), "in the unit of the house, or like 0.35 H2SO4"),
        Field::may("alcohol_pct", "alcohol", Entry::Number, "% vol"),
        Field::may("malic_g_l", "malic acid", Entry::Number, "g/L"),
        Field::may("lactic_g_l", "lactic acid", Entry::Number, "g/L"),
        Field::may("tartaric_g_l", "tartaric acid", Entry::Number, "g/L"),
        Field::may("potassium_mg_l", "potassium", Entry::Number, "mg/L"),
        Field::may("sugar_g_l", "sugar", Entry::Number, "g/L"),
        Field::may("turbidity_ntu", "turbidity", Entry::Number, "NTU"),
        Field::may("oxygen_mg_l", "oxygen", Entry::Number, "mg/L, dissolved"),
        Field::may("temperature_c", "temperature", Entry::Number, "°C"),
        Field::may("values", "others", Entry::Own(&VALUES), "like 4-ethylphenol=430, 4-ethylguaiacol=60"),
        Field::may("lab", "laboratory", Entry::Text, "who found it"),
        Field::told("found", "found", Entry::Spread(&FOUND)),
    ],
    desk: AtDesk::Elsewhere("test"),
    example: "",
    screen: OnScreen::Elsewhere("the page Laboratory tests"),
};

/// A vessel was tasted.
pub static TASTED: Form = Form {
    kind: "tasted",
    title: "Write a taste",
    help: "Keeps a taste: a score from 0 to 20 if there is one, then descriptors and faults or their keys, then your own words.",
    also: &["taste", "tasting note", "score"],
    says: "{vessel} tasted: {taste}",
    fields: &[
        Field::must("vessel", "vessel", Entry::Vessel, "a vessel that holds wine"),
        Field::must("taste", "words", Entry::Spread(&TASTE), "like 14.5 pl ta, a little closed"),
    ],
    desk: AtDesk::Command("taste"),
    example: "0167 '14.5 pl ta, a little closed'",
    screen: OnScreen::Elsewhere("t on the floor"),
};

/// Something was added to a wine.
pub static TREATED: Form = Form {
    kind: "treated",
    title: "Add something to a wine",
    help: "Books an addition: sulfur dioxide, an acid, a nutrient, a tannin, anything else. An amount goes into each vessel; a dose is of the litres that each holds.",
    also: &["add", "addition", "treat", "sulfite", "acid", "nutrient", "tannin", "SO2", "KMBS"],
    says: "{amount_ug} of {material} added to {vessel}[, in {solution_ul}][, batch {batch}][: {purpose}]",
    fields: &[
        Field::must("vessel", "vessels", Entry::Vessels, "like 0417, 0420-0425, rack A-03-1, a lot"),
        Field::must("amount_ug", "amount", Entry::ByVessel(&AMOUNT), "to each, like 7.8 g, 30 g/hL, 25 mL/hL"),
        Field::must("material", "material", Entry::Label, "like KMBS, tartaric acid"),
        Field::may("solution_ul", "solution", Entry::Spread(&SOLUTION), "the volume that comes with it, to each"),
        Field::again("purpose", "purpose", Entry::Text, "what it is for"),
        Field::again("batch", "batch", Entry::Label, "the maker's mark of the batch"),
        Field::may("again", "again", Entry::YesNo, "on purpose besides what it was given already"),
        Field::may(
            "is",
            "is",
            Entry::Beside(&MATERIAL_IS),
            "where nobody knows it: so2 57.6, fining, acid, nutrient …",
        ),
    ],
    desk: AtDesk::Command("add"),
    example: "0167,0168 5 g KMBS --purpose 'after racking'",
    screen: OnScreen::Form,
};

/// A word for tastes, of this house.
pub static MARK_DECLARED: Form = Form {
    kind: "mark_declared",
    title: "A word for tastes",
    help: "Says that a word is a descriptor or a fault in this house, and by which key it is typed.",
    also: &["descriptor", "fault", "mark", "vocabulary", "tasting word"],
    says: "{mark} is a word for tastes[{fault=yes:, a fault}][{fault=no:, no fault}][, typed {key}][; {warns}]",
    fields: &[
        Field::must("mark", "word", Entry::Label, "like struck match"),
        Field::may("fault", "fault", Entry::YesNo, "yes where it should not be in a wine"),
        Field::may("key", "key", Entry::Label, "one to four letters, typed for it"),
        Field::may("warns", "warns", Entry::Text, "from when on it is noticed here, shown while it is typed"),
    ],
    desk: AtDesk::Command("declare mark"),
    example: "'struck match' --fault yes --key mt",
    screen: OnScreen::Form,
};

/// What a material is, in this house.
pub static MATERIAL_DECLARED: Form = Form {
    kind: "material_declared",
    title: "What a material is",
    help: "Says what a material of this house is: another word for a known one, or what it is added for.",
    also: &["material", "product", "additive", "KMBS", "synonym", "spelling"],
    says: "{material}[ is another word for {same_as}][: {class}][, {so2_pct} % sulfur dioxide]",
    fields: &[
        Field::must("material", "material", Entry::Label, "the word as it is written in the cellar"),
        Field::may("same_as", "same as", Entry::Label, "the material that it is another word for"),
        Field::may("class", "class", Entry::Choice(CLASSES), "else what it is added for"),
        Field::may("so2_pct", "so2 pct", Entry::Number, "% of its mass that is sulfur dioxide, as its label says"),
    ],
    desk: AtDesk::Elsewhere("declare material"),
    example: "",
    screen: OnScreen::Form,
};

/// Something that this house has its wines tested for.
pub static ANALYTE_DECLARED: Form = Form {
    kind: "analyte_declared",
    title: "What this house has tested",
    help: "Names something that this house has its wines tested for besides what every laboratory reports. Said again it counts as said last, whole.",
    also: &["analyte", "laboratory", "4-ethylphenol", "alarm", "limit"],
    says: "{analyte} is given in {unit}[, at least {low} wanted][, at most {high} wanted][, suspect above {warn}]",
    fields: &[
        Field::must("analyte", "name", Entry::Label, "like 4-ethylphenol"),
        Field::must("unit", "unit", Entry::Label, "in which the laboratory gives it, like µg/L"),
        Field::may("low", "low", Entry::Number, "the least that is wanted"),
        Field::may("high", "high", Entry::Number, "the most that is wanted"),
        Field::may("warn", "warn", Entry::Number, "a wine of more is suspect"),
    ],
    desk: AtDesk::Elsewhere("declare analyte"),
    example: "",
    screen: OnScreen::Form,
};

/// A taste in a line, as it is written on the floor.
pub(super) static TASTE: Spread = Spread { write: write_taste, say: say_taste };

fn write_taste(text: &str, body: &mut Body, state: &State) -> Result<(), String> {
    let said = Impression::read(text, state).map_err(|error| error.to_string())?;
    let marks: Vec<&str> = said.marks.iter().map(Label::as_str).collect();
    let fields = [
        ("score", said.score.map(Value::from)),
        ("marks", (!marks.is_empty()).then(|| Value::from(marks))),
        ("text", said.text.as_ref().map(|text| Value::from(text.as_str()))),
    ];
    for (key, value) in fields {
        match value {
            Some(value) => drop(body.insert(key.to_owned(), value)),
            None => drop(body.remove(key)),
        }
    }
    Ok(())
}

fn say_taste(body: &Body) -> String {
    let score = body.get("score").and_then(Value::as_f64).map(figure);
    let marks = body.get("marks").and_then(Value::as_array).into_iter().flatten();
    let marks = marks.filter_map(Value::as_str).map(ToOwned::to_owned);
    let text = body.get("text").and_then(Value::as_str).map(ToOwned::to_owned);
    score.into_iter().chain(marks).chain(text).collect::<Vec<_>>().join(", ")
}

/// Beside the fields of a test whoever tells it lays in which unit the house reads acidities.
pub(super) const ACID_UNIT: &str = "acid_unit";

/// Acidities as they are written: in the unit of the house, or with their own behind them.
static TITRATABLE: Own = Own {
    read: |text, state| read_acidity(Analyte::TitratableAcidity, text, state),
    say: |value| say_acidity(Analyte::TitratableAcidity, value),
};
static VOLATILE: Own = Own {
    read: |text, state| read_acidity(Analyte::VolatileAcidity, text, state),
    say: |value| say_acidity(Analyte::VolatileAcidity, value),
};

fn read_acidity(analyte: Analyte, text: &str, state: &State) -> Result<Value, String> {
    let figure = written(analyte, text, state.practice.acid_unit).map_err(|why| format!("{why}."))?;
    if is_acid_open(analyte, text, state.practice.acid_unit) {
        return Err(Question::WhichAcid { analyte }.to_string());
    }
    Ok(Value::from(figure.value))
}

fn say_acidity(analyte: Analyte, value: &Value) -> String {
    let unit = analyte.read_as(None).short_unit();
    value.as_f64().map_or_else(String::new, |value| format!("{} {unit}", figure(value)))
}

/// What a test found, in a row: `pH 3.52, free SO2 24 mg/L`. It is only told.
static FOUND: Spread = Spread { write: |_, _, _| Ok(()), say: say_found };

fn say_found(body: &Body) -> String {
    let house = body.get(ACID_UNIT).and_then(|acid| serde_json::from_value(acid.clone()).ok());
    let of_trade = Analyte::ALL.into_iter().filter_map(|analyte| {
        let (found, read) = (body.get(analyte.field())?.as_f64()?, analyte.read_as(house));
        Some(format!("{} {}", analyte.name(), read.with_unit(figure(read.value(found)))))
    });
    let of_house = body.get("values").map(say_values).filter(|values| !values.is_empty());
    of_trade.chain(of_house).collect::<Vec<_>>().join(", ")
}

/// What was found of things that the house declares: `4-ethylphenol=430, 4-ethylguaiacol=60`.
static VALUES: Own = Own { read: |text, _| read_values(text), say: say_values };

fn read_values(text: &str) -> Result<Value, String> {
    let mut values = Body::new();
    for part in text.split([',', ';']).map(str::trim).filter(|part| !part.is_empty()) {
        let written = part.split_once('=').and_then(|(name, number)| Some((name, parse_decimal(number.trim()).ok()?)));
        let (name, number) = written.ok_or_else(|| format!("'{part}' is not understood. Write 4-ethylphenol=430."))?;
        values.insert(Label::new(name.trim()).map_err(|error| error.to_string())?.to_string(), Value::from(number));
    }
    Ok(Value::Object(values))
}

fn say_values(value: &Value) -> String {
    let said =
        |(name, number): (&String, &Value)| format!("{name}={}", number.as_f64().map_or_else(String::new, figure));
    value.as_object().into_iter().flatten().map(said).collect::<Vec<_>>().join(", ")
}

/// How much each vessel is given: an amount, or a dose of the wine that it holds.
static AMOUNT: ByVessel = ByVessel { is_one: |text| parse_amount(text).is_ok(), write: write_amount, say: say_amount };

/// An amount and a volume of a liquid that came by itself.
fn given(body: &Body) -> (Mass, Volume) {
    let whole = |key: &str| body.get(key).and_then(Value::as_u64).unwrap_or_default();
    (Mass::from_ug(whole("amount_ug")), Volume::from_ul(whole("solution_ul")))
}

fn write_amount(text: &str, body: &mut Body, state: Option<&State>) -> Result<(), String> {
    let (was, solution) = given(body);
    let (amount, liquid) = match parse_amount(text).map_err(|error| error.to_string())? {
        SaidAmount::Mass(mass) => (mass, None),
        SaidAmount::Volume(volume) => (Mass::ZERO, Some(volume)),
        SaidAmount::GramsALitre(grams) => (Mass::nearest_to_grams(grams * litres_there(body, state)?), None),
        SaidAmount::LitresALitre(share) => {
            (Mass::ZERO, Some(Volume::nearest_to_litres(share * litres_there(body, state)?)))
        }
    };
    if liquid.is_some() && state.is_some() && !solution.is_zero() {
        return Err(
            "The amount is a volume already: leave the solution out, or write the weight that is in it.".to_owned()
        );
    }
    // What was measured by its volume is now weighed.
    let volume = liquid.unwrap_or(if state.is_none() && was.is_zero() { Volume::ZERO } else { solution });
    body.insert("amount_ug".to_owned(), Value::from(amount.as_ug()));
    if volume.is_zero() {
        body.shift_remove("solution_ul");
    } else {
        body.insert("solution_ul".to_owned(), Value::from(volume.as_ul()));
    }
    Ok(())
}

/// The wine that a dose goes into.
fn litres_there(body: &Body, state: Option<&State>) -> Result<f64, String> {
    let state = state
        .ok_or("What was given is corrected by its amount, like 7.8 g: what the vessel held then is not looked up.")?;
    let label = Label::new(body.get("vessel").and_then(Value::as_str).unwrap_or_default());
    let id = label
        .map_err(|error| error.to_string())
        .and_then(|label| state.vessel(&label).map_err(|refusal| with_hint(&refusal, state)))?;
    let vessel = state.vessels.get(id);
    if vessel.wine.is_empty() {
        Err(Refusal::SourceEmpty(vessel.label.clone()).to_string())
    } else {
        Ok(vessel.volume().as_litres())
    }
}

fn say_amount(body: &Body) -> String {
    match given(body) {
        (amount, solution) if amount.is_zero() && !solution.is_zero() => poured(solution),
        (amount, _) => weighed(amount),
    }
}

/// The volume that comes with what is weighed; of what was measured by its volume alone that is the amount.
static SOLUTION: Spread = Spread {
    write: |text, body, _| {
        body.insert("solution_ul".to_owned(), volume(text, VolumeUnit::customary())?);
        Ok(())
    },
    say: |body| match given(body) {
        (amount, solution) if !amount.is_zero() && !solution.is_zero() => poured(solution),
        _ => String::new(),
    },
};

/// What a material is that nobody knows yet: a fact of its own in the same act, before the addition.
static MATERIAL_IS: Beside = Beside { read: material_is };

/// Reads `fining`, `so2 57.6`: a class, and behind it the sulfur dioxide that the material gives, % of its mass.
fn material_is(text: &str, body: &Body, state: &State) -> Result<Option<What>, String> {
    let (word, number) = text.split_once(' ').unwrap_or((text, ""));
    let is_it = |class: &Class| class.word() == word.to_lowercase();
    let class = Class::ALL.into_iter().find(is_it).ok_or_else(|| {
        let words: Vec<&str> = Class::ALL.iter().map(|class| class.word()).collect();
        format!("'{word}' says nothing that a material is. Write one of {}.", words.join(", "))
    })?;
    let number = number.trim().trim_end_matches('%').trim_end();
    let so2_pct =
        if number.is_empty() { None } else { Some(parse_decimal(number).map_err(|error| error.to_string())?) };
    let Some(material) = body.get("material").and_then(Value::as_str) else { return Ok(None) };
    let material = Label::new(material).map_err(|error| error.to_string())?;
    let declared = state.material_answer(&material, class, so2_pct).map_err(|refusal| refusal.to_string())?;
    Ok(declared.map(|fact| What::MaterialDeclared(Box::new(fact))))
}
