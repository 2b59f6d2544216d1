//! A fining trial on the screen: the agent is chosen, glasses are entered with what was seen, a dose is chosen and given.
//!
//! Every line is a fact at once, so that what is seen after a night is written where the doses stand.

mod sheet;

use crate::cellar::fact::What;
use crate::cellar::fining::{FiningGlass, FiningTried, is_same_dose};
use crate::cellar::label::{LABEL_CHARACTERS, Label, is_unsafe};
use crate::cellar::question::Question;
use crate::cellar::state::{FiningId, State, VesselId};
use crate::tui::asking;
use crate::tui::choice::{self, Choice};
use crate::tui::command::Id;
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::update::Wishes;
use crate::tui::work::Then;
use crate::units::{parse_decimal, parse_dose};

pub(super) use self::sheet::{agents, batch_line, lines, title};

/// The most characters of a line.
const LINE_CHARACTERS: usize = 200;

/// The strength that a stock is taken to have until another is said, grams in 100 mL: that of bentonite (published for trials).
const USUAL_STOCK_PCT: f64 = 5.0;

/// The choice of an agent to try in a vessel's wine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AgentChoice {
    /// The vessel.
    pub vessel: Label,
    /// Which agent is chosen.
    pub chosen: Choice<Label>,
}

impl AgentChoice {
    /// The same choice in another state of the cellar.
    pub(super) fn followed(mut self, state: &State) -> AgentChoice {
        self.chosen = self.chosen.followed(&state.fining_agents());
        self
    }

    /// The agent that was chosen, where it is not offered any more.
    pub(super) fn lost(&self, state: &State) -> Option<&Label> {
        self.chosen.thing().filter(|_| self.chosen.is_gone(&state.fining_agents()))
    }
}

/// A glass of a fining trial, by its dose.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Glass {
    /// The glass that was given so much, g/L.
    Of(f64),
    /// One that is not written down yet.
    New,
}

/// The page of a fining trial.
#[derive(Clone, Debug, PartialEq)]
pub struct FiningPage {
    /// The trial, as it is written down or will be with the first line.
    pub tried: FiningTried,
    /// The glass that is written on.
    pub chosen: Choice<Glass>,
    /// What is written.
    pub line: String,
    /// The batch, while it is asked before the dose is given.
    pub batch: Option<String>,
    /// How many lines were entered here, less those that were taken back.
    pub entered: usize,
}

impl FiningPage {
    /// The page of a trial that is written down, with a new glass chosen.
    #[must_use]
    pub fn new(state: &State, id: FiningId) -> FiningPage {
        let tried = state.finings.get(id).as_tried(state);
        FiningPage::of(tried)
    }

    fn of(tried: FiningTried) -> FiningPage {
        let chosen = Choice::at(&glasses(&tried), tried.glasses.len());
        FiningPage { chosen, tried, line: String::new(), batch: None, entered: 0 }
    }

    /// The glasses, the new one last.
    pub(super) fn glasses(&self) -> Vec<Glass> {
        glasses(&self.tried)
    }

    /// The glass that is chosen, where it is written down.
    fn glass(&self) -> Option<&FiningGlass> {
        self.tried.glasses.get(self.chosen.place(&self.glasses())?)
    }

    /// The dose of the glass that was chosen, where that is not there any more.
    pub(super) fn lost(&self) -> Option<String> {
        match self.chosen.thing() {
            Some(Glass::Of(dose)) if self.chosen.is_gone(&self.glasses()) => Some(format!("The glass of {dose} g/L")),
            _ => None,
        }
    }

    /// The same page in another state: as it is written down there, or as it was where it is not written down yet.
    pub(super) fn followed(mut self, state: &State) -> FiningPage {
        if let Some(id) = state.finings.find(self.tried.trial.as_str()) {
            self.tried = state.finings.get(id).as_tried(state);
        }
        self.chosen = self.chosen.followed(&glasses(&self.tried));
        self
    }

    /// Goes to another glass.
    pub(super) fn step(&mut self, by: isize) {
        self.chosen.step(&glasses(&self.tried), by);
    }

    /// Takes characters; what could disturb a screen is left out.
    pub(super) fn type_in(&mut self, text: &str) {
        let (line, most) = match &mut self.batch {
            Some(batch) => (batch, LABEL_CHARACTERS),
            None => (&mut self.line, LINE_CHARACTERS),
        };
        let room = most.saturating_sub(line.chars().count());
        line.extend(text.chars().filter(|&character| !is_unsafe(character)).take(room));
    }

    /// Takes back a character.
    pub(super) fn erase(&mut self) {
        self.batch.as_mut().unwrap_or(&mut self.line).pop();
    }

