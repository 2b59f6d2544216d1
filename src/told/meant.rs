//! What a person may have meant by a label that nothing is called by: at the desk, in what comes in, on the screen.

use crate::cellar::core::label::{LABEL_CHARACTERS, Label};
use crate::cellar::core::near::{letters_between, sound_alike};
use crate::cellar::core::refusal::Refusal;
use crate::cellar::core::state::State;
use crate::cellar::core::table::{Id, Labelled, Table};

/// How many likely labels are named.
const MOST: usize = 3;

/// The labels of all things of a kind.
pub fn labels<I: Id, T: Labelled + Clone>(things: &Table<I, T>) -> impl Iterator<Item = &Label> {
    things.iter().map(|(_, thing)| thing.label())
}

/// What was refused, with the labels that may be meant where nothing is called so.
#[must_use]
pub fn with_hint(refusal: &Refusal, state: &State) -> String {
    format!("{refusal}{}", hint(refusal, state).unwrap_or_default())
}

/// A question after the labels that may be meant where nothing is called so, to stand behind what was refused.
#[must_use]
pub fn hint(refusal: &Refusal, state: &State) -> Option<String> {
    match refusal {
        Refusal::UnknownVessel(asked) => meant(asked.as_str(), labels(&state.vessels)),
        Refusal::UnknownLot(asked) => meant(asked.as_str(), labels(&state.lots)),
        Refusal::UnknownOrigin(asked) => meant(asked.as_str(), labels(&state.origins)),
        Refusal::UnknownRoom(asked) => meant(asked.as_str(), labels(&state.rooms)),
        Refusal::UnknownRound(asked) => meant(asked.as_str(), labels(&state.rounds)),
        Refusal::UnknownWork(asked) => meant(asked.as_str(), labels(&state.works)),
        _ => None,
    }
}

/// A question after the labels that are most like what was asked for, to stand behind a sentence; none where none is.
pub fn meant<'a>(asked: &str, labels: impl Iterator<Item = &'a Label>) -> Option<String> {
    let names: Vec<String> = nearest(asked, labels).iter().map(|label| format!("'{label}'")).collect();
    match names.as_slice() {
        [] => None,
        [one] => Some(format!(" Did you mean {one}?")),
        [first @ .., last] => Some(format!(" Did you mean {} or {last}?", first.join(", "))),
    }
}

/// The labels that are most like what was asked for, the likest first.
fn nearest<'a>(asked: &str, labels: impl Iterator<Item = &'a Label>) -> Vec<&'a Label> {
    let (said, asked) = (asked, plain(asked));
    // What is longer than any label is no misspelt one, and comparing it would only take time.
    if asked.is_empty() || asked.len() > 2 * LABEL_CHARACTERS {
        return Vec::new();
    }
    let mut near: Vec<(usize, &Label)> = labels
        .filter_map(|label| {
            let known = plain(label.as_str());
            let distance = if contains(&known, &asked) { 1 } else { letters_between(&asked, &known) };
            let distance = if known == asked { 0 } else { distance };
            // What sounds alike may be written quite otherwise; figures are never heard.
            let figures = |text: &str| text.chars().filter(|sign| sign.is_numeric()).collect::<String>();
            let sounds = distance > 1 && figures(said) == figures(label.as_str()) && sound_alike(said, label.as_str());
            let distance = if sounds { 1 } else { distance };
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

    #[test]
    fn the_likest_labels_stand_behind_the_sentence() {
        let labels: Vec<Label> = ["0417", "0418", "K2", "M24 Upper"].map(|text| Label::new(text).unwrap()).into();
        let behind = |asked: &str| meant(asked, labels.iter());
        assert_eq!(behind("m24upper").as_deref(), Some(" Did you mean 'M24 Upper'?"));
        assert_eq!(behind("417").as_deref(), Some(" Did you mean '0417' or '0418'?"));
        assert_eq!(behind("zebra"), None);
        let cooper = [Label::new("Besquerin").unwrap()];
        assert_eq!(meant("Bezkerrin", cooper.iter()).as_deref(), Some(" Did you mean 'Besquerin'?"));
    }

    #[test]
    fn what_is_refused_for_another_reason_stands_as_it_is() {
        let refusal = Refusal::NoVolume;
        assert_eq!(with_hint(&refusal, &State::default()), refusal.to_string());
    }
}
