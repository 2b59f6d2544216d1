//! What can be said of a trial at the bench.

use std::path::PathBuf;

use crate::cli::arguments::core::entering::Entering;
use crate::told::usual;
use clap::{Args, Subcommand, value_parser};

use super::design::{KindWord, MiddlesWord, ModelWord};
use crate::cellar::core::label::{Label, TextError};
use crate::cellar::jobs::bench::trial::code::{Code, CodeError};
use crate::cli::arguments::core::reading::Format;
use crate::cli::arguments::core::volume::{litres, millilitres};
use crate::reckon::mixture::design::{Kind, USUAL_TRIES};
use crate::reckon::scale_up::Tolerance;
use crate::told::bench::PANELS;
use crate::units::{Shares, Volume, parse_decimal};

/// What is done with a trial.
#[derive(Debug, Subcommand)]
pub enum TrialStep {
    /// What a trial would tell before anything is poured: how fine a difference, by glasses and tasters, and what has to be drawn
    Plan(TrialPlanArguments),
    /// Set a trial: glasses, codes and who tastes what; the key is sealed
    Set(TrialSetArguments),
    /// The pouring page: what is in which glass, FOR WHOEVER POURS ONLY
    Pour {
        /// The trial's label
        trial: String,
        /// What the cylinder or pipette can read
        #[arg(long, alias = "step", value_name = "VOLUME", default_value = usual::READING, value_parser = millilitres)]
        read: Volume,
        /// In which form
        #[arg(long, value_enum, default_value_t = Format::Table)]
        format: Format,
    },
    /// Who gets which codes, flight by flight, in the order of tasting
    Serve {
        /// The trial's label
        trial: String,
        /// In which form
        #[arg(long, value_enum, default_value_t = Format::Table)]
        format: Format,
    },
    /// Rate one glass; again corrects it
    Rate(RateArguments),
    /// Take in the ratings of a spreadsheet: taster, code, score or rank, text; all or none
    Scores {
        /// The trial's label
        trial: String,
        /// The CSV file
        file: PathBuf,
        /// Only say what would be taken in
        #[arg(long)]
        dry_run: bool,
        /// Who enters it, and what was asked before.
        #[command(flatten)]
        entering: Entering,
    },
    /// Which glasses nobody has rated yet who was served them
    Missing {
        /// The trial's label
        trial: String,
        /// In which form
        #[arg(long, value_enum, default_value_t = Format::Table)]
        format: Format,
    },
    /// Reveal the trial: the key is opened, once and for good
    Reveal {
        /// The trial's label
        trial: String,
        /// Reveal it with ratings missing
        #[arg(long)]
        incomplete: bool,
        /// In which form
        #[arg(long, value_enum, default_value_t = Format::Table)]
        format: Format,
        /// Who enters it, and what was asked before.
        #[command(flatten)]
        entering: Entering,
    },
    /// The text that was sealed, once it is revealed; its SHA-256 is the digest of the trial
    Seal {
        /// The trial's label
        trial: String,
    },
    /// Choose the blend, and set up the work of making it
    Blend(TrialBlendArguments),
}

/// What a new trial needs to know.
#[derive(Debug, Args)]
pub struct TrialSetArguments {
    /// The trial's label
    #[arg(value_parser = label)]
    pub trial: Label,
    /// Its glasses.
    #[command(flatten)]
    pub glasses: TrialGlasses,
    /// Who tastes, with commas between
    #[arg(long, value_name = "NAMES", value_delimiter = ',', required_unless_present = "after", value_parser = label)]
    pub panel: Vec<Label>,
    /// Draw glasses, codes and orders from this number, to lay a trial out again [default: by chance]
    #[arg(long, value_name = "NUMBER")]
    pub seed: Option<u64>,
    /// Only say what would be set
    #[arg(long)]
    pub dry_run: bool,
    /// Who enters it, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
}

/// What is to be known of a trial that is only planned.
#[derive(Debug, Args)]
pub struct TrialPlanArguments {
    /// Its glasses.
    #[command(flatten)]
    pub glasses: TrialGlasses,
    /// How many taste
    #[arg(long, value_name = "NUMBER", default_value_t = 5, value_parser = value_parser!(u16).range(1..=100))]
    pub tasters: u16,
    /// How far one rating strays from another of the same wine, points of 20 [default: by this house's hidden repeats]
    #[arg(long, value_name = "POINTS", value_parser = parse_decimal)]
    pub error: Option<f64>,
    /// How many panels of each size are simulated; Ctrl-C takes those there are
    #[arg(long, value_name = "NUMBER", default_value_t = PANELS, value_parser = parse_panels)]
    pub panels: usize,
    /// The seed of chance; the same seed plans the same
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub seed: u64,
    /// In which form
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
}

