//! A bottling run on the screen: where every bottle and every litre of it is, on one page.

use ratatui::text::Line;

use super::{BottlingPage, Form, draft, keep};
use crate::cellar::bottling::run::{Material, Run, Stretch};
use crate::cellar::bottling::size;
use crate::cellar::fact::FactId;
use crate::cellar::label::Label;
use crate::cellar::state::State;
use crate::reckon::bottling::{NO_ADVICE, check_fills};
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::text::shown;
use crate::tui::theme::Meaning;
use crate::tui::update::Wishes;
use crate::tui::who;
use crate::tui::work::Entered;
use crate::tui::work_pages::{litres, paragraph};

/// A run on the screen.
#[derive(Clone, Debug, PartialEq)]
pub struct RunPage {
    /// Which run.
    pub run: Label,
    /// From which line on it is shown.
    pub line: usize,
    /// Who entered its stretches, as far as it was looked up.
    pub who: Vec<Entered>,
}

impl RunPage {
    /// The same page in another state of the cellar; none where the run is not there.
    pub(in crate::tui) fn followed(self, state: &State) -> Option<RunPage> {
        state.runs.find(self.run.as_str()).map(|_| self)
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
}

/// Shows a run, where it is there, and wishes to know who entered it.
pub(in crate::tui) fn show(model: &mut Model, run: &Label) -> Wishes {
    let page = RunPage { run: run.clone(), line: 0, who: Vec::new() };
    model.mode = page.followed(&model.state).map_or(Mode::Floor, Mode::Run);
    who::ask(model)
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

/// What stands over the page.
pub(in crate::tui) fn title(model: &Model, page: &RunPage) -> String {
    shown(&format!("The run {}", page.run), model.looks.marks)
}

/// The lines of the page.
pub(in crate::tui) fn lines(model: &Model, page: &RunPage, width: usize) -> Vec<Line<'static>> {
    let Some(run) = model.state.runs.by_label(page.run.as_str()) else { return Vec::new() };
    let bullet = model.looks.marks.bullet;
    let mut lines = Vec::new();
    let mut say = |text: &str, meaning| lines.extend(paragraph(model, text, width, meaning));
    say(&named(model, run), Meaning::Strong);
    say("Every bottle", Meaning::Title);
    say(&run.bottles_words(), if run.beyond == 0 { Meaning::Fine } else { Meaning::Over });
    for (place, laid) in run.laid() {
        let release = laid.release.map_or_else(String::new, |day| format!(", release {}", day.show()));
        say(&format!("{bullet} {} at {place}{release}", laid.there), Meaning::Base);
    }
    for out in run.out_by_cause() {
        let to = out.to.map_or_else(String::new, |to| format!(", to {}", to.as_str()));
        say(&format!("{bullet} {} out: {}{to}", out.bottles, out.why.as_str()), Meaning::Base);
    }
    say("Every litre", Meaning::Title);
    say(&run.litres_words(), Meaning::Fine);
    for id in run.vessels() {
        let vessel = model.state.vessels.get(id);
        let holds = if vessel.wine.is_empty() {
            "is empty".to_owned()
        } else {
            format!("still holds {}", litres(vessel.volume()))
        };
        say(&format!("{bullet} {} {holds}", vessel.label), Meaning::Base);
    }
    say("Filled", Meaning::Title);
    for stretch in run.stretches.iter() {
        say(&format!("{bullet} {}", stretch_words(model, page, stretch)), Meaning::Base);
    }
    let fills = run.fills();
    let sides = model.state.practice.sides();
    let checks: Vec<_> = sides.iter().filter_map(|&rules| check_fills(&fills, run.bottle, rules).ok()).collect();
    if checks.is_empty() {
        say("No fill was measured.", Meaning::Muted);
    } else {
        for check in checks {
            say(&check.words(), if check.holds() { Meaning::Fine } else { Meaning::Over });
        }
        say(NO_ADVICE, Meaning::Muted);
    }
    lines
}

/// Of which lots and when, into what, and the codes on the bottles.
fn named(model: &Model, run: &Run) -> String {
    let lots: Vec<&str> = run.lots().iter().map(|&lot| model.state.lots.get(lot).label.as_str()).collect();
    let codes: Vec<&str> = run.lot_codes().into_iter().map(Label::as_str).collect();
    let on = run.ended().map_or_else(String::new, |(_, last)| format!(", {}", last.show_date()));
    format!(
        "{} bottles of {}, {}{on}, lot code {}",
        run.bottles(),
        size(run.bottle),
        lots.join(" and "),
        codes.join(", ")
    )
}

/// A stretch: when, from where, how many, how fast, and what else was written down.
fn stretch_words(model: &Model, page: &RunPage, stretch: &Stretch) -> String {
    let mut parts = vec![format!(
        "until {} from {}: {} bottles, {} lost",
        stretch.at.show_time(),
        model.state.vessels.get(stretch.vessel).label,
        stretch.bottles,
        litres(stretch.loss)
    )];
    parts.extend(stretch.bottles_an_hour().map(|an_hour| format!("{an_hour} an hour")));
    parts.extend(stretch.oxygen_mg_l.map(|oxygen| format!("oxygen {oxygen} mg/L")));
    parts.extend(stretch.closure.as_ref().map(ToString::to_string));
    parts.extend(stretch.materials.iter().map(Material::words));
    let entered = page.who.iter().find(|it| it.fact == stretch.fact);
    parts.extend(entered.and_then(|it| it.by.as_ref()).map(|by| format!("by {by}")));
    parts.extend(entered.and_then(|it| it.note.as_ref()).map(|note| note.as_str().to_owned()));
    parts.join(", ")
}
