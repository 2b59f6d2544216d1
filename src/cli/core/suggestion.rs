//! What a person may have meant by a label that nothing is called by.

use super::complaint::{Complaint, Outcome};
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::near::letters_between;
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;
use crate::cellar::core::table::{Id, Labelled, Table};

/// How many likely labels are named.
const MOST: usize = 3;

/// The thing of a kind that a label stands for; where there is none, that is said, with the labels that are most like it.
pub fn called<I: Id, T: Labelled + Clone>(what: &str, things: &Table<I, T>, label: &str) -> Outcome<I> {
    things.find(label).ok_or_else(|| not_found(what, label, labels(things)))
}

fn labels<I: Id, T: Labelled + Clone>(things: &Table<I, T>) -> impl Iterator<Item = &Label> {
    things.iter().map(|(_, thing)| thing.label())
}

/// The sentence for something that was not found, with the labels that are most like it.
pub fn not_found<'a>(what: &str, asked: &str, labels: impl Iterator<Item = &'a Label>) -> Complaint {
    let asked_harmless = harmless(&asked.chars().take(60).collect::<String>());
    let hint = near(asked, labels).unwrap_or_else(|| format!(" See all with `barrelwalk list {what}s`."));
    Complaint::Refused(format!("No {what} is called '{asked_harmless}'.{hint}"))
}

/// What was refused, with the labels that may be meant where nothing is called so.
#[must_use]
pub fn with_hint(refusal: &Refusal, state: &State) -> String {
    let hint = match refusal {
        Refusal::UnknownVessel(asked) => near(asked.as_str(), labels(&state.vessels)),
        Refusal::UnknownLot(asked) => near(asked.as_str(), labels(&state.lots)),
        Refusal::UnknownOrigin(asked) => near(asked.as_str(), labels(&state.origins)),
        Refusal::UnknownRoom(asked) => near(asked.as_str(), labels(&state.rooms)),
        Refusal::UnknownRound(asked) => near(asked.as_str(), labels(&state.rounds)),
        Refusal::UnknownWork(asked) => near(asked.as_str(), labels(&state.works)),
        _ => None,
    };
    format!("{refusal}{}", hint.unwrap_or_default())
}

/// A question after the labels that are most like what was asked for, to stand behind a sentence; none where none is.
pub fn near<'a>(asked: &str, labels: impl Iterator<Item = &'a Label>) -> Option<String> {
    let names: Vec<String> = nearest(asked, labels).iter().map(|label| format!("'{label}'")).collect();
    match names.as_slice() {
        [] => None,
        [one] => Some(format!(" Did you mean {one}?")),
        [first @ .., last] => Some(format!(" Did you mean {} or {last}?", first.join(", "))),
    }
}

/// The labels that are most like what was asked for, the likest first.
fn nearest<'a>(asked: &str, labels: impl Iterator<Item = &'a Label>) -> Vec<&'a Label> {
    let asked = plain(asked);
    // What is longer than any label is no misspelt one, and comparing it would only take time.
    if asked.is_empty() || asked.len() > 2 * crate::cellar::core::label::LABEL_CHARACTERS {
        return Vec::new();
    }
    let mut near: Vec<(usize, &Label)> = labels
        .filter_map(|label| {
            let known = plain(label.as_str());
            let distance = if contains(&known, &asked) { 1 } else { letters_between(&asked, &known) };
            let distance = if known == asked { 0 } else { distance };
            (distance <= 1 + asked.len() / 4).then_some((distance, label))
        })
        .collect();
    near.sort_by(|a, b| a.0.cmp(&b.0).then_with(|| a.1.cmp(b.1)));
    near.dedup();
    near.into_iter().take(MOST).map(|(_, label)| label).collect()
}

/// The letters and digits of a label, without regard to case, and without leading zeros.
fn plain(label: &str) -> Vec<char> {
    let letters: String = label.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect();
    letters.trim_start_matches('0').chars().collect()
}

/// Whether a part that is long enough to mean something stands in a label.
fn contains(known: &[char], asked: &[char]) -> bool {
    asked.len() >= 3 && known.windows(asked.len()).any(|part| part == asked)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn answer(asked: &str) -> String {
        let labels: Vec<Label> =
            ["0417", "0418", "0517", "K2", "M24 Upper", "M24 Lower"].map(|text| Label::new(text).unwrap()).into();
        not_found("vessel", asked, labels.iter()).sentence().unwrap()
    }

    #[test]
    fn near_misses_are_named() {
        assert_eq!(answer("417"), "No vessel is called '417'. Did you mean '0417', '0418' or '0517'?");
        assert_eq!(answer("m24upper"), "No vessel is called 'm24upper'. Did you mean 'M24 Upper' or 'M24 Lower'?");
        assert_eq!(answer("upper"), "No vessel is called 'upper'. Did you mean 'M24 Upper'?");
    }

    #[test]
    fn where_nothing_is_near_it_says_where_to_look() {
        assert_eq!(answer("zebra"), "No vessel is called 'zebra'. See all with `barrelwalk list vessels`.");
        assert_eq!(answer("\u{1b}[2J"), "No vessel is called '·[2J'. See all with `barrelwalk list vessels`.");
        assert!(answer(&"9".repeat(100_000)).len() < 200);
    }
}
