//! `trial set`: glasses laid out or read from a spreadsheet, codes and orders by chance, and the key under seal.

use std::collections::BTreeSet;
use std::io::Write;

use super::pouring::DrawView;
use super::{enter, glasses, seal_line};
use crate::cellar::core::decide::decide;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::bench::trial::code::Code;
use crate::cellar::jobs::bench::trial::laying_out::Plan;
use crate::cellar::jobs::bench::trial::setting::{ComponentSet, TrialSet};
use crate::cellar::views::bench::limits::NoLimit;
use crate::cellar::views::books::lineage::NewWood;
use crate::cli::arguments::{Format, TrialSetArguments};
use crate::cli::bench::design::{WORDS_COLUMNS, broken_by_rounding, judged, search, usual_glasses};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::saying::Saying;
use crate::cli::table::page::Page;
use crate::cli::table::text_table::wrapped;
use crate::desk::Desk;
use crate::reckon::mixture::design::{Kind, Wanted};
use crate::reckon::mixture::{
    Draw, Model, NoRegion, Pouring, Region, Tanks, USUAL_SPARE, bounds_of_words, draws, pour,
};
use crate::units::{Shares, Volume, VolumeUnit};

/// Bytes of the salt: as many as nobody can try.
const SALT_BYTES: usize = 16;

