//! A bottling on the screen: its plan, the record of the run a field a line, and after it every litre and bottle.
//!
//! Nothing is a fact before the person says so for the whole run. What is written stays in the model until then, whatever
//! page is gone to; leaving the program loses it.

mod form;
mod sheet;

use ratatui::Frame;
use ratatui::layout::Rect;
use ratatui::text::Line;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::desk::Act;
use crate::told::hazard::Caution;
use crate::tui::bottles::run;
use crate::tui::core::asking;
use crate::tui::core::draw::write_lines;
use crate::tui::core::kept::Kept;
use crate::tui::core::line::Manner;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::finish::checklist;
use crate::tui::floor::despite;
use crate::units::counted;

pub use self::form::{Field, Form};
use self::form::{Mistake, Record};

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
    fn field(&self) -> Option<Field> {
        self.fields().get(self.chosen).copied()
    }

    /// Goes to another line.
    fn step(&mut self, by: isize) {
        let lines = self.fields().len() + usize::from(self.recording);
        self.line = 0;
        self.chosen = self.chosen.saturating_add_signed(by).min(lines - 1);
    }

    fn go_to(&mut self, field: Field) {
        let at = Field::RUN.iter().position(|&it| it == field);
        (self.recording, self.chosen, self.line) = (true, at.unwrap_or(0), 0);
    }

    /// Why the chosen line has no value before or after, if it has none.
    fn why_no_value(&self, _model: &Model) -> Option<String> {
        let why = "This line is written: left and right go through bottles, losses, cases, yes and no.";
        (!self.field().is_some_and(Field::has_usual)).then(|| why.to_owned())
    }

    /// The value before or after.
    fn turn(&mut self, by: isize) -> Turn {
        if let Some(field) = self.field() {
            self.changed = true;
            self.form.turn(field, by);
        }
        Turn::stay()
    }

    /// Goes from the plan to the record, from there to the lot's checklist. What is written is kept meanwhile.
    fn next_page(&mut self, model: &mut Model) -> Turn {
        if !self.recording {
            self.go_to(Field::Run);
            return Turn::stay();
        }
        let lot = model.state.vessels.by_label(self.vessel.as_str()).and_then(|vessel| vessel.lot);
        let Some(lot) = lot else {
            model.say(format!("{} holds no lot, so that there is no checklist.", self.vessel), Tone::Notice);
            return Turn::stay();
        };
        keep(model, BottlingPage { recording: false, chosen: 0, line: 0, ..self.clone() });
        Turn::back().wishing(checklist::show(model, lot))
    }

    /// Enters the run as one act, or says why it cannot be.
    fn store(&mut self, model: &mut Model) -> Wishes {
        if let Some(why) = model.why_read_only() {
            return model.refuse(why);
        }
        match ready(&model.state, self) {
            Ok(Record { whats, bottled, note, despite }) => {
                if !asking::may_enter(model, &whats) {
                    return Vec::new();
                }
                let say = format!("{} of {} entered.", counted(bottled.bottles, "bottle"), bottled.run);
                let act = Act { note, despite, ..model.act(whats) };
                despite::enter(model, act, say, Then::of(Filled(bottled.run)))
            }
            Err(mistake) => {
                self.go_to(mistake.field);
                model.refuse(mistake.why)
            }
        }
    }
}

impl Table for BottlingPage {
    const ABOUT: About = About {
        name: "A bottling",
        purpose: "The plan of a bottling, and the record of its run, a field a line. Below the fields stands what it comes to: bottles, cases, \
                  pallets, what must be there; or what is wrong with it.\n\
                  Nothing is stored before enter on the last line of the record; then it is one act, and undo takes all of it back. Leaving \
                  the page keeps what is written.\n\
                  Inert gas over wine, in tanks and at the line kills without warning; bottles burst, steam scalds: follow local codes and \
                  licensed practice.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "Bottle this vessel",
            help: "Plans the bottling of this vessel, writes down its run, and accounts for every litre and bottle.",
            also: &["bottling", "run", "line book", "lot code", "closure", "breakage"],
            why_not: Model::why_no_bottling,
            open,
        }]),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<BottlingPage>] = &[
        Row::new(Sense::OtherSide, "Plan, run, checklist", "Goes from the plan of a bottling to the record of its run, from there to the checklist, and back.", |page: &mut BottlingPage, model| page.next_page(model)).word(|page, _| Some(if page.recording { "checklist" } else { "run" }.to_owned())),
        Row::new(Sense::After, "The next value", "Goes to the next usual value of the chosen line: bottles, losses, cases.", |page: &mut BottlingPage, _| page.turn(1)).word(|_, _| Some("change".to_owned())).unless(BottlingPage::why_no_value),
        Row::new(Sense::Before, "The value before", "Goes to the usual value before.", |page: &mut BottlingPage, _| page.turn(-1)).unless(BottlingPage::why_no_value),
    ];
}

