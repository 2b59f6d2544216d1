//! A design of glasses from the desk: the mixtures, what to pour into each glass, what to draw from each tank, and how good
//! the choice is.

use std::time::Duration;

use crate::cellar::core::label::harmless;
use crate::cli::arguments::DesignArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::progress::Progress;
use crate::cli::core::stop::Stop;
use crate::cli::table::cell::{Cell, rounded};
use crate::cli::table::column::Column;
use crate::cli::table::page::{Page, WORDS_COLUMNS};
use crate::cli::table::text_table::wrapped;
use crate::reckon::mixture::design::{self, Design, DesignError, Glass, Wanted, usual_counts};
use crate::reckon::mixture::{
    Draw, Judged, Model, NoRegion, Optimum, PourError, Pouring, Quality, Region, Tanks, USUAL_SPARE, WordingError,
    broken_by_rounding, parse_mixture, pour, region_of_words, significant, steps,
};
use crate::units::{Shares, Volume, VolumeUnit};

/// Nobody waits longer for a choice.
pub(in crate::cli) const LONGEST: Duration = Duration::from_secs(600);

impl From<NoRegion> for Complaint {
    fn from(error: NoRegion) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

impl From<WordingError> for Complaint {
    fn from(error: WordingError) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

impl From<DesignError> for Complaint {
    fn from(error: DesignError) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

impl From<PourError> for Complaint {
    fn from(error: PourError) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

/// Lays out a design.
pub fn lay_out(asked: &DesignArguments, page: &mut Page<'_>) -> Outcome {
    let names: Vec<String> = asked.components.iter().map(|name| name.trim().to_owned()).collect();
    let region = region_of_words(&names, &asked.bounds, &asked.limit, tanks(asked, &names)?.as_ref())?;
    let wanted = wanted(asked, &names)?;
    let design = search(&region, &wanted)?;
    let pouring = pour(&region, &design.mixtures(), asked.glass, asked.read)?;
    let draws = pouring.draws(asked.tasters, asked.spare.unwrap_or(USUAL_SPARE))?;
    let judged = Judged::of(&region, &wanted, &pouring.shares);
    let (names, region, wanted, design) = (&names[..], &region, &wanted, &design);
    DesignSeen { names, region, wanted, design, pouring: &pouring, draws: &draws, judged }.write(page)
}

/// Searches a design; a terminal shows how it goes, and Ctrl-C takes the best so far.
pub(in crate::cli) fn search(region: &Region, wanted: &Wanted) -> Result<Design, DesignError> {
    let (stop, mut progress) = (Stop::within(LONGEST), Progress::on_terminal());
    let tell = |best: &Optimum| {
        let Optimum { quality, tried, .. } = best;
        let d = significant(quality.d);
        format!("D so far {d}, found after {tried} of {} starts; Ctrl-C takes it", wanted.tries)
    };
    let searched = design::lay_out(region, wanted, &|| stop.is_due(), &mut |best| progress.tell(&tell(best)));
    progress.end();
    searched
}

/// What there is in tanks, where that is said.
fn tanks(asked: &DesignArguments, names: &[String]) -> Outcome<Option<Tanks>> {
    let Some(blend) = asked.blend else { return Ok(None) };
    let refused = |sentence: String| Complaint::Refused(sentence);
    if blend.is_zero() {
        return Err(refused("A blend of nothing needs no tanks. Give its litres with --blend.".to_owned()));
    }
    let mut available = vec![None; names.len()];
    for text in &asked.tanks {
        let told = || refused(format!("'{}' is no tank's litres. Write it like K1=1200L.", harmless(text)));
        let (name, volume) = text.rsplit_once('=').ok_or_else(told)?;
        let volume = Volume::parse(volume, VolumeUnit::customary()).map_err(|error| refused(error.to_string()))?;
        let component = names
            .iter()
            .position(|known| known == name.trim())
            .ok_or_else(|| WordingError::Unknown { name: harmless(name), components: harmless(&names.join(", ")) })?;
        available[component] = Some(volume);
    }
    Ok(Some(Tanks { available, blend }))
}

fn wanted(asked: &DesignArguments, names: &[String]) -> Outcome<Wanted> {
    let (kind, model) = (asked.kind.kind(asked.steps, asked.middles), Model::from(asked.model));
    let (glasses, repeats) = usual_counts((kind, model, names.len()), asked.glasses, asked.repeats);
    let free_hand = asked.free_hand.iter().map(|text| parse_mixture(text, names)).collect::<Result<_, _>>()?;
    let steps = Some(steps(asked.glass, asked.read)?);
    Ok(Wanted { kind, model, glasses, free_hand, repeats, tries: asked.tries, seed: asked.seed, steps })
}

/// A design as it is told.
struct DesignSeen<'a> {
    names: &'a [String],
    region: &'a Region,
    wanted: &'a Wanted,
    design: &'a Design,
    pouring: &'a Pouring,
    draws: &'a [Draw],
    judged: Judged,
}

fn columns<'a>() -> Vec<Column<DesignSeen<'a>>> {
    vec![
        Column::within("components", |it: &DesignSeen<'_>| Cell::list(it.names)),
        Column::program("model", |it| it.judged.model.into()),
        Column::program("terms", |it| it.judged.terms.into()),
        Column::program("seed", |it| Cell::form(&it.wanted.seed)),
        Column::within("glasses", |it| Cell::things(&glass_columns(), it.glasses())),
        Column::within("draws", |it| Cell::things(&draw_columns(), it.drawn())),
        Column::within("quality", |it| it.judged.quality.map(|quality| Cell::thing(&QUALITY, &quality)).into()),
        Column::program("finished", |it| it.design.finished.into()),
        Column::within("notes", |it| Cell::list(it.rounded_out())),
    ]
}

/// How good the glasses are for the model, as they are poured.
const QUALITY: [Column<Quality>; 5] = [
    Column::program("log_determinant", |it: &Quality| rounded(it.log_determinant, 6).into()),
    Column::program("d", |it| it.d.into()),
    Column::program("d_efficiency_at_least", |it| rounded(it.d_efficiency_at_least, 4).into()),
    Column::program("g_efficiency", |it| rounded(it.g_efficiency, 4).into()),
    Column::program("average_variance", |it| rounded(it.average_variance, 6).into()),
];

impl<'a> DesignSeen<'a> {
    fn glasses(&self) -> Vec<GlassOf<'a>> {
        let poured = self.pouring.shares.iter().zip(&self.pouring.volumes);
        let glasses = (1..).zip(&self.design.glasses).zip(poured);
        let names = self.names;
        glasses.map(|((number, glass), (shares, pour))| GlassOf { names, number, glass, shares, pour }).collect()
    }

    fn drawn(&self) -> Vec<(&'a String, Draw)> {
        self.names.iter().zip(self.draws.iter().copied()).collect()
    }

    /// What rounding broke, and in which glasses.
    fn rounded_out(&self) -> Vec<String> {
        let told = |(words, glasses): (String, Vec<usize>)| {
            let glasses = glasses.iter().map(usize::to_string).collect::<Vec<_>>().join(", ");
            format!("Rounded to what can be read, just outside of '{words}': glass {glasses}.")
        };
        broken_by_rounding(self.region, &self.pouring.shares).into_iter().map(told).collect()
    }

    /// Gives the design out; as a spreadsheet, a line for each component of each glass.
    fn write(&self, page: &mut Page<'_>) -> Outcome {
        let glasses = self.glasses();
        let parts: Vec<PartOf<'_>> = glasses.iter().flat_map(GlassOf::parts).collect();
        page.report((&columns(), self), (&part_columns(), &parts), |page| {
            page.table(&glass_columns(), &glasses)?;
            page.section("To draw", &draw_columns(), &self.drawn())?;
            page.line("")?;
            let early =
                (!self.design.finished).then(|| "The search was ended early: this is the best so far.".to_owned());
            let words = std::iter::once(self.judged.words()).chain(self.rounded_out()).chain(early);
            let lines: Vec<String> = words.flat_map(|words| wrapped(&harmless(&words), WORDS_COLUMNS)).collect();
            lines.iter().try_for_each(|line| page.line(line))
        })
    }
}

/// A glass: what it is after rounding to what can be read. Glasses count from one.
struct GlassOf<'a> {
    names: &'a [String],
    number: usize,
    glass: &'a Glass,
    shares: &'a Shares,
    pour: &'a [Volume],
}

impl<'a> GlassOf<'a> {
    fn repeat_of(&self) -> Option<usize> {
        self.glass.repeat_of.map(|first| first + 1)
    }

