//! A small cellar to work on, and the plain fold that every state is measured against.

use std::io;
use std::path::{Path, PathBuf};

use barrelwalk::cellar::core::evolve::evolve;
use barrelwalk::cellar::core::fact::{Fact, IncomingFact, Line, What};
use barrelwalk::cellar::core::fold::Retractions;
use barrelwalk::cellar::core::label::Label;
use barrelwalk::cellar::core::moment::Moment;
use barrelwalk::cellar::core::state::State;
use barrelwalk::cellar::views::books::lineage::Tracer;
use barrelwalk::desk::{Access, Act, Desk, IncomingLine};
use tempfile::TempDir;

/// The first second of every test.
const MORNING: i64 = 1_790_000_000_000_000;

pub fn moment(seconds: i64) -> Moment {
    Moment::new(MORNING + seconds * 1_000_000, 60)
}

pub fn label(text: &str) -> Label {
    Label::new(text).unwrap()
}

/// A folder that goes away with the test, with the path of a cellar in it.
pub struct Folder {
    folder: TempDir,
}

impl Folder {
    pub fn new() -> Folder {
        Folder { folder: tempfile::tempdir().unwrap() }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// An empty cellar.
    pub fn empty(&self, name: &str) -> Desk {
        let path = self.path(name);
        Desk::create(&path, moment(0)).unwrap();
        open(&path)
    }

    /// A cellar with three barrels of wine and the keg that they are topped from.
    pub fn founded(&self, name: &str) -> Desk {
        let mut desk = self.empty(name);
        let mut fields = vec![
            r#""kind":"lot_opened","lot":"M24","colour":"red""#.to_owned(),
            r#""kind":"origin_declared","origin":"o","block":"b","variety":"Merlot","vintage":2024,"appellation":"a","colour":"red""#.to_owned(),
        ];
        for (vessel, kind, capacity, holds) in
            [("K", "keg", 50, 40), ("1", "barrel", 225, 224), ("2", "barrel", 225, 223), ("3", "barrel", 225, 220)]
        {
            fields.push(format!(
                r#""kind":"vessel_registered","vessel":"{vessel}","type":"{kind}","capacity_ul":{capacity}000000"#
            ));
            fields.push(format!(
                r#""kind":"wine_received","vessel":"{vessel}","lot":"M24","parts":[{{"origin":"o","volume_ul":{holds}000000}}]"#
            ));
        }
        let lines = fields.iter().zip(1..).map(|(fields, number)| intent(number, moment(number.cast_signed()), fields));
        let outcome = desk.record(lines.collect(), moment(100), false).unwrap();
        assert_eq!(outcome.refused, []);
        desk
    }
}

pub fn open(path: &Path) -> Desk {
    Desk::open(path, Access::ReadWrite).unwrap()
}

/// A line as it stands in a file of facts.
pub fn line(number: u64, json: &str) -> IncomingLine {
    let (fact, body) = IncomingFact::from_json(json).unwrap();
    IncomingLine { number, fact, body }
}

pub fn lines(text: &[String]) -> Vec<IncomingLine> {
    text.iter().zip(1..).map(|(json, number)| line(number, json)).collect()
}

/// A fact without a name.
pub fn intent(number: u64, at: Moment, fields: &str) -> IncomingLine {
    line(number, &format!(r#"{{"at":"{at}","by":"mk",{fields}}}"#))
}

/// A fact of another laptop.
pub fn history(number: u64, device: &str, n: u64, at: Moment, fields: &str) -> IncomingLine {
    line(number, &format!(r#"{{"device":"{device}","n":{n},"at":"{at}","written":"{at}","by":"jo",{fields}}}"#))
}

pub fn topped(vessel: &str, millilitres: u64) -> String {
    format!(r#""kind":"topped","vessel":"{vessel}","from":"K","volume_ul":{millilitres}000,"full":false"#)
}

pub fn noted(text: &str) -> String {
    format!(r#""kind":"noted","about":"1","text":"{text}""#)
}

pub fn retracted(device: &str, n: u64) -> String {
    format!(r#""kind":"retracted","of":{{"device":"{device}","n":{n}}},"why":"a slip""#)
}

/// What the fields of a fact say.
pub fn what(fields: &str) -> What {
    intent(1, moment(0), fields).fact.what
}

pub fn act(fields: &[String]) -> Act {
    Act::of(fields.iter().map(|fields| what(fields)).collect(), label("mk"))
}

/// Every fact of a cellar, exported.
pub fn exported(desk: &Desk) -> Vec<Line> {
    let mut exported = Vec::new();
    desk.export(None, &mut |line| {
        exported.push(line.clone());
        io::Result::Ok(())
    })
    .unwrap();
    exported
}

pub fn text(lines: &[Line]) -> Vec<String> {
    lines.iter().map(Line::to_json).collect()
}

/// The facts that count up to an instant, by the definition: in the order of moment, device and number, without what is
/// taken back.
fn standing(lines: &[Line], until: i64) -> Vec<Fact> {
    let mut facts: Vec<Fact> = lines.iter().map(|line| line.fact().unwrap()).collect();
    facts.sort_by_key(Fact::key);
    let mut retractions = Retractions::default();
    for fact in &facts {
        if let What::Retracted(retracted) = &fact.what {
            retractions.extend([(fact.key(), retracted.of.clone())]);
        }
    }
    facts.retain(|fact| fact.at.instant() <= until && !retractions.contains(&fact.id));
    facts
}

/// The state that facts give, by the definition.
pub fn plain_fold(lines: &[Line], until: i64) -> State {
    let mut state = State::default();
    for fact in standing(lines, until) {
        evolve(&mut state, &fact.stamp(), &fact.what);
    }
    state
}

/// The flows that facts tell of, by the definition.
pub fn plain_trace(lines: &[Line], until: i64) -> Tracer {
    let mut tracer = Tracer::default();
    for fact in standing(lines, until) {
        tracer.fold_by(Some(fact.by.as_str()), &fact.stamp(), &fact.what);
    }
    tracer
}

/// The desk's state is the plain fold of its facts.
pub fn assert_plain(desk: &Desk) {
    let expected = plain_fold(&exported(desk), i64::MAX);
    assert!(*desk.state() == expected, "the state in use:\n{:#?}\nthe plain fold:\n{expected:#?}", desk.state());
}

/// So is the state of another program that opens the same file now.
pub fn assert_same_when_opened(desk: &Desk) {
    assert_plain(desk);
    let fresh = Desk::open(desk.path(), Access::ReadOnly).unwrap();
    assert!(fresh.state() == desk.state());
}

/// What a vessel holds, in millilitres.
pub fn holds(desk: &Desk, vessel: &str) -> u64 {
    desk.state().vessels.by_label(vessel).unwrap().volume().as_ul() / 1_000
}
