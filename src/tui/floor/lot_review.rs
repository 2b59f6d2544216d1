//! The page of a lot: opened from a barrel or by name, alone or beside another lot, and left for its barrels.

mod course;
mod finish;
mod sheet;
mod sulfur;

use std::sync::Arc;

use ratatui::text::Line;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::core::table::Id;
use crate::cellar::views::floor::lot_review::LotReview;
use crate::tui::books::journal;
use crate::tui::books::trace::{self, Traced};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::finish::{bottling, checklist};
use crate::tui::floor::colouring::Colouring;
use crate::tui::floor::page::Floor;
use crate::tui::tests::{drawing, results};

/// A lot on the screen, or two.
#[derive(Clone, Debug)]
pub struct LotPage {
    /// The lot.
    pub lot: Label,
    /// The one beside it.
    pub beside: Option<Label>,
    /// From which line on it is shown.
    line: usize,
    /// Their reviews.
    kept: Reviewed,
}

/// The reviews of the lots on the page, kept from frame to frame: only another state of the cellar, another lot or another
/// minute makes others of them.
#[derive(Clone, Debug)]
struct Reviewed {
    minute: i64,
    /// The review of the lot, and of the one beside it.
    reviews: Arc<[LotReview]>,
}

impl Reviewed {
    fn of(model: &Model, lot: &Label, beside: Option<&Label>) -> Reviewed {
        let (state, now) = (&model.state, model.now);
        let lots = [Some(lot), beside].into_iter().flatten();
        let reviews = lots.filter_map(|lot| Some(state.review(state.lots.find(lot.as_str())?, now))).collect();
        Reviewed { minute: minute(now), reviews }
    }
}

/// The minute on the wall: a barrel's days are counted by the date there.
fn minute(now: Moment) -> i64 {
    now.instant().div_euclid(60_000_000) + i64::from(now.offset_minutes())
}

impl Table for LotPage {
    const ABOUT: About = About {
        name: "The lot",
        purpose: "What is known of a whole lot: what it lies in, of which wood, how it tastes, its sulfur dioxide and how long that will \
                  last, what the law allows, its tests through time, and what is open before it is bottled.\n\
                  Another lot may stand beside it, line by line.",
        opens: Opens::ByWays(&[Way {
            sense: Some(Sense::Lot),
            title: "The lot",
            help: "Shows what is known of the whole lot of this barrel: its wood, tastes, tests, holds.",
            also: &[
                "wood",
                "sulfur",
                "tests",
                "total SO2",
                "limit",
                "alarm",
                "volatile acidity",
                "VA",
                "trend",
                "outlier",
            ],
            why_not: Model::why_no_lot,
            open: |model| {
                if let Some(lot) = model.chosen_vessel().and_then(|vessel| vessel.lot) {
                    show(model, model.state.lots.get(lot).label.clone());
                }
                Vec::new()
            },
        }]),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<LotPage>] = &[
        Row::new(Sense::Same, "Its barrels on the floor", "Goes to the lot's first barrel and shows the lots by their letters; there the same key goes on to the next.", LotPage::show_barrels).word(|_, _| Some("its barrels".to_owned())).unless(LotPage::why_no_barrels),
        Row::new(Sense::Choose, "Another lot beside it", "Shows the next lot beside this one, and after the last this one alone.", |page: &mut LotPage, model| page.turn_beside(model, 1)).word(|_, _| Some("compare".to_owned())).unless(LotPage::why_alone),
        Row::new(Sense::Before, "The lot before beside it", "Goes back by one lot beside this one.", |page: &mut LotPage, model| page.turn_beside(model, -1)).word(|page, _| page.beside.as_ref().map(|_| "one back".to_owned())).unless(LotPage::why_alone),
        Row::new(Sense::After, "The next lot beside it", "Goes on by one lot beside this one.", |page: &mut LotPage, model| page.turn_beside(model, 1)).unless(LotPage::why_alone),
        Row::listed("Before bottling", "Shows the checklist of this lot: what was tested, ticked and waived, and what is open before it may be bottled.", LotPage::show_checklist).also(&["checklist", "stable"]),
        Row::listed("Bottle it", "Plans the bottling of the vessel that holds most of this lot, writes down its run, and accounts for every litre and bottle.", LotPage::bottle).also(&["bottling", "run"]).unless(|page, model| model.why_no_bottling_of(page.id(model).and_then(|lot| bottling::most_of(model, lot)))),
        Row::listed("Plan a sample", "Says how much to draw of each vessel of this lot for a composite, and enters it once it is drawn.", LotPage::sample).also(&["sample", "composite", "what to draw"]),
        Row::listed("Laboratory tests", "Enters what a laboratory found of this lot and others.", |page: &mut LotPage, model| results::open_at(model, page.id(model)).into()).also(&["results", "analyses", "enter tests"]),
        Row::listed("The journal of this lot", "Shows what was entered of this lot and of the vessels that hold it, by day.", |page: &mut LotPage, model| journal::open_of(model, Some(page.lot.clone())).into()).also(&["journal", "correct"]),
        Row::listed("Trace to the bottles", "Follows this lot to every bottle: where it lies, and who got it.", |page: &mut LotPage, model| trace::open(model, Traced::Lot(page.lot.clone())).into()).also(&["recall"]),
    ];
}