/// What the glasses of a trial are.
#[derive(Debug, Args)]
pub struct TrialGlasses {
    /// The vessels whose wines are mixed, with commas between
    #[arg(long, value_name = "VESSELS", value_delimiter = ',', required_unless_present = "after", value_parser = label)]
    pub from: Vec<Label>,
    /// The second of two sittings, after this trial: of its wines, bounds and panel, laid out from what was said of it; two thirds as many
    /// glasses unless --count says
    #[arg(long, value_name = "TRIAL", conflicts_with_all = ["from", "glasses", "bounds", "limits", "design"])]
    pub after: Option<String>,
    /// A CSV file of glasses by free hand: a column a vessel, a row a glass, in shares or parts
    #[arg(long, value_name = "FILE")]
    pub glasses: Option<PathBuf>,
    /// What the glasses are laid out for.
    #[command(flatten)]
    pub layout: LayoutArguments,
    /// What is in a glass
    #[arg(long, value_name = "VOLUME", default_value = usual::GLASS, value_parser = millilitres)]
    pub glass: Volume,
    /// What the cylinder or pipette can read; the shares are those that are really poured
    #[arg(long, value_name = "VOLUME", default_value = usual::READING, value_parser = millilitres)]
    pub read: Volume,
    /// So many glasses stand twice, under another code, to test the tasters [default: one of ten in a spread, else none]
    #[arg(long, value_name = "NUMBER")]
    pub repeats: Option<usize>,
    /// The most glasses of a flight
    #[arg(long, value_name = "NUMBER", default_value_t = 15, value_parser = value_parser!(u16).range(1..))]
    pub flight: u16,
    /// The most glasses that one taster tastes
    #[arg(long, value_name = "NUMBER", default_value_t = 45, value_parser = value_parser!(u16).range(1..))]
    pub most: u16,
    /// So much of a vessel is there for the blend, like T1=900L; may be said again [default: all it holds]
    #[arg(long, value_name = "VESSEL=LITRES", value_parser = of_vessel)]
    pub available: Vec<(Label, Volume)>,
    /// So much must be kept back in a vessel, like T1=100L; may be said again
    #[arg(long, value_name = "VESSEL=LITRES", value_parser = of_vessel)]
    pub reserve: Vec<(Label, Volume)>,
}

/// What the glasses of a trial are laid out for.
#[derive(Debug, Args)]
pub struct LayoutArguments {
    /// How the glasses are laid out, besides those by free hand [default: spread; with --glasses and no --count none besides]
    #[arg(long, value_enum)]
    pub design: Option<KindWord>,
    /// How many glasses in all, with those by free hand and repeats; a spread and an optimal design have five more ratios than the
    /// model has terms unless you say
    #[arg(long, value_name = "NUMBER")]
    pub count: Option<usize>,
    /// The model that is to be fitted to the scores
    #[arg(long, value_enum, default_value_t = ModelWord::Quadratic)]
    pub model: ModelWord,
    /// The steps of a lattice: 2 for halves, 3 for thirds
    #[arg(long, value_name = "NUMBER", default_value_t = 2)]
    pub steps: usize,
    /// Which middles a design of vertices has
    #[arg(long, value_enum, default_value_t = MiddlesWord::Overall)]
    pub middles: MiddlesWord,
    /// Bounds of a vessel's share, like T1=10..60%, T2=..30% or T3=20%; may be said again
    #[arg(long = "bound", value_name = "BOUNDS")]
    pub bounds: Vec<String>,
    /// A limit, like "alcohol 13..14", "variety Merlot >= 75%", "vintage 2025 >= 85%", "new wood <= 40%" or
    /// "0.8 T1 + T2 >= 75%"; may be said again
    #[arg(long = "limit", value_name = "LIMIT")]
    pub limits: Vec<String>,
    /// How much blend is wanted: no share is more than its vessel can give to it
    #[arg(long, value_name = "LITRES", value_parser = litres)]
    pub litres: Option<Volume>,
    /// How many starts an optimal design tries; Ctrl-C takes the best so far
    #[arg(long, value_name = "NUMBER", default_value_t = USUAL_TRIES)]
    pub tries: usize,
}

