//! What a fact says, in a sentence that its form lays out.

use super::entry::{Body, plain};
use super::form::Form;
use super::tests::{ACID_UNIT, TESTED};
use crate::cellar::core::fact::What;
use crate::reckon::acid_unit::AcidUnit;
use serde_json::Value;

/// What a fact says by its form.
pub(super) fn of(form: &Form, what: &What, acid: Option<AcidUnit>) -> String {
    let mut body = what.body().unwrap_or_default();
    if let Some(acid) = acid.filter(|_| form.kind == TESTED.kind) {
        body.insert(ACID_UNIT.to_owned(), Value::from(acid.name()));
    }
    let mut sentence = String::new();
    let mut rest = form.says;
    while let Some(begin) = rest.find('[') {
        let (before, from) = rest.split_at(begin);
        let Some(end) = from.find(']') else { break };
        sentence.extend(filled(form, &body, before, true));
        sentence.extend(filled(form, &body, &from[1..end], false));
        rest = &from[end + 1..];
    }
    sentence.extend(filled(form, &body, rest, true));
    sentence
}

/// A part of the sentence with what its fields say. Where one says nothing it is left out, unless the part is always said.
fn filled(form: &Form, body: &Body, part: &str, always: bool) -> Option<String> {
    let mut text = String::new();
    let mut rest = part;
    while let Some((before, (key, after))) =
        rest.split_once('{').and_then(|(before, from)| Some((before, from.split_once('}')?)))
    {
        text.push_str(before);
        // `{full=no: in part}` is said only where the field has that value, `{fills!=0:}` only where it has another.
        let (name, wanted, words) = condition(key);
        let said = match form.fields.iter().find(|field| field.key == name) {
            Some(field) => field.entry.said_in(name, body),
            None => body.get(name).map_or_else(String::new, plain),
        };
        match (said, wanted) {
            (said, Some((wanted, is_so))) if (said == wanted) == is_so => text.push_str(words),
            (said, None) if !said.is_empty() => text.push_str(&said),
            (_, None) if always => {}
            _ => return None,
        }
        rest = after;
    }
    text.push_str(rest);
    Some(text)
}

/// A field, the value that it must have to be said or must not have, and the words that are said then.
fn condition(key: &str) -> (&str, Option<(&str, bool)>, &str) {
    match key.split_once('=') {
        Some((name, rest)) => {
            let (wanted, words) = rest.split_once(':').unwrap_or((rest, ""));
            let (name, is_so) = name.strip_suffix('!').map_or((name, true), |name| (name, false));
            (name, Some((wanted, is_so)), words)
        }
        None => (key, None, ""),
    }
}
