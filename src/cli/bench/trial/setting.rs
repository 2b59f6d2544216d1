//! `trial set`: what is asked for is read, the cellar lays the trial out, and it is set, or said what would be.

use std::io::Write;
use std::path::Path;

use super::pouring::{draw_columns, draws};
use super::{glasses, seal_line, trial};
use crate::cellar::core::decide::decide;
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::setting::TrialSet;
use crate::cellar::views::bench::laying_out::{LaidOut, NoLayout, TrialAsked};
use crate::cellar::views::bench::limits::NoLimit;
use crate::cellar::views::books::lineage::NewWood;
use crate::cli::arguments::{Format, TrialGlasses, TrialSetArguments};
use crate::cli::bench::design::search;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::{Counter, Decided, own_state};
use crate::cli::core::saying::Saying;
use crate::cli::table::page::Page;
use crate::desk::salt;
use crate::reckon::mixture::{Draw, Model};
use crate::told::bench;
use crate::units::{counted, exact_millilitres};

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

/// A trial that is laid out, as it is told once it is set.
struct Laid {
    glasses: LaidOut,
    drawn: Vec<Draw>,
    sizes: String,
    digest: String,
}

impl Counter<'_, '_> {
    /// Sets a trial, or says what would be set.
    pub(super) fn set_trial(&mut self, cellar: &Path, asked: &TrialSetArguments) -> Outcome {
        let has_limits = !asked.glasses.layout.limits.is_empty();
        self.act(
            cellar,
            (&asked.entering, !asked.dry_run),
            |desk, now| {
                let wood = if has_limits { desk.trace(now)?.new_wood() } else { NewWood::default() };
                Ok((own_state(desk, now)?, wood))
            },
            |counter, (state, wood)| lay_out(asked, state, wood, counter),
            |counter, (state, _), laid, _| {
                let Laid { glasses, drawn, sizes, digest } = laid;
                if asked.dry_run {
                    writeln!(counter.out, "would be set: {}: {sizes}", asked.trial)?;
                    return tell_quality(state, (glasses, drawn), counter.out);
                }
                writeln!(counter.out, "set: {}: {sizes}\n{}", asked.trial, seal_line(digest))?;
                let pour = format!("`trial pour '{}'` is the page for whoever pours, and only for them.", asked.trial);
                counter.saying.message(&pour);
                Ok(())
            },
        )
    }
}

/// Lays the trial out and seals it.
fn lay_out(
    asked: &TrialSetArguments,
    state: &State,
    wood: &NewWood,
    counter: &mut Counter<'_, '_>,
) -> Outcome<Decided<Laid>> {
    let meant = after(state, &asked.glasses, read(asked, counter.saying)?)?;
    let glasses = state.lay_out_trial(meant, wood, search)?;
    let salt = salt().map_err(|error| Complaint::Refused(error.to_string()))?;
    let fact = glasses.sealed(state, salt)?;
    let (drawn, sizes, digest) = (glasses.draws(&fact)?, sizes(&fact), fact.digest());
    let what = What::TrialSet(Box::new(fact));
    for shortfall in glasses.shortfalls() {
        counter.saying.message(&shortfall);
    }
    if asked.dry_run {
        decide(state, &what, counter.now, counter.now)?;
    }
    Ok(Decided::of(vec![what], Laid { glasses, drawn, sizes, digest }))
}

/// What the command line asks for.
fn read(asked: &TrialSetArguments, saying: &mut Saying<'_>) -> Outcome<TrialAsked> {
    read_glasses(&asked.glasses, (asked.trial.clone(), asked.panel.clone(), seed(asked)?), saying)
}

/// The same, laid out from what was said of an earlier trial, where one is named.
pub(super) fn after(state: &State, glasses: &TrialGlasses, asked: TrialAsked) -> Outcome<TrialAsked> {
    let Some(first) = &glasses.after else { return Ok(asked) };
    Ok(state.second_sitting(state.trials.get(trial(state, first)?), asked)?)
}

/// What is asked for of the glasses of a trial, with its label, its panel and its seed.
pub(super) fn read_glasses(
    asked: &TrialGlasses,
    (trial, panel, seed): (Label, Vec<Label>, u64),
    saying: &mut Saying<'_>,
) -> Outcome<TrialAsked> {
    let layout = &asked.layout;
    let free_hand = asked.glasses.as_ref().map(|file| glasses::read(file, &asked.from, saying)).transpose()?;
    Ok(TrialAsked {
        trial,
        from: asked.from.clone(),
        after: None,
        available: asked.available.clone(),
        reserve: asked.reserve.clone(),
        free_hand: free_hand.unwrap_or_default(),
        kind: layout.kind(asked.glasses.is_some()),
        model: Model::from(layout.model),
        count: layout.count,
        repeats: asked.repeats,
        tries: layout.tries,
        bounds: layout.bounds.clone(),
        limits: layout.limits.clone(),
        litres: layout.litres,
        glass: asked.glass,
        read: asked.read,
        panel,
        flight: asked.flight.into(),
        most: asked.most.into(),
        seed,
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
fn tell_quality(state: &State, (laid, drawn): (&LaidOut, &[Draw]), out: &mut dyn Write) -> Outcome {
    let error = state.repeat_error();
    let mut told = vec![laid.judged(), bench::rule(laid.sizes(), laid.ratings(), &error), error.words()];
    told.extend(laid.supply(state, drawn));
    let mut page = Page { out, format: Format::Table, width: None };
    page.sentences(&told)?;
    page.section("to draw from each vessel", &draw_columns(), &draws(laid.wines(), drawn))
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
