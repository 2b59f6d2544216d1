//! `check`: the checklist before bottling at the desk.

use std::path::Path;

use serde::Serialize;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, State};
use crate::cellar::jobs::finish::checklist::Check;
use crate::cellar::jobs::finish::checklist::checking::{CheckDeclared, CheckWaived, Checked};
use crate::cli::Counter;
use crate::cli::arguments::{CheckArguments, CheckStep, DeclareArguments, Entering};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::reading::{self, state_on};
use crate::cli::table::cell::{Cell, When};
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::text_table::wrapped;
use crate::cli::tests::sulfur::WORDS_COLUMNS;
use crate::desk::{Access, Desk};

impl Counter<'_, '_> {
    /// Enters what is said of a checklist, or shows it.
    pub(in crate::cli) fn check(&mut self, cellar: &Path, asked: &CheckArguments) -> Outcome {
        if let Some(CheckStep::Declare(declared)) = &asked.step {
            let mut desk = self.desk(cellar, Access::ReadWrite)?;
            enter(&mut desk, declaration(declared), &declared.entering, self.now)?;
            let state = if declared.optional { "no run waits for it" } else { "a run waits for it" };
            return Ok(writeln!(self.out, "declared: {}, {state}", declared.item)?);
        }
        // The line is refused by the parser without a lot.
        let Some(label) = &asked.lot else { return Ok(()) };
        let Some(what) = said(label, asked)? else {
            if asked.text.is_some() {
                return Err(Complaint::Refused("Name the item with --met or --not-met.".to_owned()));
            }
            let desk = self.desk(cellar, Access::ReadOnly)?;
            return self.show_checklist(&desk, label, asked);
        };
        if asked.reading.on.is_some() {
            return Err(Complaint::Refused("An item is ticked now. Leave out --on.".to_owned()));
        }
        let mut desk = self.desk(cellar, Access::ReadWrite)?;
        reading::lot(desk.state(), label)?;
        enter(&mut desk, what, &asked.entering, self.now)?;
        self.show_checklist(&desk, label, asked)
    }

    fn show_checklist(&mut self, desk: &Desk, label: &str, asked: &CheckArguments) -> Outcome {
        let on = asked.reading.on.unwrap_or(self.now);
        let state = state_on(desk, on)?;
        let lot = reading::lot(&state, label)?;
        let view = ChecklistView::of(desk, &state, lot, on)?;
        view.write(&mut self.page(asked.reading.format))
    }
}

fn declaration(declared: &DeclareArguments) -> What {
    let DeclareArguments { item, optional, text, .. } = declared;
    What::CheckDeclared(CheckDeclared { item: item.clone(), required: !optional, text: text.clone() })
}

/// What is said of an item, if anything is.
fn said(lot: &str, asked: &CheckArguments) -> Outcome<Option<What>> {
    let lot = || Label::new(lot).map_err(|error| Complaint::Refused(error.to_string()));
    let verdict = &asked.verdict;
    let ticked = verdict.met.as_ref().map(|item| (item, true)).or(verdict.not_met.as_ref().map(|item| (item, false)));
    if let Some((item, met)) = ticked {
        let checked = Checked { lot: lot()?, item: item.clone(), met, value: asked.value, text: asked.text.clone() };
        return Ok(Some(What::Checked(Box::new(checked))));
    }
    let (Some(item), Some(why)) = (&verdict.waive, &asked.why) else { return Ok(None) };
    Ok(Some(What::CheckWaived(CheckWaived { lot: lot()?, item: item.clone(), why: why.clone() })))
}

/// Enters one fact.
pub(in crate::cli) fn enter(desk: &mut Desk, what: What, entering: &Entering, now: Moment) -> Outcome {
    entering.enter(desk, vec![what], None, now)
}

/// The checklist of a lot, under the names of the exchange format.
#[derive(Debug, Serialize)]
struct ChecklistView {
    lot: Label,
    ready: bool,
    /// Whether it may be bottled, in a sentence.
    verdict: String,
    items: Vec<CheckView>,
}

#[derive(Debug, Serialize)]
struct CheckView {
    item: String,
    asks: String,
    standing: &'static str,
    required: bool,
    found: Option<String>,
    vessel: Option<Label>,
    at: Option<When>,
    age_days: Option<i64>,
    by: Option<Label>,
    rule: String,
}

impl ChecklistView {
    fn of(desk: &Desk, state: &State, lot: LotId, on: Moment) -> Outcome<ChecklistView> {
        let checks = state.checklist(lot);
        Ok(ChecklistView {
            lot: state.lots.get(lot).label.clone(),
            verdict: state.bottling_verdict(lot, &checks),
            ready: !checks.iter().any(Check::stops_a_run),
            items: checks.into_iter().map(|check| CheckView::of(desk, state, check, on)).collect::<Outcome<_>>()?,
        })
    }

    fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &CheckView::COLUMNS, &self.items, |page| {
            page.table(&CheckView::COLUMNS, &self.items)?;
            page.line("")?;
            for item in &self.items {
                let asks = if item.asks.is_empty() { String::new() } else { format!("{}: ", item.asks) };
                let words = format!("{}: {asks}{}", item.item, item.rule);
                wrapped(&harmless(&words), WORDS_COLUMNS).iter().try_for_each(|line| page.line(line))?;
            }
            page.line("")?;
            page.line(&harmless(&self.verdict))
        })
    }
}

impl CheckView {
    fn of(desk: &Desk, state: &State, check: Check, on: Moment) -> Outcome<CheckView> {
        Ok(CheckView {
            item: check.item.to_string(),
            standing: check.standing.word(),
            required: check.required,
            vessel: check.vessel.map(|id| state.vessels.get(id).label.clone()),
            at: check.at.map(When),
            age_days: check.at.map(|at| on.days_since(at)),
            by: check.said.map(|id| desk.line(&id)).transpose()?.flatten().map(|line| line.by),
            asks: check.asks,
            found: check.words,
            rule: check.rule,
        })
    }

    const COLUMNS: [Column<CheckView>; 11] = [
        Column::both("item", "item", |it: &CheckView| Cell::Text(it.item.clone())),
        Column::program("asks", |it: &CheckView| (&it.asks).into()),
        Column::both("standing", "standing", |it: &CheckView| it.standing.into()),
        Column::program("required", |it: &CheckView| it.required.into()),
        Column::people("", |it: &CheckView| if it.required { Cell::Nothing } else { "optional".into() }).sparse(),
        Column::both("found", "found", |it: &CheckView| it.found.as_ref().into()).sparse(),
        Column::both("vessel", "in", |it: &CheckView| it.vessel.as_ref().into()).sparse(),
        Column::both("at", "on", |it: &CheckView| it.at.into()).sparse(),
        Column::program("age_days", |it: &CheckView| it.age_days.into()),
        Column::both("by", "by", |it: &CheckView| it.by.as_ref().into()).sparse(),
        Column::program("rule", |it: &CheckView| (&it.rule).into()),
    ];
}
