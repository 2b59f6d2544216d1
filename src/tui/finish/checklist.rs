//! The checklist before bottling on the screen: how a lot stands to each item, and what is said of it by keys. Each word is
//! a fact at once.

mod line;
mod sheet;

use ratatui::text::Line;

pub use self::line::{About, CheckLine};
use crate::cellar::core::fact::{FactId, What};
use crate::cellar::core::label::Label;
use crate::cellar::core::state::{LotId, State};
use crate::cellar::jobs::finish::checklist::checking::{CheckDeclared, Checked};
use crate::cellar::jobs::finish::checklist::item::{Item, TradeItem};
use crate::cellar::jobs::finish::checklist::{Check, Standing};
use crate::tui::core::choice::{self, Choice};
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{self, Before, Followed, Go, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::core::who;
use crate::tui::core::work::{Answer, Entered};
use crate::tui::finish::bottling;

/// A word of the bottom line that is always the same.
macro_rules! word {
    ($word:literal) => {
        |_, _| Some($word.to_owned())
    };
}

/// The checklist of a lot.
#[derive(Clone, Debug, PartialEq)]
pub struct ChecklistPage {
    /// Which lot.
    pub lot: Label,
    /// The item that is chosen.
    pub chosen: Choice<Item>,
    /// Who said what: the facts behind the items, as far as they were looked up.
    who: Vec<Entered>,
}

/// How an item is called that is gone.
fn named(item: &Item) -> String {
    format!("The item '{item}'")
}

impl Table for ChecklistPage {
    const ABOUT: page::About = page::About {
        name: "Before bottling",
        purpose: "The checklist of a lot: an item a line, with what was found, where, when and by whom; below, the limit of the chosen one \
                  and where that stands. A lot is bottled when all that is required is met or waived.\n\
                  What was tested otherwise cannot be ticked away. A tick or a waiver of the wine lapses when the wine is treated, filtered \
                  or blended.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "Before bottling",
            help: "Shows the checklist of this lot: what was tested, ticked and waived, and what is open before it may be bottled.",
            also: &["checklist", "stable"],
            why_not: Model::why_no_lot,
            open,
        }]),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<ChecklistPage>] = &[
        Row::new(Sense::Done, "It is met", "Ticks the chosen item as met; of alcohol it asks what stands on the label.", |page: &mut ChecklistPage, model| page.with_chosen(model, ChecklistPage::tick_met)).word(word!("met")).unless(|_, model| model.why_read_only()),
        Row::new(Sense::Skip, "Waive it", "Lets the chosen item stay open for a reason that is kept.", |page: &mut ChecklistPage, model| page.with_chosen(model, |page, model, check| page.write(model, About::Waiver, check))).word(word!("waive")).unless(ChecklistPage::why_no_waiver),
        Row::listed("It is not met", "Ticks the chosen item as not met.", |page: &mut ChecklistPage, model| page.with_chosen(model, |page, model, check| page.tick(model, &check.item, false).into())).unless(|_, model| model.why_read_only()),
        Row::listed("Met, with a figure or words", "Ticks the chosen item as met with a figure, words, or both beside it.", |page: &mut ChecklistPage, model| page.with_chosen(model, |page, model, check| page.write(model, About::Beside, check))).unless(|_, model| model.why_read_only()),
        Row::listed("Required or optional", "Makes runs wait for the chosen item in this house, or no longer.", |page: &mut ChecklistPage, model| page.with_chosen(model, |_, model, check| turn_required(model, check, None).into())).unless(|_, model| model.why_read_only()),
        Row::listed("An item of the house", "Adds an item to every checklist of this house: its name, a colon, and what is asked.", |page: &mut ChecklistPage, model| page.with_chosen(model, |page, model, check| page.write(model, About::OwnItem, check))).unless(|_, model| model.why_read_only()),
        Row::listed("Required or optional, of this lot", "Makes runs of this lot wait for the chosen item, or no longer: a wine that is meant sweet need not be dry.", |page: &mut ChecklistPage, model| page.with_chosen(model, |page, model, check| turn_required(model, check, Some(&page.lot)).into())).unless(|_, model| model.why_read_only()),
        Row::new(Sense::Next, "The next open item", "Goes to the next item that a run waits for.", |page: &mut ChecklistPage, model| page.go_on(model)).word(word!("next open")),
        Row::new(Sense::OtherSide, "The bottling", "Goes to the plan of the bottling of this lot.", |page: &mut ChecklistPage, model| page.turn_to_bottling(model)).word(word!("bottling")).unless(ChecklistPage::why_no_bottling),
        Row::UNDO,
        Row::REDO,
    ];
}

impl ChecklistPage {
    fn new(state: &State, lot: LotId) -> ChecklistPage {
        let chosen = Choice::first(&items(state, lot));
        ChecklistPage { lot: state.lots.get(lot).label.clone(), chosen, who: Vec::new() }
    }

    /// The lot, as it is known now.
    fn id(&self, model: &Model) -> Option<LotId> {
        model.state.lots.find(self.lot.as_str())
    }

    /// The items of its list.
    fn items(&self, model: &Model) -> Vec<Item> {
        self.id(model).map_or_else(Vec::new, |lot| items(&model.state, lot))
    }

    /// How the lot stands to each item.
    fn checks(&self, model: &Model) -> Vec<Check> {
        self.id(model).map_or_else(Vec::new, |lot| model.state.checklist(lot))
    }

    /// How it stands to the chosen one.
    fn check(&self, model: &Model) -> Option<Check> {
        self.checks(model).into_iter().find(|check| self.chosen.is(&check.item))
    }

