//! What can be said of an act that a form takes: a command a form, with what must be said by its place and the rest by name.

use clap::{Arg, ArgAction, ArgMatches, Args, Command, Error, FromArgMatches};

use crate::cli::arguments::Entering;
use crate::forms::{self, Form, Need, usage};

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

/// The commands that are made of forms.
pub fn commands() -> impl Iterator<Item = Command> {
    forms::forms().filter_map(|form| Some(command(form, form.command()?)))
}

fn command(form: &'static Form, name: &'static str) -> Command {
    let mut about = form.help.trim_end_matches('.').to_owned();
    if let Some(caution) = form.caution {
        about = format!("{about}\n\n{caution}");
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
        .after_help(format!("Example:\n  barrelwalk {name} {}", form.example))
        .arg(
            Arg::new(WORDS)
                .value_name(must.join("> <"))
                .help(words.join("; "))
                .num_args(1..)
                .required(true)
                .allow_negative_numbers(true),
        );
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
        command = command.arg(option);
    }
    let tries =
        Arg::new(DRY_RUN).long(DRY_RUN).action(ArgAction::SetTrue).help("Say what it would be, and enter nothing");
    // What is said of the entering brings words of its own about the whole.
    Entering::augment_args(command.arg(tries)).about(form.title).long_about(about)
}

impl FormArguments {
    /// What is said of the form that a command is made of; none where it is made of none.
    pub fn of(name: &str, said: &ArgMatches) -> Option<Result<FormArguments, Error>> {
        let form = forms::of_command(name)?;
        let named = form.filled_in().filter(|(_, field)| !field.is_positional());
        let named = named.filter_map(|(at, field)| Some((at, said.get_one::<String>(field.name)?.clone())));
        Some(Entering::from_arg_matches(said).map(|entering| FormArguments {
            form,
            words: said.get_many::<String>(WORDS).into_iter().flatten().cloned().collect(),
            named: named.collect(),
            dry_run: said.get_flag(DRY_RUN),
            entering,
        }))
    }
}
