//! Bottles as a fact names them: so many of a run, from somewhere, with a lot code. Laying away, going out and tasting look
//! them up, doubt them and take them alike.

use super::refusal::RunRefusal;
use super::run::{Run, Stock};
use crate::cellar::core::day::Day;
use crate::cellar::core::label::Label;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{RunId, State};

/// Where bottles are taken from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whence<'a> {
    /// From those that are not laid away yet.
    Line,
    /// From a place where they were laid away.
    Place(&'a Label),
    /// From anywhere: those not laid away first, then those whose release comes first.
    Anywhere,
}

/// Bottles that a fact names.
#[derive(Clone, Copy, Debug)]
pub struct Draw<'a> {
    /// Of which run.
    pub run: &'a Label,
    /// How many.
    pub bottles: u64,
    /// From where.
    pub whence: Whence<'a>,
    /// What stands on them, where it is said.
    pub lot_code: Option<&'a Label>,
}

/// Bottles of one kind that were taken.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Drawn {
    /// What they were, with how many were taken in place of how many are there.
    pub stock: Option<Stock>,
    /// How many.
    pub bottles: u64,
    /// What stands on them, as far as it is known.
    pub lot_code: Option<Label>,
}

impl Whence<'_> {
    fn is_meant(self, stock: &Stock) -> bool {
        match self {
            Whence::Line => stock.place.is_none(),
            Whence::Place(place) => stock.place.as_ref() == Some(place),
            Whence::Anywhere => true,
        }
    }
}

impl Draw<'_> {
    /// The run that is named.
    pub fn ready(&self, state: &State) -> Result<RunId, Refusal> {
        if self.bottles == 0 {
            return Err(RunRefusal::NoBottles(self.run.clone()).into());
        }
        state.run(self.run)
    }

    /// Why there cannot be so many, if there cannot.
    #[must_use]
    pub fn doubt(&self, run: &Run) -> Option<RunRefusal> {
        let (label, code) = (self.run.clone(), self.lot_code.cloned());
        if let Some(code) = code.clone().filter(|code| run.rank(Some(code)) == usize::MAX) {
            return Some(RunRefusal::CodeNotOfRun { run: label, code });
        }
        let (bottles, there) = (self.bottles, run.there(self.whence, self.lot_code));
        (bottles > there).then(|| match self.whence {
            Whence::Line => RunRefusal::MoreThanLoose { run: label, code, bottles, loose: there },
            Whence::Place(place) => {
                RunRefusal::MoreThanThere { run: label, code, bottles, place: place.clone(), there }
            }
            Whence::Anywhere => RunRefusal::MoreThanLeft { run: label, code, bottles, left: there },
        })
    }
}

impl Run {
    /// How many bottles are somewhere, of one lot code or of all.
    #[must_use]
    pub fn there(&self, whence: Whence<'_>, lot_code: Option<&Label>) -> u64 {
        self.meant(whence, lot_code).map(|stock| stock.there).sum()
    }

    /// The release of bottles that lie somewhere, where it is one.
    pub(super) fn release_at(&self, whence: Whence<'_>, lot_code: Option<&Label>) -> Option<Day> {
        let mut releases = self.meant(whence, lot_code).map(|stock| stock.release);
        let first = releases.next()?;
        first.filter(|_| releases.all(|release| release == first))
    }

    fn meant<'a>(&'a self, whence: Whence<'a>, lot_code: Option<&'a Label>) -> impl Iterator<Item = &'a Stock> {
        let is_coded = move |stock: &Stock| lot_code.is_none_or(|code| stock.lot_code.as_ref() == Some(code));
        self.stock.iter().filter(move |stock| whence.is_meant(stock) && is_coded(stock))
    }

    /// Takes bottles out of the stock: those not laid away first, then by release, then in the order of filling. What is not
    /// there counts as beyond the book.
    pub(super) fn take(&mut self, draw: &Draw<'_>) -> Vec<Drawn> {
        let wanted = draw.bottles;
        self.assumed += if self.leaves_the_code_open(draw) { wanted } else { 0 };
        let mut left = wanted;
        let mut drawn = Vec::new();
        for index in self.order_of_taking(draw) {
            let stock = &mut self.stock[index];
            let bottles = left.min(stock.there);
            if bottles > 0 {
                stock.there -= bottles;
                left -= bottles;
                drawn.push(Drawn { stock: Some(stock.clone()), bottles, lot_code: stock.lot_code.clone() });
            }
        }
        self.stock.retain(|stock| stock.there > 0);
        if left > 0 {
            self.beyond += left;
            drawn.push(Drawn { stock: None, bottles: left, lot_code: draw.lot_code.cloned() });
        }
        drawn
    }

    fn order_of_taking(&self, draw: &Draw<'_>) -> Vec<usize> {
        let is_meant = |stock: &Stock| {
            let coded = draw.lot_code.is_none_or(|code| stock.lot_code.as_ref() == Some(code));
            draw.whence.is_meant(stock) && coded
        };
        let mut order: Vec<usize> = (0..self.stock.len()).filter(|&index| is_meant(&self.stock[index])).collect();
        order.sort_by_key(|&index| {
            let stock = &self.stock[index];
            let (laid, never) = (stock.place.is_some(), stock.release.is_none());
            (laid, never, stock.release, self.rank(stock.lot_code.as_ref()))
        });
        order
    }

    /// Whether a part is taken of what has several lot codes, and none is said.
    fn leaves_the_code_open(&self, draw: &Draw<'_>) -> bool {
        let mut meant = self.meant(draw.whence, draw.lot_code);
        let first = meant.next().map(|stock| &stock.lot_code);
        let is_mixed = meant.any(|stock| Some(&stock.lot_code) != first);
        is_mixed && draw.bottles < self.there(draw.whence, draw.lot_code)
    }
}
