//! Samples, tastings, holds.

use anyhow::Result;
use chrono::TimeDelta;
use serde_json::json;

use super::book::{Cellar, Stage};
use super::clock::{card_date, moment};
use super::estate::{Colour, LOTS, LotId};
use super::log::{DESK, TROLLEY};
use super::vessel::{ML, VesselId};
use super::words::{
    AFTERTHOUGHT, BAD_MARKS, FREE_REASONS, GOOD_MARKS, HOLD_REASONS, PALE_NOSE, PALE_PALATE, PLAIN_MARKS, RED_NOSE,
    RED_PALATE,
};

impl Cellar {
    /// Where a lot is to be found: its barrels, or its tank.
    fn vessels_of(&self, lot: LotId) -> Vec<VesselId> {
        let barrels = self.barrels_of(lot);
        if barrels.is_empty() { self.tank_of(lot).into_iter().collect() } else { barrels }
    }

    /// A composite of a few barrels of the lot, with one label on the bottle.
    pub fn sample_lot(&mut self, lot: LotId) -> Result<()> {
        self.log.take_up(TROLLEY, "jl");
        let purpose: &'static str = match self.stages[lot] {
            Stage::Malolactic => "malic, lactic",
            Stage::Soaking => "free SO2, pH, temperature",
            _ => self.chance.pick::<&str>(&["free SO2, pH", "free SO2, pH, VA", "full analysis", "VA, 4-ethylphenol"]),
        };
        let label = format!("{} {}", LOTS[lot].label, card_date(self.log.now));
        let volume = *self.chance.pick(&[50, 75, 100]) * ML;
        self.hand_in(lot, &label, purpose);
        for vessel in self.some_of(lot, 8) {
            self.sample(vessel, volume, &label, purpose)?;
            let seconds = self.chance.whole(45, 80);
            self.log.pass(seconds);
            if self.chance.happens(0.004) {
                let twice = self.sample_again(vessel, volume, &label, purpose)?;
                self.log.pass(30);
                self.log.retract(twice, "written down twice")?;
            }
        }
        Ok(())
    }

    /// Some of a lot's vessels, evenly spread, from a chance beginning.
    fn some_of(&mut self, lot: LotId, count: usize) -> Vec<VesselId> {
        let all = self.vessels_of(lot);
        let step = (all.len() / count).max(1);
        let start = self.chance.below(step);
        all.into_iter().skip(start).step_by(step).take(count).collect()
    }

    /// Ten or so glasses from one lot. `days_late` is how long the sheet lay about before it was typed in.
    pub fn taste_lot(&mut self, lot: LotId, days_late: i64) -> Result<()> {
        let by = *self.chance.pick(&["ta", "ta", "mk", "rsb"]);
        self.log.take_up(TROLLEY, by);
        if days_late > 0 {
            self.log.go_on_paper(self.log.now + TimeDelta::days(days_late));
        }
        for vessel in self.some_of(lot, 11) {
            let score = self.score(vessel, lot);
            self.mistake_the_barrel(vessel, lot, days_late)?;
            self.write_tasting(vessel, lot, score)?;
            let seconds = self.chance.whole(50, 110);
            self.log.pass(seconds);
            self.hold_if_poor(vessel, lot, score)?;
        }
        self.log.end_paper();
        Ok(())
    }

    /// In half points: the lot, what time has done for it, the barrel, the day.
    fn score(&mut self, vessel: VesselId, lot: LotId) -> f64 {
        let settled = if self.stages[lot] == Stage::BungUp { 0.4 } else { -0.6 };
        let faint = if self.chance.happens(0.02) { -2.5 } else { 0.0 };
        let points = LOTS[lot].class + settled + self.vessels[vessel].charm + faint + self.chance.normal(0.0, 0.55);
        (points * 2.0).round().clamp(8.0, 37.0) / 2.0
    }

    fn write_tasting(&mut self, vessel: VesselId, lot: LotId, score: f64) -> Result<usize> {
        let mut fields = json!({ "vessel": self.label(vessel), "score": score });
        if self.chance.happens(0.45) {
            fields["marks"] = json!([self.mark(lot, score)]);
        }
        fields["text"] = self.text(lot).into();
        self.log.write("tasted", fields)
    }

    fn mark(&mut self, lot: LotId, score: f64) -> &'static str {
        let better = score - LOTS[lot].class;
        let marks: &[&'static str] = if better > 0.8 {
            &GOOD_MARKS
        } else if better > -0.9 {
            &PLAIN_MARKS
        } else {
            &BAD_MARKS
        };
        self.chance.pick::<&'static str>(marks)
    }

    fn text(&mut self, lot: LotId) -> String {
        let (nose, palate): (&[&str], &[&str]) =
            if LOTS[lot].colour == Colour::Red { (&RED_NOSE, &RED_PALATE) } else { (&PALE_NOSE, &PALE_PALATE) };
        let mut phrases = Vec::new();
        if !self.chance.happens(0.15) {
            phrases.push(*self.chance.pick(nose));
        }
        if phrases.is_empty() || self.chance.happens(0.75) {
            phrases.push(*self.chance.pick(palate));
        }
        if self.chance.happens(0.25) {
            phrases.push(*self.chance.pick(&AFTERTHOUGHT));
        }
        phrases.join("; ")
    }

    /// Now and then a note is written to the barrel beside, and taken back.
    fn mistake_the_barrel(&mut self, vessel: VesselId, lot: LotId, days_late: i64) -> Result<()> {
        if days_late > 0 || !self.chance.happens(0.006) {
            return Ok(());
        }
        let barrels = self.vessels_of(lot);
        let Some(&beside) = barrels.iter().find(|&&other| other > vessel) else { return Ok(()) };
        let score = self.score(beside, lot);
        let wrong = self.write_tasting(beside, lot, score)?;
        self.log.pass(35);
        self.log.retract(wrong, "that was the barrel beside it")?;
        self.log.pass(20);
        Ok(())
    }

    /// A barrel far below its lot is held until it is clear what it has; none so late that the end would not see it freed.
    fn hold_if_poor(&mut self, vessel: VesselId, lot: LotId, score: f64) -> Result<()> {
        let late = self.log.now > moment("2026-10-12 00:00")?;
        if late || score > LOTS[lot].class - 1.6 || self.tank_of(lot) == Some(vessel) || !self.chance.happens(0.6) {
            return Ok(());
        }
        let why = *self.chance.pick(&HOLD_REASONS);
        self.hold(vessel, true, why)?;
        let days = self.chance.whole(6, 16);
        let until = self.log.now + TimeDelta::days(i64::try_from(days)?);
        self.to_free.push((until, vessel));
        self.log.pass(20);
        Ok(())
    }

    /// Frees what is to be freed by now.
    pub fn free_the_cleared(&mut self) -> Result<()> {
        let now = self.log.now;
        let (due, waiting): (Vec<_>, Vec<_>) =
            std::mem::take(&mut self.to_free).into_iter().partition(|(at, _)| *at <= now);
        self.to_free = waiting;
        for (_, vessel) in due {
            self.log.take_up(DESK, "ta");
            let why = *self.chance.pick(&FREE_REASONS);
            self.hold(vessel, false, why)?;
            self.log.pass(25);
        }
        Ok(())
    }

    pub fn hold_one(&mut self, lot: LotId, index: usize, why: &str) -> Result<()> {
        self.log.take_up(TROLLEY, "mk");
        let barrels = self.barrels_of(lot);
        self.hold(barrels[index % barrels.len()], true, why)
    }
}
