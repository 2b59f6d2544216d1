//! Appends facts to a cellar until it is killed or fails, and says of each when it is stored: what the tests of power
//! cuts and full disks watch.
//!
//! `append-forever FILE [FACTS A TIME]` prints the position after every append, and before the first the one it found.
#![allow(clippy::unwrap_used)]

use std::io::Write;
use std::path::Path;
use std::process::ExitCode;

use barrelwalk::cellar::fact::{FactId, Line};
use barrelwalk::cellar::label::Label;
use barrelwalk::cellar::moment::Moment;
use barrelwalk::log::{Access, Log, LogError, Position};

fn main() -> ExitCode {
    let mut arguments = std::env::args().skip(1);
    let file = arguments.next().unwrap();
    let at_once: u64 = arguments.next().map_or(1, |number| number.parse().unwrap());
    match append_forever(Path::new(&file), at_once) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}

fn append_forever(file: &Path, at_once: u64) -> Result<(), LogError> {
    let mut log = Log::open(file, Access::ReadWrite)?;
    let device = log.device().clone();
    let mut n = log.heads()?.into_iter().find(|head| head.id.device == device).map_or(0, |head| head.id.n);
    let mut head = log.head()?;
    acknowledge(head);
    loop {
        let lines: Vec<Line> = (n + 1..=n + at_once).map(|n| line(FactId { device: device.clone(), n })).collect();
        head = log.append(head, &lines)?;
        n += at_once;
        acknowledge(head);
    }
}

fn acknowledge(head: Position) {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{head}").and_then(|()| out.flush()).unwrap();
}

fn line(id: FactId) -> Line {
    let at = Moment::new(1_790_000_000_000_000 + i64::try_from(id.n).unwrap() * 1_000_000, 60);
    Line {
        id,
        at,
        written: at,
        by: Label::new("mk").unwrap(),
        version: 1,
        kind: "topped".into(),
        body: r#"{"vessel":"0417","from":"K2","volume_ul":1700000,"full":true}"#.to_owned(),
        job: None,
        note: None,
    }
}
