//! A label that nothing is called by: what may be meant, or which command names all.

use super::complaint::{Complaint, Outcome};
use crate::cellar::core::label::{Label, harmless};
use crate::cellar::core::table::{Id, Labelled, Table};
use crate::told::meant::{labels, meant};

/// The thing of a kind that a label stands for; where there is none, that is said, with the labels that are most like it.
pub fn called<I: Id, T: Labelled + Clone>(what: &str, things: &Table<I, T>, label: &str) -> Outcome<I> {
    things.find(label).ok_or_else(|| not_found(what, label, labels(things)))
}

/// The sentence for something that was not found, with the labels that are most like it.
pub fn not_found<'a>(what: &str, asked: &str, labels: impl Iterator<Item = &'a Label>) -> Complaint {
    let asked_harmless = harmless(&asked.chars().take(60).collect::<String>());
    let hint = meant(asked, labels).unwrap_or_else(|| format!(" See all with `barrelwalk list {what}s`."));
    Complaint::Refused(format!("No {what} is called '{asked_harmless}'.{hint}"))
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
