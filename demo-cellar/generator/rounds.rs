//! Topping rounds: a walk through a room, barrel by barrel, from one keg after another.

use anyhow::{Context, Result};
use chrono::{NaiveDateTime, TimeDelta};
use serde_json::json;

use super::book::{Cellar, Stage};
use super::estate::{Colour, LOTS, LotId, RED_KEGS, ROOMS};
use super::log::TROLLEY;
use super::vessel::{LITRE, ML, VesselId, in_steps, to_ml};
use super::words::THIRST;

/// Days after which a lot with its bungs rolled is topped all the same.
const ROLLED_DAYS: i64 = 88;

#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Who {
    Everyone,
    /// New wood, weekly while it soaks.
    NewWood,
    /// Lots in their second fermentation, between two rounds.
    Malolactic,
}

/// One day's part of a round.
#[derive(Clone)]
pub struct Round {
    pub label: String,
    pub room: usize,
    pub colour: Colour,
    pub who: Who,
    pub rows: &'static str,
    pub opens: bool,
    pub closes: bool,
    /// The second half is written on paper and typed in the next day.
    pub paper: bool,
    /// When the story ends, though the round does not.
    pub until: Option<NaiveDateTime>,
}

impl Cellar {
    pub fn walk(&mut self, round: &Round) -> Result<()> {
        let barrels = self.due(round);
        if barrels.is_empty() {
            return Ok(());
        }
        let by = *self.chance.pick(&["mk", "mk", "jl"]);
        self.log.take_up(TROLLEY, by);
        let kegs = self.kegs(round.colour)?;
        if round.until.is_none() {
            self.prepare(&kegs)?;
        }
        let room = ROOMS[round.room].name;
        let first = kegs.iter().copied().find(|&keg| self.vessels[keg].book > 0).context("all kegs are empty")?;
        if round.opens {
            let fields = json!({ "round": round.label, "room": room, "from": self.label(first) });
            self.log.write("round_begun", fields)?;
            self.log.pass(60);
        }
        let half = barrels.len() / 2;
        for (index, barrel) in barrels.into_iter().enumerate() {
            if round.until.is_some_and(|end| self.log.now >= end) {
                break;
            }
            if round.paper && index == half {
                self.go_on_paper();
            }
            self.top_up(barrel, &kegs)?;
            let seconds = self.chance.whole(62, 90);
            self.log.pass(seconds);
        }
        self.log.end_paper();
        if round.closes {
            self.log.pass(120);
            self.log.write("round_ended", json!({ "round": round.label, "room": room }))?;
        }
        Ok(())
    }

    /// The trolley's battery is flat: the rest is on a sheet until tomorrow.
    fn go_on_paper(&mut self) {
        let tomorrow = self.log.now.date() + TimeDelta::days(1);
        if let Some(morning) = tomorrow.and_hms_opt(7, 52, 0) {
            self.log.go_on_paper(morning);
        }
    }

    /// The barrels of a round in walking order, without those that are held, overlooked or kept otherwise.
    fn due(&mut self, round: &Round) -> Vec<VesselId> {
        let lying: Vec<VesselId> = self
            .places
            .iter()
            .filter(|(spot, _)| spot.room == round.room && round.rows.contains(spot.row))
            .map(|(_, &barrel)| barrel)
            .collect();
        lying
            .into_iter()
            .filter(|&barrel| {
                let overlooked = round.until.is_none() && self.chance.happens(0.008);
                self.is_due(barrel, round) && !overlooked
            })
            .collect()
    }

    fn is_due(&self, barrel: VesselId, round: &Round) -> bool {
        let vessel = &self.vessels[barrel];
        let Some(lot) = vessel.lot else { return false };
        let right = LOTS[lot].colour == round.colour && !vessel.held;
        let days = (self.log.now.date() - vessel.topped.date()).num_days();
        right
            && match (round.who, self.stages[lot]) {
                (Who::Everyone, Stage::Rolled) => days >= ROLLED_DAYS,
                (Who::Everyone, _) => days >= 4,
                (Who::NewWood, Stage::Soaking) => vessel.fills == 1 && days >= 4,
                (Who::Malolactic, Stage::Malolactic) => days >= 6,
                _ => false,
            }
    }

    fn kegs(&self, colour: Colour) -> Result<Vec<VesselId>> {
        let labels: &[&str] = match colour {
            Colour::Red => &RED_KEGS,
            Colour::White => &["K4"],
            Colour::Rose => &["K5"],
        };
        labels.iter().map(|label| self.find(label)).collect()
    }

