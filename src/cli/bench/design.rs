//! A design of glasses from the desk: the mixtures, what to pour into each glass, what to draw from each tank, and how good
//! the choice is.

use std::collections::BTreeMap;
use std::time::Duration;

use serde::Serialize;

use crate::cellar::core::label::harmless;
use crate::cli::arguments::DesignArguments;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::progress::Progress;
use crate::cli::core::stop::Stop;
use crate::cli::table::cell::Cell;
use crate::cli::table::column::Column;
use crate::cli::table::page::Page;
use crate::cli::table::text_table::wrapped;
use crate::cli::tests::sulfur::rounded;
use crate::reckon::mixture::design::{self, Design, DesignError, Kind, Wanted};
use crate::reckon::mixture::{
    Draw, Model, NoRegion, Optimum, PourError, Pouring, Quality, Region, Tanks, UNSEEN, USUAL_SPARE, WordingError,
    candidates, parse_mixture, pour, quality, region_of_words,
};
use crate::units::{Shares, Volume, VolumeUnit};

/// What a glass holds unless it is said: what is poured into a tasting glass (ISO 3591).
const USUAL_GLASS: Volume = Volume::from_ml(50);
/// What a cylinder reads unless it is said (common practice).
const USUAL_READING: Volume = Volume::from_ul(500);
/// Unless it is said, an optimal choice has so many glasses more than its model has terms: some are needed to see how far
/// tastes scatter (common practice).
const BEYOND_TERMS: usize = 5;
/// Nobody waits longer for a choice.
pub(in crate::cli) const LONGEST: Duration = Duration::from_secs(600);
/// How wide words below a table run, in characters.
pub(in crate::cli) const WORDS_COLUMNS: usize = 78;

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
    let (glass, read) = (asked.glass.unwrap_or(USUAL_GLASS), asked.read.unwrap_or(USUAL_READING));
    let pouring = pour(&region, &design.mixtures(), glass, read)?;
    let draws = pouring.draws(asked.tasters, asked.spare.unwrap_or(USUAL_SPARE))?;
    DesignView::of(&names, &region, &wanted, &design, &pouring, &draws).write(page)
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
        let volume = Volume::parse(volume, VolumeUnit::Litre).map_err(|error| refused(error.to_string()))?;
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
    let glasses = asked.glasses.or_else(|| usual_glasses(kind, model, names.len(), asked.repeats));
    let free_hand = asked.free_hand.iter().map(|text| parse_mixture(text, names)).collect::<Result<_, _>>()?;
    Ok(Wanted { kind, model, glasses, free_hand, repeats: asked.repeats, tries: asked.tries, seed: asked.seed })
}

/// How many glasses an optimal choice takes where it is not said; the other kinds have their own number.
pub(in crate::cli) fn usual_glasses(kind: Kind, model: Model, components: usize, repeats: usize) -> Option<usize> {
    matches!(kind, Kind::Optimal(_)).then(|| model.size(components) + BEYOND_TERMS + repeats)
}

/// A design.
#[derive(Debug, Serialize)]
struct DesignView {
    components: Vec<String>,
    model: &'static str,
    terms: usize,
    seed: u64,
    glasses: Vec<GlassView>,
    draws: Vec<DrawView>,
    quality: Option<QualityView>,
    finished: bool,
    #[serde(skip)]
    parts: Vec<PartView>,
    notes: Vec<String>,
}

/// A glass: what it is after rounding to what can be read.
#[derive(Debug, Serialize)]
struct GlassView {
    glass: usize,
    shares_ppm: Shares,
    pour_ul: Vec<Volume>,
    repeat_of: Option<usize>,
    #[serde(skip)]
    shares: String,
    #[serde(skip)]
    pour: String,
}

/// A component of a glass: a line of a spreadsheet.
#[derive(Debug)]
struct PartView {
    glass: usize,
    repeat_of: Option<usize>,
    component: String,
    share_ppm: u32,
    pour: Volume,
}

/// What to draw from a tank.
#[derive(Debug, Serialize)]
struct DrawView {
    component: String,
    poured_ul: Volume,
    draw_ul: Volume,
}

