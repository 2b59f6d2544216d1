//! What stands on the pages of a fining trial.

use ratatui::text::Line;

use super::{AgentChoice, Batch, FiningPage};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::FiningId;
use crate::cellar::jobs::finish::fining::given::{FiningDone, colour_of};
use crate::cellar::jobs::finish::fining::{FiningGlass, is_same_dose};
use crate::reckon::fining::{Agent, Fining, kind_of};
use crate::reckon::material::WineColour;
use crate::told::finish::{too_much_water, whites_of_egg};
use crate::told::usual;
use crate::tui::core::choice;
use crate::tui::core::choice::choice_line;
use crate::tui::core::list::Between;
use crate::tui::core::model::Model;
use crate::tui::core::sheet::Sheet;
use crate::tui::core::text::{left, right};
use crate::tui::core::theme::Meaning;
use crate::units::{VolumeUnit, percent, poured, weighed};

/// The columns of an agent: potassium ferrocyanide is the longest.
const AGENT: usize = 22;
/// So many glasses are in sight at least.
const GLASSES_SHOWN: usize = 3;

/// The agents that can be tried, each with what is usual.
pub(super) fn agents(model: &Model, choice: &AgentChoice, width: usize, height: usize) -> Vec<Line<'static>> {
    let kind = kind_of(colour_in(model, choice.vessel.as_str()));
    let vessel = model.state.vessels.find(choice.vessel.as_str());
    let words = |agent: &Label| {
        let usual = Agent::named(agent.as_str()).and_then(|known| known.usual(kind));
        let usual = usual.map(|(least, most)| format!("usual {least} to {most} g/L"));
        let ends = vessel.and_then(|id| model.state.asks_of_organic(&[id], agent));
        let ends = ends.map(|_| "ends the claim \"organic\"".to_owned());
        let said: Vec<String> = usual.into_iter().chain(ends).collect();
        format!("{} {}", left(agent.as_str(), AGENT, model.looks.marks), said.join(", "))
    };
    choice::lines(model, &model.state.fining_agents(), &choice.chosen, height.max(1), width, words)
}

/// The colour of the wine that a vessel holds.
fn colour_in(model: &Model, vessel: &str) -> WineColour {
    colour_of(model.state.vessels.by_label(vessel).and_then(|vessel| model.state.colour_in(vessel)))
}

/// The lines of the page of a trial.
pub(super) fn lines(model: &Model, page: &FiningPage, width: usize, height: usize) -> Vec<Line<'static>> {
    let sheet = TrialSheet { on: Sheet { model, width }, page };
    let all = page.glasses();
    let list = Between {
        above: sheet.head(),
        lines: all.len(),
        chosen: page.chosen.place_or_stood(&all),
        least: GLASSES_SHOWN,
        below: sheet.below(),
    };
    list.lines(model, (width, height), |at| sheet.glass(at, page.chosen.is(&all[at])))
}

/// What a trial is told on.
struct TrialSheet<'a> {
    on: Sheet<'a>,
    page: &'a FiningPage,
}

