//! The lines of the results, and what stands in their cells.

use chrono::NaiveDate;

use super::{ResultsPage, Spot};
use crate::cellar::core::fact::{FactId, What};
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::tests::testing::{KeptTests, Test, Tested};
use crate::cellar::views::tests::results::Finding;
use crate::import::tests::Of;
use crate::tui::core::model::Model;

/// What a line is of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Thing {
    /// What kind of thing.
    pub of: Of,
    /// Its label.
    pub label: Label,
}

impl Thing {
    /// What a test is of.
    pub fn of_test(tested: &Tested) -> Option<Thing> {
        let named = [(Of::Vessel, &tested.vessel), (Of::Sample, &tested.sample), (Of::Lot, &tested.lot)];
        named.into_iter().find_map(|(of, label)| Some(Thing { of, label: label.clone()? }))
    }

    /// The tests among which its own are.
    fn tests<'s>(&self, state: &'s State) -> Vec<&'s KeptTests> {
        let label = self.label.as_str();
        match self.of {
            Of::Vessel => state.vessels.by_label(label).map(|vessel| &*vessel.tests).into_iter().collect(),
            Of::Lot => state.lots.by_label(label).map(|lot| &*lot.tests).into_iter().collect(),
            Of::Sample => {
                let drawn = state.samples.by_label(label).map_or(&[][..], |sample| &sample.drawn);
                let mut lots: Vec<_> = drawn.iter().filter_map(|drawn| drawn.lot).collect();
                lots.sort_unstable();
                lots.dedup();
                lots.into_iter().map(|lot| &*state.lots.get(lot).tests).collect()
            }
        }
    }

    /// Whether a test tells of all of it: one of a single barrel does not tell of a lot in many.
    fn is_told_by(&self, state: &State, test: &Test) -> bool {
        let label = self.label.as_str();
        match self.of {
            Of::Vessel => true,
            Of::Sample => test.sample.as_ref() == Some(&self.label),
            Of::Lot => {
                let lot = state.lots.find(label);
                let holding = || state.vessels.iter().filter(|(_, vessel)| vessel.lot == lot).take(2).count();
                test.is_composite() || test.vessels.is_empty() || holding() < 2
            }
        }
    }

    /// What was found of it before, on a day or earlier, with when.
    pub fn found_before(&self, state: &State, finding: &Finding, day: NaiveDate) -> Option<(f64, Moment)> {
        let tests = self.tests(state).into_iter().flat_map(|tests| tests.iter().rev());
        let telling = tests.map(|(_, test)| test).filter(|test| test.at.date() <= day);
        let found = |test: &Test| Some((finding.found_by(test)?, test.at));
        telling
            .filter_map(|test| Some((test, found(test)?)))
            .find(|(test, _)| self.is_told_by(state, test))
            .map(|(_, found)| found)
    }
}

/// A test that stands on the page and takes more.
#[derive(Clone, Copy, Debug)]
pub(super) struct OnPage<'a> {
    /// Which fact.
    pub id: &'a FactId,
    /// When it was.
    pub at: Moment,
    /// What it says.
    pub tested: &'a Tested,
}

/// All tests of a day, of whichever vessel or lot; some of them more than once.
pub(super) fn tests_of_day(state: &State, day: NaiveDate) -> impl Iterator<Item = &Test> {
    let of_lots = state.lots.iter().flat_map(move |(_, lot)| lot.tests.of_day(day));
    // A vessel that holds no lot keeps its tests by itself.
    let alone = state.vessels.iter().filter(|(_, vessel)| vessel.lot.is_none());
    of_lots.chain(alone.flat_map(move |(_, vessel)| vessel.tests.of_day(day)))
}

impl ResultsPage {
    /// What a fact of a test says, where that was looked up.
    fn tested(&self, id: &FactId) -> Option<&Tested> {
        let entered = self.entered.iter().find(|entered| entered.fact == *id)?;
        match &entered.what {
            Some(What::Tested(tested)) => Some(tested),
            _ => None,
        }
    }

    /// The tests of a thing that stand on the page: of its day and its laboratory, the last first, and of the wine as it was after them.
    pub(super) fn on_page<'a>(&'a self, model: &'a Model, thing: &Thing) -> Vec<OnPage<'a>> {
        let (state, day) = (&model.state, self.day(model));
        let tests = thing.tests(state).into_iter().flat_map(|tests| tests.of_day(day));
        let open = tests.filter(|test| state.is_same_wine_that_day(test));
        let known = open.filter_map(|test| Some(OnPage { id: &test.id, at: test.at, tested: self.tested(&test.id)? }));
        let own = |it: &OnPage<'_>| Thing::of_test(it.tested).as_ref() == Some(thing) && it.tested.lab == self.lab;
        known.filter(own).collect()
    }

    /// The test on the page that says something of a thing.
    pub(super) fn stored<'a>(&'a self, model: &'a Model, thing: &Thing, finding: &Finding) -> Option<OnPage<'a>> {
        self.on_page(model, thing).into_iter().find(|it| finding.said_by(it.tested).is_some())
    }

    /// The test in the chosen cell.
    pub(super) fn stored_here<'a>(&'a self, model: &'a Model) -> Option<OnPage<'a>> {
        self.stored(model, self.thing()?, self.finding()?)
    }

    /// Why there is nothing to take back, if there is nothing.
    pub(super) fn why_nothing_here(&self, model: &Model) -> Option<String> {
        let none = "Nothing of this day is stored in this cell. u takes back what was entered last.";
        model.why_read_only().or_else(|| self.stored_here(model).is_none().then(|| none.to_owned()))
    }

    /// Brings the lines up to the cellar as it is: every lot that holds wine, what was tested by itself on the day, what was added. Those that stand there keep
    /// their order.
    pub(super) fn gather(&mut self, model: &Model) {
        let state = &model.state;
        let chosen = self.thing().cloned();
        let holding = state.lots.iter().filter(|(id, _)| state.vessels.iter().any(|(_, it)| it.lot == Some(*id)));
        let mut lots: Vec<Label> = holding.map(|(_, lot)| lot.label.clone()).collect();
        lots.sort_unstable();
        let of_day = tests_of_day(state, self.day(model)).filter_map(|test| self.tested(&test.id));
        let tested = of_day.filter_map(Thing::of_test).filter(|thing| thing.of != Of::Lot);
        let lots = lots.into_iter().map(|label| Thing { of: Of::Lot, label });
        let mut there: Vec<Thing> = lots.chain(tested).chain(self.added.iter().cloned()).collect();
        there.extend(chosen.clone());
        let mut things: Vec<Thing> = self.things.iter().filter(|thing| there.contains(thing)).cloned().collect();
        for thing in there {
            if !things.contains(&thing) {
                things.push(thing);
            }
        }
        self.things = things;
        if let Some(at) = chosen.and_then(|chosen| self.things.iter().position(|thing| *thing == chosen)) {
            self.spot = Spot::Line(at);
        }
    }
}
