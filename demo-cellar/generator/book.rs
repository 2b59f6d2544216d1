//! The book kept beside the facts, by the rules that the program itself keeps: whoever writes a fact here that does
//! not fit is told so at once, and the demo cellar is not made.

use std::collections::{BTreeMap, BTreeSet};

use anyhow::{Context, Result, ensure};
use barrelwalk::units::Shares;
use chrono::NaiveDateTime;
use serde_json::json;

use super::chance::Chance;
use super::estate::{Colour, LOTS, LotId, ROOMS};
use super::laboratory::{Chemistry, Pending};
use super::log::{FactId, Log};
use super::vessel::{Kind, LITRE, ML, Spot, Vessel, VesselId, in_steps, to_ml};

#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    Soaking,
    Malolactic,
    BungUp,
    Rolled,
}

pub struct Cellar {
    pub chance: Chance,
    /// The laboratory's own chance, so that the wine goes on as it would without one.
    pub laboratory: Chance,
    /// The panel's own chance, so that the cellar goes on as it would without one.
    pub panel: Chance,
    /// The codes of all trials so far, and the ratio that was chosen last, until it is blended.
    pub codes: BTreeSet<u16>,
    pub chosen: Option<Shares>,
    pub chemistry: Vec<Chemistry>,
    pub handed_in: Vec<Pending>,
    /// Which barrels were rinsed after which fill.
    pub rinsed: BTreeSet<(VesselId, u64)>,
    pub log: Log,
    pub vessels: Vec<Vessel>,
    pub places: BTreeMap<Spot, VesselId>,
    /// Which barrels each lot is to lie in.
    pub fill_plan: Vec<Vec<VesselId>>,
    /// Barrels that are not on the book yet, and where they are to lie.
    pub ordered: Vec<(LotId, Spot, Vessel)>,
    pub stages: [Stage; LOTS.len()],
    /// Which held barrels are to be freed, and when.
    pub to_free: Vec<(NaiveDateTime, VesselId)>,
    /// A filling that was written down for the wrong barrel, until it is taken back.
    pub misplaced: Option<(FactId, VesselId)>,
}

/// Wine going from one vessel to another.
pub struct Transfer {
    pub from: VesselId,
    pub to: VesselId,
    pub volume: u64,
    pub purpose: &'static str,
    pub lees: u64,
    pub empties: bool,
    pub job: Option<String>,
}

pub fn spot_name(spot: Spot) -> String {
    format!("{}-{}", rack_name(spot), char::from(b'a' + spot.side))
}

pub fn rack_name(spot: Spot) -> String {
    format!("{}/{}-{:02}-{}", ROOMS[spot.room].name, spot.row, spot.stack, spot.tier)
}

impl Cellar {
    pub fn new(seed: u64) -> Cellar {
        Cellar {
            chance: Chance::seeded(seed),
            laboratory: Chance::seeded(seed + 1),
            panel: Chance::seeded(seed + 2),
            codes: BTreeSet::new(),
            chosen: None,
            chemistry: Vec::new(),
            handed_in: Vec::new(),
            rinsed: BTreeSet::new(),
            log: Log::new(),
            vessels: Vec::new(),
            places: BTreeMap::new(),
            fill_plan: vec![Vec::new(); LOTS.len()],
            ordered: Vec::new(),
            stages: [Stage::BungUp; LOTS.len()],
            to_free: Vec::new(),
            misplaced: None,
        }
    }

    pub fn find(&self, label: &str) -> Result<VesselId> {
        self.vessels.iter().position(|vessel| vessel.label == label).with_context(|| format!("no vessel {label}"))
    }

    pub fn label(&self, vessel: VesselId) -> &str {
        &self.vessels[vessel].label
    }

    pub fn colour(&self, vessel: VesselId) -> Option<Colour> {
        self.vessels[vessel].lot.map(|lot| LOTS[lot].colour)
    }

    pub fn follow(&mut self, vessel: VesselId) {
        self.vessels[vessel].follow(self.log.now);
    }

