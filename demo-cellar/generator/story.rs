//! What happens when: eighteen months of the estate.

use anyhow::Result;
use chrono::{Datelike, NaiveDateTime, TimeDelta, Weekday};

use super::book::{Cellar, Stage};
use super::clock::{card_date, moment};
use super::estate::{
    CHAPEL_RISE, Colour, DOVECOTE, HARE_PATH, HOLLOW_LANE, LONG_WALL, LOTS, LOW_MEADOW, LotId, MILL_FIELD, QUARRY_EDGE,
    RIVER_FLAT, ROOMS, SPRING_GARDEN, STONY_ACRE, UPPER_TERRACE, UPPER_TERRACE_24,
};
use super::log::TROLLEY;
use super::rounds::{Round, Who};
use super::season::{CAVE, LONG, VAULT};

pub struct Planned {
    pub at: NaiveDateTime,
    pub job: Job,
}

pub enum Job {
    OpenBook,
    Declare(u16),
    TakeIn(u16),
    TakeDelivery,
    Receive(LotId),
    BarrelDown(LotId),
    SetStage(LotId, Stage),
    Rack(LotId),
    RackForGood(LotId),
    PutBack(LotId),
    Declassify(LotId),
    GiveKegTo(&'static str, LotId),
    ClearTankOf(LotId),
    FillKeg(&'static str),
    Walk(Round),
    Sample(LotId),
    Taste(LotId, i64),
    Gauge,
    MoveRack(usize),
    LookOverEmpties,
    Leak(LotId, usize, NaiveDateTime, f64),
    Mend,
    FindPuddle,
    LoseAndTellLater(LotId, i64),
    SampleWrongNumber,
    RetractWrongNumber,
    Hold(LotId, usize, &'static str),
    Note(i64),
    CareForEmpties,
    ReceivePressWine,
    TasteInSpring,
    BlendInSpring,
    TasteInAutumn,
    BeginRacking(LotId, usize),
    BeginBarrelDown(LotId, usize, usize),
}

impl Job {
    fn is_at_the_bench(&self) -> bool {
        matches!(self, Job::ReceivePressWine | Job::TasteInSpring | Job::BlendInSpring | Job::TasteInAutumn)
    }
}

impl Cellar {
    pub fn perform(&mut self, planned: &Planned) -> Result<()> {
        self.log.wait_until(planned.at);
        // Nobody at the bench looks after the office.
        if !planned.job.is_at_the_bench() {
            self.free_the_cleared()?;
            self.type_in_sheets()?;
        }
        match &planned.job {
            Job::OpenBook => self.open_book(),
            Job::Declare(vintage) => self.declare_vintage(*vintage),
            Job::TakeIn(vintage) => self.take_in(*vintage),
            Job::TakeDelivery => self.take_delivery(),
            Job::Receive(lot) => self.receive_lot(*lot),
            Job::BarrelDown(lot) => self.barrel_down(*lot),
            Job::SetStage(lot, stage) => self.set_stage(*lot, *stage),
            Job::Rack(lot) => self.rack(*lot),
            Job::RackForGood(lot) => self.rack_for_good(*lot),
            Job::PutBack(lot) => self.put_back(*lot),
            Job::Declassify(lot) => self.declassify(*lot),
            Job::GiveKegTo(keg, lot) => self.give_keg_to(keg, *lot),
            Job::ClearTankOf(lot) => self.tank_of(*lot).map_or(Ok(()), |tank| self.clear_tank(tank)),
            Job::FillKeg(keg) => self.fill_by_label(keg),
            Job::Walk(round) => self.walk(round),
            Job::Sample(lot) => self.sample_lot(*lot),
            Job::Taste(lot, days_late) => self.taste_lot(*lot, *days_late),
            Job::Gauge => self.gauge_some(),
            Job::MoveRack(room) => self.move_rack(*room, "rsb"),
            Job::LookOverEmpties => self.look_over_empties(),
            Job::Leak(lot, index, until, times) => {
                self.spring_leak(*lot, *index, *until, *times);
                Ok(())
            }
            Job::Mend => self.mend(),
            Job::FindPuddle => self.find_puddle(),
            Job::LoseAndTellLater(lot, days_late) => self.lose_and_tell_later(*lot, *days_late),
            Job::SampleWrongNumber => self.sample_the_wrong_number(),
            Job::RetractWrongNumber => self.retract_the_wrong_number(),
            Job::Hold(lot, index, why) => self.hold_one(*lot, *index, why),
            Job::Note(days_late) => self.note_in_passing(*days_late),
            Job::CareForEmpties => self.care_for_empties(),
            Job::ReceivePressWine => self.receive_press_wine(),
            Job::TasteInSpring => self.taste_in_spring(),
            Job::BlendInSpring => self.blend_in_spring(),
            Job::TasteInAutumn => self.taste_in_autumn(),
            Job::BeginRacking(lot, done) => self.begin_racking(*lot, *done),
            Job::BeginBarrelDown(lot, count, done) => self.begin_barrel_down(*lot, *count, *done),
        }
    }

    fn fill_by_label(&mut self, keg: &str) -> Result<()> {
        self.log.take_up(TROLLEY, "mk");
        let keg = self.find(keg)?;
        self.fill_keg(keg)?;
        Ok(())
    }
}

/// Everything that happens, in its order.
pub fn timeline() -> Result<Vec<Planned>> {
    let mut story = Story(Vec::new());
    story.beginnings()?;
    story.lots()?;
    story.cellar_work()?;
    story.long_rounds()?;
    story.cave_and_vault_rounds()?;
    story.young_wine_rounds()?;
    story.routine()?;
    story.misfortunes()?;
    story.bench()?;
    story.last_days()?;
    let mut planned = story.0;
    planned.sort_by_key(|planned| planned.at);
    Ok(planned)
}

struct Story(Vec<Planned>);

impl Story {
    fn plan(&mut self, at: NaiveDateTime, job: Job) {
        self.0.push(Planned { at, job });
    }

    fn on(&mut self, at: &str, job: Job) -> Result<()> {
        self.plan(moment(at)?, job);
        Ok(())
    }

    /// Nobody works at the weekend: what would fall there waits for Monday.
    fn on_workday(&mut self, at: NaiveDateTime, job: Job) {
        let wait = match at.weekday() {
            Weekday::Sat => 2,
            Weekday::Sun => 1,
            _ => 0,
        };
        self.plan(at + TimeDelta::days(wait), job);
    }

    fn beginnings(&mut self) -> Result<()> {
        self.on("2025-05-20 07:40", Job::OpenBook)?;
        self.on("2025-06-02 06:20", Job::FillKeg("K2"))?;
        self.on("2025-09-16 08:00", Job::TakeIn(2025))?;
        self.on("2025-10-09 08:00", Job::Declare(2025))?;
        self.on("2026-09-15 08:30", Job::TakeDelivery)
    }

    fn lots(&mut self) -> Result<()> {
        for (id, lot) in LOTS.iter().enumerate() {
            let down = moment(lot.down)?;
            self.on(lot.received, Job::Receive(id))?;
            self.plan(down, Job::BarrelDown(id));
            self.plan(down + TimeDelta::hours(6), Job::SetStage(id, Stage::Soaking));
            if lot.vintage == 2025 && lot.colour == Colour::Red {
                self.on_workday(down + TimeDelta::days(25), Job::SetStage(id, Stage::Malolactic));
            }
            self.on_workday(bung_up(id)?, Job::SetStage(id, Stage::BungUp));
            let mut sampling = down + TimeDelta::days(14) + TimeDelta::minutes(210);
            while sampling < moment("2026-11-24 00:00")? {
                self.on_workday(sampling, Job::Sample(id));
                let young = lot.vintage == 2025 && sampling < bung_up(id)?;
                sampling += TimeDelta::days(if young { 14 } else { 28 });
            }
            let mut tasting = down + TimeDelta::days(33) + TimeDelta::minutes(430);
            while tasting < moment("2026-11-24 00:00")? {
                let days_late = if tasting.ordinal().is_multiple_of(17) { 3 } else { 0 };
                self.on_workday(tasting, Job::Taste(id, days_late));
                tasting += TimeDelta::days(42);
            }
        }
        self.on("2026-02-02 14:10", Job::SetStage(STONY_ACRE, Stage::Rolled))?;
        self.on("2026-07-09 14:10", Job::SetStage(DOVECOTE, Stage::Rolled))
    }

    fn cellar_work(&mut self) -> Result<()> {
        for (day, next, lot) in [
            ("2025-09-23 06:40", "2025-09-24 06:40", LONG_WALL),
            ("2025-09-25 06:40", "2025-09-26 06:40", UPPER_TERRACE_24),
            ("2026-04-14 06:40", "2026-04-15 06:40", DOVECOTE),
            ("2026-04-21 06:40", "2026-04-22 06:40", UPPER_TERRACE),
            ("2026-05-05 06:40", "2026-05-06 06:40", CHAPEL_RISE),
            ("2026-06-09 06:40", "2026-06-10 06:40", LOW_MEADOW),
        ] {
            self.on(day, Job::Rack(lot))?;
            self.on(next, Job::PutBack(lot))?;
        }
        self.on("2026-03-10 06:40", Job::RackForGood(HARE_PATH))?;
        self.on("2026-08-18 06:40", Job::RackForGood(MILL_FIELD))?;
        self.on("2025-10-27 13:30", Job::GiveKegTo("K3", UPPER_TERRACE))?;
        self.on("2026-03-03 13:30", Job::ClearTankOf(UPPER_TERRACE))?;
        self.on("2026-05-20 08:00", Job::Declassify(LONG_WALL))?;
        self.on("2026-03-24 08:00", Job::LookOverEmpties)?;
        for day in ["2025-08-05 13:00", "2025-12-16 13:00", "2026-03-26 13:00", "2026-07-22 13:00", "2026-10-08 13:00"]
        {
            self.on(day, Job::MoveRack(LONG))?;
        }
        self.on("2026-09-02 13:00", Job::MoveRack(CAVE))
    }

    /// Every three weeks, on a Monday or a little later; since the second vintage a round takes two mornings.
    fn long_rounds(&mut self) -> Result<()> {
        let mut slips = [0, 1, 0, 2, 0, 0, 1].into_iter().cycle();
        let mut monday = moment("2025-06-16 06:30")?;
        while monday < moment("2026-10-20 00:00")? {
            let day = monday + TimeDelta::days(slips.next().unwrap_or(0));
            self.long_round(day, day + TimeDelta::days(1));
            monday += TimeDelta::days(21);
        }
        self.long_round(moment("2026-10-30 06:30")?, moment("2026-11-02 06:30")?);
        Ok(())
    }

    fn long_round(&mut self, first: NaiveDateTime, second: NaiveDateTime) {
        let whole = round(LONG, Colour::Red, Who::Everyone, first);
        if first.date() < chrono::NaiveDate::from_ymd_opt(2025, 11, 15).unwrap_or_default() {
            self.plan(first, Job::Walk(whole));
            return;
        }
        self.plan(first, Job::Walk(Round { rows: "AB", closes: false, ..whole.clone() }));
        self.plan(second, Job::Walk(Round { rows: "CD", opens: false, ..whole }));
    }

    fn cave_and_vault_rounds(&mut self) -> Result<()> {
        let mut tuesday = moment("2025-06-10 08:20")?;
        while tuesday < moment("2026-11-18 00:00")? {
            let paper = [9, 41].contains(&tuesday.iso_week().week()) && tuesday.year() == 2026;
            self.plan(tuesday, Job::Walk(Round { paper, ..round(CAVE, Colour::Red, Who::Everyone, tuesday) }));
            let afternoon = tuesday + TimeDelta::hours(5);
            self.plan(afternoon, Job::Walk(round(CAVE, Colour::White, Who::Everyone, afternoon)));
            tuesday += TimeDelta::days(21);
        }
        let mut friday = moment("2025-11-07 08:20")?;
        while friday < moment("2026-11-21 00:00")? {
            self.plan(friday, Job::Walk(round(VAULT, Colour::Red, Who::Everyone, friday)));
            let later = friday + TimeDelta::hours(2);
            self.plan(later, Job::Walk(round(VAULT, Colour::Rose, Who::Everyone, later)));
            friday += TimeDelta::days(21);
        }
        Ok(())
    }

    /// New wood every week while it soaks; lots in their second fermentation between two rounds.
    fn young_wine_rounds(&mut self) -> Result<()> {
        for (first, last) in [("2025-06-02 06:50", "2025-06-30 00:00"), ("2025-10-23 14:00", "2026-01-03 00:00")] {
            let mut day = moment(first)?;
            while day < moment(last)? {
                self.plan(day, Job::Walk(round(LONG, Colour::Red, Who::NewWood, day)));
                for (minutes, room, colour) in [
                    (60, CAVE, Colour::Red),
                    (90, VAULT, Colour::Red),
                    (120, CAVE, Colour::White),
                    (140, VAULT, Colour::Rose),
                ] {
                    let at = day + TimeDelta::minutes(minutes);
                    self.plan(at, Job::Walk(round(room, colour, Who::NewWood, at)));
                }
                day += TimeDelta::days(7);
            }
        }
        let mut day = moment("2025-12-11 06:40")?;
        while day < moment("2026-04-10 00:00")? {
            self.on_workday(day, Job::Walk(round(LONG, Colour::Red, Who::Malolactic, day)));
            let at = day + TimeDelta::hours(4);
            self.on_workday(at, Job::Walk(round(VAULT, Colour::Red, Who::Malolactic, at)));
            day += TimeDelta::days(if day < moment("2026-01-02 00:00")? { 14 } else { 10 });
        }
        Ok(())
    }

    fn routine(&mut self) -> Result<()> {
        let mut day = moment("2025-06-26 10:00")?;
        while day < moment("2026-11-20 00:00")? {
            self.on_workday(day, Job::Gauge);
            day += TimeDelta::days(30);
        }
        let mut day = moment("2025-10-06 13:40")?;
        while day < moment("2026-11-20 00:00")? {
            self.on_workday(day, Job::CareForEmpties);
            day += TimeDelta::days(35);
        }
        let mut day = moment("2025-06-04 11:20")?;
        while day < moment("2026-11-20 00:00")? {
            self.on_workday(day, Job::Note(if day.ordinal().is_multiple_of(5) { 2 } else { 0 }));
            day += TimeDelta::days(13);
        }
        Ok(())
    }

    fn misfortunes(&mut self) -> Result<()> {
        let end = moment("2027-12-31 00:00")?;
        let mended = moment("2026-03-05 12:00")?;
        self.on("2025-10-20 07:05", Job::Leak(LONG_WALL, 20, mended, 2.5))?;
        self.on("2026-03-05 14:00", Job::Mend)?;
        self.on("2025-11-05 07:05", Job::Leak(RIVER_FLAT, 3, end, 2.8))?;
        self.on("2026-05-20 07:05", Job::Leak(UPPER_TERRACE_24, 13, end, 2.2))?;
        self.on("2026-07-10 07:05", Job::Leak(CHAPEL_RISE, 9, end, 2.6))?;
        self.on("2025-12-02 07:20", Job::FindPuddle)?;
        self.on("2026-06-11 07:20", Job::FindPuddle)?;
        self.on("2025-10-24 11:05", Job::SampleWrongNumber)?;
        self.on("2025-10-24 15:30", Job::RetractWrongNumber)?;
        for (day, lot, days_late) in [
            ("2025-07-17 16:10", MILL_FIELD, 4),
            ("2025-12-18 16:10", QUARRY_EDGE, 2),
            ("2026-04-30 16:10", SPRING_GARDEN, 6),
            ("2026-08-06 16:10", HOLLOW_LANE, 3),
            ("2026-10-22 16:10", CHAPEL_RISE, 5),
        ] {
            self.on(day, Job::LoseAndTellLater(lot, days_late))?;
        }
        Ok(())
    }

    fn bench(&mut self) -> Result<()> {
        self.on("2026-04-09 14:00", Job::ReceivePressWine)?;
        self.on("2026-04-16 13:30", Job::TasteInSpring)?;
        self.on("2026-04-17 13:30", Job::BlendInSpring)?;
        self.on("2026-11-19 13:30", Job::TasteInAutumn)
    }

    fn last_days(&mut self) -> Result<()> {
        self.on("2026-11-12 11:40", Job::Hold(LONG_WALL, 9, "nail varnish at the bung, sample with the lab"))?;
        self.on("2026-11-18 15:50", Job::Hold(QUARRY_EDGE, 6, "horsey, keep the hose away until the lab has called"))?;
        self.on("2026-11-23 09:30", Job::Hold(STONY_ACRE, 4, "bung found on the floor, taste before topping"))?;
        self.on("2026-11-24 08:10", Job::BeginRacking(LOW_MEADOW, 8))?;
        self.on("2026-11-24 13:10", Job::BeginBarrelDown(MILL_FIELD, 12, 5))?;
        self.on("2026-11-24 15:30", Job::FillKeg("K2"))?;
        self.on("2026-11-24 15:45", Job::FillKeg("K1"))?;
        let begins = moment("2026-11-25 05:51")?;
        let until = Some(moment("2026-11-25 06:40")?);
        let whole = round(LONG, Colour::Red, Who::Everyone, begins);
        self.plan(begins, Job::Walk(Round { until, closes: false, ..whole }));
        Ok(())
    }
}

/// When a lot is through with its second fermentation, or, where it had that before, with soaking.
fn bung_up(id: LotId) -> Result<NaiveDateTime> {
    let lot = &LOTS[id];
    if lot.vintage == 2025 && lot.colour == Colour::Red {
        let order = i64::try_from(id - CHAPEL_RISE)?;
        return Ok(moment("2026-02-10 15:00")? + TimeDelta::days(6 * order));
    }
    Ok(moment(lot.down)? + TimeDelta::days(35) + TimeDelta::hours(7))
}

fn round(room: usize, colour: Colour, who: Who, at: NaiveDateTime) -> Round {
    let kind = match (who, colour) {
        (Who::NewWood, Colour::Red) => " new wood",
        (Who::NewWood, Colour::White) => " white new wood",
        (Who::NewWood, Colour::Rose) => " rosé new wood",
        (Who::Malolactic, _) => " malolactic",
        (Who::Everyone, Colour::White) => " white",
        (Who::Everyone, Colour::Rose) => " rosé",
        (Who::Everyone, Colour::Red) => "",
    };
    let label = format!("{}{kind} {}", ROOMS[room].name, card_date(at));
    Round { label, room, colour, who, rows: "ABCDEFGH", opens: true, closes: true, paper: false, until: None }
}
