//! The command line: commands for scripts and the desk. It knows no rule of wine; it asks the cellar and shows.
//!
//! Data goes to standard output, messages to standard error. Exit codes: 0 done, 1 refused or not found, 2 wrong usage.

mod arguments;
mod bench;
mod books;
mod bottles;
mod core;
mod finish;
mod floor;
mod full_screen;
mod reading;
mod sheets;
mod table;
mod tests;
mod topping;
mod wood;

#[cfg(test)]
mod given_out;
#[cfg(test)]
mod samples;

use std::ffi::OsString;
use std::io::{self, BufWriter, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use clap::Parser;
use signal_hook::consts::SIGXFSZ;

use self::arguments::{Arguments, Begin, Command, Format, Look, Reading, Reckon, RulesWord, Screen, Sheet, Work};
use crate::cellar::core::fact::What;
use crate::cellar::core::label::Label;
use crate::cellar::core::moment::Moment;
use crate::cellar::jobs::floor::work::WorkSet;
use crate::cellar::views::books::lineage::Tracer;
use crate::cli::bench::{blend, blend_plan, course, design, difference, panel, serving, surface};
use crate::cli::books::recall::Bottles;
use crate::cli::books::{count, export, record, upkeep};
use crate::cli::bottles::bottling;
use crate::cli::core::cellar_file::Surroundings;
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::saying::Saying;
use crate::cli::finish::{fining, fining_trial};
use crate::cli::table::page::Page;
use crate::cli::table::seen::Seen;
use crate::cli::tests::{acidity, decline, dosing, sulfur};
use crate::cli::topping::{backtest, evaporation, gauging};
use crate::cli::wood::{empties, fill, racking};
use crate::desk::{Access, Desk, Surprises, Traced};

/// The exit code for what was refused or not found.
const REFUSED: u8 = 1;
/// The exit code for what cannot be understood.
const WRONG_USAGE: u8 = 2;

/// Runs the program with its arguments, of which the first is its own name.
pub fn run(arguments: impl Iterator<Item = OsString>) -> ExitCode {
    bear_file_limits();
    let mut err = io::stderr();
    let mut saying = Saying::new(&mut err);
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(told) if told.use_stderr() => {
            // It repeats what was typed, which may hold anything.
            told.render().to_string().lines().for_each(|line| saying.plain(line));
            return ExitCode::from(WRONG_USAGE);
        }
        // Help and version are no errors; their text is data.
        Err(told) => return end(&told.print().map_err(Complaint::Output), &mut saying),
    };
    let now = Moment::now();
    let surroundings = Surroundings::of_this_process();
    let command = arguments.command.unwrap_or_else(|| Command::Open { screen: Screen::default() });
    let cellar = || cellar_file(arguments.cellar.as_deref(), &surroundings);
    match &command {
        Command::Open { screen } => {
            let ended = cellar().and_then(|cellar| full_screen::open(cellar, screen, now));
            end_of_screen(ended, &mut saying)
        }
        Command::Demo { keep, screen } => end_of_screen(full_screen::demo(keep.as_deref(), screen, now), &mut saying),
        _ => {
            let mut out = BufWriter::new(io::stdout());
            let mut counter = Counter { now, width: screen_width(), out: &mut out, saying: &mut saying };
            let outcome = counter.serve(&command, cellar).and_then(|()| Ok(out.flush()?));
            // What was written before a failure is given out all the same; a second failure says nothing new.
            let _ = out.flush();
            end(&outcome, &mut saying)
        }
    }
}

/// Where the system limits how large a file may grow, the write that goes beyond fails as on a full disk and is told so.
/// Without a handler the system would end the program without a word.
fn bear_file_limits() {
    // If it cannot be arranged, the program is ended as it would be without; nothing half written is left even so.
    let _ = signal_hook::flag::register(SIGXFSZ, Arc::new(AtomicBool::new(false)));
}

/// The cellar's file, as said or as the surroundings say.
fn cellar_file(said: Option<&Path>, surroundings: &Surroundings) -> Outcome<PathBuf> {
    let none = "No data folder is known here. Name the cellar's file with --cellar FILE.";
    surroundings.cellar_file(said).ok_or_else(|| Complaint::Refused(none.to_owned()))
}

/// A screen that a signal ended has an exit code of its own.
fn end_of_screen(ended: Outcome<u8>, saying: &mut Saying<'_>) -> ExitCode {
    match ended {
        Ok(code) => ExitCode::from(code),
        Err(complaint) => end(&Err(complaint), saying),
    }
}

fn end(outcome: &Outcome, saying: &mut Saying<'_>) -> ExitCode {
    let Err(complaint) = outcome else { return ExitCode::SUCCESS };
    let Some(sentence) = complaint.sentence() else { return ExitCode::SUCCESS };
    saying.message(&sentence);
    ExitCode::from(REFUSED)
}

