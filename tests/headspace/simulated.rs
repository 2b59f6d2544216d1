//! Simulated rooms: barrels that truly lose wine, a hand that tops them, and the model that watches.

use barrelwalk::reckon::headspace::{Climate, RoomRate, Thirst, Wall};

use crate::chance::Chance;

/// The air and the house of a simulated room.
#[derive(Clone, Debug)]
pub struct House {
    pub name: &'static str,
    pub seed: u64,
    pub barrels: usize,
    pub rounds: usize,
    /// Millilitres a day from a 225 L barrel in the mean of the year, and the part by which the season swings.
    pub rate_ml: f64,
    pub season: f64,
    /// When the rate is highest, day of the year.
    pub peak: f64,
    /// How far the rate of a day strays with the weather, in runs of some two weeks.
    pub weather: f64,
    pub climate: Climate,
    /// Deviation of the logarithm of a barrel's factor.
    pub factor_spread: f64,
    pub interval: f64,
    /// Litres: what an opening strays by however long the interval, and the variance that comes with each litre lost.
    pub lump: f64,
    pub lump_a_litre: f64,
    /// Degrees by which the wine's warmth strays from round to round.
    pub warmth: f64,
    /// Litres to which the can is read.
    pub reading: f64,
    /// The part of the barrels that is missed in a round, and the part of the rounds that is left out.
    pub missed: f64,
    pub no_round: f64,
    /// The part of the barrels that is new, and the part that is large.
    pub new_wood: f64,
    pub large: f64,
    /// From this round on another hand tops: so many litres more each time, and so many times as unsteady.
    pub hand: Option<(usize, f64, f64)>,
    /// From this round on so many of the barrels drink so many times what they did.
    pub leaks: Option<(usize, usize, f64)>,
}

impl House {
    /// Above ground, temperate, a careful hand: 28 mL a day, 4.5 % a year, the published mean.
    pub fn usual() -> House {
        House {
            name: "usual",
            seed: 1,
            barrels: 120,
            rounds: 26,
            rate_ml: 28.0,
            season: 0.3,
            peak: 208.0,
            weather: 0.08,
            climate: Climate { temperature_c: Some(15.0), humidity_pct: Some(70.0) },
            factor_spread: 0.22,
            interval: 21.0,
            lump: 0.06,
            lump_a_litre: 0.02,
            warmth: 0.4,
            reading: 0.05,
            missed: 0.01,
            no_round: 0.0,
            new_wood: 0.0,
            large: 0.0,
            hand: None,
            leaks: None,
        }
    }
}

struct Barrel {
    factor: f64,
    size: f64,
    /// Litres truly missing, against the brim.
    missing: f64,
    /// The same as a factor of one would have it, for the naive forecasts' sake.
    soak_left: f64,
    soak_days: f64,
    leak: f64,
    thirst: Thirst,
    /// Litres a day between its last two toppings.
    last_rate: Option<f64>,
    known: f64,
    found: u32,
    /// In which round a leak was first said.
    said: Option<usize>,
}

/// One prediction and what came of it.
#[derive(Clone, Copy, Debug)]
pub struct Trial {
    pub round: usize,
    pub found_before: u32,
    pub poured: f64,
    pub predicted: f64,
    pub deviation: f64,
    pub days: f64,
    pub size: f64,
    pub last_rate: f64,
    pub room_rate: f64,
    /// What one who knew the truth would have said.
    pub oracle: f64,
}

/// What came of a simulated room.
pub struct Outcome {
    pub trials: Vec<Trial>,
    /// Leaks said in each round of barrels that do not leak, and the barrels that were said to leak then.
    pub false_alarms: usize,
    pub false_standing: usize,
    /// Barrels and rounds in which one could have been raised.
    pub sound_findings: usize,
    /// For each leaking barrel, after how many of its toppings it was said.
    pub found_after: Vec<Option<usize>>,
    /// How far the days of the leak's beginning were missed.
    pub since_missed: Vec<f64>,
    pub times_said: Vec<f64>,
    pub room: RoomRate,
}

