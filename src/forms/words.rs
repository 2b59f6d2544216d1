//! A form that is filled by the words of a command: what must be said in its order, the rest by name.

use super::entry::{Entry, Own, volume};
use super::filled::{Filled, Mistake};
use super::form::{Form, Need};
use crate::units::{Mass, VolumeUnit, names_a_length};
use serde_json::Value;

/// No amount with its unit has more words: `2 lb per 1000 gal`.
const LONGEST: usize = 5;

/// A place, or none.
pub(super) static PLACE: Own = Own {
    read: |text, _| Ok(if ["none", "no place"].contains(&text) { Value::Null } else { Value::from(text) }),
    say: |value| value.as_str().unwrap_or("no place").to_owned(),
};

/// A volume of which none is as much as not said.
pub(super) static SOME_VOLUME: Own = Own {
    read: |text, _| volume(text, VolumeUnit::customary()),
    say: |value| if value.as_u64() == Some(0) { String::new() } else { Entry::Volume.say(value) },
};

/// Fills a form with words in the order of its fields. The last takes all words that are left; a number takes the unit behind it.
pub fn by_words(form: &'static Form, words: &[String]) -> Result<Filled, Mistake> {
    let mut filled = Filled::new(form);
    let fields: Vec<usize> = form.filled_in().filter(|(_, field)| field.is_positional()).map(|(at, _)| at).collect();
    let mut rest = words;
    for (nth, &at) in fields.iter().enumerate() {
        let field = &form.fields[at];
        let Some(first) = rest.first() else { break };
        let is_last = nth + 1 == fields.len();
        let takes = if is_last {
            rest.len()
        } else if let Entry::ByVessel(own) = field.entry {
            // Its unit may be of several words: `2 lb/1000 gal`.
            let is_one = |count: &usize| (own.is_one)(&rest[..*count].join(" "));
            (1..=LONGEST.min(rest.len())).rev().find(is_one).unwrap_or(1)
        } else if field.entry.takes_unit() && rest.len() > 1 && is_bare_number(first) && is_unit(&rest[1]) {
            2
        } else {
            1
        };
        filled.write(at, &rest[..takes].join(" "));
        rest = &rest[takes..];
    }
    match rest.first() {
        Some(word) => Err(Mistake {
            field: None,
            why: format!("'{word}' has no place there. {}.", usage(form)),
            is_missing: false,
        }),
        None => Ok(filled),
    }
}

/// How the command of a form is written: `lose VESSEL LITRES [--cause CAUSE]`.
#[must_use]
pub fn usage(form: &Form) -> String {
    let mut words = vec![form.command().unwrap_or(form.kind).to_owned()];
    for (_, field) in form.filled_in() {
        words.push(match field.need {
            Need::Must => field.placeholder(),
            _ => format!("[--{} {}]", field.option(), field.placeholder()),
        });
    }
    words.join(" ")
}

fn is_bare_number(word: &str) -> bool {
    !word.is_empty() && word.chars().all(|sign| sign.is_ascii_digit() || matches!(sign, '.' | ',' | '-'))
}

/// Whether a word is a unit that a number may have: of a volume, a weight or a length.
fn is_unit(word: &str) -> bool {
    let is_word = word.starts_with(char::is_alphabetic);
    is_word && (VolumeUnit::parse(word).is_some() || names_a_length(word) || Mass::parse(&format!("1 {word}")).is_ok())
}

#[cfg(test)]
mod taken {
    use super::*;
    use crate::forms::{LOST, TREATED};

    #[test]
    fn a_unit_behind_a_number_belongs_to_it_and_any_other_word_has_no_place() {
        let words = |text: &str| text.split(' ').map(str::to_owned).collect::<Vec<_>>();
        for (said, litres) in
            [("0417 2.5", "2.5"), ("0417 2.5 litres", "2.5 litres"), ("0417 250 millilitres", "250 millilitres")]
        {
            assert_eq!(by_words(&LOST, &words(said)).unwrap().text(1), litres, "{said}");
        }
        assert!(["mL", "Litre", "US", "kg", "µg", "cm"].map(is_unit) == [true, true, false, true, true, true]);
        assert!(!is_unit("5") && !is_unit("M24") && !is_unit("Syrah"));
    }

    #[test]
    fn a_dose_takes_all_words_of_its_unit() {
        let words = |text: &str| text.split(' ').map(str::to_owned).collect::<Vec<_>>();
        for (said, amount, material) in [
            ("0417 30 g/hL tartaric acid", "30 g/hL", "tartaric acid"),
            ("0417 2 lb/1000 gal bentonite", "2 lb/1000 gal", "bentonite"),
            ("0417 2 lb per 1000 gal bentonite", "2 lb per 1000 gal", "bentonite"),
            ("0417 5 g KMBS", "5 g", "KMBS"),
            ("0417 5 KMBS", "5", "KMBS"),
            ("0417 many KMBS", "many", "KMBS"),
        ] {
            let filled = by_words(&TREATED, &words(said)).unwrap();
            assert_eq!((filled.text(1), filled.text(2)), (amount, material), "{said}");
        }
    }
}
