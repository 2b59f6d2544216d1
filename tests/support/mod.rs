//! What the tests share.
#![allow(dead_code, clippy::unwrap_used)] // each test program uses its own part

pub mod damage;
pub mod given;
pub mod pty;
pub mod sizes;

use std::ops::ControlFlow;
use std::path::Path;

use barrelwalk::cellar::core::fact::{Device, FactId, FactKey, Line};
use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::log::{Access, Log, ScanStart};

/// The first moment of every test.
pub const MORNING: i64 = 1_790_000_000_000_000;

pub fn moment(seconds: i64) -> Moment {
    Moment::new(MORNING + seconds * 1_000_000, 60)
}

/// A barrel topped, `seconds` into the morning.
pub fn topped(device: &Device, n: u64, seconds: i64) -> Line {
    Line {
        id: FactId { device: device.clone(), n },
        at: moment(seconds),
        written: moment(seconds),
        by: Label::new("mk").unwrap(),
        version: 1,
        kind: "topped".into(),
        body: format!(r#"{{"vessel":"{:04}","from":"K2","volume_ul":1700000,"full":true}}"#, n % 400),
        job: Some(Label::new("walk").unwrap()),
        note: None,
    }
}

pub fn device(name: &str) -> Device {
    Device::new(name).unwrap()
}

pub fn create(path: &Path) -> Log {
    Log::create(path, moment(0)).unwrap()
}

pub fn open(path: &Path) -> Log {
    Log::open(path, Access::ReadWrite).unwrap()
}

/// A cellar of that many facts of its own device, one a second.
pub fn filled(path: &Path, facts: u64) -> Log {
    let mut log = create(path);
    let lines: Vec<Line> = (1..=facts).map(|n| topped(log.device(), n, i64::try_from(n).unwrap())).collect();
    let head = log.head().unwrap();
    log.append(head, &lines).unwrap();
    log
}

/// The keys of all facts, in the order of a scan.
pub fn keys(log: &Log, start: &ScanStart) -> Vec<FactKey> {
    let mut keys = Vec::new();
    log.scan(start, &mut |fact| {
        keys.push(fact.key());
        ControlFlow::Continue(())
    })
    .unwrap();
    keys
}

/// Every line, exported.
pub fn exported(log: &Log) -> Vec<String> {
    let mut lines = Vec::new();
    log.export(None, &mut |line| {
        lines.push(line.to_json());
        ControlFlow::Continue(())
    })
    .unwrap();
    lines
}
