//! Colourings: what a barrel shows on the floor, one quality at a time.
//!
//! A cell is three columns wide and says its quality in letters or digits; colour only repeats it.

use ratatui::style::Style;

use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{LotId, State, Vessel, VesselId, Work};
use crate::cellar::core::table::Id;
use crate::cellar::jobs::floor::lot::Colour;
use crate::cellar::jobs::floor::work::Tick;
use crate::cellar::jobs::topping::round::Mark;
use crate::reckon::due::Due;
use crate::tui::core::marks::Marks;
use crate::tui::core::text::{columns, cut, right};
use crate::tui::core::theme::{Meaning, Theme};
use crate::units::figure_to;

/// How many columns a barrel's cell has.
pub const CELL: usize = 3;

/// The flag of a barrel that leaks by what it drinks: it weeps, as the trade says. Small, so that no lot is called like it.
pub const WEEPS: char = 'w';

/// The flag of a held barrel.
const HELD: &str = "H";

/// The flag of a barrel that is chosen for a glass at the bench.
pub const GLASS: char = 'g';

/// A quality that the floor shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Colouring {
    /// Days since topping.
    #[default]
    Days,
    /// Litres missing by estimate.
    Headspace,
    /// Which lot.
    Lot,
    /// Which forest.
    Forest,
    /// Which toast.
    Toast,
    /// Which fill of the wood.
    Fill,
    /// The last score.
    Score,
    /// Held or not.
    Hold,
}

impl Colouring {
    /// All of them, in the order in which they come round.
    pub const ALL: [Colouring; 8] = [
        Colouring::Days,
        Colouring::Headspace,
        Colouring::Lot,
        Colouring::Forest,
        Colouring::Toast,
        Colouring::Fill,
        Colouring::Score,
        Colouring::Hold,
    ];

    /// What it shows.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Colouring::Days => "days since topping",
            Colouring::Headspace => "litres missing",
            Colouring::Lot => "lot",
            Colouring::Forest => "forest",
            Colouring::Toast => "toast",
            Colouring::Fill => "fill of the wood",
            Colouring::Score => "last score",
            Colouring::Hold => "held barrels",
        }
    }

    /// The one so many places on, or back.
    #[must_use]
    pub fn turned(self, by: isize) -> Colouring {
        let count = isize::try_from(Self::ALL.len()).unwrap_or(1);
        let now = Self::ALL.iter().position(|&one| one == self).and_then(|at| isize::try_from(at).ok()).unwrap_or(0);
        let next = (now + by).rem_euclid(count);
        Self::ALL[usize::try_from(next).unwrap_or(0)]
    }
}

/// What colouring needs to know beside the barrel.
#[derive(Clone, Copy)]
pub struct Palette<'a> {
    /// The state.
    pub state: &'a State,
    /// Now.
    pub now: Moment,
    /// How meanings look.
    pub theme: Theme,
    /// The glyphs.
    pub marks: &'static Marks,
    /// Which quality is shown.
    pub colouring: Colouring,
    /// The work that is walked, whose marks stand in place of those of the rounds.
    pub work: Option<&'a Work>,
    /// The barrels that are chosen for the bench.
    pub for_bench: &'a [Label],
}

