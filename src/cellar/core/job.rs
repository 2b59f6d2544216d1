//! What every kind of fact has in common: what must be so, what cannot be true but is kept, and what it does.
//!
//! The same answers serve the act and the loading. An act is refused ([`super::decide`]) where something is
//! missing, untrue or absurd. A fact of the log ([`super::evolve`]) is never refused: where something is missing it has no effect,
//! where it is untrue it is counted all the same, and either way a discrepancy is kept for the person.
//!
//! Two more answers are for acts. What a hold or a checklist bars is refused, and taken where the act gives a reason to do it
//! despite that. What would only surprise is a [`Question`]: the screen and the commands that enter ask it once, `record`
//! takes the act and says it.
//!
//! **Done on two laptops** (`Job::twice`): a topping of a barrel that another device topped to the brim in the same round, a step of a work
//! that another device did, also within twelve hours of the closing that the other did not know of. One device may do things twice: it was
//! asked then. Both facts count until `Desk::settle` says otherwise: it enters the later one anew with `again`, or takes back the others
//! and notes that, since an act of mere retractions is none that undo finds. The same care of empty wood within half a day is such a case
//! too.

use super::doing::Twice;
use super::fact::{Stamp, What};
use super::label::Label;
use super::moment::Moment;
use super::question::Question;
use super::refusal::Refusal;
use super::state::State;

/// A kind of fact in the domain.
pub trait Job {
    /// The things that the fact names, looked up.
    type Ready;

    /// Looks up what the fact names. What is missing makes the fact mean nothing: the act is refused, the loaded fact
    /// has no effect.
    fn ready(&self, state: &State) -> Result<Self::Ready, Refusal>;

    /// What cannot be true beside the facts before it, though it can be counted: the act is refused, the loaded fact
    /// counts and is kept as a discrepancy.
    fn doubt(&self, _state: &State, _ready: &Self::Ready) -> Option<Refusal> {
        None
    }

    /// What could be true but is most likely a slip of the hand: the act is refused, the loaded fact counts.
    fn slip(&self, _state: &State, _ready: &Self::Ready) -> Option<Refusal> {
        None
    }

    /// What a hold or a checklist bars: the act is refused, the loaded fact counts and is kept as a discrepancy, and either is
    /// as good as any other where it says why it was done despite that.
    fn bar(&self, _state: &State, _ready: &Self::Ready) -> Option<Refusal> {
        None
    }

    /// What an act waits for that history never waited for: it is refused unless it says why it was done despite that; the loaded
    /// fact counts as any other.
    fn awaits(&self, _state: &State, _ready: &Self::Ready) -> Option<Refusal> {
        None
    }

    /// What another laptop did on the same occasion without knowing of it: the loaded fact counts and is kept as a
    /// discrepancy, which the person settles. What the fact names may not be there any more: a barrel that was racked is empty.
    fn twice(&self, _state: &State, _ready: Option<&Self::Ready>, _stamp: &Stamp) -> Option<Box<Twice>> {
        None
    }

    /// What is asked once before the act is entered at a moment: it can be so, but it would surprise.
    fn questions(&self, _state: &State, _ready: &Self::Ready, _at: Moment) -> Vec<Question> {
        Vec::new()
    }

    /// The act with what it leaves open and the cellar can tell at that moment, so that it stands in the log and the fold only
    /// adds up; none where nothing is left open. What comes from the log is never completed.
    fn completed(&self, _state: &State, _ready: &Self::Ready, _at: Moment) -> Option<What> {
        None
    }

    /// The fact with the bins that it names as they are called now, where their store was called otherwise before; none where it names none
    /// such. All else that has a label is found by each that it had.
    fn with_bins_as_now(&self, _state: &State) -> Option<Self>
    where
        Self: Sized,
    {
        None
    }

    /// What the fact does.
    fn apply(&self, state: &mut State, stamp: &Stamp, ready: Self::Ready);

    /// What the fact is about, for a discrepancy.
    fn about(&self) -> Option<&Label>;
}

/// The fact as it is meant where a store was renamed.
fn as_now<J: Job>(job: &J, state: &State) -> Option<J> {
    if state.stores.has_former() { job.with_bins_as_now(state) } else { None }
}

/// A large kind of fact is kept in a box, so that the small ones, of which there are a million, stay small.
impl<J: Job> Job for Box<J> {
    type Ready = J::Ready;

    fn ready(&self, state: &State) -> Result<J::Ready, Refusal> {
        (**self).ready(state)
    }

