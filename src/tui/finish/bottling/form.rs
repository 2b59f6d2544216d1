//! What is written of a bottling, a field a line: what is asked of the plan, and the record of the run as facts.
//!
//! **The record of a run** (`tui/finish/bottling/form.rs`) is text until it is entered, read by the same functions as the command line and
//! tried by `Deed::permitted`, so that a mistake is said while it is written. `Drafts` keeps one a vessel (`Model::kept`), also after it
//! was entered: where undo takes the run back, it is shown again. Bottles that broke or were kept at the line are `bottles_out` of the same
//! act.

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::jobs::bottles::bottling::Bottled;
use crate::cellar::jobs::bottles::bottling::bottles_out::BottlesOut;
use crate::cellar::jobs::bottles::bottling::plan::BottlingAsked;
use crate::cellar::jobs::bottles::bottling::run::Material;
use crate::reckon::bottling::Packing;
use crate::told::usual;
use crate::units::{Volume, VolumeUnit, parse_decimal, parse_percent};

/// The most characters of a field.
pub(super) const FIELD_CHARACTERS: usize = 200;
/// Why bottles went out that broke, or were kept, at the line.
const BROKEN: &str = "broken at the line";
const KEPT: &str = "kept as samples or library stock";

/// A field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // its name and its hint say it
pub enum Field {
    Litres,
    Bottle,
    Expected,
    Case,
    Pallet,
    Spare,
    Run,
    Code,
    Bottles,
    Broken,
    Kept,
    Lost,
    Empties,
    Minutes,
    Fills,
    Oxygen,
    Closure,
    Materials,
    Note,
    Despite,
}

/// How many fields there are.
const FIELDS: usize = 20;

impl Field {
    /// What the plan asks.
    pub const PLAN: [Field; 6] =
        [Field::Litres, Field::Bottle, Field::Expected, Field::Case, Field::Pallet, Field::Spare];
    /// What the record of a run says.
    pub const RUN: [Field; 15] = [
        Field::Run,
        Field::Code,
        Field::Bottle,
        Field::Bottles,
        Field::Broken,
        Field::Kept,
        Field::Lost,
        Field::Empties,
        Field::Minutes,
        Field::Fills,
        Field::Oxygen,
        Field::Closure,
        Field::Materials,
        Field::Note,
        Field::Despite,
    ];

    /// Its name, and what is to be written.
    #[must_use]
    pub const fn words(self) -> (&'static str, &'static str) {
        match self {
            Field::Litres => ("litres", "nothing: all that is there"),
            Field::Bottle => ("bottle", "left and right: the usual sizes"),
            Field::Expected => ("lost, expected", "left and right change it"),
            Field::Case => ("in a case", "bottles"),
            Field::Pallet => ("on a pallet", "cases"),
            Field::Spare => ("spare", "more, for what breaks or jams"),
            Field::Run => ("run", "a new label begins a run"),
            Field::Code => ("lot code", "stands on the bottles"),
            Field::Bottles => ("bottles filled", "those that broke or were kept too"),
            Field::Broken => ("of these broken", "at the line"),
            Field::Kept => ("of these kept", "samples, library"),
            Field::Lost => ("litres lost", "start, stops, filter, end, spills"),
            Field::Empties => ("vessel empty now", "left and right: no, yes"),
            Field::Minutes => ("minutes", "the line ran, without stops"),
            Field::Fills => ("fills measured", "mL of single bottles: 748 751 752"),
            Field::Oxygen => ("oxygen, mg/L", "dissolved in the bottle"),
            Field::Closure => ("closure", "what closes them"),
            Field::Materials => ("used", "with batches: cork: C77, glass: G12"),
            Field::Note => ("stops, words", "2 stops, corker jammed 12 minutes"),
            Field::Despite => ("despite", "why, over open items or a hold"),
        }
    }

    /// Its bit among all fields.
    const fn bit(self) -> u32 {
        1 << self as u32
    }

    /// Whether left and right go through values.
    #[must_use]
    pub const fn has_usual(self) -> bool {
        !self.usual().is_empty()
    }

    /// The values that left and right go through.
    const fn usual(self) -> &'static [&'static str] {
        match self {
            Field::Bottle => &["187 mL", "375 mL", "500 mL", "750 mL", "1 L", "1.5 L", "3 L", "6 L"],
            Field::Expected => &["0%", "0.5%", "1%", "1.5%", "2%", "3%", "5%"],
            Field::Case => &["6", "12", "24"],
            Field::Pallet => &["50", "56", "60", "100"],
            Field::Spare => &["0%", "1%", "2%", "3%", "5%"],
            Field::Empties => &["no", "yes"],
            _ => &[],
        }
    }
}

