//! The page of a bottling run: every bottle and every litre of it, and how the run goes on.

mod account;

use ratatui::text::Line;

use crate::cellar::core::fact::FactId;
use crate::cellar::core::label::Label;
use crate::cellar::jobs::bottles::bottling::run::{Run, Stretch};
use crate::cellar::jobs::bottles::bottling::size;
use crate::tui::bottles::bins;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn};
use crate::tui::core::sense::Sense;
use crate::tui::core::text::shown;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::who;
use crate::tui::core::work::{Answer, Entered};
use crate::tui::finish::bottling::{self, Field, Form};

/// A run on the screen.
#[derive(Clone, Debug, PartialEq)]
pub struct RunPage {
    /// Which run.
    pub run: Label,
    /// The bin that it was come to from, if it was.
    place: Option<Label>,
    /// From which line on it is shown.
    line: usize,
    /// Who entered its stretches, as far as it was looked up.
    who: Vec<Entered>,
}

impl Table for RunPage {
    const ABOUT: About = About {
        name: "A bottling run",
        purpose: "Every bottle and every litre of a run: where its bottles lie, what went out and why, by lot code; how it was filled, \
                  stretch by stretch, whether the measured fills hold, and how its bottles taste as they grow older.",
        opens: Opens::From("its name in the find box opens it"),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<RunPage>] = &[
        Row::new(Sense::Begin, "The run goes on", "Writes down another stretch of this run, after a stop.", |page: &mut RunPage, model| page.again(model)).word(|_, _| Some("goes on".to_owned())).unless(RunPage::why_no_stretch),
        Row::new(Sense::OtherSide, "The next run of this bin", "Shows the next run whose bottles lie in the same bin.", |page: &mut RunPage, model| page.turn_to_next(model)).word(|_, _| Some("next run".to_owned())).unless(RunPage::why_no_other),
        Row::UNDO,
        Row::REDO,
    ];
}

impl RunPage {
    fn new(run: Label, place: Option<Label>) -> RunPage {
        RunPage { run, place, line: 0, who: Vec::new() }
    }

    /// The facts by which it was filled.
    fn facts(&self, model: &Model) -> Vec<FactId> {
        let run = model.state.runs.by_label(self.run.as_str());
        run.map_or_else(Vec::new, |run| run.stretches.iter().map(|stretch| stretch.fact.clone()).collect())
    }

    /// The run after this one in the bin that it was come to from, and after the last the first.
    fn next(&self, model: &Model) -> Option<Label> {
        let runs = bins::runs_at(&model.state, self.place.as_ref()?);
        let after = runs.iter().position(|run| *run == self.run).map_or(0, |at| at + 1);
        runs.get(after).or(runs.first()).filter(|run| **run != self.run).cloned()
    }

    /// Why there is no other run to go to, if there is none.
    fn why_no_other(&self, model: &Model) -> Option<String> {
        let none = self.next(model).is_none();
        none.then(|| "Tab goes through the runs of a mixed bin. There is only this one here.".to_owned())
    }

    fn turn_to_next(&mut self, model: &mut Model) -> Turn {
        if let Some(run) = self.next(model) {
            *self = RunPage::new(run, self.place.clone());
        }
        self.wants(model).into()
    }

    /// Why the run cannot go on, if it cannot: the vessel that it was filled from last is empty.
    fn why_no_stretch(&self, model: &Model) -> Option<String> {
        model.why_read_only().or_else(|| {
            let run = model.state.runs.by_label(self.run.as_str())?;
            let vessel = model.state.vessels.get(run.stretches.last()?.vessel);
            let label = &vessel.label;
            vessel.wine.is_empty().then(|| {
                format!("{label} is empty. Go to the vessel with the rest, press enter there to bottle it, and give the run's label.")
            })
        })
    }

    /// Writes down another stretch of the run, after a stop.
    fn again(&mut self, model: &mut Model) -> Turn {
        let Some(run) = model.state.runs.by_label(self.run.as_str()) else { return Turn::stay() };
        let Some(last) = run.stretches.last() else { return Turn::stay() };
        let vessel = model.state.vessels.get(last.vessel).label.clone();
        let form = form_of(run, last);
        bottling::go_on(model, vessel, form)
    }
}

impl Page for RunPage {
    fn title(&self, model: &Model) -> String {
        shown(&format!("The run {}", self.run), model.looks.marks)
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        account::lines(model, self, width)
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.line)
    }

    /// Where the run was taken back, what was written of it is there again.
    fn stored(&mut self, model: &mut Model, _then: Then) -> Turn {
        if bottling::bring_back(model, &self.run) {
            model.say_also("What was written stands here again.", Tone::Done);
            return Turn::back();
        }
        if model.state.runs.find(self.run.as_str()).is_none() { Turn::back() } else { Turn::stay() }
    }

    fn enter_word(&self, model: &Model) -> Option<String> {
        bottling::is_to_bring_back(model, &self.run).then(|| "what was written".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        bottling::bring_back(model, &self.run).then(Turn::back)
    }

    /// A run that was taken back stays in sight until what was written of it is brought back.
    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let is_there = model.state.runs.find(self.run.as_str()).is_some();
        if is_there || bottling::is_to_bring_back(model, &self.run) {
            return Followed::There;
        }
        Followed::Gone(self.run.to_string())
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        let facts = self.facts(model);
        who::take(&mut self.who, &facts, answer)
    }

    fn wants(&mut self, model: &mut Model) -> Wishes {
        who::wish(self.facts(model), &self.who)
    }
}

/// Shows a run, where it is there, and wishes to know who entered it.
pub(in crate::tui) fn show(model: &mut Model, run: &Label) -> Wishes {
    open(model, RunPage::new(run.clone(), None))
}

/// Shows the run in a bin: of several the first.
pub(in crate::tui) fn show_of_bin(model: &mut Model, place: &Label) -> Wishes {
    let run = bins::runs_at(&model.state, place).into_iter().next();
    run.map_or_else(Vec::new, |run| open(model, RunPage::new(run, Some(place.clone()))))
}

fn open(model: &mut Model, mut page: RunPage) -> Wishes {
    if model.state.runs.find(page.run.as_str()).is_none() {
        return Vec::new();
    }
    let wishes = page.wants(model);
    model.open(page);
    wishes
}

/// What a further stretch of a run has in common with its last.
fn form_of(run: &Run, last: &Stretch) -> Form {
    let mut form = Form::new(Some(run.label.clone()), Some(last.lot_code.clone()));
    form.put(Field::Bottle, &size(run.bottle));
    if let Some(closure) = &last.closure {
        form.put(Field::Closure, closure.as_str());
    }
    let written = last.materials.iter().map(|used| match &used.batch {
        Some(batch) => format!("{}: {batch}", used.material),
        None => used.material.to_string(),
    });
    form.put(Field::Materials, &written.collect::<Vec<_>>().join(", "));
    form
}
