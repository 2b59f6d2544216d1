//! The round at the screen: what each of its keys enters.

use std::cmp::Ordering;
use std::ops::Range;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::{RoundId, State, VesselId};
use crate::cellar::jobs::floor::changing::VesselChanged;
use crate::cellar::jobs::floor::practice::LITRES_WANT;
use crate::cellar::jobs::topping::Topped;
use crate::cellar::jobs::topping::round::{Mark, RoundBegun, RoundEnded, Skipped, SourceChanged};
use crate::cellar::views::topping::correcting::Measured;
use crate::cellar::views::topping::group::Group;
use crate::cellar::views::topping::odd;
use crate::cellar::views::topping::walk::{Hose, Next};
use crate::tui::core::asking;
use crate::tui::core::cursor::Cursor;
use crate::tui::core::model::Model;
use crate::tui::core::then::Then;
use crate::tui::core::update::Wishes;
use crate::tui::floor::despite;
use crate::tui::floor::jump::near;
use crate::tui::floor::walking::Onward;
use crate::tui::topping::correcting;
use crate::tui::topping::source::{For, SourceChoice};
use crate::units::{DateForm, Volume, VolumeUnit, counted, litres, poured};

/// Why nothing is topped where no vessel was chosen.
const NO_VESSEL: &str = "This round has no topping vessel yet. Press x to choose one.";

/// The slots of the rack under the cursor.
pub(in crate::tui) fn rack(state: &State, cursor: Cursor) -> Option<Range<usize>> {
    state.rooms.get(cursor.room).rack_slots_at(cursor.row, cursor.stack, cursor.tier)
}

/// The slots of the stack under the cursor.
pub(in crate::tui) fn stack(state: &State, cursor: Cursor) -> Option<Range<usize>> {
    stacks(state, cursor, cursor.stack, cursor.stack)
}

/// The slots of the row under the cursor.
pub(in crate::tui) fn row(state: &State, cursor: Cursor) -> Option<Range<usize>> {
    let laid = state.rooms.get(cursor.room).rows.get(cursor.row)?;
    stacks(state, cursor, 1, laid.stacks)
}

/// Slots are numbered stack by stack, so those of neighbouring stacks are one run.
fn stacks(state: &State, cursor: Cursor, first: u16, last: u16) -> Option<Range<usize>> {
    let room = state.rooms.get(cursor.room);
    let tiers = room.rows.get(cursor.row)?.tiers;
    let start = room.rack_slots_at(cursor.row, first, 1)?.start;
    let end = room.rack_slots_at(cursor.row, last, tiers)?.end;
    Some(start..end)
}

/// Tops the chosen barrel with what is expected.
pub(in crate::tui) fn top_barrel(model: &mut Model) -> Wishes {
    let Some((id, vessel)) = model.chosen().zip(model.chosen_vessel()) else { return Vec::new() };
    let label = vessel.label.clone();
    if let Some(hold) = &vessel.held {
        let text = format!(
            "{label} is held: {}. h frees it; to top it all the same type the litres, then say why.",
            hold.reason()
        );
        return model.refuse(text);
    }
    if !in_round(model, id) {
        return model.refuse(format!("{label} does not lie in this room, so it is no part of this round."));
    }
    let Some(round) = model.round() else { return Vec::new() };
    let hose = model.state.hose(round, id, model.now);
    if let Some(words) = wanted(model, id, hose) {
        return model.refuse(words);
    }
    let odd = model.state.odd(round, id, model.now).map(|why| Question::Odd { vessel: label.clone(), why });
    if !asking::may_go_on(model, odd) {
        return Vec::new();
    }
    enter_expected(model, &[id], |poured| format!("{label} topped, {}.", litres(poured)))
}

/// Tops what is left in some slots with what is expected of each, as far as the vessel in hand tops it.
pub(in crate::tui) fn top_all(model: &mut Model, slots: Range<usize>, what: &str) -> Wishes {
    let Some(round) = model.round() else { return Vec::new() };
    let stretch = model.state.stretch(round, slots.clone(), model.now);
    let left_out = model.state.left_out_words(&stretch);
    if stretch.topped.is_empty() {
        let why = match left_out {
            Some(words) => format!("{words} Press n for the next barrel to do."),
            None => nothing_left(model, slots, what),
        };
        return model.refuse(why);
    }
    let (count, left_out) = (stretch.topped.len(), left_out.map_or_else(String::new, |words| format!(" {words}")));
    enter_expected(model, &stretch.topped, |poured| {
        format!("The {what}: {count} topped, {}.{left_out}", litres(poured))
    })
}

/// Why nothing of a stretch is topped by one key where nothing is left out.
fn nothing_left(model: &Model, slots: Range<usize>, what: &str) -> String {
    let next = "Press n for the next barrel to do.";
    let resting = model.round().and_then(|round| model.state.resting(round, slots, model.now));
    match resting {
        Some((1, due)) => {
            format!(
                "The barrel in this {what} rests until it is due, on {}. {next}",
                due.format(DateForm::customary().day())
            )
        }
        Some((count, due)) => {
            format!(
                "{count} barrels in this {what} rest until they are due, the first on {}. {next}",
                due.format(DateForm::customary().day())
            )
        }
        None => format!("Nothing is left to do in this {what}. {next}"),
    }
}

