//! Whoever reads a decimal comma reads one everywhere: in every list, page and sheet of a year's cellar.

use crate::desk::Desk;

/// What is asked of the demo's cellar.
const ASKED: &[&[&str]] = &[
    &["list", "vessels"],
    &["list", "lots"],
    &["list", "rooms"],
    &["list", "due"],
    &["list", "empties"],
    &["list", "stirrings"],
    &["list", "blankets"],
    &["list", "trials"],
    &["list", "runs"],
    &["list", "bottles"],
    &["list", "works"],
    &["list", "finings"],
    &["list", "filtrations"],
    &["list", "tests"],
    &["list", "toppings"],
    &["list", "additions"],
    &["list", "moves"],
    &["show", "lot", "C24 Long Wall"],
    &["show", "lot", "V24 Varrow"],
    &["show", "run", "V23 Varrow"],
    &["show", "vessel", "T1"],
    &["show", "vessel", "0167"],
    &["show", "fining", "V24 albumen"],
    &["claims", "lot", "V24 Varrow"],
    &["claims", "lot", "C24 Long Wall"],
    &["ledger", "--from", "2026-01-01", "--to", "2026-11-01"],
    &["settings"],
    &["check", "V24 Varrow"],
    &["journal", "2026-11-28"],
    &["list", "tastes"],
    &["list", "oak", "--by", "toast", "--lot", "C24 Long Wall"],
    &["sheet", "oak", "--by", "cooper", "--lot", "C24 Long Wall"],
    &["show", "trial", "Varrow 24"],
    &["plan", "sample", "C24 Long Wall", "--of", "750 mL"],
    &["sheet", "trial", "Varrow 24"],
    &["sheet", "additions", "lot", "V24 Varrow"],
    &["sheet", "bottling", "B1"],
    &["reckon", "limits", "--rules", "eu", "--colour", "red"],
    &["reckon", "molecular", "--free", "30,5", "--ph", "3,6"],
    &["plan", "round", "long"],
    &["plan", "sulfur", "C24 Long Wall"],
    &["plan", "bottling", "B1"],
    &["sheet", "round", "long"],
    &["sheet", "map", "long"],
    &["sheet", "dip", "bordeaux"],
    &["reckon", "evaporation"],
];

/// Whether a number stands with a point: between two digits, where it is no section of a rule (`27 CFR 24.255`, `art. 5.2`) and in no words that
/// somebody wrote in quotes.
fn numbers_with_a_point(line: &str) -> Vec<String> {
    let bare: String = line.split('"').step_by(2).collect();
    let words: Vec<&str> = bare.split_whitespace().collect();
    let is_number = |word: &str| {
        let inner = word.trim_matches(|it: char| !it.is_ascii_digit());
        inner.split_once('.').is_some_and(|(whole, rest)| {
            whole.ends_with(|it: char| it.is_ascii_digit()) && rest.starts_with(|it: char| it.is_ascii_digit())
        })
    };
    // `±0.5 % vol` stands in a rule as it is cited.
    let is_cited = |at: usize| words[at].starts_with('±');
    let is_section = |at: usize| at > 0 && ["CFR", "art.", "Annex", "OIV-MA-AS313-02"].contains(&words[at - 1]);
    (0..words.len())
        .filter(|&at| is_number(words[at]) && !is_section(at) && !is_cited(at))
        .map(|at| words[at].to_owned())
        .collect()
}

#[test]
fn a_decimal_comma_is_read_everywhere() {
    let desk = Desk::demo();
    desk.write("looks.toml", "decimal = \"comma\"\n");
    let mut pointed = Vec::new();
    for asked in ASKED {
        let told = desk.told(*asked);
        let asked = asked.join(" ");
        for line in told.lines() {
            pointed
                .extend(numbers_with_a_point(line).into_iter().map(|number| format!("{asked}: {number} in '{line}'")));
        }
    }
    assert!(pointed.is_empty(), "{}", pointed.join("\n"));
}
