//! A list of what lies in which vessel: origins are declared, lots opened, and the wine comes into the book.

use std::collections::BTreeMap;

use super::head::Head;
use super::values::{Values, label, words};
use super::{Answers, Helps, Proposal, Proposed, Remark};
use crate::cellar::core::day::Day;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::core::wine::Part;
use crate::cellar::jobs::floor::lot::{Colour, LotOpened};
use crate::cellar::jobs::floor::origin::OriginDeclared;
use crate::cellar::jobs::floor::receiving::{ReceivedPart, WineReceived};
use crate::cellar::jobs::topping::kept_since::{KeptSince, LiesAlready, NOT_KNOWN};
use crate::reckon::material::plain;
use crate::spreadsheet::Line;
use crate::units::litres;

/// What says that a vessel is full.
const FULL: [&str; 8] = ["full", "plein", "pleine", "lleno", "llena", "pieno", "piena", "voll"];

/// Whether words say that a vessel is full.
#[must_use]
pub fn says_full(words: &str) -> bool {
    FULL.contains(&plain(words).as_str())
}

/// What is asked where nothing in the file says it.
const ASKED: [(&str, &str, &str); 4] = [
    ("variety", "Of which grape variety is the wine?", "Merlot"),
    ("vintage", "Of which vintage is the wine?", "2025"),
    ("appellation", "Of which appellation is the wine?", "'Varrow Valley'"),
    ("colour", "Of which colour is the wine?", "red"),
];

/// Reads the list.
pub fn read(head: &Head<'_>, values: &Values, _answers: &Answers, state: &State, proposal: &mut Proposal) {
    proposal.ask_for(head, "lot", "Which lot is the wine?", "LOT");
    proposal.ask_for(head, "litres", "How much lies in each vessel?", "full");
    if !proposal.questions.is_empty() {
        return;
    }
    let mut opened = Opened::default();
    let (mut lying, mut no_day) = (AllLying::default(), Vec::new());
    for line in &head.lines {
        match received(head, values, line, state, proposal) {
            Ok(Some(wine)) => match opened.see(head, values, line, &wine, state, proposal) {
                Ok(()) => {
                    let topped = values.date(head, line, "topped");
                    if topped.is_err() {
                        no_day.push(line.number);
                    }
                    let topped_on = topped.ok().flatten().map(|(day, _)| Day::of(day));
                    lying.add(Lying { number: line.number, wine, topped_on });
                }
                Err(why) => proposal.refuse(line.number, why),
            },
            Ok(None) => {}
            Err(why) => proposal.refuse(line.number, why),
        }
    }
    // What a lot is made of comes before its wine.
    proposal.facts.extend(opened.facts);
    proposal.warn_of("No day of a last topping is told by", &no_day);
    let lines = lying.all;
    let there: Vec<LiesAlready<'_>> = lines.iter().map(Lying::there).collect();
    let kept_since = state.not_recorded(&there);
    if kept_since.iter().any(|(_, fact)| fact.topped_on.is_none()) {
        let which = if head.has("topped") { "of the barrels beside which no day stands" } else { "of these barrels" };
        let sentence = format!("The last topping {which} {NOT_KNOWN}");
        proposal.warn(Remark { sentence, helps: Some(Helps::LastTopping) });
    }
    let fact = |(at, fact): (usize, KeptSince)| Proposed::of(lines[at].number, What::KeptSince(Box::new(fact)));
    let kept_since: Vec<Proposed> = kept_since.into_iter().map(fact).collect();
    proposal.facts.extend(lines.into_iter().map(|line| Proposed::of(line.number, What::WineReceived(line.wine))));
    proposal.facts.extend(kept_since);
}

/// The wine of all lines. What lies in one vessel of several origins stands in as many lines, and is one wine.
#[derive(Default)]
struct AllLying {
    all: Vec<Lying>,
    by_vessel: BTreeMap<String, usize>,
}

impl AllLying {
    fn add(&mut self, line: Lying) {
        let at = self.by_vessel.get(line.wine.vessel.as_str());
        if let Some(before) = at.and_then(|at| self.all.get_mut(*at)).filter(|before| before.is_another_part(&line)) {
            before.wine.parts.extend(line.wine.parts);
            before.topped_on = before.topped_on.or(line.topped_on);
        } else {
            self.by_vessel.insert(line.wine.vessel.as_str().to_owned(), self.all.len());
            self.all.push(line);
        }
    }
}

/// The wine of a line, and the day of its last topping where one is said.
struct Lying {
    number: u64,
    wine: WineReceived,
    topped_on: Option<Day>,
}

impl Lying {
    /// Whether a line tells another part of the same wine.
    fn is_another_part(&self, line: &Lying) -> bool {
        let is_here = |part: &ReceivedPart| self.wine.parts.iter().any(|its| its.origin == part.origin);
        self.wine.lot == line.wine.lot && !line.wine.parts.iter().any(is_here)
    }

    const fn there(&self) -> LiesAlready<'_> {
        LiesAlready { vessel: &self.wine.vessel, lot: &self.wine.lot, topped_on: self.topped_on }
    }
}

