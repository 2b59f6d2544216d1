//! A cellar of ten years for the measurements: ten thousand barrels in five rooms, topped in rounds from kegs, and now
//! and then tasted, sampled, entered late or taken back. The same seed gives the same facts.

use std::collections::VecDeque;
use std::path::{Path, PathBuf};

use barrelwalk::cellar::core::fact::{Device, FactId, Line};
use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::log::Position;

use crate::written::{Written, once};

/// Barrels in a room.
const BARRELS: u64 = 2_000;
const ROOMS: [&str; 5] = ["long", "cave", "vault", "north", "annexe"];
/// 1 January 2016.
const BEGIN: i64 = 1_451_606_400_000_000;
const TEN_YEARS: i64 = 3_652 * 86_400_000_000;

/// When the corpus ends: a moment for what is entered after it.
pub fn end() -> Moment {
    Moment::new(BEGIN + TEN_YEARS + 3_600_000_000, 60)
}

/// The corpus of that many facts, built once.
pub fn corpus(facts: u64) -> PathBuf {
    once(&format!("desk-corpus-2-{facts}"), |path| write(path, facts))
}

/// A copy to work on, in a folder of its own.
pub fn copy(corpus: &Path, folder: &Path) -> PathBuf {
    let path = folder.join("cellar");
    std::fs::copy(corpus, &path).unwrap();
    path
}

fn write(path: &Path, facts: u64) {
    let mut writer = Writer::new(Written::create(path, Moment::new(BEGIN, 60)), facts);
    writer.found();
    let mut round = 0;
    while writer.left > 0 {
        writer.walk(round);
        round += 1;
    }
    assert_eq!(writer.log.flush(), Position::new(i64::try_from(facts).unwrap()));
}

struct Writer {
    log: Written,
    left: u64,
    at: i64,
    step: i64,
    seed: u64,
    devices: [(Device, u64); 2],
    writing: usize,
    recent: VecDeque<FactId>,
    keg: i64,
}

impl Writer {
    fn new(log: Written, facts: u64) -> Writer {
        let devices = [(log.device(), 0), (Device::new("trolley-1").unwrap(), 0)];
        let step = TEN_YEARS / i64::try_from(facts).unwrap();
        Writer { log, left: facts, at: BEGIN, step, seed: 2016, devices, writing: 0, recent: VecDeque::new(), keg: 0 }
    }

    fn chance(&mut self, below: u64) -> u64 {
        // Knuth's multiplier; the low bits of such a generator are weak.
        self.seed = self.seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.seed >> 33) % below
    }

    fn say(&mut self, kind: &str, body: String) {
        self.say_at(self.at + self.step, kind, body);
        self.at += self.step;
    }

    fn say_at(&mut self, at: i64, kind: &str, body: String) {
        if self.left == 0 {
            return;
        }
        self.left -= 1;
        let (device, n) = &mut self.devices[self.writing];
        *n += 1;
        let id = FactId { device: device.clone(), n: *n };
        self.recent.push_back(id.clone());
        if self.recent.len() > 50 {
            self.recent.pop_front();
        }
        let (at, written) = (Moment::new(at, 60), Moment::new(self.at + self.step, 60));
        let by = Label::new("mk").unwrap();
        self.log.write(Line { id, at, written, by, version: 1, kind: kind.into(), body, job: None, note: None });
    }

    /// Rooms, vessels, and wine in all of them.
    fn found(&mut self) {
        for (room, name) in ROOMS.iter().enumerate() {
            self.say(
                "room_laid_out",
                format!(r#"{{"room":"{name}","rows":[{{"row":"A","stacks":125,"tiers":4,"sides":2}},{{"row":"B","stacks":125,"tiers":4,"sides":2}}],"temperature_c":14.5,"humidity_pct":78.0,"round_days":21}}"#),
            );
            self.say(
                "origin_declared",
                format!(r#"{{"origin":"Block {room}","block":"Block {room}","variety":"Merlot","vintage":2015,"appellation":"Varrow Valley","colour":"red"}}"#),
            );
            self.say("lot_opened", format!(r#"{{"lot":"M15 {room}","colour":"red"}}"#));
            for vessel in [format!("T{room}"), format!("K{room}")] {
                let (kind, litres) = if vessel.starts_with('T') { ("tank", 900_000) } else { ("keg", 120) };
                self.say(
                    "vessel_registered",
                    format!(r#"{{"vessel":"{vessel}","type":"{kind}","capacity_ul":{litres}000000}}"#),
                );
            }
            self.say(
                "wine_received",
                format!(r#"{{"vessel":"T{room}","lot":"M15 {room}","parts":[{{"origin":"Block {room}","volume_ul":800000000000}}]}}"#),
            );
            for barrel in 0..BARRELS {
                let label = format!("{room}{barrel:04}");
                let (row, place) = (if barrel < 1_000 { "A" } else { "B" }, barrel % 1_000);
                let (stack, tier, side) = (place / 8 + 1, place / 2 % 4 + 1, if place % 2 == 0 { 'a' } else { 'b' });
                self.say(
                    "vessel_registered",
                    format!(r#"{{"vessel":"{label}","type":"barrel","capacity_ul":225000000,"cooper":"Aldous","made":2014}}"#),
                );
                self.say(
                    "vessel_placed",
                    format!(r#"{{"vessel":"{label}","place":"{name}/{row}-{stack:02}-{tier}-{side}"}}"#),
                );
                self.say(
                    "wine_moved",
                    format!(r#"{{"from":"T{room}","to":"{label}","volume_ul":225000000,"purpose":"barrel_down"}}"#),
                );
            }
        }
    }

    /// A round through a room.
    fn walk(&mut self, round: u64) {
        let room = round % ROOMS.len() as u64;
        self.writing = usize::from(round % 3 == 2);
        let name = ROOMS[usize::try_from(room).unwrap()];
        self.keg = 0;
        let fields = format!(r#"{{"round":"r{round}","room":"{name}","from":"K{room}"}}"#);
        self.say("round_begun", fields.clone());
        for barrel in 0..BARRELS {
            self.top(room, &format!("{room}{barrel:04}"));
        }
        self.say("round_ended", fields);
    }

    fn top(&mut self, room: u64, label: &str) {
        let poured = i64::try_from(700_000 + self.chance(1_500_000)).unwrap();
        if self.keg < poured {
            let fields = format!(r#"{{"from":"T{room}","to":"K{room}","volume_ul":50000000,"purpose":"other"}}"#);
            self.say("wine_moved", fields);
            self.keg += 50_000_000;
        }
        self.keg -= poured;
        self.say("topped", format!(r#"{{"vessel":"{label}","from":"K{room}","volume_ul":{poured},"full":true}}"#));
        match self.chance(4_000) {
            0..40 => self.say("tasted", format!(r#"{{"vessel":"{label}","score":15.5,"marks":["plum","smoke"]}}"#)),
            40..60 => self.say("sampled", format!(r#"{{"vessel":"{label}","volume_ul":50000}}"#)),
            60..64 => {
                let back = i64::try_from(self.chance(86_400_000_000)).unwrap();
                self.say_at(self.at - back, "noted", format!(r#"{{"about":"{label}","text":"entered late"}}"#));
            }
            64..74 => {
                let of = self.recent[0].clone();
                self.say("retracted", format!(r#"{{"of":{{"device":"{}","n":{}}},"why":"a slip"}}"#, of.device, of.n));
            }
            _ => {}
        }
    }
}
