//! Works at the screen: taking one up, what its keys enter, beginning a racking, closing.

use std::ops::Range;

use crate::cellar::doing::Within;
use crate::cellar::fact::{FactId, What};
use crate::cellar::gauging::Gauged;
use crate::cellar::question::Question;
use crate::cellar::racking::{InTheTank, Racking, RackingAsked};
use crate::cellar::refusal::Refusal;
use crate::cellar::round::Skipped;
use crate::cellar::state::{self, LotId, State, VesselId, WorkId};
use crate::cellar::vessel::VesselType;
use crate::cellar::work::{Task, Tick, WorkEnded};
use crate::cellar::work_walk::Deed;
use crate::desk::Act;
use crate::tui::asking;
use crate::tui::assemblage;
use crate::tui::correcting;
use crate::tui::floor::naming;
use crate::tui::measuring::Measure;
use crate::tui::model::{Model, Tone};
use crate::tui::update::Wishes;
use crate::tui::walking::at_no_place;
use crate::tui::work::Then;
use crate::tui::work_pages::litres;
use crate::units::{Mass, Volume, VolumeUnit, counted};

/// A tank to rack into, and what lot all of it is then.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TankLine {
    /// The tank.
    pub tank: VesselId,
    /// The lot that all of it is then, where the tank holds another lot than comes in.
    pub all_is: Option<LotId>,
}

impl TankLine {
    /// The lines of a tank: one, or where it holds another lot of the same colour one for each of the two names.
    fn of(state: &State, tank: VesselId, lot: LotId) -> Vec<TankLine> {
        let colour = |lot: LotId| state.lots.get(lot).colour;
        match state.vessels.get(tank).lot {
            Some(other) if other != lot && colour(other) == colour(lot) => {
                [other, lot].map(|all_is| TankLine { tank, all_is: Some(all_is) }).to_vec()
            }
            _ => vec![TankLine { tank, all_is: None }],
        }
    }

    /// The same line in another state, as far as its tank and lot are still there.
    #[must_use]
    pub fn followed(self, before: &State, after: &State) -> Option<TankLine> {
        let tank = after.vessels.find(before.vessels.get(self.tank).label.as_str())?;
        let all_is = self.all_is.and_then(|lot| after.lots.find(before.lots.get(lot).label.as_str()));
        Some(TankLine { tank, all_is })
    }
}

/// The choice of a tank to rack a lot into.
#[derive(Clone, Debug, PartialEq)]
pub struct TankChoice {
    /// The lot that is racked.
    pub lot: LotId,
    /// The tanks, those that can take it first.
    pub tanks: Vec<TankLine>,
    /// Which is chosen.
    pub chosen: usize,
    /// The racking into the chosen one with what its wine is then, or why there is none.
    pub plan: Result<(Racking, InTheTank), Refusal>,
    /// From which line on the page is shown.
    pub line: usize,
}

impl TankChoice {
    /// The choice for a lot; none where the cellar has no tank.
    #[must_use]
    pub fn new(model: &Model, lot: LotId) -> Option<TankChoice> {
        let state = &model.state;
        let is_tank = |id: &VesselId| {
            let vessel = state.vessels.get(*id);
            vessel.vessel_type == VesselType::Tank && vessel.retired.is_none()
        };
        let tanks = state.vessels.iter().map(|(id, _)| id).filter(is_tank);
        let mut lines: Vec<TankLine> = tanks.flat_map(|tank| TankLine::of(state, tank, lot)).collect();
        // What can take it stands first, and of that what needs no other name.
        lines.sort_by_cached_key(|&line| {
            (!plan(model, lot, line).is_ok_and(|plan| plan.short().is_zero()), line.all_is.is_some())
        });
        let plan = plan_whole(model, lot, *lines.first()?);
        Some(TankChoice { lot, tanks: lines, chosen: 0, plan, line: 0 })
    }

    /// The same choice with another tank chosen.
    #[must_use]
    pub fn choosing(mut self, model: &Model, chosen: usize) -> TankChoice {
        if let Some(&tank) = self.tanks.get(chosen) {
            (self.chosen, self.line) = (chosen, 0);
            self.plan = plan_whole(model, self.lot, tank);
        }
        self
    }

    /// The same choice in another state, as far as its lot and tank are still there.
    #[must_use]
    pub fn followed(&self, model: &Model, lot: Option<LotId>, line: Option<TankLine>) -> Option<TankChoice> {
        let new = TankChoice::new(model, lot?)?;
        let chosen = new.tanks.iter().position(|&one| Some(one) == line)?;
        Some(new.choosing(model, chosen))
    }

    /// The tank that is chosen, and what lot all of it is then.
    #[must_use]
    pub fn into(&self) -> Option<TankLine> {
        self.tanks.get(self.chosen).copied()
    }
}

fn plan(model: &Model, lot: LotId, TankLine { tank, all_is }: TankLine) -> Result<Racking, Refusal> {
    model.state.plan_racking(RackingAsked { lot, racks: Vec::new(), to: tank, into: all_is }, model.now)
}

