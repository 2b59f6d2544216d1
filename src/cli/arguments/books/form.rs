//! What can be said of an act that a form takes: a command a form, with what must be said by its place and the rest by name.

use clap::{Arg, ArgAction, ArgMatches, Args, Command, Error, FromArgMatches};

use crate::cli::arguments::Entering;
use crate::forms::{self, Entry, Form, Need, usage};
use crate::told::hazard::Caution;

/// The words of what must be said, in their order.
const WORDS: &str = "words";
/// Whether it is only tried.
const DRY_RUN: &str = "dry-run";

/// An act that a form takes.
#[derive(Debug)]
pub struct FormArguments {
    /// The form.
    pub form: &'static Form,
    /// What must be said, in its order.
    pub words: Vec<String>,
    /// Other fields by their place in the form, with what is said in them.
    pub named: Vec<(usize, String)>,
    /// Whether it is only tried.
    pub dry_run: bool,
    /// Who enters it and when it was, and what was asked before.
    pub entering: Entering,
}

/// A command line with the commands that are made of forms: one of two words stands within the command of the first.
#[must_use]
pub fn with_forms(line: Command) -> Command {
    forms::forms().fold(line, |line, form| {
        match (form.command(), form.command().and_then(|name| name.split_once(' '))) {
            (None, _) => line,
            (Some(_), Some((over, name))) => line.mut_subcommand(over, |it| it.subcommand(command(form, name))),
            (Some(name), None) => line.subcommand(command(form, name)),
        }
    })
}

fn command(form: &'static Form, name: &'static str) -> Command {
    let mut about = form.help.trim_end_matches('.').to_owned();
    let caution = Caution::of_kind(form.kind);
    if !caution.is_empty() {
        about = format!("{about}\n\n{}", caution.words());
    }
    let must: Vec<String> =
        form.filled_in().filter(|(_, field)| field.is_positional()).map(|(_, field)| field.placeholder()).collect();
    let words: Vec<String> = form
        .filled_in()
        .filter(|(_, field)| field.is_positional())
        .map(|(_, field)| format!("{}: {}", field.placeholder(), field.hint))
        .collect();
    let mut command = Command::new(name)
        .override_usage(format!("barrelwalk {} [OPTIONS]", usage(form)))
        .after_help(format!("Example:\n  barrelwalk {} {}", form.command().unwrap_or(name), form.example));
    if !must.is_empty() {
        command = command.arg(
            Arg::new(WORDS)
                .value_name(must.join("> <"))
                .help(words.join("; "))
                .num_args(1..)
                .required(true)
                .allow_negative_numbers(true),
        );
    }
    for (_, field) in form.filled_in().filter(|(_, field)| !field.is_positional()) {
        let usual = match field.need {
            Need::Usual(usual) => format!(" [default: {usual}]"),
            Need::Offered(offering) => format!(" [default: {}]", offering.words()),
            _ => String::new(),
        };
        let option = Arg::new(field.name)
            .long(field.option())
            .value_name(field.placeholder())
            .help(format!("{}{usual}", field.hint))
            .allow_hyphen_values(true);
        let is_yes_or_no = matches!(field.entry, Entry::YesNo);
        command = command.arg(if is_yes_or_no { option.value_parser(yes_or_no) } else { option });
    }
    let tries =
        Arg::new(DRY_RUN).long(DRY_RUN).action(ArgAction::SetTrue).help("Say what it would be, and enter nothing");
    // What is said of the entering brings words of its own about the whole.
    Entering::augment_args(command.arg(tries)).about(form.title).long_about(about)
}

fn yes_or_no(text: &str) -> Result<String, &'static str> {
    match text.to_lowercase().as_str() {
        "yes" | "y" => Ok("yes".to_owned()),
        "no" | "n" => Ok("no".to_owned()),
        _ => Err("say yes or no"),
    }
}

impl FormArguments {
    /// What is said of the form that a command is made of; none where it is made of none.
    pub fn of(said: &ArgMatches) -> Option<Result<FormArguments, Error>> {
        let (name, said) = said.subcommand()?;
        let (form, said) = match (forms::of_command(name), said.subcommand()) {
            (Some(form), _) => (form, said),
            (None, Some((within, said))) => (forms::of_command(&format!("{name} {within}"))?, said),
            (None, None) => return None,
        };
        let named = form.filled_in().filter(|(_, field)| !field.is_positional());
        let named = named.filter_map(|(at, field)| Some((at, said.get_one::<String>(field.name)?.clone())));
        let words = said.try_get_many::<String>(WORDS).ok().flatten();
        Some(Entering::from_arg_matches(said).map(|entering| FormArguments {
            form,
            words: words.into_iter().flatten().cloned().collect(),
            named: named.collect(),
            dry_run: said.get_flag(DRY_RUN),
            entering,
        }))
    }
}
