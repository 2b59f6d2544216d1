//! The things that can be listed, shown and traced, and those that make claims.

use clap::Subcommand;

use crate::cli::arguments::books::done::{DoneArguments, DoneKind};
use crate::cli::arguments::wood::oak::OakArguments;

/// What can be listed.
#[derive(Clone, Copy, Debug, Subcommand)]
pub enum Things {
    /// Vessels: room by room in walking order, then those that lie in no room
    Vessels {
        /// Retired ones too
        #[arg(long)]
        all: bool,
    },
    /// Lots
    Lots,
    /// Rooms
    Rooms,
    /// Vessels that are to be topped, in walking order
    Due,
    /// Empty barrels, in walking order, and what their wood needs
    Empties,
    /// Vessels whose lees are stirred, and when they are due again
    Stirrings,
    /// Vessels under gas, and when it is to be looked at again
    Blankets,
    /// Trials at the bench
    Trials,
    /// Bottling runs, and where their bottles are
    Runs,
    /// Bottles by place, lot code and release: what may go now and this month comes first
    Bottles,
    /// Works that are open: racking, barrel-down, treating, care, blending; a blend with its ratio so far
    Works,
    /// Fining trials
    Finings,
    /// Filtrations: what they cost, and turbidity before and after
    Filtrations,
    /// The words for tastes: the house's own first, then the trade's
    Marks,
    /// Facts that do not fit the facts before them
    Discrepancies,
}

/// What can be listed: what is there, and what was done.
#[derive(Debug, Subcommand)]
pub enum Listed {
    /// What is there.
    #[command(flatten)]
    There(Things),
    /// Tests of wine, as they were entered
    Tests(DoneArguments),
    /// Tastes, as they were entered
    Tastes(DoneArguments),
    /// Toppings, as they were entered
    Toppings(DoneArguments),
    /// Additions, as they were entered
    Additions(DoneArguments),
    /// Moves of wine from vessel to vessel, as they were entered
    Moves(DoneArguments),
    /// What the oak did: scores, keeping, evaporation and leaks by cooper, forest, toast, seasoning and fill, held against each other within lots
    Oak(OakArguments),
}

impl Listed {
    /// What was done, as it is asked for; none where it is asked what is there.
    #[must_use]
    pub const fn done(&self) -> Option<(DoneKind, &DoneArguments)> {
        Some(match self {
            Listed::There(_) | Listed::Oak(_) => return None,
            Listed::Tests(asked) => (DoneKind::Tests, asked),
            Listed::Tastes(asked) => (DoneKind::Tastes, asked),
            Listed::Toppings(asked) => (DoneKind::Toppings, asked),
            Listed::Additions(asked) => (DoneKind::Additions, asked),
            Listed::Moves(asked) => (DoneKind::Moves, asked),
        })
    }
}

/// What can be shown.
#[derive(Debug, Subcommand)]
pub enum Shown {
    /// What can be traced as well.
    #[command(flatten)]
    Thing(Thing),
    /// A bottling run: every bottle and every litre of it
    Run {
        /// Its label
        label: String,
    },
    /// A fining trial with its glasses
    Fining {
        /// Its label
        label: String,
    },
    /// A trial; what its codes are only once it is revealed
    Trial {
        /// Its label
        label: String,
    },
    /// A work, open or closed: its vessels, and of a blend the ratio so far and the closing check
    Work {
        /// Its label
        label: String,
    },
}

/// What can be shown and traced, and makes claims.
#[derive(Debug, Subcommand)]
pub enum Thing {
    /// A vessel
    Vessel {
        /// Its label
        label: String,
    },
    /// A lot
    Lot {
        /// Its label
        label: String,
    },
}

/// What can be traced.
#[derive(Debug, Subcommand)]
pub enum Traceable {
    /// What can be shown as well.
    #[command(flatten)]
    Thing(Thing),
    /// A bottling run or a lot code: all that its wine met, and where its bottles are
    Run {
        /// Its label, or a lot code
        #[arg(required_unless_present = "code")]
        label: Option<String>,
        /// Only the bottles with this lot code; the run need not be known
        #[arg(long, value_name = "LOT_CODE")]
        code: Option<String>,
    },
    /// A material or a batch of one: which wine and which bottles it came to
    Material {
        /// What stands in the facts
        label: String,
    },
    /// A block of vines: which wine and which bottles came from it
    Block {
        /// What it is called in the facts
        label: String,
    },
}

/// What makes claims.
#[derive(Debug, Subcommand)]
pub enum Claimant {
    /// What can be shown as well.
    #[command(flatten)]
    Thing(Thing),
    /// A bottling run
    Run {
        /// Its label
        label: String,
    },
}
