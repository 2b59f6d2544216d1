//! The line of a fact: its form for other programs, and how it is checked on its way in.

use std::fmt::Write;

use compact_str::CompactString;
use serde::Deserialize;
use serde_json::{Map, Value};

use super::kinds::unreadable;
use super::{Device, Fact, FactError, FactId, What, shortened};
use crate::cellar::core::json::{Unambiguous, plain};
use crate::cellar::core::label::{Label, Text};
use crate::cellar::core::moment::Moment;

/// A fact as it comes in, before the program has given what may be left out.
#[derive(Clone, Debug, PartialEq)]
pub struct IncomingFact {
    /// Its name, where another laptop has already given it one.
    pub id: Option<FactId>,
    /// When it happened.
    pub at: Moment,
    /// When it was entered, where that is said.
    pub written: Option<Moment>,
    /// Who entered it.
    pub by: Label,
    /// The version of its kind in which its fields came.
    pub version: u32,
    /// What happened, as the newest version says it.
    pub what: What,
    /// Facts of one name were one piece of work.
    pub job: Option<Label>,
    /// Free words beside it.
    pub note: Option<Text>,
    /// Why it was done though a hold or a checklist bars it.
    pub despite: Option<Text>,
}

/// How a body begins in which the reason stands for which a hold or a checklist was passed over. It stands first, so that the fold need not look for it.
const DESPITE: &[u8] = br#"{"despite":"#;

/// Whether the body of a fact says why it was done despite a hold or a checklist.
#[must_use]
pub fn is_despite(body: &[u8]) -> bool {
    body.starts_with(DESPITE)
}

/// Why a fact was done despite a hold or a checklist, if its body says so.
fn despite_of(kind: &str, body: &[u8]) -> Result<Option<Text>, FactError> {
    #[derive(Deserialize)]
    struct Said {
        despite: Text,
    }
    if !is_despite(body) {
        return Ok(None);
    }
    let said: Said = serde_json::from_slice(body).map_err(|error| unreadable(kind, &error))?;
    Ok(Some(said.despite))
}

/// The text of a body: the reason for which a hold or a checklist was passed over, then the fields of the kind.
#[must_use]
pub fn body_text(fields: Map<String, Value>, despite: Option<&Text>) -> String {
    let Some(despite) = despite else { return Value::Object(fields).to_string() };
    let mut body = Map::from_iter([("despite".to_owned(), Value::from(despite.as_str()))]);
    body.extend(fields);
    Value::Object(body).to_string()
}

/// The envelope and the body of a line, before the kind is looked at: what the log stores, column by column.
///
/// The body keeps the order and the spelling of the fields it came with, so a line that another laptop wrote is shipped
/// on, and hashed, as it was.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Which fact it is.
    pub id: FactId,
    /// When it happened.
    pub at: Moment,
    /// When it was entered.
    pub written: Moment,
    /// Who entered it.
    pub by: Label,
    /// The version of its kind.
    pub version: u32,
    /// The name of its kind.
    pub kind: CompactString,
    /// The fields of its kind, a JSON object.
    pub body: String,
    /// Facts of one name were one piece of work.
    pub job: Option<Label>,
    /// Free words beside it.
    pub note: Option<Text>,
}

/// What a line says, borrowed from where it stands.
#[derive(Clone, Copy, Debug)]
pub struct LineText<'a> {
    /// The name of its device.
    pub device: &'a str,
    /// Its number there.
    pub n: u64,
    /// When it happened.
    pub at: Moment,
    /// When it was entered.
    pub written: Moment,
    /// Who entered it.
    pub by: &'a str,
    /// The version of its kind.
    pub version: u32,
    /// The name of its kind.
    pub kind: &'a str,
    /// The name of the piece of work it was part of.
    pub job: Option<&'a str>,
    /// Free words beside it.
    pub note: Option<&'a str>,
    /// The fields of its kind, a JSON object.
    pub body: &'a str,
}