pub fn run(house: &House) -> Outcome {
    let mut chance = Chance::seeded(house.seed);
    let mut room = RoomRate::new(&house.climate);
    let start = 20_000.0 + chance.between(0.0, 365.0);
    let mut day = start;
    let mut barrels: Vec<Barrel> = (0..house.barrels).map(|_| barrel(house, &mut chance, day)).collect();
    let mut outcome = Outcome {
        trials: Vec::new(),
        false_alarms: 0,
        false_standing: 0,
        sound_findings: 0,
        found_after: Vec::new(),
        since_missed: Vec::new(),
        times_said: Vec::new(),
        room,
    };
    let (mut weather, mut room_litres, mut room_days) = (0.0_f64, 0.0_f64, 0.0_f64);
    let mut leaking_toppings = vec![0_usize; house.barrels];
    let mut leak_day = 0.0;
    for round in 0..house.rounds {
        let days = libm::round(house.interval * chance.between(0.85, 1.15));
        if let Some((from, count, times)) = house.leaks
            && from == round
        {
            let apart = house.barrels / count.max(1);
            barrels.iter_mut().skip(apart / 2).step_by(apart.max(1)).for_each(|barrel| barrel.leak = times);
            leak_day = day;
        }
        for _ in 0..days as usize {
            weather = 0.93 * weather + chance.normal(house.weather * 0.37);
            day += 1.0;
            let angle = (day - house.peak) / 365.25 * std::f64::consts::TAU;
            let rate = house.rate_ml / 1_000.0 * (1.0 + house.season * libm::cos(angle)) * (1.0 + weather);
            barrels.iter_mut().for_each(|barrel| barrel.a_day(rate));
        }
        if chance.happens(house.no_round) {
            continue;
        }
        let swell = 0.09 * chance.normal(house.warmth);
        let (offset, unsteady) = match house.hand {
            Some((from, offset, unsteady)) if round >= from => (offset, unsteady),
            _ => (0.0, 1.0),
        };
        for (index, barrel) in barrels.iter_mut().enumerate() {
            if chance.happens(house.missed) {
                continue;
            }
            let at = day + index as f64 / 1_440.0;
            let since_known = at - barrel.known;
            let sd = libm::sqrt(house.lump * house.lump + house.lump_a_litre * barrel.missing.max(0.0));
            let seen = barrel.missing + chance.normal(sd * unsteady) + offset - swell * barrel.size;
            let poured = seen.max(0.0);
            let written = libm::round(poured / house.reading) * house.reading;
            let loss = barrel.thirst.loss(&room, 0.0, at);
            if let Some(last_rate) = barrel.last_rate {
                outcome.trials.push(Trial {
                    round,
                    found_before: barrel.found,
                    poured: written,
                    predicted: loss.litres,
                    deviation: loss.deviation,
                    days: since_known,
                    size: barrel.size,
                    last_rate,
                    room_rate: if room_days > 0.0 { room_litres / room_days } else { 0.02 },
                    oracle: (barrel.missing + offset).max(0.0),
                });
            }
            let leaked_before = barrel.thirst.leak().is_some();
            barrel.thirst.find(&mut room, written, at, true);
            barrel.missing -= poured;
            let leaks = barrel.thirst.leak();
            if barrel.leak > 1.0 {
                leaking_toppings[index] += 1;
                if barrel.said.is_none()
                    && let Some(leak) = leaks
                {
                    barrel.said = Some(leaking_toppings[index]);
                    outcome.since_missed.push(leak.since - leak_day);
                    outcome.times_said.push(leak.times);
                }
            } else {
                outcome.sound_findings += 1;
                outcome.false_alarms += usize::from(leaks.is_some() && !leaked_before);
                outcome.false_standing += usize::from(leaks.is_some());
            }
            room_litres += written;
            room_days += since_known;
            barrel.last_rate = Some(written / since_known);
            barrel.known = at;
            barrel.found += 1;
        }
    }
    outcome.found_after = barrels.iter().filter(|barrel| barrel.leak > 1.0).map(|barrel| barrel.said).collect();
    outcome.room = room;
    outcome
}

fn barrel(house: &House, chance: &mut Chance, day: f64) -> Barrel {
    let capacity = if chance.happens(house.large) { 500.0 } else { chance.between(223.0, 230.0) };
    let new_wood = chance.happens(house.new_wood);
    let mut thirst = Thirst::new(capacity);
    thirst.fill(if new_wood { Wall::NewWood } else { Wall::WetWood }, day);
    let size = libm::cbrt(capacity / 225.0) * libm::cbrt(capacity / 225.0);
    let drink = if new_wood { chance.between(2.0, 6.0) } else { chance.between(0.1, 0.7) };
    Barrel {
        factor: libm::exp(chance.normal(house.factor_spread)),
        size,
        missing: chance.between(0.0, 0.3),
        soak_left: drink * size,
        soak_days: chance.between(10.0, 30.0),
        leak: 1.0,
        thirst,
        last_rate: None,
        known: day,
        found: 0,
        said: None,
    }
}

impl Barrel {
    fn a_day(&mut self, rate: f64) {
        let soaked = self.soak_left * (1.0 - libm::exp(-1.0 / self.soak_days));
        self.soak_left -= soaked;
        self.missing += soaked + rate * self.factor * self.size * self.leak;
    }
}

/// How the model did against the naive forecasts, where so many toppings of a barrel were known before.
#[derive(Clone, Copy, Debug, Default)]
pub struct Judged {
    pub count: usize,
    pub model: f64,
    pub fixed: f64,
    pub last: f64,
    pub room: f64,
    pub oracle: f64,
    pub inside: [f64; 3],
}

/// Half widths of the 50, 80 and 95 % bands in standard deviations (normal quantiles).
const BANDS: [f64; 3] = [0.674_490, 1.281_552, 1.959_964];

pub fn judge<'a>(trials: impl Iterator<Item = &'a Trial> + Clone) -> Judged {
    let count = trials.clone().count();
    let all = count.max(1) as f64;
    let mean = |error: &dyn Fn(&Trial) -> f64| trials.clone().map(|trial| error(trial).abs()).sum::<f64>() / all;
    // The best single rate for all, known only afterwards: the fixed rate that is hardest to beat.
    let litres: f64 = trials.clone().map(|trial| trial.poured).sum();
    let days: f64 = trials.clone().map(|trial| trial.days).sum();
    let fixed = litres / days.max(1.0);
    let inside = BANDS.map(|band| mean(&|trial| f64::from(u8::from((trial.poured - trial.predicted).abs() <= band * trial.deviation))));
    Judged {
        count,
        model: mean(&|trial| trial.poured - trial.predicted),
        fixed: mean(&|trial| trial.poured - fixed * trial.days),
        last: mean(&|trial| trial.poured - trial.last_rate * trial.days),
        room: mean(&|trial| trial.poured - trial.room_rate * trial.days),
        oracle: mean(&|trial| trial.poured - trial.oracle),
        inside,
    }
}