fn enter_expected(model: &mut Model, barrels: &[VesselId], say: impl Fn(Volume) -> String) -> Wishes {
    let Some(source) = model.source() else { return model.refuse(NO_VESSEL.to_owned()) };
    match model.state.topped_as_expected(barrels, source, model.now) {
        Ok((whats, poured)) => enter_or_ask(model, whats, say(poured)),
        Err(refusal) => model.refuse(format!("{refusal} x changes it.")),
    }
}

/// Whether a typed text is litres rather than a label: a plain number below a hundred, as one barrel takes.
pub(in crate::tui) fn looks_like_litres(typed: &str) -> bool {
    let number = correcting::parted(typed).0.trim_end_matches(['p', 'P']).trim_end();
    let whole = number.split(['.', ',']).next().unwrap_or_default();
    let leading_zero = whole.len() > 1 && whole.starts_with('0');
    !number.is_empty()
        && number.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ','))
        && whole.len() <= 2
        && !leading_zero
}

/// Whether a typed text is a plain number, and those are labels in this house.
pub(in crate::tui) fn is_plain_label(state: &State, typed: &str) -> bool {
    state.practice.labels_are_numbers && !typed.is_empty() && typed.chars().all(|sign| sign.is_ascii_digit())
}

/// Whether a typed text says litres where a number may be meant as a label.
pub(in crate::tui) fn says_litres(state: &State, typed: &str) -> bool {
    let named = || {
        state.practice.labels_are_numbers
            && typed.ends_with(['L', 'l'])
            && Volume::parse(typed, VolumeUnit::customary()).is_ok()
    };
    !is_plain_label(state, typed) && (looks_like_litres(typed) || named())
}

/// Tops the chosen barrel with the litres that were typed.
pub(in crate::tui) fn top_measured(model: &mut Model, typed: &str) -> Wishes {
    if is_plain_label(&model.state, typed) {
        return model.refuse(unless_label(model, typed, LITRES_WANT));
    }
    // Nobody writes litres with a nought before them: it is a label, misread or of a barrel that is not registered.
    if typed.starts_with('0') && !looks_like_litres(typed) {
        return model.refuse(unless_label(model, typed, ""));
    }
    let (measure, more) = correcting::parted(typed);
    let (number, full) = match measure.strip_suffix(['p', 'P']) {
        Some(number) => (number, false),
        None => (measure, true),
    };
    let volume = match Volume::parse(number, VolumeUnit::customary()) {
        Ok(volume) => volume,
        Err(error) if typed.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '−')) => {
            return model.refuse(unless_label(model, typed, &error.to_string()));
        }
        Err(_) => return model.refuse(unless_label(model, typed, "")),
    };
    if let Some(why) = model.why_no_topping() {
        return model.refuse(unless_label(model, typed, &why));
    }
    let (Some(id), Some(source)) = (model.chosen(), model.source()) else {
        return model.refuse(NO_VESSEL.to_owned());
    };
    let (label, from) = (model.state.vessels.get(id).label.clone(), model.state.vessels.get(source).label.clone());
    if !in_round(model, id) {
        return model.refuse(format!("{label} does not lie in this room, so it is no part of this round."));
    }
    let done = model.done_within();
    if let Some(within) = done.filter(|_| !more) {
        return correcting::correct(model, within, Measured::Poured(volume, full));
    }
    let again = done.is_some();
    let brim = if full { "" } else { ", not to the brim" };
    let say = match model.mark().filter(|_| again) {
        Some(mark) => format!("{label}: {} more{brim}, {} in all.", poured(volume), poured(mark.poured() + volume)),
        None => format!("{label} topped, {}{brim}.", poured(volume)),
    };
    enter_or_ask(model, vec![What::Topped(Topped { vessel: label, from, volume, full, again })], say)
}

/// Enters toppings, unless they surprise or cost a lot a claim that it holds: then the person is asked once.
fn enter_or_ask(model: &mut Model, toppings: Vec<What>, say: String) -> Wishes {
    if !asking::may_enter(model, &toppings) {
        return Vec::new();
    }
    let act = model.act(toppings);
    despite::enter(model, act, say, Onward::Next.then())
}

/// Why a typed text is nothing, with labels that are near it.
fn unless_label(model: &Model, typed: &str, why: &str) -> String {
    let near: Vec<String> = near(&model.state, typed).iter().map(ToString::to_string).collect();
    let looked_up = if near.is_empty() {
        format!("Nothing is called '{typed}'.")
    } else {
        format!("Nothing is called '{typed}'; near it: {}.", near.join(", "))
    };
    if why.is_empty() { looked_up } else { format!("{looked_up} {why}") }
}

