//! The desk: whatever is done at it, in whatever order, its state is the plain fold of the facts in the log.
#![allow(clippy::unwrap_used)]

#[path = "desk/acts.rs"]
mod acts;
#[path = "desk/amending.rs"]
mod amending;
#[path = "desk/cellar.rs"]
mod cellar;
#[path = "desk/correcting.rs"]
mod correcting;
#[path = "desk/damage.rs"]
mod damage;
#[path = "support/damage.rs"]
mod damaged;
#[path = "desk/journal.rs"]
mod journal;
#[path = "desk/losses.rs"]
mod losses;
#[path = "desk/merging.rs"]
mod merging;
#[path = "desk/passed_over.rs"]
mod passed_over;
#[path = "desk/refusing.rs"]
mod refusing;
#[path = "desk/snapshot.rs"]
mod snapshot;
#[path = "desk/tracing.rs"]
mod tracing;
#[path = "desk/undo.rs"]
mod undo;