/// Why a form cannot be taken, and at which field that is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mistake {
    /// The field.
    pub field: Field,
    /// A sentence.
    pub why: String,
}

/// What was done, as the form says it.
#[derive(Clone, Debug, PartialEq)]
pub struct Record {
    /// The bottling, then bottles that are out at once.
    pub whats: Vec<What>,
    /// The bottling itself.
    pub bottled: Bottled,
    /// Words beside it.
    pub note: Option<Text>,
    /// Why it is bottled though a hold or the checklist bars it.
    pub despite: Option<Text>,
}

/// What is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Form {
    texts: [String; FIELDS],
    /// What is proposed, and not written by the person: a bit a field.
    proposed: u32,
}

impl Form {
    /// A form for a new run: the usual plan, and labels that stand on no other run.
    #[must_use]
    pub fn new(run: Option<Label>, code: Option<Label>) -> Form {
        let mut form = Form { texts: std::array::from_fn(|_| String::new()), proposed: 0 };
        let label = |label: Option<Label>| label.map_or_else(String::new, |label| label.to_string());
        let usual = [
            (Field::Bottle, usual::BOTTLE.to_owned()),
            (Field::Expected, usual::BOTTLING_LOSS.to_owned()),
            (Field::Case, usual::CASE.to_string()),
            (Field::Pallet, usual::PALLET.to_string()),
            (Field::Spare, usual::DRY_GOODS_SPARE.to_owned()),
            (Field::Empties, "no".to_owned()),
            (Field::Run, label(run)),
            (Field::Code, label(code)),
        ];
        for (field, text) in usual {
            form.texts[field as usize] = text;
            form.proposed |= field.bit();
        }
        form
    }

    /// The same run once more, after a stop: what it is called and what is used stays, what is counted is written anew.
    #[must_use]
    pub fn going_on(mut self) -> Form {
        for field in [
            Field::Bottles,
            Field::Broken,
            Field::Kept,
            Field::Lost,
            Field::Minutes,
            Field::Fills,
            Field::Oxygen,
            Field::Note,
            Field::Despite,
        ] {
            self.texts[field as usize].clear();
        }
        self
    }

    /// Writes a field.
    pub fn put(&mut self, field: Field, text: &str) {
        self.proposed &= !field.bit();
        text.clone_into(&mut self.texts[field as usize]);
    }

    /// What stands in a field.
    #[must_use]
    pub fn text(&self, field: Field) -> &str {
        &self.texts[field as usize]
    }

    /// What stands in a field, to be written on.
    pub(super) fn text_mut(&mut self, field: Field) -> &mut String {
        &mut self.texts[field as usize]
    }

    /// Whether what stands in a field is only proposed.
    #[must_use]
    pub const fn is_proposed(&self, field: Field) -> bool {
        self.proposed & field.bit() != 0
    }

    /// Something was typed into a field or taken back: what stands there is no proposal.
    pub fn rewritten(&mut self, field: Field) {
        self.proposed &= !field.bit();
    }

    /// Goes to the next usual value of a field, or to the one before; nothing where it has none.
    pub fn turn(&mut self, field: Field, by: isize) {
        let usual = field.usual();
        let text = &mut self.texts[field as usize];
        let count = isize::try_from(usual.len()).unwrap_or(0);
        let at = usual.iter().position(|value| value == text).and_then(|at| isize::try_from(at).ok());
        let next = at.map_or(0, |at| (at + by).rem_euclid(count));
        if let Some(value) = usize::try_from(next).ok().and_then(|next| usual.get(next)) {
            (*value).clone_into(text);
        }
    }

    /// What is asked of the plan.
    pub fn asked(&self) -> Result<BottlingAsked, Mistake> {
        let packing = Packing {
            case: self.count(Field::Case)?.unwrap_or(0),
            pallet: self.count(Field::Pallet)?.unwrap_or(0),
            spare: self.percent(Field::Spare)?,
        };
        Ok(BottlingAsked {
            litres: self.volume(Field::Litres, VolumeUnit::customary())?,
            bottle: self.bottle()?,
            loss: self.percent(Field::Expected)?,
            packing,
        })
    }

    /// What a bottle holds.
    pub fn bottle(&self) -> Result<Volume, Mistake> {
        let missing = || mistake(Field::Bottle, &format!("Say what a bottle holds, for example {}.", usual::BOTTLE));
        self.volume(Field::Bottle, VolumeUnit::Millilitre)?.ok_or_else(missing)
    }