impl Page for BottlingPage {
    fn title(&self, model: &Model) -> String {
        sheet::title(model, self)
    }

    fn caution(&self, _model: &Model) -> Caution {
        if self.recording { Caution::default() } else { Caution::of_kind("bottled") }
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        sheet::lines(model, self, width, height).0
    }

    /// What is written must be seen.
    fn draw(&self, model: &Model, frame: &mut Frame<'_>, area: Rect) {
        let height = usize::from(area.height);
        let (lines, from) = sheet::lines(model, self, usize::from(area.width), height);
        let from = from.min(lines.len().saturating_sub(height));
        write_lines(frame, area, lines.into_iter().skip(from).collect());
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.line)
    }

    fn go(&mut self, model: &mut Model, go: Go, last: usize) -> Turn {
        match go {
            Go::PageUp | Go::PageDown => {
                let half = model.half_screen();
                self.line = go.line(self.line, last, half);
            }
            Go::Up | Go::Down | Go::Start | Go::End => self.step(go.by(1)),
        }
        Turn::stay()
    }

    fn rewritten(&mut self, _model: &mut Model) {
        if let Some(field) = self.field() {
            (self.changed, self.line) = (true, 0);
            self.form.rewritten(field);
        }
    }

    fn written(&self) -> Option<&str> {
        self.field().map(|field| self.form.text(field))
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        let field = self.field()?;
        Some(self.form.text_mut(field))
    }

    /// Up goes to the line before, which has its own text.
    fn manner(&self) -> Manner {
        Manner::over_list(form::FIELD_CHARACTERS)
    }

    fn is_proposed(&self) -> bool {
        self.field().is_some_and(|field| self.form.is_proposed(field))
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        let word = match self.field() {
            None => "store the run",
            Some(_) if self.recording => "next",
            Some(_) => "write the run",
        };
        Some(word.to_owned())
    }

    /// From the plan to the record, there to the next field, and at the end the run is entered.
    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if !self.recording {
            return Some(self.next_page(model));
        }
        let Some(field) = self.field() else { return Some(self.store(model).into()) };
        match self.form.check(field) {
            Ok(()) => self.step(1),
            Err(mistake) => model.say(mistake.why, Tone::Refused),
        }
        Some(Turn::stay())
    }

    fn esc_word(&self, _model: &Model) -> Option<String> {
        Some("back".to_owned())
    }

    /// What is written is kept.
    fn esc(&mut self, model: &mut Model) -> Turn {
        if self.changed {
            let vessel = &self.vessel;
            let text = format!(
                "What is written of {vessel} is not entered; it is kept here, and \"bottle this vessel\" brings it back."
            );
            model.say(text, Tone::Notice);
            keep(model, self.clone());
        }
        Turn::back()
    }

    /// The run is shown, and what was written is kept in case it is taken back.
    fn stored(&mut self, model: &mut Model, then: Then) -> Turn {
        let Some(Filled(run)) = then.word() else { return Turn::stay() };
        let stretches = model.state.runs.by_label(run.as_str()).map_or(0, |run| run.stretches.len());
        keep(model, BottlingPage { entered: Some((run.clone(), stretches)), ..self.clone() });
        Turn::back().wishing(run::show(model, run))
    }

    /// What is written stays, as long as the vessel is there.
    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let is_there = model.state.vessels.find(self.vessel.as_str()).is_some();
        if is_there { Followed::There } else { Followed::Gone(self.vessel.to_string()) }
    }
}

impl Model {
    /// Why nothing can be bottled here, if nothing can.
    #[must_use]
    pub fn why_no_bottling(&self) -> Option<String> {
        self.why_no_bottling_of(self.chosen())
    }

    /// Why a vessel cannot be bottled, if it cannot.
    #[must_use]
    pub fn why_no_bottling_of(&self, vessel: Option<VesselId>) -> Option<String> {
        if let Some(why) = self.why_opening() {
            return Some(why);
        }
        let Some(id) = vessel else {
            let none = "No vessel holds wine here. Go to the tank that is bottled, or press / to find it.";
            return Some(none.to_owned());
        };
        let vessel = self.state.vessels.get(id);
        vessel.wine.is_empty().then(|| Refusal::SourceEmpty(vessel.label.clone()).to_string())
    }
}

