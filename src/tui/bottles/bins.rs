//! The bins on the screen: a map of their own, on which bottles are laid away, carried, let out and tasted.

mod card;
mod line;
mod map;
mod ready;

use ratatui::Frame;
use ratatui::layout::Rect;

pub use self::line::{BinAct, BinLine};
pub use self::ready::Ready;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::{RunId, State};
use crate::cellar::jobs::bottles::bottling::bins::{Bin, StoreMap};
use crate::cellar::jobs::bottles::bottling::said::SaidError;
use crate::told::hazard::Caution;
use crate::tui::books::counting;
use crate::tui::books::trace::{self, Traced};
use crate::tui::bottles::run;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::page::{About, Before, Followed, Go, Opens, Page, Row, Table, Turn, Way};
use crate::tui::core::sense::Sense;
use crate::tui::core::update::Wishes;
use crate::units::{by_count, counted};

pub(in crate::tui) use self::card::tastes;

/// A word of the bottom line that is always the same.
macro_rules! word {
    ($word:literal) => {
        |_, _| Some($word.to_owned())
    };
}

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

/// The map of the bins.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bins {
    /// The place that is chosen; none where there is no bin, or it is not on the map any more.
    place: Option<Label>,
    /// Where it stood when it was last seen: the cursor stands there, or beside it.
    spot: Spot,
}

impl Table for Bins {
    const ABOUT: About = About {
        name: "Bottles in their bins",
        purpose: "The stores of bottles, a bin a cell: its mark says whether its bottles may go, its number how many lie there.\n\
                  A line says what is done with them: 600, pallet 1 lays 600 bottles away there; 60 sold, The shop lets 60 go out. \
                  Nothing is asked that can be told: where one lot code lies in the bin, it is that.\n\
                  Stacked pallets and bins tip: follow local codes and licensed practice.",
        opens: Opens::ByWays(&[Way {
            sense: None,
            title: "Bottles in their bins",
            help: "Shows the stores of bottles: what lies in which bin, what may go; there bottles are laid away, carried, let out \
                   and tasted.",
            also: &["store", "lay away", "release", "stock", "bin", "pallet", "library", "dispatch", "ship"],
            why_not: Model::why_no_bins,
            open,
        }]),
    };
    #[rustfmt::skip] // a table reads as a table
    const ROWS: &'static [Row<Bins>] = &[
        Row::new(Sense::LayAway, "Lay bottles away", "Lays bottles away that are not laid away yet.", |page: &mut Bins, model| page.write(model, BinAct::Lay)).word(word!("lay away")).unless(|_, model| model.why_no_laying_away()),
        Row::new(Sense::Out, "Bottles out", "Lets bottles of this bin go out: sold, broken, tasted, kept as library stock.", |page: &mut Bins, model| page.write(model, BinAct::Out)).word(word!("out")).unless(Bins::why_no_bottles),
        Row::new(Sense::Taste, "Taste a bottle", "Takes the taste of a bottle of this bin, which is out by that.", |page: &mut Bins, model| page.write(model, BinAct::Taste)).word(word!("taste")).unless(Bins::why_no_bottles),
        Row::listed("Carry bottles", "Carries bottles from this bin to another.", |page: &mut Bins, model| page.write(model, BinAct::Carry)).also(&["move"]).unless(Bins::why_no_bottles),
        Row::listed("Set the release", "Says from when on the bottles of this bin may go.", |page: &mut Bins, model| page.write(model, BinAct::Release)).unless(Bins::why_no_bottles),
        Row::new(Sense::Lot, "The run", "Shows the run in this bin: every bottle and every litre of it, and its tastes through bottle age.", |page: &mut Bins, model| page.show_run(model)).word(word!("run")).unless(Bins::why_no_run),
        Row::new(Sense::View, "Ready this month", "Lists what may go now and this month, and what comes later.", |_, model| open_ready(model)).word(word!("ready")),
        Row::new(Sense::OtherSide, "The next store", "Goes to the next store of bottles.", |page: &mut Bins, model| page.next_store(model)).word(word!("store")).unless(|_, model| model.why_no_other_store()),
        Row::new(Sense::Same, "The next bin of this lot code", "Goes on to the next bin with the same lot code.", |page: &mut Bins, model| page.next_of_code(model)).unless(Bins::why_no_run),
        Row::new(Sense::Ancestry, "Trace", "Leads the lot code in this bin back to all that its wine met.", |page: &mut Bins, model| page.trace(model)).also(&["recall"]).unless(Bins::why_no_run),
        Row::listed("Count this store", "Begins the physical count of the bottles in this store, or goes on with it.", |page: &mut Bins, model| page.count(model)).also(&["inventory", "stocktake"]).unless(|page: &Bins, model| model.why_no_count_of(page.to_count(model))),
        Row::UNDO,
        Row::REDO,
        Row::new(Sense::Before, "One bin back", "Goes one bin back along the row.", |page: &mut Bins, model| page.step(model, |spot| Spot { bin: spot.bin.saturating_sub(1), ..spot })),
        Row::new(Sense::After, "One bin on", "Goes one bin on along the row.", |page: &mut Bins, model| page.step(model, |spot| Spot { bin: spot.bin + 1, ..spot })),
    ];
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

