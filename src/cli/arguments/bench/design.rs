//! What can be said of a design of glasses on the command line.

use clap::{Args, ValueEnum};

use crate::cli::arguments::core::volume::{litres, millilitres};
use crate::reckon::mixture::design::{Kind, Middles, USUAL_TRIES};
use crate::reckon::mixture::{Criterion, Model};
use crate::told::usual;
use crate::units::{Volume, parse_decimal};

/// What a design of glasses needs to know.
#[derive(Clone, Debug, Args)]
pub struct DesignArguments {
    /// The components, 2 to 10, like K1,K2,K3
    #[arg(long, value_name = "NAME,…", value_delimiter = ',', required = true)]
    pub components: Vec<String>,
    /// Bounds of a component, like K1=10..60%, K2=..30% or K3=20%; as often as there are components
    #[arg(long, value_name = "BOUNDS")]
    pub bounds: Vec<String>,
    /// A limit, like "0.8 K1 + K2 >= 75%" or "13 <= 13.1 K1 + 14.2 K2 <= 13.8"; may be given again and again
    #[arg(long, value_name = "LIMIT")]
    pub limit: Vec<String>,
    /// What there is of a component, like K1=1200L, so that no share is more than it can give; as often as there are components
    #[arg(long = "tank", value_name = "NAME=LITRES", requires = "blend")]
    pub tanks: Vec<String>,
    /// The blend for which the tanks are to be enough
    #[arg(long, value_name = "LITRES", value_parser = litres, allow_negative_numbers = true, requires = "tanks")]
    pub blend: Option<Volume>,
    /// How the glasses are laid out
    #[arg(long, value_enum, default_value_t = KindWord::Spread)]
    pub kind: KindWord,
    /// How many glasses in all, with those by free hand and repeats; a spread and an optimal choice have five more ratios than the
    /// model has terms unless you say
    #[arg(long, value_name = "NUMBER")]
    pub glasses: Option<usize>,
    /// The steps of a lattice: 2 for halves, 3 for thirds
    #[arg(long, value_name = "NUMBER", default_value_t = 2)]
    pub steps: usize,
    /// Which middles a design of vertices has
    #[arg(long, value_enum, default_value_t = MiddlesWord::Overall)]
    pub middles: MiddlesWord,
    /// The model that is to be fitted
    #[arg(long, value_enum, default_value_t = ModelWord::Quadratic)]
    pub model: ModelWord,
    /// A glass that is poured anyway, like "K1=50%, K2=50%"; may be given again and again
    #[arg(long, value_name = "MIXTURE")]
    pub free_hand: Vec<String>,
    /// How many glasses are hidden repeats of others [default: one of ten in a spread, else none]
    #[arg(long, value_name = "NUMBER")]
    pub repeats: Option<usize>,
    /// What a glass holds
    #[arg(long, value_name = "ML", value_parser = millilitres, allow_negative_numbers = true, default_value = usual::GLASS)]
    pub glass: Volume,
    /// The step that the cylinder or pipette reads
    #[arg(long, value_name = "ML", value_parser = millilitres, allow_negative_numbers = true, default_value = usual::READING)]
    pub read: Volume,
    /// How often each glass is poured: once for each taster
    #[arg(long, value_name = "NUMBER", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub tasters: u32,
    /// What is drawn from the tanks beyond what is poured, a part of one [default: a tenth, common practice]
    #[arg(long, value_name = "PART", value_parser = parse_decimal, allow_negative_numbers = true)]
    pub spare: Option<f64>,
    /// How many starts an optimal choice tries; Ctrl-C shows the best so far
    #[arg(long, value_name = "NUMBER", default_value_t = USUAL_TRIES)]
    pub tries: usize,
    /// The seed of chance; the same seed lays out the same glasses
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    pub seed: u64,
}

/// How glasses are laid out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum KindWord {
    /// Spread over all that is allowed.
    #[value(help = Kind::Spread.purpose())]
    Spread,
    /// Whole multiples of a step.
    #[value(help = Kind::Lattice(1).purpose())]
    Lattice,
    /// Equal shares of every choice of components, and the axial points.
    #[value(help = Kind::Centroid.purpose())]
    Centroid,
    /// The corners of what bounds and limits allow.
    #[value(help = Kind::Corners(Middles::Overall).purpose())]
    Vertices,
    /// The choice that makes the model's numbers as certain as can be.
    #[value(help = Kind::Optimal(Criterion::Determinant).purpose())]
    OptimalD,
    /// The choice that makes predictions as certain as can be on average.
    #[value(help = Kind::Optimal(Criterion::Average).purpose())]
    OptimalI,
}

impl KindWord {
    /// The kind, with the steps of a lattice and the middles of a design of vertices.
    pub fn kind(self, steps: usize, middles: MiddlesWord) -> Kind {
        match self {
            KindWord::Spread => Kind::Spread,
            KindWord::Lattice => Kind::Lattice(steps),
            KindWord::Centroid => Kind::Centroid,
            KindWord::Vertices => Kind::Corners(middles.into()),
            KindWord::OptimalD => Kind::Optimal(Criterion::Determinant),
            KindWord::OptimalI => Kind::Optimal(Criterion::Average),
        }
    }
}

/// Which middles a design of vertices has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum MiddlesWord {
    /// The overall one.
    Overall,
    /// And those of edges.
    Edges,
    /// And those of faces.
    Faces,
}

impl From<MiddlesWord> for Middles {
    fn from(word: MiddlesWord) -> Middles {
        match word {
            MiddlesWord::Overall => Middles::Overall,
            MiddlesWord::Edges => Middles::Edges,
            MiddlesWord::Faces => Middles::Faces,
        }
    }
}

/// The model that is to be fitted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ModelWord {
    /// Each component by itself.
    Linear,
    /// And each pair of components.
    Quadratic,
}

impl From<ModelWord> for Model {
    fn from(word: ModelWord) -> Model {
        match word {
            ModelWord::Linear => Model::Linear,
            ModelWord::Quadratic => Model::Quadratic,
        }
    }
}