/// How good the glasses are for the model, as they are poured.
#[derive(Debug, Serialize)]
struct QualityView {
    log_determinant: f64,
    d: f64,
    d_efficiency_at_least: f64,
    g_efficiency: f64,
    average_variance: f64,
}

impl From<Quality> for QualityView {
    fn from(quality: Quality) -> QualityView {
        QualityView {
            log_determinant: rounded(quality.log_determinant, 6) + 0.0, // no nought below nought
            d: quality.d,
            d_efficiency_at_least: rounded(quality.d_efficiency_at_least, 4),
            g_efficiency: rounded(quality.g_efficiency, 4),
            average_variance: rounded(quality.average_variance, 6),
        }
    }
}

impl DesignView {
    fn of(
        names: &[String],
        region: &Region,
        wanted: &Wanted,
        design: &Design,
        pouring: &Pouring,
        draws: &[Draw],
    ) -> DesignView {
        let poured: Vec<Vec<f64>> = pouring.shares.iter().map(Shares::fractions).collect();
        let glasses: Vec<GlassView> = design
            .glasses
            .iter()
            .zip(&pouring.volumes)
            .zip(&pouring.shares)
            .enumerate()
            .map(|(at, ((glass, volumes), shares))| GlassView {
                glass: at + 1,
                shares_ppm: shares.clone(),
                pour_ul: volumes.clone(),
                repeat_of: glass.repeat_of.map(|first| first + 1),
                shares: listed(names, shares.fractions().iter().map(|share| share * 100.0)),
                pour: listed(names, volumes.iter().map(|volume| volume.as_litres() * 1_000.0)),
            })
            .collect();
        let quality = quality(region, wanted.model, &poured, &candidates(region, wanted.seed));
        DesignView {
            components: names.to_vec(),
            model: wanted.model.word(),
            terms: wanted.model.size(names.len()),
            seed: wanted.seed,
            parts: glasses.iter().flat_map(|glass| PartView::of(names, glass)).collect(),
            notes: rounded_out(region, &pouring.shares),
            glasses,
            draws: names.iter().zip(draws).map(|(name, draw)| DrawView::of(name, *draw)).collect(),
            quality: quality.map(Into::into),
            finished: design.finished,
        }
    }

    /// Gives the design out; as a spreadsheet, a line for each component of each glass.
    fn write(&self, page: &mut Page<'_>) -> Outcome {
        page.report(self, &PartView::COLUMNS, &self.parts, |page| {
            page.table(&GlassView::COLUMNS, &self.glasses)?;
            page.section("To draw", &DrawView::COLUMNS, &self.draws)?;
            page.line("")?;
            let words = [self.judgement()].into_iter().chain(self.notes.iter().cloned());
            let unfinished =
                (!self.finished).then(|| "The search was ended early: this is the best so far.".to_owned());
            let lines: Vec<String> =
                words.chain(unfinished).flat_map(|words| wrapped(&harmless(&words), WORDS_COLUMNS)).collect();
            lines.iter().try_for_each(|line| page.line(line))
        })
    }

    fn judgement(&self) -> String {
        judgement(self.model, self.terms, self.glasses.len(), self.quality.as_ref())
    }
}

/// How good glasses are for a model, in words.
fn judgement(model: &str, terms: usize, glasses: usize, quality: Option<&QualityView>) -> String {
    match quality {
        None => format!("These glasses cannot tell the {terms} terms of a {model} model apart."),
        Some(quality) => format!(
            "{glasses} glasses for the {terms} terms of a {model} model. What is predicted has on average {} of the \
             variance of one taste (I), at worst {} (G {} %). D is {}{}.",
            significant(quality.average_variance),
            significant(terms as f64 / (glasses as f64 * quality.g_efficiency)),
            rounded(quality.g_efficiency * 100.0, 0),
            significant(quality.d),
            of_the_best(quality.d_efficiency_at_least),
        ),
    }
}

