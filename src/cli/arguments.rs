//! What can be said on the command line.

mod blend;
mod bottling;
mod checklist;
mod count;
mod design;
mod dosing;
mod fining;
mod moving;
mod panel;
mod serving;
mod sheets;
mod sulfur;
mod surface;
mod trial;

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

pub use self::blend::{
    AcidityArguments, BlendArguments, BlendPlanArguments, CourseArguments, SquareArguments, WineOfBlend, value_of_wine,
};
pub use self::bottling::{
    Bottles, BottlesArguments, BottlingPlanArguments, Claimant, FillPointArguments, FillsArguments,
    LabelAlcoholArguments, Traceable,
};
pub use self::checklist::{CheckArguments, CheckStep, DeclareArguments};
pub use self::count::CountArguments;
pub use self::design::DesignArguments;
pub use self::dosing::DosingArguments;
pub use self::fining::{FiningArguments, FiningPlanArguments, FiningStep, GiveArguments, TryArguments};
pub use self::moving::MoveArguments;
pub use self::panel::{Codes, DifferenceArguments, PairedArguments, PanelArguments};
pub use self::serving::ServingArguments;
pub use self::sheets::{Print, Sheet, ShownWord};
pub use self::sulfur::{
    DeclineArguments, DoseArguments, FormWord, FreeArguments, LimitsArguments, MolecularArguments, WineArguments,
};
pub use self::surface::SurfaceArguments;
pub use self::trial::{EnteredBy, RateArguments, TrialBlendArguments, TrialSetArguments, TrialStep};
use crate::cellar::care::Care;
use crate::cellar::fill::FillWish;
use crate::cellar::ledger::Division;
use crate::cellar::moment::{Moment, MomentError};
use crate::cellar::place::RackPlace;
use crate::reckon::gauging::Curve;
use crate::reckon::label_share::Rules;
use crate::tui::theme::Palette;
use crate::units::{ParseVolumeError, Volume, VolumeUnit, parse_millimetres};

const CELLAR_HELP: &str =
    "The cellar's file [default: the variable BARRELWALK_CELLAR, else cellar.barrelwalk in your data folder]";

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "barrelwalk",
    version,
    about = "The barrel room as a map over an append-only log of facts",
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
    New {
        /// The file to make
        file: PathBuf,
    },
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
    },
    /// Write a safe copy, also while the cellar is open elsewhere
    Backup {
        /// The file to write
        file: PathBuf,
    },
    /// Reckon one thing of the trade; only the backtest and the evaporation need a cellar
    Reckon {
        /// What to reckon
        #[command(subcommand)]
        what: Reckon,
        /// In which form: a table for people, CSV or JSON for programs
        #[arg(long, global = true, value_enum, default_value_t = Format::Table)]
        format: Format,
    },
    /// A trial at the bench: set, pour, rate, pull the card, blend
    Trial {
        /// Which step
        #[command(subcommand)]
        step: TrialStep,
    },
    /// Compare a physical count with what is expected, and put the book right
    Count(CountArguments),
    /// Move wine from one vessel to one other: racked off its lees, or filtered
    Move(Box<MoveArguments>),
    /// A fining trial: enter it, say what was seen, choose the dose, give it
    Fining {
        /// Which step
        #[command(subcommand)]
        step: FiningStep,
    },
    /// The checklist before bottling: how a lot stands to it, and what people say of its items
    Check(Box<CheckArguments>),
    /// Give out a page to print
    Sheet {
        /// Which page
        #[command(subcommand)]
        sheet: Sheet,
        /// In which form and as of when.
        #[command(flatten)]
        reading: Reading,
    },
    /// Look at a cellar.
    #[command(flatten)]
    Look(Look),
}

