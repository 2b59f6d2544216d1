//! All that the wine of some bottles met, as it is told: what flowed, what was done to it, and by whom.

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{OriginId, RunId, Vessel};
use crate::cellar::jobs::bottles::bottling::run::Run;
use crate::cellar::jobs::finish::fining::FiningTried;
use crate::cellar::jobs::floor::origin::OriginDeclared;
use crate::cellar::jobs::tests::tasting::Tasted;
use crate::cellar::views::books::lineage::{AtTheLine, Check, Done, DoneTo, Fill, Past, Test, Tracer};
use crate::cli::books::trace::{flow_columns, receipt_columns};
use crate::cli::core::complaint::Outcome;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::{Seen, seen};
use crate::sheets::books::trace;
use crate::units::{Mass, Volume};

/// Gives out all that the wine of a run's bottles met, or of those with one lot code; as a spreadsheet, what flowed. People
/// read the page that is printed of it.
pub fn write(tracer: &Tracer, run: RunId, code: Option<&str>, on: Moment, page: &mut Page<'_>) -> Outcome {
    let told = Seen { state: &tracer.state, on, thing: Traced { tracer, run, past: tracer.past_of_run(run, code) } };
    let flows = seen(&tracer.state, on, &told.past.back.streams);
    page.report((&past_columns(), &told), (&flow_columns(), &flows), |page| {
        page.document(&trace::back(tracer, run, code, on))
    })
}

/// The bottles of a run, and all that their wine met.
struct Traced<'a> {
    tracer: &'a Tracer,
    run: RunId,
    past: Past<'a>,
}

type PastSeen<'a> = Seen<'a, Traced<'a>>;

fn past_columns<'a>() -> Vec<Column<PastSeen<'a>>> {
    vec![
        Column::program("run", |it: &PastSeen<'_>| (&it.run().label).into()),
        Column::program("lot_codes", |it| Cell::list(&it.past.codes())),
        Column::program("bottled", |it| it.past.stretches.first().map(|stretch| stretch.at).into()),
        Column::program("bottle_ul", |it| it.run().bottle.into()),
        Column::program("bottles", |it| it.past.bottles().into()),
        Column::program("volume_ul", |it| it.past.wine.volume().into()),
        Column::within("composition", |it| it.wine(&it.past.wine)),
        Column::within("origins", |it| {
            let whole = it.past.wine.volume();
            it.within(
                &origin_columns(),
                it.past.wine.parts().iter().filter_map(|part| Some((part.origin?, part.volume, whole))),
            )
        }),
        Column::within("vessels", |it| {
            Cell::things(&fill_columns(), it.past.fills.iter().map(|&fill| (it.tracer, fill)))
        }),
        Column::within("treatments", |it| it.done(&treatment_columns(), |to| matches!(to, DoneTo::Treated { .. }))),
        Column::within("tests", |it| it.done(&test_columns(), |to| matches!(to, DoneTo::Tested(_)))),
        Column::within("tastings", |it| it.done(&taste_columns(), |to| matches!(to, DoneTo::Tasted(_)))),
        Column::within("fining_trials", |it| it.done(&fining_columns(), |to| matches!(to, DoneTo::Tried(_)))),
        Column::within("trials", |it| {
            it.done(&trial_columns(), |to| matches!(to, DoneTo::SetInTrial(_) | DoneTo::Chosen(_)))
        }),
        Column::within("checks", |it| it.done(&check_columns(), |to| matches!(to, DoneTo::Checked(_)))),
        Column::within("care", |it| it.done(&care_columns(), |to| matches!(to, DoneTo::Cared(_)))),
        Column::within("people", |it| Cell::things(&people_columns(), it.past.people.iter().copied())),
        Column::within("line", |it| Cell::things(&line_columns(), it.past.at_the_line())),
        Column::within("received", |it| it.within(&receipt_columns(), &it.past.back.receipts)),
        Column::within("flows", |it| it.within(&flow_columns(), &it.past.back.streams)),
    ]
}

impl PastSeen<'_> {
    fn run(&self) -> &Run {
        self.state.runs.get(self.thing.run)
    }

    /// What was done to the wine, of one kind.
    fn done<'b>(&'b self, columns: &[Column<DoneSeen<'b>>], is_it: impl Fn(&DoneTo) -> bool) -> Cell {
        let done = self.past.done.iter().copied().filter(|done| is_it(&done.to));
        Cell::things(columns, done.map(|done| DoneSeen { tracer: self.tracer, done }))
    }
}

