//! The page of discrepancies: what does not fit, and of what two laptops did both sides, to be settled by a key.

use ratatui::text::Line;

use crate::cellar::core::doing::much;
use crate::cellar::core::fact::{FactId, What};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::{Discrepancy, State};
use crate::desk::Settlement;
use crate::tui::core::choice::choice_line;
use crate::tui::core::draw::paragraph;
use crate::tui::core::list::window;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::core::text::wrap;
use crate::tui::core::theme::Meaning;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::who;
use crate::tui::core::work::{Answer, Entered, Work};
use crate::tui::edge::screen::Effect;
use crate::tui::floor::jump::Jump;
use crate::units::{Mass, Volume, by_count, counted};

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

/// How many things were done on two laptops and are to be settled, and where; none where there are no more of them than before.
pub(in crate::tui) fn told(model: &Model, before: Option<&State>) -> Option<String> {
    let before = before.map_or(0, |before| before.done_twice().count());
    match model.state.done_twice().count() {
        count if count <= before => None,
        1 => Some("One thing was done on two laptops: / and discrepancies settles it.".to_owned()),
        many => Some(format!("{many} things were done on two laptops: / and discrepancies settles them.")),
    }
}

impl Table for DiscrepancyPage {
    const ABOUT: About = About {
        name: "Discrepancies",
        purpose: "The facts that do not fit those before them, what two laptops did both first: of that enter keeps only the side that is \
                  chosen, space says that all of it was done; undo takes that back.\n\
                  Of a fact that was not done twice enter goes to the vessel that it is about, where it is put right.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "Discrepancies",
            help: "Shows the facts that do not fit those before them; what two laptops did both is settled there: all of it was done, or \
                   only one side.",
            also: &["does not fit", "wrong"],
            why_not: why_none,
            open,
        }]),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<DiscrepancyPage>] = &[
        Row::new(Sense::Done, "All of it was done", "Says that all that was entered on the two laptops was done.", |page: &mut DiscrepancyPage, model| page.settle(model, true).into()).word(|_, _| Some("both were done".to_owned())).unless(DiscrepancyPage::why_not_settled),
        Row::UNDO,
        Row::REDO,
    ];
}

/// Why there is no page of discrepancies, if there is none.
fn why_none(model: &Model) -> Option<String> {
    model.state.discrepancies.is_empty().then(|| "Every fact fits the facts before it.".to_owned())
}

/// Opens the page; who entered what stands on it is looked up then.
fn open(model: &mut Model) -> Wishes {
    let mut page = DiscrepancyPage::new(&model.state);
    let wishes = page.wants(model);
    model.open(page);
    wishes
}

impl DiscrepancyPage {
    /// The facts that the page tells of.
    fn facts(state: &State) -> Vec<FactId> {
        sides(state).into_iter().map(|side| side.fact).collect()
    }

    /// Why what is chosen cannot be settled by a key, if it cannot.
    fn why_not_settled(&self, model: &Model) -> Option<String> {
        model.why_read_only().or_else(|| match self.found(&model.state) {
            None => Some("Nothing is chosen. Up and down choose.".to_owned()),
            Some((found, _)) if found.twice.is_empty() => {
                Some("This one was not done twice. Correct the fact where it was entered; enter goes there.".to_owned())
            }
            Some(_) => None,
        })
    }

    /// Settles what is chosen: all of it was done, or only the chosen side.
    fn settle(&self, model: &Model, all: bool) -> Wishes {
        let Some((found, stays)) = self.found(&model.state) else { return Vec::new() };
        let about = found.about.as_ref().map_or("It", Label::as_str);
        let (settlement, say) = if all {
            (Settlement::All(found.id.clone()), format!("{about}: both were done, and both count."))
        } else {
            let go = sides_of(found).map(|side| side.fact).filter(|fact| *fact != stays).collect();
            let who = self.entered(&stays).and_then(|entered| entered.by.as_ref());
            let whose = who.map_or_else(String::new, |by| format!(", as {by} entered it"));
            (Settlement::Only { stays, go }, format!("{about}: it was done once{whose}."))
        };
        vec![Effect::Work(Work::Settle { settlement, by: model.by.clone(), answered: model.answered(), say })]
    }