/// How the full screen looks, and who enters.
#[derive(Debug, Clone, Default, Args)]
pub struct Screen {
    /// Who enters what is entered [default: the variable `BARRELWALK_BY`, else your user name]
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// The colours: for a dark cellar, a bright aisle, or none [default: cave, or mono under `NO_COLOR`]
    #[arg(long, value_name = "PALETTE")]
    pub palette: Option<Palette>,
    /// Draw with ASCII characters only
    #[arg(long)]
    pub ascii: bool,
    /// Look only; enter nothing
    #[arg(long)]
    pub read_only: bool,
}

/// What only looks at a cellar.
#[derive(Debug, Subcommand)]
pub enum Look {
    /// Give out all facts in order, one JSON object a line
    Export {
        /// Only facts that happened at this time or later
        #[arg(long, value_name = "DATE-TIME", value_parser = start)]
        since: Option<Moment>,
    },
    /// List things
    List {
        /// Which things
        #[command(subcommand)]
        things: Things,
        /// In which form and as of when.
        #[command(flatten)]
        reading: Reading,
    },
    /// Show one thing
    Show {
        /// Which thing
        #[command(subcommand)]
        thing: Shown,
        /// In which form and as of when.
        #[command(flatten)]
        reading: Reading,
    },
    /// Trace where wine came from, or where it went
    Trace {
        /// Which thing
        #[command(subcommand)]
        thing: Traceable,
        /// Trace where it went instead
        #[arg(long, global = true)]
        forward: bool,
        /// In which form and as of when.
        #[command(flatten)]
        reading: Reading,
    },
    /// What a label could claim by the published least shares, and by how much; for information, not legal advice
    Claims {
        /// Whose claims
        #[command(subcommand)]
        thing: Claimant,
        /// The rules of the United States, of the European Union, or both [default: the house's, else both]
        #[arg(long, global = true, value_enum)]
        rules: Option<RulesWord>,
        /// In which form and as of when.
        #[command(flatten)]
        reading: Reading,
    },
    /// Balance what came and went over a period
    Ledger(LedgerArguments),
    /// Plan work
    Plan {
        /// Which work
        #[command(subcommand)]
        work: Work,
        /// In which form and as of when.
        #[command(flatten)]
        reading: Reading,
    },
    /// Check the chain of facts, the file and the balance
    Verify,
}

/// What reading commands have in common.
#[derive(Clone, Copy, Debug, Args)]
pub struct Reading {
    /// In which form: a table for people, CSV or JSON for programs
    #[arg(long, global = true, value_enum, default_value_t = Format::Table)]
    pub format: Format,
    /// As of when, a date (its end) or a time like 2027-03-02T08:15:00+01:00 [default: now]
    #[arg(long, global = true, value_name = "DATE-TIME", value_parser = end)]
    pub on: Option<Moment>,
}

/// The form of what is given out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// For people.
    Table,
    /// For spreadsheets.
    Csv,
    /// For programs.
    Json,
}

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
    /// Trials at the bench
    Trials,
    /// Bottling runs, and where their bottles are
    Runs,
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
    /// A trial; what its codes are only once its card is pulled
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

/// What can be planned.
#[derive(Debug, Subcommand)]
pub enum Work {
    /// A round: where to walk and what to carry
    Round {
        /// The room's label
        room: String,
    },
    /// A barrel-down: which empties to fill so that the wine lies in a wanted mix of wood
    Fill(FillArguments),
    /// A blend: the largest batch of a ratio, the transfers, what stays, and what it would be
    Blend(BlendPlanArguments),
    /// A racking: which barrels go into a tank, and whether it has room
    Racking(RackingArguments),
    /// Sulfur dioxide: which barrels are given how much of it
    Sulfur(DosingArguments),
    /// A bottling: bottles, cases, closures, capsules, labels and pallets
    Bottling(BottlingPlanArguments),
    /// A fining: the dose that a fining trial chose, scaled to a vessel
    Fining(FiningPlanArguments),
    /// Care of the empty barrels that are due for it
    Care(CareArguments),
}

