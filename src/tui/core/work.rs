//! What the screen wishes, and the one who carries it out on the desk.

use std::path::PathBuf;
use std::sync::Arc;
use std::thread;

use crate::cellar::core::fact::{FactId, What};
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::state::State;
use crate::cellar::jobs::bench::trial::rating::GlassRated;
use crate::cellar::views::books::ledger::Period;
use crate::cellar::views::books::lineage_tree::{LineageTree, Whose};
use crate::cellar::views::topping::evaporation::Evaporated;
use crate::cellar::views::wood::fill::{FillPlan, PreparedFill};
use crate::desk::{Access, Act, Correction, Desk, DeskError, Settlement, Surprises, Undone};
use crate::sheets::core::document::Document;
use crate::tui::books::trace::Traced;
use crate::tui::edge::screen::{Effects, Mailbox};
use crate::tui::floor::holding::Offer;
use crate::tui::wood::fill::Searching;

/// What the screen does once an act is stored.
#[derive(Clone, Debug, PartialEq)]
pub enum Then {
    /// Stays where it is.
    Stay,
    /// Stays on the page on which it was entered.
    StayOnPage,
    /// Goes on to the next barrel of the round.
    GoOn,
    /// Goes to the first barrel of the round.
    Begin,
    /// Takes up a work.
    TakeUp(Label),
    /// Goes to a vessel.
    To(Label),
    /// Shows which barrel stood in which glass.
    RevealGlasses,
    /// Goes on to the next glass of a trial.
    NextGlass,
    /// Goes to the glass whose rating was taken back or given back, where its trial is on the screen.
    ToGlass(Box<GlassRated>),
    /// Shows the page of a trial.
    ShowTrial(Label),
    /// Shows a bottling run.
    ShowRun(Label),
    /// Offers to hold what was tasted with a fault.
    Offer(Offer),
}

/// What stands in the log beside a fact, which the state does not know.
#[derive(Clone, Debug, PartialEq)]
pub struct Entered {
    /// Which fact.
    pub fact: FactId,
    /// Who entered it; none of one that is not in the log.
    pub by: Option<Label>,
    /// The words beside it.
    pub note: Option<Text>,
    /// When it happened.
    pub at: Option<Moment>,
    /// What it says, where that can be read.
    pub what: Option<What>,
}

/// What the screen wishes.
#[derive(Clone, Debug, PartialEq)]
pub enum Work {
    /// Open the cellar.
    Open,
    /// Store an act.
    Enter {
        /// What was done.
        act: Act,
        /// What to say when it is stored.
        say: String,
        /// What to do then.
        then: Then,
    },
    /// Put right what was measured wrongly.
    Correct {
        /// What was wrong, and what is right.
        correction: Correction,
        /// Who says so.
        by: Label,
        /// What was asked of it and answered.
        answered: Vec<String>,
        /// What to say when it is stored.
        say: String,
        /// What to do then.
        then: Then,
    },
    /// Settle what was done on two laptops.
    Settle {
        /// What stays.
        settlement: Settlement,
        /// Who says so.
        by: Label,
        /// What was asked of it and answered.
        answered: Vec<String>,
        /// What to say when it is stored.
        say: String,
    },
    /// Take back the last act, with what was asked about that already.
    Undo(Label, Vec<String>),
    /// Give back what was undone last, with what was asked about that already.
    Redo(Label, Vec<String>),
    /// Look up who entered some facts, and with which note.
    Who(Vec<FactId>),
    /// Look whether another program has appended facts.
    Refresh,
    /// Go through all facts for a picture. It takes long, so it is done apart.
    Picture {
        /// Which picture.
        number: u32,
        /// The barrel whose saw-tooth is to be drawn, if one is.
        barrel: Option<Label>,
    },
    /// Search for the barrels of a fill plan, in place of any other search. It takes long, so it is done apart.
    Fill {
        /// Which search.
        number: u32,
        /// What is asked.
        prepared: Arc<PreparedFill>,
    },
    /// Stop the search for barrels: the best so far will do.
    StopFill,
    /// Go through the facts of a period for its ledger. It may take long, so it is done apart.
    Ledger {
        /// Which page.
        number: u32,
        /// When it begins.
        from: Moment,
        /// When it ends.
        to: Moment,
    },
    /// Go through all facts for a lineage. It takes long, so it is done apart.
    Lineage {
        /// Which page.
        number: u32,
        /// Whose lineage.
        whose: Whose,
    },
    /// Go through all facts for a trace. It takes long, so it is done apart.
    Trace {
        /// Which page.
        number: u32,
        /// Whose trace.
        of: Traced,
    },
}

