//! What can be said on the command line.

mod bench;
mod books;
mod bottles;
mod core;
mod finish;
mod floor;
mod tests;
mod topping;
mod wood;

use std::ffi::OsString;
use std::path::PathBuf;

use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};
use clap_complete::Shell;

pub use crate::cli::arguments::bench::blend::{
    AcidityArguments, BlendArguments, BlendPlanArguments, CourseArguments, SquareArguments, WineOfBlend, value_of_wine,
};
pub use crate::cli::arguments::bench::design::DesignArguments;
pub use crate::cli::arguments::bench::panel::{Codes, DifferenceArguments, PairedArguments, PanelArguments};
pub use crate::cli::arguments::bench::serving::ServingArguments;
pub use crate::cli::arguments::bench::surface::SurfaceArguments;
pub use crate::cli::arguments::bench::trial::{
    RateArguments, TrialBlendArguments, TrialGlasses, TrialPlanArguments, TrialSetArguments, TrialStep,
};
pub use crate::cli::arguments::books::beginning::NewArguments;
pub use crate::cli::arguments::books::correct::CorrectArguments;
pub use crate::cli::arguments::books::count::CountArguments;
pub use crate::cli::arguments::books::done::{DoneArguments, DoneKind};
pub use crate::cli::arguments::books::form::FormArguments;
pub use crate::cli::arguments::books::journal::JournalArguments;
pub use crate::cli::arguments::books::mend_dates::MendDatesArguments;
pub use crate::cli::arguments::books::rules::RulesWord;
pub use crate::cli::arguments::books::settings::SettingsArguments;
pub use crate::cli::arguments::books::sheets::{AddedToWords, Print, Sheet, ShownWord};
pub use crate::cli::arguments::books::undo::{TakeBackArguments, UndoArguments};
pub use crate::cli::arguments::bottles::bottling::{
    BottleStep, Bottles, BottlesArguments, BottlingPlanArguments, FillPointArguments, FillsArguments,
    LabelAlcoholArguments,
};
pub use crate::cli::arguments::core::entering::{Entering, When};
pub use crate::cli::arguments::core::look::Look;
pub use crate::cli::arguments::core::reading::{Format, Reading};
pub use crate::cli::arguments::core::reckon::Reckon;
pub use crate::cli::arguments::core::screen::{Palette, Screen};
pub use crate::cli::arguments::core::things::{Claimant, Listed, Shown, Thing, Things, Traceable};
pub use crate::cli::arguments::finish::checklist::{CheckArguments, CheckStep, DeclareArguments};
pub use crate::cli::arguments::finish::fining::{FiningArguments, FiningStep, GiveArguments, TryArguments};
pub use crate::cli::arguments::finish::moving::MoveArguments;
pub use crate::cli::arguments::floor::changing::ChangeArguments;
pub use crate::cli::arguments::floor::declaring::{
    AnalyteArguments, Declared, KeptSinceArguments, MaterialArguments, MaterialIs,
};
pub use crate::cli::arguments::floor::importing::{AcidWord, ImportArguments};
pub use crate::cli::arguments::floor::written::{RoomArguments, WrittenArguments};
pub use crate::cli::arguments::tests::dosing::DosingArguments;
pub use crate::cli::arguments::tests::drawing::SamplePlanArguments;
pub use crate::cli::arguments::tests::sulfur::{
    DeclineArguments, DoseArguments, FormWord, FreeArguments, LimitsArguments, MolecularArguments, WineArguments,
};
pub use crate::cli::arguments::tests::testing::TestArguments;
pub use crate::cli::arguments::topping::gauging::{BarrelArguments, DipArguments, DipSheetArguments, Sizes};
pub use crate::cli::arguments::topping::plan::{Begin, Work};
pub use crate::cli::arguments::wood::fill::FillArguments;
pub use crate::cli::arguments::wood::oak::OakArguments;
pub use crate::cli::arguments::wood::racking::RackingArguments;

