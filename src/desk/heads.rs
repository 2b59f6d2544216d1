//! The last fact of each device, kept in memory, so that an entry need not ask the log for them.

use rustc_hash::FxHashMap;

use crate::cellar::core::fact::Device;
use crate::log::{Log, LogError};

/// How many of this laptop's facts are looked at for the latest: one that was dated back by hand stands behind it.
const LOOKED_AT: usize = 64;

/// The last number of each device, and the latest moment of this laptop's facts.
#[derive(Clone)]
pub(super) struct Heads {
    own: Device,
    own_latest: Option<i64>,
    last: FxHashMap<Device, u64>,
}

impl Heads {
    /// Those of a log.
    pub fn of(log: &Log) -> Result<Heads, LogError> {
        let own = log.device().clone();
        let tail = log.tail_of(&own, None, LOOKED_AT)?;
        Ok(Heads {
            own_latest: tail.iter().map(|line| line.at.instant()).max(),
            own,
            last: log.heads()?.into_iter().map(|head| (head.id.device, head.id.n)).collect(),
        })
    }

    /// Notes a fact that is in the log now.
    pub fn see(&mut self, device: &Device, n: u64, instant: i64) {
        match self.last.get_mut(device) {
            Some(last) => *last = n,
            None => {
                self.last.insert(device.clone(), n);
            }
        }
        if *device == self.own {
            self.own_latest = self.own_latest.max(Some(instant));
        }
    }

    /// Goes on under another name, under which nothing was entered yet.
    pub fn begin_anew(&mut self, own: &Device) {
        self.own = own.clone();
        self.own_latest = None;
    }

    /// The last number of a device; 0 where it has none.
    pub fn last_of(&self, device: &Device) -> u64 {
        self.last.get(device).copied().unwrap_or(0)
    }

    /// The latest instant of this laptop's facts.
    pub const fn own_latest(&self) -> Option<i64> {
        self.own_latest
    }
}