impl From<NoLimit> for Complaint {
    fn from(error: NoLimit) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

/// Glasses that are laid out and not yet under codes.
struct Laid {
    region: Region,
    wanted: Wanted,
    pouring: Pouring,
    /// Whether the search for them went to its end.
    finished: bool,
}

/// Sets a trial, or says what would be set.
pub fn set(
    desk: &mut Desk,
    asked: &TrialSetArguments,
    now: Moment,
    out: &mut dyn Write,
    saying: &mut Saying<'_>,
) -> Outcome {
    let wood = if asked.layout.limits.is_empty() { NewWood::default() } else { desk.trace(now)?.new_wood() };
    let laid = laid_out(desk.state(), asked, &wood, saying)?;
    let taken = desk.state().trials.iter().flat_map(|(_, trial)| trial.codes()).map(Code::number).collect();
    let fact = sealed(asked, &laid, &taken)?;
    let drawn = draws(laid.pouring.volumes.iter().map(Vec::as_slice).zip(fact.times_served()), USUAL_SPARE)?;
    let (sizes, digest) = (sizes(&fact), fact.digest());
    let what = What::TrialSet(Box::new(fact));
    tell_shortfalls(&laid, saying);
    if asked.dry_run {
        decide(desk.state(), &what, now, now)?;
        writeln!(out, "would be set: {}: {sizes}", asked.trial)?;
        return tell_quality(asked, &laid, &drawn, out);
    }
    enter(desk, vec![what], &asked.entering, now)?;
    writeln!(out, "set: {}: {sizes}\n{}", asked.trial, seal_line(&digest))?;
    saying.message(&format!("`trial pour '{}'` is the page for whoever pours, and only for them.", asked.trial));
    Ok(())
}

fn sizes(fact: &TrialSet) -> String {
    let (glasses, tasters) = (fact.glasses.len(), fact.panel.len());
    let flights = fact.servings.values().map(Vec::len).max().unwrap_or(0);
    let glass = fact.glass.show(VolumeUnit::Millilitre, 1);
    let flights = if flights == 1 { "one flight".to_owned() } else { format!("at most {flights} flights") };
    format!("{glasses} glasses of {glass}, {tasters} tasters, {flights} each")
}

/// Whether the search was ended early, and what rounding broke: in how many glasses, as which would tell of the key.
fn tell_shortfalls(laid: &Laid, saying: &mut Saying<'_>) {
    if !laid.finished {
        saying.message("The search was ended early: the best glasses so far are taken.");
    }
    for (words, glasses) in broken_by_rounding(&laid.region, &laid.pouring.shares) {
        let glasses = if let [_] = glasses[..] { "1 glass".to_owned() } else { format!("{} glasses", glasses.len()) };
        saying.message(&format!("Rounded to what can be read, {glasses} just outside of '{words}'."));
    }
}

/// How good the glasses are, and what to draw from each vessel. None of it tells the key.
fn tell_quality(asked: &TrialSetArguments, laid: &Laid, drawn: &[Draw], out: &mut dyn Write) -> Outcome {
    let judged = judged(&laid.region, &laid.wanted, &laid.pouring.shares);
    wrapped(&judged, WORDS_COLUMNS).iter().try_for_each(|line| writeln!(out, "{line}"))?;
    let mut page = Page { out, format: Format::Table, width: None };
    page.section("to draw from each vessel", &DrawView::COLUMNS, &DrawView::all(&asked.from, drawn))
}

/// Lays the glasses out: those by free hand first, then those of the design.
fn laid_out(state: &State, asked: &TrialSetArguments, wood: &NewWood, saying: &mut Saying<'_>) -> Outcome<Laid> {
    let region = region(state, asked, wood)?;
    let free_hand = match &asked.glasses {
        Some(file) => glasses::read(file, &asked.from, saying)?.iter().map(Shares::fractions).collect(),
        None => Vec::new(),
    };
    let layout = &asked.layout;
    let kind = layout.design.map_or(Kind::FreeHand, |design| design.kind(layout.steps, layout.middles));
    let model = Model::from(layout.model);
    let glasses = layout.count.or_else(|| usual_glasses(kind, model, asked.from.len(), asked.repeats));
    let seed = seed(asked)?;
    let wanted = Wanted { kind, model, glasses, free_hand, repeats: asked.repeats, tries: layout.tries, seed };
    let design = search(&region, &wanted)?;
    let pouring = pour(&region, &design.mixtures(), asked.glass, asked.read)?;
    Ok(Laid { region, wanted, pouring, finished: design.finished })
}

/// Where the glasses may lie: the person's bounds and limits, and what the vessels can give to the blend that is wanted.
fn region(state: &State, asked: &TrialSetArguments, wood: &NewWood) -> Outcome<Region> {
    for (vessel, _) in asked.available.iter().chain(&asked.reserve) {
        if !asked.from.contains(vessel) {
            let sentence =
                format!("{vessel} is none of the vessels of the trial. Name it with --from, or leave it out.");
            return Err(Complaint::Refused(sentence));
        }
    }
    let wines: Vec<VesselId> = asked.from.iter().map(|label| Ok(state.vessel(label)?)).collect::<Outcome<_>>()?;
    let gives = |(label, &wine): (&Label, &VesselId)| {
        let there = said(&asked.available, label).unwrap_or_else(|| state.vessels.get(wine).volume());
        Some(there.saturating_sub(said(&asked.reserve, label).unwrap_or_default()))
    };
    if asked.layout.litres.is_some_and(Volume::is_zero) {
        let sentence = "A blend of nothing is no blend. Give its litres, or leave --litres out.";
        return Err(Complaint::Refused(sentence.to_owned()));
    }
    let tanks =
        asked.layout.litres.map(|blend| Tanks { available: asked.from.iter().zip(&wines).map(gives).collect(), blend });
    let names: Vec<String> = asked.from.iter().map(Label::to_string).collect();
    let bounds = bounds_of_words(&names, &asked.layout.bounds, tanks.as_ref())?;
    let limit = |text: &String| state.limit_of_glasses(text, &wines, wood);
    let limits = asked.layout.limits.iter().map(limit).collect::<Result<_, _>>()?;
    Ok(Region::new(bounds, limits).map_err(NoRegion::from)?)
}

/// The litres that are said of a vessel, if they are.
fn said(list: &[(Label, Volume)], vessel: &Label) -> Option<Volume> {
    list.iter().find(|(of, _)| of == vessel).map(|(_, volume)| *volume)
}

/// The fact: codes and orders drawn, and the key under seal.
fn sealed(asked: &TrialSetArguments, laid: &Laid, taken: &BTreeSet<u16>) -> Outcome<TrialSet> {
    let refused = |error: String| Complaint::Refused(error);
    let mut salt = [0; SALT_BYTES];
    random(&mut salt)?;
    let salt = format!("{:032x}", u128::from_le_bytes(salt));
    let component = |vessel: &Label| ComponentSet {
        vessel: vessel.clone(),
        available: said(&asked.available, vessel),
        reserve: said(&asked.reserve, vessel),
    };
    let text = |words: String| {
        let text = if words.is_empty() { None } else { Some(Text::new(&words)) };
        text.transpose().map_err(|error| refused(error.to_string()))
    };
    let plan = Plan {
        trial: asked.trial.clone(),
        components: asked.from.iter().map(component).collect(),
        glass: asked.glass,
        glasses: laid.pouring.shares.clone(),
        bounds: text(laid.region.bounds_in_words())?,
        limits: text(laid.region.limits_in_words())?,
        panel: asked.panel.clone(),
        flight: asked.flight.into(),
        most: asked.most.into(),
        seed: laid.wanted.seed,
        salt: Label::new(&salt).map_err(|error| refused(error.to_string()))?,
    };
    Ok(plan.lay_out(taken)?)
}

/// The seed that was said, or one by chance that JSON carries exactly in every program.
fn seed(asked: &TrialSetArguments) -> Outcome<u64> {
    let mut bytes = [0; 8];
    match asked.seed {
        Some(seed) => Ok(seed),
        None => Ok(u64::from_le_bytes(random(&mut bytes).map(|()| bytes)?) >> 12),
    }
}

fn random(bytes: &mut [u8]) -> Outcome {
    getrandom::fill(bytes).map_err(|error| Complaint::Refused(format!("This machine gives no chance: {error}.")))
}
