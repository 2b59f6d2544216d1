//! What can be said of what this house declares.

use clap::{Args, Subcommand, ValueEnum};

use crate::cellar::core::day::Day;
use crate::cellar::core::label::Label;
use crate::cellar::jobs::topping::kept_since::Recorded;
use crate::cli::arguments::Entering;
use crate::cli::arguments::core::moment::day;
use crate::cli::arguments::finish::fining::percent;
use crate::reckon::material::Class;
use crate::units::parse_decimal;

/// What is declared.
#[derive(Debug, Subcommand)]
pub enum Declared {
    /// A material: another word for a known one, or what it is added for
    Material(MaterialArguments),
    /// Something that this house has its wines tested for, and what makes a wine suspect
    Analyte(AnalyteArguments),
    /// Since when toppings, or all, are written down: what lies before is no evidence of loss, leaks or intervals
    KeptSince(KeptSinceArguments),
}

/// A material, and what it is.
#[derive(Debug, Args)]
#[command(after_help = "Examples:\n  barrelwalk declare material 'Meta 2026' --same-as KMBS\n  \
                        barrelwalk declare material 'SO2 tablet 2 g' --class so2 --so2-pct 50")]
pub struct MaterialArguments {
    /// The word as it is written in the cellar
    #[arg(value_parser = |text: &str| Label::new(text))]
    pub material: Label,
    /// The material that it is another word for
    #[arg(long, value_name = "MATERIAL", value_parser = |text: &str| Label::new(text))]
    pub same_as: Option<Label>,
    /// What it is added for: so2, fining, acid, deacidifying, nutrient, tannin, other
    #[arg(long, value_parser = class, conflicts_with = "same_as", required_unless_present = "same_as")]
    pub class: Option<Class>,
    /// The sulfur dioxide that it gives, % of its mass, as its label says
    #[arg(long, value_name = "PERCENT", value_parser = percent)]
    pub so2_pct: Option<f64>,
    /// Who enters it.
    #[command(flatten)]
    pub entering: Entering,
}

/// Something that a house has its wines tested for.
#[derive(Debug, Args)]
#[command(
    after_help = "Said again it counts as said last, whole: a limit that is left out is given up.\n\nExample:\n  \
                        barrelwalk declare analyte 4-ethylphenol --unit 'µg/L' --warn 425"
)]
pub struct AnalyteArguments {
    /// What it is called
    #[arg(value_name = "NAME", value_parser = |text: &str| Label::new(text))]
    pub analyte: Label,
    /// In which unit the laboratory gives it
    #[arg(long, value_name = "UNIT", value_parser = |text: &str| Label::new(text))]
    pub unit: Label,
    /// The least that is wanted
    #[arg(long, value_name = "NUMBER", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub low: Option<f64>,
    /// The most that is wanted; a wine of more is suspect
    #[arg(long, value_name = "NUMBER", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub high: Option<f64>,
    /// A wine of more is suspect
    #[arg(long, visible_alias = "alarm", value_name = "NUMBER", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub warn: Option<f64>,
    /// Who enters it.
    #[command(flatten)]
    pub entering: Entering,
}

/// Since when something is written down, and of what.
#[derive(Debug, Args)]
#[command(
    after_help = "Without a room, lot or vessel it is said of the whole cellar. The first topping after it finds what was missing \
                  for nobody knows how long: it is no loss of that time, and nothing is learned from it.\n\nExample:\n  \
                  barrelwalk declare kept-since toppings --room long --at 2026-09-01"
)]
pub struct KeptSinceArguments {
    /// What is written down
    #[arg(value_enum)]
    pub what: RecordedWord,
    /// The room that is meant
    #[arg(long, value_parser = |text: &str| Label::new(text))]
    pub room: Option<Label>,
    /// The lot that is meant
    #[arg(long, value_parser = |text: &str| Label::new(text))]
    pub lot: Option<Label>,
    /// The vessel that is meant
    #[arg(long, value_parser = |text: &str| Label::new(text))]
    pub vessel: Option<Label>,
    /// The day on which they were last topped, brimful, where that is known: like 2026-11-20
    #[arg(long, value_name = "DAY", value_parser = day)]
    pub topped_on: Option<Day>,
    /// Since when it is so, a day being its beginning, and who enters it.
    #[command(flatten)]
    pub entering: Entering,
}

/// What is written down.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum RecordedWord {
    /// When barrels were topped, and with how much
    Toppings,
    /// All that happens in the cellar
    All,
}

impl RecordedWord {
    /// As the fact says it.
    #[must_use]
    pub const fn recorded(self) -> Recorded {
        match self {
            RecordedWord::Toppings => Recorded::Toppings,
            RecordedWord::All => Recorded::All,
        }
    }
}

/// What a material is that nobody knows yet.
#[derive(Debug, Args)]
pub struct MaterialIs {
    /// What the material is, where nobody knows it yet: so2, fining, acid, deacidifying, nutrient, tannin, other; it is declared in the same act
    #[arg(long = "is", value_name = "CLASS", value_parser = class)]
    pub class: Option<Class>,
    /// The sulfur dioxide that it gives, % of its mass, as its label says
    #[arg(long, value_name = "PERCENT", value_parser = percent, requires = "class")]
    pub so2_pct: Option<f64>,
}

fn class(text: &str) -> Result<Class, String> {
    Class::ALL.into_iter().find(|class| class.word() == text).ok_or_else(|| {
        let words: Vec<&str> = Class::ALL.iter().map(|class| class.word()).collect();
        format!("say one of {}", words.join(", "))
    })
}
