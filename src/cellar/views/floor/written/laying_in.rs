//! A lot and where it lies, in one line: `M26, red, Syrah, 2026, Varrow Valley, block Upper Terrace: 181-210 full, T1 1200 L`.

use std::fmt::Write;

use chrono::NaiveDate;

use super::series::series;
use super::{LineError, behind, count_of, parts, say};
use crate::cellar::core::day::Day;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::near::words;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::core::when;
use crate::cellar::jobs::floor::lot::{Colour, LotOpened};
use crate::cellar::jobs::floor::origin::OriginDeclared;
use crate::cellar::jobs::floor::receiving::{ReceivedPart, WineReceived};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::topping::kept_since::{KeptSince, LiesAlready, NOT_KNOWN};
use crate::units::{Volume, VolumeUnit, counted, litres};

/// In which years a wine was harvested that lies in a cellar.
const VINTAGES: std::ops::RangeInclusive<u16> = 1900..=2100;
/// What says that something has no measure of its own but what each vessel holds.
const FULL: &str = "full";

/// A lot as a line opens it, with the wine of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LaidIn {
    /// The lot that is opened; none where it is there.
    pub opened: Option<LotOpened>,
    /// Its origin; none where it is there.
    pub declared: Option<OriginDeclared>,
    /// What of the origin nobody wrote: it is as of the origin that was declared last.
    pub as_before: Vec<&'static str>,
    /// The wine, a vessel each.
    pub received: Vec<WineReceived>,
    /// That nothing was written down of its barrels before, with the day of their last topping where one is said.
    pub kept_since: Vec<KeptSince>,
}

/// What is said of a lot.
#[derive(Default)]
struct Said {
    colour: Option<Colour>,
    vintage: Option<u16>,
    variety: Option<Label>,
    appellation: Option<Label>,
    block: Option<Label>,
    topped_on: Option<Day>,
}

impl State {
    /// What a line comes to that opens a lot and says where how much of it lies. What is not said of its origin is as of the one that was
    /// declared last; its block is called as the lot where nobody says it. Nothing was written down of its barrels before; a day on which they
    /// were last topped may be said of them all.
    pub fn lot_written(&self, line: &str, today: NaiveDate) -> Result<LaidIn, LineError> {
        let (what, lies) = line.split_once(':').unwrap_or((line, ""));
        let mut what = parts(what);
        let lot = Label::new(what.next().ok_or(LineError::WhichLot)?)?;
        let mut said = Said::default();
        let mut first = None;
        for part in what {
            if !said.read_topped(part, today)? {
                first = first.or(Some(part));
                said.read(self, part)?;
            }
        }
        let topped_on = said.topped_on;
        let mut laid = match (self.lots.find(lot.as_str()), first) {
            (Some(_), Some(part)) => return Err(LineError::LotSaid { lot, said: part.to_owned() }),
            (Some(_), None) => LaidIn::default(),
            (None, _) => said.opened(self, &lot)?,
        };
        let origin =
            laid.declared.as_ref().map_or_else(|| self.origin_of_lot(&lot), |declared| Ok(declared.origin.clone()))?;
        let mut received = Vec::new();
        for part in parts(lies) {
            self.lies(part, &lot, &origin, &mut received)?;
        }
        if received.is_empty() {
            return Err(LineError::WhereItLies);
        }
        let lying: Vec<LiesAlready<'_>> = received
            .iter()
            .map(|wine: &WineReceived| LiesAlready { vessel: &wine.vessel, lot: &wine.lot, topped_on })
            .collect();
        laid.kept_since = self.not_recorded(&lying).into_iter().map(|(_, fact)| fact).collect();
        laid.received = received;
        Ok(laid)
    }

    /// The origin that the wine of a lot is of: the one that is called as the lot, else the one that it holds most of.
    fn origin_of_lot(&self, lot: &Label) -> Result<Label, LineError> {
        if self.origins.find(lot.as_str()).is_some() {
            return Ok(lot.clone());
        }
        let id = self.lot(lot)?;
        let holding = self.vessels.iter().find(|(_, vessel)| vessel.lot == Some(id)).map(|(_, vessel)| &vessel.wine);
        let most = holding.and_then(|wine| wine.parts().iter().max_by_key(|part| part.volume));
        let origin = most.and_then(|part| part.origin).map(|origin| self.origins.get(origin).0.origin.clone());
        origin.ok_or_else(|| LineError::LotLacks { lot: lot.clone(), lacks: "origin", like: "a lot by another name" })
    }

