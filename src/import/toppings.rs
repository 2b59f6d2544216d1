//! A list of toppings: what was poured into which vessel on which day, and from where.

use super::dated::{ask_for_day, dated};
use super::head::Head;
use super::values::{Values, label, truth, words};
use super::wine::says_full;
use super::{Answers, Proposal, Proposed, Remark};
use crate::cellar::core::fact::What;
use crate::cellar::core::state::State;
use crate::cellar::jobs::topping::Topped;
use crate::spreadsheet::Line;

/// Reads the list.
pub fn read(head: &Head<'_>, values: &Values, _answers: &Answers, _state: &State, proposal: &mut Proposal) {
    let lacks = [
        ask_for_day(head, proposal),
        proposal.ask_for(head, "litres", "How much was poured?", "'0.4 L'"),
        proposal.ask_for(head, "from", "From which vessel were they topped?", "K1"),
    ];
    if lacks.contains(&true) {
        return;
    }
    let mut nothing: Vec<u64> = Vec::new();
    for line in &head.lines {
        match topped(head, values, line) {
            Ok(Some(topped)) => proposal.facts.push(topped),
            Ok(None) => nothing.push(line.number),
            Err(why) => proposal.refuse(line.number, why),
        }
    }
    proposal.warn_of("Nothing was poured by", &nothing);
}

/// The topping of a line; none where it says no litres.
fn topped(head: &Head<'_>, values: &Values, line: &Line) -> Result<Option<Proposed>, Remark> {
    let vessel = label(head, line, "vessel")?.ok_or("it names no vessel")?;
    let Some(volume) = values.volume(head, line, "litres")? else { return Ok(None) };
    let from = label(head, line, "from")?.ok_or("it does not say from which vessel")?;
    let full = match words(head, line, "full")? {
        Some(said) if !says_full(&said) => truth(&said)?,
        Some(_) | None => true,
    };
    dated(head, values, line, What::Topped(Topped { vessel, from, volume, full, again: false })).map(Some)
}
