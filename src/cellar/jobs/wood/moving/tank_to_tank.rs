//! A move from one vessel to one other before it is entered: what arrives, what is lost, what stays, what it does to claims.

use super::{Purpose, WineMoved};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Text;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::jobs::finish::filtration::{Turbidity, share_of};
use crate::units::Volume;

/// What is asked of a move.
#[derive(Clone, Debug, PartialEq)]
pub struct MoveAsked {
    /// The vessel that the wine leaves.
    pub from: VesselId,
    /// The vessel that it comes into.
    pub to: VesselId,
    /// Why.
    pub purpose: Purpose,
    /// What arrives; where it is not said all that is expected to be there, less what is lost, of a barrel-down at most what fills the barrel.
    /// Where that is all, nothing is left behind.
    pub volume: Option<Volume>,
    /// Lees and the wine lost with them.
    pub lees: Volume,
    /// What is lost on the way.
    pub loss: Volume,
    /// Whether nothing is left behind.
    pub empties: bool,
    /// The lot that it is where it arrives.
    pub lot: Option<LotId>,
    /// What it is filtered through.
    pub filter: Option<Text>,
}

impl MoveAsked {
    /// All of a vessel into another, nothing lost.
    #[must_use]
    pub const fn all(from: VesselId, to: VesselId, purpose: Purpose) -> MoveAsked {
        let (lees, loss) = (Volume::ZERO, Volume::ZERO);
        MoveAsked { from, to, purpose, volume: None, lees, loss, empties: false, lot: None, filter: None }
    }
}

/// A move that may be entered.
#[derive(Clone, Debug, PartialEq)]
pub struct MovePlan {
    /// The fact.
    pub moved: WineMoved,
    /// What had evaporated from the source before.
    pub evaporated: Volume,
    /// What is lost in all.
    pub lost: Volume,
    /// What the source keeps by the book.
    pub stays: Volume,
    /// The lot that the wine is where it arrives.
    pub lot: Option<LotId>,
    /// How turbid the wine was when it was last tested.
    pub before: Option<Turbidity>,
    /// What bars it, unless a reason is given: that one of the two is held.
    pub barred: Option<Refusal>,
    /// What would surprise: that more leaves than the book has, that much is lost, and what else the fact asks.
    pub questions: Vec<Question>,
}

impl MovePlan {
    /// What is lost, as a share of what leaves.
    #[must_use]
    pub fn lost_share(&self) -> Option<f64> {
        share_of(self.lost, self.moved.volume)
    }
}

impl State {
    /// A move as it is asked, or why it cannot be.
    pub fn plan_move(&self, asked: &MoveAsked, at: Moment) -> Result<MovePlan, Refusal> {
        let (source, target) = (self.vessels.get(asked.from), self.vessels.get(asked.to));
        let there = source.volume();
        let holds = there.saturating_sub(self.gone(source, at));
        if there.is_zero() {
            return Err(Refusal::SourceEmpty(source.label.clone()));
        }
        let all = holds.saturating_sub(asked.lees).saturating_sub(asked.loss);
        let fills = if asked.purpose == Purpose::BarrelDown { target.book_headspace() } else { all };
        let volume = asked.volume.unwrap_or_else(|| all.min(fills));
        if volume.is_zero() && fills.is_zero() {
            return Err(Refusal::FullAlready(target.label.clone()));
        }
        if volume.is_zero() {
            return Err(Refusal::NoVolume);
        }
        let moved = WineMoved {
            lees: asked.lees,
            loss: asked.loss,
            empties: asked.empties || (asked.volume.is_none() && volume == all),
            lot: asked.lot.map(|lot| self.lots.get(lot).label.clone()),
            filter: asked.filter.clone(),
            ..WineMoved::of(source.label.clone(), target.label.clone(), volume, asked.purpose)
        };
        let moved = moved.with_evaporation(self, source, at).unwrap_or(moved);
        let lot = asked.lot.or(if target.wine.is_empty() { source.lot } else { target.lot });
        let (stays, beyond) = (there.saturating_sub(moved.leaves()), moved.leaves().saturating_sub(there));
        let what = What::WineMoved(Box::new(moved.clone()));
        // A hold bars the act, not the plan: it is named beside it.
        what.deed().permitted(self, true)?;
        let all_lost = moved.lost_from(source);
        let vessel = || source.label.clone();
        let beyond = (!beyond.is_zero()).then(|| Question::BeyondBook { vessel: vessel(), beyond });
        let mut surprises = self.questions(std::slice::from_ref(&what), at);
        surprises.retain(|question| !matches!(question, Question::MuchLost { .. }));
        let questions = beyond.into_iter().chain(moved.asks_of_lost(all_lost)).chain(surprises).collect();
        Ok(MovePlan {
            evaporated: moved.evaporated(source),
            lost: all_lost,
            stays: if moved.empties { Volume::ZERO } else { stays },
            lot,
            before: self.turbidity_of(asked.from),
            barred: what.deed().barred(self),
            questions,
            moved,
        })
    }
}
