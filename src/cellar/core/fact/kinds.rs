//! How the table of kinds is read: each kind has a version, and what an older one said is lifted into what the newest says.
//!
//! A kind's version is one more than the number of its lifts, so that none can rise without one. A lift changes fields
//! only: what the facts of an older version do is what those that they are lifted to do.

use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use super::{FactError, shortened};
use crate::cellar::core::json::plain;

/// Puts the fields of one version of a kind as the next version says them. What it does not know it leaves as it is: a
/// field that is of no version is found where the lifted fields are read.
pub(super) type Lift = fn(Map<String, Value>) -> Map<String, Value>;

/// The newest version of a kind with these lifts.
#[allow(clippy::cast_possible_truncation)] // a handful
pub(super) const fn newest(lifts: &[Lift]) -> u32 {
    lifts.len() as u32 + 1
}

/// Lifts the fields of a version to the newest.
pub(super) fn lift(
    kind: &str,
    version: u32,
    lifts: &[Lift],
    fields: Map<String, Value>,
) -> Result<Map<String, Value>, FactError> {
    let lifted = usize::try_from(version).ok().and_then(|version| version.checked_sub(1));
    let Some(left) = lifted.and_then(|lifted| lifts.get(lifted..)) else {
        return Err(FactError::NewerKind { kind: shortened(kind), version });
    };
    Ok(left.iter().fold(fields, |fields, lift| lift(fields)))
}

/// Reads the body of a kind from its JSON text, as it was written in a version.
#[inline]
pub(super) fn read<Body: DeserializeOwned>(
    kind: &str,
    version: u32,
    lifts: &[Lift],
    body: &[u8],
) -> Result<Body, FactError> {
    if version != newest(lifts) {
        return read_older(kind, version, lifts, body);
    }
    // A body that is text once is not asked again of every word in it.
    let read = match std::str::from_utf8(body) {
        Ok(text) => serde_json::from_str(text),
        Err(_) => serde_json::from_slice(body),
    };
    read.map_err(|error| unreadable(kind, &error))
}

#[cold]
fn read_older<Body: DeserializeOwned>(
    kind: &str,
    version: u32,
    lifts: &[Lift],
    body: &[u8],
) -> Result<Body, FactError> {
    let fields = serde_json::from_slice(body).map_err(|error| unreadable(kind, &error))?;
    let fields = lift(kind, version, lifts, fields)?;
    serde_json::from_value(Value::Object(fields)).map_err(|error| unreadable(kind, &error))
}

#[cold]
pub(super) fn unreadable(kind: &str, error: &serde_json::Error) -> FactError {
    FactError::Field { kind: kind.to_owned(), problem: plain(error) }
}

