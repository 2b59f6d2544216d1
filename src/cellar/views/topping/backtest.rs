//! The backtest: the facts are gone through once more, and before each topping is seen it is forecast.

use crate::cellar::core::evolve::evolve;
use crate::cellar::core::fact::{Stamp, What};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{RoomId, State};
use crate::cellar::jobs::floor::vessel::VesselType;
use crate::cellar::jobs::topping::Topped;
use crate::reckon::backtest::Trial;
use crate::units::Volume;

/// Minutes in a day.
const DAY_MINUTES: f64 = 1_440.0;
/// Toppings sooner than this after the level was known say nothing of a rate, days.
const LEAST_DAYS: f64 = 3.0;

/// A fold that forecasts as it goes.
#[derive(Clone, Debug, Default)]
pub struct Backtest {
    /// The fold so far.
    pub state: State,
    /// The forecasts so far, and in which room each was.
    pub trials: Vec<(RoomId, Trial)>,
}

impl Backtest {
    /// Forecasts a fact if it is a topping to the brim, and folds it. Facts that are taken back do not come.
    pub fn fold(&mut self, stamp: &Stamp, what: &What) {
        if let What::Topped(topped) = what {
            self.trials.extend(self.state.one_trial(topped, stamp.at));
        }
        evolve(&mut self.state, stamp, what);
    }
}

impl State {
    /// What is said of a topping before it is seen, where all forecasts have something to say: of a barrel that lies in a
    /// room and whose level was found before.
    fn one_trial(&self, topped: &Topped, at: Moment) -> Option<(RoomId, Trial)> {
        let vessel = self.vessels.get(self.vessels.find(topped.vessel.as_str())?);
        let days = at.elapsed_days(vessel.level_known?);
        let counts = topped.full && vessel.kept_full && vessel.vessel_type == VesselType::Barrel && days >= LEAST_DAYS;
        let room = vessel.slot?.room;
        let estimate = self.headspace(vessel, at);
        let trial = Trial {
            found: topped.volume.as_litres(),
            said: estimate.missing.as_litres(),
            deviation: estimate.deviation.as_litres(),
            known: vessel.book_headspace().as_litres() - vessel.found(),
            days,
            last_rate: Volume::from_ul(vessel.last_rate?.0).as_litres(),
            room_rate: self.mean_rate(room)?,
            earlier: vessel.thirst.findings(),
        };
        counts.then_some((room, trial))
    }

    /// What barrels of a room lost so far, litres a day.
    fn mean_rate(&self, room: RoomId) -> Option<f64> {
        let room = self.rooms.get(room);
        let days = room.barrel_minutes as f64 / DAY_MINUTES;
        (room.barrel_minutes > 0).then(|| room.evaporation_found.as_litres() / days)
    }
}
