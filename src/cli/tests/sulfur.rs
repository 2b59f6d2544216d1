//! Sulfur dioxide from the desk: the molecular share, the free that a target asks for, a dose, and what the law allows.

use serde::Serialize;

use crate::cli::arguments::{
    DoseArguments, FormWord, FreeArguments, LimitsArguments, MolecularArguments, WineArguments,
};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::text_table::wrapped;
use crate::reckon::limits::{Judgement, Limit, NoValue, limits};
use crate::reckon::sulfur::{
    Addition, Balance, CAUTION, Form, Model, Solution, SulfurError, USUAL_BOUND_SHARE, Wine, checked_pair,
};
use crate::units::{Mass, Volume};

/// How wide words below a table run, in characters.
pub(in crate::cli) const WORDS_COLUMNS: usize = 78;

/// What stands below limits.
pub(in crate::cli) const FOR_INFORMATION: &str = "For information, of still wine: laws change, and sweet, sparkling, fortified and organic \
     wines have other limits. Amber from 80 % of a limit (common practice).";

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
    BalanceView::of(&asked.wine, &balance, asked.free, balance.molecular_mg_l(asked.free)?).write(page)
}

/// Reckons the free that a molecular target asks for.
pub fn free(asked: &FreeArguments, page: &mut Page<'_>) -> Outcome {
    let balance = asked.wine.balance()?;
    BalanceView::of(&asked.wine, &balance, balance.free_mg_l(asked.molecular)?, asked.molecular).write(page)
}

/// Reckons how much to add.
pub fn dose(asked: &DoseArguments, page: &mut Page<'_>) -> Outcome {
    let bound = asked.bound.unwrap_or(USUAL_BOUND_SHARE);
    let addition = match (asked.rise, asked.total_rise) {
        (_, Some(total)) => Addition::raising_total(asked.volume, total, bound),
        (rise, None) => Addition::raising_free(asked.volume, rise.unwrap_or_default(), bound),
    }?;
    let view = DoseView::of(asked.volume, &addition, form(asked.form, asked.strength)?);
    page.card(&DoseView::COLUMNS, &view, |page| {
        let bound = "What is bound at once differs from wine to wine: stir it in, and test before and some days after.";
        let upper = "Of burnt sulfur this is the least: not all of it reaches the wine.";
        let words = [(view.form == "sulfur").then_some(upper), Some(bound), Some(view.caution)];
        words.into_iter().flatten().try_for_each(|words| below(page, words))
    })
}

/// Gives out what the law allows, and judges what is said of a wine.
pub fn allowed(asked: &LimitsArguments, page: &mut Page<'_>) -> Outcome {
    if let Some(sugar) = asked.sugar.filter(|sugar| *sugar < 0.0) {
        return Err(Complaint::Refused(format!("Sugar of {sugar} g/L cannot be. Give g/L from 0.")));
    }
    let limits = limits(asked.rules.into(), asked.colour.into(), asked.sugar);
    let rows = [
        LimitView::of(&limits.volatile_acidity, asked.volatile_acidity)?,
        LimitView::of(&limits.total_sulfur_dioxide, asked.total)?,
    ];
    page.report(&rows, &LimitView::COLUMNS, &rows, |page| {
        page.table(&LimitView::COLUMNS, &rows)?;
        below(page, FOR_INFORMATION)
    })
}

/// Words for people below what was reckoned.
pub(in crate::cli) fn below(page: &mut Page<'_>, words: &str) -> Outcome {
    page.line("")?;
    wrapped(words, WORDS_COLUMNS).iter().try_for_each(|line| page.line(line))
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
    })
}

/// To as many decimals as can be meant.
pub(in crate::cli) fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    // Nought has no sign.
    (value * scale).round() / scale + 0.0
}

impl WineArguments {
    fn balance(&self) -> Result<Balance, SulfurError> {
        let wine = Wine { ph: self.ph, alcohol_pct: self.alcohol, temperature_c: self.temperature };
        Balance::new(Model::from(self.model), wine)
    }
}

/// Free and molecular sulfur dioxide of a wine, by one model.
#[derive(Debug, Serialize)]
struct BalanceView {
    model: &'static str,
    ph: f64,
    alcohol_pct: Option<f64>,
    temperature_c: Option<f64>,
    pk: f64,
    free_so2_mg_l: f64,
    molecular_pct: f64,
    molecular_so2_mg_l: f64,
    note: Option<String>,
}

impl BalanceView {
    fn of(wine: &WineArguments, balance: &Balance, free: f64, molecular: f64) -> BalanceView {
        BalanceView {
            model: balance.model().word(),
            ph: wine.ph,
            alcohol_pct: wine.alcohol,
            temperature_c: wine.temperature,
            pk: rounded(balance.constant(), 3),
            free_so2_mg_l: rounded(free, 1),
            molecular_pct: rounded(balance.share() * 100.0, 2),
            molecular_so2_mg_l: rounded(molecular, 3),
            note: balance.beyond().map(|beyond| beyond.to_string()),
        }
    }