/// Skips the chosen barrel.
pub(in crate::tui) fn skip(model: &mut Model) -> Wishes {
    let (Some(round), Some(vessel)) = (model.round(), model.chosen_vessel()) else { return Vec::new() };
    let label = vessel.label.clone();
    if let Some(Mark::Topped(_)) = model.mark() {
        return model.refuse(format!("{label} is done in this round. Press u to undo it if that was wrong."));
    }
    let round = model.state.rounds.get(round).label.clone();
    let skipped = What::Skipped(Box::new(Skipped { vessel: label.clone(), round: Some(round), work: None, why: None }));
    model.enter(vec![skipped], format!("{label} skipped, and remembered."), Onward::Next.then())
}

/// Begins a round from the chosen vessel, or goes on with another one.
pub(in crate::tui) fn choose_source(model: &mut Model, choice: &SourceChoice) -> Wishes {
    let (Some(source), Some(room)) = (choice.vessel(), model.room()) else { return Vec::new() };
    let from = model.state.vessels.get(source).label.clone();
    if let (For::Change, Some(round)) = (choice.purpose, model.round()) {
        let lot = choice.against_the_plan(model);
        let round = model.state.rounds.get(round).label.clone();
        let changed = What::SourceChanged(SourceChanged { round, from: from.clone(), lot });
        return enter_source(model, choice, changed, format!("Topping from {from} now."), Then::STAY);
    }
    let room = model.state.rooms.get(room).label.clone();
    let odd = odd::are_many(choice.plan.odd.len(), choice.plan.stops.len()).then_some(true);
    match new_label(model, &room) {
        Some(round) => {
            let say = format!("The round {round} has begun, topping from {from}.");
            let begun = What::RoundBegun(Box::new(RoundBegun { round, room, from: Some(from), odd }));
            enter_source(model, choice, begun, say, Onward::First.then())
        }
        None => model.refuse("This room has had too many rounds today to name another one.".to_owned()),
    }
}

/// Enters from which vessel is topped, a barrel of a row being declared a topping vessel with it; what surprises is asked once.
fn enter_source(model: &mut Model, choice: &SourceChoice, what: What, say: String, then: Then) -> Wishes {
    let declared = choice.vessel().filter(|_| choice.declares(model));
    let label = |id: VesselId| model.state.vessels.get(id).label.clone();
    let declared = declared.map(|id| What::VesselChanged(Box::new(VesselChanged::topping_vessel(label(id)))));
    let whats: Vec<What> = declared.into_iter().chain([what]).collect();
    if asking::may_enter(model, &whats) { model.enter(whats, say, then) } else { Vec::new() }
}

/// A label for a round of a room that begins now: room and date, with a number where there was one already.
fn new_label(model: &Model, room: &Label) -> Option<Label> {
    Label::dated(room.as_str(), model.now, |label| model.state.rounds.find(label).is_some())
}

/// Ends a round.
pub(in crate::tui) fn end(model: &mut Model, round: RoundId) -> Wishes {
    let round = model.state.rounds.get(round);
    let ended = RoundEnded {
        round: round.label.clone(),
        room: model.state.rooms.get(round.room).label.clone(),
        from: round.source.map(|source| model.state.vessels.get(source).label.clone()),
    };
    let say =
        format!("The round {} is closed: {}, {}.", round.label, counted(round.topped, "barrel"), litres(round.poured));
    model.enter(vec![What::RoundEnded(Box::new(ended))], say, Then::STAY)
}

/// What is to be known where the walk goes on, the cursor being there already: which part of the round follows, and which
/// vessel the barrel wants where that is another than the one in hand.
pub(in crate::tui) fn change_of_leg(model: &Model, next: &Next) -> Option<String> {
    let follows = next.before.zip(next.group).and_then(|(before, group)| what_follows(before, group));
    let vessel = model.chosen().and_then(|id| wanted(model, id, next.hose));
    let said = [follows, vessel].into_iter().flatten().collect::<Vec<_>>().join(" ");
    (!said.is_empty()).then_some(said)
}

/// What a barrel wants that is not topped from the vessel in hand; none where it is.
fn wanted(model: &Model, barrel: VesselId, hose: Hose) -> Option<String> {
    let words = model.state.hose_words(barrel, hose)?;
    Some(match hose {
        Hose::Other(_) => format!("{words} x, then enter, takes it."),
        _ => words,
    })
}

fn what_follows(before: Group, group: Group) -> Option<String> {
    match group.cmp(&before) {
        Ordering::Equal => None,
        Ordering::Greater => {
            Some(format!("No {} barrel is left to do; the {} ones follow.", before.words(), group.words()))
        }
        Ordering::Less => Some(format!("The {} barrels come first.", group.words())),
    }
}

fn in_round(model: &Model, id: VesselId) -> bool {
    model.round().is_some() && model.state.open_round_of(model.state.vessels.get(id)) == model.round()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn litres_and_labels_are_told_apart() {
        for litres in ["1.7", "4", "12", "0.5", "0,5p", ".5", "2p", "0", "1.8+", "0.5p+", "2 +"] {
            assert!(looks_like_litres(litres), "{litres}");
        }
        for label in ["0417", "417", "A-03-2-b", "K2", "", "p", "+", "05"] {
            assert!(!looks_like_litres(label), "{label}");
        }
    }
}
