//! The checklist before bottling: what must be so of a lot before it may be bottled, and how it stands to each item.
//!
//! What tests can answer they answer; the rest is ticked by a person. An item that is open stops a bottling run where it
//! is required, unless somebody waived it and said why.
//!
//! **The checklist** (`cellar/jobs/finish/checklist.rs`): a test goes before a tick, a later "not met" before a test, a waiver only stands
//! where the item is open. The worst vessel speaks for the lot; one that fails goes before one that is not tested. Turbidity, oxygen and
//! free SO2 count only from tests of the wine where it lies now. `State::not_ready_to_bottle` needs no clock, since an act is judged on the
//! state alone. A run answers for what is at the filler: an item holds it that is open for the lot and for the vessel that is bottled. A
//! keg that is kept for topping opens the list of its lot and holds no run from the tank.
//!
//! **What is required by default** hangs on colour and on what the wine means to be (`TradeItem::is_required_of`); what the house says of a
//! lot goes before what it says of all, and that before the default. New items are optional: what held no run yesterday holds none today.
//! Allergens, ingredients and `organic` are told from `Wine::added` (`checklist/given.rs`).
//!
//! **A checklist holds a run** whether anybody looked at it or not, unless the house says that it only warns (`practice_set.checklist`);
//! then the open items are asked about. A list that somebody looked at bars a run (`Job::bar`: of history a discrepancy is kept); one that
//! nobody looked at only an act (`Job::awaits`), so that logs that know no lists fold without a word. A reason to bottle despite it is kept
//! as the waiver of every open item, in the same act (`State::waivers`, by `Desk::enter`); an act of `record` keeps it in its `despite`.
//! What is said of the list is one sentence (`State::bottling_verdict`).

mod answer;
pub mod checking;
mod given;
pub mod item;
pub mod lapse;

use serde::{Deserialize, Serialize};

use self::answer::Answer;
use self::checking::{CheckWaived, Said, Saying};
use self::item::{Item, Meant, TradeItem};
use crate::cellar::core::fact::{FactId, What};
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State, VesselId};
use crate::cellar::jobs::floor::lot::{Colour, Stage};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::units::{by_count, counted};

/// What malolactic fermentation is begun with, as the trade's table calls it.
const MALOLACTIC_BACTERIA: &str = "malolactic bacteria";

/// How a lot stands to an item.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Standing {
    /// It is so.
    Met,
    /// It is not so.
    NotMet,
    /// Nobody knows.
    NotTested,
    /// It is open, and somebody said why that may be.
    Waived,
}

impl Standing {
    /// The words for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Standing::Met => "met",
            Standing::NotMet => "not met",
            Standing::NotTested => "not tested",
            Standing::Waived => "waived",
        }
    }

    /// Whether it stops a run, where it is required.
    #[must_use]
    pub const fn is_open(self) -> bool {
        matches!(self, Standing::NotMet | Standing::NotTested)
    }
}

/// What the open items of a lot's checklist do to a run, as the house has it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OpenItems {
    /// They hold it, until each is met or waived.
    #[default]
    Holds,
    /// They are told of.
    Warns,
}

/// How many required items are open, in words: `1 required item is open`.
#[must_use]
pub fn open_words(open: usize) -> String {
    format!("{} {} open", counted(open, "required item"), by_count(open, "is", "are"))
}

/// An item of the checklist, and how a lot stands to it.
#[derive(Clone, Debug, PartialEq)]
pub struct Check {
    /// What it is called.
    pub item: Item,
    /// What is asked.
    pub asks: String,
    /// What makes it met, with where that is published or that it is common practice.
    pub rule: String,
    /// Whether a run waits for it.
    pub required: bool,
    /// How the lot stands.
    pub standing: Standing,
    /// What that rests on: what was found, or what somebody said.
    pub words: Option<String>,
    /// The vessel that it was found in.
    pub vessel: Option<VesselId>,
    /// When it was found or said.
    pub at: Option<Moment>,
    /// The fact by which somebody said so; none where tests answer.
    pub said: Option<FactId>,
}

impl Check {
    /// Whether a run must not begin.
    #[must_use]
    pub const fn stops_a_run(&self) -> bool {
        self.required && self.standing.is_open()
    }
}

impl State {
    /// The checklist of a lot: the trade's items, then the house's own.
    #[must_use]
    pub fn checklist(&self, lot: LotId) -> Vec<Check> {
        self.checks_in(lot, &self.vessels_of(lot))
    }

    /// The checklist of a lot as some of its vessels answer it.
    fn checks_in(&self, lot: LotId, vessels: &[VesselId]) -> Vec<Check> {
        let trade = TradeItem::ALL.into_iter().map(|item| self.trade_check(lot, vessels, item));
        let trade = trade.filter(|check| check.item != Item::Trade(TradeItem::Organic) || self.are_organic(vessels));
        let own = self.own_checks(lot).into_iter().map(|own| {
            let asks = own.text.as_ref().map_or_else(String::new, |text| text.as_str().to_owned());
            let item = Item::House(own.item.clone());
            let said = self.said_of(lot, &item);
            settled(blank(item, asks, "ticked (this house)".to_owned(), own.required), None, said)
        });
        trade.chain(own).collect()
    }