    /// Adds what a part says of where wine lies: some vessels, and how much in each.
    fn lies(&self, part: &str, lot: &Label, origin: &Label, received: &mut Vec<WineReceived>) -> Result<(), LineError> {
        let (which, measure) = match part.rsplit_once(' ') {
            Some((which, word)) if word.eq_ignore_ascii_case(FULL) => (which, None),
            _ => match litres_behind(part) {
                Some((which, volume)) => (which, Some(volume)),
                None => (part, None),
            },
        };
        for id in self.vessels_meant(which.trim())? {
            let vessel = self.vessels.get(id);
            if let Some(holds) = vessel.lot {
                let (vessel, holds, lot) = (vessel.label.clone(), vessel.volume(), self.lots.get(holds).label.clone());
                return Err(LineError::Holds { vessel, lot, holds });
            }
            if received.iter().any(|wine| wine.vessel == vessel.label) {
                return Err(LineError::Twice(vessel.label.clone()));
            }
            let part = ReceivedPart { origin: origin.clone(), volume: measure.unwrap_or(vessel.capacity) };
            received.push(WineReceived { vessel: vessel.label.clone(), lot: lot.clone(), parts: vec![part] });
        }
        Ok(())
    }

    /// The vessels that some words mean: a series of labels, a row, a rack, all that are empty.
    pub(in crate::cellar) fn vessels_meant(&self, which: &str) -> Result<Vec<VesselId>, LineError> {
        let lower = which.to_lowercase();
        let is_free = |id: &VesselId| {
            let vessel = self.vessels.get(*id);
            vessel.lot.is_none() && vessel.vessel_type == VesselType::Barrel
        };
        if matches!(lower.as_str(), "all" | "all empty" | "empty" | "empty ones" | "all empty ones" | "the rest") {
            let empty: Vec<VesselId> = self.barrels_walked().filter(is_free).collect();
            return if empty.is_empty() { Err(LineError::NoneEmpty) } else { Ok(empty) };
        }
        if let Some(name) = behind(which, &["row", "rows", "rack", "racks", "room"]) {
            let (wanted, _) = lower.split_once(' ').unwrap_or((&lower, ""));
            let lies_there = |id: &VesselId| {
                let Some(place) = self.place_of(self.vessels.get(*id)) else { return false };
                let rack = &place.rack;
                match wanted {
                    "room" => rack.room.as_str() == name,
                    "row" | "rows" => rack.row.as_str() == name || format!("{}/{}", rack.room, rack.row) == name,
                    _ => {
                        let full = rack.to_string();
                        full == name || full.strip_prefix(&format!("{}/", rack.room)) == Some(name)
                    }
                }
            };
            let there: Vec<VesselId> = self.barrels_walked().filter(lies_there).collect();
            return if there.is_empty() { Err(LineError::NoneThere(which.to_owned())) } else { Ok(there) };
        }
        if let Some(id) = self.vessels.find(which) {
            return Ok(vec![id]);
        }
        let found = |label: &Label| {
            self.vessels.find(label.as_str()).ok_or_else(|| LineError::NoVessel(label.as_str().to_owned()))
        };
        series(which)?.iter().map(found).collect()
    }
}

/// Litres that stand last in a part, with a unit or with a point: `T1 1200 L`, `T1 60 gal`. A number alone is a label.
fn litres_behind(part: &str) -> Option<(&str, Volume)> {
    part.match_indices(' ').map(|(at, _)| (&part[..at], part[at..].trim())).find_map(|(which, measure)| {
        let is_measure = measure.starts_with(|sign: char| sign.is_ascii_digit())
            && measure.ends_with(|sign: char| sign.is_alphabetic());
        let volume = is_measure.then(|| Volume::parse(measure, VolumeUnit::customary()).ok())??;
        Some((which, volume))
    })
}

impl Said {
    /// Reads the day of the last topping, if a part says it.
    fn read_topped(&mut self, part: &str, today: NaiveDate) -> Result<bool, LineError> {
        let Some(day) = behind(part, &["topped"]) else { return Ok(false) };
        let unknown = || LineError::Unknown { word: part.to_owned(), like: "topped 27 Nov 2026" };
        let day = when::day(day, today).ok_or_else(unknown)??;
        say(&mut self.topped_on, "The day of the last topping", Day::of(day))?;
        Ok(true)
    }

    fn read(&mut self, state: &State, part: &str) -> Result<(), LineError> {
        if let Some(colour) = Colour::named(part) {
            return say(&mut self.colour, "The colour", colour);
        }
        if let Some((year, "")) = count_of(part)
            && VINTAGES.contains(&year)
        {
            return say(&mut self.vintage, "The vintage", year);
        }
        for (words, what, slot) in [
            (&["block"][..], "The block", &mut self.block),
            (&["variety"], "The variety", &mut self.variety),
            (&["appellation"], "The appellation", &mut self.appellation),
        ] {
            if let Some(name) = behind(part, words) {
                return say(slot, what, Label::new(name)?);
            }
        }
        let label = Label::new(part)?;
        let lower = part.to_lowercase();
        let is_known = words().varieties.iter().any(|variety| variety.to_lowercase() == lower);
        let was_used = state.origins.iter().any(|(_, origin)| origin.0.variety.as_str().to_lowercase() == lower);
        if is_known || was_used {
            return say(&mut self.variety, "The variety", label);
        }
        // Beside a variety that the trade does not know, the first name is the variety and the second where it grew.
        match (&self.variety, &self.appellation, &self.block) {
            (None, ..) => self.variety = Some(label),
            (_, None, _) => self.appellation = Some(label),
            (_, _, None) => self.block = Some(label),
            _ => {
                return Err(LineError::Unknown {
                    word: part.to_owned(),
                    like: "red, Syrah, 2026, APPELLATION, block NAME",
                });
            }
        }
        Ok(())
    }

