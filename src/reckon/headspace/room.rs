//! A room's rate: its level and its season, learned from every topping in it.

use serde::{Deserialize, Serialize};

use super::climate::Climate;

/// Days in a year, and what turns days into an angle.
const YEAR_DAYS: f64 = 365.25;
const ANGLE_A_DAY: f64 = std::f64::consts::TAU / YEAR_DAYS;

/// The deviation of each half of the season before anything is known of it: a third up or down (our assumption; a room
/// above ground swings by some 40 %, a cave by 15 %).
const SEASON_SPREAD: f64 = 0.25;

/// The level wanders with the weather: by 6 % in three weeks (our assumption), variance a day of its logarithm.
const LEVEL_DRIFT: f64 = 0.06 * 0.06 / 21.0;
/// No season is quite like the last: its halves wander by 5 % in a year (our assumption), variance a day.
const SEASON_DRIFT: f64 = 0.05 * 0.05 / YEAR_DAYS;

/// A round finds all barrels of a room fuller or emptier together: warmth that strays by half a degree is 0.045 L in
/// 225 L (a cork maker's table: 0.45 L from 15 to 20 °C), and hands have their habits. Deviation for a 225 L barrel, squared
/// …
const TIDE_SPREAD: f64 = 0.04 * 0.04;
/// … all of which comes within a day: from round to round nothing is known of it, within one it stays (our assumption).
const TIDE_DAYS: f64 = 1.0;
/// It is never more than five degrees make, litres for a 225 L barrel.
const TIDE_MOST: f64 = 0.45;

/// After a year unseen a room is no stranger than that (our choice), days.
const UNSEEN_MOST: f64 = YEAR_DAYS;

/// The season never takes more than this part of the level, so that a rate is never below nothing.
const SEASON_MOST: f64 = 0.8;
/// The level stays within so many times the prior, and so many parts of it.
const LEVEL_MOST: f64 = 20.0;

/// Of a surprise beyond so many standard deviations the room believes no more than that (Huber 1964): a leak or a slip
/// says nothing about the air.
const BELIEVED_DEVIATIONS: f64 = 2.5;

/// The scale of the noise of toppings follows the last few hundred of them, and begins as worth so many (our assumption).
const NOISE_FIRST: f64 = 30.0;
const NOISE_MEMORY: f64 = 300.0;
/// It stays between these: a careful hand, and a careless one.
const NOISE_RANGE: (f64, f64) = (0.1, 10.0);
/// A squared surprise counts no more than this in it.
const NOISE_SURPRISE_MOST: f64 = 9.0;

/// What a room is believed to draw from a barrel of 225 L of wet wood and the usual thirst.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct RoomRate {
    /// What the climate alone lets expect, litres a day.
    prior: f64,
    /// Its level, litres a day: the mean over the year.
    level: f64,
    /// The two halves of its season against the level: cosine and sine of the time of the year.
    season: [f64; 2],
    /// The covariance of the level's logarithm and of these two, by rows, the upper half.
    covariance: [f64; 6],
    /// By how much all its barrels are emptier than at mean warmth, litres of a 225 L barrel, and the variance of that.
    tide: f64,
    tide_variance: f64,
    /// When it last learned, days since the epoch.
    known: f64,
    /// The variance of single toppings against what is assumed of it.
    noise: f64,
    /// How many toppings it has learned from.
    seen: u32,
}

impl Default for RoomRate {
    fn default() -> RoomRate {
        RoomRate::new(&Climate::default())
    }
}

/// What a room draws in a stretch of time from its reference barrel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drawn {
    /// Litres.
    pub litres: f64,
    /// Their variance.
    pub variance: f64,
    /// How they change with the three things that are believed.
    slope: [f64; 3],
}

/// A moment, and where in the year it lies: kept, as its sine and cosine take as long as all the rest.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub(super) struct Phase {
    /// Days since the epoch.
    pub day: f64,
    sine: f64,
    cosine: f64,
}

impl Phase {
    /// The phase of a moment, days since the epoch.
    pub fn of(day: f64) -> Phase {
        let (sine, cosine) = libm::sincos(day * ANGLE_A_DAY);
        Phase { day, sine, cosine }
    }
}

/// What a topping says to the room.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lesson {
    /// What the room drew.
    pub drawn: Drawn,
    /// How many times that the barrel was expected to lose.
    pub times: f64,
    /// The barrel's surface against a 225 L barrel's.
    pub size: f64,
    /// Litres found beyond those expected.
    pub surprise: f64,
    /// The variance of that.
    pub variance: f64,
    /// When.
    pub at: f64,
}

impl RoomRate {
    /// A room in which nothing was topped yet.
    #[must_use]
    pub fn new(climate: &Climate) -> RoomRate {
        let (level, season) = (climate.spread() * climate.spread(), SEASON_SPREAD * SEASON_SPREAD);
        RoomRate {
            prior: climate.rate(),
            level: climate.rate(),
            season: [0.0; 2],
            covariance: [level, 0.0, 0.0, season, 0.0, season],
            tide: 0.0,
            tide_variance: TIDE_SPREAD,
            known: 0.0,
            noise: 1.0,
            seen: 0,
        }
    }

