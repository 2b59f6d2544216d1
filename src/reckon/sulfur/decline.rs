//! The forecast of free sulfur dioxide between tests: a first-order decline whose rate is learned from a wine's own tests.
//!
//! The level falls by a constant share a day, f(t) = f(0) e^(−k t). The rate k is not known: a grid of rates is kept, each
//! with its own level and the level's variance, and every test moves the levels (a Kalman filter of one number) and weighs
//! the rates by how well they foresaw it. Before the first fall is seen the published rate holds; a few tests over
//! months outweigh it, two tests on one day do not. Additions count with what of them stays free, and widen the band,
//! for the bound share is never quite known; a test just after one says little.
//!
//! A barrel's own tests, or a lot's where its barrels are treated alike. Days are counted on any one clock.
//!
//! **The decline of free sulfur dioxide** is a grid of 49 rates around a published one, each with a level of its own: exact for every rate,
//! no slope to get stuck on, never a rising forecast. A test three deviations off starts the level anew, since somebody forgot to write
//! something down. Constants and sources: the text of `reckon::sulfur::decline`.

use super::wine::{SULFUR_DIOXIDE_MG_L, SulfurError, within};

/// What a wine loses before its own tests say more, of its free a day. Derived from two published figures: a new barrel lets
/// in 11.4 mg/L of oxygen a year (OENO One 2021, "Oxygen gas transfer through oak barrels"), and a wine loses 2.5 mg of
/// free SO₂ to each mg of oxygen (Pascal, Diéval and Vidal, in bottle); of 30 mg/L, the middle of the usual 20 to
/// 40, that is 8 % a month.
pub const PUBLISHED_RATE: f64 = 11.4 * 2.5 / 365.0 / 30.0;
/// The deviation of the logarithm of a wine's own rate: a factor two either way (our assumption; the wood's age, racking and
/// open bungs change the oxygen, and the wine what it binds).
const RATE_SPREAD: f64 = 0.7;
/// The grid runs so many spreads to both sides …
const GRID_SPREADS: f64 = 3.0;
/// … in so many rates.
const GRID: u32 = 49;

/// The deviation of a test, mg/L, and the part of the level that comes to it: method, sample and barrel (our assumption).
const TEST_MG_L: f64 = 2.0;
const TEST_PART: f64 = 0.05;
/// What strays from a constant decline: the variance in a day as a part of the squared level, a twentieth of the level in a
/// month (our assumption; toppings, rackings, warmth).
const WANDER_A_DAY: f64 = 0.05 * 0.05 / 30.0;
/// The deviation of what stays free of an addition, a part of it: a share free of 35 to 75 % is met.
const ADDITION_PART: f64 = 0.2;
/// A test this many deviations off is taken for something that nobody wrote down, an addition or a leak: the level starts
/// anew from it, and it says no more of the rate than one just so far off.
const UNFORESEEN: f64 = 3.0;
/// So many days after an addition a test may find a layer of it: layers were published in unstirred barrels after six days.
const SETTLING_DAYS: f64 = 7.0;

/// The band holds nine in ten: the deviations to each side of the mean.
const BAND: f64 = 1.645;
/// No forecast looks further than this, days.
const HORIZON_DAYS: f64 = 3_650.0;
/// How often the days are halved: ten years to below a second.
const HALVINGS: u32 = 30;

/// A test of free sulfur dioxide.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tested {
    /// When, in days.
    pub day: f64,
    /// What was found, mg/L.
    pub free_mg_l: f64,
}

/// An addition of sulfur dioxide.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Added {
    /// When, in days.
    pub day: f64,
    /// By how much the free rises once the bound share is bound, mg/L; see [`super::Addition::free_rise_mg_l`].
    pub free_rise_mg_l: f64,
}

/// A level that is forecast, mg/L of free.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Level {
    /// The mean.
    pub free_mg_l: f64,
    /// One in twenty is below this; never less than nothing.
    pub low_mg_l: f64,
    /// One in twenty is above this.
    pub high_mg_l: f64,
}

/// What happened to the wine, in order.
#[derive(Clone, Copy, Debug)]
enum Event {
    Test(Tested),
    Addition(Added),
}

