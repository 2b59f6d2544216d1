//! The page of a lot: opened from a barrel or by name, alone or beside another lot, and left for its barrels.

mod course;
mod finish;
mod sheet;
mod sulfur;

use std::sync::Arc;

use crate::cellar::label::Label;
use crate::cellar::lot_review::LotReview;
use crate::cellar::moment::Moment;
use crate::cellar::state::{LotId, State, VesselId};
use crate::cellar::table::Id;
use crate::tui::colouring::Colouring;
use crate::tui::model::{Mode, Model, Tone};

pub(super) use self::sheet::page;

/// A lot on the screen, or two.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LotPage {
    /// The lot.
    pub lot: Label,
    /// The one beside it.
    pub beside: Option<Label>,
    /// From which line on it is shown.
    pub line: usize,
}

impl LotPage {
    /// The page of a lot alone.
    #[must_use]
    pub fn new(lot: Label) -> LotPage {
        LotPage { lot, beside: None, line: 0 }
    }

    /// The same page in another state of the cellar; none where the lot is not there.
    pub(super) fn followed(mut self, state: &State) -> Option<LotPage> {
        let is_there = |lot: &Label| state.lots.find(lot.as_str()).is_some();
        self.beside = self.beside.filter(is_there);
        is_there(&self.lot).then_some(self)
    }
}

/// The reviews of the lots on the page, kept from frame to frame: only another state of the cellar, another lot or another
/// minute makes others of them.
#[derive(Clone, Debug)]
pub struct Reviewed {
    lots: (Label, Option<Label>),
    minute: i64,
    /// The review of the lot, and of the one beside it.
    pub reviews: Arc<[LotReview]>,
}

impl Reviewed {
    fn of(state: &State, page: &LotPage, now: Moment) -> Reviewed {
        let lots = [Some(&page.lot), page.beside.as_ref()].into_iter().flatten();
        let reviews = lots.filter_map(|lot| Some(state.review(state.lots.find(lot.as_str())?, now))).collect();
        Reviewed { lots: (page.lot.clone(), page.beside.clone()), minute: minute(now), reviews }
    }

    fn is_of(&self, page: &LotPage, now: Moment) -> bool {
        (&self.lots.0, &self.lots.1, self.minute) == (&page.lot, &page.beside, minute(now))
    }
}

/// The minute on the wall: a barrel's days are counted by the date there.
fn minute(now: Moment) -> i64 {
    now.instant().div_euclid(60_000_000) + i64::from(now.offset_minutes())
}

impl Model {
    /// Keeps the reviews that the next frames show.
    pub(super) fn keep_reviews(&mut self) {
        let Mode::Lot(page) = &self.mode else {
            self.reviewed = None;
            return;
        };
        if !self.reviewed.as_ref().is_some_and(|kept| kept.is_of(page, self.now)) {
            self.reviewed = Some(Reviewed::of(&self.state, page, self.now));
        }
    }

    /// The reviews of the lots on a page: those that are kept, if they are of it.
    pub(super) fn reviews(&self, page: &LotPage) -> Arc<[LotReview]> {
        let kept = self.reviewed.as_ref().filter(|kept| kept.is_of(page, self.now));
        kept.map_or_else(|| Reviewed::of(&self.state, page, self.now).reviews, |kept| kept.reviews.clone())
    }

    /// Why there is no lot to show, if there is none.
    #[must_use]
    pub fn why_no_lot(&self) -> Option<String> {
        let none = match self.chosen_vessel() {
            Some(vessel) if vessel.lot.is_some() => return None,
            Some(vessel) => {
                format!("{} holds no lot. Go to a barrel that holds wine, or press / to find one.", vessel.label)
            }
            None => "No barrel lies here. Go to one, or press / and write the lot's name.".to_owned(),
        };
        Some(none)
    }