    /// Before a round every keg that is more than half empty is filled.
    pub fn prepare(&mut self, kegs: &[VesselId]) -> Result<()> {
        for &keg in kegs {
            if self.vessels[keg].book * 2 < self.vessels[keg].capacity {
                self.fill_keg(keg)?;
            }
        }
        Ok(())
    }

    /// The keg for this barrel: one of its own lot if there is one, else the next that has wine.
    fn keg_for(&mut self, lot: LotId, kegs: &[VesselId]) -> Result<VesselId> {
        let filled = |cellar: &Cellar, keg: VesselId| cellar.vessels[keg].book > 0;
        if !kegs.iter().any(|&keg| filled(self, keg)) {
            self.fill_keg(kegs[0])?;
        }
        let own = kegs.iter().find(|&&keg| filled(self, keg) && self.vessels[keg].lot == Some(lot));
        let next = kegs.iter().find(|&&keg| filled(self, keg));
        own.or(next).copied().context("there is no topping wine left")
    }

    fn top_up(&mut self, barrel: VesselId, kegs: &[VesselId]) -> Result<()> {
        let lot = self.vessels[barrel].lot.context("topping an empty barrel")?;
        let mut pour = self.pour_for(barrel);
        let whole = pour;
        loop {
            let keg = self.keg_for(lot, kegs)?;
            let there = self.vessels[keg].book;
            if there >= pour {
                self.mistype(barrel, keg, pour)?;
                self.top(barrel, keg, pour, true, None)?;
                break;
            }
            self.top(barrel, keg, there, false, Some("the keg ran dry"))?;
            pour -= there;
            if self.chance.happens(0.35) {
                return Ok(());
            }
            self.log.pass(90);
        }
        self.spill(kegs[0])?;
        self.remark_thirst(barrel, whole)
    }

    /// What goes in, as the jug reads. How far the bung's pull lowers the level differs from time to time; what is
    /// poured too little today is poured the next time.
    fn pour_for(&mut self, barrel: VesselId) -> u64 {
        self.follow(barrel);
        let missing = self.vessels[barrel].missing_ml();
        let lump = self.chance.normal(0.0, (40.0 + 0.12 * missing.abs()).min(170.0));
        let step = if missing < 1_000.0 { 50 * ML } else { 100 * ML };
        let vessel = &self.vessels[barrel];
        // Brimful is brimful: never less than the book itself says is missing.
        let least = vessel.capacity.saturating_sub(vessel.book).div_ceil(50 * ML) * (50 * ML);
        in_steps(missing + lump, step).max(least).max(50 * ML)
    }

    /// Now and then the point is forgotten, seen on the screen, and put right.
    fn mistype(&mut self, barrel: VesselId, keg: VesselId, pour: u64) -> Result<()> {
        let tenfold = pour * 10;
        if !(LITRE..3 * LITRE).contains(&pour) || tenfold + pour > self.vessels[keg].book || !self.chance.happens(0.003)
        {
            return Ok(());
        }
        let fields = json!({ "vessel": self.label(barrel), "from": self.label(keg), "volume_ul": tenfold });
        let wrong = self.log.write("topped", fields)?;
        self.log.pass(24);
        let why = format!("typed {} L instead of {} L", to_ml(tenfold) / 1_000.0, to_ml(pour) / 1_000.0);
        self.log.retract(wrong, &why)?;
        self.log.pass(9);
        Ok(())
    }

    fn spill(&mut self, keg: VesselId) -> Result<()> {
        let volume = self.chance.whole(2, 9) * 100 * ML;
        if self.chance.happens(0.003) && self.vessels[keg].book > volume {
            let note = *self.chance.pick(&["hose slipped out of the bung", "jug knocked over", "valve left open"]);
            self.lose(keg, volume, "spill", note)?;
        }
        Ok(())
    }

    fn remark_thirst(&mut self, barrel: VesselId, poured: u64) -> Result<()> {
        let vessel = &self.vessels[barrel];
        let long_filled = vessel.soak_left_ml < 60.0;
        let thirsty = to_ml(poured) > 2.1 * 21.0 * vessel.expected_ml_per_day(self.log.now);
        if thirsty && long_filled && self.chance.happens(0.3) {
            let about = self.label(barrel).to_owned();
            let text = *self.chance.pick(&THIRST);
            self.note(&about, text)?;
        }
        Ok(())
    }
}