/// The width of the screen; none where the output goes elsewhere, for then nothing is to be broken into lines.
fn screen_width() -> Option<usize> {
    if !io::stdout().is_terminal() {
        return None;
    }
    crossterm::terminal::size().ok().map(|(columns, _)| usize::from(columns)).filter(|&columns| columns > 0)
}

/// The fact that a work is set.
fn set(work: WorkSet) -> Vec<What> {
    vec![What::WorkSet(Box::new(work))]
}

/// Where commands are served: what they write to, and what time it is.
struct Counter<'a, 's> {
    now: Moment,
    width: Option<usize>,
    out: &'a mut dyn Write,
    saying: &'a mut Saying<'s>,
}

impl Counter<'_, '_> {
    /// Serves a command that writes and ends.
    fn serve(&mut self, command: &Command, cellar: impl Fn() -> Outcome<PathBuf>) -> Outcome {
        match command {
            Command::New { file } => upkeep::new(file, self.now, self.out),
            Command::Record { file, keep_good, careful } => {
                let mut desk = self.desk(&cellar()?, Access::ReadWrite)?;
                let surprises = if *careful { Surprises::Refused } else { Surprises::Said };
                let taking = (*keep_good, surprises);
                record::record(&mut desk, file.as_deref(), taking, self.now, self.out, self.saying)
            }
            Command::Undo(asked) => self.undo(&cellar()?, asked),
            Command::Redo(asked) => self.redo(&cellar()?, asked),
            Command::Backup { file } => upkeep::backup(&self.desk(&cellar()?, Access::ReadOnly)?, file, self.out),
            Command::Reckon { what, format } => self.reckon(what, *format, cellar),
            Command::Sheet { sheet: Sheet::Dip(asked), reading } => {
                let (on, mut page) = self.asked(*reading);
                match &asked.vessel {
                    None => gauging::sheet(asked, &mut page),
                    Some(label) => {
                        let desk = self.desk(&cellar()?, Access::ReadOnly)?;
                        gauging::sheet_of(&*reading::state_on(&desk, on)?, label, &mut self.page(reading.format))
                    }
                }
            }
            Command::Count(asked) => {
                let access = if asked.book { Access::ReadWrite } else { Access::ReadOnly };
                let mut desk = self.desk(&cellar()?, access)?;
                let mut page = Page { out: self.out, format: asked.format, width: self.width };
                count::count(&mut desk, asked, self.now, &mut page, self.saying)
            }
            Command::Check(asked) => self.check(&cellar()?, asked),
            Command::Fining { step } => self.fining(&cellar()?, step),
            Command::Change(asked) => self.change(&cellar()?, asked),
            Command::Move(asked) => self.move_wine(&cellar()?, asked),
            Command::Sheet { sheet: Sheet::Trace { thing, fill, print }, reading } => {
                let on = reading.on.unwrap_or(self.now);
                let tracer = self.traced(&cellar()?, on)?;
                let page = Bottles::find(&tracer, thing, *fill)?.page(&tracer, on);
                sheets::give(&page, print, self.width, self.out)
            }
            Command::Declare { declared } => self.declare(&cellar()?, declared),
            Command::Bottle { step } => self.bottle(&cellar()?, step),
            Command::Sheet { sheet, reading } => {
                let desk = self.desk(&cellar()?, Access::ReadOnly)?;
                let on = reading.on.unwrap_or(self.now);
                sheets::print(&*reading::state_on(&desk, on)?, sheet, on, self.width, self.out)
            }
            Command::Trial { step } => self.trial(&cellar()?, step),
            Command::Look(Look::Plan { work, reading }) => self.plan(&cellar()?, work, *reading),
            Command::Look(Look::Trace { thing, forward, fill, reading }) => {
                let on = reading.on.unwrap_or(self.now);
                let tracer = self.traced(&cellar()?, on)?;
                reading::trace(&tracer, thing, (*forward, *fill), on, &mut self.page(reading.format))
            }
            Command::Look(look) => {
                let desk = self.desk(&cellar()?, Access::ReadOnly)?;
                self.look(&desk, look)
            }
            Command::Open { .. } | Command::Demo { .. } => Ok(()),
        }
    }