    /// Why there is no other barrel of this lot to go to, if there is none.
    #[must_use]
    pub fn why_no_other_of_lot(&self) -> Option<String> {
        self.why_no_lot().or_else(|| {
            let (id, vessel) = self.chosen().zip(self.chosen_vessel())?;
            let label = &vessel.label;
            let alone = self.next_of_lot(vessel.lot?, Some(id)) == Some(id);
            alone.then(|| format!("{label} is the only vessel that holds this lot. / finds another lot."))
        })
    }

    /// Why the floor cannot show the barrels of the lot that is looked at, if it cannot.
    #[must_use]
    pub fn why_no_barrels_of_lot(&self) -> Option<String> {
        let label = &self.lot_page()?.lot;
        let lot = self.state.lots.find(label.as_str())?;
        let none = self.next_of_lot(lot, None).is_none();
        none.then(|| format!("No vessel holds {label} now. esc goes back."))
    }

    /// Why no lot can be put beside this one, if none can.
    #[must_use]
    pub fn why_no_lot_beside(&self) -> Option<String> {
        let page = self.lot_page()?;
        let none = lots_beside(&self.state, &page.lot).len() == 1;
        none.then(|| "There is no other lot that holds wine. esc goes back.".to_owned())
    }

    fn lot_page(&self) -> Option<&LotPage> {
        match &self.mode {
            Mode::Lot(page) => Some(page),
            _ => None,
        }
    }

    /// Opens the page of the lot in the chosen vessel.
    pub(super) fn review_lot(&mut self) {
        if let Some(lot) = self.chosen_vessel().and_then(|vessel| vessel.lot) {
            self.mode = Mode::Lot(LotPage::new(self.state.lots.get(lot).label.clone()));
        }
    }

    /// Puts the next lot beside this one, or the one before; after the last none.
    pub(super) fn turn_lot_beside(&mut self, by: isize) {
        let Mode::Lot(page) = &mut self.mode else { return };
        let choice = lots_beside(&self.state, &page.lot);
        let now = choice.iter().position(|lot| *lot == page.beside).unwrap_or(0);
        let count = isize::try_from(choice.len()).unwrap_or(1);
        let next = (isize::try_from(now).unwrap_or(0) + by).rem_euclid(count);
        page.beside.clone_from(&choice[usize::try_from(next).unwrap_or(0)]);
    }

    /// From the page of a lot to its first barrel on the floor.
    pub(super) fn show_barrels_of_lot(&mut self) {
        let Some(lot) = self.lot_page().and_then(|page| self.state.lots.find(page.lot.as_str())) else { return };
        let Some(first) = self.next_of_lot(lot, None) else { return };
        self.mode = Mode::Floor;
        self.colouring = Colouring::Lot;
        self.look_at(first);
        let label = &self.state.lots.get(lot).label;
        self.say(format!("The barrels of {label}: j goes to the next, i back to the lot."), Tone::Done);
    }

    /// Goes on to the next vessel of the lot in the chosen one.
    pub(super) fn go_to_next_of_lot(&mut self) {
        let lot = self.chosen_vessel().and_then(|vessel| vessel.lot);
        if let Some(next) = lot.and_then(|lot| self.next_of_lot(lot, self.chosen())) {
            self.look_at(next);
        }
    }

    /// The vessel of a lot after another one as one walks, and after the last the first.
    fn next_of_lot(&self, lot: LotId, after: Option<VesselId>) -> Option<VesselId> {
        let vessels = self.state.vessels_of(lot);
        let at = vessels.iter().position(|&id| Some(id) == after).map_or(0, |at| at + 1);
        vessels.get(at).or(vessels.first()).copied()
    }
}

/// What may stand beside a lot: nothing, then every other lot that holds wine.
fn lots_beside(state: &State, lot: &Label) -> Vec<Option<Label>> {
    let mut holds_wine = vec![false; state.lots.len()];
    for (_, vessel) in state.vessels.iter() {
        if let Some(lot) = vessel.lot {
            holds_wine[lot.index()] = true;
        }
    }
    let others = state.lots.iter().zip(holds_wine).filter(|((_, other), holds)| *holds && other.label != *lot);
    std::iter::once(None).chain(others.map(|((_, other), _)| Some(other.label.clone()))).collect()
}