const CELLAR_HELP: &str =
    "The cellar's file [default: the variable BARRELWALK_CELLAR, else cellar.barrelwalk in your data folder]";

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "barrelwalk",
    version,
    about = "The barrel room as a map over an append-only log of facts",
    disable_help_subcommand = true,
    after_help = "Without a command the full screen opens.\n\
        Exit codes: 0 done, 1 refused or not found, 2 wrong usage."
)]
pub struct Arguments {
    /// The cellar's file.
    #[arg(long, global = true, value_name = "FILE", help = CELLAR_HELP)]
    pub cellar: Option<PathBuf>,
    /// What to do.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Make an empty cellar
    New(NewArguments),
    /// Lay out a room in a line: its rows, stacks and tiers
    Room(RoomArguments),
    /// Number barrels, tanks or kegs in a line; barrels come to free places
    Number(WrittenArguments),
    /// Open a lot in a line, and say where how much of it lies
    OpenLot(WrittenArguments),
    /// Open the full screen
    Open {
        /// How it looks and who enters.
        #[command(flatten)]
        screen: Screen,
    },
    /// Open a made-up cellar in the full screen
    Demo {
        /// Keep the made-up cellar in this file
        #[arg(long, value_name = "FILE")]
        keep: Option<PathBuf>,
        /// How it looks and who enters.
        #[command(flatten)]
        screen: Screen,
    },
    /// Take in facts, one JSON object a line; all or none
    Record {
        /// The file to read; '-' or nothing reads from standard input
        #[arg(value_name = "FILE")]
        file: Option<PathBuf>,
        /// Take the good lines even if others are refused
        #[arg(long)]
        keep_good: bool,
        /// Refuse what would surprise too, such as an improbable litre
        #[arg(long)]
        careful: bool,
    },
    /// Take in a spreadsheet (CSV, XLSX, ODS): what cannot be told of it is asked; all or none
    Import(Box<ImportArguments>),
    /// Enter what a laboratory found: of a vessel, a lot or a sample
    Test(Box<TestArguments>),
    /// Put one fact right, whoever entered it: what it says, when it was, who did it
    Correct(Box<CorrectArguments>),
    /// Take back what this laptop entered last, and again what was before; or any one fact of the journal
    Undo(TakeBackArguments),
    /// Give back what was undone last
    Redo(UndoArguments),
    /// Mend the dates of what was entered while the clock was wrong, as one act
    MendDates(MendDatesArguments),
    /// Write a safe copy, also while the cellar is open elsewhere
    Backup {
        /// The file to write [default: a dated one in the folder `backups` beside the cellar, where the last ten are kept]
        file: Option<PathBuf>,
        /// Over a file that is there
        #[arg(long, requires = "file")]
        overwrite: bool,
    },
    /// Reckon one thing of the trade; only the backtest and the evaporation need a cellar
    #[command(alias = "calc")]
    Reckon {
        /// What to reckon
        #[command(subcommand)]
        what: Reckon,
        /// In which form: a table for people, CSV or JSON for programs
        #[arg(long, global = true, value_enum, default_value_t = Format::Table)]
        format: Format,
    },
    /// A trial at the bench: set, pour, rate, reveal, blend
    Trial {
        /// Which step
        #[command(subcommand)]
        step: Box<TrialStep>,
    },
    /// Compare a physical count with what is expected, and put the book right
    Count(CountArguments),
    /// Say what a vessel is from now on: a topping vessel, of another forest, of another capacity
    Change(ChangeArguments),
    /// Move wine from one vessel to one other: racked off its lees, put down in a barrel, blended, filtered
    Move(Box<MoveArguments>),
    /// A fining trial: enter it, say what was seen, choose the dose, give it
    Fining {
        /// Which step
        #[command(subcommand)]
        step: FiningStep,
    },
    /// The checklist before bottling: how a lot stands to it, and what people say of its items
    Check(Box<CheckArguments>),
    /// Say what a word of this house means: a material, or what it has its wines tested for
    Declare {
        /// What is declared
        #[command(subcommand)]
        declared: Declared,
    },
    /// How this house works: each setting, what it means, who said it when; or set one
    Settings(Box<SettingsArguments>),
    /// Enter what was done with a bottle
    Bottle {
        /// What was done
        #[command(subcommand)]
        step: BottleStep,
    },
    /// Give out a page to print
    Sheet {
        /// Which page
        #[command(subcommand)]
        sheet: Sheet,
        /// In which form and as of when.
        #[command(flatten)]
        reading: Reading,
    },
    /// Read the guide, a chapter a job; or how a command is used
    Help {
        /// A chapter like `topping`, a command like `plan fill`, or `commands`, `keys`, `settings`
        topic: Vec<String>,
    },
    /// Give out the manual page: of the whole program, or of one command
    Man {
        /// The command, like `list toppings`
        command: Vec<String>,
    },
    /// Give out what a shell is told so that it completes commands and options
    Completions {
        /// Which shell
        shell: Shell,
    },
    /// Look at a cellar.
    #[command(flatten)]
    Look(Look),
    /// An act that a form takes: its commands are made of the forms.
    #[command(skip)]
    Form(Box<FormArguments>),
}

impl Arguments {
    /// All that can be said: the commands that are written here, and those that are made of forms.
    #[must_use]
    pub fn all() -> clap::Command {
        books::form::with_forms(Arguments::command())
    }

    /// Reads what is said.
    pub fn read(words: impl IntoIterator<Item = OsString>) -> Result<Arguments, clap::Error> {
        let said = Arguments::all().try_get_matches_from(words)?;
        match FormArguments::of(&said) {
            None => Arguments::from_arg_matches(&said),
            Some(form) => Ok(Arguments {
                cellar: said.get_one::<PathBuf>("cellar").cloned(),
                command: Some(Command::Form(Box::new(form?))),
            }),
        }
    }
}

#[cfg(test)]
mod consistency {
    use super::*;

    #[test]
    fn the_command_line_is_sound() {
        Arguments::all().debug_assert();
    }

    #[test]
    fn options_may_stand_before_and_after_what_they_belong_to() {
        for words in [
            &["barrelwalk", "--cellar", "c", "list", "--format", "json", "vessels"][..],
            &["barrelwalk", "list", "vessels", "--format", "json", "--cellar", "c"],
        ] {
            let arguments = Arguments::try_parse_from(words).unwrap();
            assert_eq!(arguments.cellar, Some(PathBuf::from("c")));
            let Some(Command::Look(Look::List { reading, .. })) = arguments.command else { panic!("{words:?}") };
            assert_eq!(reading.format, Format::Json);
        }
    }

    #[test]
    fn what_a_later_version_brings_is_not_offered() {
        let words = ["barrelwalk", "sheet", "round"];
        assert_eq!(Arguments::try_parse_from(words).unwrap_err().exit_code(), 2);
    }

    #[test]
    fn a_ledger_ends_with_its_last_day() {
        let words = ["barrelwalk", "ledger", "--from", "2026-11-01", "--to", "2026-11-01"];
        let Some(Command::Look(Look::Ledger(ledger))) = Arguments::try_parse_from(words).unwrap().command else {
            panic!()
        };
        assert!(ledger.to.elapsed_days(ledger.from) > 0.9);
    }
}