/// What came of it.
#[derive(Clone, Debug)]
pub enum Answer {
    /// The cellar is open.
    Opened {
        /// Its state.
        state: State,
        /// Why nothing can be entered, where that is so.
        read_only: Option<String>,
        /// What the person should know of the file.
        warnings: Vec<String>,
    },
    /// The act is on disk.
    Stored {
        /// The state with it.
        state: State,
        /// What to say.
        say: String,
        /// What to do.
        then: Then,
    },
    /// From now on nothing can be entered, and why.
    OnlyRead(String),
    /// The state is another one, for another reason than an act of this person.
    Changed(State),
    /// Who entered some facts, and with which note.
    Who(Vec<Entered>),
    /// What was found for a picture, or why nothing was.
    Pictured {
        /// Which picture.
        number: u32,
        /// What was found.
        told: Result<Evaporated, String>,
    },
    /// The best barrels for a fill plan so far; better may come.
    FillBest {
        /// Which search.
        number: u32,
        /// The plan as it would be.
        plan: FillPlan,
    },
    /// What the search for barrels came to, or why it came to nothing.
    Filled {
        /// Which search.
        number: u32,
        /// What was found.
        told: Result<FillPlan, String>,
    },
    /// What was found of a period, or why nothing was.
    Ledger {
        /// Which page.
        number: u32,
        /// What was found.
        told: Result<Arc<Period>, String>,
    },
    /// What was found for a lineage, or why nothing was.
    Traced {
        /// Which page.
        number: u32,
        /// What was found.
        told: Result<LineageTree, String>,
    },
    /// What was found for a trace, or why nothing was; none where nothing is called so.
    Recalled {
        /// Which page.
        number: u32,
        /// What was found.
        told: Result<Option<Document>, String>,
    },
    /// Something is asked first; nothing was stored.
    Asked(Vec<String>),
    /// It was refused or failed; nothing was stored.
    Refused(String),
}

/// Carries out what the screen wishes, on the desk.
pub struct Hands {
    path: PathBuf,
    access: Access,
    clock: fn() -> Moment,
    desk: Option<Desk>,
    searching: Searching,
}

impl Hands {
    /// Hands that will open a cellar when the first frame stands, and date what is entered by a clock.
    #[must_use]
    pub fn new(path: PathBuf, access: Access, clock: fn() -> Moment) -> Hands {
        Hands { path, access, clock, desk: None, searching: Searching::default() }
    }

