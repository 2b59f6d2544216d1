//! Reading the JSON that comes from outside: stricter than the standard asks, in words that a person understands.

use std::fmt;

use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};

/// A JSON value in which no object names a field twice: of two values for one field nobody could say which is meant.
pub(in crate::cellar) struct Unambiguous(pub Value);

impl<'de> Deserialize<'de> for Unambiguous {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Unambiguous, D::Error> {
        deserializer.deserialize_any(Reader).map(Unambiguous)
    }
}

struct Reader;

impl<'de> Visitor<'de> for Reader {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value")
    }

    fn visit_unit<E: Error>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E: Error>(self, value: bool) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_u64<E: Error>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_i64<E: Error>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E: Error>(self, value: f64) -> Result<Value, E> {
        Number::from_f64(value).map(Value::Number).ok_or_else(|| E::custom("a number that is none"))
    }

    fn visit_str<E: Error>(self, text: &str) -> Result<Value, E> {
        Ok(text.into())
    }

    fn visit_string<E: Error>(self, text: String) -> Result<Value, E> {
        Ok(text.into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut sequence: A) -> Result<Value, A::Error> {
        let mut values = Vec::new();
        while let Some(Unambiguous(value)) = sequence.next_element()? {
            values.push(value);
        }
        Ok(values.into())
    }

    fn visit_map<A: MapAccess<'de>>(self, mut fields: A) -> Result<Value, A::Error> {
        let mut map = Map::new();
        while let Some((field, Unambiguous(value))) = fields.next_entry::<String, Unambiguous>()? {
            if map.contains_key(&field) {
                return Err(A::Error::custom(format_args!("the field '{field}' is there twice")));
            }
            map.insert(field, value);
        }
        Ok(map.into())
    }
}

/// The words of a JSON error without its position, which the number of the line says better, and without the full stop
/// of the sentence that it may hold.
pub(in crate::cellar) fn plain(error: &serde_json::Error) -> String {
    let words = error.to_string();
    let end = words.rfind(" at line ").unwrap_or(words.len());
    let words = super::label::harmless(&words[..end].chars().take(200).collect::<String>());
    let words = words.trim_end_matches('.');
    let unfit = words.strip_prefix("invalid type: ").or_else(|| words.strip_prefix("invalid value: "));
    match unfit.and_then(|unfit| unfit.split_once(", expected ")) {
        Some((found, wanted)) => format!("{} stands where {} must stand", said(found, FOUND), said(wanted, WANTED)),
        None => words.to_owned(),
    }
}

/// What was found, as a programmer and as a person calls it.
const FOUND: &[(&str, &str)] = &[
    ("floating point", "the number"),
    ("integer", "the number"),
    ("string", "the text"),
    ("boolean", "the word"),
    ("map", "an object"),
    ("sequence", "a list"),
];

/// What was wanted.
const WANTED: &[(&str, &str)] = &[
    ("u64", "a whole number from 0"),
    ("u32", "a whole number from 0 to 4294967295"),
    ("u16", "a whole number from 0 to 65535"),
    ("u8", "a whole number from 0 to 255"),
    ("f64", "a number"),
    ("a string", "a text"),
    ("a sequence", "a list"),
    ("a boolean", "true or false"),
];

/// A text whose first word or words are put as a person says them.
fn said(text: &str, names: &[(&str, &str)]) -> String {
    let found = names.iter().find_map(|(theirs, ours)| Some((text.strip_prefix(theirs)?, ours)));
    found.map_or_else(|| text.to_owned(), |(rest, ours)| format!("{ours}{rest}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Value, String> {
        serde_json::from_str::<Unambiguous>(text).map(|read| read.0).map_err(|error| plain(&error))
    }

    #[test]
    fn what_is_read_is_what_is_written() {
        let text = r#"{"b":[1,-2,0.5,null,true,"é\n"],"a":{"c":{}}}"#;
        assert_eq!(read(text).unwrap().to_string(), text);
        assert_eq!(read(text).unwrap(), serde_json::from_str::<Value>(text).unwrap());
    }

    #[test]
    fn a_field_is_said_once_at_any_depth() {
        assert_eq!(read(r#"{"a":1,"a":1}"#).unwrap_err(), "the field 'a' is there twice");
        assert_eq!(read(r#"{"a":[{"b":1,"c":2,"b":3}]}"#).unwrap_err(), "the field 'b' is there twice");
        assert!(read(r#"{"a":{"b":1},"c":{"b":1}}"#).is_ok());
    }

    #[test]
    fn a_value_that_does_not_fit_is_named_as_a_person_names_it() {
        let whole = |text: &str| plain(&serde_json::from_str::<u64>(text).unwrap_err());
        assert_eq!(whole("2.5"), "the number `2.5` stands where a whole number from 0 must stand");
        assert_eq!(whole("-1"), "the number `-1` stands where a whole number from 0 must stand");
        assert_eq!(whole("\"2\""), "the text \"2\" stands where a whole number from 0 must stand");
        assert_eq!(whole("null"), "null stands where a whole number from 0 must stand");
        let stop = <serde_json::Error as Error>::custom("A name cannot be empty. Give it one.");
        assert_eq!(plain(&stop), "A name cannot be empty. Give it one");
    }

    #[test]
    fn depth_is_bounded() {
        assert_eq!(read(&"[".repeat(100_000)).unwrap_err(), "recursion limit exceeded");
    }
}