impl Event {
    const fn day(&self) -> f64 {
        match self {
            Event::Test(test) => test.day,
            Event::Addition(addition) => addition.day,
        }
    }
}

/// A level under one rate.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Track {
    /// The rate, a day.
    rate: f64,
    /// The logarithm of how well the rate foresaw the tests, its own likelihood beforehand included.
    score: f64,
    /// mg/L.
    level: f64,
    /// (mg/L)².
    variance: f64,
}

impl Track {
    fn after(self, days: f64) -> Track {
        let left = libm::exp(-self.rate * days);
        let wandered = WANDER_A_DAY * days * self.level * self.level;
        Track { level: self.level * left, variance: (self.variance + wandered) * left * left, ..self }
    }

    fn raised(self, rise: f64) -> Track {
        let unsure = ADDITION_PART * rise;
        Track { level: self.level + rise, variance: self.variance + unsure * unsure, ..self }
    }

    fn tested(self, found: f64, test_variance: f64) -> Track {
        let spread = self.variance + test_variance;
        let surprise = found - self.level;
        let deviations = surprise.abs() / libm::sqrt(spread);
        if deviations > UNFORESEEN {
            let score = self.score - 0.5 * (libm::log(spread) + UNFORESEEN * UNFORESEEN);
            return Track { score, level: found, variance: test_variance, ..self };
        }
        let gain = self.variance / spread;
        Track {
            score: self.score - 0.5 * (libm::log(spread) + deviations * deviations),
            level: (self.level + gain * surprise).max(0.0),
            variance: self.variance * (1.0 - gain),
            ..self
        }
    }
}

/// A forecast of free sulfur dioxide.
#[derive(Clone, Debug, PartialEq)]
pub struct Forecast {
    tracks: Vec<Track>,
    /// Parts of one, a track each.
    weights: Vec<f64>,
    day: f64,
    tests: usize,
}

impl Forecast {
    /// Learns from tests and additions in any order. On one moment a test was taken before the addition. Additions before
    /// the first test are known by it already.
    pub fn of(tests: &[Tested], additions: &[Added]) -> Result<Forecast, SulfurError> {
        let mut events = Vec::with_capacity(tests.len() + additions.len());
        for test in tests {
            within(test.free_mg_l, SULFUR_DIOXIDE_MG_L, SulfurError::Free)?;
            events.push(Event::Test(*test));
        }
        for addition in additions {
            within(addition.free_rise_mg_l, SULFUR_DIOXIDE_MG_L, SulfurError::Addition)?;
            events.push(Event::Addition(*addition));
        }
        if events.iter().any(|event| !event.day().is_finite()) {
            return Err(SulfurError::Day);
        }
        // The order is stable: tests stand before additions of the same moment.
        events.sort_by(|one, other| one.day().total_cmp(&other.day()));
        let first = events.iter().position(|event| matches!(event, Event::Test(_))).ok_or(SulfurError::NoTest)?;
        let mut forecast =
            Forecast { tracks: grid(), weights: Vec::new(), day: events[first].day(), tests: tests.len() };
        let mut added: Option<Added> = None;
        for (at, event) in events[first..].iter().enumerate() {
            forecast.pass_to(event.day());
            match event {
                Event::Addition(addition) => {
                    added = Some(*addition);
                    forecast.change(|track| track.raised(addition.free_rise_mg_l));
                }
                Event::Test(test) if at == 0 => {
                    let (level, variance) = (test.free_mg_l, test_variance(test, None));
                    forecast.change(|track| Track { level, variance, ..track });
                }
                Event::Test(test) => {
                    let variance = test_variance(test, added);
                    forecast.change(|track| track.tested(test.free_mg_l, variance));
                }
            }
        }
        forecast.weights = weights(&forecast.tracks);
        Ok(forecast)
    }

    fn change(&mut self, change: impl Fn(Track) -> Track) {
        self.tracks.iter_mut().for_each(|track| *track = change(*track));
    }

    fn pass_to(&mut self, day: f64) {
        let days = day - self.day;
        self.change(|track| track.after(days));
        self.day = day;
    }

