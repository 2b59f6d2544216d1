//! Wine on its way into bottles: the vintage of 2023, from its last casks to those who drink it, and the blend of 2024.
//!
//! It has a laptop, a book and a stream of chance of its own, so that the rest of the cellar goes on as it would without it.
//! Each wine's story is told from its beginning to its end; the facts are put in order afterwards.

mod book;
mod bottles;
mod casks;
mod listed;
mod stony_acre;
mod upper_terrace;
mod varrow_23;
mod varrow_24;

use anyhow::Result;

use self::book::Finish;
use super::log::Log;

/// The facts of the wine that is finished. `varrow_24` is what lies in the tank of the blend of 2024, in microlitres.
pub fn facts(seed: u64, varrow_24: u64) -> Result<Log> {
    let mut finish = Finish::new(seed);
    finish.set_up()?;
    finish.declare_checks()?;
    let casks = finish.bring_in_casks()?;
    finish.varrow_23(&casks)?;
    finish.upper_terrace(&casks)?;
    finish.stony_acre(&casks)?;
    finish.varrow_24(varrow_24)?;
    Ok(finish.log)
}
