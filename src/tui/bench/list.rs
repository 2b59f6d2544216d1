//! The bench: the trials that are tasted there, and barrels tasted blind from numbered glasses.

use ratatui::text::Line;

use crate::cellar::core::label::Label;
use crate::cellar::jobs::bench::trial::Trial;
use crate::cellar::jobs::finish::fining::FiningTrial;
use crate::tui::bench::glasses::{self, Bench, Glasses, PICKS, for_bench};
use crate::tui::bench::trial;
use crate::tui::core::choice::{self, Choice};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::text::{columns, left};
use crate::tui::core::update::Wishes;
use crate::tui::finish::fining;
use crate::units::{by_count, counted};

/// A line of the bench.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Entry {
    /// A trial.
    Trial(Label),
    /// A fining trial.
    Fining(Label),
    /// An agent is to be tried in the wine of the chosen vessel.
    TryAgent(Label),
    /// The glasses that stand poured.
    Glasses,
    /// The barrels that were chosen on the floor.
    Chosen,
    /// Barrels of the lot under the cursor, in one of the ways to pick them.
    Pick(Label, usize),
}

impl Entry {
    /// What it is called.
    fn name(&self) -> &str {
        match self {
            Entry::Trial(label) | Entry::Fining(label) | Entry::TryAgent(label) | Entry::Pick(label, _) => {
                label.as_str()
            }
            Entry::Glasses => "The glasses that stood poured",
            Entry::Chosen => "What was chosen on the floor",
        }
    }
}

/// What can be tasted: trials that are not revealed before the others, of each the newest first, then barrels.
#[must_use]
pub fn entries(model: &Model) -> Vec<Entry> {
    let mut trials: Vec<&Trial> = model.state.trials.iter().map(|(_, trial)| trial).collect();
    trials.reverse();
    trials.sort_by_key(|trial| trial.revealed().is_some());
    let trials = trials.into_iter().map(|trial| Entry::Trial(trial.label.clone()));
    let mut finings: Vec<Label> = model.state.finings.iter().map(|(_, trial)| trial.label.clone()).collect();
    finings.reverse();
    let finings = finings.into_iter().map(Entry::Fining);
    let wine = model.chosen_vessel().filter(|_| model.why_no_wine().is_none());
    let wine = wine.map(|vessel| Entry::TryAgent(vessel.label.clone()));
    trials.chain(barrels(model)).chain(finings).chain(wine).collect()
}

/// What can be done with barrels: one thing after the other, as the floor stands.
fn barrels(model: &Model) -> Vec<Entry> {
    if model.why_read_only().is_some() {
        Vec::new()
    } else if model.kept.get::<Bench>().is_some() {
        vec![Entry::Glasses]
    } else if !for_bench(model).is_empty() {
        vec![Entry::Chosen]
    } else {
        let lot = model.chosen_vessel().and_then(|vessel| vessel.lot).map(|lot| &model.state.lots.get(lot).label);
        lot.map_or_else(Vec::new, |lot| (0..PICKS.len()).map(|way| Entry::Pick(lot.clone(), way)).collect())
    }
}

/// What can be tasted, a line each.
#[derive(Debug)]
pub struct AtBench {
    chosen: Choice<Entry>,
}

impl Table for AtBench {
    const ABOUT: About = About {
        name: "The bench",
        purpose: "What can be tasted at the bench: trials, those that are not revealed first; fining trials; the barrels that were chosen \
                  on the floor, or ten of the lot that is looked at, from numbered glasses.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "Blind at the bench",
            help: "Goes to the trials, or tastes the chosen barrels, or ten of this lot, from numbered glasses; the numbers are opened \
                   at the end.",
            also: &["trial", "tasting", "flight", "glasses", "panel", "taster", "rank", "fining", "agent", "blend"],
            why_not: |model| {
                let none = model.state.trials.is_empty() && model.state.finings.is_empty();
                // A cellar that is only read still shows its trials.
                model.why_read_only().filter(|_| !model.opened || none)
            },
            open,
        }]),
    };
    const ROWS: &'static [Row<AtBench>] = &[];
}

/// Goes to the bench. Barrels that were chosen or poured already are what was meant.
fn open(model: &mut Model) -> Wishes {
    model.saying = false;
    let entries = entries(model);
    match entries.as_slice() {
        [] => model.say("Choose barrels with + first, or go to one whose lot is to be tasted.", Tone::Refused),
        // An agent can be tried in any wine: beside barrels that were chosen that is not what was meant.
        [meant @ (Entry::Glasses | Entry::Chosen)] | [meant @ (Entry::Glasses | Entry::Chosen), Entry::TryAgent(_)] => {
            return take(model, meant);
        }
        _ => {
            let meant = entries.iter().position(|entry| matches!(entry, Entry::Glasses | Entry::Chosen));
            model.open(AtBench { chosen: Choice::at(&entries, meant.unwrap_or(0)) });
        }
    }
    Vec::new()
}