impl Palette<'_> {
    /// What a barrel's cell says, right-aligned in [`CELL`] columns, and its style.
    #[must_use]
    pub fn cell(&self, id: VesselId) -> (String, Style) {
        let vessel = self.state.vessels.get(id);
        let (text, style) = self.quality(vessel);
        // What the person has just chosen goes before all other flags but the hold: these are back once it is in a glass.
        if self.for_bench.contains(&vessel.label) {
            let (hold, style) =
                if vessel.held.is_some() { (HELD, self.theme.style(Meaning::Held)) } else { ("", style) };
            return (with_flags(&text, &format!("{hold}{GLASS}"), self.marks), style);
        }
        if let Some(work) = self.work {
            let (flag, style) = self.work_mark(work, id, style);
            return (with_flags(&text, &flag, self.marks), style);
        }
        let (flag, style) = match (vessel.held.is_some(), self.mark(id, vessel)) {
            (true, _) => (HELD.to_owned(), self.theme.style(Meaning::Held)),
            (false, Some(Mark::Skipped)) => ("s".to_owned(), style),
            (false, Some(Mark::InPart(_))) => ("p".to_owned(), style),
            (false, Some(Mark::Topped(_) | Mark::Thirsty(_))) => (self.marks.yes.to_string(), style),
            (false, None) => (self.state.leak(vessel).map_or_else(String::new, |_| WEEPS.to_string()), style),
        };
        (with_flags(&text, &flag, self.marks), style)
    }

    /// How the walked work marks a barrel: done, skipped, to do; what is not of it steps back.
    fn work_mark(&self, work: &Work, id: VesselId, style: Style) -> (String, Style) {
        let held = self.state.vessels.get(id).held.is_some();
        match work.stop(id).map(|stop| stop.tick) {
            _ if held => (HELD.to_owned(), self.theme.style(Meaning::Held)),
            None => (String::new(), self.theme.style(Meaning::Muted)),
            Some(None) => (self.marks.bullet.to_string(), style),
            Some(Some(Tick::Skipped)) => ("s".to_owned(), style),
            Some(Some(Tick::Done(_))) => (self.marks.yes.to_string(), style),
        }
    }

    fn mark(&self, id: VesselId, vessel: &Vessel) -> Option<Mark> {
        let round = self.state.open_round_of(vessel)?;
        self.state.rounds.get(round).marks.get(&id).copied()
    }

    fn quality(&self, vessel: &Vessel) -> (String, Style) {
        if vessel.wine.is_empty() && !matches!(self.colouring, Colouring::Forest | Colouring::Toast | Colouring::Fill) {
            return (self.marks.empty.to_string(), self.theme.style(Meaning::Empty));
        }
        let base = self.theme.style(Meaning::Base);
        match self.colouring {
            Colouring::Days => match self.state.days_since_full(vessel, self.now) {
                Some(days) => (at_most(days, 99), self.due_style(vessel)),
                None => ("?".to_owned(), base),
            },
            Colouring::Headspace => {
                let missing = self.state.headspace(vessel, self.now).missing;
                let decimals = u32::from(missing.as_litres() < 9.95);
                let share = missing.as_litres() / 5.0;
                (missing.in_column(decimals), self.theme.share(share))
            }
            Colouring::Lot => match vessel.lot {
                Some(lot) => (lot_letters(lot), self.theme.category(lot.index())),
                None => (String::new(), base),
            },
            Colouring::Forest => self.word(vessel.wood.forest.as_ref().map(Label::as_str)),
            Colouring::Toast => self.word(vessel.wood.toast.as_ref().map(Label::as_str)),
            Colouring::Fill => {
                let fill = if vessel.wine.is_empty() { vessel.fills + 1 } else { vessel.fills };
                let text = if fill <= 1 { "new".to_owned() } else { at_most(i64::from(fill), 99) };
                (text, self.theme.step(usize::try_from(fill.saturating_sub(1)).unwrap_or(usize::MAX)))
            }
            Colouring::Score => match vessel.taste.as_ref().and_then(|taste| taste.score) {
                Some(score) => (short_score(score), self.theme.share((score - 10.0) / 10.0)),
                None => ("-".to_owned(), self.theme.style(Meaning::Muted)),
            },
            Colouring::Hold => (self.marks.bullet.to_string(), self.theme.style(Meaning::Muted)),
        }
    }

    /// The first letters of a word, so that a forest or a toast is read without a key to it.
    fn word(&self, word: Option<&str>) -> (String, Style) {
        let Some(word) = word else { return ("?".to_owned(), self.theme.style(Meaning::Muted)) };
        let text = abbreviation(word);
        // A stable kind from the letters themselves, whatever else is in the cellar.
        let kind = text.bytes().fold(0_usize, |sum, byte| sum * 31 + usize::from(byte));
        (text, self.theme.category(kind))
    }

    fn due_style(&self, vessel: &Vessel) -> Style {
        self.theme.style(match self.state.due(vessel, self.now) {
            Some(Due::Over) => Meaning::Over,
            Some(Due::Due) => Meaning::Due,
            Some(Due::Fine) => Meaning::Fine,
            None => Meaning::Base,
        })
    }
}