    /// The required items of a lot's checklist that are open: while there is one, the lot is not to be bottled.
    #[must_use]
    pub fn open_checks(&self, lot: LotId) -> Vec<Check> {
        self.checklist(lot).into_iter().filter(Check::stops_a_run).collect()
    }

    /// The required items that are open for a run from a vessel: those of its lot that what is at the filler does not answer.
    /// How the lot stands elsewhere, in a keg that is kept for topping say, is no matter of that run.
    #[must_use]
    pub fn open_for_a_run(&self, bottled: VesselId) -> Vec<Check> {
        let Some(lot) = self.vessels.get(bottled).lot else { return Vec::new() };
        let of_the_lot = self.open_checks(lot);
        if of_the_lot.is_empty() {
            return of_the_lot;
        }
        let is_open = |check: &Check| of_the_lot.iter().any(|other| other.item == check.item);
        let here = self.checks_in(lot, &[bottled]).into_iter();
        here.filter(|check| check.stops_a_run() && is_open(check)).collect()
    }

    /// Why a vessel is not to be bottled yet, if open items hold a run in this house: whether anybody has looked at the list of
    /// its lot or not.
    #[must_use]
    pub fn held_by_checklist(&self, bottled: VesselId) -> Option<Refusal> {
        if self.practice.checklist == OpenItems::Holds { self.not_ready_to_bottle(bottled) } else { None }
    }

    /// What is open where a house only warns; none where nothing is, or where it holds the run.
    #[must_use]
    pub fn warned_by_checklist(&self, bottled: VesselId) -> Option<Question> {
        if self.practice.checklist == OpenItems::Holds {
            return None;
        }
        let open = self.open_for_a_run(bottled);
        let lot = self.lots.get(self.vessels.get(bottled).lot?).label.clone();
        (!open.is_empty()).then(|| Question::ChecksOpen { lot, count: open.len(), open: named(&open) })
    }

    /// Whether a lot may be bottled by its list, in a sentence.
    #[must_use]
    pub fn bottling_verdict(&self, lot: LotId, checks: &[Check]) -> String {
        if let Some(bottled) = self.wholly_bottled(lot) {
            return bottled;
        }
        let label = &self.lots.get(lot).label;
        let open = checks.iter().filter(|check| check.stops_a_run()).count();
        if let Some(ready) = self.ready_apart(lot).filter(|_| open > 0) {
            return format!("{label} may be bottled from {ready}, where no required item is open.");
        }
        match (open, self.practice.checklist) {
            (0, _) => format!("{label} may be bottled: no required item is open."),
            (open, OpenItems::Holds) => format!("{label} is not to be bottled yet: {}.", open_words(open)),
            (open, OpenItems::Warns) => {
                format!("{label} may be bottled, though {}: this house's list only warns.", open_words(open))
            }
        }
    }

    /// The vessels of a lot of which a run may be filled though the lot is not ready as a whole; none where there are none. A keg
    /// is kept for topping.
    fn ready_apart(&self, lot: LotId) -> Option<String> {
        let is_bottled = |id: &VesselId| self.vessels.get(*id).vessel_type != VesselType::Keg;
        let ready =
            self.vessels_of(lot).into_iter().filter(is_bottled).filter(|&id| self.open_for_a_run(id).is_empty());
        let ready: Vec<String> = ready.map(|id| self.vessels.get(id).label.to_string()).collect();
        (!ready.is_empty()).then(|| ready.join(", "))
    }

    /// The waivers of what is open for some runs, where a reason is given to bottle despite it: it is kept with each item.
    #[must_use]
    pub fn waivers(&self, whats: &[What], why: &Text) -> Vec<What> {
        let bottled = whats.iter().filter_map(|what| match what {
            What::Bottled(bottled) => self.vessels.find(bottled.vessel.as_str()),
            _ => None,
        });
        let mut waived: Vec<CheckWaived> = Vec::new();
        for id in bottled {
            let Some(lot) = self.vessels.get(id).lot else { continue };
            let items =
                self.open_for_a_run(id).into_iter().filter_map(|check| Label::read(&check.item.to_string()).ok());
            let lot = &self.lots.get(lot).label;
            let waivers: Vec<CheckWaived> =
                items.map(|item| CheckWaived { lot: lot.clone(), item, why: why.clone() }).collect();
            waived.extend(waivers.into_iter().filter(|waiver| !waived.contains(waiver)).collect::<Vec<_>>());
        }
        waived.into_iter().map(What::CheckWaived).collect()
    }

    /// Whether anything was said of the list of a lot, or of all of them by the house.
    #[must_use]
    pub fn keeps_checklist(&self, lot: LotId) -> bool {
        self.house_checks.iter().any(|own| own.is_of(lot)) || !self.lots.get(lot).checks.is_empty()
    }

