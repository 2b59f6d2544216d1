//! The page of discrepancies: what does not fit, and of what two laptops did both sides, to be settled by a key.

use ratatui::text::Line;

use crate::cellar::doing::much;
use crate::cellar::fact::{FactId, What};
use crate::cellar::label::Label;
use crate::cellar::state::{Discrepancy, State};
use crate::desk::Settlement;
use crate::tui::command::Id;
use crate::tui::floor::find::Jump;
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::pages::choice_line;
use crate::tui::screen::Effect;
use crate::tui::text::wrap;
use crate::tui::theme::Meaning;
use crate::tui::update::Wishes;
use crate::tui::who;
use crate::tui::work::{Entered, Work};
use crate::units::{Mass, Volume};

/// A line that can be chosen: a discrepancy, or of what was done twice one of its sides. By the facts, so that what other
/// programs write moves nothing under the hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Side {
    /// The fact that does not fit.
    pub of: FactId,
    /// The fact that the line tells.
    pub fact: FactId,
}

/// The page of discrepancies.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct DiscrepancyPage {
    /// The line that is chosen; none where nothing is.
    pub chosen: Option<Side>,
    /// Who entered the facts, as far as that was looked up.
    pub who: Vec<Entered>,
}

impl DiscrepancyPage {
    /// The page with the first line chosen.
    fn new(state: &State) -> DiscrepancyPage {
        DiscrepancyPage { chosen: sides(state).into_iter().next(), who: Vec::new() }
    }

    /// The same page in another state of the cellar: what is settled is chosen no more.
    pub(super) fn followed(mut self, state: &State) -> DiscrepancyPage {
        self.chosen = self.chosen.filter(|side| sides(state).contains(side));
        self
    }

    fn found<'a>(&self, state: &'a State) -> Option<(&'a Discrepancy, FactId)> {
        let side = self.chosen.as_ref()?;
        let found = state.discrepancies.iter().find(|found| found.id == side.of)?;
        Some((found, side.fact.clone()))
    }

    fn entered(&self, fact: &FactId) -> Option<&Entered> {
        self.who.iter().find(|entered| entered.fact == *fact)
    }
}

/// What is to be settled stands first; of each the sides in the order in which they happened.
fn in_order(state: &State) -> impl Iterator<Item = &Discrepancy> {
    let others = state.discrepancies.iter().filter(|found| found.twice.is_empty());
    state.done_twice().chain(others)
}

fn sides_of(found: &Discrepancy) -> impl Iterator<Item = Side> + '_ {
    let side = |fact: &FactId| Side { of: found.id.clone(), fact: fact.clone() };
    found.twice.iter().map(side).chain(std::iter::once(side(&found.id)))
}

fn sides(state: &State) -> Vec<Side> {
    in_order(state).flat_map(sides_of).collect()
}

/// The facts that the page tells of.
pub(super) fn facts(state: &State) -> Vec<FactId> {
    state.done_twice().flat_map(sides_of).map(|side| side.fact).collect()
}

/// How many things were done on two laptops and are to be settled, and where; none where none are.
pub(super) fn told(state: &State) -> Option<String> {
    match state.done_twice().count() {
        0 => None,
        1 => Some("One thing was done on two laptops: / and discrepancies settles it.".to_owned()),
        many => Some(format!("{many} things were done on two laptops: / and discrepancies settles them.")),
    }
}

impl Model {
    /// Why there is no page of discrepancies, if there is none.
    #[must_use]
    pub fn why_no_discrepancies(&self) -> Option<String> {
        self.state.discrepancies.is_empty().then(|| "Every fact fits the facts before it.".to_owned())
    }

    /// Why the chosen discrepancy cannot be settled by a key, if it cannot.
    #[must_use]
    pub fn why_not_settled(&self) -> Option<String> {
        let Mode::Discrepancies(page) = &self.mode else { return None };
        self.why_read_only().or_else(|| match page.found(&self.state) {
            None => Some("Nothing is chosen. Up and down choose.".to_owned()),
            Some((found, _)) if found.twice.is_empty() => {
                Some("This one was not done twice. Correct the fact where it was entered; enter goes there.".to_owned())
            }
            Some(_) => None,
        })
    }
}

/// Opens the page, and looks up who entered what stands on it.
pub(super) fn open(model: &mut Model) -> Wishes {
    model.mode = Mode::Discrepancies(DiscrepancyPage::new(&model.state));
    who::ask(model)
}

/// Goes to another line.
pub(super) fn step(model: &mut Model, by: isize) {
    let sides = sides(&model.state);
    let Mode::Discrepancies(page) = &mut model.mode else { return };
    let at = page.chosen.as_ref().and_then(|chosen| sides.iter().position(|side| side == chosen));
    let to = at.map_or(0, |at| at.saturating_add_signed(by).min(sides.len().saturating_sub(1)));
    page.chosen = sides.into_iter().nth(to);
}