    /// One computation of the trade; most need no cellar.
    fn reckon(&mut self, what: &Reckon, format: Format, cellar: impl Fn() -> Outcome<PathBuf>) -> Outcome {
        match what {
            Reckon::Barrel(asked) => gauging::barrel(asked, &mut self.page(format)),
            Reckon::Dip(asked) => gauging::dip(asked, &mut self.page(format)),
            Reckon::Molecular(asked) => sulfur::molecular(asked, &mut self.page(format)),
            Reckon::Free(asked) => sulfur::free(asked, &mut self.page(format)),
            Reckon::Dose(asked) => sulfur::dose(asked, &mut self.page(format)),
            Reckon::Decline(asked) => decline::forecast(asked, self.now, &mut self.page(format)),
            Reckon::Limits(asked) => sulfur::allowed(asked, &mut self.page(format)),
            Reckon::Fining(asked) => fining::fining(asked, &mut self.page(format)),
            Reckon::Serving(asked) => serving::serving(asked, &mut self.page(format)),
            Reckon::Panel(asked) => panel::analysis(asked, &mut self.page(format)),
            Reckon::Triangle(asked) => difference::triangle(asked, &mut self.page(format)),
            Reckon::DuoTrio(asked) => difference::duo_trio(asked, &mut self.page(format)),
            Reckon::Paired(asked) => difference::paired(asked, &mut self.page(format)),
            Reckon::Surface(asked) => surface::surface(asked, &mut self.page(format)),
            Reckon::Design(asked) => design::lay_out(asked, &mut self.page(format)),
            Reckon::Acidity(asked) => acidity::balance(asked, &mut self.page(format)),
            Reckon::Blend(asked) => blend::blend(asked, &mut self.page(format)),
            Reckon::Course(asked) => course::course(asked, &mut self.page(format)),
            Reckon::Bottles(asked) => bottling::bottles(asked, &mut self.page(format)),
            Reckon::Fills(asked) => bottling::fills(asked, &mut self.page(format)),
            Reckon::FillPoint(asked) => bottling::fill_point(*asked, &mut self.page(format)),
            Reckon::LabelAlcohol(asked) => bottling::alcohol(asked, &mut self.page(format)),
            Reckon::Square(asked) => blend::square(asked, &mut self.page(format)),
            Reckon::HeadspaceBacktest => {
                let desk = self.desk(&cellar()?, Access::ReadOnly)?;
                backtest::write(&desk.backtest()?, &mut self.page(format))
            }
            Reckon::Evaporation { room } => {
                let desk = self.desk(&cellar()?, Access::ReadOnly)?;
                let evaporated = desk.evaporation(self.now, None)?;
                evaporation::write(&evaporated, room.as_deref(), &mut self.page(format))
            }
        }
    }

    /// The commands that only look at an open cellar.
    fn look(&mut self, desk: &Desk, look: &Look) -> Outcome {
        match look {
            Look::Export { since } => export::export(desk, *since, self.out),
            Look::List { things, reading } => {
                let (on, mut page) = self.asked(*reading);
                let state = reading::state_on(desk, on)?;
                reading::list(&state, || Ok(desk.discrepancies(&state)?), *things, on, &mut page)
            }
            Look::Show { thing, reading } => {
                let (on, mut page) = self.asked(*reading);
                reading::show(&*reading::state_on(desk, on)?, thing, on, &mut page)
            }
            Look::Claims { thing, rules, reading } => {
                let (on, mut page) = self.asked(*reading);
                let state = reading::state_on(desk, on)?;
                let rules = rules.map_or(state.practice.rules, RulesWord::rules);
                reading::claims(&state, thing, rules, &mut page)
            }
            Look::Plan { .. } | Look::Trace { .. } => Ok(()),
            Look::Ledger(asked) => {
                let now = self.now;
                let mut page = self.page(asked.format);
                reading::ledger(desk, (asked.from, asked.to), now, asked.by.into(), &mut page)
            }
            Look::Verify => upkeep::verify(&desk.verify()?, self.out, self.saying),
        }
    }

