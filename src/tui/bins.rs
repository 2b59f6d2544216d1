//! The bins on the screen: a map of their own, on which bottles are laid away, carried, let out and tasted.

mod card;
mod line;
mod map;
mod ready;

use crate::cellar::bottling::bins::{Bin, StoreMap};
use crate::cellar::bottling::bottle_tasting::BottleTasted;
use crate::cellar::bottling::said::{Said, SaidError};
use crate::cellar::day::Day;
use crate::cellar::fact::What;
use crate::cellar::label::{Label, TEXT_CHARACTERS, is_unsafe};
use crate::cellar::question::Question;
use crate::cellar::state::{RunId, State};
use crate::tui::asking;
use crate::tui::bottling;
use crate::tui::command::Id;
use crate::tui::model::{Mode, Model, Tone};
use crate::tui::update::Wishes;
use crate::tui::work::Then;

pub(super) use self::card::tastes;
pub(super) use self::line::lines;
pub(super) use self::map::draw;
pub(super) use self::ready::page;

/// Where the cursor stands on the map.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Spot {
    /// Which store, from nought.
    pub store: usize,
    /// Which row of it.
    pub row: usize,
    /// Which bin of that.
    pub bin: usize,
}

/// The map of the bins, and what lies on it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BinsPage {
    /// Where the cursor stands.
    pub spot: Spot,
    /// The line that is being written.
    pub line: Option<BinLine>,
    /// From which line on the page lies on the map of what may go, if it does.
    pub ready: Option<usize>,
    /// The place under the cursor, where it is not on the map any more: the cursor stands beside it then.
    pub lost: Option<Label>,
}

/// A line that is being written about bottles.
#[derive(Clone, Debug, PartialEq)]
pub struct BinLine {
    /// What is done.
    pub act: BinAct,
    /// What is written so far.
    pub text: String,
}

/// What is done with bottles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BinAct {
    /// They are laid away.
    Lay,
    /// They are carried to another bin.
    Carry,
    /// They go out.
    Out,
    /// Their release is set.
    Release,
    /// One is tasted.
    Taste,
}

impl BinsPage {
    /// The map with the cursor on a place, if it is there.
    #[must_use]
    pub fn at(maps: &[StoreMap], place: &Label) -> Option<BinsPage> {
        let spot = spots(maps).find(|&spot| bin_at(maps, spot).is_some_and(|bin| bin.place == *place))?;
        Some(BinsPage { spot, ..BinsPage::default() })
    }

    /// The same page in another state of the cellar, the cursor on the same place.
    pub(super) fn followed(mut self, before: &State, after: &State) -> BinsPage {
        let (maps, old) = (after.bin_maps(), before.bin_maps());
        let place = bin_at(&old, self.spot).map(|bin| bin.place.clone());
        let same = place.as_ref().and_then(|place| BinsPage::at(&maps, place));
        // What is written was meant for the place that is gone.
        self.lost = place.filter(|_| same.is_none());
        self.line = self.line.filter(|_| self.lost.is_none());
        self.spot = same.map_or(self.spot.within(&maps), |page| page.spot);
        self
    }

    /// The runs whose bottles lie in the bin under the cursor, each once.
    pub(super) fn runs(&self, state: &State) -> Vec<Label> {
        let maps = state.bin_maps();
        let lying = bin_at(&maps, self.spot).map_or(&[][..], |bin| &bin.lying);
        let mut runs: Vec<RunId> = lying.iter().map(|lying| lying.run).collect();
        runs.dedup();
        runs.into_iter().map(|run| state.runs.get(run).label.clone()).collect()
    }

    /// Takes characters into the line.
    pub(super) fn type_in(&mut self, text: &str) {
        if let Some(line) = &mut self.line {
            let room = TEXT_CHARACTERS.saturating_sub(line.text.chars().count());
            let text = text.chars().map(|c| if matches!(c, '\n' | '\t' | '\r') { ' ' } else { c });
            line.text.extend(text.filter(|c| !is_unsafe(*c)).take(room));
        }
    }
}