    /// Goes through all facts in a thread of its own, which reads the file by itself: what is entered meanwhile does not wait.
    fn apart<T: 'static>(
        &self,
        mailbox: &Mailbox<Answer>,
        find: impl FnOnce(&Desk, Moment) -> Result<T, DeskError> + Send + 'static,
        answer: impl Fn(Result<T, String>) -> Answer + Clone + Send + 'static,
    ) -> Vec<Answer> {
        let (path, now, mailbox, told) = (self.path.clone(), (self.clock)(), mailbox.clone(), answer.clone());
        let reckon = move || {
            let found = Desk::open(&path, Access::ReadOnly).and_then(|desk| find(&desk, now));
            // Whoever asked may have left.
            let _ = mailbox.post(told(found.map_err(|error| error.to_string())));
        };
        match thread::Builder::new().name("apart".to_owned()).spawn(reckon) {
            Ok(_) => Vec::new(),
            Err(error) => vec![answer(Err(format!("Nothing can be worked out beside the screen now: {error}.")))],
        }
    }

    fn picture(&self, number: u32, barrel: Option<Label>, mailbox: &Mailbox<Answer>) -> Vec<Answer> {
        let find = move |desk: &Desk, now| desk.evaporation(now, barrel);
        self.apart(mailbox, find, move |told| Answer::Pictured { number, told })
    }

    fn lineage(&self, number: u32, whose: Whose, mailbox: &Mailbox<Answer>) -> Vec<Answer> {
        let find = move |desk: &Desk, now| desk.lineage_tree(&whose, now);
        self.apart(mailbox, find, move |told| Answer::Traced { number, told })
    }

    fn ledger(&self, number: u32, (from, to): (Moment, Moment), mailbox: &Mailbox<Answer>) -> Vec<Answer> {
        let find = move |desk: &Desk, now| desk.period(from, to, now).map(Arc::new);
        self.apart(mailbox, find, move |told| Answer::Ledger { number, told })
    }

    fn trace(&self, number: u32, of: Traced, mailbox: &Mailbox<Answer>) -> Vec<Answer> {
        let find = move |desk: &Desk, now| Ok(of.page(&desk.trace(now)?, now));
        self.apart(mailbox, find, move |told| Answer::Recalled { number, told })
    }

    /// Why nothing can be entered though the file may be written.
    fn why_only_read(&self) -> Option<String> {
        self.desk.as_ref().and_then(Desk::why_only_read).map(str::to_owned)
    }

    fn on_desk(&mut self, work: Work) -> Result<Vec<Answer>, DeskError> {
        let Some(desk) = &mut self.desk else { return Ok(Vec::new()) };
        let now = (self.clock)();
        Ok(match work {
            Work::Open
            | Work::Picture { .. }
            | Work::Lineage { .. }
            | Work::Ledger { .. }
            | Work::Trace { .. }
            | Work::Fill { .. }
            | Work::StopFill => Vec::new(),
            Work::Enter { act, say, then } => {
                desk.enter(&act, now)?;
                vec![Answer::Stored { state: desk.state().clone(), say, then }]
            }
            Work::Correct { correction, by, answered, say, then } => {
                desk.correct(&correction, &by, now, &answered)?;
                vec![Answer::Stored { state: desk.state().clone(), say, then }]
            }
            Work::Settle { settlement, by, answered, say } => {
                desk.settle(&settlement, &by, now, &answered)?;
                vec![Answer::Stored { state: desk.state().clone(), say, then: Then::StayOnPage }]
            }
            Work::Undo(by, asked) => match unless_new(&asked, |surprises| desk.undo_told(&by, now, surprises))? {
                Ok(undone) => vec![stored(desk, format!("Undone: {}.", undone.describe()), &undone)],
                Err(questions) => vec![Answer::Asked(questions)],
            },
            Work::Redo(by, asked) => match unless_new(&asked, |surprises| desk.redo_told(&by, now, surprises))? {
                Ok(redone) => vec![stored(desk, format!("Done again: {}.", redone.describe()), &redone)],
                Err(questions) => vec![Answer::Asked(questions)],
            },
            Work::Who(facts) => {
                let entered = |fact: FactId| {
                    Ok(match desk.line(&fact)? {
                        Some(line) => {
                            let (at, what) = (Some(line.at), line.fact().ok().map(|fact| fact.what));
                            Entered { fact, by: Some(line.by), note: line.note, at, what }
                        }
                        None => Entered { fact, by: None, note: None, at: None, what: None },
                    })
                };
                vec![Answer::Who(facts.into_iter().map(entered).collect::<Result<_, DeskError>>()?)]
            }
            Work::Refresh => {
                if desk.refresh()? {
                    vec![Answer::Changed(desk.state().clone())]
                } else {
                    Vec::new()
                }
            }
        })
    }
}

/// Why nothing can be entered, where that is so.
fn why_read_only(desk: &Desk) -> Option<String> {
    if let Some(why) = desk.why_only_read() {
        return Some(why.to_owned());
    }
    let opened = "This cellar is open for reading only. Open it where it may be written.";
    (desk.access() == Access::ReadOnly).then(|| opened.to_owned())
}

/// Does what may surprise, unless something about it is to be asked that was not asked before: that is given then.
fn unless_new<T>(
    asked: &[String],
    mut act: impl FnMut(Surprises) -> Result<T, DeskError>,
) -> Result<Result<T, Vec<String>>, DeskError> {
    match act(Surprises::Asked) {
        Err(DeskError::Asked(questions)) if questions.iter().all(|question| asked.contains(question)) => {
            act(Surprises::AskedBefore).map(Ok)
        }
        Err(DeskError::Asked(questions)) => Ok(Err(questions)),
        done => done.map(Ok),
    }
}