    /// The trial with what is written taken in, or why it cannot be.
    fn written(&self) -> Result<FiningTried, String> {
        let (mut tried, line) = (self.tried.clone(), self.line.trim());
        if let Some(strength) = line.strip_prefix("stock ") {
            tried.stock_pct =
                parse_decimal(strength.trim().trim_end_matches('%')).map_err(|error| error.to_string())?;
            return Ok(tried);
        }
        let names_a_dose = line.split_once(':').is_some_and(|(dose, _)| parse_dose(dose.trim()).is_ok());
        if let Some(lost) = self.lost().filter(|_| !names_a_dose) {
            return Err(choice::gone(&lost));
        }
        let at = self.chosen.place(&self.glasses()).unwrap_or(usize::MAX);
        match tried.glasses.get_mut(at).filter(|_| !names_a_dose) {
            Some(glass) => glass.see(line).map_err(|error| error.to_string())?,
            None => tried.take(&FiningGlass::read(line).map_err(|error| error.to_string())?),
        }
        Ok(tried)
    }
}

impl FiningPage {
    /// What is asked before something that was seen of a glass is written over; nothing where nothing was.
    fn writes_over(&self, tried: &FiningTried) -> Option<Question> {
        let over = self.tried.glasses.iter().find(|before| {
            let after = tried.glasses.iter().find(|glass| is_same_dose(glass.dose_g_l, before.dose_g_l));
            after.is_some_and(|after| {
                (before.turbidity_ntu.is_some() && before.turbidity_ntu != after.turbidity_ntu)
                    || (before.score.is_some() && before.score != after.score)
                    || (before.text.is_some() && before.text != after.text)
            })
        })?;
        let glass = format!("The glass of {} g/L", over.dose_g_l);
        Some(Question::GlassSaid { glass, said: "looked at".to_owned() })
    }
}

/// The glasses of a trial, the new one last.
fn glasses(tried: &FiningTried) -> Vec<Glass> {
    tried.glasses.iter().map(|glass| Glass::Of(glass.dose_g_l)).chain([Glass::New]).collect()
}

impl Model {
    /// The page of a fining trial, where it is open.
    fn fining_page(&self) -> Option<&FiningPage> {
        match &self.mode {
            Mode::Fining(page) => Some(page),
            _ => None,
        }
    }

    /// Why no dose can be chosen, if none can.
    #[must_use]
    pub fn why_no_dose(&self) -> Option<String> {
        let page = self.fining_page()?;
        self.why_read_only().or_else(|| match page.glass() {
            None => Some("Go up to the glass whose dose is to be chosen.".to_owned()),
            Some(glass) if glass.dose_g_l == 0.0 => {
                Some("This glass was given nothing. Go to one with a dose.".to_owned())
            }
            Some(_) => None,
        })
    }

    /// Why the dose cannot be given, if it cannot.
    #[must_use]
    pub fn why_not_given(&self) -> Option<String> {
        let page = self.fining_page()?;
        self.why_read_only().or_else(|| {
            let id = self.state.finings.find(page.tried.trial.as_str());
            let Some(id) = id else { return Some("Nothing is written yet. Write a dose first, like 0.5.".to_owned()) };
            if page.tried.chosen_g_l.is_none() {
                return Some("No dose is chosen yet. Go up to a glass and press tab.".to_owned());
            }
            let vessel = self.state.finings.get(id).vessel;
            self.state.plan_fining(id, vessel).err().map(|refusal| refusal.to_string())
        })
    }
}

/// Asks which agent is tried in a vessel's wine.
pub(super) fn choose_agent(model: &mut Model, vessel: VesselId) {
    let vessel = model.state.vessels.get(vessel).label.clone();
    model.mode = Mode::Agents(AgentChoice { vessel, chosen: Choice::first(&model.state.fining_agents()) });
}

/// Opens the page of a trial of the chosen agent. Nothing is written down before the first line.
pub(super) fn open_new(model: &mut Model, choice: &AgentChoice) {
    let Some(material) = choice.chosen.thing().cloned() else { return };
    let is_taken = |label: &str| model.state.finings.find(label).is_some();
    let Some(trial) = Label::dated(&format!("{material} {}", choice.vessel), model.now, is_taken) else {
        model.say("Too many trials of this agent were begun today to name another one.", Tone::Refused);
        return;
    };
    // A house that has tried the agent makes its stock the same way again.
    let before = model.state.finings.iter().rfind(|(_, known)| known.material == material);
    let tried = FiningTried {
        trial,
        vessel: choice.vessel.clone(),
        material,
        stock_pct: before.map_or(USUAL_STOCK_PCT, |(_, known)| known.stock_pct),
        glasses: Vec::new(),
        chosen_g_l: None,
    };
    model.mode = Mode::Fining(FiningPage::of(tried));
}