    /// Its components, which stand in a line of a spreadsheet each.
    fn parts(&'a self) -> impl Iterator<Item = PartOf<'a>> {
        (0..self.names.len()).map(move |at| (self, at))
    }
}

fn glass_columns<'a>() -> [Column<GlassOf<'a>>; 6] {
    [
        Column::both("glass", "glass", |it: &GlassOf<'_>| it.number.into()),
        Column::within("shares_ppm", |it| Cell::form(it.shares)),
        Column::within("pour_ul", |it| Cell::list(it.pour.iter().copied())),
        Column::both("repeat_of", "same as", |it: &GlassOf<'_>| it.repeat_of().into()).sparse(),
        Column::people("%", |it| listed(it.names, it.shares.fractions().iter().map(|share| share * 100.0))),
        Column::people("mL", |it| listed(it.names, it.pour.iter().map(|volume| volume.as_litres() * 1_000.0))),
    ]
}

/// A component of a glass: which.
type PartOf<'a> = (&'a GlassOf<'a>, usize);

fn part_columns<'a>() -> [Column<PartOf<'a>>; 5] {
    [
        Column::program("glass", |(glass, _): &PartOf<'_>| glass.number.into()),
        Column::program("repeat_of", |(glass, _)| glass.repeat_of().into()),
        Column::program("component", |&(glass, at)| (&glass.names[at]).into()),
        Column::program("share_ppm", |&(glass, at)| glass.shares.millionths()[at].into()),
        Column::program("pour_ul", |&(glass, at)| Cell::Measured(glass.pour[at])),
    ]
}

/// What to draw from a tank.
fn draw_columns<'a>() -> [Column<(&'a String, Draw)>; 3] {
    [
        Column::both("component", "from", |it: &(&String, Draw)| it.0.into()),
        Column::both("poured_ul", "poured mL", |it| Cell::Measured(it.1.poured)),
        Column::both("draw_ul", "draw mL", |it| Cell::Measured(it.1.to_draw)),
    ]
}

/// Components and numbers to a tenth, without those of which there is nothing: `K1 12.5, K2 37.5`.
fn listed(names: &[String], numbers: impl Iterator<Item = f64>) -> Cell {
    let parts = names.iter().zip(numbers).filter(|(_, number)| *number > 0.0);
    parts.map(|(name, number)| format!("{name} {}", rounded(number, 2))).collect::<Vec<_>>().join(", ").into()
}
