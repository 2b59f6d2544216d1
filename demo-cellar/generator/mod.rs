//! The invented demo cellar: an estate that never was, lived through day by day.
//!
//! Every barrel has a true level that falls with the season, its room and its own wood; the facts are only what the
//! people of the estate could see and write down. A book is kept beside, by the same rules as the program's, so that
//! no fact contradicts those before it. Chance comes from one seed and every function of it is computed in Rust alone,
//! so the same bytes come out on every machine.

mod afternoon;
mod barrels;
mod bench;
mod book;
mod chance;
mod clock;
mod cooperage;
mod estate;
mod finish;
mod incidents;
mod laboratory;
mod log;
mod moves;
mod quality;
mod rounds;
mod season;
mod story;
mod vessel;
mod words;

use anyhow::Result;

use book::Cellar;

/// What all chance in the demo cellar comes from.
const SEED: u64 = 20_251_125;

/// All facts of the demo cellar as JSON lines, in the order (at, device, n).
pub fn facts() -> Result<String> {
    let mut cellar = Cellar::new(SEED);
    for planned in story::timeline()? {
        cellar.perform(&planned)?;
    }
    let varrow_24 = cellar.vessels[cellar.find(bench::BLEND_TANK)?].book;
    let mut log = cellar.log;
    log.join(finish::facts(SEED + 3, varrow_24)?);
    log.lines()
}
