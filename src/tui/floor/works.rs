//! Works at the screen: taking one up, what its keys enter, beginning a racking, closing.
//!
//! **A work on the screen** is `Model::working`; while it is set `Model::round` is none, so that rounds rest. The keys are the round's:
//! `tui/floor/walking.rs` hands them to `tui/floor/works.rs` or `tui/topping/rounds.rs`; what one key says is in
//! `cellar/views/floor/work_walk.rs`.
//!
//! **Leaving a work** is **d**, the key that takes it up: it is named on the bottom line while a work is walked and costs what it cost.
//! Escape changes no work, since it is pressed without looking; from the plan of a racking or of doses it goes back to the works, whose
//! list takes no topping key.

use crate::cellar::views::floor::measuring::Measure;
use std::ops::Range;

use crate::cellar::core::doing::Within;
use crate::cellar::core::fact::What;
use crate::cellar::core::question::Question;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::{self, State, VesselId, WorkId};
use crate::cellar::jobs::floor::work::{Task, Tick, WorkSet};
use crate::cellar::jobs::topping::round::Skipped;
use crate::cellar::views::floor::work_walk::Deed;
use crate::told::hazard::Caution;
use crate::tui::bench::assemblage;
use crate::tui::core::asking;
use crate::tui::core::model::{Model, Tone};
use crate::tui::core::update::Wishes;
use crate::tui::floor::naming;
use crate::tui::floor::walking::Onward;
use crate::tui::floor::walking::at_no_place;
use crate::tui::topping::correcting;
use crate::tui::topping::rounds;
use crate::units::{self, Mass, Volume, VolumeUnit, counted, poured};

/// Begins the work that a plan makes, and goes on to its first barrel; or says why it makes none.
pub(in crate::tui) fn begin(model: &mut Model, set: Result<WorkSet, Refusal>) -> Wishes {
    match set {
        Ok(set) => {
            let (work, say) = (set.work.clone(), format!("The work {} has begun.", set.work));
            model.enter(vec![What::WorkSet(Box::new(set))], say, Onward::Work(work).then())
        }
        Err(refusal) => model.refuse_act(&refusal),
    }
}

impl Model {
    /// Why nothing can be done in a round or a work, if nothing can.
    #[must_use]
    pub fn why_no_walk(&self) -> Option<String> {
        if self.working.is_some() { self.why_read_only() } else { self.why_no_round() }
    }

    /// Why no stretch of the floor can be done by one key, if none can.
    #[must_use]
    pub fn why_no_stretch(&self) -> Option<String> {
        let is_blend = self.working.is_some_and(|id| matches!(self.state.works.get(id).task, Task::Blending { .. }));
        let why = "A blend is made vessel by vessel. Press space at each, or type the litres that were measured.";
        let alone = || {
            let label = &self.state.vessels.get(self.aside?).label;
            Some(format!(
                "{label} lies at no place, in no rack, stack or row: space is for it alone, esc goes back to the floor."
            ))
        };
        self.why_no_walk().or_else(|| is_blend.then(|| why.to_owned())).or_else(alone)
    }

    /// Why this barrel cannot be done by one key, if it cannot.
    #[must_use]
    pub fn why_not_done(&self) -> Option<String> {
        if self.working.is_none() {
            return self.why_not_again();
        }
        if !self.gave_to_blend() {
            return self.why_no_stop();
        }
        let no_more = || Some(Refusal::GivesNoMore(self.chosen_vessel()?.label.clone()).to_string());
        self.why_no_barrel().or_else(|| if self.still_asked().is_some() { None } else { no_more() })
    }

    /// Why litres cannot be typed here, if they cannot. A vessel of a blend may give again, to bring the ratio right.
    #[must_use]
    pub fn why_no_litres(&self) -> Option<String> {
        match self.working {
            Some(_) if self.gave_to_blend() || self.done_within().is_some() => self.why_no_barrel(),
            Some(_) => self.why_no_stop(),
            None => self.why_no_topping(),
        }
    }