impl LineText<'_> {
    /// Writes the line for other programs behind what is there: one JSON object, without a line break at its end. The chain is over
    /// these very bytes, so each is written in one way only.
    pub fn write_json(&self, out: &mut String) {
        out.push_str(r#"{"device":""#);
        out.push_str(self.device);
        out.push_str(r#"","n":"#);
        push_number(out, self.n);
        out.push_str(r#","at":""#);
        self.at.write(out);
        out.push_str(r#"","written":""#);
        self.written.write(out);
        out.push_str(r#"","by":"#);
        push_json(out, self.by);
        out.push_str(r#","v":"#);
        push_number(out, u64::from(self.version));
        out.push_str(r#","kind":"#);
        push_json(out, self.kind);
        if let Some(job) = self.job {
            out.push_str(r#","job":"#);
            push_json(out, job);
        }
        if let Some(note) = self.note {
            out.push_str(r#","note":"#);
            push_json(out, note);
        }
        let fields = self.body.trim().strip_prefix('{').and_then(|rest| rest.strip_suffix('}')).unwrap_or_default();
        if !fields.is_empty() {
            out.push(',');
            out.push_str(fields);
        }
        out.push('}');
    }
}

fn push_number(out: &mut String, number: u64) {
    // A text takes whatever is written to it.
    let _ = write!(out, "{number}");
}

/// Writes a JSON text: nearly always one in which nothing is escaped.
fn push_json(out: &mut String, text: &str) {
    if text.bytes().any(|byte| byte < 0x20 || matches!(byte, b'"' | b'\\')) {
        out.push_str(&Value::from(text).to_string());
    } else {
        out.push('"');
        out.push_str(text);
        out.push('"');
    }
}

impl Line {
    /// The line as it is written for other programs: one JSON object, without a line break at its end.
    #[must_use]
    pub fn to_json(&self) -> String {
        let mut line = String::with_capacity(self.body.len() + 256);
        self.text().write_json(&mut line);
        line
    }

    /// What it says.
    #[must_use]
    pub fn text(&self) -> LineText<'_> {
        LineText {
            device: self.id.device.as_str(),
            n: self.id.n,
            at: self.at,
            written: self.written,
            by: self.by.as_str(),
            version: self.version,
            kind: &self.kind,
            job: self.job.as_ref().map(Label::as_str),
            note: self.note.as_ref().map(Text::as_str),
            body: &self.body,
        }
    }

    /// The fact that the line holds, as the newest version of its kind says it.
    pub fn fact(&self) -> Result<Fact, FactError> {
        Ok(Fact {
            id: self.id.clone(),
            at: self.at,
            written: self.written,
            by: self.by.clone(),
            what: What::of_version(&self.kind, self.version, self.body.as_bytes())?,
            job: self.job.clone(),
            note: self.note.clone(),
            despite: despite_of(&self.kind, self.body.as_bytes())?,
        })
    }
}

impl TryFrom<&Fact> for Line {
    type Error = FactError;

    fn try_from(fact: &Fact) -> Result<Line, FactError> {
        Ok(Line {
            id: fact.id.clone(),
            at: fact.at,
            written: fact.written,
            by: fact.by.clone(),
            version: fact.what.version(),
            kind: fact.what.kind().into(),
            body: body_text(fact.what.body()?, fact.despite.as_ref()),
            job: fact.job.clone(),
            note: fact.note.clone(),
        })
    }
}

/// The fields of the envelope, in the order in which they are written.
const ENVELOPE: &[&str] = &["device", "n", "at", "written", "by", "v", "kind", "job", "note", "despite"];

impl IncomingFact {
    /// Reads one line of the exchange form and checks every field: unknown ones are refused, for a misspelt field must
    /// not be lost without a word. Also gives the body as it was written, for the log.
    pub fn from_json(line: &str) -> Result<(IncomingFact, String), FactError> {
        let Unambiguous(value) = serde_json::from_str(line).map_err(|error| FactError::Json(plain(&error)))?;
        let Value::Object(mut map) = value else { return Err(FactError::NotAnObject) };
        let mut envelope = Map::new();
        for &field in ENVELOPE {
            if let Some(found) = map.shift_remove(field) {
                envelope.insert(field.to_owned(), found);
            }
        }
        let text = |field: &str| match envelope.get(field) {
            None | Some(Value::Null) => Ok(None),
            Some(Value::String(text)) => Ok(Some(text.as_str())),
            Some(_) => Err(FactError::Envelope { field: field.to_owned(), problem: "It must be a text.".into() }),
        };
        let number = |field: &str| match envelope.get(field) {
            None | Some(Value::Null) => Ok(None),
            Some(value) => value.as_u64().filter(|&n| n >= 1 && i64::try_from(n).is_ok()).map(Some).ok_or_else(|| {
                FactError::Envelope { field: field.to_owned(), problem: "It must be a whole number from 1.".into() }
            }),
        };
        let wrong = |field: &str, problem: String| FactError::Envelope { field: field.to_owned(), problem };
        let missing = |field: &str| FactError::Missing(field.to_owned());
        let moment = |text: &str, field: &str| Moment::parse(text).map_err(|error| wrong(field, error.to_string()));

        let kind = text("kind")?.ok_or_else(|| missing("kind"))?;
        let version = u32::try_from(number("v")?.unwrap_or(1)).unwrap_or(u32::MAX);
        let despite =
            text("despite")?.map(|t| Text::new(t).map_err(|error| wrong("despite", error.to_string()))).transpose()?;
        let body = body_text(map.clone(), despite.as_ref());
        let what = What::of_version(kind, version, body.as_bytes())?;
        refuse_unknown_fields(kind, &What::lift(kind, version, map)?, &what)?;
        let id = match (text("device")?, number("n")?) {
            (Some(device), Some(n)) => Some(FactId { device: Device::new(device)?, n }),
            (None, None) => None,
            (Some(_), None) => return Err(missing("n")),
            (None, Some(_)) => return Err(missing("device")),
        };
        let incoming = IncomingFact {
            id,
            at: moment(text("at")?.ok_or_else(|| missing("at"))?, "at")?,
            written: text("written")?.map(|text| moment(text, "written")).transpose()?,
            by: text("by")?
                .ok_or_else(|| missing("by"))
                .and_then(|text| Label::read(text).map_err(|error| wrong("by", error.to_string())))?,
            version,
            what,
            job: text("job")?.map(|t| Label::read(t).map_err(|error| wrong("job", error.to_string()))).transpose()?,
            note: text("note")?.map(|t| Text::new(t).map_err(|error| wrong("note", error.to_string()))).transpose()?,
            despite,
        };
        Ok((incoming, body))
    }
}

/// A field that came in with a value but is not among those that the kind writes out again is none of that kind's. A
/// place must be said even where there is none: a barrel is not lifted off its place by a word that was forgotten.
fn refuse_unknown_fields(kind: &str, came: &Map<String, Value>, what: &What) -> Result<(), FactError> {
    let known = what.body()?;
    for (field, value) in came {
        if !value.is_null() && !known.contains_key(field) {
            return Err(FactError::UnknownField { kind: kind.to_owned(), field: shortened(field) });
        }
    }
    // That a vessel lies nowhere is said, not left out.
    if kind == "vessel_placed" && !came.contains_key("place") {
        return Err(FactError::Missing("place".to_owned()));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const TOPPED: &str = r#"{"device":"trolley-1","n":7,"at":"2027-03-02T08:15:00+01:00","written":"2027-03-02T08:15:01+01:00","by":"mk","v":1,"kind":"topped","note":"cold \"cave\"","vessel":"0417","from":"K2","volume_ul":1700000,"full":true}"#;

    fn line_of(json: &str) -> Line {
        let (incoming, body) = IncomingFact::from_json(json).unwrap();
        Line {
            id: incoming.id.clone().unwrap(),
            at: incoming.at,
            written: incoming.written.unwrap(),
            by: incoming.by.clone(),
            version: incoming.version,
            kind: incoming.what.kind().into(),
            body,
            job: incoming.job.clone(),
            note: incoming.note,
        }
    }

    /// The line written the long way, by the libraries that know JSON and the calendar.
    fn the_long_way(line: &Line) -> String {
        let mut map = Map::new();
        map.insert("device".to_owned(), line.id.device.as_str().into());
        map.insert("n".to_owned(), line.id.n.into());
        map.insert("at".to_owned(), line.at.to_string().into());
        map.insert("written".to_owned(), line.written.to_string().into());
        map.insert("by".to_owned(), line.by.as_str().into());
        map.insert("v".to_owned(), line.version.into());
        map.insert("kind".to_owned(), line.kind.as_str().into());
        for (name, words) in
            [("job", line.job.as_ref().map(Label::as_str)), ("note", line.note.as_ref().map(Text::as_str))]
        {
            map.extend(words.map(|words| (name.to_owned(), words.into())));
        }
        let Value::Object(fields) = serde_json::from_str(&line.body).unwrap() else { panic!("no object") };
        map.extend(fields);
        Value::Object(map).to_string()
    }

    proptest! {
        #[test]
        fn a_line_is_written_in_one_way(
            n in 1..=u64::MAX / 2,
            (at, written) in (-2_208_988_800_000_000_i64..32_503_680_000_000_000, -2_208_988_800_000_000_i64..32_503_680_000_000_000),
            offset in -1_439_i16..=1_439,
            by in r#"[ -~é"\\]{1,40}"#,
            version in 1..100_u32,
            (job, note) in (proptest::option::of("[!-~ü]{1,20}"), proptest::option::of(r#"[!-~ -~"\\ö]{1,60}"#)),
            fields in proptest::collection::vec(("[a-z_]{1,12}[0-9]", "[ -~\n\tß]{0,30}"), 0..4),
        ) {
            let text = |text: Option<String>| text.and_then(|text| Text::new(&text).ok());
            let body: Map<String, Value> = fields.into_iter().map(|(name, words)| (name, words.into())).collect();
            let line = Line {
                id: FactId { device: Device::new("trolley-1").unwrap(), n },
                at: Moment::new(at, offset),
                written: Moment::new(written - written % 1_000, 60),
                by: Label::read(by.trim()).unwrap_or_else(|_| Label::new("mk").unwrap()),
                version,
                kind: "topped".into(),
                body: Value::Object(body).to_string(),
                job: job.and_then(|job| Label::read(&job).ok()),
                note: text(note),
            };
            prop_assert_eq!(line.to_json(), the_long_way(&line));
        }
    }

    #[test]
    fn a_line_is_written_as_it_was_read() {
        assert_eq!(line_of(TOPPED).to_json(), TOPPED);
        let laid = r#"{"device":"a","n":1,"at":"2027-03-02T08:15:00+01:00","written":"2027-03-02T08:15:00+01:00","by":"mk","v":1,"kind":"room_laid_out","room":"long","rows":[{"row":"A","stacks":2,"tiers":3,"sides":2}]}"#;
        assert_eq!(line_of(laid).to_json(), laid);
    }

    #[test]
    fn a_fact_and_its_line_hold_the_same() {
        let fact = line_of(TOPPED).fact().unwrap();
        assert_eq!(Line::try_from(&fact).unwrap().to_json(), TOPPED);
    }

    #[test]
    fn the_reason_for_which_a_hold_was_passed_over_stands_first_and_comes_back() {
        let despite = TOPPED.replace(r#""full":true"#, r#""full":true,"despite":"keeps air out""#);
        let line = line_of(&despite);
        assert!(line.body.starts_with(r#"{"despite":"keeps air out","vessel""#), "{}", line.body);
        let fact = line.fact().unwrap();
        assert_eq!(fact.despite.as_ref().map(Text::as_str), Some("keeps air out"));
        assert!(fact.stamp().despite);
        assert_eq!(Line::try_from(&fact).unwrap().to_json(), line.to_json());
        assert_eq!(line_of(&line.to_json()), line);
    }

    #[test]
    fn what_may_be_left_out_may_be_left_out() {
        let line =
            r#"{"at":"2027-03-02T08:15:00+01:00","by":"mk","kind":"vessel_placed","vessel":"0417","place":null}"#;
        let (incoming, _) = IncomingFact::from_json(line).unwrap();
        assert_eq!((incoming.id, incoming.version), (None, 1));
        for line in [
            r#"{"at":"2027-03-02T08:15:00+01:00","by":"mk","kind":"counted","count":"C","vessel":"0417","full":true}"#,
            r#"{"at":"2027-03-02T08:15:00+01:00","by":"mk","kind":"bottles_counted","run":"R","bottles":3,"why":"count"}"#,
        ] {
            assert!(IncomingFact::from_json(line).is_ok(), "{line}");
        }
    }

    #[test]
    fn bad_lines_are_refused_with_a_sentence() {
        let cases = [
            ("{\"at\":", "not a whole JSON object"),
            ("[]", "one JSON object"),
            (r#"{"by":"mk","kind":"noted","about":"x","text":"y"}"#, "'at' is missing"),
            (r#"{"at":"2027-03-02T08:15:00Z","kind":"noted","about":"x","text":"y"}"#, "'by' is missing"),
            (r#"{"at":"noon","by":"mk","kind":"noted","about":"x","text":"y"}"#, "is not a date and time"),
            (r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"poured"}"#, "'poured' is not known"),
            (r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"vessel_placed","vessel":"x"}"#, "'place' is missing"),
            (
                r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"x","text":"y","text":"z"}"#,
                "the field 'text' is there twice.",
            ),
            (
                r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"","text":"y"}"#,
                "cannot be read: A name cannot be empty. Give it 1 to 40 characters.",
            ),
            (r#"{"at":7,"by":"mk","kind":"noted","about":"x","text":"y"}"#, "'at' is wrong: It must be a text."),
            (r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"x"}"#, "missing field `text`"),
            (
                r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"x","text":"y","txt":"z"}"#,
                "no field 'txt'",
            ),
            (r#"{"at":"2027-03-02T08:15:00Z","by":"mk","v":2,"kind":"noted","about":"x","text":"y"}"#, "newer version"),
            (
                r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"topped","vessel":"1","from":"K","volume_ul":-5}"#,
                "cannot be read",
            ),
            (
                r#"{"at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"x","text":"\u001b[2J"}"#,
                "control character",
            ),
            (
                r#"{"device":"A b","n":1,"at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"x","text":"y"}"#,
                "not a device's name",
            ),
            (
                r#"{"device":"a","at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"x","text":"y"}"#,
                "'n' is missing",
            ),
            (
                r#"{"device":"a","n":0,"at":"2027-03-02T08:15:00Z","by":"mk","kind":"noted","about":"x","text":"y"}"#,
                "whole number from 1",
            ),
        ];
        for (line, part) in cases {
            let sentence = IncomingFact::from_json(line).unwrap_err().to_string();
            assert!(sentence.contains(part), "{line}\n{sentence}");
        }
    }
}