    /// Plans a work; where it is to begin, it begins.
    fn plan(&mut self, cellar: &Path, work: &Work, reading: Reading) -> Outcome {
        match work {
            Work::Round { room } => {
                let desk = self.desk(cellar, Access::ReadOnly)?;
                let (on, mut page) = self.asked(reading);
                reading::plan_round(&*reading::state_on(&desk, on)?, room, on, &mut page)
            }
            Work::Fill(asked) => {
                let mut desk = self.desk_for(cellar, &asked.begin, reading)?;
                let on = reading.on.unwrap_or(self.now);
                let state = reading::state_on(&desk, on)?.into_owned();
                let (prepared, plan) = fill::plan(&state, asked)?;
                self.begin(&mut desk, &asked.begin, |label| Ok(set(plan.begin(&prepared, &state, label))))?;
                Seen { state: &state, on, thing: (&prepared, &plan) }.write(&mut self.page(reading.format))
            }
            Work::Blend(asked) => {
                let mut desk = self.desk_for(cellar, &asked.begin, reading)?;
                let on = reading.on.unwrap_or(self.now);
                let tracer = desk.trace(on)?;
                let plan = blend_plan::plan(&tracer, asked, on)?;
                self.begin(&mut desk, &asked.begin, |label| blend_plan::begin(&tracer.state, &plan, asked, label))?;
                let told = Seen { state: &tracer.state, on, thing: &plan };
                blend_plan::write(&told, &mut self.page(reading.format))
            }
            Work::Bottling(asked) => {
                let desk = self.desk(cellar, Access::ReadOnly)?;
                let (on, mut page) = self.asked(reading);
                bottling::plan(&*reading::state_on(&desk, on)?, asked, on, &mut page)
            }
            Work::Racking(asked) => {
                let mut desk = self.desk_for(cellar, &asked.begin, reading)?;
                let on = reading.on.unwrap_or(self.now);
                let state = reading::state_on(&desk, on)?.into_owned();
                let plan = racking::plan(&state, asked, on)?;
                self.begin(&mut desk, &asked.begin, |label| Ok(set(plan.begin(&state, label)?)))?;
                racking::write(&state, &plan, on, &mut self.page(reading.format))
            }
            Work::Sulfur(asked) => {
                let mut desk = self.desk_for(cellar, &asked.begin, reading)?;
                let on = reading.on.unwrap_or(self.now);
                let state = reading::state_on(&desk, on)?.into_owned();
                let plan = dosing::plan(&state, asked, on)?;
                self.begin(&mut desk, &asked.begin, |label| Ok(set(plan.begin(&state, label)?)))?;
                dosing::write(&state, &plan, on, &mut self.page(reading.format))
            }
            Work::Fining(asked) => {
                let mut desk = self.desk_for(cellar, &asked.begin, reading)?;
                let on = reading.on.unwrap_or(self.now);
                let state = reading::state_on(&desk, on)?.into_owned();
                let plan = fining_trial::plan(&state, asked)?;
                let material = &state.finings.get(plan.trial).material;
                let whats = |label| asked.is.with(&state, material, What::WorkSet(Box::new(plan.begin(&state, label))));
                self.begin(&mut desk, &asked.begin, whats)?;
                Seen { state: &state, on, thing: &plan }.write(&mut self.page(reading.format))
            }
            Work::Care(asked) => {
                let mut desk = self.desk_for(cellar, &asked.begin, reading)?;
                let on = reading.on.unwrap_or(self.now);
                let state = reading::state_on(&desk, on)?.into_owned();
                let room = asked.room.as_ref().map(|label| reading::room(&state, label)).transpose()?;
                self.begin(&mut desk, &asked.begin, |label| Ok(set(state.plan_care(asked.care, room, label, on)?)))?;
                let due = empties::due_for(&state, asked.care, room, on);
                empties::write_care(asked.care, &due, &mut self.page(reading.format))
            }
        }
    }

    /// Opens a cellar for a plan, for writing only where it is to begin.
    fn desk_for(&mut self, cellar: &Path, begin: &Begin, reading: Reading) -> Outcome<Desk> {
        if begin.begin.is_none() {
            return self.desk(cellar, Access::ReadOnly);
        }
        if reading.on.is_some() {
            let sentence = "A work begins now. Leave out --on, or --begin.";
            return Err(Complaint::Refused(sentence.to_owned()));
        }
        self.desk(cellar, Access::ReadWrite)
    }

    /// Begins what was planned, if it is to begin.
    fn begin(&mut self, desk: &mut Desk, begin: &Begin, whats: impl FnOnce(Label) -> Outcome<Vec<What>>) -> Outcome {
        let Some(label) = &begin.begin else { return Ok(()) };
        let label = Label::new(label).map_err(|error| Complaint::Refused(error.to_string()))?;
        let whats = whats(label.clone())?;
        begin.entering.enter(desk, whats, None, self.now)?;
        self.saying.message(&format!("The work '{label}' has begun. Press d on the screen to walk it."));
        Ok(())
    }

    /// Opens a cellar and says what the person should know of it.
    fn desk(&mut self, cellar: &Path, access: Access) -> Outcome<Desk> {
        let desk = Desk::open(cellar, access)?;
        for warning in desk.warnings() {
            self.saying.message(warning);
        }
        Ok(desk)
    }

    /// Traces a cellar's file and says what the person should know of it.
    fn traced(&mut self, cellar: &Path, on: Moment) -> Outcome<Tracer> {
        let traced = Traced::read(cellar, on)?;
        traced.warnings.iter().for_each(|warning| self.saying.message(warning));
        Ok(traced.tracer)
    }

    fn asked(&mut self, reading: Reading) -> (Moment, Page<'_>) {
        (reading.on.unwrap_or(self.now), self.page(reading.format))
    }

    fn page(&mut self, format: Format) -> Page<'_> {
        Page { out: &mut *self.out, format, width: self.width }
    }
}
