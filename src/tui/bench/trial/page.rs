//! The page of a trial: how far its tasters have come, the digest of its key, and the question before it is revealed.

use ratatui::text::Line;

use super::{TrialPage, names};
use crate::cellar::core::label::Label;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::bench::trial::rating::Missing;
use crate::tui::bench::list::trial_words;
use crate::tui::core::choice::choice_line;
use crate::tui::core::draw::paragraph;
use crate::tui::core::list::Between;
use crate::tui::core::model::Model;
use crate::tui::core::text::left;
use crate::tui::core::theme::Meaning;

/// The lines of the page.
pub(super) fn lines(model: &Model, page: &TrialPage, width: usize, height: usize) -> Vec<Line<'static>> {
    let Some(trial) = model.state.trials.by_label(page.trial.as_str()) else { return Vec::new() };
    let writer = Writer { model, width };
    if trial.revealed().is_some() { writer.revealed(trial) } else { writer.open(trial, page, height) }
}

struct Writer<'a> {
    model: &'a Model,
    width: usize,
}

impl Writer<'_> {
    fn say(&self, text: &str, meaning: Meaning) -> Vec<Line<'static>> {
        paragraph(self.model, text, self.width, meaning)
    }

    fn head(&self, trial: &Trial) -> Vec<Line<'static>> {
        let set = format!("Set {}: {}", trial.set.show_date(), trial_words(trial));
        [
            self.say(&set, Meaning::Strong),
            self.say("The key is sealed by SHA-256:", Meaning::Muted),
            self.say(trial.digest(), Meaning::Muted),
        ]
        .concat()
    }

    /// The page while it is not revealed.
    fn open(&self, trial: &Trial, page: &TrialPage, height: usize) -> Vec<Line<'static>> {
        let missing = trial.missing();
        let names = names(trial);
        let below = page.chosen.there(&names).map_or_else(Vec::new, |name| self.missing(name, &missing));
        let mut above = self.head(trial);
        above.extend(
            self.say(
                "The key is sealed until the trial is revealed: no page here tells what a code is.",
                Meaning::Muted,
            ),
        );
        above.push(Line::default());
        let list = Between { above, lines: names.len(), chosen: page.chosen.place_or_stood(&names), least: 1, below };
        list.lines(self.model, (self.width, height), |at| {
            let taster = &trial.tasters()[at];
            let of_taster = missing.iter().filter(|glass| glass.taster == taster.name).count();
            let served = taster.served().count();
            let name = left(taster.name.as_str(), 20, self.model.looks.marks);
            let how_far = match of_taster {
                0 => format!("{} all {served} rated", self.model.looks.marks.yes),
                _ => format!("  {} of {served} rated, {of_taster} missing", served - of_taster),
            };
            choice_line(self.model, page.chosen.is(&taster.name), &format!("{name} {how_far}"), self.width)
        })
    }

    /// The glasses of a taster of which nothing is said, flight by flight.
    fn missing(&self, name: &Label, missing: &[Missing]) -> Vec<Line<'static>> {
        let of_taster: Vec<&Missing> = missing.iter().filter(|glass| glass.taster == *name).collect();
        if of_taster.is_empty() {
            return self.say(&format!("Of {name} nothing is missing."), Meaning::Muted);
        }
        let flights = of_taster.chunk_by(|one, next| one.flight == next.flight).map(|flight| {
            let codes: Vec<String> = flight.iter().map(|glass| glass.code.to_string()).collect();
            format!("flight {}: {}", flight[0].flight, codes.join(" "))
        });
        self.say(&format!("Missing of {name}, {}", flights.collect::<Vec<_>>().join("; ")), Meaning::Muted)
    }

    /// The page once it is revealed.
    fn revealed(&self, trial: &Trial) -> Vec<Line<'static>> {
        let words = self.say("It is revealed, and nothing is rated after it: enter shows what it says.", Meaning::Base);
        [self.head(trial), vec![Line::default()], words].concat()
    }
}