fn plan_whole(model: &Model, lot: LotId, line: TankLine) -> Result<(Racking, InTheTank), Refusal> {
    let plan = plan(model, lot, line)?;
    let then = model.state.in_the_tank(&plan, model.now);
    Ok((plan, then))
}

/// The end of a work: its summary, and where it filled a tank what that was gauged at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ending {
    /// Which work.
    pub work: WorkId,
    /// The litres that are typed so far.
    pub gauged: String,
    /// The transfer of a blend that they correct; the tank was gauged where none is chosen.
    pub given: Option<FactId>,
    /// From which line on the page is shown.
    pub line: usize,
}

impl Ending {
    /// The end of a work, shown from its end: what is asked there is seen first.
    #[must_use]
    pub fn new(work: WorkId) -> Ending {
        Ending { work, gauged: String::new(), given: None, line: usize::MAX }
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

/// Puts down the work that is walked; it stays open.
pub(super) fn put_down(model: &mut Model) {
    if let Some(work) = model.working.take() {
        let label = model.state.works.get(work).label.clone();
        let round = model.round().map(|round| &model.state.rounds.get(round).label);
        let keys = round.map_or_else(String::new, |round| format!(" The keys are those of the round {round} now."));
        model.say(format!("The work {label} is put down. It stays open: d takes it up again.{keys}"), Tone::Notice);
    }
}

/// Escape on the floor while a work is walked: it leaves no work.
pub(super) fn stay(model: &mut Model, work: WorkId) {
    let label = &model.state.works.get(work).label;
    let text = format!("The work {label} is walked. esc does not leave it: d puts it down, z closes it.");
    model.say(text, Tone::Notice);
}

/// Walks a work from its first barrel that is to be done.
pub(super) fn take_up(model: &mut Model, work: WorkId) {
    model.working = Some(work);
    let state::Work { label, task, stops, .. } = model.state.works.get(work);
    let to_know = if let Task::BarrelDown { .. } = task {
        let to_do: Vec<VesselId> = stops.iter().filter(|stop| stop.tick.is_none()).map(|stop| stop.vessel).collect();
        let wanted = model.state.care_wanted(&to_do, model.now);
        wanted.map_or_else(String::new, |care| format!(" By the book {care}: the card says which."))
    } else {
        task.caution(&model.state).map_or_else(String::new, |caution| format!(" {caution}"))
    };
    let suspects =
        model.state.suspects_of_work(model.state.works.get(work)).map_or_else(String::new, |it| format!(" {it}"));
    let to_know = to_know + &suspects;
    model.say(format!("Walking the work {label}.{to_know}"), Tone::Done);
    go_on_after(model, None);
}

/// Goes on to the next barrel of the work, in whichever room it lies.
pub(super) fn go_on(model: &mut Model) {
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
pub(super) fn do_barrel(model: &mut Model) -> Wishes {
    let (Some(id), Some(vessel)) = (model.chosen(), model.chosen_vessel()) else { return Vec::new() };
    let label = vessel.label.clone();
    if let Some(hold) = vessel.held.as_ref().filter(|_| moves_wine(model)) {
        let text = format!(
            "{label} is held: {}. h frees it, s skips it; to do it all the same type the litres, then say why.",
            hold.reason()
        );
        return refuse(model, text);
    }
    enter(model, &[id], label.as_str())
}

/// Whether the work that is walked moves wine, which a hold bars.
fn moves_wine(model: &Model) -> bool {
    model.working.is_some_and(|id| model.state.works.get(id).task.tank().is_some())
}

/// What is left of the work in some slots of this room is done as expected.
pub(super) fn do_all(model: &mut Model, slots: &Range<usize>, what: &str) -> Wishes {
    let (Some(work), Some(room)) = (model.working, model.room()) else { return Vec::new() };
    let left = model.state.stops_left(work, room, slots);
    if left.is_empty() {
        let text = format!("Nothing of this work is left to do in this {what}. Press n for the next barrel to do.");
        return refuse(model, text);
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
                if deed.volume.is_zero() { weighed(&deed.whats) } else { format!(", {}", litres(deed.volume)) };
            let act = Act::of(deed.whats, model.by.clone());
            naming::enter(model, act, format!("{who} {done}{volume}."), Then::GoOn)
        }
        Err(refusal) => refuse(model, refusal.to_string()),
    }
}

/// What was weighed in all, where facts say so.
fn weighed(whats: &[What]) -> String {
    let amount = |what: &What| match what {
        What::Treated(treated) => treated.amount,
        _ => Mass::ZERO,
    };
    let all: Mass = whats.iter().map(amount).sum();
    if all.is_zero() { String::new() } else { format!(", {}", all.show(1)) }
}

/// Whether a typed text says how much in a work: a number with its unit behind it, or a bare one. With a nought before it,
/// it is a label.
pub(super) fn looks_like_a_measure(typed: &str) -> bool {
    let (number, _) = correcting::parted(typed);
    let nought = typed.strip_prefix('0').is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
    !nought
        && typed.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | ','))
        && (Volume::parse(number, VolumeUnit::Litre).is_ok() || Mass::parse(number).is_ok())
}

