//! What does not go as it should: leaks, losses, numbers misread.

use anyhow::{Context, Result};
use chrono::{NaiveDateTime, TimeDelta};
use serde_json::json;

use super::book::{Cellar, Transfer};
use super::estate::{Colour, LOTS, LotId, UPPER_TERRACE};
use super::log::{DESK, TROLLEY};
use super::season::LONG;
use super::vessel::{Leak, ML, VesselId, in_steps, to_ml};
use super::words::ROOM_NOTES;

impl Cellar {
    /// From now on a barrel of the lot drinks so many times what it did.
    pub fn spring_leak(&mut self, lot: LotId, index: usize, until: NaiveDateTime, times: f64) {
        let barrels = self.barrels_of(lot);
        let barrel = barrels[index % barrels.len()];
        self.follow(barrel);
        let vessel = &mut self.vessels[barrel];
        // A leak is seen beside its neighbours, so the barrel itself shall be neither sparing nor greedy.
        vessel.thirst = 1.0;
        vessel.leak = Some(Leak { from: self.log.now, until, times });
    }

    /// The cooper comes for a barrel that leaked until today.
    pub fn mend(&mut self) -> Result<()> {
        let today = self.log.now.date();
        let mended: Vec<VesselId> = (0..self.vessels.len())
            .filter(|&id| self.vessels[id].leak.is_some_and(|leak| leak.until.date() == today))
            .collect();
        for barrel in mended {
            self.log.take_up(TROLLEY, "rsb");
            let about = self.label(barrel).to_owned();
            self.note(&about, "cooper was here: croze rushed and hoops driven, dry since noon")?;
        }
        Ok(())
    }

    /// Barrel-down with the wrong number read out: the mistaken fact stands for a day, then the right one is typed in
    /// late. This barrel is filled in the book from its true moment on.
    pub fn fill_under_a_wrong_number(&mut self, transfer: &Transfer) -> Result<()> {
        let wrong = self.idle_barrel().context("no barrel is idle")?;
        let fact = self.log.write(
            "wine_moved",
            json!({
                "from": self.label(transfer.from), "to": self.label(wrong), "volume_ul": transfer.volume,
                "purpose": transfer.purpose, "job": transfer.job,
            }),
        )?;
        self.misplaced = Some((fact, wrong));
        self.log.pass(20);
        let tomorrow = self.log.now.date() + TimeDelta::days(1);
        self.log.go_on_paper(tomorrow.and_hms_opt(15, 41, 0).context("no such time")?);
        self.transfer(transfer)?;
        self.log.end_paper();
        Ok(())
    }

    fn idle_barrel(&self) -> Option<VesselId> {
        self.places.iter().rev().find_map(|(spot, &id)| {
            let vessel = &self.vessels[id];
            (spot.room == LONG && vessel.is_empty() && vessel.stained == Some(Colour::Red)).then_some(id)
        })
    }

    /// A sample is booked on the wrong number too. Once the filling is taken back, this sample comes from an empty
    /// barrel: the one discrepancy that the demo cellar keeps on purpose, for the person to settle.
    pub fn sample_the_wrong_number(&mut self) -> Result<()> {
        let (_, wrong) = self.misplaced.context("nothing is misplaced")?;
        self.log.take_up(TROLLEY, "jl");
        let sample = format!("{} first", LOTS[UPPER_TERRACE].label);
        self.sample_again(wrong, 75 * ML, &sample, "malic, lactic")?;
        Ok(())
    }

    pub fn retract_the_wrong_number(&mut self) -> Result<()> {
        let (fact, _) = self.misplaced.take().context("nothing is misplaced")?;
        self.log.take_up(DESK, "ta");
        self.log.retract(fact, "wrong number read out, that barrel is dry")
    }

    /// A few vessels are measured: some barrels, and tanks and kegs that hold wine.
    pub fn gauge_some(&mut self) -> Result<()> {
        self.log.take_up(TROLLEY, "mk");
        let filled: Vec<VesselId> = self
            .places
            .values()
            .copied()
            .filter(|&id| !self.vessels[id].is_empty() && !self.vessels[id].held)
            .collect();
        for _ in 0..5 {
            let barrel = *self.chance.pick(&filled);
            self.follow(barrel);
            let vessel = &self.vessels[barrel];
            let found = in_steps(vessel.truth_ml + 50.0, 100 * ML).min(vessel.book);
            self.gauge(barrel, found)?;
            self.log.pass(150);
        }
        for label in ["T8", "K1"] {
            let vessel = self.find(label)?;
            if !self.vessels[vessel].is_empty() {
                self.gauge_by_the_stick(vessel)?;
            }
        }
        Ok(())
    }

    /// A tank or keg read from outside: close to the book, seldom on it, now and then above it.
    fn gauge_by_the_stick(&mut self, vessel: VesselId) -> Result<()> {
        let book = to_ml(self.vessels[vessel].book);
        let share = self.chance.normal(-0.002, 0.0015);
        let found = in_steps(book * (1.0 + share), 500 * ML).clamp(500 * ML, self.vessels[vessel].capacity);
        self.gauge(vessel, found)?;
        self.log.pass(200);
        Ok(())
    }

    /// A loss seen in passing and typed in days later.
    pub fn lose_and_tell_later(&mut self, lot: LotId, days_late: i64) -> Result<()> {
        self.log.take_up(TROLLEY, "mk");
        let barrels = self.barrels_of(lot);
        let barrel = *self.chance.pick(&barrels);
        self.follow(barrel);
        let volume = self.chance.whole(4, 14) * 100 * ML;
        self.log.go_on_paper(self.log.now + TimeDelta::days(days_late));
        self.vessels[barrel].truth_ml -= to_ml(volume);
        let note = *self.chance.pick(&["thief dropped in the bunghole, wine on the floor", "bung popped, wiped up"]);
        self.lose(barrel, volume, "spill", note)?;
        self.log.end_paper();
        Ok(())
    }

    /// A leaking barrel is caught with a puddle under it: a part of what it lacks has a cause now.
    pub fn find_puddle(&mut self) -> Result<()> {
        self.log.take_up(TROLLEY, "jl");
        let now = self.log.now;
        let leaking = (0..self.vessels.len()).find(|&id| {
            let vessel = &self.vessels[id];
            !vessel.is_empty() && !vessel.held && vessel.leak.is_some_and(|leak| (leak.from..leak.until).contains(&now))
        });
        let barrel = leaking.context("no barrel leaks")?;
        self.follow(barrel);
        let volume = in_steps(self.vessels[barrel].missing_ml() * 0.4, 100 * ML).max(100 * ML);
        self.lose(barrel, volume, "leak", "puddle under it this morning")
    }

    pub fn note_in_passing(&mut self, days_late: i64) -> Result<()> {
        let by = *self.chance.pick(&["mk", "jl", "rsb"]);
        self.log.take_up(TROLLEY, by);
        if days_late > 0 {
            self.log.go_on_paper(self.log.now + TimeDelta::days(days_late));
        }
        let (about, text) = *self.chance.pick(&ROOM_NOTES);
        self.note(about, text)?;
        self.log.end_paper();
        Ok(())
    }
}