    /// The day of the last test or addition, from which the forecast runs.
    #[must_use]
    pub const fn from_day(&self) -> f64 {
        self.day
    }

    /// How many tests it rests on. With one there is nothing but the published rate.
    #[must_use]
    pub const fn tests(&self) -> usize {
        self.tests
    }

    /// The share of the free that is expected to go in a day, 0 to 1.
    #[must_use]
    pub fn rate_a_day(&self) -> f64 {
        self.mean(|track| track.rate)
    }

    /// The level on a day. Before [`Self::from_day`] it is the level of that day, beyond ten years that of ten years later.
    #[must_use]
    pub fn at(&self, day: f64) -> Level {
        // A day that is no number gives the level now.
        let days = if day > self.day { (day - self.day).min(HORIZON_DAYS) } else { 0.0 };
        let mean = self.mean(|track| track.after(days).level);
        let variance = self.mean(|track| {
            let then = track.after(days);
            then.variance + (then.level - mean) * (then.level - mean)
        });
        let half = BAND * libm::sqrt(variance);
        Level { free_mg_l: mean, low_mg_l: (mean - half).max(0.0), high_mg_l: mean + half }
    }

    /// The day on which the mean falls below a floor of free sulfur dioxide, mg/L; [`Self::from_day`] where it is below
    /// already, `None` where it stays above for ten years. The floor of a molecular is [`super::Balance::free_mg_l`].
    #[must_use]
    pub fn day_below(&self, floor_mg_l: f64) -> Option<f64> {
        self.first_day(|level| level.free_mg_l < floor_mg_l)
    }

    /// The day from which on it may be below a floor: the lower end of the band is.
    #[must_use]
    pub fn day_perhaps_below(&self, floor_mg_l: f64) -> Option<f64> {
        self.first_day(|level| level.low_mg_l < floor_mg_l)
    }

    fn first_day(&self, below: impl Fn(Level) -> bool) -> Option<f64> {
        if below(self.at(self.day)) {
            return Some(self.day);
        }
        let (mut above, mut under) = (0.0, HORIZON_DAYS);
        if !below(self.at(self.day + under)) {
            return None;
        }
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(above, under);
            if below(self.at(self.day + middle)) {
                under = middle;
            } else {
                above = middle;
            }
        }
        Some(self.day + under)
    }

    fn mean(&self, value: impl Fn(&Track) -> f64) -> f64 {
        self.tracks.iter().zip(&self.weights).map(|(track, weight)| weight * value(track)).sum()
    }
}

/// The rates around the published one, each with the logarithm of its likelihood beforehand.
fn grid() -> Vec<Track> {
    (0..GRID)
        .map(|at| {
            let spreads = GRID_SPREADS * (2.0 * f64::from(at) / f64::from(GRID - 1) - 1.0);
            let rate = PUBLISHED_RATE * libm::exp(spreads * RATE_SPREAD);
            Track { rate, score: -0.5 * spreads * spreads, level: 0.0, variance: 0.0 }
        })
        .collect()
}

fn test_variance(test: &Tested, added: Option<Added>) -> f64 {
    let part = TEST_PART * test.free_mg_l;
    let layer = added
        .filter(|added| test.day - added.day < SETTLING_DAYS)
        .map_or(0.0, |added| ADDITION_PART * added.free_rise_mg_l);
    TEST_MG_L * TEST_MG_L + part * part + layer * layer
}

