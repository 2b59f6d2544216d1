//! Simulated rooms: barrels that truly lose wine, a hand that tops them, and the model that watches.

use barrelwalk::reckon::backtest::Trial;
use barrelwalk::reckon::headspace::{RoomRate, Thirst, Wall, size};

use crate::chance::Chance;
use crate::house::House;
use crate::ideal::{Ideal, Known};

/// Litres by which a 225 L barrel swells with a degree (a cork maker's table: 0.45 L from 15 to 20 °C).
const SWELL_A_DEGREE: f64 = 0.09;

/// A barrel is filled short by as much at most, litres.
const FILLED_SHORT: f64 = 0.3;

/// What came of a simulated room.
pub struct Outcome {
    pub trials: Vec<Trial>,
    /// The absolute errors of one who knows what is truly missing, for the same toppings.
    pub oracle: Vec<f64>,
    /// The same of the observer who knows all but chance.
    pub ideal: Vec<f64>,
    /// How often a sound barrel's level was found, how often one was then said to leak, how often for the first time.
    pub sound_findings: usize,
    pub false_standing: usize,
    pub false_alarms: usize,
    /// For each leaking barrel, at which of its toppings it was said, if ever.
    pub found_after: Vec<Option<usize>>,
    /// By how many days the beginning was missed, and how many times what it should it was said to drink.
    pub since_missed: Vec<f64>,
    pub times_said: Vec<f64>,
    pub room: RoomRate,
    pub barrels: Vec<Barrel>,
}

pub struct Barrel {
    pub thirst: Thirst,
    pub factor: f64,
    pub size: f64,
    pub ideal: Ideal,
    /// Litres since it was last topped: what a factor of one would have lost, what the wood drank, what leaked.
    drawn: f64,
    soaked: f64,
    leaked: f64,
    /// Litres truly missing, against the brim at mean warmth.
    missing: f64,
    soak_left: f64,
    soak_days: f64,
    /// How many times what it should it drinks.
    pub leak: f64,
    leaking_toppings: usize,
    said: Option<usize>,
    /// Litres a day between its last two toppings, and when the last was.
    last_rate: Option<f64>,
    pub known: f64,
    found: u32,
}

/// The air of the room, day by day.
struct Air<'a> {
    house: &'a House,
    weather: f64,
    day: f64,
}

/// What was poured in the room so far, for the naive forecast.
#[derive(Default)]
struct Poured {
    litres: f64,
    days: f64,
}

/// One walk through the room.
struct Walk {
    day: f64,
    swell: f64,
    offset: f64,
    unsteady: f64,
}

pub fn run(house: &House) -> Outcome {
    let mut chance = Chance::seeded(house.seed);
    let mut air = Air { house, weather: 0.0, day: 20_000.0 + chance.between(0.0, 365.0) };
    let barrels = (0..house.barrels).map(|_| Barrel::new(house, &mut chance, air.day)).collect();
    let mut outcome = Outcome::new(house, barrels);
    let (mut poured, mut leak_day) = (Poured::default(), 0.0);
    for round in 0..house.rounds {
        if outcome.leaks_begin(house, round) {
            leak_day = air.day;
        }
        let until = air.day + libm::round(house.interval * chance.between(0.85, 1.15));
        while air.day < until {
            let rate = air.a_day(&mut chance);
            outcome.barrels.iter_mut().for_each(|barrel| barrel.a_day(rate));
        }
        if chance.happens(house.no_round) {
            continue;
        }
        let (offset, unsteady) = match house.hand {
            Some((from, offset, unsteady)) if round >= from => (offset, unsteady),
            _ => (0.0, 1.0),
        };
        let swell = SWELL_A_DEGREE * chance.normal(house.warmth);
        outcome.walk(house, &Walk { day: air.day, swell, offset, unsteady }, &mut poured, leak_day, &mut chance);
    }
    outcome.found_after = outcome.barrels.iter().filter(|barrel| barrel.leak > 1.0).map(|barrel| barrel.said).collect();
    outcome
}

impl Air<'_> {
    /// A day passes: what it draws from a 225 L barrel, litres.
    fn a_day(&mut self, chance: &mut Chance) -> f64 {
        self.weather = 0.93 * self.weather + chance.normal(self.house.weather * 0.37);
        self.day += 1.0;
        let angle = (self.day - self.house.peak) / 365.25 * std::f64::consts::TAU;
        self.house.rate_ml / 1_000.0 * (1.0 + self.house.season * libm::cos(angle)) * (1.0 + self.weather)
    }
}

impl Barrel {
    fn new(house: &House, chance: &mut Chance, day: f64) -> Barrel {
        let capacity = if chance.happens(house.large) { 500.0 } else { chance.between(223.0, 230.0) };
        let new_wood = chance.happens(house.new_wood);
        let mut thirst = Thirst::new(capacity);
        thirst.fill(if new_wood { Wall::NewWood } else { Wall::WetWood }, day);
        let drink = if new_wood { chance.between(2.0, 6.0) } else { chance.between(0.1, 0.7) };
        Barrel {
            thirst,
            factor: libm::exp(chance.normal(house.factor_spread)),
            size: size(capacity),
            ideal: Ideal::filled_short_by_up_to(FILLED_SHORT, house),
            drawn: 0.0,
            soaked: 0.0,
            leaked: 0.0,
            missing: chance.between(0.0, FILLED_SHORT),
            soak_left: drink * size(capacity),
            soak_days: chance.between(10.0, 30.0),
            leak: 1.0,
            leaking_toppings: 0,
            said: None,
            last_rate: None,
            known: day,
            found: 0,
        }
    }

