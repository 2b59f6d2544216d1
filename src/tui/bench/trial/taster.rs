//! The question whose ratings of a trial are read alone.

use ratatui::text::Line;

use super::reveal;
use crate::cellar::core::label::Label;
use crate::cellar::jobs::bench::trial::Trial;
use crate::tui::core::choice::{self, Choice};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn};
use crate::units::counted;

/// Which taster of a trial.
#[derive(Debug)]
pub struct TasterQuestion {
    trial: Label,
    chosen: Choice<Label>,
}

impl Table for TasterQuestion {
    const ABOUT: About = About {
        name: "Which taster",
        purpose: "What one taster of a trial says alone is read like what the panel says. It stands upon that: esc goes back to it.",
        opens: Opens::From("'One taster' at a trial that is revealed opens it"),
    };
    const ROWS: &'static [Row<TasterQuestion>] = &[];
}

impl TasterQuestion {
    pub(super) fn of(trial: &Trial) -> TasterQuestion {
        TasterQuestion { trial: trial.label.clone(), chosen: Choice::first(&super::names(trial)) }
    }

    fn names(&self, model: &Model) -> Vec<Label> {
        model.state.trials.by_label(self.trial.as_str()).map_or_else(Vec::new, super::names)
    }
}

impl Page for TasterQuestion {
    fn title(&self, _model: &Model) -> String {
        "Which taster alone?".to_owned()
    }

    fn is_over(&self) -> bool {
        true
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        let Some(trial) = model.state.trials.by_label(self.trial.as_str()) else { return Vec::new() };
        let words = |name: &Label| format!("{name}: {}", counted(trial.ratings_of(name).count(), "rating"));
        choice::lines(model, &super::names(trial), &self.chosen, height.max(1), width, words)
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        self.chosen.go(model, &self.names(model), go);
        Turn::stay()
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("read alone".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        let name = self.chosen.there(&self.names(model)).cloned();
        let Some((id, name)) = model.state.trials.find(self.trial.as_str()).zip(name) else {
            let gone = choice::gone(self.chosen.thing()?.as_str());
            model.say(gone, Tone::Refused);
            return Some(Turn::stay());
        };
        Some(Turn::back().wishing(reveal::show(model, id, Some(name))))
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let names = self.names(model);
        if names.is_empty() {
            return Followed::Gone(self.trial.to_string());
        }
        self.chosen.follow(&names, ToString::to_string)
    }
}