impl TrialSheet<'_> {
    fn id(&self) -> Option<FiningId> {
        self.on.model.state.finings.find(self.page.tried.trial.as_str())
    }

    fn head(&self) -> Vec<Line<'static>> {
        let tried = &self.page.tried;
        let vessel = self.on.model.state.vessels.by_label(tried.vessel.as_str());
        let holds = vessel.map_or_else(String::new, |vessel| {
            let lot =
                vessel.lot.map_or_else(String::new, |lot| format!(" of {}", self.on.model.state.lots.get(lot).label));
            format!(", {}{lot}", poured(vessel.volume()))
        });
        let of = format!("{}, stock of {} %, for {}{holds}", tried.material, tried.stock_pct, tried.vessel);
        let mut lines = self.on.words(&of, Meaning::Strong);
        if let Some(agent) = Agent::named(tried.material.as_str()) {
            // What was tried stays the wine that it was, whatever its vessel holds by now.
            let state = &self.on.model.state;
            let colour_now = || colour_in(self.on.model, tried.vessel.as_str());
            let colour = self.id().map_or_else(colour_now, |id| state.finings.get(id).colour(state));
            lines.extend(self.on.words(&agent.words(colour), Meaning::Muted));
        }
        let state = &self.on.model.state;
        let id = state.vessels.find(tried.vessel.as_str());
        let ends = id.and_then(|id| state.asks_of_organic(&[id], &tried.material));
        lines.extend(ends.iter().flat_map(|question| self.on.words(&question.to_string(), Meaning::Due)));
        lines.push(Line::default());
        let heading = format!("  {:>7}  {:>12}  {:>6}  {:>5}  seen", "g/L", "mL in 100 mL", "NTU", "score");
        lines.push(self.on.line(&heading, Meaning::Title));
        lines
    }

    /// A glass, or the new one beyond the last.
    fn glass(&self, at: usize, is_here: bool) -> Line<'static> {
        let written = || self.on.model.written(&self.page.line, self.on.width.saturating_sub(24));
        let text = match self.page.tried.glasses.get(at) {
            Some(glass) => self.glass_words(glass, if is_here { Some(written()) } else { None }),
            None if is_here => format!("a new glass: {}", written()),
            None => "a new glass".to_owned(),
        };
        choice_line(self.on.model, is_here, &text, self.on.width)
    }

    fn glass_words(&self, glass: &FiningGlass, written: Option<String>) -> String {
        let marks = self.on.marks();
        let number = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |value| value.to_string());
        let stock = Fining::new(glass.dose_g_l, self.page.tried.stock_pct)
            .and_then(|fining| fining.given_to(usual::FINING_GLASS_VOLUME));
        let stock = stock.map_or_else(|_| "-".to_owned(), |given| given.stock.in_column_of(VolumeUnit::Millilitre, 2));
        let seen = glass.text.as_ref().map_or("", |text| text.as_str());
        let is_chosen = self.page.tried.chosen_g_l.is_some_and(|chosen| is_same_dose(chosen, glass.dose_g_l));
        let chosen = if is_chosen { " (chosen)" } else { "" };
        let words = match written {
            // What is being written stands in place of what was seen, which stays until enter.
            Some(written) if written.len() > 1 => written,
            Some(cursor) => format!("{seen}{chosen} {cursor}"),
            None => format!("{seen}{chosen}"),
        };
        format!(
            "{}  {}  {}  {}  {words}",
            right(&glass.dose_g_l.to_string(), 7, marks),
            right(&stock, 12, marks),
            right(&number(glass.turbidity_ntu), 6, marks),
            right(&number(glass.score), 5, marks),
        )
    }

    /// What the chosen dose comes to in the vessel, what followed, and how to go on.
    fn below(&self) -> Vec<Line<'static>> {
        let given: Vec<_> = self.id().map_or_else(Vec::new, |id| {
            let trial = self.on.model.state.finings.get(id);
            trial
                .followed_by(&self.on.model.state)
                .flat_map(|done| self.on.words(&self.done_words(done), Meaning::Fine))
                .collect()
        });
        // What was given is no plan any more, and the vessel holds the stock by now; unless it is to be given again.
        let is_planned = given.is_empty() || self.on.model.page::<Batch>().is_some();
        let mut lines = if is_planned { self.scaled_up() } else { Vec::new() };
        lines.extend(given);
        let how = "A new glass: 0.5, or 0.5: clear, 8 NTU, 14.5 (a bare number is the score). On a glass: what is seen. stock 10% is \
                   another stock. With nothing typed enter lists choosing its dose and giving it; delete takes back.";
        lines.extend(self.on.below_written(&self.page.line, how, || self.page.meant(self.on.model)));
        lines
    }

    fn scaled_up(&self) -> Vec<Line<'static>> {
        let planned = self.id().map(|id| {
            let trial = self.on.model.state.finings.get(id);
            trial.chosen_g_l.map(|dose| (dose, trial.word_on(&self.on.model.state, dose), id, trial.vessel))
        });
        let Some((dose, word, id, vessel)) = planned.flatten() else {
            return self.on.words("No dose is chosen yet.", Meaning::Muted);
        };
        let plan = match self.on.model.state.plan_fining(id, vessel) {
            Ok(plan) => plan,
            Err(refusal) => return self.on.words(&refusal.to_string(), Meaning::Due),
        };
        let holds = self.on.model.state.vessels.get(vessel).volume();
        let (amount, stock, label) = (weighed(plan.given.amount), poured(plan.given.stock), &self.page.tried.vessel);
        let share = percent(2, plan.given.share);
        let text = format!(
            "{dose} g/L for {label} with {}: {amount} in {stock} of stock, {share} of the wine.",
            poured(holds)
        );
        let mut lines = self.on.words(&text, Meaning::Strong);
        let water = too_much_water(&plan.watered(&self.on.model.state));
        lines.extend(water.iter().chain(&word).flat_map(|words| self.on.words(words, Meaning::Due)));
        if Agent::named(self.page.tried.material.as_str()).is_some_and(|agent| agent.is_egg_white()) {
            lines.extend(self.on.words(&whites_of_egg(holds), Meaning::Muted));
        }
        lines
    }

    fn done_words(&self, done: &FiningDone) -> String {
        let label = &self.on.model.state.vessels.get(done.vessel).label;
        let batch = done.batch.as_ref().map_or_else(String::new, |batch| format!(", batch {batch}"));
        let given = format!("given {}: {} into {label}{batch}", done.at.show_date(), weighed(done.amount));
        match done.racked {
            None => format!("{given}; not racked off yet."),
            Some(racked) => {
                let share = racked.lost_share().map_or_else(String::new, |share| format!(", {}", percent(1, share)));
                format!("{given}; racked off {}: it cost {}{share}.", racked.at.show_date(), poured(racked.lost))
            }
        }
    }
}
