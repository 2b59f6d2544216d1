//! Damage to facts: which of them are not what was stored, told by the chain of their device. Unlike a verification it looks at the
//! facts alone, and names every one that is damaged, so that they can be left out.

use std::collections::HashMap;

use rusqlite::{Connection, Row};

use super::chain::Link;
use super::error::LogError;
use super::read::devices;
use super::row::{LINE_COLUMNS, LINE_TABLES, StoredLine};
use super::{Log, Position};
use crate::cellar::core::fact::{Device, FactId};

/// Where the device's number, the fact's number and the link stand among [`LINE_COLUMNS`].
const DEVICE: usize = 0;
const NUMBER: usize = 1;
const LINK: usize = 14;

impl Log {
    /// The facts that arrived after `position` and are not what was stored.
    pub fn damaged_after(&self, position: Position) -> Result<Vec<FactId>, LogError> {
        self.consistently(|connection| damaged(connection, position))
    }
}

/// How far a device's chain has been followed.
struct Chain {
    /// The stored link of its last fact; none where it cannot be read.
    link: Option<Link>,
    /// Its last fact, where its link is not what its content gives, with the link that would be. Whether the content was changed or the
    /// link, the next fact tells.
    doubtful: Option<(FactId, Link)>,
}

impl Chain {
    /// Follows the chain by a fact. Gives the fact before it, where that turns out to be damaged.
    fn follow(&mut self, stored: &StoredLine) -> Option<FactId> {
        let Some(before) = self.link.replace(stored.link) else {
            // Behind a fact that cannot be read its own link is all that is known.
            return self.doubtful.take().map(|(id, _)| id);
        };
        let doubtful = self.doubtful.take();
        let given = before.then(&stored.line);
        if given == stored.link {
            return doubtful.map(|(id, _)| id);
        }
        match doubtful {
            // Sealed by the content of the fact before: there the link was changed, and what it says is whole.
            Some((_, by_content)) if by_content.then(&stored.line) == stored.link => None,
            doubtful => {
                self.doubtful = Some((stored.line.id.clone(), given));
                doubtful.map(|(id, _)| id)
            }
        }
    }
}

fn damaged(connection: &Connection, position: Position) -> rusqlite::Result<Vec<FactId>> {
    let names = devices(connection)?;
    let mut chains: HashMap<Device, Chain> = HashMap::new();
    let mut found = Vec::new();
    let select = format!("SELECT {LINE_COLUMNS} FROM {LINE_TABLES} WHERE position > ?1 ORDER BY position");
    let mut statement = connection.prepare(&select)?;
    let mut rows = statement.query([position.0])?;
    while let Some(row) = rows.next()? {
        match StoredLine::read(row) {
            Ok(stored) => {
                let device = &stored.line.id.device;
                if !chains.contains_key(device) {
                    let link = link_before(connection, row.get(DEVICE)?, stored.line.id.n)?;
                    chains.insert(device.clone(), Chain { link, doubtful: None });
                }
                found.extend(chains.get_mut(device).and_then(|chain| chain.follow(&stored)));
            }
            Err(_) => {
                if let Some(id) = named(row, &names) {
                    let link = row.get_ref(LINK)?.as_blob().ok().and_then(Link::from_bytes);
                    let earlier = chains.insert(id.device.clone(), Chain { link, doubtful: None });
                    found.extend(earlier.and_then(|chain| chain.doubtful).map(|(id, _)| id));
                    found.push(id);
                }
            }
        }
    }
    // Of the last fact of a device nothing tells whether the content was changed or the link; it is not taken on trust.
    found.extend(chains.into_values().filter_map(|chain| chain.doubtful).map(|(id, _)| id));
    found.sort();
    Ok(found)
}

/// The link that a fact of a device is chained to; none where the fact before it cannot be read.
fn link_before(connection: &Connection, device: i64, n: u64) -> rusqlite::Result<Option<Link>> {
    if n <= 1 {
        return Ok(Some(Link::START));
    }
    let mut select = connection.prepare_cached("SELECT link FROM facts WHERE device = ?1 AND n = ?2")?;
    let mut rows = select.query((device, i64::try_from(n - 1).unwrap_or(i64::MAX)))?;
    let Some(row) = rows.next()? else { return Ok(None) };
    Ok(row.get_ref(0)?.as_blob().ok().and_then(Link::from_bytes))
}

/// The name of a fact of which not all can be read.
fn named(row: &Row<'_>, names: &[Device]) -> Option<FactId> {
    let number: i64 = row.get(DEVICE).ok()?;
    let n: i64 = row.get(NUMBER).ok()?;
    let device = names.get(usize::try_from(number).ok()?.checked_sub(1)?)?;
    Some(FactId { device: device.clone(), n: u64::try_from(n).ok()? })
}
