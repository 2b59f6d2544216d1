//! How a lot tastes: the last taste of each of its vessels, together.

use std::cmp::Reverse;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, Vessel, VesselId};
use crate::reckon::spread::Spread;

/// Less than a point on the scale of twenty is no word worth (our choice).
const A_POINT: f64 = 1.0;

/// The last tastes of a lot's vessels. A taste of what a vessel held before is not of this lot.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tastes {
    /// How many vessels were tasted.
    pub tasted: usize,
    /// When the first and the last of these tastes were.
    pub between: Option<(Moment, Moment)>,
    /// The scores, as one walks.
    pub scores: Vec<(VesselId, f64)>,
    /// How the scores lie together.
    pub spread: Option<Spread>,
    /// The vessels whose scores stand out from the others (see [`Spread::stands_out`]; by at least a point).
    pub outliers: Vec<(VesselId, f64)>,
    /// The marks with how many vessels have them, the most frequent first.
    pub marks: Vec<(Label, usize)>,
    /// The vessels with a mark that names a fault.
    pub faults: Vec<VesselId>,
}

/// The tastes of a lot while they are gathered.
#[derive(Default)]
pub(super) struct Gathering {
    tastes: Tastes,
    marks: Vec<Counted>,
}

/// A mark while it is counted. Whether it names a fault is asked once: that goes through all marks that there are.
struct Counted {
    mark: Label,
    vessels: usize,
    fault: bool,
}

impl Gathering {
    pub(super) fn add(&mut self, state: &State, id: VesselId, vessel: &Vessel) {
        let of_this_wine = |at: Moment| vessel.filled.is_some_and(|filled| at.instant() >= filled.instant());
        let Some(taste) = vessel.taste.as_deref().filter(|taste| of_this_wine(taste.at)) else { return };
        let tastes = &mut self.tastes;
        tastes.tasted += 1;
        let (first, last) = tastes.between.unwrap_or((taste.at, taste.at));
        let earlier = if taste.at.instant() < first.instant() { taste.at } else { first };
        let later = if taste.at.instant() > last.instant() { taste.at } else { last };
        tastes.between = Some((earlier, later));
        tastes.scores.extend(taste.score.map(|score| (id, score)));
        let mut has_fault = false;
        for (index, mark) in taste.marks.iter().enumerate() {
            let again = taste.marks[..index].contains(mark);
            let counted = self.counted(state, mark);
            counted.vessels += usize::from(!again);
            has_fault |= counted.fault;
        }
        if has_fault {
            self.tastes.faults.push(id);
        }
    }

    fn counted(&mut self, state: &State, mark: &Label) -> &mut Counted {
        // A lot is told in a few dozen marks at most, so that looking through them is quicker than any tree.
        let index = self.marks.iter().position(|counted| counted.mark == *mark).unwrap_or_else(|| {
            let fault = state.mark_called(mark.as_str()).is_some_and(|mark| mark.fault);
            self.marks.push(Counted { mark: mark.clone(), vessels: 0, fault });
            self.marks.len() - 1
        });
        &mut self.marks[index]
    }

    pub(super) fn finish(self) -> Tastes {
        let mut tastes = self.tastes;
        let scores: Vec<f64> = tastes.scores.iter().map(|&(_, score)| score).collect();
        tastes.spread = Spread::of(&scores);
        let stands_out = |score| tastes.spread.is_some_and(|spread| spread.stands_out(score, A_POINT));
        tastes.outliers = tastes.scores.iter().copied().filter(|&(_, score)| stands_out(score)).collect();
        tastes.marks = self.marks.into_iter().map(|counted| (counted.mark, counted.vessels)).collect();
        tastes.marks.sort_by(|a, b| (Reverse(a.1), &a.0).cmp(&(Reverse(b.1), &b.0)));
        tastes
    }
}