/// What the plan of a barrel-down needs to know.
#[derive(Debug, Args)]
pub struct FillArguments {
    /// The label of the vessel that is emptied into barrels
    pub tank: String,
    /// Place only so many litres [default: all that it holds]
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub litres: Option<Volume>,
    /// Fill so many barrels
    #[arg(long, value_name = "NUMBER", conflicts_with = "litres")]
    pub barrels: Option<usize>,
    /// A wish, like new>=30%, forest:Allier=50%, cooper:NAME<=900L, seasoning:24+>=40%; may be given again and again
    #[arg(long = "wish", value_name = "WISH", value_parser = clap::value_parser!(FillWish))]
    pub wishes: Vec<FillWish>,
    /// Wish for the mix in which this lot lies: its shares of new wood, forests, toasts and coopers
    #[arg(long, value_name = "LOT")]
    pub like: Option<String>,
    /// Only empties of this room
    #[arg(long, value_name = "ROOM")]
    pub room: Option<String>,
    /// Show the best so far after so many seconds; Ctrl-C shows it at once
    #[arg(long, value_name = "SECONDS", default_value_t = 2, value_parser = clap::value_parser!(u32).range(1..=3600))]
    pub within: u32,
    /// The lot that the wine is in the barrels [default: the tank's own]
    #[arg(long, value_name = "LOT")]
    pub into_lot: Option<String>,
    /// Whether it begins.
    #[command(flatten)]
    pub begin: Begin,
}

/// What a racking needs to know.
#[derive(Debug, Args)]
pub struct RackingArguments {
    /// The lot's label
    pub lot: String,
    /// The tank
    #[arg(long, value_name = "TANK")]
    pub to: String,
    /// Only the barrels of this rack, like long/A-03-2; may be said again
    #[arg(long = "rack", value_name = "PLACE")]
    pub racks: Vec<RackPlace>,
    /// The lot that the wine is in the tank [default: its own]
    #[arg(long, value_name = "LOT")]
    pub into_lot: Option<String>,
    /// Whether it begins.
    #[command(flatten)]
    pub begin: Begin,
}

/// What care of empty wood needs to know.
#[derive(Debug, Args)]
pub struct CareArguments {
    /// rinsed, steamed, ozonated, sulfured, soaked or dried
    #[arg(value_parser = care)]
    pub care: Care,
    /// Only the barrels of this room
    #[arg(long, value_name = "ROOM")]
    pub room: Option<String>,
    /// Whether it begins.
    #[command(flatten)]
    pub begin: Begin,
}

/// Whether what is planned begins, and who begins it.
#[derive(Debug, Args)]
pub struct Begin {
    /// Begin it as a work of this label, to be walked on the screen
    #[arg(long, value_name = "LABEL")]
    pub begin: Option<String>,
    /// Who begins it [default: the variable `BARRELWALK_BY`, else your user name]
    #[arg(long, value_name = "NAME", requires = "begin")]
    pub by: Option<String>,
}

