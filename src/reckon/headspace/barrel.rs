//! A barrel's own thirst, beside what its room draws.

use serde::{Deserialize, Serialize};

use super::climate;
use super::estimate::Basis;
use super::leak::{Leak, Reading, Verdict, Watch};
use super::matrix;
use super::noise;
use super::room::{Drawn, Lesson, Phase, RoomRate};
use super::soak::{self, Wall};

/// The deviation of a barrel's factor before anything is known of it: neighbours differ up to threefold (cellar diaries),
/// most by a quarter either way (our assumption).
const FACTOR_SPREAD: f64 = 0.25;
/// Wood changes slowly: by a tenth in a year (our assumption), variance a day …
const FACTOR_DRIFT: f64 = 0.1 * 0.1 / 365.25;
/// … and a leak faster: by a fifth in three weeks (our assumption).
const LEAK_DRIFT: f64 = 0.2 * 0.2 / 21.0;
/// Between two fills, dried and swelled again, it may change by as much as this (our assumption), variance.
const REFILL_CHANGE: f64 = 0.1 * 0.1;
/// What the factor may become with a leak: its deviation when one has just been found (our assumption).
const LEAK_SPREAD: f64 = 1.0;
/// How far the first filling strays from what the meter says, litres (our assumption: a thousandth of the barrel).
const FILLING_SPREAD: f64 = 0.25;

/// A barrel of which nobody knows when it was last topped may be out by as much as this beside what the time does, litres (our
/// assumption).
const UNSEEN_SPREAD: f64 = 0.5;

/// The factor stays between these.
const FACTOR_RANGE: (f64, f64) = (0.05, 50.0);
/// No error of a hand is larger, litres.
const CARRY_MOST: f64 = 5.0;

/// Of a surprise beyond so many standard deviations the barrel believes less: it is taken for a reading so bad that it
/// lies just there (Huber 1964).
pub(super) const BELIEVED_DEVIATIONS: f64 = 3.5;

/// How fast one barrel drinks against its room, and what of its last topping is still to show.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Thirst {
    /// Its surface against a 225 L barrel's.
    size: f64,
    /// Its factor against its neighbours, litres poured too much the last time, litres that its wood drinks in all.
    mean: [f64; 3],
    /// Their covariance, by rows, the upper half.
    covariance: [f64; 6],
    /// When it was filled, days since the epoch.
    filled: f64,
    /// Since when it lies in its room with nothing known of its level, days.
    since: Phase,
    /// What the rooms that it lay in before drew since its level was last known, litres for a factor of one …
    before: f64,
    /// … and the variance of that.
    before_variance: f64,
    /// How often its level was found in this fill.
    found: u32,
    /// Whether it leaks.
    watch: Watch,
}

/// What a barrel has lost since its level was last known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loss {
    /// Litres, at least nothing; what a person will pour, as far as the book does not know it.
    pub litres: f64,
    /// The standard deviation of what will be poured, litres.
    pub deviation: f64,
}

/// What is expected of the next topping, in its parts.
struct Outlook {
    drawn: Drawn,
    /// How much a factor of one loses by evaporation, litres.
    exposure: f64,
    /// What is expected to be found.
    expected: f64,
    /// The covariance of what is found with factor, carry and soak.
    spread: [f64; 3],
    /// By how much it is emptier, as all barrels of its room are, litres.
    tide: f64,
    /// The variance of what the next topping will find of this one's error, the tide's with it.
    strays: f64,
    /// The variance of what is found.
    variance: f64,
}

impl Thirst {
    /// A barrel of which nothing is known but what it holds, litres.
    #[must_use]
    pub fn new(capacity_litres: f64) -> Thirst {
        Thirst {
            size: climate::size(capacity_litres),
            mean: [1.0, 0.0, 0.0],
            covariance: [FACTOR_SPREAD * FACTOR_SPREAD, 0.0, 0.0, 0.0, 0.0, 0.0],
            filled: 0.0,
            since: Phase::of(0.0),
            before: 0.0,
            before_variance: 0.0,
            found: 0,
            watch: Watch::default(),
        }
    }

    /// It holds another volume than was thought, litres.
    pub fn resize(&mut self, capacity_litres: f64) {
        self.size = climate::size(capacity_litres);
    }