/// An origin of the wine, how much of it there is, and of how much.
type OriginSeen<'a> = Seen<'a, (OriginId, Volume, Volume)>;

fn origin_columns<'a>() -> Vec<Column<OriginSeen<'a>>> {
    fn origin<'a>(it: &OriginSeen<'a>) -> &'a OriginDeclared {
        &it.state.origins.get(it.0).0
    }
    vec![
        Column::program("origin", |it: &OriginSeen<'_>| (&origin(it).origin).into()),
        Column::program("block", |it| (&origin(it).block).into()),
        Column::program("variety", |it| (&origin(it).variety).into()),
        Column::program("vintage", |it| u32::from(origin(it).vintage).into()),
        Column::program("appellation", |it| (&origin(it).appellation).into()),
        Column::program("volume_ul", |it| it.1.into()),
        Column::program("share", |it| (it.1.as_litres() / it.2.as_litres()).into()),
    ]
}

/// A vessel in one of its fills.
type FillOf<'a> = (&'a Tracer, Fill);

fn fill_columns<'a>() -> Vec<Column<FillOf<'a>>> {
    fn vessel<'a>((tracer, fill): &FillOf<'a>) -> &'a Vessel {
        tracer.state.vessels.get(fill.vessel)
    }
    vec![
        Column::program("vessel", |it: &FillOf<'_>| (&vessel(it).label).into()),
        Column::program("fill", |(_, fill)| fill.number.into()),
        Column::program("type", |it| Cell::word(&vessel(it).vessel_type)),
        Column::program("cooper", |it| vessel(it).wood.cooper.as_ref().into()),
        Column::program("forest", |it| vessel(it).wood.forest.as_ref().into()),
        Column::program("lot", |(tracer, fill)| {
            tracer.last_name(*fill).map(|lot| &tracer.state.lots.get(lot).label).into()
        }),
    ]
}

/// Something that was done to the wine.
pub struct DoneSeen<'a> {
    /// Where it is found.
    pub tracer: &'a Tracer,
    /// What was done.
    pub done: &'a Done,
}

impl DoneSeen<'_> {
    fn vessels(&self) -> Cell {
        let label = |fill: Fill| &self.tracer.state.vessels.get(fill.vessel).label;
        Cell::list(self.done.fills().map(label))
    }

    fn tasted(&self) -> Option<&Tasted> {
        if let DoneTo::Tasted(taste) = &self.done.to { Some(taste) } else { None }
    }

    fn tested(&self) -> Option<&Test> {
        if let DoneTo::Tested(test) = &self.done.to { Some(test) } else { None }
    }

    fn tried(&self) -> Option<&FiningTried> {
        if let DoneTo::Tried(tried) = &self.done.to { Some(tried) } else { None }
    }

    fn checked(&self) -> Option<&Check> {
        if let DoneTo::Checked(check) = &self.done.to { Some(check) } else { None }
    }

    /// What was added, of which batch and how much.
    fn treated(&self) -> Option<(&Label, Option<&Label>, Mass)> {
        let DoneTo::Treated { material, batch, amount, .. } = &self.done.to else { return None };
        Some((self.tracer.called(*material), batch.map(|batch| self.tracer.called(batch)), *amount))
    }
}

