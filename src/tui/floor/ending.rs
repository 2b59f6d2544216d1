//! The summary of a work before it is closed: what is done and what is not, and where it filled a tank what that is gauged at.

use ratatui::text::Line;

use crate::cellar::core::fact::{FactId, What};
use crate::cellar::core::state::{State, VesselId, WorkId};
use crate::cellar::jobs::floor::work::{Task, Tick, WorkEnded};
use crate::cellar::jobs::topping::gauging::Gauged;
use crate::tui::bench::assemblage;
use crate::tui::core::asking;
use crate::tui::core::choice::choice_line;
use crate::tui::core::draw::paragraph;
use crate::tui::core::line::Manner;
use crate::tui::core::list::window;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn};
use crate::tui::core::text::fit;
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::floor::work_pages::names;
use crate::tui::topping::correcting::{self, Corrected};
use crate::units::{Volume, VolumeUnit, in_heading, poured};

/// So many transfers of a blend are in sight.
const GIVEN_SHOWN: usize = 6;
/// The longest figure that is typed.
const LONGEST: usize = 20;

/// The end of a work: its summary, and where it filled a tank what that was gauged at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ending {
    /// Which work.
    pub work: WorkId,
    /// The litres that are typed so far.
    pub gauged: String,
    /// The transfer of a blend that they correct; the tank was gauged where none is chosen.
    pub given: Option<FactId>,
    /// Whether litres can be typed: it filled a tank, which may be gauged.
    fills: bool,
    /// From which line on the page is shown.
    line: usize,
}

impl Ending {
    /// The end of a work, shown from its end: what is asked there is seen first.
    #[must_use]
    pub fn new(state: &State, work: WorkId) -> Ending {
        let fills = state.works.get(work).task.fills().is_some();
        Ending { work, gauged: String::new(), given: None, fills, line: usize::MAX }
    }

    /// Goes up to the transfers of a blend, the last first, and back down to what the tank is gauged at.
    fn choose_given(&mut self, state: &State, by: isize) {
        let given = state.given_to(self.work);
        let at = self.given.as_ref().and_then(|id| given.iter().position(|(_, doing)| doing.id == *id));
        let to = at.unwrap_or(given.len()).saturating_add_signed(by);
        self.given = given.get(to).map(|(_, doing)| doing.id.clone());
        self.gauged.clear();
        self.line = usize::MAX;
    }
}

impl Table for Ending {
    const ABOUT: About = About {
        name: "Closing the work",
        purpose: "Shows what of the work is done, skipped and left, then closes it by enter. esc goes on with it.\n\
                  Where it filled a tank, what that is gauged at may be typed first: the difference is booked. Of a blend up goes to \
                  its transfers; the litres that are typed then put that transfer right.",
        opens: Opens::From("it opens where a work is ended"),
    };
    const ROWS: &'static [Row<Ending>] = &[];
}

impl Page for Ending {
    fn title(&self, _model: &Model) -> String {
        "Closing the work".to_owned()
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        lines(model, self, width)
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.line)
    }

    /// Up and down go through the transfers of a blend, where there are any; else the page is scrolled.
    fn go(&mut self, model: &mut Model, go: Go, last: usize) -> Turn {
        let half = model.half_screen();
        if matches!(go, Go::PageUp | Go::PageDown) || model.state.given_to(self.work).is_empty() {
            self.line = go.line(self.line, last, half);
        } else {
            self.choose_given(&model.state, go.by(half));
        }
        Turn::stay()
    }

    /// What is written must be seen.
    fn rewritten(&mut self, _model: &mut Model) {
        self.line = usize::MAX;
    }

    fn written(&self) -> Option<&str> {
        self.fills.then_some(&self.gauged)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        self.fills.then_some(&mut self.gauged)
    }

    fn manner(&self) -> Manner {
        Manner::along(LONGEST)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some(if self.given.is_some() { "put it right" } else { "close the work" }.to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(end(model, self).into())
    }

    /// A transfer was put right: the page stays.
    fn stored(&mut self, model: &mut Model, then: Then) -> Turn {
        if then.word::<Corrected>().is_some() {
            *self = Ending::new(&model.state, self.work);
            return Turn::stay();
        }
        Turn::back_and_stored(then)
    }

    fn follow(&mut self, model: &mut Model, before: &Before<'_>) -> Followed {
        let label = &before.state.works.get(self.work).label;
        let found = model.state.works.find(label.as_str());
        match found.filter(|&id| model.state.works.get(id).ended.is_none()) {
            Some(work) => {
                self.work = work;
                Followed::There
            }
            None => Followed::Gone(format!("The work {label}")),
        }
    }
}