    /// It is filled. Of the wood's thirst the last fill tells something, of the last topping nothing.
    pub fn fill(&mut self, wall: Wall, day: f64) {
        let (drink, drink_variance) = soak::thirst_of(wall, self.size);
        let known = if self.found > 0 { REFILL_CHANGE } else { 0.0 };
        let factor_variance = (self.covariance[0] + known).min(FACTOR_SPREAD * FACTOR_SPREAD);
        let filling = FILLING_SPREAD * FILLING_SPREAD * self.size * self.size;
        let factor = self.watch.sound_factor(self.mean[0]);
        self.mean = [factor, 0.0, drink];
        self.covariance = [factor_variance, 0.0, 0.0, filling, 0.0, drink_variance];
        self.filled = day;
        self.found = 0;
        self.watch = Watch::default();
        self.starts(Phase::of(day));
    }

    /// It is carried out of a room: what that one drew stays drawn.
    pub fn leave(&mut self, room: &RoomRate, day: f64) {
        let now = self.until(day);
        let drawn = room.drawn_between(&self.since, &now);
        self.before += self.size * drawn.litres;
        self.before_variance += self.size * self.size * drawn.variance;
        self.covariance[0] += self.drift(day);
        self.since = now;
    }

    /// Its factor against its neighbours, which are 1 in the mean.
    #[must_use]
    pub fn factor(&self) -> f64 {
        self.mean[0]
    }

    /// How often its level was found in this fill.
    #[must_use]
    pub fn findings(&self) -> u32 {
        self.found
    }

    /// The standard deviation of its factor.
    #[must_use]
    pub fn factor_deviation(&self) -> f64 {
        libm::sqrt(self.covariance[0])
    }

    /// Whether it drinks more than it should, how much more, and since when.
    #[must_use]
    pub fn leak(&self) -> Option<Leak> {
        self.watch.leak(self.mean[0])
    }

    /// What an estimate of it rests on.
    #[must_use]
    pub fn basis(&self, room: &RoomRate, climate_is_stated: bool) -> Basis {
        // Its own toppings weigh more than its neighbours' once they have halved what was not known of its factor.
        let known = self.found > 0 && self.covariance[0] < FACTOR_SPREAD * FACTOR_SPREAD / 2.0;
        if known || self.watch.leaks() {
            Basis::Own
        } else if room.seen() > 0 {
            Basis::Room
        } else if climate_is_stated {
            Basis::Climate
        } else {
            Basis::Published
        }
    }

    /// What it has lost at a moment since its level was last known, beyond `found` litres that are known of already.
    #[must_use]
    pub fn loss(&self, room: &RoomRate, found: f64, day: f64) -> Loss {
        let outlook = self.outlook(room, &self.until(day));
        Loss { litres: (outlook.expected - found).max(0.0), deviation: libm::sqrt(outlook.variance) }
    }

    /// The same where it is not known when it was last brimful: as if one usual interval before its toppings began to be written
    /// down, give or take as much as an interval draws, and half a litre.
    #[must_use]
    pub fn loss_unrecorded(&self, room: &RoomRate, found: f64, day: f64, usual_days: f64) -> Loss {
        let earlier = Thirst { since: Phase::of(self.since.day - usual_days), ..*self };
        let outlook = earlier.outlook(room, &self.until(day));
        let interval = self.mean[0] * self.size * room.drawn_between(&earlier.since, &self.since).litres;
        let unseen = UNSEEN_SPREAD * self.size;
        let variance = outlook.variance + interval * interval + unseen * unseen;
        Loss { litres: (outlook.expected - found).max(0.0), deviation: libm::sqrt(variance) }
    }

    /// Nothing was written down of it before a day. Where that holds for its filling too, its wood is taken to have drunk what it
    /// drinks, as surely as is known of it.
    pub fn forget(&mut self, day: f64, filled_before: bool) {
        if filled_before {
            self.mean[2] = 0.0;
        }
        self.begin(day);
    }

    /// Its level is known from here on, as after a filling; what was found tells nothing of it.
    pub fn begin(&mut self, day: f64) {
        let filling = FILLING_SPREAD * FILLING_SPREAD * self.size * self.size;
        self.mean[1] = 0.0;
        let [factor, _, factor_and_soak, _, _, soak] = self.covariance;
        self.covariance = [factor, 0.0, factor_and_soak, filling, 0.0, soak];
        self.starts(Phase::of(day));
    }

