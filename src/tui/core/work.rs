//! What the screen wishes, and the one who carries it out on the desk.

use std::path::{Path, PathBuf};

use chrono::NaiveDate;

use crate::cellar::core::fact::{FactId, What};
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;
use crate::cellar::core::question::Question;
use crate::cellar::core::state::State;
use crate::desk::{
    Access, Act, Astray, Copied, Correction, Desk, DeskError, Imported, Importing, Settlement, Surprises, TakenIn,
    Taking, Undone, last_written,
};
use crate::forms;
use crate::told::floor::importing as told;
use crate::tui::core::apart::{Found, Lookup, Search, Searches};
use crate::tui::core::then::Then;
use crate::tui::core::watch::{ClockWatch, Heeded, passed};
use crate::tui::edge::screen::{Effects, Mailbox};
use crate::units::counted;

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
        /// What follows then.
        then: Then,
    },
    /// Take in what a spreadsheet came to.
    TakeIn {
        /// All facts of its lines.
        proposed: Vec<Imported>,
        /// Who enters what names nobody.
        by: Label,
        /// Since when it is so, where a line says no day.
        since: Moment,
        /// Whether the good lines are taken where others are refused.
        keep_good: bool,
        /// What was asked of it and answered.
        answered: Vec<Question>,
        /// What follows then.
        then: Then,
    },
    /// Put right what was measured wrongly.
    Correct {
        /// What was wrong, and what is right.
        correction: Correction,
        /// Who says so.
        by: Label,
        /// What was asked of it and answered.
        answered: Vec<Question>,
        /// What to say when it is stored.
        say: String,
        /// What follows then.
        then: Then,
    },
    /// Settle what was done on two laptops.
    Settle {
        /// What stays.
        settlement: Settlement,
        /// Who says so.
        by: Label,
        /// What was asked of it and answered.
        answered: Vec<Question>,
        /// What to say when it is stored.
        say: String,
    },
    /// Take back the last act, with what was asked about that already.
    Undo(Label, Vec<Question>),
    /// Give back what was undone last, with what was asked about that already.
    Redo(Label, Vec<Question>),
    /// Look up when the last fact of a day happened.
    Latest(NaiveDate),
    /// Show the cellar as of a moment, and as of each act of a later one; or as it is.
    LookAt(Option<Moment>),
    /// Look up who entered some facts, and with which note.
    Who(Vec<FactId>),
    /// Write everything that is held to another file.
    WriteElsewhere(PathBuf),
    /// Look whether another program has appended facts.
    Refresh,
    /// Take in what the check of the facts found, which went on beside the screen.
    HeedCheck,
    /// Find something out in a thread of its own, in place of what is searched of its kind.
    Find {
        /// Which question it answers.
        number: u32,
        /// What is to be found.
        search: Search,
    },
    /// Look something up at the desk.
    LookUp {
        /// Which question it answers.
        number: u32,
        /// What is looked up.
        lookup: Lookup,
    },
    /// Stop a search: the best so far will do.
    Stop {
        /// Which question it answers.
        number: u32,
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
    /// Something to know beside it.
    Told(String),
    /// The check of the facts that went on beside the screen is over.
    Checked,
    /// From now on nothing can be entered, and why.
    OnlyRead(String),
    /// Something became of the file, or it is back where it was.
    Astray {
        /// All that is held.
        state: State,
        /// Why nothing can be entered, where that is so.
        read_only: Option<String>,
        /// Where all of it may be written, where the name of the file does not lead to it any more.
        elsewhere: Option<String>,
        /// What to say of it.
        say: String,
    },
    /// All that is held was written to another file: what to say of it.
    WrittenElsewhere(String),
    /// The state is another one, for another reason than an act of this person.
    Changed(State),
    /// When the last fact of a day happened, where one did.
    Latest(NaiveDate, Option<Moment>),
    /// The state as of the moment that was to be looked at.
    AsOf(State),
    /// Who entered some facts, and with which note.
    Who(Vec<Entered>),
    /// The best so far of what was to be found; better may come.
    SoFar {
        /// Which question it answers.
        number: u32,
        /// What was found.
        found: Found,
    },
    /// What was found, or why nothing was.
    Found {
        /// Which question it answers.
        number: u32,
        /// What was found.
        told: Result<Found, String>,
    },
    /// Something is asked first; nothing was stored.
    Asked(Vec<Question>),
    /// It was refused or failed, and why; nothing was stored.
    Refused(DeskError),
}

/// Carries out what the screen wishes, on the desk.
pub struct Hands {
    path: PathBuf,
    access: Access,
    clock: fn() -> Moment,
    watch: ClockWatch,
    heeds_files: bool,
    desk: Option<Desk>,
    /// As of when the cellar is shown, where that is not now.
    shown_at: Option<Moment>,
    searches: Searches,
}

