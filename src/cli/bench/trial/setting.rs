//! `trial set`: what is asked for is read, the cellar lays the trial out, and it is set, or said what would be.

use std::io::Write;

use super::pouring::{draw_columns, draws};
use super::{glasses, seal_line};
use crate::cellar::core::decide::decide;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::jobs::bench::trial::setting::TrialSet;
use crate::cellar::views::bench::laying_out::{LaidOut, NoLayout, TrialAsked};
use crate::cellar::views::bench::limits::NoLimit;
use crate::cellar::views::books::lineage::NewWood;
use crate::cli::arguments::{Format, TrialSetArguments};
use crate::cli::bench::design::search;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::saying::Saying;
use crate::cli::table::page::{Page, WORDS_COLUMNS};
use crate::cli::table::text_table::wrapped;
use crate::desk::Desk;
use crate::reckon::mixture::design::Kind;
use crate::reckon::mixture::{Draw, Model};
use crate::units::{counted, exact_millilitres};

/// Bytes of the salt: as many as nobody can try.
const SALT_BYTES: usize = 16;

impl From<NoLimit> for Complaint {
    fn from(error: NoLimit) -> Complaint {
        Complaint::Refused(error.to_string())
    }
}

impl From<NoLayout> for Complaint {
    fn from(error: NoLayout) -> Complaint {
        match error {
            NoLayout::Serving(error) => error.into(),
            NoLayout::Vessel(refusal) => refusal.into(),
            other => Complaint::Refused(other.to_string()),
        }
    }
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
    let laid = desk.state().lay_out_trial(read(asked, saying)?, &wood, search)?;
    let fact = laid.sealed(desk.state(), salt()?)?;
    let (drawn, sizes, digest) = (laid.draws(&fact)?, sizes(&fact), fact.digest());
    let what = What::TrialSet(Box::new(fact));
    for shortfall in laid.shortfalls() {
        saying.message(&shortfall);
    }
    if asked.dry_run {
        decide(desk.state(), &what, now, now)?;
        writeln!(out, "would be set: {}: {sizes}", asked.trial)?;
        return tell_quality(asked, &laid, &drawn, out);
    }
    asked.entering.enter(desk, vec![what], None, now)?;
    writeln!(out, "set: {}: {sizes}\n{}", asked.trial, seal_line(&digest))?;
    saying.message(&format!("`trial pour '{}'` is the page for whoever pours, and only for them.", asked.trial));
    Ok(())
}

/// What the command line asks for.
fn read(asked: &TrialSetArguments, saying: &mut Saying<'_>) -> Outcome<TrialAsked> {
    let layout = &asked.layout;
    let free_hand = asked.glasses.as_ref().map(|file| glasses::read(file, &asked.from, saying)).transpose()?;
    Ok(TrialAsked {
        trial: asked.trial.clone(),
        from: asked.from.clone(),
        available: asked.available.clone(),
        reserve: asked.reserve.clone(),
        free_hand: free_hand.unwrap_or_default(),
        kind: layout.design.map_or(Kind::FreeHand, |design| design.kind(layout.steps, layout.middles)),
        model: Model::from(layout.model),
        count: layout.count,
        repeats: asked.repeats,
        tries: layout.tries,
        bounds: layout.bounds.clone(),
        limits: layout.limits.clone(),
        litres: layout.litres,
        glass: asked.glass,
        read: asked.read,
        panel: asked.panel.clone(),
        flight: asked.flight.into(),
        most: asked.most.into(),
        seed: seed(asked)?,
    })
}

fn sizes(fact: &TrialSet) -> String {
    let (glasses, tasters) = (counted(fact.glasses.len(), "glass"), counted(fact.panel.len(), "taster"));
    let flights = fact.servings.values().map(Vec::len).max().unwrap_or(0);
    let glass = exact_millilitres(fact.glass);
    let flights = if flights == 1 { "one flight".to_owned() } else { format!("at most {flights} flights") };
    format!("{glasses} of {glass}, {tasters}, {flights} each")
}

/// How good the glasses are, and what to draw from each vessel. None of it tells the key.
fn tell_quality(asked: &TrialSetArguments, laid: &LaidOut, drawn: &[Draw], out: &mut dyn Write) -> Outcome {
    wrapped(&laid.judged(), WORDS_COLUMNS).iter().try_for_each(|line| writeln!(out, "{line}"))?;
    let mut page = Page { out, format: Format::Table, width: None };
    page.section("to draw from each vessel", &draw_columns(), &draws(&asked.from, drawn))
}

/// The seed that was said, or one by chance that JSON carries exactly in every program.
fn seed(asked: &TrialSetArguments) -> Outcome<u64> {
    let mut bytes = [0; 8];
    match asked.seed {
        Some(seed) => Ok(seed),
        None => Ok(u64::from_le_bytes(random(&mut bytes).map(|()| bytes)?) >> 12),
    }
}

/// What is sealed with the key, by chance.
fn salt() -> Outcome<Label> {
    let mut salt = [0; SALT_BYTES];
    random(&mut salt)?;
    let salt = format!("{:032x}", u128::from_le_bytes(salt));
    Label::new(&salt).map_err(|error| Complaint::Refused(error.to_string()))
}

fn random(bytes: &mut [u8]) -> Outcome {
    getrandom::fill(bytes).map_err(|error| Complaint::Refused(format!("This machine gives no chance: {error}.")))
}
