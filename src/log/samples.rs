//! Lines for the tests of this layer.

use crate::cellar::fact::{Device, FactId, Line};
use crate::cellar::label::Label;
use crate::cellar::moment::Moment;

/// A barrel topped, `seconds` into a morning.
pub fn topped(device: &str, n: u64, seconds: i64, volume_ul: u64) -> Line {
    let at = Moment::new(1_790_000_000_000_000 + seconds * 1_000_000, 60);
    Line {
        id: FactId { device: Device::new(device).unwrap(), n },
        at,
        written: at,
        by: Label::new("mk").unwrap(),
        version: 1,
        kind: "topped".into(),
        body: format!(r#"{{"vessel":"0417","from":"K2","volume_ul":{volume_ul},"full":true}}"#),
        job: None,
        note: None,
    }
}