/// The spot of a place.
fn spot_of(maps: &[StoreMap], place: &Label) -> Option<Spot> {
    spots(maps).find(|&spot| bin_at(maps, spot).is_some_and(|bin| bin.place == *place))
}

/// The runs whose bottles lie at a place, each once.
pub(in crate::tui) fn runs_at(state: &State, place: &Label) -> Vec<Label> {
    let maps = state.bin_maps();
    let lying = spot_of(&maps, place).and_then(|spot| bin_at(&maps, spot)).map_or(&[][..], |bin| &bin.lying);
    let mut runs: Vec<RunId> = lying.iter().map(|lying| lying.run).collect();
    runs.dedup();
    runs.into_iter().map(|run| state.runs.get(run).label.clone()).collect()
}

impl Bins {
    /// The map with the cursor on a spot.
    fn at(maps: &[StoreMap], spot: Spot) -> Bins {
        let spot = spot.within(maps);
        Bins { place: bin_at(maps, spot).map(|bin| bin.place.clone()), spot }
    }

    /// Where the cursor stands.
    #[must_use]
    pub fn spot(&self) -> Spot {
        self.spot
    }

    /// The bin that is chosen.
    fn bin(&self, model: &Model) -> Option<Bin> {
        let maps = model.state.bin_maps();
        let spot = spot_of(&maps, self.place.as_ref()?)?;
        bin_at(&maps, spot).cloned()
    }

    /// Why nothing is done with bottles of this bin, if nothing is.
    fn why_no_bottles(&self, model: &Model) -> Option<String> {
        model.why_read_only().or_else(|| self.why_no_run(model))
    }

    /// Why there is no run to show, if there is none.
    fn why_no_run(&self, model: &Model) -> Option<String> {
        let here = self.bin(model);
        let place = here.as_ref().map_or("any bin", |bin| bin.place.as_str()).to_owned();
        here.is_none_or(|bin| bin.lying.is_empty()).then(|| SaidError::Nothing(place).to_string())
    }

    /// The store that would be counted, where it is laid out.
    fn to_count(&self, model: &Model) -> Option<counting::Where> {
        let map = model.state.bin_maps().into_iter().nth(self.spot.store)?;
        let laid_out = map.store.filter(|store| model.state.stores.find(store.as_str()).is_some());
        laid_out.map(counting::Where::Store)
    }

    fn count(&mut self, model: &mut Model) -> Turn {
        let what = self.to_count(model);
        counting::open(model, what);
        Turn::stay()
    }

    fn write(&mut self, model: &mut Model, act: BinAct) -> Turn {
        model.open(BinLine::new(act, self.place.clone()));
        Turn::stay()
    }

    /// Shows the run in the bin: of several the first.
    fn show_run(&mut self, model: &mut Model) -> Turn {
        let Some(place) = self.place.clone() else { return Turn::stay() };
        run::show_of_bin(model, &place).into()
    }

    fn trace(&mut self, model: &mut Model) -> Turn {
        let bin = self.bin(model);
        let Some(lying) = bin.as_ref().and_then(|bin| bin.lying.first()) else { return Turn::stay() };
        let run = || model.state.runs.get(lying.run).label.clone();
        let of = Traced::Bottles(lying.stock.lot_code.clone().unwrap_or_else(run));
        trace::open(model, of).into()
    }

    fn step(&mut self, model: &Model, to: impl Fn(Spot) -> Spot) -> Turn {
        *self = Bins::at(&model.state.bin_maps(), to(self.spot));
        Turn::stay()
    }

    fn next_store(&mut self, model: &Model) -> Turn {
        let stores = model.state.bin_maps().len().max(1);
        self.step(model, |spot| Spot { store: (spot.store + 1) % stores, row: 0, bin: 0 })
    }

    /// Goes to the next bin with bottles of the lot code that lies under the cursor, and from the last to the first.
    fn next_of_code(&mut self, model: &mut Model) -> Turn {
        let maps = model.state.bin_maps();
        let code = |bin: &Bin| bin.lying.first().map(|lying| (lying.run, lying.stock.lot_code.clone()));
        let Some(here) = self.bin(model).as_ref().and_then(code) else { return Turn::stay() };
        let is_like = |spot: &Spot| {
            let of = |bin: &Bin| bin.lying.iter().any(|its| (its.run, its.stock.lot_code.clone()) == here);
            bin_at(&maps, *spot).is_some_and(of)
        };
        let all: Vec<Spot> = spots(&maps).filter(is_like).collect();
        let after = all.iter().position(|spot| *spot == self.spot).map_or(0, |at| at + 1);
        match all.get(after).or(all.first()) {
            Some(&next) if next != self.spot => *self = Bins::at(&maps, next),
            _ => model.say("No other bin holds bottles of this lot code.", Tone::Notice),
        }
        Turn::stay()
    }
}