/// Opens the page of a lot.
pub(in crate::tui) fn show(model: &mut Model, lot: Label) {
    let kept = Reviewed::of(model, &lot, None);
    model.open(LotPage { lot, beside: None, line: 0, kept });
}

impl LotPage {
    fn id(&self, model: &Model) -> Option<LotId> {
        model.state.lots.find(self.lot.as_str())
    }

    /// The reviews of the lots on the page: those that are kept, while they are of this minute.
    #[must_use]
    pub fn reviews(&self, model: &Model) -> Arc<[LotReview]> {
        if self.kept.minute == minute(model.now) {
            return Arc::clone(&self.kept.reviews);
        }
        Reviewed::of(model, &self.lot, self.beside.as_ref()).reviews
    }

    fn review(&mut self, model: &Model) {
        self.kept = Reviewed::of(model, &self.lot, self.beside.as_ref());
    }

    /// Why the floor cannot show its barrels, if it cannot.
    fn why_no_barrels(&self, model: &Model) -> Option<String> {
        let none = model.next_of_lot(self.id(model)?, None).is_none();
        none.then(|| format!("No vessel holds {} now. esc goes back.", self.lot))
    }

    /// Why no lot can be put beside it, if none can.
    fn why_alone(&self, model: &Model) -> Option<String> {
        let none = lots_beside(&model.state, &self.lot).len() == 1;
        none.then(|| "There is no other lot that holds wine. esc goes back.".to_owned())
    }

    /// Puts the next lot beside this one, or the one before; after the last none.
    fn turn_beside(&mut self, model: &mut Model, by: isize) -> Turn {
        let choice = lots_beside(&model.state, &self.lot);
        let now = choice.iter().position(|lot| *lot == self.beside).unwrap_or(0);
        let count = isize::try_from(choice.len()).unwrap_or(1);
        let next = (isize::try_from(now).unwrap_or(0) + by).rem_euclid(count);
        self.beside.clone_from(&choice[usize::try_from(next).unwrap_or(0)]);
        self.review(model);
        Turn::stay()
    }

    /// Goes to its first barrel on the floor.
    fn show_barrels(&mut self, model: &mut Model) -> Turn {
        let Some(first) = self.id(model).and_then(|lot| model.next_of_lot(lot, None)) else { return Turn::stay() };
        if let Some(floor) = model.floor_mut::<Floor>() {
            floor.colouring = Colouring::Lot;
        }
        model.look_at(first);
        model.say(format!("The barrels of {}: j goes to the next, i back to the lot.", self.lot), Tone::Done);
        Turn::to_floor()
    }

    fn show_checklist(&mut self, model: &mut Model) -> Turn {
        self.id(model).map_or_else(Vec::new, |lot| checklist::show(model, lot)).into()
    }

    fn sample(&mut self, model: &mut Model) -> Turn {
        if let Some(lot) = self.id(model) {
            drawing::open(model, lot);
        }
        Turn::stay()
    }

    fn bottle(&mut self, model: &mut Model) -> Turn {
        if let Some(vessel) = self.id(model).and_then(|lot| bottling::most_of(model, lot)) {
            bottling::open_of(model, vessel);
        }
        Turn::stay()
    }
}

impl Page for LotPage {
    fn title(&self, _model: &Model) -> String {
        match &self.beside {
            None => format!("The lot {}", self.lot),
            Some(beside) => format!("{} beside {beside}", self.lot),
        }
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        sheet::lines(model, &self.reviews(model), width)
    }

    fn is_wide(&self) -> bool {
        true
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.line)
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        if self.id(model).is_none() {
            return Followed::Gone(self.lot.to_string());
        }
        let beside = self.beside.take();
        self.beside = beside.clone().filter(|lot| model.state.lots.find(lot.as_str()).is_some());
        self.review(model);
        match beside.filter(|_| self.beside.is_none()) {
            Some(gone) => Followed::Otherwise(format!("{gone} is not here any more.")),
            None => Followed::There,
        }
    }
}

impl Model {
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
