//! The checklist before bottling on the screen: how a lot stands to each item, and what is said of it by keys. Each word is
//! a fact at once.

mod sheet;

use crate::cellar::checklist::checking::{CheckDeclared, CheckWaived, Checked};
use crate::cellar::checklist::item::{Item, TradeItem};
use crate::cellar::checklist::{Check, Standing};
use crate::cellar::fact::{FactId, What};
use crate::cellar::label::{Label, TEXT_CHARACTERS, Text, is_unsafe};
use crate::cellar::state::{LotId, State};
use crate::tui::choice::{self, Choice};
use crate::tui::command::Id;
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::update::Wishes;
use crate::tui::who;
use crate::tui::work::{Entered, Then};
use crate::units::parse_decimal;

pub(super) use self::sheet::{line, lines, title};

/// The checklist of a lot.
#[derive(Clone, Debug, PartialEq)]
pub struct ChecklistPage {
    /// Which lot.
    pub lot: Label,
    /// The item that is chosen.
    pub chosen: Choice<Item>,
    /// The line that is being written, if one is.
    pub writing: Option<Writing>,
    /// Who said what: the facts behind the items, as far as they were looked up.
    pub who: Vec<Entered>,
}

/// A line that is being written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Writing {
    /// What it is.
    pub about: About,
    /// What is written.
    pub text: String,
    /// Whether it was asked if it may be dropped.
    asked: bool,
}

/// What a line is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// Why an item may stay open.
    Waiver,
    /// A figure or words beside a tick; of alcohol what stands on the label.
    Beside,
    /// An item of the house.
    OwnItem,
}

impl ChecklistPage {
    fn new(state: &State, lot: LotId) -> ChecklistPage {
        let chosen = Choice::first(&items(state, lot));
        ChecklistPage { lot: state.lots.get(lot).label.clone(), chosen, writing: None, who: Vec::new() }
    }

    /// The same page in another state of the cellar; none where the lot is not there. What is written stays.
    pub(super) fn followed(mut self, state: &State) -> Option<ChecklistPage> {
        let lot = state.lots.find(self.lot.as_str())?;
        self.chosen = self.chosen.followed(&items(state, lot));
        Some(self)
    }

    /// The item that was chosen, where no list of this house has it any more.
    pub(super) fn lost(&self, state: &State) -> Option<String> {
        let lot = state.lots.find(self.lot.as_str())?;
        let gone = self.chosen.thing().filter(|_| self.chosen.is_gone(&items(state, lot)));
        gone.map(|item| format!("The item '{item}'"))
    }

    /// The same page with another item chosen.
    pub(super) fn moved(mut self, state: &State, by: isize) -> ChecklistPage {
        if let Some(lot) = state.lots.find(self.lot.as_str()) {
            self.chosen.step(&items(state, lot), by);
        }
        self
    }

    /// Takes characters into the line that is written.
    pub(super) fn type_in(&mut self, text: &str) {
        let Some(writing) = &mut self.writing else { return };
        writing.asked = false;
        let room = TEXT_CHARACTERS.saturating_sub(writing.text.chars().count());
        let text = text.chars().map(|character| if matches!(character, '\n' | '\t' | '\r') { ' ' } else { character });
        writing.text.extend(text.filter(|character| !is_unsafe(*character)).take(room));
    }

    /// Takes back the last character.
    pub(super) fn erase(&mut self) {
        if let Some(writing) = &mut self.writing {
            writing.asked = false;
            writing.text.pop();
        }
    }
}

impl Model {
    /// The lot that is looked at: that of the page, else of the chosen vessel.
    pub(super) fn lot_here(&self) -> Option<LotId> {
        match &self.mode {
            Mode::Checklist(page) => self.state.lots.find(page.lot.as_str()),
            _ => self.chosen_vessel()?.lot,
        }
    }

    /// Why no checklist can be shown, if none can.
    #[must_use]
    pub fn why_no_checklist(&self) -> Option<String> {
        if self.lot_here().is_some() { None } else { self.why_no_lot() }
    }

    /// Why the chosen item cannot be waived, if it cannot.
    #[must_use]
    pub fn why_no_waiver(&self) -> Option<String> {
        self.why_read_only().or_else(|| {
            let (_, check) = chosen(self)?;
            let met = check.standing == Standing::Met;
            met.then(|| format!("'{}' is met: there is nothing to waive.", check.item))
        })
    }
}

/// Opens the checklist of the lot that is looked at.
pub(super) fn open(model: &mut Model) -> Wishes {
    model.lot_here().map_or_else(Vec::new, |lot| show(model, lot))
}

/// Opens the checklist of a lot.
pub(super) fn show(model: &mut Model, lot: LotId) -> Wishes {
    model.mode = Mode::Checklist(ChecklistPage::new(&model.state, lot));
    who::ask(model)
}

/// The facts behind what stands on the page.
pub(super) fn facts(model: &Model, page: &ChecklistPage) -> Vec<FactId> {
    checks(model, page).into_iter().filter_map(|check| check.said).collect()
}

/// The items of a page's lot.
fn checks(model: &Model, page: &ChecklistPage) -> Vec<Check> {
    model.state.lots.find(page.lot.as_str()).map_or_else(Vec::new, |lot| model.state.checklist(lot))
}

/// The page that is on the screen, and the item chosen there.
fn chosen(model: &Model) -> Option<(&ChecklistPage, Check)> {
    let Mode::Checklist(page) = &model.mode else { return None };
    let check = checks(model, page).into_iter().find(|check| page.chosen.is(&check.item))?;
    Some((page, check))
}

/// What a lot is checked for.
fn items(state: &State, lot: LotId) -> Vec<Item> {
    state.checklist(lot).into_iter().map(|check| check.item).collect()
}

