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
mod guide;
mod manual;
mod reading;
mod sheets;
mod table;
mod tests;
mod topping;
mod wood;

#[cfg(test)]
mod given_out;
#[cfg(test)]
mod hostile;
#[cfg(test)]
mod samples;

use std::ffi::OsString;
use std::fs;
use std::io::{self, BufWriter, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use signal_hook::consts::SIGXFSZ;

use self::arguments::{Arguments, Command, Format, Listed, Look, Reading, Reckon, RulesWord, Screen, Things, Work};
use crate::cellar::core::fact::What;
use crate::cellar::core::moment::Moment;
use crate::cli::bench::{blend, blend_plan, course, design, difference, panel, serving, surface};
use crate::cli::books::{beginning, discrepancy, done};
use crate::cli::bottles::bottling;
use crate::cli::core::cellar_file::{Surroundings, cellars_in};
use crate::cli::core::complaint::{Complaint, Outcome};
use crate::cli::core::counter::{Counter, own_state, set};
use crate::cli::core::edge::Edge;
use crate::cli::core::looks::{self, Looks, Places};
use crate::cli::core::saying::Saying;
use crate::cli::core::who;
use crate::cli::finish::{fining, fining_trial};
use crate::cli::table::seen::Seen;
use crate::cli::tests::{acidity, decline, dosing, sulfur};
use crate::cli::topping::{backtest, evaporation, gauging, plan};
use crate::cli::wood::{empties, fill, oak, racking, returning};
use crate::desk::Surprises;
use crate::units::settle;

/// The exit code for what was refused or not found.
const REFUSED: u8 = 1;
/// The exit code for what cannot be understood.
const WRONG_USAGE: u8 = 2;

/// Runs the program with its arguments, of which the first is its own name.
pub fn run(arguments: impl Iterator<Item = OsString>) -> ExitCode {
    bear_file_limits();
    let (mut out, mut err) = (BufWriter::new(Edge::new(io::stdout())), Edge::new(io::stderr()));
    answer(arguments, &mut out, &mut Saying::new(&mut err).within(screen_width(&io::stderr())))
}

/// Does what the arguments ask for, and gives out what comes of it.
fn answer(arguments: impl Iterator<Item = OsString>, out: &mut dyn Write, saying: &mut Saying<'_>) -> ExitCode {
    let arguments = match Arguments::read(arguments) {
        Ok(arguments) => arguments,
        Err(told) if told.use_stderr() => {
            // It repeats what was typed, which may hold anything.
            told.render().to_string().lines().for_each(|line| saying.plain(line));
            return ExitCode::from(WRONG_USAGE);
        }
        // Help and version are no errors; their text is data.
        Err(told) => {
            let written = write!(out, "{}", told.render()).and_then(|()| out.flush());
            return end(&written.map_err(Complaint::Output), saying);
        }
    };
    let now = Moment::now();
    let surroundings = Surroundings::of_this_process();
    let looks_file = Places::of_this_process().file();
    let looks = match looks_file.as_deref().map_or(Ok(Looks::default()), looks::read) {
        Ok(looks) => looks,
        Err(complaint) => return end(&Err(complaint), saying),
    };
    settle(looks.customary());
    who::settle(looks.by.clone());
    let command = arguments.command.unwrap_or_else(|| Command::Open { screen: Screen::default() });
    let is_to_be_made = matches!(command, Command::New(_));
    let cellar = || cellar_file((arguments.cellar.as_deref(), is_to_be_made), &surroundings);
    match &command {
        Command::Open { screen } => {
            let ended = cellar().and_then(|cellar| full_screen::open(cellar, screen, looks.palette, now));
            end_of_screen(ended, saying)
        }
        Command::Demo { keep, screen } => {
            end_of_screen(full_screen::demo(keep.as_deref(), screen, looks.palette, now), saying)
        }
        _ => {
            let mut counter = Counter {
                now,
                width: screen_width(&io::stdout()),
                out: &mut *out,
                saying: &mut *saying,
                plan_is_read: true,
            };
            let outcome = counter.serve(&command, &cellar).and_then(|()| Ok(out.flush()?));
            // What was written before a failure is given out all the same; a second failure says nothing new.
            let _ = out.flush();
            if let Some(sentence) = who::not_said(looks_file.as_deref()).filter(|_| !is_to_be_made) {
                saying.message(&sentence);
            }
            end(&outcome, saying)
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
fn cellar_file((said, is_to_be_made): (Option<&Path>, bool), surroundings: &Surroundings) -> Outcome<PathBuf> {
    let none = "No data folder is known here. Name the cellar's file with --cellar FILE, or with BARRELWALK_CELLAR.";
    let file = surroundings.cellar_file(said).ok_or_else(|| Complaint::Refused(none.to_owned()))?;
    if said.is_none() && !is_to_be_made && fs::symlink_metadata(&file).is_err() {
        let near = cellars_in(Path::new("."));
        return Err(Complaint::Refused(surroundings.not_there(&file, &near)));
    }
    Ok(file)
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

/// The width of the screen; none where what is given out goes elsewhere, for then nothing is to be broken into lines.
fn screen_width(to: &impl IsTerminal) -> Option<usize> {
    if !to.is_terminal() {
        return None;
    }
    crossterm::terminal::size().ok().map(|(columns, _)| usize::from(columns)).filter(|&columns| columns > 0)
}

/// A cellar's file, where a command needs one.
type Cellar<'a> = &'a dyn Fn() -> Outcome<PathBuf>;

impl Counter<'_, '_> {
    /// Serves a command that writes and ends.
    fn serve(&mut self, command: &Command, cellar: Cellar<'_>) -> Outcome {
        match command {
            Command::New(asked) => self.new_cellar(asked, &beginning::file_of(asked, cellar)?),
            Command::Room(asked) => self.lay_out_room(&cellar()?, asked),
            Command::Number(asked) => self.number_vessels(&cellar()?, asked),
            Command::OpenLot(asked) => self.open_lot(&cellar()?, asked),
            Command::Record { file, keep_good, careful } => {
                let surprises = if *careful { Surprises::Refused } else { Surprises::Said };
                self.record(&cellar()?, file.as_deref(), (*keep_good, surprises))
            }
            Command::Import(asked) => self.import(&cellar()?, asked),
            Command::Test(asked) => self.test(&cellar()?, asked),
            Command::Correct(asked) => self.correct(&cellar()?, asked),
            Command::Undo(asked) => self.undo(&cellar()?, asked),
            Command::Redo(asked) => self.redo(&cellar()?, asked),
            Command::MendDates(asked) => self.mend_dates(&cellar()?, asked),
            Command::Backup { file, overwrite } => self.backup(&cellar()?, file.as_deref(), *overwrite),
            Command::Reckon { what, format } => self.reckon(what, *format, cellar),
            Command::Sheet { sheet, reading } => self.sheet(sheet, *reading, cellar),
            Command::Count(asked) => self.count(&cellar()?, asked),
            Command::Check(asked) => self.check(&cellar()?, asked),
            Command::Fining { step } => self.fining(&cellar()?, step),
            Command::Change(asked) => self.change(&cellar()?, asked),
            Command::Move(asked) => self.move_wine(&cellar()?, asked),
            Command::Settings(asked) => self.settings(&cellar()?, asked),
            Command::Declare { declared } => self.declare(&cellar()?, declared),
            Command::Bottle { step } => self.bottle(&cellar()?, step),
            Command::Trial { step } => self.trial(&cellar()?, step),
            Command::Help { topic } => guide::help(topic, self.width, self.out),
            Command::Man { command } => manual::man(command, self.out),
            Command::Completions { shell } => manual::completions(*shell, self.out),
            Command::Look(look) => self.looked_at(&cellar()?, look),
            Command::Form(asked) => self.form(&cellar()?, asked),
            Command::Open { .. } | Command::Demo { .. } => Ok(()),
        }
    }

    /// One computation of the trade; most need no cellar.
    fn reckon(&mut self, what: &Reckon, format: Format, cellar: Cellar<'_>) -> Outcome {
        match what {
            Reckon::Barrel(asked) => gauging::barrel(asked, &mut self.page(format)),
            Reckon::Dip(asked) => gauging::dip(asked, &mut self.page(format)),
            Reckon::Molecular(asked) => sulfur::molecular(asked, &mut self.page(format)),
            Reckon::Free(asked) => sulfur::free(asked, &mut self.page(format)),
            Reckon::Dose(asked) => sulfur::dose(asked, &mut self.page(format)),
            Reckon::Decline(asked) => decline::forecast(asked, self.now, &mut self.page(format)),
            Reckon::Limits(asked) => sulfur::allowed(asked, &mut self.page(format)),
            Reckon::Fining(asked) if asked.vessel.is_some() => {
                self.look(&cellar()?, Reading::now(format), |state, _, page| fining::fining(asked, Some(state), page))
            }
            Reckon::Fining(asked) => fining::fining(asked, None, &mut self.page(format)),
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
            Reckon::HeadspaceBacktest => self
                .look_into(&cellar()?, Reading::now(format), |desk, _, page| backtest::write(&desk.backtest()?, page)),
            Reckon::Evaporation { room } => self.look_into(&cellar()?, Reading::now(format), |desk, now, page| {
                evaporation::write(&desk.evaporation(now, None)?, room.as_deref(), page)
            }),
        }
    }

    /// The commands that look at a cellar; a plan may begin.
    fn looked_at(&mut self, cellar: &Path, look: &Look) -> Outcome {
        match look {
            Look::Export { since: _, csv: Some(folder), overwrite } => {
                self.export_spreadsheets(cellar, folder, *overwrite)
            }
            Look::Export { since, csv: None, overwrite: _ } => self.export(cellar, *since),
            Look::List { things: Listed::There(Things::Discrepancies), reading } => {
                self.look_into(cellar, *reading, |desk, on, page| {
                    discrepancy::list(&desk.discrepancies(&*reading::state_on(desk, on)?)?, page)
                })
            }
            Look::List { things: Listed::There(things), reading } => {
                self.look(cellar, *reading, |state, on, page| reading::list(state, *things, on, page))
            }
            Look::List { things: Listed::Oak(asked), reading } => {
                self.look_into(cellar, *reading, |desk, on, page| oak::list(desk, asked, on, page))
            }
            Look::List { things, reading } => self.look_into(cellar, *reading, |desk, on, page| {
                let Some((kind, asked)) = things.done() else { return Ok(()) };
                page.list(
                    &done::columns(kind, desk.state().practice.acid_unit),
                    &done::all(desk, kind, asked, on)?,
                    kind.none(),
                )
            }),
            Look::Show { thing, reading } => {
                self.look(cellar, *reading, |state, on, page| reading::show(state, thing, on, page))
            }
            Look::Claims { thing, rules, reading } => self.look(cellar, *reading, |state, _, page| {
                let rules = rules.map_or(state.practice.rules, RulesWord::rules);
                reading::claims(state, thing, rules, page)
            }),
            Look::Trace { thing, forward, fill, reading } => self.look_back(cellar, *reading, |tracer, on, page| {
                reading::trace(tracer, thing, (*forward, *fill), on, page)
            }),
            Look::Journal(asked) => self.journal(cellar, asked),
            Look::Ledger(asked) => self.look_into(cellar, Reading::now(asked.format), |desk, now, page| {
                reading::ledger(desk, (asked.from, asked.to), now, asked.by.into(), page)
            }),
            Look::Plan { work, reading } => self.plan(cellar, work, *reading),
            Look::Verify => self.verify(cellar),
        }
    }

    /// Plans a work; where it is to begin, it begins.
    fn plan(&mut self, cellar: &Path, work: &Work, reading: Reading) -> Outcome {
        match work {
            Work::Round { room } => {
                self.look(cellar, reading, |state, on, page| plan::round(state, reading::room(state, room)?, on, page))
            }
            Work::Sample(asked) => self.plan_sample(cellar, asked, reading),
            Work::Bottling(asked) => {
                self.look(cellar, reading, |state, on, page| bottling::plan(state, asked, on, page))
            }
            Work::Fill(asked) => self.plan_work(
                cellar,
                (&asked.begin, reading),
                own_state,
                |state, _| fill::plan(state, asked),
                |state, (prepared, plan), label| Ok(set(plan.begin(prepared, state, label))),
                |state, (prepared, plan), on, page| Seen { state, on, thing: (prepared, plan) }.write(page),
            ),
            Work::Blend(asked) => self.plan_work(
                cellar,
                (&asked.begin, reading),
                |desk, on| Ok(desk.trace(on)?),
                |tracer, on| blend_plan::plan(tracer, asked, on),
                |tracer, plan, label| blend_plan::begin(&tracer.state, plan, asked, label),
                |tracer, plan, on, page| blend_plan::write(&Seen { state: &tracer.state, on, thing: plan }, page),
            ),
            Work::Racking(asked) => self.plan_work(
                cellar,
                (&asked.begin, reading),
                own_state,
                |state, on| racking::plan(state, asked, on),
                |state, plan, label| Ok(set(plan.begin(state, label)?)),
                racking::write,
            ),
            Work::Return(asked) => self.plan_work(
                cellar,
                (&asked.begin, reading),
                own_state,
                |state, _| Ok(state.plan_return(reading::vessel(state, &asked.tank)?)?),
                |state, plan, label| Ok(set(plan.begin(state, label))),
                returning::write,
            ),
            Work::Sulfur(asked) => self.plan_work(
                cellar,
                (&asked.begin, reading),
                own_state,
                |state, on| dosing::plan(state, asked, on),
                |state, plan, label| Ok(set(plan.begin(state, label)?)),
                dosing::write,
            ),
            Work::Fining(asked) => self.plan_work(
                cellar,
                (&asked.begin, reading),
                own_state,
                |state, _| fining_trial::plan(state, &asked.trial, asked.vessel.as_deref()),
                |state, plan, label| {
                    let material = &state.finings.get(plan.trial).material;
                    asked.is.with(state, material, What::WorkSet(Box::new(plan.begin(state, label))))
                },
                |state, plan, on, page| Seen { state, on, thing: plan }.write(page),
            ),
            Work::Care(asked) => self.plan_work(
                cellar,
                (&asked.begin, reading),
                own_state,
                |state, on| Ok((asked.room.as_ref().map(|label| reading::room(state, label)).transpose()?, on)),
                |state, (room, on), label| Ok(set(state.plan_care(asked.care, *room, label, *on)?)),
                |state, (room, _), on, page| {
                    empties::write_care(asked.care, &empties::due_for(state, asked.care, *room, on), page)
                },
            ),
        }
    }
}
