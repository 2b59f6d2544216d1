//! Sulfur dioxide from the desk: the molecular share, the free that a target asks for, a dose, and what the law allows.

use crate::cli::arguments::{
    DoseArguments, FormWord, FreeArguments, LimitsArguments, MolecularArguments, WineArguments,
};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::reckon::limits::{Judgement, Limit, NoValue, limits};
use crate::reckon::material;
use crate::reckon::sulfur::{
    Addition, Balance, Form, Labelled, Material, Model, Solution, SulfurError, Tablets, USUAL_BOUND_SHARE, Wine,
    checked_pair,
};
use crate::told::hazard::{Caution, Hazard};
use crate::told::tests::for_information;
use crate::units::{Mass, Volume};

impl From<SulfurError> for Complaint {
    fn from(error: SulfurError) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

impl From<NoValue> for Complaint {
    fn from(error: NoValue) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

/// Reckons what of the free is molecular.
pub fn molecular(asked: &MolecularArguments, page: &mut Page<'_>) -> Outcome {
    checked_pair(Some(asked.free), asked.total)?;
    let balance = asked.wine.balance()?;
    Balanced { wine: &asked.wine, balance, free: asked.free, molecular: balance.molecular_mg_l(asked.free)? }
        .write(page)
}

/// Reckons the free that a molecular target asks for.
pub fn free(asked: &FreeArguments, page: &mut Page<'_>) -> Outcome {
    let balance = asked.wine.balance()?;
    let free = balance.free_mg_l(asked.molecular)?;
    Balanced { wine: &asked.wine, balance, free, molecular: asked.molecular }.write(page)
}

/// Reckons how much to add.
pub fn dose(asked: &DoseArguments, page: &mut Page<'_>) -> Outcome {
    let bound = asked.bound.unwrap_or(USUAL_BOUND_SHARE);
    let addition = match (asked.rise, asked.total_rise) {
        (_, Some(total)) => Addition::raising_total(asked.volume, total, bound),
        (rise, None) => Addition::raising_free(asked.volume, rise.unwrap_or_default(), bound),
    }?;
    let given = Given::of(asked, &addition)?;
    let form = given.form;
    let addition = match given.gives {
        Some(sulfur_dioxide) => Addition::of(sulfur_dioxide, asked.volume, bound)?,
        None => addition,
    };
    let dosed = Dosed { volume: asked.volume, addition, given };
    if page.is_for_people() {
        page.caution(&caution(form))?;
    }
    page.card(&DOSE, &dosed, |page| {
        let bound = "What is bound at once differs from wine to wine: stir it in, and test before and some days after.";
        let upper = "Of burnt sulfur this is the least: not all of it reaches the wine.";
        if form == Some(Form::Powder) {
            powder_words().iter().try_for_each(|words| below(page, words))?;
        }
        let words = [(form == Some(Form::Sulfur)).then_some(upper), Some(bound)];
        words.into_iter().flatten().try_for_each(|words| below(page, words))
    })
}

/// What can hurt somebody who gives it so.
fn caution(form: Option<Form>) -> Caution {
    let burns: &[Hazard] = if form == Some(Form::Sulfur) { &[Hazard::BurningSulfur] } else { &[] };
    Caution::of(&[burns, &[Hazard::SulfurDioxide]].concat())
}

/// Gives out what the law allows, and judges what is said of a wine.
pub fn allowed(asked: &LimitsArguments, page: &mut Page<'_>) -> Outcome {
    if let Some(sugar) = asked.sugar.filter(|sugar| *sugar < 0.0) {
        return Err(Complaint::Refused(format!("Sugar of {sugar} g/L cannot be. Give g/L from 0.")));
    }
    let limits = limits(asked.rules.into(), asked.colour.into(), asked.sugar);
    let rows = [
        Judged::of(limits.volatile_acidity, asked.volatile_acidity)?,
        Judged::of(limits.total_sulfur_dioxide, asked.total)?,
    ];
    page.list(&LIMIT, &rows, "")?;
    if page.is_for_people() { below(page, &for_information()) } else { Ok(()) }
}

fn form(word: Option<FormWord>, strength: Option<f64>) -> Outcome<Form> {
    let default = if strength.is_some() { FormWord::Solution } else { FormWord::Powder };
    Ok(match (word.unwrap_or(default), strength) {
        (FormWord::Solution, None) => Form::Solution(Solution::USUAL),
        (FormWord::Solution, Some(percent)) => Form::Solution(Solution::new(percent)?),
        (_, Some(_)) => {
            let sentence = "Only a solution has a strength. Leave --strength away, or say --as solution.";
            return Err(Complaint::Refused(sentence.to_owned()));
        }
        (FormWord::Powder, None) => Form::Powder,
        (FormWord::Gas, None) => Form::Gas,
        (FormWord::Sulfur, None) => Form::Sulfur,
        (FormWord::Acid | FormWord::Bisulfite | FormWord::Tablets, None) => {
            return Err(Complaint::Refused("It goes by its label. Give --label, or --tablet of tablets.".to_owned()));
        }
    })
}

/// That old powder gives less, and how little.
fn powder_words() -> Option<String> {
    let (least, most) = material::named(Material::Metabisulfite.word())?.known.so2_span_pct()?;
    Some(format!(
        "Old powder gives less: {least} to {most} % of its mass is sulfur dioxide. The grams are for {most} %."
    ))
}

impl Given {
    /// What is given for an addition, in the form that was asked for.
    fn of(asked: &DoseArguments, addition: &Addition) -> Outcome<Given> {
        let nothing = |what: &str, of: &str| Complaint::Refused(format!("Only {of} goes by {what}. Leave it away."));
        let (label, tablet) = (asked.label, asked.tablet);
        match asked.form {
            Some(FormWord::Tablets) if label.is_none() && asked.strength.is_none() => {
                let grams = tablet.ok_or_else(|| {
                    Complaint::Refused(
                        "How much does a tablet give? Say --tablet 2 or --tablet 5, as its label has it.".to_owned(),
                    )
                })?;
                let tablets = Tablets::new(grams)?;
                let count = tablets.nearest(addition.sulfur_dioxide());
                let amount = tablets.give(count);
                Ok(Given {
                    tablets: Some(count),
                    gives: Some(amount),
                    ..Given::by_label("tablets", "sulfur dioxide tablets", amount)
                })
            }
            Some(word @ (FormWord::Acid | FormWord::Bisulfite)) if tablet.is_none() && asked.strength.is_none() => {
                let usual = (word == FormWord::Acid).then_some(SULFUROUS_ACID_G_L);
                let g_l = label.or(usual).ok_or_else(|| {
                    let sentence = "How much sulfur dioxide is in a litre of it? Say --label 150, as its label has it.";
                    Complaint::Refused(sentence.to_owned())
                })?;
                let labelled = Labelled::new(g_l)?;
                let (form, material) = match word {
                    FormWord::Acid => ("acid", "sulfur dioxide solution"),
                    _ => ("bisulfite", "sulfite solution"),
                };
                let amount = addition.sulfur_dioxide();
                let solution = Some(labelled.volume_of(amount));
                Ok(Given { label_g_l: Some(g_l), solution, ..Given::by_label(form, material, amount) })
            }
            _ if label.is_some() => Err(nothing("--label", "sulfurous acid or bisulfite")),
            _ if tablet.is_some() => Err(nothing("--tablet", "--as tablets")),
            word => {
                let form = form(word, asked.strength)?;
                let dose = addition.given_as(form);
                Ok(Given {
                    strength_pct: strength_pct(form),
                    solution: dose.solution,
                    form: Some(form),
                    ..Given::by_label(form.word(), form.material().word(), dose.amount)
                })
            }
        }
    }