    /// A room that draws so many litres a day without a season and without a doubt.
    #[cfg(test)]
    pub(super) fn certain(rate: f64) -> RoomRate {
        RoomRate { prior: rate, level: rate, covariance: [0.0; 6], tide_variance: 0.0, ..RoomRate::default() }
    }

    /// How many toppings it has learned from.
    #[must_use]
    pub fn seen(&self) -> u32 {
        self.seen
    }

    /// The variance of single toppings against what is assumed of it: 1 until the room says otherwise.
    #[must_use]
    pub fn noise(&self) -> f64 {
        self.noise
    }

    /// What it draws from its reference barrel at a moment, litres a day.
    #[must_use]
    pub fn rate_at(&self, day: f64) -> f64 {
        let ([cosine, sine], phase) = (self.season(), Phase::of(day));
        self.level() * (1.0 + cosine * phase.cosine + sine * phase.sine)
    }

    /// The mean of that over the year, litres a day.
    #[must_use]
    pub fn level(&self) -> f64 {
        self.level
    }

    /// The standard deviation of the logarithm of that level at a moment.
    #[must_use]
    pub fn level_deviation(&self, day: f64) -> f64 {
        libm::sqrt((self.covariance[0] + self.drift(day)).max(0.0))
    }

    /// What it draws between two moments, days since the epoch: the integral of the rate. It grows with `to`, for the
    /// rate is above nothing.
    #[must_use]
    pub fn drawn(&self, from: f64, to: f64) -> Drawn {
        self.drawn_between(&Phase::of(from), &Phase::of(to.max(from)))
    }

    /// The same between two moments whose place in the year is known.
    pub(super) fn drawn_between(&self, from: &Phase, to: &Phase) -> Drawn {
        let days = (to.day - from.day).max(0.0);
        let cosine = (to.sine - from.sine) / ANGLE_A_DAY;
        let sine = (from.cosine - to.cosine) / ANGLE_A_DAY;
        let (level, season) = (self.level(), self.season());
        let litres = level * (days + season[0] * cosine + season[1] * sine).max(0.0);
        let slope = [litres, level * cosine, level * sine];
        let variance = self.variance(&slope) + self.drift(to.day) * litres * litres;
        Drawn { litres, variance, slope }
    }

    /// The season, held within bounds.
    fn season(&self) -> [f64; 2] {
        let [cosine, sine] = self.season;
        let squared_swing = cosine * cosine + sine * sine;
        if squared_swing <= SEASON_MOST * SEASON_MOST {
            return self.season;
        }
        let held = SEASON_MOST / libm::sqrt(squared_swing);
        [cosine * held, sine * held]
    }

    /// The variance of a sum of the three, weighted.
    fn variance(&self, weights: &[f64; 3]) -> f64 {
        let spread = self.times_covariance(weights);
        (weights[0] * spread[0] + weights[1] * spread[1] + weights[2] * spread[2]).max(0.0)
    }

    fn times_covariance(&self, weights: &[f64; 3]) -> [f64; 3] {
        super::matrix::times(&self.covariance, weights)
    }

    /// By how much all its barrels were emptier than at mean warmth when the last was opened, litres of a 225 L barrel; and
    /// the variance of that at a moment.
    pub(super) fn tide(&self, day: f64) -> (f64, f64) {
        let grown = TIDE_SPREAD * (self.unseen(day) / TIDE_DAYS);
        (self.tide, (self.tide_variance + grown).min(TIDE_SPREAD))
    }

    /// What the level's variance has grown by since it was last known.
    fn drift(&self, day: f64) -> f64 {
        LEVEL_DRIFT * self.unseen(day)
    }

    /// Learns from a topping: one step of an extended Kalman filter (Kalman 1960), in which the barrel's own uncertainty
    /// counts as noise.
    pub(super) fn learn(&mut self, lesson: &Lesson) {
        self.grow(lesson.at);
        let squared_surprise = lesson.surprise * lesson.surprise / lesson.variance;
        let weights = lesson.drawn.slope.map(|slope| slope * lesson.times);
        let spread = self.times_covariance(&weights);
        let gain = believed(lesson.surprise, squared_surprise) / lesson.variance;
        self.learn_tide(lesson, gain);
        let rise = spread[0] * gain;
        // It is the rate that rises by a part, not its logarithm: else a first surprise would be overdone. What falls
        // by the same part and rises again is what it was.
        let level = if rise > 0.0 { self.level * (1.0 + rise) } else { self.level / (1.0 - rise) };
        self.level = level.clamp(self.prior / LEVEL_MOST, self.prior * LEVEL_MOST);
        self.season[0] += spread[1] * gain;
        self.season[1] += spread[2] * gain;
        super::matrix::reduce(&mut self.covariance, &spread, lesson.variance);
        self.learn_noise(squared_surprise);
        self.seen = self.seen.saturating_add(1);
    }