    /// What was done at a vessel.
    pub fn record(&self, vessel: &Label) -> Result<Record, Mistake> {
        let none = || mistake(Field::Bottles, "Say how many bottles were filled, for example 1580.");
        let count = self.count(Field::Bottles)?.ok_or_else(none)?;
        let run = self.label(Field::Run)?.ok_or_else(|| mistake(Field::Run, "Give the run a label."))?;
        let no_code = || mistake(Field::Code, "Give the lot code: the bottles are found again by it.");
        let lot_code = self.label(Field::Code)?.ok_or_else(no_code)?;
        let out = self.out_at_once(&run, &lot_code, count)?;
        let bottled = Bottled {
            vessel: vessel.clone(),
            run,
            bottles: count,
            bottle: self.bottle()?,
            loss: self.volume(Field::Lost, VolumeUnit::customary())?.unwrap_or_default(),
            empties: self.yes(Field::Empties)?,
            lot_code,
            closure: self.label(Field::Closure)?,
            minutes: self.count(Field::Minutes)?,
            fills: self.fills()?,
            oxygen_mg_l: self.number(Field::Oxygen)?,
            materials: self.materials()?,
        };
        let whats = std::iter::once(What::Bottled(Box::new(bottled.clone()))).chain(out).collect();
        Ok(Record { whats, bottled, note: self.words(Field::Note)?, despite: self.words(Field::Despite)? })
    }

    /// The bottles of a run that broke or were kept, out of so many that were filled.
    fn out_at_once(&self, run: &Label, lot_code: &Label, filled: u32) -> Result<Vec<What>, Mistake> {
        let (broken, kept) = (self.count(Field::Broken)?.unwrap_or(0), self.count(Field::Kept)?.unwrap_or(0));
        if broken.saturating_add(kept) > filled {
            let why = format!(
                "{broken} bottles broken and {kept} kept are more than the {filled} that were filled. Check the counts."
            );
            return Err(Mistake { field: if broken > filled { Field::Broken } else { Field::Kept }, why });
        }
        let each = [(Field::Broken, broken, BROKEN), (Field::Kept, kept, KEPT)].into_iter().filter(|it| it.1 > 0);
        each.map(|(field, bottles, why)| {
            let why = Text::new(why).map_err(|error| mistake(field, &error.to_string()))?;
            Ok(What::BottlesOut(Box::new(BottlesOut {
                run: run.clone(),
                lot_code: Some(lot_code.clone()),
                bottles,
                why,
                to: None,
                from: None,
            })))
        })
        .collect()
    }

    /// What is wrong with a field by itself, if anything is.
    pub fn check(&self, field: Field) -> Result<(), Mistake> {
        match field {
            Field::Litres | Field::Lost => self.volume(field, VolumeUnit::customary()).map(drop),
            Field::Bottle => self.bottle().map(drop),
            Field::Expected | Field::Spare => self.percent(field).map(drop),
            Field::Case | Field::Pallet | Field::Bottles | Field::Broken | Field::Kept | Field::Minutes => {
                self.count(field).map(drop)
            }
            Field::Run | Field::Code | Field::Closure => self.label(field).map(drop),
            Field::Empties => self.yes(field).map(drop),
            Field::Fills => self.fills().map(drop),
            Field::Oxygen => self.number(field).map(drop),
            Field::Materials => self.materials().map(drop),
            Field::Note | Field::Despite => self.words(field).map(drop),
        }
    }

    /// What stands in a field without the space around it; none where nothing does.
    fn written(&self, field: Field) -> Option<&str> {
        Some(self.text(field).trim()).filter(|text| !text.is_empty())
    }

    /// Reads a field in some way, where something stands in it.
    fn read<T, E: ToString>(
        &self,
        field: Field,
        read: impl FnOnce(&str) -> Result<T, E>,
    ) -> Result<Option<T>, Mistake> {
        let named = |error: E| mistake(field, &format!("{}: {}", field.words().0, error.to_string()));
        self.written(field).map(read).transpose().map_err(named)
    }

    fn volume(&self, field: Field, unit: VolumeUnit) -> Result<Option<Volume>, Mistake> {
        self.read(field, |text| Volume::parse(text, unit))
    }

    fn count(&self, field: Field) -> Result<Option<u32>, Mistake> {
        self.read(field, |text| {
            text.parse::<u32>().map_err(|_| format!("'{text}' is no whole number. Write it like 1580."))
        })
    }

    /// A percentage, with or without its sign.
    fn percent(&self, field: Field) -> Result<u32, Mistake> {
        let with_sign = |text: &str| if text.ends_with('%') { text.to_owned() } else { format!("{text}%") };
        Ok(self.read(field, |text| parse_percent(&with_sign(text)))?.unwrap_or(0))
    }

    fn number(&self, field: Field) -> Result<Option<f64>, Mistake> {
        self.read(field, parse_decimal)
    }

    fn label(&self, field: Field) -> Result<Option<Label>, Mistake> {
        self.read(field, Label::new)
    }

    fn words(&self, field: Field) -> Result<Option<Text>, Mistake> {
        self.read(field, Text::new)
    }

