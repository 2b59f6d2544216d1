//! Where wine went from a vessel, a lot, a material or a block: gathered once, for every page that shows it.

use super::done::Done;
use super::{BulkOut, Fill, Reached, Receipt, Since, Stream, Tracer};
use crate::cellar::core::state::LotId;

/// What wine is traced forward from.
#[derive(Clone, Copy, Debug)]
pub enum Starting<'a> {
    /// A vessel in one of its fills.
    Vessel(Fill),
    /// All wine that ever had a lot's name.
    Lot(LotId),
    /// A material or a batch of one.
    Material(&'a str),
    /// A block of vines.
    Block(&'a str),
}

/// Where wine went.
#[derive(Clone, Debug)]
pub struct Onward<'a> {
    /// What flowed on.
    pub streams: Vec<Stream>,
    /// The bottles that it came into.
    pub reached: Vec<Reached>,
    /// What of it left the house in bulk.
    pub bulk_out: Vec<&'a BulkOut>,
    /// Of a material, what it was added to.
    pub treated: Vec<(Since, &'a Done)>,
    /// Of a block, what came into the book.
    pub grown: Vec<&'a Receipt>,
}

impl Tracer {
    /// Where wine went.
    #[must_use]
    pub fn onward(&self, from: Starting<'_>) -> Onward<'_> {
        let (mut treated, mut grown) = (Vec::new(), Vec::new());
        let sinces: Vec<Since> = match from {
            Starting::Vessel(fill) => vec![fill.into()],
            Starting::Lot(lot) => self.fills_ever(lot),
            Starting::Material(label) => {
                treated = self.treated_with(label);
                treated.iter().map(|(since, _)| *since).collect()
            }
            Starting::Block(label) => {
                let (sinces, receipts) = self.grown_in(label).into_iter().unzip();
                grown = receipts;
                sinces
            }
        };
        let reached = match from {
            Starting::Material(label) => self.bottles_with(label),
            Starting::Vessel(_) | Starting::Lot(_) | Starting::Block(_) => self.bottled_of(&sinces),
        };
        Onward { streams: self.forward(&sinces), reached, bulk_out: self.left_in_bulk(&sinces), treated, grown }
    }
}
