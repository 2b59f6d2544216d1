//! The counter at which commands are served: what they write to, what time it is, and the few shapes that they have. A command looks
//! at a cellar, or back through all its facts; it reckons without one; it has the desk itself do something. Or something is entered: what is asked
//! for is read, decided on the cellar, entered unless it is only tried, and told. A work is planned in the same steps, and may begin.

use std::io::Write;
use std::path::Path;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::floor::work::WorkSet;
use crate::cellar::views::books::lineage::Tracer;
use crate::cli::arguments::{Begin, Entering, Format, Reading};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::entering::{Dated, surprising};
use crate::cli::core::saying::Saying;
use crate::cli::reading::state_on;
use crate::cli::table::page::Page;
use crate::desk::{Access, Desk, Traced, last_written};
use crate::told::hazard::Caution;

/// Where commands are served.
pub struct Counter<'a, 's> {
    /// What time it is.
    pub now: Moment,
    /// The width of the screen, if it is one.
    pub width: Option<usize>,
    /// Where data goes.
    pub out: &'a mut dyn Write,
    /// Where messages go.
    pub saying: &'a mut Saying<'s>,
    /// Whether people read the plan of what is begun, and in it what can hurt somebody.
    pub plan_is_read: bool,
}

impl Counter<'_, '_> {
    /// Opens a cellar and says what the person should know of it. A command has it by one of the shapes below.
    fn desk(&mut self, cellar: &Path, access: Access) -> Outcome<Desk> {
        let written = last_written(cellar);
        let mut desk = Desk::open(cellar, access)?;
        desk.heed_clock(self.now, written);
        for warning in desk.warnings() {
            self.saying.message(warning);
        }
        Ok(desk)
    }

