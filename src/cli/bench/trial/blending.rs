//! `trial blend`: the blend is chosen, what it would be is told, and the work of making it begins.

use std::path::Path;

use super::trial;
use crate::cellar::core::decide::decide_despite;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::views::bench::blend::BlendPlan;
use crate::cellar::views::bench::trial_blend::{NoTrialBlend, TrialBlendAsked};
use crate::cellar::views::books::lineage::Tracer;
use crate::cli::arguments::TrialBlendArguments;
use crate::cli::bench::blend_plan::{self, BlendSeen, transfer_columns, transfers};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::{Counter, Decided};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, below};
use crate::cli::table::seen::Seen;

/// A chosen blend.
struct ChosenBlend<'a> {
    trial: &'a Label,
    asked: &'a TrialBlendArguments,
    /// None where nothing was begun.
    work: Option<Label>,
    plan: BlendSeen<'a>,
}

fn columns<'a>() -> [Column<ChosenBlend<'a>>; 5] {
    [
        Column::program("trial", |it: &ChosenBlend<'_>| it.trial.into()),
        Column::program("code", |it| Cell::form(&it.asked.code)),
        Column::program("lot", |it| (&it.asked.lot).into()),
        Column::program("work", |it| it.work.as_ref().into()),
        Column::spread(|it| Cell::thing(&blend_plan::columns(), &it.plan)),
    ]
}

impl From<NoTrialBlend> for Complaint {
    fn from(refused: NoTrialBlend) -> Complaint {
        match refused {
            NoTrialBlend::Vessel(refusal) => refusal.into(),
            other => Complaint::Refused(other.to_string()),
        }
    }
}

impl Counter<'_, '_> {
    /// Chooses the blend and tells of it; a dry run only tells.
    pub(super) fn blend_trial(&mut self, cellar: &Path, asked: &TrialBlendArguments) -> Outcome {
        self.act(
            cellar,
            (&asked.entering, !asked.dry_run),
            |desk, now| Ok(desk.trace(now)?),
            |counter, tracer| chosen(tracer, asked, counter.now),
            |counter, tracer, (trial, plan), desk| {
                let entered = desk.state();
                let blends = entered.trials.by_label(trial.as_str()).filter(|_| !asked.dry_run);
                let begun = blends.and_then(|trial| trial.blends.last());
                let work = begun.map(|blend| entered.works.get(blend.work).label.clone());
                let plan = Seen { state: &tracer.state, on: counter.now, thing: plan };
                tell(&ChosenBlend { trial, asked, work, plan }, &mut counter.page(asked.format))
            },
        )
    }
}

/// The fact that the blend is chosen, with the trial and the plan.
fn chosen(tracer: &Tracer, asked: &TrialBlendArguments, now: Moment) -> Outcome<Decided<(Label, BlendPlan)>> {
    let state = &tracer.state;
    let meant = state.trials.get(trial(state, &asked.trial)?);
    let (plan, chosen) = state.plan_trial_blend(meant, &read(asked), &tracer.new_wood(), now)?;
    let what = What::BlendChosen(Box::new(chosen));
    if asked.dry_run {
        decide_despite(state, &what, asked.entering.despite.is_some(), now, now)?;
    }
    Ok(Decided::of(vec![what], (meant.label.clone(), plan)))
}

fn tell(told: &ChosenBlend<'_>, page: &mut Page<'_>) -> Outcome {
    page.report((&columns(), told), (&transfer_columns(), &transfers(&told.plan)), |page| {
        blend_plan::tell(&told.plan, page)?;
        if let Some(code) = told.asked.code {
            below(
                page,
                &format!(
                    "The ratio is that of glass {code} as it was laid out. The millilitres poured were rounded to it."
                ),
            )?;
        }
        match &told.work {
            Some(work) => {
                let work = harmless(work.as_str());
                below(page, &format!("The work '{work}' has begun. Press d on the screen to walk it."))
            }
            None => below(page, "Nothing is begun: leave out --dry-run to begin it."),
        }
    })
}

/// What the command line asks for.
fn read(asked: &TrialBlendArguments) -> TrialBlendAsked {
    TrialBlendAsked {
        code: asked.code,
        shares: asked.shares.clone(),
        into: asked.into.clone(),
        litres: asked.litres,
        keep: asked.keep.clone(),
        tolerance: asked.tolerance,
        lot: asked.lot.clone(),
        work: asked.work.clone(),
        despite: asked.entering.despite.is_some(),
    }
}