/// A run is on disk: it is shown.
#[derive(Debug)]
struct Filled(Label);

/// What is written of bottlings and not entered, or could be taken back, one a vessel.
#[derive(Debug, Default)]
struct Drafts(Vec<BottlingPage>);

fn drafts(model: &Model) -> &[BottlingPage] {
    model.kept.get::<Drafts>().map_or(&[], |drafts| &drafts.0)
}

/// Takes out of what is kept what is written of a bottling.
fn take_draft(kept: &mut Kept, is_it: impl Fn(&BottlingPage) -> bool) -> Option<BottlingPage> {
    let drafts = kept.get_mut::<Drafts>()?;
    let at = drafts.0.iter().position(is_it)?;
    Some(drafts.0.remove(at))
}

/// Why the program should not be left yet: what is written of a bottling would be lost.
pub(in crate::tui) fn unentered(model: &Model) -> Option<String> {
    let waits = |page: &&BottlingPage| page.changed && page.entered.is_none();
    let page = drafts(model).iter().find(waits)?;
    Some(format!("What is written of the bottling of {} is not entered.", page.vessel))
}

/// Opens the bottling of the vessel that is looked at.
fn open(model: &mut Model) -> Wishes {
    if let Some(id) = model.chosen() {
        open_of(model, id);
    }
    Vec::new()
}

/// The vessel whose bottling is meant of a lot: the one that is no barrel and holds most of it, else that which holds most.
pub(in crate::tui) fn most_of(model: &Model, lot: LotId) -> Option<VesselId> {
    let by_rank = |&id: &VesselId| {
        let vessel = model.state.vessels.get(id);
        (vessel.vessel_type != VesselType::Barrel, vessel.volume())
    };
    model.state.vessels_of(lot).into_iter().max_by_key(by_rank)
}

/// Opens the bottling of a vessel, with what was written of it before.
pub(in crate::tui) fn open_of(model: &mut Model, id: VesselId) {
    let label = model.state.vessels.get(id).label.clone();
    let page = draft(model, &label).filter(|page| !page.stands(&model.state));
    let page = page.unwrap_or_else(|| {
        let vessel = model.state.vessels.get(id);
        let lot = vessel.lot.map_or(&vessel.label, |lot| &model.state.lots.get(lot).label);
        let run = model.state.new_run_label(lot.as_str(), model.now);
        BottlingPage::new(label, Form::new(run, model.state.new_lot_code(model.now)))
    });
    model.open(BottlingPage { entered: None, ..page });
}

/// What was written of a vessel, taken out of what is kept.
fn draft(model: &mut Model, vessel: &Label) -> Option<BottlingPage> {
    take_draft(&mut model.kept, |page| page.vessel == *vessel)
}

/// Keeps what is written of a vessel until it is come back to.
fn keep(model: &mut Model, page: BottlingPage) {
    let Drafts(mut drafts) = model.kept.take().unwrap_or_default();
    drafts.retain(|draft| draft.vessel != page.vessel);
    drafts.push(page);
    model.kept.put(Drafts(drafts));
}

/// Whether what is written was entered as a run that is not there any more.
fn is_taken_back(page: &BottlingPage, state: &State, run: &Label) -> bool {
    page.entered.as_ref().is_some_and(|(its, _)| its == run) && !page.stands(state)
}

/// Whether what was written of a run waits to be brought back: it was taken back.
pub(in crate::tui) fn is_to_bring_back(model: &Model, run: &Label) -> bool {
    drafts(model).iter().any(|page| is_taken_back(page, &model.state, run))
}

/// Brings back what was written of a run that was taken back, if that is so.
pub(in crate::tui) fn bring_back(model: &mut Model, run: &Label) -> bool {
    let is_it = |page: &BottlingPage| is_taken_back(page, &model.state, run);
    let Some(written) = take_draft(&mut model.kept, is_it) else { return false };
    model.open(BottlingPage { entered: None, ..written });
    true
}

/// Writes down another stretch of a run from a vessel, where nothing else is written of that.
pub(in crate::tui) fn go_on(model: &mut Model, vessel: Label, form: Form) -> Turn {
    if drafts(model).iter().any(|page| page.vessel == vessel && page.changed && page.entered.is_none()) {
        model.say(
            format!("Another bottling of {vessel} is written and not entered: press enter there to bottle it."),
            Tone::Refused,
        );
        return Turn::stay();
    }
    draft(model, &vessel);
    let mut next = BottlingPage::new(vessel, form);
    next.go_to(Field::Bottles);
    model.open(next);
    Turn::back()
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