/// Enter: takes the line that is written, or gives the dose with the batch that is written.
pub(super) fn enter(model: &mut Model, page: &FiningPage) -> Wishes {
    if let Some(batch) = &page.batch {
        return give(model, page, batch.trim());
    }
    if let Some(why) = model.why_read_only() {
        model.say(why, Tone::Refused);
        return Vec::new();
    }
    if page.line.trim().is_empty() {
        model.say("Nothing is written yet. Write a dose like 0.5, or what was seen of a glass.", Tone::Refused);
        return Vec::new();
    }
    match page.written() {
        Ok(tried) if tried.glasses.is_empty() => {
            // Without a glass nothing can be written down; the strength is kept on the page.
            if let Mode::Fining(page) = &mut model.mode {
                (page.tried, page.line) = (tried, String::new());
            }
            Vec::new()
        }
        Ok(tried) => {
            let question = page.writes_over(&tried);
            if asking::may_go_on(model, question) { write_down(model, tried) } else { Vec::new() }
        }
        Err(why) => {
            model.say(why, Tone::Refused);
            Vec::new()
        }
    }
}

/// Carries out a command that only this page has.
pub(super) fn carry_out(model: &mut Model, id: Id) -> Wishes {
    if id == Id::ChooseDose {
        return choose_dose(model);
    }
    ask_batch(model);
    Vec::new()
}

/// Chooses the dose of the glass that is written on.
fn choose_dose(model: &mut Model) -> Wishes {
    let Some(page) = model.fining_page() else { return Vec::new() };
    let mut tried = page.tried.clone();
    tried.chosen_g_l = page.glass().map(|glass| glass.dose_g_l);
    write_down(model, tried)
}

fn write_down(model: &Model, tried: FiningTried) -> Wishes {
    let say = match tried.chosen_g_l {
        Some(dose) => format!("{} is written down, {dose} g/L chosen.", tried.trial),
        None => format!("{} is written down.", tried.trial),
    };
    model.enter(vec![What::FiningTried(Box::new(tried))], say, Then::StayOnPage)
}

/// Asks for the batch before the dose is given.
fn ask_batch(model: &mut Model) {
    if let Mode::Fining(page) = &mut model.mode {
        page.batch = Some(String::new());
    }
}

fn give(model: &mut Model, page: &FiningPage, batch: &str) -> Wishes {
    let batch = if batch.is_empty() { Ok(None) } else { Label::new(batch).map(Some) };
    let Some(id) = model.state.finings.find(page.tried.trial.as_str()) else { return Vec::new() };
    let vessel = model.state.finings.get(id).vessel;
    let planned = model.state.plan_fining(id, vessel).map_err(|refusal| refusal.to_string());
    match planned.and_then(|plan| Ok((plan, batch.map_err(|error| error.to_string())?))) {
        Ok((plan, batch)) => {
            let treated = plan.treated(&model.state, None, batch);
            let (amount, material) = (treated.amount.show(1), treated.material.clone());
            let say = format!(
                "{} was given {amount} of {material}. u on the floor, or delete here, takes it back.",
                treated.vessel
            );
            model.enter(vec![What::Treated(Box::new(treated))], say, Then::StayOnPage)
        }
        Err(why) => {
            model.say(why, Tone::Refused);
            Vec::new()
        }
    }
}

/// Escape: puts the batch away, clears the line, or goes back to the floor.
pub(super) fn leave(model: &mut Model) {
    let Mode::Fining(page) = &mut model.mode else { return };
    if page.batch.take().is_some() {
        return;
    }
    if page.line.is_empty() {
        model.mode = Mode::Floor;
    } else {
        page.line.clear();
    }
}

/// What was entered on the page, or taken back, is stored: the page stays, on the glass that was written on.
pub(super) fn stored(model: &mut Model, page: &FiningPage, was_undone: bool) {
    let Some(id) = model.state.finings.find(page.tried.trial.as_str()) else { return };
    let new = FiningPage::new(&model.state, id);
    let glasses = new.glasses();
    let chosen = if page.chosen.place(&glasses).is_some() { page.chosen.clone() } else { new.chosen.clone() };
    let chosen = chosen.followed(&glasses);
    let entered = if was_undone { page.entered.saturating_sub(1) } else { page.entered + 1 };
    model.mode = Mode::Fining(FiningPage { chosen, entered, ..new });
}