impl Page for Bins {
    fn title(&self, model: &Model) -> String {
        let maps = model.state.bin_maps();
        let store = maps.get(self.spot.store).and_then(|map| map.store.as_ref());
        store.map_or_else(|| "Bottles in their bins".to_owned(), |store| format!("{store}: bottles in their bins"))
    }

    fn draw(&self, model: &Model, frame: &mut Frame<'_>, area: Rect) {
        map::draw(model, self, frame, area);
    }

    fn is_wide(&self) -> bool {
        true
    }

    fn go(&mut self, model: &mut Model, go: Go, _last: usize) -> Turn {
        match go {
            Go::Start => self.step(model, |spot| Spot { bin: 0, ..spot }),
            Go::End => self.step(model, |spot| Spot { bin: usize::MAX, ..spot }),
            Go::Up | Go::Down | Go::PageUp | Go::PageDown => {
                let half = usize::from(model.size.height / 2 / map::ROW).max(1);
                self.step(model, |spot| Spot { row: spot.row.saturating_add_signed(go.by(half)), ..spot })
            }
        }
    }

    fn follow(&mut self, model: &mut Model, _before: &Before<'_>) -> Followed {
        let maps = model.state.bin_maps();
        let Some(place) = self.place.take() else {
            *self = Bins::at(&maps, self.spot);
            return Followed::There;
        };
        let Some(spot) = spot_of(&maps, &place) else {
            self.spot = self.spot.within(&maps);
            return Followed::WithoutChoice(place.to_string());
        };
        (self.place, self.spot) = (Some(place), spot);
        Followed::There
    }
}

impl Model {
    /// Why there is no map of bins, if there is none.
    #[must_use]
    pub fn why_no_bins(&self) -> Option<String> {
        let none = self.state.runs.is_empty() && self.state.stores.is_empty();
        let why = "No bottles were filled yet, and no store for them is laid out. Enter them with `barrelwalk record`.";
        none.then(|| why.to_owned())
    }

    /// Why nothing is laid away, if nothing is.
    fn why_no_laying_away(&self) -> Option<String> {
        let none = || self.state.not_laid_away().is_empty().then(|| SaidError::NoneLoose.to_string());
        self.why_read_only().or_else(none)
    }

    /// Why there is no other store to go to, if there is none.
    fn why_no_other_store(&self) -> Option<String> {
        (self.state.bin_maps().len() < 2).then(|| "There is only this one store of bottles.".to_owned())
    }
}

fn open_ready(model: &mut Model) -> Turn {
    model.open(Ready::default());
    Turn::stay()
}

/// Opens the map, at its first bin that holds bottles.
fn open(model: &mut Model) -> Wishes {
    let maps = model.state.bin_maps();
    let first = spots(&maps).find(|&spot| bin_at(&maps, spot).is_some_and(|bin| !bin.lying.is_empty()));
    model.open(Bins::at(&maps, first.unwrap_or_default()));
    if maps.is_empty() {
        let text = "No bottle is laid away yet: l lays some away, for example 600, pallet 1.";
        model.say(text, Tone::Notice);
    }
    model.heed(Caution::of_kind("laid_away"));
    Vec::new()
}

/// Opens the map at the first bin in which bottles of a run or a lot code lie.
pub(in crate::tui) fn find(model: &mut Model, name: &Label) {
    let maps = model.state.bin_maps();
    let Some(of) = model.state.bottles_called(name.as_str()) else { return };
    let there: Vec<Spot> =
        spots(&maps).filter(|&spot| bin_at(&maps, spot).is_some_and(|bin| of.lies_in(bin))).collect();
    let run = model.state.runs.get(of.run);
    let loose: u64 = run.stock.iter().filter(|its| its.place.is_none() && of.means(its)).map(|its| its.there).sum();
    let also = if loose > 0 {
        format!(", {} {} not laid away", counted(loose, "bottle"), by_count(loose, "is", "are"))
    } else {
        String::new()
    };
    let text = match there.len() {
        0 => format!("{name} lies in no bin{also}."),
        1 => format!("{name} lies in one bin{also}."),
        many => format!("{name} lies in {many} bins{also}: j goes to the next."),
    };
    match there.first() {
        Some(&first) => model.open(Bins::at(&maps, first)),
        None => drop(open(model)),
    }
    model.say(text, Tone::Notice);
    model.heed(Caution::of_kind("laid_away"));
}

/// Opens the map at a bin.
pub(in crate::tui) fn go_to(model: &mut Model, place: &Label) {
    let maps = model.state.bin_maps();
    if let Some(spot) = spot_of(&maps, place) {
        model.open(Bins::at(&maps, spot));
        model.heed(Caution::of_kind("laid_away"));
    }
}