    /// Its level was found: so many litres were lost since it was last known, fewer than none where the last topping had
    /// overfilled it. The barrel learns, and with `teaches` its room does.
    pub fn find(&mut self, room: &mut RoomRate, lost: f64, day: f64, teaches: bool) {
        let now = self.until(day);
        let outlook = self.outlook(room, &now);
        let surprise = lost - outlook.expected;
        let reading = Reading {
            surprise,
            variance: outlook.variance,
            exposure: outlook.exposure,
            factor: self.mean[0],
            spread: [outlook.spread[0], outlook.strays],
            from: self.since.day,
        };
        match self.watch.read(&reading) {
            Verdict::Nothing => self.learn(&outlook, surprise, day, BELIEVED_DEVIATIONS),
            Verdict::Leaks { misled } => {
                self.mean[0] -= misled[0];
                self.mean[1] -= misled[1];
                self.covariance = [LEAK_SPREAD * LEAK_SPREAD, 0.0, 0.0, self.covariance[3], 0.0, self.covariance[5]];
                let wide = self.outlook(room, &now);
                self.learn(&wide, lost - wide.expected, day, f64::INFINITY);
            }
            Verdict::Mended { factor } => {
                self.mean[0] = factor;
                self.covariance = [REFILL_CHANGE, 0.0, 0.0, self.covariance[3], 0.0, self.covariance[5]];
                let sound = self.outlook(room, &now);
                self.learn(&sound, lost - sound.expected, day, BELIEVED_DEVIATIONS);
            }
        }
        if teaches {
            let times = reading.factor * self.size;
            let variance = outlook.variance;
            room.learn(&Lesson { drawn: outlook.drawn, times, size: self.size, surprise, variance, at: day });
        }
        self.found = self.found.saturating_add(1);
        self.starts(now);
    }

    /// One step of a Kalman filter (Kalman 1960), in which the error of this topping becomes the carry of the next.
    fn learn(&mut self, outlook: &Outlook, surprise: f64, day: f64, believed_deviations: f64) {
        self.covariance[0] += self.drift(day);
        let most = believed_deviations * believed_deviations * outlook.variance;
        // A reading beyond the limit is taken for one whose variance puts it there.
        let squared = surprise * surprise;
        let variance =
            if squared > most { squared / (believed_deviations * believed_deviations) } else { outlook.variance };
        let [factor, _, soak] = outlook.spread;
        let carried = outlook.strays;
        let gain = surprise / variance;
        self.mean[0] = (self.mean[0] + factor * gain).clamp(FACTOR_RANGE.0, FACTOR_RANGE.1);
        self.mean[1] = (outlook.tide + carried * gain).clamp(-CARRY_MOST, CARRY_MOST);
        self.mean[2] = (self.mean[2] + soak * gain).max(0.0);
        self.covariance[1] = 0.0;
        self.covariance[3] = carried;
        self.covariance[4] = 0.0;
        matrix::reduce(&mut self.covariance, &[factor, carried, soak], variance);
    }

    /// From here on nothing is known of its level.
    fn starts(&mut self, now: Phase) {
        self.since = now;
        self.before = 0.0;
        self.before_variance = 0.0;
    }

    /// A moment, not before its level was last known.
    fn until(&self, day: f64) -> Phase {
        if day > self.since.day { Phase::of(day) } else { self.since }
    }

    /// By how much the variance of its factor has grown.
    fn drift(&self, day: f64) -> f64 {
        let rate = if self.watch.leaks() { LEAK_DRIFT } else { FACTOR_DRIFT };
        (rate * (day - self.since.day).max(0.0)).min(1.0)
    }