    /// Lays a vessel somewhere, or takes it out of its place.
    pub fn place(&mut self, vessel: VesselId, spot: Option<Spot>) -> Result<FactId> {
        if let Some(old) = self.vessels[vessel].spot.take() {
            self.places.remove(&old);
        }
        if let Some(new) = spot {
            ensure!(self.places.insert(new, vessel).is_none(), "{} is taken", spot_name(new));
        }
        self.vessels[vessel].spot = spot;
        self.log.write("vessel_placed", json!({ "vessel": self.label(vessel), "place": spot.map(spot_name) }))
    }

    pub fn receive(&mut self, tank: VesselId, lot: LotId, volume: u64) -> Result<()> {
        self.pour_in(tank, lot, volume)?;
        let parts = json!([{ "origin": LOTS[lot].origin(), "volume_ul": volume }]);
        self.log
            .write("wine_received", json!({ "vessel": self.label(tank), "lot": LOTS[lot].label, "parts": parts }))?;
        Ok(())
    }

    pub fn transfer(&mut self, transfer: &Transfer) -> Result<FactId> {
        self.transfer_as(transfer, None)
    }

    /// A transfer after which the wine is of another lot, which this book does not follow.
    pub fn transfer_as(&mut self, transfer: &Transfer, becomes: Option<&str>) -> Result<FactId> {
        self.follow(transfer.from);
        self.follow(transfer.to);
        let lot = self.vessels[transfer.from].lot.context("wine out of an empty vessel")?;
        ensure!(!self.vessels[transfer.from].held, "{} is held", self.label(transfer.from));
        self.draw(transfer.from, transfer.volume + transfer.lees)?;
        self.vessels[transfer.from].truth_ml -= to_ml(transfer.volume + transfer.lees);
        if transfer.empties {
            self.run_dry(transfer.from);
        }
        self.pour_in(transfer.to, lot, transfer.volume)?;
        let mut fields = json!({
            "from": self.label(transfer.from), "to": self.label(transfer.to), "volume_ul": transfer.volume,
            "purpose": transfer.purpose,
        });
        if transfer.lees > 0 {
            fields["lees_ul"] = transfer.lees.into();
        }
        if transfer.empties {
            fields["empties"] = true.into();
        }
        if let Some(job) = &transfer.job {
            fields["job"] = job.as_str().into();
        }
        if let Some(lot) = becomes {
            fields["lot"] = lot.into();
        }
        self.log.write("wine_moved", fields)
    }

    /// Tops a barrel. `full` leaves it brimful by the book; else only what would stand above the brim was missing.
    pub fn top(&mut self, barrel: VesselId, keg: VesselId, pour: u64, full: bool, note: Option<&str>) -> Result<()> {
        ensure!(self.colour(barrel).is_some(), "{} is empty", self.label(barrel));
        ensure!(self.colour(barrel) == self.colour(keg), "{} from {}", self.label(barrel), self.label(keg));
        self.draw(keg, pour)?;
        let now = self.log.now;
        let vessel = &mut self.vessels[barrel];
        vessel.book = if full { vessel.capacity } else { vessel.capacity.min(vessel.book + pour) };
        vessel.truth_ml += to_ml(pour);
        vessel.topped = now;
        let mut fields = json!({ "vessel": self.label(barrel), "from": self.label(keg), "volume_ul": pour });
        if !full {
            fields["full"] = false.into();
        }
        if let Some(note) = note {
            fields["note"] = note.into();
        }
        self.log.write("topped", fields)?;
        Ok(())
    }

    /// Measures a vessel and sets the book right.
    pub fn gauge(&mut self, vessel: VesselId, found: u64) -> Result<()> {
        ensure!(!self.vessels[vessel].is_empty(), "{} is empty", self.label(vessel));
        self.vessels[vessel].book = found;
        self.log.write("gauged", json!({ "vessel": self.label(vessel), "volume_ul": found }))?;
        Ok(())
    }

    pub fn lose(&mut self, vessel: VesselId, volume: u64, cause: &str, note: &str) -> Result<()> {
        self.draw(vessel, volume)?;
        let fields = json!({ "vessel": self.label(vessel), "volume_ul": volume, "cause": cause, "note": note });
        self.log.write("lost", fields)?;
        Ok(())
    }