    fn a_day(&mut self, rate: f64) {
        let soaked = self.soak_left * (1.0 - libm::exp(-1.0 / self.soak_days));
        self.soak_left -= soaked;
        let drawn = rate * self.size;
        self.drawn += drawn;
        self.soaked += soaked;
        self.leaked += drawn * self.factor * (self.leak - 1.0);
        self.missing += soaked + drawn * self.factor * self.leak;
    }

    /// What goes in when it is topped, litres: what is seen to be missing, which strays from what is.
    fn pour(&mut self, house: &House, walk: &Walk, chance: &mut Chance) -> f64 {
        let strays = chance.normal(libm::sqrt(self.strays(house, walk))) + self.together(walk);
        (self.missing + strays).max(0.0)
    }

    /// The variance of how far an opening strays.
    fn strays(&self, house: &House, walk: &Walk) -> f64 {
        (house.lump * house.lump + house.lump_a_litre * self.missing.max(0.0)) * walk.unsteady * walk.unsteady
    }

    /// By how much it strays as all barrels do.
    fn together(&self, walk: &Walk) -> f64 {
        walk.offset - walk.swell * self.size
    }

    /// What the observer who knows all but chance and the barrel's factor knows of a topping.
    fn known(&self, house: &House, walk: &Walk) -> Known {
        let together = self.together(walk);
        Known {
            drawn: self.drawn,
            beside: self.soaked + together,
            together,
            leaked: self.leaked,
            strays: self.strays(house, walk),
            // The variance of what is lost in rounding is a twelfth of the square of the step.
            reading: house.reading * house.reading / 12.0,
        }
    }
}

impl Outcome {
    fn new(house: &House, barrels: Vec<Barrel>) -> Outcome {
        Outcome {
            trials: Vec::new(),
            oracle: Vec::new(),
            ideal: Vec::new(),
            sound_findings: 0,
            false_standing: 0,
            false_alarms: 0,
            found_after: Vec::new(),
            since_missed: Vec::new(),
            times_said: Vec::new(),
            room: RoomRate::new(&house.climate),
            barrels,
        }
    }

    /// Some barrels, spread over the room, spring a leak if this is the round for it.
    fn leaks_begin(&mut self, house: &House, round: usize) -> bool {
        let Some((_, count, times)) = house.leaks.filter(|(from, ..)| *from == round) else { return false };
        let apart = (house.barrels / count.max(1)).max(1);
        self.barrels.iter_mut().skip(apart / 2).step_by(apart).for_each(|barrel| barrel.leak = times);
        true
    }

    fn walk(&mut self, house: &House, walk: &Walk, poured: &mut Poured, leak_day: f64, chance: &mut Chance) {
        for index in 0..self.barrels.len() {
            if chance.happens(house.missed) {
                continue;
            }
            let at = walk.day + index as f64 / 1_440.0;
            let barrel = &mut self.barrels[index];
            let days = at - barrel.known;
            let truly = barrel.missing;
            let goes_in = barrel.pour(house, walk, chance);
            let written = libm::round(goes_in / house.reading) * house.reading;
            let known = barrel.known(house, walk);
            let said = barrel.thirst.loss(&self.room, 0.0, at);
            if let Some(last_rate) = barrel.last_rate {
                self.trials.push(Trial {
                    found: written,
                    said: said.litres,
                    deviation: said.deviation,
                    known: 0.0,
                    days,
                    last_rate,
                    room_rate: if poured.days > 0.0 { poured.litres / poured.days } else { 0.02 },
                    earlier: barrel.found,
                });
                self.oracle.push((written - (truly + walk.offset).max(0.0)).abs());
                self.ideal.push((written - barrel.ideal.expected(&known).max(0.0)).abs());
            }
            barrel.ideal.find(&known, written);
            (barrel.drawn, barrel.soaked, barrel.leaked) = (0.0, 0.0, 0.0);
            let leaked = barrel.thirst.leak().is_some();
            barrel.thirst.find(&mut self.room, written, at, true);
            barrel.missing -= goes_in;
            barrel.last_rate = Some(written / days);
            barrel.known = at;
            barrel.found += 1;
            poured.litres += written;
            poured.days += days;
            self.note_leak(index, leaked, leak_day);
        }
    }

    fn note_leak(&mut self, index: usize, leaked: bool, leak_day: f64) {
        let barrel = &mut self.barrels[index];
        let leak = barrel.thirst.leak();
        if barrel.leak <= 1.0 {
            self.sound_findings += 1;
            self.false_standing += usize::from(leak.is_some());
            self.false_alarms += usize::from(leak.is_some() && !leaked);
            return;
        }
        barrel.leaking_toppings += 1;
        if let (None, Some(leak)) = (barrel.said, leak) {
            barrel.said = Some(barrel.leaking_toppings);
            self.since_missed.push((leak.since - leak_day).abs());
            self.times_said.push(leak.times);
        }
    }
}