    fn yes(&self, field: Field) -> Result<bool, Mistake> {
        let read = |text: &str| match text.to_lowercase().as_str() {
            "yes" | "y" => Ok(true),
            "no" | "n" => Ok(false),
            _ => Err(format!("'{text}' is neither yes nor no.")),
        };
        Ok(self.read(field, read)?.unwrap_or(false))
    }

    /// What single bottles held, with spaces or semicolons between them.
    fn fills(&self) -> Result<Option<Vec<Volume>>, Mistake> {
        self.read(Field::Fills, |text| {
            let each = text.split([' ', ';']).filter(|fill| !fill.is_empty());
            each.map(|fill| Volume::parse(fill, VolumeUnit::Millilitre)).collect::<Result<Vec<_>, _>>()
        })
    }

    /// What was used, with commas between, each with its batch behind a colon.
    fn materials(&self) -> Result<Option<Vec<Material>>, Mistake> {
        self.read(Field::Materials, |text| {
            let each = text.split(',').map(str::trim).filter(|one| !one.is_empty());
            each.map(|one| {
                let (material, batch) = one.split_once(':').unwrap_or((one, ""));
                let batch = Some(batch.trim()).filter(|batch| !batch.is_empty()).map(Label::new).transpose()?;
                Ok(Material { material: Label::new(material.trim())?, batch })
            })
            .collect::<Result<Vec<_>, crate::cellar::core::label::TextError>>()
        })
    }
}

fn mistake(field: Field, why: &str) -> Mistake {
    Mistake { field, why: why.to_owned() }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)] // in what the tests share

    use super::*;

    fn filled() -> Form {
        let mut form = Form::new(Label::new("M26").ok(), Label::new("L26330").ok());
        form.put(Field::Bottles, "100");
        form
    }

    fn why(field: Field, text: &str) -> Mistake {
        let mut form = filled();
        form.put(field, text);
        form.record(&Label::new("T1").unwrap()).unwrap_err()
    }

    #[test]
    fn what_is_written_becomes_facts() {
        let mut form = filled();
        for (field, text) in [
            (Field::Broken, "2"),
            (Field::Kept, "6"),
            (Field::Lost, "3.5"),
            (Field::Fills, "748 751; 752.5"),
            (Field::Materials, "cork: C77, glass"),
            (Field::Note, "one stop"),
        ] {
            form.put(field, text);
        }
        let record = form.record(&Label::new("T1").unwrap()).unwrap();
        assert_eq!((record.whats.len(), record.bottled.bottles), (3, 100));
        assert_eq!(record.bottled.loss, Volume::from_ml(3_500));
        assert_eq!(record.bottled.fills.unwrap()[2], Volume::from_ul(752_500));
        let materials: Vec<String> = record.bottled.materials.unwrap().iter().map(Material::words).collect();
        assert_eq!(materials, ["cork C77", "glass"]);
        assert_eq!(record.note.unwrap().as_str(), "one stop");
    }

    #[test]
    fn a_mistake_names_its_field_and_says_what_would_do() {
        for (field, text, part) in [
            (Field::Bottles, "", "Say how many bottles were filled"),
            (Field::Bottles, "some", "'some' is no whole number"),
            (Field::Broken, "101", "more than the 100 that were filled"),
            (Field::Lost, "-3", "less than nothing"),
            (Field::Bottle, "", "Say what a bottle holds"),
            (Field::Empties, "perhaps", "neither yes nor no"),
            (Field::Fills, "748 full", "fills measured: "),
            (Field::Oxygen, "little", "not a number"),
            (Field::Code, "", "Give the lot code"),
            (Field::Run, "", "Give the run a label"),
        ] {
            let found = why(field, text);
            assert_eq!(found.field, field, "{text}");
            assert!(found.why.contains(part) && found.why.ends_with('.'), "{}", found.why);
        }
        assert_eq!(why(Field::Kept, "101").field, Field::Kept);
    }

    #[test]
    fn left_and_right_go_through_the_usual_values_and_round() {
        let mut form = filled();
        form.turn(Field::Bottle, 1);
        assert_eq!(form.text(Field::Bottle), "1 L");
        form.put(Field::Bottle, "6 L");
        form.turn(Field::Bottle, 1);
        assert_eq!(form.text(Field::Bottle), "187 mL");
        form.turn(Field::Run, 1);
        assert_eq!((form.text(Field::Run), Field::Run.has_usual()), ("M26", false));
    }

    /// After a stop the counts are written anew, so that nobody enters them twice.
    #[test]
    fn a_run_that_goes_on_keeps_its_labels_and_no_counts() {
        let form = filled().going_on();
        assert_eq!([Field::Run, Field::Code, Field::Bottles].map(|field| form.text(field)), ["M26", "L26330", ""]);
    }
}
