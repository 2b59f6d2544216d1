//! Rooms, barrels and kegs: laying out, registering, moving about.

use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};

use super::book::{Cellar, Stage, rack_name};
use super::cooperage::barrel;
use super::estate::{Colour, KEGS, LOTS, Lot, LotId, ROOMS, SPARE_BARRELS, TANKS};
use super::log::DESK;
use super::season::LONG;
use super::vessel::{Kind, LITRE, Spot, Vessel, VesselId};

/// The lot of a barrel that is meant for none.
const NO_LOT: LotId = LOTS.len();

impl Cellar {
    /// The first days: the rooms, the blocks, the lots of the first vintage and every vessel that the estate owns.
    pub fn open_book(&mut self) -> Result<()> {
        self.log.take_up(DESK, "ta");
        self.lay_out_rooms()?;
        self.say_the_practice()?;
        self.first_chemistry();
        self.declare_vintage(2024)?;
        self.register_tanks_and_kegs()?;
        self.draw_fill_plan()?;
        self.take_in(2024)
    }

    fn say_the_practice(&mut self) -> Result<()> {
        let practice = json!({ "so2_model": "plain", "molecular_so2_mg_l": 0.5, "rules": "eu", "sulfuring_days": 35 });
        self.log.write("practice_set", practice)?;
        self.log.pass(30);
        Ok(())
    }

    fn lay_out_rooms(&mut self) -> Result<()> {
        for room in &ROOMS {
            let rows: Vec<Value> = room
                .rows
                .iter()
                .map(|row| json!({ "row": row.name, "stacks": row.stacks, "tiers": row.tiers, "sides": row.sides }))
                .collect();
            self.log.write(
                "room_laid_out",
                json!({
                    "room": room.name, "rows": rows, "temperature_c": room.temperature_c,
                    "humidity_pct": room.humidity_pct, "round_days": 21, "tolerated_ul": 2_500_000,
                }),
            )?;
            self.log.pass(140);
        }
        Ok(())
    }

    pub fn declare_vintage(&mut self, vintage: u16) -> Result<()> {
        self.log.take_up(DESK, "ta");
        for lot in LOTS.iter().filter(|lot| lot.vintage == vintage) {
            self.log.write("origin_declared", origin(lot))?;
            self.log.pass(35);
            self.log.write("lot_opened", json!({ "lot": lot.label, "colour": lot.colour.name() }))?;
            self.log.pass(12);
        }
        Ok(())
    }

    fn register_tanks_and_kegs(&mut self) -> Result<()> {
        let tanks = TANKS.iter().map(|tank| (Kind::Tank, "tank", tank));
        let kegs = KEGS.iter().map(|keg| (Kind::Keg, "keg", keg));
        for (kind, name, &(label, litres)) in tanks.chain(kegs) {
            let vessel = Vessel::new(label.to_owned(), kind, litres * LITRE);
            self.log
                .write("vessel_registered", json!({ "vessel": label, "type": name, "capacity_ul": vessel.capacity }))?;
            self.log.pass(14);
            self.vessels.push(vessel);
        }
        Ok(())
    }

    /// Which barrels lie where, and which of them are still to be bought: the new ones of the second vintage.
    fn draw_fill_plan(&mut self) -> Result<()> {
        let mut free: Vec<Vec<Spot>> = (0..ROOMS.len()).map(|room| self.stacked_spots(room)).collect();
        for (id, lot) in LOTS.iter().enumerate() {
            ensure!(free[lot.room].len() >= lot.barrels(), "{} is too small", ROOMS[lot.room].name);
            let spots: Vec<Spot> = free[lot.room].drain(..lot.barrels()).collect();
            self.choose_barrels(id, lot, spots);
        }
        for spot in free[LONG].drain(..SPARE_BARRELS) {
            let fills = self.chance.whole(2, 5);
            let vessel = barrel(&mut self.chance, String::new(), "bordeaux", fills, 2024);
            self.ordered.push((NO_LOT, spot, stained(vessel, Colour::Red)));
        }
        Ok(())
    }

