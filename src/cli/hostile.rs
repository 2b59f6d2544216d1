//! Every command of the program over a cellar and files whose every word holds what could disturb a terminal.
#![allow(clippy::unwrap_used)] // helpers of tests

use std::ffi::OsString;
use std::fs;
use std::io::Write;
use std::path::Path;

use clap::{Arg, ArgAction, Command};
use serde_json::Value;

use super::arguments::Arguments;
use super::{answer, samples};
use crate::cellar::core::label::is_unsafe;
use crate::cli::core::edge::Edge;
use crate::cli::core::saying::Saying;
use crate::desk::Desk;

/// What stands in names: a soft hyphen and a variation selector, which old logs may hold.
const UNSEEN: &str = "\u{ad}\u{fe0f}";
/// What stands in arguments and files: a clipboard sequence, a C1 control, an override, a tag, DEL, a joiner.
const WORST: &str = "x\u{1b}]52;c;QQ==\u{7}\u{9b}2J\u{202e}\u{e0041}\u{7f}\u{200d}\r";
/// Of these fields the words are names of people or free text.
const NAMES: [&str; 17] = [
    "room",
    "row",
    "origin",
    "block",
    "variety",
    "appellation",
    "lot",
    "vessel",
    "from",
    "to",
    "why",
    "text",
    "round",
    "cooper",
    "place",
    "by",
    "marks",
];
/// They wait for a terminal.
const FULL_SCREEN: [&str; 2] = ["open", "demo"];

/// The same value with what is unseen after the first character of every name in it.
fn hostile(value: &mut Value, is_name: bool) {
    match value {
        Value::String(text) if is_name => {
            *text =
                text.split('/').map(|part| part[..1].to_owned() + UNSEEN + &part[1..]).collect::<Vec<_>>().join("/");
        }
        Value::Array(values) => values.iter_mut().for_each(|value| hostile(value, is_name)),
        Value::Object(fields) => {
            fields.iter_mut().for_each(|(name, value)| hostile(value, NAMES.contains(&name.as_str())));
        }
        _ => {}
    }
}

/// The small cellar as another device wrote it, before names were looked at for what is unseen.
fn history() -> String {
    let lines = samples::FACTS.trim().lines().zip(1..).map(|(line, n)| {
        let mut fact: Value = serde_json::from_str(line).unwrap();
        fact["by"] = "mk".into();
        hostile(&mut fact, false);
        fact["device"] = "trolley-1".into();
        fact["n"] = n.into();
        fact["note"] = format!("\u{2764}{UNSEEN}\tnoted").into();
        fact.to_string() + "\n"
    });
    lines.collect()
}

/// All that a command line gives out, and whether it was done.
fn told(words: &[OsString]) -> (Vec<u8>, Vec<u8>, bool) {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let (mut out_edge, mut err_edge) = (Edge::new(&mut out), Edge::new(&mut err));
    let code = answer(words.iter().cloned(), &mut out_edge, &mut Saying::new(&mut err_edge));
    out_edge.flush().unwrap();
    let done = format!("{code:?}") == format!("{:?}", std::process::ExitCode::SUCCESS);
    (out, err, done)
}

/// The commands that have none below them, each with the words that call it.
fn leaves(command: &Command, path: &[String], found: &mut Vec<(Vec<String>, Command)>) {
    let below: Vec<&Command> = command.get_subcommands().filter(|it| it.get_name() != "help").collect();
    if below.is_empty() {
        found.push((path.to_vec(), command.clone()));
    }
    for one in below {
        leaves(one, &[path, &[one.get_name().to_owned()]].concat(), found);
    }
}

fn is_file(arg: &Arg) -> bool {
    arg.get_value_names().is_some_and(|names| names.iter().any(|name| name == "FILE")) || arg.get_id() == "file"
}

/// Words for an argument: what it may be, a file, or a name.
fn words_for(arg: &Arg, name: &str, folder: &Path) -> Vec<OsString> {
    let possible = arg.get_possible_values();
    let value: OsString = match possible.first() {
        Some(value) => value.get_name().into(),
        None if arg.get_id() == "out" => folder.join("never/out").into(),
        // What is written into a folder stays in this one.
        None if arg.get_value_names().is_some_and(|names| names.iter().any(|name| name == "FOLDER")) => {
            folder.join("never/folder").into()
        }
        None if is_file(arg) => folder.join(format!("a{UNSEEN}.csv")).into(),
        None => name.into(),
    };
    let takes = matches!(arg.get_action(), ArgAction::Set | ArgAction::Append);
    match arg.get_long() {
        Some(long) if takes => vec![format!("--{long}").into(), value],
        Some(long) => vec![format!("--{long}").into()],
        None => vec![value],
    }
}