/// What D is at least of the best there can be; nothing where that says little, as it does for few glasses.
fn of_the_best(at_least: f64) -> String {
    if at_least < 0.5 {
        return String::new();
    }
    format!(", at least {} % of the best there can be", rounded(at_least * 100.0, 0))
}

/// How good poured glasses are for the model they were laid out for, in words.
pub(in crate::cli) fn judged(region: &Region, wanted: &Wanted, poured: &[Shares]) -> String {
    let fractions: Vec<Vec<f64>> = poured.iter().map(Shares::fractions).collect();
    let quality = quality(region, wanted.model, &fractions, &candidates(region, wanted.seed)).map(QualityView::from);
    let terms = wanted.model.size(region.components());
    judgement(wanted.model.word(), terms, poured.len(), quality.as_ref())
}

/// The bounds and limits that rounding to the cylinder's steps broke, in words, with the glasses, numbered from 1.
pub(in crate::cli) fn broken_by_rounding(region: &Region, poured: &[Shares]) -> BTreeMap<String, Vec<usize>> {
    let mut broken: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (number, shares) in (1..).zip(poured) {
        if let Some(words) = region.broken_by(&shares.fractions(), UNSEEN) {
            broken.entry(words).or_default().push(number);
        }
    }
    broken
}

/// What rounding broke, and in which glasses.
fn rounded_out(region: &Region, poured: &[Shares]) -> Vec<String> {
    let told = |(words, glasses): (String, Vec<usize>)| {
        let glasses = glasses.iter().map(usize::to_string).collect::<Vec<_>>().join(", ");
        format!("Rounded to what can be read, just outside of '{words}': glass {glasses}.")
    };
    broken_by_rounding(region, poured).into_iter().map(told).collect()
}

/// Components and numbers to a tenth, without those of which there is nothing: `K1 12.5, K2 37.5`.
fn listed(names: &[String], numbers: impl Iterator<Item = f64>) -> String {
    let parts = names.iter().zip(numbers).filter(|(_, number)| *number > 0.0);
    parts.map(|(name, number)| format!("{name} {}", rounded(number, 2))).collect::<Vec<_>>().join(", ")
}

/// A number to about three digits that count, however small.
fn significant(number: f64) -> String {
    if number >= 0.1 { rounded(number, 3).to_string() } else { format!("{number:.2e}") }
}

impl GlassView {
    const COLUMNS: [Column<GlassView>; 4] = [
        Column::people("glass", |it: &GlassView| it.glass.into()),
        Column::people("same as", |it: &GlassView| it.repeat_of.into()).sparse(),
        Column::people("%", |it| it.shares.as_str().into()),
        Column::people("mL", |it| it.pour.as_str().into()),
    ];
}

impl PartView {
    fn of<'a>(names: &'a [String], glass: &'a GlassView) -> impl Iterator<Item = PartView> + 'a {
        let parts = names.iter().zip(glass.shares_ppm.millionths()).zip(&glass.pour_ul);
        parts.map(|((name, share_ppm), pour)| PartView {
            glass: glass.glass,
            repeat_of: glass.repeat_of,
            component: name.clone(),
            share_ppm: *share_ppm,
            pour: *pour,
        })
    }

    const COLUMNS: [Column<PartView>; 5] = [
        Column::program("glass", |it: &PartView| it.glass.into()),
        Column::program("repeat_of", |it| it.repeat_of.into()),
        Column::program("component", |it| it.component.as_str().into()),
        Column::program("share_ppm", |it| it.share_ppm.into()),
        Column::program("pour_ul", |it| Cell::Measured(it.pour)),
    ];
}

impl DrawView {
    fn of(name: &str, draw: Draw) -> DrawView {
        DrawView { component: name.to_owned(), poured_ul: draw.poured, draw_ul: draw.to_draw }
    }

    const COLUMNS: [Column<DrawView>; 3] = [
        Column::people("from", |it: &DrawView| it.component.as_str().into()),
        Column::people("poured mL", |it| Cell::Measured(it.poured_ul)),
        Column::people("draw mL", |it| Cell::Measured(it.draw_ul)),
    ];
}