/// The table of kinds: `"name" => Variant(Body)`, and where the kind has older versions `lifted by [from_1, from_2]`.
macro_rules! kinds {
    ($( $(#[$doc:meta])* $name:literal => $variant:ident($body:ty) $(lifted by [$($lift:expr),+])? ),* $(,)?) => {
        /// What happened: one variant a kind, each with the fields of its kind.
        #[derive(Clone, Debug, PartialEq)]
        pub enum What { $( $(#[$doc])* $variant($body), )* }

        /// The name of every kind.
        pub const KINDS: &[&str] = &[$($name),*];

        impl What {
            /// The name of this kind.
            #[must_use]
            pub const fn kind(&self) -> &'static str {
                match self { $( What::$variant(_) => $name, )* }
            }

            /// The kind as the fold sees it.
            #[must_use]
            pub fn deed(&self) -> &dyn Deed {
                match self { $( What::$variant(body) => body, )* }
            }

            /// The fields of this kind as a JSON object; what is not said is left out, but for a place, where null
            /// says that there is none, and for what was changed, where null says that it is not known any more.
            pub fn body(&self) -> Result<Map<String, Value>, FactError> {
                let value = match self { $( What::$variant(body) => serde_json::to_value(body), )* };
                match value {
                    Ok(Value::Object(mut map)) => {
                        let nulls_say = self.kind() == "vessel_changed";
                        map.retain(|field, value| nulls_say || !value.is_null() || field == "place");
                        Ok(map)
                    }
                    Ok(_) => Err(FactError::NotAnObject),
                    Err(error) => Err(FactError::Json(error.to_string())),
                }
            }

            /// Reads the fields of a kind from the JSON text of a body that was written in a version of that kind.
            pub fn of_version(kind: &str, version: u32, body: &[u8]) -> Result<What, FactError> {
                match kind {
                    $( $name => {
                        const LIFTS: &[Lift] = &[$($($lift),+)?];
                        kinds::read(kind, version, LIFTS, body).map(What::$variant)
                    } )*
                    _ => Err(FactError::UnknownKind(shortened(kind))),
                }
            }

            /// How a kind came from its first version to the newest; none for a kind that is not known.
            fn lifts(kind: &str) -> Option<&'static [Lift]> {
                match kind {
                    $( $name => { const LIFTS: &[Lift] = &[$($($lift),+)?]; Some(LIFTS) } )*
                    _ => None,
                }
            }
        }

        $( impl From<$body> for What { fn from(body: $body) -> What { What::$variant(body) } } )*
    };
}
pub(super) use kinds;

#[cfg(test)]
mod tests {
    use serde_json::{Map, Value, json};

    use super::super::{FactError, Lift, kinds, shortened};
    use crate::cellar::core::job::Deed;
    use crate::cellar::jobs::floor::holding::Held;
    use crate::cellar::jobs::floor::noting::Noted;

    kinds! {
        /// A kind that was never changed.
        "held" => Held(Held),
        /// A kind that once said 'words', then 'text', and lately what it is about.
        "noted" => Noted(Noted) lifted by [words_become_text, all_was_about_the_house],
    }

    fn words_become_text(mut fields: Map<String, Value>) -> Map<String, Value> {
        if let Some(words) = fields.shift_remove("words") {
            fields.insert("text".to_owned(), words);
        }
        fields
    }

    fn all_was_about_the_house(mut fields: Map<String, Value>) -> Map<String, Value> {
        fields.insert("about".to_owned(), "house".into());
        fields
    }

    fn read(kind: &str, version: u32, body: &Value) -> Result<Value, String> {
        let what = What::of_version(kind, version, body.to_string().as_bytes()).map_err(|error| error.to_string())?;
        assert_eq!(what.kind(), kind);
        assert!(what.deed().subject().is_some() || kind == "noted");
        what.body().map(Value::Object).map_err(|error| error.to_string())
    }

    #[test]
    fn every_version_is_read_as_the_newest() {
        let newest = json!({"about": "house", "text": "cold"});
        assert_eq!(read("noted", 1, &json!({"words": "cold"})).unwrap(), newest);
        assert_eq!(read("noted", 2, &json!({"text": "cold"})).unwrap(), newest);
        assert_eq!(read("noted", 3, &newest).unwrap(), newest);
        let of_before = read("noted", 1, &json!({"text": 7})).unwrap_err();
        assert!(of_before.contains("'noted' cannot be read: the number `7` stands where a text must"), "{of_before}");
        assert!(read("noted", 3, &json!({"words": "cold"})).unwrap_err().contains("missing field `about`"));
        assert_eq!(What::lifts("noted").map(super::newest), Some(3));
        assert_eq!(KINDS, ["held", "noted"]);
    }

    #[test]
    fn a_version_that_is_not_known_is_never_read() {
        let held = json!({"vessel": "0417", "why": "hot"});
        assert_eq!(read("held", 1, &held).unwrap(), held);
        for version in [0, 2, u32::MAX] {
            let sentence = read("held", version, &held).unwrap_err();
            assert!(sentence.contains(&format!("is of version {version}, which only a newer version")), "{sentence}");
        }
        assert!(read("noted", 4, &json!({"about": "house", "text": "cold"})).is_err());
        assert!(read("poured", 1, &held).unwrap_err().contains("'poured' is not known"));
        assert_eq!(What::lifts("poured").map(super::newest), None);
    }
}