    /// Whether the chosen vessel has given to the blend that is walked.
    fn gave_to_blend(&self) -> bool {
        let Some((work, chosen)) = self.working.map(|id| self.state.works.get(id)).zip(self.chosen()) else {
            return false;
        };
        let Task::Blending { into, .. } = work.task else { return false };
        chosen != into && work.stop(chosen).is_some_and(|stop| matches!(stop.tick, Some(Tick::Done(_))))
    }

    /// Why this barrel cannot be skipped, if it cannot.
    #[must_use]
    pub fn why_no_skip(&self) -> Option<String> {
        if self.working.is_some() { self.why_no_stop() } else { self.why_no_topping() }
    }

    /// Why another topping vessel cannot be chosen, if it cannot.
    #[must_use]
    pub fn why_no_other_source(&self) -> Option<String> {
        let why = "A work keeps its vessel. Close it with z and set another work to go on with another vessel.";
        self.working.map(|_| why.to_owned()).or_else(|| self.why_no_round())
    }

    /// Why nothing is to be done at the chosen barrel in the work that is walked, if nothing is.
    fn why_no_stop(&self) -> Option<String> {
        if let Some(why) = self.why_no_barrel() {
            return Some(why);
        }
        let work = self.state.works.get(self.working?);
        let (id, vessel) = self.chosen().zip(self.chosen_vessel())?;
        if matches!(work.task, Task::Blending { into, .. } if into == id) {
            return Some(format!("{} is what the blend is made in. n goes to the next that gives.", vessel.label));
        }
        match work.stop(id).map(|stop| stop.tick) {
            None => {
                Some(format!("{} is no barrel of the work {}. n goes to the next that is.", vessel.label, work.label))
            }
            Some(Some(Tick::Done(_))) => {
                Some(format!("{} is done in this work. Type what it took in all if that was wrong.", vessel.label))
            }
            Some(None | Some(Tick::Skipped)) => None,
        }
    }
}

/// What is open and can be gone on with: said on opening, unless something else was.
pub(in crate::tui) fn told(model: &Model, before: Option<&State>) -> Option<String> {
    let is_opened = before.is_none() && model.said.is_empty();
    let round = model.round().map(|_| "A round is under way here: go on where you stopped.");
    let work =
        || (!model.state.open_works.is_empty()).then_some("A work is open: press d to take it up where you stopped.");
    round.or_else(work).filter(|_| is_opened).map(str::to_owned)
}

/// Puts down the work that is walked; it stays open.
pub(in crate::tui) fn put_down(model: &mut Model) {
    if let Some(work) = model.working.take() {
        let label = model.state.works.get(work).label.clone();
        let round = model.round().map(|round| &model.state.rounds.get(round).label);
        let keys = round.map_or_else(String::new, |round| format!(" The keys are those of the round {round} now."));
        model.say(format!("The work {label} is put down. It stays open: d takes it up again.{keys}"), Tone::Notice);
    }
}

/// Escape on the floor while a work is walked: it leaves no work.
pub(in crate::tui) fn stay(model: &mut Model, work: WorkId) {
    let label = &model.state.works.get(work).label;
    let text = format!("The work {label} is walked. esc does not leave it: d puts it down, z closes it.");
    model.say(text, Tone::Notice);
}

/// Takes up a work that is open: what can hurt somebody at it is said before the first barrel, whoever goes on with it.
pub(in crate::tui) fn take_up(model: &mut Model, work: WorkId) {
    let caution = Caution::of_work(&model.state, model.state.works.get(work));
    walk(model, work);
    model.heed(caution);
}

/// What can hurt somebody who goes on with the round that is under way here.
pub(in crate::tui) fn caution_under_way(model: &Model) -> Caution {
    model.round().map_or_else(Caution::default, |_| Caution::of_kind("round_begun"))
}

