//! A fining trial on the screen: the agent is chosen, glasses are entered with what was seen, a dose is chosen and given.
//!
//! Every line is a fact at once, so that what is seen after a night is written where the doses stand.

mod agents;
mod batch;
mod sheet;

use ratatui::text::Line;

pub use self::agents::AgentChoice;
pub use self::batch::Batch;
use crate::cellar::core::decide::decide;
use crate::cellar::core::fact::What;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::{FiningId, State};
use crate::cellar::jobs::finish::fining::{FiningGlass, FiningTried, is_same_dose};
use crate::desk::Undone;
use crate::told::hazard::Caution;
use crate::tui::core::asking;
use crate::tui::core::choice::{self, Choice};
use crate::tui::core::line::Manner;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn};
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::units::{parse_decimal, parse_dose};

pub(in crate::tui) use self::agents::choose_agent;

/// The most characters of a line.
const LINE_CHARACTERS: usize = 200;

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
        FiningPage { chosen, tried, line: String::new(), entered: 0 }
    }

    /// The glasses, the new one last.
    fn glasses(&self) -> Vec<Glass> {
        glasses(&self.tried)
    }

    /// The glass that is chosen, where it is written down.
    fn glass(&self) -> Option<&FiningGlass> {
        self.tried.glasses.get(self.chosen.place(&self.glasses())?)
    }

    /// The dose of the glass that was chosen, where that is not there any more.
    fn lost(&self) -> Option<String> {
        match self.chosen.thing() {
            Some(Glass::Of(dose)) if self.chosen.is_gone(&self.glasses()) => Some(format!("The glass of {dose} g/L")),
            _ => None,
        }
    }

    /// The trial with what is written taken in, or why it cannot be.
    fn as_written(&self) -> Result<FiningTried, String> {
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
    /// What enter takes the line for that is written, or why it does not take it.
    fn meant(&self, model: &Model) -> Result<String, String> {
        let tried = self.as_written()?;
        if !tried.glasses.is_empty() {
            let what = What::FiningTried(Box::new(tried.clone()));
            decide(&model.state, &what, model.now, model.now).map_err(|refusal| refusal.to_string())?;
        }
        let changed = tried.glasses.iter().find(|glass| !self.tried.glasses.contains(glass));
        Ok(match changed {
            Some(glass) => glass.words(),
            None if tried == self.tried => "as it is written down already".to_owned(),
            None => format!("stock of {} %", tried.stock_pct),
        })
    }

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

impl FiningPage {
    /// Why no dose can be chosen, if none can.
    fn why_no_dose(&self, model: &Model) -> Option<String> {
        model.why_read_only().or_else(|| match self.glass() {
            None => Some("Go up to the glass whose dose is to be chosen.".to_owned()),
            Some(glass) if glass.dose_g_l == 0.0 => {
                Some("This glass was given nothing. Go to one with a dose.".to_owned())
            }
            Some(_) => None,
        })
    }

    /// Why the dose cannot be given, if it cannot.
    fn why_not_given(&self, model: &Model) -> Option<String> {
        model.why_read_only().or_else(|| {
            let id = model.state.finings.find(self.tried.trial.as_str());
            let Some(id) = id else { return Some("Nothing is written yet. Write a dose first, like 0.5.".to_owned()) };
            if self.tried.chosen_g_l.is_none() {
                return Some("No dose is chosen yet. Go up to a glass; enter lists choosing its dose.".to_owned());
            }
            let vessel = model.state.finings.get(id).vessel;
            model.state.plan_fining(id, vessel).err().map(|refusal| refusal.to_string())
        })
    }

    /// Chooses the dose of the glass that is written on.
    fn choose_dose(&mut self, model: &mut Model) -> Turn {
        let mut tried = self.tried.clone();
        tried.chosen_g_l = self.glass().map(|glass| glass.dose_g_l);
        write_down(model, tried).into()
    }

    /// Asks for the batch before the dose is given.
    fn ask_batch(&mut self, model: &mut Model) -> Turn {
        model.open(Batch::new(self.tried.trial.clone()));
        Turn::stay()
    }

    /// Takes the line that is written.
    fn take(&mut self, model: &mut Model) -> Wishes {
        if let Some(why) = model.why_read_only() {
            return model.refuse(why);
        }
        match self.as_written() {
            Ok(tried) if tried.glasses.is_empty() => {
                // Without a glass nothing can be written down; the strength is kept on the page.
                (self.tried, self.line) = (tried, String::new());
                Vec::new()
            }
            Ok(tried) => {
                let question = self.writes_over(&tried);
                if asking::may_go_on(model, question) { write_down(model, tried) } else { Vec::new() }
            }
            Err(why) => model.refuse(why),
        }
    }

    /// Takes the trial as it is written down now; as it was where it is not written down.
    fn look_again(&mut self, state: &State) {
        if let Some(id) = state.finings.find(self.tried.trial.as_str()) {
            self.tried = state.finings.get(id).as_tried(state);
        }
        self.chosen = self.chosen.clone().followed(&glasses(&self.tried));
    }
}

impl Table for FiningPage {
    const ABOUT: About = About {
        name: "A fining trial",
        purpose: "Glasses of a wine with an agent, a dose a line: 0.5, or 0.5: clear, 8 NTU, 14.5 (a bare number is the score). On a glass that \
                  stands, what is seen after a night. Each line is stored at once.\n\
                  Where nothing is typed enter lists what can be done with the glass: its dose is chosen, then given to the vessel, after \
                  its batch was asked.",
        opens: Opens::From("the list of trials opens it, or d at a tank that has one"),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<FiningPage>] = &[
        Row::listed("Choose this dose", "Chooses the dose of this glass for the vessel, and says what that comes to.", |page: &mut FiningPage, model| page.choose_dose(model)).unless(FiningPage::why_no_dose),
        Row::listed("Give the dose", "Asks for the batch, then enters that the chosen dose was given to the vessel.", |page: &mut FiningPage, model| page.ask_batch(model)).unless(FiningPage::why_not_given),
        Row::TAKE_BACK.unless(|page: &FiningPage, model| model.why_nothing_to_take_back(page.entered)),
    ];
}

impl Page for FiningPage {
    fn title(&self, _model: &Model) -> String {
        format!("Fining trial {}", self.tried.trial)
    }

    fn caution(&self, model: &Model) -> Caution {
        Caution::of_trial(&model.state, &self.tried.material)
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        sheet::lines(model, self, width, height)
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        self.chosen.go(model, &self.glasses(), go);
        Turn::stay()
    }

    fn written(&self) -> Option<&str> {
        Some(&self.line)
    }

    fn written_mut(&mut self) -> Option<&mut String> {
        Some(&mut self.line)
    }

    fn manner(&self) -> Manner {
        Manner::over_list(LINE_CHARACTERS)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        (!self.line.trim().is_empty()).then(|| "take".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if self.line.trim().is_empty() {
            return None;
        }
        Some(self.take(model).into())
    }

    /// The page stays, on the glass that was written on.
    fn stored(&mut self, model: &mut Model, then: Then) -> Turn {
        self.line.clear();
        self.entered = if then.word::<Undone>().is_none() { self.entered + 1 } else { self.entered.saturating_sub(1) };
        self.look_again(&model.state);
        if self.chosen.is_gone(&self.glasses()) {
            self.chosen = Choice::at(&self.glasses(), self.tried.glasses.len());
        }
        if model.state.finings.find(self.tried.trial.as_str()).is_none() { Turn::back() } else { Turn::stay() }
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let was_lost = self.lost().is_some();
        self.look_again(&model.state);
        match self.lost().filter(|_| !was_lost) {
            Some(lost) => Followed::WithoutChoice(lost),
            None => Followed::There,
        }
    }
}

/// Opens the page of a trial that is written down.
pub(in crate::tui) fn show(model: &mut Model, id: FiningId) {
    let page = FiningPage::new(&model.state, id);
    model.open(page);
}

fn write_down(model: &Model, tried: FiningTried) -> Wishes {
    let say = match tried.chosen_g_l {
        Some(dose) => format!("{} is written down, {dose} g/L chosen.", tried.trial),
        None => format!("{} is written down.", tried.trial),
    };
    model.enter(vec![What::FiningTried(Box::new(tried))], say, Then::STAY)
}