/// Settles what is chosen: all of it was done, or only the chosen side.
pub(super) fn settle(model: &Model, id: Id) -> Wishes {
    let Mode::Discrepancies(page) = &model.mode else { return Vec::new() };
    let Some((found, stays)) = page.found(&model.state) else { return Vec::new() };
    let about = found.about.as_ref().map_or("It", Label::as_str);
    let (settlement, say) = if id == Id::KeepAll {
        (Settlement::All(found.id.clone()), format!("{about}: both were done, and both count."))
    } else {
        let go = sides_of(found).map(|side| side.fact).filter(|fact| *fact != stays).collect();
        let who = page.entered(&stays).and_then(|entered| entered.by.as_ref());
        let whose = who.map_or_else(String::new, |by| format!(", as {by} entered it"));
        (Settlement::Only { stays, go }, format!("{about}: it was done once{whose}."))
    };
    vec![Effect::Work(Work::Settle { settlement, by: model.by.clone(), answered: model.asked.clone(), say })]
}

/// Enter: of what was done twice only the chosen side stays; else it goes to where the fact was entered.
pub(super) fn choose(model: &mut Model, page: &DiscrepancyPage) -> Wishes {
    match page.found(&model.state) {
        Some((found, _)) if found.twice.is_empty() => {
            let vessel = found.about.as_ref().and_then(|about| model.state.vessels.find(about.as_str()));
            match vessel {
                Some(vessel) => {
                    model.mode = Mode::Floor;
                    model.jump(Jump::Vessel(vessel));
                }
                None => model.say("It is about no vessel. Correct the fact where it was entered.", Tone::Notice),
            }
            Vec::new()
        }
        _ => match model.why_not_settled() {
            Some(why) => {
                model.say(why, Tone::Refused);
                Vec::new()
            }
            None => settle(model, Id::KeepOne),
        },
    }
}

/// Something was settled, or taken back: the page stays as long as something is on it.
pub(super) fn stored(model: &mut Model, page: DiscrepancyPage) {
    if model.state.discrepancies.is_empty() {
        model.say_also("Every fact fits now.", Tone::Done);
        return;
    }
    let mut page = page.followed(&model.state);
    page.chosen = page.chosen.or_else(|| sides(&model.state).into_iter().next());
    model.mode = Mode::Discrepancies(page);
}

/// The lines of the page, and the line from which on it is shown so that the chosen one is in sight.
pub(super) fn page(
    model: &Model,
    page: &DiscrepancyPage,
    width: usize,
    height: usize,
) -> (String, Vec<Line<'static>>, usize) {
    let (marks, theme) = (model.looks.marks, model.looks.theme);
    let (mut lines, mut chosen_at) = (Vec::new(), 0);
    for found in in_order(&model.state) {
        if !lines.is_empty() {
            lines.push(Line::default());
        }
        let meaning = if found.twice.is_empty() { Meaning::Base } else { Meaning::Over };
        let effect = if found.counted { "" } else { " It has no effect." };
        for line in wrap(&format!("{}{effect}", found.problem), width, marks) {
            lines.push(Line::styled(line, theme.style(meaning)));
        }
        for side in sides_of(found) {
            let is_chosen = page.chosen.as_ref() == Some(&side);
            if is_chosen {
                chosen_at = lines.len();
            }
            lines.push(choice_line(model, is_chosen, &side_words(page, found, &side.fact), width));
        }
    }
    lines.push(Line::default());
    let how = "Done on two laptops: enter keeps only the side that is chosen, space says that all of it was done. u takes \
               that back.";
    lines.extend(wrap(how, width, marks).into_iter().map(|line| Line::styled(line, theme.style(Meaning::Muted))));
    let from = (chosen_at + 3).saturating_sub(height.max(1));
    (title(&model.state), lines, from)
}

fn title(state: &State) -> String {
    match (state.discrepancies.len(), state.done_twice().count()) {
        (1, 0) => "Discrepancies: one fact does not fit".to_owned(),
        (all, 0) => format!("Discrepancies: {all} facts do not fit"),
        (all, twice) => format!("Discrepancies: {all}, of them {twice} to settle"),
    }
}

/// Who, when, how much.
fn side_words(page: &DiscrepancyPage, found: &Discrepancy, fact: &FactId) -> String {
    let Some(entered) = page.entered(fact) else {
        return if *fact == found.id { format!("{}, {fact}", found.at.show_clock()) } else { fact.to_string() };
    };
    let by = entered.by.as_ref().map_or("?", Label::as_str);
    let at = entered.at.unwrap_or(found.at).show_clock();
    let took = entered.what.as_ref().map_or_else(String::new, took);
    // The laptop's name says nothing to a person; it is told only where one person went with both.
    let others = sides_of(found).filter(|side| side.fact != *fact);
    let mut others = others.filter_map(|side| page.entered(&side.fact).and_then(|other| other.by.as_ref()));
    let laptop =
        if others.any(|other| other.as_str() == by) { format!(", laptop {}", fact.device) } else { String::new() };
    format!("{by}, {at}{took}{laptop}")
}

/// How much a fact says, and from where.
fn took(what: &What) -> String {
    match what {
        What::Topped(topped) => format!(": {} from {}", much(topped.volume, Mass::ZERO), topped.from),
        What::Treated(treated) => {
            let weighed = much(Volume::ZERO, treated.amount);
            let solution = if treated.solution.is_zero() {
                String::new()
            } else {
                format!(" in {}", much(treated.solution, Mass::ZERO))
            };
            format!(": {weighed} of {}{solution}", treated.material)
        }
        What::BarrelCared(cared) => format!(": {}", cared.care.word()),
        What::WineMoved(moved) => {
            format!(": {} from {} into {}", much(moved.volume, Mass::ZERO), moved.from, moved.to)
        }
        _ => String::new(),
    }
}