    const fn by_label(word: &'static str, material: &'static str, amount: Mass) -> Given {
        Given {
            word,
            material,
            form: None,
            strength_pct: None,
            label_g_l: None,
            tablets: None,
            amount,
            solution: None,
            gives: None,
        }
    }
}

impl WineArguments {
    fn balance(&self) -> Result<Balance, SulfurError> {
        let wine = Wine { ph: self.ph, alcohol_pct: self.alcohol, temperature_c: self.temperature };
        Balance::new(Model::from(self.model), wine)
    }
}

/// Free and molecular sulfur dioxide of a wine, by one model.
struct Balanced<'a> {
    wine: &'a WineArguments,
    balance: Balance,
    free: f64,
    molecular: f64,
}

impl Balanced<'_> {
    fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.card(&balance_columns(), self, |_| Ok(()))
    }
}

fn balance_columns<'a>() -> [Column<Balanced<'a>>; 9] {
    [
        Column::both("model", "model", |it: &Balanced<'_>| Cell::Word(it.balance.model().word().to_owned())),
        Column::both("ph", "pH", |it| it.wine.ph.into()),
        Column::both("alcohol_pct", "alcohol %", |it| it.wine.alcohol.into()),
        Column::both("temperature_c", "°C", |it| it.wine.temperature.into()),
        Column::both("pk", "pK", |it| rounded(it.balance.constant(), 3).into()),
        Column::both("free_so2_mg_l", "free SO2", |it| rounded(it.free, 1).into()),
        Column::both("molecular_pct", "molecular %", |it| rounded(it.balance.share() * 100.0, 2).into()),
        Column::both("molecular_so2_mg_l", "molecular SO2", |it| rounded(it.molecular, 3).into()),
        Column::both("note", "note", |it| it.balance.beyond().map(|beyond| beyond.to_string()).into()),
    ]
}

/// A dose.
struct Dosed {
    volume: Volume,
    addition: Addition,
    given: Given,
}

/// What is weighed, measured or counted for a dose.
struct Given {
    word: &'static str,
    material: &'static str,
    /// Where it does not go by a label.
    form: Option<Form>,
    strength_pct: Option<f64>,
    label_g_l: Option<f64>,
    tablets: Option<u32>,
    /// Of the material; of what goes by its label, of sulfur dioxide.
    amount: Mass,
    solution: Option<Volume>,
    /// The sulfur dioxide that it gives, where that is not just what was asked for.
    gives: Option<Mass>,
}

/// Sulfurous acid of 5 %.
const SULFUROUS_ACID_G_L: f64 = 50.0;

const DOSE: [Column<Dosed>; 13] = [
    Column::both("volume_ul", "litres", |it: &Dosed| Cell::Fine(it.volume)),
    Column::both("form", "as", |it| Cell::Word(it.given.word.to_owned())),
    Column::both("material", "material", |it| Cell::Word(it.given.material.to_owned())),
    Column::both("strength_pct", "strength %", |it| it.given.strength_pct.into()),
    Column::both("label_g_l", "label g/L", |it: &Dosed| it.given.label_g_l.into()).sparse(),
    Column::both("tablets", "tablets", |it: &Dosed| it.given.tablets.map(u64::from).into()).sparse(),
    Column::both("amount_ug", "grams", |it| it.given.amount.into()),
    Column::both("solution_ul", "mL", |it| it.given.solution.map_or(Cell::Nothing, Cell::Measured)),
    Column::both("sulfur_dioxide_ug", "grams of SO2", |it| it.addition.sulfur_dioxide().into()),
    Column::both("total_rise_mg_l", "total rises", |it| rounded(it.addition.total_rise_mg_l(), 1).into()),
    Column::both("bound_pct", "bound %", |it| rounded(it.addition.bound_share() * 100.0, 1).into()),
    Column::both("free_rise_mg_l", "free rises", |it| rounded(it.addition.free_rise_mg_l(), 1).into()),
    Column::within("caution", |it| caution(it.given.form).words().into()),
];

/// The strength of a solution, % of weight in volume; none of what is none.
pub(in crate::cli) const fn strength_pct(form: Form) -> Option<f64> {
    match form {
        Form::Solution(solution) => Some(solution.percent()),
        Form::Gas | Form::Powder | Form::Sulfur => None,
    }
}

/// A limit, and how a wine stands to it.
struct Judged {
    limit: Limit,
    value: Option<f64>,
    judgement: Option<Judgement>,
}

impl Judged {
    fn of(limit: Limit, value: Option<f64>) -> Outcome<Judged> {
        Ok(Judged { limit, value, judgement: value.map(|value| limit.judge(value)).transpose()? })
    }
}

const LIMIT: [Column<Judged>; 7] = [
    Column::both("subject", "limited", |it: &Judged| Cell::Word(it.limit.subject.word().to_owned())),
    Column::both("most", "most", |it| rounded(it.limit.most, 3).into()),
    Column::both("amber_from", "amber from", |it| rounded(it.limit.amber_from(), 3).into()),
    Column::both("unit", "unit", |it| Cell::Word(it.limit.subject.unit().to_owned())),
    Column::both("value", "wine", |it: &Judged| it.value.into()).sparse(),
    Column::both("judgement", "judged", |it: &Judged| it.judgement.map(Judgement::word).into()).sparse(),
    Column::both("section", "section", |it| Cell::Word(it.limit.section.to_owned())),
];