impl Spot {
    /// The nearest spot that is on a map.
    fn within(self, maps: &[StoreMap]) -> Spot {
        let store = self.store.min(maps.len().saturating_sub(1));
        let rows = maps.get(store).map_or(&[][..], |map| &map.rows);
        let row = self.row.min(rows.len().saturating_sub(1));
        let bins = rows.get(row).map_or(0, |row| row.bins.len());
        Spot { store, row, bin: self.bin.min(bins.saturating_sub(1)) }
    }
}

/// Every spot of the maps, in walking order.
fn spots(maps: &[StoreMap]) -> impl Iterator<Item = Spot> + '_ {
    maps.iter().enumerate().flat_map(|(store, map)| {
        let rows = map.rows.iter().enumerate();
        rows.flat_map(move |(row, its)| (0..its.bins.len()).map(move |bin| Spot { store, row, bin }))
    })
}

/// The bin at a spot.
fn bin_at(maps: &[StoreMap], spot: Spot) -> Option<&Bin> {
    maps.get(spot.store)?.rows.get(spot.row)?.bins.get(spot.bin)
}

impl Model {
    /// The bin under the cursor of the map.
    pub(super) fn bin(&self) -> Option<Bin> {
        let Mode::Bins(page) = &self.mode else { return None };
        bin_at(&self.state.bin_maps(), page.spot).cloned()
    }

    /// Why there is no map of bins, if there is none.
    #[must_use]
    pub fn why_no_bins(&self) -> Option<String> {
        let none = self.state.runs.is_empty() && self.state.stores.is_empty();
        let why = "No bottles were filled yet, and no store for them is laid out. Enter them with `barrelwalk record`.";
        none.then(|| why.to_owned())
    }

    /// Why nothing is laid away, if nothing is.
    #[must_use]
    pub fn why_no_laying_away(&self) -> Option<String> {
        let none = || self.state.not_laid_away().is_empty().then(|| SaidError::NoneLoose.to_string());
        self.why_read_only().or_else(none)
    }

    /// Why nothing is done with bottles of this bin, if nothing is.
    #[must_use]
    pub fn why_no_bottles(&self) -> Option<String> {
        self.why_read_only().or_else(|| self.why_no_run())
    }

    /// Why there is no run to show, if there is none.
    #[must_use]
    pub fn why_no_run(&self) -> Option<String> {
        let here = self.bin();
        let place = here.as_ref().map_or("any bin", |bin| bin.place.as_str()).to_owned();
        here.is_none_or(|bin| bin.lying.is_empty()).then(|| SaidError::Nothing(place).to_string())
    }

    /// Why there is no other store to go to, if there is none.
    #[must_use]
    pub fn why_no_other_store(&self) -> Option<String> {
        (self.state.bin_maps().len() < 2).then(|| "There is only this one store of bottles.".to_owned())
    }
}

/// Opens the map, at its first bin that holds bottles.
pub(super) fn open(model: &mut Model) {
    let maps = model.state.bin_maps();
    let first = spots(&maps).find(|&spot| bin_at(&maps, spot).is_some_and(|bin| !bin.lying.is_empty()));
    model.mode = Mode::Bins(BinsPage { spot: first.unwrap_or_default(), ..BinsPage::default() });
    if maps.is_empty() {
        let text = "No bottle is laid away yet: l lays some away, for example 600, pallet 1.";
        model.say(text, Tone::Notice);
    }
}

/// Opens the map at the first bin in which bottles of a run or a lot code lie.
pub(super) fn find(model: &mut Model, name: &Label) {
    let maps = model.state.bin_maps();
    let Some(of) = model.state.bottles_called(name.as_str()) else { return };
    let there: Vec<Spot> =
        spots(&maps).filter(|&spot| bin_at(&maps, spot).is_some_and(|bin| of.lies_in(bin))).collect();
    open(model);
    if let (Mode::Bins(page), Some(&first)) = (&mut model.mode, there.first()) {
        page.spot = first;
    }
    let run = model.state.runs.get(of.run);
    let loose: u64 = run.stock.iter().filter(|its| its.place.is_none() && of.means(its)).map(|its| its.there).sum();
    let also = if loose > 0 { format!(", {loose} bottles are not laid away") } else { String::new() };
    let text = match there.len() {
        0 => format!("{name} lies in no bin{also}."),
        1 => format!("{name} lies in one bin{also}."),
        many => format!("{name} lies in {many} bins{also}: j goes to the next."),
    };
    model.say(text, Tone::Notice);
}

