//! The blend that a revealed trial leads to: which ratio, what is kept back beside open works, and the plan of making it.
//!
//! **A vessel that was emptied and filled since the trial was set** holds another wine: choosing its glass is refused as a slip.

use thiserror::Error;

use super::blend::{BlendPlan, BlendRequest, Component, NoBlend, Source};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::blending::BlendChosen;
use crate::cellar::jobs::bench::trial::code::Code;
use crate::cellar::jobs::bench::trial::refusal::TrialRefusal;
use crate::cellar::views::books::lineage::NewWood;
use crate::reckon::scale_up::Tolerance;
use crate::units::{Shares, Volume};

/// What a blend of a trial is to be.
#[derive(Clone, Debug)]
pub struct TrialBlendAsked {
    /// The glass whose ratio it has, or none where the shares are said.
    pub code: Option<Code>,
    /// The shares, in the order of the trial's components.
    pub shares: Option<Shares>,
    /// The vessel that the wines come into.
    pub into: Label,
    /// How much blend; none for the largest that the vessels can give.
    pub litres: Option<Volume>,
    /// What is kept back of a wine.
    pub keep: Vec<(Label, Volume)>,
    /// By how much a share may differ.
    pub tolerance: Option<Tolerance>,
    /// The lot that it is.
    pub lot: Label,
    /// The label of its work; none for one after the lot.
    pub work: Option<Label>,
    /// Whether a reason was given to pass a hold.
    pub despite: bool,
}

/// Why a trial leads to no such blend.
#[derive(Debug, Error)]
#[allow(missing_docs)] // the sentence of each variant is its documentation, the fields are the things it names
pub enum NoTrialBlend {
    #[error("{0} is none of the vessels of this trial. Check --keep.")]
    Stranger(Label),
    #[error(transparent)]
    Trial(#[from] TrialRefusal),
    #[error(transparent)]
    Vessel(#[from] Refusal),
    #[error(transparent)]
    Blend(#[from] NoBlend),
}

impl State {
    /// The plan of the blend, and the fact that chooses it.
    pub fn plan_trial_blend(
        &self,
        trial: &Trial,
        asked: &TrialBlendAsked,
        wood: &NewWood,
        at: Moment,
    ) -> Result<(BlendPlan, BlendChosen), NoTrialBlend> {
        let shares = ratio(trial, asked)?;
        let keep = self.kept_of_trial(trial, &asked.keep)?;
        let into = self.vessel(&asked.into)?;
        let parts = trial.components().iter().zip(&keep).zip(shares.millionths());
        let used: Vec<_> = parts.filter(|(_, share)| **share > 0).map(|(part, _)| part).collect();
        if used.iter().any(|(component, _)| component.vessel == into) {
            return Err(TrialRefusal::IntoComponent(asked.into.clone()).into());
        }
        let components = used.into_iter().map(|(component, keep)| Component {
            source: Source::Vessel(component.vessel),
            keep: self.kept_beside_works(component, *keep),
            whole: false,
        });
        let request = BlendRequest {
            components: components.collect(),
            shares: shares.without_noughts(),
            into: Some(into),
            tolerance: asked.tolerance,
            litres: asked.litres,
            barrels_first: false,
            despite: asked.despite,
        };
        let plan = self.plan_blend(request, wood, at)?;
        let chosen = BlendChosen {
            trial: trial.label.clone(),
            code: asked.code,
            shares: asked.shares.clone(),
            into: asked.into.clone(),
            volume: plan.batch.volume,
            lot: asked.lot.clone(),
            work: asked.work.clone(),
            keep: if asked.keep.is_empty() { Vec::new() } else { keep },
            tolerance: asked.tolerance,
        };
        Ok((plan, chosen))
    }

    /// What is kept back of each wine of a trial.
    fn kept_of_trial(&self, trial: &Trial, said: &[(Label, Volume)]) -> Result<Vec<Volume>, NoTrialBlend> {
        let label = |vessel| &self.vessels.get(vessel).label;
        let components = trial.components();
        let is_of_it = |named: &Label| components.iter().any(|it| label(it.vessel) == named);
        if let Some((stranger, _)) = said.iter().find(|(named, _)| !is_of_it(named)) {
            return Err(NoTrialBlend::Stranger(stranger.clone()));
        }
        let of = |vessel| said.iter().filter(|(named, _)| label(vessel) == named).map(|(_, volume)| *volume).sum();
        Ok(components.iter().map(|component| of(component.vessel)).collect())
    }
}

/// The shares that are blended: those of the glass as it was laid out, or those said. Refused while it is not revealed.
fn ratio(trial: &Trial, asked: &TrialBlendAsked) -> Result<Shares, TrialRefusal> {
    let label = || trial.label.clone();
    let key = trial.opened().ok_or_else(|| TrialRefusal::RevealFirst(label()))?;
    let components = trial.components().len();
    match (asked.code, &asked.shares) {
        (Some(code), None) => {
            let glass = key.glass(code).ok_or_else(|| TrialRefusal::UnknownCode { trial: label(), code })?;
            Ok(glass.shares.clone())
        }
        (None, Some(shares)) if shares.components() == components => Ok(shares.clone()),
        (None, Some(shares)) => Err(TrialRefusal::BlendShares { shares: shares.components(), components }),
        _ => Err(TrialRefusal::CodeOrShares),
    }
}