impl Hands {
    /// Hands that will open a cellar when the first frame stands, and date what is entered by a clock.
    #[must_use]
    pub fn new(path: PathBuf, access: Access, clock: fn() -> Moment) -> Hands {
        let (watch, searches) = (ClockWatch::new(passed), Searches::default());
        Hands { path, access, clock, watch, heeds_files: false, desk: None, shown_at: None, searches }
    }

    /// The same, whose clock is this machine's: it is compared with the time of the cellar's file too.
    #[must_use]
    pub fn heeding_files(self) -> Hands {
        Hands { heeds_files: true, ..self }
    }

    fn open(&mut self, mailbox: &Mailbox<Answer>) -> Result<Answer, DeskError> {
        let now = (self.clock)();
        let written = self.heeds_files.then(|| last_written(&self.path)).flatten();
        let mailbox = mailbox.clone();
        let checked = move || {
            // Whoever asked may have left.
            let _ = mailbox.post(Answer::Checked);
        };
        let mut desk = Desk::open_at_once(&self.path, self.access, checked)?;
        desk.heed_clock(now, written);
        self.watch.begin(now);
        let opened = Answer::Opened {
            state: desk.state().clone(),
            read_only: why_read_only(&desk),
            warnings: desk.warnings().to_vec(),
        };
        self.desk = Some(desk);
        Ok(opened)
    }

    /// Takes in what the check of the facts found. Nothing is said where all is well.
    fn heed_check(&mut self) -> Option<Answer> {
        let desk = self.desk.as_mut()?;
        match desk.heed_check() {
            Ok(None) => None,
            Ok(Some(say)) => {
                let state = shown(desk, self.shown_at);
                Some(Answer::Astray { state, read_only: why_read_only(desk), elsewhere: None, say })
            }
            Err(error) => Some(Answer::Told(format!("Not all that is in this cellar could be checked. {error}"))),
        }
    }

    /// Carries out on the desk what the clock's date is right for; else that is asked.
    fn on_desk_dated(&mut self, work: Work) -> Result<Vec<Answer>, DeskError> {
        let Some(desk) = &mut self.desk else { return Ok(Vec::new()) };
        match self.watch.heed(desk, &work, (self.clock)())? {
            Heeded::Go => self.on_desk(work),
            Heeded::GoAndSay(sentence) => {
                let mut answers = self.on_desk(work)?;
                answers.push(Answer::Told(sentence.to_owned()));
                Ok(answers)
            }
            Heeded::Ask(question) => Ok(vec![Answer::Asked(vec![question])]),
        }
    }

    /// Why nothing can be entered though the file may be written.
    fn why_only_read(&self) -> Option<String> {
        self.desk.as_ref().and_then(Desk::why_only_read).map(str::to_owned)
    }

    /// Stores an act. Where the cellar is shown as of another day, it is shown as of this act from now on.
    fn enter(&mut self, act: &Act) -> Result<(), DeskError> {
        let Some(desk) = &mut self.desk else { return Ok(()) };
        desk.enter(act, (self.clock)())?;
        self.shown_at = self.shown_at.map(|shown| act.at.filter(|at| at.instant() > shown.instant()).unwrap_or(shown));
        Ok(())
    }