    /// Of what was done twice only the chosen side stays; else it goes to where the fact was entered.
    fn choose(&self, model: &mut Model) -> Turn {
        match self.found(&model.state) {
            Some((found, _)) if found.twice.is_empty() => {
                let vessel = found.about.as_ref().and_then(|about| model.state.vessels.find(about.as_str()));
                if let Some(vessel) = vessel {
                    model.jump(Jump::Vessel(vessel));
                    return Turn::to_floor();
                }
                model.say("It is about no vessel. Correct the fact where it was entered.", Tone::Notice);
                Turn::stay()
            }
            _ => match self.why_not_settled(model) {
                Some(why) => model.refuse(why).into(),
                None => self.settle(model, false).into(),
            },
        }
    }
}

impl Page for DiscrepancyPage {
    fn title(&self, model: &Model) -> String {
        title(&model.state)
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        let (lines, from) = lines(model, self, width, height);
        lines.into_iter().skip(from).collect()
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        let half = model.half_screen();
        let sides = sides(&model.state);
        let at = self.chosen.as_ref().and_then(|chosen| sides.iter().position(|side| side == chosen));
        let to = at.map_or(0, |at| go.line(at, sides.len().saturating_sub(1), half));
        self.chosen = sides.into_iter().nth(to);
        Turn::stay()
    }

    fn enter_word(&self, model: &Model) -> Option<String> {
        let (found, _) = self.found(&model.state)?;
        let word = match &found.about {
            _ if !found.twice.is_empty() => "only this one".to_owned(),
            Some(about) => format!("go to {about}"),
            None => "where to".to_owned(),
        };
        Some(word)
    }

    fn enter(&mut self, model: &mut Model) -> Option<Turn> {
        Some(self.choose(model))
    }

    /// Something was settled, or taken back: the page stays as long as something is on it.
    fn stored(&mut self, model: &mut Model, _then: Then) -> Turn {
        if model.state.discrepancies.is_empty() {
            model.say_also("Every fact fits now.", Tone::Done);
            return Turn::back();
        }
        self.chosen = self.chosen.take().or_else(|| sides(&model.state).into_iter().next());
        Turn::stay()
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        who::take(&mut self.who, &DiscrepancyPage::facts(&model.state), answer)
    }

    fn wants(&mut self, model: &mut Model) -> Wishes {
        who::wish(DiscrepancyPage::facts(&model.state), &self.who)
    }

    /// What is settled is chosen no more.
    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let sides = sides(&model.state);
        self.chosen = self.chosen.take().filter(|side| sides.contains(side));
        Followed::There
    }
}

/// The lines of the page, and the line from which on it is shown so that the chosen one is in sight.
fn lines(model: &Model, page: &DiscrepancyPage, width: usize, height: usize) -> (Vec<Line<'static>>, usize) {
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
    lines.extend(paragraph(model, how(&model.state), width, Meaning::Muted));
    let from = window(lines.len(), chosen_at, height).start;
    (lines, from)
}

/// What enter and space do with what stands on the page.
fn how(state: &State) -> &'static str {
    if state.done_twice().next().is_some() {
        "Done on two laptops: enter keeps only the side that is chosen, space says that all of it was done. u takes that back."
    } else {
        "Enter goes to the vessel that the chosen fact is about: it is put right there."
    }
}

fn title(state: &State) -> String {
    match (state.discrepancies.len(), state.done_twice().count()) {
        (all, 0) => format!("Discrepancies: {} {} not fit", counted(all, "fact"), by_count(all, "does", "do")),
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