/// A command line with what a command must be told, and one more of what it may be told.
fn line(path: &[String], command: &Command, (name, more): (&str, Option<&Arg>), folder: &Path) -> Vec<OsString> {
    let mut words: Vec<OsString> = vec!["barrelwalk".into(), "--cellar".into(), folder.join("c").into()];
    words.extend(path.iter().map(OsString::from));
    let needed = command.get_arguments().filter(|arg| arg.is_required_set() || arg.is_positional());
    // Nobody answers here.
    let unasked = command.get_arguments().filter(|arg| arg.get_id() == "no_questions");
    for arg in needed.chain(unasked).chain(more) {
        words.extend(words_for(arg, name, folder));
    }
    words
}

fn is_harmless(bytes: &[u8], words: &[OsString]) {
    let text = std::str::from_utf8(bytes).unwrap();
    let found = text.chars().find(|&c| is_unsafe(c) && c != '\n');
    assert_eq!(found, None, "{words:?} gives out {text:?}");
}

#[test]
fn no_command_gives_out_what_could_disturb_a_terminal() {
    let folder = tempfile::tempdir().unwrap();
    let cellar = folder.path().join("c");
    Desk::create(&cellar, samples::on()).unwrap();
    let record = |name: &str, text: &[u8]| {
        fs::write(folder.path().join(name), text).unwrap();
        let words =
            ["barrelwalk", "--cellar"].map(OsString::from).into_iter().chain([cellar.clone().into(), "record".into()]);
        told(&words.chain([folder.path().join(name).into()]).collect::<Vec<_>>())
    };
    let (_, err, done) = record("history.jsonl", history().as_bytes());
    assert!(done, "{}", String::from_utf8_lossy(&err));
    let bad = [b"\xff\xfe", WORST.as_bytes(), b"{\"kind\":\"", WORST.as_bytes(), b"\"}\n"].concat();
    let (out, err, done) = record("bad.jsonl", &bad);
    assert!(!done);
    for bytes in [out, err] {
        is_harmless(&bytes, &[]);
    }
    let cell = WORST.replace('\r', "");
    let table =
        format!("taster,glass,score,wine,litres,{cell}\n{cell},{cell},1,{cell},5,{cell}\nb,{cell},{cell},x,{cell},2\n");
    fs::write(folder.path().join(format!("a{UNSEEN}.csv")), table).unwrap();
    let names = ["0411", "M24 Terrace", "long", "24 Nov"].map(|name| name[..1].to_owned() + UNSEEN + &name[1..]);
    let arguments = names.iter().map(String::as_str).chain([WORST, "12", "2026-11-25"]);
    let mut commands = Vec::new();
    let mut root = Arguments::all();
    root.build();
    leaves(&root, &[], &mut commands);
    assert!(commands.len() > 60);
    let (mut runs, mut were_done) = (0, 0);
    for (path, command) in commands.iter().filter(|(path, _)| !FULL_SCREEN.contains(&path[0].as_str())) {
        let has_format = command.get_arguments().any(|arg| arg.get_id() == "format");
        for name in arguments.clone() {
            let plain = line(path, command, (name, None), folder.path());
            let mut lines = vec![plain.clone()];
            let forms = ["csv", "json"].iter().filter(|_| has_format);
            lines.extend(forms.map(|form| [plain.clone(), vec!["--format".into(), form.into()]].concat()));
            if name == WORST {
                let optional =
                    command.get_arguments().filter(|arg| !arg.is_positional() && arg.get_long() != Some("help"));
                let with = |arg: &Arg| line(path, command, (name, Some(arg)), folder.path());
                lines.extend(
                    optional.filter(|arg| arg.get_id() != "cellar" && arg.get_id() != "no_questions").map(with),
                );
            }
            for words in lines {
                let (out, err, done) = told(&words);
                is_harmless(&out, &words);
                is_harmless(&err, &words);
                // A page to print is one in every form.
                if done && path[0] != "sheet" && words.iter().any(|word| word == "json") {
                    assert!(serde_json::from_slice::<Value>(&out).is_ok(), "{words:?}");
                }
                runs += 1;
                were_done += usize::from(done);
            }
        }
    }
    assert!(were_done > 60, "{were_done} of {runs}");
}

/// What is escaped in JSON is the same name when it is read.
#[test]
fn json_keeps_the_names() {
    let folder = tempfile::tempdir().unwrap();
    let table = format!("taster,{WORST}a,b\nm,1,2\nn,2,1\no,1,2\n").replace('\r', "");
    let file = folder.path().join("panel.csv");
    fs::write(&file, table).unwrap();
    let words = ["barrelwalk", "reckon", "panel"].map(OsString::from).into_iter().chain([file.into()]);
    let words: Vec<OsString> = words.chain(["--format", "json"].map(OsString::from)).collect();
    let (out, err, done) = told(&words);
    assert!(done, "{}", String::from_utf8_lossy(&err));
    is_harmless(&out, &words);
    let read: Value = serde_json::from_slice(&out).unwrap();
    assert!(read["glasses"].to_string().contains("x\\u001b]52"), "{read}");
}