    /// The places of a room that are used, in walking order: some stacks are left a tier lower than they could be.
    fn stacked_spots(&mut self, room: usize) -> Vec<Spot> {
        let mut spots = Vec::new();
        for row in ROOMS[room].rows {
            for stack in 1..=row.stacks {
                let low = row.tiers == 4 && self.chance.happens(0.45);
                let gap = room == LONG && self.chance.happens(0.12);
                for tier in 1..=row.tiers - u8::from(low) {
                    for side in 0..row.sides {
                        let missing = gap && tier == row.tiers - u8::from(low) && side == 1;
                        if !missing {
                            spots.push(Spot { room, row: row.name, stack, tier, side });
                        }
                    }
                }
            }
        }
        spots
    }

    fn choose_barrels(&mut self, id: LotId, lot: &Lot, mut spots: Vec<Spot>) {
        // The heaviest shapes stand first in the plan and lie lowest.
        if lot.shapes[0].0 != "bordeaux" {
            spots.sort_by_key(|spot| (spot.tier, *spot));
        }
        let shapes = lot.shapes.iter().flat_map(|&(shape, count)| std::iter::repeat_n(shape, count));
        let year = u64::from(lot.vintage);
        for (index, (spot, shape)) in spots.into_iter().zip(shapes).enumerate() {
            // New wood is spread evenly over the lot.
            let is_new = (index + 1) * lot.new / lot.barrels() > index * lot.new / lot.barrels();
            let most = if lot.colour == Colour::Red { 5 } else { 3 };
            let fills = if is_new { 0 } else { self.chance.whole(1, most) };
            let vessel = barrel(&mut self.chance, String::new(), shape, fills, year);
            let vessel = if is_new { vessel } else { stained(vessel, lot.colour) };
            self.ordered.push((id, spot, vessel));
        }
    }

    /// Takes barrels onto the book: at first all but the new ones of the second vintage, and those when they come.
    pub fn take_in(&mut self, vintage: u16) -> Result<()> {
        let later = |lot: LotId, vessel: &Vessel| lot < NO_LOT && LOTS[lot].vintage > vintage && vessel.fills == 0;
        let (waiting, now): (Vec<_>, Vec<_>) =
            std::mem::take(&mut self.ordered).into_iter().partition(|(lot, _, vessel)| later(*lot, vessel));
        self.ordered = waiting;
        for (lot, spot, vessel) in now {
            let barrel = self.register_barrel(vessel)?;
            self.place(barrel, Some(spot))?;
            self.log.pass(21);
            if let Some(plan) = self.fill_plan.get_mut(lot) {
                plan.push(barrel);
            }
        }
        Ok(())
    }

    fn register_barrel(&mut self, mut vessel: Vessel) -> Result<VesselId> {
        // Numbers are given once; some belong to barrels that were gone before the book began.
        let number = 101 + self.vessels.len() * 21 / 20;
        vessel.label = format!("{number:04}");
        let mut fields = json!({ "vessel": vessel.label, "type": "barrel", "capacity_ul": vessel.capacity });
        if let Value::Object(wood) = &vessel.wood {
            for (name, value) in wood {
                fields[name.as_str()] = value.clone();
            }
        }
        fields["fills"] = vessel.fills.into();
        if let Some(stain) = vessel.stained {
            fields["stained"] = stain.stain().into();
        }
        self.log.write("vessel_registered", fields)?;
        self.log.pass(16);
        self.vessels.push(vessel);
        Ok(self.vessels.len() - 1)
    }

    /// Eight new barrels for the harvest to come; one is first written into the wrong place and put right.
    pub fn take_delivery(&mut self) -> Result<()> {
        self.log.take_up(DESK, "ta");
        for count in 0..8 {
            let vessel = barrel(&mut self.chance, String::new(), "bordeaux", 0, 2026);
            let barrel = self.register_barrel(vessel)?;
            let spots = self.free_spots(LONG);
            ensure!(spots.len() > 2, "the long room is full");
            if count == 5 {
                let wrong = self.place(barrel, Some(spots[spots.len() - 1]))?;
                self.log.pass(50);
                self.log.retract(wrong, "wrong place, read from the next card")?;
                self.log.pass(20);
            }
            self.place(barrel, Some(spots[0]))?;
            self.log.pass(180);
        }
        Ok(())
    }

    /// Free places that stand on something: the floor, or a rack with a barrel in it.
    fn free_spots(&self, room: usize) -> Vec<Spot> {
        all_spots(room)
            .filter(|&spot| !self.places.contains_key(&spot))
            .filter(|spot| spot.tier == 1 || self.rack_is_used(Spot { tier: spot.tier - 1, ..*spot }))
            .collect()
    }

