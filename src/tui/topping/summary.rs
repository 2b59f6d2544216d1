//! The summary of a round, before it is closed.

use ratatui::text::Line;

use crate::cellar::core::state::{RoundId, VesselId};
use crate::tui::core::draw::paragraph;
use crate::tui::core::model::Model;
use crate::tui::core::page::{About, Before, Followed, Opens, Page, Row, Table, Turn};
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::floor::card::drinks;
use crate::tui::floor::colouring::WEEPS;
use crate::tui::topping::rounds;
use crate::units::{counted, litres};

/// So many leaks a summary names, the worst: it must fit a small screen.
const LEAKS_NAMED: usize = 6;

/// The summary of a round.
#[derive(Debug)]
pub struct Summary {
    /// The round.
    round: RoundId,
    /// From which line on it is shown.
    line: usize,
}

impl Summary {
    /// The summary of a round.
    #[must_use]
    pub fn new(round: RoundId) -> Summary {
        Summary { round, line: 0 }
    }
}

impl Table for Summary {
    const ABOUT: About = About {
        name: "Closing the round",
        purpose: "Shows what the round topped and poured, what was skipped or is not brimful yet, what took far more than the others and \
                  what leaks. Enter closes the round; esc goes on with it. To pause, just go away: it stays open.",
        opens: Opens::From("it opens where a round is closed"),
    };
    const ROWS: &'static [Row<Summary>] = &[];
}

impl Page for Summary {
    fn title(&self, _model: &Model) -> String {
        "Closing the round".to_owned()
    }

    fn lines(&self, model: &Model, width: usize, _height: usize) -> Vec<Line<'static>> {
        summary(model, self.round, width)
    }

    fn line_shown(&self) -> Option<usize> {
        Some(self.line)
    }

    fn line_shown_mut(&mut self) -> Option<&mut usize> {
        Some(&mut self.line)
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("close the round".to_owned())
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(rounds::end(model, self.round).into())
    }

    fn stored(&mut self, _model: &mut Model, then: Then) -> Turn {
        Turn::back_and_stored(then)
    }

    fn follow(&mut self, model: &mut Model, before: &Before<'_>) -> Followed {
        let label = &before.state.rounds.get(self.round).label;
        let found = model.state.rounds.find(label.as_str());
        match found.filter(|&id| model.state.rounds.get(id).ended.is_none()) {
            Some(round) => {
                self.round = round;
                Followed::There
            }
            None => Followed::Gone(format!("The round {label}")),
        }
    }
}

fn summary(model: &Model, id: RoundId, width: usize) -> Vec<Line<'static>> {
    let round = model.state.rounds.get(id);
    let progress = model.state.progress(id, None, model.now);
    let line = |text: String, meaning| paragraph(model, &text, width, meaning);
    let mut lines: Vec<Line<'static>> = Vec::new();
    lines.extend(line(format!("{}, begun {}", round.label, round.begun.show_clock()), Meaning::Strong));
    lines.extend(line(
        format!("{} of {} topped with {}", progress.done, counted(progress.of, "barrel"), litres(round.poured)),
        Meaning::Base,
    ));
    if let Some(source) = round.source.map(|source| model.state.vessels.get(source)) {
        lines.extend(line(format!("{} still holds {}", source.label, litres(source.volume())), Meaning::Base));
    }
    let not_done = progress.left().saturating_sub(progress.skipped + progress.in_part);
    if not_done > 0 {
        lines.extend(line(format!("{not_done} not done and not skipped: esc, then n, goes to the next"), Meaning::Due));
    }
    let skipped = round.skipped();
    if !skipped.is_empty() {
        lines.extend(line(format!("skipped: {}", names(model, skipped.into_iter())), Meaning::Due));
    }
    let in_part = round.in_part();
    if !in_part.is_empty() {
        lines.extend(line(format!("not brimful yet: {}", names(model, in_part.into_iter())), Meaning::Due));
    }
    let thirsty = round.thirsty();
    if !thirsty.is_empty() {
        let named: Vec<String> = thirsty
            .iter()
            .map(|&(id, volume)| format!("{} {}", model.state.vessels.get(id).label, litres(volume)))
            .collect();
        lines.extend(line(format!("took far more than the others, look at them: {}", named.join(", ")), Meaning::Over));
    }
    let leaks = model.state.leaks_in(round.room);
    for (id, leak) in leaks.iter().take(LEAKS_NAMED) {
        lines.extend(line(format!("{} {}", model.state.vessels.get(*id).label, drinks(leak)), Meaning::Over));
    }
    if leaks.len() > LEAKS_NAMED {
        let more = leaks.len() - LEAKS_NAMED;
        lines.extend(line(format!("and {more} more that drink too much, marked {WEEPS} on the floor"), Meaning::Over));
    }
    if progress.held > 0 {
        lines.extend(line(format!("{} held back", progress.held), Meaning::Held));
    }
    lines.push(Line::default());
    lines.extend(line("enter closes the round, esc goes on with it".to_owned(), Meaning::Muted));
    lines
}

fn names(model: &Model, vessels: impl Iterator<Item = VesselId>) -> String {
    let names: Vec<String> = vessels.map(|id| model.state.vessels.get(id).label.to_string()).collect();
    names.join(", ")
}
