//! The bench: the trials that are tasted there, and barrels tasted blind from numbered glasses.

use ratatui::text::Line;

use crate::cellar::fining::FiningTrial;
use crate::cellar::state::{FiningId, TrialId, VesselId};
use crate::cellar::trial::Trial;
use crate::tui::bench_tasting::{self, PICKS};
use crate::tui::fining::{self, FiningPage};
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::pages::choice_line;
use crate::tui::text::{columns, left};
use crate::tui::trial;
use crate::tui::update::Wishes;

/// A line of the bench.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Entry {
    /// A trial.
    Trial(TrialId),
    /// A fining trial.
    Fining(FiningId),
    /// An agent is to be tried in the wine of the chosen vessel.
    TryAgent(VesselId),
    /// The glasses that stand poured.
    Glasses,
    /// The barrels that were chosen on the floor.
    Chosen,
    /// Barrels of the lot under the cursor, in one of the ways to pick them.
    Pick(usize),
}

/// What can be tasted: trials that are not revealed before the others, of each the newest first, then barrels.
#[must_use]
pub fn entries(model: &Model) -> Vec<Entry> {
    let mut trials: Vec<(TrialId, &Trial)> = model.state.trials.iter().collect();
    trials.reverse();
    trials.sort_by_key(|(_, trial)| trial.revealed().is_some());
    let trials = trials.into_iter().map(|(id, _)| Entry::Trial(id));
    let mut finings: Vec<FiningId> = model.state.finings.iter().map(|(id, _)| id).collect();
    finings.reverse();
    let finings = finings.into_iter().map(Entry::Fining);
    let wine = model.chosen().filter(|_| model.why_no_wine().is_none());
    trials.chain(barrels(model)).chain(finings).chain(wine.map(Entry::TryAgent)).collect()
}

/// What can be done with barrels: one thing after the other, as the floor stands.
fn barrels(model: &Model) -> Vec<Entry> {
    if model.why_read_only().is_some() {
        Vec::new()
    } else if model.bench.is_some() {
        vec![Entry::Glasses]
    } else if !model.for_bench.is_empty() {
        vec![Entry::Chosen]
    } else if model.chosen_vessel().is_some_and(|vessel| vessel.lot.is_some()) {
        (0..PICKS.len()).map(Entry::Pick).collect()
    } else {
        Vec::new()
    }
}

impl Model {
    /// Why the bench cannot be gone to, if it cannot: a cellar that is only read still shows its trials.
    #[must_use]
    pub fn why_no_bench(&self) -> Option<String> {
        self.why_read_only().filter(|_| !self.opened || (self.state.trials.is_empty() && self.state.finings.is_empty()))
    }
}

/// Goes to the bench. Barrels that were chosen or poured already are what was meant.
pub(super) fn go_to(model: &mut Model) -> Wishes {
    model.saying = false;
    let entries = entries(model);
    match entries.as_slice() {
        [] => model.say("Choose barrels with + first, or go to one whose lot is to be tasted.", Tone::Refused),
        // An agent can be tried in any wine: beside barrels that were chosen that is not what was meant.
        [meant @ (Entry::Glasses | Entry::Chosen)] | [meant @ (Entry::Glasses | Entry::Chosen), Entry::TryAgent(_)] => {
            return take(model, *meant);
        }
        _ => {
            let meant = entries.iter().position(|entry| matches!(entry, Entry::Glasses | Entry::Chosen));
            model.mode = Mode::AtBench(meant.unwrap_or(0));
        }
    }
    Vec::new()
}

/// Takes the line that is chosen.
pub(super) fn choose(model: &mut Model, chosen: usize) -> Wishes {
    match entries(model).get(chosen) {
        Some(&entry) => take(model, entry),
        None => Vec::new(),
    }
}

fn take(model: &mut Model, entry: Entry) -> Wishes {
    match entry {
        Entry::Trial(id) => trial::show(model, &model.state.trials.get(id).label.clone()),
        Entry::Fining(id) => model.mode = Mode::Fining(FiningPage::new(&model.state, id)),
        Entry::TryAgent(vessel) => fining::choose_agent(model, vessel),
        Entry::Glasses => model.mode = Mode::Bench,
        Entry::Chosen => bench_tasting::pour_chosen(model),
        Entry::Pick(pick) => return bench_tasting::pick(model, pick),
    }
    Vec::new()
}

/// The widest column of labels.
const LABELS: usize = 24;

/// The lines of the bench.
pub(super) fn lines(model: &Model, chosen: usize, width: usize, height: usize) -> Vec<Line<'static>> {
    let entries = entries(model);
    let inside = height.max(1);
    let first = chosen.saturating_sub(inside - 1);
    let labels = model.state.trials.iter().map(|(_, trial)| columns(trial.label.as_str())).max();
    let labels = labels.unwrap_or(0).min(LABELS);
    let shown = entries.iter().enumerate().skip(first).take(inside);
    shown.map(|(index, &entry)| choice_line(model, index == chosen, &entry_line(model, entry, labels), width)).collect()
}

fn entry_line(model: &Model, entry: Entry, labels: usize) -> String {
    match entry {
        Entry::Trial(id) => {
            let trial = model.state.trials.get(id);
            format!("{}  {}", left(trial.label.as_str(), labels, model.looks.marks), trial_words(trial))
        }
        Entry::Fining(id) => {
            let trial = model.state.finings.get(id);
            format!("Fining: {}, {}", trial.label, glasses_words(trial))
        }
        Entry::TryAgent(vessel) => {
            format!("Fining: try an agent in the wine of {}", model.state.vessels.get(vessel).label)
        }
        Entry::Glasses => {
            let untasted = model.bench.as_ref().map_or(0, |bench| bench.flight.untasted().len());
            format!("Barrels blind: go on with the glasses that stand, {untasted} to taste")
        }
        Entry::Chosen => format!("Barrels blind: the {} that are chosen", model.for_bench.len()),
        Entry::Pick(pick) => {
            let lot = model.chosen_vessel().and_then(|vessel| vessel.lot).map(|lot| model.state.lots.get(lot));
            let lot = lot.map_or("the lot", |lot| lot.label.as_str());
            format!("Barrels blind: {} of {lot}", PICKS[pick].1)
        }
    }
}

/// A trial in a few words that tell nothing of its key.
pub(super) fn trial_words(trial: &Trial) -> String {
    let (glasses, tasters) = (trial.codes().len(), trial.tasters().len());
    let card = if trial.revealed().is_some() { "" } else { ", not revealed" };
    format!("{glasses} glasses, {tasters} tasters, {}{card}", how_far(trial))
}

/// A fining trial in a few words.
pub(super) fn glasses_words(trial: &FiningTrial) -> String {
    let chosen = trial.chosen_g_l.map_or_else(|| "no dose chosen".to_owned(), |dose| format!("{dose} g/L chosen"));
    format!("{} glasses, {chosen}", trial.glasses.len())
}

/// How far a trial has come.
pub(super) fn how_far(trial: &Trial) -> String {
    match (trial.revealed(), trial.missing().len()) {
        (Some(revealed), _) => format!("revealed {}", revealed.show_date()),
        (None, 0) => format!("all {} rated", trial.servings()),
        (None, missing) => format!("{missing} of {} missing", trial.servings()),
    }
}