/// Opens the map at the first bin of a store.
pub(super) fn go_to_store(model: &mut Model, store: &Label) {
    let at = model.state.bin_maps().iter().position(|map| map.store.as_ref() == Some(store));
    if let Some(store) = at {
        model.mode = Mode::Bins(BinsPage { spot: Spot { store, ..Spot::default() }, ..BinsPage::default() });
    }
}

/// Opens the map at a bin.
pub(super) fn go_to(model: &mut Model, place: &Label) {
    if let Some(page) = BinsPage::at(&model.state.bin_maps(), place) {
        model.mode = Mode::Bins(page);
    }
}

/// Carries out a command that means something else on the map than elsewhere, or is given there alone; none where it is
/// no such one.
pub(super) fn carry_out(model: &mut Model, id: Id) -> Option<Wishes> {
    let Mode::Bins(page) = &mut model.mode else { return None };
    match id {
        Id::Left => step(model, |spot| Spot { bin: spot.bin.saturating_sub(1), ..spot }),
        Id::Right => step(model, |spot| Spot { bin: spot.bin + 1, ..spot }),
        Id::Up => step(model, |spot| Spot { row: spot.row.saturating_sub(1), ..spot }),
        Id::Down => step(model, |spot| Spot { row: spot.row + 1, ..spot }),
        Id::RowStart => step(model, |spot| Spot { bin: 0, ..spot }),
        Id::RowEnd => step(model, |spot| Spot { bin: usize::MAX, ..spot }),
        Id::NextStore => {
            let stores = model.state.bin_maps().len().max(1);
            step(model, |spot| Spot { store: (spot.store + 1) % stores, row: 0, bin: 0 });
        }
        Id::NextOfCode => next_of_code(model),
        Id::LayAway => write(model, BinAct::Lay),
        Id::CarryBottles => write(model, BinAct::Carry),
        Id::LetOut => write(model, BinAct::Out),
        Id::SetRelease => write(model, BinAct::Release),
        Id::TasteBottle => write(model, BinAct::Taste),
        Id::ReadyBottles => page.ready = Some(0),
        Id::ShowRun => return Some(bottling::show_run_of_bin(model)),
        Id::Choose => return Some(take(model)),
        Id::EraseWord => {
            page.line.as_mut().map(|line| line.text.pop());
            model.asked.clear();
        }
        Id::Back if page.line.is_some() => page.line = None,
        Id::Back if page.ready.is_some() => page.ready = None,
        _ => return None,
    }
    Some(Vec::new())
}

fn step(model: &mut Model, to: impl Fn(Spot) -> Spot) {
    let maps = model.state.bin_maps();
    if let Mode::Bins(page) = &mut model.mode {
        page.spot = to(page.spot).within(&maps);
    }
}

fn write(model: &mut Model, act: BinAct) {
    if let Mode::Bins(page) = &mut model.mode {
        page.line = Some(BinLine { act, text: String::new() });
    }
}

/// Goes to the next bin with bottles of the lot code that lies under the cursor, and from the last to the first.
fn next_of_code(model: &mut Model) {
    let maps = model.state.bin_maps();
    let Mode::Bins(page) = &mut model.mode else { return };
    let code = |bin: &Bin| bin.lying.first().map(|lying| (lying.run, lying.stock.lot_code.clone()));
    let Some(here) = bin_at(&maps, page.spot).and_then(code) else { return };
    let is_like = |spot: &Spot| {
        let of = |bin: &Bin| bin.lying.iter().any(|its| (its.run, its.stock.lot_code.clone()) == here);
        bin_at(&maps, *spot).is_some_and(of)
    };
    let all: Vec<Spot> = spots(&maps).filter(is_like).collect();
    let after = all.iter().position(|spot| *spot == page.spot).map_or(0, |at| at + 1);
    match all.get(after).or(all.first()) {
        Some(next) if *next != page.spot => page.spot = *next,
        _ => model.say("No other bin holds bottles of this lot code.", Tone::Notice),
    }
}