    fn doubt(&self, state: &State, ready: &J::Ready) -> Option<Refusal> {
        (**self).doubt(state, ready)
    }

    fn slip(&self, state: &State, ready: &J::Ready) -> Option<Refusal> {
        (**self).slip(state, ready)
    }

    fn bar(&self, state: &State, ready: &J::Ready) -> Option<Refusal> {
        (**self).bar(state, ready)
    }

    fn awaits(&self, state: &State, ready: &J::Ready) -> Option<Refusal> {
        (**self).awaits(state, ready)
    }

    fn twice(&self, state: &State, ready: Option<&J::Ready>, stamp: &Stamp) -> Option<Box<Twice>> {
        (**self).twice(state, ready, stamp)
    }

    fn questions(&self, state: &State, ready: &J::Ready, at: Moment) -> Vec<Question> {
        (**self).questions(state, ready, at)
    }

    fn completed(&self, state: &State, ready: &J::Ready, at: Moment) -> Option<What> {
        (**self).completed(state, ready, at)
    }

    fn with_bins_as_now(&self, state: &State) -> Option<Self> {
        (**self).with_bins_as_now(state).map(Box::new)
    }

    fn apply(&self, state: &mut State, stamp: &Stamp, ready: J::Ready) {
        (**self).apply(state, stamp, ready);
    }

    fn about(&self) -> Option<&Label> {
        (**self).about()
    }
}

/// A kind of fact as the fold sees it, whatever it looks up.
pub trait Deed {
    /// Whether it may be done on a state, and whether it may be done despite a hold or a checklist.
    fn permitted(&self, state: &State, despite: bool) -> Result<(), Refusal>;
    /// What a hold or a checklist bars of it, where it could be done otherwise.
    fn barred(&self, state: &State) -> Option<Refusal>;
    /// What is asked once before it is entered.
    fn asked(&self, state: &State, at: Moment) -> Vec<Question>;
    /// The act with what it leaves open, as it is known on the state that it is decided on; none where nothing is left open.
    fn whole(&self, state: &State, at: Moment) -> Option<What>;
    /// Does it, or keeps why it does not fit.
    fn fold(&self, state: &mut State, stamp: &Stamp, kind: &str);
    /// What it is about.
    fn subject(&self) -> Option<&Label>;
}

impl<J: Job> Deed for J {
    fn permitted(&self, state: &State, despite: bool) -> Result<(), Refusal> {
        if let Some(meant) = as_now(self, state) {
            return meant.permitted(state, despite);
        }
        let ready = self.ready(state)?;
        let barred = || if despite { None } else { self.bar(state, &ready).or_else(|| self.awaits(state, &ready)) };
        match self.doubt(state, &ready).or_else(|| self.slip(state, &ready)).or_else(barred) {
            Some(refusal) => Err(refusal),
            None => Ok(()),
        }
    }

    fn barred(&self, state: &State) -> Option<Refusal> {
        self.ready(state).ok().and_then(|ready| self.bar(state, &ready))
    }

    fn asked(&self, state: &State, at: Moment) -> Vec<Question> {
        if let Some(meant) = as_now(self, state) {
            return meant.asked(state, at);
        }
        let Ok(ready) = self.ready(state) else { return Vec::new() };
        // What is refused is not asked about as well.
        let is_refused = self.doubt(state, &ready).or_else(|| self.slip(state, &ready)).is_some();
        if is_refused { Vec::new() } else { self.questions(state, &ready, at) }
    }

    fn whole(&self, state: &State, at: Moment) -> Option<What> {
        self.ready(state).ok().and_then(|ready| self.completed(state, &ready, at))
    }

    fn fold(&self, state: &mut State, stamp: &Stamp, kind: &str) {
        if let Some(meant) = as_now(self, state) {
            return meant.fold(state, stamp, kind);
        }
        let ready = self.ready(state);
        let twice = self.twice(state, ready.as_ref().ok(), stamp);
        match ready {
            Ok(ready) => {
                let barred = || if stamp.despite { None } else { self.bar(state, &ready) };
                let said = || twice.as_ref().map(|twice| twice.said.clone());
                if let Some(doubt) = self.doubt(state, &ready).or_else(barred).or_else(said) {
                    state.keep_discrepancy(stamp, kind, self.about(), &doubt, (true, twice));
                }
                self.apply(state, stamp, ready);
            }
            Err(refusal) => state.keep_discrepancy(stamp, kind, self.about(), &refusal, (false, twice)),
        }
    }

    fn subject(&self) -> Option<&Label> {
        self.about()
    }
}
