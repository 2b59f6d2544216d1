//! A bottling on the screen: its plan, the record of the run a field a line, and after it every litre and bottle.
//!
//! Nothing is a fact before the person says so for the whole run. What is written stays in the model until then, whatever
//! page is gone to; leaving the program loses it.

mod form;
mod sheet;

use crate::cellar::fact::What;
use crate::cellar::label::Label;
use crate::cellar::refusal::Refusal;
use crate::cellar::state::{LotId, State, VesselId};
use crate::cellar::vessel::VesselType;
use crate::desk::Act;
use crate::tui::asking;
use crate::tui::bottles::run;
use crate::tui::checklist;
use crate::tui::command::Id;
use crate::tui::core::page::Turn;
use crate::tui::floor::despite;
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::update::Wishes;
use crate::tui::work::Then;
use crate::units::counted;

pub use self::form::{Field, Form};
use self::form::{Mistake, Record};
pub(super) use self::sheet::{lines, title};

/// Which keys settle what is open on a checklist.
const TO_THE_LIST: &str = "tab goes to the list.";

/// A bottling of a vessel that is planned and written down.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BottlingPage {
    /// From which vessel.
    pub vessel: Label,
    /// What is written.
    pub form: Form,
    /// Whether the record of the run is shown, else the plan.
    pub recording: bool,
    /// The line that is chosen; behind the last field of a record the one that enters it.
    pub chosen: usize,
    /// From which line on the page is shown.
    pub line: usize,
    /// Whether something was written.
    changed: bool,
    /// The run that it was entered as, and how many stretches that had then.
    entered: Option<(Label, usize)>,
}

impl BottlingPage {
    fn new(vessel: Label, form: Form) -> BottlingPage {
        BottlingPage { vessel, form, recording: false, chosen: 0, line: 0, changed: false, entered: None }
    }

    /// The same page in another state of the cellar; none where the vessel is not there. What is written stays.
    pub(super) fn followed(self, state: &State) -> Option<BottlingPage> {
        state.vessels.find(self.vessel.as_str()).map(|_| self)
    }

    /// Whether what is written was entered and still stands.
    fn stands(&self, state: &State) -> bool {
        let stands = |(run, stretches): &(Label, usize)| {
            state.runs.by_label(run.as_str()).is_some_and(|run| run.stretches.len() >= *stretches)
        };
        self.entered.as_ref().is_some_and(stands)
    }

    fn fields(&self) -> &'static [Field] {
        if self.recording { &Field::RUN } else { &Field::PLAN }
    }

    /// The field that is chosen; none on the line that enters the run.
    pub(super) fn field(&self) -> Option<Field> {
        self.fields().get(self.chosen).copied()
    }

    /// What stands in the chosen field.
    pub(super) fn written(&mut self) -> Option<&mut String> {
        let field = self.field()?;
        Some(self.form.text_mut(field))
    }

    /// Takes characters into the chosen field.
    pub(super) fn type_in(&mut self, text: &str) {
        if let Some(field) = self.field() {
            (self.changed, self.line) = (true, 0);
            self.form.type_in(field, text);
        }
    }

    /// Takes back the last character of the chosen field.
    pub(super) fn erase(&mut self) {
        if let Some(field) = self.field() {
            (self.changed, self.line) = (true, 0);
            self.form.erase(field);
        }
    }

    /// Goes to another line.
    pub(super) fn step(&mut self, by: isize) {
        let lines = self.fields().len() + usize::from(self.recording);
        self.line = 0;
        self.chosen = self.chosen.saturating_add_signed(by).min(lines - 1);
    }

    /// What enter does, in a word for the bottom line.
    pub(super) fn enter_word(&self) -> &'static str {
        match self.field() {
            None => "store the run",
            Some(_) if self.recording => "next",
            Some(_) => "write the run",
        }
    }

    fn go_to(&mut self, field: Field) {
        let at = Field::RUN.iter().position(|&it| it == field);
        (self.recording, self.chosen, self.line) = (true, at.unwrap_or(0), 0);
    }
}

impl Model {
    /// The vessel whose bottling is meant: of a checklist that which holds most of its lot, else the chosen one.
    fn bottling_here(&self) -> Option<VesselId> {
        match self.mode {
            Mode::Checklist(_) => self.lot_here().and_then(|lot| most_of(self, lot)),
            _ => self.chosen(),
        }
    }

    /// Why nothing can be bottled here, if nothing can.
    #[must_use]
    pub fn why_no_bottling(&self) -> Option<String> {
        self.why_no_bottling_of(self.bottling_here())
    }

    /// Why a vessel cannot be bottled, if it cannot.
    #[must_use]
    pub fn why_no_bottling_of(&self, vessel: Option<VesselId>) -> Option<String> {
        if !self.opened {
            return self.why_read_only();
        }
        let Some(id) = vessel else {
            let none = "No vessel holds wine here. Go to the tank that is bottled, or press / to find it.";
            return Some(none.to_owned());
        };
        let vessel = self.state.vessels.get(id);
        vessel.wine.is_empty().then(|| Refusal::SourceEmpty(vessel.label.clone()).to_string())
    }