    fn outlook(&self, room: &RoomRate, now: &Phase) -> Outlook {
        let day = now.day;
        let drawn = room.drawn_between(&self.since, now);
        let exposure = self.before + self.size * drawn.litres;
        let age = self.since.day - self.filled;
        let soaked = soak::share(age, age + (day - self.since.day).max(0.0));
        let [factor, carry, soak] = self.mean;
        let parts = [exposure, -1.0, soaked];
        let mut spread = matrix::times(&self.covariance, &parts);
        spread[0] += self.drift(day) * exposure;
        let lost = factor * exposure + soak * soaked;
        let noise = noise::of_topping(lost, room.noise());
        let (tide, tide_variance) = room.tide(day);
        let tide = self.size * tide;
        let strays = noise.carried + self.size * self.size * tide_variance;
        let from_room = factor * factor * (self.before_variance + self.size * self.size * drawn.variance);
        let shape = soak::SHAPE_SPREAD * soak * soaked;
        let variance = matrix::dot(&parts, &spread).max(0.0) + from_room + shape * shape + strays + noise.passing;
        Outlook { drawn, exposure, expected: lost - carry + tide, spread, tide, strays, variance }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(value: f64, expected: f64, within: f64) -> bool {
        (value - expected).abs() <= within
    }

    fn used_barrel(factor_deviation: f64, carry_deviation: f64) -> Thirst {
        let mut thirst = Thirst::new(225.0);
        thirst.fill(Wall::NoWood, 0.0);
        thirst.covariance =
            [factor_deviation * factor_deviation, 0.0, 0.0, carry_deviation * carry_deviation, 0.0, 0.0];
        thirst.since = Phase::of(1_000.0);
        thirst
    }

    /// The example of the module's text, worked there with a pencil.
    #[test]
    fn the_example_of_the_text() {
        let mut room = RoomRate::certain(0.05);
        let mut thirst = used_barrel(0.2, 0.05);
        let before = thirst.loss(&room, 0.0, 1_020.0);
        assert!(near(before.litres, 1.0, 1e-9) && near(before.deviation, 0.27, 0.005), "{before:?}");
        thirst.find(&mut room, 1.3, 1_020.0, false);
        assert!(near(thirst.factor(), 1.17, 0.005), "{thirst:?}");
        assert!(near(thirst.mean[1], 0.12, 0.005), "{thirst:?}");
        // Twenty days more: 1.17 L less the carry.
        assert!(near(thirst.loss(&room, 0.0, 1_040.0).litres, 1.05, 0.01));
    }

    #[test]
    fn what_was_poured_too_much_is_not_poured_again() {
        let mut room = RoomRate::certain(0.05);
        let mut thirst = used_barrel(0.01, 0.01);
        thirst.find(&mut room, 1.4, 1_020.0, false);
        let (after, tomorrow) = (thirst.loss(&room, 0.0, 1_020.0), thirst.loss(&room, 0.0, 1_021.0));
        assert_eq!(after.litres.to_bits(), 0.0_f64.to_bits());
        assert!(tomorrow.litres < 0.05);
    }

    #[test]
    fn what_the_old_room_drew_stays_drawn() {
        let (damp, dry) = (RoomRate::certain(0.01), RoomRate::certain(0.06));
        let mut thirst = used_barrel(0.1, 0.05);
        thirst.leave(&dry, 1_010.0);
        assert!(near(thirst.loss(&damp, 0.0, 1_020.0).litres, 0.6 + 0.1, 1e-9));
    }

    #[test]
    fn a_barrel_that_is_filled_again_keeps_its_factor_less_surely() {
        let mut room = RoomRate::certain(0.05);
        let mut thirst = used_barrel(0.25, 0.05);
        for round in 1..=8 {
            thirst.find(&mut room, 1.4, 1_000.0 + 20.0 * f64::from(round), false);
        }
        let (factor, deviation) = (thirst.factor(), thirst.factor_deviation());
        assert!(near(factor, 1.38, 0.06), "{factor}");
        thirst.fill(Wall::WetWood, 1_200.0);
        assert_eq!(thirst.factor().to_bits(), factor.to_bits());
        assert!(thirst.factor_deviation() > deviation && thirst.factor_deviation() <= FACTOR_SPREAD);
    }

    #[test]
    fn new_wood_drinks_most_at_first() {
        let room = RoomRate::default();
        let mut thirst = Thirst::new(225.0);
        thirst.fill(Wall::NewWood, 0.0);
        let lost = |day: f64| thirst.loss(&room, 0.0, day).litres;
        // 4 L of soak-in in all, 1.2 of them in the first week, and 20 mL a day.
        assert!(near(lost(7.0), 1.18 + 0.14, 0.01), "{}", lost(7.0));
        assert!(near(lost(100.0), 3.97 + 2.0, 0.02), "{}", lost(100.0));
    }

    #[test]
    fn it_says_what_it_rests_on() {
        let (mut room, mut thirst) = (RoomRate::default(), Thirst::new(225.0));
        thirst.fill(Wall::NoWood, 0.0);
        assert_eq!(thirst.basis(&room, false), Basis::Published);
        assert_eq!(thirst.basis(&room, true), Basis::Climate);
        let mut other = thirst;
        other.find(&mut room, 1.0, 21.0, true);
        assert_eq!(thirst.basis(&room, true), Basis::Room);
        for round in 2..12 {
            other.find(&mut room, 1.0, 21.0 * f64::from(round), true);
        }
        assert_eq!(other.basis(&room, true), Basis::Own);
    }
}
