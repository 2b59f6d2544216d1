//! `trial blend`: the blend is chosen, what it would be is told, and the work of making it begins.

use super::trial;
use crate::cellar::core::decide::decide_despite;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::blending::BlendChosen;
use crate::cellar::jobs::bench::trial::refusal::TrialRefusal;
use crate::cellar::views::bench::blend::{BlendPlan, BlendRequest, Component as Asked, Source};
use crate::cellar::views::books::lineage::Tracer;
use crate::cli::arguments::TrialBlendArguments;
use crate::cli::bench::blend_plan::{self, BlendSeen, transfer_columns, transfers};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::seen::Seen;
use crate::cli::tests::sulfur::below;
use crate::desk::Desk;
use crate::units::{Shares, Volume};

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

/// Chooses the blend and tells of it; a dry run only tells.
pub fn blend(desk: &mut Desk, asked: &TrialBlendArguments, now: Moment, page: &mut Page<'_>) -> Outcome {
    let tracer = desk.trace(now)?;
    let (plan, chosen) = planned(&tracer, asked, now)?;
    let what = What::BlendChosen(Box::new(chosen));
    let work = if asked.dry_run {
        decide_despite(&tracer.state, &what, asked.entering.despite.is_some(), now, now)?;
        None
    } else {
        asked.entering.enter(desk, vec![what], None, now)?;
        let state = desk.state();
        let blend = state.trials.get(trial(state, &asked.trial)?).blends.last();
        blend.map(|blend| state.works.get(blend.work).label.clone())
    };
    let state = &tracer.state;
    let told = ChosenBlend {
        trial: &state.trials.get(trial(state, &asked.trial)?).label,
        asked,
        work,
        plan: Seen { state, on: now, thing: &plan },
    };
    page.report((&columns(), &told), (&transfer_columns(), &transfers(&told.plan)), |page| {
        blend_plan::tell(&told.plan, page)?;
        if let Some(code) = asked.code {
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

/// The plan of the blend, and the fact that chooses it.
fn planned(tracer: &Tracer, asked: &TrialBlendArguments, now: Moment) -> Outcome<(BlendPlan, BlendChosen)> {
    let state = &tracer.state;
    let trial = state.trials.get(trial(state, &asked.trial)?);
    let shares = ratio(trial, asked)?;
    let keep = kept(state, trial, &asked.keep)?;
    let into = state.vessel(&asked.into)?;
    let used = || trial.components().iter().zip(shares.millionths()).zip(&keep).filter(|((_, share), _)| **share > 0);
    if used().any(|((component, _), _)| component.vessel == into) {
        return Err(TrialRefusal::IntoComponent(asked.into.clone()).into());
    }
    let request = BlendRequest {
        components: used()
            .map(|((component, _), &keep)| Asked {
                source: Source::Vessel(component.vessel),
                keep: state.kept_beside_works(component, keep),
                whole: false,
            })
            .collect(),
        shares: shares.without_noughts(),
        into: Some(into),
        tolerance: asked.tolerance,
        litres: asked.litres,
        barrels_first: false,
        despite: asked.entering.despite.is_some(),
    };
    let plan = state.plan_blend(request, &tracer.new_wood(), now)?;
    let chosen = BlendChosen {
        trial: trial.label.clone(),
        code: asked.code,
        shares: asked.shares.clone(),
        into: asked.into.clone(),
        volume: plan.batch.volume,
        lot: asked.lot.clone(),
        work: asked.work.clone(),
        keep: if asked.keep.is_empty() { Vec::new() } else { keep.clone() },
        tolerance: asked.tolerance,
    };
    Ok((plan, chosen))
}

/// The shares that are blended: those of the glass as it was laid out, or those said. Refused while it is not revealed.
fn ratio(trial: &Trial, asked: &TrialBlendArguments) -> Outcome<Shares> {
    let label = || trial.label.clone();
    let key = trial.opened().ok_or_else(|| TrialRefusal::RevealFirst(label()))?;
    let components = trial.components().len();
    match (asked.code, &asked.shares) {
        (Some(code), None) => {
            let glass = key.glass(code).ok_or_else(|| TrialRefusal::UnknownCode { trial: label(), code })?;
            Ok(glass.shares.clone())
        }
        (None, Some(shares)) if shares.components() == components => Ok(shares.clone()),
        (None, Some(shares)) => Err(TrialRefusal::BlendShares { shares: shares.components(), components }.into()),
        _ => Err(TrialRefusal::CodeOrShares.into()),
    }
}

/// What is kept back of each wine of a trial.
fn kept(state: &State, trial: &Trial, said: &[(Label, Volume)]) -> Outcome<Vec<Volume>> {
    let label = |vessel| &state.vessels.get(vessel).label;
    let components = trial.components();
    if let Some((stranger, _)) = said.iter().find(|(named, _)| !components.iter().any(|it| label(it.vessel) == named)) {
        let sentence = format!("{} is none of the vessels of this trial. Check --keep.", harmless(stranger.as_str()));
        return Err(Complaint::Refused(sentence));
    }
    let of = |vessel| said.iter().filter(|(named, _)| label(vessel) == named).map(|(_, volume)| *volume).sum();
    Ok(components.iter().map(|component| of(component.vessel)).collect())
}