    /// How full all barrels are together is learned as if nothing else were: what it has in common with the level is left
    /// out.
    fn learn_tide(&mut self, lesson: &Lesson, gain: f64) {
        let spread = self.tide_variance * lesson.size;
        self.tide = (self.tide + spread * gain).clamp(-TIDE_MOST, TIDE_MOST);
        self.tide_variance = (self.tide_variance - spread * spread / lesson.variance).max(0.0);
    }

    /// What was not seen for a while is less well known.
    fn grow(&mut self, day: f64) {
        let days = self.unseen(day);
        (_, self.tide_variance) = self.tide(day);
        self.covariance[0] += LEVEL_DRIFT * days;
        self.covariance[3] += SEASON_DRIFT * days;
        self.covariance[5] += SEASON_DRIFT * days;
        self.known = if self.seen == 0 { day } else { self.known.max(day) };
    }

    /// Days since it last learned; none before the first time, and no more than what the drift was meant for.
    fn unseen(&self, day: f64) -> f64 {
        if self.seen == 0 { 0.0 } else { (day - self.known).clamp(0.0, UNSEEN_MOST) }
    }

    /// Follows the scale of the noise: up when surprises are larger than expected, down when they are smaller.
    fn learn_noise(&mut self, squared_surprise: f64) {
        let weight = 1.0 / (f64::from(self.seen) + NOISE_FIRST).min(NOISE_MEMORY);
        let change = 1.0 + weight * (squared_surprise.min(NOISE_SURPRISE_MOST) - 1.0);
        self.noise = (self.noise * change).clamp(NOISE_RANGE.0, NOISE_RANGE.1);
    }
}

/// What is believed of a surprise, of which the square over the variance is given.
fn believed(surprise: f64, squared: f64) -> f64 {
    let most = BELIEVED_DEVIATIONS * BELIEVED_DEVIATIONS;
    if squared <= most { surprise } else { surprise * libm::sqrt(most / squared) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lesson(room: &RoomRate, from: f64, to: f64, found: f64) -> Lesson {
        let drawn = room.drawn(from, to);
        Lesson { drawn, times: 1.0, size: 1.0, surprise: found - drawn.litres, variance: drawn.variance + 0.03, at: to }
    }

    /// A year of any season is a year of its level; half of it is not.
    #[test]
    fn a_season_evens_out_over_the_year() {
        let room = RoomRate { season: [0.4, -0.3], ..RoomRate::certain(0.02) };
        let year = room.drawn(19_000.0, 19_000.0 + YEAR_DAYS).litres;
        assert!((year - 0.02 * YEAR_DAYS).abs() < 1e-9, "{year}");
        let halves = room.drawn(19_000.0, 19_000.0 + YEAR_DAYS / 2.0).litres;
        assert!((halves / year - 0.5).abs() > 0.05);
    }

    /// The integral is the sum of the rates of its days.
    #[test]
    fn what_is_drawn_is_the_sum_of_the_rates() {
        let room = RoomRate { season: [0.4, -0.3], ..RoomRate::certain(0.03) };
        let days = (0..210).map(|tenth| room.rate_at(20_000.05 + f64::from(tenth) / 10.0) / 10.0);
        let sum: f64 = days.sum();
        assert!((room.drawn(20_000.0, 20_021.0).litres - sum).abs() < 1e-6);
    }

    #[test]
    fn a_season_wider_than_the_level_is_held_back() {
        let room = RoomRate { season: [3.0, 4.0], ..RoomRate::certain(0.02) };
        assert!((0..366).all(|day| room.rate_at(f64::from(day)) > 0.003));
        assert!(room.drawn(20_000.0, 20_001.0).litres > 0.0);
    }

    #[test]
    fn it_learns_a_level_three_times_the_published() {
        let mut room = RoomRate::default();
        for barrel in 0..40 {
            let found = if barrel % 2 == 0 { 1.1 } else { 1.4 };
            room.learn(&lesson(&room, 20_000.0, 20_021.0, found));
        }
        let drawn = room.drawn(20_000.0, 20_021.0);
        assert!((drawn.litres - 1.25).abs() < 0.05, "{drawn:?}");
        assert!(libm::sqrt(drawn.variance) < 0.06, "{drawn:?}");
    }

    #[test]
    fn one_absurd_barrel_moves_it_no_more_than_a_large_surprise() {
        let (mut calm, mut shaken) = (RoomRate::default(), RoomRate::default());
        for _ in 0..20 {
            let lesson = lesson(&calm, 20_000.0, 20_021.0, 0.5);
            calm.learn(&lesson);
            shaken.learn(&lesson);
        }
        shaken.learn(&lesson(&shaken, 20_000.0, 20_021.0, 50.0));
        assert!(shaken.level() < 1.2 * calm.level(), "{} and {}", shaken.level(), calm.level());
    }
}
