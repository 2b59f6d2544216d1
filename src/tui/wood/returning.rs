//! Rack and return at the screen: the barrels that take a tank's wine back, before they are walked.

use ratatui::text::Line;

use crate::cellar::core::label::Label;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::VesselId;
use crate::cellar::jobs::wood::returning::Return;
use crate::told::hazard::Caution;
use crate::tui::core::draw::paragraph;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn};
use crate::tui::core::text::{fit, left};
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::floor::work_pages::names;
use crate::tui::floor::works;
use crate::units::litres;

/// The way back of a racking, before it is a work.
#[derive(Clone, Debug, PartialEq)]
pub struct ReturnPage {
    /// The tank.
    pub tank: Label,
    /// The barrels, or why none takes anything back.
    pub plan: Result<Return, Refusal>,
    /// From which line on the page is shown.
    line: usize,
}

impl ReturnPage {
    fn new(model: &Model, tank: VesselId) -> ReturnPage {
        let plan = model.state.plan_return(tank);
        ReturnPage { tank: model.state.vessels.get(tank).label.clone(), plan, line: 0 }
    }
}

/// Opens the page for a tank.
pub(in crate::tui) fn open(model: &mut Model, tank: VesselId) {
    let page = ReturnPage::new(model, tank);
    model.open(page);
}

impl Table for ReturnPage {
    const ABOUT: About = About {
        name: "Rack and return",
        purpose: "Plans the way back of a racking: the barrels that were racked into a tank since it was last empty are filled with its wine \
                  again, in walking order. What lees and losses took is missing in the last of them: that is told, and what stays in the tank.\n\
                  Enter begins the work, which is then walked barrel by barrel; esc goes back to the works.",
        opens: Opens::From("at a tank that barrels were racked into, d on the floor lists it"),
    };
    const ROWS: &'static [Row<ReturnPage>] = &[];
}

impl Page for ReturnPage {
    fn title(&self, _model: &Model) -> String {
        format!("Rack and return: from {} back into the same barrels", self.tank)
    }

    fn caution(&self, model: &Model) -> Caution {
        let barrels: Vec<VesselId> = self.plan.iter().flat_map(|plan| &plan.stops).map(|&(id, _)| id).collect();
        Caution::of_filling(&model.state, &barrels)
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        match &self.plan {
            Ok(plan) => planned(model, plan, width),
            Err(refusal) => paragraph(model, &refusal.to_string(), width, Meaning::Due),
        }
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.line)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        self.plan.is_ok().then(|| "begin".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(begin(model, self).into())
    }

    fn stored(&mut self, _model: &mut Model, then: Then) -> Turn {
        Turn::to_floor_and_stored(then)
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let Some(tank) = model.state.vessels.find(self.tank.as_str()) else {
            return Followed::Gone(self.tank.to_string());
        };
        *self = ReturnPage { line: self.line, ..ReturnPage::new(model, tank) };
        Followed::There
    }
}

/// Begins the work.
fn begin(model: &mut Model, page: &ReturnPage) -> Wishes {
    if let Some(why) = model.why_read_only() {
        return model.refuse(why);
    }
    let of = model.state.vessels.by_label(page.tank.as_str()).and_then(|tank| tank.lot);
    let what = of.map_or(&page.tank, |lot| &model.state.lots.get(lot).label);
    let Some(work) = model.state.new_work_label(&format!("return {what}"), model.now) else {
        return model.refuse("Too many works were begun today to name another of this wine.");
    };
    let set = page.plan.clone().map(|plan| plan.begin(&model.state, work));
    works::begin(model, set)
}

fn planned(model: &Model, plan: &Return, width: usize) -> Vec<Line<'static>> {
    let (state, marks) = (&model.state, model.looks.marks);
    let mut lines = paragraph(model, &plan.words(), width, Meaning::Strong);
    let mut say = |text: &str, meaning| lines.extend(paragraph(model, text, width, meaning));
    if let Some(short) = plan.short_words(state) {
        say(&short, Meaning::Due);
    }
    for (why, barrels) in plan.not_filled() {
        say(&format!("{why}: {}.", names(state, barrels)), Meaning::Muted);
    }
    let barrels: Vec<VesselId> = plan.stops.iter().map(|&(id, _)| id).collect();
    if let Some(care) = state.care_wanted(&barrels, model.now) {
        say(&format!("By the book {care}."), Meaning::Muted);
    }
    lines.push(Line::default());
    let heading = format!("{:<10} {:>9}  {}", "barrel", "to fill", "where");
    lines.push(Line::styled(fit(&heading, width, marks), model.looks.theme.style(Meaning::Title)));
    let style = model.looks.theme.style(Meaning::Base);
    lines.extend(plan.stops.iter().map(|&(id, volume)| {
        let vessel = state.vessels.get(id);
        let place = state.place_of(vessel).map_or_else(|| "not on the map".to_owned(), |place| place.to_string());
        let line = format!("{} {:>9}  {place}", left(vessel.label.as_str(), 10, marks), litres(volume));
        Line::styled(fit(&line, width, marks), style)
    }));
    lines
}