/// Walks a work from its first barrel that is to be done.
fn walk(model: &mut Model, work: WorkId) {
    model.working = Some(work);
    let state::Work { label, task, stops, .. } = model.state.works.get(work);
    let to_know = if let Task::BarrelDown { .. } = task {
        let to_do: Vec<VesselId> = stops.iter().filter(|stop| stop.tick.is_none()).map(|stop| stop.vessel).collect();
        let wanted = model.state.care_wanted(&to_do, model.now);
        wanted.map_or_else(String::new, |care| format!(" By the book {care}: the card says which."))
    } else {
        String::new()
    };
    let suspects =
        model.state.suspects_of_work(model.state.works.get(work)).map_or_else(String::new, |it| format!(" {it}"));
    let to_know = to_know + &suspects;
    model.say(format!("Walking the work {label}.{to_know}"), Tone::Done);
    go_on_after(model, None);
}

/// Goes on to the next barrel of the work, in whichever room it lies.
pub(in crate::tui) fn go_on(model: &mut Model) {
    go_on_after(model, model.chosen());
}

fn go_on_after(model: &mut Model, after: Option<VesselId>) {
    let Some(id) = model.working else { return };
    if matches!(model.state.works.get(id).task, Task::Blending { .. }) {
        return assemblage::go_on(model, id, after);
    }
    let Some(next) = model.state.works.get(id).next_after(after) else {
        model.stayed = model.chosen_vessel().map(|vessel| vessel.label.clone());
        model.say_also("Every barrel of this work is done. Press z to close it.", Tone::Done);
        return;
    };
    let room = model.room();
    model.look_at(next);
    let label = &model.state.vessels.get(next).label;
    let text = match model.room().filter(|_| model.aside.is_none()) {
        None => at_no_place(label),
        now if now == room => return,
        Some(now) => format!("{label} is next, in {}.", model.state.rooms.get(now).label),
    };
    model.say_also(&text, Tone::Notice);
}

/// The chosen barrel is done as expected.
pub(in crate::tui) fn do_barrel(model: &mut Model) -> Wishes {
    let (Some(id), Some(vessel)) = (model.chosen(), model.chosen_vessel()) else { return Vec::new() };
    let label = vessel.label.clone();
    if let Some(hold) = vessel.held.as_ref().filter(|_| moves_wine(model)) {
        let text = format!(
            "{label} is held: {}. h frees it, s skips it; to do it all the same type the litres, then say why.",
            hold.reason()
        );
        return model.refuse(text);
    }
    enter(model, &[id], label.as_str())
}

/// Whether the work that is walked moves wine, which a hold bars.
fn moves_wine(model: &Model) -> bool {
    model.working.is_some_and(|id| model.state.works.get(id).task.tank().is_some())
}

/// What is left of the work in some slots of this room is done as expected.
pub(in crate::tui) fn do_all(model: &mut Model, slots: &Range<usize>, what: &str) -> Wishes {
    let (Some(work), Some(room)) = (model.working, model.room()) else { return Vec::new() };
    let left = model.state.stops_left(work, room, slots);
    if left.is_empty() {
        let text = format!("Nothing of this work is left to do in this {what}. Press n for the next barrel to do.");
        return model.refuse(text);
    }
    enter(model, &left, &format!("The {what}: {}", counted(left.len(), "barrel")))
}

fn enter(model: &mut Model, barrels: &[VesselId], who: &str) -> Wishes {
    let Some(work) = model.working else { return Vec::new() };
    let deed = model.state.done_as_expected(work, barrels, model.now);
    enter_deed(model, work, deed, who)
}

fn enter_deed(model: &mut Model, work: WorkId, deed: Result<Deed, Refusal>, who: &str) -> Wishes {
    match deed {
        Ok(deed) => {
            let blends = matches!(model.state.works.get(work).task, Task::Blending { .. });
            let mut questions = model.state.questions(&deed.whats, model.now);
            if blends {
                questions.retain(|question| !matches!(question, Question::ClaimLost { .. }));
                questions.extend(assemblage::claims_lost(model, work));
            }
            if !asking::may_do(model, &deed.whats, questions) {
                return Vec::new();
            }
            let done = model.state.works.get(work).task.done_words();
            let volume =
                if deed.volume.is_zero() { weighed(&deed.whats) } else { format!(", {}", poured(deed.volume)) };
            let act = model.act(deed.whats);
            naming::enter(model, act, format!("{who} {done}{volume}."), Onward::Next.then())
        }
        Err(refusal) => model.refuse_act(&refusal),
    }
}