/// What can be reckoned.
#[derive(Debug, Subcommand)]
pub enum Reckon {
    /// What a barrel holds by its inside sizes
    Barrel(BarrelArguments),
    /// What a lying barrel lacks at a dip, or the dip at which it lacks so much
    Dip(DipArguments),
    /// How much of the free sulfur dioxide is molecular, by the plain table or by the OIV method
    Molecular(MolecularArguments),
    /// How much free sulfur dioxide a molecular target asks for
    Free(FreeArguments),
    /// How much sulfur dioxide to add: as powder, solution, gas or burnt sulfur
    Dose(DoseArguments),
    /// How free sulfur dioxide declines from its tests on, and when it falls below a floor
    Decline(DeclineArguments),
    /// What the law allows of volatile acidity and total sulfur dioxide, and how a wine stands to it
    Limits(LimitsArguments),
    /// How much of a fining agent a glass of a trial and a vessel are given, and whether its water is too much
    Fining(FiningArguments),
    /// Who tastes which glass when: flights, and orders balanced for place and neighbours
    Serving(ServingArguments),
    /// What a panel's scores or ranks of blind glasses say, in words and numbers
    Panel(PanelArguments),
    /// Triangle test: whether the odd one of three glasses is found more often than by chance
    Triangle(DifferenceArguments),
    /// Duo-trio test: whether the glass like the reference is found more often than by chance
    DuoTrio(DifferenceArguments),
    /// Paired comparison: whether one of two glasses is chosen more often than by chance
    Paired(PairedArguments),
    /// Which ratio a panel would like best, from the scores of its glasses, and how sure that is
    Surface(SurfaceArguments),
    /// Which glasses to mix for a bench trial, and what to pour and to draw for them
    Design(Box<DesignArguments>),
    /// The charge balance of a wine: strong cations, buffer capacity, the acids that its pH and acidity speak of
    Acidity(AcidityArguments),
    /// What a blend of wines will be: what mixes by volume, and the pH by charge balance
    Blend(BlendArguments),
    /// A blend under way: the ratio so far, the next transfer that brings it out, and how it closes
    Course(CourseArguments),
    /// Two wines to one value: Pearson's square, and how much of the second to add
    Square(SquareArguments),
    /// How many bottles, cases and pallets some litres give, and what to order for them
    Bottles(BottlesArguments),
    /// How measured bottles stand to what is stated, by published tolerances
    Fills(FillsArguments),
    /// How far below the top of a 750 mL bottle wine of a temperature is to stand
    FillPoint(FillPointArguments),
    /// Whether a label may say so much alcohol
    LabelAlcohol(LabelAlcoholArguments),
    /// How near the headspace estimate came: forecasts every topping of the cellar before it is seen
    HeadspaceBacktest,
    /// What evaporated by month and room, as far as toppings and gaugings of the cellar found it
    Evaporation {
        /// Only this room
        #[arg(long, value_name = "ROOM")]
        room: Option<String>,
    },
}

/// What a barrel's volume needs to know.
#[derive(Debug, Args)]
pub struct BarrelArguments {
    /// Inside diameter at the bilge
    #[arg(long, value_name = "MM", value_parser = parse_millimetres, allow_negative_numbers = true)]
    pub bilge: f64,
    /// Inside diameter at a head
    #[arg(long, value_name = "MM", value_parser = parse_millimetres, allow_negative_numbers = true)]
    pub head: f64,
    /// Inside length between the heads
    #[arg(long, value_name = "MM", value_parser = parse_millimetres, allow_negative_numbers = true)]
    pub length: f64,
    /// The curve of the staves
    #[arg(long, value_enum, default_value_t = CurveWord::Parabola)]
    pub curve: CurveWord,
}

/// Inside sizes of a barrel, all or none.
#[derive(Clone, Copy, Debug, Default, Args)]
pub struct Sizes {
    /// Inside diameter at the bilge
    #[arg(long, value_name = "MM", value_parser = parse_millimetres, allow_negative_numbers = true, requires_all = ["head", "length"])]
    pub bilge: Option<f64>,
    /// Inside diameter at a head
    #[arg(long, value_name = "MM", value_parser = parse_millimetres, allow_negative_numbers = true, requires = "bilge")]
    pub head: Option<f64>,
    /// Inside length between the heads
    #[arg(long, value_name = "MM", value_parser = parse_millimetres, allow_negative_numbers = true, requires = "bilge")]
    pub length: Option<f64>,
    /// The curve of the staves [default: parabola]
    #[arg(long, value_enum, requires = "bilge")]
    pub curve: Option<CurveWord>,
}

/// What a dip needs to know.
#[derive(Debug, Args)]
pub struct DipArguments {
    /// A shape of the trade, like bordeaux, burgundy or hogshead
    #[arg(long, required_unless_present = "bilge")]
    pub shape: Option<String>,
    /// Its own sizes.
    #[command(flatten)]
    pub sizes: Sizes,
    /// What it holds, measured [default: what its shape or sizes hold]
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub capacity: Option<Volume>,
    /// The depth of the headspace under the bung
    #[arg(long, value_name = "MM", value_parser = parse_millimetres, allow_negative_numbers = true, required_unless_present = "missing")]
    pub dip: Option<f64>,
    /// What is missing: gives the dip instead
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true, conflicts_with = "dip")]
    pub missing: Option<Volume>,
}

