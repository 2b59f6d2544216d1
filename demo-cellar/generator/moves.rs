//! Wine on the move: into tanks, down into barrels, off its lees, into kegs.

use anyhow::{Context, Result};

use super::book::{Cellar, Transfer};
use super::clock::card_date;
use super::estate::{Colour, DOVECOTE, HARE_PATH, HOLLOW_LANE, LOTS, LotId, MILL_FIELD, RIVER_FLAT};
use super::estate::{SPRING_GARDEN, UPPER_TERRACE};
use super::log::{DESK, TROLLEY};
use super::vessel::{Kind, LITRE, ML, VesselId, in_steps};

impl Cellar {
    pub fn receive_lot(&mut self, lot: LotId) -> Result<()> {
        self.log.take_up(DESK, "ta");
        let barrels: u64 = self.fill_plan[lot].iter().map(|&barrel| self.vessels[barrel].capacity).sum();
        let volume = (barrels / LITRE + LOTS[lot].reserve_l + self.chance.whole(15, 40)) * LITRE;
        let tank = if lot == RIVER_FLAT { self.find("T8")? } else { self.empty_tank(volume)? };
        self.receive(tank, lot, volume)
    }

    pub fn barrel_down(&mut self, lot: LotId) -> Result<()> {
        let tank = self.tank_of(lot).context("the lot is in no tank")?;
        self.log.take_up(TROLLEY, "rsb");
        let mut barrels = self.fill_plan[lot].clone();
        barrels.sort_by_key(|&barrel| self.vessels[barrel].spot);
        let job = format!("down {}", LOTS[lot].label);
        let last = barrels.last().copied();
        for (index, barrel) in barrels.into_iter().enumerate() {
            let mut transfer = self.fill_of(tank, barrel, &job);
            if Some(barrel) == last && LOTS[lot].reserve_l == 0 {
                // What the tank still has is its sediment.
                transfer.lees = self.vessels[tank].book - transfer.volume;
                transfer.empties = true;
            }
            if lot == UPPER_TERRACE && index == 11 {
                self.fill_under_a_wrong_number(&transfer)?;
            } else {
                self.transfer(&transfer)?;
            }
            let seconds = self.chance.whole(140, 250);
            self.log.pass(seconds);
        }
        Ok(())
    }

    /// A barrel filled to a finger or two under the bung.
    fn fill_of(&mut self, tank: VesselId, barrel: VesselId, job: &str) -> Transfer {
        let short = self.chance.whole(0, 3) * LITRE / 2;
        let volume = self.vessels[barrel].capacity - short;
        let job = Some(job.to_owned());
        Transfer { from: tank, to: barrel, volume, purpose: "barrel_down", lees: 0, empties: false, job }
    }

    /// Moves a lot off its lees, from all its barrels that are not held, into one tank.
    pub fn rack(&mut self, lot: LotId) -> Result<()> {
        self.log.take_up(TROLLEY, "rsb");
        let barrels = self.barrels_of(lot);
        let volume = barrels.iter().map(|&barrel| self.vessels[barrel].book).sum();
        let tank = self.empty_tank(volume)?;
        let job = format!("rack {}", LOTS[lot].label);
        for (index, barrel) in barrels.into_iter().enumerate() {
            let lees = self.chance.whole(2, 5) * LITRE / 2;
            self.follow(barrel);
            let clear_ml = self.vessels[barrel].truth_ml - super::vessel::to_ml(lees);
            let mut volume = Cellar::metered(clear_ml - 250.0).min(self.vessels[barrel].book - lees);
            if lot == DOVECOTE && index == 2 {
                // The book was wrong: this barrel is two litres larger than it is registered, and they come out as a gain.
                let found = self.vessels[barrel].book + 2 * LITRE;
                self.vessels[barrel].book = found;
                volume = found - lees;
            }
            let job = Some(job.clone());
            self.transfer(&Transfer { from: barrel, to: tank, volume, purpose: "racking", lees, empties: true, job })?;
            let seconds = self.chance.whole(240, 380);
            self.log.pass(seconds);
        }
        Ok(())
    }

    /// Racks a lot that stays in the tank; its barrels are free for others.
    pub fn rack_for_good(&mut self, lot: LotId) -> Result<()> {
        self.rack(lot)?;
        self.fill_plan[lot].clear();
        Ok(())
    }

    /// Puts a racked lot down again, as far as it goes; three of its barrels rest and others take their place.
    pub fn put_back(&mut self, lot: LotId) -> Result<()> {
        let tank = self.tank_of(lot).context("the lot is in no tank")?;
        self.log.take_up(TROLLEY, "rsb");
        self.exchange_barrels(lot, 3);
        let mut barrels: Vec<VesselId> =
            self.fill_plan[lot].iter().copied().filter(|&barrel| self.vessels[barrel].is_empty()).collect();
        barrels.sort_by_key(|&barrel| self.vessels[barrel].spot);
        let job = format!("back {}", LOTS[lot].label);
        for barrel in barrels {
            if self.vessels[tank].book < self.vessels[barrel].capacity + 12 * LITRE {
                break;
            }
            let transfer = self.fill_of(tank, barrel, &job);
            self.transfer(&transfer)?;
            let seconds = self.chance.whole(140, 250);
            self.log.pass(seconds);
        }
        self.clear_tank(tank)
    }

