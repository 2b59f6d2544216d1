//! The question before a trial is revealed. It is once and for good, so that nothing is chosen but to leave it sealed.

use ratatui::text::Line;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::rating::Missing;
use crate::cellar::jobs::bench::trial::reveal::TrialRevealed;
use crate::tui::core::choice::{self, Choice};
use crate::tui::core::draw::paragraph;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn};
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;

/// What can be answered: to leave it sealed, or to reveal it.
const ANSWERS: [(bool, &str); 2] = [(false, "leave it sealed"), (true, "reveal it, once and for good")];

/// Whether to reveal a trial.
#[derive(Debug)]
pub struct RevealQuestion {
    trial: Label,
    /// What was missing when it was asked: the answer is meant for that.
    missing: Vec<Missing>,
    chosen: Choice<bool>,
}

impl Table for RevealQuestion {
    const ABOUT: About = About {
        name: "Whether to reveal a trial",
        purpose: "A trial is revealed once and for good: it tells what every code is, cannot be taken back, and nothing is rated after it. \
                  Down chooses to reveal it, enter takes what is chosen.",
        opens: Opens::From("it opens where a trial is revealed early"),
    };
    const ROWS: &'static [Row<RevealQuestion>] = &[];
}

impl RevealQuestion {
    pub(super) fn of(trial: &Trial) -> RevealQuestion {
        RevealQuestion { trial: trial.label.clone(), missing: trial.missing(), chosen: Choice::first(&[false]) }
    }
}

impl Page for RevealQuestion {
    fn title(&self, _model: &Model) -> String {
        format!("Reveal the trial {}?", self.trial)
    }

    fn is_over(&self) -> bool {
        true
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        let Some(trial) = model.state.trials.by_label(self.trial.as_str()) else { return Vec::new() };
        let say = |text: &str, meaning: Meaning| paragraph(model, text, width, meaning);
        let of_taster = |name: &Label| self.missing.iter().filter(|glass| glass.taster == *name).count();
        let counts = trial.tasters().iter().map(|taster| (&taster.name, of_taster(&taster.name)));
        let named: Vec<String> =
            counts.filter(|(_, count)| *count > 0).map(|(name, count)| format!("{name} {count}")).collect();
        let once = "A trial is revealed once and for good: it tells what every code is, cannot be taken back, and nothing is \
                    rated after it.";
        let how_far = match self.missing.len() {
            0 => say(&format!("All {} ratings are there.", trial.servings()), Meaning::Fine),
            count => {
                let text = format!("Missing are {count} of {} ratings: {}.", trial.servings(), named.join(", "));
                say(&text, Meaning::Warning)
            }
        };
        let answers = ANSWERS.map(|(answer, _)| answer);
        let words = |answer: &bool| ANSWERS[usize::from(*answer)].1.to_owned();
        let answers = choice::lines(model, &answers, &self.chosen, ANSWERS.len(), width, words);
        [say(once, Meaning::Strong), how_far, vec![Line::default()], answers].concat()
    }

    fn go(&mut self, _model: &mut Model, go: Go, _last: usize) -> Turn {
        self.chosen.step(&ANSWERS.map(|(answer, _)| answer), go.by(1));
        Turn::stay()
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some(if self.chosen.is(&true) { "reveal" } else { "leave sealed" }.to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if !self.chosen.is(&true) {
            return Some(Turn::back());
        }
        let revealed = TrialRevealed { trial: self.trial.clone() };
        let say = format!("The trial {} is revealed.", self.trial);
        Some(model.enter(vec![What::TrialRevealed(revealed)], say, Then::of(super::Revealed)).into())
    }

    /// What was asked is asked anew where something else is missing now.
    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let trial = model.state.trials.by_label(self.trial.as_str()).filter(|trial| trial.revealed().is_none());
        if trial.is_some_and(|trial| trial.missing() == self.missing) {
            return Followed::There;
        }
        Followed::Gone(format!("What was asked of {}", self.trial))
    }
}
