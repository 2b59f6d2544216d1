//! Printable pages from the desk.

use std::io::Write;
use std::path::{Path, PathBuf};

use super::arguments::{AddedToWords, Print, Reading, Sheet, ShownWord};
use super::reading;
use crate::cellar::core::label::harmless;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::{State, VesselId};
use crate::cellar::jobs::bench::trial::refusal::TrialRefusal;
use crate::cli::books::recall::Bottles;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::Counter;
use crate::cli::core::overwriting::free;
use crate::cli::core::suggestion::called;
use crate::cli::table::page::PAGE_COLUMNS;
use crate::cli::topping::gauging;
use crate::cli::wood::oak::judged;
use crate::log::write_private;
use crate::sheets::bench::trial;
use crate::sheets::books::additions::{self, AddedTo};
use crate::sheets::books::count;
use crate::sheets::bottles::bottling;
use crate::sheets::core::document::Document;
use crate::sheets::core::{html, plain};
use crate::sheets::floor::floor_map::Shown;
use crate::sheets::floor::{cards, floor_map, work};
use crate::sheets::tests::drawing;
use crate::sheets::topping::round;
use crate::sheets::wood::oak;

impl Counter<'_, '_> {
    /// Prints a sheet. A dip table of sizes needs no cellar, and a trace needs all facts.
    pub(in crate::cli) fn sheet(
        &mut self,
        sheet: &Sheet,
        reading: Reading,
        cellar: &dyn Fn() -> Outcome<PathBuf>,
    ) -> Outcome {
        match sheet {
            Sheet::Dip(asked) => match &asked.vessel {
                None => gauging::sheet(asked, &mut self.page(reading.format)),
                Some(label) => {
                    self.look(&cellar()?, reading, |state, _, page| gauging::sheet_of(state, label, &asked.print, page))
                }
            },
            Sheet::Trace { thing, fill, print } => self.look_back(&cellar()?, reading, |tracer, on, page| {
                give(&Bottles::find(tracer, thing, *fill)?.page(tracer, on), print, page.width, page.out)
            }),
            Sheet::Additions { to, print } => self.look_back(&cellar()?, reading, |tracer, on, page| {
                give(&additions::sheet(tracer, added_to(&tracer.state, to)?, on), print, page.width, page.out)
            }),
            Sheet::Oak { asked, print } => self.look_into(&cellar()?, reading, |desk, on, page| {
                give(&oak::sheet(&judged(desk, asked, on)?, on), print, page.width, page.out)
            }),
            other => self.look(&cellar()?, reading, |state, on, page| match document(state, other, on)? {
                Some((document, print)) => give(&document, print, page.width, page.out),
                None => Ok(()),
            }),
        }
    }
}

/// The wine that a person named.
fn added_to(state: &State, to: &AddedToWords) -> Outcome<AddedTo> {
    Ok(match to {
        AddedToWords::Vessel { label } => AddedTo::Vessel(reading::vessel(state, label)?),
        AddedToWords::Lot { label } => AddedTo::Lot(reading::lot(state, label)?),
        AddedToWords::Run { label } => AddedTo::Run(called("run", &state.runs, label)?),
    })
}

/// A sheet of a cellar as it stands, and how it is printed; none of those that are made otherwise.
fn document<'a>(state: &State, sheet: &'a Sheet, on: Moment) -> Outcome<Option<(Document, &'a Print)>> {
    Ok(Some(match sheet {
        Sheet::Dip(_) | Sheet::Trace { .. } | Sheet::Additions { .. } | Sheet::Oak { .. } => return Ok(None),
        Sheet::Round { room, print } => (round::sheet(state, reading::room(state, room)?, on), print),
        Sheet::Work { work: label, print } => (work::sheet(state, reading::work(state, label)?, on), print),
        Sheet::Pouring { trial: label, read, print } => {
            let trial = state.trials.get(crate::cli::bench::trial::trial(state, label)?);
            (trial::pouring(state, trial, *read)?, print)
        }
        Sheet::Scores { trial: label, print } => {
            (trial::scores(state.trials.get(crate::cli::bench::trial::trial(state, label)?)), print)
        }
        Sheet::Bottling { plan, code, hours, print } => {
            let plan = crate::cli::bottles::bottling::planned(state, plan)?;
            (bottling::sheet(state, &plan, code.as_ref(), *hours, on), print)
        }
        Sheet::Sample { lot, of, print } => {
            (drawing::sheet(state, &crate::cli::tests::drawing::plan(state, lot, *of)?, on), print)
        }
        Sheet::Count { room, print } => {
            let room = room.as_deref().map(|room| reading::room(state, room)).transpose()?;
            (count::sheet(state, room, on), print)
        }
        Sheet::Trial { trial: label, print } => {
            let trial = state.trials.get(crate::cli::bench::trial::trial(state, label)?);
            let sealed = || TrialRefusal::StillSealed(trial.label.clone());
            (trial::revealed(state, trial).ok_or_else(sealed)?, print)
        }
        Sheet::Map { room, show, print } => {
            (floor_map::sheet(state, reading::room(state, room)?, (*show).into(), on), print)
        }
        Sheet::Cards { vessels, lot, room, print } => {
            let chosen = chosen(state, vessels, lot.as_deref(), room.as_deref())?;
            (cards::sheet(state, &chosen, on), print)
        }
    }))
}

/// The vessels that cards are asked for, each once.
fn chosen(state: &State, vessels: &[String], lot: Option<&str>, room: Option<&str>) -> Outcome<Vec<VesselId>> {
    let mut chosen: Vec<VesselId> =
        vessels.iter().map(|label| reading::vessel(state, label)).collect::<Outcome<_>>()?;
    if let Some(lot) = lot {
        let lot = reading::lot(state, lot)?;
        chosen.extend(state.in_walking_order().filter(|&id| state.vessels.get(id).lot == Some(lot)));
    }
    if let Some(room) = room {
        chosen.extend(state.rooms.get(reading::room(state, room)?).slots.iter().flatten());
    }
    let mut seen = std::collections::HashSet::new();
    chosen.retain(|id| seen.insert(*id));
    if chosen.is_empty() {
        return Err(Complaint::Refused("There is no vessel there to make a card of.".to_owned()));
    }
    Ok(chosen)
}

/// Gives a page out in the form and to the place that are asked for; a file is its owner's alone.
pub(in crate::cli) fn give(document: &Document, how: &Print, width: Option<usize>, out: &mut dyn Write) -> Outcome {
    let is_html = |path: &Path| path.extension().is_some_and(|ending| ending == "html" || ending == "htm");
    let page = if how.html || how.out.as_deref().is_some_and(is_html) {
        html::page(document)
    } else {
        plain::text(document, width.unwrap_or(PAGE_COLUMNS))
    };
    let Some(path) = &how.out else { return Ok(out.write_all(page.as_bytes())?) };
    if !how.overwrite {
        free(path)?;
    }
    write_private(path, page.as_bytes(), how.overwrite).map_err(|error| Complaint::Refused(error.to_string()))?;
    Ok(writeln!(out, "The sheet is in {}.", harmless(&path.to_string_lossy()))?)
}

impl From<ShownWord> for Shown {
    fn from(word: ShownWord) -> Shown {
        match word {
            ShownWord::Barrels => Shown::Barrels,
            ShownWord::Lots => Shown::Lots,
        }
    }
}