    fn rack_is_used(&self, rack: Spot) -> bool {
        (0..4).any(|side| self.places.contains_key(&Spot { side, ..rack }))
    }

    /// The forklift lifts the top rack of one stack onto another stack of the same room.
    pub fn move_rack(&mut self, room: usize, by: &'static str) -> Result<()> {
        self.log.take_up(DESK, by);
        let racks: Vec<Spot> = all_spots(room).filter(|spot| spot.side == 0).collect();
        let above = |rack: &Spot| Spot { tier: rack.tier + 1, ..*rack };
        let lifted: Vec<Spot> = racks
            .iter()
            .filter(|rack| rack.tier > 1 && self.rack_is_used(**rack) && !self.rack_is_used(above(rack)))
            .copied()
            .collect();
        let from = *self.chance.pick(&lifted);
        let landing: Vec<Spot> = racks
            .iter()
            .filter(|rack| (rack.row, rack.stack) != (from.row, from.stack) && !self.rack_is_used(**rack))
            .filter(|rack| rack.tier == 1 || self.rack_is_used(Spot { tier: rack.tier - 1, ..**rack }))
            .copied()
            .collect();
        ensure!(!landing.is_empty(), "no rack is free in {}", ROOMS[room].name);
        let to = *self.chance.pick(&landing);
        for side in 0..4 {
            if let Some(barrel) = self.places.remove(&Spot { side, ..from }) {
                let spot = Spot { side, ..to };
                self.places.insert(spot, barrel);
                self.vessels[barrel].spot = Some(spot);
            }
        }
        self.log.write("rack_moved", json!({ "from": rack_name(from), "to": rack_name(to) }))?;
        self.log.pass(400);
        Ok(())
    }

    /// Takes some empty barrels out of the long room to be looked over; one of them does not come back.
    pub fn look_over_empties(&mut self) -> Result<()> {
        self.log.take_up(DESK, "rsb");
        let empties: Vec<VesselId> = self.places.values().copied().filter(|&id| self.vessels[id].is_empty()).collect();
        let worn: Vec<VesselId> =
            empties.into_iter().filter(|&id| self.vessels[id].fills >= 4 && self.is_topmost(id)).take(4).collect();
        for &barrel in &worn {
            self.place(barrel, None)?;
            self.log.pass(240);
        }
        let broken = *worn.first().context("no worn barrel is empty")?;
        self.vessels[broken].retired = true;
        let why = "stave cracked at the bung, sold for planters";
        self.log.write("vessel_retired", json!({ "vessel": self.label(broken), "why": why }))?;
        Ok(())
    }

    fn is_topmost(&self, barrel: VesselId) -> bool {
        let above = self.vessels[barrel].spot.map(|spot| Spot { tier: spot.tier + 1, ..spot });
        above.is_none_or(|rack| !self.rack_is_used(rack))
    }

    pub fn set_stage(&mut self, lot: LotId, stage: Stage) -> Result<()> {
        let (name, days) = match stage {
            Stage::Soaking => ("soaking", 7),
            Stage::Malolactic => ("malolactic", 14),
            Stage::BungUp => ("bung_up", 21),
            Stage::Rolled => ("rolled", 100),
        };
        self.stages[lot] = stage;
        self.log.take_up(DESK, "ta");
        self.log.write("stage_set", json!({ "lot": LOTS[lot].label, "stage": name, "round_days": days }))?;
        Ok(())
    }
}

fn all_spots(room: usize) -> impl Iterator<Item = Spot> {
    ROOMS[room].rows.iter().flat_map(move |row| {
        (1..=row.stacks).flat_map(move |stack| {
            (1..=row.tiers)
                .flat_map(move |tier| (0..row.sides).map(move |side| Spot { room, row: row.name, stack, tier, side }))
        })
    })
}

fn stained(mut vessel: Vessel, colour: Colour) -> Vessel {
    vessel.stained = Some(colour);
    vessel
}

fn origin(lot: &Lot) -> Value {
    let mut fields = json!({
        "origin": lot.origin(), "block": lot.block, "variety": lot.variety, "vintage": lot.vintage,
        "appellation": "Varrow Valley", "colour": lot.colour.name(), "estate": lot.owner.is_none(), "organic": lot.organic,
    });
    if let Some(owner) = lot.owner {
        fields["owner"] = owner.into();
    }
    fields
}