/// The wine of a line; none where nothing lies there, or all of it is known.
fn received(
    head: &Head<'_>,
    values: &Values,
    line: &Line,
    state: &State,
    proposal: &mut Proposal,
) -> Result<Option<WineReceived>, String> {
    let vessel = label(head, line, "vessel")?.ok_or("It names no vessel.")?;
    let Some(lot) = label(head, line, "lot")? else {
        return if head.cell(line, "litres").is_empty() { Ok(None) } else { Err("It names no lot.".to_owned()) };
    };
    let there = state
        .vessels
        .by_label(vessel.as_str())
        .ok_or_else(|| format!("'{vessel}' is no vessel here. Take in the list of barrels first."))?;
    let volume = match words(head, line, "litres")? {
        Some(full) if says_full(&full) => there.capacity,
        Some(_) => values.volume(head, line, "litres")?.unwrap_or_default(),
        None => return Err("It does not say how much.".to_owned()),
    };
    if volume.is_zero() {
        return Ok(None);
    }
    let origin = label(head, line, "origin")?.unwrap_or_else(|| lot.clone());
    let is_called = |id, label: &Label| state.origins.get(id).0.origin == *label;
    if let Some(holds) = there.lot {
        let holds = &state.lots.get(holds).label;
        let so_much = |part: &Part| part.volume == volume && part.origin.is_some_and(|id| is_called(id, &origin));
        if *holds == lot && (there.volume() == volume || there.wine.parts().iter().any(so_much)) {
            proposal.known += 1;
            return Ok(None);
        }
        return Err(format!("'{vessel}' holds {} of the lot '{holds}' already.", litres(there.volume())));
    }
    Ok(Some(WineReceived { vessel, lot, parts: vec![ReceivedPart { origin, volume }] }))
}

/// The lots and origins that the list brings.
#[derive(Default)]
struct Opened {
    facts: Vec<Proposed>,
    lots: BTreeMap<String, Colour>,
    origins: BTreeMap<String, OriginDeclared>,
}

impl Opened {
    /// Sees to it that the lot and the origin of some wine are there before it.
    fn see(
        &mut self,
        head: &Head<'_>,
        values: &Values,
        line: &Line,
        wine: &WineReceived,
        state: &State,
        proposal: &mut Proposal,
    ) -> Result<(), String> {
        let origin = &wine.parts[0].origin;
        let known = state.origins.by_label(origin.as_str()).map(|origin| origin.0.colour);
        let colour = match known {
            Some(colour) => colour,
            None => match declared(head, values, line, origin, &wine.lot, proposal)? {
                Some(declared) => self.declare(line.number, declared)?,
                None => return Ok(()),
            },
        };
        if state.lots.find(wine.lot.as_str()).is_none() && !self.lots.contains_key(wine.lot.as_str()) {
            self.lots.insert(wine.lot.as_str().to_owned(), colour);
            let lot = LotOpened { lot: wine.lot.clone(), colour };
            self.facts.push(Proposed::of(line.number, What::LotOpened(lot)));
        }
        Ok(())
    }

    fn declare(&mut self, line: u64, declared: OriginDeclared) -> Result<Colour, String> {
        let colour = declared.colour;
        match self.origins.get(declared.origin.as_str()) {
            Some(before) if *before != declared => {
                Err(format!("The origin '{}' is said otherwise in a line before.", declared.origin))
            }
            Some(_) => Ok(colour),
            None => {
                self.origins.insert(declared.origin.as_str().to_owned(), declared.clone());
                self.facts.push(Proposed::of(line, What::OriginDeclared(declared.into())));
                Ok(colour)
            }
        }
    }
}

/// What a line says of an origin that is new; none where something has to be asked first.
fn declared(
    head: &Head<'_>,
    values: &Values,
    line: &Line,
    origin: &Label,
    lot: &Label,
    proposal: &mut Proposal,
) -> Result<Option<OriginDeclared>, String> {
    let mut asks = false;
    for (field, asked, like) in ASKED {
        asks |= proposal.ask_for(head, field, asked, like);
    }
    if asks {
        return Ok(None);
    }
    let lacks = |what: &str| format!("It says no {what}.");
    let said = words(head, line, "colour")?.ok_or_else(|| lacks("colour"))?;
    let colour = Colour::named(&said).ok_or_else(|| format!("'{said}' is no colour of wine: red, white or rose."))?;
    Ok(Some(OriginDeclared {
        origin: origin.clone(),
        block: label(head, line, "block")?.unwrap_or_else(|| lot.clone()),
        variety: label(head, line, "variety")?.ok_or_else(|| lacks("variety"))?,
        vintage: values.year(head, line, "vintage")?.ok_or_else(|| lacks("vintage"))?,
        appellation: label(head, line, "appellation")?.ok_or_else(|| lacks("appellation"))?,
        colour,
        estate: None,
        organic: None,
        owner: label(head, line, "owner")?,
    }))
}