    /// Why the chosen line has no value before or after, if it has none.
    #[must_use]
    pub fn why_no_value(&self) -> Option<String> {
        let Mode::Bottling(page) = &self.mode else { return None };
        let why = "This line is written: left and right go through bottles, losses, cases, yes and no.";
        (!page.field().is_some_and(Field::has_usual)).then(|| why.to_owned())
    }

    /// Why the program should not be left yet: what is written of a bottling would be lost.
    pub(super) fn written_bottling(&self) -> Option<String> {
        let waits = |page: &&BottlingPage| page.changed && page.entered.is_none();
        let page = self.drafts.iter().find(waits)?;
        Some(format!("What is written of the bottling of {} is not entered.", page.vessel))
    }
}

/// Marks what is only proposed in the chosen field: what is typed stands in its place.
pub(super) fn mark_proposed(model: &mut Model) {
    if let Mode::Bottling(page) = &model.mode
        && page.field().is_some_and(|field| page.form.is_proposed(field))
    {
        model.mark_line();
    }
}

/// Carries out a command of the pages of a bottling and of its run.
pub(super) fn carry_out(model: &mut Model, id: Id) -> Wishes {
    match id {
        Id::OtherPage => return next_page(model),
        Id::ValueBefore => turn(model, -1),
        Id::ValueAfter => turn(model, 1),
        _ => {}
    }
    Vec::new()
}

/// Opens the bottling of the vessel that is looked at, with what was written of it before.
pub(super) fn open(model: &mut Model) {
    if let Some(id) = model.bottling_here() {
        open_of(model, id);
    }
}

/// The vessel whose bottling is meant of a lot: the one that is no barrel and holds most of it, else that which holds most.
pub(super) fn most_of(model: &Model, lot: LotId) -> Option<VesselId> {
    let by_rank = |&id: &VesselId| {
        let vessel = model.state.vessels.get(id);
        (vessel.vessel_type != VesselType::Barrel, vessel.volume())
    };
    model.state.vessels_of(lot).into_iter().max_by_key(by_rank)
}

/// Opens the bottling of a vessel, with what was written of it before.
pub(super) fn open_of(model: &mut Model, id: VesselId) {
    let label = model.state.vessels.get(id).label.clone();
    let page = draft(model, &label).filter(|page| !page.stands(&model.state));
    let page = page.unwrap_or_else(|| {
        let vessel = model.state.vessels.get(id);
        let lot = vessel.lot.map_or(&vessel.label, |lot| &model.state.lots.get(lot).label);
        let run = model.state.new_run_label(lot.as_str(), model.now);
        BottlingPage::new(label, Form::new(run, model.state.new_lot_code(model.now)))
    });
    model.mode = Mode::Bottling(BottlingPage { entered: None, ..page });
}

/// What was written of a vessel, taken out of what is kept.
fn draft(model: &mut Model, vessel: &Label) -> Option<BottlingPage> {
    let at = model.drafts.iter().position(|page| page.vessel == *vessel)?;
    Some(model.drafts.remove(at))
}

/// Keeps what is written of a vessel until it is come back to.
fn keep(model: &mut Model, page: BottlingPage) {
    draft(model, &page.vessel);
    model.drafts.push(page);
}

/// Where the draft stands that was entered as a run and is not there any more.
fn taken_back(model: &Model, run: &Label) -> Option<usize> {
    let is_it =
        |page: &BottlingPage| page.entered.as_ref().is_some_and(|(its, _)| its == run) && !page.stands(&model.state);
    model.drafts.iter().position(is_it)
}

/// Whether what was written of a run waits to be brought back: it was taken back.
pub(super) fn is_to_bring_back(model: &Model, run: &Label) -> bool {
    taken_back(model, run).is_some()
}

/// Brings back what was written of a run that was taken back, if that is so.
pub(super) fn bring_back(model: &mut Model, run: &Label) -> bool {
    let Some(at) = taken_back(model, run) else { return false };
    let written = model.drafts.remove(at);
    model.mode = Mode::Bottling(BottlingPage { entered: None, ..written });
    true
}

/// Writes down another stretch of a run from a vessel, where nothing else is written of that.
pub(super) fn go_on(model: &mut Model, vessel: Label, form: Form) -> Turn {
    if model.drafts.iter().any(|page| page.vessel == vessel && page.changed && page.entered.is_none()) {
        model.say(
            format!("Another bottling of {vessel} is written and not entered: press enter there to bottle it."),
            Tone::Refused,
        );
        return Turn::stay();
    }
    draft(model, &vessel);
    let mut next = BottlingPage::new(vessel, form);
    next.go_to(Field::Bottles);
    model.mode = Mode::Bottling(next);
    Turn::back()
}