impl Page for AtBench {
    fn title(&self, _model: &Model) -> String {
        "The bench".to_owned()
    }

    fn is_over(&self) -> bool {
        true
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        lines(model, &self.chosen, width, height)
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        self.chosen.go(model, &entries(model), go);
        Turn::stay()
    }

    fn enter_word(&self, _model: &Model) -> Option<String> {
        Some("take".to_owned())
    }

    /// Takes the line that is chosen; the list is closed by that.
    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        if let Some(entry) = self.chosen.there(&entries(model)).cloned() {
            return Some(Turn::back().wishing(take(model, &entry)));
        }
        let gone = choice::gone(self.chosen.thing()?.name());
        model.say(gone, Tone::Refused);
        Some(Turn::stay())
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        self.chosen.follow(&entries(model), |entry| entry.name().to_owned())
    }
}

fn take(model: &mut Model, entry: &Entry) -> Wishes {
    match entry {
        Entry::Trial(label) => return trial::show(model, label),
        Entry::Fining(label) => {
            if let Some(id) = model.state.finings.find(label.as_str()) {
                fining::show(model, id);
            }
        }
        Entry::TryAgent(vessel) => {
            if let Some(id) = model.state.vessels.find(vessel.as_str()) {
                fining::choose_agent(model, id);
            }
        }
        Entry::Glasses => model.open(Glasses::default()),
        Entry::Chosen => glasses::pour_chosen(model),
        Entry::Pick(lot, way) => glasses::pick(model, lot, *way),
    }
    Vec::new()
}

/// The widest column of labels.
const LABELS: usize = 24;

/// The lines of the bench.
fn lines(model: &Model, chosen: &Choice<Entry>, width: usize, height: usize) -> Vec<Line<'static>> {
    let labels = model.state.trials.iter().map(|(_, trial)| columns(trial.label.as_str())).max();
    let labels = labels.unwrap_or(0).min(LABELS);
    choice::lines(model, &entries(model), chosen, height.max(1), width, |entry| entry_line(model, entry, labels))
}

fn entry_line(model: &Model, entry: &Entry, labels: usize) -> String {
    match entry {
        Entry::Trial(label) => {
            let Some(trial) = model.state.trials.by_label(label.as_str()) else { return String::new() };
            format!("{}  {}", left(trial.label.as_str(), labels, model.looks.marks), trial_words(trial))
        }
        Entry::Fining(label) => {
            let words = model.state.finings.by_label(label.as_str()).map_or_else(String::new, glasses_words);
            format!("Fining: {label}, {words}")
        }
        Entry::TryAgent(vessel) => format!("Fining: try an agent in the wine of {vessel}"),
        Entry::Glasses => {
            let untasted = model.kept.get::<Bench>().map_or(0, |bench| bench.flight.untasted().len());
            format!("Barrels blind: go on with the glasses that stand, {untasted} to taste")
        }
        Entry::Chosen => match for_bench(model).len() {
            1 => "Barrels blind: the one that is chosen".to_owned(),
            many => format!("Barrels blind: the {many} that {} chosen", by_count(many, "is", "are")),
        },
        Entry::Pick(lot, way) => format!("Barrels blind: {} of {lot}", PICKS[*way].1),
    }
}

/// A trial in a few words that tell nothing of its key.
pub(in crate::tui) fn trial_words(trial: &Trial) -> String {
    let (glasses, tasters) = (counted(trial.codes().len(), "glass"), counted(trial.tasters().len(), "taster"));
    let card = if trial.revealed().is_some() { "" } else { ", not revealed" };
    format!("{glasses}, {tasters}, {}{card}", how_far(trial))
}

/// A fining trial in a few words.
pub(in crate::tui) fn glasses_words(trial: &FiningTrial) -> String {
    let chosen = trial.chosen_g_l.map_or_else(|| "no dose chosen".to_owned(), |dose| format!("{dose} g/L chosen"));
    format!("{}, {chosen}", counted(trial.glasses.len(), "glass"))
}

/// How far a trial has come.
pub(in crate::tui) fn how_far(trial: &Trial) -> String {
    match (trial.revealed(), trial.missing().len()) {
        (Some(revealed), _) => format!("revealed {}", revealed.show_date()),
        (None, 0) => format!("all {} rated", trial.servings()),
        (None, missing) => format!("{missing} of {} missing", trial.servings()),
    }
}