/// The unit of a bare number at the chosen barrel of the work that is walked, as it is said and as it is written.
pub(super) fn unit(model: &Model) -> Option<(&'static str, &'static str)> {
    let (work, barrel) = model.working.zip(model.chosen())?;
    Some(Measure::planned(model, work, barrel).unit())
}

/// The chosen barrel is done with the litres, millilitres or grams that were typed.
pub(super) fn do_measured(model: &mut Model, typed: &str) -> Wishes {
    if let Some(why) = model.why_no_litres() {
        return refuse(model, why);
    }
    let (Some(work), Some(id)) = (model.working, model.chosen()) else { return Vec::new() };
    let label = model.state.vessels.get(id).label.clone();
    let planned = Measure::planned(model, work, id);
    let (number, more) = correcting::parted(typed);
    let measure = match planned.read(number) {
        Ok(measure) => measure,
        Err(error) => return refuse(model, format!("Nothing is called '{typed}'. {error}")),
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
    let is_improbable = deed.is_ok() && measure.is_improbable(planned);
    let question = is_improbable.then(|| measure.improbable(planned, &label));
    if !asking::may_go_on(model, question) {
        return Vec::new();
    }
    enter_deed(model, work, deed, label.as_str())
}

/// Puts right what was done at the chosen barrel.
fn correct(model: &mut Model, work: WorkId, within: Within, (measure, planned): (Measure, Measure)) -> Wishes {
    let state::Work { task, label, .. } = model.state.works.get(work);
    if matches!(task, Task::Caring { .. }) {
        return refuse(model, Refusal::NoLitres(label.clone()).to_string());
    }
    // Of a barrel that is full nothing more is expected, which says nothing of what it took.
    let is_improbable = !matches!(task, Task::BarrelDown { .. }) && measure.is_improbable(planned);
    let vessel = model.chosen_vessel().map(|vessel| vessel.label.clone());
    let question = vessel.filter(|_| is_improbable);
    let question = question.map(|label| measure.improbable(planned, &label));
    if !asking::may_go_on(model, question) {
        return Vec::new();
    }
    correcting::correct(model, within, measure.corrected())
}

/// Skips the chosen barrel.
pub(super) fn skip(model: &mut Model) -> Wishes {
    let (Some(work), Some(vessel)) = (model.working, model.chosen_vessel()) else { return Vec::new() };
    let label = vessel.label.clone();
    let work = model.state.works.get(work).label.clone();
    let skipped = Skipped { vessel: label.clone(), round: None, work: Some(work), why: None };
    model.enter(vec![What::Skipped(Box::new(skipped))], format!("{label} skipped, and remembered."), Then::GoOn)
}

/// Begins the racking into the chosen tank.
pub(super) fn begin(model: &mut Model, choice: &TankChoice) -> Wishes {
    let lot = model.state.lots.get(choice.lot).label.clone();
    let label = model.state.new_work_label(&format!("rack {lot}"), model.now);
    let Some(work) = label else {
        return refuse(model, "This lot was racked too often today to name another racking.".to_owned());
    };
    let set = choice.plan.clone().and_then(|(plan, _)| plan.begin(&model.state, work.clone()));
    match set {
        Ok(set) => {
            let say = format!("The work {work} has begun.");
            model.enter(vec![What::WorkSet(Box::new(set))], say, Then::TakeUp(work))
        }
        Err(refusal) => refuse(model, refusal.to_string()),
    }
}

/// Closes a work; where the tank that it filled was gauged, that is said first.
pub(super) fn end(model: &mut Model, ending: &Ending) -> Wishes {
    if let Some(id) = &ending.given {
        return correcting::correct_given(model, ending, id).unwrap_or_else(|why| refuse(model, why));
    }
    let work = model.state.works.get(ending.work);
    let label = work.label.clone();
    let (mut whats, mut say) = (Vec::new(), format!("The work {label} is closed."));
    if let (Some(filled), false) = (work.task.fills(), ending.gauged.trim().is_empty()) {
        let vessel = model.state.vessels.get(filled).label.clone();
        match Volume::parse(&ending.gauged, VolumeUnit::Litre) {
            Ok(volume) => {
                say = format!("{vessel} gauged at {}. {say}", litres(volume));
                whats.push(What::Gauged(Gauged::of_volume(vessel, volume)));
            }
            Err(error) => return refuse(model, error.to_string()),
        }
    }
    if let Task::Blending { lot, .. } = work.task {
        let lot = &model.state.lots.get(lot).label;
        say = format!("{say} `barrelwalk trace lot '{lot}'` tells where its wine came from.");
    }
    whats.push(What::WorkEnded(WorkEnded { work: label, why: None }));
    if asking::may_enter(model, &whats) { model.enter(whats, say, Then::Stay) } else { Vec::new() }
}

fn refuse(model: &mut Model, text: String) -> Wishes {
    model.say(text, Tone::Refused);
    Vec::new()
}
