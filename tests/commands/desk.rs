//! A folder with a cellar in it, and the real program run there.

use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

/// What is typed behind the program's name: words, or a line of words without blanks in them.
pub trait Words<'a> {
    fn words(self) -> Vec<&'a str>;
}

impl<'a> Words<'a> for &'a str {
    fn words(self) -> Vec<&'a str> {
        self.split(' ').collect()
    }
}

impl<'a> Words<'a> for &'a String {
    fn words(self) -> Vec<&'a str> {
        self.split(' ').collect()
    }
}

impl<'a> Words<'a> for &[&'a str] {
    fn words(self) -> Vec<&'a str> {
        self.to_vec()
    }
}

impl<'a> Words<'a> for &Vec<&'a str> {
    fn words(self) -> Vec<&'a str> {
        self.clone()
    }
}

impl<'a, const N: usize> Words<'a> for &[&'a str; N] {
    fn words(self) -> Vec<&'a str> {
        self.to_vec()
    }
}

/// A folder in which the program runs, with a cellar in it, the file `c`.
pub struct Desk {
    folder: TempDir,
}

impl Desk {
    /// Without a cellar.
    pub fn bare() -> Desk {
        Desk { folder: tempfile::tempdir().unwrap() }
    }

    /// With an empty cellar.
    pub fn new() -> Desk {
        let desk = Desk::bare();
        desk.done(&["new", "c"]);
        desk
    }

    /// With a cellar of these facts, as [`Desk::record_on`] takes them in.
    pub fn with(day: &str, facts: &[impl AsRef<str>]) -> Desk {
        let desk = Desk::new();
        desk.record_on(day, facts);
        desk
    }

    /// With a cellar that holds the demo's facts.
    pub fn demo() -> Desk {
        let desk = Desk::new();
        let facts = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-cellar/facts.jsonl");
        desk.done(&["record", facts.to_str().unwrap()]);
        desk
    }

    /// A file of the folder.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Writes a file of the folder.
    pub fn write(&self, name: &str, text: &str) {
        fs::write(self.path(name), text).unwrap();
    }

    /// Takes in whole facts.
    #[track_caller]
    pub fn record(&self, lines: &[impl AsRef<str>]) {
        self.write("facts.jsonl", &lines.iter().map(AsRef::as_ref).collect::<Vec<_>>().join("\n"));
        self.told(&["record", "facts.jsonl"]);
    }

    /// Takes in facts of which all is said but the time and by whom: a minute apart from eight in the morning of a day.
    #[track_caller]
    pub fn record_on(&self, day: &str, facts: &[impl AsRef<str>]) {
        let line = |(minute, fact): (usize, &_)| {
            let fact: &str = AsRef::as_ref(fact);
            format!(r#"{{"at":"{day}T08:{minute:02}:00+02:00","by":"mk",{fact}}}"#)
        };
        self.record(&facts.iter().enumerate().map(line).collect::<Vec<_>>());
    }

    /// The program with its words, in the folder.
    pub fn command<'a>(&self, words: impl Words<'a>) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_barrelwalk"));
        command.current_dir(self.folder.path()).args(words.words()).stdin(Stdio::null());
        command.env("BARRELWALK_CELLAR", "c").env("BARRELWALK_BY", "mk").env("TZ", "Europe/Paris");
        command.env("BARRELWALK_LOOKS", "looks.toml");
        command
    }

    pub fn run<'a>(&self, words: impl Words<'a>) -> Output {
        self.command(words).output().unwrap()
    }

    /// Runs the program with a text on its standard input.
    pub fn fed<'a>(&self, words: impl Words<'a>, input: &str) -> Output {
        let mut command = self.command(words);
        command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        // A program that does not read has its reasons.
        let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
        child.wait_with_output().unwrap()
    }

    /// What a command gives that is done without a word beside it.
    #[track_caller]
    pub fn done<'a>(&self, words: impl Words<'a>) -> String {
        done(&self.run(words))
    }

    /// The JSON of a command that is done without a word beside it.
    #[track_caller]
    pub fn json<'a>(&self, words: impl Words<'a>) -> Value {
        serde_json::from_str(&self.done(&as_json(words))).unwrap()
    }

    /// What a command gives that is done, and what it says beside it.
    #[track_caller]
    pub fn heard<'a>(&self, words: impl Words<'a>) -> (String, String) {
        let output = self.run(words);
        assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
        (text(&output.stdout), text(&output.stderr))
    }

    /// What a command gives that is done, whatever it says beside it.
    #[track_caller]
    pub fn told<'a>(&self, words: impl Words<'a>) -> String {
        self.heard(words).0
    }

    /// The JSON of a command that is done, whatever it says beside it.
    #[track_caller]
    pub fn told_json<'a>(&self, words: impl Words<'a>) -> Value {
        serde_json::from_str(&self.told(&as_json(words))).unwrap()
    }

    /// What is said of a command that is refused, with this in it.
    #[track_caller]
    pub fn refused<'a>(&self, words: impl Words<'a>, part: &str) -> String {
        refused(&self.run(words), 1, part)
    }

    /// A command that cannot be understood is refused with this in what is said.
    #[track_caller]
    pub fn misused<'a>(&self, words: impl Words<'a>, part: &str) {
        refused(&self.run(words), 2, part);
    }
}

fn as_json<'a>(words: impl Words<'a>) -> Vec<&'a str> {
    [&words.words()[..], &["--format", "json"]].concat()
}

/// What was given out, by a command that was done without a word beside it.
#[track_caller]
pub fn done(output: &Output) -> String {
    assert_eq!((output.status.code(), text(&output.stderr)), (Some(0), String::new()));
    text(&output.stdout)
}

/// What was said by a command that ended with a code and gave nothing out, unless the count of the facts that it took.
#[track_caller]
pub fn refused(output: &Output, code: i32, part: &str) -> String {
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(code), "{said}");
    assert!(!said.is_empty() && said.contains(part), "{part} is missing in {said}");
    assert!(["", "0 facts taken\n"].contains(&&*text(&output.stdout)), "{}", text(&output.stdout));
    said
}

pub fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}