impl LayoutArguments {
    /// How the glasses are laid out, where some of them are by free hand or none.
    pub fn kind(&self, has_free_hand: bool) -> Kind {
        match self.design {
            Some(design) => design.kind(self.steps, self.middles),
            None if has_free_hand && self.count.is_none() => Kind::FreeHand,
            None => Kind::Spread,
        }
    }
}

/// What a rating says.
#[derive(Debug, Args)]
pub struct RateArguments {
    /// The trial's label
    pub trial: String,
    /// Who tasted
    #[arg(value_parser = label)]
    pub taster: Label,
    /// What stands on the glass
    #[arg(value_parser = code)]
    pub code: Code,
    /// A score from 0 to 20 first, if there is one, then words
    pub said: Vec<String>,
    /// A rank from 1, the best; ties share one, or the mean of theirs
    #[arg(long, value_name = "RANK")]
    pub rank: Option<f64>,
    /// Which of the taster's flights, where the glass stands in several [default: the first that has it]
    #[arg(long, value_name = "NUMBER")]
    pub flight: Option<u32>,
    /// Who enters it, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
}

/// What a blend needs to know.
#[derive(Debug, Args)]
pub struct TrialBlendArguments {
    /// The trial's label
    pub trial: String,
    /// The glass that is blended
    #[arg(long, value_name = "CODE", value_parser = code, required_unless_present = "shares", conflicts_with = "shares")]
    pub code: Option<Code>,
    /// The parts of each vessel in the order of the trial, like 60,25,15, if it is no glass
    #[arg(long, value_name = "PARTS", value_parser = parts)]
    pub shares: Option<Shares>,
    /// The vessel that the wines come into
    #[arg(long, value_name = "VESSEL", value_parser = label)]
    pub into: Label,
    /// How much blend there will be [default: the largest that the vessels can give]
    #[arg(long, value_name = "LITRES", value_parser = litres)]
    pub litres: Option<Volume>,
    /// As much as the vessels can give; so it is where no litres are said
    #[arg(long, conflicts_with = "litres")]
    pub largest: bool,
    /// What is kept back of a wine, like T1=200L; may be said again
    #[arg(long, value_name = "VESSEL=LITRES", value_parser = of_vessel)]
    pub keep: Vec<(Label, Volume)>,
    /// By how much a share may differ: where that makes more wine, and at the end [default: as chosen, and 1% at the end]
    #[arg(long, value_name = "PCT")]
    pub tolerance: Option<Tolerance>,
    /// The lot that it is; it is opened where there is none of that label
    #[arg(long, value_name = "LOT", value_parser = label)]
    pub lot: Label,
    /// The label of the work [default: after the lot]
    #[arg(long, value_name = "LABEL", value_parser = label)]
    pub work: Option<Label>,
    /// Only say what it would be
    #[arg(long)]
    pub dry_run: bool,
    /// In which form
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub format: Format,
    /// Who enters it, and what was asked before.
    #[command(flatten)]
    pub entering: Entering,
}

fn label(text: &str) -> Result<Label, TextError> {
    Label::new(text.trim())
}

fn parse_panels(text: &str) -> Result<usize, String> {
    let panels = text.parse().ok().filter(|panels| (1..=1_000).contains(panels));
    panels.ok_or_else(|| "Give a number of panels from 1 to 1000.".to_owned())
}

fn code(text: &str) -> Result<Code, CodeError> {
    Code::parse(text)
}

fn of_vessel(text: &str) -> Result<(Label, Volume), String> {
    let (vessel, volume) = text.rsplit_once('=').ok_or("Say a vessel and its litres, like T1=900L.")?;
    Ok((label(vessel).map_err(|error| error.to_string())?, litres(volume).map_err(|error| error.to_string())?))
}

fn parts(text: &str) -> Result<Shares, String> {
    let part =
        |part: &str| part.trim().parse::<f64>().map_err(|_| format!("'{part}' is no number. Say parts like 60,25,15."));
    let parts: Vec<f64> = text.split(',').map(part).collect::<Result<_, _>>()?;
    Shares::from_reals(&parts).map_err(|error| error.to_string())
}
