//! The facts as they are written down, and their numbering.

use std::collections::BTreeMap;

use anyhow::{Result, bail};
use chrono::{NaiveDateTime, TimeDelta};
use serde_json::{Map, Value, json};

use super::clock::stamp;

/// The laptop on the trolley, in the rooms.
pub const TROLLEY: &str = "trolley-7f3a";
/// The laptop in the office.
pub const DESK: &str = "desk-2b91";

/// The laptop in the vat hall, at the tanks and at the bottling line.
pub const VAT_HALL: &str = "vathall-c40e";

/// Names a fact within the generator, before it has its number.
pub type FactId = usize;

struct Entry {
    at: NaiveDateTime,
    written: NaiveDateTime,
    device: &'static str,
    by: &'static str,
    kind: &'static str,
    fields: Map<String, Value>,
    retracts: Option<FactId>,
}

/// The facts so far and the wall clock. No two facts share a moment, so their order is never in doubt.
pub struct Log {
    pub now: NaiveDateTime,
    device: &'static str,
    by: &'static str,
    /// Set while facts are entered from paper: when they are typed in, at the desk.
    late: Option<NaiveDateTime>,
    entries: Vec<Entry>,
}

impl Log {
    pub fn new() -> Log {
        Log { now: NaiveDateTime::default(), device: DESK, by: "ta", late: None, entries: Vec::new() }
    }

    /// Who writes from now on, and on which laptop.
    pub fn take_up(&mut self, device: &'static str, by: &'static str) {
        (self.device, self.by) = (device, by);
    }

    pub fn wait_until(&mut self, moment: NaiveDateTime) {
        self.now = self.now.max(moment);
    }

    pub fn pass(&mut self, seconds: u64) {
        self.now += TimeDelta::seconds(i64::try_from(seconds).unwrap_or(0));
    }

    /// What is written until [`Log::end_paper`] happened now, but is typed in at the desk only at `written`.
    pub fn go_on_paper(&mut self, written: NaiveDateTime) {
        self.late = Some(written);
    }

    pub fn end_paper(&mut self) {
        self.late = None;
    }

    pub fn write(&mut self, kind: &'static str, fields: Value) -> Result<FactId> {
        let Value::Object(fields) = fields else { bail!("the fields of a fact are an object") };
        let (device, written) = match &mut self.late {
            None => (self.device, self.now),
            Some(typed) => {
                *typed += TimeDelta::seconds(17);
                (DESK, *typed)
            }
        };
        self.entries.push(Entry { at: self.now, written, device, by: self.by, kind, fields, retracts: None });
        self.pass(1);
        Ok(self.entries.len() - 1)
    }

    pub fn retract(&mut self, fact: FactId, why: &str) -> Result<()> {
        let retraction = self.write("retracted", json!({ "of": null, "why": why }))?;
        self.entries[retraction].retracts = Some(fact);
        Ok(())
    }

    /// Takes the facts of another book in. Their clocks went each for itself.
    pub fn join(&mut self, other: Log) {
        let before = self.entries.len();
        self.entries.extend(
            other
                .entries
                .into_iter()
                .map(|entry| Entry { retracts: entry.retracts.map(|fact| before + fact), ..entry }),
        );
    }

    /// Each fact's number: a device counts in the order in which it was told.
    fn numbers(&self) -> Vec<u64> {
        let mut order: Vec<FactId> = (0..self.entries.len()).collect();
        order.sort_by_key(|&fact| (self.entries[fact].written, fact));
        let mut last: BTreeMap<&str, u64> = BTreeMap::new();
        let mut numbers = vec![0; order.len()];
        for fact in order {
            let count = last.entry(self.entries[fact].device).or_default();
            *count += 1;
            numbers[fact] = *count;
        }
        numbers
    }

    pub fn lines(&self) -> Result<String> {
        let numbers = self.numbers();
        let mut ordered: Vec<(&Entry, u64)> = self.entries.iter().zip(numbers.iter().copied()).collect();
        ordered.sort_by_key(|(entry, n)| (entry.at, entry.device, *n));
        let mut lines = String::new();
        for (entry, n) in ordered {
            let mut line = json!({
                "device": entry.device, "n": n, "at": stamp(entry.at), "written": stamp(entry.written),
                "by": entry.by, "v": 1, "kind": entry.kind,
            });
            for (name, value) in &entry.fields {
                line[name.as_str()] = value.clone();
            }
            if let Some(target) = entry.retracts {
                line["of"] = json!({ "device": self.entries[target].device, "n": numbers[target] });
            }
            lines.push_str(&serde_json::to_string(&line)?);
            lines.push('\n');
        }
        Ok(lines)
    }
}