/// What was weighed in all, where facts say so.
fn weighed(whats: &[What]) -> String {
    let amount = |what: &What| match what {
        What::Treated(treated) => treated.amount,
        _ => Mass::ZERO,
    };
    let all: Mass = whats.iter().map(amount).sum();
    if all.is_zero() { String::new() } else { format!(", {}", units::weighed(all)) }
}

/// Whether a typed text says how much in a work: a number with its unit behind it, or a bare one. With a nought before it,
/// it is a label.
fn looks_like_a_measure(typed: &str) -> bool {
    let (number, _) = correcting::parted(typed);
    let nought = typed.strip_prefix('0').is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
    !nought
        && typed.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ','))
        && (Volume::parse(number, VolumeUnit::customary()).is_ok() || Mass::parse(number).is_ok())
}

/// The same in this house, which may say that plain numbers are labels.
pub(in crate::tui) fn is_measure(model: &Model, typed: &str) -> bool {
    looks_like_a_measure(typed) && !rounds::is_plain_label(&model.state, typed)
}

/// The unit of a bare number at the chosen barrel of the work that is walked, as it is said and as it is written.
pub(in crate::tui) fn unit(model: &Model) -> Option<(&'static str, &'static str)> {
    let (work, barrel) = model.working.zip(model.chosen())?;
    Some(Measure::planned(&model.state, work, barrel, model.now).unit())
}

/// The chosen barrel is done with the litres, millilitres or grams that were typed.
pub(in crate::tui) fn do_measured(model: &mut Model, typed: &str) -> Wishes {
    if let Some(why) = model.why_no_litres() {
        return model.refuse(why);
    }
    let (Some(work), Some(id)) = (model.working, model.chosen()) else { return Vec::new() };
    let label = model.state.vessels.get(id).label.clone();
    let planned = Measure::planned(&model.state, work, id, model.now);
    let (number, more) = correcting::parted(typed);
    let measure = match planned.read(number) {
        Ok(measure) => measure,
        Err(error) => return model.refuse(format!("Nothing is called '{typed}'. {error}")),
    };
    if let Some(within) = model.done_within().filter(|_| !more) {
        return correct(model, work, within, (measure, planned));
    }
    let deed = match measure {
        Measure::Litres(volume) | Measure::Millilitres(volume) => {
            model.state.done_measured(work, id, volume, model.now)
        }
        Measure::Grams(mass) => model.state.done_weighed(work, id, mass, model.now),
    };
    let question = deed.is_ok().then(|| measure.asks(planned, &label));
    if !asking::may_go_on(model, question.flatten()) {
        return Vec::new();
    }
    enter_deed(model, work, deed, label.as_str())
}

/// Puts right what was done at the chosen barrel.
fn correct(model: &mut Model, work: WorkId, within: Within, (measure, planned): (Measure, Measure)) -> Wishes {
    let state::Work { task, label, .. } = model.state.works.get(work);
    if matches!(task, Task::Caring { .. }) {
        return model.refuse(Refusal::NoLitres(label.clone()).to_string());
    }
    // Of a barrel that is full nothing more is expected, which says nothing of what it took.
    let vessel = model.chosen_vessel().filter(|_| !matches!(task, Task::BarrelDown { .. }));
    let question = vessel.and_then(|vessel| measure.asks(planned, &vessel.label));
    if !asking::may_go_on(model, question) {
        return Vec::new();
    }
    correcting::correct(model, within, measure.corrected())
}

/// Skips the chosen barrel.
pub(in crate::tui) fn skip(model: &mut Model) -> Wishes {
    let (Some(work), Some(vessel)) = (model.working, model.chosen_vessel()) else { return Vec::new() };
    let label = vessel.label.clone();
    let work = model.state.works.get(work).label.clone();
    let skipped = Skipped { vessel: label.clone(), round: None, work: Some(work), why: None };
    model.enter(
        vec![What::Skipped(Box::new(skipped))],
        format!("{label} skipped, and remembered."),
        Onward::Next.then(),
    )
}
