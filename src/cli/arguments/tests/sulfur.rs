//! What can be said of sulfur dioxide on the command line.

use clap::{Args, ValueEnum};

use crate::cellar::core::moment::Moment;
use crate::cli::arguments::core::moment::start;
use crate::cli::arguments::core::volume::litres;
use crate::reckon::limits::{Kind, RuleSet};
use crate::reckon::sulfur::Model;
use crate::units::{Volume, parse_decimal};

/// A wine, as far as its sulfur dioxide hangs on it.
#[derive(Clone, Copy, Debug, Args)]
pub struct WineArguments {
    /// Its pH
    #[arg(long, value_name = "PH", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub ph: f64,
    /// Its alcohol; the OIV method asks for it
    #[arg(long, value_name = "PCT", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub alcohol: Option<f64>,
    /// Its temperature; the OIV method asks for it
    #[arg(long, value_name = "CELSIUS", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub temperature: Option<f64>,
    /// The model: by pH alone (pK 1.81), or the OIV method with alcohol and temperature
    #[arg(long, value_enum, default_value_t = ModelWord::Plain)]
    pub model: ModelWord,
}

/// What molecular sulfur dioxide needs to know.
#[derive(Clone, Copy, Debug, Args)]
pub struct MolecularArguments {
    /// Free sulfur dioxide
    #[arg(long, value_name = "MG_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub free: f64,
    /// Total sulfur dioxide, only to check the free against it
    #[arg(long, value_name = "MG_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub total: Option<f64>,
    /// The wine.
    #[command(flatten)]
    pub wine: WineArguments,
}

/// What the free sulfur dioxide for a target needs to know.
#[derive(Clone, Copy, Debug, Args)]
pub struct FreeArguments {
    /// The molecular sulfur dioxide that is wanted; 0.5 to 0.8 are usual
    #[arg(long, value_name = "MG_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub molecular: f64,
    /// The wine.
    #[command(flatten)]
    pub wine: WineArguments,
}

/// What a dose needs to know.
#[derive(Clone, Copy, Debug, Args)]
pub struct DoseArguments {
    /// The wine that is treated
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true)]
    pub volume: Volume,
    /// By how much the free is to rise; what is bound is added on top
    #[arg(long, value_name = "MG_L", value_parser = parse_decimal, allow_negative_numbers = true, required_unless_present = "total_rise")]
    pub rise: Option<f64>,
    /// By how much the total is to rise, whatever is bound of it
    #[arg(long, value_name = "MG_L", value_parser = parse_decimal, allow_negative_numbers = true, conflicts_with = "rise")]
    pub total_rise: Option<f64>,
    /// The share that is bound at once, a part of one [default: a third, common practice]
    #[arg(long, value_name = "PART", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub bound: Option<f64>,
    /// In which form it is added [default: powder, or solution where a strength is given]
    #[arg(long = "as", value_enum)]
    pub form: Option<FormWord>,
    /// Grams of metabisulfite in 100 mL of the solution [default: 10]
    #[arg(long, value_name = "PCT", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub strength: Option<f64>,
    /// Grams of sulfur dioxide in a litre of sulfurous acid or bisulfite, as its label says [default of the acid: 50, which is 5 %]
    #[arg(long, value_name = "G_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub label: Option<f64>,
    /// Grams of sulfur dioxide that a tablet gives, as its label says
    #[arg(long, value_name = "GRAMS", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub tablet: Option<f64>,
}

/// What a forecast needs to know.
#[derive(Clone, Debug, Args)]
pub struct DeclineArguments {
    /// A test: the day or time and the free sulfur dioxide, like 2027-03-02=28; as often as there are tests
    #[arg(long, value_name = "DATE=MG_L", value_parser = dated, required = true)]
    pub tested: Vec<(Moment, f64)>,
    /// An addition: the day or time and by how much it raised the free; as often as there are additions
    #[arg(long, value_name = "DATE=MG_L", value_parser = dated)]
    pub added: Vec<(Moment, f64)>,
    /// The day or time that is forecast [default: now]
    #[arg(long, value_name = "DATE-TIME", value_parser = start)]
    pub on: Option<Moment>,
    /// The free below which the wine is not to fall; `reckon free` gives that of a molecular target
    #[arg(long, value_name = "MG_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub floor: Option<f64>,
}

/// Reads a day or time and a number.
fn dated(text: &str) -> Result<(Moment, f64), String> {
    let (at, number) = text.split_once('=').ok_or("Write the day and the mg/L like 2027-03-02=28.")?;
    let at = start(at.trim())?;
    Ok((at, parse_decimal(number).map_err(|error| error.to_string())?))
}

/// What limits need to know.
#[derive(Clone, Copy, Debug, Args)]
pub struct LimitsArguments {
    /// Whose rules
    #[arg(long, value_enum)]
    pub rules: RulesWord,
    /// The wine's colour
    #[arg(long, value_enum)]
    pub colour: ColourWord,
    /// Its sugar; without it the wine counts as dry
    #[arg(long, value_name = "G_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub sugar: Option<f64>,
    /// Its volatile acidity as acetic acid, to be judged
    #[arg(long, value_name = "G_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub volatile_acidity: Option<f64>,
    /// Its total sulfur dioxide, to be judged
    #[arg(long, value_name = "MG_L", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub total: Option<f64>,
}

/// How the molecular share is reckoned.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ModelWord {
    /// By pH alone: the plain table.
    Plain,
    /// By pH, alcohol and temperature: OIV-MA-AS323-04C.
    Oiv,
}

impl From<ModelWord> for Model {
    fn from(word: ModelWord) -> Model {
        match word {
            ModelWord::Plain => Model::Plain,
            ModelWord::Oiv => Model::Oiv,
        }
    }
}

/// In which form sulfur dioxide is added.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum FormWord {
    /// Metabisulfite, weighed.
    Powder,
    /// Metabisulfite in solution.
    Solution,
    /// Sulfur dioxide from a bottle of gas.
    Gas,
    /// Sulfur burnt in the empty vessel.
    Sulfur,
    /// Sulfur dioxide in water, by its label.
    Acid,
    /// Bisulfite in water, by its label.
    Bisulfite,
    /// Tablets, by their label.
    Tablets,
}

/// Whose rules.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum RulesWord {
    /// The European Union.
    Eu,
    /// The United States.
    Us,
    /// The International Organisation of Vine and Wine.
    Oiv,
}

impl From<RulesWord> for RuleSet {
    fn from(word: RulesWord) -> RuleSet {
        match word {
            RulesWord::Eu => RuleSet::Eu,
            RulesWord::Us => RuleSet::Us,
            RulesWord::Oiv => RuleSet::Oiv,
        }
    }
}

/// A wine's colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ColourWord {
    /// Red.
    Red,
    /// White.
    White,
    /// Rosé.
    Rose,
}

impl From<ColourWord> for Kind {
    fn from(word: ColourWord) -> Kind {
        match word {
            ColourWord::Red => Kind::Red,
            ColourWord::White | ColourWord::Rose => Kind::WhiteOrRose,
        }
    }
}