/// Says that the item that was chosen is gone, where it is: then nothing is entered.
fn say_gone(model: &mut Model) {
    if let Mode::Checklist(page) = &model.mode
        && let Some(lost) = page.lost(&model.state)
    {
        model.say(choice::gone(&lost), Tone::Refused);
    }
}

/// Carries out a command that only this page has.
pub(super) fn carry_out(model: &mut Model, id: Id) -> Wishes {
    let Some((page, check)) = chosen(model) else {
        say_gone(model);
        return Vec::new();
    };
    let lot = page.lot.clone();
    match id {
        Id::CheckMet if check.item == Item::Trade(TradeItem::Alcohol) => write(model, About::Beside),
        Id::CheckMet => return tick(model, lot, &check.item, true),
        Id::CheckNotMet => return tick(model, lot, &check.item, false),
        Id::CheckBeside => write(model, About::Beside),
        Id::CheckWaive => write(model, About::Waiver),
        Id::CheckOwn => write(model, About::OwnItem),
        Id::CheckRequired => return turn_required(model, &check),
        _ => {}
    }
    Vec::new()
}

fn write(model: &mut Model, about: About) {
    if let Mode::Checklist(page) = &mut model.mode {
        page.writing = Some(Writing { about, text: String::new(), asked: false });
    }
}

fn tick(model: &Model, lot: Label, item: &Item, met: bool) -> Wishes {
    let Ok(label) = Label::new(&item.to_string()) else { return Vec::new() };
    let say = format!("{item} is ticked: {}.", if met { "met" } else { "not met" });
    let checked = Checked { lot, item: label, met, value: None, text: None };
    model.enter(vec![What::Checked(Box::new(checked))], say, Then::Stay)
}

/// Makes an item required in this house that was optional, or the other way round.
fn turn_required(model: &Model, check: &Check) -> Wishes {
    let Ok(item) = Label::new(&check.item.to_string()) else { return Vec::new() };
    let required = !check.required;
    let waits = if required { "every run waits for it" } else { "no run waits for it" };
    let say = format!("{item}: in this house {waits}.");
    model.enter(vec![What::CheckDeclared(CheckDeclared { item, required, text: None })], say, Then::Stay)
}

/// Enter: makes a fact of the line that is written.
pub(super) fn take(model: &mut Model) -> Wishes {
    let Some((page, check)) = chosen(model) else {
        say_gone(model);
        return Vec::new();
    };
    let Some(writing) = &page.writing else { return Vec::new() };
    match fact(page, writing, &check) {
        Ok((what, say)) => model.enter(vec![what], say, Then::Stay),
        Err(why) => {
            model.say(why, Tone::Refused);
            Vec::new()
        }
    }
}

/// What a line says, and what is told once it is stored.
fn fact(page: &ChecklistPage, writing: &Writing, check: &Check) -> Result<(What, String), String> {
    let written = writing.text.trim();
    let label = |text: &str| Label::new(text).map_err(|error| error.to_string());
    let words = |text: &str| Text::new(text).map_err(|error| error.to_string());
    let (lot, item) = (page.lot.clone(), label(&check.item.to_string())?);
    match writing.about {
        About::Waiver if written.is_empty() => Err("Say why it may stay open: the reason is kept.".to_owned()),
        About::Waiver => {
            let say = format!("{item} is waived.");
            Ok((What::CheckWaived(CheckWaived { lot, item, why: words(written)? }), say))
        }
        About::Beside => {
            let (value, text) = figure_and_words(written);
            if value.is_none() && check.item == Item::Trade(TradeItem::Alcohol) {
                return Err("Begin with what stands on the label in % vol, for example 13.5.".to_owned());
            }
            if value.is_none() && text.is_empty() {
                return Err("Write a figure, words, or both: for example 18 index of the laboratory.".to_owned());
            }
            let text = if text.is_empty() { None } else { Some(words(text)?) };
            let say = format!("{item} is ticked: met.");
            Ok((What::Checked(Box::new(Checked { lot, item, met: true, value, text })), say))
        }
        About::OwnItem => {
            let (name, asks) = written.split_once(':').unwrap_or((written, ""));
            let text = if asks.trim().is_empty() { None } else { Some(words(asks.trim())?) };
            let item = label(name.trim())?;
            let say = format!("{item} stands on every checklist of this house; a run waits for it.");
            Ok((What::CheckDeclared(CheckDeclared { item, required: true, text }), say))
        }
    }
}

/// The figure that a line begins with, if it does, and what follows.
fn figure_and_words(line: &str) -> (Option<f64>, &str) {
    let (first, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
    match parse_decimal(first) {
        Ok(figure) => (Some(figure), rest.trim()),
        Err(_) => (None, line),
    }
}

/// Goes on once something is stored.
pub(super) fn stored(model: &mut Model, mut page: ChecklistPage) {
    page.writing = None;
    model.mode = page.followed(&model.state).map_or(Mode::Floor, Mode::Checklist);
}

/// Escape: puts the line away, once it was asked where something is written, or goes back to the floor.
pub(super) fn leave(model: &mut Model) {
    let Mode::Checklist(page) = &mut model.mode else { return };
    match &mut page.writing {
        Some(writing) if !writing.asked && !writing.text.trim().is_empty() => {
            writing.asked = true;
            model.say("What is written is not entered yet. enter takes it, esc again drops it.", Tone::Notice);
        }
        Some(_) => page.writing = None,
        None => model.mode = Mode::Floor,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_stands_before_its_words() {
        assert_eq!(figure_and_words("13.5"), (Some(13.5), ""));
        assert_eq!(figure_and_words("18 index of the laboratory"), (Some(18.0), "index of the laboratory"));
        assert_eq!(figure_and_words("no haze, 3 days"), (None, "no haze, 3 days"));
    }
}