    const COLUMNS: [Column<BalanceView>; 9] = [
        Column::both("model", "model", |it: &BalanceView| Cell::Word(it.model.to_owned())),
        Column::both("ph", "pH", |it| it.ph.into()),
        Column::both("alcohol_pct", "alcohol %", |it| it.alcohol_pct.into()),
        Column::both("temperature_c", "°C", |it| it.temperature_c.into()),
        Column::both("pk", "pK", |it| it.pk.into()),
        Column::both("free_so2_mg_l", "free SO2", |it| it.free_so2_mg_l.into()),
        Column::both("molecular_pct", "molecular %", |it| it.molecular_pct.into()),
        Column::both("molecular_so2_mg_l", "molecular SO2", |it| it.molecular_so2_mg_l.into()),
        Column::both("note", "note", |it| it.note.as_ref().into()),
    ];

    fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.card(&Self::COLUMNS, self, |_| Ok(()))
    }
}

/// A dose.
#[derive(Debug, Serialize)]
struct DoseView {
    volume_ul: Volume,
    form: &'static str,
    material: &'static str,
    strength_pct: Option<f64>,
    amount_ug: Mass,
    solution_ul: Option<Volume>,
    sulfur_dioxide_ug: Mass,
    total_rise_mg_l: f64,
    bound_pct: f64,
    free_rise_mg_l: f64,
    caution: &'static str,
}

impl DoseView {
    fn of(volume: Volume, addition: &Addition, form: Form) -> DoseView {
        let dose = addition.given_as(form);
        let strength_pct = match form {
            Form::Solution(solution) => Some(solution.percent()),
            Form::Gas | Form::Powder | Form::Sulfur => None,
        };
        DoseView {
            volume_ul: volume,
            form: form.word(),
            material: form.material().word(),
            strength_pct,
            amount_ug: dose.amount,
            solution_ul: dose.solution,
            sulfur_dioxide_ug: addition.sulfur_dioxide(),
            total_rise_mg_l: rounded(addition.total_rise_mg_l(), 1),
            bound_pct: rounded(addition.bound_share() * 100.0, 1),
            free_rise_mg_l: rounded(addition.free_rise_mg_l(), 1),
            caution: CAUTION,
        }
    }

    const COLUMNS: [Column<DoseView>; 10] = [
        Column::both("volume_ul", "litres", |it: &DoseView| Cell::Fine(it.volume_ul)),
        Column::both("form", "as", |it| Cell::Word(it.form.to_owned())),
        Column::both("material", "material", |it| Cell::Word(it.material.to_owned())),
        Column::both("strength_pct", "strength %", |it| it.strength_pct.into()),
        Column::both("amount_ug", "grams", |it| it.amount_ug.into()),
        Column::both("solution_ul", "mL", |it| it.solution_ul.map_or(Cell::Nothing, Cell::Measured)),
        Column::both("sulfur_dioxide_ug", "grams of SO2", |it| it.sulfur_dioxide_ug.into()),
        Column::both("total_rise_mg_l", "total rises", |it| it.total_rise_mg_l.into()),
        Column::both("bound_pct", "bound %", |it| it.bound_pct.into()),
        Column::both("free_rise_mg_l", "free rises", |it| it.free_rise_mg_l.into()),
    ];
}

/// A limit, and how a wine stands to it.
#[derive(Debug, Serialize)]
struct LimitView {
    subject: &'static str,
    most: f64,
    amber_from: f64,
    unit: &'static str,
    value: Option<f64>,
    judgement: Option<&'static str>,
    section: &'static str,
}

impl LimitView {
    fn of(limit: &Limit, value: Option<f64>) -> Outcome<LimitView> {
        let judgement = value.map(|value| limit.judge(value)).transpose()?;
        Ok(LimitView {
            subject: limit.subject.word(),
            most: rounded(limit.most, 3),
            amber_from: rounded(limit.amber_from(), 3),
            unit: limit.subject.unit(),
            value,
            judgement: judgement.map(Judgement::word),
            section: limit.section,
        })
    }

    const COLUMNS: [Column<LimitView>; 7] = [
        Column::both("subject", "limited", |it: &LimitView| Cell::Word(it.subject.to_owned())),
        Column::both("most", "most", |it| it.most.into()),
        Column::both("amber_from", "amber from", |it| it.amber_from.into()),
        Column::both("unit", "unit", |it| Cell::Word(it.unit.to_owned())),
        Column::both("value", "wine", |it: &LimitView| it.value.into()).sparse(),
        Column::both("judgement", "judged", |it: &LimitView| it.judgement.into()).sparse(),
        Column::both("section", "section", |it| Cell::Word(it.section.to_owned())),
    ];
}