/// Closes a work; where the tank that it filled was gauged, that is said first.
fn end(model: &mut Model, ending: &Ending) -> Wishes {
    if let Some(id) = &ending.given {
        return correcting::correct_given(model, ending, id).unwrap_or_else(|why| model.refuse(why));
    }
    let work = model.state.works.get(ending.work);
    let label = work.label.clone();
    let (mut whats, mut say) = (Vec::new(), format!("The work {label} is closed."));
    if let (Some(filled), false) = (work.task.fills(), ending.gauged.trim().is_empty()) {
        let vessel = model.state.vessels.get(filled).label.clone();
        match Volume::parse(&ending.gauged, VolumeUnit::customary()) {
            Ok(volume) => {
                say = format!("{vessel} gauged at {}. {say}", poured(volume));
                whats.push(What::Gauged(Gauged::of_volume(vessel, volume)));
            }
            Err(error) => return model.refuse(error.to_string()),
        }
    }
    if let Task::Blending { lot, .. } = work.task {
        let lot = &model.state.lots.get(lot).label;
        say = format!("{say} `barrelwalk trace lot '{lot}'` tells where its wine came from.");
    }
    whats.push(What::WorkEnded(WorkEnded { work: label, why: None }));
    if asking::may_enter(model, &whats) { model.enter(whats, say, Then::STAY) } else { Vec::new() }
}

/// The summary of a work before it is closed.
fn lines(model: &Model, ending: &Ending, width: usize) -> Vec<Line<'static>> {
    let work = model.state.works.get(ending.work);
    let progress = work.progress();
    let mut lines = Vec::new();
    let mut say = |text: &str, meaning| lines.extend(paragraph(model, text, width, meaning));
    say(&format!("{}, {}", work.label, work.task.words(&model.state)), Meaning::Strong);
    say(&format!("begun {}", work.begun.show_clock()), Meaning::Muted);
    let moved = if progress.moved.is_zero() { String::new() } else { format!(" with {}", poured(progress.moved)) };
    let stops = if matches!(work.task, Task::Blending { .. }) { "vessels" } else { "barrels" };
    say(&format!("{} of {} {stops} done{moved}", progress.done, progress.of), Meaning::Base);
    let left = |tick: Option<Tick>| -> Vec<VesselId> {
        work.stops.iter().filter(|stop| stop.tick == tick).map(|stop| stop.vessel).collect()
    };
    let (to_do, skipped) = (left(None), left(Some(Tick::Skipped)));
    if !to_do.is_empty() {
        say(&format!("{} not done and not skipped: esc, then n, goes to the next", to_do.len()), Meaning::Due);
    }
    if !skipped.is_empty() {
        say(&format!("skipped: {}", names(&model.state, &skipped)), Meaning::Due);
    }
    if let Some(stands) = assemblage::standing(model, ending.work) {
        lines.extend(assemblage::page(model, ending.work, &stands, width));
    }
    lines.extend(given_lines(model, ending, width));
    if let Some(to) = work.task.fills() {
        let tank = model.state.vessels.get(to);
        let lot = match work.task {
            Task::Blending { lot, .. } => format!(" of {}", model.state.lots.get(lot).label),
            Task::Racking { .. } | Task::BarrelDown { .. } | Task::Treating { .. } | Task::Caring { .. } => {
                String::new()
            }
        };
        let book = format!("{} holds {}{lot} by the book", tank.label, poured(tank.volume()));
        lines.extend(paragraph(model, &book, width, Meaning::Base));
        lines.push(Line::default());
        let typed = model.written(&ending.gauged, width.saturating_sub(20));
        let what = if ending.given.is_some() { "that transfer was, litres" } else { "gauged at, litres" };
        let asked = format!("{}: {typed}", in_heading(what));
        lines.push(Line::styled(fit(&asked, width, model.looks.marks), model.looks.theme.style(Meaning::Strong)));
        lines.extend(paragraph(
            model,
            if ending.given.is_some() {
                "enter puts that transfer right; down goes back to the gauging; esc goes on with the work"
            } else {
                "enter closes the work and books the difference; with nothing typed the book stands; esc goes on with it"
            },
            width,
            Meaning::Muted,
        ));
    } else {
        lines.push(Line::default());
        lines.extend(paragraph(model, "enter closes the work, esc goes on with it", width, Meaning::Muted));
    }
    lines
}

/// What was given to a blend, transfer by transfer.
fn given_lines(model: &Model, ending: &Ending, width: usize) -> Vec<Line<'static>> {
    let given = model.state.given_to(ending.work);
    if given.is_empty() {
        return Vec::new();
    }
    let how = "the transfers; up chooses one to correct:";
    let mut lines = paragraph(model, how, width, Meaning::Muted);
    // A few of many are in sight, the chosen one among them.
    let chosen = given.iter().position(|(_, doing)| ending.given.as_ref() == Some(&doing.id));
    let shown = &given[window(given.len(), chosen.unwrap_or(given.len()), GIVEN_SHOWN)];
    lines.extend(shown.iter().map(|(vessel, doing)| {
        let (label, at) = (&model.state.vessels.get(*vessel).label, doing.at.show_clock());
        choice_line(model, ending.given.as_ref() == Some(&doing.id), &format!("{label} {}, {at}", doing.much()), width)
    }));
    lines
}