fn stored(desk: &Desk, say: String, undone: &Undone) -> Answer {
    let then = match undone.done().next() {
        Some(What::GlassRated(rated)) => Then::ToGlass(rated.clone()),
        // Its closing taken back, a work is under way again, so that its keys go on with it.
        Some(What::WorkEnded(ended)) => Then::TakeUp(ended.work.clone()),
        _ => undone.vessel().map_or(Then::Stay, |label| Then::To(label.clone())),
    };
    Answer::Stored { state: desk.state().clone(), say, then }
}

impl Effects for Hands {
    type Work = Work;
    type Answer = Answer;

    fn carry_out(&mut self, work: Work, mailbox: &Mailbox<Answer>) -> anyhow::Result<Vec<Answer>> {
        if work == Work::Open {
            // That a cellar cannot be opened ends the screen: there is nothing to show.
            let desk = Desk::open(&self.path, self.access)?;
            let opened = Answer::Opened {
                state: desk.state().clone(),
                read_only: why_read_only(&desk),
                warnings: desk.warnings().to_vec(),
            };
            self.desk = Some(desk);
            return Ok(vec![opened]);
        }
        match work {
            Work::Picture { number, barrel } => return Ok(self.picture(number, barrel, mailbox)),
            Work::Lineage { number, whose } => return Ok(self.lineage(number, whose, mailbox)),
            Work::Ledger { number, from, to } => return Ok(self.ledger(number, (from, to), mailbox)),
            Work::Trace { number, of } => return Ok(self.trace(number, of, mailbox)),
            Work::Fill { number, prepared } => return Ok(self.searching.begin(number, prepared, mailbox.clone())),
            Work::StopFill => {
                self.searching.stop();
                return Ok(Vec::new());
            }
            _ => {}
        }
        let could_be_read = self.why_only_read().is_none();
        let answers = self.on_desk(work);
        if could_be_read && let (Some(desk), Some(why)) = (&self.desk, self.why_only_read()) {
            // Another program entered what this one cannot read, whatever was asked for.
            return Ok(vec![Answer::Changed(desk.state().clone()), Answer::OnlyRead(why)]);
        }
        Ok(answers.unwrap_or_else(|error| match error {
            DeskError::Asked(questions) => vec![Answer::Asked(questions)],
            error => vec![Answer::Refused(error.to_string())],
        }))
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::channel;
    use std::time::Duration;

    use super::*;
    use crate::tui::edge::driver::Incoming;

    fn morning() -> Moment {
        Moment::parse("2026-11-25T06:41:00+01:00").unwrap()
    }

    #[test]
    fn a_picture_is_reckoned_apart_and_posted() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("demo.cellar");
        crate::desk::create_demo(&path, morning()).unwrap();
        let mut hands = Hands::new(path, Access::ReadWrite, morning);
        let (sender, posted) = channel();
        let mailbox = Mailbox(sender);
        assert_eq!(hands.carry_out(Work::Open, &mailbox).unwrap().len(), 1);
        assert!(hands.carry_out(Work::Picture { number: 7, barrel: None }, &mailbox).unwrap().is_empty());
        let Ok(Incoming::Answer(Answer::Pictured { number: 7, told: Ok(told) })) =
            posted.recv_timeout(Duration::from_secs(60))
        else {
            panic!("no picture was posted")
        };
        assert!(told.rooms.iter().any(|room| room.months.len() > 12));
    }

    #[test]
    fn a_picture_of_a_cellar_that_is_gone_is_a_sentence() {
        let hands = Hands::new("gone/no.cellar".into(), Access::ReadOnly, morning);
        let (sender, posted) = channel();
        assert!(hands.picture(1, None, &Mailbox(sender)).is_empty());
        let Ok(Incoming::Answer(Answer::Pictured { told: Err(why), .. })) =
            posted.recv_timeout(Duration::from_secs(60))
        else {
            panic!("no sentence was posted")
        };
        assert!(why.ends_with('.'), "{why}");
    }
}