    fn on_desk(&mut self, work: Work) -> Result<Vec<Answer>, DeskError> {
        if let Work::Enter { act, .. } = &work {
            self.enter(act)?;
        }
        if let Work::LookAt(moment) = work {
            self.shown_at = moment;
        }
        let Some(desk) = &mut self.desk else { return Ok(Vec::new()) };
        let (now, shown_at) = ((self.clock)(), self.shown_at);
        Ok(match work {
            Work::Open | Work::Find { .. } | Work::Stop { .. } | Work::HeedCheck => Vec::new(),
            Work::Enter { say, then, .. } => vec![Answer::Stored { state: shown(desk, shown_at), say, then }],
            Work::LookUp { number, lookup } => vec![Answer::Found { number, told: lookup.look(desk) }],
            Work::LookAt(_) => vec![Answer::AsOf(shown(desk, shown_at))],
            Work::TakeIn { proposed, by, since, keep_good, answered, then } => {
                let importing = Importing { by: &by, since, now };
                let taken = unless_new(&answered, |surprises| {
                    let taken = desk.take_in_spreadsheet(
                        proposed.clone(),
                        importing,
                        Taking::Entered { keep_good, surprises },
                    )?;
                    let asked = taken.admitted.asked.clone();
                    if asked.is_empty() { Ok(taken) } else { Err(DeskError::Asked(asked)) }
                })?;
                match taken {
                    Err(questions) => vec![Answer::Asked(questions)],
                    Ok(taken) => vec![taken_in(shown(desk, shown_at), taken, then)],
                }
            }
            Work::Correct { correction, by, answered, say, then } => {
                desk.correct(&correction, &by, now, &answered)?;
                vec![Answer::Stored { state: shown(desk, shown_at), say, then }]
            }
            Work::Settle { settlement, by, answered, say } => {
                desk.settle(&settlement, &by, now, &answered)?;
                vec![Answer::Stored { state: shown(desk, shown_at), say, then: Then::STAY }]
            }
            Work::Undo(by, asked) => match unless_new(&asked, |surprises| desk.undo_told(&by, now, surprises))? {
                Ok(undone) => vec![stored(
                    shown(desk, shown_at),
                    format!("Undone: {}.", forms::said_undone(&undone.facts)),
                    undone,
                )],
                Err(questions) => vec![Answer::Asked(questions)],
            },
            Work::Redo(by, asked) => match unless_new(&asked, |surprises| desk.redo_told(&by, now, surprises))? {
                Ok(redone) => {
                    vec![stored(
                        shown(desk, shown_at),
                        format!("Done again: {}.", forms::said_undone(&redone.facts)),
                        redone,
                    )]
                }
                Err(questions) => vec![Answer::Asked(questions)],
            },
            Work::Latest(day) => vec![Answer::Latest(day, desk.latest_of(day)?)],
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
            Work::WriteElsewhere(target) if desk.astray().is_some_and(Astray::is_unknown) => {
                let facts = counted(desk.keep_doubtful(&target)?, "fact");
                let (file, cellar) = (target.display(), desk.path().display());
                let said = format!(
                    "The last entry is in {file} now, {facts}. When the cellar can be opened again, take it in: barrelwalk record --cellar {cellar} {file}. If it was stored after all, that does nothing."
                );
                vec![Answer::WrittenElsewhere(said)]
            }
            Work::WriteElsewhere(target) => {
                let copied = desk.backup(&target);
                if copied.is_err() && matches!(desk.astray(), Some(Astray::WrittenOver(_))) {
                    return newest_elsewhere(desk, &target);
                }
                let Copied { facts, problems } = copied?;
                let file = target.display();
                let how = match problems.first() {
                    None => "read again and whole".to_owned(),
                    Some(problem) => format!("but not all is whole. {problem} Verify tells more"),
                };
                let said = format!(
                    "Everything is in {file} now, {facts} facts, {how}. Leave with q, then go on there: barrelwalk open --cellar {file}"
                );
                vec![Answer::WrittenElsewhere(said)]
            }
            Work::Refresh => {
                if desk.refresh()? {
                    vec![Answer::Changed(shown(desk, shown_at))]
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
    if let Some(astray) = desk.astray() {
        return Some(astray.to_string());
    }
    let opened = "This cellar is open for reading only. Open it where it may be written.";
    (desk.access() == Access::ReadOnly).then(|| opened.to_owned())
}

/// What is said where something became of the file, whatever was asked for meanwhile.
fn went_astray(desk: &Desk, answers: Result<Vec<Answer>, DeskError>) -> Answer {
    let back = match desk.settled() {
        Some(true) => "The file can be read and written again, and the last entry is stored in it.",
        Some(false) => "The file can be read again: the last entry is not in it. Enter it again.",
        None => "The file is back where it was: what is entered is stored in it again.",
    };
    let say = match (answers, desk.astray()) {
        // What was entered last is told of by the way that it went.
        (Err(error), _) if error.was_entered() => error.to_string(),
        (_, astray) => astray.map_or_else(|| back.to_owned(), Astray::to_string),
    };
    let out_of_reach = desk.astray().is_some_and(Astray::is_out_of_reach);
    let elsewhere = out_of_reach.then(|| beside(desk).display().to_string());
    Answer::Astray { state: desk.state().clone(), read_only: why_read_only(desk), elsewhere, say }
}

/// Where a file that was written over cannot be read as a whole any more, what was entered last is written as lines.
fn newest_elsewhere(desk: &Desk, target: &Path) -> Result<Vec<Answer>, DeskError> {
    let mut target = target.as_os_str().to_owned();
    target.push(".jsonl");
    let target = PathBuf::from(target);
    let facts = counted(desk.keep_doubtful(&target)?, "fact");
    let (file, cellar) = (target.display(), desk.path().display());
    let said = format!(
        "The whole cellar cannot be read any more, but what was entered last is in {file} now, {facts}. Put the cellar's file back and take it in: barrelwalk record --cellar {cellar} {file}. What is in it already does nothing."
    );
    Ok(vec![Answer::WrittenElsewhere(said)])
}

/// A name for a file that is not there, beside another one; where the folder of that is gone, in the folder that one is in, else at
/// home.
fn beside(desk: &Desk) -> PathBuf {
    let path = desk.path();
    let folders = [path.parent().map(Path::to_owned), std::env::current_dir().ok(), std::env::home_dir()];
    let folder = folders.into_iter().flatten().find(|folder| folder.is_dir()).unwrap_or_else(std::env::temp_dir);
    let name = path.file_stem().unwrap_or_default().to_string_lossy();
    // Of a cellar that cannot be read only the last entry is there to be written, as lines.
    let is_lines = desk.astray().is_some_and(Astray::is_unknown).then(|| ".jsonl".to_owned());
    let ending = || path.extension().map_or_else(String::new, |ending| format!(".{}", ending.to_string_lossy()));
    let ending = is_lines.unwrap_or_else(ending);
    let numbered = |number: u32| match number {
        1 => folder.join(format!("{name}-kept{ending}")),
        _ => folder.join(format!("{name}-kept-{number}{ending}")),
    };
    (1..1_000).map(numbered).find(|free| !free.exists()).unwrap_or_else(|| numbered(0))
}

/// Does what may surprise, unless something about it is to be asked that was not asked before: that is given then.
fn unless_new<T>(
    asked: &[Question],
    mut act: impl FnMut(Surprises) -> Result<T, DeskError>,
) -> Result<Result<T, Vec<Question>>, DeskError> {
    match act(Surprises::Asked) {
        Err(DeskError::Asked(questions)) if questions.iter().all(|question| asked.contains(question)) => {
            act(Surprises::AskedBefore).map(Ok)
        }
        Err(DeskError::Asked(questions)) => Ok(Err(questions)),
        done => done.map(Ok),
    }
}

fn stored(state: State, say: String, undone: Undone) -> Answer {
    Answer::Stored { state, say, then: Then::of(undone) }
}

/// The state as of a moment, or as it is; as it is where the log cannot be read, since what was stored before that is stored.
fn shown(desk: &Desk, at: Option<Moment>) -> State {
    at.and_then(|at| desk.state_at(at).ok()).unwrap_or_else(|| desk.state().clone())
}

/// What became of a spreadsheet. That a line is refused which was not when it was tried comes of what another program entered since.
fn taken_in(state: State, taken: TakenIn, then: Then) -> Answer {
    let TakenIn { known, admitted, .. } = taken;
    let entered = admitted.taken.len();
    match admitted.refused.into_iter().next() {
        Some((line, why)) if entered == 0 => Answer::Refused(DeskError::Line { line, why: Box::new(why) }),
        _ => {
            let say = format!("{}.", told::entered(entered, known));
            Answer::Stored { state, say, then }
        }
    }
}

impl Effects for Hands {
    type Work = Work;
    type Answer = Answer;

    fn carry_out(&mut self, work: Work, mailbox: &Mailbox<Answer>) -> anyhow::Result<Vec<Answer>> {
        if work == Work::Open {
            // That a cellar cannot be opened ends the screen: there is nothing to show.
            return Ok(vec![self.open(mailbox)?]);
        }
        match work {
            Work::Find { number, search } => {
                let at = (self.path.clone(), (self.clock)());
                return Ok(self.searches.begin((number, search), at, mailbox));
            }
            Work::Stop { number } => {
                self.searches.stop(number);
                return Ok(Vec::new());
            }
            Work::HeedCheck => return Ok(self.heed_check().into_iter().collect()),
            _ => {}
        }
        let could_be_read = self.why_only_read().is_none();
        let astray = self.desk.as_ref().and_then(Desk::astray).cloned();
        let before = self.desk.as_ref().map(Desk::head);
        let answers = self.on_desk_dated(work);
        if could_be_read && let (Some(desk), Some(why)) = (&self.desk, self.why_only_read()) {
            // Another program entered what this one cannot read, whatever was asked for.
            return Ok(vec![Answer::Changed(shown(desk, self.shown_at)), Answer::OnlyRead(why)]);
        }
        if let Some(desk) = self.desk.as_ref().filter(|desk| desk.astray() != astray.as_ref()) {
            return Ok(vec![went_astray(desk, answers)]);
        }
        Ok(answers.unwrap_or_else(|error| {
            let why = match error {
                DeskError::Asked(questions) => Answer::Asked(questions),
                error => Answer::Refused(error),
            };
            // What another program entered was taken in to decide the act, and is shown though the act is not done.
            let news = self.desk.as_ref().filter(|desk| Some(desk.head()) != before);
            news.map(|desk| Answer::Changed(shown(desk, self.shown_at))).into_iter().chain([why]).collect()
        }))
    }
}

#[cfg(test)]
mod tests;
