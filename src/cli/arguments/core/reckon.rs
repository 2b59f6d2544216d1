//! What can be reckoned.

use clap::Subcommand;

use crate::cli::arguments::bench::blend::{AcidityArguments, BlendArguments, CourseArguments, SquareArguments};
use crate::cli::arguments::bench::design::DesignArguments;
use crate::cli::arguments::bench::panel::{DifferenceArguments, PairedArguments, PanelArguments};
use crate::cli::arguments::bench::serving::ServingArguments;
use crate::cli::arguments::bench::surface::SurfaceArguments;
use crate::cli::arguments::bottles::bottling::{
    BottlesArguments, FillPointArguments, FillsArguments, LabelAlcoholArguments,
};
use crate::cli::arguments::finish::fining::FiningArguments;
use crate::cli::arguments::tests::sulfur::{
    DeclineArguments, DoseArguments, FreeArguments, LimitsArguments, MolecularArguments,
};
use crate::cli::arguments::topping::gauging::{BarrelArguments, DipArguments};

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
