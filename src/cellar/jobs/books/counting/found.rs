//! Wine that a count finds where the book has none: it comes into the book under a lot and an origin that say no more than that.

use chrono::Datelike;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{LotId, State, Vessel};
use crate::cellar::jobs::floor::lot::{Colour, LotOpened};
use crate::cellar::jobs::floor::origin::OriginDeclared;
use crate::cellar::jobs::floor::receiving::{ReceivedPart, WineReceived};
use crate::units::Volume;

/// What such wine is called until somebody says what it is.
const FOUND: &str = "found";
/// What is not known of where it grew.
const UNKNOWN: &str = "unknown";
/// The vintage where the clock says none.
const UNKNOWN_VINTAGE: u16 = 2000;
/// Labels that are tried.
const NAMES: u32 = 99;

/// The facts that bring found wine into the book, while they are gathered.
pub(super) struct FoundWine<'a> {
    state: &'a State,
    /// The lot that people say it is.
    lot: Option<LotId>,
    at: Moment,
    /// What was called into being for it on the way: the label, its colour.
    declared: Vec<(Label, Colour)>,
    /// The facts, those that the others rest on first.
    pub whats: Vec<What>,
}

impl<'a> FoundWine<'a> {
    pub(super) const fn of(state: &'a State, lot: Option<LotId>, at: Moment) -> FoundWine<'a> {
        FoundWine { state, lot, at, declared: Vec::new(), whats: Vec::new() }
    }

    /// Takes in what was found in a vessel.
    pub(super) fn found(&mut self, vessel: &Vessel, volume: Volume) -> Result<(), Refusal> {
        let lot = self.lot.map(|lot| self.state.lots.get(lot));
        let colour = lot.map(|lot| lot.colour).or(vessel.stained).unwrap_or_else(|| self.usual_colour());
        let origin = self.named(colour).ok_or_else(|| Refusal::NoNameForFound(vessel.label.clone()))?;
        let lot = lot.map_or_else(|| origin.clone(), |lot| lot.label.clone());
        let parts = vec![ReceivedPart { origin, volume }];
        self.whats.push(What::WineReceived(WineReceived { vessel: vessel.label.clone(), lot, parts }));
        Ok(())
    }

    /// The label for found wine of a colour, a lot's and an origin's, called into being where it is not there.
    fn named(&mut self, colour: Colour) -> Option<Label> {
        if let Some((label, _)) = self.declared.iter().find(|(_, of)| *of == colour) {
            return Some(label.clone());
        }
        let name = |n: u32| match n {
            1 => FOUND.to_owned(),
            2 => format!("{FOUND} {colour}"),
            n => format!("{FOUND} {colour} {n}"),
        };
        let fits = |label: &Label| {
            let lot = self.state.lots.by_label(label.as_str()).is_none_or(|lot| lot.colour == colour);
            let origin = self.state.origins.by_label(label.as_str()).is_none_or(|origin| origin.0.colour == colour);
            lot && origin && self.declared.iter().all(|(other, _)| other != label)
        };
        let label = (1..=NAMES).filter_map(|n| Label::read(&name(n)).ok()).find(fits)?;
        let unknown = Label::new(UNKNOWN).ok()?;
        if self.lot.is_none() && self.state.lots.find(label.as_str()).is_none() {
            self.whats.push(What::LotOpened(LotOpened { lot: label.clone(), colour }));
        }
        if self.state.origins.find(label.as_str()).is_none() {
            self.whats.push(What::OriginDeclared(Box::new(OriginDeclared {
                origin: label.clone(),
                block: unknown.clone(),
                variety: unknown.clone(),
                vintage: u16::try_from(self.at.date().year()).unwrap_or(UNKNOWN_VINTAGE),
                appellation: unknown,
                colour,
                estate: None,
                organic: None,
                owner: None,
            })));
        }
        self.declared.push((label.clone(), colour));
        Some(label)
    }

    /// The colour of most of the wine in the cellar.
    fn usual_colour(&self) -> Colour {
        let mut litres = [(Colour::Red, 0_u64), (Colour::White, 0), (Colour::Rose, 0)];
        for (_, vessel) in self.state.vessels.iter() {
            let colour = self.state.colour_in(vessel);
            if let Some((_, sum)) = litres.iter_mut().find(|(of, _)| Some(*of) == colour) {
                *sum += vessel.volume().as_ul();
            }
        }
        // Of equal sums the first.
        litres.iter().rev().max_by_key(|(_, sum)| *sum).map_or(Colour::Red, |(colour, _)| *colour)
    }
}