/// When, what some columns tell, to which vessels, and who entered it.
fn done_columns<'a>(columns: impl IntoIterator<Item = Column<DoneSeen<'a>>>) -> Vec<Column<DoneSeen<'a>>> {
    let mut all = vec![Column::program("at", |it: &DoneSeen<'_>| it.done.at.into())];
    all.extend(columns);
    all.push(Column::program("by", |it| it.tracer.who(it.done).into()));
    all
}

/// The vessels that something was done to.
const fn vessels<'a>() -> Column<DoneSeen<'a>> {
    Column::program("vessels", DoneSeen::vessels)
}

/// The columns of additions.
pub fn treatment_columns<'a>() -> Vec<Column<DoneSeen<'a>>> {
    done_columns([
        Column::program("material", |it: &DoneSeen<'_>| it.treated().map(|(material, ..)| material).into()),
        Column::program("amount_ug", |it| it.treated().map(|(.., amount)| amount).into()),
        Column::program("batch", |it| it.treated().and_then(|(_, batch, _)| batch).into()),
        vessels(),
    ])
}

fn test_columns<'a>() -> Vec<Column<DoneSeen<'a>>> {
    done_columns([
        vessels(),
        Column::spread(|it: &DoneSeen<'_>| Cell::form(&it.tested().map(|test| test.readings))),
        Column::spread(|it| match it.tested().and_then(|test| test.values.as_ref()) {
            Some(values) => Cell::Thing(vec![("values".into(), Cell::form(values))]),
            None => Cell::Nothing,
        }),
        Column::program("lab", |it| it.tested().and_then(|test| test.lab.as_ref()).into()),
    ])
}

fn taste_columns<'a>() -> Vec<Column<DoneSeen<'a>>> {
    done_columns([
        vessels(),
        Column::program("score", |it: &DoneSeen<'_>| it.tasted().and_then(|taste| taste.score).into()),
        Column::program("marks", |it| {
            Cell::list(it.tasted().and_then(|taste| taste.marks.as_ref()).into_iter().flatten())
        }),
        Column::program("text", |it| it.tasted().and_then(|taste| taste.text.as_ref()).into()),
    ])
}

fn fining_columns<'a>() -> Vec<Column<DoneSeen<'a>>> {
    done_columns([
        Column::program("trial", |it: &DoneSeen<'_>| it.tried().map(|tried| &tried.trial).into()),
        Column::program("material", |it| it.tried().map(|tried| &tried.material).into()),
        Column::program("chosen_g_l", |it| it.tried().and_then(|tried| tried.chosen_g_l).into()),
        vessels(),
    ])
}

/// Trials at the bench; with `chosen` the glass that was blended.
fn trial_columns<'a>() -> Vec<Column<DoneSeen<'a>>> {
    done_columns([
        Column::program("trial", |it: &DoneSeen<'_>| match &it.done.to {
            DoneTo::SetInTrial(trial) => trial.as_ref().into(),
            DoneTo::Chosen(chosen) => (&chosen.trial).into(),
            _ => Cell::Nothing,
        }),
        Column::program("chosen", |it| match &it.done.to {
            DoneTo::Chosen(chosen) => {
                chosen.code.as_ref().map_or_else(|| "ratio".to_owned(), ToString::to_string).into()
            }
            _ => Cell::Nothing,
        }),
        vessels(),
    ])
}

fn check_columns<'a>() -> Vec<Column<DoneSeen<'a>>> {
    done_columns([
        Column::program("lot", |it: &DoneSeen<'_>| it.checked().map(|check| &check.lot).into()),
        Column::program("item", |it| it.checked().map(|check| &check.item).into()),
        Column::program("met", |it| it.checked().and_then(|check| check.met).into()),
        Column::program("waived", |it| it.checked().is_some_and(|check| check.met.is_none()).into()),
        Column::program("text", |it| it.checked().and_then(|check| check.text.as_ref()).into()),
    ])
}

fn care_columns<'a>() -> Vec<Column<DoneSeen<'a>>> {
    done_columns([
        Column::program("care", |it: &DoneSeen<'_>| match &it.done.to {
            DoneTo::Cared(care) => Cell::word(care),
            _ => Cell::Nothing,
        }),
        vessels(),
    ])
}

/// Who entered something of it, and how much.
fn people_columns<'a>() -> [Column<(&'a Label, u32)>; 2] {
    [Column::program("by", |it: &(&Label, u32)| it.0.into()), Column::program("facts", |it| it.1.into())]
}

fn line_columns<'a>() -> [Column<AtTheLine<'a>>; 3] {
    [
        Column::program("material", |it: &AtTheLine<'_>| it.material.into()),
        Column::program("batch", |it| it.batch.into()),
        Column::program("lot_code", |it| it.lot_code.into()),
    ]
}