/// The scores as parts of one.
fn weights(tracks: &[Track]) -> Vec<f64> {
    let best = tracks.iter().map(|track| track.score).fold(f64::NEG_INFINITY, f64::max);
    let raw: Vec<f64> = tracks.iter().map(|track| libm::exp(track.score - best)).collect();
    let sum: f64 = raw.iter().sum();
    raw.into_iter().map(|weight| weight / sum).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn test(day: f64, free_mg_l: f64) -> Tested {
        Tested { day, free_mg_l }
    }

    fn learned(tests: &[Tested]) -> Forecast {
        Forecast::of(tests, &[]).unwrap()
    }

    fn falling(rate: f64, every: f64, count: u32) -> Vec<Tested> {
        (0..count).map(|at| f64::from(at) * every).map(|day| test(day, 40.0 * (-rate * day).exp())).collect()
    }

    /// 11.4 mg of oxygen a litre and year at 2.5 mg of free SO₂ each, of 30 mg/L: 28.5 mg/L in a year, 8 % in a month.
    #[test]
    fn the_published_rate() {
        assert!((PUBLISHED_RATE * 30.0 * 365.0 - 28.5).abs() < 1e-9);
        assert!((PUBLISHED_RATE * 30.4 - 0.079).abs() < 0.001);
    }

    #[test]
    fn one_test_gives_the_published_rate_and_a_wide_band() {
        let forecast = learned(&[test(100.0, 30.0)]);
        let (now, later) = (forecast.at(100.0), forecast.at(190.0));
        assert!((now.free_mg_l - 30.0).abs() < 1e-9 && now.high_mg_l - now.low_mg_l < 9.0, "{now:?}");
        // Three months at 8 % are 23 of 30 mg/L; rates above the middle pull the mean a little down.
        assert!((20.0..24.0).contains(&later.free_mg_l), "{later:?}");
        assert!(later.high_mg_l - later.low_mg_l > 12.0, "{later:?}");
        assert_eq!((forecast.tests(), forecast.from_day()), (1, 100.0));
    }

    #[test]
    fn its_own_tests_outweigh_the_published_rate() {
        for rate in [0.0012, 0.0026, 0.006] {
            let forecast = learned(&falling(rate, 30.0, 10));
            let found = forecast.rate_a_day();
            assert!((found / rate - 1.0).abs() < 0.25, "{found} for {rate}");
            let (expected, told) = (40.0 * (-rate * 330.0_f64).exp(), forecast.at(330.0));
            assert!(told.low_mg_l < expected && expected < told.high_mg_l, "{told:?}, not {expected}");
        }
    }

    #[test]
    fn two_tests_a_second_apart_say_nothing_of_the_rate() {
        let (one, two) = (learned(&[test(0.0, 30.0)]), learned(&[test(0.0, 30.0), test(1.0 / 86_400.0, 26.0)]));
        assert!((one.rate_a_day() / two.rate_a_day() - 1.0).abs() < 0.01);
        let level = two.at(0.0);
        assert!((27.0..29.0).contains(&level.free_mg_l), "{level:?}");
    }

    #[test]
    fn rising_values_are_taken_for_a_slow_decline_and_never_rise_on() {
        let forecast = learned(&[test(0.0, 20.0), test(30.0, 26.0), test(60.0, 33.0)]);
        assert!(forecast.rate_a_day() > 0.0 && forecast.rate_a_day() < PUBLISHED_RATE, "{}", forecast.rate_a_day());
        assert!(forecast.at(90.0).free_mg_l < forecast.at(60.0).free_mg_l);
    }

    #[test]
    fn a_level_that_is_gone_is_believed() {
        let forecast = learned(&[test(0.0, 30.0), test(30.0, 0.0), test(31.0, 0.0)]);
        assert!(forecast.at(31.0).free_mg_l < 5.0, "{:?}", forecast.at(31.0));
        assert!(forecast.at(31.0).low_mg_l < 2.0, "{:?}", forecast.at(31.0));
    }

    #[test]
    fn an_addition_that_nobody_wrote_down_starts_anew() {
        let mut tests = falling(0.0026, 30.0, 4);
        tests.push(test(120.0, 60.0));
        let (before, after) = (learned(&tests[..4]), learned(&tests));
        assert!((after.at(120.0).free_mg_l - 60.0).abs() < 0.1, "{:?}", after.at(120.0));
        assert!((after.rate_a_day() / before.rate_a_day() - 1.0).abs() < 0.25, "{}", after.rate_a_day());
    }

    #[test]
    fn an_addition_counts_with_what_stays_free_and_is_no_rise_of_the_rate() {
        let tests = [test(0.0, 30.0), test(60.0, 26.0), test(61.0, 46.0), test(120.0, 39.5)];
        let additions = [Added { day: 60.0, free_rise_mg_l: 20.0 }];
        let counted = Forecast::of(&tests, &additions).unwrap();
        assert!((counted.rate_a_day() / 0.0026 - 1.0).abs() < 0.35, "{}", counted.rate_a_day());
        // An addition after the last test: the mean rises by it, the band widens by a fifth of it.
        let (before, after) = (
            learned(&tests[..1]).at(0.0),
            Forecast::of(&tests[..1], &[Added { day: 0.0, free_rise_mg_l: 20.0 }]).unwrap().at(0.0),
        );
        assert!((after.free_mg_l - before.free_mg_l - 20.0).abs() < 1e-9);
        assert!(after.high_mg_l - after.low_mg_l > before.high_mg_l - before.low_mg_l + 5.0, "{before:?} {after:?}");
        // One before the first test is in that test already.
        let known = Forecast::of(&tests[..1], &[Added { day: -1.0, free_rise_mg_l: 20.0 }]).unwrap().at(0.0);
        assert_eq!(known, before);
    }

    #[test]
    fn the_day_below_a_floor() {
        let forecast = learned(&[test(10.0, 30.0)]);
        let day = forecast.day_below(20.0).unwrap();
        assert!((forecast.at(day).free_mg_l - 20.0).abs() < 1e-3 && day > 100.0, "{day}");
        let perhaps = forecast.day_perhaps_below(20.0).unwrap();
        assert!(perhaps < day && (forecast.at(perhaps).low_mg_l - 20.0).abs() < 1e-3, "{perhaps}");
        assert_eq!(forecast.day_below(31.0), Some(10.0));
        assert_eq!(forecast.day_below(0.0), None);
        assert_eq!(forecast.day_below(f64::NAN), None);
        assert_eq!(forecast.at(f64::NAN), forecast.at(10.0));
        assert_eq!(forecast.at(0.0), forecast.at(10.0));
    }

    #[test]
    fn what_cannot_be_forecast_is_said() {
        assert_eq!(Forecast::of(&[], &[]).unwrap_err(), SulfurError::NoTest);
        assert_eq!(Forecast::of(&[], &[Added { day: 0.0, free_rise_mg_l: 20.0 }]).unwrap_err(), SulfurError::NoTest);
        assert_eq!(Forecast::of(&[test(0.0, -1.0)], &[]).unwrap_err(), SulfurError::Free(-1.0));
        assert_eq!(Forecast::of(&[test(f64::NAN, 30.0)], &[]).unwrap_err(), SulfurError::Day);
        let minus = Added { day: 0.0, free_rise_mg_l: -20.0 };
        assert_eq!(Forecast::of(&[test(0.0, 30.0)], &[minus]).unwrap_err(), SulfurError::Addition(-20.0));
    }

    fn any_tests() -> impl Strategy<Value = Vec<Tested>> {
        prop::collection::vec((-4_000.0_f64..4_000.0, 0.0_f64..=1_000.0).prop_map(|(day, free)| test(day, free)), 1..12)
    }

    fn any_additions() -> impl Strategy<Value = Vec<Added>> {
        let addition = (-4_000.0_f64..4_000.0, 0.0_f64..=1_000.0);
        prop::collection::vec(addition.prop_map(|(day, free_rise_mg_l)| Added { day, free_rise_mg_l }), 0..6)
    }

    proptest! {
        #[test]
        fn nothing_becomes_no_number_and_the_mean_only_falls(tests in any_tests(), additions in any_additions(), days in 0.0_f64..5_000.0, more in 0.0_f64..500.0) {
            let forecast = Forecast::of(&tests, &additions).unwrap();
            let level = forecast.at(forecast.from_day() + days);
            prop_assert!(level.low_mg_l >= 0.0 && level.low_mg_l <= level.free_mg_l && level.free_mg_l <= level.high_mg_l);
            prop_assert!(level.high_mg_l.is_finite() && forecast.rate_a_day() > 0.0);
            prop_assert!(forecast.at(forecast.from_day() + days + more).free_mg_l <= level.free_mg_l);
        }

        #[test]
        fn the_order_in_which_tests_are_told_is_of_no_matter(tests in any_tests()) {
            let mut turned = tests.clone();
            turned.reverse();
            prop_assert_eq!(learned(&tests).at(5_000.0), learned(&turned).at(5_000.0));
        }
    }
}
