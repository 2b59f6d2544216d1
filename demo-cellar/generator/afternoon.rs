//! The last afternoon: a racking and a barrel-down that are begun and left for the next day.

use anyhow::{Context, Result};
use serde_json::{Value, json};

use super::book::{Cellar, Transfer};
use super::estate::{LOTS, LotId};
use super::log::TROLLEY;
use super::vessel::{LITRE, VesselId};

/// What a barrel is thought to leave behind as lees.
const LEES: u64 = 3 * LITRE / 2;

impl Cellar {
    /// Sets a racking of a lot out and racks its first barrels.
    pub fn begin_racking(&mut self, lot: LotId, done: usize) -> Result<()> {
        self.on_its_own_chance(|cellar| {
            let barrels = cellar.barrels_of(lot);
            let volume = barrels.iter().map(|&barrel| cellar.vessels[barrel].book).sum();
            let tank = cellar.empty_tank(volume)?;
            let work = format!("rack {}", LOTS[lot].label);
            let stops: Vec<Value> = barrels
                .iter()
                .map(|&barrel| {
                    let volume = cellar.vessels[barrel].book - LITRE - LEES;
                    json!({ "vessel": cellar.label(barrel), "volume_ul": volume, "lees_ul": LEES })
                })
                .collect();
            let (to, lot) = (cellar.label(tank), LOTS[lot].label);
            let set = json!({ "work": work, "task": "racking", "to": to, "lot": lot, "stops": stops });
            cellar.set_out(set)?;
            for &barrel in barrels.iter().take(done) {
                cellar.follow(barrel);
                let clear_ml = cellar.vessels[barrel].truth_ml - super::vessel::to_ml(LEES);
                let volume = Cellar::metered(clear_ml - 250.0).min(cellar.vessels[barrel].book - LEES);
                cellar.transfer(&Transfer {
                    from: barrel,
                    to: tank,
                    volume,
                    purpose: "racking",
                    lees: LEES,
                    empties: true,
                    job: Some(work.clone()),
                })?;
                cellar.log.pass(290);
            }
            Ok(())
        })
    }

    /// Sets a barrel-down of a lot's tank out into empty barrels of the room that it came from, and fills the first.
    pub fn begin_barrel_down(&mut self, lot: LotId, count: usize, done: usize) -> Result<()> {
        self.on_its_own_chance(|cellar| {
            let tank = cellar.tank_of(lot).context("the lot is in no tank")?;
            let mut empties: Vec<VesselId> = (0..cellar.vessels.len())
                .filter(|&id| {
                    let vessel = &cellar.vessels[id];
                    vessel.is_empty()
                        && vessel.fills > 0
                        && vessel.stained == Some(LOTS[lot].colour)
                        && vessel.spot.is_some_and(|spot| spot.room == LOTS[lot].room)
                })
                .collect();
            empties.sort_by_key(|&barrel| cellar.vessels[barrel].spot);
            empties.truncate(count);
            let work = format!("down {}", LOTS[lot].label);
            let stops: Vec<Value> = empties
                .iter()
                .map(|&barrel| json!({ "vessel": cellar.label(barrel), "volume_ul": cellar.vessels[barrel].capacity }))
                .collect();
            let from = cellar.label(tank);
            cellar.set_out(json!({ "work": work, "task": "barrel_down", "from": from, "stops": stops }))?;
            for &barrel in empties.iter().take(done) {
                let volume = cellar.vessels[barrel].capacity - LITRE / 2;
                let job = Some(work.clone());
                let transfer =
                    Transfer { from: tank, to: barrel, volume, purpose: "barrel_down", lees: 0, empties: false, job };
                cellar.transfer(&transfer)?;
                cellar.log.pass(200);
            }
            Ok(())
        })
    }

    fn set_out(&mut self, work: Value) -> Result<()> {
        self.log.take_up(TROLLEY, "rsb");
        self.log.write("work_set", work)?;
        self.log.pass(120);
        Ok(())
    }

    /// Does something with the laboratory's chance in place of the cellar's.
    fn on_its_own_chance(&mut self, job: impl FnOnce(&mut Cellar) -> Result<()>) -> Result<()> {
        std::mem::swap(&mut self.chance, &mut self.laboratory);
        let result = job(self);
        std::mem::swap(&mut self.chance, &mut self.laboratory);
        result
    }
}