    pub fn sample(&mut self, vessel: VesselId, volume: u64, sample: &str, purpose: &str) -> Result<FactId> {
        self.follow(vessel);
        self.draw(vessel, volume)?;
        self.vessels[vessel].truth_ml -= to_ml(volume);
        self.sample_again(vessel, volume, sample, purpose)
    }

    /// Writes a sample down without drawing one.
    pub fn sample_again(&mut self, vessel: VesselId, volume: u64, sample: &str, purpose: &str) -> Result<FactId> {
        let label = self.label(vessel);
        let fields = json!({ "vessel": label, "volume_ul": volume, "sample": sample, "purpose": purpose });
        self.log.write("sampled", fields)
    }

    pub fn hold(&mut self, vessel: VesselId, held: bool, why: &str) -> Result<()> {
        ensure!(self.vessels[vessel].held != held, "{} is so already", self.label(vessel));
        self.vessels[vessel].held = held;
        let kind = if held { "held" } else { "freed" };
        self.log.write(kind, json!({ "vessel": self.label(vessel), "why": why }))?;
        Ok(())
    }

    pub fn note(&mut self, about: &str, text: &str) -> Result<()> {
        self.log.write("noted", json!({ "about": about, "text": text }))?;
        Ok(())
    }

    fn draw(&mut self, from: VesselId, volume: u64) -> Result<()> {
        let vessel = &mut self.vessels[from];
        let left = vessel
            .book
            .checked_sub(volume)
            .with_context(|| format!("{} holds {} uL and shall give {volume}", vessel.label, vessel.book))?;
        vessel.book = left;
        if left == 0 {
            self.run_dry(from);
        }
        Ok(())
    }

    fn run_dry(&mut self, vessel: VesselId) {
        let vessel = &mut self.vessels[vessel];
        (vessel.book, vessel.truth_ml, vessel.lot) = (0, 0.0, None);
    }

    pub fn pour_in(&mut self, to: VesselId, lot: LotId, volume: u64) -> Result<()> {
        let colour = LOTS[lot].colour;
        let dryness = self.chance.real(2_000.0, 6_000.0);
        let meter_ml = self.chance.real(0.0, 300.0);
        let vessel = &mut self.vessels[to];
        ensure!(vessel.book + volume <= vessel.capacity / 50 * 51, "{} runs over", vessel.label);
        ensure!(vessel.lot.is_none_or(|there| LOTS[there].colour == colour), "{} holds another colour", vessel.label);
        let red_wood = vessel.stained == Some(Colour::Red);
        ensure!(colour == Colour::Red || !red_wood, "{} is red-stained", vessel.label);
        if vessel.is_empty() && vessel.kind == Kind::Barrel {
            // Wood that has had wine before soaks up little more than its surface.
            let share = if vessel.fills == 0 { 1.0 } else { 0.12 };
            vessel.soak_left_ml = dryness * share * to_ml(vessel.capacity) / 225_000.0;
            vessel.fills += 1;
            if colour == Colour::Red || vessel.stained.is_none() {
                vessel.stained = Some(colour);
            }
        }
        if vessel.is_empty() {
            vessel.truth_ml = -meter_ml;
        }
        vessel.lot = vessel.lot.or(Some(lot));
        vessel.book += volume;
        vessel.truth_ml += to_ml(volume);
        Ok(())
    }

    /// What a pump's meter shows: half litres, never less than is there.
    pub fn metered(millilitres: f64) -> u64 {
        in_steps(millilitres, 500 * ML)
    }

    /// The smallest empty tank that takes so much.
    pub fn empty_tank(&self, volume: u64) -> Result<VesselId> {
        let tanks = (0..self.vessels.len()).filter(|&id| {
            let vessel = &self.vessels[id];
            vessel.kind == Kind::Tank && vessel.is_empty() && vessel.capacity >= volume
        });
        tanks.min_by_key(|&id| self.vessels[id].capacity).with_context(|| format!("no tank for {} L", volume / LITRE))
    }

    /// The tank that holds this lot.
    pub fn tank_of(&self, lot: LotId) -> Option<VesselId> {
        self.vessels.iter().position(|vessel| vessel.kind == Kind::Tank && vessel.lot == Some(lot))
    }
}
