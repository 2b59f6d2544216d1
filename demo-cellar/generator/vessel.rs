//! A vessel as the generator knows it: what the book says, and what is true.

use chrono::{NaiveDateTime, TimeDelta};
use serde_json::Value;

use super::estate::{Colour, LotId};
use super::season::{rate_ml_per_day, size_factor, soaked_share};

pub type VesselId = usize;

/// Microlitres in a millilitre, a litre.
pub const ML: u64 = 1_000;
pub const LITRE: u64 = 1_000_000;

#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    Barrel,
    Tank,
    Keg,
}

/// A place. The derived order is the walking order: row by row, stack by stack, from the floor up.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spot {
    pub room: usize,
    pub row: char,
    pub stack: u8,
    pub tier: u8,
    pub side: u8,
}

/// A time in which a barrel drinks more than its wood would.
#[derive(Clone, Copy)]
pub struct Leak {
    pub from: NaiveDateTime,
    pub until: NaiveDateTime,
    pub times: f64,
}

pub struct Vessel {
    pub label: String,
    pub kind: Kind,
    pub capacity: u64,
    /// What a barrel is made of, as its fact of registration says it.
    pub wood: Value,
    pub fills: u64,
    pub stained: Option<Colour>,
    pub spot: Option<Spot>,
    pub held: bool,
    pub retired: bool,
    pub lot: Option<LotId>,
    /// Microlitres by the book.
    pub book: u64,
    /// Millilitres that are truly there; kept for barrels only.
    pub truth_ml: f64,
    /// The moment up to which the truth has been followed.
    pub followed: NaiveDateTime,
    pub topped: NaiveDateTime,
    /// This barrel's own rate against its neighbours'.
    pub thirst: f64,
    /// How much better or worse than its lot the wine in this barrel tastes.
    pub charm: f64,
    pub soak_left_ml: f64,
    pub leak: Option<Leak>,
}

impl Vessel {
    pub fn new(label: String, kind: Kind, capacity: u64) -> Vessel {
        Vessel {
            label,
            kind,
            capacity,
            wood: Value::Null,
            fills: 0,
            stained: None,
            spot: None,
            held: false,
            retired: false,
            lot: None,
            book: 0,
            truth_ml: 0.0,
            followed: NaiveDateTime::default(),
            topped: NaiveDateTime::default(),
            thirst: 1.0,
            charm: 0.0,
            soak_left_ml: 0.0,
            leak: None,
        }
    }

    pub fn capacity_ml(&self) -> f64 {
        to_ml(self.capacity)
    }

    pub fn is_empty(&self) -> bool {
        self.lot.is_none()
    }

    pub fn missing_ml(&self) -> f64 {
        self.capacity_ml() - self.truth_ml
    }

    /// What a sound barrel of this size loses a day, here and now.
    pub fn expected_ml_per_day(&self, now: NaiveDateTime) -> f64 {
        let room = self.spot.map_or(0, |spot| spot.room);
        rate_ml_per_day(room, now.date()) * size_factor(self.capacity_ml() / 1_000.0)
    }

    /// Lets the wine evaporate, soak into the wood and leak up to now, a day at a time.
    pub fn follow(&mut self, now: NaiveDateTime) {
        while self.followed < now {
            let until = now.min(self.followed + TimeDelta::days(1));
            if !self.is_empty() && self.kind == Kind::Barrel {
                let days = (until - self.followed).num_seconds() as f64 / 86_400.0;
                let soaked = self.soak_left_ml * soaked_share(days);
                self.soak_left_ml -= soaked;
                self.truth_ml -= soaked + self.expected_ml_per_day(until) * self.thirst * self.leak_times() * days;
            }
            self.followed = until;
        }
    }

    fn leak_times(&self) -> f64 {
        match self.leak {
            Some(leak) if (leak.from..leak.until).contains(&self.followed) => leak.times,
            _ => 1.0,
        }
    }
}

pub fn to_ml(microlitres: u64) -> f64 {
    microlitres as f64 / ML as f64
}

/// The nearest whole number of steps of `step` microlitres; what is below nothing is nothing.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // a float never wraps: it stops at the ends
pub fn in_steps(millilitres: f64, step: u64) -> u64 {
    (millilitres / to_ml(step)).round() as u64 * step
}