/// Enter: stores what the line says.
fn take(model: &mut Model) -> Wishes {
    let Mode::Bins(BinsPage { line: Some(line), .. }) = &model.mode else { return Vec::new() };
    let line = line.clone();
    if line.text.trim().is_empty() && line.act != BinAct::Lay {
        model.say("Nothing is written yet. Write it, or press esc to go back.", Tone::Refused);
        return Vec::new();
    }
    let bin = model.bin();
    match line.deed(&model.state, bin.as_ref()) {
        Ok(deed) => {
            let place = deed.to.as_ref().filter(|place| !model.state.is_place(place));
            let new_place = place.map(|place| Question::NewPlace { place: place.clone() });
            let questions = model.state.questions(&deed.whats, model.now);
            if !asking::may_do(model, &deed.whats, new_place.into_iter().chain(questions).collect()) {
                return Vec::new();
            }
            model.enter(deed.whats, deed.say, Then::Stay)
        }
        Err(error) => {
            model.say(error.to_string(), Tone::Refused);
            Vec::new()
        }
    }
}

/// What a line does.
struct Deed {
    whats: Vec<What>,
    say: String,
    /// Where bottles come to.
    to: Option<Label>,
}

impl BinLine {
    /// The facts that the line makes.
    fn deed(&self, state: &State, bin: Option<&Bin>) -> Result<Deed, SaidError> {
        let said = Said::read(&self.text, state);
        let here = || bin.ok_or(SaidError::Nothing("any bin".to_owned()));
        let of = |run: &Label, code: &Option<Label>| code.as_ref().unwrap_or(run).to_string();
        Ok(match self.act {
            BinAct::Lay => {
                let laid = said?.lay(state, bin.map(|bin| &bin.place))?;
                let (what, to) = (of(&laid.run, &laid.lot_code), laid.place.clone());
                let say = format!("{} of {what} laid away in {to}.", bottles(laid.bottles));
                Deed { whats: vec![What::LaidAway(Box::new(laid))], say, to: Some(to) }
            }
            BinAct::Carry => {
                let laid = said?.carry(state, here()?)?;
                let (what, to) = (of(&laid.run, &laid.lot_code), laid.place.clone());
                let say = format!("{} of {what} carried to {to}.", bottles(laid.bottles));
                Deed { whats: vec![What::LaidAway(Box::new(laid))], say, to: Some(to) }
            }
            BinAct::Out => {
                let out = said?.out(state, here()?)?;
                let what = of(&out.run, &out.lot_code);
                let say = format!("{} of {what} out: {}.", bottles(out.bottles), out.why);
                Deed { whats: vec![What::BottlesOut(Box::new(out))], say, to: None }
            }
            BinAct::Release => {
                let laid = said?.release(state, here()?)?;
                let many = bottles(laid.iter().map(|laid| laid.bottles).sum());
                let day = laid.first().and_then(|laid| laid.release).map(Day::show).unwrap_or_default();
                let whats = laid.into_iter().map(|laid| What::LaidAway(Box::new(laid))).collect();
                Deed { whats, say: format!("{many} may go from {day} on."), to: None }
            }
            BinAct::Taste => {
                let tasted: BottleTasted = state.bottle_taste(&self.text, here()?)?;
                let say = format!("{} tasted; the bottle is out.", of(&tasted.run, &tasted.lot_code));
                Deed { whats: vec![What::BottleTasted(Box::new(tasted))], say, to: None }
            }
        })
    }
}

/// Bottles in words.
pub(super) fn bottles(count: u32) -> String {
    if count == 1 { "1 bottle".to_owned() } else { format!("{count} bottles") }
}

/// Goes on once something is stored: the line is taken, the cursor stays.
pub(super) fn stored(model: &mut Model, page: &BinsPage) {
    model.mode = Mode::Bins(BinsPage { line: None, ..page.clone() });
}