/// A letter or two that stand for a lot on the floor: the legend says which.
#[must_use]
pub fn lot_letters(lot: LotId) -> String {
    // Without H, which is the flag of a held barrel.
    const LETTERS: &[u8; 25] = b"ABCDEFGIJKLMNOPQRSTUVWXYZ";
    let index = lot.index();
    let letter = |number: usize| char::from(LETTERS[number % LETTERS.len()]);
    if index < LETTERS.len() {
        letter(index).to_string()
    } else {
        format!("{}{}", letter(index / LETTERS.len() - 1), letter(index))
    }
}

/// The legend of a colouring: what its letters stand for, for the lots of a room.
#[must_use]
pub fn lots_in_room(state: &State, room: crate::cellar::core::state::RoomId) -> Vec<(LotId, Colour, usize)> {
    let mut counts = std::collections::BTreeMap::new();
    for id in state.rooms.get(room).slots.iter().flatten() {
        if let Some(lot) = state.vessels.get(*id).lot {
            *counts.entry(lot).or_insert(0) += 1;
        }
    }
    counts.into_iter().map(|(lot, count)| (lot, state.lots.get(lot).colour, count)).collect()
}

/// Three letters for a word; of several words two letters of the first and one of the second.
fn abbreviation(word: &str) -> String {
    let mut words = word.split_whitespace();
    let first = words.next().unwrap_or_default();
    match words.next() {
        Some(second) => first.chars().take(2).chain(second.chars().take(1)).collect(),
        None => first.chars().take(3).collect(),
    }
}

fn at_most(number: i64, most: i64) -> String {
    if number > most { format!("{most}+") } else { number.to_string() }
}

fn short_score(score: f64) -> String {
    if score < 10.0 { figure_to(1, score) } else { format!("{score:.0}") }
}

/// A cell's text in its columns, at the right, with its flags before it. Beside a flag a number goes without its decimals,
/// and beside two it goes altogether where it is too long, rather than stand with half of its digits.
fn with_flags(text: &str, flags: &str, marks: &Marks) -> String {
    let room = CELL.saturating_sub(columns(flags));
    if room == CELL {
        return right(&cut(text, CELL, marks), CELL, marks);
    }
    let text = match text.split_once('.') {
        Some(("0", "0")) if columns(text) > room => "0".to_owned(),
        Some(("0", decimals)) if columns(text) > room => format!(".{decimals}"),
        Some((whole, _)) if columns(text) > room => whole.to_owned(),
        _ => text.to_owned(),
    };
    let text = if room < 2 && columns(&text) > room { String::new() } else { text };
    format!("{flags}{}", right(&cut(&text, room, marks), room, marks))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::core::marks::UNICODE;

    #[test]
    fn a_flag_takes_one_column_and_never_half_a_number() {
        let cell = |text, flags| with_flags(text, flags, &UNICODE);
        assert_eq!(["26", "0.5", "99+", "Tro"].map(|text| cell(text, "")), [" 26", "0.5", "99+", "Tro"]);
        assert_eq!(cell("0.0", "w"), "w 0");
        let held = ["26", "0.5", "2.6", "14", "99+", "Tro", "-"].map(|text| cell(text, "H"));
        assert_eq!(held, ["H26", "H.5", "H 2", "H14", "H99", "HTr", "H -"]);
        let chosen_too = ["26", "0.5", "2.6", "4", "99+", "Tro", "-"].map(|text| cell(text, "Hg"));
        assert_eq!(chosen_too, ["Hg ", "Hg ", "Hg2", "Hg4", "Hg ", "Hg ", "Hg-"]);
        assert_eq!([cell("葡萄酒", ""), cell("葡萄酒", "s")], [" 葡", "s葡"]);
    }

    #[test]
    fn no_lot_is_called_like_a_flag() {
        let letters: Vec<String> = (0..700).map(|index| lot_letters(LotId::from_index(index))).collect();
        assert!(letters.iter().all(|letters| !letters.contains(['H', WEEPS, GLASS]) && letters.len() < CELL));
        let different: std::collections::BTreeSet<&String> = letters.iter().take(650).collect();
        assert_eq!(different.len(), 650);
    }
}