    /// The facts behind what stands on the page.
    fn facts(&self, model: &Model) -> Vec<FactId> {
        self.checks(model).into_iter().filter_map(|check| check.said).collect()
    }

    /// The item that was chosen, where no list of this house has it any more.
    fn lost(&self, model: &Model) -> Option<String> {
        let gone = self.chosen.thing().filter(|_| self.chosen.is_gone(&self.items(model)));
        gone.map(named)
    }

    /// Does something with the chosen item, or says that it is gone: then nothing is entered.
    fn with_chosen(&mut self, model: &mut Model, act: impl FnOnce(&ChecklistPage, &mut Model, &Check) -> Turn) -> Turn {
        if let Some(check) = self.check(model) {
            return act(self, model, &check);
        }
        if let Some(lost) = self.lost(model) {
            model.say(choice::gone(&lost), Tone::Refused);
        }
        Turn::stay()
    }

    fn tick_met(&self, model: &mut Model, check: &Check) -> Turn {
        if check.item == Item::Trade(TradeItem::Alcohol) {
            return self.write(model, About::Beside, check);
        }
        self.tick(model, &check.item, true).into()
    }

    fn tick(&self, model: &Model, item: &Item, met: bool) -> Wishes {
        let Ok(label) = Label::new(&item.to_string()) else { return Vec::new() };
        let say = format!("{item} is ticked: {}.", if met { "met" } else { "not met" });
        let checked = Checked { lot: self.lot.clone(), item: label, met, value: None, text: None };
        model.enter(vec![What::Checked(Box::new(checked))], say, Then::STAY)
    }

    fn write(&self, model: &mut Model, about: About, check: &Check) -> Turn {
        model.open(CheckLine::new(self.lot.clone(), check.item.clone(), about));
        Turn::stay()
    }

    /// Why the chosen item cannot be waived, if it cannot.
    fn why_no_waiver(&self, model: &Model) -> Option<String> {
        model.why_read_only().or_else(|| {
            let check = self.check(model)?;
            let met = check.standing == Standing::Met;
            met.then(|| format!("'{}' is met: there is nothing to waive.", check.item))
        })
    }

    /// Goes to the next item that a run waits for, from the last to the first.
    fn go_on(&mut self, model: &mut Model) -> Turn {
        let checks = self.checks(model);
        let items: Vec<Item> = checks.iter().map(|check| check.item.clone()).collect();
        let after = self.chosen.place(&items).map_or(0, |at| at + 1);
        let next = (after..checks.len()).chain(0..after).find(|&at| checks[at].stops_a_run());
        match next {
            Some(next) => self.chosen = Choice::at(&items, next),
            None => model.say("No run waits for any item of this list.", Tone::Notice),
        }
        Turn::stay()
    }

    fn why_no_bottling(&self, model: &Model) -> Option<String> {
        model.why_no_bottling_of(self.id(model).and_then(|lot| bottling::most_of(model, lot)))
    }

    fn turn_to_bottling(&mut self, model: &mut Model) -> Turn {
        let vessel = self.id(model).and_then(|lot| bottling::most_of(model, lot));
        let Some(vessel) = vessel else { return Turn::stay() };
        bottling::open_of(model, vessel);
        Turn::back()
    }
}

impl Page for ChecklistPage {
    fn title(&self, model: &Model) -> String {
        sheet::title(model, self)
    }

    fn lines(&self, model: &Model, width: usize, height: usize) -> Vec<Line<'static>> {
        sheet::lines(model, self, width, height)
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        self.chosen.go(model, &self.items(model), go);
        Turn::stay()
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let Some(lot) = self.id(model) else { return Followed::Gone(self.lot.to_string()) };
        self.chosen.follow(&items(&model.state, lot), named)
    }

    fn answered(&mut self, model: &mut Model, answer: &Answer) -> Option<Turn> {
        let facts = self.facts(model);
        who::take(&mut self.who, &facts, answer)
    }

    fn wants(&mut self, model: &mut Model) -> Wishes {
        who::wish(self.facts(model), &self.who)
    }
}

/// Opens the checklist of the lot that is looked at.
fn open(model: &mut Model) -> Wishes {
    let lot = model.chosen_vessel().and_then(|vessel| vessel.lot);
    lot.map_or_else(Vec::new, |lot| show(model, lot))
}

/// Opens the checklist of a lot.
pub(in crate::tui) fn show(model: &mut Model, lot: LotId) -> Wishes {
    let mut page = ChecklistPage::new(&model.state, lot);
    let wishes = page.wants(model);
    model.open(page);
    wishes
}

/// What a lot is checked for.
fn items(state: &State, lot: LotId) -> Vec<Item> {
    state.checklist(lot).into_iter().map(|check| check.item).collect()
}

/// Makes an item required in this house, or of a lot alone, that was optional, or the other way round.
fn turn_required(model: &Model, check: &Check, lot: Option<&Label>) -> Wishes {
    let Ok(item) = Label::new(&check.item.to_string()) else { return Vec::new() };
    let required = !check.required;
    let waits = if required { "every run waits for it" } else { "no run waits for it" };
    let of = lot.map_or_else(|| "in this house".to_owned(), |lot| format!("of {lot}"));
    let say = format!("{item}: {of} {waits}.");
    let declared = CheckDeclared { item, required, text: None, lot: lot.cloned() };
    model.enter(vec![What::CheckDeclared(declared)], say, Then::STAY)
}