    /// That a lot is bottled and lies in no vessel any more, with the runs that hold it; none while some of it can still be
    /// bottled, or where it was never bottled.
    #[must_use]
    pub fn wholly_bottled(&self, lot: LotId) -> Option<String> {
        if !self.vessels_of(lot).is_empty() {
            return None;
        }
        let runs = self.runs.iter().filter(|(_, run)| run.lots().contains(&lot));
        let runs: Vec<&str> = runs.map(|(_, run)| run.label.as_str()).collect();
        let (word, hold) = (by_count(runs.len(), "run", "runs"), by_count(runs.len(), "holds", "hold"));
        let label = &self.lots.get(lot).label;
        let held_by = runs.join(" and ");
        (!runs.is_empty())
            .then(|| format!("Nothing of {label} lies in a vessel any more: the {word} {held_by} {hold} it."))
    }

    /// Why a vessel is not ready to be bottled, if it is not.
    #[must_use]
    pub fn not_ready_to_bottle(&self, bottled: VesselId) -> Option<Refusal> {
        let open = self.open_for_a_run(bottled);
        let lot = self.lots.get(self.vessels.get(bottled).lot?).label.clone();
        (!open.is_empty()).then(|| Refusal::ChecksOpen { lot, count: open.len(), open: named(&open) })
    }

    fn trade_check(&self, lot: LotId, vessels: &[VesselId], item: TradeItem) -> Check {
        let named = Item::Trade(item);
        let said = self.said_of(lot, &named);
        let own = self.check_declared(lot, item.name());
        let required = own.map_or_else(|| item.is_required_of(self.meant(lot, vessels)), |own| own.required);
        let asks = own.and_then(|own| own.text.as_ref()).map_or_else(|| item.asks(), Text::as_str);
        let answer = self.answered(lot, vessels, item, said.and_then(Said::value));
        let rule = match item {
            TradeItem::Organic => self.organic_rule(vessels),
            _ => item.rule(&self.practice, self.lots.get(lot).colour, self.least_sugar(vessels)),
        };
        settled(blank(named, asks.to_owned(), rule, required), Some(answer), said)
    }

    /// What a lot's wine means to be: that malolactic fermentation was begun its stage says, or what was given to it.
    fn meant(&self, lot: LotId, vessels: &[VesselId]) -> Meant {
        let its = self.lots.get(lot);
        let runs = its.stage.is_some_and(|(stage, _)| stage == Stage::Malolactic);
        let begun = || self.additions_to(vessels).sums.iter().any(|sum| sum.name == MALOLACTIC_BACTERIA);
        Meant { colour: its.colour, malolactic: runs || (its.colour != Colour::Red && begun()) }
    }

    /// What was last said of an item of a lot.
    fn said_of(&self, lot: LotId, item: &Item) -> Option<&Said> {
        self.lots.get(lot).checks.iter().find(|said| said.item == *item)
    }
}

/// Items and how they stand: `heat (not tested), taste (not met)`.
fn named(checks: &[Check]) -> String {
    let named: Vec<String> = checks.iter().map(|check| format!("{} ({})", check.item, check.standing.word())).collect();
    named.join(", ")
}

/// An item of which nothing is known yet.
fn blank(item: Item, asks: String, rule: String, required: bool) -> Check {
    let standing = Standing::NotTested;
    Check { item, asks, rule, required, standing, words: None, vessel: None, at: None, said: None }
}

/// What tests and people say of an item together.
///
/// A test goes before a tick, so that nobody ticks away what was found; that is waived, with a reason. Whoever says later
/// than the test that an item is not met is believed. What was said of a wine that is another one since is only told.
fn settled(check: Check, answer: Option<Answer>, said: Option<&Said>) -> Check {
    let answer = answer.unwrap_or_default();
    let found =
        Check { standing: answer.standing, words: answer.words, vessel: answer.vessel, at: answer.at, ..check.clone() };
    let Some(said) = said else { return found };
    if said.lapsed.is_some() {
        return Check { words: found.words.clone().or_else(|| said.lapse_words()), ..found };
    }
    let by_word = |standing, words: Option<&Text>| Check {
        standing,
        words: words.map(|text| text.as_str().to_owned()),
        at: Some(said.at),
        said: Some(said.id.clone()),
        ..check
    };
    match (&said.saying, found.standing) {
        (Saying::Waived { why }, Standing::NotMet | Standing::NotTested) => by_word(Standing::Waived, Some(why)),
        (Saying::Ticked { met: true, text, .. }, Standing::NotTested) if answer.may_be_ticked => {
            by_word(Standing::Met, text.as_ref())
        }
        (Saying::Ticked { met: false, text, .. }, standing)
            if standing == Standing::NotTested
                || found.at.is_none_or(|tested| tested.instant() <= said.at.instant()) =>
        {
            by_word(Standing::NotMet, text.as_ref())
        }
        _ => found,
    }
}
