//! How a lot tastes: the last taste of each of its vessels, together.

use std::cmp::Reverse;

use crate::cellar::label::Label;
use crate::cellar::moment::Moment;
use crate::cellar::state::{State, Vessel, VesselId};
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

impl Tastes {
    pub(super) fn add(&mut self, state: &State, id: VesselId, vessel: &Vessel) {
        let of_this_wine = |at: Moment| vessel.filled.is_some_and(|filled| at.instant() >= filled.instant());
        let Some(taste) = vessel.taste.as_deref().filter(|taste| of_this_wine(taste.at)) else { return };
        self.tasted += 1;
        let (first, last) = self.between.unwrap_or((taste.at, taste.at));
        let earlier = if taste.at.instant() < first.instant() { taste.at } else { first };
        let later = if taste.at.instant() > last.instant() { taste.at } else { last };
        self.between = Some((earlier, later));
        self.scores.extend(taste.score.map(|score| (id, score)));
        if taste.has_fault(state) {
            self.faults.push(id);
        }
        for (index, mark) in taste.marks.iter().enumerate() {
            let again = taste.marks[..index].contains(mark);
            match self.marks.iter_mut().find(|(known, _)| known == mark) {
                Some((_, count)) => *count += usize::from(!again),
                None => self.marks.push((mark.clone(), 1)),
            }
        }
    }

    pub(super) fn finish(&mut self) {
        let scores: Vec<f64> = self.scores.iter().map(|&(_, score)| score).collect();
        self.spread = Spread::of(&scores);
        let stands_out = |score| self.spread.is_some_and(|spread| spread.stands_out(score, A_POINT));
        self.outliers = self.scores.iter().copied().filter(|&(_, score)| stands_out(score)).collect();
        self.marks.sort_by(|a, b| (Reverse(a.1), &a.0).cmp(&(Reverse(b.1), &b.0)));
    }
}