/// What a dip table needs to know.
#[derive(Debug, Args)]
pub struct DipSheetArguments {
    /// A shape of the trade, like bordeaux, burgundy or hogshead
    #[arg(required_unless_present_any = ["bilge", "vessel"])]
    pub shape: Option<String>,
    /// A barrel of the cellar
    #[arg(long, value_name = "LABEL", conflicts_with_all = ["shape", "bilge", "capacity"])]
    pub vessel: Option<String>,
    /// Its own sizes.
    #[command(flatten)]
    pub sizes: Sizes,
    /// What it holds, measured [default: what its shape or sizes hold]
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub capacity: Option<Volume>,
}

/// The curve of a barrel's staves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum CurveWord {
    /// An arc of a circle.
    Arc,
    /// A parabola.
    Parabola,
    /// An ellipse.
    Ellipse,
}

impl From<CurveWord> for Curve {
    fn from(word: CurveWord) -> Curve {
        match word {
            CurveWord::Arc => Curve::Arc,
            CurveWord::Parabola => Curve::Parabola,
            CurveWord::Ellipse => Curve::Ellipse,
        }
    }
}

/// One side's rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum SideWord {
    /// Those of the United States.
    Us,
    /// Those of the European Union.
    Eu,
}

impl From<SideWord> for Rules {
    fn from(word: SideWord) -> Rules {
        match word {
            SideWord::Us => Rules::Us,
            SideWord::Eu => Rules::Eu,
        }
    }
}

/// Whose rules of labels.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum RulesWord {
    /// Those of the United States.
    Us,
    /// Those of the European Union.
    Eu,
    /// Those of both.
    Both,
}

impl RulesWord {
    /// The rules that are asked for; none stands for both.
    #[must_use]
    pub const fn rules(self) -> Option<Rules> {
        match self {
            RulesWord::Us => Some(Rules::Us),
            RulesWord::Eu => Some(Rules::Eu),
            RulesWord::Both => None,
        }
    }
}

/// What a ledger needs to know.
#[derive(Debug, Args)]
pub struct LedgerArguments {
    /// The first day, or a time
    #[arg(long, value_name = "DATE", value_parser = start)]
    pub from: Moment,
    /// The last day, which is included, or a time
    #[arg(long, value_name = "DATE", value_parser = end)]
    pub to: Moment,
    /// A row for each vessel, lot or room instead of one for the whole cellar
    #[arg(long, value_enum)]
    pub by: Option<By>,
    /// In which form: a table for people, CSV or JSON for programs
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// What a ledger is divided by.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum By {
    /// A row a vessel.
    Vessel,
    /// A row a lot.
    Lot,
    /// A row a room.
    Room,
}

impl From<Option<By>> for Division {
    fn from(by: Option<By>) -> Division {
        match by {
            None => Division::Whole,
            Some(By::Vessel) => Division::Vessel,
            Some(By::Lot) => Division::Lot,
            Some(By::Room) => Division::Room,
        }
    }
}

fn care(text: &str) -> Result<Care, String> {
    Care::ALL.into_iter().find(|care| care.word() == text).ok_or_else(|| {
        let words: Vec<&str> = Care::ALL.iter().map(|care| care.word()).collect();
        format!("Say one of {}.", words.join(", "))
    })
}

fn start(text: &str) -> Result<Moment, MomentError> {
    Moment::parse_start(text)
}

fn end(text: &str) -> Result<Moment, MomentError> {
    Moment::parse_end(text)
}

fn litres(text: &str) -> Result<Volume, ParseVolumeError> {
    Volume::parse(text, VolumeUnit::Litre)
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    #[test]
    fn the_command_line_is_sound() {
        Arguments::command().debug_assert();
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
