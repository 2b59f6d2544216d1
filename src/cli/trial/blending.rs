//! `trial blend`: the blend is chosen, and the work of making it begins.

use serde::Serialize;

use super::{enter, trial};
use crate::cellar::fact::What;
use crate::cellar::label::Label;
use crate::cellar::moment::Moment;
use crate::cellar::racking::CAUTION;
use crate::cellar::state::State;
use crate::cellar::trial::blending::BlendChosen;
use crate::cellar::trial::code::Code;
use crate::cli::arguments::TrialBlendArguments;
use crate::cli::column::Column;
use crate::cli::complaint::Outcome;
use crate::cli::page::Page;
use crate::desk::Desk;
use crate::units::Volume;

/// The work of a blend, under the names of the exchange format.
#[derive(Debug, Serialize)]
struct BlendView {
    trial: Label,
    code: Option<Code>,
    into: Label,
    volume_ul: Volume,
    lot: Label,
    work: Label,
    transfers: Vec<TransferView>,
}

/// What one vessel gives.
#[derive(Debug, Serialize)]
struct TransferView {
    from: Label,
    volume_ul: Volume,
    /// What stays there.
    left_ul: Volume,
}

impl TransferView {
    const COLUMNS: [Column<TransferView>; 3] = [
        Column::both("from", "from", |it: &TransferView| (&it.from).into()),
        Column::both("volume_ul", "litres", |it: &TransferView| it.volume_ul.into()).summed(),
        Column::both("left_ul", "stays", |it: &TransferView| it.left_ul.into()),
    ];
}

/// Chooses the blend.
pub fn choose(desk: &mut Desk, asked: &TrialBlendArguments, now: Moment) -> Outcome {
    let trial = desk.state().trials.get(trial(desk.state(), &asked.trial)?).label.clone();
    let chosen = BlendChosen {
        trial,
        code: asked.code,
        shares: asked.shares.clone(),
        into: asked.into.clone(),
        volume: asked.litres,
        lot: asked.lot.clone(),
        work: asked.work.clone(),
    };
    enter(desk, vec![What::BlendChosen(Box::new(chosen))], &asked.by, now)
}

/// Tells the transfers of the blend that was chosen last.
pub fn write(state: &State, asked: &TrialBlendArguments, page: &mut Page<'_>) -> Outcome {
    let trial = state.trials.get(trial(state, &asked.trial)?);
    let Some(blend) = trial.blends.last() else { return Ok(()) };
    let work = state.works.get(blend.work);
    let transfers = work.stops.iter().map(|stop| {
        let vessel = state.vessels.get(stop.vessel);
        let left_ul = vessel.volume().saturating_sub(stop.volume);
        TransferView { from: vessel.label.clone(), volume_ul: stop.volume, left_ul }
    });
    let view = BlendView {
        trial: trial.label.clone(),
        code: blend.code,
        into: asked.into.clone(),
        volume_ul: blend.volume,
        lot: asked.lot.clone(),
        work: work.label.clone(),
        transfers: transfers.collect(),
    };
    page.report(&view, &TransferView::COLUMNS, &view.transfers, |page| {
        page.table(&TransferView::COLUMNS, &view.transfers)?;
        page.line(&format!("\nThe work '{}' has begun. Press d on the screen to walk it.", view.work))?;
        page.line(CAUTION)
    })
}