    /// Where the answer is written, in a form.
    pub fn page(&mut self, format: Format) -> Page<'_> {
        Page { out: &mut *self.out, format, width: self.width }
    }

    /// Looks at a cellar as of a moment, and tells.
    pub fn look(
        &mut self,
        cellar: &Path,
        reading: Reading,
        tell: impl FnOnce(&State, Moment, &mut Page<'_>) -> Outcome,
    ) -> Outcome {
        self.look_into(cellar, reading, |desk, on, page| tell(&*state_on(desk, on)?, on, page))
    }

    /// Looks at a cellar with the desk at hand, which knows more than a state, as of a moment, and tells.
    pub fn look_into(
        &mut self,
        cellar: &Path,
        reading: Reading,
        tell: impl FnOnce(&Desk, Moment, &mut Page<'_>) -> Outcome,
    ) -> Outcome {
        let desk = self.desk(cellar, Access::ReadOnly)?;
        tell(&desk, reading.on.unwrap_or(self.now), &mut self.page(reading.format))
    }

    /// Looks back through all facts of a cellar's file up to a moment, and tells.
    pub fn look_back(
        &mut self,
        cellar: &Path,
        reading: Reading,
        tell: impl FnOnce(&Tracer, Moment, &mut Page<'_>) -> Outcome,
    ) -> Outcome {
        let on = reading.on.unwrap_or(self.now);
        let traced = Traced::read(cellar, reading.on)?;
        traced.warnings.iter().for_each(|warning| self.saying.message(warning));
        tell(&traced.tracer, on, &mut self.page(reading.format))
    }

    /// Has the desk itself do something with its facts or its file, and tells what came of it.
    pub fn at_desk<T>(
        &mut self,
        cellar: &Path,
        access: Access,
        serve: impl FnOnce(&mut Desk, Moment) -> Outcome<T>,
        tell: impl FnOnce(&mut Self, &Desk, T) -> Outcome,
    ) -> Outcome {
        let mut desk = self.desk(cellar, access)?;
        let done = serve(&mut desk, self.now)?;
        tell(self, &desk, done)
    }

    /// The same of what is entered; where it is dated by the clock, that is asked about first.
    pub fn at_desk_dated<T>(
        &mut self,
        cellar: &Path,
        (access, dated): (Access, Dated),
        serve: impl FnOnce(&mut Desk, Moment) -> Outcome<T>,
        tell: impl FnOnce(&mut Self, &Desk, T) -> Outcome,
    ) -> Outcome {
        let mut desk = self.desk(cellar, access)?;
        self.heed_clock(&mut desk, dated, self.now)?;
        let done = serve(&mut desk, self.now)?;
        tell(self, &desk, done)
    }

    /// Asks about the clock before anything is dated by it, and says what follows where it is right and was not before.
    fn heed_clock(&mut self, desk: &mut Desk, dated: Dated, now: Moment) -> Outcome {
        let Dated::ByTheClock { sure } = dated else { return Ok(()) };
        let Some(question) = desk.ask_of_clock(now)? else { return Ok(()) };
        if !sure {
            return Err(surprising(&[question]));
        }
        if let Some(sentence) = desk.clock_is_right(now)? {
            self.saying.message(sentence);
        }
        Ok(())
    }

    /// Says what can hurt somebody at what is about to be entered, before it is. Of a work its plan says it.
    fn caution(&mut self, state: &State, whats: &[What]) {
        let is_planned = |what: &What| matches!(what, What::WorkSet(_) | What::BlendChosen(_));
        let caution = Caution::of_acts(state, whats);
        let is_read = self.plan_is_read && whats.iter().any(is_planned);
        if !caution.is_empty() && !is_read {
            self.saying.message(&caution.words());
        }
    }

    /// Enters what a command says, decided on the cellar as it stands, and gives the desk back to tell of it.
    pub fn enter(
        &mut self,
        cellar: &Path,
        entering: &Entering,
        whats: impl FnOnce(&State) -> Outcome<Vec<What>>,
    ) -> Outcome<Desk> {
        let mut desk = self.desk(cellar, Access::ReadWrite)?;
        let at = entering.at(self.now)?;
        self.heed_clock(&mut desk, entering.dated(), self.now)?;
        let decided = whats(&*state_on(&desk, at.unwrap_or(self.now))?);
        let whats = decided.map_err(|complaint| as_of(complaint, at))?;
        self.caution(desk.state(), &whats);
        entering.enter(&mut desk, whats, None, self.now)?;
        Ok(desk)
    }

    /// Tries what a command says, decided on the cellar as it stands, and says what would be asked about it.
    pub fn rehearse(
        &mut self,
        cellar: &Path,
        entering: &Entering,
        whats: impl FnOnce(&State) -> Outcome<Vec<What>>,
    ) -> Outcome {
        let mut desk = self.desk(cellar, Access::ReadOnly)?;
        let at = entering.at(self.now)?;
        let decided = whats(&*state_on(&desk, at.unwrap_or(self.now))?);
        let whats = decided.map_err(|complaint| as_of(complaint, at))?;
        self.caution(desk.state(), &whats);
        for question in entering.rehearse(&mut desk, whats, self.now)? {
            self.saying.message(&question.to_string());
        }
        Ok(())
    }

    /// Decides on what is read of the desk, enters what was decided on, and tells of it: by what was read, which is as it was before, and
    /// by the desk as it is then. Where it is only tried, it is told what that would be. What happened at another time than now is decided and
    /// told as of then.
    pub fn act<S, D>(
        &mut self,
        cellar: &Path,
        (entering, enters): (&Entering, bool),
        read: impl FnOnce(&Desk, Moment) -> Outcome<S>,
        decide: impl FnOnce(&mut Self, &S) -> Outcome<Decided<D>>,
        tell: impl FnOnce(&mut Self, &S, &D, &Desk) -> Outcome,
    ) -> Outcome {
        let access = if enters { Access::ReadWrite } else { Access::ReadOnly };
        let mut desk = self.desk(cellar, access)?;
        let (now, at) = (self.now, entering.at(self.now)?);
        self.now = at.unwrap_or(now);
        let read = read(&desk, self.now)?;
        let decided = decide(self, &read).map_err(|complaint| as_of(complaint, at))?;
        let Decided { whats, note, told } = decided;
        self.caution(desk.state(), &whats);
        if enters && !whats.is_empty() {
            self.heed_clock(&mut desk, entering.dated(), now)?;
            entering.enter(&mut desk, whats, note, now)?;
        }
        tell(self, &read, &told, &desk)
    }

    /// Plans a work on what is read of the desk as of a moment; where it is to begin, it begins; then it is told.
    pub fn plan_work<S, P>(
        &mut self,
        cellar: &Path,
        (begin, reading): (&Begin, Reading),
        read: impl FnOnce(&Desk, Moment) -> Outcome<S>,
        plan: impl FnOnce(&S, Moment) -> Outcome<P>,
        whats: impl FnOnce(&S, &P, Label) -> Outcome<Vec<What>>,
        tell: impl FnOnce(&S, &P, Moment, &mut Page<'_>) -> Outcome,
    ) -> Outcome {
        if begin.begin.is_some() && reading.on.is_some() {
            let sentence = "A work is begun as of now, or as of --at. Leave out --on, or --begin.";
            return Err(Complaint::Refused(sentence.to_owned()));
        }
        let on = reading.on.or(begin.entering.at(self.now)?).unwrap_or(self.now);
        self.plan_is_read = reading.format == Format::Table;
        self.act(
            cellar,
            (&begin.entering, begin.begin.is_some()),
            |desk, _| read(desk, on),
            |_, read| {
                let plan = plan(read, on)?;
                let Some(label) = &begin.begin else { return Ok(Decided::of(Vec::new(), (plan, None))) };
                let label = Label::new(label).map_err(|error| Complaint::Refused(error.to_string()))?;
                Ok(Decided::of(whats(read, &plan, label.clone())?, (plan, Some(label))))
            },
            |counter, read, (plan, label), _| {
                if let Some(label) = label {
                    let sentence = format!("The work '{label}' has begun. Press d on the screen to walk it.");
                    counter.saying.message(&sentence);
                }
                tell(read, plan, on, &mut counter.page(reading.format))
            },
        )
    }
}

/// What a command decided on: the facts, the words beside them, and what is told of it.
pub struct Decided<D> {
    /// The facts that stand or fall together; none where there is nothing to enter.
    pub whats: Vec<What>,
    /// The words beside them.
    pub note: Option<Text>,
    /// What is told of it.
    pub told: D,
}

impl<D> Decided<D> {
    /// Facts with no words beside them.
    pub fn of(whats: Vec<What>, told: D) -> Decided<D> {
        Decided { whats, note: None, told }
    }
}

/// A complaint about what was to be done at another time than now, which says so.
fn as_of(complaint: Complaint, at: Option<Moment>) -> Complaint {
    match (complaint, at) {
        (Complaint::Refused(sentence), Some(at)) => {
            let (day, time) = (at.show_date(), at.show_time());
            Complaint::Refused(format!("{sentence} That is as of {day}, {time}: what came later was not there yet."))
        }
        (other, _) => other,
    }
}

/// The state of a desk as of a moment, of its own.
pub fn own_state(desk: &Desk, on: Moment) -> Outcome<State> {
    Ok(state_on(desk, on)?.into_owned())
}

/// The fact that a work is set.
pub fn set(work: WorkSet) -> Vec<What> {
    vec![What::WorkSet(Box::new(work))]
}