/// Goes from the plan to the record, from there to the lot's checklist, and from that to the plan.
fn next_page(model: &mut Model) -> Wishes {
    match &mut model.mode {
        Mode::Bottling(page) if !page.recording => page.go_to(Field::Run),
        Mode::Bottling(page) => {
            let page = page.clone();
            return to_checklist(model, page);
        }
        Mode::Checklist(_) => match model.why_no_bottling() {
            Some(why) => model.say(why, Tone::Refused),
            None => open(model),
        },
        _ => {}
    }
    Vec::new()
}

/// Goes to the checklist of what a bottling is of. What is written is kept meanwhile.
fn to_checklist(model: &mut Model, page: BottlingPage) -> Wishes {
    let lot = model.state.vessels.by_label(page.vessel.as_str()).and_then(|vessel| vessel.lot);
    let Some(lot) = lot else {
        model.say(format!("{} holds no lot, so that there is no checklist.", page.vessel), Tone::Notice);
        return Vec::new();
    };
    keep(model, BottlingPage { recording: false, chosen: 0, line: 0, ..page });
    checklist::show(model, lot)
}

/// Left and right: the value before or after.
fn turn(model: &mut Model, by: isize) {
    let Mode::Bottling(page) = &mut model.mode else { return };
    if let Some(field) = page.field() {
        page.changed = true;
        page.form.turn(field, by);
    }
}

/// Escape: back to the floor. What is written is kept.
pub(super) fn leave(model: &mut Model) {
    let Mode::Bottling(page) = &model.mode else { return };
    let page = page.clone();
    model.mode = Mode::Floor;
    if page.changed {
        model.say(
            format!("What is written of {} is not entered; it is kept here, * brings it back.", page.vessel),
            Tone::Notice,
        );
        keep(model, page);
    }
}

/// Enter: from the plan to the record, there to the next field, and at the end the run is entered.
pub(super) fn take(model: &mut Model, mut page: BottlingPage) -> Wishes {
    if !page.recording {
        return next_page(model);
    }
    let Some(field) = page.field() else { return enter(model, page) };
    match page.form.check(field) {
        Ok(()) => page.step(1),
        Err(mistake) => model.say(mistake.why, Tone::Refused),
    }
    model.mode = Mode::Bottling(page);
    Vec::new()
}

/// Enters the run as one act, or says why it cannot be.
fn enter(model: &mut Model, mut page: BottlingPage) -> Wishes {
    if let Some(why) = model.why_read_only() {
        model.say(why, Tone::Refused);
        return Vec::new();
    }
    match ready(&model.state, &page) {
        Ok(Record { whats, bottled, note, despite }) => {
            if !asking::may_enter(model, &whats) {
                model.mode = Mode::Bottling(page);
                return Vec::new();
            }
            let say = format!("{} of {} entered.", counted(bottled.bottles, "bottle"), bottled.run);
            let act = Act { note, despite, ..Act::of(whats, model.by.clone()) };
            let then = Then::ShowRun(bottled.run);
            model.mode = Mode::Bottling(page);
            despite::enter(model, act, say, then)
        }
        Err(mistake) => {
            page.go_to(mistake.field);
            model.mode = Mode::Bottling(page);
            model.say(mistake.why, Tone::Refused);
            Vec::new()
        }
    }
}

/// The record as facts that may be entered, but for a hold, which a reason passes; else the first mistake, as the cellar sees it too.
fn ready(state: &State, page: &BottlingPage) -> Result<Record, Mistake> {
    let record = page.form.record(&page.vessel)?;
    // Why a hold is passed over is asked for when the run is entered.
    let bottled = What::Bottled(Box::new(record.bottled.clone()));
    let mistake = |field, why| Mistake { field, why };
    bottled.deed().permitted(state, true).map_err(|refusal| mistake(Field::Bottles, refusal.to_string()))?;
    let open = state.vessels.find(page.vessel.as_str()).and_then(|id| state.held_by_checklist(id));
    let open = open.filter(|_| record.despite.is_none());
    match open {
        // The list is a key away, and nobody needs to leave the run for the desk.
        Some(open) => Err(mistake(Field::Despite, format!("{open} {TO_THE_LIST}"))),
        None => Ok(record),
    }
}

/// Goes on once something is stored: the run is shown, and what was written is kept in case it is taken back.
pub(super) fn stored(model: &mut Model, page: BottlingPage, then: Then) {
    let Then::ShowRun(run) = then else {
        model.mode = page.followed(&model.state).map_or(Mode::Floor, Mode::Bottling);
        return;
    };
    let stretches = model.state.runs.by_label(run.as_str()).map_or(0, |run| run.stretches.len());
    keep(model, BottlingPage { entered: Some((run.clone(), stretches)), ..page });
    // Who entered it is asked after every answer.
    drop(run::show(model, &run));
}