    fn exchange_barrels(&mut self, lot: LotId, count: usize) {
        let room = LOTS[lot].room;
        let mut idle: Vec<VesselId> = (0..self.vessels.len())
            .filter(|id| !self.fill_plan.iter().any(|plan| plan.contains(id)))
            .filter(|&id| {
                let vessel = &self.vessels[id];
                vessel.is_empty()
                    && vessel.stained == Some(Colour::Red)
                    && vessel.spot.is_some_and(|spot| spot.room == room)
            })
            .collect();
        for _ in 0..count.min(idle.len()) {
            let fresh = idle.swap_remove(self.chance.below(idle.len()));
            let resting = self.chance.below(self.fill_plan[lot].len());
            if self.vessels[self.fill_plan[lot][resting]].is_empty() {
                self.fill_plan[lot][resting] = fresh;
            }
        }
    }

    /// What does not fill a barrel goes to the topping wine in T8; the last few litres are lees.
    pub fn clear_tank(&mut self, tank: VesselId) -> Result<()> {
        let left = self.vessels[tank].book;
        let lees = left.min(8 * LITRE);
        let topping = self.find("T8")?;
        self.log.pass(900);
        let volume = left - lees;
        let transfer = Transfer { from: tank, to: topping, volume, purpose: "other", lees, empties: true, job: None };
        self.transfer(&transfer)?;
        Ok(())
    }

    /// The filled barrels of a lot that are not held, in walking order.
    pub fn barrels_of(&self, lot: LotId) -> Vec<VesselId> {
        let mut barrels: Vec<VesselId> = (0..self.vessels.len())
            .filter(|&id| {
                let vessel = &self.vessels[id];
                vessel.kind == Kind::Barrel && vessel.lot == Some(lot) && !vessel.held
            })
            .collect();
        barrels.sort_by_key(|&barrel| self.vessels[barrel].spot);
        barrels
    }

    /// Where a keg is filled from: its own lot while it holds one, else the wine that is kept for it.
    fn supply(&self, keg: VesselId) -> Option<VesselId> {
        let lots: &[LotId] = match (self.vessels[keg].lot, self.label(keg)) {
            (Some(lot), _) => &[lot],
            (None, "K4") => &[SPRING_GARDEN],
            (None, "K5") => &[HOLLOW_LANE],
            (None, "K3") => &[UPPER_TERRACE, RIVER_FLAT, HARE_PATH],
            (None, "K6") => &[RIVER_FLAT, HARE_PATH, MILL_FIELD],
            (None, _) => &[HARE_PATH, RIVER_FLAT, MILL_FIELD],
        };
        let tanks = lots.iter().filter_map(|&lot| self.tank_of(lot));
        // A racked lot that goes down again tomorrow is no topping wine.
        tanks.into_iter().find(|&tank| self.vessels[tank].book > 30 * LITRE)
    }

    /// Fills a keg up where there is wine and room for it; says whether there was.
    pub fn fill_keg(&mut self, keg: VesselId) -> Result<bool> {
        let Some(tank) = self.supply(keg) else { return Ok(false) };
        let vessel = &self.vessels[keg];
        let room = (vessel.capacity / 100 * 98).saturating_sub(vessel.book);
        let volume = room.min(self.vessels[tank].book - 10 * LITRE) / (500 * ML) * (500 * ML);
        if volume == 0 {
            return Ok(false);
        }
        self.transfer(&Transfer { from: tank, to: keg, volume, purpose: "other", lees: 0, empties: false, job: None })?;
        let seconds = self.chance.whole(240, 420);
        self.log.pass(seconds);
        Ok(true)
    }

    /// Empties a keg into T8 and fills it with the lot that it shall serve from now on.
    pub fn give_keg_to(&mut self, keg: &str, lot: LotId) -> Result<()> {
        self.log.take_up(TROLLEY, "mk");
        let (keg, tank) = (self.find(keg)?, self.tank_of(lot).context("the lot is in no tank")?);
        self.return_to_reserve(keg)?;
        let volume = self.vessels[keg].capacity / 100 * 98;
        self.transfer(&Transfer { from: tank, to: keg, volume, purpose: "other", lees: 0, empties: false, job: None })?;
        Ok(())
    }

    fn return_to_reserve(&mut self, keg: VesselId) -> Result<()> {
        let (to, volume) = (self.find("T8")?, self.vessels[keg].book);
        if volume > 0 {
            self.transfer(&Transfer { from: keg, to, volume, purpose: "other", lees: 0, empties: true, job: None })?;
            self.log.pass(300);
        }
        Ok(())
    }

    /// A barrel that is not good enough for its lot is broken into a keg; what the keg does not take joins T8.
    pub fn declassify(&mut self, lot: LotId) -> Result<()> {
        self.log.take_up(DESK, "ta");
        let worst =
            self.barrels_of(lot).into_iter().min_by(|&a, &b| self.vessels[a].charm.total_cmp(&self.vessels[b].charm));
        let barrel = worst.context("the lot is in no barrel")?;
        let (keg, topping) = (self.find("K6")?, self.find("T8")?);
        let date = card_date(self.log.now);
        let about = self.label(barrel).to_owned();
        self.note(&about, &format!("declassified on {date}: to be broken into K6 for topping"))?;
        self.log.take_up(TROLLEY, "mk");
        self.log.pass(1_800);
        self.return_to_reserve(keg)?;
        let volume = self.vessels[keg].capacity / 100 * 98;
        self.transfer(&Transfer {
            from: barrel,
            to: keg,
            volume,
            purpose: "other",
            lees: 0,
            empties: false,
            job: None,
        })?;
        self.log.pass(500);
        let rest = in_steps(self.vessels[barrel].truth_ml - 2_500.0, 500 * ML);
        self.transfer(&Transfer {
            from: barrel,
            to: topping,
            volume: rest,
            purpose: "other",
            lees: 2 * LITRE,
            empties: true,
            job: None,
        })?;
        Ok(())
    }
}
