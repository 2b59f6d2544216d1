//! `check`: the checklist before bottling at the desk.

use std::path::Path;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, State};
use crate::cellar::jobs::finish::checklist::Check;
use crate::cellar::jobs::finish::checklist::checking::{CheckDeclared, CheckWaived, Checked};
use crate::cli::arguments::{CheckArguments, CheckStep, DeclareArguments};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::reading::{self, state_on};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, WORDS_COLUMNS};
use crate::cli::table::seen::Seen;
use crate::cli::table::text_table::wrapped;
use crate::desk::Desk;

impl Counter<'_, '_> {
    /// Enters what is said of a checklist, or shows it.
    pub(in crate::cli) fn check(&mut self, cellar: &Path, asked: &CheckArguments) -> Outcome {
        if let Some(CheckStep::Declare(declared)) = &asked.step {
            self.enter(cellar, &declared.entering, |_| Ok(vec![declaration(declared)]))?;
            let state = if declared.optional { "no run waits for it" } else { "a run waits for it" };
            let of = declared.of_lot.as_ref().map_or_else(String::new, |lot| format!(" of {lot}"));
            return Ok(writeln!(self.out, "declared: {}{of}, {state}", declared.item)?);
        }
        // The line is refused by the parser without a lot.
        let Some(label) = &asked.lot else { return Ok(()) };
        let Some(what) = said(label, asked)? else {
            if asked.text.is_some() {
                return Err(Complaint::Refused("Name the item with --met or --not-met.".to_owned()));
            }
            return self.look_into(cellar, asked.reading, |desk, on, page| show(desk, label, on, page));
        };
        if asked.reading.on.is_some() {
            return Err(Complaint::Refused("An item is ticked now. Leave out --on.".to_owned()));
        }
        let desk = self.enter(cellar, &asked.entering, |state| {
            reading::lot(state, label)?;
            Ok(vec![what])
        })?;
        show(&desk, label, self.now, &mut self.page(asked.reading.format))
    }
}

fn show(desk: &Desk, label: &str, on: Moment, page: &mut Page<'_>) -> Outcome {
    let state = state_on(desk, on)?;
    let lot = reading::lot(&state, label)?;
    checklist(desk, &state, lot, on)?.write(page)
}

fn declaration(declared: &DeclareArguments) -> What {
    let DeclareArguments { item, optional, text, of_lot, .. } = declared;
    let (item, text, lot) = (item.clone(), text.clone(), of_lot.clone());
    What::CheckDeclared(CheckDeclared { item, required: !optional, text, lot })
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

/// An item of a checklist, and who said what stands there.
type Item<'a> = Seen<'a, (Check, Option<Label>)>;

/// The checklist of a lot.
struct Checklist<'a> {
    lot: LotId,
    ready: bool,
    /// Whether it may be bottled, in a sentence.
    verdict: String,
    items: Vec<Item<'a>>,
}

type ChecklistSeen<'a> = Seen<'a, Checklist<'a>>;

fn columns<'a>() -> [Column<ChecklistSeen<'a>>; 4] {
    [
        Column::program("lot", |it: &ChecklistSeen<'_>| it.lot(it.thing.lot)),
        Column::program("ready", |it| it.ready.into()),
        Column::program("verdict", |it| (&it.verdict).into()),
        Column::within("items", |it| {
            Cell::List(it.items.iter().map(|item| Cell::thing(&item_columns(), item)).collect())
        }),
    ]
}

fn checklist<'a>(desk: &Desk, state: &'a State, lot: LotId, on: Moment) -> Outcome<ChecklistSeen<'a>> {
    let checks = state.checklist(lot);
    let (verdict, ready) = (state.bottling_verdict(lot, &checks), !checks.iter().any(Check::stops_a_run));
    let item = |check: Check| {
        let by = check.said.as_ref().map(|id| desk.line(id)).transpose()?.flatten().map(|line| line.by);
        Ok(Seen { state, on, thing: (check, by) })
    };
    let items = checks.into_iter().map(item).collect::<Outcome<_>>()?;
    Ok(Seen { state, on, thing: Checklist { lot, ready, verdict, items } })
}

impl ChecklistSeen<'_> {
    fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report((&columns(), self), (&item_columns(), &self.items), |page| {
            page.table(&item_columns(), &self.items)?;
            page.line("")?;
            for item in &self.items {
                let check = &item.0;
                let asks = if check.asks.is_empty() { String::new() } else { format!("{}: ", check.asks) };
                let words = format!("{}: {asks}{}", check.item, check.rule);
                wrapped(&harmless(&words), WORDS_COLUMNS).iter().try_for_each(|line| page.line(line))?;
            }
            page.line("")?;
            page.line(&harmless(&self.verdict))
        })
    }
}

fn item_columns<'a>() -> Vec<Column<Item<'a>>> {
    vec![
        Column::both("item", "item", |it: &Item<'_>| it.0.item.to_string().into()),
        Column::program("asks", |it| (&it.0.asks).into()),
        Column::both("standing", "standing", |it| it.0.standing.word().into()),
        Column::program("required", |it| it.0.required.into()),
        Column::people("", |it: &Item<'_>| if it.0.required { Cell::Nothing } else { "optional".into() }).sparse(),
        Column::both("found", "found", |it: &Item<'_>| it.0.words.as_ref().into()).sparse(),
        Column::both("vessel", "in", |it: &Item<'_>| it.0.vessel.map(|id| it.vessel(id)).into()).sparse(),
        Column::both("at", "on", |it: &Item<'_>| it.0.at.into()).sparse(),
        Column::program("age_days", |it| it.days_since(it.0.at)),
        Column::both("by", "by", |it: &Item<'_>| it.1.as_ref().into()).sparse(),
        Column::program("rule", |it| (&it.0.rule).into()),
    ]
}
