//! A trial on the screen: its page, the glasses of its tasters entered one after the other, and its reveal.
//!
//! Until it is revealed nothing here is drawn from the key: [`Trial::opened`] is the only door that is used.

mod page;
mod rating;
pub mod reveal;
mod spot;
mod surface;
mod tasting_sheet;

use crate::cellar::fact::What;
use crate::cellar::label::Label;
use crate::cellar::state::State;
use crate::cellar::trial::Trial;
use crate::cellar::trial::refusal::TrialRefusal;
use crate::cellar::trial::reveal::TrialRevealed;
use crate::tui::choice::{self, Choice};
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::update::Wishes;
use crate::tui::work::Then;

pub(super) use self::page::{lines, title};
pub use self::rating::RatingPage;
pub(super) use self::rating::{carry_out, step, stored, take, type_in};
pub use self::spot::Spot;
pub(super) use self::tasting_sheet::draw;

/// The page of a trial.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TrialPage {
    /// Which trial.
    pub trial: Label,
    /// The taster that is chosen.
    pub chosen: Choice<Label>,
    /// Whether it is asked whether to reveal the trial.
    pub asked: bool,
}

impl TrialPage {
    /// The page of a trial, with the first taster chosen of whom something is missing.
    #[must_use]
    pub fn new(trial: &Trial) -> TrialPage {
        let missing = trial.missing();
        let is_missing = |name: &Label| missing.iter().any(|glass| glass.taster == *name);
        let names = names(trial);
        let chosen = names.iter().position(is_missing);
        TrialPage { trial: trial.label.clone(), chosen: Choice::at(&names, chosen.unwrap_or(0)), asked: false }
    }

    /// The same page in another state of the cellar; none where the trial is not there. What was asked is asked anew: the
    /// answer was meant for what was missing then.
    pub(super) fn followed(mut self, state: &State) -> Option<TrialPage> {
        self.asked = false;
        let trial = state.trials.by_label(self.trial.as_str())?;
        self.chosen = self.chosen.followed(&names(trial));
        Some(self)
    }

    /// The taster that was chosen, where the trial as it is now has no such one.
    pub(super) fn lost(&self, state: &State) -> Option<&Label> {
        let trial = state.trials.by_label(self.trial.as_str())?;
        self.chosen.thing().filter(|_| self.chosen.is_gone(&names(trial)))
    }

    /// The same page with another taster chosen.
    pub(super) fn moved(mut self, model: &Model, by: isize) -> TrialPage {
        let Some(trial) = model.state.trials.by_label(self.trial.as_str()) else { return self };
        self.chosen.step(&names(trial), by);
        self
    }
}

impl Model {
    /// The trial that is on the screen.
    pub(super) fn trial(&self) -> Option<&Trial> {
        let label = match &self.mode {
            Mode::Trial(page) => &page.trial,
            Mode::Rating(page) => &page.trial,
            _ => return None,
        };
        self.state.trials.by_label(label.as_str())
    }

    /// Why the trial on the screen cannot be revealed, if it cannot.
    #[must_use]
    pub fn why_no_reveal(&self) -> Option<String> {
        self.why_read_only().or_else(|| {
            let trial = self.trial()?;
            trial.revealed().map(|_| TrialRefusal::TrialRevealed(trial.label.clone()).to_string())
        })
    }

    /// Why nothing is rated in the trial on the screen, if nothing is.
    #[must_use]
    pub fn why_no_rating(&self) -> Option<String> {
        self.why_read_only().or_else(|| {
            let trial = self.trial()?;
            trial.revealed().map(|_| TrialRefusal::RatedAfterReveal(trial.label.clone()).to_string())
        })
    }
}

/// Escape: puts the question away, clears what is written, or goes one page back.
pub(super) fn leave(model: &mut Model) {
    match &model.mode {
        Mode::Rating(_) => rating::leave(model),
        Mode::Trial(page) if page.asked => ask_reveal(model, false),
        _ => model.mode = Mode::Floor,
    }
}

/// Opens the glasses of the taster that is chosen, at the first of which nothing was said.
pub(super) fn rate(model: &mut Model) {
    let Mode::Trial(page) = &model.mode else { return };
    let Some(trial) = model.trial() else { return model.mode = Mode::Floor };
    if let Some(taster) = page.chosen.place(&names(trial)) {
        model.mode = Mode::Rating(RatingPage::new(trial, taster));
    } else if let Some(name) = page.chosen.thing() {
        let gone = choice::gone(name.as_str());
        model.say(gone, Tone::Refused);
    }
}

/// The tasters, in the order of the panel.
fn names(trial: &Trial) -> Vec<Label> {
    trial.tasters().iter().map(|taster| taster.name.clone()).collect()
}

/// Asks whether to reveal the trial, or puts the question away.
pub(super) fn ask_reveal(model: &mut Model, asked: bool) {
    if let Mode::Trial(page) = &mut model.mode {
        page.asked = asked;
    }
}

/// Reveals the trial.
pub(super) fn reveal(model: &Model) -> Wishes {
    let Some(trial) = model.trial() else { return Vec::new() };
    let revealed = TrialRevealed { trial: trial.label.clone() };
    let say = format!("The trial {} is revealed.", trial.label);
    model.enter(vec![What::TrialRevealed(revealed)], say, Then::ShowTrial(trial.label.clone()))
}

/// Shows the page of a trial, where it is there. All roads to it go through here.
pub(super) fn show(model: &mut Model, label: &Label) {
    match model.state.trials.find(label.as_str()) {
        Some(id) if model.state.trials.get(id).revealed().is_some() => model.reveal(id),
        Some(id) => model.mode = Mode::Trial(TrialPage::new(model.state.trials.get(id))),
        None => model.mode = Mode::Floor,
    }
}
