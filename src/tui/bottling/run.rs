//! The page of a bottling run on the screen: how one comes to it, leaves it, and goes on with the run.

mod account;

use super::{BottlingPage, Form, draft, keep};
use crate::cellar::bottling::run::{Run, Stretch};
use crate::cellar::bottling::size;
use crate::cellar::fact::FactId;
use crate::cellar::label::Label;
use crate::cellar::state::State;
use crate::tui::bottles::bins;
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::update::Wishes;
use crate::tui::who;
use crate::tui::work::Entered;

pub(in crate::tui) use self::account::{lines, title};

/// A run on the screen.
#[derive(Clone, Debug, PartialEq)]
pub struct RunPage {
    /// Which run.
    pub run: Label,
    /// The bin that it was come to from, if it was.
    pub place: Option<Label>,
    /// From which line on it is shown.
    pub line: usize,
    /// Who entered its stretches, as far as it was looked up.
    pub who: Vec<Entered>,
}

impl RunPage {
    fn new(run: Label, place: Option<Label>) -> RunPage {
        RunPage { run, place, line: 0, who: Vec::new() }
    }

    /// The same page in another state of the cellar; none where the run is not there.
    pub(in crate::tui) fn followed(self, state: &State) -> Option<RunPage> {
        state.runs.find(self.run.as_str()).map(|_| self)
    }

    /// The run after this one in the bin that it was come to from, and after the last the first.
    fn next(&self, state: &State) -> Option<Label> {
        let runs = bins::runs_at(state, self.place.as_ref()?);
        let after = runs.iter().position(|run| *run == self.run).map_or(0, |at| at + 1);
        runs.get(after).or(runs.first()).filter(|run| **run != self.run).cloned()
    }
}

impl Model {
    /// Why the run on the screen cannot go on, if it cannot: the vessel that it was filled from last is empty.
    #[must_use]
    pub fn why_no_stretch_of_run(&self) -> Option<String> {
        self.why_read_only().or_else(|| {
            let Mode::Run(page) = &self.mode else { return None };
            let run = self.state.runs.by_label(page.run.as_str())?;
            let vessel = self.state.vessels.get(run.stretches.last()?.vessel);
            let label = &vessel.label;
            vessel.wine.is_empty().then(|| {
                format!("{label} is empty. Go to the vessel with the rest, press * there, and give the run's label.")
            })
        })
    }

    /// Why there is no other run to go to, if there is none.
    #[must_use]
    pub fn why_no_other_run(&self) -> Option<String> {
        let Mode::Run(page) = &self.mode else { return None };
        let none = page.next(&self.state).is_none();
        none.then(|| "Tab goes through the runs of a mixed bin. There is only this one here.".to_owned())
    }
}

/// Shows a run, where it is there, and wishes to know who entered it.
pub(in crate::tui) fn show(model: &mut Model, run: &Label) -> Wishes {
    turn_to(model, RunPage::new(run.clone(), None))
}

/// Shows the run in the bin under the cursor: of several the first.
pub(in crate::tui) fn show_of_bin(model: &mut Model, place: &Label) -> Wishes {
    let Some(run) = bins::runs_at(&model.state, place).into_iter().next() else { return Vec::new() };
    let page = RunPage::new(run, Some(place.clone()));
    turn_to(model, page)
}

/// Shows the next run of the same bin.
pub(in crate::tui) fn next(model: &mut Model) -> Wishes {
    let Mode::Run(page) = &model.mode else { return Vec::new() };
    let Some(run) = page.next(&model.state) else { return Vec::new() };
    let page = RunPage::new(run, page.place.clone());
    turn_to(model, page)
}

fn turn_to(model: &mut Model, page: RunPage) -> Wishes {
    model.mode = page.followed(&model.state).map_or(Mode::Floor, Mode::Run);
    who::ask(model)
}

/// Escape: back to the bins, or to the floor.
pub(in crate::tui) fn leave(model: &mut Model) {
    model.mode = Mode::Floor;
}

/// The facts by which a run was filled.
pub(in crate::tui) fn facts(model: &Model, page: &RunPage) -> Vec<FactId> {
    let run = model.state.runs.by_label(page.run.as_str());
    run.map_or_else(Vec::new, |run| run.stretches.iter().map(|stretch| stretch.fact.clone()).collect())
}

/// Goes on once something is stored. Where the run was taken back, what was written of it is there again.
pub(in crate::tui) fn stored(model: &mut Model, page: RunPage) {
    let is_back = |draft: &&BottlingPage| {
        draft.entered.as_ref().is_some_and(|(run, _)| *run == page.run) && !draft.stands(&model.state)
    };
    let back = model.drafts.iter().find(is_back).map(|draft| draft.vessel.clone());
    match back.and_then(|vessel| draft(model, &vessel)) {
        Some(written) => {
            model.mode = Mode::Bottling(BottlingPage { entered: None, ..written });
            model.say_also("What was written stands here again.", Tone::Done);
        }
        None => model.mode = page.followed(&model.state).map_or(Mode::Floor, Mode::Run),
    }
}

/// Writes down another stretch of the run, after a stop.
pub(in crate::tui) fn again(model: &mut Model) {
    let Mode::Run(page) = &model.mode else { return };
    let Some(run) = model.state.runs.by_label(page.run.as_str()) else { return };
    let Some(last) = run.stretches.last() else { return };
    let vessel = model.state.vessels.get(last.vessel).label.clone();
    let form = form_of(run, last);
    if let Some(waiting) = draft(model, &vessel)
        && waiting.changed
        && waiting.entered.is_none()
    {
        keep(model, waiting);
        model.say(format!("Another bottling of {vessel} is written and not entered: press * there."), Tone::Refused);
        return;
    }
    let mut next = BottlingPage::new(vessel, form);
    next.go_to(super::Field::Bottles);
    model.mode = Mode::Bottling(next);
}

/// What a further stretch of a run has in common with its last.
fn form_of(run: &Run, last: &Stretch) -> Form {
    let mut form = Form::new(Some(run.label.clone()), Some(last.lot_code.clone()));
    form.put(super::Field::Bottle, &size(run.bottle));
    if let Some(closure) = &last.closure {
        form.put(super::Field::Closure, closure.as_str());
    }
    let written = last.materials.iter().map(|used| match &used.batch {
        Some(batch) => format!("{}: {batch}", used.material),
        None => used.material.to_string(),
    });
    form.put(super::Field::Materials, &written.collect::<Vec<_>>().join(", "));
    form
}
