//! The page of a trial: how far its tasters have come, the digest of its key, and the question before it is revealed.

use ratatui::text::Line;

use super::{TrialPage, names};
use crate::cellar::core::label::Label;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::rating::Missing;
use crate::tui::bench::list::trial_words;
use crate::tui::core::choice::choice_line;
use crate::tui::core::list::Between;
use crate::tui::core::model::Model;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::left;
use crate::tui::core::theme::Meaning;

/// The lines of the page.
pub(super) fn lines(model: &Model, page: &TrialPage, width: usize, height: usize) -> Vec<Line<'static>> {
    let Some(trial) = model.state.trials.by_label(page.trial.as_str()) else { return Vec::new() };
    let sheet = TrialSheet { on: Sheet { model, width } };
    if trial.revealed().is_some() { sheet.revealed(trial) } else { sheet.open(trial, page, height) }
}

/// What a trial is told on.
struct TrialSheet<'a> {
    on: Sheet<'a>,
}

impl TrialSheet<'_> {
    fn head(&self, trial: &Trial) -> Vec<Line<'static>> {
        let set = format!("Set {}: {}", trial.set.show_date(), trial_words(trial));
        [
            self.on.words(&set, Meaning::Strong),
            self.on.words("The key is sealed by SHA-256:", Meaning::Muted),
            self.on.words(trial.digest(), Meaning::Muted),
        ]
        .concat()
    }

    /// The page while it is not revealed.
    fn open(&self, trial: &Trial, page: &TrialPage, height: usize) -> Vec<Line<'static>> {
        let missing = trial.missing();
        let names = names(trial);
        let below = page.chosen.there(&names).map_or_else(Vec::new, |name| self.missing(name, &missing));
        let mut above = self.head(trial);
        above.extend(self.on.words(
            "The key is sealed until the trial is revealed: no page here tells what a code is.",
            Meaning::Muted,
        ));
        above.push(Line::default());
        let list = Between { above, lines: names.len(), chosen: page.chosen.place_or_stood(&names), least: 1, below };
        list.lines(self.on.model, (self.on.width, height), |at| {
            let taster = &trial.tasters()[at];
            let of_taster = missing.iter().filter(|glass| glass.taster == taster.name).count();
            let served = taster.served().count();
            let name = left(taster.name.as_str(), 20, self.on.marks());
            let how_far = match of_taster {
                0 => format!("{} all {served} rated", self.on.marks().yes),
                _ => format!("  {} of {served} rated, {of_taster} missing", served - of_taster),
            };
            choice_line(self.on.model, page.chosen.is(&taster.name), &format!("{name} {how_far}"), self.on.width)
        })
    }

    /// The glasses of a taster of which nothing is said, flight by flight.
    fn missing(&self, name: &Label, missing: &[Missing]) -> Vec<Line<'static>> {
        let of_taster: Vec<&Missing> = missing.iter().filter(|glass| glass.taster == *name).collect();
        if of_taster.is_empty() {
            return self.on.words(&format!("Of {name} nothing is missing."), Meaning::Muted);
        }
        let flights = of_taster.chunk_by(|one, next| one.flight == next.flight).map(|flight| {
            let codes: Vec<String> = flight.iter().map(|glass| glass.code.to_string()).collect();
            format!("flight {}: {}", flight[0].flight, codes.join(" "))
        });
        self.on.words(&format!("Missing of {name}, {}", flights.collect::<Vec<_>>().join("; ")), Meaning::Muted)
    }

    /// The page once it is revealed.
    fn revealed(&self, trial: &Trial) -> Vec<Line<'static>> {
        let words =
            self.on.words("It is revealed, and nothing is rated after it: enter shows what it says.", Meaning::Base);
        [self.head(trial), vec![Line::default()], words].concat()
    }
}