    /// The lot and its origin, which is called as the lot.
    fn opened(self, state: &State, lot: &Label) -> Result<LaidIn, LineError> {
        let last = state.origins.iter().next_back().map(|(_, origin)| &origin.0);
        let mut as_before = Vec::new();
        let mut or_last = |is_said: bool, what: &'static str, like: &'static str| {
            match (is_said, last) {
                (true, _) => {}
                (false, Some(_)) => as_before.push(what),
                (false, None) => return Err(LineError::LotLacks { lot: lot.clone(), lacks: what, like }),
            }
            Ok(())
        };
        or_last(self.colour.is_some(), "colour", "red, white or rosé")?;
        or_last(self.variety.is_some(), "variety", "Syrah, or variety NAME")?;
        or_last(self.vintage.is_some(), "vintage", "2026")?;
        or_last(self.appellation.is_some(), "appellation", "appellation NAME")?;
        let known = state.origins.by_label(lot.as_str());
        let lacking =
            || LineError::LotLacks { lot: lot.clone(), lacks: "origin", like: "red, Syrah, 2026, APPELLATION" };
        let declared = OriginDeclared {
            origin: lot.clone(),
            block: self.block.unwrap_or_else(|| lot.clone()),
            variety: self.variety.or_else(|| Some(last?.variety.clone())).ok_or_else(lacking)?,
            vintage: self.vintage.or_else(|| Some(last?.vintage)).ok_or_else(lacking)?,
            appellation: self.appellation.or_else(|| Some(last?.appellation.clone())).ok_or_else(lacking)?,
            colour: self.colour.or_else(|| Some(last?.colour)).ok_or_else(lacking)?,
            estate: None,
            organic: None,
            owner: None,
        };
        let colour = known.map_or(declared.colour, |origin| origin.0.colour);
        let opened = Some(LotOpened { lot: lot.clone(), colour });
        let declared = known.is_none().then_some(declared);
        Ok(LaidIn { opened, declared, as_before, ..LaidIn::default() })
    }
}

impl LaidIn {
    /// The facts: the origin, the lot, and the wine.
    #[must_use]
    pub fn whats(&self) -> Vec<What> {
        let declared = self.declared.iter().map(|declared| What::OriginDeclared(Box::new(declared.clone())));
        let opened = self.opened.iter().map(|opened| What::LotOpened(opened.clone()));
        let received = self.received.iter().map(|wine| What::WineReceived(wine.clone()));
        let kept_since = self.kept_since.iter().map(|fact| What::KeptSince(Box::new(fact.clone())));
        declared.chain(opened).chain(received).chain(kept_since).collect()
    }

    /// What is known of the last topping of its barrels; none where it has none.
    #[must_use]
    pub fn topped_words(&self) -> Option<String> {
        Some(match self.kept_since.first()?.topped_on {
            Some(day) => format!("Last topped on {}.", day.show()),
            None => format!(
                "The last topping of these barrels {NOT_KNOWN} Where it is known, write topped and its day, like topped 27 Nov 2026."
            ),
        })
    }

    /// All the wine.
    #[must_use]
    pub fn volume(&self) -> Volume {
        self.received.iter().flat_map(|wine| &wine.parts).map(|part| part.volume).sum()
    }

    /// How much lies in what: `6750.0 L in 30 vessels, 181 to 210`.
    #[must_use]
    pub fn lies_words(&self) -> String {
        let (Some(first), Some(last)) = (self.received.first(), self.received.last()) else { return String::new() };
        let volume = litres(self.volume());
        match self.received.len() {
            1 => format!("{volume} in {}", first.vessel),
            many => format!("{volume} in {}, {} to {}", counted(many, "vessel"), first.vessel, last.vessel),
        }
    }

    /// What the origin is, and what of it nobody wrote; none where it is known.
    #[must_use]
    pub fn origin_words(&self) -> Option<String> {
        let origin = self.declared.as_ref()?;
        let OriginDeclared { colour, variety, vintage, appellation, block, .. } = origin;
        let mut words = format!("{colour}, {variety}, {vintage}, {appellation}, block {block}.");
        if !self.as_before.is_empty() {
            let _ = write!(words, " As of the last lot: {}.", self.as_before.join(", "));
        }
        Some(words)
    }
}
