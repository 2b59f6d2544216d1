//! The counter at which commands are served: what they write to, what time it is, and the few shapes that they have. A command looks
//! at a cellar, or back through all its facts; it reckons without one; it enters something; it plans a work, which may begin.

use std::io::Write;
use std::path::Path;

use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::floor::work::WorkSet;
use crate::cellar::views::books::lineage::Tracer;
use crate::cli::arguments::{Begin, Entering, Format, Reading};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::saying::Saying;
use crate::cli::reading::state_on;
use crate::cli::table::page::Page;
use crate::desk::{Access, Desk, Traced};

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
}

impl Counter<'_, '_> {
    /// Opens a cellar and says what the person should know of it.
    pub fn desk(&mut self, cellar: &Path, access: Access) -> Outcome<Desk> {
        let desk = Desk::open(cellar, access)?;
        for warning in desk.warnings() {
            self.saying.message(warning);
        }
        Ok(desk)
    }

    /// Opens a cellar to enter something, or only to say what that would be.
    pub fn desk_to_try(&mut self, cellar: &Path, dry_run: bool) -> Outcome<Desk> {
        self.desk(cellar, if dry_run { Access::ReadOnly } else { Access::ReadWrite })
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
        let desk = self.desk(cellar, Access::ReadOnly)?;
        let on = reading.on.unwrap_or(self.now);
        tell(&*state_on(&desk, on)?, on, &mut self.page(reading.format))
    }

    /// Looks back through all facts of a cellar's file up to a moment, and tells.
    pub fn look_back(
        &mut self,
        cellar: &Path,
        reading: Reading,
        tell: impl FnOnce(&Tracer, Moment, &mut Page<'_>) -> Outcome,
    ) -> Outcome {
        let on = reading.on.unwrap_or(self.now);
        let traced = Traced::read(cellar, on)?;
        traced.warnings.iter().for_each(|warning| self.saying.message(warning));
        tell(&traced.tracer, on, &mut self.page(reading.format))
    }

    /// Enters what a command says, decided on the cellar as it stands, and gives the desk back to tell of it.
    pub fn enter(
        &mut self,
        cellar: &Path,
        entering: &Entering,
        whats: impl FnOnce(&State) -> Outcome<Vec<What>>,
    ) -> Outcome<Desk> {
        let mut desk = self.desk(cellar, Access::ReadWrite)?;
        let whats = whats(desk.state())?;
        entering.enter(&mut desk, whats, None, self.now)?;
        Ok(desk)
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
        let mut desk = self.desk_for(cellar, begin, reading)?;
        let on = reading.on.unwrap_or(self.now);
        let read = read(&desk, on)?;
        let plan = plan(&read, on)?;
        if let Some(label) = &begin.begin {
            let label = Label::new(label).map_err(|error| Complaint::Refused(error.to_string()))?;
            begin.entering.enter(&mut desk, whats(&read, &plan, label.clone())?, None, self.now)?;
            self.saying.message(&format!("The work '{label}' has begun. Press d on the screen to walk it."));
        }
        tell(&read, &plan, on, &mut self.page(reading.format))
    }

    /// Opens a cellar for a plan, for writing only where it is to begin.
    fn desk_for(&mut self, cellar: &Path, begin: &Begin, reading: Reading) -> Outcome<Desk> {
        if begin.begin.is_some() && reading.on.is_some() {
            let sentence = "A work begins now. Leave out --on, or --begin.";
            return Err(Complaint::Refused(sentence.to_owned()));
        }
        self.desk_to_try(cellar, begin.begin.is_none())
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
